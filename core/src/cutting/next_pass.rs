//! What the next pass should be: careful while there is much left, exact at the end.
//!
//! # The rule
//!
//! Let `A` be what is left on diameter to the aim and `R` the room between aim and minimum.
//! While `A > 2R` a pass takes at most the stated share of `A`. The last two passes begin at
//! `A <= 2R`: first half of `A`, and once `A <= R` all of it. Then even a cut that takes twice
//! what was dialled ends at the minimum and not below it. With the usual aim, the middle of the
//! limits, the last two passes begin when what is left is no more than the tolerance.
//!
//! A lathe that has been seen to take more than dialled is dialled less, in that proportion. One
//! that takes less is springing: what it holds back may come off later by itself, so nothing is
//! added for it and a spring pass is advised instead. The figure is rounded down to a division of
//! the dial. Shares of 50 to 70 percent and spring passes that take 0.0005 to 0.002 in are common
//! practice, no published source.

use super::settings::above_zero;
use super::{InFeed, Lathe, Learned, Left, PassSettings, SettingsError, Slide};
use crate::judge::FLOAT_NOISE;
use crate::thread::Flanks;
use crate::units::{Length, Unit};

/// The most a spring pass is said to take off the diameter: 0.002 in.
const SPRING_MOST: Length = Length::computed(0.0508);

/// Below this share of what was dialled a lathe is springing.
const SPRINGS_BELOW: f64 = 0.8;

/// More passes than this are not worth counting.
const MOST_PASSES: f64 = 10_000.0;

fn shorter(one: Length, other: Length) -> Length {
    if one < other { one } else { other }
}

/// Which pass it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PassKind {
    /// More than two are still to come.
    Roughing,
    /// The first of the last two.
    LastButOne,
    /// The last one.
    Last,
}

impl PassKind {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            PassKind::Roughing => "roughing",
            PassKind::LastButOne => "last_but_one",
            PassKind::Last => "last",
        }
    }
}

/// Why a pass without in-feed is advised before the next cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpringPass {
    /// The last pass took clearly less than was dialled.
    HeldBack {
        /// What it left standing, on diameter.
        by: Length,
    },
    /// The next cut is the last one: nothing should be held back when it is dialled.
    BeforeTheLast,
}

impl SpringPass {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            SpringPass::HeldBack { .. } => "held_back",
            SpringPass::BeforeTheLast => "before_the_last",
        }
    }

    /// One sentence for a person.
    pub fn sentence(self, unit: Unit, places: u8) -> String {
        let advice = "Take a spring pass at the same setting, without in-feed, and read again \
                      before going deeper.";
        match self {
            SpringPass::HeldBack { by } => format!(
                "The last pass took {} on diameter less than was dialled. {advice}",
                by.to_text(unit, places)
            ),
            SpringPass::BeforeTheLast => format!("The next cut is the last one. {advice}"),
        }
    }
}

/// Something to know before the pass.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum PassWarning {
    /// This lathe takes more than is dialled; the figure was lowered for it.
    TakesMore {
        /// What came off, as a share of what was dialled.
        ratio: f64,
    },
    /// The compound is swung further than the flank: one flank would be left in steps.
    CompoundPastFlank {
        /// The compound's setting, in degrees.
        compound_deg: f64,
        /// The steeper flank, in degrees.
        flank_deg: f64,
    },
    /// Feeding along the compound cuts one flank only; the last passes should even out both.
    FinishStraightIn,
    /// A spring pass may take all that is left.
    SpringMayTakeAll {
        /// What is left to the minimum, on diameter.
        to_min: Length,
    },
}

impl PassWarning {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            PassWarning::TakesMore { .. } => "takes_more",
            PassWarning::CompoundPastFlank { .. } => "compound_past_flank",
            PassWarning::FinishStraightIn => "finish_straight_in",
            PassWarning::SpringMayTakeAll { .. } => "spring_may_take_all",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        match self {
            PassWarning::TakesMore { ratio } => format!(
                "This lathe took {:.0} percent of what was dialled; the figure is lowered for it.",
                ratio * 100.0
            ),
            PassWarning::CompoundPastFlank {
                compound_deg,
                flank_deg,
            } => format!(
                "The compound is swung {compound_deg:.1} degrees and the flank stands at \
                 {flank_deg:.1}: one flank would be left in steps. Set it a little under the flank."
            ),
            PassWarning::FinishStraightIn => "Feeding along the compound cuts mainly one flank. \
                 Take the last passes straight in."
                .to_owned(),
            PassWarning::SpringMayTakeAll { to_min } => format!(
                "Only {} is left to the minimum: a spring pass alone may take as much. Read after \
                 every pass.",
                to_min.to_text(unit, places)
            ),
        }
    }
}

