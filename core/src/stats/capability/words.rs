//! What is said about capability.

use super::{
    Capability, CapabilitySettings, Caution, FEWEST_PIECES, FIRM_PIECES, Index, Indices,
    IntervalMethod, Refusal, Refused, Tolerance,
};
use crate::decimal::format_to;
use crate::units::{Length, Unit};

impl IntervalMethod {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            IntervalMethod::ChiSquared => "chi-squared",
            IntervalMethod::Bissell => "Bissell's approximation",
            IntervalMethod::NoncentralStudent => "noncentral t",
        }
    }
}

impl CapabilitySettings {
    /// The conventions as they are printed with the figures.
    pub fn settings_words(&self) -> String {
        format!(
            "Intervals at {} % confidence: chi-squared for Cp and Pp, Bissell's approximation for the nearer \
             of two limits, {} for a single limit. Refused below {FEWEST_PIECES} pieces or with signals on \
             the chart, provisional below {FIRM_PIECES} pieces.",
            format_to(self.confidence * 100.0, 1),
            self.one_limit.words()
        )
    }
}

impl Index {
    /// The figure with its interval, named.
    fn words(&self, name: &str) -> String {
        format!(
            "{name} = {} ({} to {})",
            format_to(self.value, 2),
            format_to(self.interval.low, 2),
            format_to(self.interval.high, 2)
        )
    }
}

impl Indices {
    /// The indices, each with its interval, and where sigma comes from.
    pub fn words(&self) -> String {
        let letter = self.letter();
        let both = self.both.map(|index| index.words(&format!("{letter}p")));
        let least = self.least.words(&format!("{letter}pk"));
        let figures: Vec<String> = both.into_iter().chain([least]).collect();
        format!(
            "{}, sigma from the {}, {} readings",
            figures.join(", "),
            self.sigma.basis.words(),
            self.sigma.count
        )
    }
}

impl Capability {
    /// The sentence to lead with: below thirty pieces the interval comes first.
    pub fn sentence(&self) -> String {
        let lead = self.within.as_ref().unwrap_or(&self.overall);
        let index = &lead.least;
        let name = format!("{}pk", lead.letter());
        let percent = format_to(self.settings.confidence * 100.0, 0);
        let (low, high) = (
            format_to(index.interval.low, 2),
            format_to(index.interval.high, 2),
        );
        let value = format_to(index.value, 2);
        match self.count < FIRM_PIECES {
            true => format!(
                "Provisional, from {} pieces: {name} lies between {low} and {high} ({percent} % sure); the \
                 readings give {value}.",
                self.count
            ),
            false => format!(
                "{name} = {value} from {} pieces, between {low} and {high} ({percent} % sure).",
                self.count
            ),
        }
    }

    /// What has to be known about it, one sentence each.
    pub fn caution_sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let say = |caution: &Caution| caution.sentence(unit, places);
        self.cautions.iter().map(say).collect()
    }
}

