//! Saw-tooth designations: `S40x7`, `S40x14(P7)LH-7e`.

use super::lead_and_pitch;
use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Places, Thread, after_class};
use crate::thread::saw_tooth::{Class, SawTooth};

/// Reads from `S` to the end.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    scanner.eat_letter('S');
    let size = lead_and_pitch::take(scanner)?;
    let before = scanner.place();
    scanner.skip_separators();
    let places = Places {
        diameter: size.diameter_at,
        pitch: size.pitch_at,
        class: scanner.place(),
    };
    let class = take_class(scanner)?;
    if class.is_none() {
        scanner.go_back_to(before);
    }
    let tail = Tail::take(scanner, &after_class::METRIC)?;
    SawTooth {
        diameter_um: size.diameter_um,
        pitch_um: size.pitch_um,
        starts: tail.starts(size.starts, f64::from(size.pitch_um) / 1_000.0)?,
        class,
        hand: tail.hand_after(size.hand)?,
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

/// The class, if one stands here: a grade of 5 to 10 and a small letter.
fn take_class(scanner: &mut Scanner) -> Result<Option<Class>, DesignationError> {
    let start = scanner.place();
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let letter = scanner.peek().filter(char::is_ascii_alphabetic);
    let (Some(letter), false) = (letter, digits.is_empty()) else {
        scanner.go_back_to(start);
        return Ok(None);
    };
    let grade = digits.parse::<u8>().ok();
    let Some(grade) = grade.filter(|grade| (5..=10).contains(grade)) else {
        scanner.go_back_to(start);
        return Err(scanner.expected("a tolerance class with a grade of 5 to 10, as in 7e"));
    };
    if letter.is_ascii_uppercase() {
        return Err(scanner.expected(
            "a small letter: capitals mean an internal thread, and wires measure external ones",
        ));
    }
    scanner.eat_letter(letter);
    Ok(Some(Class {
        grade,
        position: letter,
    }))
}
