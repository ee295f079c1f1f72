//! Indices and their intervals.

use serde::{Deserialize, Serialize};

use super::{CapabilitySettings, Tolerance};
use crate::stats::distribution::{
    chi_squared_quantile, noncentral_student_noncentrality, normal_quantile,
};
use crate::stats::limits::{Sigma, SigmaBasis};
use crate::stats::{Figure, Interval, Undefined};

/// How an interval was worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum IntervalMethod {
    /// Chi-squared: exact for Cp and Pp of normal readings.
    ChiSquared,
    /// Bissell's approximation, `C ± z sqrt(1/(9n) + C²/(2ν))`.
    Bissell,
    /// Noncentral t: exact for one limit and the overall sigma of normal readings.
    NoncentralStudent,
}

/// One index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Index {
    /// The index.
    pub value: f64,
    /// The interval that holds the true one.
    pub interval: Interval,
    /// The true one is above this, with the same confidence on one side.
    pub at_least: f64,
    /// How the interval was worked out.
    pub method: IntervalMethod,
}

/// The indices from one sigma.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Indices {
    /// The sigma and where it comes from.
    pub sigma: Sigma,
    /// Cp or Pp; with two limits only.
    pub both: Option<Index>,
    /// Cpu or Ppu: the way to the upper limit.
    pub upper: Option<Index>,
    /// Cpl or Ppl: the way to the lower limit.
    pub lower: Option<Index>,
    /// Cpk or Ppk: the lesser of the two.
    pub least: Index,
}

impl Indices {
    /// The indices of a mean and a sigma.
    ///
    /// # Errors
    /// [`Undefined`] for a sigma not above zero, or a confidence that is no probability.
    pub fn of(
        mean: f64,
        sigma: Sigma,
        tolerance: &Tolerance,
        settings: &CapabilitySettings,
    ) -> Result<Indices, Undefined> {
        let sigma = sigma.above_zero()?;
        let confidence = settings.confidence;
        Undefined::unless_probability("a confidence", confidence)?;
        let to_upper = tolerance
            .upper()
            .map(|upper| (upper - mean) / (3.0 * sigma.sigma));
        let to_lower = tolerance
            .lower()
            .map(|lower| (mean - lower) / (3.0 * sigma.sigma));
        let one_sided = |value| one_sided(value, &sigma, settings);
        let both = tolerance.width().map(|width| {
            let value = width / (6.0 * sigma.sigma);
            both_sided(value, sigma.degrees_of_freedom, confidence)
        });
        let least = match (to_upper, to_lower) {
            (Some(upper), Some(lower)) => nearer(upper.min(lower), &sigma, confidence),
            (Some(value), None) | (None, Some(value)) => one_sided(value),
            (None, None) => Err(Undefined::TooFew {
                of: "limits",
                needed: 1,
                found: 0,
            }),
        };
        Ok(Indices {
            both: both.transpose()?,
            upper: to_upper.map(one_sided).transpose()?,
            lower: to_lower.map(one_sided).transpose()?,
            least: least?,
            sigma,
        })
    }

    /// The letter of these indices: C from piece to piece, P overall.
    pub const fn letter(&self) -> char {
        match self.sigma.basis.is_within() {
            true => 'C',
            false => 'P',
        }
    }
}

fn both_sided(value: f64, degrees_of_freedom: f64, confidence: f64) -> Result<Index, Undefined> {
    let one_side = chi_squared_bound(degrees_of_freedom, 1.0 - confidence)?;
    Ok(Index {
        value,
        interval: chi_squared_interval(value, degrees_of_freedom, confidence)?,
        at_least: value * one_side,
        method: IntervalMethod::ChiSquared,
    })
}

fn nearer(value: f64, sigma: &Sigma, confidence: f64) -> Result<Index, Undefined> {
    let of = |confidence| bissell(value, sigma.count, sigma.degrees_of_freedom, confidence);
    Ok(Index {
        value,
        interval: of(confidence)?,
        at_least: of(one_side_as_two(confidence))?.low,
        method: IntervalMethod::Bissell,
    })
}

