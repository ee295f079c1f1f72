//! Whether wires suit a thread, why, and by how much.
//!
//! [`crate::seat`] says how wires sit at one reading and which sizes could be used. Here
//! every condition is weighed over the whole zone of pitch diameters and given with its amount, and
//! a crest that is worn, chamfered or rounded, or a flank that ends early, may be stated:
//!
//! | condition | worst where the thread is |
//! | --- | --- |
//! | the wire stands proud of the crest | smallest |
//! | it touches below the upper end of the straight flank | largest |
//! | it touches above the lower end of the straight flank | smallest |
//! | it stays clear of the root | smallest |
//! | the pair stay clear of each other | smallest |
//!
//! Off the best size the reading depends on the flank angles: [`Suitability::for_one_degree`].

mod usual;
mod words;

use crate::bisection::rising_zero;
use crate::helix::{self, HelixError};
use crate::seat::{self, WireRange};
use crate::thread::Geometry;
use crate::uncertainty::Sensitivities;
use crate::units::Length;
use crate::wires::Wires;

pub use usual::{BoxConstants, UsualFormulas, box_constants, usual_formulas};

/// How far the thread's profile reaches. What is not known is not checked.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Profile {
    /// The largest major diameter: what the wires must stand proud of.
    pub crest: Option<Length>,
    /// Where the straight flank ends outward: the crest's edge when that is sharp, less when
    /// it is worn, chamfered or rounded.
    pub flank_top: Option<Length>,
    /// Where the straight flank ends inward.
    pub flank_bottom: Option<Length>,
    /// The bottom of the groove.
    pub root: Option<Length>,
}

impl Profile {
    /// A profile with sharp crest edges and flanks down to the root.
    pub const fn sharp(geometry: &Geometry) -> Profile {
        Profile {
            crest: geometry.major_diameter,
            flank_top: geometry.major_diameter,
            flank_bottom: geometry.root_diameter,
            root: geometry.root_diameter,
        }
    }

    /// The same with its crest worn or turned down to this diameter everywhere.
    pub const fn with_worn_crest(self, crest: Length) -> Profile {
        Profile {
            crest: Some(crest),
            flank_top: Some(crest),
            ..self
        }
    }

    /// The same with the straight flank ending at this diameter, below the crest.
    pub const fn with_flank_top(self, flank_top: Length) -> Profile {
        Profile {
            flank_top: Some(flank_top),
            ..self
        }
    }
}

/// A condition wires must meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Condition {
    /// The reading is above the crest.
    ProudOfCrest,
    /// The contact lies below the upper end of the straight flank.
    BelowFlankTop,
    /// The contact lies above the lower end of the straight flank.
    AboveFlankBottom,
    /// The wire does not reach the root.
    ClearOfRoot,
    /// The wires of the pair do not touch.
    ClearOfNeighbour,
}

/// A condition, weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// Which condition.
    pub condition: Condition,
    /// By how much it is met, on diameter (for neighbours: along the axis); negative when it is not.
    pub margin: Length,
    /// The pitch diameter at which it was weighed: the worst of the zone.
    pub at: Length,
}

impl Check {
    /// Whether the condition is met. Just flush is not.
    pub fn is_met(&self) -> bool {
        self.margin > Length::ZERO
    }
}

/// How well wires suit a thread.
#[derive(Debug, Clone, PartialEq)]
pub struct Suitability {
    /// Every condition that could be weighed.
    pub checks: Vec<Check>,
    /// The sizes that could be used, with this profile.
    pub range: WireRange,
    /// The mean wire less the best size, lead included.
    pub off_best: Length,
    /// What an error of one degree of both flank angles does to the pitch diameter.
    pub for_one_degree: Length,
}

impl Suitability {
    /// Whether every condition is met.
    pub fn is_suitable(&self) -> bool {
        self.checks.iter().all(Check::is_met)
    }

    /// The conditions that are not met.
    pub fn failures(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| !check.is_met())
    }

    /// The check of this condition; `None` when it could not be weighed.
    pub fn check(&self, condition: Condition) -> Option<&Check> {
        self.checks
            .iter()
            .find(|check| check.condition == condition)
    }
}

/// Weighs wires on a thread whose pitch diameter lies between these two.
///
/// # Errors
/// [`HelixError`] when the wires have no seat at either end.
///
/// ```
/// use overwire_core::suitability::{Condition, Profile, suitability};
/// use overwire_core::{thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("1/2-13 UNC-2A")?;
/// let (smallest, largest) = thread.pitch_diameter_zone();
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.050)?)?);
/// let profile = Profile::sharp(&thread.geometry);
/// let found = suitability(&thread.geometry, &profile, &wires, smallest, largest)?;
/// assert!(found.is_suitable());
/// let worn = profile.with_worn_crest(Length::from_inches(0.455)?);
/// let found = suitability(&thread.geometry, &worn, &wires, smallest, largest)?;
/// assert!(found.failures().any(|check| check.condition == Condition::BelowFlankTop));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn suitability(
    geometry: &Geometry,
    profile: &Profile,
    wires: &Wires,
    smallest: Length,
    largest: Length,
) -> Result<Suitability, HelixError> {
    let range = range(geometry, profile, smallest, largest);
    let middle = helix::over_wires(geometry, wires, (smallest + largest) * 0.5)?;
    let sensitivities = Sensitivities::at(geometry, wires, middle.over_wires)?;
    Ok(Suitability {
        checks: checks(geometry, profile, wires, smallest, largest)?,
        off_best: wires.mean() - range.best.unwrap_or(range.best_plane),
        range,
        for_one_degree: Length::computed(sensitivities.both_flanks * 1_f64.to_radians()),
    })
}

