//! What a rule risks over all threads of a process, and what it leaves to cut.

use thiserror::Error;

use super::Acceptance;
use crate::stats::distribution::{normal_beyond, normal_density, normal_probability};
use crate::stats::integral::between;
use crate::units::Length;

/// A process that spreads less than this, in millimetres, does not: no instrument could tell.
const LEAST_SPREAD_MM: f64 = 1e-9;

/// Beyond so many standard deviations nothing is left to count.
const FAR: f64 = 12.0;

/// How the true sizes of a process lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Process {
    /// Their mean.
    pub mean: Length,
    /// Their standard deviation, without that of the measurement.
    pub standard_deviation: Length,
}

/// The risks of a rule, as shares of all threads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Risks {
    /// Threads that are out and pass.
    pub consumer: f64,
    /// Threads that are in and do not pass.
    pub producer: f64,
}

/// Why risks cannot be told.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum RiskError {
    /// The rule was laid out without an uncertainty.
    #[error("risks need the uncertainty of the pitch diameter, and none is given")]
    UncertaintyMissing,
    /// A process that does not spread.
    #[error("expected a spread of the process of {LEAST_SPREAD_MM} mm at least, found {found_mm}")]
    ProcessSpread {
        /// What was given, in millimetres.
        found_mm: f64,
    },
}

impl RiskError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            RiskError::UncertaintyMissing => "uncertainty-missing",
            RiskError::ProcessSpread { .. } => "process-spread",
        }
    }
}

/// What can still come off, on diameter; below zero when it is gone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftToAccept {
    /// To the upper acceptance limit: the least that must come off.
    pub to_upper: Length,
    /// To the middle between the acceptance limits.
    pub to_middle: Length,
    /// To the lower acceptance limit: the most that may come off.
    pub to_lower: Length,
}

impl Acceptance {
    /// The risks over all threads of a normal process measured with a normal uncertainty: out and passed,
    /// in and not passed. Good to 10 places.
    ///
    /// Source: JCGM 106, global risks, equations 17 to 20 (from memory).
    ///
    /// # Errors
    /// [`RiskError`] without an uncertainty, or for a process that does not spread.
    ///
    /// ```
    /// use overwire_core::acceptance::{Acceptance, DecisionRule, Process};
    /// use overwire_core::thread::Limits;
    /// use overwire_core::uncertainty::{Coverage, Uncertainty};
    /// use overwire_core::units::Length;
    /// let mm = Length::from_mm;
    /// let limits = Limits::checked(mm(9.0)?, mm(11.0)?)?;
    /// let known = Uncertainty::stated(mm(0.1)?, Coverage::Factor(2.0))?;
    /// let acceptance = Acceptance::new(limits, DecisionRule::Simple, Some(known))?;
    /// let process = Process { mean: mm(10.0)?, standard_deviation: mm(0.4)? };
    /// let risks = acceptance.global_risks(&process)?;
    /// assert!((risks.consumer - 0.002_445).abs() < 1e-6);
    /// assert!((risks.producer - 0.005_319).abs() < 1e-6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn global_risks(&self, process: &Process) -> Result<Risks, RiskError> {
        let known = self.uncertainty.ok_or(RiskError::UncertaintyMissing)?;
        let spread = process.standard_deviation.mm();
        if spread < LEAST_SPREAD_MM {
            return Err(RiskError::ProcessSpread { found_mm: spread });
        }
        // In standard deviations of the process, from its mean.
        let scaled = |size: Length| (size - process.mean).mm() / spread;
        let low = scaled(self.limits.pitch_diameter_min);
        let high = scaled(self.limits.pitch_diameter_max);
        let Some(bounds) = self.acceptance else {
            return Ok(Risks {
                consumer: 0.0,
                producer: normal_probability(high) - normal_probability(low),
            });
        };
        let passing = Passing {
            low: scaled(bounds.lower),
            high: scaled(bounds.upper),
            uncertainty: known.standard.mm() / spread,
        };
        Ok(Risks {
            consumer: passing.consumer(low, high),
            producer: passing.producer(low, high),
        })
    }

    /// What is left to come off before a result passes, and before it no longer does; `None` when nothing
    /// can pass.
    pub fn left_to_accept(&self, pitch_diameter: Length) -> Option<LeftToAccept> {
        let bounds = self.acceptance?;
        Some(LeftToAccept {
            to_upper: pitch_diameter - bounds.upper,
            to_middle: pitch_diameter - (bounds.lower + bounds.upper) * 0.5,
            to_lower: pitch_diameter - bounds.lower,
        })
    }
}

