//! Measuring force, and what is recommended for a pitch.

use thiserror::Error;

use crate::units::{Length, MM_PER_INCH, Pitch};

/// Newtons in one pound-force: 0.45359237 kg at 9.80665 m/s², exactly.
pub const NEWTONS_PER_POUND: f64 = 0.453_592_37 * 9.806_65;

/// The strongest measuring force accepted, in newtons.
pub const STRONGEST_NEWTONS: f64 = 500.0;

/// Why a force was refused.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error(
    "a measuring force of {newtons} N is not plausible; expected above 0 to {STRONGEST_NEWTONS} N"
)]
pub struct ForceError {
    /// What was given.
    pub newtons: f64,
}

impl ForceError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "force-implausible"
    }
}

/// A measuring force, held in newtons; above zero.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Force(f64);

impl Force {
    /// So many newtons.
    ///
    /// # Errors
    /// [`ForceError`] unless above 0 and at most [`STRONGEST_NEWTONS`].
    pub fn from_newtons(newtons: f64) -> Result<Force, ForceError> {
        if newtons > 0.0 && newtons <= STRONGEST_NEWTONS {
            Ok(Force(newtons))
        } else {
            Err(ForceError { newtons })
        }
    }

    /// So many pounds-force.
    ///
    /// # Errors
    /// As [`Force::from_newtons`].
    pub fn from_pounds(pounds: f64) -> Result<Force, ForceError> {
        Force::from_newtons(pounds * NEWTONS_PER_POUND)
    }

    const fn ounces(ounces: f64) -> Force {
        Force(ounces * NEWTONS_PER_POUND / 16.0)
    }

    /// In newtons.
    pub const fn newtons(self) -> f64 {
        self.0
    }

    /// In ounces-force.
    pub const fn in_ounces(self) -> f64 {
        self.0 / NEWTONS_PER_POUND * 16.0
    }
}

/// The force a pitch should be measured with, and the cylinder its wires are certified on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecommendedForce {
    /// The force.
    pub force: Force,
    /// How far it may be off, as a share of it.
    pub within: f64,
    /// Diameter of the cylinder against which the wires are measured under that force.
    pub cylinder: Length,
    /// Whether the row was written down from memory.
    pub from_memory: bool,
}

/// Threads per inch up to which a row holds, force in ounces, cylinder in inches.
const BY_THREADS_PER_INCH: [(f64, f64, f64); 5] = [
    (20.0, 40.0, 0.75),
    (40.0, 16.0, 0.75),
    (80.0, 8.0, 0.125),
    (140.0, 4.0, 0.05),
    (f64::INFINITY, 2.0, 0.02),
];

/// Rows seen in print.
const SEEN_IN_PRINT: [f64; 3] = [64.0, 72.0, 80.0];

/// The force recommended for this pitch, by ASME B1.2 appendix B and B89.1.17.
///
/// The rows for 64, 72 and 80 threads per inch were seen on a public page of an instrument
/// laboratory; the others are from memory. Metric pitches are taken by their threads per inch.
///
/// ```
/// use overwire_core::compression::recommended_force;
/// use overwire_core::units::Pitch;
/// let coarse = recommended_force(Pitch::from_threads_per_inch(13.0)?);
/// assert!((coarse.force.newtons() - 11.12).abs() < 0.01 && coarse.from_memory);
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
pub fn recommended_force(pitch: Pitch) -> RecommendedForce {
    let threads_per_inch = MM_PER_INCH / pitch.mm();
    let noise = 1e-9 * threads_per_inch;
    let row = BY_THREADS_PER_INCH
        .iter()
        .find(|(most, _, _)| threads_per_inch <= most + noise);
    let &(_, ounces, cylinder) = row.unwrap_or(&(f64::INFINITY, 2.0, 0.02));
    let printed = |row: &f64| (threads_per_inch - row).abs() <= noise;
    RecommendedForce {
        force: Force::ounces(ounces),
        within: 0.1,
        cylinder: Length::computed(cylinder * MM_PER_INCH),
        from_memory: !SEEN_IN_PRINT.iter().any(printed),
    }
}

impl RecommendedForce {
    /// Whether a force lies within the recommended one's tolerance.
    pub fn covers(&self, force: Force) -> bool {
        let off = (force.newtons() - self.force.newtons()).abs();
        off <= self.force.newtons() * self.within * (1.0 + 1e-9)
    }

    /// One sentence for a person.
    pub fn sentence(&self) -> String {
        let memory = match self.from_memory {
            true => ", from memory: check against your copy",
            false => "",
        };
        format!(
            "Recommended measuring force {:.2} N ({} oz) within {:.0} %, by ASME B1.2 and B89.1.17{memory}.",
            self.force.newtons(),
            self.force.in_ounces().round(),
            self.within * 100.0
        )
    }
}
