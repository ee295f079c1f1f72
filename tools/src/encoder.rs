//! How a simulated instrument speaks: one frame a value, one line a frame.
//!
//! The shapes have the names of the shipped profiles, but nothing of the program's decoder is used:
//! each is written out from the profile's own words.

use crate::display::Shown;
use overwire_core::units::Unit;

/// The shape of a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Shape {
    /// `1.07930`
    DecimalLine,
    /// `1.07930 in`
    DecimalUnitLine,
    /// `A1: 1.07930 in`
    ChannelDecimalLine,
    /// IEEE 488.2 NR2, a fixed-point number with its sign: `+1.07930`
    Nr2Line,
    /// IEEE 488.2 NR1, the whole number of display counts with its sign: `+107930`
    Nr1Line,
}

/// What ends a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum LineEnd {
    /// Carriage return and line feed.
    Crlf,
    /// Line feed.
    Lf,
    /// Carriage return.
    Cr,
}

impl LineEnd {
    /// Its bytes.
    pub fn bytes(self) -> &'static [u8] {
        match self {
            LineEnd::Crlf => b"\r\n",
            LineEnd::Lf => b"\n",
            LineEnd::Cr => b"\r",
        }
    }
}

/// Turns shown values into frames.
#[derive(Debug, Clone)]
pub struct Encoder {
    /// The shape of a frame.
    pub shape: Shape,
    /// What ends it.
    pub end: LineEnd,
    /// The mark before the number, for [`Shape::ChannelDecimalLine`].
    pub channel: String,
}

impl Encoder {
    /// The bytes that the instrument sends for a value.
    pub fn frame(&self, shown: &Shown) -> Vec<u8> {
        let mut frame = self.text(shown).into_bytes();
        frame.extend_from_slice(self.end.bytes());
        frame
    }

    fn text(&self, shown: &Shown) -> String {
        let number = shown.text();
        let unit = unit_mark(shown.unit);
        let plus = if shown.counts < 0 { "" } else { "+" };
        match self.shape {
            Shape::DecimalLine => number,
            Shape::DecimalUnitLine => format!("{number} {unit}"),
            Shape::ChannelDecimalLine => format!("{}: {number} {unit}", self.channel),
            Shape::Nr2Line => format!("{plus}{number}"),
            Shape::Nr1Line => format!("{plus}{}", shown.counts),
        }
    }
}

fn unit_mark(unit: Unit) -> &'static str {
    match unit {
        Unit::Millimetre => "mm",
        Unit::Inch => "in",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(shape: Shape, end: LineEnd, counts: i64) -> String {
        let shown = Shown {
            counts,
            places: 5,
            unit: Unit::Inch,
        };
        let bytes = Encoder {
            shape,
            end,
            channel: "A1".to_owned(),
        }
        .frame(&shown);
        String::from_utf8(bytes).unwrap()
    }

    // NR1 and NR2 are IEEE 488.2's forms of a decimal number (from memory): an optional sign and
    // digits; an optional sign, digits, an explicit point, digits.
    #[test]
    fn each_shape_is_written_out() {
        let crlf = |shape| frame(shape, LineEnd::Crlf, 107_930);
        assert_eq!(crlf(Shape::DecimalLine), "1.07930\r\n");
        assert_eq!(crlf(Shape::DecimalUnitLine), "1.07930 in\r\n");
        assert_eq!(crlf(Shape::ChannelDecimalLine), "A1: 1.07930 in\r\n");
        assert_eq!(crlf(Shape::Nr2Line), "+1.07930\r\n");
        assert_eq!(crlf(Shape::Nr1Line), "+107930\r\n");
    }

    #[test]
    fn signs_and_line_ends() {
        assert_eq!(frame(Shape::DecimalLine, LineEnd::Lf, -45), "-0.00045\n");
        assert_eq!(frame(Shape::Nr2Line, LineEnd::Cr, -45), "-0.00045\r");
        assert_eq!(frame(Shape::Nr1Line, LineEnd::Cr, -45), "-45\r");
    }
}
