//! How careful the passes are to be, and where they are to end.

use super::Left;
use crate::units::Length;

/// The share of what is left that one pass may take, unless another is set.
pub const USUAL_SHARE: f64 = 0.6;

/// The size to be reached.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Aim {
    /// Halfway between the limits.
    #[default]
    Middle,
    /// The maximum limit.
    Maximum,
    /// So much above the minimum limit, but never above the maximum.
    AboveMinimum(Length),
}

impl Aim {
    pub(super) fn left_to(self, left: &Left) -> Length {
        match self {
            Aim::Middle => left.to_middle,
            Aim::Maximum => left.to_max,
            Aim::AboveMinimum(guard) => longer(left.to_min - guard, left.to_max),
        }
    }
}

fn longer(one: Length, other: Length) -> Length {
    if one > other { one } else { other }
}

/// How careful to be.
///
/// ```
/// use overwire_core::cutting::{Aim, PassSettings};
/// assert!(PassSettings::checked(0.5, Aim::Middle, None).is_ok());
/// assert_eq!(PassSettings::checked(1.5, Aim::Middle, None).unwrap_err().code(), "share-out-of-range");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassSettings {
    pub(super) share: f64,
    pub(super) aim: Aim,
    pub(super) deepest: Option<Length>,
}

/// Why a setting for passes was refused.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SettingsError {
    /// The share of what is left.
    #[error("the share of what is left that a pass takes must be 0.1 to 0.9, found {found}")]
    ShareOutOfRange {
        /// What was given.
        found: f64,
    },
    /// A depth, an aim or a largest cut that is not above zero.
    #[error("{what} must be above 0, found {found_mm} mm")]
    NotPositive {
        /// What the number stands for.
        what: &'static str,
        /// What was given.
        found_mm: f64,
    },
    /// The depth is so small that the passes have no end.
    #[error("a depth of {depth_mm} mm is too small: it would take more than 10000 passes")]
    TooManyPasses {
        /// The depth that was given.
        depth_mm: f64,
    },
}

impl SettingsError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            SettingsError::ShareOutOfRange { .. } => "share-out-of-range",
            SettingsError::NotPositive { .. } => "not-positive",
            SettingsError::TooManyPasses { .. } => "too-many-passes",
        }
    }
}

pub(super) fn above_zero(what: &'static str, length: Length) -> Result<(), SettingsError> {
    if length > Length::ZERO {
        return Ok(());
    }
    let found_mm = length.mm();
    Err(SettingsError::NotPositive { what, found_mm })
}

impl Default for PassSettings {
    /// [`USUAL_SHARE`], to the middle of the limits, no largest cut.
    fn default() -> PassSettings {
        PassSettings {
            share: USUAL_SHARE,
            aim: Aim::Middle,
            deepest: None,
        }
    }
}

impl PassSettings {
    /// Settings that make sense. `deepest` is the most one pass may take off the diameter.
    ///
    /// # Errors
    /// A share outside 0.1 to 0.9; an aim above the minimum, or a deepest cut, that is not
    /// above zero.
    pub fn checked(
        share: f64,
        aim: Aim,
        deepest: Option<Length>,
    ) -> Result<PassSettings, SettingsError> {
        if !(0.1..=0.9).contains(&share) {
            return Err(SettingsError::ShareOutOfRange { found: share });
        }
        if let Aim::AboveMinimum(guard) = aim {
            above_zero("the aim above the minimum", guard)?;
        }
        if let Some(deepest) = deepest {
            above_zero("the deepest cut", deepest)?;
        }
        Ok(PassSettings {
            share,
            aim,
            deepest,
        })
    }
}
