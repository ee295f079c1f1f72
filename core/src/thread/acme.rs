//! Acme inch threads, 29 degrees: general purpose and centralizing, classes 2, 3 and 4.
//!
//! Standard: ASME B1.5. The formulas for the diameters and the size ranges of the allowances were
//! seen in Machinery's Handbook, 27th edition (pages 1837 and 1841); the tolerance formulas, the
//! sizes and the clearance at the root are from memory. Printed limits are checked in the tests.
//!
//! In inches, with D the major diameter and P the pitch:
//!
//! ```text
//! basic d2    = D - P/2
//! allowance   = 0.008 D^(1/2), 0.006 D^(1/2), 0.004 D^(1/2)        for classes 2, 3, 4
//! tolerance   = 0.006 D^(1/2) + 0.030 P^(1/2)                      class 2
//!             = 0.0028 D^(1/2) + 0.014 P^(1/2)                     class 3
//!             = 0.002 D^(1/2) + 0.010 P^(1/2)                      class 4
//! maximum d2  = basic d2 - allowance
//! minimum d2  = maximum d2 - tolerance
//! root        = D - P - 0.020, or - 0.010 above 10 threads per inch
//! ```
//!
//! The printed allowances are those of a range of sizes, counted at the middle of the range: here
//! they are a table. The formula with D itself serves above 5 1/2 inch only. Tolerances go with D.
//!
//! Rounding: allowance, tolerance and limits to 4 places each; ties go to the even digit.
//!
//! General purpose (G) and centralizing (C) threads have the same pitch diameters; they differ at
//! the major diameter, which is D at most in both. Multi-start threads use the same limits with P,
//! not the lead: the standard offers them as a starting point.
//!
//! Range: diameters from 0.125 to 20 inch, 0.5 to 64 threads per inch, pitch at most half the
//! diameter. Other than the listed sizes are special. Classes 5C and 6C of older editions are not
//! covered.

mod tables;

use super::inch_size::InchSize;
use super::rounding::{from_ten_thousandths, ten_thousandths};
use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError};
use crate::units::{Length, Pitch, Unit};

pub use tables::LISTED;

const STANDARD: &str = "ASME B1.5";

/// How closely an Acme thread is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Grade {
    /// 2, the usual one.
    Two,
    /// 3.
    Three,
    /// 4, with the least backlash.
    Four,
}

impl Grade {
    /// As written in a designation.
    pub const fn digit(self) -> char {
        match self {
            Grade::Two => '2',
            Grade::Three => '3',
            Grade::Four => '4',
        }
    }
}

/// Where an Acme thread finds its centre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fit {
    /// G: clearance on all diameters.
    GeneralPurpose,
    /// C: little clearance at the major diameter, which centres the nut.
    Centralizing,
}

impl Fit {
    /// As written in a designation.
    pub const fn letter(self) -> char {
        match self {
            Fit::GeneralPurpose => 'G',
            Fit::Centralizing => 'C',
        }
    }
}

/// An Acme external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::acme::{Acme, Fit, Grade};
/// use overwire_core::thread::inch_size::InchSize;
/// use overwire_core::units::Unit;
///
/// let leadscrew = Acme {
///     size: InchSize::fraction(1, 1, 2),
///     threads_per_inch: 4.0,
///     starts: 1,
///     grade: Grade::Two,
///     fit: Fit::GeneralPurpose,
///     hand: Hand::Right,
/// };
/// let thread = leadscrew.thread()?;
/// assert_eq!(thread.designation, "1 1/2-4 ACME-2G");
/// let limits = thread.limits.expect("an Acme thread has limits");
/// assert_eq!(limits.pitch_diameter_max.to_text(Unit::Inch, 4), "1.3652 in");
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acme {
    /// Nominal major diameter.
    pub size: InchSize,
    /// Threads per inch, from groove to neighbouring groove.
    pub threads_per_inch: f64,
    /// Number of starts.
    pub starts: u32,
    /// How closely it is made.
    pub grade: Grade,
    /// General purpose or centralizing.
    pub fit: Fit,
    /// Which way the helix runs.
    pub hand: Hand,
}

