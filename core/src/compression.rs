//! What the measuring force squeezes out of a reading.
//!
//! Under force F the lone wire sinks into its two flanks and yields against its anvil; each wire
//! of the pair does the same under F/2. The reading comes out small by
//!
//! ```text
//!   dM = Σ_flanks N_i d_i / F   +   line(F)          the lone wire
//!      + mean of the pair: Σ_flanks N_i d_i / (F/2) + line(F/2)
//! ```
//!
//! with the normal forces N from the balance across the wire, the approach d of wire and flank
//! by Hertz's point contact with the curvature of the helicoid, twist included, and a line
//! contact on the anvil. For equal flanks without lead `N = F / (2 sin a)`. The
//! result is *added* to the reading to get what would be read without force.
//! About two thirds of a change of force, as a share, go into the compression.
//!
//! # What is assumed
//!
//! * The wire diameter is that of the free wire. A wire certified under load carries most of this
//!   already: see [`crate::correction::WireConvention`]. Never apply both.
//! * Clean contact without friction, bodies much larger than the contact; no bending of thread,
//!   wire or frame. The anvil contact is as long as [`Pressing::anvil_contact`].
//! * Everything springs back. Past [`Compression::elastic_limit`] the number is formal only, and a
//!   mark stays on the softer body.
//!
//! Sources: derived here on Hertz's equations (Johnson; Puttock & Thwaite, from memory), checked
//! against an independent calculation; no printed values were found for threads.

mod elliptic;
mod flank;
mod force;
mod hertz;
mod material;

use thiserror::Error;

use crate::helix::{self, HelixError};
use crate::thread::Geometry;
use crate::units::{Length, Unit, WireDiameter};
use crate::wires::Wires;

pub use force::{
    Force, ForceError, NEWTONS_PER_POUND, RecommendedForce, STRONGEST_NEWTONS, recommended_force,
};
pub use material::{Elasticity, Expansion, Material, MaterialError};

/// The length of anvil a wire usually lies on: a quarter of an inch.
pub const USUAL_ANVIL_CONTACT: Length = Length::computed(6.35);

/// What presses on what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressing {
    /// The measuring force.
    pub force: Force,
    /// The threaded part.
    pub part: Elasticity,
    /// The wires.
    pub wires: Elasticity,
    /// The anvils.
    pub anvils: Elasticity,
    /// The length over which a wire lies on its anvil; above zero.
    pub anvil_contact: Length,
}

impl Pressing {
    /// A part of this material between hardened steel wires and anvils.
    pub const fn on(part: Material, force: Force) -> Pressing {
        Pressing {
            force,
            part: part.elasticity(),
            wires: Material::HardenedSteel.elasticity(),
            anvils: Material::HardenedSteel.elasticity(),
            anvil_contact: USUAL_ANVIL_CONTACT,
        }
    }

    /// The same under another force.
    pub const fn with_force(self, force: Force) -> Pressing {
        Pressing { force, ..self }
    }
}

/// Why a compression could not be computed.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum CompressionError {
    /// The wires have no seat.
    #[error(transparent)]
    Seat(#[from] HelixError),
    /// The anvil contact is not above zero.
    #[error("the wires must lie on the anvils for more than 0 mm, found {found_mm} mm")]
    AnvilContact {
        /// The length that was given.
        found_mm: f64,
    },
    /// Wire and flank do not part in every direction: the wire lies along the flank.
    #[error("wire and flank touch along a line here, not at a point: no compression can be given")]
    NoPointContact,
}

impl CompressionError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            CompressionError::Seat(error) => error.code(),
            CompressionError::AnvilContact { .. } => "anvil-contact",
            CompressionError::NoPointContact => "no-point-contact",
        }
    }
}

/// What one anvil's side gives way by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideCompression {
    /// The wires sink into the flanks.
    pub flanks: Length,
    /// Wire and anvil come together.
    pub anvil: Length,
}

impl SideCompression {
    /// Both together.
    pub fn total(&self) -> Length {
        self.flanks + self.anvil
    }
}

/// What the measuring force takes off a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compression {
    /// The side of the lone wire.
    pub single: SideCompression,
    /// The side of the pair.
    pub pair: SideCompression,
    /// The highest pressure between a wire and a flank, in N/mm².
    pub peak_pressure: f64,
    /// The pressure up to which the softer of wire and part springs back, in N/mm².
    pub elastic_limit: f64,
}

