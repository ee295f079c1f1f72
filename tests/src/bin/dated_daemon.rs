//! The real daemon with a calendar of its own: a file `days` beside its settings says by how many days its
//! clock is ahead of the machine's. What goes on for weeks is tested in seconds; it is not part of the
//! product and there is no setting that makes one.

use std::path::PathBuf;
use std::sync::Arc;

use overwire::clock::{Clock, Stamp, SystemClock};
use overwire::record::RecordWriter;
use overwire_tests::own_daemon::{Own, run_own};

const DAY_US: i64 = 86_400_000_000;

/// The machine's clock, some days ahead.
struct DatedClock {
    machine: SystemClock,
    days: PathBuf,
}

impl DatedClock {
    fn ahead(&self) -> i64 {
        let text = std::fs::read_to_string(&self.days).unwrap_or_default();
        text.trim().parse().unwrap_or(0)
    }
}

impl Clock for DatedClock {
    fn now(&self) -> Stamp {
        let now = self.machine.now();
        let ahead_us = self.ahead() * DAY_US;
        Stamp {
            wall_us: now.wall_us + ahead_us,
            mono_ns: now.mono_ns + ahead_us * 1000,
            ..now
        }
    }

    fn boot_id(&self) -> [u8; 16] {
        self.machine.boot_id()
    }
}

fn main() -> anyhow::Result<()> {
    run_own(|settings, record| {
        Ok(Own {
            clock: Arc::new(DatedClock {
                machine: SystemClock::new(),
                days: settings.with_file_name("days"),
            }),
            store: Box::new(RecordWriter::open(record)?),
        })
    })
}
