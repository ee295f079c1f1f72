//! What is told after it is durable: to the pages now, to whoever else subscribes later.
//!
//! Each event is formatted once, whatever the number of pages. The queue to the pages is bounded: a
//! page that stalls falls off its end, is let go, and catches up from the record when it comes back.

use std::sync::{Arc, RwLock};

use bytes::Bytes;
use tokio::sync::broadcast;

use crate::record::chain;
use crate::register::Register;
use crate::view::station::{RecordView, StationBoard};

/// Messages that a slow page may lie behind before it is let go. With [`A_MESSAGE`] this bounds the queue
/// to some 16 MB, whatever the rate.
const QUEUE: usize = 256;
/// Size from which a message is sent and a new one begun, bytes.
pub const A_MESSAGE: usize = 64 * 1024;

/// Formatted events of one batch.
#[derive(Debug, Clone)]
pub struct Told {
    /// Entry of the last reading told of; 0 when it tells of none.
    pub upto: i64,
    /// The events, ready to send.
    pub events: Bytes,
}

/// The board that pages read, and the stream they listen to.
#[derive(Debug)]
pub struct Feed {
    events: broadcast::Sender<Told>,
    board: RwLock<Board>,
}

/// The last state told.
#[derive(Debug, Default)]
struct Board {
    stations: Vec<Arc<StationBoard>>,
    register: Arc<Register>,
    tip: crate::record::writer::Tip,
    trouble: Option<String>,
}

/// A copy of the board, cheap to take.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Every station, in the order of the settings.
    pub stations: Vec<Arc<StationBoard>>,
    /// The registers.
    pub register: Arc<Register>,
    /// The record, in short.
    pub record: RecordView,
}

impl Default for Feed {
    fn default() -> Self {
        Feed {
            events: broadcast::channel(QUEUE).0,
            board: RwLock::default(),
        }
    }
}

impl Feed {
    /// Listens from now on.
    pub fn subscribe(&self) -> broadcast::Receiver<Told> {
        self.events.subscribe()
    }

    /// Whether anybody listens: otherwise nothing need be formatted.
    pub fn is_heard(&self) -> bool {
        self.events.receiver_count() > 0
    }

    /// Sends formatted events to every page.
    pub fn send(&self, events: Told) {
        // Nobody listening is no mistake.
        let _ = self.events.send(events);
    }

    /// What is shown now.
    pub fn shown(&self) -> Shown {
        let board = self.read();
        Shown {
            stations: board.stations.clone(),
            register: board.register.clone(),
            record: RecordView {
                entries: board.tip.entry,
                head: chain::hex(&board.tip.hash),
                trouble: board.trouble.clone(),
            },
        }
    }

    /// Puts up every station, the registers and the end of the record.
    pub fn put_all(
        &self,
        stations: Vec<Arc<StationBoard>>,
        register: Arc<Register>,
        tip: crate::record::writer::Tip,
    ) {
        let mut board = self.write();
        board.stations = stations;
        board.register = register;
        board.tip = tip;
    }

    /// Puts up one station.
    pub fn put_station(&self, index: usize, station: Arc<StationBoard>) {
        if let Some(place) = self.write().stations.get_mut(index) {
            *place = station;
        }
    }

    /// Puts up the registers.
    pub fn put_register(&self, register: Arc<Register>) {
        self.write().register = register;
    }

    /// Puts up the end of the record, and what is wrong with it if it cannot be written.
    pub fn put_record(&self, tip: crate::record::writer::Tip, trouble: Option<String>) {
        let mut board = self.write();
        board.tip = tip;
        board.trouble = trouble;
    }

    fn read(&self) -> std::sync::RwLockReadGuard<'_, Board> {
        self.board
            .read()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    fn write(&self) -> std::sync::RwLockWriteGuard<'_, Board> {
        self.board
            .write()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

/// Writes one event of the stream (HTML standard, server-sent events) at the end of a buffer.
pub fn write_event(out: &mut Vec<u8>, event: &str, id: Option<i64>, json: &str) {
    out.extend_from_slice(b"event: ");
    out.extend_from_slice(event.as_bytes());
    if let Some(id) = id {
        out.extend_from_slice(b"\nid: ");
        out.extend_from_slice(id.to_string().as_bytes());
    }
    // JSON from serde has no raw line breaks, so one data line holds it.
    out.extend_from_slice(b"\ndata: ");
    out.extend_from_slice(json.as_bytes());
    out.extend_from_slice(b"\n\n");
}
