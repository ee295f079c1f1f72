//! Between passes: what is left to cut, how to dial it in, and what the next pass should be.
//!
//! # What moves what
//!
//! A threading tool that goes in by x square to the axis lowers the pitch diameter by 2x, whatever
//! its flank angles, as long as both flanks keep cutting. A compound slide swung by q from the
//! direction of the cross slide has to travel `x / cos q` for it: for what is left on diameter, `D`,
//!
//! ```text
//!   straight in       D / 2
//!   along the compound D / (2 cos q)      0.5717 D at 29, 0.5745 D at 29.5, 0.5774 D at 30 degrees
//! ```
//!
//! A dial graduated on radius shows the travel, one graduated on diameter twice the travel. Which
//! it is, is asked once a lathe ([`Lathe`]) and never guessed.
//!
//! Amounts are on pitch diameter. On ordinary threads the reading over wires moves by the same
//! amount; with a large lead it moves by up to a tenth more, so passes are planned on the pitch
//! diameter. Source of the factors and of the habits below: common practice, no published source;
//! the factors follow from the geometry of the slide.
//!
//! # The rooms
//!
//! [`Left`] says where a thread stands; [`Lathe`] turns an amount into a dial figure; [`next_pass`]
//! suggests a pass; [`Learned`] is what the lathe really took off, against what was dialled;
//! [`PassCheck`] and [`Watch`] catch a reading that cannot be true between two passes.

use crate::judge::{FLOAT_NOISE, Judgement};
use crate::thread::Limits;
use crate::units::{Length, Unit};

mod between;
mod lathe;
mod learned;
mod next_pass;
mod settings;

pub use between::{Doubt, Outcome, PassCheck, Taken, Watch, usual_noise};
pub use lathe::{Dial, Graduation, InFeed, Lathe, NoDialFigure, Slide};
pub use learned::{Learned, Pass, WEIGHTY_STEPS};
pub use next_pass::{
    Advice, NextPass, PassKind, PassQuestion, PassWarning, Passes, SpringPass, next_pass, passes_at,
};
pub use settings::{Aim, PassSettings, SettingsError, USUAL_SHARE};

/// What is left to cut, on pitch diameter. Positive while metal must come off to get there.
///
/// ```
/// use overwire_core::cutting::{Left, Standing};
/// use overwire_core::judge::{Judge, Purpose};
/// use overwire_core::{thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("9/16-18 UNF-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.0395)?)?);
/// let judgement = Judge::new(&thread, &wires)?.judge(Length::from_inches(0.6)?, Purpose::Cutting);
/// let left = Left::of(&judgement).ok_or("no verdict")?;
/// assert_eq!(left.to_max.to_text(Unit::Inch, 4), "0.0046 in");
/// assert_eq!(left.standing(), Standing::OverMaximum);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// To the maximum limit.
    pub to_max: Length,
    /// To the middle of the limits.
    pub to_middle: Length,
    /// To the minimum limit: what comes off beyond this makes scrap.
    pub to_min: Length,
}

/// Where a thread stands between passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Above the maximum: metal must come off.
    OverMaximum,
    /// Inside the limits, the middle not yet reached.
    Inside,
    /// Inside the limits, at the middle or past it.
    PastMiddle,
    /// Below the minimum: there is no way back, and nothing to cut.
    AlreadyUnder,
}

impl Standing {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Standing::OverMaximum => "over_maximum",
            Standing::Inside => "inside",
            Standing::PastMiddle => "past_middle",
            Standing::AlreadyUnder => "already_under",
        }
    }
}

impl Left {
    /// What is left by a judgement; `None` when there is nothing to go by: no limits, or wires
    /// that do not rest on the flanks.
    pub fn of(judgement: &Judgement) -> Option<Left> {
        Some(Left {
            to_max: judgement.to_max?,
            to_middle: judgement.to_middle?,
            to_min: judgement.to_min?,
        })
    }

    /// What is left from this pitch diameter to these limits.
    pub fn between(pitch_diameter: Length, limits: &Limits) -> Left {
        Left {
            to_max: pitch_diameter - limits.pitch_diameter_max,
            to_middle: pitch_diameter - limits.middle(),
            to_min: pitch_diameter - limits.pitch_diameter_min,
        }
    }

    /// Where the thread stands. A limit itself is inside.
    pub fn standing(&self) -> Standing {
        if self.to_min < -FLOAT_NOISE {
            Standing::AlreadyUnder
        } else if self.to_max > FLOAT_NOISE {
            Standing::OverMaximum
        } else if self.to_middle > FLOAT_NOISE {
            Standing::Inside
        } else {
            Standing::PastMiddle
        }
    }

    /// One sentence for a person, the sign in words.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: Length| length.abs().to_text(unit, places);
        match self.standing() {
            Standing::OverMaximum => format!(
                "Above maximum: keep cutting. On diameter {} to the maximum, {} to the middle, {} \
                 to the minimum.",
                text(self.to_max),
                text(self.to_middle),
                text(self.to_min)
            ),
            Standing::Inside => format!(
                "Inside the limits. On diameter {} to the middle, {} to the minimum.",
                text(self.to_middle),
                text(self.to_min)
            ),
            Standing::PastMiddle => format!(
                "Inside the limits, at the middle or past it: {} left to the minimum.",
                text(self.to_min)
            ),
            Standing::AlreadyUnder => format!(
                "Already under: {} below the minimum. There is no way back; cut no more.",
                text(self.to_min)
            ),
        }
    }
}
