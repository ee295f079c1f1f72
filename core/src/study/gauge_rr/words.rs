//! What is said about a gauge study.

use super::components::band;
use super::{
    AverageRange, Band, Categories, CategoriesFactor, Component, GaugeSettings, GaugeStudy,
    GaugeTolerance, Pooling,
};
use crate::decimal::format_to;
use crate::stats::{Interval, Undefined, counted};
use crate::study::NestedStudy;
use crate::study::figure::{length, percent, probability, shortest};
use crate::units::Unit;

/// Categories that a gauge should tell apart at least: common practice.
const ENOUGH_CATEGORIES: u32 = 5;

/// Nobody asks how many more.
const MOST_CATEGORIES: u32 = 1000;

/// With fewer operators than this their component is hardly known.
const FEW_OPERATORS: usize = 4;

impl GaugeSettings {
    /// What is printed with every result.
    pub fn settings_words(&self, unit: Unit, places: u8) -> String {
        let pooling = match self.pooling {
            Pooling::Above(limit) => format!(
                "interaction pooled with the repeats when its probability by chance is above {}",
                shortest(limit)
            ),
            Pooling::Never => "interaction always kept".to_owned(),
            Pooling::Always => "no interaction in the model".to_owned(),
        };
        format!(
            "Random effects; {pooling}; {}.",
            self.figure_words(unit, places)
        )
    }

    /// How figures are made of the components.
    pub(crate) fn figure_words(&self, unit: Unit, places: u8) -> String {
        let tolerance = match self.tolerance {
            None => "no tolerance stated".to_owned(),
            Some(GaugeTolerance::Between(width)) => format!(
                "tolerance {} against {} deviations",
                length(width, unit, places),
                shortest(self.deviations)
            ),
            Some(GaugeTolerance::OneSided(distance)) => format!(
                "one limit, {} from the mean, against {} deviations",
                length(distance, unit, places),
                shortest(self.deviations / 2.0)
            ),
        };
        let factor = match self.categories {
            CategoriesFactor::Printed => "1.41",
            CategoriesFactor::Exact => "√2",
        };
        format!(
            "{tolerance}; categories by {factor}; limits {}",
            percent(self.confidence)
        )
    }
}

impl Band {
    /// What a person reads.
    pub const fn words(self) -> &'static str {
        match self {
            Band::Good => "below 10 %: good",
            Band::Marginal => "10 to 30 %: may do, depending on what is at stake",
            Band::Poor => "above 30 %: not good enough",
        }
    }
}

impl GaugeStudy {
    /// What is printed with every result.
    pub fn settings_words(&self, unit: Unit, places: u8) -> String {
        let table = &self.table;
        let model = match self.components().interaction_kept {
            true => "with interaction",
            false => "without interaction",
        };
        format!(
            "{}, {}, {} of each, analysis of variance {model}. {}",
            counted(table.piece_count, "pieces"),
            counted(table.operator_count, "operators"),
            counted(table.repeat_count, "readings"),
            self.settings.settings_words(unit, places)
        )
    }

    /// What is said, for readings in mm.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let found = self.components();
        let finer = places.saturating_add(1);
        let people = match found.interaction_kept {
            true => "Operators with their interaction",
            false => "Operators",
        };
        let mut sentences = vec![
            self.verdict_sentence(),
            component_sentence("Repeats", &found.repeat, unit, finer),
            component_sentence(people, &found.reproducibility, unit, finer),
            component_sentence("The whole gauge", &found.gauge, unit, finer),
            component_sentence("The pieces", &found.piece, unit, finer),
        ];
        if let Ok(ratio) = self.table.interaction_ratio()
            && found.interaction_kept
            && ratio.probability < 1.0 - self.settings.confidence
        {
            sentences.push(format!(
                "Operators read some pieces differently than others do (probability by chance {}): look \
                 for how they hold these pieces.",
                probability(ratio.probability)
            ));
        }
        sentences.extend(self.cautions());
        sentences
    }

    fn verdict_sentence(&self) -> String {
        let found = self.components();
        verdict_sentence(&found.gauge, &found.repeat, found.categories)
    }

    fn cautions(&self) -> Vec<String> {
        let found = self.components();
        let mut cautions = few_operators(self.table.operator_count);
        cautions.extend(nothing_left(&[
            ("the operators", &found.operator),
            ("the interaction", &found.interaction),
            ("the pieces", &found.piece),
        ]));
        cautions
    }
}

impl NestedStudy {
    /// What is printed with every result.
    pub fn settings_words(&self, unit: Unit, places: u8) -> String {
        format!(
            "{} operators with {} pieces of their own each, {} readings of each. Random effects, pieces \
             within operators; {}.",
            self.operator_count,
            self.piece_count,
            self.repeat_count,
            self.settings.figure_words(unit, places)
        )
    }

