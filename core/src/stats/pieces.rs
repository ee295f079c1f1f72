//! Repeat readings of single pieces: piece means for the process, repeat ranges for the gauge.
//!
//! The spread of repeats on one piece is that of the gauge and the hand. Limits of a process from them
//! would be far too tight, and capability from them would be a fiction. So the means of the pieces are
//! charted as individuals, and the ranges of the repeats as a chart of the gauge.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::constants::{d2, d3};
use super::limits::{
    ControlLimits, FIRM_GROUPS, Sigma, SigmaBasis, Standing, USUAL_WIDTH, equivalent_degrees,
};
use super::series::Series;
use super::{Figure, Undefined};

/// The readings of one piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece<Name> {
    /// Which piece.
    pub name: Name,
    /// Its readings, in order.
    pub readings: Vec<f64>,
    /// Whether other pieces were measured between its readings.
    pub came_again: bool,
}

impl<Name> Piece<Name> {
    /// The mean of its readings.
    pub fn mean(&self) -> f64 {
        mean(&self.readings)
    }

    /// Largest minus smallest reading.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] with one reading.
    pub fn range(&self) -> Figure {
        range(&self.readings)
    }
}

pub(super) fn mean(readings: &[f64]) -> f64 {
    let first = readings.first().copied().unwrap_or_default();
    let away: f64 = readings.iter().map(|reading| reading - first).sum();
    first + away / readings.len().max(1) as f64
}

pub(super) fn range(readings: &[f64]) -> Figure {
    Undefined::unless_enough("readings of the piece", 2, readings.len())?;
    let smallest = readings.iter().copied().fold(f64::INFINITY, f64::min);
    let largest = readings.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Ok(largest - smallest)
}

/// Readings put together piece by piece, in the order in which the pieces were first measured.
///
/// ```
/// use overwire_core::stats::pieces::Pieces;
/// let readings = [("a", 9.712), ("a", 9.714), ("b", 9.731), ("b", 9.733), ("a", 9.713)];
/// let pieces = Pieces::of(readings)?;
/// assert_eq!(pieces.means().readings().len(), 2);
/// assert_eq!(pieces.came_again(), 1);
/// let gauge = pieces.gauge()?;
/// assert_eq!(gauge.ranges.len(), 2);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Pieces<Name> {
    /// The pieces.
    pub pieces: Vec<Piece<Name>>,
}

impl<Name: Ord + Clone> Pieces<Name> {
    /// Puts readings together; those of a piece that comes again later belong to it all the same.
    ///
    /// # Errors
    /// [`Undefined::NotAReading`] for a reading that is no number.
    pub fn of(readings: impl IntoIterator<Item = (Name, f64)>) -> Result<Pieces<Name>, Undefined> {
        let mut known = Places::default();
        let mut pieces: Vec<Piece<Name>> = Vec::new();
        let mut latest = None;
        for (at, (name, reading)) in readings.into_iter().enumerate() {
            if !reading.is_finite() {
                return Err(Undefined::NotAReading { at });
            }
            let index = known.of(&name, &pieces);
            match pieces.get_mut(index) {
                Some(piece) => {
                    piece.readings.push(reading);
                    piece.came_again |= latest != Some(index);
                }
                None => pieces.push(Piece {
                    name,
                    readings: vec![reading],
                    came_again: false,
                }),
            }
            latest = Some(index);
        }
        Ok(Pieces { pieces })
    }

    /// The means of the pieces, to be charted as individuals.
    pub fn means(&self) -> Series {
        let mut means = Series::with_room_for(self.pieces.len());
        means.extend(self.pieces.iter().map(Piece::mean));
        means
    }

    /// How many pieces were measured again after others.
    pub fn came_again(&self) -> usize {
        self.pieces.iter().filter(|piece| piece.came_again).count()
    }

    /// The chart of the gauge.
    ///
    /// # Errors
    /// [`Undefined`] when no piece has two readings, or none of the repeats differ.
    pub fn gauge(&self) -> Result<GaugeChart, Undefined> {
        let mut sums = RangeSums::default();
        let mut ranges = Vec::with_capacity(self.pieces.len());
        for piece in &self.pieces {
            let size = piece.readings.len() as u32;
            ranges.push(piece.range().ok().map(|range| (range, size)));
            if let Ok(range) = piece.range() {
                sums.take(size, range);
            }
        }
        let sigma = sums.sigma()?;
        let factors = sums.factors()?;
        let limits = |size: u32| {
            let &(mean, deviation) = factors.get(&size)?;
            let (centre, reach) = (sigma.sigma * mean, USUAL_WIDTH * sigma.sigma * deviation);
            Some(ControlLimits::of_spread(
                centre,
                centre - reach,
                centre + reach,
            ))
        };
        let points = ranges.iter().map(|range| {
            let (range, size) = (*range)?;
            let limits = limits(size)?;
            Some(GaugePoint {
                range,
                readings: size,
                limits,
                signal: limits.is_beyond(range),
            })
        });
        Ok(GaugeChart {
            ranges: points.collect(),
            sigma,
            standing: Standing::of(sums.pieces(), FIRM_GROUPS),
        })
    }
}

