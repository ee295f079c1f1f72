//! Pitch diameter limits before and after plating.
//!
//! # How a coat moves the pitch diameter
//!
//! A coat of thickness t lies on the flank, square to it. Seen along the axis, a flank
//! `z = h θ + r tan a` moves by `t sqrt(1 + tan² a + tan² L)`, with L the lead angle, because that
//! is how much longer the step along the axis is than the step along the normal. Both flanks of a
//! groove move towards each other, so the groove narrows by the sum; and since it widens outward by
//! `tan a1 + tan a2` for one unit of radius, the cylinder on which it is half a pitch wide moves out:
//!
//! ```text
//!   growth of d2 = 2 t [ sqrt(1 + tan² a1 + tan² L) + sqrt(1 + tan² a2 + tan² L) ] / (tan a1 + tan a2)
//! ```
//!
//! Without lead this is `2 t (cos a1 + cos a2) / sin(a1 + a2)`, and with equal flanks `2 t / sin a`:
//! four times the thickness on a 60-degree thread, as every handbook has it. Exact to the first
//! order in t, and t is small. The form for unequal flanks was derived here.
//!
//! # Which limits are whose
//!
//! A coat varies. So that every coat within its range ends inside the limits after plating, the
//! maximum before is lowered by the growth of the thickest coat, the minimum by that of the thinnest.
//! What is left between them shrinks by the difference; where nothing is left, no limits before
//! plating can promise the limits after, and that is said instead.

use crate::thread::{Geometry, Limits, Thread};
use crate::units::{Length, Unit};

/// The thinnest and the thickest coat, each measured square to the surface.
///
/// ```
/// use overwire_core::plating::Plating;
/// use overwire_core::units::Length;
/// let mm = Length::from_mm;
/// assert!(Plating::checked(mm(0.005)?, mm(0.008)?).is_ok());
/// let wrong = Plating::checked(mm(0.008)?, mm(0.005)?).unwrap_err();
/// assert_eq!(wrong.code(), "thickness-out-of-order");
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plating {
    thinnest: Length,
    thickest: Length,
}

/// Why there are no such limits.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlatingError {
    /// The range of thickness.
    #[error(
        "the thickness must run from 0 or more up to a larger or equal one of at most 1 mm, found \
         {thinnest_mm} to {thickest_mm} mm"
    )]
    ThicknessOutOfOrder {
        /// Thinnest as given.
        thinnest_mm: f64,
        /// Thickest as given.
        thickest_mm: f64,
    },
    /// The coat varies by more than the tolerance has room for.
    #[error(
        "the coat varies by {varies_mm:.4} mm on pitch diameter and the tolerance is only \
         {tolerance_mm:.4} mm: no size before plating can promise the limits after it"
    )]
    EatsTheTolerance {
        /// What the range of thickness does to the pitch diameter.
        varies_mm: f64,
        /// Maximum minus minimum after plating.
        tolerance_mm: f64,
    },
    /// The coat is thicker than the thread.
    #[error("a coat that grows the pitch diameter by {growth_mm:.4} mm leaves no thread under it")]
    NothingUnderIt {
        /// Growth by the thickest coat.
        growth_mm: f64,
    },
    /// The thread has no limits.
    #[error("expected pitch diameter limits, found none")]
    NoLimits,
}

impl PlatingError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            PlatingError::ThicknessOutOfOrder { .. } => "thickness-out-of-order",
            PlatingError::EatsTheTolerance { .. } => "eats-the-tolerance",
            PlatingError::NothingUnderIt { .. } => "nothing-under-it",
            PlatingError::NoLimits => "no-limits",
        }
    }
}

/// Limits on the other side of the plating bath, and how they came about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlatedLimits {
    /// Before plating.
    pub before: Limits,
    /// After plating.
    pub after: Limits,
    /// The range of the coat.
    pub plating: Plating,
    /// What the pitch diameter grows by for one unit of thickness: about 4 at 60 degrees.
    pub growth_factor: f64,
}

