//! What a person fills in for a job, a wire set or an instrument: kept as typed, checked as a whole.
//!
//! Numbers stay the text that was typed (`0.0481`, not `0.048100000000000004`), so that a form can be
//! shown again as it was and the record holds what the drawing or certificate says.

use std::collections::BTreeMap;

use overwire_core::decimal::Decimal;
use overwire_core::thread::custom::{CustomThread, TypedLimits};
use overwire_core::thread::{Flanks, Hand, Thread, designation};
use overwire_core::units::{Length, Pitch, Unit, WireDiameter};
use overwire_core::wires::Wires;
use serde::{Deserialize, Serialize};

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

/// A thread by its numbers, as typed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
pub struct CustomForm {
    /// `mm` or `in`, for every length here.
    pub unit: String,
    /// Pitch (not lead), in the unit.
    pub pitch: String,
    /// Or threads per inch.
    pub threads_per_inch: String,
    /// Starts; 0 and left out mean one.
    pub starts: u32,
    /// `right` or `left`.
    pub hand: String,
    /// Half of the thread angle, degrees.
    pub flank_deg: String,
    /// Largest major diameter; may be left out.
    pub major_diameter: String,
    /// Smallest pitch diameter allowed.
    pub pitch_diameter_min: String,
    /// Largest pitch diameter allowed.
    pub pitch_diameter_max: String,
    /// Or smallest measurement over wires allowed.
    pub over_wires_min: String,
    /// And largest.
    pub over_wires_max: String,
    /// Over wires of this diameter.
    pub wire: String,
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

fn unit(refusals: &mut Refusals, field: &str, text: &str) -> Option<Unit> {
    let parsed = Unit::parse(text).ok();
    if parsed.is_none() {
        refusals.note(field, "Say mm or in.");
    }
    parsed
}

/// A number as typed; a comma is refused with advice rather than guessed at.
fn number(refusals: &mut Refusals, field: &str, text: &str, what: &str) -> Option<Decimal> {
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

fn length(
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

impl CustomForm {
    /// The thread, with its limits.
    ///
    /// # Errors
    /// A sentence for each field that is wrong.
    pub fn thread(&self) -> Result<Thread, Refusals> {
        let mut refusals = Refusals::default();
        let Some(unit) = unit(&mut refusals, "unit", &self.unit) else {
            return Err(refusals);
        };
        let pitch = self.pitch(&mut refusals, unit);
        let hand = match self.hand.as_str() {
            "" | "right" => Some(Hand::Right),
            "left" => Some(Hand::Left),
            _ => {
                refusals.note("hand", "Say right or left.");
                None
            }
        };
        let flanks = self.flanks(&mut refusals);
        let major = if self.major_diameter.trim().is_empty() {
            None
        } else {
            length(
                &mut refusals,
                "major_diameter",
                &self.major_diameter,
                "the major diameter",
                unit,
            )
        };
        let limits = self.limits(&mut refusals, unit);
        refusals.clone().into_result()?;
        let (Some(pitch), Some(hand), Some(flanks), Some(limits)) = (pitch, hand, flanks, limits)
        else {
            return Err(refusals);
        };
        let starts = self.starts.max(1);
        let custom = CustomThread {
            unit,
            pitch,
            starts,
            hand,
            flanks,
            major_diameter: major,
            root_diameter: None,
            limits,
        };
        custom.build().map_err(|error| {
            refusals.note("pitch", format!("{error}."));
            refusals
        })
    }

    fn pitch(&self, refusals: &mut Refusals, unit: Unit) -> Option<Pitch> {
        let (pitch, tpi) = (self.pitch.trim(), self.threads_per_inch.trim());
        if !pitch.is_empty() && !tpi.is_empty() {
            refusals.note("pitch", "Give the pitch or the threads per inch, not both.");
            return None;
        }
        let built = if tpi.is_empty() {
            Pitch::from_length(length(
                refusals,
                "pitch",
                pitch,
                "the pitch, or threads per inch",
                unit,
            )?)
        } else {
            Pitch::from_threads_per_inch(
                number(refusals, "threads_per_inch", tpi, "threads per inch")?.value(),
            )
        };
        let field = if tpi.is_empty() {
            "pitch"
        } else {
            "threads_per_inch"
        };
        built
            .map_err(|error| refusals.note(field, format!("{error}.")))
            .ok()
    }

    fn flanks(&self, refusals: &mut Refusals) -> Option<Flanks> {
        let text = if self.flank_deg.trim().is_empty() {
            "30"
        } else {
            &self.flank_deg
        };
        let degrees = number(refusals, "flank_deg", text, "the flank angle in degrees")?.value();
        Flanks::from_degrees(degrees, degrees)
            .map_err(|error| refusals.note("flank_deg", format!("{error}.")))
            .ok()
    }

    fn limits(&self, refusals: &mut Refusals, unit: Unit) -> Option<TypedLimits> {
        let typed = |text: &str| !text.trim().is_empty();
        let by_pitch_diameter = typed(&self.pitch_diameter_min) || typed(&self.pitch_diameter_max);
        let by_over_wires = typed(&self.over_wires_min) || typed(&self.over_wires_max);
        if by_pitch_diameter && by_over_wires {
            refusals.note(
                "pitch_diameter_min",
                "Give limits of the pitch diameter or over wires, not both.",
            );
            return None;
        }
        if by_pitch_diameter {
            let min = length(
                refusals,
                "pitch_diameter_min",
                &self.pitch_diameter_min,
                "the smallest pitch diameter",
                unit,
            );
            let max = length(
                refusals,
                "pitch_diameter_max",
                &self.pitch_diameter_max,
                "the largest pitch diameter",
                unit,
            );
            return Some(TypedLimits::PitchDiameter {
                min: min?,
                max: max?,
            });
        }
        if by_over_wires {
            let min = length(
                refusals,
                "over_wires_min",
                &self.over_wires_min,
                "the smallest over wires",
                unit,
            );
            let max = length(
                refusals,
                "over_wires_max",
                &self.over_wires_max,
                "the largest over wires",
                unit,
            );
            let wire = length(
                refusals,
                "wire",
                &self.wire,
                "the wire these limits are for",
                unit,
            );
            let wire = WireDiameter::new(wire?).ok()?;
            return Some(TypedLimits::OverWires {
                min: min?,
                max: max?,
                wires: Wires::equal(wire),
            });
        }
        refusals.note(
            "pitch_diameter_min",
            "Give the limits from the drawing: of the pitch diameter, or over wires.",
        );
        None
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
