//! Histogram: how often each reading came.
//!
//! A display shows whole steps, so a bar is a whole number of steps wide and its edges lie
//! between steps; bars of any other width would hold more or fewer of the display's numbers
//! than their neighbours and look like a comb.

use super::axis::{Axis, Extent, LEAST_STEPS, Plan, nice};
use super::frame::{Frame, Way};
use super::leaf::Leaf;
use super::lines::{self, Flags, LineEnd};
use super::quantity::Quantity;
use super::words::{clipped, counted, left_out};
use super::{Format, Heading, Picture, Summary, Tolerance};
use crate::sheet::{Point, at};

/// Fewer readings than this say too little of a shape to draw a curve over them.
const LEAST_FOR_CURVE: usize = 30;
/// Bars are at least so wide on the leaf.
const LEAST_BAR: f64 = 4.0;

/// A histogram of readings.
#[derive(Clone, Debug)]
pub struct Histogram {
    /// Title and notes.
    pub heading: Heading,
    /// What is measured.
    pub quantity: Quantity,
    /// What one value is called, e.g. `reading` or `piece`.
    pub noun: String,
    /// The readings that count, in any order.
    pub values: Vec<f64>,
    /// Mean and standard deviation for the caption.
    pub summary: Summary,
    /// The limits of the single piece.
    pub tolerance: Option<Tolerance>,
    /// A fitted distribution; drawn only over 30 readings or more.
    pub density: Option<Density>,
    /// Whether the axis follows the readings even where the tolerance is wider.
    pub zoomed: bool,
}

/// A fitted distribution.
#[derive(Clone, Debug)]
pub struct Density {
    /// What it is, e.g. `normal distribution, mean 12.838, s 0.0021`.
    pub name: String,
    /// Points of its density: a value in the quantity's unit, the density for one unit.
    pub points: Vec<(f64, f64)>,
}

impl Density {
    /// The normal distribution of a mean and a standard deviation, over four of the latter
    /// each way. A standard deviation that is not above 0 gives no points.
    pub fn normal(mean: f64, standard_deviation: f64) -> Density {
        let height = 1.0 / (standard_deviation * (2.0 * std::f64::consts::PI).sqrt());
        let point = |index: i32| {
            let score = f64::from(index) / 20.0;
            let density = height * (-score * score / 2.0).exp();
            (mean + score * standard_deviation, density)
        };
        Density {
            name: "normal distribution with this mean and s".to_owned(),
            points: if standard_deviation > 0.0 {
                (-80..=80).map(point).collect()
            } else {
                Vec::new()
            },
        }
    }
}

/// Bars in display steps: bar `i` holds the steps from `start + i * width` on.
struct Bars {
    start: i64,
    width: i64,
    counts: Vec<usize>,
}

impl Bars {
    /// How wide the bars should be for so many readings over so many steps.
    fn width_for(steps: &[i64], step_on_leaf: f64, most_bars: f64, quantity: &Quantity) -> i64 {
        let (Some(least), Some(most)) = (steps.iter().min(), steps.iter().max()) else {
            return 1;
        };
        let bars = (steps.len() as f64).sqrt().ceil().clamp(6.0, most_bars);
        let for_count = (most - least + 1) as f64 / bars;
        let least_width = for_count.max(LEAST_BAR / step_on_leaf.max(1e-9)).ceil();
        if least_width <= 10.0 {
            least_width as i64
        } else {
            nice(least_width, quantity)
        }
    }

    fn of(steps: &[i64], width: i64) -> Bars {
        let least = steps.iter().min().copied().unwrap_or(0);
        let most = steps.iter().max().copied().unwrap_or(0);
        let start = least.div_euclid(width) * width;
        let last = (most - start).div_euclid(width);
        // `width_for` keeps this below a few hundred.
        let mut counts = vec![0; usize::try_from(last + 1).unwrap_or(1)];
        for step in steps {
            let bar = usize::try_from((step - start).div_euclid(width)).unwrap_or(0);
            if let Some(count) = counts.get_mut(bar) {
                *count += 1;
            }
        }
        Bars {
            start,
            width,
            counts,
        }
    }

    /// The edges of a bar, in display steps: half a step beside the numbers it holds.
    fn edges(&self, bar: usize) -> (f64, f64) {
        let low = (self.start + bar as i64 * self.width) as f64 - 0.5;
        (low, low + self.width as f64)
    }

    /// The first step of the first bar, and the last one of the last.
    fn ends(&self) -> (Option<i64>, Option<i64>) {
        let after = self.start + self.counts.len() as i64 * self.width;
        (Some(self.start), Some(after - 1))
    }

    fn highest(&self) -> usize {
        self.counts.iter().copied().max().unwrap_or(0)
    }
}

/// Most bars of a histogram that somebody else draws.
const MOST_BARS: f64 = 30.0;

