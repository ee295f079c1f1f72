//! Where the wires touch, and which wire sizes can be used at all.
//!
//! A wire measures a pitch diameter only while it rests on two straight flanks and
//! carries the anvil. It fails to when it rides on the edges of the crest (too thick,
//! or the groove still too shallow), when it lies below the crest (too thin: the anvil
//! meets the thread instead), when it bottoms on the root, or when the two wires of the
//! pair press against each other instead of into their grooves.
//!
//! A flat crest is taken as a sharp-cornered cylinder of the largest major diameter the
//! thread may have; a chamfer or a burr makes matters worse, so leave some margin. On a round
//! crest the straight flank ends where the rounding begins ([`Geometry::flank_top`]).

use crate::helix::{self, Seated, WireSeat};
use crate::thread::{Flanks, Geometry};
use crate::units::{Length, Unit};
use crate::wires::Wires;

/// How the wires sit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seat {
    /// On both flanks, clear of crest and root.
    Ok,
    /// The contact lies at or beyond the crest's edge, or where the crest's rounding begins.
    RidesCrestEdge {
        /// Diameter at which the wire would touch.
        contact: Length,
        /// Where the straight flank ends: on a flat crest the largest major diameter.
        flank_top: Length,
    },
    /// The reading is not above the crest: the anvil meets the thread, not the wires.
    BelowCrest {
        /// The reading.
        over_wires: Length,
        /// Largest major diameter.
        crest: Length,
    },
    /// The wire reaches the root before it rests on the flanks.
    BottomsOnRoot {
        /// Diameter at which the wire, or its contact, comes closest to the axis.
        lowest: Length,
        /// Root diameter.
        root: Length,
    },
    /// The wires of the pair touch each other.
    NeighboursTouch {
        /// Distance between the axes of the pair.
        apart: Length,
        /// Their mean diameter.
        wire: Length,
    },
    /// No seat exists within the model.
    BeyondModel,
}

impl Seat {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Seat::Ok => "ok",
            Seat::RidesCrestEdge { .. } => "rides_crest_edge",
            Seat::BelowCrest { .. } => "below_crest",
            Seat::BottomsOnRoot { .. } => "bottoms_on_root",
            Seat::NeighboursTouch { .. } => "neighbours_touch",
            Seat::BeyondModel => "beyond_model",
        }
    }

    /// Whether the reading can be turned into a pitch diameter.
    pub const fn is_ok(&self) -> bool {
        matches!(self, Seat::Ok)
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: &Length| length.to_text(unit, places);
        match self {
            Seat::Ok => "The wires rest on the flanks.".to_owned(),
            Seat::RidesCrestEdge { contact, flank_top } => format!(
                "The wire would touch at a diameter of {}, at or beyond the end of the straight \
                 flank at {}: it rides on the crest. Cut deeper before reading, or use a thinner \
                 wire.",
                text(contact),
                text(flank_top)
            ),
            Seat::BelowCrest { over_wires, crest } => format!(
                "The reading of {} is not above the crest of {}: the anvil is on the thread, not \
                 on the wires. Check that all three wires are in place, or use a thicker wire.",
                text(over_wires),
                text(crest)
            ),
            Seat::BottomsOnRoot { lowest, root } => format!(
                "The wire reaches down to a diameter of {} and the root is at {}: it sits on the \
                 root, not on the flanks. Use a thicker wire.",
                text(lowest),
                text(root)
            ),
            Seat::NeighboursTouch { apart, wire } => format!(
                "The two neighbouring wires are {} apart and {} thick: they press on each other, \
                 not into their grooves. Use a thinner wire.",
                text(apart),
                text(wire)
            ),
            Seat::BeyondModel => "No pitch diameter fits this reading over these wires. Check the \
                                  wires, the unit and the zero."
                .to_owned(),
        }
    }
}

/// How wires that are seated by [`crate::helix`] sit on this thread.
///
/// ```
/// use overwire_core::{helix, seat::{self, Seat}, thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("1/2-13 UNC-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.04441)?)?);
/// let shallow = helix::pitch_diameter(&thread.geometry, &wires, Length::from_inches(0.57)?)?;
/// let found = seat::seat(&thread.geometry, &wires, &shallow);
/// assert_eq!(found.code(), "rides_crest_edge");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn seat(geometry: &Geometry, wires: &Wires, seated: &Seated) -> Seat {
    if let Some(crest) = geometry.major_diameter {
        let over_wires = seated.over_wires;
        if over_wires <= crest {
            return Seat::BelowCrest { over_wires, crest };
        }
    }
    if let Some(flank_top) = geometry.flank_top(seated.pitch_diameter) {
        let contact = Length::computed(2.0 * highest(seated.contact_radius));
        if contact >= flank_top {
            return Seat::RidesCrestEdge { contact, flank_top };
        }
    }
    let pair = (wires.pair[0].length() + wires.pair[1].length()) * 0.5;
    let apart = geometry.pitch.length() * seated.tilt.cos();
    if pair >= apart {
        return Seat::NeighboursTouch { apart, wire: pair };
    }
    let lowest = lowest_diameter(seated, wires);
    match geometry.root_diameter {
        Some(root) if lowest <= root => Seat::BottomsOnRoot { lowest, root },
        _ => Seat::Ok,
    }
}

fn highest(contact_radius: [f64; 2]) -> f64 {
    contact_radius[0].max(contact_radius[1])
}

fn lowest_diameter(seated: &Seated, wires: &Wires) -> Length {
    let underside = seated.axis_radius - wires.single.mm() / 2.0;
    let [one, other] = seated.contact_radius;
    Length::computed(2.0 * underside.min(one).min(other))
}

