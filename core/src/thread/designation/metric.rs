//! Metric designations: diameter, pitch or lead and pitch, class, hand.

use super::scanner::Scanner;
use super::tail::{self, Allowed, Tail};
use super::{DesignationError, Places, Thread};
use crate::thread::MOST_STARTS;
use crate::thread::metric::{self, Class, Form, Metric, Position};
use crate::units::Unit;

const AFTER_CLASS: Allowed = Allowed {
    unit: Unit::Millimetre,
    engagement: true,
    gauging: false,
    expected: "a length of engagement as in L or LE 20, starts as in (2 STARTS), LH or the end",
};

pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    scanner.eat_letter('M');
    let form = match scanner.eat_letter('J') {
        true => Form::LargeRootRadius,
        false => Form::Basic,
    };
    scanner.skip_spaces();
    let diameter = scanner.place();
    let diameter_um = scanner.take_micrometres("a diameter in mm, as in M10")?;
    scanner.skip_spaces();
    let times = scanner.eat_times() || eat_dash_before_pitch(scanner);
    scanner.skip_spaces();
    let pitch = scanner.place();
    let (pitch_um, starts) = match (times, form) {
        (true, _) => take_pitch(scanner)?,
        (false, Form::Basic) => (coarse_pitch(scanner, diameter_um)?, None),
        (false, Form::LargeRootRadius) => {
            return Err(scanner.expected("x and a pitch, which MJ always states"));
        }
    };
    scanner.skip_separators();
    let places = Places {
        diameter,
        pitch,
        class: scanner.place(),
    };
    let pitch_diameter_class = take_class(scanner)?;
    let second = scanner.peek().is_some_and(|found| found.is_ascii_digit());
    let major_diameter_class = match second {
        true => take_class(scanner)?,
        false => pitch_diameter_class,
    };
    let tail = Tail::take(scanner, &AFTER_CLASS)?;
    Metric {
        form,
        diameter_um,
        pitch_um,
        starts: tail.starts(starts, f64::from(pitch_um) / 1_000.0)?,
        pitch_diameter_class,
        major_diameter_class,
        engagement: tail.engagement.map(|engagement| engagement.found),
        hand: tail.hand(),
    }
    .thread()
    .map_err(|error| DesignationError::refused_after_class(places, &tail, error))
}

fn coarse_pitch(scanner: &Scanner, diameter_um: u32) -> Result<u32, DesignationError> {
    metric::coarse_pitch_um(diameter_um)
        .ok_or_else(|| scanner.expected("x and a pitch: this diameter has no coarse pitch"))
}

/// The dash of `M8-1.25-6g`: behind it stands a number and then not the letter of a class.
fn eat_dash_before_pitch(scanner: &mut Scanner) -> bool {
    let start = scanner.place();
    if !scanner.eat_dash() {
        return false;
    }
    let after_dash = scanner.place();
    scanner.skip_spaces();
    let number = scanner.take_while(|found| found.is_ascii_digit() || found == '.');
    let ended = scanner.peek().is_none_or(|found| !found.is_alphabetic());
    let pitch = !number.is_empty() && ended;
    scanner.go_back_to(if pitch { after_dash } else { start });
    pitch
}

/// A pitch, or the lead and the pitch: `Ph3P1.5`, `Ph3P1.5 (two starts)`, `L3-P1.5`.
fn take_pitch(scanner: &mut Scanner) -> Result<(u32, Option<u32>), DesignationError> {
    let start = scanner.place();
    if scanner.eat_letter('P') {
        if !scanner.eat_letter('h') {
            return Err(scanner.expected("h and the lead, as in Ph3P1.5"));
        }
    } else if !scanner.eat_letter('L') {
        let pitch_um = scanner.take_micrometres("a pitch in mm, as in M10x1.5")?;
        return Ok((pitch_um, None));
    }
    let lead_um = scanner.take_micrometres("a lead in mm, as in Ph3P1.5")?;
    let after_lead = scanner.place();
    scanner.skip_separators();
    if !scanner.eat_letter('P') {
        scanner.go_back_to(after_lead);
        return Err(scanner.expected("P and the pitch, as in Ph3P1.5"));
    }
    let pitch_um = scanner.take_micrometres("a pitch in mm, as in Ph3P1.5")?;
    let whole = lead_um.checked_rem(pitch_um) == Some(0);
    let starts = lead_um.checked_div(pitch_um);
    let starts = starts.filter(|starts| whole && (1..=MOST_STARTS).contains(starts));
    if starts.is_none() {
        scanner.go_back_to(start);
        return Err(scanner.expected("a lead of 1 to 64 whole pitches, as in Ph3P1.5"));
    }
    let mut agreed = starts;
    if let Some(said) = tail::take_starts_in_brackets(scanner)? {
        tail::agree(&mut agreed, said)?;
    }
    Ok((pitch_um, agreed))
}

fn take_class(scanner: &mut Scanner) -> Result<Class, DesignationError> {
    let start = scanner.place();
    let grade = scanner.take_while(|found| found.is_ascii_digit());
    let grade = grade
        .parse::<u8>()
        .ok()
        .filter(|grade| (3..=9).contains(grade));
    let Some(grade) = grade else {
        scanner.go_back_to(start);
        return Err(scanner.expected("a tolerance class with a grade of 3 to 9, as in 6g"));
    };
    let position = match scanner.peek() {
        Some('e') => Position::E,
        Some('f') => Position::F,
        Some('g') => Position::G,
        Some('h') => Position::H,
        Some(found) if found.is_ascii_uppercase() => {
            return Err(scanner.expected(
                "a small e, f, g or h: capitals mean an internal thread, and wires measure \
                 external ones",
            ));
        }
        _ => return Err(scanner.expected("e, f, g or h, as in 6g")),
    };
    scanner.eat_letter(position.letter());
    Ok(Class { grade, position })
}
