//! Readings that stand apart: flagged with the odds, never removed.
//!
//! A flag is a question to a person: did the wire slip, was there a burr, was the micrometer dropped?
//! A reading stays where it is until someone leaves it out for a reason. One test on one set: testing
//! again and again until nothing stands out finds strays in every set; [`generalised_esd`] does so openly, up
//! to a stated number.
//!
//! * [`grubbs`]: one stray, with the odds; blind below about seven readings, and to two strays that
//!   hide each other. Source: F. E. Grubbs, Technometrics 11 (1969) 1; ASTM E178 (from memory).
//! * [`generalised_esd`]: up to a stated number of strays. Source: B. Rosner, Technometrics 25 (1983) 165
//!   (from memory).
//! * [`median_scores`]: distances from the median in median distances, which strays cannot hide. Source:
//!   B. Iglewicz and D. C. Hoaglin, ASQC basic references 16 (1993) (from memory).
//! * [`fences`]: beyond the quartiles by one and a half times and three times their distance.

use super::describe::{Quartiles, quantile};
use super::distribution::{student_beyond, student_quantile};
use super::{Figure, Moments, Readings, Undefined, counted};
use crate::decimal::format_to;

mod median;

pub use median::{MedianScores, ScoreSettings, Yardstick, median_scores};

/// Below this number of readings Grubbs' test hardly ever finds anything.
pub const FEW_FOR_GRUBBS: usize = 7;

/// From this number of readings on the generalised test keeps its promise.
pub const ENOUGH_FOR_ESD: usize = 25;

/// On which side a stray is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Side {
    /// On either.
    #[default]
    Either,
    /// The largest, named beforehand.
    Largest,
    /// The smallest, named beforehand.
    Smallest,
}

impl Side {
    /// What a report prints about it.
    pub const fn words(self) -> &'static str {
        match self {
            Side::Either => "either side",
            Side::Largest => "the largest only",
            Side::Smallest => "the smallest only",
        }
    }

    /// How many readings could have been the stray, of so many.
    const fn chances(self, count: f64) -> f64 {
        match self {
            Side::Either => 2.0 * count,
            Side::Largest | Side::Smallest => count,
        }
    }
}

/// What Grubbs' test says about the reading farthest from the mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grubbs {
    /// How many readings.
    pub count: usize,
    /// The index of the reading.
    pub index: usize,
    /// Its distance from the mean, in standard deviations.
    pub distance: f64,
    /// Beyond this it is suspect.
    pub critical: f64,
    /// How often chance alone would put some reading this far out: at most this, and close to it.
    pub chance: f64,
    /// With which significance it was tested.
    pub significance: f64,
    /// Where it was looked for.
    pub side: Side,
    /// Whether all other readings are the same: a display rounded them alike, so no odds can be told.
    pub others_alike: bool,
}

impl Grubbs {
    /// Whether the reading is suspect.
    pub fn is_suspect(&self) -> bool {
        self.distance > self.critical
    }

    /// Whether there are so few readings that a stray would hardly be found.
    pub const fn is_nearly_blind(&self) -> bool {
        self.count < FEW_FOR_GRUBBS
    }

    /// What a report prints about the conventions.
    pub fn settings_words(&self) -> String {
        format!(
            "Grubbs' test, {}, significance {}, critical value by Student's t (Bonferroni)",
            self.side.words(),
            self.significance
        )
    }

    /// One sentence for a person. Odds are told from enough readings that are not rounded alike.
    pub fn sentence(&self) -> String {
        let which = format!("Reading {} of {}", self.index + 1, self.count);
        if self.is_nearly_blind() {
            return format!(
                "{which} lies farthest from the mean; below {FEW_FOR_GRUBBS} readings no odds are told. If \
                 you doubt it, measure again. With so few readings a stray could hardly be told."
            );
        }
        if self.others_alike {
            return format!(
                "{which} stands alone: all others read the same to the step of the display, so how far \
                 readings spread, and with it the odds, cannot be told. Ask what happened there."
            );
        }
        let lead = format!(
            "{which} lies {} standard deviations from the mean; chance alone would put one that far out {}.",
            format_to(self.distance, 2),
            odds_words(self.chance)
        );
        match self.is_suspect() {
            true => format!("{lead} Ask what happened there."),
            false => lead,
        }
    }
}

