//! Repeat readings of single pieces: piece means for the process, repeat ranges for the gauge.
//!
//! The spread of repeats on one piece is that of the gauge and the hand. Limits of a process from them
//! would be far too tight, and capability from them would be a fiction. So the means of the pieces are
//! charted as individuals, and the ranges of the repeats as a chart of the gauge.

use std::collections::BTreeMap;

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
        let first = self.readings.first().copied().unwrap_or_default();
        let away: f64 = self.readings.iter().map(|reading| reading - first).sum();
        first + away / self.readings.len().max(1) as f64
    }

    /// Largest minus smallest reading.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] with one reading.
    pub fn range(&self) -> Figure {
        Undefined::unless_enough("readings of the piece", 2, self.readings.len())?;
        let smallest = self.readings.iter().copied().fold(f64::INFINITY, f64::min);
        let largest = self
            .readings
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        Ok(largest - smallest)
    }
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
        let mut known: BTreeMap<Name, usize> = BTreeMap::new();
        let mut pieces: Vec<Piece<Name>> = Vec::new();
        let mut latest = None;
        for (at, (name, reading)) in readings.into_iter().enumerate() {
            if !reading.is_finite() {
                return Err(Undefined::NotAReading { at });
            }
            let fresh = pieces.len();
            let index = *known.entry(name.clone()).or_insert(fresh);
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
        let mut factors: BTreeMap<u32, (f64, f64)> = BTreeMap::new();
        let (mut ranges, mut expected, mut variance, mut count) = (Vec::new(), 0.0, 0.0, 0);
        for piece in &self.pieces {
            let (size, Ok(range)) = (piece.readings.len() as u32, piece.range()) else {
                ranges.push(None);
                continue;
            };
            let (mean, deviation) = match factors.get(&size) {
                Some(&factors) => factors,
                None => *factors.entry(size).or_insert((d2(size)?, d3(size)?)),
            };
            expected += mean;
            variance += deviation * deviation;
            count += piece.readings.len();
            ranges.push(Some((range, size)));
        }
        let repeated = ranges.iter().flatten().count();
        Undefined::unless_enough("pieces with two readings", 1, repeated)?;
        let sum: f64 = ranges.iter().flatten().map(|(range, _)| range).sum();
        let sigma = Sigma {
            sigma: sum / expected,
            basis: SigmaBasis::MeanRange,
            degrees_of_freedom: equivalent_degrees(variance / (expected * expected)),
            count,
        }
        .above_zero()?;
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
            standing: Standing::of(repeated, FIRM_GROUPS),
        })
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
