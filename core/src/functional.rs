//! What measured errors of pitch and angle amount to, as a change of diameter.
//!
//! Over wires one groove is felt on each side. A nut feels the whole length: errors of pitch and of
//! the flank angles make an external thread assemble as if it were larger. Its *functional*
//! (virtual) diameter is the pitch diameter plus an equivalent for each, never less.
//!
//! # Pitch
//!
//! A thread whose grooves are anywhere up to `dp` out of place along the length of engagement takes
//! up that much axial room. A diameter smaller by `dE` gives both flanks together
//! `(dE/2)(tan a1 + tan a2)`, so `dE = 2 |dp| / (tan a1 + tan a2)`; `|dp| cot a` for equal flanks.
//!
//! # Angle
//!
//! A flank wrong by `da` that turns about the middle of its radial depth h in engagement stands out
//! axially by `(h/2) |tan da| / cos² a` at one end. Both flanks together take
//!
//! ```text
//!   dE = h Σ ( |tan da_i| / cos² a_i ) / (tan a1 + tan a2)
//! ```
//!
//! which is `(h / sin 2a)(|tan da1| + |tan da2|)` for equal flanks, and the `1.5 P tan da` of H28 with
//! `h = 0.6495 P`. Sources: H28 and the NPL's notes on screw gauges, from memory.
//!
//! The sum is a bound: single errors may partly hide each other, never add more.

use thiserror::Error;

use crate::thread::Geometry;
use crate::units::{Angle, Length, Unit};

/// The largest error of a flank angle accepted, in degrees: beyond it the formula means nothing.
pub const LARGEST_ANGLE_ERROR_DEGREES: f64 = 10.0;

/// Measured errors of a thread. Signs do not matter.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FormErrors {
    /// The largest axial error between any two grooves within the length of engagement.
    pub pitch: Option<Length>,
    /// Errors of the leading and trailing flank angles.
    pub flanks: Option<FlankErrors>,
}

/// Measured errors of the flank angles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlankErrors {
    /// Of the leading flank.
    pub leading: Angle,
    /// Of the trailing flank.
    pub trailing: Angle,
    /// Radial depth over which the straight flanks engage.
    pub depth: Length,
}

/// Why no equivalent can be given.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum FunctionalError {
    /// The angle error is too large.
    #[error(
        "a flank angle error of {degrees:.2} degrees is not an error but another thread; at most \
         {LARGEST_ANGLE_ERROR_DEGREES} degrees is accepted"
    )]
    AngleError {
        /// What was given.
        degrees: f64,
    },
    /// The depth is not above zero.
    #[error("the depth of the flanks must be above 0, found {depth_mm} mm")]
    Depth {
        /// What was given.
        depth_mm: f64,
    },
    /// The pitch error is half a pitch or more.
    #[error("a pitch error of {error_mm} mm is not an error on a pitch of {pitch_mm} mm")]
    PitchError {
        /// What was given.
        error_mm: f64,
        /// The pitch.
        pitch_mm: f64,
    },
}

impl FunctionalError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            FunctionalError::AngleError { .. } => "angle-error",
            FunctionalError::Depth { .. } => "flank-depth",
            FunctionalError::PitchError { .. } => "pitch-error",
        }
    }
}

/// What errors of form add to the diameter a nut feels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equivalent {
    /// By the pitch error; `None` when it was not measured.
    pub pitch: Option<Length>,
    /// By the flank angle errors; `None` when they were not measured.
    pub flanks: Option<Length>,
}

impl Equivalent {
    /// Both together.
    pub fn total(&self) -> Length {
        self.pitch.unwrap_or(Length::ZERO) + self.flanks.unwrap_or(Length::ZERO)
    }

    /// The functional diameter of a thread of this pitch diameter.
    pub fn functional_diameter(&self, pitch_diameter: Length) -> Length {
        pitch_diameter + self.total()
    }

    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "functional_equivalent"
    }

    /// One or two sentences for a person.
    pub fn sentence(&self, pitch_diameter: Length, unit: Unit, places: u8) -> String {
        let text = |length: Length| length.to_text(unit, places);
        let part = |what: &str, amount: Option<Length>| match amount {
            Some(amount) => format!("{what} {}", text(amount)),
            None => format!("{what} not measured"),
        };
        format!(
            "Functional diameter {}: {} over wires, and for {}, for {}. A go gauge still has the \
             last word.",
            text(self.functional_diameter(pitch_diameter)),
            text(pitch_diameter),
            part("the pitch error", self.pitch),
            part("the flank angles", self.flanks)
        )
    }
}

/// The diameter these errors are worth on this thread.
///
/// # Errors
/// [`FunctionalError`] when an error is too large to be one.
///
/// ```
/// use overwire_core::functional::{FormErrors, equivalent};
/// use overwire_core::{thread::designation, units::*};
/// let thread = designation::parse("M10x1.5-6g")?;
/// let errors = FormErrors { pitch: Some(Length::from_mm(0.010)?), flanks: None };
/// let found = equivalent(&thread.geometry, &errors)?;
/// assert_eq!(found.total().to_text(Unit::Millimetre, 4), "0.0173 mm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn equivalent(geometry: &Geometry, errors: &FormErrors) -> Result<Equivalent, FunctionalError> {
    Ok(Equivalent {
        pitch: errors
            .pitch
            .map(|error| by_pitch(geometry, error))
            .transpose()?,
        flanks: errors
            .flanks
            .map(|flanks| by_flanks(geometry, &flanks))
            .transpose()?,
    })
}

fn slopes(geometry: &Geometry) -> f64 {
    geometry.flanks.leading.tan() + geometry.flanks.trailing.tan()
}

fn by_pitch(geometry: &Geometry, error: Length) -> Result<Length, FunctionalError> {
    let pitch = geometry.pitch.length();
    if error.abs() >= pitch * 0.5 {
        return Err(FunctionalError::PitchError {
            error_mm: error.mm(),
            pitch_mm: pitch.mm(),
        });
    }
    Ok(error.abs() * (2.0 / slopes(geometry)))
}

fn by_flanks(geometry: &Geometry, errors: &FlankErrors) -> Result<Length, FunctionalError> {
    if errors.depth <= Length::ZERO {
        return Err(FunctionalError::Depth {
            depth_mm: errors.depth.mm(),
        });
    }
    let mut sum = 0.0;
    for (flank, error) in [
        (geometry.flanks.leading, errors.leading),
        (geometry.flanks.trailing, errors.trailing),
    ] {
        if error.degrees().abs() > LARGEST_ANGLE_ERROR_DEGREES {
            return Err(FunctionalError::AngleError {
                degrees: error.degrees(),
            });
        }
        sum += error.tan().abs() / (flank.cos() * flank.cos());
    }
    Ok(errors.depth * (sum / slopes(geometry)))
}
