//! How the pitch diameter changes along the axis.

use super::Section;
use crate::stats::line::{LackOfFit, Line, lack_of_fit};
use crate::stats::{Figure, Interval, Undefined};
use crate::units::{Length, Unit};

/// Taper between the places with the largest and the smallest mean diameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    /// Largest minus smallest mean diameter.
    pub difference: Length,
    /// The place of the largest.
    pub larger_at: String,
    /// The place of the smallest.
    pub smaller_at: String,
    /// How many places were measured.
    pub places: usize,
    /// The slope, where two places at least are given as distances.
    pub rate: Option<TaperRate>,
}

/// With which confidence the slope's interval holds it.
const CONFIDENCE: f64 = 0.95;

/// How the diameter changes with the distance along the axis: the line of least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaperRate {
    /// Change of diameter for one unit of distance; positive when it grows with the distance.
    pub diameter_for_distance: f64,
    /// The distance between the outermost places.
    pub over: Length,
    /// How many places stand behind it.
    pub places: usize,
    /// The interval of the change for one unit of distance, for 95 %; two places have none.
    pub interval: Result<Interval, Undefined>,
    /// How often chance alone would give a slope this far from none.
    pub chance: Figure,
    /// How far the places stray from the line: a standard deviation, by the number of places less two.
    pub straying: Result<Length, Undefined>,
    /// Whether the line is straight, where places were read more than once at one angle.
    pub bending: Result<LackOfFit, Undefined>,
}

/// What the line through the places shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum TaperFinding {
    /// A taper: no slope is outside the interval, and it amounts to more than a display step.
    Tapered,
    /// Not distinguishable from none.
    NotDistinguishable,
    /// Two places only: any two differ.
    TwoPlacesOnly,
}

impl TaperFinding {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            TaperFinding::Tapered => "tapered",
            TaperFinding::NotDistinguishable => "not_distinguishable",
            TaperFinding::TwoPlacesOnly => "two_places_only",
        }
    }

    /// One sentence for a person.
    pub const fn sentence(self) -> &'static str {
        match self {
            TaperFinding::Tapered => "The thread is tapered.",
            TaperFinding::NotDistinguishable => {
                "The taper cannot be told from none with these readings."
            }
            TaperFinding::TwoPlacesOnly => {
                "Two places always differ a little: measure at three at least to tell a taper."
            }
        }
    }
}

impl TaperRate {
    /// By how much the line rises over the distance between the outermost places.
    pub fn rise(&self) -> Length {
        self.over * self.diameter_for_distance
    }

    /// What the line shows, with readings of a display of this step.
    pub fn finding(&self, display_step: Length) -> TaperFinding {
        match self.interval {
            Err(_) => TaperFinding::TwoPlacesOnly,
            Ok(interval) if !interval.holds(0.0) && self.rise().abs() > display_step => {
                TaperFinding::Tapered
            }
            Ok(_) => TaperFinding::NotDistinguishable,
        }
    }

    /// The interval over the distance between the outermost places, for a person; `None` with two places.
    pub fn interval_sentence(&self, unit: Unit, places: u8) -> Option<String> {
        let interval = self.interval.ok()?;
        let end = |slope: f64| (self.over * slope).to_text(unit, places);
        Some(format!(
            "Over {} it is between {} and {} (95 %, {} places).",
            self.over.to_text(unit, places),
            end(interval.low),
            end(interval.high),
            self.places
        ))
    }
}

impl Taper {
    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let rate = self.rate.as_ref().map(|rate| {
            format!(
                " By the straight line through all places that is {} over {}.",
                rate.rise().abs().to_text(unit, places),
                rate.over.to_text(unit, places)
            )
        });
        format!(
            "Taper of {}, largest: {}, smallest: {}.{}",
            self.difference.to_text(unit, places),
            self.larger_at,
            self.smaller_at,
            rate.unwrap_or_default()
        )
    }
}

/// Taper between the sections; `None` with fewer than two of a named place.
pub(super) fn taper(sections: &[Section]) -> Option<Taper> {
    let placed = || {
        sections.iter().filter_map(|section| {
            let place = section.spots.first()?.position.place_text()?;
            Some((place, section.mean()))
        })
    };
    let by_diameter =
        |one: &(String, Length), other: &(String, Length)| one.1.mm().total_cmp(&other.1.mm());
    let (larger_at, largest) = placed().max_by(by_diameter)?;
    let (smaller_at, smallest) = placed().min_by(by_diameter)?;
    let places = placed().count();
    (places >= 2).then(|| Taper {
        difference: largest - smallest,
        larger_at,
        smaller_at,
        places,
        rate: rate(sections),
    })
}

/// The line through the places that are given as distances.
fn rate(sections: &[Section]) -> Option<TaperRate> {
    let placed = || {
        sections
            .iter()
            .filter_map(|section| Some((section.distance()?, section)))
    };
    let along: Vec<f64> = placed().map(|(distance, _)| distance.mm()).collect();
    let diameters: Vec<f64> = placed().map(|(_, section)| section.mean().mm()).collect();
    let line = Line::through(&along, &diameters).ok()?;
    let first = along.iter().copied().fold(f64::INFINITY, f64::min);
    let last = along.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let groups: Option<Vec<(f64, &[f64])>> = placed()
        .map(|(distance, section)| Some((distance.mm(), section.repeats()?)))
        .collect();
    let several_angles = Undefined::TooMany {
        of: "angles at a place",
        most: 1,
        found: placed().map(|(_, section)| section.spots.len()).max()?,
    };
    Some(TaperRate {
        diameter_for_distance: line.slope,
        over: Length::computed(last - first),
        places: line.count,
        interval: line.slope_interval(CONFIDENCE),
        chance: line.slope_chance(),
        straying: line.residual_deviation().map(Length::computed),
        bending: groups
            .ok_or(several_angles)
            .and_then(|groups| lack_of_fit(&groups)),
    })
}
