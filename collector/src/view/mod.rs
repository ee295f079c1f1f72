//! What programs and people are shown: values of the record and the stations as JSON.
//!
//! Numbers are text with the digits that mean something: over wires as the display showed it, pitch
//! diameter at the instrument's own resolution, limits as the standard prints them.

pub mod functional;
pub mod grounds;
pub mod limits;
pub mod measuring;
pub mod register;
pub mod station;
pub mod studies;

use std::borrow::Cow;

use overwire_core::decimal::format_to;
use overwire_core::judge::{self, Judgement, Purpose, Verdict};
use overwire_core::seat::Seat;
use overwire_core::units::{Length, Unit};
use serde::Serialize;

use crate::clock::iso;
use crate::record::grounds::known_to;
use crate::record::standing::{Said, Standing};
use crate::record::{Grounds, Held, Judged, UnitFrom};
pub use limits::LimitsView;
use limits::Places;

/// A reading, as the page and programs get it.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct ReadingView<'a> {
    // First, so that a stream of readings can be told by it.
    pub raw: String,
    pub entry: i64,
    pub id: String,
    pub station: &'a str,
    pub sequence: i64,
    pub at: String,
    pub typed: bool,
    pub text: &'a str,
    pub unit: &'a str,
    pub channel: Option<&'a str>,
    pub job: Option<&'a str>,
    pub job_revision_entry: i64,
    pub feature: Option<&'a str>,
    pub piece: i64,
    pub attempt: i64,
    pub position: Option<&'a str>,
    pub wire_set: Option<&'a str>,
    pub instrument: &'a str,
    pub method: &'a str,
    pub operator: Option<&'a str>,
    pub purpose: &'a str,
    pub over_wires: Cow<'a, str>,
    pub pitch_diameter: Option<String>,
    pub limits: Option<LimitsView>,
    pub verdict: &'static str,
    pub words: &'static str,
    pub left: String,
    pub counted: bool,
    pub flags: Vec<&'static str>,
    pub notes: Vec<String>,
    pub corrections: Vec<CorrectionView>,
    pub uncertainty: Option<String>,
    pub zero_age_s: Option<i64>,
    pub held: Option<HeldView>,
    pub void: Option<SaidView<'a>>,
    pub comment: Option<&'a str>,
    pub moved: Option<SaidView<'a>>,
    pub was_job: Option<&'a str>,
}

/// Why a reading waits, and what can be answered.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct HeldView {
    pub reason: &'static str,
    pub sentence: String,
    pub answers: Vec<AnswerView>,
}

/// One answer to a held reading.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct AnswerView {
    pub answer: &'static str,
    pub label: String,
}

/// Who said what, and when.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct SaidView<'a> {
    pub reason: &'a str,
    pub by: &'a str,
    pub at: String,
}

impl<'a> SaidView<'a> {
    /// Of what the record holds.
    pub fn of(said: &'a Said) -> SaidView<'a> {
        SaidView {
            reason: &said.text,
            by: &said.by,
            at: iso(said.wall_us, said.utc_offset_s),
        }
    }
}

/// Decimal places of a display, carried over to another unit: never finer than a fifth of its step.
pub fn places_in(places: u8, from: Unit, to: Unit) -> u8 {
    match (from, to) {
        (Unit::Millimetre, Unit::Inch) => (places + 2).min(7),
        (Unit::Inch, Unit::Millimetre) => places.saturating_sub(1),
        _ => places,
    }
}

/// Unit from its text in the record.
pub fn unit_of(text: &str) -> Unit {
    if text == "in" {
        Unit::Inch
    } else {
        Unit::Millimetre
    }
}

/// Core's judgement of what stands in the record, without what only the moment of judging knew.
fn judgement_of(judged: &Judged) -> Judgement {
    let length = |mm: f64| Length::from_mm(mm).ok();
    let over = |limit: Option<f64>| length(judged.pitch_diameter_mm? - limit?);
    let (to_max, to_min) = (over(judged.limit_max_mm), over(judged.limit_min_mm));
    let middle = judged
        .limit_max_mm
        .zip(judged.limit_min_mm)
        .map(|(max, min)| (max + min) / 2.0);
    Judgement {
        seated: None,
        seat: Seat::Ok,
        verdict: match judged.verdict {
            "undecided" => Verdict::Undecided,
            _ => Verdict::None,
        },
        to_max,
        to_middle: over(middle),
        to_min,
        warnings: Vec::new(),
    }
}

/// What is left to cut, in words; nothing where there is no verdict.
pub fn left_in_words(judged: &Judged, purpose: &str, unit: Unit, places: u8) -> String {
    if judged.held.is_some() || judged.verdict == "none" {
        return String::new();
    }
    let purpose = Purpose::parse(purpose).unwrap_or(Purpose::Inspecting);
    judge::left_in_words(&judgement_of(judged), purpose, unit, places)
}

/// The words of a verdict by its code.
pub fn verdict_words(code: &str) -> &'static str {
    let all = [
        Verdict::Pass,
        Verdict::FailUnder,
        Verdict::FailOver,
        Verdict::StillToCut,
        Verdict::Undecided,
    ];
    match code {
        "zero_within" => "ZERO GOOD",
        "zero_off" => "ZERO OFF",
        _ => all
            .into_iter()
            .find(|verdict| verdict.code() == code)
            .map_or("NO VERDICT", Verdict::words),
    }
}

