//! How methods are compared, and why they may not be.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Whether the readings of different methods belong together in blocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pairing {
    /// One reading of each method in every block.
    #[default]
    Blocks,
    /// The readings of one method have nothing to do with those of another.
    Apart,
}

/// How far a method may read off the baseline and still be called equivalent; chosen beforehand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Margin {
    /// How far, in mm; above zero.
    pub length_mm: f64,
    /// The tolerance of the thread, in mm, if there is one: differences are then also given as its
    /// share.
    pub tolerance_mm: Option<f64>,
}

impl Margin {
    /// A share of a tolerance: 0.10 is common practice, no published source.
    pub const fn share_of(tolerance_mm: f64, share: f64) -> Margin {
        Margin {
            length_mm: tolerance_mm * share,
            tolerance_mm: Some(tolerance_mm),
        }
    }

    /// A length in mm as a share of the tolerance; `None` when none was stated.
    pub fn share(&self, length_mm: f64) -> Option<f64> {
        let tolerance = self.tolerance_mm.filter(|tolerance| *tolerance > 0.0)?;
        Some(length_mm / tolerance)
    }
}

/// How methods are compared.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// Whether readings are paired.
    pub pairing: Pairing,
    /// How far a method may read off the baseline.
    pub margin: Margin,
    /// The significance of every test; intervals cover one minus this.
    pub significance: f64,
    /// Levene's test below this makes spreads count as different.
    pub spread_significance: f64,
    /// The chance of a decision for which further readings are reckoned.
    pub chance: f64,
    /// The display step in mm, if known: no reading is taken to spread less than it accounts for.
    pub step_mm: Option<f64>,
}

impl Settings {
    /// The usual settings: blocks, 0.05 throughout, a chance of 0.90.
    pub const fn usual(margin: Margin) -> Settings {
        Settings {
            pairing: Pairing::Blocks,
            margin,
            significance: 0.05,
            spread_significance: 0.05,
            chance: 0.90,
            step_mm: None,
        }
    }

    pub(super) fn check(&self) -> Result<(), ComparisonError> {
        let probability = |number: f64| number > 0.0 && number < 1.0;
        let checks = [
            ("margin", self.margin.length_mm, self.margin.length_mm > 0.0),
            (
                "tolerance",
                self.margin.tolerance_mm.unwrap_or(1.0),
                self.margin.tolerance_mm.unwrap_or(1.0) > 0.0,
            ),
            (
                "significance",
                self.significance,
                self.significance > 0.0 && self.significance < 0.5,
            ),
            (
                "spread significance",
                self.spread_significance,
                probability(self.spread_significance),
            ),
            ("chance", self.chance, probability(self.chance)),
            (
                "display step",
                self.step_mm.unwrap_or(1.0),
                self.step_mm.unwrap_or(1.0) > 0.0,
            ),
        ];
        match checks
            .into_iter()
            .find(|(_, found, sound)| !sound || !found.is_finite())
        {
            Some((setting, found, _)) => Err(ComparisonError::Setting { setting, found }),
            None => Ok(()),
        }
    }

    /// The least standard deviation of a difference of pairs, and of a reading.
    pub(super) fn least_deviations(&self) -> (f64, f64) {
        let step = self.step_mm.unwrap_or(0.0);
        (step / 6.0_f64.sqrt(), step / 12.0_f64.sqrt())
    }
}

/// Why methods cannot be compared at all.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ComparisonError {
    /// Fewer than two methods.
    #[error("a comparison needs two methods at least, found {found}")]
    TooFewMethods {
        /// How many there are.
        found: usize,
    },
    /// The baseline is not among the methods.
    #[error("method {} was to be the baseline; there are {methods}", .baseline.saturating_add(1))]
    NoBaseline {
        /// Which one was asked for, counted from 0.
        baseline: usize,
        /// How many there are.
        methods: usize,
    },
    /// A reading that is not a number.
    #[error("method {method}: a reading is not a finite number")]
    NotFinite {
        /// Which method.
        method: String,
    },
    /// Paired readings, but not one of each method in every block.
    #[error(
        "paired readings need one of each method in every block; {method} has {found}, {other} {expected}"
    )]
    Unpaired {
        /// Which method.
        method: String,
        /// How many readings it has.
        found: usize,
        /// The method it is held against.
        other: String,
        /// How many that has.
        expected: usize,
    },
    /// A setting outside its range.
    #[error("the {setting} makes no sense: {found}")]
    Setting {
        /// Which one.
        setting: &'static str,
        /// What was given.
        found: f64,
    },
    /// A study of many pieces: agreement over pieces is another question.
    #[error(
        "a comparison of spreads needs one piece, the study has {found}; ask for agreement over pieces"
    )]
    ManyPieces {
        /// How many pieces there are.
        found: usize,
    },
}

impl ComparisonError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            ComparisonError::TooFewMethods { .. } => "too-few-methods",
            ComparisonError::NoBaseline { .. } => "no-baseline",
            ComparisonError::NotFinite { .. } => "not-finite",
            ComparisonError::Unpaired { .. } => "unpaired",
            ComparisonError::Setting { .. } => "setting",
            ComparisonError::ManyPieces { .. } => "many-pieces",
        }
    }
}
