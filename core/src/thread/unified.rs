//! Unified inch threads: UN, UNR and UNJ forms, external classes 1A, 2A and 3A.
//!
//! Standard: ASME B1.1 (UNJ: ASME B1.15, whose pitch diameters follow the same rules). Formulas
//! written down from memory, its worked examples and printed limits checked in the tests.
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
//! others; 1-14 UNS keeps the D of the series it once stood in.
//!
//! Rounding: D, allowance and limits to 4 places, tolerance and 0.64951905 P to 6, P to 8; ties go
//! to the even digit. Rows printed before this rule differ in the last digit; for those listed in
//! `unified_series` the printed number is used.
//!
//! Range: listed sizes and specials from 0.03 to 24 inch, 1 to 200 threads per inch, pitch
//! at most half the diameter. Unlisted sizes are marked special.

use super::inch_size::InchSize;
use super::unified_series::{self, Printed};
use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError};
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
}

/// Pitch diameter limits by formula, in ten-thousandths of an inch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FormulaLimits {
    /// Allowance.
    pub allowance: i64,
    /// Basic pitch diameter.
    pub basic: i64,
    /// Largest pitch diameter.
    pub maximum: i64,
    /// Smallest pitch diameter.
    pub minimum: i64,
    /// Tolerance of this class, in millionths of an inch.
    pub tolerance_millionths: i64,
}

/// The formulas and roundings of the module head. Lengths in inches.
///
/// ```
/// use overwire_core::thread::unified::{Class, limits_by_formula};
/// // The worked example printed for 1/2-28 UNEF-2A.
/// let limits = limits_by_formula(0.5, 28.0, Class::Two, 9.0 / 28.0);
/// assert_eq!(limits.tolerance_millionths, 3668);
/// assert_eq!((limits.maximum, limits.minimum), (4757, 4720));
/// ```
pub fn limits_by_formula(
    diameter: f64,
    threads_per_inch: f64,
    class: Class,
    engagement: f64,
) -> FormulaLimits {
    let diameter = (diameter * 1e4).round();
    let pitch = (1e8 / threads_per_inch).round() / 1e8;
    let twice_addendum = (0.649_519_05 * pitch * 1e6).round() as i64;
    let of_size = 0.0015 * (diameter / 1e4).cbrt();
    let class_2a = of_size + 0.0015 * engagement.sqrt() + 0.015 * (pitch * pitch).cbrt();
    let class_2a = (class_2a * 1e6).round() as i64;
    let (tolerance, allowance) = match class {
        Class::One => (
            divide_to_even(class_2a * 15, 10),
            divide_to_even(class_2a * 3, 1_000),
        ),
        Class::Two => (class_2a, divide_to_even(class_2a * 3, 1_000)),
        Class::Three => (divide_to_even(class_2a * 75, 100), 0),
    };
    let millionths = diameter as i64 * 100 - twice_addendum;
    let maximum = divide_to_even(millionths - allowance * 100, 100);
    FormulaLimits {
        allowance,
        basic: divide_to_even(millionths, 100),
        maximum,
        minimum: divide_to_even(maximum * 100 - tolerance, 100),
        tolerance_millionths: tolerance,
    }
}

/// A whole quotient; ties go to the even one.
fn divide_to_even(number: i64, divisor: i64) -> i64 {
    let (quotient, remainder) = (number.div_euclid(divisor), number.rem_euclid(divisor));
    match (2 * remainder).cmp(&divisor) {
        std::cmp::Ordering::Less => quotient,
        std::cmp::Ordering::Equal => quotient + quotient.rem_euclid(2),
        std::cmp::Ordering::Greater => quotient + 1,
    }
}

impl Unified {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let listed = unified_series::listed_in(self.diameter(), self.threads_per_inch);
        let formula = limits_by_formula(
            self.size.inches(),
            self.threads_per_inch,
            self.class,
            self.engagement(listed),
        );
        let printed = unified_series::printed(self.diameter(), self.threads_per_inch, self.class);
        let or_printed = |formula: i64, printed: Option<i64>| printed.unwrap_or(formula);
        let allowance = or_printed(formula.allowance, printed.and_then(|row| row.allowance));
        let maximum = or_printed(formula.maximum, printed.and_then(|row| row.maximum));
        let minimum = or_printed(formula.minimum, printed.and_then(|row| row.minimum));
        let limits = Limits::checked(ten_thousandths(minimum)?, ten_thousandths(maximum)?)?;
        let nominal = Length::from_inches(self.size.inches())?;
        let geometry = Geometry::checked(
            Pitch::from_threads_per_inch(self.threads_per_inch)?,
            1,
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
                note: self.note(listed, printed),
            },
            unit: Unit::Inch,
            special: listed.is_none(),
            nominal_diameter: nominal,
            basic_pitch_diameter: ten_thousandths(formula.basic)?,
        })
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
        format!(
            "{size}-{} {form}{}-{}{hand}",
            self.threads_per_inch,
            self.series.letters(),
            self.class.as_str()
        )
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
        Ok(())
    }

    /// Length of engagement the tolerance is counted with, in inches.
    fn engagement(&self, listed: Option<Series>) -> f64 {
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

    fn note(&self, listed: Option<Series>, printed: Option<&Printed>) -> Option<String> {
        let mut notes = Vec::new();
        notes.extend(self.series_note(listed));
        if let Some(printed) = printed {
            notes.push(format!("Limits as printed in {}.", printed.source));
        }
        (!notes.is_empty()).then(|| notes.join(" "))
    }

    /// What to say when the series named is not the one that lists this size.
    fn series_note(&self, listed: Option<Series>) -> Option<String> {
        let size = format!(
            "{}-{}",
            self.size.text_before(self.threads_per_inch),
            self.threads_per_inch
        );
        let same = |series: Series| series.letters() == self.series.letters();
        match listed {
            Some(series) if same(series) => None,
            Some(series) => Some(format!(
                "{size} is listed as UN{}; its limits are used.",
                series.letters()
            )),
            None => {
                let engagement = match self.is_old_fine_one_inch() {
                    true => "the diameter",
                    false => "9 pitches",
                };
                let usual = unified_series::listed_threads_per_inch(self.series, self.diameter());
                let usual = usual.map(|count| {
                    format!(
                        " UN{} lists {count} threads per inch for this diameter.",
                        self.series.letters()
                    )
                });
                Some(format!(
                    "{size} is not a listed size: a special thread, limits computed with {engagement} \
                     as length of engagement.{}",
                    usual.unwrap_or_default()
                ))
            }
        }
    }
}

fn ten_thousandths(count: i64) -> Result<Length, ThreadError> {
    // One division, so that 0.4485 is the nearest number to 0.4485 inches in millimetres.
    Ok(Length::from_mm((count * 254) as f64 / 100_000.0)?)
}
