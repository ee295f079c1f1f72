//! Run chart and control charts: readings in the order they were taken.

use super::axis::{Axis, Extent, Plan};
use super::leaf::Leaf;
use super::lines;
use super::ordered::{Laid, Panel};
use super::quantity::Quantity;
use super::words::counted;
use super::{
    ControlLimits, Exclusion, Format, Heading, Mark, Picture, Signal, Summary, Tolerance, marks,
};

/// A run chart: every reading of one feature in the order it was taken.
#[derive(Clone, Debug)]
pub struct RunChart {
    /// Title and notes.
    pub heading: Heading,
    /// What is measured.
    pub quantity: Quantity,
    /// What one point is called, e.g. `reading` or `piece`.
    pub noun: String,
    /// The readings; a missing one is a gap.
    pub values: Vec<Option<f64>>,
    /// Mean and standard deviation of those that count.
    pub summary: Summary,
    /// Those that do not count.
    pub exclusions: Vec<Exclusion>,
    /// The limits of the single piece.
    pub tolerance: Option<Tolerance>,
    /// Control limits, if they are to be shown beside the tolerance; in order of `from`.
    pub limits: Vec<ControlLimits>,
    /// Points where a rule speaks up.
    pub signals: Vec<Signal>,
    /// Changes of job, wires or tool.
    pub marks: Vec<Mark>,
    /// Whether the axis follows the readings even where the tolerance is wider; the caption
    /// says so.
    pub zoomed: bool,
}

/// A control chart: two panels over the same order of points. Tolerance limits have no place
/// on it: they apply to single pieces.
#[derive(Clone, Debug)]
pub struct ControlChart {
    /// Title and notes.
    pub heading: Heading,
    /// What is measured.
    pub quantity: Quantity,
    /// What one point is called, e.g. `piece` or `subgroup`.
    pub noun: String,
    /// The upper panel: individuals or means.
    pub upper: ControlPanel,
    /// The lower panel: moving ranges, ranges or standard deviations.
    pub lower: ControlPanel,
    /// Changes of job, wires or tool.
    pub marks: Vec<Mark>,
}

/// One panel of a control chart.
#[derive(Clone, Debug)]
pub struct ControlPanel {
    /// What its points are.
    pub kind: PanelKind,
    /// The points; a missing one is a gap (the first moving range is always missing).
    pub values: Vec<Option<f64>>,
    /// Points that do not count.
    pub exclusions: Vec<Exclusion>,
    /// Control limits, in order of `from`.
    pub limits: Vec<ControlLimits>,
    /// Points where a rule speaks up.
    pub signals: Vec<Signal>,
}

/// What the points of a panel are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PanelKind {
    /// Single values.
    Individuals,
    /// Means of subgroups.
    Means,
    /// Differences of neighbours, without sign.
    MovingRanges,
    /// Ranges of subgroups.
    Ranges,
    /// Standard deviations of subgroups.
    StandardDeviations,
    /// Averages of all readings so far, the latest weighing most.
    WeightedAverages,
    /// Cumulative sums: of what lies above the target and of what lies below it, the larger.
    CumulativeSums,
}

impl PanelKind {
    fn words(self) -> &'static str {
        match self {
            PanelKind::Individuals => "individuals",
            PanelKind::Means => "means of subgroups",
            PanelKind::MovingRanges => "moving ranges",
            PanelKind::Ranges => "ranges of subgroups",
            PanelKind::StandardDeviations => "standard deviations of subgroups",
            PanelKind::WeightedAverages => "weighted averages",
            PanelKind::CumulativeSums => "larger of the cumulative sums above and below the target",
        }
    }

    /// Whether the points measure a spread, which starts at 0.
    fn is_spread(self) -> bool {
        !matches!(
            self,
            PanelKind::Individuals | PanelKind::Means | PanelKind::WeightedAverages
        )
    }
}

