//! The plane formulas of the handbooks: three circles in a V, the lead left out.
//!
//! `M = d2 + w K - P C`, with the wire coefficient
//! `K = 1 + cos((a1 - a2)/2) / sin((a1 + a2)/2)` and the pitch coefficient
//! `C = 1 / (tan a1 + tan a2)`. For equal flanks these are `1 + 1/sin a` and
//! `cot a / 2`. P is always the pitch, never the lead.
//!
//! Verdicts never use these: [`crate::helix`] does. They are here to show the
//! difference, to compare with printed tables, and to start an iteration.
//! Sources: the equal-flank form is in every handbook (ASME B1.2, H28); the
//! form for unequal flanks was derived here and gives the constants of ASME B1.9.

use crate::thread::{Flanks, Geometry};
use crate::units::Length;
use crate::wires::Wires;

/// What one unit of wire diameter adds to the reading: 3 for a 60-degree thread.
///
/// ```
/// use overwire_core::{plane::wire_coefficient, thread::Flanks};
/// let coefficient = wire_coefficient(&Flanks::from_degrees(30.0, 30.0)?);
/// assert!((coefficient - 3.0).abs() < 1e-14);
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
pub fn wire_coefficient(flanks: &Flanks) -> f64 {
    let (leading, trailing) = (flanks.leading.radians(), flanks.trailing.radians());
    1.0 + ((leading - trailing) / 2.0).cos() / ((leading + trailing) / 2.0).sin()
}

/// What one unit of pitch takes off the reading: 0.866025 for a 60-degree thread.
pub fn pitch_coefficient(flanks: &Flanks) -> f64 {
    1.0 / (flanks.leading.tan() + flanks.trailing.tan())
}

/// What stands between reading and pitch diameter: `d2 = M - constant`.
///
/// This is the number marked on wire boxes, valid for one wire size, pitch and angle.
pub fn constant(geometry: &Geometry, wires: &Wires) -> Length {
    let wire_part = wires.seated_mean() * wire_coefficient(&geometry.flanks);
    let pitch_part = geometry.pitch.length() * pitch_coefficient(&geometry.flanks);
    wire_part - pitch_part
}

/// The reading a thread of this pitch diameter would give if it had no lead.
pub fn plane_over_wires(geometry: &Geometry, wires: &Wires, pitch_diameter: Length) -> Length {
    pitch_diameter + constant(geometry, wires)
}

/// The pitch diameter this reading would mean if the thread had no lead.
///
/// ```
/// use overwire_core::{plane, thread::designation, units::*, wires::Wires};
/// // 7/16-14 over 0.045 in wires: a club sheet prints 0.464 in over basic size.
/// let thread = designation::parse("7/16-14 UNC-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.045)?)?);
/// let reading = Length::from_inches(0.464247)?;
/// let pitch_diameter = plane::plane_pitch_diameter(&thread.geometry, &wires, reading);
/// assert_eq!(pitch_diameter.to_text(Unit::Inch, 4), "0.3911 in");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn plane_pitch_diameter(geometry: &Geometry, wires: &Wires, over_wires: Length) -> Length {
    over_wires - constant(geometry, wires)
}

/// The closed form of ASME B1.2 (and of H28 before it) for equal flanks; `None` for unequal ones.
///
/// `M = d2 + w [1 + sqrt(1/sin² a + cot² a tan² L)] - (P/2) cot a`, with the lead angle L taken
/// on the pitch cylinder. Written down from memory. It is the plane formula in a section square
/// to the groove, and comes out too large by about `0.12 P² tan² L / d2` with best-size wires.
pub fn asme_b1_2_over_wires(
    geometry: &Geometry,
    wires: &Wires,
    pitch_diameter: Length,
) -> Option<Length> {
    if !geometry.flanks.is_symmetric() {
        return None;
    }
    let flank = geometry.flanks.leading;
    let lead_tangent = geometry.lead_angle_at(pitch_diameter).tan();
    let slanted = (lead_tangent / flank.tan()).hypot(1.0 / flank.sin());
    let wire_part = wires.seated_mean() * (1.0 + slanted);
    let pitch_part = geometry.pitch.length() * pitch_coefficient(&geometry.flanks);
    Some(pitch_diameter + wire_part - pitch_part)
}
