//! Plays numbered values to many ports at once and keeps account of what was sent.
//!
//! Each value is the only one of its number: line `s` of port `p` among `n` ports carries
//! `base + s * n + p`, so that a value found anywhere tells its port and its place. One thread serves
//! all ports without waiting on any; a port whose reader is slow holds up itself alone.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use overwire_core::units::Unit;

use crate::dice::{Dice, Purpose};
use crate::display::Shown;
use crate::encoder::{Encoder, LineEnd, Shape};
use crate::pty::{Pty, PtyError};
use crate::terminal::Stop;

/// Digits behind the point of every value.
const PLACES: u8 = 5;

/// Lines made ready together when there is no rate to keep.
const LINES_AT_ONCE: u64 = 32;

/// Longest pause between two pieces of a split write, microseconds.
const LONGEST_PAUSE_US: usize = 3000;

/// A reader that takes nothing for this long counts as dead; the claim it left is lifted.
const CLAIM_PATIENCE: Duration = Duration::from_millis(500);

/// What to play.
#[derive(Debug, Clone)]
pub struct Score {
    /// Folder in which the links are laid.
    pub folder: PathBuf,
    /// How many ports.
    pub ports: usize,
    /// Lines for each port.
    pub lines: u64,
    /// Lines a second at each port; as fast as readers take them if `None`.
    pub rate: Option<f64>,
    /// The first value, in units of the fifth decimal place.
    pub base: u64,
    /// Split writes at random places, seeded.
    pub chunk_seed: Option<u64>,
    /// Share of lines with a line of noise before them.
    pub noise_rate: f64,
    /// Seed of the noise.
    pub noise_seed: u64,
}

