//! Server-sent events: what is new, with catch-up for a page that was away.
//!
//! A page that comes back names the last reading it saw (`Last-Event-ID`) and is first sent what it
//! missed, from the record. One that lies too far behind, while attached or when it comes back, is told to
//! fetch the whole state instead. When its queue overflows the stream ends; the browser comes back by itself.

use std::collections::VecDeque;
use std::convert::Infallible;
use std::time::Duration;

use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use bytes::Bytes;
use futures_util::stream;
use tokio::sync::{broadcast, watch};
use tokio::time::{Interval, MissedTickBehavior};

use super::Shared;
use crate::feed::{Told, write_event};
use crate::record::{RecordError, reader};
use crate::view::ReadingView;

/// Readings that are sent one by one to a page that was away; past that it fetches the state.
const CATCH_UP: usize = 500;
/// Time between two comments that keep an idle stream from being taken for dead.
const KEEP_ALIVE: Duration = Duration::from_secs(60);

/// Answers `GET /events`.
pub async fn events(State(shared): State<Shared>, headers: HeaderMap) -> Response {
    // Listen first, look back second: nothing can fall between.
    let told = shared.feed.subscribe();
    let last_seen = headers
        .get("last-event-id")
        .and_then(|id| id.to_str().ok())
        .and_then(|id| id.trim().parse::<i64>().ok());
    let mut waiting = VecDeque::from([Bytes::from_static(b"retry: 1000\n\n")]);
    let mut caught_up_to = 0;
    if let Some(last_seen) = last_seen {
        let file = shared.record_file.clone();
        let missed = tokio::task::spawn_blocking(move || missed(&file, last_seen)).await;
        let (events, upto) = missed
            .ok()
            .and_then(Result::ok)
            .unwrap_or_else(|| (resync(), 0));
        waiting.push_back(events);
        caught_up_to = upto;
    }
    let page = Page {
        waiting,
        caught_up_to,
        told,
        ending: shared.ending.clone(),
        keep_alive: keep_alive(),
    };
    let body = Body::from_stream(stream::unfold(page, |mut page| async move {
        page.next()
            .await
            .map(|bytes| (Ok::<_, Infallible>(bytes), page))
    }));
    let kind = [
        (header::CONTENT_TYPE, "text/event-stream"),
        (header::CACHE_CONTROL, "no-store"),
    ];
    (kind, body).into_response()
}

fn keep_alive() -> Interval {
    let mut interval =
        tokio::time::interval_at(tokio::time::Instant::now() + KEEP_ALIVE, KEEP_ALIVE);
    interval.set_missed_tick_behavior(MissedTickBehavior::Delay);
    interval
}

fn resync() -> Bytes {
    let mut events = Vec::new();
    write_event(&mut events, "resync", None, "{}");
    Bytes::from(events)
}

/// What came after the last reading seen, and up to which entry; or the advice to fetch everything.
fn missed(file: &std::path::Path, last_seen: i64) -> Result<(Bytes, i64), RecordError> {
    let connection = reader::open(file)?;
    let readings = reader::after(&connection, last_seen, CATCH_UP + 1)?;
    if readings.len() > CATCH_UP {
        return Ok((resync(), 0));
    }
    let upto = readings
        .last()
        .map_or(last_seen, |standing| standing.reading.head.entry);
    let mut events = Vec::new();
    for standing in &readings {
        let entry = standing.reading.head.entry;
        write_event(
            &mut events,
            "reading",
            Some(entry),
            &ReadingView::of(standing).to_json(),
        );
    }
    Ok((Bytes::from(events), upto))
}

/// One attached page.
struct Page {
    waiting: VecDeque<Bytes>,
    caught_up_to: i64,
    told: broadcast::Receiver<Told>,
    ending: watch::Receiver<bool>,
    keep_alive: Interval,
}

impl Page {
    /// The next bytes to send; none when the stream ends.
    async fn next(&mut self) -> Option<Bytes> {
        loop {
            if let Some(bytes) = self.waiting.pop_front() {
                if bytes.is_empty() {
                    continue;
                }
                return Some(bytes);
            }
            tokio::select! {
                biased;
                told = self.told.recv() => match told {
                    Ok(told) if told.upto != 0 && told.upto <= self.caught_up_to => {}
                    Ok(told) => return Some(told.events),
                    // The page is too slow, or the daemon ends: it comes back and catches up.
                    Err(_) => return None,
                },
                _ = self.keep_alive.tick() => return Some(Bytes::from_static(b":\n\n")),
                ended = self.ending.changed() => {
                    if ended.is_err() || *self.ending.borrow() {
                        return None;
                    }
                }
            }
        }
    }
}
