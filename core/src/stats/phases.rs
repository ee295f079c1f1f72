//! Limits that are frozen, and the phases of a chart.
//!
//! Limits that follow every new reading would follow a drift as well. Once there are enough points limits
//! are frozen: they say from when on, from which readings, and which of those were left out and why. From then on
//! readings are held against them until a person freezes others; nothing is worked out anew in silence. A
//! chart may have several phases, one behind another, each with its own limits.

mod groups;
mod phased;

pub use groups::{JudgedPoints, PhasedGroups};
pub use phased::{Part, Phased};

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::Undefined;
use super::groups::{GroupChart, Sizes};
use super::individuals::Individuals;
use super::limits::{ControlLimits, Sigma, Standing};
use super::run_rules::{RunRules, Signals};
use super::series::{Gap, Series};
use crate::units::{Length, Unit};

/// A reading that was left out when limits were frozen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// Its place on the chart, counted from 1.
    pub place: usize,
    /// What it was, in millimetres; `None` when no reading was taken.
    pub reading: Option<f64>,
    /// Why it was left out.
    pub reason: String,
}

/// What limits stand on. Dates and names are texts: this room has no clock.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Freezing {
    /// When and by whom, where a person froze them.
    #[serde(default)]
    pub said: Option<FrozenBy>,
    /// The first reading that stands behind the limits: `reading 7`, `piece 41`, a time.
    pub first_reading: String,
    /// The last one.
    pub last_reading: String,
    /// How the limits were worked out, in words.
    pub settings: String,
}

/// Who froze limits, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FrozenBy {
    /// When.
    pub on: String,
    /// Who.
    pub by: String,
}

/// Limits that stand still.
///
/// ```
/// use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
/// use overwire_core::stats::phases::{Freezing, FrozenBy, FrozenLimits};
/// use overwire_core::stats::series::Series;
///
/// let mut series = Series::from_readings((0..30).map(|n| 9.7 + 0.001 * f64::from(n % 3)).collect())?;
/// series.push_excluded(9.9, "wire slipped")?;
/// let settings = IndividualsSettings::default();
/// let chart = Individuals::of(&series, settings)?;
/// let freezing = Freezing {
///     said: Some(FrozenBy { on: "2031-04-01".to_owned(), by: "M. Vogt".to_owned() }),
///     first_reading: "reading 101".to_owned(),
///     last_reading: "reading 131".to_owned(),
///     settings: settings.settings_words(),
/// };
/// let frozen = FrozenLimits::of_individuals(&chart, &series, freezing);
/// assert_eq!((frozen.count, frozen.left_out.len()), (30, 1));
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FrozenLimits {
    /// The limits of the points.
    pub limits: ControlLimits,
    /// The limits of their moving ranges, ranges or standard deviations.
    pub spread_limits: ControlLimits,
    /// The sigma of single readings.
    pub sigma: Sigma,
    /// How many points stand behind them.
    pub count: usize,
    /// Whether that is enough.
    pub standing: Standing,
    /// Who froze them, when, from what.
    pub freezing: Freezing,
    /// What was left out.
    pub left_out: Vec<LeftOut>,
}

impl FrozenLimits {
    /// Freezes the limits of individuals that were worked out from a series.
    pub fn of_individuals(
        chart: &Individuals,
        series: &Series,
        freezing: Freezing,
    ) -> FrozenLimits {
        FrozenLimits::of_part(chart, series, 0..series.readings().len(), freezing)
    }

    /// Freezes the limits of individuals that were worked out from the counted readings of a range of indices.
    pub fn of_part(
        chart: &Individuals,
        series: &Series,
        range: Range<usize>,
        freezing: Freezing,
    ) -> FrozenLimits {
        FrozenLimits {
            limits: chart.limits,
            spread_limits: chart.range_limits,
            sigma: chart.sigma,
            count: chart.moments.count,
            standing: chart.standing,
            freezing,
            left_out: left_out(series, range),
        }
    }

