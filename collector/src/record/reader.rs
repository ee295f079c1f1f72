//! Reading the record, on connections of its own that cannot write.

use rusqlite::{Connection, OptionalExtension, params};

use super::RecordError;
use super::entry::{Change, Kind, Reading, StampedTags};
use super::rows::{CHANGE_COLUMNS, READING_COLUMNS, change, fixed, reading, strange};
use super::standing::Standing;
use super::writer::Tip;

pub use super::opening::open;

/// Number and hash of the last entry.
pub fn tip(connection: &Connection) -> Result<Tip, RecordError> {
    let found = connection
        .query_row(
            "SELECT entry, hash FROM (
               SELECT * FROM (SELECT entry, hash FROM reading ORDER BY entry DESC LIMIT 1)
               UNION ALL
               SELECT * FROM (SELECT entry, hash FROM change ORDER BY entry DESC LIMIT 1))
             ORDER BY entry DESC LIMIT 1",
            [],
            |row| Ok((row.get::<_, i64>(0)?, row.get::<_, Vec<u8>>(1)?)),
        )
        .optional()?;
    let Some((entry, hash)) = found else {
        return Ok(Tip::default());
    };
    let hash = fixed(&hash).ok_or_else(|| strange(entry, "a hash of a wrong length"))?;
    Ok(Tip { entry, hash })
}

/// The hash of an entry, if there is one of that number.
pub fn hash_of(connection: &Connection, entry: i64) -> Result<Option<[u8; 32]>, RecordError> {
    let mut statement = connection.prepare_cached(
        "SELECT hash FROM reading WHERE entry = ?1 UNION ALL SELECT hash FROM change WHERE entry = ?1",
    )?;
    let hash = statement.query_row([entry], |row| row.get(0));
    Ok(hash.optional()?)
}

/// Last sequence of a station over readings and changes; 0 when it has none.
pub fn last_sequence(connection: &Connection, station: &str) -> Result<i64, RecordError> {
    Ok(connection.query_row(
        "SELECT max(
           coalesce((SELECT max(sequence) FROM reading WHERE station = ?1), 0),
           coalesce((SELECT max(sequence) FROM change WHERE station = ?1), 0))",
        [station],
        |row| row.get(0),
    )?)
}

/// One reading as it stands now.
///
/// # Errors
/// SQLite refuses, or the entry is not understood. `Ok(None)`: there is no such reading.
pub fn standing(connection: &Connection, entry: i64) -> Result<Option<Standing>, RecordError> {
    standing_at(connection, entry, i64::MAX)
}

/// One reading as it stood when the record had come to an entry.
///
/// # Errors
/// As [`standing`].
pub fn standing_at(
    connection: &Connection,
    entry: i64,
    upto: i64,
) -> Result<Option<Standing>, RecordError> {
    let sql = format!("SELECT {READING_COLUMNS} FROM reading WHERE entry = ?1 AND entry <= ?2");
    let mut statement = connection.prepare_cached(&sql)?;
    let mut rows = statement.query(params![entry, upto])?;
    let Some(row) = rows.next()? else {
        return Ok(None);
    };
    let mut standing = Standing::fresh(reading(row)?);
    let changes = changes_of(connection, entry)?;
    for change in changes.iter().filter(|change| change.head.entry <= upto) {
        standing.apply(change)?;
    }
    Ok(Some(standing))
}

/// The last readings of a station as they stand now, newest first.
pub fn last_of_station(
    connection: &Connection,
    station: &str,
    most: usize,
) -> Result<Vec<Standing>, RecordError> {
    let sql = format!(
        "SELECT {READING_COLUMNS} FROM reading WHERE station = ?1 ORDER BY sequence DESC LIMIT ?2"
    );
    collect(connection, &sql, params![station, most as i64])
}

/// Readings after an entry as they stand now, oldest first.
pub fn after(
    connection: &Connection,
    entry: i64,
    most: usize,
) -> Result<Vec<Standing>, RecordError> {
    let sql =
        format!("SELECT {READING_COLUMNS} FROM reading WHERE entry > ?1 ORDER BY entry LIMIT ?2");
    collect(connection, &sql, params![entry, most as i64])
}

pub(super) fn collect(
    connection: &Connection,
    sql: &str,
    parameters: &[&dyn rusqlite::ToSql],
) -> Result<Vec<Standing>, RecordError> {
    let mut statement = connection.prepare_cached(sql)?;
    let mut rows = statement.query(parameters)?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let mut standing = Standing::fresh(reading(row)?);
        for change in changes_of(connection, standing.reading.head.entry)? {
            standing.apply(&change)?;
        }
        found.push(standing);
    }
    Ok(found)
}

