//! Whitworth form inch threads, 55 degrees: BSW and BSF, classes close, medium and free.
//!
//! Standard: BS 84. Formulas and sizes from memory; a public question and answer about the 2007
//! edition says that its tolerances on the effective (pitch) diameter are those of the formula,
//! rounded once to four places. Check against your copy.
//!
//! In inches, with D the major diameter, P the pitch and L = D the length of engagement:
//!
//! ```text
//! T           = 0.002 D^(1/3) + 0.003 L^(1/2) + 0.005 P^(1/2)
//! tolerance   = 2/3 T close, T medium, 3/2 T free
//! allowance   = 0.3 T for medium and free up to 3/4 inch, none above and none for close;
//!               below 1/4 inch that of 1/4 inch with 20 (BSW) or 26 (BSF) threads
//! basic d2    = D - 0.640327 P
//! maximum d2  = basic d2 - allowance
//! minimum d2  = maximum d2 - tolerance
//! crest       = D - allowance;   root = crest - 1.280654 P
//! ```
//!
//! Rounding: basic d2, allowance and tolerance to 4 places each.
//!
//! Crest and root are round. The straight flank ends 0.24625 P above the pitch line, well below
//! the crest: the thickest wire that still touches it is 0.853 P, less than the crest alone allows.
//!
//! Multi-start threads use the same limits with P, not the lead. Range: diameters from 1/16 to 6
//! inch, 2 to 80 threads per inch, pitch at most half the diameter. A pitch other than the one the
//! series lists, or `WHIT` for no series, makes the thread special: same formula.

mod sizes;

use super::acme::{check_groove, size_and_pitch, starts_and_hand};
use super::inch_size::InchSize;
use super::rounding::{from_ten_thousandths, ten_thousandths};
use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError};
use crate::units::{Length, Pitch, Unit};

pub use sizes::{COARSE, FINE, usual_threads_per_inch};

const STANDARD: &str = "BS 84";

/// How far, on diameter, the straight flank reaches above the pitch cylinder, in pitches: the crest's
/// rounding r = 0.137329 P touches the flank `r (1 - sin 27.5°)` below the crest, which is 0.320163 P above
/// the pitch line.
pub(super) const STRAIGHT_ABOVE: f64 = 0.492_493;

/// From the crest of the basic form to the pitch line, on diameter, in pitches.
pub(super) const DEPTH_TO_PITCH_LINE: f64 = 0.640_327;

/// The series a size belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Series {
    /// BSW.
    Coarse,
    /// BSF.
    Fine,
    /// WHIT: a diameter and pitch of its own.
    Selected,
}

impl Series {
    /// As written in a designation.
    pub const fn letters(self) -> &'static str {
        match self {
            Series::Coarse => "BSW",
            Series::Fine => "BSF",
            Series::Selected => "WHIT",
        }
    }
}

/// How closely a Whitworth thread is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// The closest, without allowance.
    Close,
    /// The usual one.
    Medium,
    /// The loosest.
    Free,
}

impl Class {
    /// As written in a designation.
    pub const fn as_str(self) -> &'static str {
        match self {
            Class::Close => "close",
            Class::Medium => "medium",
            Class::Free => "free",
        }
    }
}

/// A Whitworth form external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::inch_size::InchSize;
/// use overwire_core::thread::whitworth::{Class, Series, Whitworth};
/// let thread = Whitworth {
///     size: InchSize::fraction(0, 1, 2),
///     threads_per_inch: 12.0,
///     series: Series::Coarse,
///     starts: 1,
///     class: Class::Medium,
///     hand: Hand::Right,
/// }
/// .thread()?;
/// assert_eq!(thread.designation, "1/2-12 BSW medium");
/// assert!(!thread.special);
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Whitworth {
    /// Nominal diameter.
    pub size: InchSize,
    /// Threads per inch, from groove to neighbouring groove.
    pub threads_per_inch: f64,
    /// The series named in the designation.
    pub series: Series,
    /// Number of starts.
    pub starts: u32,
    /// Tolerance class.
    pub class: Class,
    /// Which way the helix runs.
    pub hand: Hand,
}

/// T of the module head, in inches.
fn medium_tolerance(diameter: f64, threads_per_inch: f64) -> f64 {
    let of_pitch = 0.005 * threads_per_inch.recip().sqrt();
    0.002 * diameter.cbrt() + 0.003 * diameter.sqrt() + of_pitch
}

