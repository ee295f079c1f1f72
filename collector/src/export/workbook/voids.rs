//! What was said of readings: a row for each word, beside the reading as it stands and as it was.

use std::rc::Rc;

use rust_xlsxwriter::Workbook;

use super::Setup;
use super::sheets::{Head, Sheets};
use crate::export::ExportError;
use crate::export::columns::{self, Column, Holds, View};
use crate::export::scan::Scan;
use crate::export::seen::Field;
use crate::export::value::Value;
use crate::record::{Change, Kind, reader};

/// What the word itself says.
const SAID: [(&str, Holds); 6] = [
    ("change", Holds::Whole),
    ("change_at", Holds::Moment),
    ("what", Holds::Code),
    ("reason", Holds::Free),
    ("by", Holds::Free),
    ("reading", Holds::Whole),
];

/// What stands of the reading beside it.
const OF_THE_READING: [&str; 17] = [
    "station",
    "at",
    "job",
    "feature",
    "piece",
    "wire_set",
    "over_wires",
    "unit",
    "pitch_diameter",
    "verdict_words",
    "counted",
    "original_job",
    "original_feature",
    "original_piece",
    "original_wire_set",
    "original_unit",
    "original_verdict",
];

fn of_the_reading() -> Vec<Column> {
    columns::named(OF_THE_READING).unwrap_or_default()
}

/// The empty table.
pub fn sheets(book: &mut Workbook, setup: &Rc<Setup>) -> Result<Sheets, ExportError> {
    let said = SAID.iter().map(|(name, holds)| Head::new(name, *holds));
    let heads = said.chain(Head::of(&of_the_reading())).collect();
    Sheets::new(book, setup, "Voids", heads, None)
}

fn what(kind: Kind) -> &'static str {
    match kind {
        Kind::Void => "void",
        Kind::Restore => "void taken back",
        Kind::Retag => "re-tagged",
        Kind::Keep => "held, then kept",
        Kind::Comment => "remark",
        other => other.code(),
    }
}

fn said(change: &Change, reading: i64) -> [Value<'_>; 6] {
    let stamp = change.head.stamp;
    [
        Value::Whole(change.head.entry),
        Value::Moment(stamp.wall_us, stamp.utc_offset_s),
        Value::Code(what(change.kind).into()),
        Value::Free(change.reason.as_str().into()),
        Value::Free(change.by.as_str().into()),
        Value::Whole(reading),
    ]
}

/// The rows of a reading of which something was said.
pub fn rows(
    scan: &Scan<'_>,
    view: &View<'_>,
    book: &mut Workbook,
    voids: &mut Sheets,
) -> Result<(), ExportError> {
    if view.seen().said().is_none() {
        return Ok(());
    }
    let entry = view.seen().whole(Field::Entry);
    let columns = of_the_reading();
    for change in reader::changes_of(scan.connection, entry)? {
        let beside = columns.iter().map(|column| column.value(view));
        voids.row(book, said(&change, entry).into_iter().chain(beside))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_column_beside_a_word_is_one_of_the_list() {
        assert_eq!(of_the_reading().len(), OF_THE_READING.len());
    }
}
