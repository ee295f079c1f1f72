//! Whitworth designations after the size: `-12 BSW medium`, or `BSW medium` where the series gives
//! the threads per inch.

use super::inch::Head;
use super::scanner::Scanner;
use super::tail::Tail;
use super::{DesignationError, Places, Thread, after_class};
use crate::thread::inch_size::InchSize;
use crate::thread::whitworth::{Class, Series, Whitworth, usual_threads_per_inch};

/// Whether this word begins a Whitworth series.
pub(super) fn is_series(word: &str) -> bool {
    series_of(word).is_some()
}

fn series_of(word: &str) -> Option<Series> {
    [Series::Coarse, Series::Fine, Series::Selected]
        .into_iter()
        .find(|series| series.letters() == word)
}

/// Reads from the series word to the end, the threads per inch being known.
pub(super) fn finish(scanner: &mut Scanner, head: &Head) -> Result<Thread, DesignationError> {
    let size = head.size_in_inches();
    let series = take_series(scanner)?;
    let known = (head.threads_per_inch, head.starts);
    finish_class(scanner, size, series, known, head.places)
}

/// Reads from the series word to the end; the series has to say the threads per inch.
pub(super) fn finish_by_series(
    scanner: &mut Scanner,
    diameter: usize,
    size: InchSize,
) -> Result<Thread, DesignationError> {
    let pitch = scanner.place();
    let series = take_series(scanner)?;
    let usual = usual_threads_per_inch(series, size.ten_thousandths());
    let threads_per_inch = usual.ok_or_else(|| {
        scanner.go_back_to(pitch);
        let why = format!(
            "a dash and the threads per inch: {} lists none for this diameter",
            series.letters()
        );
        scanner.expected(&why)
    })?;
    let places = Places {
        diameter,
        pitch,
        class: pitch,
    };
    finish_class(scanner, size, series, (threads_per_inch, None), places)
}

fn finish_class(
    scanner: &mut Scanner,
    size: InchSize,
    series: Series,
    (threads_per_inch, starts): (f64, Option<u32>),
    places: Places,
) -> Result<Thread, DesignationError> {
    scanner.skip_separators();
    let places = Places {
        class: scanner.place(),
        ..places
    };
    let class = take_class(scanner)?;
    let tail = Tail::take(scanner, &after_class::INCH)?;
    Whitworth {
        size,
        threads_per_inch,
        series,
        starts: tail.starts(starts, threads_per_inch.recip())?,
        class,
        hand: tail.hand(),
    }
    .thread()
    .map_err(|error| DesignationError::refused(places, error))
}

fn take_series(scanner: &mut Scanner) -> Result<Series, DesignationError> {
    let word = scanner.word_ahead();
    let series = series_of(&word).ok_or_else(|| scanner.expected("BSW, BSF or WHIT"))?;
    scanner.eat_word(&word);
    Ok(series)
}

/// The class, which may stand in brackets.
fn take_class(scanner: &mut Scanner) -> Result<Class, DesignationError> {
    let in_brackets = scanner.eat(|found| found == '(');
    let class = [Class::Close, Class::Medium, Class::Free]
        .into_iter()
        .find(|class| scanner.eat_word(&class.as_str().to_ascii_uppercase()));
    let class = class.ok_or_else(|| scanner.expected("a class: close, medium or free"))?;
    if in_brackets && !scanner.eat(|found| found == ')') {
        return Err(scanner.expected("a closing bracket"));
    }
    Ok(class)
}
