//! What is said about capability.

use super::{
    Capability, CapabilitySettings, Caution, FEWEST_PIECES, FIRM_PIECES, Index, Indices,
    IntervalMethod, Refusal, Refused, Tolerance,
};
use crate::decimal::format_to;
use crate::stats::counted;
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
        self.words("or with more signals on the chart than chance gives")
    }

    fn words(&self, or_when: &str) -> String {
        format!(
            "Intervals at {} % confidence: chi-squared for Cp and Pp, Bissell's approximation for the nearer \
             of two limits, {} for a single limit. Refused below {FEWEST_PIECES} pieces, counting those that sigma \
             comes from, {or_when}; provisional below {FIRM_PIECES} of them.",
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
            "{}, sigma from the {}, {}",
            figures.join(", "),
            self.sigma.basis.words(),
            counted(self.sigma.count, "pieces")
        )
    }
}

impl Capability {
    /// Whether nobody looked if the process is steady: then no index may be the first thing that is said.
    pub fn steadiness_unknown(&self) -> bool {
        self.cautions.contains(&Caution::SteadinessUnknown)
    }

    /// The conventions as they are printed with the figures.
    pub fn settings_words(&self) -> String {
        match self.steadiness_unknown() {
            false => self.settings.settings_words(),
            true => self.settings.words(
                "or when the overall sigma is so much larger than that from piece to piece as chance gives in less \
                 than 1 of 100 steady jobs; a chart was not looked at",
            ),
        }
    }

    /// How many pieces it is from, and of how many of them sigma is where that differs.
    fn counted_words(&self, count: usize) -> String {
        match count == self.count {
            true => format!("from {count} pieces"),
            false => format!("from {} pieces, sigma from {count} of them", self.count),
        }
    }

    /// The sentence to lead with: below thirty pieces the interval comes first; where nobody looked if the process is
    /// steady, that is said first.
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
        let behind = lead.sigma.count.min(self.count);
        let from = self.counted_words(behind);
        let steady = match self.steadiness_unknown() {
            true => "If the process is steady, which is not asked here: ",
            false => "",
        };
        match behind < FIRM_PIECES {
            true => format!(
                "{steady}Provisional, {from}: {name} lies between {low} and {high} ({percent} % sure); the \
                 readings give {value}."
            ),
            false => format!(
                "{steady}{name} = {value} {from}, between {low} and {high} ({percent} % sure)."
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
                format!("It rests on {found} pieces only, {FIRM_PIECES} make it firm: go by the interval.")
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
            Refusal::FewBehindSigma { .. } => "few-behind-sigma",
            Refusal::Wanders { .. } => "wanders",
            Refusal::NotSteady { .. } => "not-steady",
            Refusal::OnePiece => "one-piece",
            Refusal::Undefined(reason) => reason.code(),
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self) -> String {
        match self {
            Refusal::TooFewPieces { found } => {
                let are = if *found == 1 { "is" } else { "are" };
                let found = counted(*found, "pieces");
                format!("{found} {are} too few; {FEWEST_PIECES} are the least.")
            }
            Refusal::FewBehindSigma { found } => format!(
                "Sigma comes from {found} pieces only; {FEWEST_PIECES} are the least."
            ),
            Refusal::Wanders { ratio } => format!(
                "The pieces do not look steady: overall they spread {} times as much as from one to the next. Look at \
                 their chart.",
                format_to(*ratio, 1)
            ),
            Refusal::NotSteady { hits: 1 } => {
                "1 point stands out on the chart: first find out what happened there.".to_owned()
            }
            Refusal::NotSteady { hits } => {
                format!("{hits} points stand out on the chart: first find out what happened there.")
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
            "{} from {} to {}, mean {}, standard deviation {deviation}; {}.",
            counted(self.count, "pieces"),
            text(smallest, 0),
            text(largest, 0),
            text(self.mean, 1),
            self.tolerance.words(unit, places)
        )
    }
}

/// The fewest places, from those of a reading on, that show a limit as it was given; four more where none do, as with
/// one of the other unit.
fn places_of_limit(mm: f64, unit: Unit, places: u8) -> u8 {
    let value = mm / unit.mm_per_unit();
    let exact = |places: &u8| {
        let scale = 10_f64.powi(i32::from(*places));
        ((value * scale).round() / scale - value).abs() < 1e-9
    };
    let most = places.saturating_add(4);
    (places..=most).find(exact).unwrap_or(most)
}

impl Tolerance {
    /// The limits in words, as they were given: readings to fewer places round no limit.
    pub fn words(&self, unit: Unit, places: u8) -> String {
        let text = |mm: f64| Length::computed(mm).to_text(unit, places_of_limit(mm, unit, places));
        match (self.lower(), self.upper()) {
            (Some(lower), Some(upper)) => format!("limits {} and {}", text(lower), text(upper)),
            (Some(lower), None) => format!("lower limit {}, no upper limit", text(lower)),
            (None, Some(upper)) => format!("upper limit {}, no lower limit", text(upper)),
            (None, None) => "no limits".to_owned(),
        }
    }
}
