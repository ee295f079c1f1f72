//! Buttress designations after the threads per inch: `BUTT-2A`, `PUSH-BUTT-3A`.

use super::inch::Head;
use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Places, Thread, after_class};
use crate::thread::buttress::{Buttress, Class, Thrust};

/// Reads from `BUTT` or `PUSH` to the end.
pub(super) fn finish(scanner: &mut Scanner, head: &Head) -> Result<Thread, DesignationError> {
    let thrust = match scanner.eat_word("PUSH") {
        true => Thrust::Push,
        false => Thrust::Pull,
    };
    scanner.skip_separators();
    if !scanner.eat_word("BUTT") {
        return Err(scanner.expected("BUTT, as in PUSH-BUTT-2A"));
    }
    scanner.skip_separators();
    let places = Places {
        class: scanner.place(),
        ..head.places
    };
    let class = take_class(scanner)?;
    let tail = Tail::take(scanner, &after_class::INCH)?;
    Buttress {
        size: head.size_in_inches(),
        threads_per_inch: head.threads_per_inch,
        starts: tail.starts(head.starts, head.threads_per_inch.recip())?,
        class,
        thrust,
        hand: tail.hand(),
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

fn take_class(scanner: &mut Scanner) -> Result<Class, DesignationError> {
    let start = scanner.place();
    let class = match scanner.take_while(|found| found.is_ascii_digit()).as_str() {
        "2" => Some(Class::Two),
        "3" => Some(Class::Three),
        _ => None,
    };
    let internal = matches!(scanner.peek(), Some('b' | 'B'));
    match class {
        Some(class) if scanner.eat_letter('A') => Ok(class),
        _ => {
            scanner.go_back_to(start);
            Err(scanner.expected(match internal {
                true => "2A or 3A: B is an internal thread, and wires measure external ones",
                false => "a class: 2A or 3A",
            }))
        }
    }
}
