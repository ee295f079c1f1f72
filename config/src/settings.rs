//! The settings file: the shop, its rules, where the record is, and the stations.

use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use overwire_core::units::Unit;

use crate::lathe::{self, LatheSettings};
use crate::live::{self, Known, LiveSettings};
use crate::problem::{ConfigError, Problem};
use crate::profile::{self, LineSettings, Profile};
use crate::reader::{Notes, Reader};
use crate::uncertainty::{self, UncertaintySettings};

/// Everything a settings file says, checked.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The shop and its lists.
    pub shop: Shop,
    /// The record's file.
    pub record_file: PathBuf,
    /// The page.
    pub page: Page,
    /// Times that rule what a reading is taken for.
    pub rules: Rules,
    /// What the shop knows of how well it measures; none makes no uncertainty budget.
    pub uncertainty: Option<UncertaintySettings>,
    /// A CSV that grows with every reading; none: no such file.
    pub live: Option<LiveSettings>,
    /// Where instruments are plugged in; at least one.
    pub stations: Vec<StationSettings>,
}

/// The shop's name and its own lists.
#[derive(Debug, Clone)]
pub struct Shop {
    /// Shown on the page and on exports.
    pub name: String,
    /// How the wires are held, in the shop's words; the first is the default. Never empty.
    pub methods: Vec<String>,
    /// Pick list of operators; may be empty.
    pub operators: Vec<String>,
    /// Reasons offered for a void.
    pub void_reasons: Vec<String>,
}

/// Where the page is served.
#[derive(Debug, Clone)]
pub struct Page {
    /// Address and port; loopback unless the file allows more.
    pub listen: SocketAddr,
    /// Further host names the page may be called by, beside the address and `localhost`.
    pub host_names: Vec<String>,
}

/// Times that rule what a reading is taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules {
    /// A second equal value within this time is a double press.
    pub double_press_ms: u32,
    /// An operator's name runs out after this time without a reading or a change.
    pub operator_minutes: u32,
    /// A zero check is good for this time; a job begun without one needs a reason. 0 asks for none.
    pub zero_check_hours: u32,
}

impl Default for Rules {
    fn default() -> Self {
        Rules {
            double_press_ms: 1500,
            operator_minutes: 480,
            zero_check_hours: 12,
        }
    }
}

/// One place where an instrument is plugged in.
#[derive(Debug, Clone)]
pub struct StationSettings {
    /// Name, unique in the file.
    pub name: String,
    /// Path of the port; by-id paths stay with the adapter when sockets are swapped.
    pub port: PathBuf,
    /// The instrument's entry in the register of instruments.
    pub instrument: String,
    /// Unit of frames that carry none.
    pub unit: Unit,
    /// How the instrument speaks, with the station's own line settings in it.
    pub profile: Profile,
    /// The lathe it stands at, where that was told.
    pub lathe: Option<LatheSettings>,
}

/// What a shop without its own list may say for a void.
const VOID_REASONS: [&str; 5] = [
    "wire slipped",
    "wrong piece",
    "double press",
    "dirt or burr",
    "other",
];

/// Reads and checks a settings file, but for words that are defined elsewhere.
///
/// # Errors
/// [`ConfigError::Unreadable`], or [`ConfigError::Mistakes`] with every mistake in the file.
pub fn load(path: &Path) -> Result<Settings, ConfigError> {
    load_knowing(path, None)
}

/// Reads and checks a settings file, with words that are defined elsewhere where they are given.
///
/// # Errors
/// As [`load`].
pub fn load_knowing(path: &Path, known: Option<&Known<'_>>) -> Result<Settings, ConfigError> {
    let text = std::fs::read_to_string(path).map_err(|source| ConfigError::Unreadable {
        path: path.to_owned(),
        source,
    })?;
    let folder = path.parent().unwrap_or(Path::new("."));
    parse_knowing(&text, folder, known).map_err(|problems| ConfigError::Mistakes {
        path: path.to_owned(),
        problems,
    })
}

