//! ISO metric screw threads M and MJ, external, tolerance grades 3 to 9, positions e, f, g and h.
//!
//! Standards: ISO 68-1 (profile), ISO 261 (diameters and pitches), ISO 724 (basic sizes) and
//! ISO 965-1 (tolerances). Tables partly as printed in a handbook, partly from memory (see
//! `metric/tables.rs`). MJ of ISO 5855 has the same pitch diameters and a larger root radius, from
//! memory.
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
//! limits with P, not the lead. The length of engagement (S, N, L or a length) is kept and said:
//! the standard recommends other classes for short and long ones, but the class that is stated
//! sets the limits. The root is not stated to the wires, for the reason given in
//! [`unified`](super::unified).
//!
//! Range: diameters from 1 to 355 mm, pitches from 0.2 to 8 mm, at most half the diameter.

mod note;
mod preferred;
mod tables;

use super::{
    Basis, Engagement, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError,
};
use crate::units::{Length, Pitch, Unit};

/// Thread form. Both have the same pitch diameter limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Form {
    /// M.
    Basic,
    /// MJ, with a large controlled root radius.
    LargeRootRadius,
}

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
/// use overwire_core::thread::metric::{Class, Form, Metric, Position};
/// let class = Class { grade: 6, position: Position::G };
/// let thread = Metric {
///     form: Form::Basic,
///     diameter_um: 10_000,
///     pitch_um: 1_500,
///     starts: 1,
///     pitch_diameter_class: class,
///     major_diameter_class: class,
///     engagement: None,
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
    /// Thread form.
    pub form: Form,
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
    /// Length of engagement, where the designation states one.
    pub engagement: Option<Engagement>,
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
    Some(Source::Formula(preferred::nearest(grade_6 * factor)))
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
            system: self.system(),
            designation: self.designation(),
            geometry,
            limits: Some(Limits::checked(
                micrometres(minimum)?,
                micrometres(maximum)?,
            )?),
            basis: Basis::Standard {
                standard: self.standard(),
                from_memory: true,
                note: note::about(self, listed, computed),
            },
            unit: Unit::Millimetre,
            special: !listed || computed,
            nominal_diameter: micrometres(self.diameter_um.into())?,
            basic_pitch_diameter: micrometres(basic)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        let number = |um: u64| um as f64 / 1_000.0;
        let (pitch_um, starts) = (u64::from(self.pitch_um), u64::from(self.starts));
        let (diameter, pitch) = (number(self.diameter_um.into()), number(pitch_um));
        let steps = match starts {
            1 => format!("{pitch}"),
            _ => format!("Ph{}P{pitch}", number(pitch_um * starts)),
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
        let letters = match self.form {
            Form::Basic => "M",
            Form::LargeRootRadius => "MJ",
        };
        let engagement = match self.engagement {
            None | Some(Engagement::Normal) => String::new(),
            Some(Engagement::Short) => "-S".to_owned(),
            Some(Engagement::Long) => "-L".to_owned(),
            Some(Engagement::Length(length)) => format!(" LE {}", length.value()),
        };
        format!("{letters}{diameter}x{steps}-{class}{engagement}{hand}")
    }

    const fn system(&self) -> System {
        match self.form {
            Form::Basic => System::Metric,
            Form::LargeRootRadius => System::MetricJ,
        }
    }

    const fn standard(&self) -> &'static str {
        match self.form {
            Form::Basic => "ISO 965-1",
            Form::LargeRootRadius => "ISO 5855 with the pitch diameters of ISO 965-1",
        }
    }

    const fn outside(&self, what: Ranged, found: f64, range: &'static str) -> ThreadError {
        ThreadError::OutsideStandard {
            standard: self.standard(),
            what,
            found,
            range,
        }
    }

    fn basic_pitch_diameter_um(&self) -> i64 {
        let below = 0.649_519 * f64::from(self.pitch_um);
        (f64::from(self.diameter_um) - below).round() as i64
    }

    fn tolerance(&self) -> Result<Source, ThreadError> {
        let grade = self.pitch_diameter_class.grade;
        pitch_diameter_tolerance(self.diameter_um, self.pitch_um, grade)
            .ok_or_else(|| self.outside(Ranged::Grade, grade.into(), "3 to 9"))
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        let (diameter, pitch) = (self.diameter_um, self.pitch_um);
        let mm = |um: u32| f64::from(um) / 1_000.0;
        if !(1_000..=355_000).contains(&diameter) {
            return Err(self.outside(Ranged::DiameterMm, mm(diameter), "1 to 355 mm"));
        }
        if !(200..=8_000).contains(&pitch) {
            return Err(self.outside(Ranged::PitchMm, mm(pitch), "0.2 to 8 mm"));
        }
        if pitch * 2 > diameter {
            return Err(self.outside(Ranged::PitchMm, mm(pitch), "at most half the diameter"));
        }
        if let Some(Engagement::Length(length)) = self.engagement
            && !(mm(pitch)..=1_000.0).contains(&length.value())
        {
            let found = length.value();
            return Err(self.outside(Ranged::EngagementMm, found, "one pitch to 1000 mm"));
        }
        Ok(())
    }
}

fn micrometres(count: i64) -> Result<Length, ThreadError> {
    Ok(Length::from_mm(count as f64 / 1_000.0)?)
}
