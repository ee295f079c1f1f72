//! Decision rules: what a measured pitch diameter and its uncertainty prove.
//!
//! The rule is a value, with a name and a sentence for every record. It sets two pairs of limits
//! about the limits of the thread: inside the *acceptance limits* the thread passes, outside the
//! *rejection limits* it fails, and what lies between cannot be decided.
//!
//! ```text
//!        fail under │ undecided under │ ........ pass ........ │ undecided over │ fail over
//!   ────────────────┼────────╂────────┼────────────────────────┼────────╂───────┼──────────▶ d2
//!               rejection  minimum  acceptance          acceptance  maximum  rejection
//! ```
//!
//! # The rules
//!
//! * Simple: the limits themselves. A reading on a limit is as likely right as wrong.
//! * Simple with a ratio N:1 (ASME B89.7.3.1, from memory): the same, provided the tolerance is at least
//!   N times `2 U`; when it is not, the decision says so.
//! * Guarded: the acceptance limits lie a guard band inside, the rejection limits one outside. With
//!   `g = 1.65 u` this is ISO 14253-1's default of 95 % probability on one side (from memory); with
//!   `g = r U` the form of JCGM 106; or from a stated consumer's risk. Either guard can be left off: only
//!   acceptance guarded, or only rejection guarded.
//!
//! A guard band that eats the whole zone leaves no acceptance limits: then nothing can pass, and the
//! decision says that the uncertainty is too large for the rule.
//!
//! Results are compared unrounded, as in [`crate::judge`].

use thiserror::Error;

use crate::bisection::rising_zero;
use crate::judge::FLOAT_NOISE;
use crate::thread::Limits;
use crate::uncertainty::{Uncertainty, normal_probability, normal_quantile};
use crate::units::Length;

mod risk;
mod rule;
mod words;

pub use risk::{LeftToAccept, Process, RiskError, Risks, two_percent_guard};
pub use rule::{DecisionRule, Guard, ISO_14253_FACTOR, RuleError};

/// What is decided about a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// Inside the acceptance limits.
    Pass,
    /// Too close to the maximum to decide.
    UndecidedOver,
    /// Too close to the minimum to decide.
    UndecidedUnder,
    /// Over the maximum.
    FailOver,
    /// Under the minimum.
    FailUnder,
}

/// Something a person should know about a decision.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Remark {
    /// The tolerance is too small for the ratio the rule asks for.
    RatioNotReached {
        /// Tolerance over twice the expanded uncertainty.
        found: f64,
        /// What the rule asks for.
        wanted: f64,
    },
    /// The guard bands meet: no result can pass.
    NothingCanPass {
        /// The guard band on each side.
        guard: Length,
        /// Maximum minus minimum.
        tolerance: Length,
    },
}

/// What a result proves by a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decision {
    /// The outcome.
    pub outcome: Outcome,
    /// The probability that the true size lies within the limits; `None` without an uncertainty.
    pub conformance_probability: Option<f64>,
    /// What a person should know.
    pub remark: Option<Remark>,
}

/// Two limits that belong together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// The smaller.
    pub lower: Length,
    /// The larger.
    pub upper: Length,
}

/// A rule laid over the limits of a thread, ready to decide.
///
/// ```
/// use overwire_core::acceptance::{Acceptance, DecisionRule, Outcome};
/// use overwire_core::uncertainty::{Coverage, Uncertainty};
/// use overwire_core::{thread::designation, units::Length};
/// let limits = designation::parse("1/2-13 UNC-2A")?.limits.expect("limits");
/// let uncertainty = Uncertainty::stated(Length::from_mm(0.0027)?, Coverage::Factor(2.0))?;
/// let rule = DecisionRule::iso_14253();
/// let acceptance = Acceptance::new(limits, rule, Some(uncertainty))?;
/// assert_eq!(acceptance.decide(limits.middle()).outcome, Outcome::Pass);
/// assert_eq!(acceptance.decide(limits.pitch_diameter_max).outcome, Outcome::UndecidedOver);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acceptance {
    limits: Limits,
    rule: DecisionRule,
    uncertainty: Option<Uncertainty>,
    acceptance: Option<Bounds>,
    rejection: Bounds,
    remark: Option<Remark>,
}

