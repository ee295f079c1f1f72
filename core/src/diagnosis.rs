//! What a reading that cannot be true, or hardly can, may come from.
//!
//! Every usual mistake shifts a reading in its own way. Each is taken as a hypothesis, turned into
//! the reading it predicts, and compared with the reading at hand. The reading itself is never
//! altered, and no hypothesis is ever applied: they are questions to a person, who decides.
//!
//! # What each mistake predicts
//!
//! With `M` the reading expected, `D` the crest and `w` the wire:
//!
//! | mistake | predicted reading |
//! | --- | --- |
//! | display set to the other unit | `25.4 M` or `M / 25.4` |
//! | another set of wires, or one wire of it | the exact seat over those wires |
//! | the lone wire, or the pair, fallen out | `(M + D) / 2`: the anvil lies on the crests of one side |
//! | all wires out | `D` |
//! | one wire riding on the crest | `(M + D) / 2 + w` |
//! | all wires riding on the crest | `D + 2 w` |
//! | pitch and lead confused on a multi-start | the exact seat with pitch and lead as they may be |
//! | another job's thread | that job's window |
//! | zero not set | `M` plus what the zero check was off by |
//! | a thimble turn misread, typed readings only | `M` plus or minus 0.025 in or 0.5 mm |
//!
//! Sources: a fallen wire and crest contacts are plain geometry; the effect of a wrong wire is the
//! wire coefficient of ASME B1.2; the thimble turn is common practice, no published source. A slip
//! of the decimal point is not in the list: a display cannot make one.
//!
//! # How they are ranked
//!
//! First those that explain the reading, within the noise: the narrower the prediction, the more
//! its coming true says. Then the rest, by how far the reading is from them. Equal ones go by how
//! common the mistake is. Two mistakes at once are not tried.

use crate::helix;
use crate::judge::Judge;
use crate::seat::{Seat, seat};
use crate::thread::{Geometry, Thread};
use crate::units::{Length, Pitch, Unit};
use crate::wires::Wires;

mod cause;
mod predict;

pub use cause::{Cause, OtherSeat};

/// How far the crest of an ordinary thread may lie below its largest major diameter, as a share of
/// the pitch: the major diameter tolerance of class 2A (ASME B1.1, 0.060 P^(2/3) in) or 6g (ISO
/// 965-1) is about this on common sizes. From memory: check against your copy.
pub const CREST_SPREAD: f64 = 0.15;

/// A set of wires of the register that is not the active one.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherSet {
    /// Its name.
    pub name: String,
    /// Its wires.
    pub wires: Wires,
}

/// Another job's thread, by the readings that would pass on it.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherJob {
    /// Its name, with the feature where it has several.
    pub name: String,
    /// Smallest and largest reading that pass.
    pub window: (Length, Length),
}

/// What reading was to be expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Expected {
    /// One inside the limits; without limits, that of the basic size.
    Finished,
    /// One between passes.
    AfterPass {
        /// The last reading that was believed on this piece.
        before: Length,
        /// The most that can have come off since; `None` when nothing is known.
        most_cut: Option<Length>,
    },
}

/// Where the unit of a reading came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitFrom {
    /// The instrument sent it with the reading: the unit is not in question.
    Reading,
    /// It was assumed, from a setting.
    Setting(Unit),
}

/// A reading to be explained, and what is known around it.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The reading, as it was taken.
    pub over_wires: Length,
    /// The active thread and wires.
    pub judge: &'a Judge,
    /// What was to be expected.
    pub expected: Expected,
    /// How far apart two readings of one size may lie; see [`crate::cutting::usual_noise`].
    pub noise: Length,
    /// Where its unit came from.
    pub unit: UnitFrom,
    /// Whether a person typed it from a thimble, rather than a display sending it.
    pub typed: bool,
    /// The crest as measured on this piece; `None` takes the largest the thread may have and
    /// allows for an ordinary crest tolerance.
    pub crest: Option<Length>,
    /// What the last zero check read too much; `None` when there was none.
    pub zero_offset: Option<Length>,
    /// Other sets of wires of the register.
    pub other_sets: &'a [OtherSet],
    /// Other jobs of the register.
    pub other_jobs: &'a [OtherJob],
}

