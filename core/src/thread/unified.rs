//! Unified inch threads: UN, UNR and UNJ forms, external classes 1A, 2A and 3A.
//!
//! Standard: ASME B1.1 (UNJ: ASME B1.15, whose pitch diameters follow the same rules; from memory).
//! Formulas written down from memory, its worked examples and printed limits checked in the tests.
//!
//! In inches, with D the major diameter, P the pitch and LE the length of engagement:
//!
//! ```text
//! tolerance 2A  = 0.0015 D^(1/3) + 0.0015 LE^(1/2) + 0.015 P^(2/3)     1A: x 1.5   3A: x 0.75
//! allowance     = 0.3 x tolerance 2A for 1A and 2A, none for 3A
//! maximum d2    = D - allowance - 0.64951905 P
//! minimum d2    = maximum d2 - tolerance
//! ```
//!
//! LE is D for the coarse and fine series and for 4-, 6- and 8-thread constant pitch, 9 P for all
//! others; 1-14 UNS keeps the D of the series it once stood in. A designation may state another
//! length: it takes the place of LE in the tolerance and, from memory, in the allowance that is
//! counted from it.
//!
//! Rounding: D, allowance and limits to 4 places, tolerance and 0.64951905 P to 6, P to 8; ties go
//! to the even digit. Rows printed before this rule differ in the last digit; for those listed in
//! `series` the printed number is used.
//!
//! Multi-start threads have the limits of the single-start thread with the same P. The root is not
//! stated to the wires: one thick enough to stand proud of a P/8 crest (0.505 P) rests clear of
//! even the shallowest root, a flat of P/4 (which 0.433 P would reach).
//!
//! Range: listed sizes and specials from 0.03 to 24 inch, 1 to 200 threads per inch, pitch
//! at most half the diameter, engagement of one pitch to 24 inch. Unlisted sizes are marked special.

mod formula;
mod gauging;
mod note;
pub(in crate::thread) mod series;

pub use formula::{FormulaLimits, limits_by_formula};
pub use gauging::GaugingSystem;

use series::Printed;

use super::inch_size::InchSize;
use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError};
use crate::decimal::Decimal;
use crate::units::{Length, Pitch, Unit};

/// Tolerance class of an external thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// 1A, loose.
    One,
    /// 2A, the usual one.
    Two,
    /// 3A, close, without allowance.
    Three,
}

impl Class {
    /// As written in a designation.
    pub const fn as_str(self) -> &'static str {
        match self {
            Class::One => "1A",
            Class::Two => "2A",
            Class::Three => "3A",
        }
    }
}

/// Thread form. All three share their pitch diameter limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Form {
    /// UN.
    Flat,
    /// UNR, with a rounded root.
    RoundedRoot,
    /// UNJ, with a large controlled root radius.
    LargeRootRadius,
}

/// The series a size belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Series {
    /// UNC.
    Coarse,
    /// UNF.
    Fine,
    /// UNEF.
    ExtraFine,
    /// UN with a constant number of threads per inch.
    Constant {
        /// Whether tolerances are counted with the diameter as length of engagement
        /// (4, 6 and 8 threads per inch), not with nine pitches.
        engages_by_diameter: bool,
    },
    /// UNS.
    Special,
}

impl Series {
    const fn letters(self) -> &'static str {
        match self {
            Series::Coarse => "C",
            Series::Fine => "F",
            Series::ExtraFine => "EF",
            Series::Constant { .. } => "",
            Series::Special => "S",
        }
    }
}

/// A Unified external thread.
///
/// ```
/// use overwire_core::thread::inch_size::InchSize;
/// use overwire_core::thread::unified::{Class, Form, Series, Unified};
/// use overwire_core::thread::Hand;
/// use overwire_core::units::Unit;
///
/// let half_inch = Unified {
///     size: InchSize::fraction(0, 1, 2),
///     threads_per_inch: 13.0,
///     form: Form::Flat,
///     series: Series::Coarse,
///     class: Class::Two,
///     hand: Hand::Right,
///     starts: 1,
///     engagement: None,
///     gauging: None,
/// };
/// let thread = half_inch.thread()?;
/// assert_eq!(thread.designation, "1/2-13 UNC-2A");
/// let limits = thread.limits.expect("a Unified thread has limits");
/// assert_eq!(limits.pitch_diameter_max.to_text(Unit::Inch, 4), "0.4485 in");
/// assert_eq!(limits.pitch_diameter_min.to_text(Unit::Inch, 4), "0.4435 in");
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unified {
    /// Nominal diameter.
    pub size: InchSize,
    /// Threads per inch.
    pub threads_per_inch: f64,
    /// Thread form.
    pub form: Form,
    /// The series named in the designation.
    pub series: Series,
    /// Tolerance class.
    pub class: Class,
    /// Which way the helix runs.
    pub hand: Hand,
    /// Number of starts.
    pub starts: u32,
    /// The length of engagement in inches, where it is not the usual one.
    pub engagement: Option<Decimal>,
    /// How the thread is to be gauged, where the designation says so.
    pub gauging: Option<GaugingSystem>,
}

