//! What a person fills in for a job, a wire set or an instrument: kept as typed, checked as a whole.
//!
//! Numbers stay the text that was typed (`0.0481`, not `0.048100000000000004`), so that a form can be
//! shown again as it was and the record holds what the drawing or certificate says.

use overwire_core::judge::LARGEST_MIX;
use overwire_core::plating::Plating;
use overwire_core::thread::designation::DesignationError;
use overwire_core::thread::{Basis, Limits, Thread, designation};
use overwire_core::units::{Unit, WireDiameter};
use overwire_core::wires::Wires;
use serde::{Deserialize, Serialize};

pub use super::checking::{Refusals, day_text, due_day};
use super::checking::{check_calibration, check_name};
pub(super) use super::checking::{check_text, length, number, unit};
pub use super::custom::CustomForm;
use super::measuring;

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
    /// What the pieces are made of, by its code; empty is steel.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub material: String,
    /// Decision rule: `simple` (or empty), `ratio` or `guarded`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub decision: String,
    /// Of a guarded decision: conformance probability in percent; empty is 95. Of a ratio: how many
    /// times the uncertainty goes into the tolerance at least; empty is 4.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub decision_value: String,
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
    /// Its characteristic number on the drawing (a balloon's number), or empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub characteristic: String,
    /// Designation, as on the drawing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thread: Option<String>,
    /// Or its numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub custom: Option<CustomForm>,
    /// Wire set to take when the feature is chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire_set: Option<String>,
    /// Limits typed in from the drawing, in place of the designation's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits: Option<LimitsForm>,
    /// Coating to come: the limits hold after it, the thread is measured before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coating: Option<CoatingForm>,
}

/// Pitch diameter limits from a drawing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LimitsForm {
    /// `mm` or `in`.
    pub unit: String,
    /// Smallest pitch diameter allowed.
    pub min: String,
    /// Largest pitch diameter allowed.
    pub max: String,
}