/// One mistake that may lie behind a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Hypothesis {
    /// The mistake.
    pub cause: Cause,
    /// The predicted reading that is nearest to the actual one.
    pub predicted: Length,
    /// Smallest and largest reading the mistake predicts.
    pub range: (Length, Length),
    /// How far the actual reading is from the range, without sign; zero inside it.
    pub off_by: Length,
    /// Whether the actual reading is as near as two readings of one size are.
    pub explains: bool,
}

/// All that was tried on a reading, the likeliest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// The hypotheses, ranked.
    pub hypotheses: Vec<Hypothesis>,
}

/// Tries every usual mistake on a reading.
///
/// ```
/// use overwire_core::diagnosis::{Expected, Question, UnitFrom, diagnose};
/// use overwire_core::{judge::Judge, thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("1/2-13 UNC-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.04441)?)?);
/// let judge = Judge::new(&thread, &wires)?;
/// let diagnosis = diagnose(&Question {
///     over_wires: Length::from_mm(0.514)?, // the display showed 0.514 and was set to inch
///     judge: &judge,
///     expected: Expected::Finished,
///     noise: Length::from_mm(0.01)?,
///     unit: UnitFrom::Setting(Unit::Millimetre),
///     typed: false,
///     crest: None,
///     zero_offset: None,
///     other_sets: &[],
///     other_jobs: &[],
/// });
/// let likeliest = diagnosis.likeliest().ok_or("nothing explains it")?;
/// assert_eq!(likeliest.cause.code(), "other-unit");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn diagnose(question: &Question) -> Diagnosis {
    let Some(expected) = question.expected_range() else {
        return Diagnosis {
            hypotheses: Vec::new(),
        };
    };
    let mut hypotheses: Vec<Hypothesis> = predict::all(question, expected)
        .into_iter()
        .map(|(cause, range)| question.compare(cause, range))
        .collect();
    hypotheses.sort_by(|one, other| one.order().total_cmp_with(&other.order()));
    Diagnosis { hypotheses }
}

/// What a reading falls by when a wire has fallen out and the anvil lies on the crests of one
/// side: half of what the reading stands above the crest. It looks like a slightly small thread.
///
/// ```
/// use overwire_core::diagnosis::fallen_wire_drop;
/// use overwire_core::units::{Length, Unit};
/// let drop = fallen_wire_drop(Length::from_inches(0.5166)?, Length::from_inches(0.5)?);
/// assert_eq!(drop.to_text(Unit::Inch, 4), "0.0083 in");
/// # Ok::<(), overwire_core::units::UnitError>(())
/// ```
pub fn fallen_wire_drop(over_wires: Length, crest: Length) -> Length {
    over_wires - predict::fallen_wire(over_wires, crest)
}

/// The pitch that makes unusable wires usable on a multi-start thread, when it was the lead that
/// was entered as the pitch; `None` when the wires can be used as it is, or not even then.
///
/// Where the crest is known, this mistake shows before anything is read: wires that suit the
/// pitch lie below the crest of a groove that is several times as wide.
pub fn pitch_behind_the_lead(thread: &Thread, wires: &Wires) -> Option<Length> {
    if thread.geometry.starts < 2 || Judge::new(thread, wires).is_ok() {
        return None;
    }
    let pitch = thread.geometry.pitch.length() * (1.0 / f64::from(thread.geometry.starts));
    let geometry = Geometry {
        pitch: Pitch::from_length(pitch).ok()?,
        ..thread.geometry
    };
    let meant = Thread {
        geometry,
        ..thread.clone()
    };
    Judge::new(&meant, wires).ok().map(|_| pitch)
}

/// Smallest and largest of some readings.
type Range = (Length, Length);

