//! ISO metric screw threads, external, tolerance grades 3 to 9 and positions e, f, g and h.
//!
//! Standards: ISO 261 and ISO 965-1. Tables partly as printed in a handbook, partly from memory
//! (see `metric_tables`).
//!
//! ```text
//! basic d2    = d - 0.649519 P, to 0.001 mm
//! maximum d2  = basic d2 - deviation              (e, f, g from the table, h: 0)
//! minimum d2  = maximum d2 - tolerance            (from the table by diameter group, pitch, grade)
//! ```
//!
//! Where the tables have no entry, the formulas behind them are used and the thread is marked
//! special: deviations 50 + 11 P, 30 + 11 P and 15 + 11 P micrometres for e, f, g; tolerance
//! 90 P^0.4 d^0.1 micrometres for grade 6, with d the geometric mean of the diameter group, times
//! 0.5, 0.63, 0.8, 1, 1.25, 1.6 and 2 for grades 3 to 9, taken to the nearest preferred number
//! of the R40 series. Tables are not the formula rounded: where there is a table, it counts.
//!
//! In `5g6g` the first class is that of the pitch diameter; the second, of the major diameter, is
//! kept in the designation and sets how high the crest may be. Multi-start threads use the same
//! limits with P, not the lead.
//!
//! Range: diameters from 1 to 355 mm, pitches from 0.2 to 8 mm, at most half the diameter.

use super::metric_tables::{self as tables};
use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError};
use crate::units::{Length, Pitch, Unit};

const STANDARD: &str = "ISO 965-1";

/// Where the tolerance zone lies below the basic size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Position {
    /// Large clearance.
    E,
    /// Medium clearance.
    F,
    /// Small clearance, the usual one.
    G,
    /// None.
    H,
}

impl Position {
    /// As written in a designation.
    pub const fn letter(self) -> char {
        match self {
            Position::E => 'e',
            Position::F => 'f',
            Position::G => 'g',
            Position::H => 'h',
        }
    }
}

/// A tolerance class such as `6g`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Class {
    /// Grade, 3 to 9.
    pub grade: u8,
    /// Position.
    pub position: Position,
}

impl std::fmt::Display for Class {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "{}{}", self.grade, self.position.letter())
    }
}

/// An ISO metric external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::metric::{Class, Metric, Position};
/// let class = Class { grade: 6, position: Position::G };
/// let thread = Metric {
///     diameter_um: 10_000,
///     pitch_um: 1_500,
///     starts: 1,
///     pitch_diameter_class: class,
///     major_diameter_class: class,
///     hand: Hand::Right,
/// }
/// .thread()?;
/// assert_eq!(thread.designation, "M10x1.5-6g");
/// let limits = thread.limits.expect("a metric thread has limits");
/// assert_eq!((limits.pitch_diameter_max.mm(), limits.pitch_diameter_min.mm()), (8.994, 8.862));
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Metric {
    /// Nominal diameter in micrometres.
    pub diameter_um: u32,
    /// Pitch in micrometres.
    pub pitch_um: u32,
    /// Number of starts.
    pub starts: u32,
    /// Tolerance class of the pitch diameter.
    pub pitch_diameter_class: Class,
    /// Tolerance class of the major diameter.
    pub major_diameter_class: Class,
    /// Which way the helix runs.
    pub hand: Hand,
}

/// The coarse pitch ISO 261 lists for a diameter, both in micrometres.
///
/// ```
/// assert_eq!(overwire_core::thread::metric::coarse_pitch_um(10_000), Some(1_500));
/// ```
pub fn coarse_pitch_um(diameter_um: u32) -> Option<u32> {
    tables::coarse_pitch(diameter_um)
}

/// A number from a table, or from the formula behind the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Looked up.
    Table(u32),
    /// Computed.
    Formula(u32),
}

impl Source {
    /// The number, in micrometres.
    pub const fn um(self) -> u32 {
        match self {
            Source::Table(um) | Source::Formula(um) => um,
        }
    }

    const fn is_formula(self) -> bool {
        matches!(self, Source::Formula(_))
    }
}

/// How far below the basic size this position lies, in micrometres.
pub fn deviation(pitch_um: u32, position: Position) -> Source {
    let (column, start) = match position {
        Position::E => (0, 50.0),
        Position::F => (1, 30.0),
        Position::G => (2, 15.0),
        Position::H => return Source::Table(0),
    };
    let formula = || (start + 11.0 * f64::from(pitch_um) / 1_000.0).round() as u32;
    tables::deviation(pitch_um, column).map_or_else(|| Source::Formula(formula()), Source::Table)
}

/// The pitch diameter tolerance in micrometres; `None` outside the diameter groups or grades.
pub fn pitch_diameter_tolerance(diameter_um: u32, pitch_um: u32, grade: u8) -> Option<Source> {
    let index = usize::from(grade.checked_sub(3)?);
    let group = tables::diameter_group(diameter_um)?;
    if let Some(printed) = tables::tolerance(group, pitch_um, index) {
        return Some(Source::Table(printed));
    }
    let factor = *[0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0].get(index)?;
    let mean = (f64::from(group.0) * f64::from(group.1)).sqrt() / 1_000.0;
    let grade_6 = 90.0 * (f64::from(pitch_um) / 1_000.0).powf(0.4) * mean.powf(0.1);
    Some(Source::Formula(nearest_preferred(grade_6 * factor)))
}

