//! What a person fills in for a job, a wire set or an instrument: kept as typed, checked as a whole.
//!
//! Numbers stay the text that was typed (`0.0481`, not `0.048100000000000004`), so that a form can be
//! shown again as it was and the record holds what the drawing or certificate says.

use std::collections::BTreeMap;

use overwire_core::decimal::Decimal;
use overwire_core::thread::{Thread, designation};
use overwire_core::units::{Length, Unit, WireDiameter};
use overwire_core::wires::Wires;
use serde::{Deserialize, Serialize};

pub use super::custom::CustomForm;

/// What is wrong with a form: a sentence for each field, by its path (`features.0.thread`).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Refusals(pub BTreeMap<String, String>);

impl Refusals {
    /// Notes what is wrong with a field; the first word on it stands.
    pub fn note(&mut self, field: impl Into<String>, sentence: impl Into<String>) {
        self.0
            .entry(field.into())
            .or_insert_with(|| sentence.into());
    }

    /// Nothing is wrong, or all that is.
    pub fn into_result(self) -> Result<(), Refusals> {
        if self.0.is_empty() { Ok(()) } else { Err(self) }
    }
}

/// A job: what is made, to which drawing, with which threads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobForm {
    /// Name of the job.
    pub job: String,
    /// Drawing number.
    #[serde(default)]
    pub drawing: String,
    /// Its revision.
    #[serde(default)]
    pub drawing_revision: String,
    /// Order.
    #[serde(default)]
    pub order: String,
    /// Lot or serial.
    #[serde(default)]
    pub lot: String,
    /// Counted `inspecting` readings after which the piece number advances.
    #[serde(default = "one")]
    pub readings_a_piece: u32,
    /// The threads on the piece; at least one.
    pub features: Vec<FeatureForm>,
}

fn one() -> u32 {
    1
}

/// One thread on the piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FeatureForm {
    /// Its name on the piece.
    pub name: String,
    /// Designation, as on the drawing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thread: Option<String>,
    /// Or its numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub custom: Option<CustomForm>,
    /// Wire set to take when the feature is chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire_set: Option<String>,
}

/// A wire set: three actual diameters and their certificate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireSetForm {
    /// Name of the set.
    pub wire_set: String,
    /// `mm` or `in`.
    pub unit: String,
    /// One diameter for all, or three, the wire on the single side first.
    pub diameters: Vec<String>,
    /// Certificate number.
    #[serde(default)]
    pub certificate: String,
    /// How the certificate gives the diameter: `under_load` or `free`.
    #[serde(default)]
    pub convention: String,
    /// Calibration due, `YYYY-MM-DD`, or empty.
    #[serde(default)]
    pub due: String,
}

/// An instrument: one micrometer by its serial number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstrumentForm {
    /// Name in the register, as settings use it.
    pub instrument: String,
    /// Serial number.
    #[serde(default)]
    pub serial: String,
    /// Least it measures, in the unit.
    #[serde(default)]
    pub range_min: String,
    /// Most it measures, in the unit.
    #[serde(default)]
    pub range_max: String,
    /// `mm` or `in`.
    #[serde(default)]
    pub unit: String,
    /// Step of its display, in the unit.
    #[serde(default)]
    pub resolution: String,
    /// Certificate number.
    #[serde(default)]
    pub certificate: String,
    /// Calibration due, `YYYY-MM-DD`, or empty.
    #[serde(default)]
    pub due: String,
}

const LONGEST_TEXT: usize = 200;

fn check_text(refusals: &mut Refusals, field: &str, text: &str) {
    if text.chars().count() > LONGEST_TEXT {
        refusals.note(
            field,
            format!("At most {LONGEST_TEXT} characters fit here."),
        );
    } else if text.chars().any(char::is_control) {
        refusals.note(
            field,
            "Control characters (as line breaks) do not belong here.",
        );
    }
}

fn check_name(refusals: &mut Refusals, field: &str, text: &str, what: &str) {
    if text.trim().is_empty() {
        refusals.note(field, format!("Give {what}."));
    }
    if text.trim() != text {
        refusals.note(field, "Take the spaces at its ends away.");
    }
    check_text(refusals, field, text);
}

/// Days since 1970-01-01 of `YYYY-MM-DD`.
pub fn due_day(text: &str) -> Option<i64> {
    let date: jiff::civil::Date = text.parse().ok()?;
    let first = jiff::civil::date(1970, 1, 1);
    Some(i64::from(first.until(date).ok()?.get_days()))
}

fn check_due(refusals: &mut Refusals, text: &str) {
    if !text.is_empty() && due_day(text).is_none() {
        refusals.note(
            "due",
            format!("`{text}` is no date; write it as 2027-01-31."),
        );
    }
}

pub(super) fn unit(refusals: &mut Refusals, field: &str, text: &str) -> Option<Unit> {
    let parsed = Unit::parse(text).ok();
    if parsed.is_none() {
        refusals.note(field, "Say mm or in.");
    }
    parsed
}

/// A number as typed; a comma is refused with advice rather than guessed at.
pub(super) fn number(
    refusals: &mut Refusals,
    field: &str,
    text: &str,
    what: &str,
) -> Option<Decimal> {
    if text.trim().is_empty() {
        refusals.note(field, format!("Give {what}."));
        return None;
    }
    match Decimal::parse(text.trim()) {
        Ok(decimal) => Some(decimal),
        Err(error) => {
            let advice = if text.contains(',') {
                " Use a decimal point."
            } else {
                ""
            };
            refusals.note(field, format!("{error}.{advice}"));
            None
        }
    }
}

