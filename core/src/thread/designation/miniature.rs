//! Unified miniature designations, as in `1.00 UNM`: a diameter in millimetres.

use super::scanner::Scanner;
use super::tail::{Allowed, Tail};
use super::{DesignationError, Places, Thread};
use crate::thread::unified_miniature::Miniature;
use crate::units::Unit;

const AFTER_UNM: Allowed = Allowed {
    unit: Unit::Millimetre,
    engagement: false,
    gauging: false,
    expected: "LH or the end",
};

pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    let diameter = scanner.place();
    let diameter_um = scanner.take_micrometres("a diameter in mm, as in 1.00 UNM")?;
    scanner.skip_spaces();
    scanner.eat_word("UNM");
    let places = Places {
        diameter,
        pitch: diameter,
        class: scanner.place(),
    };
    let tail = Tail::take(scanner, &AFTER_UNM)?;
    Miniature {
        diameter_um,
        hand: tail.hand(),
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}