/// The wire sizes that can be used on a thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WireRange {
    /// The best size, lead included: an equal error of both flank angles does not move the
    /// pitch diameter. With equal flanks the wire touches on the pitch cylinder.
    pub best: Option<Length>,
    /// The best size by the plane formula, as marked on wire boxes.
    pub best_plane: Length,
    /// The thinnest usable wire, just proud of the crest (and clear of the root) on the smallest
    /// pitch diameter; `None` when the crest is not known.
    pub min: Option<Length>,
    /// The thickest usable wire: touching at the crest's edge on the largest pitch diameter, or
    /// touching its neighbour, whichever comes first; `None` when the crest is not known.
    pub max: Option<Length>,
    /// The wire that touches at the end of the straight flank on the largest pitch diameter.
    pub crest_edge: Option<Length>,
    /// The wire that touches its neighbour in the next groove, on the smallest pitch diameter:
    /// there the wires are tilted most and lie closest.
    pub neighbours_touch: Option<Length>,
}

/// The wire sizes usable while the pitch diameter lies between these two.
///
/// ```
/// use overwire_core::{seat, thread::designation, units::Unit};
/// let thread = designation::parse("1/2-13 UNC-2A")?;
/// let (smallest, largest) = thread.pitch_diameter_zone();
/// let range = seat::wire_range(&thread.geometry, smallest, largest);
/// assert_eq!(range.best_plane.to_text(Unit::Inch, 5), "0.04441 in");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn wire_range(geometry: &Geometry, smallest: Length, largest: Length) -> WireRange {
    let best_plane = best_plane(geometry);
    let search = |pitch_diameter: Length, excess: &dyn Fn(&WireSeat, f64) -> f64| {
        wire_where(geometry, pitch_diameter, best_plane, excess)
    };
    let middle = (smallest + largest) * 0.5;
    let best = search(middle, &|seat, _| {
        angle_effect(&geometry.flanks, seat, middle)
    });
    let advance = geometry.lead().mm() / std::f64::consts::TAU;
    let neighbours_touch = search(smallest, &|seat, wire| {
        wire - geometry.pitch.mm() * (advance / seat.axis_radius).atan().cos()
    });
    let crest_edge = geometry
        .flank_top(largest)
        .and_then(|top| search(largest, &|seat, _| 2.0 * highest(seat.contact) - top.mm()));
    let min = geometry.major_diameter.and_then(|crest| {
        let root = geometry.root_diameter.map_or(f64::NEG_INFINITY, Length::mm);
        search(smallest, &|seat, wire| {
            clearance(seat, wire, crest.mm(), root)
        })
    });
    WireRange {
        best,
        best_plane,
        min,
        max: crest_edge.map(|edge| neighbours_touch.map_or(edge, |touch| shorter(edge, touch))),
        crest_edge,
        neighbours_touch,
    }
}

fn shorter(one: Length, other: Length) -> Length {
    if one < other { one } else { other }
}

/// How far the wire stands clear: above the crest with its back, above the root with its belly
/// and its contacts.
fn clearance(seat: &WireSeat, wire: f64, crest: f64, root: f64) -> f64 {
    let proud = 2.0 * seat.axis_radius + wire - crest;
    let belly = 2.0 * seat.axis_radius - wire - root;
    let contact = 2.0 * seat.contact[0].min(seat.contact[1]) - root;
    proud.min(belly).min(contact)
}

/// The best size without the lead: `P/(2 cos a)` for equal flanks.
fn best_plane(geometry: &Geometry) -> Length {
    let (one, other) = (
        geometry.flanks.leading.cos(),
        geometry.flanks.trailing.cos(),
    );
    let included = geometry.flanks.included().cos();
    let factor = (one * one + other * other) / ((1.0 + included) * (one + other));
    geometry.pitch.length() * factor
}

/// What an equal small error of both flank angles does, up to a positive factor: each flank
/// counts with its contact's height over the pitch cylinder and the rate of its slope.
fn angle_effect(flanks: &Flanks, seat: &WireSeat, pitch_diameter: Length) -> f64 {
    let height = |radius: f64| radius - pitch_diameter.mm() / 2.0;
    let rate = |cosine: f64| 1.0 / (cosine * cosine);
    height(seat.contact[0]) * rate(flanks.leading.cos())
        + height(seat.contact[1]) * rate(flanks.trailing.cos())
}

/// The wire diameter at which `excess`, which grows with the wire, is zero. `None` when there
/// is none between a fiftieth of the best size and eight times it.
fn wire_where(
    geometry: &Geometry,
    pitch_diameter: Length,
    best_plane: Length,
    excess: &dyn Fn(&WireSeat, f64) -> f64,
) -> Option<Length> {
    let at = |wire: f64| {
        let seat = helix::wire_seat(geometry, wire, pitch_diameter.mm()).ok()?;
        Some(excess(&seat, wire))
    };
    let (mut low, mut high) = (best_plane.mm(), best_plane.mm());
    while at(low)? > 0.0 {
        low *= 0.8;
        if low < best_plane.mm() / 50.0 {
            return None;
        }
    }
    while at(high)? <= 0.0 {
        high *= 1.25;
        if high > best_plane.mm() * 8.0 {
            return None;
        }
    }
    // Halving fifty times reaches the last digit from any bracket left by the loops above.
    for _ in 0..60 {
        let middle = low + (high - low) / 2.0;
        if at(middle)? > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(Length::computed(low + (high - low) / 2.0))
}
