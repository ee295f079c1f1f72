//! Several ways of measuring the same piece: do they read alike, and do they repeat alike?
//!
//! The two questions are kept apart. Each method is held against a baseline: its bias with an
//! interval, whether it is shown to lie within a margin chosen beforehand (two one-sided tests), and
//! its spread as a ratio. Every method gets one of four verdicts; that no difference was found is
//! never called equivalence.
//!
//! # How a verdict is reached
//!
//! | within the margin shown | difference shown | verdict |
//! | --- | --- | --- |
//! | yes | no | equivalent |
//! | yes | yes | different but within the margin |
//! | no | yes | different |
//! | no | no | not enough readings |
//!
//! From fewer than three readings of a method, or from readings that do not differ at all, nothing is
//! said to lie within the margin: their spread is not known. A known display step makes up for readings
//! that do not differ: it is the least that they are taken to spread by.
//!
//! *Within the margin* is tested for each method by itself: each is a claim of its own. *Difference*
//! is tested for all methods together, so that among many methods none is called different by
//! chance: by Dunnett's T3, which holds its level whether the spreads agree or not. Its interval is the
//! one that is printed. Dunnett's comparisons with one spread for all stand beside it where the spreads
//! are not shown to differ; no verdict rests on them, as a test of spreads lets many a difference through.
//!
//! Paired readings (blocks) take drift out of the bias. Their spread still holds it, so the interval
//! of a ratio of spreads is then, if anything, too wide.

use super::anova::{Blocked, OneWay, welch};
use super::comparisons::{
    Adjusted, Adjustment, Pair, dunnett, dunnett_in_blocks, with_own_spreads,
};
use super::difference::{Difference, Equivalence};
use super::figure::is_beyond;
use super::power::Aim;
use super::spread::{Deviation, SpreadRatio, bartlett, levene};
use super::sums::{moments, range, rounding_of};
use crate::stats::{Interval, Undefined};

mod cautions;
mod figures;
mod readings;
mod settings;
mod words;

pub use cautions::Caution;
pub use figures::{
    Against, MeanAgainst, MethodFigures, More, SameMean, SameSpread, SpreadAgainst, SpreadVerdict,
    Verdict,
};
pub use readings::MethodReadings;
pub use settings::{ComparisonError, Margin, Pairing, Settings};

/// Fewer readings of a method than this get a caution.
pub const FEW_READINGS: usize = 10;

/// With fewer readings of a method than this none is called equivalent.
const FEWEST_READINGS: usize = 3;

/// Methods, compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// How.
    pub settings: Settings,
    /// Which method is the baseline, counted from 0.
    pub baseline: usize,
    /// How the chance of a false difference among many methods was kept down.
    pub adjustment: Adjustment,
    /// Each method by itself, in the order given.
    pub methods: Vec<MethodFigures>,
    /// Each method but the baseline against it.
    pub against: Vec<Against>,
    /// Each against the baseline with one spread for all (Dunnett), of three methods and more whose
    /// spreads are not shown to differ.
    pub one_spread: Option<Vec<Pair>>,
    /// Whether all methods have one mean.
    pub same_mean: SameMean,
    /// Whether all methods have one spread.
    pub same_spread: SameSpread,
}

