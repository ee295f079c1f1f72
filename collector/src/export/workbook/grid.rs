//! Cells of one sheet, each written as what it is.

use std::borrow::Cow;

use rust_xlsxwriter::Worksheet;

use super::looks::{Look, Looks};
use crate::clock::Civil;
use crate::export::ExportError;
use crate::export::value::Value;

/// More UTF-16 units than this a cell does not hold.
const LONGEST: usize = 32_767;
/// Larger whole numbers lose their last digits in a spreadsheet.
const LARGEST: u64 = 999_999_999_999_999;
/// Days from a spreadsheet's day 0 (1899-12-30) to 1970-01-01.
const EPOCH_DAYS: f64 = 25_569.0;
/// Rows that the widths of columns are found from.
const MEASURED_ROWS: u32 = 100;
const WIDEST: usize = 60;

/// A sheet that is written row by row.
pub struct Grid {
    /// The sheet.
    pub sheet: Worksheet,
    /// The row that is written next.
    pub row: u32,
    /// How many texts had to be cut.
    pub cut: u64,
    /// Whether a table in the spreadsheet's own sense lies over it.
    pub has_table: bool,
    looks: Looks,
    /// How a column's cells look that do not say otherwise, found from the first of them.
    columns: Vec<Option<Look>>,
    widths: Vec<usize>,
    text: String,
}

impl Grid {
    /// Of an empty sheet, with so many columns of one kind each; 0 where every cell looks as it will.
    pub fn new(sheet: Worksheet, looks: &Looks, columns: usize) -> Grid {
        Grid {
            sheet,
            row: 0,
            cut: 0,
            has_table: false,
            looks: looks.clone(),
            columns: vec![None; columns],
            widths: vec![0; columns],
            text: String::new(),
        }
    }

    /// Writes a heading into the current row.
    pub fn heading(&mut self, column: u16, text: &str) -> Result<(), ExportError> {
        self.measure(column, text.chars().count() + 3);
        let format = self.looks.of(Look::Heading);
        self.sheet
            .write_string_with_format(self.row, column, text, format)?;
        Ok(())
    }

    /// Writes text over several lines into the current row.
    pub fn wrapped(&mut self, column: u16, text: &str, free: bool) -> Result<(), ExportError> {
        let look = if free {
            Look::QuotedWrapped
        } else {
            Look::Wrapped
        };
        self.words(column, look, text)
    }

    /// Writes a cell into the current row.
    pub fn cell(&mut self, column: u16, value: &Value<'_>) -> Result<(), ExportError> {
        let mut text = std::mem::take(&mut self.text);
        text.clear();
        let written = self.value(column, value, &mut text);
        self.text = text;
        written
    }

    fn value(
        &mut self,
        column: u16,
        value: &Value<'_>,
        text: &mut String,
    ) -> Result<(), ExportError> {
        match value {
            Value::Empty => Ok(()),
            Value::Whole(whole) if whole.unsigned_abs() <= LARGEST => {
                self.number(column, Look::Whole, *whole as f64)
            }
            Value::Flag(flag) => self.number(column, Look::Whole, f64::from(u8::from(*flag))),
            Value::Moment(wall_us, _) => {
                let day = wall_us.div_euclid(1000) as f64 / 86_400e3;
                self.number(column, Look::Moment, EPOCH_DAYS + day)
            }
            Value::Local(wall_us, offset_s) => {
                let second = wall_us.div_euclid(1_000_000) + i64::from(*offset_s);
                self.number(column, Look::Second, EPOCH_DAYS + second as f64 / 86_400.0)
            }
            Value::Number(_, places) => {
                value.write(text, &mut Civil::default(), false);
                self.decimal(column, text, *places)
            }
            Value::Decimal(digits) => {
                let places = digits.split_once('.').map_or(0, |(_, after)| after.len());
                self.decimal(column, digits, u8::try_from(places).unwrap_or(u8::MAX))
            }
            Value::Free(free) => self.words(column, Look::Quoted, free),
            Value::Code(word) => self.words(column, Look::Text, word),
            Value::Raw(_) => {
                value.write(text, &mut Civil::default(), false);
                self.words(column, Look::Quoted, text)
            }
            Value::Whole(_) | Value::Offset(_) | Value::Id(_) | Value::Hash(_) => {
                value.write(text, &mut Civil::default(), false);
                self.words(column, Look::Text, text)
            }
        }
    }