/// Reads settings from their text; relative paths are taken from `folder`.
///
/// # Errors
/// Every mistake in the text, in the order of the lines.
pub fn parse(text: &str, folder: &Path) -> Result<Settings, Vec<Problem>> {
    parse_knowing(text, folder, None)
}

/// As [`parse`], with words that are defined elsewhere where they are given.
///
/// # Errors
/// As [`parse`].
pub fn parse_knowing(
    text: &str,
    folder: &Path,
    known: Option<&Known<'_>>,
) -> Result<Settings, Vec<Problem>> {
    let notes = Notes::new(text);
    let table = notes.parse();
    if !notes.is_clean() {
        // What stands after a slip of the syntax may be read as something else: that alone is told.
        return Err(notes.into_problems());
    }
    let root = Reader::new(&notes, table.get_ref(), 0..0, "");
    root.whole("version", 1..=1);
    let shop = read_shop(&root);
    let record_file = read_record(&root, folder);
    let page = read_page(&root);
    let rules = read_rules(&root);
    let uncertainty = uncertainty::read(&root);
    let live = live::read(&root, folder, known);
    let own_profiles = read_own_profiles(&root, folder);
    let stations = read_stations(&root, own_profiles.as_deref());
    root.finish();
    if notes.is_clean() {
        Ok(Settings {
            shop,
            record_file,
            page,
            rules,
            uncertainty,
            live,
            stations,
        })
    } else {
        Err(notes.into_problems())
    }
}

/// The shop's own instrument profiles; a folder that is not there is a slip of the pen.
fn read_own_profiles(root: &Reader<'_, '_>, folder: &Path) -> Option<PathBuf> {
    let text = root.text("instrument_folder")?;
    let path = folder.join(&text.value);
    if !path.is_dir() {
        root.note(
            text.line,
            "instrument_folder",
            format!("`{}`, which is no folder", path.display()),
            "a folder with profiles of your own",
        );
    }
    Some(path)
}

fn read_shop(root: &Reader<'_, '_>) -> Shop {
    let mut shop = Shop {
        name: "our shop".to_owned(),
        methods: vec!["by hand".to_owned()],
        operators: Vec::new(),
        void_reasons: VOID_REASONS.map(str::to_owned).to_vec(),
    };
    let Some(table) = root.table("shop") else {
        return shop;
    };
    if let Some(name) = table.text("name") {
        shop.name = name.value;
    }
    if let Some(methods) = read_list(&table, "methods", true) {
        shop.methods = methods;
    }
    if let Some(operators) = read_list(&table, "operators", false) {
        shop.operators = operators;
    }
    if let Some(reasons) = read_list(&table, "void_reasons", true) {
        shop.void_reasons = reasons;
    }
    table.finish();
    shop
}

fn read_list(table: &Reader<'_, '_>, key: &'static str, needs_one: bool) -> Option<Vec<String>> {
    let list = table.texts(key)?;
    let mut seen = BTreeSet::new();
    for text in &list.value {
        if text.trim().is_empty() {
            table.note(
                list.line,
                key,
                "an empty text",
                "a word or two in each place",
            );
        } else if !seen.insert(text) {
            table.note(list.line, key, format!("`{text}` twice"), "each text once");
        }
    }
    if needs_one && list.value.is_empty() {
        table.note(list.line, key, "an empty list", "at least one text");
    }
    Some(list.value)
}

fn read_record(root: &Reader<'_, '_>, folder: &Path) -> PathBuf {
    let Some(table) = root.table("record") else {
        return default_record_file();
    };
    let file = table.text("file");
    table.finish();
    match file {
        Some(file) if file.value.trim().is_empty() => {
            table_note_empty_file(root, file.line);
            default_record_file()
        }
        Some(file) => folder.join(file.value),
        None => default_record_file(),
    }
}

fn table_note_empty_file(root: &Reader<'_, '_>, line: usize) {
    root.note(
        line,
        "record.file",
        "empty text",
        "a path, as `file = \"record.db\"`",
    );
}

