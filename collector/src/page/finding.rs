//! Finding readings in the record: a page of them at a time, how many there are, a job's pieces, and the days
//! from one calibration to the next.
//!
//! Everything is read on connections of its own, away from the thread that serves the page, and gives up its
//! answer after a bounded number of readings or a bounded time.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use rusqlite::Connection;
use serde::ser::{Serialize, SerializeMap, Serializer};
use tokio::sync::Semaphore;

use super::Shared;
use super::exports::{Words, choice, nothing_left, only};
use super::routes::json;
use crate::clock::Civil;
use crate::collect::command::Refusal;
use crate::export::calibrations::calibrations as calibrations_of;
use crate::export::columns::{COLUMNS, Column, Holds, named};
use crate::export::find::{self, Place};
use crate::export::pieces::{self, Piece};
use crate::export::scan::fields_of;
use crate::export::value::Value;
use crate::export::{ExportError, Source, wide};
use crate::record::reader;

/// Rows of one answer.
const MOST: usize = 1_000;
/// Rows of an answer that does not say how many it wants.
const USUAL: usize = 100;
/// Time for a count; what takes longer is told as *more than*.
const COUNTING: Duration = Duration::from_secs(4);
/// One count at a time: each goes through much of the record.
static COUNTS: Semaphore = Semaphore::const_new(1);

/// A row of an answer: texts by the names of their columns.
struct Row<'r>(&'r [Head<'r>], &'r [String]);

impl Serialize for Row<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(Some(self.1.len()))?;
        for (head, text) in self.0.iter().zip(self.1) {
            map.serialize_entry(head.name, text)?;
        }
        map.end()
    }
}

/// A column of an answer.
#[derive(Clone, Copy, serde::Serialize)]
struct Head<'r> {
    name: &'r str,
    holds: Holds,
}

/// Rows as JSON, with what stands in their columns.
#[derive(serde::Serialize)]
struct Table<'r> {
    columns: &'r [Head<'r>],
    rows: Vec<Row<'r>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    older: Option<Option<i64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    newer: Option<Option<i64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    whole: Option<bool>,
}

impl<'r> Table<'r> {
    fn of(columns: &'r [Head<'r>], rows: &'r [Vec<String>]) -> Table<'r> {
        Table {
            columns,
            rows: rows.iter().map(|row| Row(columns, row)).collect(),
            older: None,
            newer: None,
            whole: None,
        }
    }

    fn to_json(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

fn texts<'v>(cells: impl IntoIterator<Item = Value<'v>>, civil: &mut Civil) -> Vec<String> {
    let mut text = |cell: Value<'_>| {
        let mut text = String::new();
        cell.write(&mut text, civil, false);
        text
    };
    cells.into_iter().map(&mut text).collect()
}

/// A whole number among the words; it is taken out.
fn number(words: &mut Words, name: &'static str) -> Result<Option<i64>, Refusal> {
    match words.remove(name).as_deref().map(str::trim) {
        None | Some("") => Ok(None),
        Some(text) => match text.parse() {
            Ok(number) if number >= 0 => Ok(Some(number)),
            _ => Err(Refusal::at(
                name,
                format!("`{text}` is no number of an entry; write a whole number, as 100."),
            )),
        },
    }
}

fn most(words: &mut Words) -> Result<usize, Refusal> {
    match words.remove("most").as_deref().map(str::trim) {
        None | Some("") => Ok(USUAL),
        Some(text) => match text.parse() {
            Ok(most) if (1..=MOST).contains(&most) => Ok(most),
            _ => Err(Refusal::at(
                "most",
                format!("`{text}` cannot be had at once; write 1 to {MOST}."),
            )),
        },
    }
}

fn place(words: &mut Words) -> Result<Place, Refusal> {
    match (number(words, "before")?, number(words, "after")?) {
        (None, None) => Ok(Place::Newest),
        (Some(entry), None) => Ok(Place::Before(entry)),
        (None, Some(entry)) => Ok(Place::After(entry)),
        (Some(_), Some(_)) => Err(Refusal::at(
            "after",
            "Ask for readings before an entry or after one, not both.",
        )),
    }
}

impl From<ExportError> for Refusal {
    fn from(error: ExportError) -> Refusal {
        match error {
            ExportError::Choice(error) => error.into(),
            ExportError::Record(error) => error.into(),
            error => Refusal::new(500, "not-read", format!("{error}."), "Try again."),
        }
    }
}

/// Asks the record on a connection of its own, where waiting holds up nobody.
async fn look<T: Send + 'static>(
    shared: &Shared,
    ask: impl FnOnce(&Connection) -> Result<T, ExportError> + Send + 'static,
) -> Result<T, Refusal> {
    let file: PathBuf = shared.record_file.as_ref().clone();
    let work = move || {
        let connection = reader::open(&file)?;
        ask(&connection)
    };
    let failed = |_| {
        let hint = "Look at the log; it says why.";
        Refusal::new(500, "not-read", "The record could not be read.", hint)
    };
    Ok(tokio::task::spawn_blocking(work).await.map_err(failed)??)
}

fn answered(answer: Result<String, Refusal>) -> Response {
    match answer {
        Ok(body) => json(StatusCode::OK, body),
        Err(refusal) => refusal.into_response(),
    }
}

/// `GET /api/readings`: a page of readings, newest first.
pub async fn readings(State(shared): State<Shared>, Query(words): Query<Words>) -> Response {
    answered(page(&shared, words).await)
}