fn checks(
    geometry: &Geometry,
    profile: &Profile,
    wires: &Wires,
    smallest: Length,
    largest: Length,
) -> Result<Vec<Check>, HelixError> {
    let (thin, thick) = (wires.thinnest().mm(), wires.thickest().mm());
    let low = helix::wire_seat(geometry, thin, smallest.mm())?;
    let high = helix::wire_seat(geometry, thick, largest.mm())?;
    let lowest = 2.0 * low.contact[0].min(low.contact[1]);
    let highest = 2.0 * high.contact[0].max(high.contact[1]);
    let (back, belly) = (2.0 * low.axis_radius + thin, 2.0 * low.axis_radius - thin);
    let clear = clear_of_neighbour(geometry, wires, smallest)?;
    let above = |end: Option<Length>, size: f64| end.map(|end| size - end.mm());
    use Condition::{AboveFlankBottom, BelowFlankTop, ClearOfNeighbour, ClearOfRoot, ProudOfCrest};
    let found = [
        (ProudOfCrest, above(profile.crest, back), smallest),
        (
            BelowFlankTop,
            above(flank_top(geometry, profile, largest), highest).map(|beyond| -beyond),
            largest,
        ),
        (
            AboveFlankBottom,
            above(profile.flank_bottom, lowest),
            smallest,
        ),
        (ClearOfRoot, above(profile.root, belly), smallest),
        (ClearOfNeighbour, Some(clear), smallest),
    ];
    let check = |(condition, margin, at): (Condition, Option<f64>, Length)| {
        let margin = Length::computed(margin?);
        Some(Check {
            condition,
            margin,
            at,
        })
    };
    Ok(found.into_iter().filter_map(check).collect())
}

/// The lower of the profile's own end of the straight flank and that of a round crest.
fn flank_top(geometry: &Geometry, profile: &Profile, largest: Length) -> Option<Length> {
    let with_profile = Geometry {
        major_diameter: profile.flank_top,
        ..*geometry
    };
    with_profile.flank_top(largest)
}

/// How far the wires of the pair stay apart: they lie closest on the smallest thread.
fn clear_of_neighbour(
    geometry: &Geometry,
    wires: &Wires,
    smallest: Length,
) -> Result<f64, HelixError> {
    let seat = helix::wire_seat(geometry, wires.thickest().mm(), smallest.mm())?;
    let advance = geometry.lead().mm() / std::f64::consts::TAU;
    let apart = geometry.pitch.mm() * advance.atan2(seat.axis_radius).cos();
    Ok(apart - (wires.pair[0].mm() + wires.pair[1].mm()) / 2.0)
}

/// The usable sizes with this profile, put together from those of [`seat::wire_range`].
fn range(geometry: &Geometry, profile: &Profile, smallest: Length, largest: Length) -> WireRange {
    let with = |crest: Option<Length>, root: Option<Length>| Geometry {
        major_diameter: crest,
        root_diameter: root,
        ..*geometry
    };
    let proud = with(profile.crest, profile.root);
    let proud = seat::wire_range(&proud, smallest, largest);
    let edge = with(profile.flank_top, None);
    let edge = seat::wire_range(&edge, smallest, largest);
    let above = profile
        .flank_bottom
        .and_then(|bottom| thinnest_above(geometry, bottom, smallest, proud.best_plane));
    let min = match (proud.min, above) {
        (Some(one), Some(other)) if other > one => Some(other),
        (one, other) => one.or(other),
    };
    WireRange {
        min,
        max: edge.max,
        crest_edge: edge.crest_edge,
        ..proud
    }
}

/// The thinnest wire whose contacts lie above the lower end of the straight flank.
fn thinnest_above(
    geometry: &Geometry,
    bottom: Length,
    smallest: Length,
    best: Length,
) -> Option<Length> {
    let excess = |wire: f64| {
        let seat = helix::wire_seat(geometry, wire, smallest.mm());
        let lowest = |seat: helix::WireSeat| seat.contact[0].min(seat.contact[1]);
        Some(seat.map_or(f64::NEG_INFINITY, |seat| 2.0 * lowest(seat) - bottom.mm()))
    };
    rising_zero(best.mm() / 50.0, best.mm() * 2.0, excess).map(Length::computed)
}
