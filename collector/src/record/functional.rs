//! Functional checks: whether a go gauge or the mating part was tried on a piece, with what result.
//!
//! Each is a change of the kind `functional_check`. The newest one of a piece stands; those before it stay in the
//! record. Its subject names the piece, its parts with `U+001F` between (no name holds a control character), so
//! that one piece, one feature and one job are each a short walk through the index.

use std::collections::{BTreeMap, BTreeSet};

use overwire_core::functional_check::FunctionalResult;
use rusqlite::{Connection, params};
use serde::{Deserialize, Serialize};

use super::RecordError;
use super::entry::{Change, Kind, StampedTags};
use super::reader::changes;
use super::rows::CHANGE_COLUMNS;
use super::standing::Said;

/// One attempt at a feature of a piece of a job.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct PieceKey {
    /// The job.
    pub job: String,
    /// The thread on the piece.
    pub feature: String,
    /// The piece, from 1.
    pub piece: i64,
    /// How often it was begun, from 1.
    pub attempt: i64,
}

/// Between the parts of a subject.
const BETWEEN: char = '\u{1f}';
/// The character after [`BETWEEN`]: where a walk through all that begins with a name ends.
const AFTER: char = '\u{20}';

impl PieceKey {
    /// The piece some tags name; none without a job.
    pub fn of(tags: &StampedTags) -> Option<PieceKey> {
        Some(PieceKey {
            job: tags.job.as_ref()?.name.to_string(),
            feature: tags.feature.as_deref()?.to_owned(),
            piece: tags.piece,
            attempt: tags.attempt,
        })
    }

    /// As it stands in the record.
    pub fn subject(&self) -> String {
        let PieceKey {
            job,
            feature,
            piece,
            attempt,
        } = self;
        format!("{job}{BETWEEN}{feature}{BETWEEN}{piece}{BETWEEN}{attempt}")
    }
}

/// A functional check as it stands in the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FunctionalCheck {
    /// Its entry.
    pub entry: i64,
    /// Of what.
    pub of: PieceKey,
    /// What was found.
    pub result: FunctionalResult,
    /// With what: a gauge by its name or number, or the mating part.
    pub gauge: String,
    /// What else was said.
    pub words: String,
    /// Who, when and, where it was withdrawn, why.
    pub said: Said,
}

/// The body of the change.
#[derive(Debug, Serialize, Deserialize)]
struct Body {
    #[serde(flatten)]
    of: PieceKey,
    result: String,
    gauge: String,
    words: String,
}

/// The body of a change that tells of a check.
pub fn body(of: &PieceKey, result: FunctionalResult, gauge: &str, words: &str) -> String {
    let body = Body {
        of: of.clone(),
        result: result.code().to_owned(),
        gauge: gauge.to_owned(),
        words: words.to_owned(),
    };
    serde_json::to_string(&body).unwrap_or_default()
}

impl FunctionalCheck {
    /// From its change.
    ///
    /// # Errors
    /// A body this program does not understand.
    pub fn from_change(change: &Change) -> Result<FunctionalCheck, RecordError> {
        let body: Body = change.form()?;
        let result = FunctionalResult::parse(&body.result).ok_or_else(|| RecordError::Strange {
            entry: change.head.entry,
            what: format!("the word `{}`", body.result),
        })?;
        Ok(FunctionalCheck {
            entry: change.head.entry,
            of: body.of,
            result,
            gauge: body.gauge,
            words: body.words,
            said: Said::of(change),
        })
    }
}

/// The check of a piece that stands; none where nothing was ever said. One that was withdrawn is given as such.
///
/// # Errors
/// SQLite refuses, or the entry is not understood.
pub fn newest(
    connection: &Connection,
    of: &PieceKey,
) -> Result<Option<FunctionalCheck>, RecordError> {
    let sql = format!(
        "SELECT {CHANGE_COLUMNS} FROM change WHERE kind = ?1 AND subject = ?2
         ORDER BY entry DESC LIMIT 1"
    );
    let kind = Kind::FunctionalCheck.code();
    let found = changes(connection, &sql, params![kind, of.subject()])?;
    found.first().map(FunctionalCheck::from_change).transpose()
}

/// Whether any check was ever recorded.
///
/// # Errors
/// SQLite refuses.
pub fn any(connection: &Connection) -> Result<bool, RecordError> {
    let kind = Kind::FunctionalCheck.code();
    let sql = "SELECT EXISTS (SELECT 1 FROM change WHERE kind = ?1)";
    Ok(connection.query_row(sql, [kind], |row| row.get(0))?)
}

/// Every check that was ever recorded of a job, oldest first.
///
/// # Errors
/// As [`newest`].
pub fn of_job(connection: &Connection, job: &str) -> Result<Vec<FunctionalCheck>, RecordError> {
    beginning_with(connection, job)
}

/// The check that stands of each piece of a job that has one.
///
/// # Errors
/// As [`newest`].
pub fn newest_of_job(
    connection: &Connection,
    job: &str,
) -> Result<BTreeMap<PieceKey, FunctionalCheck>, RecordError> {
    Ok(newest_each(of_job(connection, job)?))
}

/// The check that stands of each piece of a feature that has one.
///
/// # Errors
/// As [`newest`].
pub fn newest_of_feature(
    connection: &Connection,
    job: &str,
    feature: &str,
) -> Result<BTreeMap<PieceKey, FunctionalCheck>, RecordError> {
    let all = beginning_with(connection, &format!("{job}{BETWEEN}{feature}"))?;
    Ok(newest_each(all))
}

fn newest_each(oldest_first: Vec<FunctionalCheck>) -> BTreeMap<PieceKey, FunctionalCheck> {
    let checks = oldest_first.into_iter();
    checks.map(|check| (check.of.clone(), check)).collect()
}

/// Entries of the checks that stand: the newest of each piece.
pub fn standing(checks: &[FunctionalCheck]) -> BTreeSet<i64> {
    let newest: BTreeMap<&PieceKey, i64> = checks
        .iter()
        .map(|check| (&check.of, check.entry))
        .collect();
    newest.into_values().collect()
}

/// What a feature of a job was last checked with, the newest first, each once.
///
/// # Errors
/// As [`newest`].
pub fn gauges(
    connection: &Connection,
    job: &str,
    feature: &str,
    most: usize,
) -> Result<Vec<String>, RecordError> {
    let all = beginning_with(connection, &format!("{job}{BETWEEN}{feature}"))?;
    let mut gauges: Vec<String> = Vec::new();
    for check in all.into_iter().rev() {
        if gauges.len() == most {
            break;
        }
        if !check.gauge.is_empty() && !gauges.contains(&check.gauge) {
            gauges.push(check.gauge);
        }
    }
    Ok(gauges)
}

fn beginning_with(
    connection: &Connection,
    name: &str,
) -> Result<Vec<FunctionalCheck>, RecordError> {
    let sql = format!(
        "SELECT {CHANGE_COLUMNS} FROM change
         WHERE kind = ?1 AND subject >= ?2 AND subject < ?3 ORDER BY entry"
    );
    let kind = Kind::FunctionalCheck.code();
    let (from, to) = (format!("{name}{BETWEEN}"), format!("{name}{AFTER}"));
    let found = changes(connection, &sql, params![kind, from, to])?;
    found.iter().map(FunctionalCheck::from_change).collect()
}
