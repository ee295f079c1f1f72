//! A study of the measurement, as a person plans it: kept as typed, checked as a whole.

use overwire_core::study::{Design, MOST_A_VISIT, MOST_DAYS, Order, Pieces};
use serde::{Deserialize, Serialize};

use super::Register;
use super::course::Course;
use super::forms::{Refusals, check_text};
use super::masters::{self, MasterForm};
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
    /// Does the bias change with size? Masters of several sizes.
    Linearity,
    /// Does the measurement stay the same? One master, visited again and again over days.
    Stability,
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
            StudyKind::Linearity => "linearity",
            StudyKind::Stability => "stability",
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
            StudyKind::Linearity => "linearity: bias over size",
            StudyKind::Stability => "stability over time",
        }
    }

    /// Whether masters of known size are measured in the place of pieces.
    pub const fn is_of_masters(self) -> bool {
        matches!(self, StudyKind::Linearity | StudyKind::Stability)
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
    /// Job whose thread is measured; empty over plain masters.
    #[serde(default)]
    pub job: String,
    /// Feature of the job; empty over plain masters.
    #[serde(default)]
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
    #[serde(default, deserialize_with = "whole")]
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
    /// Of masters: what is measured. `plain` is the reading over plain masters, without wires; `wires` (or
    /// empty) the pitch diameter of threaded ones.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub over: String,
    /// The masters, where the study is of such.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub masters: Vec<MasterForm>,
    /// Of a stability study: days from one visit to the next.
    #[serde(default, skip_serializing_if = "is_zero", deserialize_with = "whole")]
    pub every_days: u32,
    /// The one instrument that may measure for it; empty is any.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub instrument: String,
}

/// A whole number; what is none becomes 0, which the check refuses at its field.
fn whole<'de, D: serde::Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    let found = serde_json::Value::deserialize(from)?;
    let text = found.as_str().map(str::trim);
    let whole = found.as_u64().or_else(|| text?.parse().ok());
    Ok(whole
        .and_then(|whole| u32::try_from(whole).ok())
        .unwrap_or_default())
}

fn is_zero(days: &u32) -> bool {
    *days == 0
}

/// What readings over plain masters are stamped with in the place of a way of holding the wires.
pub const NO_WIRES: &str = "no wires";

/// Most rounds of a study.
const MOST_ROUNDS: u32 = 200;

impl StudyForm {
    /// Whether plain masters are measured, without wires.
    pub fn is_plain(&self) -> bool {
        self.kind.is_of_masters() && self.over == "plain"
    }

    /// The feature whose thread a master carries, counted from 0; over pieces, the study's own.
    pub fn feature_of(&self, piece: usize) -> &str {
        match self.masters.get(piece) {
            Some(master) if !master.feature.is_empty() => &master.feature,
            _ => &self.feature,
        }
    }

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
            _ if self.is_plain() => vec![NO_WIRES.to_owned()],
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
        if self.kind.is_of_masters() {
            return self
                .masters
                .iter()
                .map(|each| each.master.clone())
                .collect();
        }
        match self.pieces.is_empty() {
            true => vec!["the piece".to_owned()],
            false => self.pieces.clone(),
        }
    }

    /// Checks the whole form and gives the study at its beginning.
    ///
    /// # Errors
    /// A sentence for each field that is wrong.
    pub fn check(&self, register: &Register, methods: &[String]) -> Result<Course, Refusals> {
        let mut refusals = Refusals::default();
        if self.study.trim().is_empty() || !is_plain_word(&self.study) {
            refusals.note(
                "study",
                "Give the study a name, at most 80 plain characters.",
            );
        }
        match self.is_plain() {
            true => self.check_without_thread(&mut refusals),
            false => self.check_thread(&mut refusals, register),
        }
        self.check_lists(&mut refusals, methods);
        self.check_rounds(&mut refusals);
        self.check_masters(&mut refusals, register);
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
        Course::new(self).map_err(|error| {
            refusals.note(field_of(&error), format!("{error}."));
            refusals
        })
    }

    fn check_rounds(&self, refusals: &mut Refusals) {
        let (most, what) = match self.kind {
            StudyKind::Stability => (MOST_A_VISIT, "readings a visit"),
            _ => (MOST_ROUNDS, "rounds"),
        };
        if !(1..=most).contains(&self.rounds) {
            refusals.note("rounds", format!("Say 1 to {most} {what}."));
        }
    }

    fn check_masters(&self, refusals: &mut Refusals, register: &Register) {
        if !self.kind.is_of_masters() {
            if !self.masters.is_empty() || !self.over.is_empty() {
                refusals.note("masters", "Only linearity and stability are of masters.");
            }
            return;
        }
        if !matches!(self.over.as_str(), "" | "wires" | "plain") {
            refusals.note("over", "Say plain or wires.");
        }
        masters::check(refusals, self, register);
        let days = 1..=MOST_DAYS;
        if self.kind == StudyKind::Stability && !days.contains(&self.every_days) {
            let told = format!("Say 1 to {MOST_DAYS} days from one visit to the next.");
            refusals.note("every_days", told);
        }
        if self.instrument.trim().is_empty() {
            refusals.note("instrument", "Name the instrument that is to be known.");
        }
        check_text(refusals, "instrument", &self.instrument);
    }

    /// Plain masters belong to no job.
    fn check_without_thread(&self, refusals: &mut Refusals) {
        for (field, text) in [("job", &self.job), ("feature", &self.feature)] {
            if !text.is_empty() {
                refusals.note(field, "Plain masters carry no thread: leave this empty.");
            }
        }
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
            _ if self.is_plain() => wants(
                "methods",
                methods == 0,
                "No wires are held over plain masters: name no method.",
            ),
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
            StudyKind::Linearity | StudyKind::Stability => {
                wants(
                    "pieces",
                    pieces == 0,
                    "Masters are measured: name no pieces.",
                );
                wants("operators", people <= 1, "One person measures.");
            }
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