async fn page(shared: &Shared, mut words: Words) -> Result<String, Refusal> {
    let choice = choice(&mut words)?;
    let (place, most, only) = (place(&mut words)?, most(&mut words)?, only(&mut words)?);
    nothing_left(&words)?;
    look(shared, move |connection| {
        let source = Source::new(connection, &choice)?;
        let columns = match only.is_empty() {
            true => COLUMNS.to_vec(),
            false => named(only.iter().map(String::as_str))
                .map_err(|name| ExportError::NoColumn(name.to_owned()))?,
        };
        let mut page = Page::read(&source, &columns, place, most)?;
        if matches!(place, Place::After(_)) && page.newer.is_none() {
            // The newest page is a full one.
            page = Page::read(&source, &columns, Place::Newest, most)?;
        }
        Ok(page.to_json(&columns))
    })
    .await
}

/// A page of readings, newest first, and where the pages beside it begin.
struct Page {
    rows: Vec<Vec<String>>,
    older: Option<i64>,
    newer: Option<i64>,
}

impl Page {
    fn read(
        source: &Source<'_>,
        columns: &[Column],
        place: Place,
        most: usize,
    ) -> Result<Page, ExportError> {
        let mut civil = Civil::default();
        let mut rows = Vec::new();
        let mut entries = Vec::new();
        let page = find::Page::new(place, most);
        let on = find::page(&source.scan(), fields_of(columns), page, |view| {
            rows.push(texts(
                columns.iter().map(|column| column.value(view)),
                &mut civil,
            ));
            entries.push(view.seen().whole(crate::export::seen::Field::Entry));
            Ok(())
        })?;
        let (older, newer) = match place {
            Place::Newest => (on, None),
            Place::Before(entry) => (on, Some(entries.first().copied().unwrap_or(entry - 1))),
            Place::After(entry) => {
                rows.reverse();
                (Some(entries.first().copied().unwrap_or(entry + 1)), on)
            }
        };
        Ok(Page { rows, older, newer })
    }

    fn to_json(&self, columns: &[Column]) -> String {
        let heads: Vec<Head<'_>> = columns
            .iter()
            .map(|column| Head {
                name: column.name,
                holds: column.holds,
            })
            .collect();
        Table {
            older: Some(self.older),
            newer: Some(self.newer),
            ..Table::of(&heads, &self.rows)
        }
        .to_json()
    }
}

/// `GET /api/readings/count`: how many readings are meant.
pub async fn count(State(shared): State<Shared>, Query(words): Query<Words>) -> Response {
    answered(counted(&shared, words).await)
}

async fn counted(shared: &Shared, mut words: Words) -> Result<String, Refusal> {
    let choice = choice(&mut words)?;
    nothing_left(&words)?;
    // The semaphore is never closed.
    let _turn = COUNTS.acquire().await;
    look(shared, move |connection| {
        let source = Source::new(connection, &choice)?;
        let began = Instant::now();
        let counts = find::count(&source.scan(), || began.elapsed() > COUNTING)?;
        Ok(serde_json::to_string(&counts).unwrap_or_default())
    })
    .await
}

/// `GET /api/pieces`: the pieces of a job, a row each.
pub async fn pieces(State(shared): State<Shared>, Query(words): Query<Words>) -> Response {
    answered(pieces_of(&shared, words).await)
}

async fn pieces_of(shared: &Shared, mut words: Words) -> Result<String, Refusal> {
    let choice = choice(&mut words)?;
    let wanted = most(&mut words)?;
    nothing_left(&words)?;
    if choice.job.is_empty() {
        return Err(Refusal::at("job", "Name the job whose pieces are meant."));
    }
    look(shared, move |connection| {
        let source = Source::new(connection, &choice)?;
        let scan = source.scan();
        let (mut found, mut whole) = (Vec::new(), true);
        pieces::each(&scan, &mut |_, _| {}, |piece: &Piece| {
            whole = found.len() < wanted;
            if whole {
                found.push(piece.clone());
            }
            Ok(())
        })?;
        let most = found.iter().map(|piece| piece.instances.len()).max();
        let most = most.unwrap_or_default();
        let names = wide::names(most);
        let of_a_reading = wide::OF_A_READING.iter().map(|(_, holds, _)| *holds);
        let kinds = wide::COLUMNS
            .iter()
            .map(|column| column.holds)
            .chain(of_a_reading.cycle());
        let heads: Vec<Head<'_>> = names
            .iter()
            .zip(kinds)
            .map(|(name, holds)| Head { name, holds })
            .collect();
        let mut civil = Civil::default();
        let rows: Vec<Vec<String>> = found
            .iter()
            .map(|piece| texts(wide::cells(piece, scan.books, most), &mut civil))
            .collect();
        Ok(Table {
            whole: Some(whole),
            ..Table::of(&heads, &rows)
        }
        .to_json())
    })
    .await
}

/// `GET /api/calibrations`: the days from one calibration to the next.
pub async fn calibrations(State(shared): State<Shared>, Query(words): Query<Words>) -> Response {
    answered(calibrated(&shared, words).await)
}

async fn calibrated(shared: &Shared, mut words: Words) -> Result<String, Refusal> {
    let choice = choice(&mut words)?;
    nothing_left(&words)?;
    look(shared, move |connection| {
        let found = calibrations_of(connection, &choice)??;
        Ok(serde_json::json!({ "calibrations": found }).to_string())
    })
    .await
}
