//! Taper and out-of-round of one thread, from pitch diameters at tagged positions.
//!
//! Taper is how the mean pitch diameter changes from place to place along the axis; out-of-round
//! is how the diameter at one place changes from angle to angle. Two opposed anvils see the same
//! diameter at an angle and half a turn further, so angles count up to 180 degrees. Readings at
//! one and the same position are averaged.
//!
//! # What cannot be seen
//!
//! A three-lobed thread has the same diameter all round and still does not fit: two opposed anvils
//! cannot see three lobes. A V-block with an indicator, or a ring gauge, shows them. On a
//! multi-start thread an error between the starts shows up as out-of-round. Source: common
//! practice, no published source; the blindness to three lobes is geometry.

use crate::stats::Undefined;
use crate::units::{Length, Unit};

mod oval;
mod position;
mod taper;

pub use oval::{Oval, range_by_chance};
pub use position::{Position, PositionError};
pub use taper::{Taper, TaperFinding, TaperRate};

/// A pitch diameter and where it was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Where.
    pub position: Position,
    /// The pitch diameter there.
    pub pitch_diameter: Length,
}

/// How the diameter changes round the axis, at the place where it changes most.
#[derive(Debug, Clone, PartialEq)]
pub struct OutOfRound {
    /// Largest minus smallest diameter. A roundness deviation as a stylus would trace it is half
    /// of that for an oval.
    pub difference: Length,
    /// The place; `None` when the readings name none.
    pub place: Option<String>,
    /// The angle of the largest diameter, in degrees below 180.
    pub largest_at_deg: f64,
    /// The angle of the smallest diameter.
    pub smallest_at_deg: f64,
    /// How many angles were measured there.
    pub angles: usize,
    /// The oval through them; it takes three angles.
    pub oval: Result<Oval, Undefined>,
}

/// One place along the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// The place; `None` when the readings name none.
    pub place: Option<String>,
    /// The mean of its diameters.
    pub mean: Length,
    /// The smallest diameter.
    pub least: Length,
    /// The largest diameter.
    pub greatest: Length,
    /// At how many angles it was measured.
    pub angles: usize,
}

impl Station {
    /// Largest minus smallest diameter.
    pub fn out_of_round(&self) -> Length {
        self.greatest - self.least
    }
}

/// Something to know about the result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Caution {
    /// Always: three lobes are invisible to two opposed anvils.
    ThreeLobesUnseen,
    /// The places were not all measured at the same angles, so that out-of-round looks like taper.
    AnglesDiffer,
    /// Only one angle anywhere: nothing is said about out-of-round.
    OneAngleOnly,
    /// Only one place: nothing is said about taper.
    OnePlaceOnly,
    /// On a multi-start thread an error between the starts looks like out-of-round.
    StartsMayDiffer,
}

impl Caution {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Caution::ThreeLobesUnseen => "three_lobes_unseen",
            Caution::AnglesDiffer => "angles_differ",
            Caution::OneAngleOnly => "one_angle_only",
            Caution::OnePlaceOnly => "one_place_only",
            Caution::StartsMayDiffer => "starts_may_differ",
        }
    }

    /// One sentence for a person.
    pub const fn sentence(self) -> &'static str {
        match self {
            Caution::ThreeLobesUnseen => {
                "Two opposed anvils cannot see three lobes: check with a V-block and an indicator, \
                 or a ring gauge."
            }
            Caution::AnglesDiffer => {
                "The places were not measured at the same angles: out-of-round may look like taper."
            }
            Caution::OneAngleOnly => {
                "Measured at one angle only: nothing can be said about out-of-round."
            }
            Caution::OnePlaceOnly => "Measured at one place only: nothing can be said about taper.",
            Caution::StartsMayDiffer => {
                "On a multi-start thread an error between the starts looks like out-of-round."
            }
        }
    }
}

/// Taper and out-of-round, as far as the readings tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// Taper; `None` with readings at one place only.
    pub taper: Option<Taper>,
    /// Out-of-round; `None` with one angle at every place.
    pub out_of_round: Option<OutOfRound>,
    /// Every place, in the order of first mention.
    pub stations: Vec<Station>,
    /// The smallest diameter anywhere: with the largest it decides whether the thread conforms, not the
    /// mean.
    pub least: Length,
    /// The largest diameter anywhere.
    pub greatest: Length,
    /// What to know.
    pub cautions: Vec<Caution>,
}