/// Thickness of a coating on the flank.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CoatingForm {
    /// `mm` or `in`.
    pub unit: String,
    /// Least thickness.
    pub thickness_min: String,
    /// Greatest thickness.
    pub thickness_max: String,
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
    /// Expanded uncertainty (k = 2) of a diameter, in the unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub uncertainty: String,
    /// What the wires are made of, by its code; empty is hardened steel.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub material: String,
    /// Day it was calibrated, `YYYY-MM-DD`, or empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub calibrated: String,
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
    /// Largest error its certificate allows, either way, in the unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub max_error: String,
    /// Measuring force, newtons.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub force_n: String,
    /// What a zero check measures, in the unit: a standard's size; empty is closed anvils.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub zero_standard: String,
    /// How far a zero check may be off, in the unit; empty is two steps of the display.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub zero_tolerance: String,
    /// Whether the last zero check is taken off every reading.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub correct_zero: bool,
    /// Certificate number.
    #[serde(default)]
    pub certificate: String,
    /// Day it was calibrated, `YYYY-MM-DD`, or empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub calibrated: String,
    /// Calibration due, `YYYY-MM-DD`, or empty.
    #[serde(default)]
    pub due: String,
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
        measuring::check_material(&mut refusals, &self.material);
        if let Err(found) = self.rule() {
            for (field, sentence) in found.0 {
                refusals.note(field, sentence);
            }
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
            check_text(
                &mut refusals,
                &at("characteristic"),
                &feature.characteristic,
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
    /// The thread, with the limits it is measured to: before a coating that is still to come.
    ///
    /// # Errors
    /// What is wrong, by field (`thread`, `custom.pitch` ...).
    pub fn thread(&self) -> Result<Thread, Refusals> {
        let mut thread = self.finished_thread()?;
        if let Some(limits) = &self.limits {
            thread.limits = Some(limits.check(&thread)?);
            thread.basis = Basis::Typed;
        }
        match &self.coating {
            None => Ok(thread),
            Some(coating) => coating.before(thread),
        }
    }

    /// The thread of a designation. Where the drawing's own limits are typed in, the class may be left out.
    fn designated(&self, text: &str) -> Result<Thread, DesignationError> {
        let read = designation::parse(text);
        if self.limits.is_none() {
            return read;
        }
        read.or_else(|error| {
            let usual = [
                "-6g", "-2A", " UN-2A", "-7e", "-2G", " medium", " A", " normal",
            ];
            let with = usual
                .iter()
                .find_map(|class| designation::parse(&format!("{}{class}", text.trim_end())).ok());
            let thread = with.ok_or(error)?;
            Ok(Thread {
                designation: text.trim().to_owned(),
                ..thread
            })
        })
    }

    /// The thread with the limits of its designation or drawing.
    fn finished_thread(&self) -> Result<Thread, Refusals> {
        let mut refusals = Refusals::default();
        match (&self.thread, &self.custom) {
            (Some(text), None) => match self.designated(text) {
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

impl LimitsForm {
    fn check(&self, thread: &Thread) -> Result<Limits, Refusals> {
        let mut refusals = Refusals::default();
        let Some(unit) = unit(&mut refusals, "limits.unit", &self.unit) else {
            return Err(refusals);
        };
        let min = length(&mut refusals, "limits.min", &self.min, "the smallest", unit);
        let max = length(&mut refusals, "limits.max", &self.max, "the largest", unit);
        let (Some(min), Some(max)) = (min, max) else {
            return Err(refusals);
        };
        if min >= max {
            refusals.note("limits.max", "The largest must be above the smallest.");
            return Err(refusals);
        }
        // Half a pitch either way is farther than any class or coating takes a thread.
        let off = ((min + max) * 0.5 - thread.basic_pitch_diameter).abs();
        if off > thread.geometry.pitch.length() * 0.5 {
            let places = if thread.unit == Unit::Inch { 4 } else { 3 };
            let basic = thread.basic_pitch_diameter.to_text(thread.unit, places);
            refusals.note(
                "limits.max",
                format!("This is far from the thread's pitch diameter of about {basic}: is the unit right?"),
            );
            return Err(refusals);
        }
        Limits::checked(min, max).map_err(|error| {
            refusals.note("limits.max", format!("{error}."));
            refusals
        })
    }
}

impl CoatingForm {
    /// The thread with the limits it must keep before the coating.
    fn before(&self, thread: Thread) -> Result<Thread, Refusals> {
        let mut refusals = Refusals::default();
        let Some(unit) = unit(&mut refusals, "coating.unit", &self.unit) else {
            return Err(refusals);
        };
        let mut thickness = |field: &str, text: &str| {
            let decimal = number(&mut refusals, field, text, "the thickness")?;
            decimal.length(unit).ok()
        };
        let thinnest = thickness("coating.thickness_min", &self.thickness_min);
        let thickest = thickness("coating.thickness_max", &self.thickness_max);
        refusals.clone().into_result()?;
        let (Some(thinnest), Some(thickest)) = (thinnest, thickest) else {
            refusals.note("coating.thickness_max", "This is no thickness.");
            return Err(refusals);
        };
        if thinnest > thickest {
            refusals.note(
                "coating.thickness_max",
                "The most must not be below the least.",
            );
            return Err(refusals);
        }
        let plated = Plating::checked(thinnest, thickest).and_then(|coat| coat.before(&thread));
        match plated {
            Ok(plated) => {
                let places = if thread.unit == Unit::Inch { 4 } else { 3 };
                Ok(Thread {
                    limits: Some(plated.before),
                    basis: Basis::BeforePlating {
                        told: plated.sentence(thread.unit, places),
                        after: Box::new(thread.basis),
                    },
                    ..thread
                })
            }
            Err(error) => {
                refusals.note("coating.thickness_max", format!("{error}."));
                Err(refusals)
            }
        }
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
        check_calibration(&mut refusals, &self.calibrated, &self.due);
        self.check_facts(&mut refusals);
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
            [single, first, second] => {
                let wires = Wires::three(*single, *first, *second);
                if wires.thickest() - wires.thinnest() > wires.mean() * LARGEST_MIX {
                    let told = "Wires of one set agree within a hundredth: is one of another set?";
                    refusals.note("diameters.2", told);
                    return Err(refusals);
                }
                Ok(wires)
            }
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
        check_calibration(&mut refusals, &self.calibrated, &self.due);
        self.check_facts(&mut refusals);
        refusals.into_result()
    }
}