/// Why a rule cannot be applied.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum AcceptanceError {
    /// The rule needs an uncertainty and none is known.
    #[error(
        "the decision rule `{rule}` needs the uncertainty of the pitch diameter, and none is given"
    )]
    UncertaintyMissing {
        /// The rule's name.
        rule: &'static str,
    },
    /// The rule itself makes no sense.
    #[error(transparent)]
    Rule(#[from] RuleError),
}

impl AcceptanceError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            AcceptanceError::UncertaintyMissing { .. } => "uncertainty-missing",
            AcceptanceError::Rule(error) => error.code(),
        }
    }
}

impl Acceptance {
    /// Lays a rule over limits.
    ///
    /// # Errors
    /// [`AcceptanceError`] for any rule but the simple one without an uncertainty, and for a
    /// rule whose numbers make no sense.
    pub fn new(
        limits: Limits,
        rule: DecisionRule,
        uncertainty: Option<Uncertainty>,
    ) -> Result<Acceptance, AcceptanceError> {
        let rule = rule.checked()?;
        if uncertainty.is_none() && rule != DecisionRule::Simple {
            return Err(AcceptanceError::UncertaintyMissing { rule: rule.code() });
        }
        let acceptance = acceptance_bounds(&limits, &rule, uncertainty.as_ref());
        let outward = uncertainty.map_or(Length::ZERO, |known| rule.rejection_guard(&known));
        let remark = remark(&limits, &rule, uncertainty.as_ref(), acceptance.is_none());
        Ok(Acceptance {
            limits,
            rule,
            uncertainty,
            acceptance,
            rejection: Bounds {
                lower: limits.pitch_diameter_min - outward,
                upper: limits.pitch_diameter_max + outward,
            },
            remark,
        })
    }

    /// What a measured pitch diameter proves.
    pub fn decide(&self, pitch_diameter: Length) -> Decision {
        Decision {
            outcome: self.outcome(pitch_diameter),
            conformance_probability: self
                .uncertainty
                .map(|known| conformance_probability(pitch_diameter, &self.limits, known.standard)),
            remark: self.remark,
        }
    }

    fn outcome(&self, pitch_diameter: Length) -> Outcome {
        let passes = |bounds: &Bounds| {
            pitch_diameter >= bounds.lower - FLOAT_NOISE
                && pitch_diameter <= bounds.upper + FLOAT_NOISE
        };
        if self.acceptance.as_ref().is_some_and(passes) {
            Outcome::Pass
        } else if pitch_diameter < self.rejection.lower - FLOAT_NOISE {
            Outcome::FailUnder
        } else if pitch_diameter > self.rejection.upper + FLOAT_NOISE {
            Outcome::FailOver
        } else if pitch_diameter < self.limits.middle() {
            Outcome::UndecidedUnder
        } else {
            Outcome::UndecidedOver
        }
    }

    /// The limits of the thread.
    pub const fn limits(&self) -> &Limits {
        &self.limits
    }

    /// The rule.
    pub const fn rule(&self) -> &DecisionRule {
        &self.rule
    }

    /// The uncertainty the rule was laid out with.
    pub const fn uncertainty(&self) -> Option<&Uncertainty> {
        self.uncertainty.as_ref()
    }

    /// Inside these, both included, a result passes; `None` when the guard bands eat the whole zone.
    pub const fn acceptance_limits(&self) -> Option<Bounds> {
        self.acceptance
    }

    /// Outside these a result fails.
    pub const fn rejection_limits(&self) -> Bounds {
        self.rejection
    }

    /// What a person should know about every decision by this rule here.
    pub const fn remark(&self) -> Option<Remark> {
        self.remark
    }
}

