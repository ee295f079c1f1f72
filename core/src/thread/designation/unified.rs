//! Unified designations after the threads per inch: series, class, hand.

use super::inch::Head;
use super::scanner::Scanner;
use super::tail::{Allowed, Tail};
use super::{DesignationError, Places, Thread};
use crate::thread::unified::{Class, Form, Series, Unified};
use crate::units::Unit;

const AFTER_CLASS: Allowed = Allowed {
    unit: Unit::Inch,
    engagement: true,
    gauging: true,
    expected: "starts as in (2 STARTS), a length of engagement as in LE 1.5, a gauging system as \
               in (22), LH or the end",
};

/// Reads from the series word to the end.
pub(super) fn finish(scanner: &mut Scanner, head: &Head) -> Result<Thread, DesignationError> {
    let size = head.size_or_number()?;
    let threads_per_inch = head.threads_per_inch;
    let (form, series) = take_series(scanner, threads_per_inch)?;
    scanner.skip_separators();
    let places = Places {
        class: scanner.place(),
        ..head.places
    };
    let class = take_class(scanner)?;
    let tail = Tail::take(scanner, &AFTER_CLASS)?;
    Unified {
        size,
        threads_per_inch,
        form,
        series,
        class,
        hand: tail.hand(),
        starts: tail.starts(head.starts, 1.0 / threads_per_inch)?,
        engagement: tail.length_of_engagement(),
        gauging: tail.gauging(),
    }
    .thread()
    .map_err(|error| DesignationError::refused_after_class(places, &tail, error))
}

fn take_series(
    scanner: &mut Scanner,
    threads_per_inch: f64,
) -> Result<(Form, Series), DesignationError> {
    let start = scanner.place();
    let letters = scanner.take_while(|found| found.is_ascii_alphabetic());
    let upper = letters.to_ascii_uppercase();
    let rest = upper.strip_prefix("UN");
    let (form, rest) = match rest {
        Some(rest) if rest.starts_with('R') => (Form::RoundedRoot, rest.get(1..)),
        Some(rest) if rest.starts_with('J') => (Form::LargeRootRadius, rest.get(1..)),
        _ => (Form::Flat, rest),
    };
    let series = match rest {
        Some("") => Some(Series::Constant {
            engages_by_diameter: threads_per_inch < 9.0,
        }),
        Some("C") => Some(Series::Coarse),
        Some("F") => Some(Series::Fine),
        Some("EF") => Some(Series::ExtraFine),
        Some("S") => Some(Series::Special),
        _ => None,
    };
    series.map(|series| (form, series)).ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected(
            "a Unified series: UN, UNC, UNF, UNEF or UNS, with R or J after UN for those forms",
        )
    })
}

fn take_class(scanner: &mut Scanner) -> Result<Class, DesignationError> {
    let start = scanner.place();
    let class = match scanner.take_while(|found| found.is_ascii_digit()).as_str() {
        "1" => Some(Class::One),
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
                true => "1A, 2A or 3A: B is an internal thread, and wires measure external ones",
                false => "a class: 1A, 2A or 3A",
            }))
        }
    }
}
