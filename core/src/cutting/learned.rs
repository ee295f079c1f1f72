//! What a lathe really takes off, against what was dialled.

use crate::units::Length;

/// A pass counts when what was dialled is at least so many steps of the display: below that the
/// display's own rounding outweighs what there is to learn.
pub const WEIGHTY_STEPS: f64 = 10.0;

/// A pass that took more than this many times what was dialled is a mistake, not the lathe.
const MOST_RATIO: f64 = 2.0;

/// One pass that was dialled and then measured, on pitch diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    /// What was dialled.
    pub dialled: Length,
    /// Pitch diameter before minus pitch diameter after.
    pub taken: Length,
}

/// What the passes so far say about a lathe.
///
/// ```
/// use overwire_core::cutting::{Learned, Pass};
/// use overwire_core::units::Length;
/// let mm = Length::from_mm;
/// let passes = [
///     Pass { dialled: mm(0.4)?, taken: mm(0.30)? },
///     Pass { dialled: mm(0.2)?, taken: mm(0.18)? },
/// ];
/// let learned = Learned::from_passes(&passes, mm(0.001)?).ok_or("nothing learned")?;
/// assert!((learned.ratio - 0.8).abs() < 1e-12);
/// assert_eq!(learned.passes, 2);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// All that was taken over all that was dialled: deep passes weigh more.
    pub ratio: f64,
    /// How many passes stand behind it.
    pub passes: usize,
    /// The lowest ratio of a single pass.
    pub lowest: f64,
    /// The highest ratio of a single pass.
    pub highest: f64,
    /// The ratio of the last pass.
    pub last_ratio: f64,
    /// What the last pass left standing; negative when it took more than was dialled.
    pub last_held_back: Length,
}

impl Learned {
    /// What can be learned, the passes in the order they were taken; `None` when none counts.
    ///
    /// `step` is one step of the display. Left out are passes too light to tell, and those that
    /// raised the diameter or took more than twice what was dialled: no lathe does that.
    /// Leave out passes whose readings are doubted.
    pub fn from_passes(passes: &[Pass], step: Length) -> Option<Learned> {
        let counts = |pass: &&Pass| {
            let weighty = pass.dialled > Length::ZERO && pass.dialled >= step * WEIGHTY_STEPS;
            weighty && (0.0..=MOST_RATIO).contains(&pass.ratio())
        };
        let counted = || passes.iter().filter(counts);
        let last = counted().next_back()?;
        let sum = |part: fn(&Pass) -> Length| counted().map(|pass| part(pass).mm()).sum::<f64>();
        Some(Learned {
            ratio: sum(|pass| pass.taken) / sum(|pass| pass.dialled),
            passes: counted().count(),
            lowest: counted().map(Pass::ratio).fold(f64::INFINITY, f64::min),
            highest: counted().map(Pass::ratio).fold(0.0, f64::max),
            last_ratio: last.ratio(),
            last_held_back: last.dialled - last.taken,
        })
    }

    /// One sentence for a person.
    pub fn sentence(&self) -> String {
        let percent = |ratio: f64| (ratio * 100.0).round();
        match self.passes {
            1 => format!(
                "The one pass so far took {} percent of what was dialled.",
                percent(self.ratio)
            ),
            passes => format!(
                "The {passes} passes so far took {} percent of what was dialled, single ones {} \
                 to {} percent.",
                percent(self.ratio),
                percent(self.lowest),
                percent(self.highest)
            ),
        }
    }
}

impl Pass {
    fn ratio(&self) -> f64 {
        self.taken.mm() / self.dialled.mm()
    }
}