/// How wires sit that do not sit well, for a person.
fn seat_sentence(code: &str) -> Option<&'static str> {
    Some(match code {
        "rides_crest_edge" => {
            "The wires ride on the crest's edges, not on the flanks: the thread is not deep enough yet for these wires, so no pitch diameter can be told."
        }
        "below_crest" => {
            "The wires lie below the crest, so the anvils touch the thread and not the wires. Is a wire missing?"
        }
        "bottoms_on_root" => {
            "A wire touches the root, not both flanks: it is too small for this thread."
        }
        "neighbours_touch" => {
            "Neighbouring wires touch one another: they are too large for this pitch."
        }
        "beyond_model" => {
            "No seat of the wires gives this reading. Are the job and the wires right?"
        }
        _ => return None,
    })
}

impl<'a> ReadingView<'a> {
    /// Of a reading as it stands now, in its own unit.
    pub fn of(standing: &'a Standing) -> ReadingView<'a> {
        ReadingView::shown_in(standing, unit_of(standing.reading.unit))
    }

    /// The same with every length shown in a unit; `text` stays what the display showed. The judgement is the one
    /// that was made: nothing is rounded or compared anew.
    pub fn shown_in(standing: &'a Standing, unit: Unit) -> ReadingView<'a> {
        let reading = &standing.reading;
        let (tags, judged) = (&*reading.tags, &reading.judged);
        let own = unit_of(reading.unit);
        let places = places_in(reading.places(), own, unit);
        let limits = judged.limit_min_mm.zip(judged.limit_max_mm);
        let beside = Places::of(judged.pitch_diameter_mm, limits, unit, places);
        let over_wires = match unit == own {
            true => Cow::Borrowed(&*reading.text),
            false => Cow::Owned(format_to(judged.over_wires_mm / unit.mm_per_unit(), places)),
        };
        let held = judged.held.as_ref().map(|held| HeldView::of(held, unit));
        let grounds = judged.grounds();
        ReadingView {
            raw: String::from_utf8_lossy(&reading.raw).into_owned(),
            entry: reading.head.entry,
            id: uuid::Uuid::from_bytes(reading.head.id).to_string(),
            station: &reading.head.station,
            sequence: reading.head.sequence,
            at: iso(reading.head.stamp.wall_us, reading.head.stamp.utc_offset_s),
            typed: reading.unit_from == UnitFrom::Typed,
            text: &reading.text,
            unit: unit.as_str(),
            channel: reading.channel.as_deref(),
            job: tags.job.as_ref().map(|job| &*job.name),
            job_revision_entry: tags.job.as_ref().map_or(0, |job| job.entry),
            feature: tags.feature.as_deref(),
            piece: tags.piece,
            attempt: tags.attempt,
            position: tags.position.as_deref(),
            wire_set: tags.wire_set.as_ref().map(|set| &*set.name),
            instrument: &tags.instrument.name,
            method: &tags.method,
            operator: tags.operator.as_deref(),
            purpose: tags.purpose,
            over_wires,
            pitch_diameter: judged
                .pitch_diameter_mm
                .map(|mm| format_to(mm / unit.mm_per_unit(), beside.value)),
            limits: limits.map(|limits| LimitsView::to(limits, unit, beside.limits)),
            verdict: if held.is_some() {
                "held"
            } else {
                judged.verdict
            },
            words: if held.is_some() {
                "HELD"
            } else {
                verdict_words(judged.verdict)
            },
            left: left_in_words(judged, tags.purpose, unit, places),
            counted: standing.counts(),
            flags: judged.flags.codes().collect(),
            notes: notes(judged),
            corrections: corrections(&grounds, unit, places),
            uncertainty: grounds
                .uncertainty
                .map(|known| known_to(known.expanded_mm, unit, places).digits()),
            zero_age_s: grounds
                .zero
                .map(|zero| (reading.head.stamp.wall_us - zero.at_us) / 1_000_000),
            held,
            void: standing.void.as_ref().map(SaidView::of),
            comment: standing.comment.as_ref().map(|said| said.text.as_str()),
            moved: standing.moved.as_ref().map(SaidView::of),
            was_job: standing
                .before
                .as_ref()
                .and_then(|before| before.tags.job.as_ref())
                .map(|job| &*job.name),
        }
    }

    /// As JSON.
    pub fn to_json(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// One correction that was added to a reading.
#[derive(Debug, Serialize)]
#[allow(missing_docs)]
pub struct CorrectionView {
    pub kind: String,
    pub words: &'static str,
    pub amount: String,
}

fn corrections(grounds: &Grounds, unit: Unit, places: u8) -> Vec<CorrectionView> {
    let sign = |mm: f64| if mm > 0.0 { "+" } else { "" };
    grounds
        .terms
        .iter()
        .map(|term| CorrectionView {
            kind: term.kind.clone(),
            words: correction_words(&term.kind),
            amount: format!(
                "{}{}",
                sign(term.mm),
                format_to(term.mm / unit.mm_per_unit(), places + 1)
            ),
        })
        .collect()
}

fn correction_words(kind: &str) -> &'static str {
    match kind {
        "zero" => "zero",
        "micrometer_temperature" => "micrometer's warmth",
        "compression" => "measuring force",
        "wire_temperature" => "wires' warmth",
        "part_temperature" => "part's warmth",
        _ => "correction",
    }
}

fn notes(judged: &Judged) -> Vec<String> {
    let seat = seat_sentence(judged.seat).into_iter();
    seat.chain(judged.flags.sentences())
        .map(str::to_owned)
        .collect()
}

impl HeldView {
    fn of(held: &Held, unit: Unit) -> HeldView {
        let answer = |answer, label: String| AnswerView { answer, label };
        let other = if unit == Unit::Inch {
            "millimetres"
        } else {
            "inches"
        };
        let keep = |label: &str| answer("keep", label.to_owned());
        let void = || answer("void", "No: void it and measure again".to_owned());
        let (sentence, answers) = match held {
            Held::Unit => (
                format!("This fits the job when the number is taken as {other}. Which unit was the micrometer in?"),
                vec![
                    answer("other_unit", format!("It was in {other}")),
                    keep("The unit is right: keep it as it is"),
                    void(),
                ],
            ),
            Held::Job(job, feature) => (
                format!("This does not look like the active job; it fits {job}, {feature}. Which piece was measured?"),
                vec![
                    answer("other_job", format!("It is {job}, {feature}")),
                    keep("It is the active job: keep it as it is"),
                    void(),
                ],
            ),
            Held::Wire => (
                "This is what the thread would read with one wire out of its groove. Is every wire in its place?"
                    .to_owned(),
                vec![keep("Every wire was in place: keep it"), void()],
            ),
            Held::Rise => (
                "This is larger than before the last pass, though metal only comes off. Is a wire on a crest, a chip in the groove, or another piece in the machine?"
                    .to_owned(),
                vec![keep("It was measured well: keep it"), void()],
            ),
            Held::Fall => (
                "This is smaller than before by more than was cut. Has a wire fallen out? Lift the wires, seat all three and measure again."
                    .to_owned(),
                vec![keep("It was measured well: keep it"), void()],
            ),
        };
        HeldView {
            reason: held.reason(),
            sentence,
            answers,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn resolution_is_carried_over_without_false_digits() {
        assert_eq!(places_in(3, Unit::Millimetre, Unit::Inch), 5);
        assert_eq!(places_in(5, Unit::Inch, Unit::Millimetre), 4);
        assert_eq!(places_in(4, Unit::Inch, Unit::Inch), 4);
    }
}
