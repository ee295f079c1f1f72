//! From a reading to a verdict.
//!
//! A [`Judge`] is prepared once for a thread and a set of wires and then answers
//! quickly. Readings are compared unrounded (the absolute method): what lies exactly
//! on a limit is inside. Because limits in inches are turned into millimetres, and a
//! reading comes back through an equation, "exactly" means within
//! [`FLOAT_NOISE`], which is far below anything an instrument shows.
//!
//! A [decision rule](crate::acceptance) with guard bands moves the limits that a verdict is made by
//! ([`Judge::deciding_by`]); what is left to cut is always counted from the thread's own.
//!
//! A verdict is only given while the wires rest on the flanks. A thread that is over
//! can still be cut; one that is under cannot be brought back.

use serde::{Deserialize, Serialize};

use crate::acceptance::{Acceptance, Outcome};
use crate::helix::{self, Seated};
use crate::seat::{self, Seat, WireRange};
use crate::thread::{Geometry, Limits, Thread};
use crate::units::Length;
use crate::wires::Wires;

mod fit;
mod words;

use fit::{refuse_bad_seats, refuse_mixed_wires, refuse_outside_range};

pub use fit::{JudgeError, LARGEST_MIX};
pub use words::{NOT_FUNCTIONAL_SIZE, left_in_words};

/// Differences below this are noise of floating-point arithmetic: a millionth of a micrometre.
pub const FLOAT_NOISE: Length = Length::computed(1e-9);

/// Wires of one set should agree this well: ten millionths of an inch (ASME B1.2, appendix B,
/// as quoted by a calibration laboratory's public page).
pub const MATCHED_WITHIN: Length = Length::computed(0.000_254);

/// What a reading is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Purpose {
    /// Between passes: metal may still come off.
    Cutting,
    /// The finished thread.
    Inspecting,
    /// A check of the instrument, not of a thread.
    Zero,
    /// A study of the measurement itself.
    Study,
}

impl Purpose {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Purpose::Cutting => "cutting",
            Purpose::Inspecting => "inspecting",
            Purpose::Zero => "zero",
            Purpose::Study => "study",
        }
    }

    /// The purpose with this name.
    pub fn parse(text: &str) -> Option<Purpose> {
        let all = [
            Purpose::Cutting,
            Purpose::Inspecting,
            Purpose::Zero,
            Purpose::Study,
        ];
        all.into_iter().find(|purpose| purpose.code() == text)
    }
}

/// What is said about a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Inside the limits, or on one.
    Pass,
    /// Under the minimum: there is no way back.
    FailUnder,
    /// Over the maximum on a finished thread. It can still be cut.
    FailOver,
    /// Over the maximum between passes.
    StillToCut,
    /// Too close to a limit to be decided by a rule with a guard band.
    Undecided,
    /// No verdict: no limits, no sound seat of the wires, or a zero check.
    None,
}

impl Verdict {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::FailUnder => "fail_under",
            Verdict::FailOver => "fail_over",
            Verdict::StillToCut => "still_to_cut",
            Verdict::Undecided => "undecided",
            Verdict::None => "none",
        }
    }

    /// What a person reads.
    pub const fn words(self) -> &'static str {
        match self {
            Verdict::Pass => "PASS",
            Verdict::FailUnder => "FAIL under",
            Verdict::FailOver => "FAIL over",
            Verdict::StillToCut => "STILL TO CUT",
            Verdict::Undecided => "UNDECIDED",
            Verdict::None => "NO VERDICT",
        }
    }
}

/// Something a person should know about a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Warning {
    /// The wires do not sit where they should.
    WireSeat(Seat),
    /// Leaving the lead out would cost more than a tenth of the tolerance.
    LeadMatters {
        /// What the lead takes off the plane value.
        correction: Length,
        /// Maximum minus minimum.
        tolerance: Length,
    },
    /// The three wires agree less well than wires of one set should.
    WiresDiffer {
        /// Thickest minus thinnest.
        spread: Length,
    },
    /// Pitch diameter over wires is not functional size. True of every reading, so it is not
    /// repeated with each: show it where results are handed on.
    NotFunctionalSize,
}

