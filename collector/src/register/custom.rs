//! A thread given by its numbers instead of a designation: kept as typed, checked as a whole.

use overwire_core::thread::custom::{CustomThread, TypedLimits};
use overwire_core::thread::{Flanks, Hand, Thread};
use overwire_core::units::{Pitch, Unit, WireDiameter};
use overwire_core::wires::Wires;
use serde::{Deserialize, Serialize};

use super::forms::{Refusals, length, number, unit};

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
