//! What the studies share: ratios of mean squares, estimates with their standard error, words.

use crate::decimal::format_to;
use crate::stats::distribution::{f_beyond, student_beyond, student_factor};
use crate::stats::{Interval, Undefined};
use crate::units::{Length, Unit};

/// One mean square over another, and how often chance alone gives one as large.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FRatio {
    /// The ratio F.
    pub ratio: f64,
    /// Degrees of freedom of the upper one.
    pub upper: f64,
    /// Degrees of freedom of the lower one.
    pub lower: f64,
    /// The probability of a ratio as large or larger if nothing differs.
    pub probability: f64,
}

impl FRatio {
    /// The ratio of two mean squares, each with its degrees of freedom.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when the lower one is nothing, [`Undefined::Senseless`] for a ratio that
    /// is no number or without degrees of freedom.
    pub fn of(upper: (f64, f64), lower: (f64, f64)) -> Result<FRatio, Undefined> {
        if lower.0 <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        FRatio::from_ratio(upper.0 / lower.0, upper.1, lower.1)
    }

    pub(crate) fn from_ratio(ratio: f64, upper: f64, lower: f64) -> Result<FRatio, Undefined> {
        if !ratio.is_finite() {
            return Err(Undefined::Senseless {
                what: "a ratio of mean squares",
                found: ratio,
            });
        }
        let probability = f_beyond(ratio, upper, lower).ok_or(no_freedom(upper.min(lower)))?;
        Ok(FRatio {
            ratio,
            upper,
            lower,
            probability,
        })
    }
}

/// An estimate with its standard error: interval, t and probability come of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The estimate.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

impl Estimate {
    /// The interval that covers the true value with this confidence (0.95 for 95 %).
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for a confidence that is none, or degrees of freedom below a half.
    pub fn interval(&self, confidence: f64) -> Result<Interval, Undefined> {
        let factor = student_factor(confidence, self.degrees_of_freedom);
        let factor = factor.ok_or(no_confidence(confidence))?;
        let reach = factor * self.standard_error;
        Ok(Interval::about(self.value, reach, confidence))
    }

    /// How many standard errors the estimate lies above a number.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when the standard error is nothing.
    pub fn t_against(&self, number: f64) -> Result<f64, Undefined> {
        match self.standard_error > 0.0 {
            true => Ok((self.value - number) / self.standard_error),
            false => Err(Undefined::NoSpread),
        }
    }

    /// The probability of an estimate as far from a number, on either side, if that were the truth.
    ///
    /// # Errors
    /// As [`Estimate::t_against`].
    pub fn probability_against(&self, number: f64) -> Result<f64, Undefined> {
        let t = self.t_against(number)?;
        let beyond = student_beyond(t.abs(), self.degrees_of_freedom);
        beyond
            .map(|beyond| 2.0 * beyond)
            .ok_or(no_freedom(self.degrees_of_freedom))
    }
}

pub(crate) const fn no_confidence(found: f64) -> Undefined {
    Undefined::Senseless {
        what: "a confidence",
        found,
    }
}

pub(crate) const fn no_freedom(found: f64) -> Undefined {
    Undefined::Senseless {
        what: "the degrees of freedom",
        found,
    }
}

/// Whether all of an interval lies strictly within ± this.
pub(crate) fn is_within(interval: &Interval, margin: f64) -> bool {
    interval.low > -margin && interval.high < margin
}

/// Whether all of an interval lies strictly beyond ± this, on one side.
pub(crate) fn is_beyond(interval: &Interval, margin: f64) -> bool {
    interval.low > margin || interval.high < -margin
}

/// A length in mm as text in a unit.
pub(crate) fn length(mm: f64, unit: Unit, places: u8) -> String {
    Length::computed(mm).to_text(unit, places)
}

/// A difference in mm as text in a unit, with its sign.
pub(crate) fn signed(mm: f64, unit: Unit, places: u8) -> String {
    let text = length(mm, unit, places);
    let nothing = !text.bytes().any(|byte| (b'1'..=b'9').contains(&byte));
    match text.starts_with('-') || nothing {
        true => text,
        false => format!("+{text}"),
    }
}

/// By how much something reads higher or lower than something else, in words.
pub(crate) fn reads_against(mm: f64, other: &str, unit: Unit, places: u8) -> String {
    let text = signed(mm, unit, places);
    match (text.strip_prefix('+'), text.strip_prefix('-')) {
        (Some(size), _) => format!("reads {size} higher than {other}"),
        (_, Some(size)) => format!("reads {size} lower than {other}"),
        _ => format!("reads the same as {other}"),
    }
}

/// A share in per cent: no places from ten on, one below, two below one.
pub(crate) fn percent(share: f64) -> String {
    let percent = share * 100.0;
    let places = match percent.abs() {
        size if size >= 10.0 => 0,
        size if size >= 1.0 => 1,
        _ => 2,
    };
    format!("{} %", format_to(percent, places))
}

/// A number with no more places than it has, three at most.
pub(crate) fn shortest(number: f64) -> String {
    let text = format_to(number, 3);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// A probability for a person: how small it is, down to one in ten thousand.
pub(crate) fn probability(number: f64) -> String {
    match number {
        small if small < 0.0001 => "below 0.0001".to_owned(),
        small if small < 0.01 => format_to(small, 4),
        other => format_to(other, 2),
    }
}
