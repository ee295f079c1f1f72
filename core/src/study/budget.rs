//! What a study hands to the uncertainty budget.

use super::figure::Estimate;
use super::spread::Deviation;
use crate::uncertainty::{Contribution, Source, Spread};

/// How well a reading repeats.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeatability {
    /// The standard deviation of one reading, in mm.
    pub deviation_mm: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

impl Repeatability {
    /// The line of the budget, for a result that is the mean of so many readings (one at least).
    ///
    /// ```
    /// use overwire_core::study::Repeatability;
    /// let repeats = Repeatability { deviation_mm: 0.002, degrees_of_freedom: 9.0 };
    /// let (standard, degrees) = repeats.contribution(4).spread.standard();
    /// assert_eq!((standard, degrees), (0.001, 9.0));
    /// ```
    pub fn contribution(&self, averaged: u32) -> Contribution {
        Contribution {
            source: Source::Repeatability,
            spread: Spread::Standard {
                standard: self.deviation_mm / f64::from(averaged.max(1)).sqrt(),
                degrees_of_freedom: self.degrees_of_freedom,
            },
            sensitivity: 1.0,
        }
    }
}

impl From<Deviation> for Repeatability {
    fn from(deviation: Deviation) -> Repeatability {
        Repeatability {
            deviation_mm: deviation.deviation,
            degrees_of_freedom: deviation.degrees_of_freedom,
        }
    }
}

/// By how much a method reads too high, in mm, and how well that is known. Whoever takes it off every
/// reading adds its standard error to the budget.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bias {
    /// By how much it reads too high.
    pub value_mm: f64,
    /// The standard error of that.
    pub standard_mm: f64,
    /// The degrees of freedom of the standard error.
    pub degrees_of_freedom: f64,
}

impl Bias {
    /// The line of the budget when the bias is taken off every reading.
    pub fn contribution(&self, method: &str) -> Contribution {
        Contribution {
            source: Source::Other(format!("bias of {method}, as found")),
            spread: Spread::Standard {
                standard: self.standard_mm,
                degrees_of_freedom: self.degrees_of_freedom,
            },
            sensitivity: 1.0,
        }
    }
}

impl From<Estimate> for Bias {
    fn from(estimate: Estimate) -> Bias {
        Bias {
            value_mm: estimate.value,
            standard_mm: estimate.standard_error,
            degrees_of_freedom: estimate.degrees_of_freedom,
        }
    }
}