/// The nearest number of the R40 series, rounded to whole micrometres.
fn nearest_preferred(number: f64) -> u32 {
    const R40: [f64; 41] = [
        1.0, 1.06, 1.12, 1.18, 1.25, 1.32, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.12, 2.24, 2.36,
        2.5, 2.65, 2.8, 3.0, 3.15, 3.35, 3.55, 3.75, 4.0, 4.25, 4.5, 4.75, 5.0, 5.3, 5.6, 6.0, 6.3,
        6.7, 7.1, 7.5, 8.0, 8.5, 9.0, 9.5, 10.0,
    ];
    let decade = 10_f64.powf(number.log10().floor());
    let distance = |preferred: f64| (preferred * decade - number).abs();
    let nearest = R40.into_iter().fold(1.0, |best: f64, candidate| {
        if distance(candidate) < distance(best) {
            candidate
        } else {
            best
        }
    });
    (nearest * decade).round_ties_even() as u32
}

impl Metric {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let class = self.pitch_diameter_class;
        let deviation_of_pitch_diameter = deviation(self.pitch_um, class.position);
        let tolerance = self.tolerance()?;
        let deviation_of_crest = deviation(self.pitch_um, self.major_diameter_class.position);

        let basic = self.basic_pitch_diameter_um();
        let maximum = basic - i64::from(deviation_of_pitch_diameter.um());
        let minimum = maximum - i64::from(tolerance.um());
        let crest = i64::from(self.diameter_um) - i64::from(deviation_of_crest.um());
        let geometry = Geometry::checked(
            Pitch::from_length(micrometres(self.pitch_um.into())?)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(30.0, 30.0)?,
            Some(micrometres(crest)?),
            None,
        )?;
        let computed = tolerance.is_formula() || deviation_of_pitch_diameter.is_formula();
        let listed = tables::is_listed(self.diameter_um, self.pitch_um);
        Ok(Thread {
            system: System::Metric,
            designation: self.designation(),
            geometry,
            limits: Some(Limits::checked(
                micrometres(minimum)?,
                micrometres(maximum)?,
            )?),
            basis: Basis::Standard {
                standard: STANDARD,
                from_memory: true,
                note: self.note(listed, computed),
            },
            unit: Unit::Millimetre,
            special: !listed || computed,
            nominal_diameter: micrometres(self.diameter_um.into())?,
            basic_pitch_diameter: micrometres(basic)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let number = |um: u32| f64::from(um) / 1_000.0;
        let (diameter, pitch) = (number(self.diameter_um), number(self.pitch_um));
        let steps = match self.starts {
            1 => format!("{pitch}"),
            starts => format!("Ph{}P{pitch}", number(self.pitch_um * starts)),
        };
        let (first, second) = (self.pitch_diameter_class, self.major_diameter_class);
        let class = match first == second {
            true => first.to_string(),
            false => format!("{first}{second}"),
        };
        let hand = match self.hand {
            Hand::Right => "",
            Hand::Left => " LH",
        };
        format!("M{diameter}x{steps}-{class}{hand}")
    }

    fn basic_pitch_diameter_um(&self) -> i64 {
        let below = 0.649_519 * f64::from(self.pitch_um);
        (f64::from(self.diameter_um) - below).round() as i64
    }

    fn tolerance(&self) -> Result<Source, ThreadError> {
        let grade = self.pitch_diameter_class.grade;
        pitch_diameter_tolerance(self.diameter_um, self.pitch_um, grade)
            .ok_or_else(|| outside(Ranged::Grade, grade.into(), "3 to 9"))
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        let (diameter, pitch) = (self.diameter_um, self.pitch_um);
        let mm = |um: u32| f64::from(um) / 1_000.0;
        if !(1_000..=355_000).contains(&diameter) {
            return Err(outside(Ranged::DiameterMm, mm(diameter), "1 to 355 mm"));
        }
        if !(200..=8_000).contains(&pitch) {
            return Err(outside(Ranged::PitchMm, mm(pitch), "0.2 to 8 mm"));
        }
        if pitch * 2 > diameter {
            return Err(outside(
                Ranged::PitchMm,
                mm(pitch),
                "at most half the diameter",
            ));
        }
        Ok(())
    }

    fn note(&self, listed: bool, computed: bool) -> Option<String> {
        let mut notes = Vec::new();
        if !listed {
            notes.push("ISO 261 does not list this diameter with this pitch.");
        }
        if computed {
            notes.push("A special thread: limits computed by the formulas behind the tables.");
        }
        if self.starts > 1 {
            notes.push("Limits are those of the single-start thread of the same pitch.");
        }
        (!notes.is_empty()).then(|| notes.join(" "))
    }
}

fn outside(what: Ranged, found: f64, range: &'static str) -> ThreadError {
    ThreadError::OutsideStandard {
        standard: STANDARD,
        what,
        found,
        range,
    }
}

fn micrometres(count: i64) -> Result<Length, ThreadError> {
    Ok(Length::from_mm(count as f64 / 1_000.0)?)
}
