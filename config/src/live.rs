//! The live file: a CSV that grows by a line a reading. Off unless `[live]` stands in the settings.

use std::path::{Path, PathBuf};

use crate::reader::{At, Reader};

/// Where and how the live file is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LiveSettings {
    /// The folder; it is not made, so that a share that is not there is not filled underneath.
    pub folder: PathBuf,
    /// How its lines are written, by the name of the dialect.
    pub dialect: String,
    /// When a new file is begun.
    pub rotate: Rotate,
    /// Columns after those that lead every line; empty: all.
    pub columns: Vec<String>,
}

/// When a new live file is begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rotate {
    /// A file a civil day of the shop.
    Day,
    /// A file a job.
    Job,
    /// One file.
    Never,
}

impl Rotate {
    /// Its word in the settings.
    pub fn code(self) -> &'static str {
        match self {
            Rotate::Day => "day",
            Rotate::Job => "job",
            Rotate::Never => "never",
        }
    }
}

/// Words that settings may use and that are defined elsewhere.
#[derive(Debug, Clone, Copy)]
pub struct Known<'k> {
    /// Names of columns.
    pub columns: &'k [&'k str],
    /// Names of dialects; the first is taken where none is named.
    pub dialects: &'k [&'k str],
}

/// Reads `[live]`; words are looked at only where the known ones are given.
pub(crate) fn read(
    root: &Reader<'_, '_>,
    folder: &Path,
    known: Option<&Known<'_>>,
) -> Option<LiveSettings> {
    let table = root.table("live")?;
    let into = table.needed_text("folder", "a folder that is there, as `folder = \"live\"`");
    let rotate = rotate(&table);
    let dialect = table.text("dialect");
    if let Some((dialect, known)) = dialect.as_ref().zip(known) {
        one_of(&table, "dialect", dialect, known.dialects);
    }
    let columns = columns(&table, known);
    table.finish();
    Some(LiveSettings {
        folder: folder.join(into?.value),
        dialect: dialect.map_or_else(String::new, |dialect| dialect.value),
        rotate,
        columns,
    })
}

fn one_of(table: &Reader<'_, '_>, key: &str, word: &At<String>, known: &[&str]) {
    if !known.contains(&word.value.as_str()) {
        let wanted = format!("one of {}", known.join(", "));
        table.note(word.line, key, format!("`{}`", word.value), wanted);
    }
}

fn rotate(table: &Reader<'_, '_>) -> Rotate {
    let Some(text) = table.text("rotate") else {
        return Rotate::Day;
    };
    let all = [Rotate::Day, Rotate::Job, Rotate::Never];
    let found = all.into_iter().find(|rotate| rotate.code() == text.value);
    if found.is_none() {
        one_of(table, "rotate", &text, &all.map(Rotate::code));
    }
    found.unwrap_or(Rotate::Day)
}

fn columns(table: &Reader<'_, '_>, known: Option<&Known<'_>>) -> Vec<String> {
    let Some(list) = table.texts("columns") else {
        return Vec::new();
    };
    if list.value.is_empty() {
        let wanted = "at least one column, or no `columns` for all of them";
        table.note(list.line, "columns", "an empty list", wanted);
    }
    for (index, name) in list.value.iter().enumerate() {
        if list.value.iter().take(index).any(|before| before == name) {
            table.note(
                list.line,
                "columns",
                format!("`{name}` twice"),
                "each column once",
            );
        }
        if known.is_some_and(|known| !known.columns.contains(&name.as_str())) {
            let wanted = "columns that `overwire export --columns` lists";
            table.note(list.line, "columns", format!("`{name}`"), wanted);
        }
    }
    list.value
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::parse_knowing;

    const KNOWN: Known<'static> = Known {
        columns: &["at", "job", "verdict"],
        dialects: &["exchange", "comma"],
    };
    const REST: &str = "[[station]]\nname = \"a\"\nport = \"/dev/x\"\nprofile = \"nr2-line\"\ninstrument = \"M\"\nunit = \"mm\"\n";

    fn read(live: &str) -> Result<Option<LiveSettings>, Vec<String>> {
        let text = format!("version = 1\n{live}{REST}");
        parse_knowing(&text, Path::new("/srv"), Some(&KNOWN))
            .map(|settings| settings.live)
            .map_err(|problems| problems.iter().map(ToString::to_string).collect())
    }

    #[test]
    fn it_is_off_unless_its_table_stands_there() {
        assert_eq!(read(""), Ok(None));
        let plain = read("[live]\nfolder = \"live\"\n").unwrap().unwrap();
        assert_eq!(plain.folder, Path::new("/srv/live"));
        assert_eq!((plain.rotate, plain.columns.len()), (Rotate::Day, 0));
    }

    #[test]
    fn every_mistake_is_told_with_its_line() {
        let told = read("[live]\ndialekt = \"comma\"\nrotate = \"weekly\"\ncolumns = [\"at\", \"at\", \"jobs\"]\ndialect = \"german\"\n")
            .unwrap_err();
        let wanted = [
            "line 2, `live.folder`: found nothing",
            "line 3, `live.dialekt`: found an unknown key",
            "line 4, `live.rotate`: found `weekly`, wanted one of day, job, never",
            "line 5, `live.columns`: found `at` twice",
            "line 5, `live.columns`: found `jobs`, wanted columns that",
            "line 6, `live.dialect`: found `german`, wanted one of exchange, comma",
        ];
        assert_eq!(told.len(), wanted.len(), "{told:#?}");
        for (told, wanted) in told.iter().zip(wanted) {
            assert!(told.starts_with(wanted), "{told} / {wanted}");
        }
        let empty = read("[live]\nfolder = \"x\"\ncolumns = []\n").unwrap_err();
        assert!(empty[0].contains("an empty list"), "{empty:?}");
    }
}
