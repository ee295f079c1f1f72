//! The lathe's two slides and what their dials count.

use serde::{Deserialize, Serialize};

use crate::units::{Angle, Length, Unit};

/// What the numbers on a dial count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Graduation {
    /// The travel of the slide itself.
    Radius,
    /// Twice the travel: what comes off the diameter when the slide goes straight in.
    Diameter,
}

impl Graduation {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Graduation::Radius => "radius",
            Graduation::Diameter => "diameter",
        }
    }

    /// The graduation with this name.
    pub fn parse(text: &str) -> Option<Graduation> {
        let all = [Graduation::Radius, Graduation::Diameter];
        all.into_iter().find(|graduation| graduation.code() == text)
    }

    const fn figure_for_travel(self) -> f64 {
        match self {
            Graduation::Radius => 1.0,
            Graduation::Diameter => 2.0,
        }
    }
}

/// One dial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dial {
    /// What its numbers count.
    pub graduated: Graduation,
    /// Its smallest division, in its own numbers; `None` when it was not told.
    pub smallest_division: Option<Length>,
}

/// Which slide takes the cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Slide {
    /// Straight in.
    CrossSlide,
    /// Along the compound.
    Compound,
}

impl Slide {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Slide::CrossSlide => "cross_slide",
            Slide::Compound => "compound",
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Slide::CrossSlide => "cross slide",
            Slide::Compound => "compound",
        }
    }
}

/// What was told about a lathe. What was not told is `None` and is not guessed.
///
/// ```
/// use overwire_core::cutting::{Dial, Graduation, Lathe, Slide};
/// use overwire_core::units::{Angle, Length, Unit};
/// let lathe = Lathe {
///     cross_slide_dial: None,
///     compound_dial: Some(Dial { graduated: Graduation::Radius, smallest_division: None }),
///     compound_angle: Some(Angle::from_degrees(29.5)?),
/// };
/// let left = Length::from_inches(0.0103)?;
/// let along = lathe.in_feed(Slide::Compound, left).dial?;
/// assert_eq!(along.to_text(Unit::Inch, 4), "0.0059 in");
/// // Nobody said how the cross slide's dial is graduated.
/// let straight = lathe.in_feed(Slide::CrossSlide, left);
/// assert_eq!(straight.travel.map(|travel| travel.to_text(Unit::Inch, 5)), Some("0.00515 in".into()));
/// assert_eq!(straight.dial.unwrap_err().code(), "graduation-unknown");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lathe {
    /// The cross slide's dial.
    pub cross_slide_dial: Option<Dial>,
    /// The compound's dial.
    pub compound_dial: Option<Dial>,
    /// How far the compound is swung from the direction of the cross slide: 0 is straight in.
    pub compound_angle: Option<Angle>,
}

/// From this angle on a compound hardly moves in: it is set along the work, not for threading.
const STEEPEST_DEG: f64 = 80.0;

/// Why there is no dial figure.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NoDialFigure {
    /// Nobody said what the dial counts.
    #[error(
        "how the dial of the {} is graduated is not known: say whether it counts radius or diameter",
        .slide.words()
    )]
    GraduationUnknown {
        /// The slide.
        slide: Slide,
    },
    /// Nobody said how the compound is set.
    #[error(
        "the setting of the compound is not known: say how far it is swung from the cross slide"
    )]
    AngleUnknown,
    /// The compound is not set for threading.
    #[error(
        "a compound swung {degrees:.1} degrees from the cross slide hardly moves in; at most \
         {STEEPEST_DEG:.0} degrees can be reckoned with"
    )]
    AngleTooSteep {
        /// The angle as told.
        degrees: f64,
    },
}

impl NoDialFigure {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            NoDialFigure::GraduationUnknown { .. } => "graduation-unknown",
            NoDialFigure::AngleUnknown => "compound-angle-unknown",
            NoDialFigure::AngleTooSteep { .. } => "compound-angle-too-steep",
        }
    }
}

/// An amount to take off, as a movement of one slide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InFeed {
    /// The slide that moves.
    pub slide: Slide,
    /// What comes off the diameter.
    pub diameter: Length,
    /// What the tool goes in, square to the axis: half of it.
    pub radial: Length,
    /// How far the slide travels; `None` when the compound's setting is not known.
    pub travel: Option<Length>,
    /// What the dial moves by, in its own numbers, or why that cannot be said.
    pub dial: Result<Length, NoDialFigure>,
}

impl Lathe {
    /// The movement of `slide` that takes `diameter` off the pitch diameter.
    pub fn in_feed(&self, slide: Slide, diameter: Length) -> InFeed {
        let radial = diameter * 0.5;
        let travel = self.cosine(slide).map(|cosine| radial * (1.0 / cosine));
        let dial = self.dial(slide);
        let figure = match (travel, dial) {
            (Err(reason), _) => Err(reason),
            (Ok(_), None) => Err(NoDialFigure::GraduationUnknown { slide }),
            (Ok(travel), Some(dial)) => Ok(travel * dial.graduated.figure_for_travel()),
        };
        InFeed {
            slide,
            diameter,
            radial,
            travel: travel.ok(),
            dial: figure,
        }
    }

    /// What comes off the diameter when the dial of `slide` is moved by `figure`.
    ///
    /// # Errors
    /// What is not known of the lathe.
    pub fn diameter_for(&self, slide: Slide, figure: Length) -> Result<Length, NoDialFigure> {
        let cosine = self.cosine(slide)?;
        let dial = self
            .dial(slide)
            .ok_or(NoDialFigure::GraduationUnknown { slide })?;
        Ok(figure * (2.0 * cosine / dial.graduated.figure_for_travel()))
    }

    /// What one smallest division of the dial takes off the diameter; `None` when it is not known.
    pub fn finest_diameter(&self, slide: Slide) -> Option<Length> {
        let division = self.dial(slide)?.smallest_division?;
        let finest = self.diameter_for(slide, division).ok()?;
        (finest > Length::ZERO).then_some(finest)
    }

    fn dial(&self, slide: Slide) -> Option<Dial> {
        match slide {
            Slide::CrossSlide => self.cross_slide_dial,
            Slide::Compound => self.compound_dial,
        }
    }

    /// The part of the slide's travel that goes in.
    fn cosine(&self, slide: Slide) -> Result<f64, NoDialFigure> {
        match (slide, self.compound_angle) {
            (Slide::CrossSlide, _) => Ok(1.0),
            (Slide::Compound, None) => Err(NoDialFigure::AngleUnknown),
            (Slide::Compound, Some(angle)) if angle.degrees().abs() > STEEPEST_DEG => {
                Err(NoDialFigure::AngleTooSteep {
                    degrees: angle.degrees(),
                })
            }
            (Slide::Compound, Some(angle)) => Ok(angle.cos()),
        }
    }
}

impl InFeed {
    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let amount = self.diameter.to_text(unit, places);
        let radial = self.radial.to_text(unit, places);
        match &self.dial {
            Ok(figure) => format!(
                "{amount} on diameter is {radial} of in-feed: move the {} dial by {}.",
                self.slide.words(),
                figure.to_text(unit, places)
            ),
            Err(reason) => {
                format!("{amount} on diameter is {radial} of in-feed. No dial figure: {reason}.")
            }
        }
    }
}
