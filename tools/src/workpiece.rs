//! What is being cut: the sizes that the simulated measurements need, as plain numbers.
//!
//! All sizes are over the wires unless said otherwise, in millimetres. The two workpieces here belong
//! to an invented shop.

use overwire_core::judge::{Judge, JudgeError};
use overwire_core::thread::designation::{self, DesignationError};
use overwire_core::units::{Length, Unit, UnitError, WireDiameter};
use overwire_core::wires::Wires;

/// Share of the metal that each planned pass takes; the last takes what is left.
const CUSTOMARY_CUTS: [f64; 4] = [0.41, 0.24, 0.14, 0.21];

/// Metal over the target at the first measured pass, in wire diameters: enough for four more passes.
const CUSTOMARY_START_IN_WIRES: f64 = 0.3;

/// Most passes after the first that a workpiece may have.
pub const MOST_CUTS: usize = 50;

/// A thread to be cut, in numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Workpiece {
    /// The unit of its drawing.
    pub unit: Unit,
    /// The size that the machinist aims for.
    pub target_mm: f64,
    /// The size at the first measured pass.
    pub start_mm: f64,
    /// Planned depth of each pass after the first measured one, on the diameter. The last is not read:
    /// that pass takes what the reading says is left.
    pub cuts_mm: Vec<f64>,
    /// Major diameter of the thread.
    pub major_mm: f64,
    /// Diameter of the wires.
    pub wire_mm: f64,
}

/// Why numbers make no workpiece.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WorkpieceError {
    /// The text is no thread designation.
    #[error("`{text}`: {source}")]
    NoThread {
        /// What was given.
        text: String,
        /// Where it stops making sense.
        #[source]
        source: DesignationError,
    },
    /// The wire diameter is no length above 0.
    #[error("wire diameter: {0}")]
    NoWire(#[from] UnitError),
    /// The wires do not fit the thread.
    #[error(transparent)]
    WiresDoNotFit(#[from] JudgeError),
    /// The thread has no limits over these wires to aim between.
    #[error("`{text}` has no limits over these wires; give --target and --major instead")]
    NoLimits {
        /// What was given.
        text: String,
    },
    /// A size is no length above 0 and below 10 m.
    #[error("{name}: {found} mm is no size; a length above 0 and below 10 m is wanted")]
    NoSize {
        /// Which size.
        name: &'static str,
        /// What was given, mm.
        found: f64,
    },
    /// The first measured pass would already be below the target.
    #[error(
        "the start, {start_mm} mm, is below the target, {target_mm} mm: nothing is left to cut"
    )]
    StartBelowTarget {
        /// The start that was given.
        start_mm: f64,
        /// The target that was given.
        target_mm: f64,
    },
    /// More passes than anyone takes.
    #[error("{found} passes; at most {MOST_CUTS} are simulated")]
    TooManyCuts {
        /// How many were given.
        found: usize,
    },
}

impl Workpiece {
    /// A workpiece with the customary start and series of passes for its wires.
    pub fn customary(unit: Unit, target_mm: f64, major_mm: f64, wire_mm: f64) -> Workpiece {
        let start_mm = target_mm + CUSTOMARY_START_IN_WIRES * wire_mm;
        Workpiece {
            unit,
            target_mm,
            start_mm,
            cuts_mm: Vec::new(),
            major_mm,
            wire_mm,
        }
        .with_customary_cuts()
    }

    /// A workpiece for a designation such as `M10x1.5-6g`; the target is the middle of its limits over
    /// the wires.
    ///
    /// This target is the program's own arithmetic. Where a test is to compare that arithmetic with
    /// something outside, sizes must be typed instead.
    ///
    /// # Errors
    /// What cannot be read in the designation, or why the wires do not fit.
    pub fn of_thread(text: &str, wire_mm: f64) -> Result<Workpiece, WorkpieceError> {
        let thread = designation::parse(text).map_err(|source| WorkpieceError::NoThread {
            text: text.to_owned(),
            source,
        })?;
        let wires = Wires::equal(WireDiameter::new(Length::from_mm(wire_mm)?)?);
        let (min, max) =
            Judge::new(&thread, &wires)?
                .window()
                .ok_or_else(|| WorkpieceError::NoLimits {
                    text: text.to_owned(),
                })?;
        let target_mm = (min.mm() + max.mm()) / 2.0;
        let major = thread
            .geometry
            .major_diameter
            .unwrap_or(thread.nominal_diameter);
        Ok(Workpiece::customary(
            thread.unit,
            target_mm,
            major.mm(),
            wire_mm,
        ))
    }

