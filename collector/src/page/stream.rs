//! Server-sent events: what is new, with catch-up for a page that was away.
//!
//! A page that comes back names the last reading it saw (`Last-Event-ID`) and is first sent what it
//! missed, from the record. One that lies too far behind, while attached or when it comes back, is told to
//! fetch the whole state instead. When its queue overflows the stream ends; the browser comes back by itself.

use std::collections::VecDeque;
use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Extension;
use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderMap, Version, header};
use axum::response::{IntoResponse, Response};
use bytes::Bytes;
use futures_util::Stream;
use tokio::time::{Interval, MissedTickBehavior};

use super::Shared;
use super::outlet::{Next, Outlet};
use crate::feed::{Feed, Listener, write_event};
use crate::record::{RecordError, reader};
use crate::view::ReadingView;

/// Readings that are sent one by one to a page that was away; past that it fetches the state.
const CATCH_UP: usize = 500;
/// Time between two comments that keep an idle stream from being taken for dead.
const KEEP_ALIVE: Duration = Duration::from_secs(60);

/// Answers `GET /events`.
pub async fn events(
    State(shared): State<Shared>,
    Extension(outlet): Extension<Arc<Outlet>>,
    version: Version,
    headers: HeaderMap,
) -> Response {
    // Listen first, look back second: nothing can fall between.
    let attached = Attached::new(shared.feed.clone(), outlet, version == Version::HTTP_11);
    let last_seen = headers
        .get("last-event-id")
        .and_then(|id| id.to_str().ok())
        .and_then(|id| id.trim().parse::<i64>().ok());
    let mut first = VecDeque::from([Bytes::from_static(b"retry: 1000\n\n")]);
    if let Some(last_seen) = last_seen {
        let file = shared.record_file.clone();
        let missed = tokio::task::spawn_blocking(move || missed(&file, last_seen)).await;
        let (events, upto) = missed
            .ok()
            .and_then(Result::ok)
            .unwrap_or_else(|| (resync(), 0));
        first.push_back(events);
        attached.outlet.caught_up(upto);
    }
    let mut ending = shared.ending.clone();
    let page = Page {
        first,
        attached,
        ended: Box::pin(async move {
            // A daemon that is gone has ended too.
            let _ = ending.wait_for(|ended| *ended).await;
        }),
        keep_alive: keep_alive(),
    };
    let kind = [
        (header::CONTENT_TYPE, "text/event-stream"),
        (header::CACHE_CONTROL, "no-store"),
    ];
    (kind, Body::from_stream(page)).into_response()
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

/// A connection that is told what becomes durable, for as long as this lives.
struct Attached {
    feed: Arc<Feed>,
    outlet: Arc<Outlet>,
    listener: Arc<dyn Listener>,
}

impl Attached {
    fn new(feed: Arc<Feed>, outlet: Arc<Outlet>, chunked: bool) -> Attached {
        let listener: Arc<dyn Listener> = outlet.clone();
        outlet.attach(chunked);
        feed.join(listener.clone());
        Attached {
            feed,
            outlet,
            listener,
        }
    }
}

impl Drop for Attached {
    fn drop(&mut self) {
        self.feed.leave(&self.listener);
        self.outlet.detach();
    }
}

/// The body of one attached page.
struct Page {
    first: VecDeque<Bytes>,
    attached: Attached,
    ended: Pin<Box<dyn Future<Output = ()> + Send>>,
    keep_alive: Interval,
}

impl Stream for Page {
    type Item = Result<Bytes, Infallible>;

    fn poll_next(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Bytes, Infallible>>> {
        let outlet = self.attached.outlet.clone();
        while let Some(bytes) = self.first.pop_front() {
            if !bytes.is_empty() {
                return Poll::Ready(Some(Ok(bytes)));
            }
        }
        match outlet.poll_next(context) {
            Poll::Ready(Next::Events(events)) => return Poll::Ready(Some(Ok(events))),
            // The page comes back by itself and catches up.
            Poll::Ready(Next::Fallen) => return Poll::Ready(None),
            Poll::Pending => {}
        }
        if self.ended.as_mut().poll(context).is_ready() {
            outlet.not_clear();
            return Poll::Ready(None);
        }
        if self.keep_alive.poll_tick(context).is_ready() {
            outlet.not_clear();
            return Poll::Ready(Some(Ok(Bytes::from_static(b":\n\n"))));
        }
        Poll::Pending
    }
}
