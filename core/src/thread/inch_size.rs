//! Nominal inch diameters: numbered sizes, fractions, decimals, and how they are written.

use crate::decimal::Decimal;
use crate::thread::unified::series;

/// Numbered sizes in use, and the diameter of each: 0.060 plus 0.013 inch a number.
const NUMBERS: [u8; 10] = [0, 1, 2, 3, 4, 5, 6, 8, 10, 12];

/// A nominal diameter in inches, kept as it is written.
///
/// ```
/// use overwire_core::decimal::Decimal;
/// use overwire_core::thread::inch_size::InchSize;
/// assert_eq!(InchSize::from_decimal(Decimal::parse("1.0625")?), InchSize::fraction(1, 1, 16));
/// assert_eq!(InchSize::number(10).map(InchSize::inches), Some(0.19));
/// # Ok::<(), overwire_core::decimal::DecimalError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InchSize(Kind);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Number(u8),
    /// Whole inches and sixty-fourths.
    SixtyFourths(u32),
    /// A decimal that is neither of the above.
    Decimal(Decimal),
}

impl InchSize {
    /// A numbered size; `None` when there is no such number.
    pub fn number(number: u8) -> Option<InchSize> {
        NUMBERS
            .contains(&number)
            .then_some(InchSize(Kind::Number(number)))
    }

    /// Whole inches and a fraction. The denominator must divide 64; other fractions are rounded
    /// down to the next sixty-fourth.
    pub const fn fraction(whole: u32, numerator: u32, denominator: u32) -> InchSize {
        let denominator = if denominator == 0 { 1 } else { denominator };
        let sixty_fourths = numerator.saturating_mul(64) / denominator;
        InchSize(Kind::SixtyFourths(
            whole.saturating_mul(64).saturating_add(sixty_fourths),
        ))
    }

    /// A decimal; one that equals a numbered size or a whole sixty-fourth becomes that.
    pub fn from_decimal(decimal: Decimal) -> InchSize {
        let (steps, divisor) = (decimal.steps(), 10_i64.pow(decimal.places().into()));
        let numbered = NUMBERS
            .into_iter()
            .find(|&number| steps * 1_000 == divisor * (60 + 13 * i64::from(number)));
        if let Some(number) = numbered {
            return InchSize(Kind::Number(number));
        }
        match u32::try_from(steps * 64 / divisor) {
            Ok(count) if steps * 64 % divisor == 0 => InchSize(Kind::SixtyFourths(count)),
            _ => InchSize(Kind::Decimal(decimal)),
        }
    }

    /// The diameter in inches.
    pub fn inches(self) -> f64 {
        match self.0 {
            Kind::Number(number) => f64::from(60 + 13 * u32::from(number)) / 1_000.0,
            Kind::SixtyFourths(count) => f64::from(count) / 64.0,
            Kind::Decimal(decimal) => decimal.value(),
        }
    }

    /// The diameter rounded to ten-thousandths of an inch.
    pub fn ten_thousandths(self) -> u32 {
        (self.inches() * 1e4).round() as u32
    }

    /// How the size is written before this many threads per inch. Whole inches that would be read
    /// as a numbered size, or could be, get their decimals.
    pub(super) fn text_before(self, threads_per_inch: f64) -> String {
        match self.0 {
            Kind::Number(number) => format!("#{number}"),
            Kind::SixtyFourths(count) => {
                let plain = fraction_text(count);
                let whole = count.is_multiple_of(64).then_some(count / 64);
                let clear = whole.is_none_or(|whole| {
                    bare_integer(whole, threads_per_inch) == Ok(InchSize(self.0))
                });
                if clear {
                    plain
                } else {
                    format!("{plain}.0000")
                }
            }
            Kind::Decimal(decimal) => {
                let places = usize::from(decimal.places().max(4));
                format!("{:.places$}", decimal.value())
            }
        }
    }
}

pub(super) fn fraction_text(sixty_fourths: u32) -> String {
    let (whole, rest) = (sixty_fourths / 64, sixty_fourths % 64);
    if rest == 0 {
        return whole.to_string();
    }
    let common = 1 << rest.trailing_zeros();
    let (numerator, denominator) = (rest / common, 64 / common);
    match whole {
        0 => format!("{numerator}/{denominator}"),
        _ => format!("{whole} {numerator}/{denominator}"),
    }
}

/// A whole number before the threads per inch that may mean a numbered size or whole inches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ambiguous;

/// What a whole number without a `#` means: `10-32` is number 10, `1-8` is one inch. A listed
/// size decides, numbered ones first; without one, a pitch too coarse for the numbered size
/// leaves only inches.
pub(super) fn bare_integer(whole: u32, threads_per_inch: f64) -> Result<InchSize, Ambiguous> {
    let inches = InchSize(Kind::SixtyFourths(whole.saturating_mul(64)));
    let numbered = u8::try_from(whole).ok().and_then(InchSize::number);
    let Some(numbered) = numbered else {
        return Ok(inches);
    };
    let listed =
        |size: InchSize| series::listed_in(size.ten_thousandths(), threads_per_inch).is_some();
    if listed(numbered) {
        Ok(numbered)
    } else if listed(inches) || numbered.inches() * threads_per_inch < 3.0 {
        Ok(inches)
    } else {
        Err(Ambiguous)
    }
}