/// Why nothing can be said about form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum FormError {
    /// Fewer than two different positions.
    #[error("form needs readings at two positions at least, found {found}")]
    TooFewPositions {
        /// How many different positions there were.
        found: usize,
    },
}

impl FormError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            FormError::TooFewPositions { .. } => "too-few-positions",
        }
    }
}

/// The mean of the readings at one position.
#[derive(Debug, Clone, PartialEq)]
struct Spot {
    position: Position,
    mean: Length,
    /// The readings there, in millimetres.
    readings: Vec<f64>,
}

/// All spots at one place along the axis.
struct Section<'a> {
    spots: Vec<&'a Spot>,
}

impl Form {
    /// The form of one thread with so many starts, from readings on one piece.
    ///
    /// # Errors
    /// [`FormError::TooFewPositions`] when the readings do not name two different positions.
    ///
    /// ```
    /// use overwire_core::form::{Form, Placed, Position};
    /// use overwire_core::units::{Length, Unit};
    /// let placed = |position: &str, mm: f64| -> Result<Placed, Box<dyn std::error::Error>> {
    ///     Ok(Placed { position: Position::parse(position)?, pitch_diameter: Length::from_mm(mm)? })
    /// };
    /// let form = Form::of(
    ///     &[
    ///         placed("near shoulder, 0 deg", 32.720)?,
    ///         placed("near shoulder, 90 deg", 32.714)?,
    ///         placed("free end, 0 deg", 32.690)?,
    ///     ],
    ///     1,
    /// )?;
    /// let taper = form.taper.ok_or("no taper")?;
    /// assert_eq!(taper.larger_at, "near shoulder");
    /// let oval = form.out_of_round.ok_or("not seen")?;
    /// assert_eq!(oval.difference.to_text(Unit::Millimetre, 3), "0.006 mm");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(readings: &[Placed], starts: u32) -> Result<Form, FormError> {
        let spots = spots(readings);
        if spots.len() < 2 {
            return Err(FormError::TooFewPositions { found: spots.len() });
        }
        let sections = sections(&spots);
        let taper = taper::taper(&sections);
        let out_of_round = out_of_round(&sections);
        let stations: Vec<Station> = sections.iter().map(Section::station).collect();
        let (least, greatest) = extremes(&spots);
        let mut cautions = vec![Caution::ThreeLobesUnseen];
        match (&taper, angles_differ(&sections)) {
            (None, _) => cautions.push(Caution::OnePlaceOnly),
            (Some(_), true) => cautions.push(Caution::AnglesDiffer),
            (Some(_), false) => {}
        }
        match &out_of_round {
            None => cautions.push(Caution::OneAngleOnly),
            Some(_) if starts > 1 => cautions.push(Caution::StartsMayDiffer),
            Some(_) => {}
        }
        Ok(Form {
            taper,
            out_of_round,
            stations,
            least,
            greatest,
            cautions,
        })
    }

    /// What the readings tell, for a person; the cautions apart.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let taper = self
            .taper
            .as_ref()
            .map(|taper| taper.sentence(unit, places));
        let round = self.out_of_round.as_ref().map(|round| {
            let at = round.place.as_ref().map(|place| format!(" ({place})"));
            format!(
                "Out of round by {}{}: largest at {:.0} degrees, smallest at {:.0}.",
                round.difference.to_text(unit, places),
                at.unwrap_or_default(),
                round.largest_at_deg,
                round.smallest_at_deg
            )
        });
        let sentences: Vec<String> = taper.into_iter().chain(round).collect();
        match sentences.is_empty() {
            true => "Nothing can be said about form from these positions.".to_owned(),
            false => sentences.join(" "),
        }
    }
}

/// The mean at every different position, in the order of first mention.
fn spots(readings: &[Placed]) -> Vec<Spot> {
    let mut found: Vec<(Position, Vec<f64>)> = Vec::new();
    for reading in readings {
        let position = reading.position.folded();
        let diameter = reading.pitch_diameter.mm();
        match found
            .iter_mut()
            .find(|(seen, _)| seen.is_same_spot(&position))
        {
            Some((_, repeats)) => repeats.push(diameter),
            None => found.push((position, vec![diameter])),
        }
    }
    found
        .into_iter()
        .map(|(position, readings)| Spot {
            position,
            mean: mean_of(&readings),
            readings,
        })
        .collect()
}