/// Why the playing broke off.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PlayError {
    /// A port failed.
    #[error(transparent)]
    Port(#[from] PtyError),
    /// The account could not be written.
    #[error("cannot write the ledger: {0}")]
    Ledger(#[from] io::Error),
    /// Nobody read for too long.
    #[error("no port took a byte for {seconds} s; {left} lines were not sent")]
    NobodyReads {
        /// How long.
        seconds: u64,
        /// Lines left.
        left: u64,
    },
}

/// All ports, ready to be played to.
#[derive(Debug)]
pub struct Player {
    score: Score,
    voices: Vec<Voice>,
    chunk_dice: Option<Dice>,
    noise_dice: Dice,
    claims_seen: Instant,
}

/// One port with what is on its way there.
#[derive(Debug)]
struct Voice {
    port: Pty,
    next_line: u64,
    bytes: Vec<u8>,
    written: usize,
    /// Lines within `bytes`: where each ends, its number at this port, its text.
    ends: Vec<(usize, u64, String)>,
    not_before: Instant,
    /// Bytes the reader had not taken when last looked.
    waiting: u64,
}

impl Player {
    /// Makes the ports; readers find them at `tty0`, `tty1`, ... in the folder.
    ///
    /// # Errors
    /// [`PtyError`].
    pub fn new(score: Score) -> Result<Player, PtyError> {
        let voice = |number| -> Result<Voice, PtyError> {
            Ok(Voice {
                port: Pty::open(&score.folder.join(format!("tty{number}")))?,
                next_line: 0,
                bytes: Vec::new(),
                written: 0,
                ends: Vec::new(),
                not_before: Instant::now(),
                waiting: 0,
            })
        };
        let voices = (0..score.ports).map(voice).collect::<Result<_, _>>()?;
        let chunk_dice = score
            .chunk_seed
            .map(|seed| Dice::new(seed, Purpose::Chunks));
        let noise_dice = Dice::new(score.noise_seed, Purpose::Noise);
        Ok(Player {
            score,
            voices,
            chunk_dice,
            noise_dice,
            claims_seen: Instant::now(),
        })
    }

    /// The links, in order.
    pub fn links(&self) -> impl Iterator<Item = &Path> {
        self.voices.iter().map(|voice| voice.port.link())
    }

    /// Plays everything and writes one row a line to the ledger, when its last byte has gone in:
    /// `port,line,text,sent_unix_us`. Ends early, in order, when it is to stop.
    ///
    /// # Errors
    /// [`PlayError`]; `give_up` bounds how long all ports may stand still.
    pub fn play(
        &mut self,
        ledger: &mut impl Write,
        give_up: Duration,
        stop: &Stop,
    ) -> Result<u64, PlayError> {
        writeln!(ledger, "port,line,text,sent_unix_us")?;
        let start = Instant::now();
        let mut last_byte = start;
        let mut sent = 0;
        while self.left() > 0 && !stop.is_set() {
            let now = Instant::now();
            let (bytes, lines) = self.round(start, now, ledger)?;
            sent += lines;
            if bytes > 0 || !self.is_stuck(now) {
                last_byte = now;
            } else if now - last_byte > give_up {
                let (seconds, left) = (give_up.as_secs(), self.left());
                return Err(PlayError::NobodyReads { seconds, left });
            }
            if bytes == 0 {
                ledger.flush()?;
                std::thread::sleep(Duration::from_micros(300));
            }
            self.lift_dead_claims(now);
        }
        ledger.flush()?;
        Ok(sent)
    }

    /// Waits until readers have taken everything; how many bytes they have not.
    pub fn wait_until_taken(&mut self, patience: Duration, stop: &Stop) -> u64 {
        let until = Instant::now() + patience;
        loop {
            let waiting = self.voices.iter().map(|voice| voice.port.waiting()).sum();
            if waiting == 0 || Instant::now() >= until || !stop.sleep(Duration::from_millis(5)) {
                return waiting;
            }
            self.lift_dead_claims(Instant::now());
        }
    }

    /// Lifts claims on ports where nothing has been taken between two looks.
    fn lift_dead_claims(&mut self, now: Instant) {
        if now - self.claims_seen < CLAIM_PATIENCE {
            return;
        }
        self.claims_seen = now;
        for voice in &mut self.voices {
            let waiting = voice.port.waiting();
            if voice.waiting > 0 && waiting >= voice.waiting {
                voice.port.lift_claim();
            }
            voice.waiting = waiting;
        }
    }

    /// Lines not wholly sent yet.
    fn left(&self) -> u64 {
        let left = |voice: &Voice| self.score.lines - voice.next_line + voice.ends.len() as u64;
        self.voices.iter().map(left).sum()
    }

    /// Whether bytes are ready that a reader makes no room for.
    fn is_stuck(&self, now: Instant) -> bool {
        self.voices
            .iter()
            .any(|voice| !voice.bytes.is_empty() && voice.not_before <= now)
    }

    /// One look at every port; bytes and lines that went in.
    fn round(
        &mut self,
        start: Instant,
        now: Instant,
        ledger: &mut impl Write,
    ) -> Result<(usize, u64), PlayError> {
        let (mut bytes, mut lines) = (0, 0);
        for number in 0..self.voices.len() {
            self.make_ready(number, now - start);
            let voice = &mut self.voices[number];
            if now < voice.not_before || voice.bytes.is_empty() {
                continue;
            }
            bytes += voice.write(self.chunk_dice.as_mut(), self.score.rate.is_some(), now)?;
            lines += voice.account(number, ledger)?;
        }
        Ok((bytes, lines))
    }

    /// Makes the next line, or some, ready at a port with nothing on its way.
    fn make_ready(&mut self, number: usize, since_start: Duration) {
        let due = match self.score.rate {
            // Ports take turns within a period, so that they do not all speak at once.
            Some(rate) => {
                let turn = number as f64 / self.score.ports as f64;
                let due = (since_start.as_secs_f64() * rate - turn + 1.0).max(0.0) as u64;
                due.min(self.voices[number].next_line + 1)
            }
            None => self.voices[number].next_line + LINES_AT_ONCE,
        };
        let voice = &mut self.voices[number];
        if !voice.bytes.is_empty() {
            return;
        }
        while voice.next_line < due.min(self.score.lines) {
            if self.noise_dice.happens(self.score.noise_rate) {
                voice.bytes.extend(self.noise_dice.noise());
                voice.bytes.extend_from_slice(LineEnd::Crlf.bytes());
            }
            let value = self.score.base + voice.next_line * self.score.ports as u64 + number as u64;
            let (text, frame) = line(value);
            voice.bytes.extend(frame);
            voice.ends.push((voice.bytes.len(), voice.next_line, text));
            voice.next_line += 1;
        }
    }
}

/// A value's text and its frame.
fn line(value: u64) -> (String, Vec<u8>) {
    let encoder = Encoder {
        shape: Shape::Nr2Line,
        end: LineEnd::Crlf,
        channel: String::new(),
    };
    let counts = i64::try_from(value).unwrap_or(i64::MAX);
    let frame = encoder.frame(&Shown {
        counts,
        places: PLACES,
        unit: Unit::Inch,
    });
    let text = String::from_utf8_lossy(&frame).trim_end().to_owned();
    (text, frame)
}

impl Voice {
    /// Writes what is ready, or with dice a random part of it; how many bytes went in.
    fn write(
        &mut self,
        dice: Option<&mut Dice>,
        with_pauses: bool,
        now: Instant,
    ) -> Result<usize, PtyError> {
        let rest = &self.bytes[self.written..];
        let length = match dice {
            Some(dice) => {
                if with_pauses {
                    let pause = dice.whole(0, LONGEST_PAUSE_US) as u64;
                    self.not_before = now + Duration::from_micros(pause);
                }
                dice.whole(1, rest.len())
            }
            None => rest.len(),
        };
        let written = self.port.write_some(&rest[..length])?;
        self.written += written;
        self.port.drain();
        Ok(written)
    }

    /// Enters the lines that have gone in wholly into the ledger; how many.
    fn account(&mut self, number: usize, ledger: &mut impl Write) -> io::Result<u64> {
        let whole = self
            .ends
            .iter()
            .take_while(|(end, ..)| *end <= self.written)
            .count();
        let sent = SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .unwrap_or_default()
            .as_micros();
        for (_, line, text) in self.ends.drain(..whole) {
            writeln!(ledger, "{number},{line},{text},{sent}")?;
        }
        if self.written == self.bytes.len() {
            self.bytes.clear();
            self.written = 0;
        }
        Ok(whole as u64)
    }
}
