//! What a thread is, for the purpose of measuring it over wires.
//!
//! A [`Thread`] is its geometry (pitch, starts, hand, flanks, crest), its pitch
//! diameter limits, and a plain statement of where those limits come from. Each
//! thread system is one file that states its standard, formulas, rounding and
//! range: [`unified`], [`metric`], [`unified_miniature`], [`acme`], [`stub_acme`], [`trapezoidal`],
//! [`buttress`], [`saw_tooth`], [`whitworth`], [`pipe_parallel`], [`british_association`], [`worm`],
//! [`custom`].

pub mod acme;
pub mod british_association;
pub mod buttress;
pub mod custom;
pub mod designation;
mod engagement;
mod geometry;
pub mod inch_size;
pub mod metric;
pub mod pipe_parallel;
mod rounding;
pub mod saw_tooth;
pub mod stub_acme;
pub mod trapezoidal;
pub mod unified;
pub mod unified_miniature;
pub mod whitworth;
pub mod worm;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::units::{Length, Unit, UnitError};
use crate::wires::Wires;

pub use engagement::Engagement;
pub use geometry::{Flanks, Geometry, Hand, MOST_STARTS};

/// Pitch diameter limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The smallest pitch diameter that passes.
    pub pitch_diameter_min: Length,
    /// The largest pitch diameter that passes.
    pub pitch_diameter_max: Length,
}

impl Limits {
    /// Limits with 0 < minimum < maximum.
    pub fn checked(minimum: Length, maximum: Length) -> Result<Limits, ThreadError> {
        if minimum > Length::ZERO && minimum < maximum {
            Ok(Limits {
                pitch_diameter_min: minimum,
                pitch_diameter_max: maximum,
            })
        } else {
            Err(ThreadError::LimitsOutOfOrder {
                minimum_mm: minimum.mm(),
                maximum_mm: maximum.mm(),
            })
        }
    }

    /// Halfway between the limits.
    pub fn middle(&self) -> Length {
        (self.pitch_diameter_min + self.pitch_diameter_max) * 0.5
    }

    /// From the minimum to the maximum.
    pub fn tolerance(&self) -> Length {
        self.pitch_diameter_max - self.pitch_diameter_min
    }
}

/// Where the limits of a thread come from.
#[derive(Debug, Clone, PartialEq)]
pub enum Basis {
    /// Computed or taken from a standard.
    Standard {
        /// The document, such as `ASME B1.1`.
        standard: &'static str,
        /// Whether formula or tables were written down from memory.
        from_memory: bool,
        /// Anything particular about this size.
        note: Option<String>,
    },
    /// The form is that of a standard, written down from memory; its limits are not known here.
    FormOnly {
        /// The document.
        standard: &'static str,
    },
    /// Typed in as pitch diameter limits, or not given at all.
    Typed,
    /// Typed in as limits over wires, and converted once by the exact seat.
    TypedOverWires {
        /// Smallest reading, as typed.
        min: Length,
        /// Largest reading, as typed.
        max: Length,
        /// The wires those two limits are meant for.
        wires: Wires,
    },
    /// Moved from those of the finished thread by a coating that is still to come.
    BeforePlating {
        /// Where the limits of the finished thread come from.
        after: Box<Basis>,
        /// What the coating does, in a sentence.
        told: String,
    },
}

