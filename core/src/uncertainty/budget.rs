//! The budget: what contributes, and what comes of it.
//!
//! Each contribution is a standard uncertainty u(x) times the sensitivity c of the pitch
//! diameter; `u² = Σ (c u)²`. The effective degrees of freedom follow from Welch and Satterthwaite,
//! `n = u⁴ / Σ ((c u)⁴ / n_i)`, the coverage factor from Student's t at that n, not rounded, and
//! the expanded uncertainty is `U = k u`.
//! Source: JCGM 100 (GUM), 4.3, 5.1, G.4 (clauses from memory).

use thiserror::Error;

use super::{Uncertainty, student_factor};
use crate::units::Length;

/// What contributes.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Source {
    /// The micrometer's error of indication.
    Micrometer,
    /// The zero.
    Zero,
    /// The step of the display.
    Display,
    /// The diameter of all three wires together, as from one certificate.
    WiresTogether,
    /// One wire by itself: 0 the lone one, 1 and 2 the pair.
    Wire(u8),
    /// The pitch from groove to groove.
    Pitch,
    /// The angle of the leading flank.
    LeadingFlank,
    /// The angle of the trailing flank.
    TrailingFlank,
    /// Both flank angles together.
    BothFlanks,
    /// The measuring force.
    Force,
    /// The part's temperature.
    PartTemperature,
    /// The wires' temperature.
    WireTemperature,
    /// The micrometer's temperature.
    MicrometerTemperature,
    /// Readings repeated with the wires taken out and put back.
    Repeatability,
    /// Form of the thread: taper, out of round.
    Form,
    /// Anything else, in the user's words.
    Other(String),
}

impl Source {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Source::Micrometer => "micrometer",
            Source::Zero => "zero",
            Source::Display => "display",
            Source::WiresTogether => "wires_together",
            Source::Wire(_) => "wire",
            Source::Pitch => "pitch",
            Source::LeadingFlank => "leading_flank",
            Source::TrailingFlank => "trailing_flank",
            Source::BothFlanks => "both_flanks",
            Source::Force => "force",
            Source::PartTemperature => "part_temperature",
            Source::WireTemperature => "wire_temperature",
            Source::MicrometerTemperature => "micrometer_temperature",
            Source::Repeatability => "repeatability",
            Source::Form => "form",
            Source::Other(_) => "other",
        }
    }

    /// What a person reads.
    pub fn words(&self) -> String {
        let words = match self {
            Source::Micrometer => "micrometer",
            Source::Zero => "zero",
            Source::Display => "display step",
            Source::WiresTogether => "wires, all three",
            Source::Wire(0) => "lone wire",
            Source::Wire(_) => "one wire of the pair",
            Source::Pitch => "pitch, groove to groove",
            Source::LeadingFlank => "leading flank angle",
            Source::TrailingFlank => "trailing flank angle",
            Source::BothFlanks => "half-angle, both flanks",
            Source::Force => "measuring force",
            Source::PartTemperature => "temperature of the part",
            Source::WireTemperature => "temperature of the wires",
            Source::MicrometerTemperature => "temperature of the micrometer",
            Source::Repeatability => "repeatability",
            Source::Form => "form of the thread",
            Source::Other(words) => words,
        };
        words.to_owned()
    }
}

/// How a quantity is known, in its own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Anywhere within ± this, all equally likely: divided by √3.
    Rectangular {
        /// Half the width.
        half_width: f64,
    },
    /// Within ± this, the middle most likely: divided by √6.
    Triangular {
        /// Half the width.
        half_width: f64,
    },
    /// An expanded uncertainty from a certificate, divided by its factor k.
    Expanded {
        /// The expanded uncertainty.
        expanded: f64,
        /// Its coverage factor.
        factor: f64,
    },
    /// A standard uncertainty.
    Standard {
        /// The standard uncertainty.
        standard: f64,
        /// Its degrees of freedom; infinite when it is taken as known.
        degrees_of_freedom: f64,
    },
    /// From repeated readings: the mean of `averaged`, whose deviation was found from `readings`.
    Repeated {
        /// The standard deviation of one reading.
        deviation: f64,
        /// The number of readings it was found from; at least two.
        readings: u32,
        /// The number of readings averaged into the result; at least one.
        averaged: u32,
    },
}

