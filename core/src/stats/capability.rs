//! Capability: how the spread of the process compares with the tolerance.
//!
//! | index | is |
//! | --- | --- |
//! | Cp, Pp | the tolerance over six sigma |
//! | Cpk, Ppk | the way from the mean to the nearer limit over three sigma |
//! | Cpm | the tolerance over six times the root mean square distance from the target |
//!
//! The Cs go with the sigma from piece to piece (within), the Ps with that of all readings (overall). With one
//! limit only there is no Cp. Every index has its interval: chi-squared for Cp and Pp, noncentral t for one
//! limit and the overall sigma, otherwise Bissell's approximation. For readings that are not normal see
//! [`PercentileIndices`].
//!
//! An index is refused with its reasons, and plain figures shown in its place, below [`FEWEST_PIECES`] pieces, when the
//! chart shows more signals than chance gives, when the readings do not spread, and for repeat readings of one piece. Below [`FIRM_PIECES`]
//! it is provisional: the interval says more than the index.
//!
//! Source: ISO 22514-2; Bissell, Applied Statistics 39 (1990); Kane, Journal of Quality Technology 18 (1986);
//! from memory. The bounds of ten and thirty pieces are common practice.

mod caution;
mod claim;
mod evidence;
mod fit;
mod index;
mod percentile;
mod steadiness;
mod tolerance;
mod words;

pub use caution::Caution;
pub use claim::{ToleranceFactors, index_factors, index_needed};
pub use evidence::{Evidence, ReadingsOf};
pub use fit::{Fitted, Shape};
pub use index::{
    Index, Indices, IntervalMethod, bissell, chi_squared_interval, one_sided_interval,
};
pub use percentile::{FEWEST_FOR_EMPIRICAL, PercentileIndices};
pub use steadiness::Steadiness;
pub use tolerance::Tolerance;

use serde::{Deserialize, Serialize};

use super::distribution::normal_beyond;
use super::limits::{Sigma, SigmaBasis};
use super::{Figure, Moments, Undefined};
use caution::cautions;

/// Below so many pieces an index is refused.
pub const FEWEST_PIECES: usize = 10;

/// Below so many pieces an index is provisional.
pub const FIRM_PIECES: usize = 30;

/// A gauge whose sigma is more than this share of the spread blurs the index. Common practice, no source.
pub const MOST_GAUGE_SHARE: f64 = 0.3;

/// Conventions of the intervals; printed with the figures.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct CapabilitySettings {
    /// The confidence of the intervals.
    pub confidence: f64,
    /// How the interval of a single limit's index is worked out from the overall sigma.
    pub one_limit: IntervalMethod,
}

impl Default for CapabilitySettings {
    fn default() -> CapabilitySettings {
        CapabilitySettings {
            confidence: 0.95,
            one_limit: IntervalMethod::NoncentralStudent,
        }
    }
}

/// Why an index is refused.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Refusal {
    /// Too few pieces.
    TooFewPieces {
        /// How many there are.
        found: usize,
    },
    /// The sigma from piece to piece comes from too few of them.
    FewBehindSigma {
        /// From how many.
        found: usize,
    },
    /// Nobody looked at a chart, and the pieces spread more overall than from one to the next, by more than chance
    /// gives.
    Wanders {
        /// The overall sigma over that from piece to piece.
        ratio: f64,
    },
    /// The chart shows signals.
    NotSteady {
        /// How many points complete a pattern.
        hits: usize,
    },
    /// Readings of one piece.
    OnePiece,
    /// The readings do not spread, or cannot be worked with.
    Undefined(Undefined),
}

/// Figures that stand when the index does not.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// Why; all reasons.
    pub reasons: Vec<Refusal>,
    /// How many readings.
    pub count: usize,
    /// The smallest and the largest.
    pub extremes: (f64, f64),
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub deviation: Figure,
    /// The tolerance.
    pub tolerance: Tolerance,
}

/// Capability, with what has to be known about it.
///
/// ```
/// use overwire_core::stats::capability::{Capability, CapabilitySettings, Evidence, Tolerance};
/// use overwire_core::stats::individuals::{self, Individuals, IndividualsSettings};
/// use overwire_core::stats::run_rules::RunRules;
/// use overwire_core::stats::series::Series;
///
/// let readings = (0..40).map(|piece| 9.7 + 0.002 * f64::from(piece * 7 % 11 - 5));
/// let series = Series::from_readings(readings.collect())?;
/// let sums = individuals::sums(&series);
/// let chart = Individuals::from_sums(&sums, IndividualsSettings::default())?;
/// let signals = chart.signals(&series, RunRules::usual());
/// let evidence = Evidence::of_individuals(&chart, &sums, &signals)?;
///
/// let tolerance = Tolerance::new(Some(9.67), Some(9.73))?;
/// let capability = Capability::of(&evidence, &tolerance, CapabilitySettings::default());
/// let capability = capability.map_err(|refused| refused.sentence())?;
/// assert!(capability.overall.least.value > 1.4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Capability {
    /// How many readings.
    pub count: usize,
    /// Their mean.
    pub mean: f64,
    /// The smallest and the largest.
    pub extremes: (f64, f64),
    /// The tolerance.
    pub tolerance: Tolerance,
    /// The Cs; `None` without a sigma from piece to piece.
    pub within: Option<Indices>,
    /// The Ps.
    pub overall: Indices,
    /// Cpm, from the overall sigma; with a target and two limits only.
    pub about_target: Figure,
    /// The share of pieces to be expected below and above the limits if the readings are normal.
    pub expected_outside: (f64, f64),
    /// What has to be known about it.
    pub cautions: Vec<Caution>,
    /// The conventions.
    pub settings: CapabilitySettings,
}

