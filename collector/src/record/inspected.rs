//! What statistics need of the inspected readings of a thread, read without the rest of each entry.

use std::collections::HashSet;

use overwire_core::units::Unit;
use rusqlite::{Connection, Row, params};

use super::RecordError;
use super::entry::places_of;
use super::reader;
use super::standing::Standing;

/// One reading of an inspected piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspected {
    /// Entry.
    pub entry: i64,
    /// Piece.
    pub piece: i64,
    /// How often the piece was begun, from 1.
    pub attempt: i64,
    /// Pitch diameter, mm.
    pub mm: f64,
    /// Decimal places of the display.
    pub places: u8,
    /// Whether it was read in inches.
    pub inches: bool,
    /// Why it does not count, where a person left it out.
    pub left_out: Option<String>,
}

/// The inspected readings of a job's feature that count, or did until a person left them out, in the order of
/// the record.
///
/// # Errors
/// SQLite refuses, or an entry is not understood.
pub fn of_feature(
    connection: &Connection,
    job: &str,
    feature: &str,
) -> Result<Vec<Inspected>, RecordError> {
    let changed = changed(connection, job, feature)?;
    let mut found = Vec::new();
    // Without an order: the index gives the pieces one after the other, which is nearly the record's order.
    let mut statement = connection.prepare_cached(
        "SELECT entry, piece, attempt, pitch_diameter_mm, text, unit = 'in' FROM reading
         WHERE job = ?1 AND feature = ?2 AND purpose = 'inspecting' AND counted = 1
            AND pitch_diameter_mm IS NOT NULL",
    )?;
    let mut rows = statement.query(params![job, feature])?;
    while let Some(row) = rows.next()? {
        let reading = plain(row)?;
        if !changed.contains(&reading.entry) {
            found.push(reading);
        }
    }
    for entry in changed {
        let standing = reader::standing(connection, entry)?;
        found.extend(standing.and_then(|standing| restated(&standing, job, feature)));
    }
    found.sort_unstable_by_key(|reading| reading.entry);
    Ok(found)
}

/// Readings of which something was said, if they are of this feature or may have been put there.
fn changed(connection: &Connection, job: &str, feature: &str) -> Result<HashSet<i64>, RecordError> {
    let mut statement = connection.prepare_cached(
        "SELECT change.reading FROM change JOIN reading ON reading.entry = change.reading
         WHERE change.kind = 'retag' OR (reading.job = ?1 AND reading.feature = ?2)",
    )?;
    let entries = statement.query_map(params![job, feature], |row| row.get(0))?;
    Ok(entries.collect::<Result<_, _>>()?)
}

fn plain(row: &Row<'_>) -> Result<Inspected, RecordError> {
    let text = row.get_ref(4)?.as_str().map_err(rusqlite::Error::from)?;
    Ok(Inspected {
        entry: row.get(0)?,
        piece: row.get(1)?,
        attempt: row.get(2)?,
        mm: row.get(3)?,
        places: places_of(text),
        inches: row.get(5)?,
        left_out: None,
    })
}

fn restated(standing: &Standing, job: &str, feature: &str) -> Option<Inspected> {
    let reading = &standing.reading;
    let (tags, judged) = (&reading.tags, &reading.judged);
    let here = tags.job.as_ref().is_some_and(|own| *own.name == *job)
        && tags.feature.as_deref() == Some(feature);
    let inspected = here && tags.purpose == "inspecting" && judged.counted;
    Some(Inspected {
        entry: reading.head.entry,
        piece: tags.piece,
        attempt: tags.attempt,
        mm: judged.pitch_diameter_mm.filter(|_| inspected)?,
        places: reading.places(),
        inches: reading.shown_in() == Unit::Inch,
        left_out: standing.void.as_ref().map(|void| void.text.clone()),
    })
}