/// How often something happens, for a person: no more than two digits of it count.
pub(super) fn odds_words(chance: f64) -> String {
    match chance {
        often if often > 0.5 => "in most sets like this".to_owned(),
        seldom if seldom > 1e-6 => {
            let sets = 1.0 / seldom;
            let digit = 10.0_f64.powf((sets.log10().floor() - 1.0).max(0.0));
            format!("in 1 of {} sets like this", (sets / digit).round() * digit)
        }
        _ => "in less than 1 of 1000000 sets like this".to_owned(),
    }
}

/// The critical value of Grubbs' test,
/// `G = (n-1)/√n √(t²/(n-2+t²))` with t at the significance over `2n` (over `n` for one side).
///
/// A bound: for many readings it lies above printed tables by less than 0.003.
///
/// # Errors
/// [`Undefined`] below three readings or for a significance that is no probability.
///
/// ```
/// use overwire_core::stats::outliers::{Side, grubbs_critical};
/// assert!((grubbs_critical(7, 0.05, Side::Either)? - 2.0200).abs() < 1e-4);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
pub fn grubbs_critical(count: usize, significance: f64, side: Side) -> Figure {
    Undefined::unless_enough("readings", 3, count)?;
    Undefined::unless_probability("a significance", significance)?;
    let number = count as f64;
    let student = upper_student(significance / side.chances(number), number - 2.0)?;
    let square = student * student;
    Ok((number - 1.0) / number.sqrt() * (square / (number - 2.0 + square)).sqrt())
}

/// Student's t with this probability above it.
fn upper_student(beyond: f64, degrees_of_freedom: f64) -> Figure {
    let value = student_quantile(beyond, degrees_of_freedom);
    value.map(|value| -value).ok_or(Undefined::Senseless {
        what: "a significance",
        found: beyond,
    })
}

/// Tests the reading farthest from the mean.
///
/// # Errors
/// [`Undefined`] below three readings, without spread, or for a significance that is no probability.
///
/// ```
/// use overwire_core::stats::Readings;
/// use overwire_core::stats::outliers::{Side, grubbs};
/// let shown = [0.53412, 0.53398, 0.53421, 0.53405, 0.53610, 0.53417, 0.53402];
/// let test = grubbs(&Readings::of_numbers(&shown)?, 0.05, Side::Either)?;
/// assert!(test.is_suspect() && test.index == 4);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
pub fn grubbs(readings: &Readings, significance: f64, side: Side) -> Result<Grubbs, Undefined> {
    let critical = grubbs_critical(readings.len(), significance, side)?;
    let exact = readings.exact();
    let everything: Vec<usize> = (0..exact.len()).collect();
    let (index, distance) = farthest(&exact, &everything, side)?;
    let others = everything.into_iter().filter(|&other| other != index);
    Ok(Grubbs {
        others_alike: alike(&exact, others),
        count: exact.len(),
        index,
        distance,
        critical,
        chance: chance_of(distance, exact.len() as f64, side),
        significance,
        side,
    })
}

/// Whether these readings are all the same.
fn alike(exact: &[f64], mut among: impl Iterator<Item = usize>) -> bool {
    let first = among.next().and_then(|index| exact.get(index));
    let other = |index: usize| exact.get(index) != first;
    !among.any(other)
}

/// How often chance puts a reading this far out: Grubbs' critical value turned round.
fn chance_of(distance: f64, count: f64, side: Side) -> f64 {
    let share = distance * distance * count / ((count - 1.0) * (count - 1.0));
    let student = match share < 1.0 {
        true => ((count - 2.0) * share / (1.0 - share)).sqrt(),
        false => f64::INFINITY,
    };
    let beyond = student_beyond(student, count - 2.0).unwrap_or(1.0);
    (side.chances(count) * beyond).min(1.0)
}

