//! Unified miniature threads, UNM.
//!
//! Standard: ASME B1.10M, sizes and formulas from memory. In millimetres, with D the major diameter
//! and P the pitch:
//!
//! ```text
//! maximum d2  = D - 0.649519 P, to 0.001 mm          (no allowance)
//! minimum d2  = maximum d2 - (0.08 P + 0.008), the tolerance to 0.001 mm
//! ```
//!
//! Range: the 14 sizes from 0.30 to 1.40 mm; others are refused. One class, no specials. Wires for
//! these pitches are 0.05 to 0.17 mm thick; on the finer sizes measuring over wires is not usual,
//! and the basis says so.

use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError};
use crate::units::{Length, Pitch, Unit};

const STANDARD: &str = "ASME B1.10M";

/// Diameters and pitches, in micrometres.
const SIZES: [(u32, u32); 14] = [
    (300, 80),
    (350, 90),
    (400, 100),
    (450, 100),
    (500, 125),
    (550, 125),
    (600, 150),
    (700, 175),
    (800, 200),
    (900, 225),
    (1_000, 250),
    (1_100, 250),
    (1_200, 250),
    (1_400, 300),
];

/// Below this pitch, in micrometres, the basis warns that wires are hardly practical.
const FINE_FOR_WIRES_UM: u32 = 200;

/// A Unified miniature external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::unified_miniature::Miniature;
/// let thread = Miniature { diameter_um: 1_000, hand: Hand::Right }.thread()?;
/// assert_eq!(thread.designation, "1.00 UNM");
/// let limits = thread.limits.expect("a miniature thread has limits");
/// assert_eq!((limits.pitch_diameter_max.mm(), limits.pitch_diameter_min.mm()), (0.838, 0.81));
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Miniature {
    /// Nominal diameter in micrometres.
    pub diameter_um: u32,
    /// Which way the helix runs.
    pub hand: Hand,
}

impl Miniature {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] for a diameter that is not one of the 14.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        let pitch_um = self.pitch_um()?;
        let basic = (f64::from(self.diameter_um) - 0.649_519 * f64::from(pitch_um)).round();
        let tolerance = (0.08 * f64::from(pitch_um)).round() + 8.0;
        let nominal = micrometres(self.diameter_um.into())?;
        let maximum = micrometres(basic)?;
        let geometry = Geometry::checked(
            Pitch::from_length(micrometres(pitch_um.into())?)?,
            1,
            self.hand,
            Flanks::from_degrees(30.0, 30.0)?,
            Some(nominal),
            None,
        )?;
        Ok(Thread {
            system: System::UnifiedMiniature,
            designation: self.designation(),
            geometry,
            limits: Some(Limits::checked(micrometres(basic - tolerance)?, maximum)?),
            basis: Basis::Standard {
                standard: STANDARD,
                from_memory: true,
                note: (pitch_um < FINE_FOR_WIRES_UM)
                    .then(|| "Measuring so fine a thread over wires is not usual.".to_owned()),
            },
            unit: Unit::Millimetre,
            special: false,
            nominal_diameter: nominal,
            basic_pitch_diameter: maximum,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let hand = match self.hand {
            Hand::Right => "",
            Hand::Left => " LH",
        };
        format!("{:.2} UNM{hand}", f64::from(self.diameter_um) / 1_000.0)
    }

    fn pitch_um(&self) -> Result<u32, ThreadError> {
        let listed = SIZES.iter().find(|&&(size, _)| size == self.diameter_um);
        let outside = ThreadError::OutsideStandard {
            standard: STANDARD,
            what: Ranged::DiameterMm,
            found: f64::from(self.diameter_um) / 1_000.0,
            range: "one of the 14 sizes from 0.30 to 1.40 UNM",
        };
        listed.map(|&(_, pitch)| pitch).ok_or(outside)
    }
}

fn micrometres(count: f64) -> Result<Length, ThreadError> {
    Ok(Length::from_mm(count / 1_000.0)?)
}