impl Whitworth {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let (diameter, pitch) = (self.size.inches(), self.threads_per_inch.recip());
        let basic = ten_thousandths(diameter - DEPTH_TO_PITCH_LINE * pitch);
        let allowance = ten_thousandths(self.allowance());
        let maximum = basic - allowance;
        let limits = Limits::checked(
            from_ten_thousandths(maximum - ten_thousandths(self.tolerance()))?,
            from_ten_thousandths(maximum)?,
        )?;
        let nominal = Length::from_inches(diameter)?;
        let crest = nominal - from_ten_thousandths(allowance)?;
        let depth = Length::from_inches(2.0 * DEPTH_TO_PITCH_LINE * pitch)?;
        let geometry = Geometry::checked(
            Pitch::from_threads_per_inch(self.threads_per_inch)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(27.5, 27.5)?,
            Some(crest),
            Some(crest - depth),
        )?;
        let straight_above = geometry.pitch.length() * STRAIGHT_ABOVE;
        let geometry = geometry.with_round_crest(straight_above);
        check_groove(STANDARD, self.threads_per_inch, &geometry, &limits)?;
        Ok(Thread {
            system: System::Whitworth,
            designation: self.designation(),
            geometry,
            limits: Some(limits),
            basis: Basis::Standard {
                standard: STANDARD,
                from_memory: true,
                note: self.note(),
            },
            unit: Unit::Inch,
            special: !self.is_listed(),
            nominal_diameter: nominal,
            basic_pitch_diameter: from_ten_thousandths(basic)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        format!(
            "{} {} {}{}",
            size_and_pitch(self.size, self.threads_per_inch),
            self.series.letters(),
            self.class.as_str(),
            starts_and_hand(self.starts, self.hand)
        )
    }

    fn tolerance(&self) -> f64 {
        let medium = medium_tolerance(self.size.inches(), self.threads_per_inch);
        match self.class {
            Class::Close => medium * 2.0 / 3.0,
            Class::Medium => medium,
            Class::Free => medium * 1.5,
        }
    }

    fn allowance(&self) -> f64 {
        let diameter = self.size.inches();
        match self.class {
            Class::Close => 0.0,
            _ if diameter > 0.75 => 0.0,
            _ if diameter < 0.25 && self.series == Series::Fine => {
                0.3 * medium_tolerance(0.25, 26.0)
            }
            _ if diameter < 0.25 => 0.3 * medium_tolerance(0.25, 20.0),
            _ => 0.3 * medium_tolerance(diameter, self.threads_per_inch),
        }
    }

    fn usual(&self) -> Option<f64> {
        usual_threads_per_inch(self.series, self.size.ten_thousandths())
    }

    fn is_listed(&self) -> bool {
        let usual = self.usual();
        usual.is_some_and(|count| (count - self.threads_per_inch).abs() < 1e-9)
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        let outside = |what, found, range| {
            Err(ThreadError::OutsideStandard {
                standard: STANDARD,
                what,
                found,
                range,
            })
        };
        let (diameter, count) = (self.size.inches(), self.threads_per_inch);
        if !(0.0625..=6.0).contains(&diameter) {
            return outside(Ranged::DiameterInches, diameter, "1/16 to 6 inch");
        }
        if !(2.0..=80.0).contains(&count) {
            return outside(Ranged::ThreadsPerInch, count, "2 to 80");
        }
        if diameter * count < 2.0 {
            let range = "a pitch of at most half the diameter";
            return outside(Ranged::ThreadsPerInch, count, range);
        }
        Ok(())
    }

    fn note(&self) -> Option<String> {
        let mut notes = Vec::new();
        if !self.is_listed() {
            let size = size_and_pitch(self.size, self.threads_per_inch);
            let letters = self.series.letters();
            notes.push(match self.usual() {
                Some(count) => format!(
                    "{letters} lists {count} threads per inch for this diameter; {size} is a \
                     special thread, limits computed for it."
                ),
                None => format!(
                    "{size} is not a listed size: a special thread, limits computed with the \
                     diameter as length of engagement."
                ),
            });
        }
        if self.starts > 1 {
            notes.push("Limits are those of the single-start thread of the same pitch.".to_owned());
        }
        (!notes.is_empty()).then(|| notes.join(" "))
    }
}
