//! Sums of readings that can be kept, stored, and added to.
//!
//! They hold all that limits and indices need, whatever the number of readings: a summary of a long
//! job comes out of them without reading it again. One pass over the readings in blocks that fit the
//! nearest cache; within a block squares are taken about the block's own mean, and blocks are put
//! together by the rule of Chan, Golub & LeVeque (1983, from memory), so that a small spread on a
//! large diameter keeps its digits.

use serde::{Deserialize, Serialize};

use super::{Moments, Undefined};

/// So many readings are looked at at once: eight kilobytes.
const BLOCK: usize = 1024;

/// So many sums run side by side.
const LANES: usize = 8;

/// Count, mean, spread, smallest, largest and moving ranges of readings.
///
/// ```
/// use overwire_core::stats::running::Running;
/// let mut sums = Running::default();
/// sums.take(&[9.71, 9.72]);
/// sums.break_chain();
/// sums.take(&[9.70]);
/// assert_eq!((sums.count(), sums.moving_ranges()), (3, 1));
/// assert!((sums.moments()?.mean - 9.71).abs() < 1e-15);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Running {
    count: usize,
    /// The first reading: sums are taken of differences from it.
    origin: f64,
    /// The mean, above the origin.
    above: f64,
    squares: f64,
    smallest: f64,
    largest: f64,
    /// The reading that the next one is a neighbour of.
    previous: Option<f64>,
    moving_ranges: usize,
    moving_range_sum: f64,
}

impl Running {
    /// Takes the next readings, neighbours of one another and of the latest one taken.
    pub fn take(&mut self, readings: &[f64]) {
        for block in readings.chunks(BLOCK) {
            self.take_block(block);
        }
    }

    /// Takes one more reading, a neighbour of the latest one. The sums depend on the readings and their order only,
    /// not on where they were stored in between.
    pub fn push(&mut self, reading: f64) {
        if self.count == 0 {
            (self.origin, self.smallest, self.largest) = (reading, reading, reading);
        }
        self.count += 1;
        let before = reading - self.origin - self.above;
        self.above += before / self.count as f64;
        self.squares += before * (reading - self.origin - self.above);
        self.smallest = self.smallest.min(reading);
        self.largest = self.largest.max(reading);
        if let Some(previous) = self.previous.replace(reading) {
            self.moving_range_sum += (reading - previous).abs();
            self.moving_ranges += 1;
        }
    }

    /// A gap: the next reading is no neighbour of the latest one.
    pub fn break_chain(&mut self) {
        self.previous = None;
    }

    fn take_block(&mut self, block: &[f64]) {
        let (Some(&first), Some(&last)) = (block.first(), block.last()) else {
            return;
        };
        if self.count == 0 {
            (self.origin, self.smallest, self.largest) = (first, first, first);
        }
        let (origin, count) = (self.origin, block.len() as f64);
        let mean = sum(block, |reading| reading - origin) / count;
        let [squares, left] = sums(block, |reading| {
            let away = reading - origin - mean;
            [away * away, away]
        });
        self.put_together(
            block.len(),
            mean + left / count,
            squares - left * left / count,
        );
        self.smallest = extreme(block, self.smallest, |one, other| one < other);
        self.largest = extreme(block, self.largest, |one, other| one > other);
        self.take_moving_ranges(block, first);
        self.previous = Some(last);
    }

    fn put_together(&mut self, more: usize, mean: f64, squares: f64) {
        let (here, there) = (self.count as f64, more as f64);
        let (apart, all) = (mean - self.above, here + there);
        self.above += apart * there / all;
        self.squares += squares + apart * apart * here * there / all;
        self.count += more;
    }

    fn take_moving_ranges(&mut self, block: &[f64], first: f64) {
        if let Some(previous) = self.previous {
            self.moving_range_sum += (first - previous).abs();
            self.moving_ranges += 1;
        }
        if let Some((_, later)) = block.split_first() {
            self.moving_range_sum += sum_of_steps(block, later);
            self.moving_ranges += later.len();
        }
    }

    /// How many readings were taken.
    pub const fn count(&self) -> usize {
        self.count
    }

    /// How many of them have a neighbour before them.
    pub const fn moving_ranges(&self) -> usize {
        self.moving_ranges
    }

    /// Count, mean and sum of squares.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] before the first reading; [`Undefined::NotAReading`] when one of the
    /// readings was not finite.
    pub fn moments(&self) -> Result<Moments, Undefined> {
        Undefined::unless_enough("readings", 1, self.count)?;
        let moments = Moments {
            count: self.count,
            mean: self.origin + self.above,
            sum_of_squares: self.squares.max(0.0),
        };
        match moments.mean.is_finite() && self.squares.is_finite() {
            true => Ok(moments),
            false => Err(Undefined::NotAReading { at: 0 }),
        }
    }

    /// The smallest and the largest reading.
    pub fn extremes(&self) -> Option<(f64, f64)> {
        (self.count > 0).then_some((self.smallest, self.largest))
    }

    /// The mean moving range.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without two neighbouring readings.
    pub fn mean_moving_range(&self) -> Result<f64, Undefined> {
        Undefined::unless_enough("neighbouring readings", 2, self.neighbours())?;
        Ok(self.moving_range_sum / self.moving_ranges as f64)
    }

    /// How many readings have a neighbour, as far as that is known from the sums.
    const fn neighbours(&self) -> usize {
        match self.moving_ranges {
            0 => 0,
            ranges => ranges + 1,
        }
    }
}

/// A sum in lanes, which the processor can take side by side.
pub(super) fn sum(readings: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    let [sum] = sums(readings, |reading| [of(reading)]);
    sum
}

fn sums<const SUMS: usize>(readings: &[f64], of: impl Fn(f64) -> [f64; SUMS]) -> [f64; SUMS] {
    let mut lanes = [[0.0; LANES]; SUMS];
    let (whole, rest) = readings.as_chunks::<LANES>();
    for chunk in whole {
        for (lane, &reading) in chunk.iter().enumerate() {
            for (sum, part) in lanes.iter_mut().zip(of(reading)) {
                sum[lane] += part;
            }
        }
    }
    for &reading in rest {
        for (sum, part) in lanes.iter_mut().zip(of(reading)) {
            sum[0] += part;
        }
    }
    lanes.map(|lanes| lanes.iter().sum())
}

/// The sum of the steps between neighbours, without their signs.
fn sum_of_steps(earlier: &[f64], later: &[f64]) -> f64 {
    let mut lanes = [0.0; LANES];
    let (before, _) = earlier.as_chunks::<LANES>();
    let (after, rest) = later.as_chunks::<LANES>();
    for (before, after) in before.iter().zip(after) {
        for (sum, (before, after)) in lanes.iter_mut().zip(before.iter().zip(after)) {
            *sum += (after - before).abs();
        }
    }
    let done = later.len() - rest.len();
    let left = earlier.iter().skip(done).zip(rest);
    let left: f64 = left.map(|(before, after)| (after - before).abs()).sum();
    lanes.iter().sum::<f64>() + left
}

fn extreme(readings: &[f64], start: f64, better: impl Fn(f64, f64) -> bool) -> f64 {
    let pick = |best: f64, reading: f64| match better(reading, best) {
        true => reading,
        false => best,
    };
    let mut lanes = [start; LANES];
    let (whole, rest) = readings.as_chunks::<LANES>();
    for chunk in whole {
        for (best, &reading) in lanes.iter_mut().zip(chunk) {
            *best = pick(*best, reading);
        }
    }
    rest.iter().chain(&lanes).copied().fold(start, pick)
}