/// Allowance and tolerance on the pitch diameter, in ten-thousandths of an inch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Zone {
    /// From the basic size down to the maximum.
    pub allowance: i64,
    /// From the maximum down to the minimum.
    pub tolerance: i64,
    /// Whether the allowance was taken from the table of size ranges.
    pub tabulated: bool,
}

/// The pitch diameter zone of a size, by the table and formulas of the module head.
///
/// ```
/// use overwire_core::thread::acme::{Grade, zone};
/// use overwire_core::thread::inch_size::InchSize;
/// // 1 3/4 inch lies in the range above 1 9/16 to 1 7/8.
/// assert_eq!(zone(InchSize::fraction(1, 3, 4), 4.0, Grade::Two).allowance, 105);
/// ```
pub fn zone(size: InchSize, threads_per_inch: f64, grade: Grade) -> Zone {
    let (column, allowance) = match grade {
        Grade::Two => (0, 0.008),
        Grade::Three => (1, 0.006),
        Grade::Four => (2, 0.004),
    };
    let printed = tables::allowance(size.ten_thousandths(), column);
    Zone {
        allowance: printed.unwrap_or_else(|| ten_thousandths(allowance * size.inches().sqrt())),
        tolerance: ten_thousandths(tolerance(size, threads_per_inch, grade)),
        tabulated: printed.is_some(),
    }
}

/// The pitch diameter tolerance in inches, unrounded.
///
/// ```
/// use overwire_core::thread::acme::{Grade, tolerance};
/// use overwire_core::thread::inch_size::InchSize;
/// let tolerance = tolerance(InchSize::fraction(0, 1, 4), 16.0, Grade::Two);
/// assert!((tolerance - 0.0105).abs() < 1e-15);
/// ```
pub fn tolerance(size: InchSize, threads_per_inch: f64, grade: Grade) -> f64 {
    let (of_size, of_pitch) = match grade {
        Grade::Two => (0.006, 0.030),
        Grade::Three => (0.0028, 0.014),
        Grade::Four => (0.002, 0.010),
    };
    of_size * size.inches().sqrt() + of_pitch * threads_per_inch.recip().sqrt()
}

impl Acme {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        check_range(STANDARD, self.size, self.threads_per_inch)?;
        let profile = Profile {
            size: self.size,
            threads_per_inch: self.threads_per_inch,
            starts: self.starts,
            hand: self.hand,
            height: 0.5,
        };
        let zone = zone(self.size, self.threads_per_inch, self.grade);
        let (geometry, limits) = (profile.geometry()?, profile.limits(&zone)?);
        check_groove(STANDARD, self.threads_per_inch, &geometry, &limits)?;
        Ok(Thread {
            system: System::Acme,
            designation: self.designation(),
            geometry,
            limits: Some(limits),
            basis: profile.basis(STANDARD, &zone, Vec::new()),
            unit: Unit::Inch,
            special: !profile.is_listed(),
            nominal_diameter: Length::from_inches(self.size.inches())?,
            basic_pitch_diameter: from_ten_thousandths(ten_thousandths(profile.basic()))?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        format!(
            "{} ACME-{}{}{}",
            size_and_pitch(self.size, self.threads_per_inch),
            self.grade.digit(),
            self.fit.letter(),
            starts_and_hand(self.starts, self.hand)
        )
    }
}

/// What Acme and stub Acme threads have in common.
pub(super) struct Profile {
    pub(super) size: InchSize,
    pub(super) threads_per_inch: f64,
    pub(super) starts: u32,
    pub(super) hand: Hand,
    /// Basic height of the thread, in pitches.
    pub(super) height: f64,
}

impl Profile {
    /// The basic pitch diameter in inches, unrounded.
    pub(super) fn basic(&self) -> f64 {
        self.size.inches() - self.height / self.threads_per_inch
    }