/// Readings that were made for a study, as made, oldest first.
pub fn study_readings(connection: &Connection, study: &str) -> Result<Vec<Reading>, RecordError> {
    let mut statement = connection.prepare_cached(&format!(
        "SELECT {READING_COLUMNS} FROM reading
         WHERE purpose = 'study' AND json_extract(grounds, '$.study.study') = ?1 ORDER BY entry"
    ))?;
    let mut rows = statement.query(params![study])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(reading(row)?);
    }
    Ok(found)
}

/// Every reading that stands at a job's feature now, in the order of the record: those stamped so, and those
/// that were put there since.
pub fn each_of_feature(
    connection: &Connection,
    job: &str,
    feature: &str,
    mut take: impl FnMut(&Standing),
) -> Result<(), RecordError> {
    each_touching_feature(connection, job, feature, |standing, is_here| {
        if is_here {
            take(standing);
        }
    })
}

/// The same with those that were stamped so and put elsewhere since; the second tells which.
///
/// # Errors
/// SQLite refuses, or an entry is not understood.
pub fn each_touching_feature(
    connection: &Connection,
    job: &str,
    feature: &str,
    mut take: impl FnMut(&Standing, bool),
) -> Result<(), RecordError> {
    let mut statement = connection.prepare_cached(&format!(
        "SELECT {READING_COLUMNS}, EXISTS (SELECT 1 FROM change WHERE change.reading = reading.entry)
         FROM reading WHERE (job = ?1 AND feature = ?2)
            OR entry IN (SELECT reading FROM change WHERE kind = 'retag')
         ORDER BY entry"
    ))?;
    let mut rows = statement.query(params![job, feature])?;
    let named = |tags: &StampedTags| {
        tags.job.as_ref().is_some_and(|own| *own.name == *job)
            && tags.feature.as_deref() == Some(feature)
    };
    while let Some(row) = rows.next()? {
        let mut standing = Standing::fresh(reading(row)?);
        if row.get(39)? {
            for change in changes_of(connection, standing.reading.head.entry)? {
                standing.apply(&change)?;
            }
        }
        let is_here = named(&standing.reading.tags);
        let was_here = standing
            .before
            .as_ref()
            .is_some_and(|before| named(&before.tags));
        if is_here || was_here {
            take(&standing, is_here);
        }
    }
    Ok(())
}

/// What was said of one reading, oldest first.
pub fn changes_of(connection: &Connection, entry: i64) -> Result<Vec<Change>, RecordError> {
    let sql = format!("SELECT {CHANGE_COLUMNS} FROM change WHERE reading = ?1 ORDER BY entry");
    changes(connection, &sql, params![entry])
}

/// Every change of some kinds, oldest first.
pub fn changes_of_kinds(
    connection: &Connection,
    kinds: &[Kind],
) -> Result<Vec<Change>, RecordError> {
    let list = kinds
        .iter()
        .map(|kind| format!("'{}'", kind.code()))
        .collect::<Vec<_>>()
        .join(", ");
    let sql = format!("SELECT {CHANGE_COLUMNS} FROM change WHERE kind IN ({list}) ORDER BY entry");
    changes(connection, &sql, params![])
}

/// Every revision of a job, wire set, instrument or study by its name, oldest first.
pub fn revisions_of(
    connection: &Connection,
    kind: Kind,
    subject: &str,
) -> Result<Vec<Change>, RecordError> {
    let sql = format!(
        "SELECT {CHANGE_COLUMNS} FROM change WHERE kind = ?1 AND subject = ?2 ORDER BY entry"
    );
    changes(connection, &sql, params![kind.code(), subject])
}

/// The newest revision of a job, wire set, instrument or study by its name.
pub fn newest_of(
    connection: &Connection,
    kind: Kind,
    subject: &str,
) -> Result<Option<Change>, RecordError> {
    let sql = format!(
        "SELECT {CHANGE_COLUMNS} FROM change WHERE kind = ?1 AND subject = ?2
         ORDER BY entry DESC LIMIT 1"
    );
    Ok(changes(connection, &sql, params![kind.code(), subject])?.pop())
}

/// The names of everything of a kind.
pub fn names_of(connection: &Connection, kind: Kind) -> Result<Vec<String>, RecordError> {
    let mut statement = connection
        .prepare_cached("SELECT DISTINCT subject FROM change WHERE kind = ?1 ORDER BY subject")?;
    let names = statement.query_map([kind.code()], |row| row.get(0))?;
    Ok(names.collect::<Result<_, _>>()?)
}

/// The last tags that were set at a station.
pub fn last_tags(connection: &Connection, station: &str) -> Result<Option<Change>, RecordError> {
    let sql = format!(
        "SELECT {CHANGE_COLUMNS} FROM change WHERE station = ?1 AND kind = 'tags'
         ORDER BY sequence DESC LIMIT 1"
    );
    Ok(changes(connection, &sql, params![station])?.pop())
}

