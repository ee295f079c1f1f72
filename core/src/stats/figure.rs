//! A figure, or why there is none.

use thiserror::Error;

/// A figure, or the reason why it cannot be had.
pub type Figure = Result<f64, Undefined>;

/// Why a figure cannot be had.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum Undefined {
    /// Too few readings, pieces or groups.
    #[error("needs {} at least, has {found}", counted(*.needed, .of))]
    TooFew {
        /// Of what, in the plural.
        of: &'static str,
        /// How many it takes.
        needed: usize,
        /// How many there are.
        found: usize,
    },
    /// More than the method was made for.
    #[error("is made for {} at most, has {found}", counted(*.most, .of))]
    TooMany {
        /// Of what, in the plural.
        of: &'static str,
        /// How many it can take.
        most: usize,
        /// How many there are.
        found: usize,
    },
    /// All readings are the same.
    #[error("no spread: spread is below the display step")]
    NoSpread,
    /// A reading is not a finite number, or beyond what a display shows.
    #[error("reading {} is not a number that a display shows", .at + 1)]
    NotAReading {
        /// Its index, counted from 0.
        at: usize,
    },
    /// A setting or a given number that makes no sense.
    #[error("{what} cannot be {found}")]
    Senseless {
        /// What it is.
        what: &'static str,
        /// What was given.
        found: f64,
    },
    /// Something that the model at hand leaves out.
    #[error("the model has no {what}")]
    NotInModel {
        /// What it leaves out.
        what: &'static str,
    },
    /// Two lists that belong together are of different lengths.
    #[error("{} of one stand against {second} of the other", counted(*.first, "readings"))]
    Unpaired {
        /// How many in the one.
        first: usize,
        /// How many in the other.
        second: usize,
    },
}

/// So many of something named in the plural: the noun is the last word, or the one before the first
/// word that says of what or where.
pub(crate) fn counted(number: usize, of: &str) -> String {
    if number != 1 {
        return format!("{number} {of}");
    }
    let further = [" of ", " in ", " with ", " at ", " on ", " more "];
    let end = further.iter().filter_map(|word| of.find(word)).min();
    let (noun, rest) = of.split_at(end.unwrap_or(of.len()));
    format!("1 {}{rest}", noun.strip_suffix('s').unwrap_or(noun))
}

impl Undefined {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Undefined::TooFew { .. } => "too-few",
            Undefined::TooMany { .. } => "too-many",
            Undefined::NoSpread => "no-spread",
            Undefined::NotAReading { .. } => "not-a-reading",
            Undefined::Senseless { .. } => "senseless",
            Undefined::NotInModel { .. } => "not-in-model",
            Undefined::Unpaired { .. } => "unpaired",
        }
    }

    /// So many readings where `needed` are necessary; passes when there are enough.
    pub(crate) fn unless_enough(
        of: &'static str,
        needed: usize,
        found: usize,
    ) -> Result<(), Undefined> {
        match found < needed {
            true => Err(Undefined::TooFew { of, needed, found }),
            false => Ok(()),
        }
    }

    /// Passes for a probability between 0 and 1, such as a confidence or a significance.
    pub(crate) fn unless_probability(what: &'static str, found: f64) -> Result<(), Undefined> {
        match found > 0.0 && found < 1.0 {
            true => Ok(()),
            false => Err(Undefined::Senseless { what, found }),
        }
    }
}

/// An interval that holds a figure with a stated confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// With which confidence, such as 0.95.
    pub confidence: f64,
}

impl Interval {
    /// The interval that reaches `reach` to either side.
    pub(crate) fn about(centre: f64, reach: f64, confidence: f64) -> Interval {
        Interval {
            low: centre - reach,
            high: centre + reach,
            confidence,
        }
    }

    /// Whether it holds a number, its ends included.
    pub fn holds(&self, number: f64) -> bool {
        number >= self.low && number <= self.high
    }
}