impl Question<'_> {
    /// What was to be expected; `None` when not even that can be reckoned.
    fn expected_range(&self) -> Option<Range> {
        let finished = || {
            self.judge.window().or_else(|| {
                let (smallest, largest) = self.judge.thread().pitch_diameter_zone();
                Some((
                    self.reading_at(smallest, self.judge.wires())?,
                    self.reading_at(largest, self.judge.wires())?,
                ))
            })
        };
        match self.expected {
            Expected::Finished => finished(),
            Expected::AfterPass { before, most_cut } => {
                let low = match most_cut {
                    Some(most_cut) => before - most_cut,
                    None => finished()?.0,
                };
                Some(if low < before {
                    (low, before)
                } else {
                    (before, before)
                })
            }
        }
    }

    /// What is read over these wires on the active thread; where the anvil meets the crest first,
    /// the crest.
    fn reading_at(&self, pitch_diameter: Length, wires: &Wires) -> Option<Length> {
        reading_on(&self.judge.thread().geometry, pitch_diameter, wires)
    }

    fn compare(&self, cause: Cause, range: Range) -> Hypothesis {
        let actual = self.over_wires;
        let predicted = if actual < range.0 {
            range.0
        } else if actual > range.1 {
            range.1
        } else {
            actual
        };
        let off_by = (actual - predicted).abs();
        Hypothesis {
            cause,
            predicted,
            range,
            off_by,
            explains: off_by <= self.noise,
        }
    }
}

/// The reading on a thread of this geometry; `None` where the wires sit on neither flanks nor crest.
fn reading_on(geometry: &Geometry, pitch_diameter: Length, wires: &Wires) -> Option<Length> {
    let seated = helix::over_wires(geometry, wires, pitch_diameter).ok()?;
    match seat(geometry, wires, &seated) {
        Seat::Ok => Some(seated.over_wires),
        Seat::BelowCrest { crest, .. } => Some(crest),
        _ => None,
    }
}

/// What a hypothesis is ranked by: explaining or not, then width or distance, then commonness.
struct Order(bool, f64, u8);

impl Order {
    fn total_cmp_with(&self, other: &Order) -> std::cmp::Ordering {
        self.0
            .cmp(&other.0)
            .then(self.1.total_cmp(&other.1))
            .then(self.2.cmp(&other.2))
    }
}

impl Hypothesis {
    fn order(&self) -> Order {
        let measure = match self.explains {
            true => self.range.1 - self.range.0,
            false => self.off_by,
        };
        // To a tenth of a micrometre: finer differences say nothing about which it was.
        let rounded = (measure.mm() * 1e4).round();
        Order(!self.explains, rounded, self.cause.commonness())
    }

    /// What may have happened, what would then be read, and what to do: for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |length: Length| length.to_text(unit, places);
        let (low, high) = self.range;
        let reads = match (high - low).mm() < 1e-9 {
            true => text(low),
            false => format!("{} to {}", text(low), text(high)),
        };
        let fit = match self.explains {
            true => "and this reading fits".to_owned(),
            false => format!("and this reading is {} from that", text(self.off_by)),
        };
        format!(
            "{} Then {reads} is read, {fit}. {}",
            self.cause.question(unit, places),
            self.cause.what_to_do()
        )
    }
}

impl Diagnosis {
    /// The likeliest mistake, when one explains the reading.
    pub fn likeliest(&self) -> Option<&Hypothesis> {
        self.hypotheses.first().filter(|first| first.explains)
    }

    /// Those that explain the reading, the likeliest first.
    pub fn explaining(&self) -> impl Iterator<Item = &Hypothesis> {
        self.hypotheses.iter().filter(|tried| tried.explains)
    }

    /// One sentence for a person: the likeliest mistake, or that none fits.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        match self.likeliest() {
            Some(likeliest) => likeliest.sentence(unit, places),
            None => "No usual mistake gives this reading. Lift the wires, wipe wires, thread and \
                     anvils, and read again; if it stays, it may be true."
                .to_owned(),
        }
    }
}
