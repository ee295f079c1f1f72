//! What can be claimed from so many pieces, and what share of them lies within.

use super::index::chi_squared_bound;
use crate::stats::distribution::{
    chi_squared_quantile, noncentral_student_quantile, normal_quantile,
};
use crate::stats::{Figure, Interval, Undefined};

/// The interval of Cp as factors on the one found, from so many pieces.
///
/// # Errors
/// [`Undefined`] below two pieces, or for a confidence that is no probability.
pub fn index_factors(pieces: usize, confidence: f64) -> Result<Interval, Undefined> {
    Undefined::unless_enough("pieces", 2, pieces)?;
    super::chi_squared_interval(1.0, (pieces - 1) as f64, confidence)
}

/// The Cp that must be found with so many pieces to be sure, with this confidence, of the one claimed.
///
/// ```
/// use overwire_core::stats::capability::index_needed;
/// assert!((index_needed(30, 1.33, 0.95)? - 1.702).abs() < 0.001);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
///
/// # Errors
/// [`Undefined`] below two pieces, or for a confidence that is no probability.
pub fn index_needed(pieces: usize, claimed: f64, confidence: f64) -> Figure {
    Undefined::unless_enough("pieces", 2, pieces)?;
    Undefined::unless_probability("a confidence", confidence)?;
    Ok(claimed / chi_squared_bound((pieces - 1) as f64, 1.0 - confidence)?)
}

/// How many standard deviations from the mean a share of the pieces lies within: an honest alternative to an
/// index. For normal readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToleranceFactors {
    /// On one side, exact.
    pub one_sided: f64,
    /// On both sides, by Howe's approximation.
    pub two_sided: f64,
}

impl ToleranceFactors {
    /// From so many pieces, for a share of all pieces and a confidence.
    ///
    /// Source: Howe, Journal of the American Statistical Association 64 (1969); NIST/SEMATECH e-Handbook
    /// 7.2.6.3; from memory.
    ///
    /// # Errors
    /// [`Undefined`] below two pieces, or for a share or a confidence that is no probability.
    ///
    /// ```
    /// use overwire_core::stats::capability::ToleranceFactors;
    /// let factors = ToleranceFactors::of(43, 0.90, 0.99)?;
    /// assert!((factors.two_sided - 2.2173).abs() < 0.0001);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(pieces: usize, share: f64, confidence: f64) -> Result<ToleranceFactors, Undefined> {
        Undefined::unless_enough("pieces", 2, pieces)?;
        Undefined::unless_probability("a share of the pieces", share)?;
        Undefined::unless_probability("a confidence", confidence)?;
        let (count, degrees) = (pieces as f64, (pieces - 1) as f64);
        let refused = Undefined::Senseless {
            what: "a confidence",
            found: confidence,
        };
        let within = |probability| normal_quantile(probability).ok_or(refused);
        let noncentrality = within(share)? * count.sqrt();
        let one_sided = noncentral_student_quantile(confidence, degrees, noncentrality);
        let spread = chi_squared_quantile(1.0 - confidence, degrees).ok_or(refused)?;
        let reach = within((1.0 + share) / 2.0)?;
        Ok(ToleranceFactors {
            one_sided: one_sided.ok_or(refused)? / count.sqrt(),
            two_sided: reach * (degrees * (1.0 + 1.0 / count) / spread).sqrt(),
        })
    }

    /// Where so large a share lies, about a mean with a standard deviation, on both sides.
    pub fn interval(&self, mean: f64, deviation: f64, confidence: f64) -> Interval {
        Interval::about(mean, self.two_sided * deviation, confidence)
    }
}
