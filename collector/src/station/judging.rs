//! From a length to a judgement: the arithmetic is core's, here it is put into the record's words.

use overwire_core::correction::{Note, Term, TermKind, correct};
use overwire_core::judge::{Judge, Purpose};
use overwire_core::units::{Length, OverWires};

use super::Master;
use crate::record::grounds::{Grounds, RuleNote, TermNote, UncertaintyNote, ZeroNote};
use crate::record::{Flags, Judged};
use crate::register::Prepared;
use crate::register::measuring::InstrumentFacts;

/// Share of the tolerance above which the lead-angle term is worth a word.
const LEAD_SHARE: f64 = 0.1;

/// What was known beside a reading when it came.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Circumstances {
    /// The last zero check of the instrument.
    pub zero: Option<ZeroNote>,
    /// What was dialled for the pass before it, on diameter.
    pub dialled: Option<Length>,
    /// Temperature of the part, degrees Celsius.
    pub part_celsius: Option<f64>,
    /// Temperature of wires and micrometer, degrees Celsius.
    pub gauge_celsius: Option<f64>,
}

impl Circumstances {
    /// Those of a reading already made.
    pub fn of(grounds: &Grounds) -> Circumstances {
        Circumstances {
            zero: grounds.zero,
            dialled: grounds.dialled_mm.and_then(|mm| Length::from_mm(mm).ok()),
            part_celsius: grounds.part_celsius,
            gauge_celsius: grounds.gauge_celsius,
        }
    }

    fn grounds(&self) -> Grounds {
        Grounds {
            zero: self.zero,
            dialled_mm: self.dialled.map(Length::mm),
            part_celsius: self.part_celsius,
            gauge_celsius: self.gauge_celsius,
            ..Grounds::default()
        }
    }
}

/// The judgement of a length by what is active.
pub fn judge(
    prepared: Option<&Prepared>,
    over_wires: Length,
    purpose: Purpose,
    circumstances: &Circumstances,
) -> Judged {
    let mut judged = Judged {
        over_wires_mm: over_wires.mm(),
        verdict: "none",
        counted: prepared.is_some() && purpose != Purpose::Zero,
        ..Judged::default()
    };
    let mut grounds = circumstances.grounds();
    if let Some(prepared) = prepared.filter(|_| purpose != Purpose::Zero) {
        by_job(&mut judged, &mut grounds, prepared, over_wires, purpose);
        judged.counted = counts(&judged, prepared, purpose);
    }
    judged.grounds = grounds.to_text().map(Into::into);
    judged
}

/// The judgement of a reading over a plain master: a length as it is, corrected for the zero where the
/// instrument says so. Temperatures are kept beside it and not corrected for: what the master is made of is
/// not known.
pub fn of_plain(
    reading: Length,
    circumstances: &Circumstances,
    instrument: &InstrumentFacts,
) -> Judged {
    let mut grounds = circumstances.grounds();
    let zero = circumstances.zero.filter(|zero| zero.stands);
    let mut judged = Judged {
        over_wires_mm: reading.mm(),
        verdict: "none",
        counted: true,
        ..Judged::default()
    };
    if let Some(zero) = zero.filter(|_| instrument.correct_zero) {
        let zero_reading = Length::from_mm(zero.off_mm).unwrap_or(Length::ZERO);
        let term = Term {
            kind: TermKind::Zero { zero_reading },
            amount: -zero_reading,
        };
        grounds.terms.push(TermNote {
            kind: term.code().to_owned(),
            mm: term.amount.mm(),
        });
        judged.flags.set(Flags::CORRECTED);
    }
    judged.grounds = grounds.to_text().map(Into::into);
    judged
}

/// What a reading says of the size of a master, mm: its pitch diameter, or without wires the corrected length.
pub fn size_mm(judged: &Judged) -> f64 {
    let plain = || judged.over_wires_mm + judged.grounds().corrections_mm();
    judged.pitch_diameter_mm.unwrap_or_else(plain)
}

/// Whether a reading is so far from a master's size that it is of something else.
pub fn is_far(judged: &Judged, master: &Master) -> bool {
    let converted = master.plain || judged.pitch_diameter_mm.is_some();
    converted && (size_mm(judged) - master.size_mm).abs() > master.far_mm
}

