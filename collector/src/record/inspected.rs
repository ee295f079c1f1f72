//! What statistics need of the inspected readings of a thread, read without the rest of each entry.

use std::collections::HashSet;

use overwire_core::stats::piece_sums::{self, Tried};
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

impl Inspected {
    /// What sums take of it.
    pub fn tried(&self) -> Tried {
        Tried {
            piece: self.piece,
            attempt: self.attempt,
            mm: self.mm,
            left_out: self.left_out.is_some(),
        }
    }
}

/// A feature of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Feature<'a> {
    /// The job.
    pub job: &'a str,
    /// One thread on its pieces.
    pub name: &'a str,
}

/// Every one of them, from entry 0 on; the index gives the pieces one after the other, which is nearly the record's
/// order.
const ALL: &str = "SELECT entry, piece, attempt, pitch_diameter_mm, text, unit FROM reading
    WHERE job = ?1 AND feature = ?2 AND ?3 = 0 AND counted = 1 AND purpose = 'inspecting'
        AND pitch_diameter_mm IS NOT NULL";

/// The last of them, found by their entries: the signs keep SQLite from the job's index.
const LAST: &str = "SELECT entry, piece, attempt, pitch_diameter_mm, text, unit FROM reading
    WHERE entry > ?3 AND +job = ?1 AND +feature = ?2 AND counted = 1 AND purpose = 'inspecting'
        AND pitch_diameter_mm IS NOT NULL";

/// The inspected readings of a job's feature that count, or did until a person left them out, in the order of
/// the record.
///
/// # Errors
/// SQLite refuses, or an entry is not understood.
pub fn of_feature(
    connection: &Connection,
    feature: Feature<'_>,
) -> Result<Vec<Inspected>, RecordError> {
    let mut found = Vec::new();
    each(connection, feature, ALL, 0, |reading| found.push(reading))?;
    if !found.is_sorted_by_key(|reading| reading.entry) {
        found.sort_unstable_by_key(|reading| reading.entry);
    }
    Ok(found)
}

/// Entries that are looked through first for the last pieces, and how many times as many after them.
const REACH: (i64, i64) = (2_000, 8);

/// The inspected readings of the last pieces of a feature, of their newest attempts, in the order of the record: of
/// more pieces than so many where there are more. They are looked for backwards, so that a long record costs no more
/// than a short one. Gives too behind which entry was looked.
///
/// # Errors
/// As [`of_feature`].
pub fn latest(
    connection: &Connection,
    feature: Feature<'_>,
    pieces: usize,
) -> Result<(Vec<Inspected>, i64), RecordError> {
    let last = reader::tip(connection)?.entry;
    let mut reach = REACH.0;
    loop {
        let after = (last - reach).max(0);
        let mut found = Vec::new();
        each_after(connection, feature, after, |reading| found.push(reading))?;
        let found = newest_attempts(found);
        let seen: HashSet<i64> = found.iter().map(|reading| reading.piece).collect();
        if after == 0 || seen.len() > pieces {
            return Ok((found, after));
        }
        reach *= REACH.1;
    }
}

/// Of a piece that was begun again only the last attempt counts.
pub fn newest_attempts(tried: Vec<Inspected>) -> Vec<Inspected> {
    by_attempt(tried).0
}

/// The readings that stand, and those of earlier attempts at pieces that were begun again.
pub fn by_attempt(tried: Vec<Inspected>) -> (Vec<Inspected>, Vec<Inspected>) {
    if tried.iter().all(|reading| reading.attempt == 1) {
        // As it mostly is: every reading stands.
        return (tried, Vec::new());
    }
    let newest = piece_sums::newest_attempts(tried.iter().map(Inspected::tried));
    let stands = |reading: &Inspected| piece_sums::stands(&newest, &reading.tried());
    tried.into_iter().partition(stands)
}

/// Gives every one to `take`, as [`of_feature`] finds them but not always in the order of the record.
///
/// # Errors
/// As [`of_feature`].
pub fn each_of_feature(
    connection: &Connection,
    feature: Feature<'_>,
    take: impl FnMut(Inspected),
) -> Result<(), RecordError> {
    each(connection, feature, ALL, 0, take)
}

/// Gives those behind an entry to `take`, in the order of the record.
///
/// # Errors
/// As [`of_feature`].
pub fn each_after(
    connection: &Connection,
    feature: Feature<'_>,
    entry: i64,
    take: impl FnMut(Inspected),
) -> Result<(), RecordError> {
    each(connection, feature, LAST, entry, take)
}

