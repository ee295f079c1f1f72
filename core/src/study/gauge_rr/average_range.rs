//! A gauge study from averages and ranges, as by hand.
//!
//! Ranges waste what repeats say beyond the largest and the smallest, and there is no interaction;
//! analysis of variance says more. This is for papers that ask for it.

use super::{Categories, Crossed, GaugeSettings};
use crate::stats::constants::{MeanRange, d2};
use crate::stats::{Figure, Undefined};
use crate::study::sums::{above, mean, range, rounding_of};

/// What ranges are multiplied by to make deviations of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeFactors {
    /// For the mean range of repeats: 1/d2.
    pub repeats: f64,
    /// For the range of the operators' means: 1/d2* of one range.
    pub operators: f64,
    /// For the range of the pieces' means: 1/d2* of one range.
    pub pieces: f64,
}

impl RangeFactors {
    /// From their definitions.
    ///
    /// # Errors
    /// [`Undefined`] for counts a range is not taken of.
    pub fn computed(
        repeats: usize,
        operators: usize,
        pieces: usize,
    ) -> Result<RangeFactors, Undefined> {
        let whole = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let of_one = |count: usize| MeanRange::of(whole(count), 1).map(|found| 1.0 / found.divisor);
        Ok(RangeFactors {
            repeats: 1.0 / d2(whole(repeats))?,
            operators: match operators {
                0 | 1 => 0.0,
                _ => of_one(operators)?,
            },
            pieces: of_one(pieces)?,
        })
    }
}

/// A gauge study from averages and ranges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AverageRange {
    /// How it was reckoned.
    pub settings: GaugeSettings,
    /// The factors.
    pub factors: RangeFactors,
    /// The mean range of repeats.
    pub mean_range: f64,
    /// The range of the operators' means.
    pub operator_range: f64,
    /// The range of the pieces' means.
    pub piece_range: f64,
    /// The deviation of repeats.
    pub repeat: f64,
    /// The deviation of operators; 0 when there is less of it than repeats account for.
    pub operator: f64,
    /// The deviation of the gauge.
    pub gauge: f64,
    /// The deviation of the pieces.
    pub piece: f64,
    /// The deviation of all that varies.
    pub total: f64,
    /// How many categories of pieces the gauge tells apart.
    pub categories: Result<Categories, Undefined>,
}

impl AverageRange {
    /// Reckons a study with the factors of its size.
    ///
    /// # Errors
    /// [`Undefined`] for settings that make no sense, or more repeats or pieces than a range is taken of.
    pub fn of(readings: &Crossed, settings: GaugeSettings) -> Result<AverageRange, Undefined> {
        let (repeats, operators) = (readings.repeats(), readings.operators().len());
        let factors = RangeFactors::computed(repeats, operators, readings.pieces().len())?;
        AverageRange::with(readings, factors, settings)
    }

    /// Reckons a study with factors from a printed table.
    ///
    /// # Errors
    /// [`Undefined`] for settings that make no sense.
    pub fn with(
        readings: &Crossed,
        factors: RangeFactors,
        settings: GaugeSettings,
    ) -> Result<AverageRange, Undefined> {
        settings.check()?;
        let origin = readings.origin();
        let range_of_means = |groups: &[Vec<f64>]| -> Figure {
            let means: Result<Vec<f64>, Undefined> = groups
                .iter()
                .map(|group| above(origin, group).map(|moments| moments.mean))
                .collect();
            Ok(range(&means?))
        };
        let ranges: Vec<f64> = readings.cells().iter().map(|cell| range(cell)).collect();
        let mean_range = match mean(&ranges).unwrap_or(0.0) {
            size if size > rounding_of(readings.cells()) => size,
            _ => 0.0,
        };
        let operator_range = range_of_means(&readings.by_operator())?;
        let piece_range = range_of_means(&readings.by_piece())?;
        let repeat = mean_range * factors.repeats;
        let repeated = (readings.pieces().len() * readings.repeats()) as f64;
        let operators = (operator_range * factors.operators).powi(2) - repeat.powi(2) / repeated;
        let operator = operators.max(0.0).sqrt();
        let gauge = repeat.hypot(operator);
        let piece = piece_range * factors.pieces;
        Ok(AverageRange {
            settings,
            factors,
            mean_range,
            operator_range,
            piece_range,
            repeat,
            operator,
            gauge,
            piece,
            total: gauge.hypot(piece),
            categories: settings.categories_told(piece, gauge, repeat),
        })
    }

    /// A deviation as a share of all that varies.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when nothing varies.
    pub fn share_of_study(&self, deviation: f64) -> Figure {
        match self.total > 0.0 {
            true => Ok(deviation / self.total),
            false => Err(Undefined::NoSpread),
        }
    }

    /// A deviation as a share of the tolerance; `None` without one.
    pub fn share_of_tolerance(&self, deviation: f64) -> Option<f64> {
        self.settings.share_of_tolerance(deviation)
    }
}
