//! Worm threads, straight-sided in the axial section (type ZA), by module or diametral pitch.
//!
//! Standard: none for the limits, which come from a drawing; the designation is this program's own,
//! in the trade's words: `WORM m2 d22.4 z2 20deg` or `WORM DP10 d1.25 z2 14.5deg`, with `tip26.4`
//! for the tip diameter if it is known. Common practice, no source.
//!
//! ```text
//! axial pitch   = pi m, or pi / DP inches
//! lead          = starts x axial pitch
//! d             : the reference diameter, where tooth and space are equally wide along the axis
//! flanks        : the axial pressure angle on both sides
//! ```
//!
//! Module, diametral pitch and pressure angle are those of the axial section; a drawing that gives
//! them square to the tooth has to be converted first. Backlash thins the tooth: the pitch diameter
//! measured here is that of the cylinder where groove and ridge are equally wide, and is smaller
//! than d then. The flanks of a worm that was hobbed or ground with a straight tool square to the
//! thread are not straight in the axial section; the exact seat does not hold for those.
//!
//! Range: module 0.1 to 40, diametral pitch 0.6 to 254, 1 to 64 starts, pressure angle 5 to 45
//! degrees, d above 4 modules. There are no limits until they are typed.

use std::f64::consts::PI;

use super::{Basis, Flanks, Geometry, Hand, Ranged, System, Thread, ThreadError};
use crate::decimal::Decimal;
use crate::units::{Length, Pitch, Unit};

const PRACTICE: &str = "worms of type ZA";

/// How the tooth size of a worm is stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToothSize {
    /// Axial module in millimetres; the worm is dimensioned in millimetres.
    Module(Decimal),
    /// Diametral pitch, in teeth to an inch of diameter; the worm is dimensioned in inches.
    DiametralPitch(Decimal),
}

impl ToothSize {
    /// The unit the worm is dimensioned in.
    pub const fn unit(self) -> Unit {
        match self {
            ToothSize::Module(_) => Unit::Millimetre,
            ToothSize::DiametralPitch(_) => Unit::Inch,
        }
    }

    /// The module in the worm's unit.
    fn module(self) -> f64 {
        match self {
            ToothSize::Module(module) => module.value(),
            ToothSize::DiametralPitch(count) => count.value().recip(),
        }
    }
}

/// A worm of type ZA.
///
/// ```
/// use overwire_core::decimal::Decimal;
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::worm::{ToothSize, Worm};
/// let worm = Worm {
///     tooth_size: ToothSize::Module(Decimal::parse("2")?),
///     reference_diameter: Decimal::parse("22.4")?,
///     starts: 2,
///     pressure_angle_deg: Decimal::parse("20")?,
///     tip_diameter: None,
///     hand: Hand::Right,
/// };
/// let thread = worm.thread()?;
/// assert_eq!(thread.designation, "WORM m2 d22.4 z2 20deg");
/// assert!((thread.geometry.lead().mm() - 4.0 * std::f64::consts::PI).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Worm {
    /// Module or diametral pitch.
    pub tooth_size: ToothSize,
    /// Reference diameter, in the worm's unit.
    pub reference_diameter: Decimal,
    /// Number of starts.
    pub starts: u32,
    /// Axial pressure angle in degrees.
    pub pressure_angle_deg: Decimal,
    /// Tip diameter in the worm's unit; without it the crest is not checked.
    pub tip_diameter: Option<Decimal>,
    /// Which way the helix runs.
    pub hand: Hand,
}

impl Worm {
    /// The thread, without limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head;
    /// [`ThreadError::PitchDiameterAboveCrest`] for a tip diameter that is not above d.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let unit = self.tooth_size.unit();
        let reference = self.reference_diameter.length(unit)?;
        let tip = match self.tip_diameter {
            Some(tip) => Some(tip.length(unit)?),
            None => None,
        };
        if let Some(tip) = tip.filter(|&tip| tip <= reference) {
            return Err(ThreadError::PitchDiameterAboveCrest {
                pitch_diameter_mm: reference.mm(),
                major_mm: tip.mm(),
            });
        }
        let angle = self.pressure_angle_deg.value();
        let geometry = Geometry::checked(
            Pitch::from_length(Length::from_unit(self.axial_pitch(), unit)?)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(angle, angle)?,
            tip,
            None,
        )?;
        Ok(Thread {
            system: System::Worm,
            designation: self.designation(),
            geometry,
            limits: None,
            basis: Basis::FormOnly {
                standard: "common practice",
            },
            unit,
            special: false,
            nominal_diameter: tip.unwrap_or(reference),
            basic_pitch_diameter: reference,
        })
    }

    /// From groove to neighbouring groove along the axis, in the worm's unit.
    pub fn axial_pitch(&self) -> f64 {
        PI * self.tooth_size.module()
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let tooth_size = match self.tooth_size {
            ToothSize::Module(module) => format!("m{}", plain(module)),
            ToothSize::DiametralPitch(count) => format!("DP{}", plain(count)),
        };
        let tip = self.tip_diameter.map(|tip| format!(" tip{}", plain(tip)));
        let hand = match self.hand {
            Hand::Right => "",
            Hand::Left => " LH",
        };
        format!(
            "WORM {tooth_size} d{} z{} {}deg{}{hand}",
            plain(self.reference_diameter),
            self.starts,
            plain(self.pressure_angle_deg),
            tip.unwrap_or_default()
        )
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        let outside = |what, found, range| {
            Err(ThreadError::OutsideStandard {
                standard: PRACTICE,
                what,
                found,
                range,
            })
        };
        let (what, size, inside, range) = match self.tooth_size {
            ToothSize::Module(module) => (Ranged::Module, module.value(), 0.1..=40.0, "0.1 to 40"),
            ToothSize::DiametralPitch(count) => (
                Ranged::DiametralPitch,
                count.value(),
                0.6..=254.0,
                "0.6 to 254",
            ),
        };
        if !inside.contains(&size) {
            return outside(what, size, range);
        }
        let angle = self.pressure_angle_deg.value();
        if !(5.0..=45.0).contains(&angle) {
            return outside(Ranged::PressureAngle, angle, "5 to 45 degrees");
        }
        let diameter = self.reference_diameter.value();
        if diameter <= 4.0 * self.tooth_size.module() {
            let what = match self.tooth_size.unit() {
                Unit::Millimetre => Ranged::DiameterMm,
                Unit::Inch => Ranged::DiameterInches,
            };
            return outside(what, diameter, "above 4 modules");
        }
        Ok(())
    }
}

/// A decimal without zeros at its end.
fn plain(number: Decimal) -> String {
    let text = number.to_string();
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}
