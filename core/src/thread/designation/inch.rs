//! Inch designations: size and threads per inch, which all inch systems share, and then the word
//! that says which system it is.

use super::fraction;
use super::scanner::Scanner;
use super::{
    DesignationError, Places, Thread, acme, british_association, buttress, inch_pitch as pitch,
    miniature, pipe_parallel, unified, whitworth,
};
use crate::thread::inch_size::{self, InchSize};

const SYSTEMS: &str = "a Unified series: UN, UNC, UNF, UNEF or UNS, with R or J after UN for those \
                       forms; or ACME, STUB ACME, BUTT, PUSH-BUTT, BSW, BSF or WHIT; describe any \
                       other thread by its numbers, as a custom thread";

/// What all inch designations begin with, as in `1/2-13`, or with pitch and lead in inches
/// `0.750-0.0625P-0.1875L (3 STARTS)`.
pub(super) struct Head {
    written: Written,
    /// Threads per inch, from groove to neighbouring groove.
    pub(super) threads_per_inch: f64,
    /// Number of starts, where the lead beside the pitch says it.
    pub(super) starts: Option<u32>,
    /// Where size and threads per inch began; `class` is to be set by the system.
    pub(super) places: Places,
}

/// The size as it stands, before the threads per inch have said what a whole number means.
enum Written {
    Clear(InchSize),
    WholeNumber(u32),
}

/// Reads size and threads per inch; the word that follows says who reads on. Each system's
/// `finish` starts at its own word and reads to the end of the text.
pub(super) fn parse(scanner: &mut Scanner) -> Result<Thread, DesignationError> {
    let start = scanner.place();
    let written = take_size(scanner)?;
    scanner.skip_spaces();
    match scanner.word_ahead().as_str() {
        "UNM" => {
            scanner.go_back_to(start);
            return miniature::parse(scanner);
        }
        "BA" => {
            scanner.go_back_to(start);
            return british_association::parse(scanner);
        }
        "BSPP" => return pipe_parallel::finish_bspp(scanner, start, written.in_inches()),
        "BSP" => {
            return Err(
                scanner.expected("BSPP, the parallel pipe thread: BSP may be the taper one")
            );
        }
        word if whitworth::is_series(word) => {
            return whitworth::finish_by_series(scanner, start, written.in_inches());
        }
        _ => {}
    }
    let head = Head::take(scanner, start, written)?;
    scanner.skip_separators();
    match scanner.word_ahead().as_str() {
        word if word.starts_with("UN") => unified::finish(scanner, &head),
        "ACME" => acme::finish(scanner, &head),
        "STUB" => acme::finish_stub(scanner, &head),
        "BUTT" | "PUSH" => buttress::finish(scanner, &head),
        word if whitworth::is_series(word) => whitworth::finish(scanner, &head),
        _ => Err(scanner.expected(SYSTEMS)),
    }
}

impl Head {
    /// Reads from behind the size.
    fn take(
        scanner: &mut Scanner,
        diameter: usize,
        written: Written,
    ) -> Result<Head, DesignationError> {
        if !scanner.eat_dash() && !scanner.eat_times() {
            return Err(scanner.expected("a dash and the threads per inch, as in 1/2-13"));
        }
        scanner.skip_spaces();
        let pitch = scanner.place();
        let (threads_per_inch, starts) = pitch::take(scanner)?;
        Ok(Head {
            written,
            threads_per_inch,
            starts,
            places: Places {
                diameter,
                pitch,
                class: pitch,
            },
        })
    }

    /// The size in a system without numbered sizes: `2-4` is two inches.
    pub(super) fn size_in_inches(&self) -> InchSize {
        self.written.in_inches()
    }

