//! Charts for short runs of different parts: deviations from nominal, standardised deviations.
//!
//! A few pieces of one thread, a few of the next: none gives limits by itself. What they have in common is
//! the machine, so the deviations from each part's nominal go on one chart. That needs about the same
//! spread for all parts; where it differs, each deviation is divided by its part's sigma first. The nominal
//! is what was aimed at, not the mean of earlier pieces.
//!
//! Source: common practice; equality of spread by Levene's test about the median (Brown & Forsythe, 1974,
//! from memory); the limit of a standardised moving range is `2/√π + 3 sqrt(2 - 4/π)` = 3.686.

use std::collections::BTreeMap;
use std::f64::consts::{FRAC_2_SQRT_PI, PI};

use serde::{Deserialize, Serialize};

use super::distribution::f_beyond;
use super::individuals::{Individuals, IndividualsSettings, moving_ranges};
use super::limits::ControlLimits;
use super::run_rules::{RunRules, Signals};
use super::series::Series;
use super::{Figure, Undefined};
use crate::decimal::format_to;

/// Parts whose spreads differ by more than this factor hardly belong on one chart of plain deviations.
/// Common practice, no source.
pub const MOST_SPREAD_RATIO: f64 = 1.3;

/// Pieces of one part, one after another.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The part: a name that tells parts apart.
    pub part: String,
    /// What was aimed at, in millimetres.
    pub nominal: f64,
    /// The readings, in order.
    pub readings: Vec<f64>,
}

/// Whether the step from one part to the next counts as a moving range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartChange {
    /// It does not: what the change of setting adds stays out of sigma.
    #[default]
    Breaks,
    /// It does: more moving ranges, and the change of setting in them.
    Counts,
}

impl PartChange {
    /// The setting as it is printed with a chart.
    pub const fn words(self) -> &'static str {
        match self {
            PartChange::Breaks => "moving ranges within a run only",
            PartChange::Counts => "moving ranges across part changes too",
        }
    }
}

/// The deviations from nominal of all runs on one chart.
///
/// ```
/// use overwire_core::stats::short_run::{Deviations, PartChange, Run};
/// let run = |part: &str, nominal: f64, readings: &[f64]| Run {
///     part: part.to_owned(),
///     nominal,
///     readings: readings.to_vec(),
/// };
/// let runs = [run("A", 25.0, &[25.003, 25.001]), run("B", 12.7, &[12.699, 12.702])];
/// let chart = Deviations::of(&runs, PartChange::Breaks)?;
/// assert_eq!(chart.changes, [2]);
/// assert!((chart.limits()?.limits.centre - 0.00125).abs() < 1e-12);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Deviations {
    /// The deviations, in order; a part change is a fresh start where it breaks the chain.
    pub series: Series,
    /// The index of the first reading after each change of part.
    pub changes: Vec<usize>,
    /// How part changes were treated.
    pub part_change: PartChange,
}

impl Deviations {
    /// The deviations of the readings from the nominals.
    ///
    /// # Errors
    /// [`Undefined::NotAReading`] for a reading or a nominal that is no number.
    pub fn of(runs: &[Run], part_change: PartChange) -> Result<Deviations, Undefined> {
        Deviations::scaled(runs, part_change, |_| Ok(1.0))
    }

    fn scaled(
        runs: &[Run],
        part_change: PartChange,
        sigma: impl Fn(&Run) -> Figure,
    ) -> Result<Deviations, Undefined> {
        let (mut series, mut changes) = (Series::default(), Vec::new());
        for (index, run) in runs.iter().enumerate() {
            if index > 0 {
                changes.push(series.readings().len());
                if part_change == PartChange::Breaks {
                    series.push_fresh_start(&format!("change to {}", run.part));
                }
            }
            let sigma = sigma(run)?;
            for reading in &run.readings {
                series.push((reading - run.nominal) / sigma)?;
            }
        }
        Ok(Deviations {
            series,
            changes,
            part_change,
        })
    }

    /// Limits of the deviations and their moving ranges.
    ///
    /// # Errors
    /// As [`Individuals::of`].
    pub fn limits(&self) -> Result<Individuals, Undefined> {
        Individuals::of(&self.series, IndividualsSettings::default())
    }

    /// The settings as they are printed with a chart.
    pub fn settings_words(&self) -> String {
        format!(
            "Deviations from nominal of all parts on one chart; {}.",
            self.part_change.words()
        )
    }
}

/// Deviations from nominal, each counted in its part's sigma.
#[derive(Debug, Clone, PartialEq)]
pub struct Standardised {
    /// The standardised deviations.
    pub deviations: Deviations,
    /// The moving range of each; `None` where it has no neighbour before it.
    pub moving_ranges: Vec<Option<f64>>,
}

impl Standardised {
    /// The limits of a standardised deviation: 0 ± 3.
    pub const LIMITS: ControlLimits = ControlLimits::about(0.0, 3.0);

