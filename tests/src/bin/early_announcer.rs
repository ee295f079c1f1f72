//! A daemon that lies: the real one, with a store that answers before it has kept. The test that kills
//! daemons must catch it; it is not part of the product and there is no setting that makes one.

use std::sync::Arc;
use std::time::Duration;

use overwire::clock::SystemClock;
use overwire::record::chain::{self, Canonical};
use overwire::record::writer::{Store, Tip};
use overwire::record::{Entry, RecordError, RecordWriter};
use overwire_tests::own_daemon::{Own, run_own};

/// Numbers entries as the record would, answers at once, and keeps them later in a thread of its own.
struct EarlyStore {
    tip: Tip,
    canonical: Canonical,
    sequences: std::collections::HashMap<String, i64>,
    later: std::sync::mpsc::Sender<Vec<Entry>>,
}

impl EarlyStore {
    fn new(file: &std::path::Path) -> Result<EarlyStore, RecordError> {
        let mut writer = RecordWriter::open(file)?;
        let tip = writer.tip();
        let (later, waiting) = std::sync::mpsc::channel::<Vec<Entry>>();
        std::thread::spawn(move || {
            while let Ok(mut batch) = waiting.recv() {
                std::thread::sleep(Duration::from_millis(40));
                if let Err(error) = writer.append(&mut batch) {
                    eprintln!("early announcer: {error}");
                }
            }
        });
        Ok(EarlyStore {
            tip,
            canonical: Canonical::default(),
            sequences: Default::default(),
            later,
        })
    }
}

impl Store for EarlyStore {
    fn append(&mut self, batch: &mut [Entry]) -> Result<(), RecordError> {
        for entry in batch.iter_mut() {
            let sequence = self
                .sequences
                .entry(entry.head().station.to_string())
                .or_default();
            *sequence += 1;
            self.tip.entry += 1;
            entry.head_mut().entry = self.tip.entry;
            entry.head_mut().sequence = *sequence;
            self.tip.hash = chain::link(&self.tip.hash, self.canonical.of(entry));
        }
        // The other end lives as long as the process.
        let _ = self.later.send(batch.to_vec());
        Ok(())
    }

    fn tip(&self) -> Tip {
        self.tip
    }
}

fn main() -> anyhow::Result<()> {
    run_own(|_, record| {
        Ok(Own {
            clock: Arc::new(SystemClock::new()),
            store: Box::new(EarlyStore::new(record)?),
        })
    })
}
