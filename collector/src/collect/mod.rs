//! The collector: one thread that takes readings from every port and keeps them.
//!
//! ```text
//! wait ─▶ read ports ─▶ frame ─▶ station ─▶ judge ─▶ record (commit) ─▶ feed
//!   ▲                                                                    │
//!   └──────────── commands from the page, ports due to be tried ◀────────┘
//! ```
//!
//! One thread, because what is won by more is little and what is lost is the order: a frame and a change
//! of tags are taken in the order they came, and a lone reading goes from the port to the disk without
//! being handed over. All that was waiting in the ports when the thread woke goes into one transaction,
//! so a backlog costs one commit. The thread sleeps until a port or the page wakes it; only while a
//! port is missing, or the record cannot be written, does it wake by the clock.
//!
//! While the disk refuses, readings are held in memory and tried again; past [`MOST_HELD`] the ports are
//! left alone, so that the kernel and the instruments' own flow control hold what comes next.

mod bench;
pub mod command;
mod desk;
pub mod functional;
mod restore;
mod retag;
pub mod studies;
mod telling;

use std::io;
use std::sync::Arc;
use std::sync::mpsc;
use std::time::Duration;

use mio::{Events, Poll, Token, Waker};
use overwire_config::UncertaintySettings;
use rusqlite::Connection;
use tokio::sync::oneshot;

use crate::clock::{Clock, Stamp};
use crate::feed::Feed;
use crate::frame::Outcome;
use crate::record::repeats::{self, Which};
use crate::record::writer::Store;
use crate::record::{Change, Entry, reader};
use crate::register::Register;
use crate::register::budget::Repeats;
use crate::station::{Arrival, LeftOff, Remembered};
use bench::Bench;
use command::{Answer, Ask, Command, Refusal};
use studies::StudyBook;

/// Most readings of one transaction.
const A_BATCH: usize = 512;
/// Readings held in memory while the record cannot be written.
pub const MOST_HELD: usize = 20_000;
/// Time between two tries to write a record that refuses.
const TRY_AGAIN_NS: i64 = 500_000_000;
/// Time by which a station's own event follows its readings: the readings go first and alone, and a
/// burst of them is followed by one event.
const TELL_AFTER_NS: i64 = 30_000_000;
const WAKE: Token = Token(usize::MAX);

/// What the collector is built from; all of it comes from outside.
pub struct Parts {
    /// The checked settings.
    pub settings: overwire_config::Settings,
    /// Keeps entries.
    pub store: Box<dyn Store>,
    /// Reads the record.
    pub look: Connection,
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// Where what is durable is told.
    pub feed: Arc<Feed>,
}

/// Asks the collector; may be cloned and used from any thread.
#[derive(Debug, Clone)]
pub struct Desk {
    commands: mpsc::Sender<Order>,
    waker: Arc<Waker>,
}

/// A command, or the end.
#[derive(Debug)]
enum Order {
    Do(Box<Command>),
    Stop,
}

impl Desk {
    /// Asks; the answer comes when what it tells of is durable.
    pub fn ask(&self, ask: Ask) -> oneshot::Receiver<Answer> {
        let (answer, receiver) = oneshot::channel();
        self.order(Order::Do(Box::new(Command { ask, answer })));
        receiver
    }

    /// Has the collector keep what it holds and end.
    pub fn stop(&self) {
        self.order(Order::Stop);
    }

    fn order(&self, order: Order) {
        // A collector that has ended answers by dropping the answer's sender.
        if self.commands.send(order).is_ok() {
            let _ = self.waker.wake();
        }
    }
}

/// The collector.
pub struct Collector {
    poll: Poll,
    benches: Vec<Bench>,
    methods: Vec<String>,
    uncertainty: Option<UncertaintySettings>,
    // Before the store: the last connection to close tidies the file up, and only the writer can.
    look: Connection,
    store: Box<dyn Store>,
    clock: Arc<dyn Clock>,
    boot_id: [u8; 16],
    feed: Arc<Feed>,
    register: Arc<Register>,
    studies: StudyBook,
    orders: mpsc::Receiver<Order>,
    batch: Vec<Entry>,
    try_again_ns: Option<i64>,
    tell_at_ns: Option<i64>,
    buffer: Vec<u8>,
    events: Vec<u8>,
}

