//! The decision rules by name.

use thiserror::Error;

use super::one_sided;
use crate::uncertainty::Uncertainty;
use crate::units::Length;

/// The guard band of ISO 14253-1 for 95 % on one side, in standard uncertainties (from memory).
pub const ISO_14253_FACTOR: f64 = 1.65;

/// How wide a guard band is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Guard {
    /// No guard band.
    None,
    /// So many standard uncertainties.
    StandardTimes(f64),
    /// So many expanded uncertainties, `g = r U`.
    ExpandedTimes(f64),
    /// As wide as a stated risk of accepting a bad thread, or of rejecting a good one, calls for.
    ConsumersRisk(f64),
}

/// By which rule a result is decided.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum DecisionRule {
    /// The limits themselves.
    #[default]
    Simple,
    /// The limits themselves, provided the tolerance is so many times twice the expanded uncertainty.
    SimpleWithRatio {
        /// The ratio, such as 4 for 4:1.
        ratio: f64,
    },
    /// Guard bands inside and outside the limits.
    Guarded {
        /// How far the acceptance limits lie inside.
        accept: Guard,
        /// How far the rejection limits lie outside.
        reject: Guard,
    },
}

/// Why a rule was refused.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum RuleError {
    /// A ratio that is not at least 1.
    #[error("expected a ratio of 1 to 100, found {found}")]
    Ratio {
        /// What was given.
        found: f64,
    },
    /// A factor that is not above zero.
    #[error("expected a guard factor above 0 and at most 10, found {found}")]
    Factor {
        /// What was given.
        found: f64,
    },
    /// A risk that is not a small probability.
    #[error("expected a risk above 0 and below 0.5, found {found}")]
    Risk {
        /// What was given.
        found: f64,
    },
}

impl RuleError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            RuleError::Ratio { .. } => "ratio",
            RuleError::Factor { .. } => "factor",
            RuleError::Risk { .. } => "risk",
        }
    }
}

impl Guard {
    fn check(self) -> Result<Guard, RuleError> {
        match self {
            Guard::StandardTimes(found) | Guard::ExpandedTimes(found)
                if !(found > 0.0 && found <= 10.0) =>
            {
                Err(RuleError::Factor { found })
            }
            Guard::ConsumersRisk(found) if !(found > 0.0 && found < 0.5) => {
                Err(RuleError::Risk { found })
            }
            sound => Ok(sound),
        }
    }

    /// How wide it is beside one limit.
    pub fn width(&self, uncertainty: &Uncertainty) -> Length {
        match *self {
            Guard::None => Length::ZERO,
            Guard::StandardTimes(factor) => uncertainty.standard * factor,
            Guard::ExpandedTimes(factor) => uncertainty.expanded() * factor,
            Guard::ConsumersRisk(risk) => uncertainty.standard * one_sided(1.0 - risk),
        }
    }
}

impl DecisionRule {
    /// The default of ISO 14253-1: 95 % on one side, for acceptance and for rejection.
    pub const fn iso_14253() -> DecisionRule {
        DecisionRule::Guarded {
            accept: Guard::StandardTimes(ISO_14253_FACTOR),
            reject: Guard::StandardTimes(ISO_14253_FACTOR),
        }
    }

    /// Simple acceptance at a ratio N:1.
    ///
    /// # Errors
    /// [`RuleError::Ratio`] unless 1 to 100.
    pub fn simple_with_ratio(ratio: f64) -> Result<DecisionRule, RuleError> {
        DecisionRule::SimpleWithRatio { ratio }.checked()
    }

    /// Guard bands of your own: `accept` inside the limits, `reject` outside. With
    /// [`Guard::None`] for `reject` only acceptance must be proved, for `accept` only rejection.
    ///
    /// # Errors
    /// [`RuleError`] when a factor or risk makes no sense.
    pub fn guarded(accept: Guard, reject: Guard) -> Result<DecisionRule, RuleError> {
        DecisionRule::Guarded { accept, reject }.checked()
    }

    /// The rule itself, when its numbers make sense.
    ///
    /// # Errors
    /// [`RuleError`] when a ratio, factor or risk does not.
    pub fn checked(self) -> Result<DecisionRule, RuleError> {
        match self {
            DecisionRule::SimpleWithRatio { ratio } if !(1.0..=100.0).contains(&ratio) => {
                Err(RuleError::Ratio { found: ratio })
            }
            DecisionRule::Guarded { accept, reject } => Ok(DecisionRule::Guarded {
                accept: accept.check()?,
                reject: reject.check()?,
            }),
            sound => Ok(sound),
        }
    }

    pub(super) fn acceptance_guard(&self, uncertainty: &Uncertainty) -> Length {
        match self {
            DecisionRule::Guarded { accept, .. } => accept.width(uncertainty),
            _ => Length::ZERO,
        }
    }

    pub(super) fn rejection_guard(&self, uncertainty: &Uncertainty) -> Length {
        match self {
            DecisionRule::Guarded { reject, .. } => reject.width(uncertainty),
            _ => Length::ZERO,
        }
    }
}