    /// What is said, for readings in mm.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let finer = places.saturating_add(1);
        let mut sentences = vec![
            verdict_sentence(&self.gauge, &self.repeat, self.categories),
            component_sentence("Repeats", &self.repeat, unit, finer),
            component_sentence("Operators", &self.operator, unit, finer),
            component_sentence("The whole gauge", &self.gauge, unit, finer),
            component_sentence("The pieces", &self.piece, unit, finer),
        ];
        sentences.extend(few_operators(self.operator_count));
        sentences.extend(nothing_left(&[
            ("the operators", &self.operator),
            ("the pieces", &self.piece),
        ]));
        sentences
    }
}

fn verdict_sentence(
    gauge: &Component,
    repeat: &Component,
    told: Result<Categories, Undefined>,
) -> String {
    let Ok(band) = band(gauge, repeat) else {
        return "The repeats do not differ: how good the gauge is, and how many sizes of pieces it tells \
                apart, is not known from them. At best its readings spread by the display step over √12; \
                a finer display would tell."
            .to_owned();
    };
    let limits = gauge.tolerance_limits();
    let against = match gauge.share_of_tolerance {
        Some(share) => format!(
            "{} of the tolerance{}",
            percent(share),
            limits.map_or_else(String::new, limits_words)
        ),
        None => format!("{} of the study's spread", percent(gauge.share_of_study)),
    };
    let categories = match told {
        Ok(categories) if categories.whole() < ENOUGH_CATEGORIES => format!(
            " It tells {} of pieces apart; {ENOUGH_CATEGORIES} are wanted.",
            counted(categories.whole() as usize, "sizes")
        ),
        Ok(categories) if categories.whole() > MOST_CATEGORIES => {
            format!(" It tells more than {MOST_CATEGORIES} sizes of pieces apart.")
        }
        Ok(categories) => {
            format!(" It tells {} sizes of pieces apart.", categories.whole())
        }
        Err(reason) => format!(" How many sizes it tells apart cannot be said: {reason}."),
    };
    let spanned = limits.and_then(|limits| spanned(&limits));
    format!(
        "The gauge takes up {against} ({}).{}{categories}",
        band.words(),
        spanned.unwrap_or_default()
    )
}

fn limits_words(limits: Interval) -> String {
    format!(
        ", limits {} to {}",
        percent(limits.low),
        percent(limits.high)
    )
}

/// What is said where the limits of a share lie in several bands.
fn spanned(limits: &Interval) -> Option<String> {
    let (low, high) = (Band::of(limits.low), Band::of(limits.high));
    let share = |band: Band| band.words().split(':').next().unwrap_or_default();
    (low != high).then(|| {
        format!(
            " The limits reach from \"{}\" to \"{}\": which it is these readings do not say.",
            share(low),
            share(high)
        )
    })
}

fn few_operators(operators: usize) -> Vec<String> {
    match operators {
        1 => vec!["One operator only: nothing is said about how operators differ.".to_owned()],
        few if few < FEW_OPERATORS => vec![format!(
            "With {few} operators, how much operators differ is hardly known: look at the limits."
        )],
        _ => Vec::new(),
    }
}

fn nothing_left(components: &[(&str, &Component)]) -> Vec<String> {
    let below = components
        .iter()
        .filter(|(_, component)| component.raw_variance < 0.0);
    below
        .map(|(what, _)| {
            format!(
                "No share of {what} is left beyond what chance accounts for; it counts as nothing."
            )
        })
        .collect()
}

fn component_sentence(what: &str, found: &Component, unit: Unit, finer: u8) -> String {
    let limits = match found.deviation_limits {
        Ok(limits) => format!(
            " ({} to {})",
            length(limits.low, unit, finer),
            length(limits.high, unit, finer)
        ),
        Err(reason) => format!(" (limits -: {reason})"),
    };
    let tolerance = found
        .share_of_tolerance
        .map(|share| format!(", {} of the tolerance", percent(share)));
    format!(
        "{what}: standard deviation {}{limits}, {} of the study's spread{}.",
        length(found.deviation(), unit, finer),
        percent(found.share_of_study),
        tolerance.unwrap_or_default()
    )
}

impl AverageRange {
    /// What is printed with every result.
    pub fn settings_words(&self, unit: Unit, places: u8) -> String {
        format!(
            "From averages and ranges, factors {} for repeats, {} for operators, {} for pieces. {}",
            format_to(self.factors.repeats, 4),
            format_to(self.factors.operators, 4),
            format_to(self.factors.pieces, 4),
            self.settings.settings_words(unit, places)
        )
    }
}
