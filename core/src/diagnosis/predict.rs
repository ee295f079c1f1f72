//! Each mistake turned into the readings it predicts.

use super::{CREST_SPREAD, Cause, OtherSeat, Question, Range, UnitFrom, reading_on};
use crate::helix;
use crate::thread::Geometry;
use crate::units::{Length, Pitch, Unit};
use crate::wires::Wires;

/// Every mistake that can be reckoned, with the smallest and largest reading it predicts.
pub(super) fn all(question: &Question, expected: Range) -> Vec<(Cause, Range)> {
    let mut found = Vec::new();
    found.extend(other_unit(question, expected));
    found.extend(crests(question, expected));
    found.extend(zero_off(question, expected));
    found.extend(other_jobs(question));
    found.extend(other_wires(question, expected));
    found.extend(pitch_and_lead(question));
    found.extend(thimble_turns(question, expected));
    found
}

fn each(range: Range, change: impl Fn(Length) -> Length) -> Range {
    (change(range.0), change(range.1))
}

fn other_unit(question: &Question, expected: Range) -> Option<(Cause, Range)> {
    let UnitFrom::Setting(taken) = question.unit else {
        return None;
    };
    let shown_in = match taken {
        Unit::Millimetre => Unit::Inch,
        Unit::Inch => Unit::Millimetre,
    };
    let factor = taken.mm_per_unit() / shown_in.mm_per_unit();
    Some((
        Cause::OtherUnit { shown_in },
        each(expected, |reading| reading * factor),
    ))
}

/// What lies on the crests instead of in the grooves.
fn crests(question: &Question, (low, high): Range) -> Vec<(Cause, Range)> {
    let geometry = &question.judge.thread().geometry;
    let Some((lowest, highest)) = crest_range(question, geometry) else {
        return Vec::new();
    };
    let wire = question.judge.wires().mean();
    let halfway = (fallen_wire(low, lowest), fallen_wire(high, highest));
    vec![
        (Cause::WireFallenOut, halfway),
        (Cause::WireOnCrest, each(halfway, |reading| reading + wire)),
        (
            Cause::WiresOnCrest,
            each((lowest, highest), |crest| crest + wire * 2.0),
        ),
        (Cause::NoWires, (lowest, highest)),
    ]
}

fn crest_range(question: &Question, geometry: &Geometry) -> Option<Range> {
    match (question.crest, geometry.major_diameter) {
        (Some(measured), _) => Some((measured, measured)),
        (None, Some(largest)) => {
            let spread = geometry.pitch.length() * CREST_SPREAD;
            Some((largest - spread, largest))
        }
        (None, None) => None,
    }
}

/// What is read when the wires of one side are gone and the anvil lies on the crests there.
///
/// The other side still measures half of `over_wires`, this side half of the crest.
pub(super) fn fallen_wire(over_wires: Length, crest: Length) -> Length {
    (over_wires + crest) * 0.5
}

/// What the zero check read too much is in every reading since.
fn zero_off(question: &Question, expected: Range) -> Option<(Cause, Range)> {
    let offset = question.zero_offset?;
    (offset.abs() > Length::ZERO).then(|| {
        let range = each(expected, |reading| reading + offset);
        (Cause::ZeroOff { offset }, range)
    })
}

fn other_jobs(question: &Question) -> impl Iterator<Item = (Cause, Range)> {
    question.other_jobs.iter().map(|job| {
        let name = job.name.clone();
        (Cause::OtherJob { name }, job.window)
    })
}

/// The thread as it is expected to be, over other wires.
fn other_wires(question: &Question, expected: Range) -> Vec<(Cause, Range)> {
    let (geometry, own) = (&question.judge.thread().geometry, question.judge.wires());
    let diameter = |reading| {
        let seated = helix::pitch_diameter(geometry, own, reading).ok()?;
        Some(seated.pitch_diameter)
    };
    let (Some(smallest), Some(largest)) = (diameter(expected.0), diameter(expected.1)) else {
        return Vec::new();
    };
    let over = |wires: &Wires| {
        Some((
            question.reading_at(smallest, wires)?,
            question.reading_at(largest, wires)?,
        ))
    };
    let mut found = Vec::new();
    for other in question.other_sets {
        let set = other.name.clone();
        let one_of = other.wires.single;
        let [first, second] = own.pair;
        let mixes = [
            (Cause::OtherWires { set: set.clone() }, other.wires),
            (
                one_other(&set, OtherSeat::Lone),
                Wires::three(one_of, first, second),
            ),
            (
                one_other(&set, OtherSeat::OneOfPair),
                Wires::three(own.single, one_of, second),
            ),
        ];
        let readings = mixes
            .into_iter()
            .filter_map(|(cause, wires)| Some((cause, over(&wires)?)));
        found.extend(readings);
    }
    found
}

fn one_other(set: &str, seat: OtherSeat) -> Cause {
    let set = set.to_owned();
    Cause::OneOtherWire { set, seat }
}

/// On a multi-start: the thread the limits ask for, with the pitch as it may really be.
fn pitch_and_lead(question: &Question) -> Vec<(Cause, Range)> {
    let thread = question.judge.thread();
    let starts = f64::from(thread.geometry.starts);
    if thread.geometry.starts < 2 {
        return Vec::new();
    }
    let (smallest, largest) = thread.pitch_diameter_zone();
    let told = thread.geometry.pitch.length();
    let with_pitch = |pitch: Length| {
        let geometry = Geometry {
            pitch: Pitch::from_length(pitch).ok()?,
            ..thread.geometry
        };
        let wires = question.judge.wires();
        Some((
            reading_on(&geometry, smallest, wires)?,
            reading_on(&geometry, largest, wires)?,
        ))
    };
    let (divided, multiplied) = (told * (1.0 / starts), told * starts);
    let lead = Cause::LeadForPitch { pitch: divided };
    let twice = Cause::PitchDividedTwice { pitch: multiplied };
    [(lead, divided), (twice, multiplied)]
        .into_iter()
        .filter_map(|(cause, pitch)| Some((cause, with_pitch(pitch)?)))
        .collect()
}

/// One turn of the thimble: 0.025 in with 40 threads an inch, 0.5 mm metric.
fn thimble_turns(question: &Question, expected: Range) -> Vec<(Cause, Range)> {
    if !question.typed {
        return Vec::new();
    }
    let turn = match question.unit {
        UnitFrom::Setting(unit) => unit,
        UnitFrom::Reading => question.judge.thread().unit,
    };
    let turn = match turn {
        Unit::Inch => Length::computed(0.635),
        Unit::Millimetre => Length::computed(0.5),
    };
    [turn, -turn]
        .into_iter()
        .map(|by| {
            (
                Cause::ThimbleTurn { by },
                each(expected, |reading| reading + by),
            )
        })
        .collect()
}