/// Draws a run chart.
pub fn run_chart(chart: &RunChart, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&chart.heading, "Run chart", format);
    let noun = super::words::clipped(&chart.noun);
    let panel = Panel {
        quantity: chart.quantity.clone(),
        name: chart.quantity.heading(),
        of: String::new(),
        step: "display step",
        absent: 0,
        noun: &noun,
        count: chart.values.len(),
        values: &chart.values,
        exclusions: &chart.exclusions,
        signals: &chart.signals,
        limits: &chart.limits,
        tolerance: chart.tolerance.as_ref(),
        zoomed: chart.zoomed,
        rooted: false,
    };
    if !panel.has_points() {
        return leaf.nothing("There are no readings to draw.");
    }
    figures(&mut leaf, chart);
    lines::tell(&mut leaf, &panel.quantity, &panel.ends());
    let top = leaf.y + above(&leaf, &chart.marks);
    let mut laid = panel.lay(&leaf, top, top + leaf.measures.plot);
    let (left, right) = laid.rooms(&leaf);
    laid.place(left, leaf.measures.width - right);
    laid.draw(&mut leaf, &chart.marks);
    let above = tabs(&leaf, &chart.marks) + name_gap(&leaf);
    laid.name(&mut leaf, above);
    marks::draw_tabs(&mut leaf, laid.frame(), laid.order(), (&chart.marks, &noun));
    let count = chart.values.len();
    leaf.y = order_axis(&mut leaf, &laid, count, &noun);
    leaf.finish()
}

/// Room above a panel: what it shows, and the tabs of marks.
fn above(leaf: &Leaf, marks: &[Mark]) -> f64 {
    tabs(leaf, marks) + name_gap(leaf) + leaf.measures.text * 0.9
}

/// Height of the row of tabs, if there is one.
fn tabs(leaf: &Leaf, marks: &[Mark]) -> f64 {
    if marks.is_empty() {
        0.0
    } else {
        leaf.measures.text * 1.3 + 3.0
    }
}

/// From the top of a panel to the line on which its name stands.
fn name_gap(leaf: &Leaf) -> f64 {
    leaf.measures.text * 0.85
}

/// Count, mean, spread and extremes of the readings that count, and how many are outside.
fn figures(leaf: &mut Leaf, chart: &RunChart) {
    let quantity = &chart.quantity;
    let excluded = super::series::Excluded::of(&chart.exclusions, chart.values.len());
    let values = chart.values.iter().enumerate();
    let counting: Vec<f64> = values
        .filter(|(index, _)| !excluded.contains(*index))
        .filter_map(|(_, value)| *value)
        .filter(|value| quantity.steps(*value).is_some())
        .collect();
    leaf.figure("n", &counting.len().to_string());
    let Summary {
        mean,
        standard_deviation,
    } = chart.summary;
    if let Some(mean) = mean {
        leaf.figure("mean", &quantity.measured(mean));
    }
    if let Some(spread) = standard_deviation {
        leaf.figure("s", &quantity.united(&quantity.spread(spread)));
    }
    let least = counting.iter().copied().reduce(f64::min);
    let most = counting.iter().copied().reduce(f64::max);
    if let (Some(least), Some(most)) = (least, most) {
        leaf.figure("lowest", &quantity.given(least));
        leaf.figure("highest", &quantity.given(most));
    }
    if excluded.count() > 0 {
        leaf.figure("excluded", &excluded.count().to_string());
    }
    line_kinds(leaf, chart, &counting);
}

/// What the kinds of lines are, and how many readings the tolerance leaves outside.
fn line_kinds(leaf: &mut Leaf, chart: &RunChart, counting: &[f64]) {
    if let Some(tolerance) = chart.tolerance {
        // A limit is kept by a reading that stands on it, to a thousandth of a display step.
        let slack = chart.quantity.step() * 1e-3;
        let outside = counting.iter().filter(|value| {
            tolerance.lower.is_some_and(|lower| **value < lower - slack)
                || tolerance.upper.is_some_and(|upper| **value > upper + slack)
        });
        let outside = counted(outside.count(), &chart.noun);
        leaf.say(format!("Solid, hatched: tolerance, {outside} outside."));
    }
    if !chart.limits.is_empty() {
        leaf.say("Dashed: control limits.");
    }
}