/// The acceptance limits and the uncertainty, in standard deviations of the process.
struct Passing {
    low: f64,
    high: f64,
    uncertainty: f64,
}

impl Passing {
    /// The probability that a thread of a true size does not pass.
    fn refused(&self, size: f64) -> f64 {
        if self.uncertainty <= 0.0 {
            return if size < self.low || size > self.high {
                1.0
            } else {
                0.0
            };
        }
        let over = normal_beyond((self.high - size) / self.uncertainty);
        over + normal_probability((self.low - size) / self.uncertainty)
    }

    /// The probability that it passes, from the nearer tails.
    fn accepted(&self, size: f64) -> f64 {
        if self.uncertainty <= 0.0 {
            return 1.0 - self.refused(size);
        }
        let (low, high) = (self.low - size, self.high - size);
        let (low, high) = (low / self.uncertainty, high / self.uncertainty);
        match low > 0.0 {
            true => normal_beyond(low) - normal_beyond(high),
            false => normal_probability(high) - normal_probability(low),
        }
    }

    /// Out on either side, and passed: no farther out than the uncertainty reaches.
    fn consumer(&self, low: f64, high: f64) -> f64 {
        let reach = FAR * self.uncertainty;
        let passed = |size: f64| normal_density(size) * self.accepted(size);
        let above = piecewise(&[high, (self.high + reach).min(FAR)], passed);
        let below = piecewise(&[(self.low - reach).max(-FAR), low], passed);
        above + below
    }

    /// In, and not passed.
    fn producer(&self, low: f64, high: f64) -> f64 {
        let reach = FAR * self.uncertainty;
        let mut places = [
            low,
            self.low,
            self.low + reach,
            self.high - reach,
            self.high,
            high,
        ]
        .map(|place| place.clamp(low.clamp(-FAR, FAR), high.clamp(-FAR, FAR)));
        places.sort_by(f64::total_cmp);
        piecewise(&places, |size| normal_density(size) * self.refused(size))
    }
}

/// Where the bell of a process has its middle and its feet: over a long way from its mean the nodes of an integral would
/// lie too far apart to see it.
const BELL: [f64; 3] = [-8.0, 0.0, 8.0];

/// The integral over all pieces between places that rise.
fn piecewise(places: &[f64], function: impl Fn(f64) -> f64) -> f64 {
    let (Some(first), Some(last)) = (places.first(), places.last()) else {
        return 0.0;
    };
    let within = BELL
        .iter()
        .filter(|place| *first < **place && **place < *last);
    let mut places: Vec<f64> = places.iter().chain(within).copied().collect();
    places.sort_by(f64::total_cmp);
    let pieces = places.windows(2).map(|pair| match pair {
        [low, high] if low < high => between(*low, *high, &function),
        _ => 0.0,
    });
    pieces.sum()
}

/// By how much of the expanded uncertainty (95 %) to draw the acceptance limits in so that no more than 2 % of
/// all threads are out and pass, whatever the process: `1.04 - exp(0.38 ln R - 0.54)` for a tolerance of R
/// times twice the expanded uncertainty, never below zero. `None` for a ratio not above zero.
///
/// Source: ANSI/NCSL Z540.3 handbook, method 6 (from memory).
///
/// ```
/// use overwire_core::acceptance::two_percent_guard;
/// let factor = two_percent_guard(2.0).expect("a factor");
/// assert!((factor - 0.281_645).abs() < 1e-6);
/// assert_eq!(two_percent_guard(5.0), Some(0.0));
/// ```
pub fn two_percent_guard(ratio: f64) -> Option<f64> {
    (ratio > 0.0).then(|| (1.04 - (0.38 * ratio.ln() - 0.54).exp()).max(0.0))
}
