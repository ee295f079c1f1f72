//! Where on the thread a reading was taken, as a person writes it.
//!
//! ```text
//! position = part { "," part }            at most one of each kind, in any order
//! part     = place | distance | angle
//! place    = words                        near shoulder, free end, middle
//! distance = [ "at" ] number ( "mm" | "in" )
//! angle    = number ( "deg" | "degrees" | "°" )    0 up to, not including, 360
//! ```
//!
//! Upper and lower case and the number of spaces do not matter. A place begins with a letter and
//! is written with letters, digits and `-`, `/`, `.`, `'`. A place and a distance exclude
//! each other: both say where along the axis. A distance is counted from any point, as long as
//! it is the same for all readings of a piece.

use std::fmt;

use crate::decimal::Decimal;
use crate::units::{Length, Unit};

/// The longest text read.
const MOST_CHARACTERS: usize = 80;

/// A position on a thread.
///
/// ```
/// use overwire_core::form::Position;
/// let position = Position::parse("Near  shoulder, 90 deg")?;
/// assert_eq!(position.to_string(), "near shoulder, 90 deg");
/// assert_eq!(Position::parse("12.5 mm, 0°")?.to_string(), "at 12.5 mm, 0 deg");
/// assert_eq!(Position::parse("90 deg, 0 deg").unwrap_err().at, 8);
/// # Ok::<(), overwire_core::form::PositionError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Position {
    along: Option<Along>,
    angle: Option<Decimal>,
    angle_deg: Option<f64>,
}

#[derive(Debug, Clone, PartialEq)]
enum Along {
    Place(String),
    Distance {
        shown: Decimal,
        unit: Unit,
        length: Length,
    },
}

/// Why a position was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected {expected}, found `{found}` at character {}", .at + 1)]
pub struct PositionError {
    /// Index of the character where it stopped, counted from 0.
    pub at: usize,
    /// What was found there.
    pub found: String,
    /// What was expected instead.
    pub expected: &'static str,
}

impl PositionError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "position-not-understood"
    }
}

impl Position {
    /// Reads a position.
    ///
    /// # Errors
    /// A [`PositionError`] that names the character where it stopped and what was expected.
    pub fn parse(text: &str) -> Result<Position, PositionError> {
        let mut position = Position {
            along: None,
            angle: None,
            angle_deg: None,
        };
        if text.chars().count() > MOST_CHARACTERS {
            let rest: String = text.chars().skip(MOST_CHARACTERS).collect();
            return Err(error(MOST_CHARACTERS, &rest, "at most 80 characters"));
        }
        let mut at = 0;
        for part in text.split(',') {
            let lead = part.chars().take_while(|c| c.is_whitespace()).count();
            position.add(part.trim(), at + lead)?;
            at += part.chars().count() + 1;
        }
        Ok(position)
    }

    /// The place along the axis in words, or as a distance; `None` when it was not said.
    pub fn place_text(&self) -> Option<String> {
        Some(match self.along.as_ref()? {
            Along::Place(place) => place.clone(),
            Along::Distance { shown, unit, .. } => format!("at {shown} {unit}"),
        })
    }

    /// The distance along the axis, when it was given as one.
    pub fn distance(&self) -> Option<Length> {
        match self.along.as_ref()? {
            Along::Place(_) => None,
            Along::Distance { length, .. } => Some(*length),
        }
    }

    /// The angle in degrees, 0 up to 360; `None` when it was not said.
    pub const fn angle_deg(&self) -> Option<f64> {
        self.angle_deg
    }

    /// The same position with the angle below 180 degrees: opposed anvils see one diameter at an
    /// angle and half a turn further.
    pub(super) fn folded(&self) -> Position {
        let angle_deg = self.angle_deg.map(|angle| match angle >= 180.0 {
            true => angle - 180.0,
            false => angle,
        });
        Position {
            along: self.along.clone(),
            // What was shown no longer holds; the number does.
            angle: None,
            angle_deg,
        }
    }