/// A reading, converted and judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The conversion; `None` when none exists or none was asked for (a zero check).
    pub seated: Option<Seated>,
    /// How the wires sit.
    pub seat: Seat,
    /// The verdict.
    pub verdict: Verdict,
    /// Pitch diameter minus maximum: positive while metal must come off.
    pub to_max: Option<Length>,
    /// Pitch diameter minus the middle of the limits.
    pub to_middle: Option<Length>,
    /// Pitch diameter minus minimum: negative when too much has come off.
    pub to_min: Option<Length>,
    /// What a person should know.
    pub warnings: Vec<Warning>,
}

impl Judgement {
    /// How far the tool has to go in, on radius, to reach the middle of the limits.
    pub fn radial_infeed_to_middle(&self) -> Option<Length> {
        self.to_middle.map(|diameter| diameter * 0.5)
    }

    fn without_verdict(seated: Option<Seated>, seat: Seat) -> Judgement {
        Judgement {
            seated,
            seat,
            verdict: Verdict::None,
            to_max: None,
            to_middle: None,
            to_min: None,
            warnings: Vec::new(),
        }
    }
}

/// A thread and a set of wires, ready to judge readings.
///
/// ```
/// use overwire_core::judge::{Judge, Purpose, Verdict};
/// use overwire_core::{thread::designation, units::*, wires::Wires};
///
/// let thread = designation::parse("1 1/16-12 UN-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.04811)?)?);
/// let judge = Judge::new(&thread, &wires)?;
/// let between_passes = judge.judge(Length::from_inches(1.0831)?, Purpose::Cutting);
/// assert_eq!(between_passes.verdict, Verdict::StillToCut);
/// let words = overwire_core::judge::left_in_words(&between_passes, Purpose::Cutting, Unit::Inch, 4);
/// assert_eq!(words, "0.0071 in to go to the middle, 0.0042 to the maximum");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Judge {
    thread: Thread,
    wires: Wires,
    window: Option<(Length, Length)>,
    wire_range: WireRange,
    acceptance: Option<Acceptance>,
}

impl Judge {
    /// Prepares to judge readings of this thread over these wires.
    ///
    /// # Errors
    /// [`JudgeError`] when the three wires are not one set, or cannot be used anywhere between
    /// the limits. Without limits the basic pitch diameter decides.
    pub fn new(thread: &Thread, wires: &Wires) -> Result<Judge, JudgeError> {
        refuse_mixed_wires(thread, wires)?;
        let (smallest, largest) = thread.pitch_diameter_zone();
        let wire_range = seat::wire_range(&thread.geometry, smallest, largest);
        refuse_outside_range(thread, wires, &wire_range)?;
        let reading_at = |pitch_diameter| {
            helix::over_wires(&thread.geometry, wires, pitch_diameter).map_err(|source| {
                JudgeError::NoSeat {
                    wire: wires.single.length(),
                    designation: thread.designation.clone(),
                    unit: thread.unit,
                    source,
                }
            })
        };
        let (at_smallest, at_largest) = (reading_at(smallest)?, reading_at(largest)?);
        refuse_bad_seats(thread, wires, &wire_range, [&at_smallest, &at_largest])?;
        let window = (at_smallest.over_wires, at_largest.over_wires);
        Ok(Judge {
            window: thread.limits.map(|_| window),
            thread: thread.clone(),
            wires: *wires,
            wire_range,
            acceptance: None,
        })
    }

    /// The same, with verdicts made by a decision rule laid over this thread's limits.
    pub fn deciding_by(self, acceptance: Acceptance) -> Judge {
        Judge {
            acceptance: Some(acceptance),
            ..self
        }
    }

    /// The decision rule laid over the limits; `None` for a comparison with the limits.
    pub const fn acceptance(&self) -> Option<&Acceptance> {
        self.acceptance.as_ref()
    }

