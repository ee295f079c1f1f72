//! Worm designations: `WORM m2 d22.4 z2 20deg tip26.4`.

use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Places, Thread, after_class};
use crate::decimal::Decimal;
use crate::thread::MOST_STARTS;
use crate::thread::worm::{ToothSize, Worm};

/// Reads from `WORM` to the end.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    if !scanner.eat_word("WORM") {
        return Err(scanner.expected("WORM, as in WORM m2 d22.4 z2 20deg"));
    }
    scanner.skip_separators();
    let pitch = scanner.place();
    let tooth_size = take_tooth_size(scanner)?;
    scanner.skip_separators();
    let diameter = scanner.place();
    let reference_diameter =
        take_marked(scanner, "D", "d and the reference diameter, as in d22.4")?;
    scanner.skip_separators();
    let starts = take_starts(scanner)?;
    scanner.skip_separators();
    let class = scanner.place();
    let pressure_angle_deg = take_angle(scanner)?;
    let tip_diameter = take_tip(scanner)?;
    let tail = Tail::take(scanner, &after_class::HAND_ONLY)?;
    let places = Places {
        diameter,
        pitch,
        class,
    };
    let worm = Worm {
        tooth_size,
        reference_diameter,
        starts,
        pressure_angle_deg,
        tip_diameter,
        hand: tail.hand(),
    };
    tail.starts(Some(starts), worm.axial_pitch())?;
    worm.thread()
        .map_err(|error| DesignationError::refused(places, error))
}

fn take_tooth_size(scanner: &mut Scanner) -> Result<ToothSize, DesignationError> {
    let number = "a number, as in m2 or DP10";
    if scanner.eat_word("M") {
        return scanner.take_decimal(number).map(ToothSize::Module);
    }
    if scanner.eat_word("DP") {
        return scanner.take_decimal(number).map(ToothSize::DiametralPitch);
    }
    Err(scanner.expected("m and the module, or DP and the diametral pitch, as in m2 or DP10"))
}

/// A number behind its mark.
fn take_marked(
    scanner: &mut Scanner,
    mark: &str,
    expected: &str,
) -> Result<Decimal, DesignationError> {
    match scanner.eat_word(mark) {
        true => scanner.take_decimal(expected),
        false => Err(scanner.expected(expected)),
    }
}

fn take_starts(scanner: &mut Scanner) -> Result<u32, DesignationError> {
    let start = scanner.place();
    let number = take_marked(scanner, "Z", "z and the number of starts, as in z2")?;
    let whole = u32::try_from(number.steps()).ok();
    let starts = whole.filter(|starts| number.places() == 0 && (1..=MOST_STARTS).contains(starts));
    starts.ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("z and 1 to 64 starts")
    })
}

fn take_angle(scanner: &mut Scanner) -> Result<Decimal, DesignationError> {
    let angle = scanner.take_decimal("the axial pressure angle, as in 20deg")?;
    scanner.skip_spaces();
    if scanner.eat_word("DEG") || scanner.eat(|found| found == '°') {
        return Ok(angle);
    }
    Err(scanner.expected("deg, as in 20deg"))
}

fn take_tip(scanner: &mut Scanner) -> Result<Option<Decimal>, DesignationError> {
    let before = scanner.place();
    scanner.skip_separators();
    if scanner.word_ahead() != "TIP" {
        scanner.go_back_to(before);
        return Ok(None);
    }
    take_marked(scanner, "TIP", "the tip diameter, as in tip26.4").map(Some)
}
