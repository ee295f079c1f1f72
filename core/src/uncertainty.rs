//! How well a pitch diameter is known.
//!
//! [`Sensitivities`] say how much each quantity moves it, [`Budget`] puts the contributions
//! together by the rules of JCGM 100 (GUM), and [`Uncertainty`] is what comes of it: the input
//! of a decision rule ([`crate::acceptance`]). [`Shown`] says with which digits it is shown.

mod budget;
mod sensitivity;

pub use budget::{Budget, BudgetError, Contribution, Coverage, Row, Source, Spread};
pub use sensitivity::{Sensitivities, TemperatureSensitivities, force_sensitivity};

pub use crate::stats::distribution::{
    normal_probability, normal_quantile, student_factor, student_probability_within,
};

use crate::decimal::{MOST_PLACES, format_to};
use crate::units::{Length, Unit};

/// The uncertainty of a pitch diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Uncertainty {
    /// The combined standard uncertainty.
    pub standard: Length,
    /// Its effective degrees of freedom; infinite when nothing in it comes from readings.
    pub degrees_of_freedom: f64,
    /// How the expanded uncertainty is stated.
    pub coverage: Coverage,
    /// The coverage factor.
    pub factor: f64,
}

impl Uncertainty {
    /// An uncertainty that was stated outright.
    ///
    /// # Errors
    /// [`BudgetError`] when it is negative, or the coverage makes no sense.
    ///
    /// ```
    /// use overwire_core::uncertainty::{Coverage, Uncertainty};
    /// use overwire_core::units::Length;
    /// let stated = Uncertainty::stated(Length::from_mm(0.0027)?, Coverage::Factor(2.0))?;
    /// assert_eq!(stated.expanded().mm(), 0.0054);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn stated(standard: Length, coverage: Coverage) -> Result<Uncertainty, BudgetError> {
        if standard < Length::ZERO {
            return Err(BudgetError::Spread {
                source_words: "stated uncertainty".to_owned(),
            });
        }
        Ok(Uncertainty {
            standard,
            degrees_of_freedom: f64::INFINITY,
            coverage,
            factor: budget::coverage_factor(coverage, f64::INFINITY)?,
        })
    }

    /// The expanded uncertainty, `U = k u`.
    pub fn expanded(&self) -> Length {
        self.standard * self.factor
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit) -> String {
        let covers = match self.coverage {
            Coverage::Probability(probability) => {
                format!(", for {} %", format_to(probability * 100.0, 2))
            }
            Coverage::Factor(_) => String::new(),
        };
        let degrees = match self.degrees_of_freedom.is_finite() {
            true => format!(
                ", {} degrees of freedom",
                format_to(self.degrees_of_freedom, 0)
            ),
            false => String::new(),
        };
        format!(
            "Uncertainty of the pitch diameter: {} expanded (k = {}{covers}{degrees}).",
            Shown::of(self.expanded(), unit, MOST_PLACES),
            format_to(self.factor, 2)
        )
    }
}

/// An uncertainty as it is shown: a number in a unit, with two significant digits.
///
/// Where the display it stands beside is so coarse that they do not fit it is rounded up instead: an uncertainty that
/// is not nothing is never shown as nothing. Source: JCGM 100 (GUM), 7.2.6 (at most two significant digits; it may be
/// right to round up rather than to the nearest; clause from memory).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// The number, rounded.
    pub number: f64,
    /// Its decimal places.
    pub places: u8,
    unit: Unit,
}

impl Shown {
    /// Of a length that is known to that, with at most so many decimal places.
    ///
    /// ```
    /// use overwire_core::uncertainty::Shown;
    /// use overwire_core::units::{Length, Unit};
    /// let shown = |mm, most| Shown::of(Length::from_mm(mm).unwrap(), Unit::Millimetre, most).to_string();
    /// assert_eq!(shown(0.00734, 4), "0.0073 mm");
    /// assert_eq!(shown(0.000_31, 3), "0.001 mm");
    /// ```
    pub fn of(known_to: Length, unit: Unit, most: u8) -> Shown {
        let number = known_to.in_unit(unit);
        let most = most.min(MOST_PLACES);
        let two_digits = (0..=most).find(|&places| number * power_of_ten(places) >= 9.95);
        let (places, round): (u8, fn(f64) -> f64) = match two_digits {
            Some(places) => (places, f64::round),
            None if number <= 0.0 => (most, f64::round),
            // Less than a thousandth of a step above it is noise of the arithmetic.
            None => (most, |steps| (steps - 1e-3).ceil().max(1.0)),
        };
        Shown {
            number: round(number * power_of_ten(places)) / power_of_ten(places),
            places,
            unit,
        }
    }

    /// The number without its unit.
    pub fn digits(&self) -> String {
        format_to(self.number, self.places)
    }
}

impl std::fmt::Display for Shown {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{} {}", self.digits(), self.unit)
    }
}

fn power_of_ten(places: u8) -> f64 {
    10_f64.powi(places.into())
}
