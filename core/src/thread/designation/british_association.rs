//! British Association designations: `4 BA normal`.

use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Thread, after_class};
use crate::thread::british_association::{BritishAssociation, Class};

/// Reads from the number to the end; `BA` is known to follow it.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    let start = scanner.place();
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let number = digits.parse::<u8>().ok().filter(|&number| number <= 16);
    let number = number.ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a number from 0 to 16, as in 4 BA")
    })?;
    scanner.skip_spaces();
    if !scanner.eat_word("BA") {
        scanner.go_back_to(start);
        return Err(scanner.expected("a number and BA, as in 4 BA"));
    }
    scanner.skip_separators();
    let class_at = scanner.place();
    let class = [Class::Close, Class::Normal]
        .into_iter()
        .find(|class| scanner.eat_word(&class.as_str().to_ascii_uppercase()));
    let class = class.ok_or_else(|| scanner.expected("a class: close or normal"))?;
    let tail = Tail::take(scanner, &after_class::HAND_ONLY)?;
    let thread = BritishAssociation::new(number, class, tail.hand());
    let refused = |found: String| DesignationError {
        at: class_at,
        found,
        expected: "normal: only 0 to 10 BA have a class close".to_owned(),
    };
    tail.one_start()?;
    thread
        .ok_or_else(|| refused(format!("`{}`", class.as_str())))?
        .thread()
        .map_err(|error| refused(error.to_string()))
}