impl Basis {
    /// One sentence for a person.
    ///
    /// ```
    /// use overwire_core::thread::designation;
    /// let thread = designation::parse("M10x1.5-6g")?;
    /// let basis = thread.basis.sentence();
    /// assert!(basis.starts_with("Limits by ISO 965-1"));
    /// assert!(basis.contains("from memory: check against your copy"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn sentence(&self) -> String {
        match self {
            Basis::Standard {
                standard,
                from_memory,
                note,
            } => {
                let memory = match from_memory {
                    true => ", from memory: check against your copy",
                    false => "",
                };
                let note = note.as_ref().map(|note| format!(" {note}"));
                format!("Limits by {standard}{memory}.{}", note.unwrap_or_default())
            }
            Basis::FormOnly { standard } => format!(
                "Form by {standard}, from memory: check against your copy. Its limits are not known \
                 here: type those of the drawing."
            ),
            Basis::Typed => {
                "As typed for this job: no standard stands behind these numbers.".to_owned()
            }
            Basis::TypedOverWires { .. } => {
                "Limits over wires as typed for this job, converted to pitch diameter by the exact \
                 seat of the wires they were typed for."
                    .to_owned()
            }
            Basis::BeforePlating { after, told } => {
                format!("Limits before plating. {told} {}", after.sentence())
            }
        }
    }
}

/// The family a thread belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum System {
    /// Unified inch threads, 60 degrees: UN and UNR.
    Unified,
    /// Unified inch threads with a large root radius: UNJ.
    UnifiedJ,
    /// Unified miniature threads, 60 degrees: UNM.
    UnifiedMiniature,
    /// ISO metric M threads, 60 degrees.
    Metric,
    /// ISO metric threads with a large root radius: MJ.
    MetricJ,
    /// Acme inch threads, 29 degrees.
    Acme,
    /// Stub Acme inch threads, 29 degrees.
    StubAcme,
    /// ISO metric trapezoidal threads, 30 degrees: Tr.
    Trapezoidal,
    /// Buttress inch threads, 7 and 45 degrees.
    Buttress,
    /// Metric saw-tooth threads, 3 and 30 degrees: S.
    SawTooth,
    /// Whitworth form inch threads, 55 degrees: BSW and BSF.
    Whitworth,
    /// Parallel pipe threads of Whitworth form: G.
    PipeParallel,
    /// British Association threads, 47 1/2 degrees: BA.
    BritishAssociation,
    /// Worms that are straight-sided in the axial section.
    Worm,
    /// Anything described by its own numbers.
    Custom,
}

/// A thread to be measured: geometry, limits, and where the limits come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Thread {
    /// The family it belongs to.
    pub system: System,
    /// The canonical designation; for a custom thread a description.
    pub designation: String,
    /// Its shape.
    pub geometry: Geometry,
    /// Its pitch diameter limits; `None` when it is only to be measured.
    pub limits: Option<Limits>,
    /// Where the limits come from.
    pub basis: Basis,
    /// The unit this thread is usually stated in.
    pub unit: Unit,
    /// Whether the combination of diameter and pitch is not a listed one.
    pub special: bool,
    /// The nominal diameter.
    pub nominal_diameter: Length,
    /// The pitch diameter the limits are counted from; for a custom thread the middle of the limits.
    pub basic_pitch_diameter: Length,
}

impl Thread {
    /// The smallest and largest pitch diameter of interest: the limits, or the basic one twice.
    pub fn pitch_diameter_zone(&self) -> (Length, Length) {
        match &self.limits {
            Some(limits) => (limits.pitch_diameter_min, limits.pitch_diameter_max),
            None => (self.basic_pitch_diameter, self.basic_pitch_diameter),
        }
    }

    /// The pitch diameter to aim at: halfway between the limits, or the basic one.
    pub fn aim(&self) -> Length {
        self.limits
            .as_ref()
            .map_or(self.basic_pitch_diameter, Limits::middle)
    }
}

/// A number a standard sets bounds to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ranged {
    /// A nominal diameter, in inches.
    DiameterInches,
    /// A nominal diameter, in millimetres.
    DiameterMm,
    /// A number of threads per inch.
    ThreadsPerInch,
    /// A pitch, in millimetres.
    PitchMm,
    /// A length of engagement, in inches.
    EngagementInches,
    /// A length of engagement, in millimetres.
    EngagementMm,
    /// A tolerance grade.
    Grade,
    /// A worm's axial module, in millimetres.
    Module,
    /// A worm's diametral pitch.
    DiametralPitch,
    /// A worm's axial pressure angle, in degrees.
    PressureAngle,
}

