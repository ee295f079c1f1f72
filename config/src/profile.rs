//! An instrument profile: how an instrument speaks, as data.
//!
//! A profile describes a *shape* of frame, never a make of instrument. Adding an instrument is adding
//! a file; no code changes. The shapes shipped stand in `instruments/` and are found by name.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use overwire_core::units::Unit;
use regex::bytes::{Regex, RegexBuilder};

use crate::problem::{ConfigError, Problem};
use crate::reader::{Notes, Reader};

/// Longest frame any profile may allow, bytes: the bound on what a port can hold in memory.
pub const LONGEST_FRAME: usize = 512;

/// Parity of a character on the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Parity {
    None,
    Odd,
    Even,
}

/// Flow control of the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Flow {
    None,
    Software,
    Hardware,
}

/// How characters travel on the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineSettings {
    /// Bits a second.
    pub baud: u32,
    /// 5 to 8.
    pub data_bits: u8,
    /// Parity bit.
    pub parity: Parity,
    /// 1 or 2.
    pub stop_bits: u8,
    /// Flow control.
    pub flow: Flow,
}

impl Default for LineSettings {
    fn default() -> Self {
        LineSettings {
            baud: 9600,
            data_bits: 8,
            parity: Parity::None,
            stop_bits: 1,
            flow: Flow::None,
        }
    }
}

/// How an instrument speaks: its line, the ends of its frames and what stands in one.
#[derive(Debug, Clone)]
pub struct Profile {
    /// Name, as settings files use it.
    pub name: String,
    /// One sentence for a person choosing.
    pub description: String,
    /// The line's settings, unless the station says otherwise.
    pub line: LineSettings,
    /// Bytes that end a frame, longest first.
    pub ends: Vec<Vec<u8>>,
    /// Longest frame, bytes without its end.
    pub longest: usize,
    /// The whole frame without its end; named parts `number` (always), `unit` and `channel`.
    pub pattern: Regex,
    /// Unit for each text that the `unit` part may hold, in lower case.
    pub unit_marks: BTreeMap<String, Unit>,
    /// Decimal places to give a number that is sent as a bare integer of display steps.
    pub scale_places: Option<u8>,
}

const SHIPPED: &[(&str, &str)] = &[
    (
        "decimal-line",
        include_str!("../instruments/decimal-line.toml"),
    ),
    (
        "decimal-unit-line",
        include_str!("../instruments/decimal-unit-line.toml"),
    ),
    (
        "channel-decimal-line",
        include_str!("../instruments/channel-decimal-line.toml"),
    ),
    ("nr1-line", include_str!("../instruments/nr1-line.toml")),
    ("nr2-line", include_str!("../instruments/nr2-line.toml")),
];

/// Names of the profiles that come with the program.
pub fn shipped_names() -> impl Iterator<Item = &'static str> {
    SHIPPED.iter().map(|(name, _)| *name)
}

/// Finds a profile: first in the shop's own folder, then among those shipped.
///
/// # Errors
/// A file of that name that cannot be read or has mistakes; `Ok(None)` when there is no such profile.
pub fn find(name: &str, own_folder: Option<&Path>) -> Result<Option<Profile>, ConfigError> {
    if let Some(folder) = own_folder {
        let path = folder.join(format!("{name}.toml"));
        if path.exists() {
            let text =
                std::fs::read_to_string(&path).map_err(|source| ConfigError::Unreadable {
                    path: path.clone(),
                    source,
                })?;
            return parse(&text)
                .map(Some)
                .map_err(|problems| ConfigError::Mistakes { path, problems });
        }
    }
    let Some((_, text)) = SHIPPED.iter().find(|(shipped, _)| *shipped == name) else {
        return Ok(None);
    };
    parse(text)
        .map(Some)
        .map_err(|problems| ConfigError::Mistakes {
            path: PathBuf::from(format!("instruments/{name}.toml (shipped)")),
            problems,
        })
}

/// Reads a profile from its text.
///
/// # Errors
/// Every mistake in the text, in the order of the lines.
pub fn parse(text: &str) -> Result<Profile, Vec<Problem>> {
    let notes = Notes::new(text);
    let table = notes.parse();
    let root = Reader::new(&notes, table.get_ref(), 0..0, "");
    let profile = read(&root);
    root.finish();
    match profile {
        Some(profile) if notes.is_clean() => Ok(profile),
        _ => Err(notes.into_problems()),
    }
}

fn read(root: &Reader<'_, '_>) -> Option<Profile> {
    root.whole("version", 1..=1);
    let name = root.needed_text("name", "the profile's name, as `name = \"decimal-line\"`");
    let description = root
        .text("description")
        .map(|text| text.value)
        .unwrap_or_default();
    let line = match root.table("line") {
        Some(table) => {
            let line = read_line(&table, LineSettings::default());
            table.finish();
            line
        }
        None => LineSettings::default(),
    };
    let unit_marks = read_unit_marks(root);
    let frame = read_frame(root);
    let (ends, longest, pattern, scale_places) = frame?;
    if pattern.capture_names().flatten().any(|part| part == "unit") && unit_marks.is_empty() {
        root.note(
            root.line(),
            "unit_marks",
            "nothing",
            "the unit each mark stands for, since the pattern has a part named `unit`",
        );
    }
    Some(Profile {
        name: name?.value,
        description,
        line,
        ends,
        longest,
        pattern,
        unit_marks,
        scale_places,
    })
}

