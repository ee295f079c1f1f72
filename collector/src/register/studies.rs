//! A study of the measurement, as a person plans it: kept as typed, checked as a whole.

use overwire_core::study::{Design, Order, Pieces, Study};
use serde::{Deserialize, Serialize};

use super::Register;
use super::forms::Refusals;
use crate::station::tags::is_plain_word;

/// What a study asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StudyKind {
    /// Do ways of holding the wires differ? The first method is the baseline.
    MethodComparison,
    /// How well does one way repeat on one piece, and how far is it off?
    Repeatability,
    /// How much of the spread is the measurement, with several people and pieces?
    GaugeRr,
    /// The same, where each person has pieces of their own.
    Nested,
    /// Do the three wires of the set differ?
    Wires,
}

impl StudyKind {
    /// Its code, as in forms and the record.
    pub const fn code(self) -> &'static str {
        match self {
            StudyKind::MethodComparison => "method_comparison",
            StudyKind::Repeatability => "repeatability",
            StudyKind::GaugeRr => "gauge_rr",
            StudyKind::Nested => "nested",
            StudyKind::Wires => "wires",
        }
    }

    /// What a person reads.
    pub const fn words(self) -> &'static str {
        match self {
            StudyKind::MethodComparison => "method comparison",
            StudyKind::Repeatability => "repeatability and bias",
            StudyKind::GaugeRr => "gauge repeatability and reproducibility",
            StudyKind::Nested => "nested gauge study",
            StudyKind::Wires => "wire study",
        }
    }
}

/// A study as planned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StudyForm {
    /// Its name.
    pub study: String,
    /// What it asks.
    pub kind: StudyKind,
    /// Job whose thread is measured.
    pub job: String,
    /// Feature of the job.
    pub feature: String,
    /// Ways of holding the wires; for a comparison the first is the baseline.
    #[serde(default)]
    pub methods: Vec<String>,
    /// Names of the pieces; in a nested study as many for each person, one after the other.
    #[serde(default)]
    pub pieces: Vec<String>,
    /// Who measures.
    #[serde(default)]
    pub operators: Vec<String>,
    /// How often each combination is measured.
    pub rounds: u32,
    /// `blocks` (or empty), `shuffled` or `as-listed`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub order: String,
    /// Seed of the order.
    #[serde(default)]
    pub seed: u32,
    /// Margin within which a difference does not matter, percent of the tolerance; empty is 10.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub margin_percent: String,
    /// Known pitch diameter of the piece, in the thread's unit, for a bias; empty when there is none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reference: String,
}

/// Most rounds of a study.
const MOST_ROUNDS: u32 = 200;

impl StudyForm {
    /// The layout.
    pub fn design(&self) -> Design {
        let operators = self.people();
        let pieces = match self.kind {
            StudyKind::Nested => {
                let each = self.pieces.len() / operators.len().max(1);
                Pieces::Own(
                    self.pieces
                        .chunks(each.max(1))
                        .map(<[String]>::to_vec)
                        .collect(),
                )
            }
            _ => Pieces::Shared(self.pieces_named()),
        };
        let methods = match self.kind {
            StudyKind::Wires => {
                let piece = self.pieces_named();
                let piece = piece.first().map_or("the piece", String::as_str);
                Design::wires_in_turn(piece, ["1", "2", "3"], "", 1, 0).methods
            }
            _ => self.methods.clone(),
        };
        Design {
            pieces,
            methods,
            operators,
            rounds: self.rounds,
            order: match self.order.as_str() {
                "shuffled" => Order::Shuffled,
                "as-listed" => Order::AsListed,
                _ => Order::Blocks,
            },
            seed: self.seed,
        }
    }

    fn people(&self) -> Vec<String> {
        match self.operators.is_empty() {
            true => vec!["anybody".to_owned()],
            false => self.operators.clone(),
        }
    }

    fn pieces_named(&self) -> Vec<String> {
        match self.pieces.is_empty() {
            true => vec!["the piece".to_owned()],
            false => self.pieces.clone(),
        }
    }

