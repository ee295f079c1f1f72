//! What the behaviour tests share: a simulated port, the real daemon as a process, and a small client.
//!
//! Everything is real but the instrument: ports are pseudo-terminals, which are ttys; the daemon is the
//! built binary on a port of its own choosing; the record is a SQLite file in a folder that goes with the
//! test. Every wait has a deadline, and nothing is left running.

pub mod charts;
pub mod client;
pub mod closed;
pub mod command;
pub mod daemon;
pub mod dated_shop;
pub mod findings;
pub mod hostile;
pub mod line;
pub mod office;
pub mod one_station;
pub mod own_daemon;
pub mod sheet;
pub mod two_jobs;
pub mod workbook;

pub use daemon::Daemon;
pub use line::Line;

/// A folder of its own for a test; removed when dropped.
#[derive(Debug)]
pub struct Folder(std::path::PathBuf);

impl Folder {
    /// Makes it.
    pub fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("overwire-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).expect("a folder for the test");
        Folder(path)
    }

    /// A path in it.
    pub fn join(&self, name: &str) -> std::path::PathBuf {
        self.0.join(name)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("kept for a look: {}", self.0.display());
        } else {
            let _ = std::fs::remove_dir_all(&self.0);
        }
    }
}

/// Small random numbers from a seed (xorshift64*), the same everywhere.
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    /// From a seed.
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// Below a bound.
    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) % bound
    }
}

/// Waits until something holds; panics with what it is after ten seconds.
pub fn until(what: &str, mut holds: impl FnMut() -> bool) {
    let deadline = std::time::Instant::now() + std::time::Duration::from_secs(10);
    while !holds() {
        assert!(
            std::time::Instant::now() < deadline,
            "waited in vain until {what}"
        );
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
}
