//! What stood beside the inspected readings of a thread: when, with which wires and instrument, by whom, after which
//! zero check; and what a person remarked. Only asked for when a question needs it.

use std::collections::HashMap;

use rusqlite::{Connection, Row, params};

use super::RecordError;
use super::entry::Revised;
use super::inspected::Feature;
use super::reader;
use super::standing::Standing;

/// What stood beside one reading.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beside {
    /// When, microseconds since 1970.
    pub wall_us: i64,
    /// The shop's offset from UTC then, seconds.
    pub utc_offset_s: i32,
    /// Station.
    pub station: String,
    /// Wire set and the entry of its revision.
    pub wire_set: Revised,
    /// Instrument and the entry of its revision.
    pub instrument: Revised,
    /// The entry of the job's revision.
    pub job_entry: i64,
    /// How the wires were held.
    pub method: String,
    /// Who; empty where nobody was named.
    pub operator: String,
    /// The last remark on it; empty where there is none.
    pub remark: String,
}

/// A zero check that was taken and stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZeroCheck {
    /// Entry.
    pub entry: i64,
    /// Instrument.
    pub instrument: String,
}

/// What stood beside the readings of a job's feature behind an entry, by their entries; those that were moved there
/// among them.
///
/// # Errors
/// SQLite refuses, or an entry is not understood.
pub fn of_feature(
    connection: &Connection,
    feature: Feature<'_>,
    after: i64,
) -> Result<HashMap<i64, Beside>, RecordError> {
    let mut found = HashMap::new();
    // Of a part of the record entries are found by their numbers: the signs keep SQLite from the job's index.
    let sign = if after > 0 { "+" } else { "" };
    let mut statement = connection.prepare_cached(&format!(
        "SELECT entry, wall_us, utc_offset_s, station, wire_set, wire_set_entry, instrument, instrument_entry,
                job_entry, method, operator FROM reading
         WHERE {sign}job = ?1 AND {sign}feature = ?2 AND entry > ?3 AND purpose = 'inspecting' AND counted = 1"
    ))?;
    let mut rows = statement.query(params![feature.job, feature.name, after])?;
    while let Some(row) = rows.next()? {
        found.insert(row.get(0)?, plain(row)?);
    }
    let mut moved = connection.prepare_cached(
        "SELECT DISTINCT reading FROM change WHERE kind IN ('retag', 'keep') AND reading > ?1",
    )?;
    let moved = moved.query_map([after], |row| row.get::<_, i64>(0))?;
    for entry in moved {
        let entry = entry?;
        if let Some(standing) = reader::standing(connection, entry)? {
            found.insert(entry, restated(&standing));
        }
    }
    let mut remarks = connection.prepare_cached(
        "SELECT reading, reason FROM change WHERE kind = 'comment' AND reading > ?1 ORDER BY entry",
    )?;
    let mut rows = remarks.query([after])?;
    while let Some(row) = rows.next()? {
        if let Some(beside) = found.get_mut(&row.get(0)?) {
            beside.remark = row.get(1)?;
        }
    }
    Ok(found)
}

fn plain(row: &Row<'_>) -> Result<Beside, RecordError> {
    let text = |at| -> rusqlite::Result<String> {
        Ok(row.get::<_, Option<String>>(at)?.unwrap_or_default())
    };
    let revised = |name, entry| -> rusqlite::Result<Revised> {
        Ok(Revised {
            name: text(name)?.into(),
            entry: row.get(entry)?,
        })
    };
    Ok(Beside {
        wall_us: row.get(1)?,
        utc_offset_s: row.get(2)?,
        station: text(3)?,
        wire_set: revised(4, 5)?,
        instrument: revised(6, 7)?,
        job_entry: row.get(8)?,
        method: text(9)?,
        operator: text(10)?,
        remark: String::new(),
    })
}

fn restated(standing: &Standing) -> Beside {
    let (head, tags) = (&standing.reading.head, &standing.reading.tags);
    Beside {
        wall_us: head.stamp.wall_us,
        utc_offset_s: head.stamp.utc_offset_s,
        station: head.station.to_string(),
        wire_set: tags.wire_set.clone().unwrap_or_default(),
        instrument: tags.instrument.clone(),
        job_entry: tags.job.as_ref().map_or(0, |job| job.entry),
        method: tags.method.to_string(),
        operator: tags.operator.as_deref().unwrap_or_default().to_owned(),
        remark: String::new(),
    }
}

/// The zero checks that were used as such and are not void, in the order of the record.
///
/// # Errors
/// SQLite refuses.
pub fn zero_checks(connection: &Connection) -> Result<Vec<ZeroCheck>, RecordError> {
    let mut statement = connection.prepare_cached(
        "SELECT entry, instrument FROM reading
         WHERE purpose = 'zero' AND verdict IN ('zero_within', 'zero_off')
            AND coalesce((SELECT kind FROM change WHERE reading = reading.entry AND kind IN ('void', 'restore')
                          ORDER BY change.entry DESC LIMIT 1), 'restore') = 'restore'
         ORDER BY entry",
    )?;
    let checks = statement.query_map([], |row| {
        Ok(ZeroCheck {
            entry: row.get(0)?,
            instrument: row.get(1)?,
        })
    })?;
    Ok(checks.collect::<Result<_, _>>()?)
}
