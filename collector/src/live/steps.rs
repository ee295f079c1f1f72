//! What in the record makes a line: each reading as it was made, and whatever was said of one since.

use rusqlite::{Connection, params};

use super::LiveError;
use crate::clock::shop_day;
use crate::record::standing::Restated;
use crate::record::{Kind, reader};

/// One line to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Entry for which it is written.
    pub as_of: i64,
    /// The reading.
    pub entry: i64,
    /// The shop's civil day on which the reading was made, days since 1970-01-01.
    pub day: i64,
    /// Jobs that the reading has been in up to that entry; an empty name for none.
    pub jobs: Vec<String>,
}

/// Steps taken from the record at once.
pub const A_CHUNK: usize = 256;

/// The first steps after an entry, in order.
///
/// # Errors
/// The record cannot be read.
pub fn after(connection: &Connection, entry: i64) -> Result<Vec<Step>, LiveError> {
    let mut statement = connection.prepare_cached(
        "SELECT as_of, reading.entry, wall_us, utc_offset_s, job FROM (
           SELECT entry AS as_of, entry AS of FROM reading WHERE entry > ?1
           UNION ALL
           SELECT entry, reading FROM change WHERE entry > ?1 AND reading IS NOT NULL
           ORDER BY 1 LIMIT ?2)
         JOIN reading ON reading.entry = of ORDER BY as_of",
    )?;
    let mut rows = statement.query(params![entry, A_CHUNK as i64])?;
    let mut steps = Vec::new();
    while let Some(row) = rows.next()? {
        let job: Option<String> = row.get(4)?;
        let mut step = Step {
            as_of: row.get(0)?,
            entry: row.get(1)?,
            day: shop_day(row.get(2)?, row.get(3)?),
            jobs: vec![job.unwrap_or_default()],
        };
        if step.as_of != step.entry {
            moves(connection, &mut step)?;
        }
        steps.push(step);
    }
    Ok(steps)
}

/// Adds the jobs that the reading was put into.
fn moves(connection: &Connection, step: &mut Step) -> Result<(), LiveError> {
    for change in reader::changes_of(connection, step.entry)? {
        if change.head.entry <= step.as_of && change.kind == Kind::Retag {
            let job = change.form::<Restated>()?.job.unwrap_or_default();
            if !step.jobs.contains(&job) {
                step.jobs.push(job);
            }
        }
    }
    Ok(())
}

/// The step of an entry, if it is one.
///
/// # Errors
/// The record cannot be read.
pub fn at(connection: &Connection, as_of: i64) -> Result<Option<Step>, LiveError> {
    let first = after(connection, as_of - 1)?.into_iter().next();
    Ok(first.filter(|step| step.as_of == as_of))
}

/// The entry before the first reading since a moment.
///
/// # Errors
/// The record cannot be read.
pub fn before(connection: &Connection, wall_us: i64) -> Result<i64, LiveError> {
    let first: Option<i64> = connection.query_row(
        "SELECT min(entry) FROM reading WHERE wall_us >= ?1",
        [wall_us],
        |row| row.get(0),
    )?;
    Ok(match first {
        Some(first) => first - 1,
        None => reader::tip(connection)?.entry,
    })
}
