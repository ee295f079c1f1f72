//! How cells look: one format for each kind of value.

use rust_xlsxwriter::{Format, FormatAlign, FormatBorder};

/// How a cell looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// A whole number.
    Whole,
    /// Text of this program.
    Text,
    /// Text that people or devices wrote: it stays text when somebody edits it.
    Quoted,
    /// Text over several lines.
    Wrapped,
    /// The same, of people.
    QuotedWrapped,
    /// A heading.
    Heading,
    /// Date and time to the millisecond.
    Moment,
    /// Date and time to the second.
    Second,
    /// A number with so many places.
    Places(u8),
}

/// More places than this no display has.
const MOST_PLACES: u8 = 20;
/// Looks without places.
const OTHERS: usize = 8;

impl Look {
    fn index(self) -> usize {
        match self {
            Look::Whole => 0,
            Look::Text => 1,
            Look::Quoted => 2,
            Look::Wrapped => 3,
            Look::QuotedWrapped => 4,
            Look::Heading => 5,
            Look::Moment => 6,
            Look::Second => 7,
            Look::Places(places) => OTHERS + usize::from(places.min(MOST_PLACES)),
        }
    }
}

/// The formats.
#[derive(Debug, Clone)]
pub struct Looks(Vec<Format>);

impl Looks {
    /// All of them.
    pub fn new() -> Looks {
        let text = || Format::new().set_num_format("@");
        let wrapped = || text().set_text_wrap().set_align(FormatAlign::Top);
        let mut all = vec![
            Format::new().set_num_format("0"),
            text(),
            text().set_quote_prefix(),
            wrapped(),
            wrapped().set_quote_prefix(),
            Format::new()
                .set_bold()
                .set_border_bottom(FormatBorder::Thin)
                .set_align(FormatAlign::Left),
            Format::new().set_num_format("yyyy-mm-dd hh:mm:ss.000"),
            Format::new().set_num_format("yyyy-mm-dd hh:mm:ss"),
        ];
        debug_assert_eq!(all.len(), OTHERS);
        for places in 0..=usize::from(MOST_PLACES) {
            let number = match places {
                0 => "0".to_owned(),
                _ => format!("0.{}", "0".repeat(places)),
            };
            all.push(Format::new().set_num_format(number));
        }
        Looks(all)
    }

    /// The same with everything at the left of its cell, for a column that tells of one thing after another.
    pub fn at_the_left(&self) -> Looks {
        let left = |format: &Format| format.clone().set_align(FormatAlign::Left);
        Looks(self.0.iter().map(left).collect())
    }

    /// The format of a look.
    pub fn of(&self, look: Look) -> &Format {
        &self.0[look.index()]
    }
}