impl Collector {
    /// Builds the collector and takes up the state of the run before.
    ///
    /// # Errors
    /// The system refuses the means to wait, or the record cannot be read.
    pub fn new(parts: Parts) -> anyhow::Result<(Collector, Desk)> {
        let poll = Poll::new()?;
        let waker = Arc::new(Waker::new(poll.registry(), WAKE)?);
        let (commands, orders) = mpsc::channel();
        let now = parts.clock.now();
        let method = parts
            .settings
            .shop
            .methods
            .first()
            .cloned()
            .unwrap_or_default();
        let rules = parts.settings.rules;
        let uncertainty = parts.settings.uncertainty;
        let benches = parts
            .settings
            .stations
            .into_iter()
            .map(|station| Bench::new(station, rules, uncertainty, &method, now))
            .collect();
        let mut collector = Collector {
            poll,
            benches,
            methods: parts.settings.shop.methods,
            uncertainty,
            store: parts.store,
            look: parts.look,
            boot_id: parts.clock.boot_id(),
            clock: parts.clock,
            feed: parts.feed,
            register: Arc::default(),
            studies: StudyBook::default(),
            orders,
            batch: Vec::new(),
            try_again_ns: None,
            tell_at_ns: None,
            buffer: vec![0; 4096],
            events: Vec::new(),
        };
        collector.restore()?;
        // Look at every port once before anybody is told that the page is there.
        collector.open_due();
        collector.put_up_stations();
        Ok((collector, Desk { commands, waker }))
    }

    /// Works until it is told to stop.
    ///
    /// # Errors
    /// The system refuses to let it wait for bytes.
    pub fn run(mut self) -> io::Result<()> {
        let mut woken = Events::with_capacity(256);
        loop {
            self.open_due();
            self.read_ports();
            self.put_up_stations();
            if self.take_orders() {
                self.flush();
                self.tell_unkept();
                return Ok(());
            }
            let wait = self.wait();
            match self.poll.poll(&mut woken, wait) {
                Ok(()) => {}
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            }
            for event in &woken {
                if let Some(bench) = self.benches.get_mut(event.token().0) {
                    bench.readable = true;
                }
            }
        }
    }

    fn now(&self) -> Stamp {
        self.clock.now()
    }

    /// How long to sleep: for ever, unless something is due or left over.
    fn wait(&self) -> Option<Duration> {
        let may_read = self.batch.len() < MOST_HELD;
        if may_read && self.benches.iter().any(|bench| bench.readable) {
            return Some(Duration::ZERO);
        }
        let due = self
            .benches
            .iter()
            .filter_map(|bench| bench.link.retry_at_ns());
        let due = due.chain(self.try_again_ns).chain(self.tell_at_ns).min()?;
        let wait_ns = (due - self.now().mono_ns).max(0) as u64;
        // Rounded up to the poll's own milliseconds, so that it is due when it wakes.
        Some(Duration::from_millis(wait_ns.div_ceil(1_000_000)))
    }

    fn open_due(&mut self) {
        if self
            .benches
            .iter()
            .all(|bench| bench.link.retry_at_ns().is_none())
        {
            return;
        }
        let now = self.clock.now();
        let registry = self.poll.registry();
        for (index, bench) in self.benches.iter_mut().enumerate() {
            if bench
                .link
                .retry_at_ns()
                .is_some_and(|due| due <= now.mono_ns)
            {
                bench.open(registry, Token(index), now);
            }
        }
    }

    /// Reads every port that has something, commits, and tells.
    fn read_ports(&mut self) {
        for index in 0..self.benches.len() {
            if self.batch.len() >= MOST_HELD {
                break;
            }
            if self.benches.get(index).is_some_and(|bench| bench.readable) {
                self.read_port(index);
                if self.batch.len() >= A_BATCH {
                    self.flush();
                }
            }
        }
        let due = self
            .try_again_ns
            .is_none_or(|due| due <= self.now().mono_ns);
        if !self.batch.is_empty() && due {
            self.flush();
        }
    }