/// Where a piece stands in a list. As long as the names rise, as they mostly do, the list itself is looked through.
struct Places<Name> {
    /// Every name's place, from the first on that did not rise.
    known: Option<BTreeMap<Name, usize>>,
}

impl<Name> Default for Places<Name> {
    fn default() -> Places<Name> {
        Places { known: None }
    }
}

impl<Name: Ord + Clone> Places<Name> {
    /// The place of a piece; the end of the list for one that is new.
    fn of(&mut self, name: &Name, pieces: &[Piece<Name>]) -> usize {
        let end = pieces.len();
        if let Some(known) = &mut self.known {
            return *known.entry(name.clone()).or_insert(end);
        }
        match pieces.last() {
            None => 0,
            Some(last) if last.name < *name => end,
            Some(last) if last.name == *name => end - 1,
            Some(_) => match pieces.binary_search_by(|piece| piece.name.cmp(name)) {
                Ok(place) => place,
                Err(_) => {
                    let all = pieces.iter().enumerate();
                    let mut known: BTreeMap<Name, usize> = all
                        .map(|(place, piece)| (piece.name.clone(), place))
                        .collect();
                    known.insert(name.clone(), end);
                    self.known = Some(known);
                    end
                }
            },
        }
    }
}

/// Sums of the ranges of repeats, by how many readings a piece has; they can be kept and added to.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RangeSums {
    by_size: BTreeMap<u32, RangesOfSize>,
}

/// Pieces of as many readings each.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RangesOfSize {
    pieces: usize,
    sum: f64,
}

impl RangeSums {
    /// Takes the range of a piece of so many readings, two at least.
    pub fn take(&mut self, size: u32, range: f64) {
        let ranges = self.by_size.entry(size).or_default();
        ranges.pieces += 1;
        ranges.sum += range;
    }

    /// How many pieces were taken.
    pub fn pieces(&self) -> usize {
        self.by_size.values().map(|ranges| ranges.pieces).sum()
    }

    /// d2 and d3 for each size there is.
    fn factors(&self) -> Result<BTreeMap<u32, (f64, f64)>, Undefined> {
        let of = |&size: &u32| Ok((size, (d2(size)?, d3(size)?)));
        self.by_size.keys().map(of).collect()
    }

    /// The repeatability: the standard deviation of single readings of one piece.
    ///
    /// # Errors
    /// [`Undefined`] when no piece has two readings, or none of the repeats differ.
    pub fn sigma(&self) -> Result<Sigma, Undefined> {
        Undefined::unless_enough("pieces with two readings", 1, self.pieces())?;
        let factors = self.factors()?;
        let (mut sum, mut expected, mut variance, mut count) = (0.0, 0.0, 0.0, 0);
        for (size, ranges) in &self.by_size {
            let (mean, deviation) = factors.get(size).copied().unwrap_or_default();
            sum += ranges.sum;
            expected += mean * ranges.pieces as f64;
            variance += deviation * deviation * ranges.pieces as f64;
            count += *size as usize * ranges.pieces;
        }
        Sigma {
            sigma: sum / expected,
            basis: SigmaBasis::MeanRange,
            degrees_of_freedom: equivalent_degrees(variance / (expected * expected)),
            count,
        }
        .above_zero()
    }
}

/// The repeat range of a piece on the chart of the gauge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaugePoint {
    /// Largest minus smallest reading of the piece.
    pub range: f64,
    /// How many readings it was taken of.
    pub readings: u32,
    /// The limits for a range of so many.
    pub limits: ControlLimits,
    /// Whether it lies strictly beyond them: the wires slipped, a chip, a wrong reading.
    pub signal: bool,
}

/// The repeat ranges of the pieces, and what they say of the gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeChart {
    /// One for each piece; `None` for a piece that was measured once.
    pub ranges: Vec<Option<GaugePoint>>,
    /// The repeatability: the standard deviation of single readings of one piece.
    pub sigma: Sigma,
    /// Whether there are enough pieces.
    pub standing: Standing,
}

impl GaugeChart {
    /// The indices of the pieces whose range is beyond its limits.
    pub fn signals(&self) -> Vec<usize> {
        let points = self.ranges.iter().enumerate();
        let out = points.filter(|(_, point)| point.is_some_and(|point| point.signal));
        out.map(|(index, _)| index).collect()
    }
}
