//! A thread described by its own numbers.
//!
//! Standard: none; the numbers come from a drawing. Any pitch, 1 to 64 starts, equal or unequal
//! flanks. Limits are typed as pitch diameters, or as readings over named wires: the latter are
//! turned into pitch diameters once, by the exact seat ([`crate::helix`]), unrounded, and every
//! later reading is judged by pitch diameter. A chart's constant is never added to anything.

use super::{Basis, Flanks, Geometry, Hand, Limits, System, Thread, ThreadError};
use crate::helix;
use crate::units::{Angle, Length, Pitch, Unit};
use crate::wires::Wires;

/// Limits as a person types them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TypedLimits {
    /// Pitch diameter limits.
    PitchDiameter {
        /// Smallest pitch diameter that passes.
        min: Length,
        /// Largest pitch diameter that passes.
        max: Length,
    },
    /// Limits on the reading over particular wires.
    OverWires {
        /// Smallest reading that passes.
        min: Length,
        /// Largest reading that passes.
        max: Length,
        /// The wires these readings are meant for.
        wires: Wires,
    },
    /// No limits: the thread is only measured.
    None,
}

/// A thread described by its own numbers; [`CustomThread::build`] checks them.
///
/// ```
/// use overwire_core::thread::{Flanks, Hand, custom::{CustomThread, TypedLimits}};
/// use overwire_core::units::{Length, Pitch, Unit};
///
/// let leadscrew = CustomThread {
///     unit: Unit::Millimetre,
///     pitch: Pitch::from_length(Length::from_mm(6.0)?)?,
///     starts: 1,
///     hand: Hand::Right,
///     flanks: Flanks::from_degrees(15.0, 15.0)?,
///     major_diameter: Some(Length::from_mm(36.0)?),
///     root_diameter: None,
///     limits: TypedLimits::PitchDiameter {
///         min: Length::from_mm(32.55)?,
///         max: Length::from_mm(32.88)?,
///     },
/// };
/// let thread = leadscrew.build()?;
/// assert_eq!(thread.designation, "30 degree thread, major diameter 36 mm, pitch 6 mm");
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CustomThread {
    /// The unit the drawing is in.
    pub unit: Unit,
    /// From groove to neighbouring groove, never the lead.
    pub pitch: Pitch,
    /// Number of starts.
    pub starts: u32,
    /// Which way the helix runs.
    pub hand: Hand,
    /// The two flank angles.
    pub flanks: Flanks,
    /// The largest major diameter; without it crest contact cannot be checked.
    pub major_diameter: Option<Length>,
    /// The diameter of the groove's bottom; without it bottoming is not checked.
    pub root_diameter: Option<Length>,
    /// The limits.
    pub limits: TypedLimits,
}

impl CustomThread {
    /// Checks the numbers and makes the thread.
    ///
    /// # Errors
    /// A geometry or limits that make no sense, a pitch diameter above the crest, or nothing
    /// that says how big the thread is.
    pub fn build(&self) -> Result<Thread, ThreadError> {
        let geometry = Geometry::checked(
            self.pitch,
            self.starts,
            self.hand,
            self.flanks,
            self.major_diameter,
            self.root_diameter,
        )?;
        let (limits, basis) = self.checked_limits(&geometry)?;
        let basic = self.basic_pitch_diameter(limits.as_ref())?;
        let largest = limits.map_or(basic, |limits| limits.pitch_diameter_max);
        if let Some(major) = self.major_diameter
            && largest >= major
        {
            return Err(ThreadError::PitchDiameterAboveCrest {
                pitch_diameter_mm: largest.mm(),
                major_mm: major.mm(),
            });
        }
        Ok(Thread {
            system: System::Custom,
            designation: self.description(),
            geometry,
            limits,
            basis,
            unit: self.unit,
            special: false,
            nominal_diameter: self.major_diameter.unwrap_or(basic),
            basic_pitch_diameter: basic,
        })
    }

    fn checked_limits(&self, geometry: &Geometry) -> Result<(Option<Limits>, Basis), ThreadError> {
        match self.limits {
            TypedLimits::None => Ok((None, Basis::Typed)),
            TypedLimits::PitchDiameter { min, max } => {
                Ok((Some(Limits::checked(min, max)?), Basis::Typed))
            }
            TypedLimits::OverWires { min, max, wires } => {
                Limits::checked(min, max)?;
                let convert = |reading| {
                    helix::pitch_diameter(geometry, &wires, reading)
                        .map(|seated| seated.pitch_diameter)
                        .map_err(|source| ThreadError::LimitsNotConvertible { source })
                };
                let limits = Limits::checked(convert(min)?, convert(max)?)?;
                Ok((Some(limits), Basis::TypedOverWires { min, max, wires }))
            }
        }
    }

    /// The middle of the limits. Without limits an estimate from the crest: the usual depth to the
    /// pitch line is 0.65 P on steep-sided V threads of 45 degrees and more, and 0.5 P on the
    /// 29 and 30 degree forms. Common practice, no source; it only suggests wire sizes.
    fn basic_pitch_diameter(&self, limits: Option<&Limits>) -> Result<Length, ThreadError> {
        match (limits, self.major_diameter) {
            (Some(limits), _) => Ok(limits.middle()),
            (None, Some(major)) => {
                let vee = self.flanks.included() >= Angle::from_degrees(45.0)?;
                let depth = if vee { 0.65 } else { 0.5 };
                let basic = major - self.pitch.length() * depth;
                Ok(Limits::checked(basic, major)?.pitch_diameter_min)
            }
            (None, None) => Err(ThreadError::SizeUnknown),
        }
    }

    fn description(&self) -> String {
        let unit = self.unit;
        let number = |length: Length| trimmed(length.in_unit(unit), 5);
        let mut text = format!("{} thread", self.angle_text());
        if let Some(major) = self.major_diameter {
            text += &format!(", major diameter {} {unit}", number(major));
        }
        text += &format!(", pitch {} {unit}", number(self.pitch.length()));
        if self.starts > 1 {
            text += &format!(", {} starts", self.starts);
        }
        if self.hand == Hand::Left {
            text += ", left hand";
        }
        text
    }

    fn angle_text(&self) -> String {
        let degrees = |angle: Angle| trimmed(angle.degrees(), 4);
        match self.flanks.is_symmetric() {
            true => format!("{} degree", degrees(self.flanks.included())),
            false => format!(
                "{}/{} degree",
                degrees(self.flanks.leading),
                degrees(self.flanks.trailing)
            ),
        }
    }
}

/// A number with at most so many places and no zeros at its end.
fn trimmed(number: f64, places: u8) -> String {
    let text = crate::decimal::format_to(number, places);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
