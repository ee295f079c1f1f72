//! Parallel pipe designations: `G 1/2 A`.

use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Thread, after_class, inch};
use crate::thread::pipe_parallel::{Class, PipeParallel, Size};

/// Reads from `G` to the end.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    scanner.eat_letter('G');
    scanner.skip_separators();
    let start = scanner.place();
    let inches = inch::take_size_in_inches(scanner)?.inches();
    let sixteenths = inches * 16.0;
    let whole = (sixteenths - sixteenths.round()).abs() < 1e-9;
    let size = whole.then(|| Size::named(sixteenths.round() as u32));
    let size = size.flatten().ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a size of ISO 228-1: 1/16 to 6")
    })?;
    scanner.skip_separators();
    let class = match () {
        () if scanner.eat_word("A") => Class::A,
        () if scanner.eat_word("B") => Class::B,
        () => {
            return Err(scanner.expected(
                "a class: A or B; without one it is an internal thread, and wires measure \
                 external ones",
            ));
        }
    };
    let tail = Tail::take(scanner, &after_class::HAND_ONLY)?;
    tail.one_start()?;
    PipeParallel {
        size,
        class,
        hand: tail.hand(),
    }
    .thread()
    .map_err(|error| DesignationError {
        at: start,
        found: error.to_string(),
        expected: "a thread that can exist".to_owned(),
    })
}
