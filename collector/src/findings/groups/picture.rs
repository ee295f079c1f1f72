//! Means and spreads of groups as a picture.

use std::slice::from_ref;

use overwire_core::stats::Undefined;
use overwire_core::stats::groups::{GroupSpread, Groups};
use overwire_core::stats::limits::ControlLimits;

use super::super::pictures::places;
use super::super::signals::{Order, told_signals};
use super::held::{Held, Judged};
use super::{Question, Shown};
use crate::chart;
use crate::findings::heading;

/// Draws means above, ranges or standard deviations below.
pub fn picture(
    question: &Question,
    groups: &Groups,
    (held, notes): (&Held, &[String]),
    shown: &Shown,
) -> chart::Picture {
    let panel = |kind, series, judged: &Judged, limits| chart::ControlPanel {
        kind,
        values: places(series, shown).0,
        exclusions: Vec::new(),
        limits,
        signals: told_signals(from_ref(&judged.signals), &judged.judged, &Order::default()),
    };
    let spread = match groups.spread {
        GroupSpread::Range => chart::PanelKind::Ranges,
        GroupSpread::Deviation | GroupSpread::PooledDeviation => {
            chart::PanelKind::StandardDeviations
        }
    };
    let of_means = by_size(groups, |size| held.chart.mean_limits(size), shown);
    let of_spreads = by_size(groups, |size| held.chart.spread_limits(size), shown);
    let data = chart::ControlChart {
        heading: chart::Heading {
            notes: notes.to_vec(),
            ..heading(&question.title, &question.about)
        },
        quantity: shown.quantity(&question.quantity),
        noun: "group".to_owned(),
        upper: panel(
            chart::PanelKind::Means,
            &groups.means,
            &held.means,
            of_means,
        ),
        lower: panel(spread, &groups.spreads, &held.spreads, of_spreads),
        marks: Vec::new(),
    };
    chart::control_chart(&data, &shown.format)
}

/// The limits of each group; those of neighbours of one size once.
fn by_size(
    groups: &Groups,
    limits: impl Fn(u32) -> Result<ControlLimits, Undefined>,
    shown: &Shown,
) -> Vec<chart::ControlLimits> {
    let mut lines = Vec::new();
    let mut before = None;
    for (from, size) in groups.each_size().enumerate() {
        if before.replace(size) == Some(size) {
            continue;
        }
        let found = limits(size).ok();
        let value = |mm: Option<f64>| mm.map(|mm| shown.value(mm));
        lines.push(chart::ControlLimits {
            from,
            lower: value(found.and_then(|limits| limits.lower)),
            centre: value(found.map(|limits| limits.centre)),
            upper: value(found.and_then(|limits| limits.upper)),
        });
    }
    lines
}