impl Comparison {
    /// Compares methods with the one at `baseline`.
    ///
    /// # Errors
    /// [`ComparisonError`] when there is nothing to compare, a reading is no number, or paired readings
    /// are not pairs. Figures that cannot be had are undefined one by one.
    ///
    /// ```
    /// use overwire_core::study::{Comparison, ComparisonSettings, Margin, MethodReadings, Verdict};
    /// let method = |name: &str, readings: [f64; 6]| MethodReadings {
    ///     name: name.to_owned(),
    ///     readings: readings.to_vec(),
    /// };
    /// let methods = [
    ///     method("bare", [13.571, 13.572, 13.570, 13.571, 13.573, 13.571]),
    ///     method("grease", [13.571, 13.571, 13.571, 13.572, 13.572, 13.571]),
    /// ];
    /// let settings = ComparisonSettings::usual(Margin::share_of(0.100, 0.10));
    /// let comparison = Comparison::of(&methods, 0, settings)?;
    /// let mean = comparison.against[0].mean?;
    /// assert_eq!(mean.verdict, Verdict::Equivalent);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(
        methods: &[MethodReadings],
        baseline: usize,
        settings: Settings,
    ) -> Result<Comparison, ComparisonError> {
        settings.check()?;
        let base = checked(methods, baseline, settings.pairing)?;
        let groups: Vec<&[f64]> = methods.iter().map(|one| one.readings.as_slice()).collect();
        let same_spread = same_spread(&groups, &settings);
        let differences = differences(&groups, baseline, &settings);
        let adjusted = with_own_spreads(&differences, 1.0 - settings.significance);
        let others = methods
            .iter()
            .enumerate()
            .filter(|(index, _)| *index != baseline);
        let against = others
            .zip(differences.iter().zip(&adjusted))
            .map(|((_, method), (difference, adjusted))| Against {
                name: method.name.clone(),
                mean: mean_against(
                    difference,
                    adjusted,
                    [&method.readings, &base.readings],
                    adjusted_for(&settings, methods.len()),
                    &settings,
                ),
                spread: spread_against(&method.readings, &base.readings, &settings),
            })
            .collect();
        Ok(Comparison {
            settings,
            baseline,
            adjustment: match differences.len() {
                1 => Adjustment::None,
                _ => Adjustment::OwnSpreads,
            },
            one_spread: one_spread(&groups, baseline, &settings, &same_spread),
            methods: methods.iter().map(|one| figures(one, &settings)).collect(),
            against,
            same_mean: same_mean(&groups, &settings),
            same_spread,
        })
    }

    /// The baseline's name.
    pub fn baseline_name(&self) -> &str {
        let baseline = self.methods.get(self.baseline);
        baseline.map_or("the baseline", |method| method.name.as_str())
    }
}

/// The significance that is left for each of the methods held against the baseline, for reckoning
/// how many readings it takes.
fn adjusted_for(settings: &Settings, methods: usize) -> f64 {
    settings.significance / methods.saturating_sub(1).max(1) as f64
}

fn checked(
    methods: &[MethodReadings],
    baseline: usize,
    pairing: Pairing,
) -> Result<&MethodReadings, ComparisonError> {
    if methods.len() < 2 {
        return Err(ComparisonError::TooFewMethods {
            found: methods.len(),
        });
    }
    let base = methods.get(baseline).ok_or(ComparisonError::NoBaseline {
        baseline,
        methods: methods.len(),
    })?;
    for method in methods {
        if method.readings.iter().any(|reading| !reading.is_finite()) {
            return Err(ComparisonError::NotFinite {
                method: method.name.clone(),
            });
        }
        if pairing == Pairing::Blocks && method.readings.len() != base.readings.len() {
            return Err(ComparisonError::Unpaired {
                method: method.name.clone(),
                found: method.readings.len(),
                other: base.name.clone(),
                expected: base.readings.len(),
            });
        }
    }
    Ok(base)
}

fn figures(method: &MethodReadings, settings: &Settings) -> MethodFigures {
    let deviation = Deviation::of(&method.readings);
    MethodFigures {
        name: method.name.clone(),
        count: method.readings.len(),
        mean: moments(&method.readings).map(|moments| moments.mean),
        deviation,
        deviation_interval: deviation.and_then(|found| found.interval(1.0 - settings.significance)),
    }
}

fn differences(
    groups: &[&[f64]],
    baseline: usize,
    settings: &Settings,
) -> Vec<Result<Difference, Undefined>> {
    let base = groups.get(baseline).copied().unwrap_or_default();
    let (of_pair, of_reading) = settings.least_deviations();
    let others = groups
        .iter()
        .enumerate()
        .filter(|(index, _)| *index != baseline);
    others
        .map(|(_, group)| match settings.pairing {
            Pairing::Blocks => Difference::of_pairs(group, base, of_pair),
            Pairing::Apart => Difference::of_groups(group, base, of_reading),
        })
        .collect()
}

/// Dunnett's comparisons, where nothing says that there is no one spread for all.
fn one_spread(
    groups: &[&[f64]],
    baseline: usize,
    settings: &Settings,
    spread: &SameSpread,
) -> Option<Vec<Pair>> {
    if groups.len() < 3 || spread.differ {
        return None;
    }
    let confidence = 1.0 - settings.significance;
    match settings.pairing {
        Pairing::Blocks => dunnett_in_blocks(groups, baseline, confidence).ok(),
        Pairing::Apart => dunnett(groups, baseline, confidence).ok(),
    }
}

