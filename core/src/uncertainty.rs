//! How well a pitch diameter is known.
//!
//! [`Sensitivities`] say how much each quantity moves it, [`Budget`] puts the contributions
//! together by the rules of JCGM 100 (GUM), and [`Uncertainty`] is what comes of it: the input
//! of a decision rule ([`crate::acceptance`]) and the reason for how many digits are shown.

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

    /// Decimal places of a result that this uncertainty supports in a unit: those down to the first
    /// digit of the expanded uncertainty that counts, or one more when that digit is 1 or 2.
    ///
    /// Common practice after JCGM 100, 7.2.6 (at most two digits of an uncertainty); from memory.
    /// `None` when the uncertainty is nothing: then it sets no bound.
    pub fn places(&self, unit: Unit) -> Option<u8> {
        let expanded = self.expanded().in_unit(unit);
        if expanded <= 0.0 {
            return None;
        }
        if expanded >= 1.0 {
            return Some(0);
        }
        let first = -expanded.log10().floor();
        let leading = expanded * 10_f64.powf(first);
        let places = match leading < 3.0 {
            true => first + 1.0,
            false => first,
        };
        // At most eight places: finer is noise on any instrument.
        (0..=MOST_PLACES)
            .rev()
            .find(|&most| f64::from(most) <= places)
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit) -> String {
        let places = self.places(unit).unwrap_or(4).saturating_add(1);
        let places = places.min(MOST_PLACES);
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
            self.expanded().to_text(unit, places),
            format_to(self.factor, 2)
        )
    }
}
