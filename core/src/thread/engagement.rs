//! Length of engagement: how much of the thread meets its nut.

use crate::decimal::Decimal;

/// A length of engagement as a designation states it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engagement {
    /// S, a short engagement.
    Short,
    /// N, a normal one; the same as saying nothing.
    Normal,
    /// L, a long engagement.
    Long,
    /// A length, in the unit of the designation.
    Length(Decimal),
}

impl Engagement {
    /// The group this letter stands for, in either case.
    ///
    /// ```
    /// use overwire_core::thread::Engagement;
    /// assert_eq!(Engagement::group("l"), Some(Engagement::Long));
    /// assert_eq!(Engagement::group("LH"), None);
    /// ```
    pub fn group(letter: &str) -> Option<Engagement> {
        match letter {
            "S" | "s" => Some(Engagement::Short),
            "N" | "n" => Some(Engagement::Normal),
            "L" | "l" => Some(Engagement::Long),
            _ => None,
        }
    }
}