/// `$STATE_DIRECTORY` (set by systemd), else the user's XDG state folder.
fn default_record_file() -> PathBuf {
    let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
    let folder = match (set("STATE_DIRECTORY"), set("XDG_STATE_HOME"), set("HOME")) {
        (Some(state), _, _) => PathBuf::from(state),
        (None, Some(state), _) => PathBuf::from(state).join("overwire"),
        (None, None, Some(home)) => PathBuf::from(home).join(".local/state/overwire"),
        (None, None, None) => PathBuf::from("."),
    };
    folder.join("record.db")
}

fn read_page(root: &Reader<'_, '_>) -> Page {
    let mut page = Page {
        listen: SocketAddr::from(([127, 0, 0, 1], 7070)),
        host_names: Vec::new(),
    };
    let Some(table) = root.table("page") else {
        return page;
    };
    let allow_lan = table.yes_no("allow_lan").unwrap_or(false);
    if let Some(listen) = table.text("listen") {
        match listen.value.parse::<SocketAddr>() {
            Ok(address) if address.ip().is_loopback() || allow_lan => page.listen = address,
            Ok(_) => table.note(listen.line, "listen", format!("`{}`, open to the network", listen.value), "a loopback address, as `127.0.0.1:7070`; or `allow_lan = true` beside it, if everyone on the network may change tags and void readings"),
            Err(_) => table.note(listen.line, "listen", format!("`{}`", listen.value), "an address and port, as `127.0.0.1:7070`"),
        }
    }
    if let Some(names) = read_list(&table, "host_names", false) {
        page.host_names = names
            .into_iter()
            .map(|name| name.to_ascii_lowercase())
            .collect();
    }
    table.finish();
    page
}

fn read_rules(root: &Reader<'_, '_>) -> Rules {
    let mut rules = Rules::default();
    let Some(table) = root.table("rules") else {
        return rules;
    };
    if let Some(ms) = table.whole("double_press_ms", 0..=60_000) {
        rules.double_press_ms = ms as u32;
    }
    if let Some(minutes) = table.whole("operator_minutes", 1..=10_080) {
        rules.operator_minutes = minutes as u32;
    }
    if let Some(hours) = table.whole("zero_check_hours", 0..=168) {
        rules.zero_check_hours = hours as u32;
    }
    table.finish();
    rules
}

fn read_stations(root: &Reader<'_, '_>, own_profiles: Option<&Path>) -> Vec<StationSettings> {
    let tables = root.tables("station");
    if tables.is_empty() {
        root.note(
            0,
            "station",
            "no station",
            "at least one `[[station]]` with name, port, profile, instrument and unit",
        );
    }
    let mut names = BTreeSet::new();
    let mut ports = BTreeSet::new();
    let mut stations = Vec::new();
    for table in tables {
        if let Some(station) = read_station(&table, own_profiles) {
            if !names.insert(station.name.clone()) {
                table.note(
                    table.line(),
                    "name",
                    format!("`{}` a second time", station.name),
                    "a name of its own for each station",
                );
            }
            if !ports.insert(station.port.clone()) {
                table.note(
                    table.line(),
                    "port",
                    format!("`{}` a second time", station.port.display()),
                    "a port of its own for each station",
                );
            }
            stations.push(station);
        }
        table.finish();
    }
    stations
}

fn read_station(table: &Reader<'_, '_>, own_profiles: Option<&Path>) -> Option<StationSettings> {
    let name = read_station_name(table);
    let port = table.needed_text(
        "port",
        "the path of the port, as `/dev/serial/by-id/...` (see `overwire ports`)",
    );
    let instrument = table.needed_text(
        "instrument",
        "the instrument's entry in the register, as `MIC-07`",
    );
    let unit = read_unit(table);
    let profile = read_profile(table, own_profiles).map(|profile| Profile {
        line: profile::read_line(table, profile.line),
        ..profile
    });
    if profile.is_none() {
        profile::read_line(table, LineSettings::default());
    }
    let lathe = table.table("lathe").map(|table| {
        let settings = lathe::read(&table, unit.unwrap_or(Unit::Millimetre));
        table.finish();
        settings
    });
    Some(StationSettings {
        name: name?,
        port: PathBuf::from(port?.value),
        instrument: instrument?.value,
        unit: unit?,
        profile: profile?,
        lathe,
    })
}

