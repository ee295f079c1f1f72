//! The columns of the CSV, and one row.

use std::fmt::Write as _;

use overwire_core::decimal::format_to;

use super::guard::guarded;
use crate::clock::{iso, local};
use crate::record::standing::Standing;
use crate::record::{Flags, Revised, chain};
use crate::view::{LimitsView, unit_of, verdict_words};

/// Names of the columns in order, each with what it holds.
pub const COLUMNS: &[(&str, &str)] = &[
    ("entry", "number of the entry in the record"),
    ("id", "UUID of the reading"),
    ("station", "station"),
    (
        "sequence",
        "number at the station, without gaps over readings and changes",
    ),
    ("at", "when the frame arrived, ISO 8601 with offset"),
    (
        "local_time",
        "the same in the shop's time, for spreadsheets",
    ),
    (
        "utc_offset",
        "the shop's offset from UTC then, as UTC+01:00",
    ),
    ("job", "job (guarded text)"),
    ("job_entry", "entry of the job's revision it was judged by"),
    ("feature", "thread on the piece (guarded text)"),
    ("piece", "piece number"),
    ("attempt", "how often the piece was begun"),
    ("position", "where on the thread (guarded text)"),
    ("wire_set", "wire set (guarded text)"),
    ("wire_set_entry", "entry of its revision"),
    ("instrument", "instrument (guarded text)"),
    (
        "instrument_entry",
        "entry of its revision, 0: not in the register",
    ),
    ("method", "how the wires were held (guarded text)"),
    ("operator", "who, empty: unattributed (guarded text)"),
    ("purpose", "cutting, inspecting or zero"),
    ("typed", "1: typed in by hand"),
    (
        "raw",
        "the frame as received (guarded text; bytes that do not print as \\xNN)",
    ),
    (
        "over_wires",
        "measurement over wires as the display showed it",
    ),
    ("unit", "mm or in: of every length here"),
    ("unit_from", "who named the unit: frame, station or typed"),
    (
        "pitch_diameter",
        "exact pitch diameter, to the places of the display",
    ),
    ("lead_angle_correction", "plane pitch diameter minus exact"),
    ("pitch_diameter_min", "lower limit"),
    ("pitch_diameter_max", "upper limit"),
    ("over_max", "pitch diameter minus upper limit"),
    ("over_min", "pitch diameter minus lower limit"),
    ("seat", "how the wires sit"),
    (
        "verdict",
        "pass, fail_under, fail_over, still_to_cut, undecided, held or none",
    ),
    ("verdict_words", "the same for people"),
    ("counted", "1: counts for the piece and for statistics"),
    ("flags", "what is to be said of it, codes with spaces"),
    ("zero_at", "when the last zero check before it was made"),
    ("zero_off", "what the instrument showed too much then"),
    ("part_celsius", "temperature of the part, where told"),
    (
        "gauge_celsius",
        "temperature of wires and micrometer, where told",
    ),
    (
        "correction_zero",
        "added to the reading before it was converted: for the zero check",
    ),
    (
        "correction_micrometer_temperature",
        "likewise, for the micrometer's warmth",
    ),
    (
        "correction_compression",
        "likewise, for the measuring force on free wires",
    ),
    (
        "correction_wire_temperature",
        "likewise, for the wires' warmth",
    ),
    (
        "correction_part_temperature",
        "likewise, for the part's warmth",
    ),
    ("uncertainty", "expanded uncertainty of the pitch diameter"),
    ("coverage_factor", "the factor it was expanded by"),
    (
        "decision_rule",
        "rule the verdict was made by; empty: compared with the limits",
    ),
    (
        "accept_min",
        "smallest pitch diameter that passes by that rule",
    ),
    (
        "accept_max",
        "largest pitch diameter that passes by that rule",
    ),
    ("void", "1: void"),
    ("void_reason", "why (guarded text)"),
    ("void_by", "who voided it (guarded text)"),
    ("void_at", "when"),
    (
        "moved_reason",
        "why it was re-tagged or kept (guarded text)",
    ),
    ("moved_by", "who (guarded text)"),
    (
        "original_job",
        "job it was first stamped with, where re-tagged (guarded text)",
    ),
    ("original_feature", "feature likewise (guarded text)"),
    ("original_piece", "piece likewise"),
    ("original_wire_set", "wire set likewise (guarded text)"),
    ("original_unit", "unit likewise"),
    ("original_verdict", "verdict as first made, where re-tagged"),
    ("comment", "last remark (guarded text)"),
    ("hash", "hash of the entry in the chain"),
];

