//! Parallel pipe designations: `G 1/2 A`, or `1/2 BSPP A`.

use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Thread, after_class, inch};
use crate::thread::inch_size::InchSize;
use crate::thread::pipe_parallel::{Class, PipeParallel, Size};

/// Reads from `G` to the end.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    scanner.eat_letter('G');
    scanner.skip_separators();
    let start = scanner.place();
    let size = inch::take_size_in_inches(scanner)?;
    finish(scanner, start, size)
}

/// Reads from `BSPP` to the end, the size being known.
pub(super) fn finish_bspp(
    scanner: &mut Scanner,
    start: usize,
    size: InchSize,
) -> Result<Thread, DesignationError> {
    scanner.eat_word("BSPP");
    finish(scanner, start, size)
}

fn finish(
    scanner: &mut Scanner,
    start: usize,
    written: InchSize,
) -> Result<Thread, DesignationError> {
    let size = size_named(written.inches()).ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a size of ISO 228-1: 1/16 to 6")
    })?;
    scanner.skip_separators();
    let class = [Class::A, Class::B]
        .into_iter()
        .find(|class| scanner.eat_word(&class.letter().to_string()));
    let class = class.ok_or_else(|| {
        scanner.expected(
            "a class: A or B; without one it is an internal thread, and wires measure external ones",
        )
    })?;
    let tail = Tail::take(scanner, &after_class::HAND_ONLY)?;
    tail.one_start()?;
    let hand = tail.hand();
    let thread = PipeParallel { size, class, hand }.thread();
    thread.map_err(|error| DesignationError {
        at: start,
        found: error.to_string(),
        expected: "a thread that can exist".to_owned(),
    })
}

fn size_named(inches: f64) -> Option<Size> {
    let sixteenths = inches * 16.0;
    let whole = (sixteenths - sixteenths.round()).abs() < 1e-9;
    whole
        .then(|| Size::named(sixteenths.round() as u32))
        .flatten()
}