impl Spread {
    /// The standard uncertainty, and its degrees of freedom (infinite when it is taken as known).
    pub fn standard(&self) -> (f64, f64) {
        match *self {
            Spread::Rectangular { half_width } => (half_width / 3.0_f64.sqrt(), f64::INFINITY),
            Spread::Triangular { half_width } => (half_width / 6.0_f64.sqrt(), f64::INFINITY),
            Spread::Expanded { expanded, factor } => (expanded / factor, f64::INFINITY),
            Spread::Standard {
                standard,
                degrees_of_freedom,
            } => (standard, degrees_of_freedom),
            Spread::Repeated {
                deviation,
                readings,
                averaged,
            } => (
                deviation / f64::from(averaged).sqrt(),
                f64::from(readings) - 1.0,
            ),
        }
    }

    /// What a person reads.
    pub const fn words(&self) -> &'static str {
        match self {
            Spread::Rectangular { .. } => "rectangular, divided by √3",
            Spread::Triangular { .. } => "triangular, divided by √6",
            Spread::Expanded { .. } => "normal, divided by k",
            Spread::Standard { .. } => "standard uncertainty",
            Spread::Repeated { .. } => "type A, from readings as displayed",
        }
    }

    fn is_sound(&self) -> bool {
        let (standard, degrees) = self.standard();
        standard.is_finite() && standard >= 0.0 && degrees >= 1.0
    }
}

/// One line of a budget as it goes in.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// What contributes.
    pub source: Source,
    /// How it is known, in mm, radian, newton or kelvin.
    pub spread: Spread,
    /// What one unit of it does to the pitch diameter, in mm; see [`super::Sensitivities`].
    pub sensitivity: f64,
}

/// How the expanded uncertainty is to be stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Coverage {
    /// To cover this probability, by Student's t.
    Probability(f64),
    /// With this factor, whatever it covers.
    Factor(f64),
}

impl Default for Coverage {
    /// 95 %.
    fn default() -> Coverage {
        Coverage::Probability(0.95)
    }
}

/// Why no budget could be drawn up.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum BudgetError {
    /// A spread that is negative, not a number, or from fewer than two readings.
    #[error(
        "{source_words}: expected a spread of 0 or more, from at least two readings if repeated"
    )]
    Spread {
        /// Which contribution.
        source_words: String,
    },
    /// A sensitivity that is not a number.
    #[error("{source_words}: the sensitivity is not a finite number")]
    Sensitivity {
        /// Which contribution.
        source_words: String,
    },
    /// A coverage that is neither a probability nor a factor.
    #[error("expected a coverage probability between 0 and 1 or a factor above 0, found {found}")]
    Coverage {
        /// What was given.
        found: f64,
    },
}

impl BudgetError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            BudgetError::Spread { .. } => "spread",
            BudgetError::Sensitivity { .. } => "sensitivity",
            BudgetError::Coverage { .. } => "coverage",
        }
    }
}

/// One line of a budget as it comes out, ready to print.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What contributes.
    pub source: Source,
    /// How it is known.
    pub spread: Spread,
    /// Its standard uncertainty, in its own unit.
    pub standard: f64,
    /// Its degrees of freedom; infinite when not from readings.
    pub degrees_of_freedom: f64,
    /// What one unit of it does to the pitch diameter.
    pub sensitivity: f64,
    /// What it contributes to the pitch diameter: the size of sensitivity times standard.
    pub contribution: Length,
    /// Its share of the combined variance, 0 to 1.
    pub share: f64,
}