    /// Divides each deviation by its part's sigma, in millimetres.
    ///
    /// # Errors
    /// [`Undefined`] for a part without a sigma above zero, or a reading that is no number.
    pub fn of(
        runs: &[Run],
        sigmas: &BTreeMap<String, f64>,
        part_change: PartChange,
    ) -> Result<Standardised, Undefined> {
        let sigma = |run: &Run| match sigmas.get(&run.part) {
            Some(&sigma) if sigma > 0.0 && sigma.is_finite() => Ok(sigma),
            found => Err(Undefined::Senseless {
                what: "the sigma of a part",
                found: found.copied().unwrap_or_default(),
            }),
        };
        let deviations = Deviations::scaled(runs, part_change, sigma)?;
        Ok(Standardised {
            moving_ranges: moving_ranges(&deviations.series).collect(),
            deviations,
        })
    }

    /// The limits of a standardised moving range.
    pub fn range_limits() -> ControlLimits {
        let upper = FRAC_2_SQRT_PI + 3.0 * (2.0 - 4.0 / PI).sqrt();
        ControlLimits::of_spread(FRAC_2_SQRT_PI, 0.0, upper)
    }

    /// What run rules find among the deviations.
    pub fn signals(&self, rules: RunRules) -> Signals {
        Signals::find(&self.deviations.series, Standardised::LIMITS.zones(), rules)
    }
}

/// Whether the parts spread alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadsCompared {
    /// How many parts were compared: those with three readings at least.
    pub parts: usize,
    /// How many readings stand behind it.
    pub count: usize,
    /// The largest standard deviation over the smallest.
    pub ratio: f64,
    /// Levene's figure about the median.
    pub levene: f64,
    /// How often chance alone would give spreads so different.
    pub chance: f64,
}

impl SpreadsCompared {
    /// Compares the spreads of the deviations, part by part, all runs of a part together.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than two parts of three readings, or when one of them does not spread.
    pub fn of(runs: &[Run]) -> Result<SpreadsCompared, Undefined> {
        let mut parts: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for run in runs {
            let deviations = run.readings.iter().map(|reading| reading - run.nominal);
            parts.entry(&run.part).or_default().extend(deviations);
        }
        parts.retain(|_, deviations| deviations.len() >= 3);
        Undefined::unless_enough("parts of three readings", 2, parts.len())?;
        let spreads: Result<Vec<f64>, Undefined> =
            parts.values().map(|part| deviation(part)).collect();
        let spreads = spreads?;
        let largest = spreads.iter().copied().fold(0.0, f64::max);
        let smallest = spreads.iter().copied().fold(f64::INFINITY, f64::min);
        if smallest <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        let (levene, chance) = levene(&parts.into_values().collect::<Vec<_>>())?;
        Ok(SpreadsCompared {
            parts: spreads.len(),
            count: runs.iter().map(|run| run.readings.len()).sum(),
            ratio: largest / smallest,
            levene,
            chance,
        })
    }

    /// Whether plain deviations should not share a chart.
    pub fn differ(&self) -> bool {
        self.chance < 0.05
    }

    /// In words.
    pub fn sentence(&self) -> String {
        let ratio = format_to(self.ratio, 2);
        let chance = format_to(self.chance * 100.0, 1);
        match (self.differ(), self.ratio > MOST_SPREAD_RATIO) {
            (true, _) => format!(
                "The parts spread differently (ratio {ratio}, by chance in {chance} % of cases): divide the \
                 deviations by each part's sigma."
            ),
            (false, true) => format!(
                "The largest spread is {ratio} times the smallest, which may be chance ({chance} %): look at \
                 it again with more readings."
            ),
            (false, false) => format!("The parts spread alike (ratio {ratio})."),
        }
    }
}

fn deviation(numbers: &[f64]) -> Figure {
    let mut sums = super::running::Running::default();
    sums.take(numbers);
    sums.moments()?.standard_deviation()
}

/// Levene's figure about the median, and how often chance gives one as large.
fn levene(groups: &[Vec<f64>]) -> Result<(f64, f64), Undefined> {
    let away: Vec<Vec<f64>> = groups
        .iter()
        .map(|group| {
            let middle = super::individuals::median(&mut group.clone()).unwrap_or_default();
            group.iter().map(|number| (number - middle).abs()).collect()
        })
        .collect();
    let mean = |numbers: &[f64]| numbers.iter().sum::<f64>() / numbers.len() as f64;
    let all: Vec<f64> = away.iter().flatten().copied().collect();
    let (overall, count) = (mean(&all), all.len());
    let (mut between, mut within) = (0.0, 0.0);
    for group in &away {
        let here = mean(group);
        between += group.len() as f64 * (here - overall).powi(2);
        within += group.iter().map(|away| (away - here).powi(2)).sum::<f64>();
    }
    let (upper, lower) = ((away.len() - 1) as f64, (count - away.len()) as f64);
    if within <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let ratio = between / upper / (within / lower);
    let chance = f_beyond(ratio, upper, lower).ok_or(Undefined::NoSpread)?;
    Ok((ratio, chance))
}