    fn read_port(&mut self, index: usize) {
        let mut arrived: Vec<(Outcome, Stamp, bool)> = Vec::new();
        let clock = self.clock.clone();
        let Some(bench) = self.benches.get_mut(index) else {
            return;
        };
        bench.read(
            &mut self.buffer,
            self.poll.registry(),
            || clock.now(),
            |outcome, stamp, waited| {
                arrived.push((outcome, stamp, waited));
            },
        );
        for (outcome, stamp, waited) in arrived {
            match outcome {
                Outcome::Frame(frame) => self.take(index, Arrival::of(frame, stamp, waited)),
                Outcome::Refused(refused) => {
                    bench_at(&mut self.benches, index, |b| b.refused(&refused))
                }
                Outcome::Noise(bytes) => bench_at(&mut self.benches, index, |b| b.noise(bytes)),
            }
        }
    }

    /// Makes a reading of a frame and puts it into the batch.
    fn take(&mut self, index: usize, arrival: Arrival) {
        let remembered = RecordMemory(&self.look);
        let Some(bench) = self.benches.get_mut(index) else {
            return;
        };
        let raw = arrival.raw.clone();
        let study = bench.station.tags().study.clone();
        let stamp = arrival.stamp;
        let slot = study
            .as_deref()
            .and_then(|name| self.studies.slot(name, stamp));
        match bench
            .station
            .take(arrival, &self.register, &remembered, slot.as_ref())
        {
            Ok(mut reading) => {
                reading.head.boot_id = self.boot_id;
                if study.is_some() {
                    self.studies.take(&reading);
                    bench.follow(&self.studies, &self.register, &self.look, stamp);
                }
                self.batch.push(Entry::Reading(reading));
            }
            Err(_) => bench.refused(&crate::frame::Refused {
                reason: crate::frame::Reason::TooManyDigits,
                raw,
            }),
        }
    }

    fn push_change(&mut self, mut change: Change) {
        change.head.boot_id = self.boot_id;
        self.batch.push(Entry::Change(change));
    }

    /// Does what the page asked; true when it is to stop.
    fn take_orders(&mut self) -> bool {
        while let Ok(order) = self.orders.try_recv() {
            match order {
                Order::Stop => return true,
                Order::Do(command) => {
                    let answer = self.answer(command.ask);
                    self.tell_stations();
                    // Whoever asked may have gone.
                    let _ = command.answer.send(answer);
                }
            }
        }
        false
    }

    fn index_of(&self, station: &str) -> Result<usize, Refusal> {
        let found = self
            .benches
            .iter()
            .position(|bench| **bench.station.name() == *station);
        found.ok_or_else(|| Refusal::missing("station", station))
    }
}

fn bench_at(benches: &mut [Bench], index: usize, act: impl FnOnce(&mut Bench)) {
    if let Some(bench) = benches.get_mut(index) {
        act(bench);
    }
}

/// What the record remembers of pieces. A record that cannot be read remembers nothing: the piece then
/// starts as if new, which a person sees and can set.
struct RecordMemory<'a>(&'a Connection);

impl Remembered for RecordMemory<'_> {
    fn left_off(&self, job: &str, feature: &str) -> Option<LeftOff> {
        let last = reader::last_of_feature(self.0, job, feature).ok()??;
        let (piece, attempt) = (last.reading.tags.piece, last.reading.tags.attempt);
        let counted = reader::counted_on(self.0, job, feature, piece, attempt).ok()?;
        Some(LeftOff {
            piece,
            attempt,
            counted,
        })
    }

    fn attempts(&self, job: Option<&str>, feature: Option<&str>, piece: i64) -> i64 {
        reader::attempts(self.0, job, feature, piece).unwrap_or(0)
    }

    fn repeats(&self, which: &Which<'_>) -> Option<Repeats> {
        let (deviation_mm, freedom) = repeats::repeats(self.0, which).ok()??;
        Some(Repeats {
            deviation_mm,
            freedom,
        })
    }
}
