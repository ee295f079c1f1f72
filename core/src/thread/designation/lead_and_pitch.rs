//! What metric trapezoidal and saw-tooth designations begin with: `40x7`, or lead and pitch as in
//! `40x14(P7)`, and the hand that may follow at once.

use super::DesignationError;
use super::scanner::Scanner;
use super::tail::starts_of_lead;
use crate::thread::{Hand, MOST_STARTS};

pub(super) struct LeadAndPitch {
    pub(super) diameter_um: u32,
    pub(super) pitch_um: u32,
    /// Number of starts, where lead and pitch say it.
    pub(super) starts: Option<u32>,
    /// The hand, if it stands before the class.
    pub(super) hand: Option<Hand>,
    pub(super) diameter_at: usize,
    pub(super) pitch_at: usize,
}

/// Reads from the diameter to just before the class.
pub(super) fn take(scanner: &mut Scanner) -> Result<LeadAndPitch, DesignationError> {
    scanner.skip_spaces();
    let diameter_at = scanner.place();
    let diameter_um = scanner.take_micrometres("a diameter in mm, as in 40x7")?;
    scanner.skip_spaces();
    if !scanner.eat_times() {
        return Err(scanner.expected("x and a pitch in mm, as in 40x7"));
    }
    scanner.skip_spaces();
    let pitch_at = scanner.place();
    let (pitch_um, starts) = take_pitch(scanner)?;
    scanner.skip_spaces();
    let hand = scanner.eat_word("LH").then_some(Hand::Left);
    Ok(LeadAndPitch {
        diameter_um,
        pitch_um,
        starts,
        hand,
        diameter_at,
        pitch_at,
    })
}

fn take_pitch(scanner: &mut Scanner) -> Result<(u32, Option<u32>), DesignationError> {
    let start = scanner.place();
    let lead = scanner.take_decimal("a pitch in mm, as in 40x7")?;
    let after = scanner.place();
    scanner.skip_spaces();
    let in_brackets = scanner.eat(|found| found == '(');
    if !scanner.eat_letter('P') {
        if in_brackets {
            return Err(scanner.expected("P and the pitch, as in 40x14(P7)"));
        }
        scanner.go_back_to(start);
        let pitch_um = scanner.take_micrometres("a pitch in mm, as in 40x7")?;
        scanner.go_back_to(after);
        return Ok((pitch_um, None));
    }
    let pitch_um = scanner.take_micrometres("a pitch in mm, as in 40x14(P7)")?;
    if in_brackets && !scanner.eat(|found| found == ')') {
        return Err(scanner.expected("a closing bracket"));
    }
    let starts = starts_of_lead(lead, f64::from(pitch_um) / 1_000.0).ok_or_else(|| {
        scanner.go_back_to(start);
        let expected = format!("a lead of 1 to {MOST_STARTS} whole pitches, as in 40x14(P7)");
        scanner.expected(&expected)
    })?;
    Ok((pitch_um, Some(starts)))
}