/// The index of the reading farthest from the mean among some, the first of equals, and its distance in
/// standard deviations.
fn farthest(exact: &[f64], among: &[usize], side: Side) -> Result<(usize, f64), Undefined> {
    let of = |index: &usize| exact.get(*index).copied();
    let kept: Vec<f64> = among.iter().filter_map(of).collect();
    let moments = Moments::of(&Readings::of_numbers(&kept)?)?;
    let deviation = moments.standard_deviation()?;
    if deviation <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let origin = kept.first().copied().unwrap_or(0.0);
    let middle = moments.mean - origin;
    let away = |number: f64| match side {
        Side::Either => (number - origin - middle).abs(),
        Side::Largest => number - origin - middle,
        Side::Smallest => middle - (number - origin),
    };
    let mut best = (0, f64::NEG_INFINITY);
    for (&index, &number) in among.iter().zip(&kept) {
        if away(number) > best.1 {
            best = (index, away(number));
        }
    }
    Ok((best.0, best.1 / deviation))
}

/// One step of the generalised test: the reading that stands farthest out after those before it were set
/// aside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EsdStep {
    /// The index of the reading.
    pub index: usize,
    /// Its distance from the mean of what is left, in standard deviations of what is left.
    pub distance: f64,
    /// Beyond this it and all before it are suspect.
    pub critical: f64,
    /// How often chance alone would put some reading of those left this far out.
    pub chance: f64,
}

/// What the generalised test says.
#[derive(Debug, Clone, PartialEq)]
pub struct Esd {
    /// How many readings.
    pub count: usize,
    /// With which significance it was tested.
    pub significance: f64,
    /// The steps, as many as were asked for.
    pub steps: Vec<EsdStep>,
    /// How many readings are suspect: up to the last step beyond its critical value, even when an earlier
    /// one fell short.
    pub suspects: usize,
    /// Whether all readings that are not suspect are the same: then no odds can be told.
    pub others_alike: bool,
}

impl Esd {
    /// The indices of the suspect readings, the farthest first.
    pub fn suspect_indices(&self) -> Vec<usize> {
        let suspects = self.steps.iter().take(self.suspects);
        suspects.map(|step| step.index).collect()
    }

    /// One sentence for a person; `None` without two suspect readings.
    pub fn sentence(&self) -> Option<String> {
        let mut places = self.suspect_indices();
        let last = self.steps.get(self.suspects.checked_sub(1)?)?;
        places.sort_unstable();
        let names: Vec<String> = places.iter().map(|at| (at + 1).to_string()).collect();
        let (end, names) = names.split_last().filter(|(_, rest)| !rest.is_empty())?;
        let odds = match self.others_alike {
            true => {
                "all others read the same to the step of the display, so the odds cannot be told"
                    .to_owned()
            }
            false => format!(
                "with the farther ones set aside, chance alone would put reading {} that far out {}",
                last.index + 1,
                odds_words(last.chance)
            ),
        };
        Some(format!(
            "Readings {} and {end} of {} stand apart: {odds}. Ask what happened there.",
            names.join(", "),
            self.count
        ))
    }

    /// Whether there are fewer readings than the test needs to keep its promise.
    pub const fn is_short_of_readings(&self) -> bool {
        self.count < ENOUGH_FOR_ESD
    }

    /// What a report prints about the conventions.
    pub fn settings_words(&self) -> String {
        format!(
            "generalised extreme studentised deviates, up to {}, significance {}",
            counted(self.steps.len(), "strays"),
            self.significance
        )
    }
}

