//! Means and spreads of groups as a picture.

use overwire_core::stats::Undefined;
use overwire_core::stats::groups::{GroupChart, GroupSpread};
use overwire_core::stats::limits::ControlLimits;
use overwire_core::stats::phases::JudgedPoints;

use super::super::pictures::places;
use super::super::signals::{Order, told_signals};
use super::held::Held;
use super::{Question, Shown};
use crate::chart;

/// Draws means above, ranges or standard deviations below.
pub fn picture(
    heading: chart::Heading,
    question: &Question,
    held: &Held<'_>,
    shown: &Shown,
) -> chart::Picture {
    let groups = held.groups();
    let panel = |kind, series, judged: &JudgedPoints, limits| chart::ControlPanel {
        kind,
        values: places(series, shown).0,
        exclusions: Vec::new(),
        limits,
        signals: told_signals(&judged.signals, &judged.series, &Order::default()),
    };
    let spread = match groups.spread {
        GroupSpread::Range => chart::PanelKind::Ranges,
        GroupSpread::Deviation | GroupSpread::PooledDeviation => {
            chart::PanelKind::StandardDeviations
        }
    };
    let of_means = lines(held, GroupChart::mean_limits, shown);
    let of_spreads = lines(held, GroupChart::spread_limits, shown);
    let data = chart::ControlChart {
        heading,
        quantity: shown.quantity(&question.pieces.quantity),
        noun: "group".to_owned(),
        upper: panel(
            chart::PanelKind::Means,
            &groups.means,
            &held.means,
            of_means,
        ),
        lower: panel(spread, &groups.spreads, &held.spreads, of_spreads),
        marks: held.marks(),
    };
    chart::control_chart(&data, &shown.format)
}

/// The limits of each group; those of neighbours of one size and phase once.
fn lines(
    held: &Held<'_>,
    limits: fn(&GroupChart, u32) -> Result<ControlLimits, Undefined>,
    shown: &Shown,
) -> Vec<chart::ControlLimits> {
    let mut lines: Vec<chart::ControlLimits> = Vec::new();
    for (from, size) in held.groups().each_size().enumerate() {
        let found = held
            .chart_of(from)
            .and_then(|chart| limits(chart, size))
            .ok();
        let value = |mm: Option<f64>| mm.map(|mm| shown.value(mm));
        let line = chart::ControlLimits {
            from,
            lower: value(found.and_then(|limits| limits.lower)),
            centre: value(found.map(|limits| limits.centre)),
            upper: value(found.and_then(|limits| limits.upper)),
        };
        let ends = |line: &chart::ControlLimits| (line.lower, line.centre, line.upper);
        if lines.last().is_none_or(|last| ends(last) != ends(&line)) {
            lines.push(line);
        }
    }
    lines
}