/// What the pitch diameter grows by for one unit of thickness, lead included.
///
/// ```
/// use overwire_core::{plating::growth_factor, thread::designation};
/// let thread = designation::parse("M10x1.5-6g")?;
/// let factor = growth_factor(&thread.geometry, thread.basic_pitch_diameter);
/// assert!(factor > 4.0 && factor < 4.01);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn growth_factor(geometry: &Geometry, pitch_diameter: Length) -> f64 {
    let lead = geometry.lead_angle_at(pitch_diameter).tan();
    let slopes = [geometry.flanks.leading, geometry.flanks.trailing].map(|flank| flank.tan());
    let step = |slope: f64| (1.0 + slope * slope + lead * lead).sqrt();
    2.0 * (step(slopes[0]) + step(slopes[1])) / (slopes[0] + slopes[1])
}

/// The thickest coat that keeps the largest thread within `largest_after` (for a metric thread the
/// basic pitch diameter: position h); zero when there is no room at all.
pub fn thickest_coat(geometry: &Geometry, limits: &Limits, largest_after: Length) -> Length {
    let room = largest_after - limits.pitch_diameter_max;
    let factor = growth_factor(geometry, limits.pitch_diameter_max);
    match room > Length::ZERO {
        true => room * (1.0 / factor),
        false => Length::ZERO,
    }
}

impl Plating {
    /// A range of thickness.
    ///
    /// # Errors
    /// A thickness below zero or above 1 mm, or a thinnest above the thickest.
    pub fn checked(thinnest: Length, thickest: Length) -> Result<Plating, PlatingError> {
        if thinnest >= Length::ZERO && thinnest <= thickest && thickest.mm() <= 1.0 {
            return Ok(Plating { thinnest, thickest });
        }
        Err(PlatingError::ThicknessOutOfOrder {
            thinnest_mm: thinnest.mm(),
            thickest_mm: thickest.mm(),
        })
    }

    /// The thinnest and the thickest coat.
    pub const fn range(&self) -> (Length, Length) {
        (self.thinnest, self.thickest)
    }

    /// The limits before plating that keep the thread's own limits after it.
    ///
    /// # Errors
    /// No limits, or a coat that varies by more than they leave room for.
    pub fn before(&self, thread: &Thread) -> Result<PlatedLimits, PlatingError> {
        let after = thread.limits.ok_or(PlatingError::NoLimits)?;
        let factor = growth_factor(&thread.geometry, after.middle());
        let before = self.lowered(&after, factor)?;
        Ok(PlatedLimits {
            before,
            after,
            plating: *self,
            growth_factor: factor,
        })
    }

    /// The limits after plating that threads within their own limits before it will keep.
    ///
    /// # Errors
    /// No limits to start from.
    pub fn after(&self, thread: &Thread) -> Result<PlatedLimits, PlatingError> {
        let before = thread.limits.ok_or(PlatingError::NoLimits)?;
        let factor = growth_factor(&thread.geometry, before.middle());
        let after = Limits {
            pitch_diameter_min: before.pitch_diameter_min + self.thinnest * factor,
            pitch_diameter_max: before.pitch_diameter_max + self.thickest * factor,
        };
        Ok(PlatedLimits {
            before,
            after,
            plating: *self,
            growth_factor: factor,
        })
    }

    fn lowered(&self, after: &Limits, factor: f64) -> Result<Limits, PlatingError> {
        let (thin, thick) = (self.thinnest * factor, self.thickest * factor);
        let minimum = after.pitch_diameter_min - thin;
        let maximum = after.pitch_diameter_max - thick;
        if maximum <= Length::ZERO || minimum <= Length::ZERO {
            return Err(PlatingError::NothingUnderIt {
                growth_mm: thick.mm(),
            });
        }
        Limits::checked(minimum, maximum).map_err(|_| PlatingError::EatsTheTolerance {
            varies_mm: (thick - thin).mm(),
            tolerance_mm: after.tolerance().mm(),
        })
    }
}

impl PlatedLimits {
    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: Length| length.to_text(unit, places);
        let (thinnest, thickest) = self.plating.range();
        let fine = places.saturating_add(1);
        format!(
            "Before plating {} to {}, after it {} to {}: a coat of {} to {} on the surface grows \
             the pitch diameter by {:.2} times as much.",
            text(self.before.pitch_diameter_min),
            text(self.before.pitch_diameter_max),
            text(self.after.pitch_diameter_min),
            text(self.after.pitch_diameter_max),
            thinnest.to_text(unit, fine),
            thickest.to_text(unit, fine),
            self.growth_factor
        )
    }
}
