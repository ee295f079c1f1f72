//! British Association threads BA, 47 1/2 degrees, classes close and normal.
//!
//! Standard: BS 93. The range of sizes, the two classes and which sizes have an allowance were seen
//! on public pages quoting it; so were tolerances on the minor diameter that are twice those below.
//! The formulas themselves and the sizes to 10 BA are from memory, sizes 11 to 16 by the rule of
//! the system. Check against your copy.
//!
//! In millimetres:
//!
//! ```text
//! P           = 0.9^n and d = 6 (0.9^n)^1.2, each to two figures, for n BA
//! basic d2    = d - 0.6 P, to 0.005 mm
//! allowance   = 0.025 for class normal of 0 to 10 BA, else none
//! tolerance   = 0.08 P + 0.02 close, 0.10 P + 0.025 normal, to 0.005 mm
//! crest       = d - allowance;   root = crest - 1.2 P
//! ```
//!
//! The six printed basic sizes known end in 0 or 5 micrometres and agree with this rounding; that
//! tolerances are rounded the same way is from memory.
//!
//! Crest and root are round. The straight flank ends 0.19010 P above the pitch line, below the
//! crest: a thick wire leaves it before it reaches the crest's edge.
//!
//! Range: 0 to 10 BA close, 0 to 16 BA normal; single start, as the standard has it.

use super::rounding::{from_micrometres, to_five_micrometres};
use super::{Basis, Flanks, Geometry, Hand, Limits, System, Thread, ThreadError};
use crate::units::{Pitch, Unit};

const STANDARD: &str = "BS 93";

/// How far, on diameter, the straight flank reaches above the pitch cylinder, in pitches: the rounding that
/// fits between sharp flanks and crest, r = 0.180834 P, touches the flank `r (1 - sin 23.75°)` below the
/// crest, which is 0.3 P above the pitch line.
const STRAIGHT_ABOVE: f64 = 0.383_994;

/// How closely a BA thread is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// For 0 to 10 BA, without allowance.
    Close,
    /// For all sizes.
    Normal,
}

impl Class {
    /// As written in a designation.
    pub const fn as_str(self) -> &'static str {
        match self {
            Class::Close => "close",
            Class::Normal => "normal",
        }
    }
}

/// Diameter and pitch of 0 to 16 BA, in micrometres.
const SIZES: [(i64, i64); 17] = [
    (6_000, 1_000),
    (5_300, 900),
    (4_700, 810),
    (4_100, 730),
    (3_600, 660),
    (3_200, 590),
    (2_800, 530),
    (2_500, 480),
    (2_200, 430),
    (1_900, 390),
    (1_700, 350),
    (1_500, 310),
    (1_300, 280),
    (1_200, 250),
    (1_000, 230),
    (900, 210),
    (790, 190),
];

/// The last size that has a class close, and an allowance in class normal.
const LAST_CLOSE: u8 = 10;

/// A British Association external thread; [`BritishAssociation::new`] knows the sizes.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::british_association::{BritishAssociation, Class};
/// let four = BritishAssociation::new(4, Class::Normal, Hand::Right).expect("4 BA is a size");
/// let thread = four.thread()?;
/// assert_eq!(thread.designation, "4 BA normal");
/// assert_eq!(thread.basic_pitch_diameter.mm(), 3.205);
/// assert_eq!(BritishAssociation::new(12, Class::Close, Hand::Right), None);
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BritishAssociation {
    number: u8,
    diameter_um: i64,
    pitch_um: i64,
    class: Class,
    hand: Hand,
}

impl BritishAssociation {
    /// A size by its number; `None` when the class has none.
    pub fn new(number: u8, class: Class, hand: Hand) -> Option<BritishAssociation> {
        if class == Class::Close && number > LAST_CLOSE {
            return None;
        }
        let &(diameter_um, pitch_um) = SIZES.get(usize::from(number))?;
        Some(BritishAssociation {
            number,
            diameter_um,
            pitch_um,
            class,
            hand,
        })
    }

    /// The thread with its limits.
    ///
    /// # Errors
    /// None for a size of the standard.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        let pitch = self.pitch_um as f64 / 1_000.0;
        let basic = to_five_micrometres(self.diameter_um as f64 / 1_000.0 - 0.6 * pitch);
        let (allowance, tolerance) = match self.class {
            Class::Close => (0, 0.08 * pitch + 0.02),
            Class::Normal if self.number > LAST_CLOSE => (0, 0.10 * pitch + 0.025),
            Class::Normal => (25, 0.10 * pitch + 0.025),
        };
        let maximum = basic - allowance;
        let crest = self.diameter_um - allowance;
        let geometry = Geometry::checked(
            Pitch::from_length(from_micrometres(self.pitch_um)?)?,
            1,
            self.hand,
            Flanks::from_degrees(23.75, 23.75)?,
            Some(from_micrometres(crest)?),
            Some(from_micrometres(crest - self.pitch_um * 6 / 5)?),
        )?;
        let straight_above = geometry.pitch.length() * STRAIGHT_ABOVE;
        let geometry = geometry.with_round_crest(straight_above);
        Ok(Thread {
            system: System::BritishAssociation,
            designation: self.designation(),
            geometry,
            limits: Some(Limits::checked(
                from_micrometres(maximum - to_five_micrometres(tolerance))?,
                from_micrometres(maximum)?,
            )?),
            basis: Basis::Standard {
                standard: STANDARD,
                from_memory: true,
                note: None,
            },
            unit: Unit::Millimetre,
            special: false,
            nominal_diameter: from_micrometres(self.diameter_um)?,
            basic_pitch_diameter: from_micrometres(basic)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let hand = match self.hand {
            Hand::Right => "",
            Hand::Left => " LH",
        };
        format!("{} BA {}{hand}", self.number, self.class.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn to_two_figures(number: f64) -> f64 {
        let step = 10_f64.powf(number.log10().floor() - 1.0);
        (number / step).round() * step
    }

    /// The rule behind the table, as stated in the module head.
    #[test]
    fn sizes_follow_the_rule_of_the_system() {
        for (number, &(diameter, pitch)) in SIZES.iter().enumerate() {
            let exact = 0.9_f64.powi(number as i32);
            let rounded = to_two_figures(exact);
            assert!(
                (rounded * 1e3 - pitch as f64).abs() < 1e-6,
                "{number} BA: {rounded}"
            );
            let across = to_two_figures(6.0 * exact.powf(1.2));
            assert!(
                (across * 1e3 - diameter as f64).abs() < 1e-6,
                "{number} BA: {across}"
            );
        }
    }
}
