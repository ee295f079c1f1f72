//! What is said about compared methods.

use super::{
    Adjustment, Against, Caution, Comparison, FEW_READINGS, MeanAgainst, More, Pairing, Settings,
    SpreadAgainst, SpreadVerdict, Verdict,
};
use crate::decimal::format_to;
use crate::stats::distribution::f_quantile;
use crate::stats::{Interval, Undefined};
use crate::study::figure::{length, percent, probability, reads_against, shortest, signed};
use crate::units::{Length, Unit};

impl Pairing {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Pairing::Blocks => "blocks",
            Pairing::Apart => "apart",
        }
    }

    /// What is printed with every result.
    pub const fn words(self) -> &'static str {
        match self {
            Pairing::Blocks => "paired: one reading of each method in every block",
            Pairing::Apart => "not paired (Welch's t)",
        }
    }
}

impl Verdict {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Verdict::Equivalent => "equivalent",
            Verdict::DifferentWithinMargin => "different_within_margin",
            Verdict::Different { .. } => "different",
            Verdict::NotEnough(_) => "not_enough_readings",
        }
    }

    /// What a person reads.
    pub fn words(self) -> String {
        match self {
            Verdict::Equivalent => "EQUIVALENT".to_owned(),
            Verdict::DifferentWithinMargin => "DIFFERENT BUT WITHIN THE MARGIN".to_owned(),
            Verdict::Different { .. } => "DIFFERENT".to_owned(),
            Verdict::NotEnough(More::Readings(more)) => {
                format!("NOT ENOUGH READINGS: take {more} more")
            }
            Verdict::NotEnough(More::TooMany | More::NoSpread) => "NOT ENOUGH READINGS".to_owned(),
        }
    }
}

impl SpreadVerdict {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            SpreadVerdict::Tighter => "tighter",
            SpreadVerdict::Wider => "wider",
            SpreadVerdict::NotShown => "not_shown",
        }
    }
}

impl Settings {
    /// What is printed with every result.
    pub fn settings_words(&self, unit: Unit, places: u8) -> String {
        let share = self.margin.share(self.margin.length_mm);
        let share = share.map(|share| format!(" ({} of the tolerance)", percent(share)));
        let step = self
            .step_mm
            .map(|step| format!("; display step {}", length(step, unit, places)));
        format!(
            "Margin {}{}; {}; significance {}; intervals {}, of the margin test {}; spreads differ \
             when Levene's test by the median is below {}; further readings for a chance of {}{}.",
            as_given(self.margin.length_mm, unit, places),
            share.unwrap_or_default(),
            self.pairing.words(),
            shortest(self.significance),
            percent(1.0 - self.significance),
            percent(1.0 - 2.0 * self.significance),
            shortest(self.spread_significance),
            percent(self.chance),
            step.unwrap_or_default()
        )
    }
}

impl Comparison {
    /// What is printed with every result: the settings, and how many comparisons at once were dealt with.
    pub fn settings_words(&self, unit: Unit, places: u8) -> String {
        let apart = self.settings.pairing == Pairing::Apart;
        let welch = match apart {
            true => {
                " Each difference, the margin test and the test of all methods by Welch: no one spread for \
                 all is presumed."
            }
            false => "",
        };
        format!(
            "{} Baseline {}; differences: {}.{welch}",
            self.settings.settings_words(unit, places),
            self.baseline_name(),
            self.adjustment.words()
        )
    }

    /// What to know.
    pub fn cautions(&self) -> Vec<Caution> {
        let fewest = self.fewest();
        let drift = self
            .same_mean
            .blocked
            .and_then(Result::ok)
            .is_some_and(|blocked| {
                let ratio = blocked.blocks_ratio;
                ratio.is_ok_and(|ratio| ratio.probability < self.settings.significance)
            });
        let cautions = [
            (fewest < FEW_READINGS).then_some(Caution::FewReadings { fewest }),
            rough(fewest, self.settings.significance),
            self.step_bound().then_some(Caution::StepTooCoarse),
            self.same_spread.differ.then_some(Caution::SpreadsDiffer),
            drift.then_some(Caution::Drift),
        ];
        cautions.into_iter().flatten().collect()
    }