/// A budget, drawn up.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// Line by line, in the order given.
    pub rows: Vec<Row>,
    /// What comes of it.
    pub uncertainty: Uncertainty,
}

impl Budget {
    /// Draws up a budget.
    ///
    /// # Errors
    /// [`BudgetError`] names the contribution that makes no sense.
    ///
    /// ```
    /// use overwire_core::uncertainty::{Budget, Contribution, Coverage, Source, Spread};
    /// let line = |source, spread, sensitivity| Contribution { source, spread, sensitivity };
    /// let budget = Budget::new(
    ///     &[
    ///         line(Source::Micrometer, Spread::Rectangular { half_width: 0.002 }, 1.0),
    ///         line(Source::WiresTogether, Spread::Expanded { expanded: 0.0008, factor: 2.0 }, -3.0),
    ///         line(Source::Repeatability, Spread::Repeated { deviation: 0.002, readings: 10, averaged: 3 }, 1.0),
    ///     ],
    ///     Coverage::Probability(0.95),
    /// )?;
    /// assert!((budget.uncertainty.standard.mm() - 0.0020).abs() < 5e-5);
    /// assert!(budget.uncertainty.degrees_of_freedom > 50.0);
    /// # Ok::<(), overwire_core::uncertainty::BudgetError>(())
    /// ```
    pub fn new(contributions: &[Contribution], coverage: Coverage) -> Result<Budget, BudgetError> {
        let mut rows = Vec::with_capacity(contributions.len());
        for contribution in contributions {
            rows.push(row(contribution)?);
        }
        let variance: f64 = rows.iter().map(|row| row.contribution.mm().powi(2)).sum();
        for row in &mut rows {
            row.share = match variance > 0.0 {
                true => row.contribution.mm().powi(2) / variance,
                false => 0.0,
            };
        }
        let degrees_of_freedom = effective_degrees(&rows);
        let factor = coverage_factor(coverage, degrees_of_freedom)?;
        Ok(Budget {
            rows,
            uncertainty: Uncertainty {
                standard: Length::computed(variance.sqrt()),
                degrees_of_freedom,
                coverage,
                factor,
            },
        })
    }
}

fn row(contribution: &Contribution) -> Result<Row, BudgetError> {
    let source_words = || contribution.source.words();
    if !contribution.spread.is_sound() {
        return Err(BudgetError::Spread {
            source_words: source_words(),
        });
    }
    let (standard, degrees_of_freedom) = contribution.spread.standard();
    let size = (contribution.sensitivity * standard).abs();
    let size = Length::from_mm(size).map_err(|_| BudgetError::Sensitivity {
        source_words: source_words(),
    })?;
    Ok(Row {
        source: contribution.source.clone(),
        spread: contribution.spread,
        standard,
        degrees_of_freedom,
        sensitivity: contribution.sensitivity,
        contribution: size,
        share: 0.0,
    })
}

/// Welch and Satterthwaite's rule, in shares of the variance: `1 / Σ share² / n`.
fn effective_degrees(rows: &[Row]) -> f64 {
    let part = |row: &Row| row.share * row.share / row.degrees_of_freedom;
    let sum = rows.iter().map(part).fold(0.0, |sum, part| sum + part);
    match sum > 0.0 {
        true => 1.0 / sum,
        false => f64::INFINITY,
    }
}

/// The factor for a coverage.
pub(super) fn coverage_factor(
    coverage: Coverage,
    degrees_of_freedom: f64,
) -> Result<f64, BudgetError> {
    match coverage {
        Coverage::Probability(probability) => student_factor(probability, degrees_of_freedom)
            .ok_or(BudgetError::Coverage { found: probability }),
        Coverage::Factor(factor) if factor > 0.0 && factor.is_finite() => Ok(factor),
        Coverage::Factor(found) => Err(BudgetError::Coverage { found }),
    }
}
