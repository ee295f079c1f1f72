//! The factors of control charts, for any number of readings.
//!
//! All are computed from their definitions for normal readings: printed tables are rounded to three
//! or four places, and some of their entries are off by one or two in the last.
//!
//! | factor | what it is |
//! | --- | --- |
//! | c4 | mean standard deviation of n readings, in true ones |
//! | d2, d3 | mean and standard deviation of the range of n readings |
//! | d2* | the same mean as g ranges taken together estimate it, with degrees of freedom |
//! | A, A2, A3 | limits of a mean from a known deviation, a mean range, a mean deviation |
//! | B3..B6 | limits of a deviation from a mean deviation (3, 4) or a known one (5, 6) |
//! | D1..D4 | limits of a range from a known deviation (1, 2) or a mean range (3, 4) |
//! | E2 | limits of single readings from a mean range |
//!
//! Source of the definitions: ISO 7870-2 and ASTM practice (from memory); integrals as in H. L.
//! Harter, Annals of Mathematical Statistics 31 (1960) 1122 (from memory).

use super::distribution::{log_gamma_rise, mean_of_range, mean_square_of_range};
use super::{Figure, Undefined};

/// The most readings a range is taken of here; in practice ten.
pub const MOST_IN_RANGE: u32 = 1_000;

/// The mean standard deviation of n normal readings, as a share of the true one:
/// `c4 = √(2/(n-1)) Γ(n/2)/Γ((n-1)/2)`. Good to the last digits.
///
/// # Errors
/// [`Undefined::TooFew`] below two.
///
/// ```
/// use overwire_core::stats::constants::c4;
/// assert!((c4(5)? - 0.939_985_602_986_625).abs() < 1e-14);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
pub fn c4(count: u32) -> Figure {
    Undefined::unless_enough("readings", 2, count as usize)?;
    Ok(c4_of_degrees(f64::from(count) - 1.0))
}

/// c4 by the degrees of freedom of the deviation, which pooled ones need not share with a count of readings.
pub(crate) fn c4_of_degrees(degrees_of_freedom: f64) -> f64 {
    let rise = log_gamma_rise(degrees_of_freedom / 2.0, 0.5);
    (2.0 / degrees_of_freedom).sqrt() * rise.exp()
}

/// The mean range of n normal readings, in true standard deviations. Good to 13 digits.
///
/// # Errors
/// [`Undefined`] below two readings or above [`MOST_IN_RANGE`].
pub fn d2(count: u32) -> Figure {
    in_range(count)?;
    Ok(mean_of_range(f64::from(count)))
}

/// The standard deviation of the range of n normal readings, in true standard deviations. Good to 12
/// digits.
///
/// # Errors
/// As [`d2`].
pub fn d3(count: u32) -> Figure {
    let mean = d2(count)?;
    Ok((mean_square_of_range(count) - mean * mean).sqrt())
}

fn in_range(count: u32) -> Result<(), Undefined> {
    Undefined::unless_enough("readings", 2, count as usize)?;
    match count > MOST_IN_RANGE {
        true => Err(Undefined::TooMany {
            of: "readings in a range",
            most: MOST_IN_RANGE as usize,
            found: count as usize,
        }),
        false => Ok(()),
    }
}

/// The factors for n readings in a subgroup.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(
    missing_docs,
    reason = "the letters of the trade; the table above says what they are"
)]
pub struct Constants {
    /// The number of readings, n.
    pub count: u32,
    pub c4: f64,
    pub d2: f64,
    pub d3: f64,
    pub a: f64,
    pub a2: f64,
    pub a3: f64,
    pub b3: f64,
    pub b4: f64,
    pub b5: f64,
    pub b6: f64,
    pub d1_limit: f64,
    pub d2_limit: f64,
    pub d3_limit: f64,
    pub d4_limit: f64,
    pub e2: f64,
}

impl Constants {
    /// The factors for n readings; lower limits below zero are zero.
    ///
    /// # Errors
    /// As [`d2`].
    ///
    /// ```
    /// use overwire_core::stats::constants::Constants;
    /// let five = Constants::of(5)?;
    /// assert!((five.a2 - 0.5768).abs() < 1e-4 && (five.d4_limit - 2.1145).abs() < 1e-4);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(count: u32) -> Result<Constants, Undefined> {
        let (c4, d2, d3) = (c4(count)?, d2(count)?, d3(count)?);
        let root = f64::from(count).sqrt();
        let deviation = 3.0 * (1.0 - c4 * c4).sqrt();
        let not_below = |limit: f64| limit.max(0.0);
        Ok(Constants {
            count,
            c4,
            d2,
            d3,
            a: 3.0 / root,
            a2: 3.0 / (d2 * root),
            a3: 3.0 / (c4 * root),
            b3: not_below(1.0 - deviation / c4),
            b4: 1.0 + deviation / c4,
            b5: not_below(c4 - deviation),
            b6: c4 + deviation,
            d1_limit: not_below(d2 - 3.0 * d3),
            d2_limit: d2 + 3.0 * d3,
            d3_limit: not_below(1.0 - 3.0 * d3 / d2),
            d4_limit: 1.0 + 3.0 * d3 / d2,
            e2: 3.0 / d2,
        })
    }
}

/// What the mean of several ranges is worth as an estimate of the standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanRange {
    /// Readings in each range.
    pub readings: u32,
    /// How many ranges.
    pub ranges: u32,
    /// d2*: the mean range over it has the right mean square.
    pub divisor: f64,
    /// The degrees of freedom that such an estimate is worth.
    pub degrees_of_freedom: f64,
}

impl MeanRange {
    /// For so many ranges of so many readings: `d2* = √(d2² + d3²/g)` and
    /// `n = 1/(-2 + 2√(1 + 2 d3²/(g d2²)))`.
    ///
    /// Source: P. B. Patnaik, Biometrika 37 (1950) 78 (from memory).
    ///
    /// # Errors
    /// As [`d2`], and [`Undefined::TooFew`] without any range.
    pub fn of(readings: u32, ranges: u32) -> Result<MeanRange, Undefined> {
        Undefined::unless_enough("ranges", 1, ranges as usize)?;
        let (mean, deviation) = (d2(readings)?, d3(readings)?);
        let square = deviation * deviation / f64::from(ranges);
        let relative = 2.0 * square / (mean * mean);
        // 2(√(1 + x) - 1), without cancelling.
        let inverse = 2.0 * relative / ((1.0 + relative).sqrt() + 1.0);
        Ok(MeanRange {
            readings,
            ranges,
            divisor: (mean * mean + square).sqrt(),
            degrees_of_freedom: 1.0 / inverse,
        })
    }
}
