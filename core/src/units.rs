//! Lengths, angles and the lengths that must not be mixed up.
//!
//! Inside, a length is a number of millimetres and an angle a number of
//! radians; inch and degree exist only at the edges. Constructors refuse what
//! is not finite or not plausible, so a value of these types is always usable.
//! In this work the danger is the wrong length, not the wrong dimension: wire
//! diameter, pitch diameter and measurement over wires have types of their own.

use std::ops::{Add, Mul, Neg, Sub};

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Millimetres in one inch, exactly.
pub const MM_PER_INCH: f64 = 25.4;

/// The longest length accepted, in millimetres: ten metres.
pub const LONGEST_MM: f64 = 10_000.0;

/// The unit a length is typed or shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Unit {
    /// Millimetre, written `mm`.
    #[serde(rename = "mm")]
    Millimetre,
    /// Inch, written `in`.
    #[serde(rename = "in")]
    Inch,
}

impl Unit {
    /// The short text used in files and on displays: `mm` or `in`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Unit::Millimetre => "mm",
            Unit::Inch => "in",
        }
    }

    /// Reads `mm` or `in`, in any case.
    ///
    /// ```
    /// use overwire_core::units::Unit;
    /// assert_eq!(Unit::parse("MM"), Ok(Unit::Millimetre));
    /// assert!(Unit::parse("furlong").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<Unit, UnitError> {
        match text.trim().to_ascii_lowercase().as_str() {
            "mm" => Ok(Unit::Millimetre),
            "in" => Ok(Unit::Inch),
            _ => Err(UnitError::UnknownUnit {
                found: text.chars().take(20).collect(),
            }),
        }
    }

    /// Millimetres in one of this unit.
    pub const fn mm_per_unit(self) -> f64 {
        match self {
            Unit::Millimetre => 1.0,
            Unit::Inch => MM_PER_INCH,
        }
    }
}

impl std::fmt::Display for Unit {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(self.as_str())
    }
}

/// Why a length, an angle or a unit was refused.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum UnitError {
    /// The number is not a number, or infinite.
    #[error("expected a finite number, found {found}")]
    NotFinite {
        /// What was given.
        found: f64,
    },
    /// The length is longer than [`LONGEST_MM`].
    #[error("a length of {mm} mm is out of range; at most {LONGEST_MM} mm is accepted")]
    TooLong {
        /// The length that was given.
        mm: f64,
    },
    /// The angle lies outside one full turn.
    #[error("an angle of {degrees} degrees is out of range; at most 360 degrees is accepted")]
    TooWide {
        /// The angle that was given.
        degrees: f64,
    },
    /// The quantity must be above zero.
    #[error("{quantity} must be above 0, found {found}")]
    NotPositive {
        /// What the number stands for.
        quantity: &'static str,
        /// What was given.
        found: f64,
    },
    /// The text is not a unit.
    #[error("expected the unit `mm` or `in`, found `{found}`")]
    UnknownUnit {
        /// The beginning of what was given.
        found: String,
    },
}

impl UnitError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            UnitError::NotFinite { .. } => "not-finite",
            UnitError::TooLong { .. } => "too-long",
            UnitError::TooWide { .. } => "too-wide",
            UnitError::NotPositive { .. } => "not-positive",
            UnitError::UnknownUnit { .. } => "unknown-unit",
        }
    }
}

fn finite(number: f64) -> Result<f64, UnitError> {
    if number.is_finite() {
        Ok(number)
    } else {
        Err(UnitError::NotFinite { found: number })
    }
}

/// A length, held in millimetres. May be negative: differences are lengths too.
///
/// ```
/// use overwire_core::units::{Length, Unit};
/// let diameter = Length::from_inches(0.5)?;
/// assert_eq!(diameter.mm(), 12.7);
/// assert_eq!(diameter.to_text(Unit::Inch, 4), "0.5000 in");
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Length(f64);

impl Length {
    /// No length at all.
    pub const ZERO: Length = Length(0.0);

    /// A length of so many millimetres. Refuses what is not finite or longer than ten metres.
    pub fn from_mm(mm: f64) -> Result<Length, UnitError> {
        let mm = finite(mm)?;
        if mm.abs() > LONGEST_MM {
            return Err(UnitError::TooLong { mm });
        }
        Ok(Length(mm))
    }

    /// A length of so many inches, at exactly 25.4 mm each.
    pub fn from_inches(inches: f64) -> Result<Length, UnitError> {
        Length::from_unit(inches, Unit::Inch)
    }

    /// A length of so many of `unit`.
    pub fn from_unit(number: f64, unit: Unit) -> Result<Length, UnitError> {
        Length::from_mm(finite(number)? * unit.mm_per_unit())
    }

    /// A length this crate has computed and checked to be finite.
    pub(crate) const fn computed(mm: f64) -> Length {
        Length(mm)
    }

    /// In millimetres.
    pub const fn mm(self) -> f64 {
        self.0
    }

    /// In inches.
    pub fn inches(self) -> f64 {
        self.0 / MM_PER_INCH
    }