/// Line settings from a table, over the ones given.
pub(crate) fn read_line(table: &Reader<'_, '_>, over: LineSettings) -> LineSettings {
    let mut line = over;
    if let Some(baud) = table.whole("baud", 50..=4_000_000) {
        line.baud = baud as u32;
    }
    if let Some(bits) = table.whole("data_bits", 5..=8) {
        line.data_bits = bits as u8;
    }
    if let Some(bits) = table.whole("stop_bits", 1..=2) {
        line.stop_bits = bits as u8;
    }
    if let Some(text) = table.text("parity") {
        match text.value.as_str() {
            "none" => line.parity = Parity::None,
            "odd" => line.parity = Parity::Odd,
            "even" => line.parity = Parity::Even,
            other => table.note(
                text.line,
                "parity",
                format!("`{other}`"),
                "`none`, `odd` or `even`",
            ),
        }
    }
    if let Some(text) = table.text("flow") {
        match text.value.as_str() {
            "none" => line.flow = Flow::None,
            "software" => line.flow = Flow::Software,
            "hardware" => line.flow = Flow::Hardware,
            other => table.note(
                text.line,
                "flow",
                format!("`{other}`"),
                "`none`, `software` or `hardware`",
            ),
        }
    }
    line
}

type FrameParts = (Vec<Vec<u8>>, usize, Regex, Option<u8>);

fn read_frame(root: &Reader<'_, '_>) -> Option<FrameParts> {
    let Some(frame) = root.table("frame") else {
        root.note(
            root.line(),
            "frame",
            "nothing",
            "a table `[frame]` with `pattern`",
        );
        return None;
    };
    let ends = read_ends(&frame);
    let longest = frame
        .whole("max_bytes", 4..=LONGEST_FRAME as i64)
        .unwrap_or(64) as usize;
    let scale_places = frame
        .whole("scale_places", 0..=8)
        .map(|places| places as u8);
    let pattern = read_pattern(&frame);
    frame.finish();
    Some((ends, longest, pattern?, scale_places))
}

fn read_ends(frame: &Reader<'_, '_>) -> Vec<Vec<u8>> {
    let Some(texts) = frame.texts("end") else {
        return vec![b"\r\n".to_vec(), b"\n".to_vec(), b"\r".to_vec()];
    };
    let mut ends: Vec<Vec<u8>> = texts
        .value
        .iter()
        .map(|text| text.clone().into_bytes())
        .collect();
    if ends.is_empty() || ends.iter().any(|end| end.is_empty() || end.len() > 4) {
        frame.note(
            texts.line,
            "end",
            "an empty or overlong end",
            "ends of 1 to 4 characters, as `[\"\\r\\n\"]`",
        );
    }
    ends.sort_by_key(|end| std::cmp::Reverse(end.len()));
    ends
}

fn read_pattern(frame: &Reader<'_, '_>) -> Option<Regex> {
    let wanted = "a pattern with a part named `number`, as `^(?P<number>[+-]?\\d+\\.\\d+)$`";
    let text = frame.needed_text("pattern", wanted)?;
    let built = RegexBuilder::new(&text.value)
        .unicode(false)
        .size_limit(1 << 18)
        .build();
    let pattern = match built {
        Ok(pattern) => pattern,
        Err(error) => {
            let reason = error.to_string();
            let reason = reason
                .lines()
                .last()
                .unwrap_or("not a pattern")
                .trim()
                .to_owned();
            frame.note(text.line, "pattern", reason, wanted);
            return None;
        }
    };
    if !pattern
        .capture_names()
        .flatten()
        .any(|part| part == "number")
    {
        frame.note(text.line, "pattern", "no part named `number`", wanted);
        return None;
    }
    if !(text.value.starts_with('^') && text.value.ends_with('$')) {
        frame.note(text.line, "pattern", "a pattern open at an end", "`^` first and `$` last, so that a number with a digit lost or gained beside it cannot pass");
    }
    Some(pattern)
}

fn read_unit_marks(root: &Reader<'_, '_>) -> BTreeMap<String, Unit> {
    let mut marks = BTreeMap::new();
    let Some(table) = root.table("unit_marks") else {
        return marks;
    };
    for (mark, unit) in table.pairs() {
        match Unit::parse(&unit.value) {
            Ok(parsed) => {
                marks.insert(mark.to_ascii_lowercase(), parsed);
            }
            Err(_) => table.note(
                unit.line,
                &mark,
                format!("`{}`", unit.value),
                "`mm` or `in`",
            ),
        }
    }
    marks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shipped_profile_is_valid_and_named_as_its_file() {
        for (name, text) in SHIPPED {
            let profile = parse(text).unwrap_or_else(|problems| panic!("{name}: {problems:?}"));
            assert_eq!(&profile.name, name);
            assert!(!profile.description.is_empty(), "{name} has no description");
        }
    }

    #[test]
    fn every_mistake_is_told_at_once_with_its_line() {
        let text = "version = 1\nname = \"x\"\n[line]\nbuad = 9600\nparity = \"mark\"\n[frame]\npattern = '(\\d+)'\n";
        let problems = parse(text).unwrap_err();
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(problems.len(), 3, "{told:#?}");
        assert!(
            told[0].starts_with("line 4, `line.buad`: found an unknown key, wanted `baud`?"),
            "{told:#?}"
        );
        assert!(
            told[1].starts_with("line 5, `line.parity`: found `mark`, wanted `none`"),
            "{told:#?}"
        );
        assert!(
            told[2].starts_with("line 7, `frame.pattern`: found no part named `number`"),
            "{told:#?}"
        );
    }

    #[test]
    fn a_pattern_that_does_not_hold_the_whole_frame_is_refused() {
        let text = "version = 1\nname = \"x\"\n[frame]\npattern = '(?P<number>\\d+\\.\\d+)'\n";
        let problems = parse(text).unwrap_err();
        assert!(problems[0].found.contains("open at an end"), "{problems:?}");
    }
}
