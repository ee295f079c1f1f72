//! Normal probability plot: readings against the scores that a normal distribution would
//! have given them. Readings of one lie along a straight line.

use super::axis::{Axis, Extent, LEAST_STEPS, Plan};
use super::frame::{Frame, Way};
use super::leaf::Leaf;
use super::lines::{self, Flags};
use super::quantity::Quantity;
use super::signs;
use super::words::{clipped, left_out};
use super::{Format, Heading, Picture, Summary, Tolerance};
use crate::sheet::{Point, at};

/// Scores of the labelled parts of a normal distribution, in percent: quantiles of the
/// standard normal distribution.
const PARTS: [(f64, &str); 13] = [
    (-3.719_016, "0.01"),
    (-3.090_232, "0.1"),
    (-2.326_348, "1"),
    (-1.644_854, "5"),
    (-1.281_552, "10"),
    (-0.674_490, "25"),
    (0.0, "50"),
    (0.674_490, "75"),
    (1.281_552, "90"),
    (1.644_854, "95"),
    (2.326_348, "99"),
    (3.090_232, "99.9"),
    (3.719_016, "99.99"),
];
/// No score is farther out than this.
const LARGEST_SCORE: f64 = 10.0;

/// A normal probability plot.
#[derive(Clone, Debug)]
pub struct NormalPlot {
    /// Title and notes; the outcome of a test of normality belongs into the notes.
    pub heading: Heading,
    /// What is measured.
    pub quantity: Quantity,
    /// What one value is called, e.g. `reading`.
    pub noun: String,
    /// Each reading with its normal score, in any order.
    pub points: Vec<(f64, f64)>,
    /// How the scores were chosen, e.g. `(i - 0.375) / (n + 0.25)`.
    pub positions: String,
    /// Mean and standard deviation: the straight line.
    pub summary: Summary,
    /// The limits of the single piece.
    pub tolerance: Option<Tolerance>,
}

/// Draws a normal probability plot.
pub fn normal_plot(data: &NormalPlot, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&data.heading, "Normal probability plot", format);
    let mut points: Vec<(f64, f64)> = data.points.clone();
    points.retain(|(value, score)| {
        data.quantity.steps(*value).is_some() && score.abs() <= LARGEST_SCORE
    });
    if points.is_empty() {
        return leaf.nothing("There are no readings to draw.");
    }
    points.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)));
    let most = points.iter().map(|point| point.1.abs()).fold(1.7, f64::max) + 0.15;
    let label_room = leaf.width_of("99.99") + 10.0;
    let mut frame = Frame {
        left: leaf.measures.edge + label_room,
        right: leaf.measures.right() - 8.0,
        top: leaf.y,
        bottom: leaf.y,
    };
    let level = level_axis(&leaf, data, &points, frame);
    let tolerance = data.tolerance.unwrap_or_default();
    let ends = lines::tolerance_ends(&data.quantity, &tolerance);
    lines::tell(&mut leaf, &data.quantity, &ends);
    let flags = Flags::of(&leaf, frame, &level, ends);
    let name_y = leaf.y + leaf.measures.text;
    frame.top += leaf.measures.line() * 1.4 + flags.height(&leaf);
    frame.bottom = frame.top + leaf.measures.plot;
    frame.name_upright(&mut leaf, name_y, "part below, % (normal scale)");
    words(&mut leaf, data, points.len());
    leaf.say(level.sentence("", "display step", data.tolerance.as_ref()));
    let scores = Scores { frame, most };
    draw(&mut leaf, data, (&level, &scores), &points);
    flags.draw(&mut leaf, frame);
    leaf.y = frame.name_level(&mut leaf, &data.quantity.heading());
    leaf.finish()
}

/// The upright axis: normal scores.
struct Scores {
    frame: Frame,
    most: f64,
}

impl Scores {
    fn place(&self, score: f64) -> f64 {
        let part = (score + self.most) / (2.0 * self.most);
        self.frame.bottom - part * self.frame.height()
    }

