//! Series as pictures: what the questions of a process have in common.

use overwire_core::stats::individuals::{Individuals, moving_ranges};
use overwire_core::stats::limits::ControlLimits;
use overwire_core::stats::series::Series;
use overwire_core::stats::{Moments, Readings};

use super::Shown;
use super::signals::Order;
use crate::chart;

/// The values of a chart by place: none where a reading is missing; left-out ones with their reason.
pub(super) fn places(series: &Series, shown: &Shown) -> (Vec<Option<f64>>, Vec<chart::Exclusion>) {
    use overwire_core::stats::series::Gap;
    let mut values = vec![None; series.places()];
    let mut exclusions = Vec::new();
    for (index, mm) in series.readings().iter().enumerate() {
        if let Some(value) = values.get_mut(series.place(index).saturating_sub(1)) {
            *value = Some(shown.value(*mm));
        }
    }
    let mut gaps = series
        .gaps()
        .iter()
        .filter(|gap| !matches!(gap.gap, Gap::FreshStart { .. }));
    let empty: Vec<usize> = (0..values.len())
        .filter(|&at| values[at].is_none())
        .collect();
    for at in empty {
        if let Some(gap) = gaps.next()
            && let Gap::Excluded { reading, reason } = &gap.gap
        {
            values[at] = Some(shown.value(*reading));
            exclusions.push(chart::Exclusion {
                index: at,
                reason: reason.clone(),
            });
        }
    }
    (values, exclusions)
}

/// Limits that hold from the first point on.
pub(super) fn lines(limits: &ControlLimits, shown: &Shown) -> Vec<chart::ControlLimits> {
    vec![chart::ControlLimits {
        from: 0,
        lower: limits.lower.map(|mm| shown.value(mm)),
        centre: Some(shown.value(limits.centre)),
        upper: limits.upper.map(|mm| shown.value(mm)),
    }]
}

/// Mean and standard deviation of what counts.
pub(super) fn summary(series: &Series, shown: &Shown) -> chart::Summary {
    let moments =
        Readings::of_numbers(series.readings()).and_then(|readings| Moments::of(&readings));
    chart::Summary {
        mean: moments
            .as_ref()
            .ok()
            .map(|moments| shown.value(moments.mean)),
        standard_deviation: moments
            .and_then(|moments| moments.standard_deviation())
            .ok()
            .map(|mm| shown.value(mm)),
    }
}

/// The limits of individuals and of their moving ranges, as they are drawn, and the steps beyond theirs.
#[derive(Default)]
pub(super) struct Drawn {
    /// The limits of the points.
    pub limits: Vec<chart::ControlLimits>,
    /// The limits of the moving ranges.
    pub range_limits: Vec<chart::ControlLimits>,
    /// The moving ranges beyond them.
    pub wide: Vec<chart::Signal>,
}

impl Drawn {
    /// Of a chart with one set of limits.
    pub fn of(series: &Series, chart: &Individuals, shown: &Shown) -> Drawn {
        Drawn {
            limits: lines(&chart.limits, shown),
            range_limits: lines(&chart.range_limits, shown),
            wide: wide_signals(series, &chart.wide_steps(series), &Order::default()),
        }
    }
}

/// Steps that are wider than chance, as they are marked.
pub(super) fn wide_signals(series: &Series, wide: &[usize], order: &Order) -> Vec<chart::Signal> {
    let noun = order.noun();
    let signal = |index: &usize| {
        let place = series.place(*index);
        let named = order.named(place, place);
        chart::Signal {
            index: place.saturating_sub(1),
            rule: "1".to_owned(),
            meaning: "a step wider than chance".to_owned(),
            words: format!("The step to {noun} {place}{named} is wider than chance."),
        }
    };
    wide.iter().map(signal).collect()
}

/// Individuals with their moving ranges, as they are drawn.
pub(super) struct Individually<'a> {
    /// Title of the picture, the line below it and sentences for the end of the caption.
    pub heading: chart::Heading,
    /// What is measured.
    pub quantity: chart::Quantity,
    /// What a point is.
    pub noun: &'static str,
    /// The points.
    pub series: &'a Series,
    /// Their limits.
    pub drawn: Drawn,
    /// What stands out among them.
    pub signals: Vec<chart::Signal>,
    /// What changed between them.
    pub marks: Vec<chart::Mark>,
}

/// Draws individuals with their moving ranges.
pub(super) fn individuals(asked: Individually<'_>, shown: &Shown) -> chart::Picture {
    let series = asked.series;
    let (values, exclusions) = places(series, shown);
    let mut ranges = vec![None; values.len()];
    for (index, range) in moving_ranges(series).enumerate() {
        if let Some(place) = ranges.get_mut(series.place(index).saturating_sub(1)) {
            *place = range.map(|mm| shown.value(mm));
        }
    }
    let data = chart::ControlChart {
        heading: asked.heading,
        quantity: asked.quantity,
        noun: asked.noun.to_owned(),
        upper: chart::ControlPanel {
            kind: chart::PanelKind::Individuals,
            values,
            exclusions,
            limits: asked.drawn.limits,
            signals: asked.signals,
        },
        lower: chart::ControlPanel {
            kind: chart::PanelKind::MovingRanges,
            values: ranges,
            exclusions: Vec::new(),
            limits: asked.drawn.range_limits,
            signals: asked.drawn.wide,
        },
        marks: asked.marks,
    };
    chart::control_chart(&data, &shown.format)
}