    /// Converts a reading and judges it.
    pub fn judge(&self, over_wires: Length, purpose: Purpose) -> Judgement {
        if purpose == Purpose::Zero {
            return Judgement::without_verdict(None, Seat::Ok);
        }
        let geometry = &self.thread.geometry;
        let Ok(seated) = helix::pitch_diameter(geometry, &self.wires, over_wires) else {
            let seat = seat_without_solution(geometry, over_wires);
            return self.warned(Judgement::without_verdict(None, seat));
        };
        let seat = seat::seat(geometry, &self.wires, &seated);
        let bare = Judgement::without_verdict(Some(seated), seat);
        match (seat.is_ok(), self.thread.limits) {
            (true, Some(limits)) => {
                let diameter = seated.pitch_diameter;
                self.warned(Judgement {
                    verdict: self.verdict(diameter, &limits, purpose),
                    to_max: Some(diameter - limits.pitch_diameter_max),
                    to_middle: Some(diameter - limits.middle()),
                    to_min: Some(diameter - limits.pitch_diameter_min),
                    ..bare
                })
            }
            _ => self.warned(bare),
        }
    }

    fn verdict(&self, pitch_diameter: Length, limits: &Limits, purpose: Purpose) -> Verdict {
        let Some(acceptance) = &self.acceptance else {
            return compare(pitch_diameter, limits, purpose);
        };
        match acceptance.decide(pitch_diameter).outcome {
            Outcome::Pass => Verdict::Pass,
            // What is left above the acceptance limit can still come off; where the guard bands leave no
            // acceptance limits there is nothing to cut to.
            Outcome::FailOver if purpose == Purpose::Cutting => Verdict::StillToCut,
            Outcome::UndecidedOver
                if purpose == Purpose::Cutting && acceptance.acceptance_limits().is_some() =>
            {
                Verdict::StillToCut
            }
            Outcome::UndecidedOver | Outcome::UndecidedUnder => Verdict::Undecided,
            Outcome::FailOver => Verdict::FailOver,
            Outcome::FailUnder => Verdict::FailUnder,
        }
    }

    /// The smallest and largest reading that pass; `None` without limits.
    pub fn window(&self) -> Option<(Length, Length)> {
        self.window
    }

    /// The wire sizes that can be used on this thread.
    pub fn wire_range(&self) -> &WireRange {
        &self.wire_range
    }

    /// The thread readings are judged against.
    pub fn thread(&self) -> &Thread {
        &self.thread
    }

    /// The wires readings are taken over.
    pub fn wires(&self) -> &Wires {
        &self.wires
    }

    fn warned(&self, mut judgement: Judgement) -> Judgement {
        if !judgement.seat.is_ok() {
            judgement.warnings.push(Warning::WireSeat(judgement.seat));
        }
        if let (Some(seated), Some(limits)) = (&judgement.seated, &self.thread.limits) {
            let (correction, tolerance) = (seated.lead_angle_correction, limits.tolerance());
            if correction.abs() > tolerance * 0.1 {
                judgement.warnings.push(Warning::LeadMatters {
                    correction,
                    tolerance,
                });
            }
        }
        let spread = self.wires.thickest() - self.wires.thinnest();
        if spread > MATCHED_WITHIN {
            judgement.warnings.push(Warning::WiresDiffer { spread });
        }
        judgement
    }
}

fn compare(pitch_diameter: Length, limits: &Limits, purpose: Purpose) -> Verdict {
    if pitch_diameter < limits.pitch_diameter_min - FLOAT_NOISE {
        Verdict::FailUnder
    } else if pitch_diameter <= limits.pitch_diameter_max + FLOAT_NOISE {
        Verdict::Pass
    } else if purpose == Purpose::Cutting {
        Verdict::StillToCut
    } else {
        Verdict::FailOver
    }
}

/// A reading without a solution is most often one taken on the thread's crest, or on nothing.
fn seat_without_solution(geometry: &Geometry, over_wires: Length) -> Seat {
    match geometry.major_diameter {
        Some(crest) if over_wires <= crest => Seat::BelowCrest { over_wires, crest },
        _ => Seat::BeyondModel,
    }
}
