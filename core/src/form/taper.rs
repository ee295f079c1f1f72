//! How the pitch diameter changes along the axis.

use super::Section;
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

/// How the diameter changes with the distance along the axis: the line of least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaperRate {
    /// Change of diameter for one unit of distance; positive when it grows with the distance.
    pub diameter_for_distance: f64,
    /// The distance between the outermost places.
    pub over: Length,
    /// How many places stand behind it.
    pub places: usize,
}

impl Taper {
    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let rate = self.rate.as_ref().map(|rate| {
            let whole = rate.over * rate.diameter_for_distance;
            format!(
                " By the straight line through all places that is {} over {}.",
                whole.abs().to_text(unit, places),
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

/// Two passes: distances and diameters are taken from their means before they are multiplied.
fn rate(sections: &[Section]) -> Option<TaperRate> {
    let points: Vec<(f64, f64)> = sections
        .iter()
        .filter_map(|section| {
            let distance = section.spots.first()?.position.distance()?;
            Some((distance.mm(), section.mean().mm()))
        })
        .collect();
    if points.len() < 2 {
        return None;
    }
    let count = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (middle, level) = (mean(|point| point.0), mean(|point| point.1));
    let spread: f64 = points.iter().map(|(at, _)| (at - middle).powi(2)).sum();
    let product: f64 = points
        .iter()
        .map(|(at, diameter)| (at - middle) * (diameter - level))
        .sum();
    let first = points
        .iter()
        .map(|point| point.0)
        .fold(f64::INFINITY, f64::min);
    let last = points
        .iter()
        .map(|point| point.0)
        .fold(f64::NEG_INFINITY, f64::max);
    (spread > 0.0).then(|| TaperRate {
        diameter_for_distance: product / spread,
        over: Length::computed(last - first),
        places: points.len(),
    })
}