    /// The number that the digits say; what is none stays text.
    fn decimal(&mut self, column: u16, digits: &str, places: u8) -> Result<(), ExportError> {
        match digits.parse::<f64>() {
            Ok(number) if number.is_finite() => self.number(column, Look::Places(places), number),
            _ => self.words(column, Look::Quoted, digits),
        }
    }

    fn number(&mut self, column: u16, look: Look, number: f64) -> Result<(), ExportError> {
        if self.row < MEASURED_ROWS {
            self.measure(column, if look == Look::Moment { 23 } else { 10 });
        }
        if self.column_has(column, look)? {
            self.sheet.write_number(self.row, column, number)?;
        } else {
            let format = self.looks.of(look);
            self.sheet
                .write_number_with_format(self.row, column, number, format)?;
        }
        Ok(())
    }

    fn words(&mut self, column: u16, look: Look, text: &str) -> Result<(), ExportError> {
        if text.is_empty() {
            return Ok(());
        }
        if self.row < MEASURED_ROWS {
            self.measure(column, text.chars().count() + 1);
        }
        let fitting = fitting(text);
        self.cut += u64::from(matches!(fitting, Cow::Owned(_)));
        if self.column_has(column, look)? {
            self.sheet.write_string(self.row, column, fitting)?;
        } else {
            let format = self.looks.of(look);
            self.sheet
                .write_string_with_format(self.row, column, fitting, format)?;
        }
        Ok(())
    }

    /// Whether a column's cells look so without being told. The first cell of a column says how.
    fn column_has(&mut self, column: u16, look: Look) -> Result<bool, ExportError> {
        let Some(own) = self.columns.get_mut(usize::from(column)) else {
            return Ok(false);
        };
        if own.is_none() {
            *own = Some(look);
            self.sheet.set_column_format(column, self.looks.of(look))?;
        }
        Ok(*own == Some(look))
    }

    fn measure(&mut self, column: u16, characters: usize) {
        if let Some(width) = self.widths.get_mut(usize::from(column)) {
            *width = (*width).max(characters.min(WIDEST));
        }
    }

    /// Sets the columns as wide as what was written first.
    pub fn set_widths(&mut self) -> Result<(), ExportError> {
        for (column, width) in (0_u16..).zip(&self.widths) {
            self.sheet.set_column_width(column, *width as f64)?;
        }
        Ok(())
    }
}

/// A text that fits into a cell; one that does not is cut and says so at its end.
fn fitting(text: &str) -> Cow<'_, str> {
    // Every character takes at least as many bytes as UTF-16 units.
    if text.len() <= LONGEST {
        return Cow::Borrowed(text);
    }
    let units = text.encode_utf16().count();
    if units <= LONGEST {
        return Cow::Borrowed(text);
    }
    let word = format!(
        " … [cut: {} characters in the record]",
        text.chars().count()
    );
    let mut left = LONGEST - word.encode_utf16().count();
    let kept = text.chars().take_while(|c| {
        let fits = c.len_utf16() <= left;
        left = left.saturating_sub(c.len_utf16());
        fits
    });
    Cow::Owned(kept.collect::<String>() + &word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_that_does_not_fit_says_that_it_was_cut() {
        let fits = "x".repeat(LONGEST);
        assert_eq!(fitting(&fits), fits);
        for long in ["x".repeat(LONGEST + 1), "🔩".repeat(LONGEST / 2 + 1)] {
            let cut = fitting(&long);
            assert!(cut.encode_utf16().count() <= LONGEST);
            assert!(cut.encode_utf16().count() >= LONGEST - 1);
            let told = format!("[cut: {} characters in the record]", long.chars().count());
            assert!(cut.ends_with(&told), "{told}");
        }
        let in_bytes_only = "ü".repeat(20_000);
        assert_eq!(fitting(&in_bytes_only), in_bytes_only);
    }
}