/// The bars of a histogram that somebody else draws: where each begins and ends, and how many values it holds.
pub fn bar_counts(values: &[f64], quantity: &Quantity) -> Vec<(f64, f64, usize)> {
    let steps = values.iter().filter_map(|value| quantity.steps(*value));
    let steps: Vec<i64> = steps.map(|steps| steps.round() as i64).collect();
    if steps.is_empty() {
        return Vec::new();
    }
    let width = Bars::width_for(&steps, LEAST_BAR, MOST_BARS, quantity);
    let bars = Bars::of(&steps, width);
    let step = quantity.step();
    let bar = |(index, count): (usize, &usize)| {
        let (low, high) = bars.edges(index);
        (low * step, high * step, *count)
    };
    bars.counts.iter().enumerate().map(bar).collect()
}

/// Draws a histogram.
pub fn histogram(data: &Histogram, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&data.heading, "Histogram", format);
    let quantity = &data.quantity;
    let steps: Vec<i64> = data
        .values
        .iter()
        .filter_map(|value| quantity.steps(*value))
        .map(|steps| steps.round() as i64)
        .collect();
    if steps.is_empty() {
        return leaf.nothing("There are no readings to draw.");
    }
    let lost = data.values.len() - steps.len();
    let ends = |steps: &[i64]| (steps.iter().min().copied(), steps.iter().max().copied());
    let level = level_axis(&leaf, data, ends(&steps));
    let most_bars = if leaf.measures.narrow { 16.0 } else { 36.0 };
    let width = Bars::width_for(&steps, level.step_length(), most_bars, quantity);
    let bars = Bars::of(&steps, width);
    // The axis reaches as far as the bars do.
    let level = level_axis(&leaf, data, bars.ends());
    let curve = curve(data, steps.len(), width as f64 * quantity.step());
    figures(&mut leaf, data, steps.len());
    sentences(&mut leaf, data, &bars, (curve.is_some(), lost));
    leaf.say(level.sentence("", "display step", data.tolerance.as_ref()));
    drawing(&mut leaf, data, &level, (&bars, curve.as_deref()));
    leaf.finish()
}

/// The frame's left and right: the same whatever the counts are, so that the axis of values
/// can be laid out before the bars are counted.
fn sides(leaf: &Leaf) -> (f64, f64) {
    let left = leaf.measures.edge + leaf.width_of("00000") + 10.0;
    (left, leaf.measures.right() - 8.0)
}

fn level_axis(leaf: &Leaf, data: &Histogram, (least, most): (Option<i64>, Option<i64>)) -> Axis {
    let mut extent = Extent::new();
    for step in [least, most] {
        extent.take(step.map(|step| step as f64));
    }
    if let Some(tolerance) = data.tolerance.filter(|_| !data.zoomed) {
        let limits = [tolerance.lower, tolerance.upper].into_iter().flatten();
        extent = extent.with(Extent::of(&data.quantity, limits));
    }
    let ends = sides(leaf);
    let label = data.quantity.tick(extent.most as i64);
    Axis::of(&Plan {
        quantity: &data.quantity,
        extent: Extent {
            least: extent.least - 0.5,
            most: extent.most + 0.5,
        },
        floor: LEAST_STEPS,
        rooted: false,
        snapped: false,
        ends,
        most_ticks: ((ends.1 - ends.0) / (leaf.width_of(&label) + 22.0)).clamp(2.0, 14.0),
    })
}

/// The curve in counts, if it is to be drawn: value and height in readings for a bar.
fn curve(data: &Histogram, count: usize, bar_in_unit: f64) -> Option<Vec<(f64, f64)>> {
    let density = data.density.as_ref()?;
    if count < LEAST_FOR_CURVE {
        return None;
    }
    let scale = count as f64 * bar_in_unit;
    let points: Vec<(f64, f64)> = density
        .points
        .iter()
        .map(|(value, density)| (*value, density * scale))
        .filter(|(value, height)| {
            data.quantity.steps(*value).is_some() && (0.0..1e9).contains(height)
        })
        .collect();
    (points.len() > 1).then_some(points)
}

fn figures(leaf: &mut Leaf, data: &Histogram, count: usize) {
    leaf.figure("n", &count.to_string());
    if let Some(mean) = data.summary.mean {
        leaf.figure("mean", &data.quantity.measured(mean));
    }
    if let Some(spread) = data.summary.standard_deviation {
        let spread = data.quantity.spread(spread);
        leaf.figure("s", &data.quantity.united(&spread));
    }
}