/// The header line.
pub fn header() -> String {
    let names: Vec<&str> = COLUMNS.iter().map(|(name, _)| *name).collect();
    names.join(",") + "\r\n"
}

/// Writes cells of one row.
struct Cells<'a> {
    line: &'a mut String,
    first: bool,
}

impl Cells<'_> {
    fn plain(&mut self, cell: &str) {
        if !self.first {
            self.line.push(',');
        }
        self.first = false;
        if cell.contains([',', '"', '\r', '\n']) {
            self.line.push('"');
            self.line.push_str(&cell.replace('"', "\"\""));
            self.line.push('"');
        } else {
            self.line.push_str(cell);
        }
    }

    fn free(&mut self, text: &str) {
        self.plain(&guarded(text));
    }

    fn free_or_empty(&mut self, text: Option<&str>) {
        self.free(text.unwrap_or_default());
    }

    fn whole(&mut self, number: i64) {
        if !self.first {
            self.line.push(',');
        }
        self.first = false;
        // Writing to a String cannot fail.
        let _ = write!(self.line, "{number}");
    }

    fn flag(&mut self, flag: bool) {
        self.plain(if flag { "1" } else { "0" });
    }

    fn length(&mut self, mm: Option<f64>, per_unit: f64, places: u8) {
        match mm {
            None => self.plain(""),
            Some(mm) => self.plain(&format_to(mm / per_unit, places)),
        }
    }
}

/// Writes the row of a reading, with its line end.
pub fn row(standing: &Standing, line: &mut String) {
    let mut cells = Cells { line, first: true };
    identity(standing, &mut cells);
    tags(standing, &mut cells);
    measurement(standing, &mut cells);
    judgement(standing, &mut cells);
    grounds(standing, &mut cells);
    aftermath(standing, &mut cells);
    line.push_str("\r\n");
}

fn identity(standing: &Standing, cells: &mut Cells<'_>) {
    let head = &standing.reading.head;
    let stamp = head.stamp;
    cells.whole(head.entry);
    cells.plain(&uuid::Uuid::from_bytes(head.id).to_string());
    cells.free(&head.station);
    cells.whole(head.sequence);
    let at = iso(stamp.wall_us, stamp.utc_offset_s);
    cells.plain(&at);
    cells.plain(
        &local(stamp.wall_us, stamp.utc_offset_s)
            .strftime("%Y-%m-%d %H:%M:%S")
            .to_string(),
    );
    // With a word before it: a spreadsheet would take a bare `+01:00` for a sum.
    cells.plain(&format!("UTC{}", at.get(23..).unwrap_or_default()));
}

fn name(revised: Option<&Revised>) -> Option<&str> {
    revised.map(|revised| &*revised.name)
}

fn tags(standing: &Standing, cells: &mut Cells<'_>) {
    let tags = &standing.reading.tags;
    let entry = |revised: Option<&Revised>| revised.map_or(0, |revised| revised.entry);
    cells.free_or_empty(name(tags.job.as_ref()));
    cells.whole(entry(tags.job.as_ref()));
    cells.free_or_empty(tags.feature.as_deref());
    cells.whole(tags.piece);
    cells.whole(tags.attempt);
    cells.free_or_empty(tags.position.as_deref());
    cells.free_or_empty(name(tags.wire_set.as_ref()));
    cells.whole(entry(tags.wire_set.as_ref()));
    cells.free(&tags.instrument.name);
    cells.whole(tags.instrument.entry);
    cells.free(&tags.method);
    cells.free_or_empty(tags.operator.as_deref());
    cells.plain(tags.purpose);
}

fn measurement(standing: &Standing, cells: &mut Cells<'_>) {
    let reading = &standing.reading;
    cells.flag(reading.judged.flags.any(Flags::TYPED));
    cells.free(&printable(&reading.raw));
    cells.plain(&reading.text);
    cells.plain(reading.unit);
    cells.plain(reading.unit_from.code());
}

/// Bytes as text: what does not print is written as `\xNN`, a backslash doubled.
fn printable(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len());
    for byte in bytes {
        match byte {
            b'\\' => text.push_str("\\\\"),
            0x20..=0x7E => text.push(char::from(*byte)),
            _ => {
                let _ = write!(text, "\\x{byte:02x}");
            }
        }
    }
    text
}

