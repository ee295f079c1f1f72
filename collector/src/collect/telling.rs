//! Keeping what came and telling it: the batch is committed first, and only then told to pages and programs.

use std::sync::Arc;

use super::{Collector, RecordMemory, TELL_AFTER_NS, TRY_AGAIN_NS};
use crate::feed::{A_MESSAGE, Told, write_event};
use crate::record::Entry;
use crate::record::standing::Standing;
use crate::view::ReadingView;

impl Collector {
    /// Commits the batch; what is in it is told only after that.
    pub(super) fn flush(&mut self) {
        if self.batch.is_empty() {
            return;
        }
        match self.store.append(&mut self.batch) {
            Ok(()) => {
                self.stored_again();
                self.announce();
            }
            Err(error) => self.not_stored(&error),
        }
    }

    /// What could not be kept before the end goes into the log, so that a person still has the numbers.
    pub(super) fn tell_unkept(&self) {
        for entry in &self.batch {
            if let Entry::Reading(reading) = entry {
                let (station, text, unit) = (&*reading.head.station, &*reading.text, reading.unit);
                tracing::error!(
                    station,
                    text,
                    unit,
                    "This reading could not be stored before the end."
                );
            }
        }
    }

    pub(super) fn stored_again(&mut self) {
        if self.try_again_ns.take().is_some() {
            tracing::info!(
                entries = self.batch.len(),
                "The record can be written again."
            );
            self.benches.iter_mut().for_each(|bench| bench.dirty = true);
        }
    }

    pub(super) fn not_stored(&mut self, error: &crate::record::RecordError) {
        let is_new = self.try_again_ns.is_none();
        self.try_again_ns = Some(self.now().mono_ns + TRY_AGAIN_NS);
        let trouble = format!(
            "{error}. Readings are held in memory and tried again. {}",
            error.hint()
        );
        self.feed.put_record(self.store.tip(), Some(trouble));
        if is_new {
            let held = self.batch.len();
            tracing::error!(error = %error, held, hint = error.hint(), "Readings could not be stored; they are held in memory and tried again.");
            self.send_event("resync", "{}");
        }
    }

    /// Tells what has just become durable. Each reading is formatted once for all pages.
    pub(super) fn announce(&mut self) {
        let heard = self.feed.is_heard();
        let mut upto = 0;
        self.events.clear();
        for entry in std::mem::take(&mut self.batch) {
            let Entry::Reading(reading) = entry else {
                continue;
            };
            let standing = Arc::new(Standing::fresh(reading));
            let head = &standing.reading.head;
            upto = head.entry;
            if heard {
                let json = ReadingView::of(&standing).to_json();
                write_event(&mut self.events, "reading", Some(head.entry), &json);
                if self.events.len() >= A_MESSAGE {
                    self.send_events(upto);
                }
            }
            let station = head.station.clone();
            if let Some(bench) = self
                .benches
                .iter_mut()
                .find(|b| *b.station.name() == station)
            {
                bench.put(standing);
            }
        }
        self.send_events(upto);
        self.feed.put_record(self.store.tip(), None);
    }

    pub(super) fn send_events(&mut self, upto: i64) {
        if !self.events.is_empty() {
            self.feed.tell(&Told::new(upto, &self.events));
            self.events.clear();
        }
    }

    pub(super) fn send_event(&mut self, event: &str, json: &str) {
        if self.feed.is_heard() {
            self.events.clear();
            write_event(&mut self.events, event, None, json);
            self.send_events(0);
        }
    }

    /// Puts up every station at which something changed, and tells of them when that is due.
    pub(super) fn put_up_stations(&mut self) {
        for (index, bench) in self.benches.iter_mut().enumerate() {
            if std::mem::take(&mut bench.dirty) {
                let memory = RecordMemory(&self.look);
                let now = self.clock.now();
                bench.follow(&self.studies, &self.register, &self.look, now);
                bench.station.refresh_repeats(&self.register, &memory, now);
                bench.look_up_checks(&self.look);
                bench.untold = true;
                self.feed
                    .put_station(index, Arc::new(bench.board(&self.register, &self.studies)));
                if self.tell_at_ns.is_none() {
                    self.tell_at_ns = Some(self.clock.now().mono_ns + TELL_AFTER_NS);
                }
            }
        }
        if self.tell_at_ns.is_some_and(|due| due <= self.now().mono_ns) {
            self.tell_stations();
        }
    }

    /// Tells of every station at which something changed since it was last told of.
    pub(super) fn tell_stations(&mut self) {
        self.tell_at_ns = None;
        let heard = self.feed.is_heard();
        let now = self.clock.now();
        self.events.clear();
        for (index, bench) in self.benches.iter_mut().enumerate() {
            let dirty = std::mem::take(&mut bench.dirty);
            if !std::mem::take(&mut bench.untold) && !dirty {
                continue;
            }
            bench.look_up_checks(&self.look);
            bench.follow(&self.studies, &self.register, &self.look, now);
            let board = Arc::new(bench.board(&self.register, &self.studies));
            if heard {
                write_event(&mut self.events, "station", None, &board.to_json(now));
            }
            self.feed.put_station(index, board);
        }
        self.send_events(0);
    }
}