fn sentences(leaf: &mut Leaf, data: &Histogram, bars: &Bars, (curved, lost): (bool, usize)) {
    let quantity = &data.quantity;
    leaf.say(format!(
        "Each bar is {} wide ({}), its edges between steps.",
        counted(bars.width as usize, "display step"),
        quantity.united(&quantity.tick(bars.width)),
    ));
    match &data.density {
        Some(density) if curved => leaf.say(format!("Curve: {}.", clipped(&density.name))),
        Some(_) => leaf.say(format!(
            "No curve is drawn over fewer than {LEAST_FOR_CURVE} readings."
        )),
        None => {}
    }
    leaf.sentence(left_out(lost, &data.noun));
    let told: Vec<String> = bars
        .counts
        .iter()
        .enumerate()
        .map(|(bar, count)| {
            let low = bars.start + bar as i64 * bars.width;
            let high = low + bars.width - 1;
            format!("{} to {}: {count}", quantity.tick(low), quantity.tick(high))
        })
        .collect();
    leaf.tell(format!("Bars: {}.", told.join("; ")));
}

/// The names of the upright lines: tolerance, guarded limits, mean.
fn ends(data: &Histogram) -> Vec<LineEnd> {
    let mut ends = Vec::new();
    if let Some(tolerance) = &data.tolerance {
        ends.extend(lines::tolerance_ends(&data.quantity, tolerance));
    }
    ends.extend(data.summary.mean.map(|value| LineEnd {
        value,
        name: "mean",
        figure: data.quantity.figure(value),
        class: "ch-text",
    }));
    ends
}

fn drawing(
    leaf: &mut Leaf,
    data: &Histogram,
    level: &Axis,
    (bars, curve): (&Bars, Option<&[(f64, f64)]>),
) {
    let (left, right) = sides(leaf);
    let mut frame = Frame {
        left,
        right,
        top: leaf.y,
        bottom: leaf.y,
    };
    let ends = ends(data);
    lines::tell(leaf, &data.quantity, &ends);
    let flags = Flags::of(leaf, frame, level, ends);
    frame.top += leaf.measures.line() * 1.4 + flags.height(leaf);
    frame.bottom = frame.top + leaf.measures.plot * 0.86;
    let noun = Quantity::counting(&format!("{}s", clipped(&data.noun)));
    let upright = count_axis(leaf, frame, bars, curve, &noun);
    frame.upright_ticks(leaf, &upright.ticks());
    let name_y = leaf.y + leaf.measures.text;
    frame.name_upright(leaf, name_y, &noun.heading());
    draw_bars(leaf, frame, (level, &upright), bars);
    draw_curve(leaf, (level, &upright), curve.unwrap_or_default());
    upright_lines(leaf, data, frame, level);
    frame.outline(leaf);
    flags.draw(leaf, frame);
    frame.level_ticks(leaf, &level.ticks(), false);
    leaf.y = frame.name_level(leaf, &data.quantity.heading());
}

/// Tolerance and mean.
fn upright_lines(leaf: &mut Leaf, data: &Histogram, frame: Frame, level: &Axis) {
    if let Some(tolerance) = &data.tolerance {
        lines::draw_tolerance(leaf, frame, level, Way::Upright, tolerance);
    }
    if let Some(x) = data.summary.mean.and_then(|mean| level.place_within(mean)) {
        leaf.sheet
            .line("ch-average", at(x, frame.top), at(x, frame.bottom));
    }
}

/// Counts from 0, high enough for the bars and for what is reasonable of the curve.
fn count_axis(
    leaf: &Leaf,
    frame: Frame,
    bars: &Bars,
    curve: Option<&[(f64, f64)]>,
    noun: &Quantity,
) -> Axis {
    let bars = bars.highest() as f64;
    let curve = curve.unwrap_or_default();
    let curve = curve.iter().map(|point| point.1).fold(0.0, f64::max);
    Axis::of(&Plan {
        quantity: noun,
        extent: Extent {
            least: 0.0,
            most: bars.max(curve.min(1.5 * bars)),
        },
        floor: 4.0,
        rooted: true,
        snapped: true,
        ends: (frame.bottom, frame.top),
        most_ticks: (frame.height() / (leaf.measures.line() * 2.4)).max(3.0),
    })
}

fn draw_bars(leaf: &mut Leaf, frame: Frame, (level, upright): (&Axis, &Axis), bars: &Bars) {
    for (bar, count) in bars.counts.iter().enumerate() {
        if *count == 0 {
            continue;
        }
        let (low, high) = bars.edges(bar);
        let corner = at(level.at_steps(low), upright.at_steps(*count as f64));
        let opposite = at(level.at_steps(high), frame.bottom);
        leaf.sheet.rectangle("ch-bar", corner, opposite);
    }
}

fn draw_curve(leaf: &mut Leaf, (level, upright): (&Axis, &Axis), curve: &[(f64, f64)]) {
    let mut runs: Vec<Vec<Point>> = vec![Vec::new()];
    for (value, height) in curve {
        match (level.place_within(*value), upright.place_within(*height)) {
            (Some(x), Some(y)) => {
                if let Some(run) = runs.last_mut() {
                    run.push(at(x, y));
                }
            }
            // Beyond an end of an axis the curve is not drawn.
            _ => runs.push(Vec::new()),
        }
    }
    runs.retain(|run| run.len() > 1);
    leaf.sheet.strokes("ch-curve", &runs, false);
}
