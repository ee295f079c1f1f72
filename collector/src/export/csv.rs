//! Cells as lines of a CSV, in one of its dialects.

use super::value::Value;
use crate::clock::Civil;

/// How the lines are written. Each is whole in itself: a separator never goes with the other's decimal mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum Dialect {
    /// RFC 4180: comma, decimal point, UTF-8 without a byte-order mark
    #[default]
    Exchange,
    /// For a spreadsheet that writes 0.5: comma, decimal point, byte-order mark
    Point,
    /// For a spreadsheet that writes 0,5: semicolon, decimal comma, byte-order mark
    Comma,
    /// Tabs, decimal point, no byte-order mark
    Tab,
}

impl Dialect {
    /// What parts the cells.
    pub const fn separator(self) -> char {
        match self {
            Dialect::Exchange | Dialect::Point => ',',
            Dialect::Comma => ';',
            Dialect::Tab => '\t',
        }
    }

    /// The decimal mark.
    pub const fn decimal_mark(self) -> char {
        match self {
            Dialect::Comma => ',',
            Dialect::Exchange | Dialect::Point | Dialect::Tab => '.',
        }
    }

    /// Whether a byte-order mark goes before it, if nobody says otherwise.
    pub const fn has_mark(self) -> bool {
        matches!(self, Dialect::Point | Dialect::Comma)
    }

    /// How its files end.
    pub const fn ending(self) -> &'static str {
        match self {
            Dialect::Tab => "tsv",
            Dialect::Exchange | Dialect::Point | Dialect::Comma => "csv",
        }
    }

    /// Its media type.
    pub const fn media_type(self) -> &'static str {
        match self {
            Dialect::Tab => "text/tab-separated-values; charset=utf-8; header=present",
            _ => "text/csv; charset=utf-8; header=present",
        }
    }
}

/// The byte-order mark of UTF-8.
pub const MARK: &str = "\u{FEFF}";

/// Writes lines of cells.
#[derive(Debug, Default)]
pub struct Lines {
    dialect: Dialect,
    civil: Civil,
}

impl Lines {
    /// In a dialect.
    pub fn new(dialect: Dialect) -> Lines {
        Lines {
            dialect,
            civil: Civil::default(),
        }
    }

    /// Writes a line with its end.
    pub fn line<'v>(&mut self, cells: impl IntoIterator<Item = Value<'v>>, line: &mut String) {
        for (index, cell) in cells.into_iter().enumerate() {
            if index > 0 {
                line.push(self.dialect.separator());
            }
            self.cell(&cell, line);
        }
        line.push_str("\r\n");
    }

    fn cell(&mut self, cell: &Value<'_>, line: &mut String) {
        let from = line.len();
        cell.write(line, &mut self.civil, true);
        let mark = self.dialect.decimal_mark();
        if mark != '.' && cell.is_decimal() {
            let written = line[from..].replace('.', mark.encode_utf8(&mut [0; 4]));
            line.truncate(from);
            line.push_str(&written);
        }
        if matches!(cell, Value::Free(_) | Value::Raw(_) | Value::Code(_)) {
            self.quote(line, from);
        }
    }

    /// Puts quotes around the cell that begins at a place, where it needs them.
    fn quote(&self, line: &mut String, from: usize) {
        let separator = self.dialect.separator() as u8;
        let risky = |byte: u8| byte == separator || matches!(byte, b'"' | b'\r' | b'\n');
        if !line.as_bytes()[from..].iter().copied().any(risky) {
            return;
        }
        let cell = line[from..].replace('"', "\"\"");
        line.truncate(from);
        line.push('"');
        line.push_str(&cell);
        line.push('"');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(dialect: Dialect, cells: Vec<Value<'_>>) -> String {
        let mut line = String::new();
        Lines::new(dialect).line(cells, &mut line);
        line
    }

    #[test]
    fn decimal_marks_are_the_dialect_s_and_texts_keep_theirs() {
        let cells = || {
            vec![
                Value::Number(-0.0012, 4),
                Value::Decimal("+1.0730".into()),
                Value::Free("4.40;a,b\tc".into()),
                Value::Code("1.5".into()),
                Value::Whole(7),
            ]
        };
        assert_eq!(
            line(Dialect::Exchange, cells()),
            "-0.0012,+1.0730,\"4.40;a,b\tc\",1.5,7\r\n"
        );
        assert_eq!(
            line(Dialect::Comma, cells()),
            "-0,0012;+1,0730;\"4.40;a,b\tc\";1.5;7\r\n"
        );
        assert_eq!(
            line(Dialect::Tab, cells()),
            "-0.0012\t+1.0730\t\"4.40;a,b\tc\"\t1.5\t7\r\n"
        );
    }

    #[test]
    fn quotes_are_doubled_and_line_ends_kept() {
        let cells = vec![Value::Free("say \"1/2\"\nthen".into()), Value::Empty];
        assert_eq!(
            line(Dialect::Exchange, cells),
            "\"say \"\"1/2\"\"\nthen\",\r\n"
        );
    }
}
