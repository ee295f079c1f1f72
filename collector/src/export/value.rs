//! One cell of an export: what it is, before it is written one way or another.

use std::borrow::Cow;
use std::fmt::Write as _;

use overwire_core::decimal::write_to;

use super::guard::guarded;
use crate::clock::{Civil, offset};
use crate::record::chain;

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Value<'a> {
    /// Nothing.
    Empty,
    /// A word of this program's own.
    Code(Cow<'a, str>),
    /// Text that people or devices wrote.
    Free(Cow<'a, str>),
    /// A whole number.
    Whole(i64),
    /// Yes or no.
    Flag(bool),
    /// A number, rounded to so many places.
    Number(f64, u8),
    /// A number as it was shown or typed, its places kept.
    Decimal(Cow<'a, str>),
    /// A moment: microseconds since 1970, the shop's offset from UTC then in seconds.
    Moment(i64, i32),
    /// The shop's civil time of that moment.
    Local(i64, i32),
    /// The shop's offset from UTC in seconds.
    Offset(i32),
    /// A UUID.
    Id(&'a [u8]),
    /// Bytes from a device.
    Raw(&'a [u8]),
    /// A hash.
    Hash(&'a [u8]),
}

impl Value<'_> {
    /// A number where there is one.
    pub fn number(number: Option<f64>, places: u8) -> Self {
        number.map_or(Value::Empty, |number| Value::Number(number, places))
    }

    /// Writes it as text: decimals with a point, moments as ISO 8601 with offset, free text guarded against being
    /// run as a formula where that is asked for.
    pub fn write(&self, text: &mut String, civil: &mut Civil, guard: bool) {
        match self {
            Value::Empty => {}
            Value::Code(word) | Value::Decimal(word) => text.push_str(word),
            Value::Free(free) if guard => text.push_str(&guarded(free)),
            Value::Free(free) => text.push_str(free),
            // Writing to a String cannot fail.
            Value::Whole(number) => text.push_str(itoa::Buffer::new().format(*number)),
            Value::Flag(flag) => text.push(if *flag { '1' } else { '0' }),
            Value::Number(number, places) => write_to(text, *number, *places),
            Value::Moment(wall_us, offset_s) => civil.iso(text, *wall_us, *offset_s),
            Value::Local(wall_us, offset_s) => civil.plain(text, *wall_us, *offset_s),
            Value::Offset(offset_s) => {
                // With a word before it: a spreadsheet would take a bare `+01:00` for a sum.
                text.push_str("UTC");
                offset(text, *offset_s);
            }
            Value::Id(bytes) => {
                if let Ok(id) = uuid::Uuid::from_slice(bytes) {
                    let mut space = uuid::Uuid::encode_buffer();
                    text.push_str(id.hyphenated().encode_lower(&mut space));
                }
            }
            Value::Raw(bytes) if guard => text.push_str(&guarded(&printable(bytes))),
            Value::Raw(bytes) => text.push_str(&printable(bytes)),
            Value::Hash(bytes) => text.push_str(&chain::hex(bytes)),
        }
    }

    /// As text without a guard, for programs that take text as text.
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        self.write(&mut text, &mut Civil::default(), false);
        text
    }

    /// Whether it holds a number with a decimal mark.
    pub fn is_decimal(&self) -> bool {
        matches!(self, Value::Number(..) | Value::Decimal(_))
    }
}

/// Bytes as text: what does not print is written as `\xNN`, a backslash doubled.
fn printable(bytes: &[u8]) -> Cow<'_, str> {
    if let Ok(text) = std::str::from_utf8(bytes)
        && bytes
            .iter()
            .all(|byte| matches!(byte, 0x20..=0x7E if *byte != b'\\'))
    {
        return Cow::Borrowed(text);
    }
    let mut text = String::with_capacity(bytes.len());
    for byte in bytes {
        match byte {
            b'\\' => text.push_str("\\\\"),
            0x20..=0x7E => text.push(char::from(*byte)),
            _ => {
                let _ = write!(text, "\\x{byte:02x}");
            }
        }
    }
    Cow::Owned(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_that_do_not_print_are_written_out() {
        assert_eq!(printable(b"+0.5\\\x00"), r"+0.5\\\x00");
        assert_eq!(printable(b"+0.5"), "+0.5");
    }

    #[test]
    fn numbers_are_never_guarded_and_free_text_is() {
        let write = |value: Value<'_>, guard| {
            let mut text = String::new();
            value.write(&mut text, &mut Civil::default(), guard);
            text
        };
        assert_eq!(write(Value::Number(-0.0012, 4), true), "-0.0012");
        assert_eq!(write(Value::Free("=1+1".into()), true), "'=1+1");
        assert_eq!(write(Value::Free("=1+1".into()), false), "=1+1");
        assert_eq!(write(Value::Raw(b"-0.5"), true), "'-0.5");
        assert_eq!(write(Value::Offset(-12_600), true), "UTC-03:30");
    }
}
