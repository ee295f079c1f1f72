//! From a length to a judgement: the arithmetic is core's, here it is put into the record's words.

use overwire_core::judge::Purpose;
use overwire_core::units::{Length, OverWires};

use crate::record::{Flags, Judged};
use crate::register::Prepared;

/// Share of the tolerance above which the lead-angle term is worth a word.
const LEAD_SHARE: f64 = 0.1;

/// The judgement of a length by what is active.
pub fn judge(prepared: Option<&Prepared>, over_wires: Length, purpose: Purpose) -> Judged {
    let mut judged = Judged {
        over_wires_mm: over_wires.mm(),
        verdict: "none",
        counted: prepared.is_some() && purpose != Purpose::Zero,
        ..Judged::default()
    };
    let Some(prepared) = prepared else {
        return judged;
    };
    if let Some(limits) = prepared.thread.limits {
        judged.limit_min_mm = Some(limits.pitch_diameter_min.mm());
        judged.limit_max_mm = Some(limits.pitch_diameter_max.mm());
    }
    let (Some(judge), Ok(length)) = (&prepared.judge, OverWires::new(over_wires)) else {
        return judged;
    };
    let judgement = judge.judge(length.length(), purpose);
    judged.seat = judgement.seat.code();
    judged.verdict = judgement.verdict.code();
    if let Some(seated) = &judgement.seated {
        judged.pitch_diameter_mm = Some(seated.pitch_diameter.mm());
        judged.plane_pitch_diameter_mm = Some(seated.plane_pitch_diameter.mm());
        judged.lead_angle_correction_mm = Some(seated.lead_angle_correction.mm());
        if lead_matters(prepared, seated.lead_angle_correction) {
            judged.flags.set(Flags::LEAD_ANGLE);
        }
    }
    judged
}

fn lead_matters(prepared: &Prepared, correction: Length) -> bool {
    let Some(limits) = prepared.thread.limits else {
        return false;
    };
    correction.mm().abs() > LEAD_SHARE * limits.tolerance().mm()
}
