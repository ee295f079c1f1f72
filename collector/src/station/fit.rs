//! Does a reading fit what is active? Pure: values in, flags and a reason to wait out.
//!
//! Nothing here drops or alters a reading. What is surely no measurement (closed jaws, nothing between
//! the wires, far outside anything the thread can give) is flagged and does not count. What may be a
//! measurement of something else (the other unit, another job, a wire out of its place) is held for a
//! person: a fallen wire gives a number that looks like a slightly small thread, so a window alone
//! would let it pass.

use overwire_core::cutting::{Doubt, PassCheck, usual_noise};
use overwire_core::judge::Purpose;
use overwire_core::units::Length;

use crate::record::{Flags, Held};
use crate::register::{Prepared, Register};

/// Below this the jaws were closed, mm.
const CLOSED_MM: f64 = 0.05;
/// A share of the shift of a wire out of its place, within which a reading is taken for that.
const WIRE_SHARE: f64 = 0.25;
/// Misfit, in tolerances, from which another job's window is looked at while inspecting.
const OTHER_JOB_FROM: f64 = 2.0;

/// The last reading that counted on the same thread, to compare with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reference {
    /// Its piece.
    pub piece: i64,
    /// Its attempt.
    pub attempt: i64,
    /// What it was taken for.
    pub purpose: Purpose,
    /// What it measured over wires.
    pub over_wires: Length,
}

/// One reading to look at.
#[derive(Debug, Clone, Copy)]
pub struct Candidate {
    /// Over wires, by the unit it came with.
    pub over_wires: Length,
    /// The same digits taken in the other unit; none where the frame itself named its unit.
    pub in_other_unit: Option<Length>,
    /// One step of the display.
    pub step: Length,
    /// What it was taken for.
    pub purpose: Purpose,
    /// Its piece.
    pub piece: i64,
    /// Its attempt.
    pub attempt: i64,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fit {
    /// Flags that keep it from counting.
    pub flags: Flags,
    /// Why it waits for a person.
    pub held: Option<Held>,
}

/// Over-wire range that a thread can give from the blank to well under size.
#[derive(Debug, Clone, Copy)]
struct Range {
    low: f64,
    window_min: f64,
    window_max: f64,
    high: f64,
}

impl Range {
    fn of(prepared: &Prepared) -> Option<Range> {
        let (min, max) = prepared.judge.as_ref()?.window()?;
        let (min, max) = (min.mm(), max.mm());
        let pitch = prepared.thread.geometry.pitch.mm();
        let limits = prepared.thread.limits?;
        let blank = prepared
            .thread
            .geometry
            .major_diameter
            .map_or(0.65 * pitch, |major| {
                major.mm() - limits.pitch_diameter_max.mm()
            });
        let slack = (3.0 * (max - min)).max(0.15 * pitch);
        Some(Range {
            low: min - slack,
            window_min: min,
            window_max: max,
            high: max + blank.max(0.0) + slack,
        })
    }

    fn holds(&self, mm: f64) -> bool {
        (self.low..=self.high).contains(&mm)
    }

    fn tolerance(&self) -> f64 {
        self.window_max - self.window_min
    }

    /// How far outside the limits, in tolerances; on the way down to size is inside while cutting.
    fn misfit(&self, mm: f64, purpose: Purpose) -> f64 {
        let over = if purpose == Purpose::Cutting {
            mm - self.high
        } else {
            mm - self.window_max
        };
        (self.window_min - mm).max(over).max(0.0) / self.tolerance()
    }

