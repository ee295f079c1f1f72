//! Trapezoidal designations: `Tr40x7-7e`, `Tr40x14(P7)LH-7e`.

use super::lead_and_pitch;
use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Places, Thread, after_class};
use crate::thread::trapezoidal::{Position, Trapezoidal};

/// Reads from `Tr` to the end.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    scanner.eat_letter('T');
    if !scanner.eat_letter('R') {
        return Err(scanner.expected("r, as in Tr40x7-7e"));
    }
    let size = lead_and_pitch::take(scanner)?;
    scanner.skip_separators();
    let places = Places {
        diameter: size.diameter_at,
        pitch: size.pitch_at,
        class: scanner.place(),
    };
    let (grade, position) = take_class(scanner)?;
    let tail = Tail::take(scanner, &after_class::METRIC)?;
    Trapezoidal {
        diameter_um: size.diameter_um,
        pitch_um: size.pitch_um,
        starts: tail.starts(size.starts, f64::from(size.pitch_um) / 1_000.0)?,
        grade,
        position,
        hand: tail.hand_after(size.hand)?,
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

fn take_class(scanner: &mut Scanner) -> Result<(u8, Position), DesignationError> {
    let start = scanner.place();
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let grade = digits.parse::<u8>().ok();
    let Some(grade) = grade.filter(|grade| (7..=9).contains(grade)) else {
        scanner.go_back_to(start);
        return Err(scanner.expected("a tolerance class with a grade of 7 to 9, as in 7e"));
    };
    let position = match scanner.peek() {
        Some('e') => Position::E,
        Some('c') => Position::C,
        Some(found) if found.is_ascii_uppercase() => {
            return Err(scanner.expected(
                "a small e or c: capitals mean an internal thread, and wires measure external ones",
            ));
        }
        _ => return Err(scanner.expected("e or c, as in 7e")),
    };
    scanner.eat_letter(position.letter());
    Ok((grade, position))
}