    /// How many readings there are of the method that has fewest.
    fn fewest(&self) -> usize {
        let counts = self.methods.iter().map(|method| method.count);
        counts.min().unwrap_or(0)
    }

    /// Whether the display step was put in place of the spread of any readings.
    fn step_bound(&self) -> bool {
        let mut means = self
            .against
            .iter()
            .filter_map(|against| against.mean.as_ref().ok());
        means.any(|mean| mean.difference.step_bound)
    }

    /// Whether all methods read the same and repeat alike, in two sentences kept apart.
    pub fn overall_sentences(&self) -> [String; 2] {
        [self.same_reading_sentence(), self.same_spread_sentence()]
    }

    fn same_reading_sentence(&self) -> String {
        let ratio = match self.same_mean.blocked {
            Some(blocked) => blocked.and_then(|blocked| blocked.ratio),
            None => self.same_mean.welch,
        };
        let apart = self.named(|against| {
            let verdict = against.mean.map(|mean| mean.verdict);
            matches!(
                verdict,
                Ok(Verdict::Different { .. } | Verdict::DifferentWithinMargin)
            )
        });
        let ratio = match ratio {
            Err(Undefined::NoSpread) if self.step_bound() => {
                return "Same reading: readings spread no more than the display step accounts for, so all \
                        methods at once cannot be tested; each was held against the baseline with the step \
                        instead."
                    .to_owned();
            }
            Err(reason) => return format!("Same reading: cannot be told, {reason}."),
            Ok(ratio) => ratio,
        };
        let test = format!(
            "F = {}, probability by chance {}",
            format_to(ratio.ratio, 2),
            probability(ratio.probability)
        );
        match (ratio.probability < self.settings.significance, apart) {
            (true, Some(_)) => format!("Not all methods read the same ({test})."),
            (true, None) => format!(
                "Not all methods read the same ({test}); that one differs from {} is not shown.",
                self.baseline_name()
            ),
            (false, Some(names)) => format!(
                "Not all methods read the same: held against {} one by one, a difference is shown for \
                 {names}. A test of all methods at once sees less ({test}).",
                self.baseline_name()
            ),
            (false, None) => format!(
                "No difference between the methods' readings was found, which does not say there is none \
                 ({test})."
            ),
        }
    }

    fn same_spread_sentence(&self) -> String {
        let ratio = match self.same_spread.levene {
            Err(reason) => return format!("Same spread: cannot be told, {reason}."),
            Ok(ratio) => ratio,
        };
        let test = format!(
            "Levene by the median {}, probability by chance {}",
            format_to(ratio.ratio, 2),
            probability(ratio.probability)
        );
        let apart = self.named(|against| {
            let verdict = against.spread.map(|spread| spread.verdict);
            matches!(verdict, Ok(SpreadVerdict::Tighter | SpreadVerdict::Wider))
        });
        match (self.same_spread.differ, apart) {
            (true, _) => format!("Not all methods repeat alike ({test})."),
            (false, Some(names)) => format!(
                "Held against {} one by one, another spread is shown for {names}. A test of all methods at \
                 once does not show it ({test}): take more readings before relying on it.",
                self.baseline_name()
            ),
            (false, None) => format!(
                "No difference in how the methods repeat was found, which does not say there is none \
                 ({test})."
            ),
        }
    }

    /// The names of those methods of which something is true; `None` when there is none.
    fn named(&self, is: impl Fn(&&Against) -> bool) -> Option<String> {
        let names = self.against.iter().filter(is);
        let names: Vec<&str> = names.map(|against| against.name.as_str()).collect();
        (!names.is_empty()).then(|| names.join(", "))
    }

