//! What is said about a gauge study.

use super::{
    AverageRange, Band, CategoriesFactor, Component, GaugeSettings, GaugeStudy, GaugeTolerance,
    Pooling,
};
use crate::decimal::format_to;
use crate::study::figure::{length, percent, probability, shortest};
use crate::units::Unit;

/// Categories that a gauge should tell apart at least: common practice.
const ENOUGH_CATEGORIES: u32 = 5;

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
            "Random effects; {pooling}; {tolerance}; categories by {factor}; limits {}.",
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
            "{} pieces, {} operators, {} readings of each, analysis of variance {model}. {}",
            table.piece_count,
            table.operator_count,
            table.repeat_count,
            self.settings.settings_words(unit, places)
        )
    }

    /// What is said, for readings in mm.
    pub fn sentences(&self, unit: Unit, places: u8) -> Vec<String> {
        let found = self.components();
        let finer = places.saturating_add(1);
        let mut sentences = vec![
            component_sentence("Repeats", &found.repeat, unit, finer),
            component_sentence("Operators", &found.reproducibility, unit, finer),
            component_sentence("The whole gauge", &found.gauge, unit, finer),
            component_sentence("The pieces", &found.piece, unit, finer),
            self.verdict_sentence(),
        ];
        if let Ok(ratio) = self.table.interaction_ratio()
            && found.interaction_kept
            && ratio.probability < 0.05
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
        let against = match found.gauge.share_of_tolerance {
            Some(share) => format!("{} of the tolerance", percent(share)),
            None => format!(
                "{} of what varies in the study",
                percent(found.gauge.share_of_study)
            ),
        };
        let categories = match found.categories {
            Ok(categories) if categories.whole() < ENOUGH_CATEGORIES => format!(
                " It tells {} sizes of pieces apart; {ENOUGH_CATEGORIES} are wanted.",
                categories.whole()
            ),
            Ok(categories) => {
                format!(" It tells {} sizes of pieces apart.", categories.whole())
            }
            Err(reason) => format!(" How many sizes it tells apart cannot be said: {reason}."),
        };
        format!(
            "The gauge takes up {against} ({}).{categories}",
            found.band().words()
        )
    }

    fn cautions(&self) -> Vec<String> {
        let mut cautions = Vec::new();
        let operators = self.table.operator_count;
        if operators == 1 {
            cautions
                .push("One operator only: nothing is said about how operators differ.".to_owned());
        } else if operators < FEW_OPERATORS {
            cautions.push(format!(
                "With {operators} operators, how much operators differ is hardly known: look at the \
                 limits."
            ));
        }
        let found = self.components();
        let none_left = [
            ("the operators", &found.operator),
            ("the interaction", &found.interaction),
            ("the pieces", &found.piece),
        ];
        for (what, component) in none_left {
            if component.raw_variance < 0.0 {
                cautions.push(format!(
                    "No share of {what} is left beyond what chance accounts for; it counts as nothing."
                ));
            }
        }
        cautions
    }
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
        "{what}: standard deviation {}{limits}, {} of what varies{}.",
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