impl std::fmt::Display for Ranged {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(match self {
            Ranged::DiameterInches => "a diameter in inches",
            Ranged::DiameterMm => "a diameter in mm",
            Ranged::ThreadsPerInch => "a number of threads per inch",
            Ranged::PitchMm => "a pitch in mm",
            Ranged::EngagementInches => "a length of engagement in inches",
            Ranged::EngagementMm => "a length of engagement in mm",
            Ranged::Grade => "a tolerance grade",
            Ranged::Module => "a module",
            Ranged::DiametralPitch => "a diametral pitch",
            Ranged::PressureAngle => "a pressure angle in degrees",
        })
    }
}

/// Why a thread could not be described.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ThreadError {
    /// A number was refused.
    #[error(transparent)]
    Unit(#[from] UnitError),
    /// Too few or too many starts.
    #[error("expected 1 to {MOST_STARTS} starts, found {found}")]
    StartsOutOfRange {
        /// What was given.
        found: u32,
    },
    /// No wire can rest between these flanks.
    #[error(
        "flanks of {leading_deg:.4} and {trailing_deg:.4} degrees cannot hold a wire; each must be \
         0 to 75 degrees, together at least 10"
    )]
    FlanksUnusable {
        /// Leading flank.
        leading_deg: f64,
        /// Trailing flank.
        trailing_deg: f64,
    },
    /// The root is not inside the crest.
    #[error("root diameter {root_mm} mm must be below the major diameter {major_mm} mm")]
    RootAboveCrest {
        /// Root diameter.
        root_mm: f64,
        /// Major diameter.
        major_mm: f64,
    },
    /// The limits are not 0 < minimum < maximum.
    #[error("limits must satisfy 0 < minimum < maximum, found {minimum_mm} mm and {maximum_mm} mm")]
    LimitsOutOfOrder {
        /// Minimum as given.
        minimum_mm: f64,
        /// Maximum as given.
        maximum_mm: f64,
    },
    /// Neither limits nor a major diameter: nothing says how big the thread is.
    #[error("expected pitch diameter limits, limits over wires or a major diameter, found none")]
    SizeUnknown,
    /// The pitch diameter does not lie below the crest.
    #[error("pitch diameter {pitch_diameter_mm} mm must be below the major diameter {major_mm} mm")]
    PitchDiameterAboveCrest {
        /// Largest pitch diameter.
        pitch_diameter_mm: f64,
        /// Major diameter.
        major_mm: f64,
    },
    /// Limits over wires that the wires cannot give on this thread.
    #[error("these limits over wires cannot be converted: {source}")]
    LimitsNotConvertible {
        /// What the exact seat said.
        #[source]
        source: crate::helix::HelixError,
    },
    /// The formulas of the standard do not reach this size.
    #[error("{what} of {found} is outside the range of {standard}: {range}")]
    OutsideStandard {
        /// The document.
        standard: &'static str,
        /// What is out of range.
        what: Ranged,
        /// What was given.
        found: f64,
        /// The range, in words.
        range: &'static str,
    },
}

impl ThreadError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            ThreadError::Unit(error) => error.code(),
            ThreadError::StartsOutOfRange { .. } => "starts-out-of-range",
            ThreadError::FlanksUnusable { .. } => "flanks-unusable",
            ThreadError::RootAboveCrest { .. } => "root-above-crest",
            ThreadError::LimitsOutOfOrder { .. } => "limits-out-of-order",
            ThreadError::SizeUnknown => "size-unknown",
            ThreadError::PitchDiameterAboveCrest { .. } => "pitch-diameter-above-crest",
            ThreadError::LimitsNotConvertible { .. } => "limits-not-convertible",
            ThreadError::OutsideStandard { .. } => "outside-standard",
        }
    }
}
