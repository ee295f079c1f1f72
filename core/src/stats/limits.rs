//! Control limits and where their sigma comes from.
//!
//! Control limits say what the process does by itself; they have nothing to do with the limits of the
//! thread.

use serde::{Deserialize, Serialize};

use super::Undefined;
use super::run_rules::Zones;
use crate::units::{Length, Unit};

/// A chart of single points has firm limits from so many points on.
pub const FIRM_POINTS: usize = 25;

/// A chart of groups has firm limits from so many groups on.
pub const FIRM_GROUPS: usize = 20;

/// How many sigma the limits lie from the centre line unless somebody says otherwise.
pub const USUAL_WIDTH: f64 = 3.0;

/// The lines of a chart, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ControlLimits {
    /// The centre line.
    pub centre: f64,
    /// The lower limit; `None` where there is none, as on a chart of ranges of few readings.
    pub lower: Option<f64>,
    /// The upper limit.
    pub upper: Option<f64>,
}

impl ControlLimits {
    /// Limits so far from a centre on both sides.
    pub const fn about(centre: f64, reach: f64) -> ControlLimits {
        ControlLimits {
            centre,
            lower: Some(centre - reach),
            upper: Some(centre + reach),
        }
    }

    /// Limits of a figure that cannot be negative: a lower limit at or below zero is none.
    pub fn of_spread(centre: f64, lower: f64, upper: f64) -> ControlLimits {
        ControlLimits {
            centre,
            lower: (lower > 0.0).then_some(lower),
            upper: Some(upper),
        }
    }

    /// The lines that run rules need, at thirds.
    pub fn zones(&self) -> Zones {
        Zones::between(self.centre, self.lower, self.upper)
    }

    /// Whether a point lies strictly beyond a limit.
    pub fn is_beyond(&self, point: f64) -> bool {
        self.lower.is_some_and(|lower| point < lower)
            || self.upper.is_some_and(|upper| point > upper)
    }

    /// The lines in words.
    pub fn words(&self, unit: Unit, places: u8) -> String {
        let text = |mm: f64| Length::computed(mm).to_text(unit, places);
        let limit = |limit: Option<f64>| limit.map_or("none".to_owned(), text);
        format!(
            "lower control limit {}, centre line {}, upper control limit {}",
            limit(self.lower),
            text(self.centre),
            limit(self.upper)
        )
    }
}

/// What a sigma was worked out from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum SigmaBasis {
    /// The mean moving range of two, over d2.
    MeanMovingRange,
    /// The median moving range of two, over its expected value for sigma 1.
    MedianMovingRange,
    /// The mean range of groups, over d2.
    MeanRange,
    /// The mean standard deviation of groups, over c4.
    MeanDeviation,
    /// The pooled standard deviation of groups, over c4 of all their degrees of freedom.
    Pooled,
    /// The standard deviation of all readings together.
    Overall,
    /// The standard deviation about a line.
    AboutLine,
}

impl SigmaBasis {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            SigmaBasis::MeanMovingRange => "mean-moving-range",
            SigmaBasis::MedianMovingRange => "median-moving-range",
            SigmaBasis::MeanRange => "mean-range",
            SigmaBasis::MeanDeviation => "mean-deviation",
            SigmaBasis::Pooled => "pooled",
            SigmaBasis::Overall => "overall",
            SigmaBasis::AboutLine => "about-line",
        }
    }

    /// In words, as printed with a figure.
    pub const fn words(self) -> &'static str {
        match self {
            SigmaBasis::MeanMovingRange => "mean moving range / d2",
            SigmaBasis::MedianMovingRange => "median moving range / 0.9539",
            SigmaBasis::MeanRange => "mean range / d2",
            SigmaBasis::MeanDeviation => "mean standard deviation / c4",
            SigmaBasis::Pooled => "pooled standard deviation / c4",
            SigmaBasis::Overall => "standard deviation of all readings",
            SigmaBasis::AboutLine => "standard deviation about the line",
        }
    }

    /// Whether it tells of the spread from piece to piece alone, without drifts and jumps.
    pub const fn is_within(self) -> bool {
        !matches!(self, SigmaBasis::Overall)
    }
}

/// A sigma, where it comes from and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sigma {
    /// The standard deviation, in millimetres.
    pub sigma: f64,
    /// What it comes from.
    pub basis: SigmaBasis,
    /// Its equivalent degrees of freedom.
    pub degrees_of_freedom: f64,
    /// How many readings stand behind it.
    pub count: usize,
}

impl Sigma {
    /// A sigma that spreads.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when it does not.
    pub(super) fn above_zero(self) -> Result<Sigma, Undefined> {
        match self.sigma > 0.0 {
            true => Ok(self),
            false => Err(Undefined::NoSpread),
        }
    }
}

/// Equivalent degrees of freedom of a mean of ranges whose squared coefficient of variation is this.
///
/// Source: Patnaik, Biometrika 37 (1950), from memory: `1/(-2 + 2 sqrt(1 + 2 v))`.
pub(super) fn equivalent_degrees(squared_variation: f64) -> f64 {
    // 2 (sqrt(1 + 2 v) - 1), without cancelling.
    let twice = 2.0 * squared_variation;
    ((1.0 + twice).sqrt() + 1.0) / (2.0 * twice)
}

/// Whether limits rest on enough points to be called firm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Too few points so far: the limits will still move.
    Provisional {
        /// How many points or groups there are.
        found: usize,
        /// How many it takes.
        needed: usize,
    },
    /// Enough points.
    Firm,
}

impl Standing {
    /// Of limits from so many of the necessary points.
    pub const fn of(found: usize, needed: usize) -> Standing {
        match found < needed {
            true => Standing::Provisional { found, needed },
            false => Standing::Firm,
        }
    }

    /// In words.
    pub fn words(self) -> String {
        match self {
            Standing::Provisional { found, needed } => {
                format!("provisional: {found} of {needed} points")
            }
            Standing::Firm => "firm".to_owned(),
        }
    }
}