    /// Freezes the limits of groups of one size that were worked out from a range of them in their series of means.
    ///
    /// # Errors
    /// [`Undefined`] for groups of different sizes, whose limits differ from group to group.
    pub fn of_groups(
        chart: &GroupChart,
        sizes: &Sizes,
        (means, range): (&Series, Range<usize>),
        freezing: Freezing,
    ) -> Result<FrozenLimits, Undefined> {
        let size = match sizes {
            Sizes::Equal(size) => *size,
            Sizes::Each(sizes) => {
                return Err(Undefined::TooMany {
                    of: "sizes of groups",
                    most: 1,
                    found: sizes.len(),
                });
            }
        };
        Ok(FrozenLimits {
            limits: chart.mean_limits(size)?,
            spread_limits: chart.spread_limits(size)?,
            sigma: chart.sigma,
            count: chart.groups,
            standing: chart.standing,
            freezing,
            left_out: left_out(means, range),
        })
    }

    /// What they are, in words, for the foot of a chart; limits have one place more than the readings.
    pub fn words(&self, unit: Unit, places: u8) -> Vec<String> {
        let Freezing {
            said,
            first_reading,
            last_reading,
            settings,
        } = &self.freezing;
        let how = match said {
            Some(FrozenBy { on, by }) => format!("Frozen on {on} by {by}"),
            None => "Limits".to_owned(),
        };
        let frozen = format!(
            "{how} from {first_reading} to {last_reading}, {} points, {}: {}.",
            self.count,
            self.standing.words(),
            self.limits.words(unit, places.saturating_add(1))
        );
        let left = self.left_out.iter().map(|left| {
            let reading = left
                .reading
                .map(|mm| Length::computed(mm).to_text(unit, places));
            let reading = reading.unwrap_or("missing".to_owned());
            format!(
                "Left out: point {} ({reading}), {}.",
                left.place, left.reason
            )
        });
        [frozen, settings.clone()].into_iter().chain(left).collect()
    }
}

/// What was left out among the readings of a range: behind its first one, or before it at the very beginning.
fn left_out(series: &Series, range: Range<usize>) -> Vec<LeftOut> {
    let mut left_out = Vec::new();
    let mut gaps_before = 0;
    for at in series.gaps() {
        let place = at.before + gaps_before + 1;
        let (reading, reason) = match &at.gap {
            Gap::Missing => (None, "no reading was taken".to_owned()),
            Gap::Excluded { reading, reason } => (Some(*reading), reason.clone()),
            Gap::FreshStart { .. } => continue,
        };
        gaps_before += 1;
        let behind = at.before > range.start || range.start == 0;
        if behind && at.before <= range.end {
            left_out.push(LeftOut {
                place,
                reading,
                reason,
            });
        }
    }
    left_out
}

/// One part of a chart, with the limits that hold in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Phase {
    /// The index of its first reading among those that count.
    pub from: usize,
    /// Its limits; `None` where it gives none, and nothing is judged.
    pub limits: Option<FrozenLimits>,
}

/// Limits phase by phase.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Phases {
    phases: Vec<Phase>,
}

impl Phases {
    /// Limits that hold from a reading on; those frozen for a later one before are dropped with it.
    pub fn begin(&mut self, from: usize, limits: FrozenLimits) {
        self.push(from, Some(limits));
    }

    /// No limits hold from a reading on: those of the phase before are not those of what comes.
    pub fn begin_without_limits(&mut self, from: usize) {
        self.push(from, None);
    }

    fn push(&mut self, from: usize, limits: Option<FrozenLimits>) {
        self.phases.retain(|phase| phase.from < from);
        self.phases.push(Phase { from, limits });
    }

    /// The phases, in order.
    pub fn phases(&self) -> &[Phase] {
        &self.phases
    }

    /// The limits that hold for the reading at an index; `None` before the first phase, and in one without.
    pub fn at(&self, index: usize) -> Option<&FrozenLimits> {
        let later = self.phases.partition_point(|phase| phase.from <= index);
        let phase = self.phases.get(later.checked_sub(1)?)?;
        phase.limits.as_ref()
    }

    /// What run rules find on a series held against the limits of each phase, one for each phase that has
    /// limits. No pattern reaches across a gap or from one phase into the next.
    pub fn signals(&self, series: &Series, rules: RunRules) -> Vec<Signals> {
        let ends = self.phases.iter().skip(1).map(|phase| phase.from);
        let ends = ends.chain([series.readings().len()]);
        let found = self.phases.iter().zip(ends).filter_map(|(phase, end)| {
            let zones = phase.limits.as_ref()?.limits.zones();
            Some(Signals::find_within(series, phase.from..end, zones, rules))
        });
        found.collect()
    }
}
