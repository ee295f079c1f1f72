//! What is told after it is durable: to the pages now, to whoever else subscribes later.
//!
//! Each event is formatted once, whatever the number of pages, and handed to every listener at once by the
//! thread that made it durable. A listener never waits: it takes what it is told, or queues it.

use std::io::Write as _;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};
use std::thread::Thread;
use std::time::Instant;

use bytes::Bytes;

use crate::live::LiveBoard;
use crate::record::chain;
use crate::register::Register;
use crate::view::station::{RecordView, StationBoard};

/// Size from which a message is sent and a new one begun, bytes.
pub const A_MESSAGE: usize = 64 * 1024;

/// Formatted events of one batch.
#[derive(Debug, Clone)]
pub struct Told {
    /// Entry of the last reading told of; 0 when it tells of none.
    pub upto: i64,
    /// The events as one chunk of a chunked body (RFC 9112, 7.1): size, events, end.
    chunk: Bytes,
    /// Bytes before the events in the chunk.
    before: usize,
}

/// End of a chunk.
const CHUNK_END: &[u8] = b"\r\n";

impl Told {
    /// Events that tell of readings up to an entry; 0 when of none.
    pub fn new(upto: i64, events: &[u8]) -> Told {
        let mut chunk = Vec::with_capacity(events.len() + 16);
        // Writing to memory cannot fail.
        let _ = write!(chunk, "{:x}\r\n", events.len());
        let before = chunk.len();
        chunk.extend_from_slice(events);
        chunk.extend_from_slice(CHUNK_END);
        Told {
            upto,
            chunk: Bytes::from(chunk),
            before,
        }
    }

    /// The events alone.
    pub fn events(&self) -> Bytes {
        self.chunk
            .slice(self.before..self.chunk.len() - CHUNK_END.len())
    }

    /// The events as a chunk of a body.
    pub fn chunk(&self) -> &Bytes {
        &self.chunk
    }
}

/// Somebody who is told what became durable.
pub trait Listener: Send + Sync {
    /// Takes what is told, without ever waiting.
    fn tell(&self, told: &Told);
}

/// The board that pages read, and those who listen.
#[derive(Default)]
pub struct Feed {
    listeners: Mutex<Vec<Arc<dyn Listener>>>,
    heard: AtomicBool,
    follower: OnceLock<Thread>,
    board: RwLock<Board>,
}

/// The last state told.
#[derive(Debug, Default)]
struct Board {
    stations: Vec<Arc<StationBoard>>,
    register: Arc<Register>,
    tip: crate::record::writer::Tip,
    trouble: Option<String>,
    live: Option<LiveBoard>,
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

impl Feed {
    /// Has a listener told from now on.
    pub fn join(&self, listener: Arc<dyn Listener>) {
        let mut listeners = self.listeners();
        listeners.push(listener);
        self.heard.store(true, Ordering::Release);
    }

    /// Has a listener told no more.
    pub fn leave(&self, listener: &Arc<dyn Listener>) {
        let mut listeners = self.listeners();
        listeners.retain(|other| !Arc::ptr_eq(other, listener));
        self.heard.store(!listeners.is_empty(), Ordering::Release);
    }

    /// Whether anybody listens: otherwise nothing need be formatted.
    pub fn is_heard(&self) -> bool {
        self.heard.load(Ordering::Acquire)
    }

    /// Tells every listener.
    pub fn tell(&self, told: &Told) {
        for listener in self.listeners().iter() {
            listener.tell(told);
        }
    }

    fn listeners(&self) -> std::sync::MutexGuard<'_, Vec<Arc<dyn Listener>>> {
        self.listeners
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
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
                live: board.live.as_ref().map(|live| live.view(Instant::now())),
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
        drop(board);
        if let Some(follower) = self.follower.get() {
            follower.unpark();
        }
    }

    /// Has a thread woken when the record has grown; the first one that asks.
    pub fn wake_at_entries(&self, follower: Thread) {
        let _ = self.follower.set(follower);
    }

    /// Puts up how the live file stands.
    pub fn put_live(&self, live: LiveBoard) {
        self.write().live = Some(live);
    }

    fn read(&self) -> std::sync::RwLockReadGuard<'_, Board> {
        self.board.read().unwrap_or_else(PoisonError::into_inner)
    }

    fn write(&self) -> std::sync::RwLockWriteGuard<'_, Board> {
        self.board.write().unwrap_or_else(PoisonError::into_inner)
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
