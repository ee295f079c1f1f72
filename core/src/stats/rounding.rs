//! Rounding of what is reported.
//!
//! Rounded once, from the value that was not rounded before, on its decimal digits.

use super::Undefined;
use crate::decimal::{Decimal, DecimalError, MOST_PLACES};

/// What becomes of a value exactly between two steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ties {
    /// To the even one. ASTM E29; ISO 80000-1, annex B, rule A (from memory).
    #[default]
    Even,
    /// To the larger in size. ISO 80000-1, annex B, rule B (from memory).
    Away,
}

impl Ties {
    /// What a report prints about it.
    pub const fn words(self) -> &'static str {
        match self {
            Ties::Even => "rounded to nearest, ties to even (ASTM E29)",
            Ties::Away => "rounded to nearest, ties away from zero (ISO 80000-1, rule B)",
        }
    }
}

/// Why a value cannot be rounded.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RoundingError {
    /// A step that is not above zero.
    #[error("expected a step above 0, found {found}")]
    Step {
        /// What was given.
        found: Decimal,
    },
    /// The result has more digits than a decimal.
    #[error(transparent)]
    Decimal(#[from] DecimalError),
}

impl RoundingError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            RoundingError::Step { .. } => "step",
            RoundingError::Decimal(error) => error.code(),
        }
    }
}

/// A decimal in units of its last place when it has [`MOST_PLACES`].
fn finest(decimal: Decimal) -> i128 {
    let missing = MOST_PLACES.saturating_sub(decimal.places());
    i128::from(decimal.steps()) * 10_i128.pow(missing.into())
}

/// A value rounded to whole steps; it has as many places as the step.
///
/// # Errors
/// [`RoundingError`] for a step not above zero, or more digits than a decimal has.
///
/// ```
/// use overwire_core::decimal::Decimal;
/// use overwire_core::stats::rounding::{Ties, round_to};
/// let (value, step) = (Decimal::parse("0.46745")?, Decimal::parse("0.0001")?);
/// assert_eq!(round_to(value, step, Ties::Even)?.to_string(), "0.4674");
/// assert_eq!(round_to(value, step, Ties::Away)?.to_string(), "0.4675");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn round_to(value: Decimal, step: Decimal, ties: Ties) -> Result<Decimal, RoundingError> {
    let width = finest(step);
    if width <= 0 {
        return Err(RoundingError::Step { found: step });
    }
    let size = finest(value).abs();
    let (whole, twice_rest) = (size / width, 2 * (size % width));
    let up = match twice_rest.cmp(&width) {
        std::cmp::Ordering::Less => false,
        std::cmp::Ordering::Greater => true,
        std::cmp::Ordering::Equal => ties == Ties::Away || whole % 2 == 1,
    };
    let steps = (whole + i128::from(up)) * i128::from(step.steps()) * finest(value).signum();
    let steps = i64::try_from(steps).unwrap_or(i64::MAX);
    Ok(Decimal::from_steps(steps, step.places())?)
}

/// Which value is held against the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Comparison {
    /// The value itself: the absolute method of ASTM E29. For threads.
    #[default]
    Absolute,
    /// The value rounded to the last place of the limits: the rounding method of ASTM E29.
    Rounded(Ties),
}

impl Comparison {
    /// What a report prints about it.
    pub fn words(self) -> String {
        match self {
            Comparison::Absolute => {
                "held against the limits unrounded (absolute method, ASTM E29)".to_owned()
            }
            Comparison::Rounded(ties) => format!(
                "held against the limits after rounding to their last place (rounding method, ASTM \
                 E29; {})",
                ties.words()
            ),
        }
    }
}

/// Where a value lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Below the lower limit.
    Under,
    /// Between the limits or on one.
    Within,
    /// Above the upper limit.
    Over,
}

/// Holds a value against two limits whose last place is `step`; exact on the decimal digits.
///
/// # Errors
/// As [`round_to`].
pub fn place(
    value: Decimal,
    limits: (Decimal, Decimal),
    step: Decimal,
    comparison: Comparison,
) -> Result<Place, RoundingError> {
    let held = match comparison {
        Comparison::Absolute => value,
        Comparison::Rounded(ties) => round_to(value, step, ties)?,
    };
    Ok(if finest(held) < finest(limits.0) {
        Place::Under
    } else if finest(held) > finest(limits.1) {
        Place::Over
    } else {
        Place::Within
    })
}

/// How many places to report of a mean and its standard deviation: down to the second digit of the
/// deviation that counts, but at most one place more than the readings have. Common practice, no source.
///
/// # Errors
/// [`Undefined::NoSpread`] for a deviation of zero; [`Undefined::Senseless`] for one below zero or that is
/// no number.
///
/// ```
/// use overwire_core::stats::rounding::places_to_report;
/// assert_eq!(places_to_report(0.000_108, 5)?, 5);
/// assert_eq!(places_to_report(0.000_108, 3)?, 4);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
pub fn places_to_report(standard_deviation: f64, reading_places: u8) -> Result<u8, Undefined> {
    if standard_deviation.is_nan() || standard_deviation.is_infinite() || standard_deviation < 0.0 {
        return Err(Undefined::Senseless {
            what: "a standard deviation",
            found: standard_deviation,
        });
    }
    if standard_deviation <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let second_digit = 1.0 - standard_deviation.log10().floor();
    let most = reading_places.saturating_add(1).min(MOST_PLACES);
    let fits = |&places: &u8| f64::from(places) <= second_digit;
    Ok((0..=most).rev().find(fits).unwrap_or(0))
}