/// A pass to take.
#[derive(Debug, Clone, PartialEq)]
pub struct NextPass {
    /// Which pass it is.
    pub kind: PassKind,
    /// The cut, rounded down to a division of the dial where that is known.
    pub in_feed: InFeed,
    /// What should come off the diameter, by what this lathe has done so far.
    pub expected: Length,
    /// What is then left to the aim, on diameter.
    pub leaves: Length,
    /// A pass without in-feed to take first.
    pub spring: Option<SpringPass>,
    /// What to know.
    pub warnings: Vec<PassWarning>,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub enum Advice {
    /// Take this pass.
    Cut(NextPass),
    /// What is left is less than the dial can show: a spring pass, or nothing.
    BelowTheDial {
        /// What is left to the aim, on diameter.
        left: Length,
        /// What one division of the dial takes off the diameter.
        finest: Length,
    },
    /// At the aim or past it, inside the limits: stop.
    AtSize {
        /// What is left to the minimum, on diameter.
        to_min: Length,
    },
    /// Below the minimum: no cut is offered.
    AlreadyUnder {
        /// By how much, on diameter.
        by: Length,
    },
}

impl Advice {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Advice::Cut(_) => "cut",
            Advice::BelowTheDial { .. } => "below_the_dial",
            Advice::AtSize { .. } => "at_size",
            Advice::AlreadyUnder { .. } => "already_under",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: &Length| length.to_text(unit, places);
        match self {
            Advice::Cut(pass) => format!(
                "Next pass: {} It should leave {}.",
                pass.in_feed.sentence(unit, places),
                text(&pass.leaves)
            ),
            Advice::BelowTheDial { left, finest } => format!(
                "What is left, {} on diameter, is below one division of the dial ({}). Take a \
                 spring pass without in-feed and read again.",
                text(left),
                text(finest)
            ),
            Advice::AtSize { to_min } => format!(
                "At size: cut no more. {} is left to the minimum.",
                text(to_min)
            ),
            Advice::AlreadyUnder { by } => format!(
                "Already under: {} below the minimum. There is no way back; cut no more.",
                text(by)
            ),
        }
    }
}

/// What a pass is planned from.
#[derive(Debug, Clone, Copy)]
pub struct PassQuestion<'a> {
    /// What is left.
    pub left: Left,
    /// How careful to be.
    pub settings: &'a PassSettings,
    /// The lathe.
    pub lathe: &'a Lathe,
    /// The slide that takes the cut.
    pub slide: Slide,
    /// The thread's flanks.
    pub flanks: &'a Flanks,
    /// What this lathe has done so far, if anything.
    pub learned: Option<&'a Learned>,
}

/// The next pass, or why there is none.
///
/// ```
/// use overwire_core::cutting::{Advice, Lathe, Left, PassQuestion, PassSettings, Slide, next_pass};
/// use overwire_core::{thread::designation, units::*};
/// let thread = designation::parse("1/2-13 UNC-2A")?;
/// let limits = thread.limits.ok_or("no limits")?;
/// let question = PassQuestion {
///     left: Left::between(limits.middle() + Length::from_inches(0.0200)?, &limits),
///     settings: &PassSettings::default(),
///     lathe: &Lathe::default(),
///     slide: Slide::CrossSlide,
///     flanks: &thread.geometry.flanks,
///     learned: None,
/// };
/// let Advice::Cut(pass) = next_pass(&question) else { return Err("no cut".into()) };
/// assert_eq!(pass.in_feed.diameter.to_text(Unit::Inch, 4), "0.0120 in");
/// assert_eq!(pass.kind.code(), "roughing");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn next_pass(question: &PassQuestion) -> Advice {
    let left = &question.left;
    if left.to_min < -FLOAT_NOISE {
        return Advice::AlreadyUnder {
            by: left.to_min.abs(),
        };
    }
    let to_aim = question.settings.aim.left_to(left);
    if to_aim <= FLOAT_NOISE {
        return Advice::AtSize {
            to_min: left.to_min,
        };
    }
    let (kind, wanted) = question.wanted(to_aim);
    match question.dialled(wanted) {
        Ok(diameter) => Advice::Cut(question.pass(kind, diameter, to_aim)),
        // A division is more than is wanted; it may still be no more than is left.
        Err(finest) if finest * question.excess() <= to_aim => {
            Advice::Cut(question.pass(PassKind::Last, finest, to_aim))
        }
        Err(finest) => Advice::BelowTheDial {
            left: to_aim,
            finest,
        },
    }
}

