//! Bias over size: what masters of several sizes read more than they are, with the line through it and
//! the interval of its height.

use super::axis::{Axis, Extent, LEAST_STEPS, Plan};
use super::frame::{Frame, Way, room_for_labels};
use super::leaf::Leaf;
use super::quantity::Quantity;
use super::signs;
use super::words::{clipped, left_out};
use super::{Format, Heading, Picture};
use crate::sheet::{Point, at};

/// More dots than this are thinned.
const MOST_DOTS: usize = 4000;

/// Bias over size.
#[derive(Clone, Debug)]
pub struct BiasOverSize {
    /// Title and notes.
    pub heading: Heading,
    /// How a bias is counted.
    pub quantity: Quantity,
    /// The sizes it is drawn over.
    pub along: Quantity,
    /// Readings: the size, and how much more was read.
    pub points: Vec<(f64, f64)>,
    /// The mean of each size.
    pub means: Vec<(f64, f64)>,
    /// The line with its interval, at places from the smallest size to the largest; empty where none holds.
    pub line: Vec<Height>,
    /// What the interval is, e.g. `interval of the line's height: 95 %`.
    pub basis: String,
}

/// The line at one place.
#[derive(Clone, Copy, Debug)]
pub struct Height {
    /// Where along.
    pub along: f64,
    /// The height of the line.
    pub value: f64,
    /// The interval's lower end.
    pub low: f64,
    /// The interval's upper end.
    pub high: f64,
}

/// Draws bias over size.
pub fn bias_over_size(data: &BiasOverSize, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&data.heading, "Bias over size", format);
    let drawable = |points: &[(f64, f64)]| -> Vec<(f64, f64)> {
        let inside = |point: &&(f64, f64)| {
            data.along.steps(point.0).is_some() && data.quantity.steps(point.1).is_some()
        };
        points.iter().filter(inside).copied().collect()
    };
    let (points, means) = (drawable(&data.points), drawable(&data.means));
    if points.is_empty() {
        return leaf.nothing("There are no readings to draw.");
    }
    words(&mut leaf, data, points.len(), means.len());
    let top = leaf.y + leaf.measures.line() * 1.6;
    let mut frame = Frame {
        left: leaf.measures.edge,
        right: leaf.measures.right() - room_for_last(&leaf, data, &points),
        top,
        bottom: top + leaf.measures.plot,
    };
    let upright = upright_axis(&leaf, data, &points, frame);
    frame.left += room_for_labels(&leaf, &upright);
    leaf.say(upright.sentence("", "display step", None));
    let level = level_axis(&leaf, data, &points, frame);
    frame.upright_ticks(&mut leaf, &upright.ticks());
    let place = |(along, value): (f64, f64)| {
        let x = level.place_within(along)?;
        Some(at(x, upright.place_within(value)?))
    };
    draw_line(&mut leaf, data, (&level, &upright));
    if let Some(zero) = upright.place_within(0.0) {
        let (from, to) = frame.across(Way::Level, zero);
        leaf.sheet.line("ch-level", from, to);
    }
    frame.outline(&mut leaf);
    draw_points(&mut leaf, points.into_iter().filter_map(place).collect());
    for mean in means.into_iter().filter_map(place) {
        signs::diamond(&mut leaf, "ch-mean", mean, 6.0);
    }
    let name_y = frame.top - leaf.measures.text * 0.7;
    frame.name_upright(&mut leaf, name_y, &data.quantity.heading());
    frame.level_ticks(&mut leaf, &level.ticks(), false);
    leaf.y = frame.name_level(&mut leaf, &data.along.heading());
    leaf.finish()
}

/// Room at the right, so that the last label of the sizes stands under its tick.
fn room_for_last(leaf: &Leaf, data: &BiasOverSize, points: &[(f64, f64)]) -> f64 {
    let extent = Extent::of(&data.along, points.iter().map(|point| point.0));
    let label = leaf.width_of(&data.along.tick(extent.most as i64));
    (label / 2.0).min(60.0)
}

fn words(leaf: &mut Leaf, data: &BiasOverSize, count: usize, masters: usize) {
    leaf.figure("n", &count.to_string());
    leaf.figure("masters", &masters.to_string());
    leaf.say("Dots: readings; diamonds: the mean of each master; level line: no bias.");
    match data.line.is_empty() {
        true => leaf.say("No line is drawn: none holds."),
        false => leaf.say("Solid: the line through the readings, in its interval."),
    }
    let finer = data.quantity.finer();
    for (size, bias) in &data.means {
        let size = data.along.united(&data.along.given(*size));
        leaf.tell(format!("At {size} the bias is {}.", finer.measured(*bias)));
    }
    let basis = clipped(&data.basis);
    if !basis.is_empty() && !data.line.is_empty() {
        leaf.say(format!("{basis}."));
    }
    leaf.sentence(left_out(data.points.len() - count, "reading"));
}

fn upright_axis(leaf: &Leaf, data: &BiasOverSize, points: &[(f64, f64)], frame: Frame) -> Axis {
    let ends = data.line.iter().flat_map(|each| [each.low, each.high]);
    let biases = points.iter().map(|point| point.1);
    leaf.upright_axis(&data.quantity, biases.chain(ends).chain([0.0]), frame)
}

fn level_axis(leaf: &Leaf, data: &BiasOverSize, points: &[(f64, f64)], frame: Frame) -> Axis {
    let extent = Extent::of(&data.along, points.iter().map(|point| point.0));
    let label = leaf.width_of(&data.along.tick(extent.most as i64)) + 22.0;
    Axis::of(&Plan {
        quantity: &data.along,
        extent,
        floor: LEAST_STEPS,
        rooted: false,
        snapped: false,
        ends: (frame.left, frame.right),
        most_ticks: (frame.width() / label).clamp(2.0, 14.0),
    })
}

/// The interval of the line's height as a tinted area, and the line in it.
fn draw_line(leaf: &mut Leaf, data: &BiasOverSize, (level, upright): (&Axis, &Axis)) {
    let mut edges: [Vec<Point>; 3] = Default::default();
    for height in data.line.iter().take(2000) {
        let heights = [height.low, height.value, height.high];
        let places = heights.map(|value| upright.place_clipped(value));
        let (Some(x), [Some(low), Some(value), Some(high)]) =
            (level.place_within(height.along), places)
        else {
            continue;
        };
        for (edge, y) in edges.iter_mut().zip([low, value, high]) {
            edge.push(at(x, y));
        }
    }
    let [lower, line, upper] = edges;
    if line.len() > 1 {
        let around: Vec<Point> = lower.iter().chain(upper.iter().rev()).copied().collect();
        leaf.sheet.path("ch-spread", &around, true);
        leaf.sheet.strokes("ch-spread-edge", &[lower, upper], false);
        leaf.sheet.strokes("ch-curve", &[line], false);
    }
}

/// The readings; those that fall on one spot are drawn once.
fn draw_points(leaf: &mut Leaf, mut dots: Vec<Point>) {
    let spot = |point: &Point| ((point.x * 2.0) as i64, (point.y * 2.0) as i64);
    dots.sort_by_key(spot);
    dots.dedup_by_key(|point| spot(point));
    if dots.len() > MOST_DOTS {
        let every = dots.len() / MOST_DOTS + 1;
        leaf.say(format!("One of {every} spots is drawn."));
        dots = dots.into_iter().step_by(every).collect();
    }
    let radius = if dots.len() > 250 { 1.7 } else { 2.6 };
    signs::dots(leaf, &dots, radius);
}