/// Readings of which something was said stand in between, each before the first one with a later entry.
fn each(
    connection: &Connection,
    feature: Feature<'_>,
    sql: &str,
    after: i64,
    mut take: impl FnMut(Inspected),
) -> Result<(), RecordError> {
    let changed = changed(connection, feature, after)?;
    let mut restated = restated(connection, feature, &changed)?
        .into_iter()
        .peekable();
    let mut statement = connection.prepare_cached(sql)?;
    let mut rows = statement.query(params![feature.job, feature.name, after])?;
    let mut places = Places::default();
    while let Some(row) = rows.next()? {
        let reading = plain(row, &mut places)?;
        while let Some(earlier) = restated.next_if(|earlier| earlier.entry < reading.entry) {
            take(earlier);
        }
        if changed.is_empty() || !changed.contains(&reading.entry) {
            take(reading);
        }
    }
    restated.for_each(take);
    Ok(())
}

/// Readings of which something was said, if they are of this feature or may have been put there.
fn changed(
    connection: &Connection,
    feature: Feature<'_>,
    after: i64,
) -> Result<HashSet<i64>, RecordError> {
    let mut statement = connection.prepare_cached(
        "SELECT change.reading FROM change JOIN reading ON reading.entry = change.reading
         WHERE change.entry > ?3 AND reading.entry > ?3
            AND (change.kind = 'retag' OR (reading.job = ?1 AND reading.feature = ?2))",
    )?;
    let about = params![feature.job, feature.name, after];
    let entries = statement.query_map(about, |row| row.get(0))?;
    Ok(entries.collect::<Result<_, _>>()?)
}

/// How they stand now, as far as they are of this feature, in the order of the record.
fn restated(
    connection: &Connection,
    feature: Feature<'_>,
    changed: &HashSet<i64>,
) -> Result<Vec<Inspected>, RecordError> {
    let mut found = Vec::new();
    for &entry in changed {
        let standing = reader::standing(connection, entry)?;
        found.extend(standing.and_then(|standing| as_it_stands(&standing, feature)));
    }
    found.sort_unstable_by_key(|reading| reading.entry);
    Ok(found)
}

/// Whether anything said since an entry is of a reading up to it that stands at the feature, or stood there: a
/// re-tag from there or to there names the feature, or the reading was stamped with it.
///
/// # Errors
/// SQLite refuses.
pub fn touched_since(
    connection: &Connection,
    feature: Feature<'_>,
    entry: i64,
) -> Result<bool, RecordError> {
    let mut statement = connection.prepare_cached(
        "SELECT EXISTS (
            SELECT 1 FROM change JOIN reading ON reading.entry = change.reading
            WHERE change.entry > ?3 AND reading.entry <= ?3
               AND change.kind IN ('void', 'restore', 'retag', 'keep')
               AND ((reading.job = ?1 AND reading.feature = ?2) OR EXISTS (
                  SELECT 1 FROM change AS moved
                  WHERE moved.reading = reading.entry AND moved.kind = 'retag'
                     AND json_extract(moved.body, '$.job') = ?1
                     AND json_extract(moved.body, '$.feature') = ?2)))",
    )?;
    let about = params![feature.job, feature.name, entry];
    Ok(statement.query_row(about, |row| row.get(0))?)
}

/// Decimal places of texts that mostly look alike.
#[derive(Default)]
struct Places {
    like: Vec<u8>,
    places: u8,
}

impl Places {
    fn of(&mut self, text: &str) -> u8 {
        let alike = |(one, other): (&u8, &u8)| {
            one == other || (one.is_ascii_digit() && other.is_ascii_digit())
        };
        let bytes = text.as_bytes();
        if self.like.len() != bytes.len() || !self.like.iter().zip(bytes).all(alike) {
            self.places = places_of(text);
            self.like = bytes.to_vec();
        }
        self.places
    }
}

fn plain(row: &Row<'_>, places: &mut Places) -> rusqlite::Result<Inspected> {
    Ok(Inspected {
        entry: row.get(0)?,
        piece: row.get(1)?,
        attempt: row.get(2)?,
        mm: row.get(3)?,
        places: places.of(row.get_ref(4)?.as_str()?),
        inches: row.get_ref(5)?.as_str()? == "in",
        left_out: None,
    })
}

fn as_it_stands(standing: &Standing, feature: Feature<'_>) -> Option<Inspected> {
    let reading = &standing.reading;
    let (tags, judged) = (&reading.tags, &reading.judged);
    let own_job = tags.job.as_ref().map(|own| &*own.name);
    let here = own_job == Some(feature.job) && tags.feature.as_deref() == Some(feature.name);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_those_of_each_text_whatever_came_before() {
        let mut places = Places::default();
        let texts = [
            "+0.51130", "+0.51184", "12.345", "12.3456", "1234567", "no text", "0x.5",
        ];
        for text in texts {
            assert_eq!(places.of(text), places_of(text), "{text}");
        }
    }
}
