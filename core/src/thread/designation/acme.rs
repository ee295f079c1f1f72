//! Acme and stub Acme designations after the threads per inch: `ACME-2G`, `STUB ACME M1-2G`.

use super::inch::Head;
use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Places, Thread, after_class};
use crate::thread::acme::{Acme, Fit, Grade};
use crate::thread::stub_acme::{Form, StubAcme};

/// Reads from `ACME` to the end.
pub(super) fn finish(scanner: &mut Scanner, head: &Head) -> Result<Thread, DesignationError> {
    scanner.eat_word("ACME");
    scanner.skip_separators();
    let places = Places {
        class: scanner.place(),
        ..head.places
    };
    let grade = take_grade(scanner, "a class: 2G, 3G, 4G, 2C, 3C or 4C")?;
    let fit = [Fit::GeneralPurpose, Fit::Centralizing]
        .into_iter()
        .find(|fit| scanner.eat_word(&fit.letter().to_string()));
    let fit = fit.ok_or_else(|| scanner.expected("G for general purpose or C for centralizing"))?;
    let tail = Tail::take(scanner, &after_class::INCH)?;
    Acme {
        size: head.size_in_inches(),
        threads_per_inch: head.threads_per_inch,
        starts: tail.starts(head.starts, head.threads_per_inch.recip())?,
        grade,
        fit,
        hand: tail.hand(),
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

/// Reads from `STUB` to the end. The class may be left out: the standard has 2G as its own.
pub(super) fn finish_stub(scanner: &mut Scanner, head: &Head) -> Result<Thread, DesignationError> {
    scanner.eat_word("STUB");
    scanner.skip_separators();
    if !scanner.eat_word("ACME") {
        return Err(scanner.expected("ACME, as in STUB ACME-2G"));
    }
    scanner.skip_separators();
    let form = take_form(scanner)?;
    scanner.skip_separators();
    let places = Places {
        class: scanner.place(),
        ..head.places
    };
    let grade = take_stub_grade(scanner)?;
    let tail = Tail::take(scanner, &after_class::INCH)?;
    StubAcme {
        size: head.size_in_inches(),
        threads_per_inch: head.threads_per_inch,
        starts: tail.starts(head.starts, head.threads_per_inch.recip())?,
        grade,
        form,
        hand: tail.hand(),
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

fn take_form(scanner: &mut Scanner) -> Result<Form, DesignationError> {
    if scanner.word_ahead() != "M" {
        return Ok(Form::Standard);
    }
    scanner.eat_letter('M');
    let start = scanner.place();
    match scanner.take_while(|found| found.is_ascii_digit()).as_str() {
        "1" => Ok(Form::ModifiedOne),
        "2" => Ok(Form::ModifiedTwo),
        _ => {
            scanner.go_back_to(start);
            Err(scanner.expected("1 or 2: the modified forms are M1 and M2"))
        }
    }
}

fn take_stub_grade(scanner: &mut Scanner) -> Result<Grade, DesignationError> {
    const EXPECTED: &str = "a class: 2G, 3G or 4G";
    let start = scanner.place();
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let class = !digits.is_empty() && matches!(scanner.peek(), Some('g' | 'G' | 'c' | 'C'));
    scanner.go_back_to(start);
    if !class {
        return Ok(Grade::Two);
    }
    let grade = take_grade(scanner, EXPECTED)?;
    match scanner.eat_word("G") {
        true => Ok(grade),
        false => Err(scanner.expected("G: stub Acme threads have classes 2G, 3G and 4G")),
    }
}

fn take_grade(scanner: &mut Scanner, expected: &str) -> Result<Grade, DesignationError> {
    let start = scanner.place();
    match scanner.take_while(|found| found.is_ascii_digit()).as_str() {
        "2" => Ok(Grade::Two),
        "3" => Ok(Grade::Three),
        "4" => Ok(Grade::Four),
        _ => {
            scanner.go_back_to(start);
            Err(scanner.expected(expected))
        }
    }
}