/// The mean of lengths in millimetres, taken from the first so that nothing is lost.
fn mean_of(readings: &[f64]) -> Length {
    let first = readings.first().copied().unwrap_or(0.0);
    let away: f64 = readings.iter().map(|reading| reading - first).sum();
    Length::computed(first + away / readings.len().max(1) as f64)
}

fn extremes(spots: &[Spot]) -> (Length, Length) {
    let sizes = || spots.iter().map(|spot| spot.mean.mm());
    (
        Length::computed(sizes().fold(f64::INFINITY, f64::min)),
        Length::computed(sizes().fold(f64::NEG_INFINITY, f64::max)),
    )
}

fn sections(spots: &[Spot]) -> Vec<Section<'_>> {
    let mut found: Vec<Section> = Vec::new();
    for spot in spots {
        match found.iter_mut().find(|section| section.holds(spot)) {
            Some(section) => section.spots.push(spot),
            None => found.push(Section { spots: vec![spot] }),
        }
    }
    found
}

impl Section<'_> {
    fn holds(&self, spot: &Spot) -> bool {
        self.spots
            .first()
            .is_some_and(|first| first.position.is_same_place(&spot.position))
    }

    fn mean(&self) -> Length {
        let means: Vec<f64> = self.spots.iter().map(|spot| spot.mean.mm()).collect();
        mean_of(&means)
    }

    fn distance(&self) -> Option<Length> {
        self.spots.first()?.position.distance()
    }

    /// The readings of a place that was measured at one angle only.
    fn repeats(&self) -> Option<&[f64]> {
        match self.spots.as_slice() {
            [spot] => Some(&spot.readings),
            _ => None,
        }
    }

    fn station(&self) -> Station {
        let sizes = || self.spots.iter().map(|spot| spot.mean.mm());
        Station {
            place: self
                .spots
                .first()
                .and_then(|spot| spot.position.place_text()),
            mean: self.mean(),
            least: Length::computed(sizes().fold(f64::INFINITY, f64::min)),
            greatest: Length::computed(sizes().fold(f64::NEG_INFINITY, f64::max)),
            angles: self.round().count(),
        }
    }

    /// The angles measured here, in millionths of a degree, sorted: whole numbers compare exactly.
    fn angles(&self) -> Vec<i64> {
        let steps = |degrees: f64| (degrees * 1e6).round() as i64;
        let mut angles: Vec<i64> = self
            .spots
            .iter()
            .filter_map(|spot| spot.position.angle_deg().map(steps))
            .collect();
        angles.sort_unstable();
        angles
    }

    /// The spots with an angle, with that angle.
    fn round(&self) -> impl Iterator<Item = (f64, Length)> {
        self.spots
            .iter()
            .filter_map(|spot| Some((spot.position.angle_deg()?, spot.mean)))
    }
}

fn angles_differ(sections: &[Section]) -> bool {
    let mut all = sections.iter().map(Section::angles);
    let first = all.next();
    all.any(|angles| Some(angles) != first)
}

fn out_of_round(sections: &[Section]) -> Option<OutOfRound> {
    let of_section = |section: &Section| {
        let by_diameter =
            |one: &(f64, Length), other: &(f64, Length)| one.1.mm().total_cmp(&other.1.mm());
        let largest = section.round().max_by(by_diameter)?;
        let smallest = section.round().min_by(by_diameter)?;
        let diameters: Vec<(f64, Length)> = section.round().collect();
        let angles = diameters.len();
        (angles >= 2).then(|| OutOfRound {
            difference: largest.1 - smallest.1,
            place: section
                .spots
                .first()
                .and_then(|spot| spot.position.place_text()),
            largest_at_deg: largest.0,
            smallest_at_deg: smallest.0,
            angles,
            oval: Oval::through(&diameters),
        })
    };
    sections
        .iter()
        .filter_map(of_section)
        .max_by(|one, other| one.difference.mm().total_cmp(&other.difference.mm()))
}