fn judgement(standing: &Standing, cells: &mut Cells<'_>) {
    let reading = &standing.reading;
    let judged = &reading.judged;
    let unit = unit_of(reading.unit);
    let per_unit = unit.mm_per_unit();
    let places = reading.places();
    let over = |limit: Option<f64>| Some(judged.pitch_diameter_mm? - limit?);
    cells.length(judged.pitch_diameter_mm, per_unit, places);
    cells.length(judged.lead_angle_correction_mm, per_unit, places + 1);
    let limits = judged.limit_min_mm.zip(judged.limit_max_mm);
    let limits = limits.map(|(min, max)| LimitsView::of(min, max, unit));
    cells.plain(limits.as_ref().map_or("", |limits| &limits.min));
    cells.plain(limits.as_ref().map_or("", |limits| &limits.max));
    cells.length(over(judged.limit_max_mm), per_unit, places);
    cells.length(over(judged.limit_min_mm), per_unit, places);
    cells.plain(judged.seat);
    let held = judged.held.is_some();
    cells.plain(if held { "held" } else { judged.verdict });
    cells.plain(if held {
        "HELD"
    } else {
        verdict_words(judged.verdict)
    });
    cells.flag(standing.counts());
    cells.plain(&judged.flags.to_text());
}

/// Corrections, in the order of their columns.
const TERMS: [&str; 5] = [
    "zero",
    "micrometer_temperature",
    "compression",
    "wire_temperature",
    "part_temperature",
];

fn grounds(standing: &Standing, cells: &mut Cells<'_>) {
    let reading = &standing.reading;
    let grounds = reading.judged.grounds();
    let per_unit = unit_of(reading.unit).mm_per_unit();
    let places = reading.places();
    let zero = grounds.zero;
    let offset_s = reading.head.stamp.utc_offset_s;
    cells.plain(&zero.map_or_else(String::new, |zero| iso(zero.at_us, offset_s)));
    cells.length(zero.map(|zero| zero.off_mm), per_unit, places);
    for celsius in [grounds.part_celsius, grounds.gauge_celsius] {
        cells.plain(&celsius.map_or_else(String::new, |celsius| celsius.to_string()));
    }
    for kind in TERMS {
        let term = grounds.terms.iter().find(|term| term.kind == kind);
        cells.length(term.map(|term| term.mm), per_unit, places + 1);
    }
    let uncertainty = grounds.uncertainty;
    cells.length(uncertainty.map(|u| u.expanded_mm), per_unit, places + 1);
    cells.plain(&uncertainty.map_or_else(String::new, |u| format_to(u.factor, 2)));
    let rule = grounds.rule.as_ref();
    cells.plain(rule.map_or("", |rule| &rule.rule));
    cells.length(
        rule.and_then(|rule| rule.accept_min_mm),
        per_unit,
        places + 1,
    );
    cells.length(
        rule.and_then(|rule| rule.accept_max_mm),
        per_unit,
        places + 1,
    );
}

fn aftermath(standing: &Standing, cells: &mut Cells<'_>) {
    let void = standing.void.as_ref();
    cells.flag(void.is_some());
    cells.free_or_empty(void.map(|said| said.text.as_str()));
    cells.free_or_empty(void.map(|said| said.by.as_str()));
    cells.plain(
        &void
            .map(|said| iso(said.wall_us, said.utc_offset_s))
            .unwrap_or_default(),
    );
    let moved = standing.moved.as_ref();
    cells.free_or_empty(moved.map(|said| said.text.as_str()));
    cells.free_or_empty(moved.map(|said| said.by.as_str()));
    let before = standing.before.as_ref();
    cells.free_or_empty(before.and_then(|before| name(before.tags.job.as_ref())));
    cells.free_or_empty(before.and_then(|before| before.tags.feature.as_deref()));
    cells.plain(
        &before
            .map(|before| before.tags.piece.to_string())
            .unwrap_or_default(),
    );
    cells.free_or_empty(before.and_then(|before| name(before.tags.wire_set.as_ref())));
    cells.plain(before.map(|before| before.unit).unwrap_or_default());
    cells.plain(
        before
            .map(|before| before.judged.verdict)
            .unwrap_or_default(),
    );
    cells.free_or_empty(standing.comment.as_ref().map(|said| said.text.as_str()));
    cells.plain(&chain::hex(&standing.reading.head.hash));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_readme_names_every_column_in_order() {
        let readme = include_str!("../../../README.md");
        let listed: Vec<String> = COLUMNS
            .iter()
            .map(|(name, _)| format!("`{name}`"))
            .collect();
        let flat = readme.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            flat.contains(&listed.join(" ")),
            "README's list of CSV columns is stale"
        );
    }

    #[test]
    fn bytes_that_do_not_print_are_written_out() {
        assert_eq!(printable(b"+0.5\\\x00"), r"+0.5\\\x00");
    }
}
