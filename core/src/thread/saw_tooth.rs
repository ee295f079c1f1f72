//! Metric saw-tooth threads S, 3 and 30 degrees.
//!
//! Standard: DIN 513, form from memory. The tolerances of its classes are not known here: a
//! saw-tooth thread comes without limits, to be measured, until limits are typed from a drawing.
//!
//! ```text
//! basic d2    = d - 0.75 P
//! root        = d - 1.73554 P
//! ```
//!
//! The load flank, of 3 degrees, follows; the flank of 30 degrees leads, as on a screw that pulls.
//! Exchanging the two leaves a measurement over wires unchanged.
//!
//! Rounding: d2 and root to 0.001 mm. Range: diameters from 5 to 1000 mm, pitch from 1 to 64 mm, at
//! most 0.4 of the diameter, any number of starts with P the pitch and not the lead. Whether a
//! size is listed is not known here; none is marked special.

use super::rounding::{from_micrometres, micrometres};
use super::trapezoidal::{hand_mark, size_and_lead};
use super::{Basis, Flanks, Geometry, Hand, Ranged, System, Thread, ThreadError};
use crate::units::{Pitch, Unit};

const STANDARD: &str = "DIN 513";

/// A tolerance class as written, such as `7e`; it is kept but gives no limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Class {
    /// Tolerance grade, 5 to 10.
    pub grade: u8,
    /// Tolerance position, a small letter.
    pub position: char,
}

/// A metric saw-tooth external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::saw_tooth::SawTooth;
/// let thread = SawTooth {
///     diameter_um: 40_000,
///     pitch_um: 7_000,
///     starts: 1,
///     class: None,
///     hand: Hand::Right,
/// }
/// .thread()?;
/// assert_eq!(thread.designation, "S40x7");
/// assert_eq!(thread.basic_pitch_diameter.mm(), 34.75);
/// assert_eq!(thread.limits, None);
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SawTooth {
    /// Nominal diameter in micrometres.
    pub diameter_um: u32,
    /// Pitch in micrometres.
    pub pitch_um: u32,
    /// Number of starts.
    pub starts: u32,
    /// Tolerance class, if one was written.
    pub class: Option<Class>,
    /// Which way the helix runs.
    pub hand: Hand,
}

impl SawTooth {
    /// The thread, without limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let below = |pitches: f64| {
            let depth = pitches * f64::from(self.pitch_um) / 1_000.0;
            from_micrometres(micrometres(f64::from(self.diameter_um) / 1_000.0 - depth))
        };
        let nominal = from_micrometres(self.diameter_um.into())?;
        let geometry = Geometry::checked(
            Pitch::from_length(from_micrometres(self.pitch_um.into())?)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(30.0, 3.0)?,
            Some(nominal),
            Some(below(1.735_54)?),
        )?;
        Ok(Thread {
            system: System::SawTooth,
            designation: self.designation(),
            geometry,
            limits: None,
            basis: Basis::FormOnly { standard: STANDARD },
            unit: Unit::Millimetre,
            special: false,
            nominal_diameter: nominal,
            basic_pitch_diameter: below(0.75)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let class = self.class.map_or_else(String::new, |class| {
            format!("-{}{}", class.grade, class.position)
        });
        format!(
            "S{}{}{class}",
            size_and_lead(self.diameter_um, self.pitch_um, self.starts),
            hand_mark(self.hand)
        )
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        let outside = |what, um: u32, range| {
            Err(ThreadError::OutsideStandard {
                standard: STANDARD,
                what,
                found: f64::from(um) / 1_000.0,
                range,
            })
        };
        if !(5_000..=1_000_000).contains(&self.diameter_um) {
            return outside(Ranged::DiameterMm, self.diameter_um, "5 to 1000 mm");
        }
        if !(1_000..=64_000).contains(&self.pitch_um) {
            return outside(Ranged::PitchMm, self.pitch_um, "1 to 64 mm");
        }
        if self.pitch_um > self.diameter_um / 5 * 2 {
            return outside(
                Ranged::PitchMm,
                self.pitch_um,
                "at most 0.4 of the diameter",
            );
        }
        Ok(())
    }
}
