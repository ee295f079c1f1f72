//! Pieces summed up reading by reading: what a summary of a job says, from sums that can be kept.
//!
//! A job grows at its end: the next reading belongs to the piece that was measured last, or to a piece that was not
//! measured before. Such a reading is followed ([`PieceSums::follow`]) at the cost of a few additions. Any other one
//! changes the mean of a piece amid the others, and with it two moving ranges; it is refused, and the pieces are
//! summed up anew ([`PieceSums::of`]). Both ways give the same sums to the last bit, because the means go into them
//! one by one in the same order.
//!
//! Of a piece that was begun again only the last attempt counts. A piece of which every reading was left out is a
//! gap: no moving range reaches across it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::pieces::{RangeSums, mean, range};
use super::running::Running;

/// One reading of a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tried {
    /// The piece.
    pub piece: i64,
    /// How often the piece was begun, from 1.
    pub attempt: i64,
    /// What was read, mm.
    pub mm: f64,
    /// Whether a person left it out.
    pub left_out: bool,
}

/// A reading that cannot be followed: its piece was measured before others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OutOfOrder;

/// Sums over pieces, the last of them still open.
///
/// ```
/// use overwire_core::stats::piece_sums::{PieceSums, Tried};
/// let tried = |piece, mm| Tried { piece, attempt: 1, mm, left_out: false };
/// let mut sums = PieceSums::of(&[tried(1, 9.71), tried(1, 9.73), tried(2, 9.70)]);
/// assert!(sums.follow(tried(2, 9.72)).is_ok());
/// assert!(sums.follow(tried(1, 9.71)).is_err());
/// assert_eq!(sums.so_far().means.count(), 2);
/// ```
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PieceSums {
    closed: SoFar,
    open: Option<OpenPiece>,
    /// The largest number of a piece so far: a larger one is certainly a piece not measured before.
    greatest: i64,
}

/// What the sums say.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SoFar {
    /// The means of the pieces.
    pub means: Running,
    /// The ranges of repeats on one piece.
    pub repeats: RangeSums,
    /// Readings that a person left out.
    pub left_out: usize,
    /// Readings of earlier attempts at pieces that were begun again.
    pub earlier: usize,
}

/// The piece whose readings may still be going on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct OpenPiece {
    piece: i64,
    /// The last attempt that has a reading which counts, once there is one.
    attempt: Option<i64>,
    /// Its readings.
    readings: Vec<f64>,
    /// How many readings were left out, by attempt.
    left_out: BTreeMap<i64, usize>,
    /// How many readings are of earlier attempts.
    earlier: usize,
}

impl PieceSums {
    /// Sums up readings in the order they were taken.
    pub fn of(readings: &[Tried]) -> PieceSums {
        let mut sums = PieceSums::default();
        match readings.iter().try_for_each(|one| sums.follow(*one)) {
            Ok(()) => sums,
            Err(OutOfOrder) => PieceSums::piece_by_piece(readings),
        }
    }

    /// Takes the next reading.
    ///
    /// # Errors
    /// [`OutOfOrder`] when it belongs to an earlier piece; nothing has changed then.
    pub fn follow(&mut self, reading: Tried) -> Result<(), OutOfOrder> {
        match &self.open {
            Some(open) if open.piece != reading.piece && reading.piece <= self.greatest => {
                Err(OutOfOrder)
            }
            _ => {
                self.take(reading);
                Ok(())
            }
        }
    }

    /// All readings of a piece together, in the order in which the pieces' first standing readings came.
    fn piece_by_piece(readings: &[Tried]) -> PieceSums {
        let newest = newest_attempts(readings.iter().copied());
        let mut places: BTreeMap<i64, usize> = BTreeMap::new();
        for reading in readings.iter().filter(|reading| stands(&newest, reading)) {
            let next = places.len();
            places.entry(reading.piece).or_insert(next);
        }
        let mut ordered: Vec<&Tried> = readings.iter().collect();
        ordered.sort_by_key(|reading| places.get(&reading.piece));
        let mut sums = PieceSums::default();
        for reading in ordered {
            sums.take(*reading);
        }
        sums
    }

    fn take(&mut self, reading: Tried) {
        self.greatest = match self.open {
            None => reading.piece,
            Some(_) => self.greatest.max(reading.piece),
        };
        match &mut self.open {
            Some(open) if open.piece == reading.piece => open.take(reading),
            Some(open) => {
                self.closed.close(open);
                open.begin(reading);
            }
            None => self.open = Some(OpenPiece::of(reading)),
        }
    }

    /// What the sums say, the open piece with what it has.
    pub fn so_far(&self) -> SoFar {
        let mut closed = self.closed.clone();
        if let Some(open) = &self.open {
            closed.close(open);
        }
        closed
    }
}

impl SoFar {
    fn close(&mut self, piece: &OpenPiece) {
        match piece.readings.as_slice() {
            [] => self.means.break_chain(),
            [only] => self.means.push(*only),
            readings => {
                self.means.push(mean(readings));
                if let Ok(range) = range(readings) {
                    self.repeats.take(readings.len() as u32, range);
                }
            }
        }
        if !piece.left_out.is_empty() {
            self.left_out += piece.standing_left_out();
        }
        self.earlier += piece.earlier;
    }
}

impl OpenPiece {
    fn of(reading: Tried) -> OpenPiece {
        let mut open = OpenPiece {
            piece: reading.piece,
            attempt: None,
            readings: Vec::new(),
            left_out: BTreeMap::new(),
            earlier: 0,
        };
        open.take(reading);
        open
    }

    /// Begins the next piece in place of this one.
    fn begin(&mut self, reading: Tried) {
        self.piece = reading.piece;
        self.attempt = None;
        self.readings.clear();
        self.left_out.clear();
        self.earlier = 0;
        self.take(reading);
    }

    fn take(&mut self, reading: Tried) {
        if reading.left_out {
            *self.left_out.entry(reading.attempt).or_default() += 1;
            return;
        }
        if self.attempt < Some(reading.attempt) {
            self.attempt = Some(reading.attempt);
            self.earlier += self.readings.len();
            self.readings.clear();
        }
        match self.attempt == Some(reading.attempt) {
            true => self.readings.push(reading.mm),
            false => self.earlier += 1,
        }
    }

    /// How many of the readings that were left out belong to the attempt that counts, or to any while none does.
    fn standing_left_out(&self) -> usize {
        match &self.attempt {
            Some(attempt) => self.left_out.get(attempt).copied().unwrap_or_default(),
            None => self.left_out.values().sum(),
        }
    }
}

/// The last attempt at each piece that has a reading which counts.
pub fn newest_attempts(readings: impl IntoIterator<Item = Tried>) -> BTreeMap<i64, i64> {
    let mut newest = BTreeMap::new();
    for reading in readings.into_iter().filter(|reading| !reading.left_out) {
        let last = newest.entry(reading.piece).or_insert(reading.attempt);
        *last = (*last).max(reading.attempt);
    }
    newest
}

/// Whether a reading is of the attempt at its piece that counts; where none counts, every one of its attempts does.
pub fn stands(newest: &BTreeMap<i64, i64>, reading: &Tried) -> bool {
    let last = newest.get(&reading.piece);
    last.is_none_or(|last| *last == reading.attempt)
}
