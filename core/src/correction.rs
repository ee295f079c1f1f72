//! From the reading on the display to the reading that means something.
//!
//! A raw reading may be off by the micrometer's zero, by warmth and by the measuring force. Each is
//! a [`Term`] of its own: signed, optional, *added* to the reading, and never hidden in a sum.
//! The sum of the raw reading and its terms is what enters [`crate::helix`] with the wires and
//! the thread as they are at 20 °C.
//!
//! # The order
//!
//! ```text
//!   raw ─ zero ─ micrometer's warmth ─ force ─ wires' warmth ─ part's warmth ─▶ corrected
//! ```
//!
//! Each term is what its own step adds, so the terms add up exactly and the order matters only
//! in the second order of small things.
//!
//! # Warmth
//!
//! A micrometer whose scale is `1 + a_s ΔT` too long shows too little; the wires are
//! `w (1 + a_w ΔT)`; the part has pitch and diameters grown by `1 + a_p ΔT`, its angles unchanged.
//! So the pitch diameter at 20 °C is
//!
//! ```text
//!   d2 = d2_exact( M (1 + a_s ΔT_s), w (1 + a_w ΔT_w), P (1 + a_p ΔT_p) ) / (1 + a_p ΔT_p)
//! ```
//!
//! by the exact seat, not by a linear rule; the terms are the differences of readings step by step.
//!
//! # Wires under load or free
//!
//! A wire's certificate gives either the diameter under the measuring force, between a flat and a
//! cylinder (ASME practice), or that of the free wire (DIN, EURAMET). Under load, most of the
//! compression is in the diameter already and none is applied; free, it is applied as soon as the
//! force is given. Never both. A set that mixes the two is refused.

mod convention;
mod temperature;
mod term;

use thiserror::Error;

use crate::compression::{self, CompressionError, Pressing};
use crate::helix::{self, HelixError};
use crate::thread::Geometry;
use crate::units::Length;
use crate::wires::Wires;

pub use convention::{ConventionError, WireConvention};
pub use temperature::{
    HOTTEST_CELSIUS, STANDARD_TEMPERATURE, Temperature, TemperatureError, Temperatures, Warmth,
};
pub use term::{Note, Term, TermKind};

/// What is known besides the reading. Everything may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Inputs {
    /// What the micrometer showed where it should have shown nothing: its reading on closed
    /// anvils, or on a standard less the standard's size.
    pub zero_reading: Option<Length>,
    /// How warm things are.
    pub temperatures: Temperatures,
    /// The measuring force and what it presses together.
    pub pressing: Option<Pressing>,
    /// By which convention the wires' certificate gives their diameter.
    pub convention: WireConvention,
}

/// A reading with everything that was corrected.
#[derive(Debug, Clone, PartialEq)]
pub struct Corrected {
    /// As the display showed it.
    pub raw: Length,
    /// What was added, one by one, in the order of the module head.
    pub terms: Vec<Term>,
    /// What a person should know about corrections made or left out.
    pub notes: Vec<Note>,
    /// The raw reading and all terms together.
    pub reading: Length,
}

impl Corrected {
    /// All terms together.
    pub fn total(&self) -> Length {
        self.reading - self.raw
    }

    /// The amount of the first term of this name; nothing when there is none.
    pub fn amount(&self, code: &str) -> Length {
        let found = self.terms.iter().find(|term| term.code() == code);
        found.map_or(Length::ZERO, |term| term.amount)
    }
}

/// Why a reading could not be corrected.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum CorrectionError {
    /// The wires have no seat at this reading.
    #[error("a correction needs to know where the wires sit: {0}")]
    Seat(#[from] HelixError),
    /// The compression could not be computed.
    #[error("the compression cannot be given: {0}")]
    Compression(#[from] CompressionError),
}

impl CorrectionError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            CorrectionError::Seat(error) => error.code(),
            CorrectionError::Compression(error) => error.code(),
        }
    }
}

/// Corrects a reading for what is known.
///
/// # Errors
/// [`CorrectionError`] when a correction was asked for that depends on where the wires sit, and they
/// have no seat at this reading. Without temperatures and force nothing can fail.
///
/// ```
/// use overwire_core::compression::{Force, Material, Pressing};
/// use overwire_core::correction::{Inputs, WireConvention, correct};
/// use overwire_core::{thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("M10x1.5-6g")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.866)?)?);
/// let inputs = Inputs {
///     zero_reading: Some(Length::from_mm(0.002)?),
///     pressing: Some(Pressing::on(Material::HardenedSteel, Force::from_newtons(10.0)?)),
///     convention: WireConvention::Free,
///     ..Inputs::default()
/// };
/// let corrected = correct(&thread.geometry, &wires, Length::from_mm(10.231)?, &inputs)?;
/// let terms: Vec<String> = corrected.terms.iter().map(|term| term.amount.to_text(Unit::Millimetre, 4)).collect();
/// assert_eq!(terms, ["-0.0020 mm", "0.0039 mm"]);
/// assert_eq!(corrected.reading.to_text(Unit::Millimetre, 4), "10.2329 mm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn correct(
    geometry: &Geometry,
    wires: &Wires,
    raw: Length,
    inputs: &Inputs,
) -> Result<Corrected, CorrectionError> {
    let mut corrected = Corrected {
        raw,
        terms: Vec::new(),
        notes: temperature::notes(&inputs.temperatures),
        reading: raw,
    };
    if let Some(zero_reading) = inputs.zero_reading {
        corrected.add(TermKind::Zero { zero_reading }, -zero_reading);
    }
    if let Some(warmth) = inputs.temperatures.micrometer {
        let amount = corrected.reading * warmth.growth();
        corrected.add(TermKind::MicrometerTemperature(warmth), amount);
    }
    compress(geometry, wires, inputs, &mut corrected)?;
    temperature::bring_to_standard(geometry, wires, &inputs.temperatures, &mut corrected)?;
    Ok(corrected)
}

impl Corrected {
    fn add(&mut self, kind: TermKind, amount: Length) {
        self.terms.push(Term { kind, amount });
        self.reading = self.reading + amount;
    }
}

/// Compression, if the wires' convention calls for it.
fn compress(
    geometry: &Geometry,
    wires: &Wires,
    inputs: &Inputs,
    corrected: &mut Corrected,
) -> Result<(), CorrectionError> {
    match (inputs.convention, &inputs.pressing) {
        (WireConvention::UnderLoad, Some(_)) => corrected.notes.push(Note::CompressionInWires),
        (WireConvention::UnderLoad, None) => {}
        (WireConvention::NotStated, _) => corrected.notes.push(Note::ConventionNotStated),
        (WireConvention::Free, None) => corrected.notes.push(Note::ForceNotGiven),
        (WireConvention::Free, Some(pressing)) => {
            let seated = helix::pitch_diameter(geometry, wires, corrected.reading)?;
            let found = compression::compression(geometry, wires, seated.pitch_diameter, pressing)?;
            if found.is_beyond_elastic() {
                corrected.notes.push(Note::BeyondElastic {
                    peak_pressure: found.peak_pressure,
                    elastic_limit: found.elastic_limit,
                });
            }
            let force = pressing.force;
            corrected.add(TermKind::Compression { force, found }, found.total());
        }
    }
    Ok(())
}
