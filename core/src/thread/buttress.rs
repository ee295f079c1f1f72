//! Buttress inch threads, 7 and 45 degrees, classes 2A and 3A.
//!
//! Standard: ASME B1.9. Size ranges, pitch increment, part of the tolerance table and the rule of
//! the allowance were seen in Machinery's Handbook, 27th edition (pages 1851 to 1855); the rest of
//! the table, the height of the external thread and the designation are from memory.
//!
//! In inches, with D the major diameter and P the pitch:
//!
//! ```text
//! tolerance 2 = 0.002 Dm^(1/3) + 0.0173 P^(1/2)     Dm: middle of the size range; engagement 10 P
//! tolerance 3 = 2/3 of tolerance 2
//! allowance G = tolerance 3, for both classes
//! basic d2    = D - 0.6 P
//! maximum d2  = basic d2 - G
//! minimum d2  = maximum d2 - tolerance
//! crest       = D - G;   root = D - G - 2 x 0.66271 P
//! ```
//!
//! Rounding: tolerances, allowance and limits to 4 places; ties go to the even digit. The formula
//! with the middle of the range gives every printed cell seen, so the ranges are the table.
//!
//! `BUTT` means a screw that pulls: the flank of 45 degrees leads and the load flank of 7 degrees
//! follows. `PUSH-BUTT` means one that pushes: the load flank leads. It does not change a
//! measurement over wires. Multi-start threads use the same limits with P, not the lead.
//!
//! Range: diameters from 0.5 to 24 inch, 1 to 20 threads per inch, pitch at most a third of the
//! diameter. Combinations outside the printed table are special: same formula.

use super::acme::{size_and_pitch, starts_and_hand};
use super::inch_size::InchSize;
use super::rounding::{from_ten_thousandths, ten_thousandths};
use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError};
use crate::units::{Length, Pitch, Unit};

const STANDARD: &str = "ASME B1.9";

/// Tolerance class of an external thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// 2A, standard grade.
    Two,
    /// 3A, precision grade.
    Three,
}

impl Class {
    /// As written in a designation.
    pub const fn as_str(self) -> &'static str {
        match self {
            Class::Two => "2A",
            Class::Three => "3A",
        }
    }
}

/// Which flank carries the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Thrust {
    /// `BUTT`: the screw pulls, its load flank follows.
    Pull,
    /// `PUSH-BUTT`: the screw pushes, its load flank leads.
    Push,
}

/// A buttress external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::buttress::{Buttress, Class, Thrust};
/// use overwire_core::thread::inch_size::InchSize;
/// let thread = Buttress {
///     size: InchSize::fraction(2, 1, 2),
///     threads_per_inch: 8.0,
///     starts: 1,
///     class: Class::Two,
///     thrust: Thrust::Pull,
///     hand: Hand::Left,
/// }
/// .thread()?;
/// assert_eq!(thread.designation, "2 1/2-8 BUTT-2A LH");
/// assert!((thread.geometry.flanks.leading.degrees() - 45.0).abs() < 1e-12);
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buttress {
    /// Nominal major diameter.
    pub size: InchSize,
    /// Threads per inch, from groove to neighbouring groove.
    pub threads_per_inch: f64,
    /// Number of starts.
    pub starts: u32,
    /// Tolerance class.
    pub class: Class,
    /// Which flank carries the load.
    pub thrust: Thrust,
    /// Which way the helix runs.
    pub hand: Hand,
}

/// Size ranges of the tolerance table, in inches: each from above the end of the one before; the
/// first begins at 0.5.
const RANGES: [f64; 9] = [0.7, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 24.0];

/// Pitches of the table, and the first and last size range each is printed for.
const PITCHES: [(f64, usize, usize); 14] = [
    (20.0, 0, 0),
    (16.0, 0, 4),
    (12.0, 0, 5),
    (10.0, 1, 7),
    (8.0, 2, 8),
    (6.0, 2, 8),
    (5.0, 3, 8),
    (4.0, 3, 8),
    (3.0, 5, 8),
    (2.5, 6, 8),
    (2.0, 6, 8),
    (1.5, 7, 8),
    (1.25, 7, 8),
    (1.0, 8, 8),
];

/// The size range a diameter lies in, and the middle of it.
fn range_of(diameter: f64) -> Option<(usize, f64)> {
    let index = RANGES.iter().position(|&upto| diameter <= upto)?;
    let from = index.checked_sub(1).and_then(|before| RANGES.get(before));
    let middle = (from.copied().unwrap_or(0.5) + RANGES.get(index)?) / 2.0;
    Some((index, middle))
}

