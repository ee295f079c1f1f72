//! ISO metric trapezoidal threads Tr, 30 degrees, classes of grades 7, 8 and 9 and positions e and c.
//!
//! Standards: ISO 2901 (form), ISO 2902 (sizes), ISO 2903 (tolerances), ISO 2904 (dimensions).
//! Form as quoted on public pages; tables and the factors for more starts from memory (see
//! `tables`).
//!
//! ```text
//! basic d2    = d - 0.5 P
//! maximum d2  = basic d2 - deviation         (e and c from the table, by pitch)
//! minimum d2  = maximum d2 - tolerance       (from the table by diameter group, pitch, grade)
//! root        = d - P - 2 a_c                (a_c 0.15 at P 1.5, 0.25 to 5, 0.5 to 12, 1 beyond)
//! ```
//!
//! With 2, 3, 4, and 5 or more starts the tolerance is 1.12, 1.25, 1.4 and 1.6 times that of one
//! start, rounded to whole micrometres. P is the pitch, not the lead.
//!
//! Where the table has no tolerance, that of [`super::metric`] for the diameter group is used: both
//! systems rest on `90 P^0.4 d^0.1` micrometres for grade 6 and the R40 series. Such a thread is
//! special; its tolerance may be a step of that series off the printed one. Deviations are never
//! computed: a pitch that is not in the table is refused, and so is c above 20 mm.
//!
//! Range: diameters above 5.6 to 355 mm, the pitches of the table, at most half the diameter. The
//! list of sizes goes to 100 mm; other sizes are special.

mod tables;

use super::rounding::from_micrometres;
use super::{Basis, Flanks, Geometry, Hand, Limits, Ranged, System, Thread, ThreadError, metric};
use crate::units::{Pitch, Unit};

const STANDARD: &str = "ISO 2903";

/// Where the tolerance zone lies below the basic size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Position {
    /// Large clearance.
    C,
    /// The usual clearance.
    E,
}

impl Position {
    /// As written in a designation.
    pub const fn letter(self) -> char {
        match self {
            Position::C => 'c',
            Position::E => 'e',
        }
    }
}

/// A trapezoidal external thread.
///
/// ```
/// use overwire_core::thread::Hand;
/// use overwire_core::thread::trapezoidal::{Position, Trapezoidal};
/// let thread = Trapezoidal {
///     diameter_um: 40_000,
///     pitch_um: 7_000,
///     starts: 1,
///     grade: 7,
///     position: Position::E,
///     hand: Hand::Right,
/// }
/// .thread()?;
/// assert_eq!(thread.designation, "Tr40x7-7e");
/// let limits = thread.limits.expect("a trapezoidal thread has limits");
/// assert_eq!((limits.pitch_diameter_max.mm(), limits.pitch_diameter_min.mm()), (36.375, 36.02));
/// # Ok::<(), overwire_core::thread::ThreadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trapezoidal {
    /// Nominal diameter in micrometres.
    pub diameter_um: u32,
    /// Pitch in micrometres.
    pub pitch_um: u32,
    /// Number of starts.
    pub starts: u32,
    /// Tolerance grade: 7, 8 or 9.
    pub grade: u8,
    /// Tolerance position.
    pub position: Position,
    /// Which way the helix runs.
    pub hand: Hand,
}

/// Every listed size: diameter and pitch in micrometres.
pub fn listed_sizes() -> impl Iterator<Item = (u32, u32)> {
    tables::LISTED.iter().flat_map(|(diameters, pitches)| {
        let with_each = |&diameter| pitches.iter().map(move |&pitch| (diameter, pitch));
        diameters.iter().flat_map(with_each)
    })
}

/// How much wider the tolerance is with more starts, in hundredths.
fn starts_factor(starts: u32) -> u32 {
    match starts {
        0 | 1 => 100,
        2 => 112,
        3 => 125,
        4 => 140,
        _ => 160,
    }
}