pub(super) fn changes(
    connection: &Connection,
    sql: &str,
    parameters: &[&dyn rusqlite::ToSql],
) -> Result<Vec<Change>, RecordError> {
    let mut statement = connection.prepare_cached(sql)?;
    let mut rows = statement.query(parameters)?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(change(row)?);
    }
    Ok(found)
}

/// Highest attempt at a piece of a job's feature; 0 without a job.
pub fn attempts(
    connection: &Connection,
    job: Option<&str>,
    feature: Option<&str>,
    piece: i64,
) -> Result<i64, RecordError> {
    let Some(job) = job else { return Ok(0) };
    Ok(connection.query_row(
        "SELECT coalesce(max(attempt), 0) FROM reading
         WHERE job = ?1 AND feature IS ?2 AND piece = ?3",
        params![job, feature, piece],
        |row| row.get(0),
    )?)
}

/// The last reading of a job's feature.
pub fn last_of_feature(
    connection: &Connection,
    job: &str,
    feature: &str,
) -> Result<Option<Standing>, RecordError> {
    let sql = format!(
        "SELECT {READING_COLUMNS} FROM reading WHERE job = ?1 AND feature = ?2
         ORDER BY entry DESC LIMIT 1"
    );
    Ok(collect(connection, &sql, params![job, feature])?.pop())
}

/// How many `inspecting` readings of one attempt at a piece count now.
pub fn counted_on(
    connection: &Connection,
    job: &str,
    feature: &str,
    piece: i64,
    attempt: i64,
) -> Result<i64, RecordError> {
    let sql = format!(
        "SELECT {READING_COLUMNS} FROM reading
         WHERE job = ?1 AND feature = ?2 AND piece = ?3 AND attempt = ?4"
    );
    let found = collect(connection, &sql, params![job, feature, piece, attempt])?;
    let counts = |standing: &&Standing| {
        let tags = &standing.reading.tags;
        standing.counts()
            && tags.purpose == "inspecting"
            && tags.job.as_ref().is_some_and(|own| *own.name == *job)
            && (tags.feature.as_deref(), tags.piece) == (Some(feature), piece)
    };
    Ok(found.iter().filter(counts).count() as i64)
}

/// What a reading adds to a count of many.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counted {
    /// Whether it counts now.
    pub counts: bool,
    /// Its verdict now.
    pub verdict: String,
}

/// Readings of a station from a moment on, newest first, each with what it adds to a count now. Only those
/// that something was said of are read whole.
pub fn counted_since(
    connection: &Connection,
    station: &str,
    wall_us: i64,
    mut take: impl FnMut(Counted),
) -> Result<(), RecordError> {
    let mut statement = connection.prepare_cached(
        "SELECT entry, wall_us, counted, verdict,
                EXISTS (SELECT 1 FROM change WHERE change.reading = reading.entry)
         FROM reading WHERE station = ?1 ORDER BY sequence DESC",
    )?;
    let mut rows = statement.query(params![station])?;
    while let Some(row) = rows.next()? {
        if row.get::<_, i64>(1)? < wall_us {
            break;
        }
        let revised = if row.get(4)? {
            standing(connection, row.get(0)?)?
        } else {
            None
        };
        take(match revised {
            Some(standing) => Counted {
                counts: standing.counts(),
                verdict: standing.reading.judged.verdict.to_owned(),
            },
            None => Counted {
                counts: row.get(2)?,
                verdict: row.get(3)?,
            },
        });
    }
    Ok(())
}

/// The last zero check of a station's instrument that is not void, from a moment on.
pub fn last_zero_since(
    connection: &Connection,
    station: &str,
    instrument: &str,
    wall_us: i64,
) -> Result<Option<Standing>, RecordError> {
    let mut statement = connection.prepare_cached(
        "SELECT entry, wall_us, purpose, verdict, instrument FROM reading WHERE station = ?1
         ORDER BY sequence DESC",
    )?;
    let mut rows = statement.query(params![station])?;
    while let Some(row) = rows.next()? {
        if row.get::<_, i64>(1)? < wall_us {
            break;
        }
        let word = |index: usize| -> rusqlite::Result<String> { row.get(index) };
        if word(2)? != "zero" || !word(3)?.starts_with("zero_") || word(4)? != instrument {
            continue;
        }
        let stands =
            |found: &Standing| found.void.is_none() && found.reading.tags.purpose == "zero";
        if let Some(found) = standing(connection, row.get(0)?)?.filter(stands) {
            return Ok(Some(found));
        }
    }
    Ok(None)
}
