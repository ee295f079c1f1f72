//! Parallel pipe threads G of Whitworth form, 55 degrees, classes A and B.
//!
//! Standard: ISO 228-1 (BSP parallel). Major diameters and threads per inch seen on public pages
//! for most sizes; the others and all tolerances from memory. Check against your copy.
//!
//! ```text
//! height h    = 0.640327 P, to 0.001 mm
//! basic d2    = d - h
//! maximum d2  = basic d2                        (no deviation)
//! minimum d2  = maximum d2 - tolerance          (from the table; class B is twice class A)
//! root        = d - 2 h
//! ```
//!
//! The size names a pipe's bore, not the thread's diameter: G 1/2 is 20.955 mm over its crests. An
//! internal thread carries no class. Crests and roots are round, or truncated by some makers; see
//! [`super::whitworth`] for what that means for thick wires.
//!
//! Range: the sizes of the table, 1/16 to 6, single start; no specials.

use super::rounding::{from_micrometres, micrometres};
use super::whitworth::{DEPTH_TO_PITCH_LINE, STRAIGHT_ABOVE};
use super::{Basis, Flanks, Geometry, Hand, Limits, System, Thread, ThreadError};
use crate::units::{MM_PER_INCH, Pitch, Unit};

const STANDARD: &str = "ISO 228-1";

/// Tolerance class of an external pipe thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// A, the closer one.
    A,
    /// B, with twice the tolerance.
    B,
}

impl Class {
    /// As written in a designation.
    pub const fn letter(self) -> char {
        match self {
            Class::A => 'A',
            Class::B => 'B',
        }
    }
}

/// A size of the table: its name, threads per inch, major diameter and the class A tolerance in
/// micrometres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// The name, in sixteenths of the nominal bore's inches: 8 for G 1/2.
    pub sixteenths: u32,
    threads_per_inch: f64,
    major_um: i64,
    tolerance_um: i64,
}

const fn row(sixteenths: u32, threads_per_inch: u32, major_um: i64, tolerance_um: i64) -> Size {
    Size {
        sixteenths,
        threads_per_inch: threads_per_inch as f64,
        major_um,
        tolerance_um,
    }
}

/// The sizes of the standard.
pub const SIZES: [Size; 24] = [
    row(1, 28, 7_723, 107),
    row(2, 28, 9_728, 107),
    row(4, 19, 13_157, 125),
    row(6, 19, 16_662, 125),
    row(8, 14, 20_955, 142),
    row(10, 14, 22_911, 142),
    row(12, 14, 26_441, 142),
    row(14, 14, 30_201, 142),
    row(16, 11, 33_249, 180),
    row(18, 11, 37_897, 180),
    row(20, 11, 41_910, 180),
    row(24, 11, 47_803, 180),
    row(28, 11, 53_746, 180),
    row(32, 11, 59_614, 180),
    row(36, 11, 65_710, 217),
    row(40, 11, 75_184, 217),
    row(44, 11, 81_534, 217),
    row(48, 11, 87_884, 217),
    row(56, 11, 100_330, 217),
    row(64, 11, 113_030, 217),
    row(72, 11, 125_730, 217),
    row(80, 11, 138_430, 217),
    row(88, 11, 151_130, 217),
    row(96, 11, 163_830, 217),
];

impl Size {
    /// The size of this name; `None` when the standard has none.
    pub fn named(sixteenths: u32) -> Option<Size> {
        SIZES.into_iter().find(|size| size.sixteenths == sixteenths)
    }

    /// Threads per inch.
    pub const fn threads_per_inch(self) -> f64 {
        self.threads_per_inch
    }
}

/// A parallel external pipe thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::pipe_parallel::{Class, PipeParallel, Size};
/// let size = Size::named(8).expect("G 1/2 is a size");
/// let thread = PipeParallel { size, class: Class::A, hand: Hand::Right }.thread()?;
/// assert_eq!(thread.designation, "G 1/2 A");
/// assert_eq!(thread.basic_pitch_diameter.mm(), 19.793);
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PipeParallel {
    /// The size.
    pub size: Size,
    /// Tolerance class.
    pub class: Class,
    /// Which way the helix runs.
    pub hand: Hand,
}

impl PipeParallel {
    /// The thread with its limits.
    ///
    /// # Errors
    /// None for a size of the table.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        let pitch = MM_PER_INCH / self.size.threads_per_inch;
        let height = micrometres(DEPTH_TO_PITCH_LINE * pitch);
        let basic = self.size.major_um - height;
        let tolerance = match self.class {
            Class::A => self.size.tolerance_um,
            Class::B => 2 * self.size.tolerance_um,
        };
        let nominal = from_micrometres(self.size.major_um)?;
        let geometry = Geometry::checked(
            Pitch::from_threads_per_inch(self.size.threads_per_inch)?,
            1,
            self.hand,
            Flanks::from_degrees(27.5, 27.5)?,
            Some(nominal),
            Some(from_micrometres(basic - height)?),
        )?;
        let straight_above = geometry.pitch.length() * STRAIGHT_ABOVE;
        let geometry = geometry.with_round_crest(straight_above);
        Ok(Thread {
            system: System::PipeParallel,
            designation: self.designation(),
            geometry,
            limits: Some(Limits::checked(
                from_micrometres(basic - tolerance)?,
                from_micrometres(basic)?,
            )?),
            basis: Basis::Standard {
                standard: STANDARD,
                from_memory: true,
                note: None,
            },
            unit: Unit::Millimetre,
            special: false,
            nominal_diameter: nominal,
            basic_pitch_diameter: from_micrometres(basic)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let hand = match self.hand {
            Hand::Right => "",
            Hand::Left => " LH",
        };
        let size = super::inch_size::fraction_text(4 * self.size.sixteenths);
        format!("G {size} {}{hand}", self.class.letter())
    }
}