/// Exact where it can be and was asked for.
fn one_sided(value: f64, sigma: &Sigma, settings: &CapabilitySettings) -> Result<Index, Undefined> {
    let confidence = settings.confidence;
    let exact = settings.one_limit == IntervalMethod::NoncentralStudent
        && sigma.basis == SigmaBasis::Overall;
    let interval = exact
        .then(|| one_sided_interval(value, sigma.count, confidence).ok())
        .flatten();
    let Some(interval) = interval else {
        return nearer(value, sigma, confidence);
    };
    let at_least = one_sided_interval(value, sigma.count, one_side_as_two(confidence))?.low;
    Ok(Index {
        value,
        interval,
        at_least,
        method: IntervalMethod::NoncentralStudent,
    })
}

/// The confidence of an interval whose lower end alone has the confidence asked for.
fn one_side_as_two(confidence: f64) -> f64 {
    1.0 - 2.0 * (1.0 - confidence)
}

/// What an index has to be multiplied with for a bound that it is above with all but this probability.
pub(super) fn chi_squared_bound(degrees_of_freedom: f64, probability: f64) -> Figure {
    let refused = Undefined::Senseless {
        what: "the degrees of freedom",
        found: degrees_of_freedom,
    };
    let quantile = chi_squared_quantile(probability, degrees_of_freedom).ok_or(refused)?;
    Ok((quantile / degrees_of_freedom).sqrt())
}

/// The interval of Cp or Pp: `C sqrt(χ²/ν)`.
///
/// # Errors
/// [`Undefined`] for degrees of freedom not above zero or a confidence that is no probability.
pub fn chi_squared_interval(
    value: f64,
    degrees_of_freedom: f64,
    confidence: f64,
) -> Result<Interval, Undefined> {
    Undefined::unless_probability("a confidence", confidence)?;
    let beyond = (1.0 - confidence) / 2.0;
    Ok(Interval {
        low: value * chi_squared_bound(degrees_of_freedom, beyond)?,
        high: value * chi_squared_bound(degrees_of_freedom, 1.0 - beyond)?,
        confidence,
    })
}

/// The interval of Cpk or Ppk by Bissell's approximation.
///
/// # Errors
/// [`Undefined`] without readings or degrees of freedom, or for a confidence that is no probability.
pub fn bissell(
    value: f64,
    count: usize,
    degrees_of_freedom: f64,
    confidence: f64,
) -> Result<Interval, Undefined> {
    Undefined::unless_enough("readings", 1, count)?;
    let senseless = |what, found| Undefined::Senseless { what, found };
    if degrees_of_freedom.is_nan() || degrees_of_freedom <= 0.0 {
        return Err(senseless("the degrees of freedom", degrees_of_freedom));
    }
    let deviate = normal_quantile((1.0 + confidence) / 2.0);
    let deviate = deviate.ok_or(senseless("a confidence", confidence))?;
    let variance = 1.0 / (9.0 * count as f64) + value * value / (2.0 * degrees_of_freedom);
    Ok(Interval::about(
        value,
        deviate * variance.sqrt(),
        confidence,
    ))
}

/// The interval of the index of one limit, exact for normal readings: its lower end b solves
/// `P(T <= 3√n C) = 1 - α/2` for noncentral t about `3√n b`.
///
/// # Errors
/// [`Undefined`] with fewer than two readings, or for a confidence that is no probability.
pub fn one_sided_interval(
    value: f64,
    count: usize,
    confidence: f64,
) -> Result<Interval, Undefined> {
    Undefined::unless_enough("readings", 2, count)?;
    Undefined::unless_probability("a confidence", confidence)?;
    let (scale, degrees) = (3.0 * (count as f64).sqrt(), (count - 1) as f64);
    let end = |probability: f64| {
        let found = noncentral_student_noncentrality(probability, scale * value, degrees);
        found
            .map(|found| found / scale)
            .ok_or(Undefined::Senseless {
                what: "an index",
                found: value,
            })
    };
    let beyond = (1.0 - confidence) / 2.0;
    Ok(Interval {
        low: end(1.0 - beyond)?,
        high: end(beyond)?,
        confidence,
    })
}