    /// Checks the whole form and gives the study at its beginning.
    ///
    /// # Errors
    /// A sentence for each field that is wrong.
    pub fn check(&self, register: &Register, methods: &[String]) -> Result<Study, Refusals> {
        let mut refusals = Refusals::default();
        if self.study.trim().is_empty() || !is_plain_word(&self.study) {
            refusals.note(
                "study",
                "Give the study a name, at most 80 plain characters.",
            );
        }
        self.check_thread(&mut refusals, register);
        self.check_lists(&mut refusals, methods);
        if !(1..=MOST_ROUNDS).contains(&self.rounds) {
            refusals.note("rounds", format!("Say 1 to {MOST_ROUNDS} rounds."));
        }
        if !matches!(
            self.order.as_str(),
            "" | "blocks" | "shuffled" | "as-listed"
        ) {
            refusals.note("order", "Say blocks, shuffled or as-listed.");
        }
        if self.margin().is_none() {
            refusals.note(
                "margin_percent",
                "Say a percentage of the tolerance, above 0 to 100.",
            );
        }
        if !self.reference.is_empty() {
            super::forms::number(
                &mut refusals,
                "reference",
                &self.reference,
                "the known size",
            );
        }
        refusals.clone().into_result()?;
        Study::new(self.design()).map_err(|error| {
            refusals.note(field_of(&error), format!("{error}."));
            refusals
        })
    }

    fn check_thread(&self, refusals: &mut Refusals, register: &Register) {
        let Some(job) = register.jobs.get(&self.job) else {
            refusals.note(
                "job",
                format!("There is no job `{}`; set it up first.", self.job),
            );
            return;
        };
        let features = &job.form.features;
        if !features.iter().any(|feature| feature.name == self.feature) {
            let names: Vec<&str> = features.iter().map(|f| f.name.as_str()).collect();
            refusals.note("feature", format!("The job has {}.", names.join(", ")));
        }
    }

    fn check_lists(&self, refusals: &mut Refusals, known_methods: &[String]) {
        let (methods, people, pieces) =
            (self.methods.len(), self.operators.len(), self.pieces.len());
        let mut wants = |field: &str, holds: bool, sentence: &str| {
            if !holds {
                refusals.note(field, sentence);
            }
        };
        match self.kind {
            StudyKind::MethodComparison => wants(
                "methods",
                methods >= 2,
                "Name two methods at least; the first is the baseline.",
            ),
            StudyKind::Wires => {}
            _ => wants("methods", methods == 1, "Name the one method."),
        }
        match self.kind {
            StudyKind::Repeatability | StudyKind::Wires => {
                wants(
                    "pieces",
                    pieces <= 1,
                    "One piece is measured, again and again.",
                );
                wants("operators", people <= 1, "One person measures.");
            }
            StudyKind::GaugeRr => {
                wants(
                    "pieces",
                    pieces >= 2,
                    "Name two pieces at least; ten are usual.",
                );
            }
            StudyKind::Nested => wants(
                "pieces",
                people >= 2 && pieces >= 2 * people && pieces.is_multiple_of(people),
                "Name as many pieces for each person, two at least, one person's after the other's; and two people.",
            ),
            StudyKind::MethodComparison => wants(
                "pieces",
                pieces != 2,
                "Name one piece, or three at least: with two there is no answer.",
            ),
        }
        let unknown = self
            .methods
            .iter()
            .find(|method| !known_methods.contains(method));
        if let Some(unknown) = unknown {
            let known = known_methods.join(", ");
            refusals.note(
                "methods",
                format!("`{unknown}` is not in the shop's list, which has {known}."),
            );
        }
        let words = self
            .methods
            .iter()
            .chain(&self.operators)
            .chain(&self.pieces);
        if words
            .clone()
            .any(|word| word.trim().is_empty() || !is_plain_word(word))
        {
            refusals.note("pieces", "Each name needs 1 to 80 plain characters.");
        }
    }

    /// The margin, as a share of the tolerance.
    pub fn margin(&self) -> Option<f64> {
        let percent = match self.margin_percent.trim() {
            "" => 10.0,
            text => overwire_core::decimal::Decimal::parse_typed(text)
                .ok()?
                .value(),
        };
        (percent > 0.0 && percent <= 100.0).then_some(percent / 100.0)
    }
}

fn field_of(error: &overwire_core::study::StudyError) -> &'static str {
    match error.code() {
        "no-rounds" | "too-many-readings" => "rounds",
        "same-name" | "no-name" if error.to_string().contains("method") => "methods",
        "same-name" | "no-name" if error.to_string().contains("operator") => "operators",
        _ => "pieces",
    }
}
