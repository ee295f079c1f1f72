//! A set of readings.
//!
//! A display shows whole steps. As counts of steps readings keep what they are: equality, ties, the
//! smallest and the largest, the median and what lies on a limit are exact, and sums do not round.

use std::borrow::Cow;

use super::Undefined;
use crate::decimal::MOST_DIGITS;
use crate::units::Length;

/// Counts beyond this are on no display (and above it a double no longer holds every whole number).
const MOST_STEPS: i64 = 10_i64.pow(MOST_DIGITS as u32);

/// Numbers beyond this are no readings; their fourth powers could not be summed.
const LARGEST: f64 = 1e60;

/// Readings in the order in which they were taken.
///
/// Figures of counts come out in millimetres, those of plain numbers in the unit of the numbers.
///
/// ```
/// use overwire_core::stats::Readings;
/// use overwire_core::units::Length;
/// let step = Length::from_mm(0.001)?;
/// let readings = Readings::of_steps(&[12_003, 12_001, 12_004], step)?;
/// assert_eq!(readings.len(), 3);
/// assert!(Readings::of_numbers(&[1.0, f64::NAN]).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Readings<'a> {
    shown: Shown<'a>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Shown<'a> {
    Steps { counts: &'a [i64], step: Length },
    Numbers(&'a [f64]),
}

impl<'a> Readings<'a> {
    /// Readings as counts of display steps.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for a step not above zero, [`Undefined::NotAReading`] for a count
    /// of more than fifteen digits.
    pub fn of_steps(counts: &'a [i64], step: Length) -> Result<Readings<'a>, Undefined> {
        if step <= Length::ZERO {
            return Err(Undefined::Senseless {
                what: "the display step",
                found: step.mm(),
            });
        }
        let on_display = |count: &i64| count.unsigned_abs() <= MOST_STEPS.unsigned_abs();
        match counts.iter().position(|count| !on_display(count)) {
            Some(at) => Err(Undefined::NotAReading { at }),
            None => Ok(Readings {
                shown: Shown::Steps { counts, step },
            }),
        }
    }

    /// Readings as plain numbers, all in one unit.
    ///
    /// # Errors
    /// [`Undefined::NotAReading`] for a number that is not finite, or beyond any measure (1e60).
    pub fn of_numbers(numbers: &'a [f64]) -> Result<Readings<'a>, Undefined> {
        match numbers
            .iter()
            .position(|number| number.is_nan() || number.abs() > LARGEST)
        {
            Some(at) => Err(Undefined::NotAReading { at }),
            None => Ok(Readings {
                shown: Shown::Numbers(numbers),
            }),
        }
    }

    pub(super) const fn shown(&self) -> Shown<'a> {
        self.shown
    }

    /// How many there are.
    pub const fn len(&self) -> usize {
        match self.shown {
            Shown::Steps { counts, .. } => counts.len(),
            Shown::Numbers(numbers) => numbers.len(),
        }
    }

    /// Whether there are none.
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The display step in the unit of the figures; `None` for plain numbers.
    pub const fn step(&self) -> Option<f64> {
        match self.shown {
            Shown::Steps { step, .. } => Some(step.mm()),
            Shown::Numbers(_) => None,
        }
    }

    /// One of them, in the unit of the figures.
    pub fn get(&self, index: usize) -> Option<f64> {
        match self.shown {
            Shown::Steps { counts, step } => {
                counts.get(index).map(|&count| count as f64 * step.mm())
            }
            Shown::Numbers(numbers) => numbers.get(index).copied(),
        }
    }

    /// The readings as numbers in which they are exact: whole numbers for counts.
    pub(super) fn exact(&self) -> Cow<'a, [f64]> {
        match self.shown {
            Shown::Steps { counts, .. } => counts.iter().map(|&count| count as f64).collect(),
            Shown::Numbers(numbers) => Cow::Borrowed(numbers),
        }
    }

    /// What one of the numbers of [`Readings::exact`] is worth in the unit of the figures.
    pub(super) const fn worth(&self) -> f64 {
        match self.shown {
            Shown::Steps { step, .. } => step.mm(),
            Shown::Numbers(_) => 1.0,
        }
    }
}
