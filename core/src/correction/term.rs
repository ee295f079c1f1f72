//! One correction, and what is said about corrections.

use super::temperature::Warmth;
use crate::compression::{Compression, Force};
use crate::decimal::format_to;
use crate::units::{Length, Unit};

/// What a correction is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TermKind {
    /// The micrometer does not show nothing where it should.
    Zero {
        /// What it shows.
        zero_reading: Length,
    },
    /// The micrometer is not at 20 °C.
    MicrometerTemperature(Warmth),
    /// The measuring force.
    Compression {
        /// The force.
        force: Force,
        /// What gives way where.
        found: Compression,
    },
    /// The wires are not at 20 °C.
    WireTemperature(Warmth),
    /// The part is not at 20 °C.
    PartTemperature(Warmth),
}

/// One correction: signed, and added to the reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// What it is for.
    pub kind: TermKind,
    /// What is added to the reading.
    pub amount: Length,
}

impl Term {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self.kind {
            TermKind::Zero { .. } => "zero",
            TermKind::MicrometerTemperature(_) => "micrometer_temperature",
            TermKind::Compression { .. } => "compression",
            TermKind::WireTemperature(_) => "wire_temperature",
            TermKind::PartTemperature(_) => "part_temperature",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let added = signed(self.amount, unit, places);
        match &self.kind {
            TermKind::Zero { zero_reading } => format!(
                "Zero: {added}, because the micrometer shows {} where it should show nothing.",
                signed(*zero_reading, unit, places)
            ),
            TermKind::MicrometerTemperature(warmth) => {
                format!("Temperature of the micrometer: {added}, {}.", at(warmth))
            }
            TermKind::Compression { force, found } => format!(
                "Compression: {added} under {} N ({} at the flanks, {} at the anvils); the wires \
                 are certified free.",
                format_to(force.newtons(), 1),
                (found.single.flanks + found.pair.flanks).to_text(unit, places),
                (found.single.anvil + found.pair.anvil).to_text(unit, places)
            ),
            TermKind::WireTemperature(warmth) => {
                format!("Temperature of the wires: {added}, {}.", at(warmth))
            }
            TermKind::PartTemperature(warmth) => {
                format!("Temperature of the part: {added}, {}.", at(warmth))
            }
        }
    }
}

/// A length with its sign always shown; nothing has none.
pub(crate) fn signed(length: Length, unit: Unit, places: u8) -> String {
    let text = length.to_text(unit, places);
    let shows_something = text.bytes().any(|byte| matches!(byte, b'1'..=b'9'));
    if length > Length::ZERO && shows_something {
        format!("+{text}")
    } else {
        text
    }
}

fn at(warmth: &Warmth) -> String {
    format!(
        "at {} °C with {} millionths per kelvin",
        format_to(warmth.temperature.celsius(), 1),
        format_to(warmth.expansion.millionths_per_kelvin(), 1)
    )
}

/// What a person should know about corrections made or left out.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// The wires are certified under load: a force was given, and no compression applied.
    CompressionInWires,
    /// The certificate's convention is not known: no compression applied.
    ConventionNotStated,
    /// The wires are certified free but no force was given: no compression applied.
    ForceNotGiven,
    /// The wires mark the part: the compression is a rough one.
    BeyondElastic {
        /// Highest pressure at a flank, in N/mm².
        peak_pressure: f64,
        /// Pressure up to which the softer body springs back, in N/mm².
        elastic_limit: f64,
    },
    /// A temperature was given for something else, so this one was taken as 20 °C.
    TakenAsStandard {
        /// `part`, `wires` or `micrometer`.
        what: &'static str,
    },
}

impl Note {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Note::CompressionInWires => "compression_in_wires",
            Note::ConventionNotStated => "convention_not_stated",
            Note::ForceNotGiven => "force_not_given",
            Note::BeyondElastic { .. } => "beyond_elastic",
            Note::TakenAsStandard { .. } => "taken_as_standard",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self) -> String {
        match self {
            Note::CompressionInWires => super::WireConvention::UnderLoad.sentence().to_owned(),
            Note::ConventionNotStated => super::WireConvention::NotStated.sentence().to_owned(),
            Note::ForceNotGiven => {
                "The wires are certified free but the measuring force is not given: no compression \
                 is added, and the reading is some micrometres small."
                    .to_owned()
            }
            Note::BeyondElastic {
                peak_pressure,
                elastic_limit,
            } => format!(
                "The pressure at the flanks reaches {} N/mm², and the softer material springs back \
                 only up to {} N/mm²: the wires mark the part and the compression is a rough one.",
                format_to(*peak_pressure, 0),
                format_to(*elastic_limit, 0)
            ),
            Note::TakenAsStandard { what } => {
                format!("No temperature was given for the {what}: taken as 20 °C.")
            }
        }
    }
}
