//! Spread: the standard deviation of a group with its interval, and whether groups spread alike.
//!
//! Intervals of a deviation and of a ratio of two are exact for normally distributed readings only;
//! Levene's test about the median holds for others as well.
//! Source: NIST/SEMATECH e-Handbook 1.3.5.7 (Bartlett), 1.3.5.9 (F), 1.3.5.10 (Levene; about the median: Brown and
//! Forsythe 1974); formulas from memory, results checked against printed ones.

use super::anova::OneWay;
use super::figure::{FRatio, no_confidence, no_freedom};
use super::sums::{moments, rounding_of};
use crate::stats::distribution::{chi_squared_beyond, f_beyond, f_probability, f_quantile};
use crate::stats::individuals::median;
use crate::stats::moments::deviation_interval;
use crate::stats::{Interval, Undefined};

/// A standard deviation from readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deviation {
    /// The standard deviation, in the unit of the readings.
    pub deviation: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

impl Deviation {
    /// Of one group of readings.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than two.
    pub fn of(readings: &[f64]) -> Result<Deviation, Undefined> {
        let moments = moments(readings)?;
        Ok(Deviation {
            deviation: moments.standard_deviation()?,
            degrees_of_freedom: moments.degrees_of_freedom() as f64,
        })
    }

    /// The interval that covers the true deviation with this confidence, by chi-squared.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for a confidence that is none.
    pub fn interval(&self, confidence: f64) -> Result<Interval, Undefined> {
        deviation_interval(self.deviation, self.degrees_of_freedom, confidence)
    }
}

/// One deviation over another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadRatio {
    /// The first deviation over the second.
    pub ratio: f64,
    /// The interval that covers the true ratio with the confidence asked for.
    pub interval: Interval,
    /// The ratio of the variances, F.
    pub f: f64,
    /// The probability of a ratio as far from one, either way, if both spread alike.
    pub probability: f64,
    /// The probability of a ratio as large or larger if both spread alike.
    pub probability_above: f64,
}

impl SpreadRatio {
    /// Of two deviations, with the confidence of the interval.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when either is nothing.
    ///
    /// ```
    /// use overwire_core::study::{Deviation, SpreadRatio};
    /// let deviation = |deviation| Deviation { deviation, degrees_of_freedom: 9.0 };
    /// let ratio = SpreadRatio::of(&deviation(0.002), &deviation(0.001), 0.95)?;
    /// assert!(ratio.interval.low < 1.0 && ratio.interval.high > 4.0);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(
        first: &Deviation,
        second: &Deviation,
        confidence: f64,
    ) -> Result<SpreadRatio, Undefined> {
        if first.deviation <= 0.0 || second.deviation <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        let ratio = first.deviation / second.deviation;
        let (upper, lower) = (first.degrees_of_freedom, second.degrees_of_freedom);
        let f = ratio * ratio;
        let bound = |probability| f_quantile(probability, upper, lower).map(|at| (f / at).sqrt());
        let beyond = (1.0 - confidence) / 2.0;
        let ends = bound(1.0 - beyond).zip(bound(beyond));
        let (low, high) = ends.ok_or(no_confidence(confidence))?;
        let above = f_beyond(f, upper, lower).ok_or(no_freedom(lower))?;
        let below = f_probability(f, upper, lower).ok_or(no_freedom(lower))?;
        Ok(SpreadRatio {
            ratio,
            interval: Interval {
                low,
                high,
                confidence,
            },
            f,
            probability: (2.0 * above.min(below)).min(1.0),
            probability_above: above,
        })
    }
}

/// Whether groups spread alike: Levene's test about the median.
///
/// Two readings lie equally far from their median, so at least one group must have three. What differs
/// by no more than numbers are rounded to counts as equal.
///
/// # Errors
/// [`Undefined`] for fewer than two groups, no group of three readings, or when in no group one reading
/// lies further from the median than another.
pub fn levene(groups: &[impl AsRef<[f64]>]) -> Result<FRatio, Undefined> {
    let largest = groups.iter().map(|group| group.as_ref().len()).max();
    Undefined::unless_enough("readings in a group", 3, largest.unwrap_or(0))?;
    let mut distances = Vec::with_capacity(groups.len());
    for group in groups {
        let middle = median(&mut group.as_ref().to_vec()).ok_or(Undefined::TooFew {
            of: "readings in a group",
            needed: 1,
            found: 0,
        })?;
        let distance = |reading: &f64| (reading - middle).abs();
        distances.push(group.as_ref().iter().map(distance).collect::<Vec<f64>>());
    }
    let found = OneWay::of(&distances)?;
    match found.within.squares > found.count as f64 * rounding_of(groups).powi(2) {
        true => found.ratio,
        false => Err(Undefined::NoSpread),
    }
}

/// Bartlett's test of whether groups spread alike: for normally distributed readings only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bartlett {
    /// The statistic, about chi-squared if all spread alike.
    pub statistic: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
    /// The probability of one as large or larger if all spread alike.
    pub probability: f64,
}

/// Bartlett's test of whether groups spread alike.
///
/// # Errors
/// [`Undefined`] for fewer than two groups or readings in a group, or a group without spread.
pub fn bartlett(groups: &[impl AsRef<[f64]>]) -> Result<Bartlett, Undefined> {
    Undefined::unless_enough("groups", 2, groups.len())?;
    let (mut freedom, mut squares, mut logarithms, mut inverses) = (0.0, 0.0, 0.0, 0.0);
    for group in groups {
        let deviation = Deviation::of(group.as_ref())?;
        let variance = deviation.deviation.powi(2);
        if variance <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        freedom += deviation.degrees_of_freedom;
        squares += deviation.degrees_of_freedom * variance;
        logarithms += deviation.degrees_of_freedom * variance.ln();
        inverses += 1.0 / deviation.degrees_of_freedom;
    }
    let degrees_of_freedom = (groups.len() - 1) as f64;
    let correction = 1.0 + (inverses - 1.0 / freedom) / (3.0 * degrees_of_freedom);
    let statistic = (freedom * (squares / freedom).ln() - logarithms) / correction;
    let probability = chi_squared_beyond(statistic.max(0.0), degrees_of_freedom);
    Ok(Bartlett {
        statistic,
        degrees_of_freedom,
        probability: probability.ok_or(no_freedom(degrees_of_freedom))?,
    })
}
