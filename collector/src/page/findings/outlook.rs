//! What the last pieces of a running job say of the next ones, for whoever stands at the machine. It is asked again
//! after every piece, so only the end of the record is read.

use axum::extract::{Query, State};
use axum::response::Response;
use overwire_core::stats::outlook::{LATEST, LEAST, Outlook};
use overwire_core::stats::pieces::Pieces;
use overwire_core::thread::Thread;
use rusqlite::Connection;
use serde::Serialize;

use super::job::{firsts, most_places};
use super::{Asked, Opened, Words, as_json, thread_of, worked_out};
use crate::collect::command::Refusal;
use crate::findings::changes::{Changing, breaks};
use crate::findings::process::Question;
use crate::findings::revised;
use crate::page::Shared;
use crate::record::{RecordError, beside};

/// What begins afresh: with other wires or another micrometer sizes may differ by what those do.
const CHANGING: [Changing; 2] = [Changing::Wires, Changing::Instrument];
/// A remark with this word on a piece says that it was the first one of another tool.
const TOOL: &str = "tool";

/// What the last pieces say.
#[derive(Debug, Clone, Serialize)]
pub struct OutlookView {
    /// Pieces it goes by, or that there are.
    pieces: usize,
    /// Pieces that it needs.
    needed: usize,
    /// What these pieces began with, where that was a change.
    since: Option<String>,
    /// In words; none where nothing can be said yet.
    sentences: Vec<String>,
    /// Pieces that are left until a limit is met, where a drift leads to one.
    left: Option<u64>,
    /// Whether something should be done.
    heed: bool,
}

/// Answers `GET /api/outlook?job=&feature=`.
pub async fn outlook(State(shared): State<Shared>, Query(said): Words) -> Response {
    let found = worked_out(shared, Asked::read(said), of_last_pieces).await;
    as_json(found.as_ref())
}

/// The last pieces of a thread in order, since something changed.
struct Latest {
    /// Number and mean of each, mm.
    pieces: Vec<(i64, f64)>,
    /// What changed, where it was one of them.
    since: Option<String>,
    /// Decimal places of a reading.
    places: u8,
}

impl Latest {
    fn of(look: &Connection, asked: &Asked, thread: &Thread) -> Result<Latest, RecordError> {
        // One transaction: what is said of a reading is of the same state of the record.
        let record = look.unchecked_transaction()?;
        let (mut readings, after) = revised::latest(&record, asked.of(), thread, LATEST)?;
        let sides = beside::of_feature(&record, asked.of(), after)?;
        readings.retain(|reading| reading.left_out.is_none());
        let firsts = firsts(&readings, &sides, Some(TOOL));
        let change = breaks(&firsts, &CHANGING, Some(TOOL), &[]).pop();
        let counted = readings.iter().map(|reading| (reading.piece, reading.mm));
        let pieces = Pieces::of(counted).map_or_else(|_| Vec::new(), |pieces| pieces.pieces);
        let mut pieces: Vec<(i64, f64)> = pieces.iter().map(|p| (p.name, p.mean())).collect();
        if let Some(change) = &change {
            let begun = pieces.iter().position(|piece| piece.0 == change.piece);
            pieces.drain(..begun.unwrap_or_default());
        }
        let since = change.filter(|_| pieces.len() <= LATEST);
        Ok(Latest {
            since: since.map(|change| format!("{} (piece {})", change.label, change.piece)),
            places: most_places(&readings, thread.unit),
            pieces,
        })
    }
}

fn of_last_pieces(look: &Opened, asked: &Asked) -> Result<OutlookView, Refusal> {
    let thread = thread_of(&look.register, &asked.job, &asked.feature)?;
    let latest = Latest::of(&look.connection, asked, &thread)?;
    let means: Vec<f64> = latest.pieces.iter().map(|piece| piece.1).collect();
    let limits = Question::limits_of(thread.limits.as_ref()).unwrap_or_default();
    let mut view = OutlookView {
        pieces: means.len().min(LATEST),
        needed: LEAST,
        since: latest.since,
        sentences: Vec::new(),
        left: None,
        heed: false,
    };
    if let Ok(found) = Outlook::of(&means, limits) {
        let last = latest.pieces.last().map_or(0, |piece| piece.0);
        view.sentences = found.sentences(&format!("Piece {last}"), thread.unit, latest.places);
        view.left = found.pieces_left().map(|left| left as u64);
        view.heed = found.asks_for_heed();
    }
    Ok(view)
}