    /// In `unit`.
    pub fn in_unit(self, unit: Unit) -> f64 {
        self.0 / unit.mm_per_unit()
    }

    /// The length without its sign.
    pub const fn abs(self) -> Length {
        Length(self.0.abs())
    }

    /// Rounded to so many decimal places, with the unit: `0.5000 in`.
    pub fn to_text(self, unit: Unit, places: u8) -> String {
        let number = crate::decimal::format_to(self.in_unit(unit), places);
        format!("{number} {unit}")
    }
}

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length(-self.0)
    }
}

/// Scales a length. The factor must be finite.
impl Mul<f64> for Length {
    type Output = Length;
    fn mul(self, factor: f64) -> Length {
        debug_assert!(factor.is_finite(), "a length is scaled by a finite factor");
        Length(self.0 * factor)
    }
}

/// An angle, held in radians.
///
/// ```
/// use overwire_core::units::Angle;
/// let flank = Angle::from_degrees(30.0)?;
/// assert!((flank.sin() - 0.5).abs() < 1e-15);
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Angle(f64);

impl Angle {
    /// An angle of so many degrees, at most a full turn either way.
    pub fn from_degrees(degrees: f64) -> Result<Angle, UnitError> {
        Angle::checked(finite(degrees)?, degrees.to_radians())
    }

    /// An angle of so many radians, at most a full turn either way.
    pub fn from_radians(radians: f64) -> Result<Angle, UnitError> {
        Angle::checked(finite(radians)?.to_degrees(), radians)
    }

    fn checked(degrees: f64, radians: f64) -> Result<Angle, UnitError> {
        if degrees.abs() > 360.0 {
            return Err(UnitError::TooWide { degrees });
        }
        Ok(Angle(radians))
    }

    /// An angle this crate has computed from finite numbers.
    pub(crate) const fn computed(radians: f64) -> Angle {
        Angle(radians)
    }

    /// In degrees.
    pub const fn degrees(self) -> f64 {
        self.0.to_degrees()
    }

    /// In radians.
    pub const fn radians(self) -> f64 {
        self.0
    }

    /// Tangent.
    pub fn tan(self) -> f64 {
        self.0.tan()
    }

    /// Sine.
    pub fn sin(self) -> f64 {
        self.0.sin()
    }

    /// Cosine.
    pub fn cos(self) -> f64 {
        self.0.cos()
    }
}

fn positive(length: Length, quantity: &'static str) -> Result<Length, UnitError> {
    if length > Length::ZERO {
        Ok(length)
    } else {
        Err(UnitError::NotPositive {
            quantity,
            found: length.mm(),
        })
    }
}

/// The distance between neighbouring grooves along the axis: never the lead.
///
/// ```
/// use overwire_core::units::Pitch;
/// assert_eq!(Pitch::from_threads_per_inch(20.0)?.mm(), 1.27);
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Pitch(Length);

impl Pitch {
    /// From the distance itself.
    pub fn from_length(length: Length) -> Result<Pitch, UnitError> {
        Ok(Pitch(positive(length, "pitch")?))
    }

    /// From the number of grooves passed in one inch along the axis.
    pub fn from_threads_per_inch(threads_per_inch: f64) -> Result<Pitch, UnitError> {
        let count = finite(threads_per_inch)?;
        if count <= 0.0 {
            return Err(UnitError::NotPositive {
                quantity: "threads per inch",
                found: count,
            });
        }
        Pitch::from_length(Length::from_mm(MM_PER_INCH / count)?)
    }

    /// As a length.
    pub const fn length(self) -> Length {
        self.0
    }

    /// In millimetres.
    pub const fn mm(self) -> f64 {
        self.0.mm()
    }

    /// In inches.
    pub fn inches(self) -> f64 {
        self.0.inches()
    }

    /// In `unit`.
    pub fn in_unit(self, unit: Unit) -> f64 {
        self.0.in_unit(unit)
    }
}

/// The diameter of one measuring wire.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct WireDiameter(Length);

/// A reading over three wires.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct OverWires(Length);

/// A pitch diameter.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct PitchDiameter(Length);

macro_rules! length_role {
    ($role:ident, $quantity:literal) => {
        impl $role {
            #[doc = concat!("A ", $quantity, " of this length, which must be above zero.")]
            pub fn new(length: Length) -> Result<$role, UnitError> {
                Ok($role(positive(length, $quantity)?))
            }

            /// As a plain length.
            pub const fn length(self) -> Length {
                self.0
            }

            /// In millimetres.
            pub const fn mm(self) -> f64 {
                self.0.mm()
            }

            /// In inches.
            pub fn inches(self) -> f64 {
                self.0.inches()
            }

            /// In `unit`.
            pub fn in_unit(self, unit: Unit) -> f64 {
                self.0.in_unit(unit)
            }
        }

        impl From<$role> for Length {
            fn from(role: $role) -> Length {
                role.0
            }
        }
    };
}

length_role!(WireDiameter, "wire diameter");
length_role!(OverWires, "measurement over wires");
length_role!(PitchDiameter, "pitch diameter");
