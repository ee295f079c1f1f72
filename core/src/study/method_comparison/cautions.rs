//! What there is to know about a comparison.

use crate::decimal::format_to;
use crate::stats::counted;

/// Something to know about a comparison.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Caution {
    /// Few readings of a method.
    FewReadings {
        /// The fewest of any method.
        fewest: usize,
    },
    /// Two equal spreads come out as far apart as this, by chance, one time in twenty.
    SpreadsRough {
        /// As a ratio.
        ratio: f64,
        /// With so many readings of each.
        count: usize,
    },
    /// Readings spread less than their display step accounts for; the step was put in place of their
    /// spread.
    StepTooCoarse,
    /// The spreads differ: there is no one spread for all methods.
    SpreadsDiffer,
    /// Readings drifted from block to block; pairing took that out of the bias, not out of the spread.
    Drift,
}

impl Caution {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Caution::FewReadings { .. } => "few_readings",
            Caution::SpreadsRough { .. } => "spreads_rough",
            Caution::StepTooCoarse => "step_too_coarse",
            Caution::SpreadsDiffer => "spreads_differ",
            Caution::Drift => "drift",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self) -> String {
        match self {
            Caution::FewReadings { fewest } => format!(
                "Only {} of a method: ten or more of each make a comparison worth \
                 something.",
                counted(*fewest, "readings")
            ),
            Caution::SpreadsRough { ratio, count } => format!(
                "With {} of each, two methods that repeat alike come out up to {} \
                 times apart by chance.",
                counted(*count, "readings"),
                format_to(*ratio, 1)
            ),
            Caution::StepTooCoarse => {
                "Readings spread less than the display step: the step was reckoned with instead. A \
                 finer display would tell more."
                    .to_owned()
            }
            Caution::SpreadsDiffer => {
                "The methods do not repeat alike, so each was held against the baseline with its own \
                 spread."
                    .to_owned()
            }
            Caution::Drift => {
                "Readings drifted from round to round (warmth, for one). Comparing within rounds took \
                 that out of the bias; it is still in the spreads."
                    .to_owned()
            }
        }
    }
}
