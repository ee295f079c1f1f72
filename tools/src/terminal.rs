//! The person at the terminal: typed lines, and the wish to end.

use std::fmt::Display;
use std::io::{self, BufRead, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use signal_hook::consts::signal::{SIGHUP, SIGINT, SIGTERM};

/// How often a wait looks whether it is to end, at most.
const LOOK: Duration = Duration::from_millis(50);

/// Set once someone wants the program to end.
#[derive(Debug, Clone, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Set by SIGINT (Ctrl-C), SIGTERM and SIGHUP; a second signal ends the program at once.
    ///
    /// # Errors
    /// What the system said if it would not take a handler.
    pub fn on_signals() -> io::Result<Stop> {
        let stop = Stop::default();
        for signal in [SIGINT, SIGTERM, SIGHUP] {
            // Order matters: this one acts only when the flag was already set.
            signal_hook::flag::register_conditional_shutdown(
                signal,
                128 + signal,
                Arc::clone(&stop.0),
            )?;
            signal_hook::flag::register(signal, Arc::clone(&stop.0))?;
        }
        Ok(stop)
    }

    /// Asks to end.
    pub fn set(&self) {
        self.0.store(true, Ordering::SeqCst);
    }

    /// Whether someone wants the program to end.
    pub fn is_set(&self) -> bool {
        self.0.load(Ordering::SeqCst)
    }

    /// Sleeps, but wakes when the program is to end; whether the sleep ran its course.
    pub fn sleep(&self, time: Duration) -> bool {
        let until = Instant::now() + time;
        loop {
            if self.is_set() {
                return false;
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return true;
            }
            std::thread::sleep(left.min(LOOK));
        }
    }
}

/// Prints a line. A reader of the output that went away is no reason to stop.
pub fn say(line: impl Display) {
    let _ = writeln!(io::stdout(), "{line}");
}

/// Throws away what was typed so far, where the input is a terminal: keys pressed while a program was
/// busy are not meant for what it asks next.
pub fn forget_typed() {
    // An input that is no terminal refuses, and keeps what it has: that is wanted.
    let _ = rustix::termios::tcflush(
        rustix::stdio::stdin(),
        rustix::termios::QueueSelector::IFlush,
    );
}

/// Lines typed from now on; the channel closes at the end of the input.
pub fn lines() -> Receiver<String> {
    let (sender, receiver) = mpsc::channel();
    std::thread::spawn(move || {
        for line in io::stdin().lock().lines() {
            let Ok(line) = line else { return };
            if sender.send(line).is_err() {
                return;
            }
        }
    });
    receiver
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sleep_ends_when_it_is_to_end() {
        let stop = Stop::default();
        assert!(stop.sleep(Duration::from_millis(1)));
        stop.set();
        let before = Instant::now();
        assert!(!stop.sleep(Duration::from_secs(60)));
        assert!(before.elapsed() < Duration::from_secs(5));
    }
}