impl Capability {
    /// Works the indices out, or says why they are refused.
    ///
    /// # Errors
    /// [`Refused`], with every reason and the plain figures.
    pub fn of(
        evidence: &Evidence,
        tolerance: &Tolerance,
        settings: CapabilitySettings,
    ) -> Result<Capability, Box<Refused>> {
        let reasons = reasons(evidence);
        let refuse = |reasons| Box::new(Refused::with(reasons, evidence, tolerance));
        if !reasons.is_empty() {
            return Err(refuse(reasons));
        }
        Capability::worked_out(evidence, tolerance, settings)
            .map_err(|reason| refuse(vec![Refusal::Undefined(reason)]))
    }

    fn worked_out(
        evidence: &Evidence,
        tolerance: &Tolerance,
        settings: CapabilitySettings,
    ) -> Result<Capability, Undefined> {
        let moments = &evidence.moments;
        let sigma = overall(moments)?;
        let indices = |sigma| Indices::of(moments.mean, sigma, tolerance, &settings);
        Ok(Capability {
            count: moments.count,
            mean: moments.mean,
            extremes: evidence.extremes,
            tolerance: *tolerance,
            within: evidence.within.map(indices).transpose()?,
            overall: indices(sigma)?,
            about_target: about_target(moments.mean, sigma.sigma, tolerance),
            expected_outside: expected_outside(moments.mean, sigma.sigma, tolerance),
            cautions: cautions(evidence, tolerance, sigma.sigma),
            settings,
        })
    }
}

/// The sigma of all readings together.
///
/// # Errors
/// [`Undefined`] with fewer than two readings or without spread.
pub fn overall(moments: &Moments) -> Result<Sigma, Undefined> {
    Sigma {
        sigma: moments.standard_deviation()?,
        basis: SigmaBasis::Overall,
        degrees_of_freedom: moments.degrees_of_freedom() as f64,
        count: moments.count,
    }
    .above_zero()
}

fn reasons(evidence: &Evidence) -> Vec<Refusal> {
    let found = evidence.moments.count;
    let mut reasons = Vec::new();
    if evidence.readings_of == ReadingsOf::OnePiece {
        reasons.push(Refusal::OnePiece);
    }
    if found < FEWEST_PIECES {
        reasons.push(Refusal::TooFewPieces { found });
    }
    if let Some(Sigma { count, .. }) = evidence.within
        && count < FEWEST_PIECES.min(found)
    {
        reasons.push(Refusal::FewBehindSigma { found: count });
    }
    match evidence.steadiness {
        Steadiness::NotSteady { hits } => reasons.push(Refusal::NotSteady { hits }),
        Steadiness::Unknown => reasons.extend(wanders(evidence)),
        Steadiness::Steady { .. } => {}
    }
    reasons
}

/// By how much the overall sigma of steady pieces may exceed that from their mean moving range: the logarithm of their
/// ratio, times the root of how many pieces. Of steady pieces at most one job in a hundred has more (for 10 to 1000
/// of them, 20,000 simulated jobs each with numpy 2.4.6).
const WANDERS_FROM: f64 = 1.6;

/// Whether the sums alone speak against steadiness.
fn wanders(evidence: &Evidence) -> Option<Refusal> {
    let within = evidence.within?;
    let overall = evidence.moments.standard_deviation().ok()?;
    let ratio = overall / within.sigma;
    let most = WANDERS_FROM / (evidence.moments.count as f64).sqrt();
    (within.basis == SigmaBasis::MeanMovingRange && ratio.ln() > most)
        .then_some(Refusal::Wanders { ratio })
}

impl Refused {
    fn with(reasons: Vec<Refusal>, evidence: &Evidence, tolerance: &Tolerance) -> Refused {
        Refused {
            reasons,
            count: evidence.moments.count,
            extremes: evidence.extremes,
            mean: evidence.moments.mean,
            deviation: evidence.moments.standard_deviation(),
            tolerance: *tolerance,
        }
    }
}

/// Cpm: `(U - L)/(6 sqrt(s² + (m - T)²))`.
fn about_target(mean: f64, sigma: f64, tolerance: &Tolerance) -> Figure {
    let sides = tolerance.width().zip(tolerance.target());
    let (width, target) = sides.ok_or(Undefined::TooFew {
        of: "limits",
        needed: 2,
        found: 1,
    })?;
    Ok(width / (6.0 * sigma.hypot(mean - target)))
}

/// Shares below and above the limits, for normal readings.
pub(crate) fn expected_outside(mean: f64, sigma: f64, tolerance: &Tolerance) -> (f64, f64) {
    let beyond = |way: Option<f64>| way.map_or(0.0, |way| normal_beyond(way / sigma));
    (
        beyond(tolerance.lower().map(|lower| mean - lower)),
        beyond(tolerance.upper().map(|upper| upper - mean)),
    )
}