fn mean_against(
    difference: &Result<Difference, Undefined>,
    adjusted: &Result<Adjusted, Undefined>,
    readings: [&Vec<f64>; 2],
    significance: f64,
    settings: &Settings,
) -> Result<MeanAgainst, Undefined> {
    let difference = (*difference)?;
    let adjusted = (*adjusted)?;
    let estimate = difference.estimate;
    let margin = settings.margin.length_mm;
    let equivalence = Equivalence::test(&estimate, margin, settings.significance)?;
    let interval = estimate.interval(1.0 - settings.significance)?;
    let shown = adjusted.probability < settings.significance;
    let needed = || more(&difference, significance, settings);
    let unreliable = unreliable(&readings, difference.count, settings, needed);
    let verdict = match (equivalence.is_shown(), shown, unreliable) {
        (true, false, None) => Verdict::Equivalent,
        (true, true, None) => Verdict::DifferentWithinMargin,
        (_, true, _) => Verdict::Different {
            beyond_margin: is_beyond(&equivalence.interval, margin),
        },
        (_, false, Some(more)) => Verdict::NotEnough(more),
        (false, false, None) => Verdict::NotEnough(needed()),
    };
    Ok(MeanAgainst {
        difference,
        interval,
        probability: estimate.probability_against(0.0)?,
        adjusted,
        equivalence,
        share: settings.margin.share(estimate.value),
        verdict,
    })
}

/// What is missing before anything is said to lie within the margin; `None` when nothing is.
fn unreliable(
    readings: &[&Vec<f64>; 2],
    count: usize,
    settings: &Settings,
    needed: impl Fn() -> More,
) -> Option<More> {
    let missing = FEWEST_READINGS.saturating_sub(count);
    let still = |readings: &&Vec<f64>| range(readings) <= rounding_of(&[readings]);
    match missing {
        // A known step is the least that readings are taken to spread by.
        0 if settings.step_mm.is_some() || !readings.iter().any(still) => None,
        0 => Some(More::NoSpread),
        _ => Some(match needed() {
            More::Readings(more) => More::Readings(more.max(missing)),
            other => other,
        }),
    }
}

/// How many more readings would decide, one way or the other, if bias and spread stay as they are.
fn more(difference: &Difference, significance: f64, settings: &Settings) -> More {
    let aim = Aim {
        difference: difference.estimate.value,
        basis: difference.basis,
        significance: settings.significance,
    };
    let margin = settings.margin.length_mm;
    // From few readings the spread is hardly known: no number of further ones is a promise below the usual least.
    let least = FEW_READINGS.saturating_sub(difference.count).max(1);
    match aim.readings_to_decide(margin, significance, settings.chance) {
        Some(count) => More::Readings(count.saturating_sub(difference.count).max(least)),
        None => More::TooMany,
    }
}

fn spread_against(
    readings: &[f64],
    base: &[f64],
    settings: &Settings,
) -> Result<SpreadAgainst, Undefined> {
    let confidence = 1.0 - settings.significance;
    let ratio = SpreadRatio::of(&Deviation::of(readings)?, &Deviation::of(base)?, confidence)?;
    Ok(SpreadAgainst {
        ratio,
        levene: levene(&[readings, base]),
        verdict: match ratio.interval {
            Interval { low, .. } if low > 1.0 => SpreadVerdict::Wider,
            Interval { high, .. } if high < 1.0 => SpreadVerdict::Tighter,
            _ => SpreadVerdict::NotShown,
        },
    })
}

fn same_spread(groups: &[&[f64]], settings: &Settings) -> SameSpread {
    let levene = levene(groups);
    SameSpread {
        levene,
        bartlett: bartlett(groups),
        differ: levene.is_ok_and(|ratio| ratio.probability < settings.spread_significance),
    }
}

fn same_mean(groups: &[&[f64]], settings: &Settings) -> SameMean {
    SameMean {
        one_way: OneWay::of(groups),
        welch: welch(groups),
        blocked: (settings.pairing == Pairing::Blocks).then(|| Blocked::of(groups)),
    }
}