/// The axis that counts the points. Returns the height the drawing reaches.
fn order_axis(leaf: &mut Leaf, laid: &Laid, count: usize, noun: &str) -> f64 {
    let frame = laid.frame();
    let quantity = Quantity::counting(noun);
    let widest = leaf.width_of(&count.to_string()) + 14.0;
    let axis = Axis::of(&Plan {
        quantity: &quantity,
        extent: Extent {
            least: 1.0,
            most: count as f64,
        },
        floor: 1.0,
        rooted: false,
        snapped: false,
        ends: (frame.left, frame.right),
        most_ticks: (frame.width() / widest.max(36.0)).clamp(1.0, 20.0),
    });
    let spacing = frame.width() / count.max(1) as f64;
    let ticks: Vec<(f64, String)> = axis
        .ticks()
        .into_iter()
        .filter_map(|(_, label)| {
            let number: usize = label.parse().ok()?;
            let inside = (1..=count).contains(&number);
            inside.then_some((frame.left + (number as f64 - 0.5) * spacing, label))
        })
        .collect();
    frame.level_ticks(leaf, &ticks, false);
    frame.name_level(leaf, &format!("{noun} number"))
}

/// Draws a control chart.
pub fn control_chart(chart: &ControlChart, format: &Format) -> Picture {
    let kinds = [chart.upper.kind, chart.lower.kind].map(PanelKind::words);
    let kind = format!("Control chart: {} and {}", kinds[0], kinds[1]);
    let mut leaf = Leaf::new(&chart.heading, &kind, format);
    let noun = super::words::clipped(&chart.noun);
    let upper = panel_of(chart, &chart.upper, &noun);
    let lower = panel_of(chart, &chart.lower, &noun);
    if !upper.has_points() {
        return leaf.nothing("There are no points to draw.");
    }
    let points = chart.upper.values.iter().flatten().count();
    leaf.figure("points", &points.to_string());
    for panel in [&upper, &lower] {
        leaf.tell(format!("{}:", panel.name));
        lines::tell(&mut leaf, &panel.quantity, &panel.ends());
    }
    let (upper, lower) = lay_pair(&leaf, chart, (upper, lower));
    for laid in [&upper, &lower] {
        laid.draw(&mut leaf, &chart.marks);
    }
    let above = tabs(&leaf, &chart.marks) + name_gap(&leaf);
    upper.name(&mut leaf, above);
    let above = name_gap(&leaf);
    lower.name(&mut leaf, above);
    let marked = (&chart.marks[..], &*noun);
    marks::draw_tabs(&mut leaf, upper.frame(), upper.order(), marked);
    leaf.say("Dashed: control limits, not tolerance.");
    let count = chart.upper.values.len().max(chart.lower.values.len());
    leaf.y = order_axis(&mut leaf, &lower, count, &noun);
    leaf.finish()
}

/// Lays two panels out, one below the other, over the same order of points.
fn lay_pair<'a>(
    leaf: &Leaf,
    chart: &ControlChart,
    (upper, lower): (Panel<'a>, Panel<'a>),
) -> (Laid<'a>, Laid<'a>) {
    let heights = (leaf.measures.plot * 0.8, leaf.measures.plot * 0.52);
    let top = leaf.y + above(leaf, &chart.marks);
    let mut upper = upper.lay(leaf, top, top + heights.0);
    let second = top + heights.0 + leaf.measures.line() * 2.6;
    let mut lower = lower.lay(leaf, second, second + heights.1);
    let (left, right) = upper.rooms(leaf);
    let (lower_left, lower_right) = lower.rooms(leaf);
    let (left, right) = (left.max(lower_left), right.max(lower_right));
    for laid in [&mut upper, &mut lower] {
        laid.place(left, leaf.measures.width - right);
    }
    (upper, lower)
}

fn panel_of<'a>(chart: &'a ControlChart, panel: &'a ControlPanel, noun: &'a str) -> Panel<'a> {
    let is_spread = panel.kind.is_spread();
    let quantity = match panel.kind {
        PanelKind::StandardDeviations => {
            super::methods::spread_quantity(&chart.quantity, panel.values.iter().flatten().copied())
        }
        _ => chart.quantity.clone(),
    };
    Panel {
        name: format!("{}: {}", quantity.heading(), panel.kind.words()),
        quantity,
        of: format!(" of {}", panel.kind.words()),
        step: match panel.kind {
            PanelKind::StandardDeviations => "step",
            _ => "display step",
        },
        // None before the first point, and none across a change.
        absent: match panel.kind {
            PanelKind::MovingRanges => 1 + chart.marks.len(),
            _ => 0,
        },
        noun,
        count: chart.upper.values.len().max(chart.lower.values.len()),
        values: &panel.values,
        exclusions: &panel.exclusions,
        signals: &panel.signals,
        limits: &panel.limits,
        tolerance: None,
        zoomed: false,
        rooted: is_spread,
    }
}