impl Trapezoidal {
    /// The thread with its limits.
    ///
    /// # Errors
    /// [`ThreadError::OutsideStandard`] outside the range of the module head.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        self.check_range()?;
        let (tolerance, tabulated) = self.tolerance()?;
        let basic = i64::from(self.diameter_um) - i64::from(self.pitch_um) / 2;
        let maximum = basic - i64::from(self.deviation()?);
        let limits = Limits::checked(
            from_micrometres(maximum - i64::from(tolerance))?,
            from_micrometres(maximum)?,
        )?;
        let listed = tables::is_listed(self.diameter_um, self.pitch_um);
        Ok(Thread {
            system: System::Trapezoidal,
            designation: self.designation(),
            geometry: self.geometry()?,
            limits: Some(limits),
            basis: Basis::Standard {
                standard: STANDARD,
                from_memory: true,
                note: self.note(listed, tabulated),
            },
            unit: Unit::Millimetre,
            special: !listed || !tabulated,
            nominal_diameter: from_micrometres(self.diameter_um.into())?,
            basic_pitch_diameter: from_micrometres(basic)?,
        })
    }

    /// The canonical designation.
    pub fn designation(&self) -> String {
        format!(
            "Tr{}{}-{}{}",
            size_and_lead(self.diameter_um, self.pitch_um, self.starts),
            hand_mark(self.hand),
            self.grade,
            self.position.letter()
        )
    }

    fn geometry(&self) -> Result<Geometry, ThreadError> {
        let depth = self.pitch_um + 2 * tables::root_clearance(self.pitch_um);
        Geometry::checked(
            Pitch::from_length(from_micrometres(self.pitch_um.into())?)?,
            self.starts,
            self.hand,
            Flanks::from_degrees(15.0, 15.0)?,
            Some(from_micrometres(self.diameter_um.into())?),
            Some(from_micrometres(
                i64::from(self.diameter_um) - i64::from(depth),
            )?),
        )
    }

    fn deviation(&self) -> Result<u32, ThreadError> {
        let not_listed = || {
            outside(
                Ranged::PitchMm,
                mm(self.pitch_um),
                "a pitch of the standard: 1.5, 2 to 10, 12 to 24 by twos, 28 to 44 by fours",
            )
        };
        let (e, c) = tables::deviations(self.pitch_um).ok_or_else(not_listed)?;
        match self.position {
            Position::E => Ok(e),
            Position::C => c.ok_or_else(|| {
                outside(
                    Ranged::PitchMm,
                    mm(self.pitch_um),
                    "at most 20 mm for position c",
                )
            }),
        }
    }

    /// The tolerance in micrometres, and whether it is from the table.
    fn tolerance(&self) -> Result<(u32, bool), ThreadError> {
        if !(7..=9).contains(&self.grade) {
            return Err(outside(Ranged::Grade, self.grade.into(), "7 to 9"));
        }
        let printed = tables::tolerance(self.diameter_um, self.pitch_um, self.grade);
        let computed = || {
            let source =
                metric::pitch_diameter_tolerance(self.diameter_um, self.pitch_um, self.grade);
            source
                .map(metric::Source::um)
                .ok_or_else(|| outside(Ranged::Grade, self.grade.into(), "7 to 9"))
        };
        let one_start = printed.map_or_else(computed, Ok)?;
        let hundredths = one_start * starts_factor(self.starts);
        Ok(((hundredths + 50) / 100, printed.is_some()))
    }

    fn check_range(&self) -> Result<(), ThreadError> {
        if self.diameter_um <= 5_600 || self.diameter_um > 355_000 {
            let range = "above 5.6 to 355 mm";
            return Err(outside(Ranged::DiameterMm, mm(self.diameter_um), range));
        }
        if self.pitch_um > self.diameter_um / 2 {
            let range = "at most half the diameter";
            return Err(outside(Ranged::PitchMm, mm(self.pitch_um), range));
        }
        Ok(())
    }

    fn note(&self, listed: bool, tabulated: bool) -> Option<String> {
        let mut notes = Vec::new();
        match self.diameter_um > 100_000 {
            true => notes.push("The list of sizes known here ends at 100 mm."),
            false if !listed => notes.push("ISO 2902 does not list this diameter with this pitch."),
            false => {}
        }
        if !tabulated {
            notes.push(
                "A special thread: tolerance computed by the formula behind the table, which may \
                 be a step of the R40 series off.",
            );
        }
        if self.starts > 1 {
            notes.push("The tolerance is widened for more starts as the standard allows.");
        }
        (!notes.is_empty()).then(|| notes.join(" "))
    }
}

fn mm(um: u32) -> f64 {
    f64::from(um) / 1_000.0
}

/// As in `40x7`, or `40x14(P7)` with two starts.
pub(super) fn size_and_lead(diameter_um: u32, pitch_um: u32, starts: u32) -> String {
    let (diameter, pitch) = (mm(diameter_um), mm(pitch_um));
    match starts {
        1 => format!("{diameter}x{pitch}"),
        starts => {
            let lead = mm(pitch_um.saturating_mul(starts));
            format!("{diameter}x{lead}(P{pitch})")
        }
    }
}

/// `LH` for a left-hand thread, straight after the size.
pub(super) const fn hand_mark(hand: Hand) -> &'static str {
    match hand {
        Hand::Right => "",
        Hand::Left => "LH",
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
