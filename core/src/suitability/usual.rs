//! What a shop would have got by hand: the constant on the wire box, and the usual formulas.

use crate::helix::{self, HelixError};
use crate::plane;
use crate::thread::Geometry;
use crate::units::{Length, Unit};
use crate::wires::Wires;

/// What stands between reading and pitch diameter: `d2 = M - constant`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoxConstants {
    /// As marked on wire boxes for a pitch: the lead left out.
    pub plane: Length,
    /// With the lead, exact at this pitch diameter.
    pub with_lead: Length,
}

impl BoxConstants {
    /// What the marked constant leaves out.
    pub fn lead_part(&self) -> Length {
        self.with_lead - self.plane
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: Length| length.to_text(unit, places);
        format!(
            "Constant to take off a reading: {} as marked on a wire box, {} with the lead, {} more.",
            text(self.plane),
            text(self.with_lead),
            text(self.lead_part())
        )
    }
}

/// The constants of these wires on a thread of about this pitch diameter.
///
/// # Errors
/// [`HelixError`] when the wires have no seat.
///
/// ```
/// use overwire_core::suitability::box_constants;
/// use overwire_core::{thread::designation, units::*, wires::Wires};
/// // Best-size wires on a 60-degree thread: 0.866025 of the pitch.
/// let thread = designation::parse("1-8 UNC-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.072169)?)?);
/// let found = box_constants(&thread.geometry, &wires, Length::from_inches(0.9188)?)?;
/// assert_eq!(found.plane.to_text(Unit::Inch, 5), "0.10825 in");
/// assert_eq!(found.lead_part().to_text(Unit::Inch, 5), "0.00010 in");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn box_constants(
    geometry: &Geometry,
    wires: &Wires,
    pitch_diameter: Length,
) -> Result<BoxConstants, HelixError> {
    let seated = helix::over_wires(geometry, wires, pitch_diameter)?;
    Ok(BoxConstants {
        plane: plane::constant(geometry, wires),
        with_lead: seated.over_wires - pitch_diameter,
    })
}

/// The pitch diameter by the exact seat beside those of the usual formulas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsualFormulas {
    /// By the exact seat.
    pub exact: Length,
    /// By the plane formula, which leaves the lead out.
    pub plane: Length,
    /// By the closed form of ASME B1.2; `None` for unequal flanks, for which it does not hold.
    pub asme_b1_2: Option<Length>,
}

impl UsualFormulas {
    /// By how much the plane formula is too large; negative when too small.
    pub fn plane_excess(&self) -> Length {
        self.plane - self.exact
    }

    /// By how much the closed form of ASME B1.2 is too large; negative when too small.
    pub fn asme_b1_2_excess(&self) -> Option<Length> {
        self.asme_b1_2.map(|closed| closed - self.exact)
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let by = |formula: &str, found: Length, excess: Length| {
            let side = match excess < Length::ZERO {
                true => "small",
                false => "large",
            };
            format!(
                "{formula} would have said {}, {} too {side}",
                found.to_text(unit, places),
                excess.abs().to_text(unit, places)
            )
        };
        let plane = by(
            "The formula without the lead",
            self.plane,
            self.plane_excess(),
        );
        match (self.asme_b1_2, self.asme_b1_2_excess()) {
            (Some(closed), Some(excess)) => {
                format!("{plane}; {}.", by("that of ASME B1.2", closed, excess))
            }
            _ => format!("{plane}."),
        }
    }
}

/// What the usual formulas make of a reading.
///
/// # Errors
/// [`HelixError`] when no thread of this geometry could give the reading.
pub fn usual_formulas(
    geometry: &Geometry,
    wires: &Wires,
    over_wires: Length,
) -> Result<UsualFormulas, HelixError> {
    let seated = helix::pitch_diameter(geometry, wires, over_wires)?;
    Ok(UsualFormulas {
        exact: seated.pitch_diameter,
        plane: seated.plane_pitch_diameter,
        asme_b1_2: asme_b1_2(geometry, wires, over_wires, seated.pitch_diameter),
    })
}

/// The closed form turned round: its reading grows with the pitch diameter nearly one to one, so
/// adding what is missing settles quickly.
fn asme_b1_2(
    geometry: &Geometry,
    wires: &Wires,
    over_wires: Length,
    start: Length,
) -> Option<Length> {
    let mut diameter = start;
    for _ in 0..100 {
        let closed = plane::asme_b1_2_over_wires(geometry, wires, diameter)?;
        let missing = over_wires - closed;
        if missing.abs().mm() <= 1e-14 * over_wires.mm() {
            return Some(diameter);
        }
        diameter = Length::from_mm((diameter + missing).mm()).ok()?;
        if diameter <= Length::ZERO {
            return None;
        }
    }
    None
}