impl Caution {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Caution::Provisional { .. } => "provisional",
            Caution::SteadinessUnknown => "steadiness-unknown",
            Caution::HitsByChance { .. } => "hits-by-chance",
            Caution::StepCoarseForTolerance { .. } => "step-coarse-for-tolerance",
            Caution::StepCoarseForSpread => "step-coarse-for-spread",
            Caution::StepCoarseForRanges { .. } => "step-coarse-for-ranges",
            Caution::GaugeBlurs { .. } => "gauge-blurs",
            Caution::NotNormal { .. } => "not-normal",
            Caution::PiecesOutside => "pieces-outside",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        match self {
            Caution::Provisional { found } => {
                format!("Only {found} pieces, {FIRM_PIECES} make it firm: go by the interval.")
            }
            Caution::SteadinessUnknown => {
                "Nobody has looked whether the process is steady; without that an index says little."
                    .to_owned()
            }
            Caution::HitsByChance { hits } => format!(
                "{hits} points complete a pattern, no more than chance gives on a chart as long as this."
            ),
            Caution::StepCoarseForTolerance { steps } => format!(
                "The tolerance is only {} steps of the display; ten are wanted.",
                format_to(*steps, 1)
            ),
            Caution::StepCoarseForSpread => {
                "The spread is smaller than one step of the display: it is not really known.".to_owned()
            }
            Caution::StepCoarseForRanges { values } => format!(
                "With the display's step ranges can take only {} values up to their limit; five are wanted.",
                format_to(*values, 0)
            ),
            Caution::GaugeBlurs {
                share,
                without_gauge,
            } => {
                let percent = format_to(share * 100.0, 0);
                let without = without_gauge.map(|sigma| {
                    let sigma = Length::computed(sigma).to_text(unit, places.saturating_add(1));
                    format!(" Without it sigma would be {sigma}.")
                });
                format!(
                    "The gauge's own sigma is {percent} percent of the spread.{}",
                    without.unwrap_or_default()
                )
            }
            Caution::NotNormal { chance } => {
                let cases = match chance * 100.0 {
                    few if few < 0.1 => "less than 0.1".to_owned(),
                    percent => format_to(percent, 1),
                };
                format!(
                    "The readings hardly come from a normal distribution (by chance in {cases} % of cases): use \
                     the percentile method."
                )
            }
            Caution::PiecesOutside => "Pieces lie outside the tolerance.".to_owned(),
        }
    }
}

impl Refusal {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Refusal::TooFewPieces { .. } => "too-few-pieces",
            Refusal::NotSteady { .. } => "not-steady",
            Refusal::OnePiece => "one-piece",
            Refusal::Undefined(reason) => reason.code(),
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self) -> String {
        match self {
            Refusal::TooFewPieces { found } => {
                format!("{found} pieces are too few; {FEWEST_PIECES} are the least.")
            }
            Refusal::NotSteady { hits: 1 } => {
                "The chart shows a signal: first find out what happened there.".to_owned()
            }
            Refusal::NotSteady { hits } => {
                format!("The chart shows {hits} signals: first find out what happened there.")
            }
            Refusal::OnePiece => {
                "These are repeat readings of one piece: they tell of the gauge, not of the process."
                    .to_owned()
            }
            Refusal::Undefined(reason) => format!("The index cannot be worked out: {reason}."),
        }
    }
}

impl Refused {
    /// All reasons in a row.
    pub fn sentence(&self) -> String {
        let reasons: Vec<String> = self.reasons.iter().map(Refusal::sentence).collect();
        format!("No capability index. {}", reasons.join(" "))
    }

    /// The plain figures that stand in its place.
    pub fn figures(&self, unit: Unit, places: u8) -> String {
        let text =
            |mm: f64, more: u8| Length::computed(mm).to_text(unit, places.saturating_add(more));
        let (smallest, largest) = self.extremes;
        let deviation = match self.deviation {
            Ok(deviation) => text(deviation, 1),
            Err(reason) => format!("none ({reason})"),
        };
        format!(
            "{} readings from {} to {}, mean {}, standard deviation {deviation}; {}.",
            self.count,
            text(smallest, 0),
            text(largest, 0),
            text(self.mean, 1),
            self.tolerance.words(unit, places)
        )
    }
}

impl Tolerance {
    /// The limits in words.
    pub fn words(&self, unit: Unit, places: u8) -> String {
        let text = |mm: f64| Length::computed(mm).to_text(unit, places);
        match (self.lower(), self.upper()) {
            (Some(lower), Some(upper)) => format!("limits {} and {}", text(lower), text(upper)),
            (Some(lower), None) => format!("lower limit {}, no upper limit", text(lower)),
            (None, Some(upper)) => format!("upper limit {}, no lower limit", text(upper)),
            (None, None) => "no limits".to_owned(),
        }
    }
}