    /// The same workpiece with the customary series of passes from its start to its target.
    #[must_use]
    pub fn with_customary_cuts(mut self) -> Workpiece {
        let metal = self.start_mm - self.target_mm;
        self.cuts_mm = CUSTOMARY_CUTS.iter().map(|share| share * metal).collect();
        self
    }

    /// Hydraulic stud end, 1 1/16-12 UN-2A over 0.04811 in wires; the target is the middle of
    /// 1.07319 to 1.07889 in (limits by ASME B1.1's formulas, computed).
    pub fn stud_end() -> Workpiece {
        Workpiece::customary(Unit::Inch, 1.0760 * 25.4, 1.0625 * 25.4, 0.04811 * 25.4)
    }

    /// Grinding spindle, M40x1.5-4h over 0.866 mm wires; the target is the middle of 40.230 to
    /// 40.325 mm (limits by ISO 965-1's formula, computed; rounding of the step from memory).
    pub fn spindle() -> Workpiece {
        Workpiece::customary(Unit::Millimetre, 40.278, 40.0, 0.866)
    }

    /// The same workpiece, brought to the instrument at its finished size.
    #[must_use]
    pub fn finished(mut self) -> Workpiece {
        self.start_mm = self.target_mm + 0.001;
        self.cuts_mm.clear();
        self
    }

    /// Hands the workpiece on if its numbers can be cut.
    ///
    /// # Errors
    /// The first number that cannot be.
    pub fn checked(self) -> Result<Workpiece, WorkpieceError> {
        let sizes = [
            ("target", self.target_mm),
            ("start", self.start_mm),
            ("major diameter", self.major_mm),
            ("wire diameter", self.wire_mm),
        ];
        sizes.into_iter().try_for_each(is_size)?;
        if self.start_mm <= self.target_mm {
            let Workpiece {
                start_mm,
                target_mm,
                ..
            } = self;
            return Err(WorkpieceError::StartBelowTarget {
                start_mm,
                target_mm,
            });
        }
        self.cuts_mm
            .iter()
            .try_for_each(|cut| is_size(("depth of cut", *cut)))?;
        match self.cuts_mm.len() {
            0..=MOST_CUTS => Ok(self),
            found => Err(WorkpieceError::TooManyCuts { found }),
        }
    }
}

fn is_size((name, found): (&'static str, f64)) -> Result<(), WorkpieceError> {
    let is_size = found > 0.0 && found < 10_000.0;
    if is_size {
        Ok(())
    } else {
        Err(WorkpieceError::NoSize { name, found })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn our_own_workpieces_can_be_cut() {
        for workpiece in [Workpiece::stud_end(), Workpiece::spindle()] {
            assert!(workpiece.clone().finished().checked().is_ok());
            let metal = workpiece.start_mm - workpiece.target_mm;
            let planned: f64 = workpiece.cuts_mm.iter().sum();
            assert!((planned - metal).abs() < 1e-9);
            assert!(workpiece.checked().is_ok());
        }
    }

    // 1.07319 to 1.07889 in: ASME B1.1's formulas and the customary small-angle lead term, computed
    // apart from this program; 0.0001 in is a fiftieth of the tolerance.
    #[test]
    fn a_designation_is_aimed_at_the_middle_of_its_limits() {
        let stud_end = Workpiece::of_thread("1 1/16-12 UN-2A", 0.04811 * 25.4).unwrap();
        assert!(
            (stud_end.target_mm / 25.4 - 1.07604).abs() < 0.0001,
            "{}",
            stud_end.target_mm
        );
        assert_eq!(stud_end.unit, Unit::Inch);
        let refusal = |text, wire_mm| Workpiece::of_thread(text, wire_mm).unwrap_err().to_string();
        assert!(refusal("1 1/16 by 12", 1.2).contains("1 1/16 by 12"));
        assert!(refusal("M10x1.5-6g", -1.0).contains("wire diameter"));
        assert!(refusal("M10x1.5-6g", 0.2).contains("too small"));
    }

    #[test]
    fn numbers_that_cannot_be_cut_are_refused() {
        let refused = |change: fn(&mut Workpiece)| {
            let mut workpiece = Workpiece::spindle();
            change(&mut workpiece);
            workpiece.checked().unwrap_err()
        };
        assert!(matches!(
            refused(|workpiece| workpiece.wire_mm = f64::NAN),
            WorkpieceError::NoSize {
                name: "wire diameter",
                ..
            }
        ));
        assert!(matches!(
            refused(|workpiece| workpiece.start_mm = 40.0),
            WorkpieceError::StartBelowTarget { .. }
        ));
        assert!(matches!(
            refused(|workpiece| workpiece.cuts_mm = vec![0.1; MOST_CUTS + 1]),
            WorkpieceError::TooManyCuts { found: 51 }
        ));
    }
}