fn read_station_name(table: &Reader<'_, '_>) -> Option<String> {
    let name = table.needed_text("name", "a short name, as `lathe-1`")?;
    let fits = |c: char| c.is_alphanumeric() || c == '-' || c == '_' || c == '.';
    if name.value.chars().count() > 40 || !name.value.chars().all(fits) {
        table.note(
            name.line,
            "name",
            format!("`{}`", name.value),
            "at most 40 letters, digits, `-`, `_` or `.`",
        );
        return None;
    }
    Some(name.value)
}

fn read_unit(table: &Reader<'_, '_>) -> Option<Unit> {
    let text = table.needed_text("unit", "`mm` or `in`: the unit of frames that carry none")?;
    let unit = Unit::parse(&text.value).ok();
    if unit.is_none() {
        table.note(
            text.line,
            "unit",
            format!("`{}`", text.value),
            "`mm` or `in`",
        );
    }
    unit
}

fn read_profile(table: &Reader<'_, '_>, own_profiles: Option<&Path>) -> Option<Profile> {
    let shipped = || profile::shipped_names().collect::<Vec<_>>().join(", ");
    let wanted = format!(
        "a profile: one of {}, or a file of your own in `instrument_folder`",
        shipped()
    );
    let name = table.needed_text("profile", &wanted)?;
    match profile::find(&name.value, own_profiles) {
        Ok(Some(profile)) => Some(profile),
        Ok(None) => {
            table.note(
                name.line,
                "profile",
                format!("`{}`, which is not there", name.value),
                wanted,
            );
            None
        }
        Err(error) => {
            table.note(
                name.line,
                "profile",
                error.to_string(),
                "a profile without mistakes",
            );
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = include_str!("../example/overwire.toml");

    #[test]
    fn the_example_is_valid() {
        let settings = parse(GOOD, Path::new("/srv/overwire")).unwrap();
        assert_eq!(settings.stations.len(), 2);
        assert_eq!(settings.record_file, Path::new("/srv/overwire/record.db"));
        assert_eq!(
            settings.stations[1].profile.line.baud, 19_200,
            "the station's own baud wins"
        );
    }

    #[test]
    fn every_mistake_is_told_at_once() {
        let text = "version = 2\n[page]\nlisten = \"0.0.0.0:7070\"\n[[station]]\nname = \"a b\"\nprot = \"/dev/x\"\nprofile = \"decmal-line\"\ninstrument = \"M\"\nunit = \"inch?\"\nbaud = \"fast\"\n";
        let problems = parse(text, Path::new(".")).unwrap_err();
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let lines: Vec<usize> = problems.iter().map(|problem| problem.line).collect();
        assert_eq!(lines, vec![1, 3, 4, 5, 6, 7, 9, 10], "{told:#?}");
        assert!(told[4].contains("`port`? Known here"), "{told:#?}");
    }

    #[test]
    fn two_stations_may_not_share_a_name_or_a_port() {
        let station = "[[station]]\nname = \"a\"\nport = \"/dev/x\"\nprofile = \"nr2-line\"\ninstrument = \"M\"\nunit = \"mm\"\n";
        let problems = parse(&station.repeat(2), Path::new(".")).unwrap_err();
        assert_eq!(problems.len(), 2, "{problems:?}");
        assert!(
            problems.iter().all(|problem| problem.line == 7),
            "{problems:?}"
        );
    }

    #[test]
    fn broken_toml_is_told_by_line() {
        let problems = parse("version = 1\n[shop\nname = \"x\"\n", Path::new(".")).unwrap_err();
        assert!(
            problems.iter().any(|problem| problem.line == 2),
            "{problems:?}"
        );
    }
}