/// A finished thread counts by its pitch diameter, and where it has limits by its verdict; between passes
/// every reading does, so that the next one can be compared with it.
fn counts(judged: &Judged, prepared: &Prepared, purpose: Purpose) -> bool {
    let converted = judged.seat == "ok" && judged.pitch_diameter_mm.is_some();
    let judgeable = judged.verdict != "none" || prepared.thread.limits.is_none();
    match purpose {
        Purpose::Cutting => true,
        Purpose::Inspecting => converted && judgeable,
        Purpose::Study => converted,
        Purpose::Zero => false,
    }
}

fn by_job(
    judged: &mut Judged,
    grounds: &mut Grounds,
    prepared: &Prepared,
    over_wires: Length,
    purpose: Purpose,
) {
    if let Some(limits) = prepared.thread.limits {
        judged.limit_min_mm = Some(limits.pitch_diameter_min.mm());
        judged.limit_max_mm = Some(limits.pitch_diameter_max.mm());
    }
    let (Some(judge), Ok(length)) = (&prepared.judge, OverWires::new(over_wires)) else {
        return;
    };
    let corrected = corrected(judged, grounds, prepared, judge, length.length());
    let judgement = judge.judge(corrected, purpose);
    judged.seat = judgement.seat.code();
    judged.verdict = judgement.verdict.code();
    if let Some(seated) = &judgement.seated {
        judged.pitch_diameter_mm = Some(seated.pitch_diameter.mm());
        judged.plane_pitch_diameter_mm = Some(seated.plane_pitch_diameter.mm());
        judged.lead_angle_correction_mm = Some(seated.lead_angle_correction.mm());
        if prepared.no_verdict.is_some() {
            judged.verdict = "none";
        }
        if lead_matters(prepared, seated.lead_angle_correction) {
            judged.flags.set(Flags::LEAD_ANGLE);
        }
        note_trust(grounds, prepared, judge);
    }
}

/// The reading with its corrections, each noted. Where none can be made (no seat) it stays as it is.
fn corrected(
    judged: &mut Judged,
    grounds: &mut Grounds,
    prepared: &Prepared,
    judge: &Judge,
    over_wires: Length,
) -> Length {
    let zero_off = grounds
        .zero
        .filter(|zero| zero.stands)
        .and_then(|zero| Length::from_mm(zero.off_mm).ok());
    let inputs = prepared
        .measuring
        .inputs(zero_off, grounds.part_celsius, grounds.gauge_celsius);
    let geometry = &judge.thread().geometry;
    let Ok(corrected) = correct(geometry, judge.wires(), over_wires, &inputs) else {
        return over_wires;
    };
    grounds.terms = corrected
        .terms
        .iter()
        .map(|term| TermNote {
            kind: term.code().to_owned(),
            mm: term.amount.mm(),
        })
        .collect();
    if !grounds.terms.is_empty() {
        judged.flags.set(Flags::CORRECTED);
    }
    let dents = |note: &Note| matches!(note, Note::BeyondElastic { .. });
    if corrected.notes.iter().any(dents) {
        judged.flags.set(Flags::BEYOND_ELASTIC);
    }
    corrected.reading
}

fn note_trust(grounds: &mut Grounds, prepared: &Prepared, judge: &Judge) {
    grounds.uncertainty = prepared
        .trust
        .uncertainty()
        .map(|uncertainty| UncertaintyNote {
            standard_mm: uncertainty.standard.mm(),
            freedom: Some(uncertainty.degrees_of_freedom).filter(|freedom| freedom.is_finite()),
            factor: uncertainty.factor,
            expanded_mm: uncertainty.expanded().mm(),
        });
    grounds.rule = judge.acceptance().map(|acceptance| {
        let bounds = acceptance.acceptance_limits();
        RuleNote {
            rule: acceptance.rule().sentence(),
            accept_min_mm: bounds.map(|bounds| bounds.lower.mm()),
            accept_max_mm: bounds.map(|bounds| bounds.upper.mm()),
        }
    });
}

fn lead_matters(prepared: &Prepared, correction: Length) -> bool {
    let Some(limits) = prepared.thread.limits else {
        return false;
    };
    correction.mm().abs() > LEAD_SHARE * limits.tolerance().mm()
}