impl Unified {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let listed = series::listed_in(self.diameter(), self.threads_per_inch);
        let formula = limits_by_formula(
            self.size.inches(),
            self.threads_per_inch,
            self.class,
            self.engagement(listed),
        );
        let printed = self.printed(self.class);
        let shared = self.shared_allowance();
        let or_printed = |formula: i64, printed: Option<i64>| printed.unwrap_or(formula);
        let of_allowance = printed.or(shared);
        let allowance = or_printed(
            formula.allowance,
            of_allowance.and_then(|row| row.allowance),
        );
        let maximum = or_printed(formula.maximum, of_allowance.and_then(|row| row.maximum));
        let minimum = match (printed.and_then(|row| row.minimum), shared) {
            (Some(minimum), _) => minimum,
            (None, Some(_)) => maximum - (formula.maximum - formula.minimum),
            (None, None) => formula.minimum,
        };
        let limits = Limits::checked(ten_thousandths(minimum)?, ten_thousandths(maximum)?)?;
        let nominal = Length::from_inches(self.size.inches())?;
        let geometry = Geometry::checked(
            Pitch::from_threads_per_inch(self.threads_per_inch)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(30.0, 30.0)?,
            Some(nominal - ten_thousandths(allowance)?),
            None,
        )?;
        Ok(Thread {
            system: self.system(),
            designation: self.designation(),
            geometry,
            limits: Some(limits),
            basis: Basis::Standard {
                standard: self.standard(),
                from_memory: true,
                note: note::about(self, listed, printed, shared),
            },
            unit: Unit::Inch,
            special: listed.is_none(),
            nominal_diameter: nominal,
            basic_pitch_diameter: ten_thousandths(formula.basic)?,
        })
    }

    /// Limits as printed for a class of this size, where they differ from the formula.
    fn printed(&self, class: Class) -> Option<&'static Printed> {
        match self.engagement {
            None => series::printed(self.diameter(), self.threads_per_inch, class),
            Some(_) => None,
        }
    }

    /// The row of class 2A whose printed allowance holds for this class 1A too: the standard gives both the same.
    fn shared_allowance(&self) -> Option<&'static Printed> {
        let alone = self.class == Class::One && self.printed(Class::One).is_none();
        let of_two = self.printed(Class::Two).filter(|_| alone);
        of_two.filter(|row| row.allowance.is_some())
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let size = self.size.text_before(self.threads_per_inch);
        let form = match self.form {
            Form::Flat => "UN",
            Form::RoundedRoot => "UNR",
            Form::LargeRootRadius => "UNJ",
        };
        let hand = match self.hand {
            Hand::Right => "",
            Hand::Left => " LH",
        };
        let class = self.class.as_str();
        let mut text = format!(
            "{size}-{} {form}{}-{class}{hand}",
            self.threads_per_inch,
            self.series.letters()
        );
        if self.starts > 1 {
            text += &format!(" ({} STARTS)", self.starts);
        }
        if let Some(length) = self.engagement {
            text += &format!(" LE {}", length.value());
        }
        if let Some(system) = self.gauging {
            text += &format!(" ({})", system.number());
        }
        text
    }

    /// Diameter in ten-thousandths, as the standard rounds it.
    fn diameter(&self) -> u32 {
        self.size.ten_thousandths()
    }

    const fn system(&self) -> System {
        match self.form {
            Form::Flat | Form::RoundedRoot => System::Unified,
            Form::LargeRootRadius => System::UnifiedJ,
        }
    }

    const fn standard(&self) -> &'static str {
        match self.form {
            Form::Flat | Form::RoundedRoot => "ASME B1.1",
            Form::LargeRootRadius => "ASME B1.15 with the pitch diameters of ASME B1.1",
        }
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        let outside = |what, found, range| {
            Err(ThreadError::OutsideStandard {
                standard: self.standard(),
                what,
                found,
                range,
            })
        };
        let (diameter, count) = (self.size.inches(), self.threads_per_inch);
        if !(0.03..=24.0).contains(&diameter) {
            return outside(Ranged::DiameterInches, diameter, "0.03 to 24 inch");
        }
        if !(1.0..=200.0).contains(&count) {
            return outside(Ranged::ThreadsPerInch, count, "1 to 200");
        }
        if diameter * count < 2.0 {
            return outside(
                Ranged::ThreadsPerInch,
                count,
                "a pitch of at most half the diameter",
            );
        }
        let engagement = self.engagement.map_or(1.0, Decimal::value);
        if !(1.0 / count..=24.0).contains(&engagement) {
            return outside(Ranged::EngagementInches, engagement, "one pitch to 24 inch");
        }
        Ok(())
    }

    /// Length of engagement the tolerance is counted with, in inches.
    fn engagement(&self, listed: Option<Series>) -> f64 {
        match self.engagement {
            Some(stated) => stated.value(),
            None => self.usual_engagement(listed),
        }
    }

    /// Length of engagement of this size when nothing is said, in inches.
    fn usual_engagement(&self, listed: Option<Series>) -> f64 {
        let by_diameter = match listed {
            Some(Series::Coarse | Series::Fine) => true,
            Some(Series::Constant {
                engages_by_diameter,
            }) => engages_by_diameter,
            Some(Series::ExtraFine | Series::Special) => false,
            None => self.is_old_fine_one_inch(),
        };
        match by_diameter {
            true => f64::from(self.diameter()) / 1e4,
            false => 9.0 * (1e8 / self.threads_per_inch).round() / 1e8,
        }
    }

    fn is_old_fine_one_inch(&self) -> bool {
        self.diameter() == 10_000 && (self.threads_per_inch - 14.0).abs() < 1e-9
    }
}

fn ten_thousandths(count: i64) -> Result<Length, ThreadError> {
    // One division, so that 0.4485 is the nearest number to 0.4485 inches in millimetres.
    Ok(Length::from_mm((count * 254) as f64 / 100_000.0)?)
}