    pub(super) fn is_same_place(&self, other: &Position) -> bool {
        match (&self.along, &other.along) {
            (
                Some(Along::Distance { length: one, .. }),
                Some(Along::Distance { length: two, .. }),
            ) => (*one - *two).abs() <= crate::judge::FLOAT_NOISE,
            (one, other) => one == other,
        }
    }

    /// One place and one angle, however they were written.
    pub(super) fn is_same_spot(&self, other: &Position) -> bool {
        let same_angle = match (self.angle_deg, other.angle_deg) {
            (Some(one), Some(other)) => (one - other).abs() < 1e-6,
            (None, None) => true,
            _ => false,
        };
        same_angle && self.is_same_place(other)
    }

    fn add(&mut self, part: &str, at: usize) -> Result<(), PositionError> {
        let words: Vec<String> = part.split_whitespace().map(str::to_lowercase).collect();
        let joined = words.join(" ");
        let measured = joined.strip_prefix("at ").unwrap_or(&joined);
        if measured.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-')) {
            return self.add_number(measured, part, at);
        }
        let written = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '/' | '.' | '\'');
        if joined.is_empty() {
            return Err(error(at, part, "a place, a distance or an angle"));
        }
        if let Some(wrong) = part.chars().position(|c| !written(c) && !c.is_whitespace()) {
            let rest: String = part.chars().skip(wrong).collect();
            return Err(error(at + wrong, &rest, "letters or digits"));
        }
        self.set_along(Along::Place(joined), part, at)
    }

    fn add_number(&mut self, measured: &str, part: &str, at: usize) -> Result<(), PositionError> {
        let end = measured
            .find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '+' | '-'))
            .unwrap_or(measured.len());
        let (number, word) = measured.split_at(end);
        let number = Decimal::parse(number).map_err(|_| error(at, part, "a number"))?;
        match word.trim() {
            "deg" | "degrees" | "°" => self.set_angle(number, part, at),
            "mm" => self.set_distance(number, Unit::Millimetre, part, at),
            "in" => self.set_distance(number, Unit::Inch, part, at),
            _ => Err(error(at, part, "`deg`, `mm` or `in` after the number")),
        }
    }

    fn set_angle(&mut self, number: Decimal, part: &str, at: usize) -> Result<(), PositionError> {
        let degrees = number.value();
        if !(0.0..360.0).contains(&degrees) {
            return Err(error(at, part, "an angle from 0 to below 360"));
        }
        if self.angle_deg.is_some() {
            return Err(error(at, part, "one angle only"));
        }
        self.angle = Some(number);
        self.angle_deg = Some(degrees);
        Ok(())
    }

    fn set_distance(
        &mut self,
        shown: Decimal,
        unit: Unit,
        part: &str,
        at: usize,
    ) -> Result<(), PositionError> {
        let length = shown
            .length(unit)
            .map_err(|_| error(at, part, "a distance of at most ten metres"))?;
        let along = Along::Distance {
            shown,
            unit,
            length,
        };
        self.set_along(along, part, at)
    }

    fn set_along(&mut self, along: Along, part: &str, at: usize) -> Result<(), PositionError> {
        if self.along.is_some() {
            return Err(error(at, part, "one place or distance only"));
        }
        self.along = Some(along);
        Ok(())
    }
}

fn error(at: usize, found: &str, expected: &'static str) -> PositionError {
    PositionError {
        at,
        found: found.chars().take(20).collect(),
        expected,
    }
}

impl fmt::Display for Position {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = self.place_text();
        let angle = match (self.angle, self.angle_deg) {
            (Some(shown), _) => Some(format!("{shown} deg")),
            (None, Some(degrees)) => Some(format!("{degrees} deg")),
            (None, None) => None,
        };
        let parts: Vec<String> = place.into_iter().chain(angle).collect();
        formatter.write_str(&parts.join(", "))
    }
}
