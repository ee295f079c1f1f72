//! Groups held against their limits.

use overwire_core::stats::Undefined;
use overwire_core::stats::groups::{GroupChart, Groups, Sizes};
use overwire_core::stats::run_rules::{RunRules, Signals};
use overwire_core::stats::series::Series;

use super::super::held::FEW_POINTS;

/// What was held against limits, and what stands out.
pub struct Judged {
    /// The points; counted in sigma where each has limits of its own.
    pub judged: Series,
    /// What stands out among them.
    pub signals: Signals,
}

/// Limits of groups, and what stands out.
pub struct Held {
    /// The limits.
    pub chart: GroupChart,
    /// The means.
    pub means: Judged,
    /// The ranges or standard deviations.
    pub spreads: Judged,
}

impl Held {
    /// Holds groups against limits that come from them.
    pub fn of(groups: &Groups, rules: RunRules) -> Result<Held, Undefined> {
        let chart = GroupChart::of(groups)?;
        Ok(Held {
            means: Judged {
                judged: means(&chart, groups)?,
                signals: chart.mean_signals(groups, rules)?,
            },
            spreads: Judged {
                judged: spreads(&chart, groups)?,
                signals: chart.spread_signals(groups, rules)?,
            },
            chart,
        })
    }

    /// Whether anything stands out.
    pub fn verdict(&self) -> String {
        let standing = self.chart.standing.words();
        let (means, spreads) = (
            self.means.signals.hits.len(),
            self.spreads.signals.hits.len(),
        );
        let groups = self.means.judged.readings().len();
        match means + spreads {
            0 if groups < FEW_POINTS => format!(
                "Too few groups to call it steady: nothing stands out among {groups}. The limits: {standing}."
            ),
            0 => format!("Steady as far as these rules see. The limits: {standing}."),
            _ => format!(
                "Not steady: {} and {} stand out. The limits: {standing}.",
                counted(means, "mean"),
                counted(spreads, "spread")
            ),
        }
    }
}

fn counted(count: usize, of: &str) -> String {
    match count {
        0 => format!("no {of}"),
        1 => format!("1 {of}"),
        _ => format!("{count} {of}s"),
    }
}

/// The means as run rules saw them.
fn means(chart: &GroupChart, groups: &Groups) -> Result<Series, Undefined> {
    if matches!(groups.sizes, Sizes::Equal(_)) {
        return Ok(groups.means.clone());
    }
    let points = groups.means.readings().iter().zip(groups.each_size());
    let points = points
        .map(|(mean, size)| (mean - chart.centre) * f64::from(size).sqrt() / chart.sigma.sigma);
    groups.means.with_readings(points.collect())
}

/// The spreads as run rules saw them.
fn spreads(chart: &GroupChart, groups: &Groups) -> Result<Series, Undefined> {
    if matches!(groups.sizes, Sizes::Equal(_)) {
        return Ok(groups.spreads.clone());
    }
    let spreading = groups.each_size().filter(|&size| size > 1);
    let points = groups.spreads.readings().iter().zip(spreading);
    let points = points.map(|(spread, size)| {
        let limits = chart.spread_limits(size)?;
        let upper = limits.upper.unwrap_or(f64::INFINITY);
        Ok((spread - limits.centre) / (upper - limits.centre) * chart.width)
    });
    let points: Result<Vec<f64>, Undefined> = points.collect();
    groups.spreads.with_readings(points?)
}
