//! What a piece may be.

use crate::stats::Undefined;

/// What a piece may be, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    lower: Option<f64>,
    upper: Option<f64>,
    target: Option<f64>,
}

impl Tolerance {
    /// From one limit or two. With two the target is the middle.
    ///
    /// # Errors
    /// [`Undefined`] without a limit, for one that is no number, or a lower one not below the upper.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Tolerance, Undefined> {
        let senseless = |what, found| Err(Undefined::Senseless { what, found });
        if let Some(found) = [lower, upper]
            .into_iter()
            .flatten()
            .find(|limit| !limit.is_finite())
        {
            return senseless("a limit", found);
        }
        match (lower, upper) {
            (None, None) => Err(Undefined::TooFew {
                of: "limits",
                needed: 1,
                found: 0,
            }),
            (Some(lower), Some(upper)) if lower >= upper => {
                senseless("a lower limit above or on the upper one", lower)
            }
            (lower, upper) => Ok(Tolerance {
                lower,
                upper,
                target: lower
                    .zip(upper)
                    .map(|(lower, upper)| lower + (upper - lower) / 2.0),
            }),
        }
    }

    /// The same with another target.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for one that is no number.
    pub fn with_target(self, target: f64) -> Result<Tolerance, Undefined> {
        match target.is_finite() {
            true => Ok(Tolerance {
                target: Some(target),
                ..self
            }),
            false => Err(Undefined::Senseless {
                what: "the target",
                found: target,
            }),
        }
    }

    /// The lower limit.
    pub const fn lower(&self) -> Option<f64> {
        self.lower
    }

    /// The upper limit.
    pub const fn upper(&self) -> Option<f64> {
        self.upper
    }

    /// What is aimed at.
    pub const fn target(&self) -> Option<f64> {
        self.target
    }

    /// Upper minus lower limit.
    pub fn width(&self) -> Option<f64> {
        self.lower
            .zip(self.upper)
            .map(|(lower, upper)| upper - lower)
    }
}