pub(super) fn length(
    refusals: &mut Refusals,
    field: &str,
    text: &str,
    what: &str,
    unit: Unit,
) -> Option<Length> {
    let decimal = number(refusals, field, text, what)?;
    match decimal.length(unit) {
        Ok(length) if length.mm() > 0.0 => Some(length),
        Ok(_) => {
            refusals.note(field, format!("{text} must be above 0."));
            None
        }
        Err(error) => {
            refusals.note(field, format!("{error}."));
            None
        }
    }
}

impl JobForm {
    /// Checks the whole form.
    ///
    /// # Errors
    /// A sentence for each field that is wrong.
    pub fn check(&self) -> Result<(), Refusals> {
        let mut refusals = Refusals::default();
        check_name(&mut refusals, "job", &self.job, "the job a name, as J-2417");
        for (field, text) in [
            ("drawing", &self.drawing),
            ("drawing_revision", &self.drawing_revision),
            ("order", &self.order),
            ("lot", &self.lot),
        ] {
            check_text(&mut refusals, field, text);
        }
        if !(1..=100).contains(&self.readings_a_piece) {
            refusals.note("readings_a_piece", "Say 1 to 100 readings a piece.");
        }
        if self.features.is_empty() || self.features.len() > 50 {
            refusals.note("features", "A job has 1 to 50 threads.");
        }
        let mut names = std::collections::BTreeSet::new();
        for (index, feature) in self.features.iter().enumerate() {
            let at = |field: &str| format!("features.{index}.{field}");
            check_name(
                &mut refusals,
                &at("name"),
                &feature.name,
                "the thread a name, as `stud end`",
            );
            if !names.insert(&feature.name) {
                refusals.note(at("name"), "Another thread of this job has this name.");
            }
            if let Err(found) = feature.thread() {
                for (field, sentence) in found.0 {
                    refusals.note(at(&field), sentence);
                }
            }
        }
        refusals.into_result()
    }
}

impl FeatureForm {
    /// The thread, with its limits.
    ///
    /// # Errors
    /// What is wrong, by field (`thread`, `custom.pitch` ...).
    pub fn thread(&self) -> Result<Thread, Refusals> {
        let mut refusals = Refusals::default();
        match (&self.thread, &self.custom) {
            (Some(text), None) => match designation::parse(text) {
                Ok(thread) => return Ok(thread),
                Err(error) => refusals.note("thread", format!("{error}.")),
            },
            (None, Some(custom)) => match custom.thread() {
                Ok(thread) => return Ok(thread),
                Err(found) => {
                    for (field, sentence) in found.0 {
                        refusals.note(format!("custom.{field}"), sentence);
                    }
                }
            },
            _ => refusals.note(
                "thread",
                "Give the thread's designation, or its numbers, and not both.",
            ),
        }
        Err(refusals)
    }
}

impl WireSetForm {
    /// Checks the whole form and gives the wires.
    ///
    /// # Errors
    /// A sentence for each field that is wrong.
    pub fn check(&self) -> Result<Wires, Refusals> {
        let mut refusals = Refusals::default();
        check_name(
            &mut refusals,
            "wire_set",
            &self.wire_set,
            "the wire set a name, as WS-12A",
        );
        check_text(&mut refusals, "certificate", &self.certificate);
        check_due(&mut refusals, &self.due);
        if !matches!(self.convention.as_str(), "" | "under_load" | "free") {
            refusals.note(
                "convention",
                "Say under_load or free: how the certificate gives the diameter.",
            );
        }
        if !matches!(self.diameters.len(), 1 | 3) {
            refusals.note(
                "diameters",
                "Give one diameter for all, or three: the wire on the single side first.",
            );
        }
        let mut diameters = Vec::new();
        if let Some(unit) = unit(&mut refusals, "unit", &self.unit) {
            for (index, text) in self.diameters.iter().enumerate() {
                let field = format!("diameters.{index}");
                let found = length(
                    &mut refusals,
                    &field,
                    text,
                    "the wire's actual diameter",
                    unit,
                );
                diameters.extend(found.and_then(|length| WireDiameter::new(length).ok()));
            }
        }
        refusals.clone().into_result()?;
        match diameters.as_slice() {
            [all] => Ok(Wires::equal(*all)),
            [single, first, second] => Ok(Wires::three(*single, *first, *second)),
            _ => Err(refusals),
        }
    }
}

impl InstrumentForm {
    /// Checks the whole form.
    ///
    /// # Errors
    /// A sentence for each field that is wrong.
    pub fn check(&self) -> Result<(), Refusals> {
        let mut refusals = Refusals::default();
        check_name(
            &mut refusals,
            "instrument",
            &self.instrument,
            "the instrument a name, as MIC-07",
        );
        check_text(&mut refusals, "serial", &self.serial);
        check_text(&mut refusals, "certificate", &self.certificate);
        check_due(&mut refusals, &self.due);
        for (field, text) in [
            ("range_min", &self.range_min),
            ("range_max", &self.range_max),
            ("resolution", &self.resolution),
        ] {
            if !text.is_empty() {
                number(&mut refusals, field, text, "a number");
                unit(&mut refusals, "unit", &self.unit);
            }
        }
        refusals.into_result()
    }
}