    fn accepts(&self, mm: f64) -> bool {
        (self.window_min..=self.window_max).contains(&mm)
    }
}

/// Looks at one reading.
pub fn look(
    candidate: &Candidate,
    prepared: Option<&Prepared>,
    reference: Option<&Reference>,
    most_cut: Option<Length>,
    register: &Register,
) -> Fit {
    if candidate.purpose == Purpose::Zero {
        return Fit::default();
    }
    let mm = candidate.over_wires.mm();
    if mm.abs() < CLOSED_MM {
        return Fit {
            flags: Flags::CLOSED_JAWS,
            held: None,
        };
    }
    let Some((prepared, range)) = prepared.and_then(|p| Some((p, Range::of(p)?))) else {
        return Fit::default();
    };
    if !range.holds(mm) {
        return outside(candidate, prepared, &range, register);
    }
    if range.misfit(mm, candidate.purpose) > OTHER_JOB_FROM
        && let Some(held) = other_job(mm, prepared, register)
    {
        return Fit {
            flags: Flags::NONE,
            held: Some(held),
        };
    }
    let held = reference
        .and_then(|reference| out_of_place(candidate, prepared, &range, reference, most_cut));
    Fit {
        flags: Flags::NONE,
        held,
    }
}

fn outside(candidate: &Candidate, prepared: &Prepared, range: &Range, register: &Register) -> Fit {
    let held = |held| Fit {
        flags: Flags::NONE,
        held: Some(held),
    };
    if candidate
        .in_other_unit
        .is_some_and(|length| range.holds(length.mm()))
    {
        return held(Held::Unit);
    }
    let mm = candidate.over_wires.mm();
    if let Some(job) = other_job(mm, prepared, register) {
        return held(job);
    }
    let wires = prepared
        .judge
        .as_ref()
        .map_or(0.0, |judge| judge.wires().thickest().mm());
    let flags = if mm < 2.2 * wires {
        Flags::EMPTY
    } else {
        Flags::OUT_OF_WINDOW
    };
    Fit { flags, held: None }
}

fn other_job(mm: f64, prepared: &Prepared, register: &Register) -> Option<Held> {
    register
        .others(Some(&prepared.job.name), Some(&prepared.feature))
        .into_iter()
        .find(|other| Range::of(other).is_some_and(|range| range.accepts(mm)))
        .map(|other| Held::Job(other.job.name, other.feature))
}

/// What a wire out of its place, or metal that came back, would look like.
fn out_of_place(
    candidate: &Candidate,
    prepared: &Prepared,
    range: &Range,
    reference: &Reference,
    most_cut: Option<Length>,
) -> Option<Held> {
    let (mm, before) = (candidate.over_wires.mm(), reference.over_wires.mm());
    let same_piece = (candidate.piece, candidate.attempt) == (reference.piece, reference.attempt);
    let cutting = Purpose::Cutting;
    if same_piece && candidate.purpose == cutting && reference.purpose == cutting {
        let check = PassCheck {
            before: reference.over_wires,
            after: candidate.over_wires,
            most_cut,
            noise: usual_noise(candidate.step, Length::from_mm(range.tolerance()).ok()?),
        };
        match check.doubt() {
            Some(Doubt::Rose { .. }) => return Some(Held::Rise),
            Some(Doubt::FellTooFar { .. }) => return Some(Held::Fall),
            None => {}
        }
    }
    let major = prepared.thread.geometry.major_diameter?.mm();
    // With the lone wire gone the anvil lies on the crests: M becomes (M + D) / 2.
    let fallen = (before - major) / 2.0;
    if fallen > 2.0 * candidate.step.mm() && mm <= range.window_max {
        return near(mm, before - fallen, fallen).then_some(Held::Wire);
    }
    // With one wire on a crest: M becomes (M + D) / 2 + w.
    let wire = prepared.judge.as_ref()?.wires().mean().mm();
    let ridden = (major - before) / 2.0 + wire;
    let finished = same_piece || candidate.purpose == Purpose::Inspecting;
    (finished && mm > range.window_max && near(mm, before + ridden, ridden)).then_some(Held::Wire)
}

fn near(mm: f64, expected: f64, shift: f64) -> bool {
    (mm - expected).abs() < WIRE_SHARE * shift
}