/// The pitch diameter tolerance in ten-thousandths of an inch; `None` above 24 inch. Class 3 is
/// the allowance too.
///
/// ```
/// use overwire_core::thread::buttress::{Class, tolerance};
/// assert_eq!(tolerance(0.5, 20.0, Class::Two), Some(56));
/// ```
pub fn tolerance(diameter: f64, threads_per_inch: f64, class: Class) -> Option<i64> {
    let (_, middle) = range_of(diameter)?;
    let class_2 = 0.002 * middle.cbrt() + 0.0173 * threads_per_inch.recip().sqrt();
    Some(match class {
        Class::Two => ten_thousandths(class_2),
        Class::Three => ten_thousandths(class_2 * 2.0 / 3.0),
    })
}

fn is_listed(diameter: f64, threads_per_inch: f64) -> bool {
    let range = range_of(diameter).map(|(index, _)| index);
    PITCHES.iter().any(|&(count, first, last)| {
        let same = (count - threads_per_inch).abs() < 1e-9;
        same && range.is_some_and(|index| (first..=last).contains(&index))
    })
}

impl Buttress {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let (diameter, pitch) = (self.size.inches(), self.threads_per_inch.recip());
        let tolerance_of = |class| {
            tolerance(diameter, self.threads_per_inch, class)
                .ok_or_else(|| outside(Ranged::DiameterInches, diameter, DIAMETERS))
        };
        let allowance = tolerance_of(Class::Three)?;
        let basic = ten_thousandths(diameter - 0.6 * pitch);
        let maximum = basic - allowance;
        let limits = Limits::checked(
            from_ten_thousandths(maximum - tolerance_of(self.class)?)?,
            from_ten_thousandths(maximum)?,
        )?;
        let listed = is_listed(diameter, self.threads_per_inch);
        Ok(Thread {
            system: System::Buttress,
            designation: self.designation(),
            geometry: self.geometry(allowance)?,
            limits: Some(limits),
            basis: Basis::Standard {
                standard: STANDARD,
                from_memory: true,
                note: self.note(listed),
            },
            unit: Unit::Inch,
            special: !listed,
            nominal_diameter: Length::from_inches(diameter)?,
            basic_pitch_diameter: from_ten_thousandths(basic)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let form = match self.thrust {
            Thrust::Pull => "BUTT",
            Thrust::Push => "PUSH-BUTT",
        };
        format!(
            "{} {form}-{}{}",
            size_and_pitch(self.size, self.threads_per_inch),
            self.class.as_str(),
            starts_and_hand(self.starts, self.hand)
        )
    }

    fn geometry(&self, allowance: i64) -> Result<Geometry, ThreadError> {
        let crest = Length::from_inches(self.size.inches())? - from_ten_thousandths(allowance)?;
        let depth = Length::from_inches(2.0 * 0.662_71 / self.threads_per_inch)?;
        let (leading, trailing) = match self.thrust {
            Thrust::Pull => (45.0, 7.0),
            Thrust::Push => (7.0, 45.0),
        };
        Geometry::checked(
            Pitch::from_threads_per_inch(self.threads_per_inch)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(leading, trailing)?,
            Some(crest),
            Some(crest - depth),
        )
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        let (diameter, count) = (self.size.inches(), self.threads_per_inch);
        if !(0.5..=24.0).contains(&diameter) {
            return Err(outside(Ranged::DiameterInches, diameter, DIAMETERS));
        }
        if !(1.0..=20.0).contains(&count) {
            return Err(outside(Ranged::ThreadsPerInch, count, "1 to 20"));
        }
        if diameter * count < 3.0 {
            let range = "a pitch of at most a third of the diameter";
            return Err(outside(Ranged::ThreadsPerInch, count, range));
        }
        Ok(())
    }

    fn note(&self, listed: bool) -> Option<String> {
        let mut notes = Vec::new();
        if !listed {
            let size = size_and_pitch(self.size, self.threads_per_inch);
            notes.push(format!(
                "{size} is not a listed combination: a special thread, limits computed with 10 \
                 pitches as length of engagement."
            ));
        }
        if self.starts > 1 {
            notes.push("Limits are those of the single-start thread of the same pitch.".to_owned());
        }
        (!notes.is_empty()).then(|| notes.join(" "))
    }
}

const DIAMETERS: &str = "0.5 to 24 inch";

fn outside(what: Ranged, found: f64, range: &'static str) -> ThreadError {
    ThreadError::OutsideStandard {
        standard: STANDARD,
        what,
        found,
        range,
    }
}
