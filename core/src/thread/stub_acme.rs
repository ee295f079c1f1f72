//! Stub Acme inch threads, 29 degrees: the standard form and the two modified ones.
//!
//! Standard: ASME B1.8, with the allowances and tolerances of [`super::acme`]: class 2G as a rule,
//! 3G and 4G where less backlash is wanted. Heights, pitch diameters and sizes were seen on public
//! pages quoting the standard; the clearance at the root is from memory.
//!
//! In inches, with D the major diameter and P the pitch:
//!
//! ```text
//! height h    = 0.3 P; modified form 1 (M1): 0.375 P; modified form 2 (M2): 0.25 P
//! basic d2    = D - h
//! root        = D - 2 h - 0.020, or - 0.010 above 10 threads per inch
//! ```
//!
//! The groove is so shallow that a wire of the best size reaches the largest root the standard
//! allows, though handbooks list that size for stub threads too. It seats only where the root was
//! cut deeper; on the standard form a wire of 0.58 to 0.6 P seats in any case.
//!
//! Limits, rounding, sizes, multi-start and range as for Acme threads.

use super::acme::{
    Grade, Profile, check_groove, check_range, size_and_pitch, starts_and_hand, zone,
};
use super::inch_size::InchSize;
use super::rounding::{from_ten_thousandths, ten_thousandths};
use super::{Hand, System, Thread, ThreadError};
use crate::units::{Length, Unit};

const STANDARD: &str = "ASME B1.8 with the tolerances of ASME B1.5";

const SHALLOW: &str = "A wire of the best size may reach the root, which is taken as the largest the \
                       standard allows: use a thicker wire, or give the root its own diameter.";

/// How deep the thread is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Form {
    /// Height 0.3 P.
    Standard,
    /// M1, height 0.375 P.
    ModifiedOne,
    /// M2, height 0.25 P.
    ModifiedTwo,
}

impl Form {
    /// Basic height, in pitches.
    pub const fn height(self) -> f64 {
        match self {
            Form::Standard => 0.3,
            Form::ModifiedOne => 0.375,
            Form::ModifiedTwo => 0.25,
        }
    }

    const fn mark(self) -> &'static str {
        match self {
            Form::Standard => "",
            Form::ModifiedOne => " M1",
            Form::ModifiedTwo => " M2",
        }
    }
}

/// A stub Acme external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::acme::Grade;
/// use overwire_core::thread::inch_size::InchSize;
/// use overwire_core::thread::stub_acme::{Form, StubAcme};
/// use overwire_core::units::Unit;
///
/// let stub = StubAcme {
///     size: InchSize::fraction(0, 1, 2),
///     threads_per_inch: 20.0,
///     starts: 1,
///     grade: Grade::Two,
///     form: Form::Standard,
///     hand: Hand::Left,
/// };
/// let thread = stub.thread()?;
/// assert_eq!(thread.designation, "1/2-20 STUB ACME-2G LH");
/// assert_eq!(thread.basic_pitch_diameter.to_text(Unit::Inch, 4), "0.4850 in");
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StubAcme {
    /// Nominal major diameter.
    pub size: InchSize,
    /// Threads per inch, from groove to neighbouring groove.
    pub threads_per_inch: f64,
    /// Number of starts.
    pub starts: u32,
    /// How closely it is made.
    pub grade: Grade,
    /// How deep it is.
    pub form: Form,
    /// Which way the helix runs.
    pub hand: Hand,
}

impl StubAcme {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of Acme threads.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        check_range(STANDARD, self.size, self.threads_per_inch)?;
        let profile = Profile {
            size: self.size,
            threads_per_inch: self.threads_per_inch,
            starts: self.starts,
            hand: self.hand,
            height: self.form.height(),
        };
        let zone = zone(self.size, self.threads_per_inch, self.grade);
        let (geometry, limits) = (profile.geometry()?, profile.limits(&zone)?);
        check_groove(STANDARD, self.threads_per_inch, &geometry, &limits)?;
        Ok(Thread {
            system: System::StubAcme,
            designation: self.designation(),
            geometry,
            limits: Some(limits),
            basis: profile.basis(STANDARD, &zone, vec![SHALLOW.to_owned()]),
            unit: Unit::Inch,
            special: !profile.is_listed(),
            nominal_diameter: Length::from_inches(self.size.inches())?,
            basic_pitch_diameter: from_ten_thousandths(ten_thousandths(profile.basic()))?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        format!(
            "{} STUB ACME{}-{}G{}",
            size_and_pitch(self.size, self.threads_per_inch),
            self.form.mark(),
            self.grade.digit(),
            starts_and_hand(self.starts, self.hand)
        )
    }
}