    pub(super) fn limits(&self, zone: &Zone) -> Result<Limits, ThreadError> {
        let maximum = ten_thousandths(self.basic() - zone.allowance as f64 / 1e4);
        Limits::checked(
            from_ten_thousandths(maximum - zone.tolerance)?,
            from_ten_thousandths(maximum)?,
        )
    }

    pub(super) fn geometry(&self) -> Result<Geometry, ThreadError> {
        let clearance = match self.threads_per_inch > 10.0 {
            true => 0.010,
            false => 0.020,
        };
        let root = self.size.inches() - 2.0 * self.height / self.threads_per_inch - clearance;
        Geometry::checked(
            Pitch::from_threads_per_inch(self.threads_per_inch)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(14.5, 14.5)?,
            Some(Length::from_inches(self.size.inches())?),
            Some(Length::from_inches(root)?),
        )
    }

    pub(super) fn is_listed(&self) -> bool {
        LISTED.iter().any(|&(diameter, count)| {
            diameter == self.size.ten_thousandths() && (count - self.threads_per_inch).abs() < 1e-9
        })
    }

    /// Where the limits come from; `notes` are those of the form.
    pub(super) fn basis(
        &self,
        standard: &'static str,
        zone: &Zone,
        mut notes: Vec<String>,
    ) -> Basis {
        if !self.is_listed() {
            let size = size_and_pitch(self.size, self.threads_per_inch);
            notes.push(format!(
                "{size} is not a listed size: a special thread, tolerance computed for its own \
                 diameter and pitch."
            ));
        }
        if !zone.tabulated {
            notes.push("Beyond the table of allowances: computed by its formula.".to_owned());
        }
        if self.starts > 1 {
            notes.push("Limits are those of the single-start thread of the same pitch.".to_owned());
        }
        Basis::Standard {
            standard,
            from_memory: true,
            note: (!notes.is_empty()).then(|| notes.join(" ")),
        }
    }
}

pub(super) fn check_range(
    standard: &'static str,
    size: InchSize,
    threads_per_inch: f64,
) -> Result<(), ThreadError> {
    let outside = |what, found, range| {
        Err(ThreadError::OutsideStandard {
            standard,
            what,
            found,
            range,
        })
    };
    let diameter = size.inches();
    if !(0.125..=20.0).contains(&diameter) {
        return outside(Ranged::DiameterInches, diameter, "0.125 to 20 inch");
    }
    if !(0.5..=64.0).contains(&threads_per_inch) {
        return outside(Ranged::ThreadsPerInch, threads_per_inch, "0.5 to 64");
    }
    if diameter * threads_per_inch < 2.0 {
        let range = "a pitch of at most half the diameter";
        return outside(Ranged::ThreadsPerInch, threads_per_inch, range);
    }
    Ok(())
}

/// Refuses a pitch so fine for its diameter that the formulas put the smallest pitch diameter
/// below the bottom of the groove.
pub(super) fn check_groove(
    standard: &'static str,
    threads_per_inch: f64,
    geometry: &Geometry,
    limits: &Limits,
) -> Result<(), ThreadError> {
    match geometry.root_diameter {
        Some(root) if limits.pitch_diameter_min <= root => Err(ThreadError::OutsideStandard {
            standard,
            what: Ranged::ThreadsPerInch,
            found: threads_per_inch,
            range: "a pitch coarse enough for the tolerance of this diameter",
        }),
        _ => Ok(()),
    }
}

/// As in `1/2-10`.
pub(super) fn size_and_pitch(size: InchSize, threads_per_inch: f64) -> String {
    let size = size.text_before(threads_per_inch);
    format!("{size}-{threads_per_inch}")
}

/// What follows the class: nothing for a right-hand thread of one start.
pub(super) fn starts_and_hand(starts: u32, hand: Hand) -> String {
    let starts = match starts {
        1 => String::new(),
        starts => format!(" ({starts} STARTS)"),
    };
    let hand = match hand {
        Hand::Right => "",
        Hand::Left => " LH",
    };
    format!("{starts}{hand}")
}