    /// Labelled parts, those that have room.
    fn ticks(&self, line: f64) -> Vec<(f64, String)> {
        let mut ticks: Vec<(f64, String)> = Vec::new();
        // From the middle outward, so that 50 is always there and both sides are alike.
        let mut parts: Vec<_> = PARTS
            .iter()
            .filter(|part| part.0.abs() <= self.most)
            .collect();
        parts.sort_by(|one, other| one.0.abs().total_cmp(&other.0.abs()));
        for (score, label) in parts {
            let y = self.place(*score);
            if ticks.iter().all(|(taken, _)| (taken - y).abs() >= line) {
                ticks.push((y, (*label).to_owned()));
            }
        }
        ticks
    }
}

fn level_axis(leaf: &Leaf, data: &NormalPlot, points: &[(f64, f64)], frame: Frame) -> Axis {
    let values = points.iter().map(|point| point.0);
    let limits = data.tolerance.unwrap_or_default();
    let limits = [limits.lower, limits.upper].into_iter().flatten();
    let extent = Extent::of(&data.quantity, values.chain(limits));
    let label = data.quantity.tick(extent.most as i64);
    Axis::of(&Plan {
        quantity: &data.quantity,
        extent,
        floor: LEAST_STEPS,
        rooted: false,
        snapped: false,
        ends: (frame.left, frame.right),
        most_ticks: (frame.width() / (leaf.width_of(&label) + 22.0)).clamp(2.0, 14.0),
    })
}

fn words(leaf: &mut Leaf, data: &NormalPlot, count: usize) {
    leaf.figure("n", &count.to_string());
    if let Some(mean) = data.summary.mean {
        leaf.figure("mean", &data.quantity.measured(mean));
    }
    if let Some(spread) = data.summary.standard_deviation {
        let spread = data.quantity.spread(spread);
        leaf.figure("s", &data.quantity.united(&spread));
        leaf.say("Line: the normal distribution with this mean and s.");
    }
    let positions = clipped(&data.positions);
    if !positions.is_empty() {
        leaf.say(format!("Plotting positions {positions}."));
    }
    leaf.say("Columns of dots are readings of one display step.");
    leaf.sentence(left_out(data.points.len() - count, &data.noun));
}

fn draw(
    leaf: &mut Leaf,
    data: &NormalPlot,
    (level, scores): (&Axis, &Scores),
    points: &[(f64, f64)],
) {
    let frame = scores.frame;
    frame.upright_ticks(leaf, &scores.ticks(leaf.measures.line()));
    frame.level_ticks(leaf, &level.ticks(), true);
    if let Some(tolerance) = &data.tolerance {
        lines::draw_tolerance(leaf, frame, level, Way::Upright, tolerance);
    }
    frame.outline(leaf);
    if let (Some(mean), Some(spread)) = (data.summary.mean, data.summary.standard_deviation) {
        line(leaf, (level, scores), mean, spread);
    }
    let mut dots: Vec<Point> = Vec::new();
    for (value, score) in points {
        let Some(x) = level.place(*value) else {
            continue;
        };
        let point = at(x, scores.place(*score));
        // Points less than half a unit from the last one would only darken it.
        let near = |last: &Point| (last.x - point.x).hypot(last.y - point.y) < 0.5;
        if !dots.last().is_some_and(near) {
            dots.push(point);
        }
    }
    signs::dots(leaf, &dots, if dots.len() > 300 { 1.8 } else { 3.0 });
}

/// The straight line, as far as it lies in the frame.
fn line(leaf: &mut Leaf, (level, scores): (&Axis, &Scores), mean: f64, spread: f64) {
    let points: Vec<Point> = (-100..=100)
        .map(|part| f64::from(part) / 100.0 * scores.most)
        .filter_map(|score| {
            let x = level.place_within(mean + score * spread)?;
            Some(at(x, scores.place(score)))
        })
        .collect();
    if let (Some(first), Some(last)) = (points.first(), points.last()) {
        leaf.sheet.line("ch-curve", *first, *last);
    }
}