    /// What to know of the comparisons with one spread for all, and where they part with a verdict; `None`
    /// where there are none.
    pub fn one_spread_sentences(&self) -> Option<Vec<String>> {
        let pairs = self.one_spread.as_ref()?;
        let ratio = match self.same_mean.blocked {
            Some(blocked) => blocked.and_then(|blocked| blocked.ratio),
            None => self.same_mean.one_way.and_then(|table| table.ratio),
        };
        let ratio = ratio.map_or_else(
            |reason| reason.to_string(),
            |ratio| {
                format!(
                    "F = {}, probability by chance {}",
                    format_to(ratio.ratio, 2),
                    probability(ratio.probability)
                )
            },
        );
        let mut sentences = vec![format!(
            "Analysis of variance: {ratio}. Dunnett's comparisons with {}, intervals {} for all at once. Both \
             presume that all methods repeat alike, which no test can show; no verdict rests on them.",
            self.baseline_name(),
            percent(1.0 - self.settings.significance)
        )];
        let parted = self.against.iter().zip(pairs).filter(|(against, pair)| {
            let shown = |interval: &Interval| interval.low > 0.0 || interval.high < 0.0;
            let own = against.mean.as_ref().ok();
            own.is_some_and(|mean| shown(&mean.adjusted.interval) != shown(&pair.adjusted.interval))
        });
        let names: Vec<&str> = parted.map(|(against, _)| against.name.as_str()).collect();
        if !names.is_empty() {
            sentences.push(format!(
                "{}: whether a difference is shown turns on that presumption. The verdict, with the method's \
                 own spread, holds.",
                names.join(", ")
            ));
        }
        Some(sentences)
    }

    /// How each method repeats, one sentence each.
    pub fn repeat_sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let finer = places.saturating_add(1);
        let sentence =
            |method: &super::MethodFigures| match (method.deviation, method.deviation_interval) {
                (Ok(found), _) if found.deviation <= 0.0 => format!(
                    "{}: all {} readings are the same: how it repeats is not known from them.",
                    method.name, method.count
                ),
                (Ok(found), Ok(interval)) => format!(
                    "{}: readings repeat with a standard deviation of {} ({} to {}, {} readings).",
                    method.name,
                    length(found.deviation, unit, finer),
                    length(interval.low, unit, finer),
                    length(interval.high, unit, finer),
                    method.count
                ),
                (Err(reason), _) | (_, Err(reason)) => {
                    format!("{}: no standard deviation, {reason}.", method.name)
                }
            };
        self.methods.iter().map(sentence).collect()
    }

    /// What is said about a method against the baseline: its reading, then its spread.
    pub fn against_sentences(&self, against: &Against, unit: Unit, places: u8) -> [String; 2] {
        let baseline = self.baseline_name();
        let name = &against.name;
        [
            match &against.mean {
                Ok(mean) => self.mean_sentence(against, mean, unit, places),
                Err(reason) => format!("{name}: cannot be held against {baseline}, {reason}."),
            },
            match &against.spread {
                Ok(spread) => spread_sentence(name, baseline, spread),
                Err(reason) => {
                    format!("{name}: its spread cannot be held against {baseline}'s, {reason}.")
                }
            },
        ]
    }

    fn mean_sentence(
        &self,
        against: &Against,
        mean: &MeanAgainst,
        unit: Unit,
        places: u8,
    ) -> String {
        let finer = places.saturating_add(1);
        let share = mean
            .share
            .map(|share| format!(", {} of the tolerance", percent(share)));
        let ends = |interval: &Interval| {
            format!(
                "{} to {}",
                signed(interval.low, unit, finer),
                signed(interval.high, unit, finer)
            )
        };
        let together = match self.adjustment {
            Adjustment::None => "",
            Adjustment::OwnSpreads => " for all methods at once",
        };
        let wider = against
            .spread
            .is_ok_and(|spread| spread.verdict == SpreadVerdict::Wider);
        let verdict = match (mean.verdict, wider) {
            (Verdict::Equivalent, true) => "EQUIVALENT IN THE MEAN, REPEATS WORSE".to_owned(),
            (verdict, _) => verdict.words(),
        };
        format!(
            "{}: {verdict}. It {} ({}, {}{together}{}). {} Margin test: {} ({}).",
            against.name,
            reads_against(
                mean.difference.estimate.value,
                self.baseline_name(),
                unit,
                finer
            ),
            ends(&mean.adjusted.interval),
            percent(1.0 - self.settings.significance),
            share.unwrap_or_default(),
            self.verdict_sentence(mean.verdict, unit, places),
            ends(&mean.equivalence.interval),
            percent(1.0 - 2.0 * self.settings.significance)
        )
    }

    fn verdict_sentence(&self, verdict: Verdict, unit: Unit, places: u8) -> String {
        let margin = as_given(self.settings.margin.length_mm, unit, places);
        let chance = percent(self.settings.chance);
        match verdict {
            Verdict::Equivalent => {
                format!("In the mean it is shown to read the same within ±{margin}.")
            }
            Verdict::DifferentWithinMargin => {
                format!("It reads differently, and is shown to do so by less than {margin}.")
            }
            Verdict::Different {
                beyond_margin: true,
            } => {
                format!("It is shown to read differently by more than {margin}.")
            }
            Verdict::Different {
                beyond_margin: false,
            } => format!(
                "It reads differently; whether by more than {margin} these readings do not say."
            ),
            Verdict::NotEnough(More::Readings(more)) => {
                let what = match (self.settings.pairing, more) {
                    (Pairing::Blocks, 1) => "more round of all methods decides",
                    (Pairing::Blocks, _) => "more rounds of all methods decide",
                    (Pairing::Apart, 1) => "more reading with each method decides",
                    (Pairing::Apart, _) => "more readings with each method decide",
                };
                let fewest = self.fewest();
                if fewest < FEW_READINGS {
                    return format!(
                        "Neither a difference nor agreement within ±{margin} is shown. From {fewest} readings the \
                         spread is hardly known, so no chance is named: take {more} more, then look again."
                    );
                }
                format!(
                    "Neither a difference nor agreement within ±{margin} is shown. If bias and spread \
                     stay as they are, {more} {what} with a chance of {chance}."
                )
            }
            Verdict::NotEnough(More::TooMany) => format!(
                "Neither a difference nor agreement within ±{margin} is shown, and no sensible number \
                 of readings would: find out what makes the readings spread, or allow a wider margin."
            ),
            Verdict::NotEnough(More::NoSpread) => format!(
                "Agreement within ±{margin} is not shown: the readings of a method do not differ, so how \
                 they spread is not known. Read with a finer display, or state the display step."
            ),
        }
    }
}