impl PassQuestion<'_> {
    fn ratio(&self) -> f64 {
        self.learned.map_or(1.0, |learned| learned.ratio)
    }

    /// How much more than dialled the lathe takes; 1 when it takes less.
    fn excess(&self) -> f64 {
        self.ratio().max(1.0)
    }

    /// What should come off, before the lathe's own ways are allowed for.
    fn wanted(&self, to_aim: Length) -> (PassKind, Length) {
        let room = self.left.to_min - to_aim;
        let (kind, wanted) = if to_aim <= room {
            (PassKind::Last, to_aim)
        } else if to_aim <= room * 2.0 {
            (PassKind::LastButOne, to_aim * 0.5)
        } else {
            (PassKind::Roughing, to_aim * self.settings.share)
        };
        match self.settings.deepest {
            Some(deepest) if deepest < wanted => (PassKind::Roughing, deepest),
            _ => (kind, wanted),
        }
    }

    /// What is dialled for it, on diameter: never more than wanted, nor than to the minimum, and
    /// a whole number of divisions. What one division takes off, when that is more.
    fn dialled(&self, wanted: Length) -> Result<Length, Length> {
        let allowed = shorter(wanted, self.left.to_min) * (1.0 / self.excess());
        match self.lathe.finest_diameter(self.slide) {
            None => Ok(allowed),
            Some(finest) => {
                // A hair above, so that noise does not take a division away.
                let divisions = (allowed.mm() / finest.mm() + 1e-9).floor();
                match divisions >= 1.0 {
                    true => Ok(finest * divisions),
                    false => Err(finest),
                }
            }
        }
    }

    fn pass(&self, kind: PassKind, diameter: Length, to_aim: Length) -> NextPass {
        let expected = diameter * self.ratio();
        NextPass {
            kind,
            in_feed: self.lathe.in_feed(self.slide, diameter),
            expected,
            leaves: to_aim - expected,
            spring: self.spring(kind),
            warnings: self.warnings(kind),
        }
    }

    fn spring(&self, kind: PassKind) -> Option<SpringPass> {
        let held_back = self
            .learned
            .filter(|learned| learned.last_ratio < SPRINGS_BELOW)
            .map(|learned| SpringPass::HeldBack {
                by: learned.last_held_back,
            });
        held_back.or((kind == PassKind::Last).then_some(SpringPass::BeforeTheLast))
    }

    fn warnings(&self, kind: PassKind) -> Vec<PassWarning> {
        let mut warnings = Vec::new();
        let ratio = self.ratio();
        if ratio > 1.0 {
            warnings.push(PassWarning::TakesMore { ratio });
        }
        if self.slide == Slide::Compound {
            let [leading, trailing] = [self.flanks.leading, self.flanks.trailing];
            let flank_deg = leading.degrees().max(trailing.degrees());
            let compound_deg = self.lathe.compound_angle.map(|angle| angle.degrees().abs());
            if let Some(compound_deg) = compound_deg.filter(|&angle| angle > flank_deg + 1e-9) {
                warnings.push(PassWarning::CompoundPastFlank {
                    compound_deg,
                    flank_deg,
                });
            }
            if kind != PassKind::Roughing {
                warnings.push(PassWarning::FinishStraightIn);
            }
        }
        let to_min = self.left.to_min;
        if self.spring(kind).is_some() && to_min < SPRING_MOST {
            warnings.push(PassWarning::SpringMayTakeAll { to_min });
        }
        warnings
    }
}

/// How many passes of one depth it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passes {
    /// How many.
    pub count: u32,
    /// The radial depth of the last one, at most the chosen depth; zero when there is none.
    pub last: Length,
}

/// The number of passes for what is left on diameter, each going in by `depth` square to the axis.
///
/// # Errors
/// A depth that is not above zero, or so small that more than ten thousand passes would be needed.
///
/// ```
/// use overwire_core::cutting::passes_at;
/// use overwire_core::units::Length;
/// let passes = passes_at(Length::from_mm(0.5)?, Length::from_mm(0.1)?)?;
/// assert_eq!(passes.count, 3);
/// assert!((passes.last.mm() - 0.05).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn passes_at(left_on_diameter: Length, depth: Length) -> Result<Passes, SettingsError> {
    above_zero("the depth of a pass", depth)?;
    let radial = left_on_diameter * 0.5;
    if radial <= FLOAT_NOISE {
        return Ok(Passes {
            count: 0,
            last: Length::ZERO,
        });
    }
    let count = (radial.mm() / depth.mm() - 1e-9).ceil().max(1.0);
    if count > MOST_PASSES {
        let depth_mm = depth.mm();
        return Err(SettingsError::TooManyPasses { depth_mm });
    }
    Ok(Passes {
        count: count as u32,
        last: shorter(radial - depth * (count - 1.0), depth),
    })
}