    /// The size in a system that has numbered sizes: `10-32` is number 10, `1-8` is one inch.
    pub(super) fn size_or_number(&self) -> Result<InchSize, DesignationError> {
        let whole = match self.written {
            Written::Clear(size) => return Ok(size),
            Written::WholeNumber(whole) => whole,
        };
        inch_size::bare_integer(whole, self.threads_per_inch).map_err(|_| DesignationError {
            at: self.places.diameter,
            found: format!("`{whole}`, which may be a numbered size or inches"),
            expected: format!("#{whole} for the numbered size, or {whole}.0 for inches"),
        })
    }
}

impl Written {
    fn in_inches(&self) -> InchSize {
        match *self {
            Written::Clear(size) => size,
            Written::WholeNumber(whole) => InchSize::fraction(whole, 0, 1),
        }
    }
}

/// A size by itself, in a system without numbered sizes.
pub(super) fn take_size_in_inches(scanner: &mut Scanner) -> Result<InchSize, DesignationError> {
    take_size(scanner).map(|written| written.in_inches())
}

fn take_size(scanner: &mut Scanner) -> Result<Written, DesignationError> {
    let written = take_bare_size(scanner)?;
    if scanner.eat_inch_mark() {
        return Ok(match written {
            Written::WholeNumber(whole) => Written::Clear(InchSize::fraction(whole, 0, 1)),
            clear => clear,
        });
    }
    take_restated(scanner, written)
}

fn take_bare_size(scanner: &mut Scanner) -> Result<Written, DesignationError> {
    let start = scanner.place();
    if scanner.eat_letter('#') || scanner.eat_word("NO") {
        scanner.eat(|found| found == '.');
        scanner.skip_spaces();
        return take_numbered(scanner).map(Written::Clear);
    }
    if fraction::stands_alone(scanner) {
        return fraction::take(scanner, 0).map(Written::Clear);
    }
    let decimal = scanner.take_decimal("a diameter in inches, as in 1/2 or 0.500")?;
    if decimal.places() > 0 {
        return Ok(Written::Clear(InchSize::from_decimal(decimal)));
    }
    let whole = u32::try_from(decimal.steps())
        .ok()
        .filter(|&whole| whole <= 999);
    let whole = whole.ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a diameter in inches, as in 1/2 or 0.500")
    })?;
    if scanner.peek().is_some_and(fraction::is_slash) {
        scanner.go_back_to(start);
        return fraction::take(scanner, 0).map(Written::Clear);
    }
    match fraction::follows(scanner) {
        true => fraction::take(scanner, whole).map(Written::Clear),
        false => Ok(Written::WholeNumber(whole)),
    }
}

/// The decimal in brackets that may follow a numbered size, as in `10 (.190)`.
fn take_restated(scanner: &mut Scanner, written: Written) -> Result<Written, DesignationError> {
    let before = scanner.place();
    scanner.skip_spaces();
    let numbered = match written {
        Written::Clear(size) => Some(size),
        Written::WholeNumber(whole) => u8::try_from(whole).ok().and_then(InchSize::number),
    };
    let Some(numbered) = numbered.filter(|_| scanner.eat(|found| found == '(')) else {
        scanner.go_back_to(before);
        return Ok(written);
    };
    let decimal_at = scanner.place();
    let decimal = scanner.take_decimal("the diameter in inches, as in 10 (.190)")?;
    if InchSize::from_decimal(decimal) != numbered {
        scanner.go_back_to(decimal_at);
        return Err(scanner.expected(&format!("{} as before", numbered.inches())));
    }
    match scanner.eat(|found| found == ')') {
        true => Ok(Written::Clear(numbered)),
        false => Err(scanner.expected("a closing bracket")),
    }
}

fn take_numbered(scanner: &mut Scanner) -> Result<InchSize, DesignationError> {
    let start = scanner.place();
    let digits = scanner.take_while(|found| found.is_ascii_digit());
    let size = digits.parse().ok().and_then(InchSize::number);
    size.ok_or_else(|| {
        scanner.go_back_to(start);
        scanner.expected("a numbered size: 0, 1, 2, 3, 4, 5, 6, 8, 10 or 12")
    })
}