impl Compression {
    /// What is to be added to the reading.
    pub fn total(&self) -> Length {
        self.single.total() + self.pair.total()
    }

    /// Whether the softer body keeps a mark, so that the amount is formal only.
    pub fn is_beyond_elastic(&self) -> bool {
        self.peak_pressure > self.elastic_limit
    }

    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self.is_beyond_elastic() {
            true => "beyond_elastic",
            false => "elastic",
        }
    }

    /// One or two sentences for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: Length| length.to_text(unit, places);
        let amount = format!(
            "The measuring force makes the reading small by {}: {} at the flanks, {} at the anvils.",
            text(self.total()),
            text(self.single.flanks + self.pair.flanks),
            text(self.single.anvil + self.pair.anvil)
        );
        if !self.is_beyond_elastic() {
            return amount;
        }
        format!(
            "{amount} The pressure at the flanks reaches {:.0} N/mm², beyond the {:.0} N/mm² up to \
             which the softer material springs back: the wires mark it, and the amount is only a \
             rough one. Use less force.",
            self.peak_pressure, self.elastic_limit
        )
    }
}

/// What this pressing takes off a reading on a thread of this pitch diameter.
///
/// # Errors
/// [`CompressionError`] when the wires have no seat, lie along the flanks, or the length of the
/// anvil contact is not above zero.
///
/// ```
/// use overwire_core::compression::{Force, Material, Pressing, compression};
/// use overwire_core::{thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("1/2-13 UNC-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.04441)?)?);
/// let pressing = Pressing::on(Material::HardenedSteel, Force::from_pounds(2.5)?);
/// let found = compression(&thread.geometry, &wires, Length::from_inches(0.45)?, &pressing)?;
/// assert_eq!(found.total().to_text(Unit::Millimetre, 4), "0.0039 mm");
/// assert!(!found.is_beyond_elastic());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn compression(
    geometry: &Geometry,
    wires: &Wires,
    pitch_diameter: Length,
    pressing: &Pressing,
) -> Result<Compression, CompressionError> {
    if pressing.anvil_contact <= Length::ZERO {
        return Err(CompressionError::AnvilContact {
            found_mm: pressing.anvil_contact.mm(),
        });
    }
    let force = pressing.force.newtons();
    let under = |wire: WireDiameter, force: f64| {
        wire_under(geometry, wire.mm(), pitch_diameter.mm(), force, pressing)
    };
    let single = under(wires.single, force)?;
    let [first, second] = wires.pair;
    let (first, second) = (under(first, force / 2.0)?, under(second, force / 2.0)?);
    let softer = pressing.part.elastic_pressure_n_per_mm2();
    Ok(Compression {
        single: single.side,
        pair: SideCompression {
            flanks: (first.side.flanks + second.side.flanks) * 0.5,
            anvil: (first.side.anvil + second.side.anvil) * 0.5,
        },
        peak_pressure: single.peak.max(first.peak).max(second.peak),
        elastic_limit: softer.min(pressing.wires.elastic_pressure_n_per_mm2()),
    })
}

/// One wire under its share of the force.
struct PressedWire {
    side: SideCompression,
    peak: f64,
}

fn wire_under(
    geometry: &Geometry,
    wire: f64,
    pitch_diameter: f64,
    force: f64,
    pressing: &Pressing,
) -> Result<PressedWire, CompressionError> {
    let seat = helix::wire_seat(geometry, wire, pitch_diameter)?;
    let compliance = pressing.part.compliance() + pressing.wires.compliance();
    let (mut sink, mut peak) = (0.0, 0.0_f64);
    for contact in flank::contacts(geometry, wire / 2.0, &seat) {
        let normal_force = force * contact.share;
        let pressed = hertz::point_contact(contact.curvatures, normal_force, compliance)
            .ok_or(CompressionError::NoPointContact)?;
        sink += contact.share * pressed.approach;
        peak = peak.max(pressed.peak_pressure);
    }
    let compliance = pressing.anvils.compliance() + pressing.wires.compliance();
    let length = pressing.anvil_contact.mm();
    let anvil = hertz::line_contact(wire / 2.0, length, force, compliance);
    Ok(PressedWire {
        side: SideCompression {
            flanks: Length::computed(sink),
            anvil: Length::computed(anvil),
        },
        peak,
    })
}
