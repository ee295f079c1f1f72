//! Gauge repeatability and reproducibility: how much of what varies is the measurement?
//!
//! Every operator measures every piece several times, blind and in random order. What varies is taken
//! apart into the pieces themselves, the operators, pieces and operators together (interaction), and
//! repeats: by analysis of variance ([`GaugeStudy`]) or, as by hand, from averages and ranges
//! ([`AverageRange`]). A table with a hole is refused: nothing is filled in.
//!
//! Random effects: a piece is tested against the interaction, and so is an operator, as long as the
//! interaction is kept; when it is pooled with the repeats, against those. Some printed examples test
//! against the repeats in either case.
//! Source: AIAG Measurement Systems Analysis and Montgomery, Design and Analysis of Experiments (formulas from memory;
//! printed examples are checked).

mod average_range;
mod components;
mod intervals;
mod table;
mod words;

pub use average_range::{AverageRange, RangeFactors};
pub(crate) use components::component;
pub use components::{Component, Components, GaugeStudy, GaugeTable};
pub(crate) use intervals::{Part, at_least, of_difference, of_sum, of_sum_less};
pub use table::{Crossed, TableError, TaggedReading};
pub(crate) use table::{names, position, tagged};

use serde::{Deserialize, Serialize};

use crate::stats::Undefined;

/// When the interaction of pieces and operators is pooled with the repeats.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pooling {
    /// When chance alone gives one as large with more than this probability: 0.25 in the trade, 0.05 in
    /// textbooks.
    Above(f64),
    /// Never: it is always kept.
    Never,
    /// Always: there is no interaction in the model.
    Always,
}

/// The tolerance that a gauge is to measure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeTolerance {
    /// Two limits: their distance in mm.
    Between(f64),
    /// One limit: its distance from the mean of the pieces, in mm. Half as many deviations count.
    OneSided(f64),
}

/// How many categories of pieces a gauge tells apart: a factor times pieces over gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CategoriesFactor {
    /// 1.41, as printed in the trade.
    #[default]
    Printed,
    /// The square root of 2.
    Exact,
}

impl CategoriesFactor {
    /// The factor.
    pub const fn factor(self) -> f64 {
        match self {
            CategoriesFactor::Printed => 1.41,
            CategoriesFactor::Exact => std::f64::consts::SQRT_2,
        }
    }
}

/// How a gauge study is reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GaugeSettings {
    /// The tolerance, if there is one.
    pub tolerance: Option<GaugeTolerance>,
    /// How many deviations are held against it: 6, or 5.15 in older papers.
    pub deviations: f64,
    /// When the interaction is pooled.
    pub pooling: Pooling,
    /// The factor of the number of categories.
    pub categories: CategoriesFactor,
    /// The confidence of the limits of the components.
    pub confidence: f64,
}

impl GaugeSettings {
    /// The usual settings: six deviations, pooled above 0.25, 1.41, 95 %.
    pub const fn usual(tolerance: Option<GaugeTolerance>) -> GaugeSettings {
        GaugeSettings {
            tolerance,
            deviations: 6.0,
            pooling: Pooling::Above(0.25),
            categories: CategoriesFactor::Printed,
            confidence: 0.95,
        }
    }

    pub(crate) fn check(&self) -> Result<(), Undefined> {
        let above_zero = |what, found: f64| match found > 0.0 && found.is_finite() {
            true => Ok(()),
            false => Err(Undefined::Senseless { what, found }),
        };
        above_zero("the number of deviations", self.deviations)?;
        if let Some(GaugeTolerance::Between(found) | GaugeTolerance::OneSided(found)) =
            self.tolerance
        {
            above_zero("the tolerance", found)?;
        }
        if let Pooling::Above(probability) = self.pooling {
            Undefined::unless_probability("the probability to pool above", probability)?;
        }
        Undefined::unless_probability("a confidence", self.confidence)
    }

    /// A deviation in mm as a share of the tolerance; `None` without one.
    fn share_of_tolerance(&self, deviation: f64) -> Option<f64> {
        match self.tolerance? {
            GaugeTolerance::Between(width) => Some(self.deviations * deviation / width),
            GaugeTolerance::OneSided(distance) => {
                Some(self.deviations / 2.0 * deviation / distance)
            }
        }
    }

    /// How many categories a gauge tells apart: of a gauge without repeats that differ, nothing is known.
    pub(crate) fn categories_told(
        &self,
        pieces: f64,
        gauge: f64,
        repeats: f64,
    ) -> Result<Categories, Undefined> {
        match gauge > 0.0 && repeats > 0.0 {
            true => Ok(Categories {
                exact: self.categories.factor() * pieces / gauge,
            }),
            false => Err(Undefined::NoSpread),
        }
    }
}

/// How many categories of pieces a gauge tells apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Categories {
    /// Before it is rounded down.
    pub exact: f64,
}

impl Categories {
    /// The whole number, one at least.
    pub fn whole(self) -> u32 {
        // A float turned into an integer keeps to the integer's range.
        (self.exact.floor() as u32).max(1)
    }
}

/// The trade's bands for the gauge's share of what varies or of the tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Band {
    /// Below 10 %.
    Good,
    /// 10 to 30 %.
    Marginal,
    /// Above 30 %.
    Poor,
}

impl Band {
    /// The band of a share (0.10 for 10 %).
    pub fn of(share: f64) -> Band {
        match share {
            share if share < 0.10 => Band::Good,
            share if share <= 0.30 => Band::Marginal,
            _ => Band::Poor,
        }
    }

    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Band::Good => "good",
            Band::Marginal => "marginal",
            Band::Poor => "poor",
        }
    }
}
