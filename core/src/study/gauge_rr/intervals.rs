//! Limits of variance components, from mean squares.
//!
//! The modified large-sample rule: each mean square is taken to its chi-squared limit and the
//! distances are put together by squares; a term for the product of two makes a difference of mean
//! squares right where one of them counts alone. The limits hold closely, not exactly.
//! Source: Ting, Burdick, Graybill, Jeyaratnam and Lu, Journal of Statistical Computation and Simulation 35 (1990) 135;
//! Burdick, Borror and Montgomery, Design and Analysis of Gauge R&R Studies (2005); from memory, their coverage is
//! tested by simulation.

use crate::stats::distribution::{chi_squared_quantile, f_quantile};
use crate::stats::{Interval, Undefined};
use crate::study::anova::Variation;
use crate::study::figure::no_confidence;

/// A mean square times a factor.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Part {
    pub factor: f64,
    pub mean_square: f64,
    pub degrees_of_freedom: f64,
}

impl Part {
    pub(crate) fn new(factor: f64, variation: &Variation) -> Part {
        Part {
            factor,
            mean_square: variation.mean_square().unwrap_or(0.0),
            degrees_of_freedom: variation.degrees_of_freedom,
        }
    }

    fn value(&self) -> f64 {
        self.factor * self.mean_square
    }

    /// By which share of itself it may be too large, and too small.
    fn reach(&self, confidence: f64) -> Option<(f64, f64)> {
        let beyond = (1.0 - confidence) / 2.0;
        let freedom = self.degrees_of_freedom;
        let high = chi_squared_quantile(1.0 - beyond, freedom)?;
        let low = chi_squared_quantile(beyond, freedom)?;
        Some((1.0 - freedom / high, freedom / low - 1.0))
    }
}

/// The limits of a sum of mean squares, each with a factor not below zero. Exact for one alone.
pub(crate) fn of_sum(parts: &[Part], confidence: f64) -> Result<Interval, Undefined> {
    let sum: f64 = parts.iter().map(Part::value).sum();
    let (mut below, mut above) = (0.0, 0.0);
    for part in parts.iter().filter(|part| part.factor > 0.0) {
        let (down, up) = part.reach(confidence).ok_or(no_confidence(confidence))?;
        below += (down * part.value()).powi(2);
        above += (up * part.value()).powi(2);
    }
    Ok(Interval {
        low: sum - below.sqrt(),
        high: sum + above.sqrt(),
        confidence,
    })
}

/// The limits of a whole that are nowhere below those of a part of it; of the part alone where nothing
/// else is left.
pub(crate) fn at_least(
    limits: Result<Interval, Undefined>,
    part: Result<Interval, Undefined>,
) -> Result<Interval, Undefined> {
    match (limits, part) {
        (Ok(limits), Ok(part)) => Ok(Interval {
            low: limits.low.max(part.low),
            high: limits.high.max(part.high),
            ..limits
        }),
        (Err(Undefined::NotInModel { .. }), part) => part,
        (Err(reason), _) | (_, Err(reason)) => Err(reason),
    }
}

/// The limits of one mean square less another, not below zero.
///
/// # Errors
/// [`Undefined::NotInModel`] when even the upper limit is not above zero.
pub(crate) fn of_difference(
    more: Part,
    less: Part,
    confidence: f64,
) -> Result<Interval, Undefined> {
    of_sum_less(&[more], less, confidence)
}

/// The limits of a sum of mean squares less another, not below zero. Each mean square keeps its own degrees
/// of freedom: put together into one, the sum would look surer than the part that has fewest.
///
/// # Errors
/// As [`of_difference`].
pub(crate) fn of_sum_less(
    more: &[Part],
    less: Part,
    confidence: f64,
) -> Result<Interval, Undefined> {
    let limits = difference_limits(more, less, confidence).ok_or(no_confidence(confidence))?;
    match limits {
        (low, high) if high > 0.0 => Ok(Interval {
            low: low.max(0.0),
            high,
            confidence,
        }),
        _ => Err(Undefined::NotInModel {
            what: "share left for it",
        }),
    }
}

fn difference_limits(more: &[Part], less: Part, confidence: f64) -> Option<(f64, f64)> {
    let beyond = (1.0 - confidence) / 2.0;
    let (less_down, less_up) = less.reach(confidence)?;
    let other = less.value();
    let mut middle = -other;
    let (mut down, mut up) = ((less_up * other).powi(2), (less_down * other).powi(2));
    for part in more {
        let ratio = |probability| {
            f_quantile(
                probability,
                part.degrees_of_freedom,
                less.degrees_of_freedom,
            )
        };
        let (own_down, own_up) = part.reach(confidence)?;
        let one = part.value();
        let (high, low) = (ratio(1.0 - beyond)?, ratio(beyond)?);
        let both_down = ((high - 1.0).powi(2) - (own_down * high).powi(2) - less_up.powi(2)) / high;
        let both_up = ((1.0 - low).powi(2) - (own_up * low).powi(2) - less_down.powi(2)) / low;
        middle += one;
        down += (own_down * one).powi(2) + both_down * one * other;
        up += (own_up * one).powi(2) + both_up * one * other;
    }
    Some((middle - down.max(0.0).sqrt(), middle + up.max(0.0).sqrt()))
}