/// A margin in mm as text in a unit, with as many places as it was given with, but those of a reading at
/// least; one more than those of a reading where it ends at none.
fn as_given(mm: f64, unit: Unit, places: u8) -> String {
    let number = Length::computed(mm).in_unit(unit);
    let exact = |places: &u8| {
        let printed: Result<f64, _> = format_to(number, *places).parse();
        printed.is_ok_and(|printed| (printed - number).abs() <= 1e-9 * number.abs())
    };
    let most = places.saturating_add(4);
    let found = (places..=most).find(exact);
    length(mm, unit, found.unwrap_or(places.saturating_add(1)))
}

fn spread_sentence(name: &str, baseline: &str, spread: &SpreadAgainst) -> String {
    let verdict = match spread.verdict {
        SpreadVerdict::Tighter => format!("it repeats better than {baseline}"),
        SpreadVerdict::Wider => format!("it repeats worse than {baseline}"),
        SpreadVerdict::NotShown => {
            format!("neither better nor worse than {baseline} is shown")
        }
    };
    let interval = spread.ratio.interval;
    format!(
        "{name}: its spread is {} of {baseline}'s ({} to {}): {verdict}.",
        format_to(spread.ratio.ratio, 2),
        format_to(interval.low, 2),
        format_to(interval.high, 2)
    )
}

fn rough(count: usize, significance: f64) -> Option<Caution> {
    let freedom = count.checked_sub(1)? as f64;
    let ratio = f_quantile(1.0 - significance / 2.0, freedom, freedom)?.sqrt();
    Some(Caution::SpreadsRough { ratio, count })
}