/// Tests for up to `most` strays. It ends early when what is left has no spread.
///
/// # Errors
/// [`Undefined`] when fewer than three readings would be left, without any spread, or for a
/// significance that is no probability.
pub fn generalised_esd(
    readings: &Readings,
    significance: f64,
    most: usize,
) -> Result<Esd, Undefined> {
    Undefined::unless_probability("a significance", significance)?;
    Undefined::unless_enough("readings", most.saturating_add(2).max(3), readings.len())?;
    let exact = readings.exact();
    let mut among: Vec<usize> = (0..exact.len()).collect();
    let mut steps: Vec<EsdStep> = Vec::new();
    while steps.len() < most {
        let (index, distance) = match farthest(&exact, &among, Side::Either) {
            Err(Undefined::NoSpread) if !steps.is_empty() => break,
            found => found?,
        };
        steps.push(EsdStep {
            index,
            distance,
            critical: grubbs_critical(among.len(), significance, Side::Either)?,
            chance: chance_of(distance, among.len() as f64, Side::Either),
        });
        among.retain(|&other| other != index);
    }
    let beyond = |step: &EsdStep| step.distance > step.critical;
    let suspects = steps.iter().rposition(beyond).map_or(0, |last| last + 1);
    let aside: Vec<usize> = steps.iter().take(suspects).map(|step| step.index).collect();
    Ok(Esd {
        others_alike: alike(
            &exact,
            (0..exact.len()).filter(|index| !aside.contains(index)),
        ),
        count: exact.len(),
        significance,
        steps,
        suspects,
    })
}

/// Two strays and more that hide each other from [`grubbs`]: the generalised test finds them, up to one in
/// five readings and two at least, and each stands out by its distance from the median too. Both together
/// speak of honest readings in 7 of 100 sets of seven and in 5 of 100 sets of ten (simulated).
///
/// # Errors
/// As [`generalised_esd`] and [`median_scores`]; [`Undefined::TooFew`] below seven readings.
pub fn several(readings: &Readings, significance: f64) -> Result<Option<Esd>, Undefined> {
    Undefined::unless_enough("readings", FEW_FOR_GRUBBS, readings.len())?;
    let found = generalised_esd(readings, significance, (readings.len() / 5).max(2))?;
    let scores = median_scores(readings, ScoreSettings::default())?;
    let both = |index: &usize| scores.suspects.contains(index);
    let shown = found.suspects > 1 && found.suspect_indices().iter().all(both);
    Ok(shown.then_some(found))
}

/// Fences about the quartiles, and what lies beyond them.
#[derive(Debug, Clone, PartialEq)]
pub struct Fences {
    /// How many readings.
    pub count: usize,
    /// How quartiles are taken.
    pub quartiles: Quartiles,
    /// One and a half quartile distances below and above the quartiles.
    pub inner: (f64, f64),
    /// Three quartile distances below and above them.
    pub outer: (f64, f64),
    /// Indices beyond the inner fences and within the outer ones.
    pub mild: Vec<usize>,
    /// Indices beyond the outer fences.
    pub extreme: Vec<usize>,
}

/// Sets fences. About seven readings of a thousand normal ones lie beyond the inner fences by chance.
///
/// # Errors
/// [`Undefined`] without readings, or [`Undefined::NoSpread`] when the quartiles are the same.
pub fn fences(readings: &Readings, quartiles: Quartiles) -> Result<Fences, Undefined> {
    let lower = quantile(readings, 0.25, quartiles)?;
    let upper = quantile(readings, 0.75, quartiles)?;
    let distance = upper - lower;
    if distance <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let about = |times: f64| (lower - times * distance, upper + times * distance);
    let (inner, outer) = (about(1.5), about(3.0));
    let beyond = |fence: (f64, f64), index: usize| {
        let reading = readings.get(index);
        reading.is_some_and(|reading| reading < fence.0 || reading > fence.1)
    };
    let (extreme, within): (Vec<usize>, Vec<usize>) =
        (0..readings.len()).partition(|&index| beyond(outer, index));
    let mild = within.into_iter().filter(|&index| beyond(inner, index));
    Ok(Fences {
        count: readings.len(),
        quartiles,
        inner,
        outer,
        mild: mild.collect(),
        extreme,
    })
}

/// Whether a reading just taken asks to be taken again: it lies farther from the median of its set than
/// three standard deviations of a difference of two readings, `3√2 s`, with the repeatability s known
/// beforehand. Common practice, no source.
pub fn asks_to_repeat(reading: f64, set_median: f64, repeatability: f64) -> bool {
    (reading - set_median).abs() > 3.0 * std::f64::consts::SQRT_2 * repeatability
}