/// The limits moved inward by the rule's guard, unless they pass each other.
fn acceptance_bounds(
    limits: &Limits,
    rule: &DecisionRule,
    uncertainty: Option<&Uncertainty>,
) -> Option<Bounds> {
    let inward = match (rule, uncertainty) {
        (
            DecisionRule::Guarded {
                accept: Guard::ConsumersRisk(risk),
                ..
            },
            Some(known),
        ) => guard_for_risk(limits, known.standard, *risk)?,
        (_, Some(known)) => rule.acceptance_guard(known),
        (_, None) => Length::ZERO,
    };
    let bounds = Bounds {
        lower: limits.pitch_diameter_min + inward,
        upper: limits.pitch_diameter_max - inward,
    };
    (bounds.lower <= bounds.upper).then_some(bounds)
}

/// The guard band at whose end the probability of lying outside *either* limit is the risk.
/// With an uncertainty small against the tolerance it is the normal quantile times u.
fn guard_for_risk(limits: &Limits, standard: Length, risk: f64) -> Option<Length> {
    if standard <= Length::ZERO {
        return Some(Length::ZERO);
    }
    let wanted = 1.0 - risk;
    let half = limits.tolerance().mm() / 2.0;
    let at = |guard: f64| {
        let there = limits.pitch_diameter_max - Length::computed(guard);
        conformance_probability(there, limits, standard) - wanted
    };
    if at(0.0) >= 0.0 {
        return Some(Length::ZERO);
    }
    rising_zero(0.0, half, |guard| Some(at(guard))).map(Length::computed)
}

fn remark(
    limits: &Limits,
    rule: &DecisionRule,
    uncertainty: Option<&Uncertainty>,
    nothing_passes: bool,
) -> Option<Remark> {
    let known = uncertainty?;
    let tolerance = limits.tolerance();
    if nothing_passes {
        let guard = rule.acceptance_guard(known);
        return Some(Remark::NothingCanPass { guard, tolerance });
    }
    let DecisionRule::SimpleWithRatio { ratio } = *rule else {
        return None;
    };
    let found = capability_ratio(limits, known)?;
    (found < ratio * (1.0 - 1e-9)).then_some(Remark::RatioNotReached {
        found,
        wanted: ratio,
    })
}

/// The tolerance over twice the expanded uncertainty; `None` when there is no uncertainty.
pub fn capability_ratio(limits: &Limits, uncertainty: &Uncertainty) -> Option<f64> {
    let width = 2.0 * uncertainty.expanded().mm();
    (width > 0.0).then(|| limits.tolerance().mm() / width)
}

/// The probability that the true size lies within the limits, for a normal spread about the
/// result: `Φ((max - y)/u) - Φ((min - y)/u)` (JCGM 106, from memory). Without any
/// uncertainty it is 1 within the limits and 0 outside.
///
/// ```
/// use overwire_core::acceptance::conformance_probability;
/// use overwire_core::thread::Limits;
/// use overwire_core::units::Length;
/// let inch = |number| Length::from_inches(number);
/// let limits = Limits::checked(inch(0.4485)?, inch(0.4522)?)?;
/// let on_the_limit = conformance_probability(inch(0.4522)?, &limits, inch(0.0002)?);
/// assert!((on_the_limit - 0.5).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn conformance_probability(result: Length, limits: &Limits, standard: Length) -> f64 {
    let above = (limits.pitch_diameter_max - result).mm();
    let below = (limits.pitch_diameter_min - result).mm();
    if standard <= Length::ZERO {
        let inside = above >= -FLOAT_NOISE.mm() && below <= FLOAT_NOISE.mm();
        return if inside { 1.0 } else { 0.0 };
    }
    let (above, below) = (above / standard.mm(), below / standard.mm());
    // Taken from the nearer tails, so that nothing is lost far outside.
    match below > 0.0 {
        true => normal_probability(-below) - normal_probability(-above),
        false => normal_probability(above) - normal_probability(below),
    }
}

/// The deviate for a one-sided probability; used by the guards.
pub(super) fn one_sided(probability: f64) -> f64 {
    normal_quantile(probability).map_or(0.0, |deviate| deviate.max(0.0))
}
