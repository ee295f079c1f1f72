//! Metric designations: diameter, pitch or lead and pitch, class, hand.

use super::scanner::Scanner;
use super::{DesignationError, Places, Thread};
use crate::decimal::Decimal;
use crate::thread::MOST_STARTS;
use crate::thread::metric::{self, Class, Metric, Position};

pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    scanner.eat_letter('M');
    scanner.skip_spaces();
    let diameter = scanner.place();
    let diameter_um = take_micrometres(scanner, "a diameter in mm, as in M10")?;
    scanner.skip_spaces();
    let times = scanner.eat(is_times);
    scanner.skip_spaces();
    let pitch = scanner.place();
    let (pitch_um, starts) = match times {
        true => take_pitch(scanner)?,
        false => (coarse_pitch(scanner, diameter_um)?, 1),
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
    let hand = scanner.take_hand_and_end()?;
    Metric {
        diameter_um,
        pitch_um,
        starts,
        pitch_diameter_class,
        major_diameter_class,
        hand,
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

fn is_times(found: char) -> bool {
    matches!(found, 'x' | 'X' | '×' | '*')
}

fn coarse_pitch(scanner: &Scanner, diameter_um: u32) -> Result<u32, DesignationError> {
    metric::coarse_pitch_um(diameter_um)
        .ok_or_else(|| scanner.expected("x and a pitch: this diameter has no coarse pitch"))
}

/// A pitch, or `Ph`, the lead, `P` and the pitch.
fn take_pitch(scanner: &mut Scanner) -> Result<(u32, u32), DesignationError> {
    let start = scanner.place();
    if !scanner.eat_letter('P') {
        return Ok((
            take_micrometres(scanner, "a pitch in mm, as in M10x1.5")?,
            1,
        ));
    }
    if !scanner.eat_letter('h') {
        return Err(scanner.expected("h and the lead, as in Ph3P1.5"));
    }
    let lead_um = take_micrometres(scanner, "a lead in mm, as in Ph3P1.5")?;
    scanner.skip_spaces();
    if !scanner.eat_letter('P') {
        return Err(scanner.expected("P and the pitch, as in Ph3P1.5"));
    }
    let pitch_um = take_micrometres(scanner, "a pitch in mm, as in Ph3P1.5")?;
    let whole = lead_um.checked_rem(pitch_um) == Some(0);
    match lead_um.checked_div(pitch_um) {
        Some(starts) if whole && (1..=MOST_STARTS).contains(&starts) => Ok((pitch_um, starts)),
        _ => {
            scanner.go_back_to(start);
            Err(scanner.expected("a lead of 1 to 64 whole pitches, as in Ph3P1.5"))
        }
    }
}

/// A number of millimetres with at most three places.
fn take_micrometres(scanner: &mut Scanner, expected: &str) -> Result<u32, DesignationError> {
    let start = scanner.place();
    let decimal = scanner.take_decimal(expected)?;
    micrometres(decimal).ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a number of millimetres with at most three decimal places")
    })
}

fn micrometres(decimal: Decimal) -> Option<u32> {
    let divisor = 10_i64.pow(decimal.places().into());
    let thousandfold = decimal.steps().checked_mul(1_000)?;
    let whole = thousandfold % divisor == 0;
    u32::try_from(thousandfold / divisor)
        .ok()
        .filter(|&um| whole && um <= 1_000_000)
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
