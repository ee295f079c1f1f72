//! What is said about rules and decisions.

use super::{Decision, DecisionRule, Guard, Outcome, Remark};
use crate::decimal::format_to;
use crate::units::Unit;

impl Outcome {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Outcome::Pass => "pass",
            Outcome::UndecidedOver => "undecided_over",
            Outcome::UndecidedUnder => "undecided_under",
            Outcome::FailOver => "fail_over",
            Outcome::FailUnder => "fail_under",
        }
    }

    /// What a person reads.
    pub const fn words(self) -> &'static str {
        match self {
            Outcome::Pass => "PASS",
            Outcome::UndecidedOver => "UNDECIDED near the maximum",
            Outcome::UndecidedUnder => "UNDECIDED near the minimum",
            Outcome::FailOver => "FAIL over",
            Outcome::FailUnder => "FAIL under",
        }
    }
}

impl Remark {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Remark::RatioNotReached { .. } => "ratio_not_reached",
            Remark::NothingCanPass { .. } => "nothing_can_pass",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        match self {
            Remark::RatioNotReached { found, wanted } => format!(
                "The rule asks for a tolerance of {}:1 against the uncertainty and finds {}:1: the \
                 measurement is not good enough for it.",
                shortest(*wanted),
                format_to(*found, 1)
            ),
            Remark::NothingCanPass { guard, tolerance } => format!(
                "Guard bands of {} on each side leave nothing of a tolerance of {}: no result can \
                 pass. Measure better, or agree on another rule.",
                guard.to_text(unit, places),
                tolerance.to_text(unit, places)
            ),
        }
    }
}

impl Decision {
    /// One or two sentences for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let probability = self.conformance_probability.map(|probability| {
            format!(
                " It lies within the limits with a probability of {}.",
                percent(probability)
            )
        });
        let remark = self
            .remark
            .map(|remark| format!(" {}", remark.sentence(unit, places)));
        format!(
            "{}.{}{}",
            self.outcome.words(),
            probability.unwrap_or_default(),
            remark.unwrap_or_default()
        )
    }
}

impl DecisionRule {
    /// The rule's stable name, for every record.
    pub const fn code(&self) -> &'static str {
        match self {
            DecisionRule::Simple => "simple",
            DecisionRule::SimpleWithRatio { .. } => "simple-with-ratio",
            DecisionRule::Guarded {
                accept: Guard::None,
                reject: Guard::None,
            } => "simple",
            DecisionRule::Guarded {
                reject: Guard::None,
                ..
            } => "guarded-acceptance",
            DecisionRule::Guarded {
                accept: Guard::None,
                ..
            } => "guarded-rejection",
            DecisionRule::Guarded { .. } => "guarded",
        }
    }

    /// One sentence for every record and report.
    pub fn sentence(&self) -> String {
        match self {
            DecisionRule::Simple => "Simple acceptance: a result passes within the limits and on \
                                     them; its uncertainty is not taken into account."
                .to_owned(),
            DecisionRule::SimpleWithRatio { ratio } => format!(
                "Simple acceptance at {}:1 (ASME B89.7.3.1, from memory): a result passes within the \
                 limits, provided the tolerance is {} times twice the expanded uncertainty.",
                shortest(*ratio),
                shortest(*ratio)
            ),
            DecisionRule::Guarded { accept, reject } => guarded(accept, reject),
        }
    }
}

fn guarded(accept: &Guard, reject: &Guard) -> String {
    let rule = DecisionRule::Guarded {
        accept: *accept,
        reject: *reject,
    };
    if rule == DecisionRule::iso_14253() {
        return "Guarded by 1.65 standard uncertainties on either side of each limit (ISO 14253-1, \
                95 % on one side, from memory): a result passes or fails only where that is proved, \
                and is undecided between."
            .to_owned();
    }
    match (band(accept), band(reject)) {
        (None, None) => DecisionRule::Simple.sentence(),
        (Some(inside), None) => format!(
            "Guarded acceptance: a result passes only {inside} inside the limits, and is undecided \
             from there to the limit."
        ),
        (None, Some(outside)) => format!(
            "Guarded rejection: a result passes within the limits, fails only {outside} outside \
             them, and is undecided between."
        ),
        (Some(inside), Some(outside)) => format!(
            "Guarded: a result passes only {inside} inside the limits, fails only {outside} outside \
             them, and is undecided between."
        ),
    }
}

fn band(guard: &Guard) -> Option<String> {
    match guard {
        Guard::None => None,
        Guard::StandardTimes(factor) => {
            Some(format!("{} standard uncertainties", shortest(*factor)))
        }
        Guard::ExpandedTimes(factor) => Some(format!(
            "{} times the expanded uncertainty",
            shortest(*factor)
        )),
        Guard::ConsumersRisk(risk) => Some(format!(
            "by the guard band for a risk of {} (JCGM 106, from memory)",
            percent(*risk)
        )),
    }
}

/// A number with no more places than it has.
fn shortest(number: f64) -> String {
    let text = format_to(number, 3);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A probability in per cent; never called certain or impossible when it is not.
fn percent(probability: f64) -> String {
    let places = match (0.01..=0.99).contains(&probability) {
        true => 0,
        false => 1,
    };
    if probability > 0.999 && probability < 1.0 {
        "more than 99.9 %".to_owned()
    } else if probability < 0.001 && probability > 0.0 {
        "less than 0.1 %".to_owned()
    } else {
        format!("{} %", format_to(probability * 100.0, places))
    }
}
