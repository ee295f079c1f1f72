//! Dot plot by method: every reading of every method on one axis, means and spreads with
//! their intervals, and the band within which a method counts as equivalent.

use super::axis::{Axis, Extent, LEAST_STEPS, Plan};
use super::frame::{Frame, Way};
use super::leaf::Leaf;
use super::quantity::Quantity;
use super::signs;
use super::words::{clipped, left_out};
use super::{Format, Heading, Interval, Picture};
use crate::sheet::{Anchor, Point, at};

/// More methods than this do not fit on a leaf.
const MOST_METHODS: usize = 24;
/// Radius of a dot.
const RADIUS: f64 = 3.0;
/// Dots in a stack are at least this far apart.
const LEAST_RISE: f64 = 1.2;

/// Readings of several methods.
#[derive(Clone, Debug)]
pub struct MethodDots {
    /// Title and notes.
    pub heading: Heading,
    /// What is measured.
    pub quantity: Quantity,
    /// The methods, in the order they are drawn.
    pub methods: Vec<MethodReadings>,
    /// Within these values a method's mean counts as equivalent.
    pub band: Option<Band>,
    /// What the intervals are, e.g. `95 % confidence intervals`.
    pub intervals: String,
}

/// The readings of one method.
#[derive(Clone, Debug)]
pub struct MethodReadings {
    /// What the method is called.
    pub name: String,
    /// Its readings.
    pub readings: Vec<f64>,
    /// Their mean.
    pub mean: Option<Interval>,
    /// Their standard deviation.
    pub spread: Option<Interval>,
}

/// A band on the axis.
#[derive(Clone, Debug)]
pub struct Band {
    /// What it is, e.g. `equivalence band: by hand, within 0.002 mm`.
    pub name: String,
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
}

/// The quantity of a panel of spreads: in tenths of a display step where the spreads are
/// only a few steps.
pub(super) fn spread_quantity(
    quantity: &Quantity,
    spreads: impl IntoIterator<Item = f64>,
) -> Quantity {
    let extent = Extent::of(quantity, spreads);
    if extent.most < LEAST_STEPS / 2.0 {
        quantity.finer()
    } else {
        quantity.clone()
    }
}

/// Where the rows of the methods lie.
struct Rows {
    top: f64,
    height: f64,
    /// Part of a row's height above the dots' foot line.
    foot: f64,
}

impl Rows {
    fn of(leaf: &Leaf, top: f64) -> Rows {
        let (height, foot) = match leaf.measures.narrow {
            true => (78.0, 58.0),
            false => (66.0, 46.0),
        };
        Rows { top, height, foot }
    }

    /// The line on which the dots of a row stand.
    fn foot(&self, row: usize) -> f64 {
        self.top + row as f64 * self.height + self.foot
    }

    fn bottom(&self, count: usize) -> f64 {
        self.top + count as f64 * self.height + 6.0
    }
}

/// Draws a dot plot by method.
pub fn method_dots(data: &MethodDots, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&data.heading, "Dot plot by method", format);
    let shown = &data.methods[..data.methods.len().min(MOST_METHODS)];
    let quantity = &data.quantity;
    let readings = || {
        shown
            .iter()
            .flat_map(|method| method.readings.iter().copied())
    };
    let extent = Extent::of(quantity, readings());
    if extent.is_empty() {
        return leaf.nothing("There are no readings to draw.");
    }
    let lost = readings().filter(|value| quantity.steps(*value).is_none());
    let lost = left_out(lost.count(), "reading");
    words(&mut leaf, data, shown);
    let (first, rows) = first_panel(&leaf, shown, data.band.is_some());
    readings_panel(&mut leaf, data, shown, (first, &rows));
    let (second, rows) = second_panel(&mut leaf, first, rows, shown.len());
    spreads_panel(&mut leaf, data, shown, (second, &rows));
    leaf.say(format!(
        "Under the dots: mean with interval; {}.",
        clipped(&data.intervals)
    ));
    leaf.sentence(lost);
    leaf.finish()
}

/// The place of the panel of readings; a band needs room above for its name.
fn first_panel(leaf: &Leaf, shown: &[MethodReadings], banded: bool) -> (Frame, Rows) {
    let left = names_room(leaf, shown);
    let right = match leaf.measures.narrow {
        true => leaf.measures.right() - 8.0,
        false => left + (leaf.measures.right() - left) * 0.66,
    };
    let top = leaf.y + leaf.measures.line() * if banded { 2.4 } else { 1.2 };
    let rows = Rows::of(leaf, top);
    let frame = Frame {
        left,
        right,
        top,
        bottom: rows.bottom(shown.len()),
    };
    (frame, rows)
}

/// The place of the panel of spreads: beside the first one, or below it on a narrow leaf.
fn second_panel(leaf: &mut Leaf, first: Frame, rows: Rows, count: usize) -> (Frame, Rows) {
    if !leaf.measures.narrow {
        let frame = Frame {
            left: first.right + 66.0,
            right: leaf.measures.right() - 12.0,
            ..first
        };
        return (frame, rows);
    }
    let top = leaf.y + leaf.measures.line() * 1.9;
    let rows = Rows {
        top,
        height: 44.0,
        foot: 24.0,
    };
    let frame = Frame {
        top,
        bottom: rows.bottom(count),
        ..first
    };
    (frame, rows)
}

/// Left edge of the panels: names stand beside the rows, or in them on a narrow leaf.
fn names_room(leaf: &Leaf, shown: &[MethodReadings]) -> f64 {
    let edge = leaf.measures.edge;
    if leaf.measures.narrow {
        return edge + 8.0;
    }
    let widest = shown
        .iter()
        .map(|method| leaf.width_of(&clipped(&method.name)))
        .fold(60.0, f64::max);
    edge + widest.min(220.0) + 16.0
}

fn words(leaf: &mut Leaf, data: &MethodDots, shown: &[MethodReadings]) {
    let quantity = &data.quantity;
    for method in shown {
        let name = clipped(&method.name);
        let mut told = format!("{name}: n {}", method.readings.len());
        if let Some(mean) = method.mean {
            let [value, low, high] = [mean.value, mean.low, mean.high];
            told.push_str(&format!(
                ", mean {} ({} to {})",
                quantity.measured(value),
                quantity.figure(low),
                quantity.figure(high)
            ));
        }
        if let Some(spread) = method.spread {
            let [value, low, high] = [spread.value, spread.low, spread.high];
            told.push_str(&format!(
                ", s {} ({} to {})",
                quantity.united(&quantity.spread(value)),
                quantity.spread(low),
                quantity.spread(high)
            ));
        }
        leaf.tell(format!("{told}."));
    }
    if let Some(band) = &data.band {
        let (low, high) = (quantity.figure(band.low), quantity.measured(band.high));
        leaf.say(format!("Dotted: {}, {low} to {high}.", clipped(&band.name)));
    }
    let more = data.methods.len() - shown.len();
    if more > 0 {
        leaf.say(format!("{more} more methods are not drawn."));
    }
}

fn readings_panel(
    leaf: &mut Leaf,
    data: &MethodDots,
    shown: &[MethodReadings],
    (frame, rows): (Frame, &Rows),
) {
    let quantity = &data.quantity;
    let readings = shown.iter().flat_map(|method| method.readings.iter());
    let band = data.band.iter().flat_map(|band| [band.low, band.high]);
    let extent = Extent::of(quantity, readings.copied().chain(band));
    let axis = level_axis(leaf, quantity, (extent, false), frame);
    frame.level_ticks(leaf, &axis.ticks(), true);
    if let Some(band) = &data.band {
        draw_band(leaf, frame, &axis, band);
    }
    frame.outline(leaf);
    for (row, method) in shown.iter().enumerate() {
        let foot = rows.foot(row);
        name(leaf, frame, &method.name, foot);
        let rise = rows.foot - if leaf.measures.narrow { 20.0 } else { 6.0 };
        let cut = stacks(leaf, &axis, &method.readings, (foot, rise));
        if cut {
            let name = clipped(&method.name);
            leaf.say(format!("{name}: the highest stacks of dots are cut off."));
        }
        if let Some(mean) = method.mean {
            mean_sign(leaf, &axis, &mean, foot + 11.0);
        }
    }
    leaf.say(axis.sentence("", "display step", None));
    leaf.y = frame.name_level(leaf, &quantity.heading());
}

fn level_axis(
    leaf: &Leaf,
    quantity: &Quantity,
    (extent, rooted): (Extent, bool),
    frame: Frame,
) -> Axis {
    let most = if extent.is_empty() { 0.0 } else { extent.most };
    let label = leaf.width_of(&quantity.tick(most as i64)) + 22.0;
    Axis::of(&Plan {
        quantity,
        extent,
        floor: LEAST_STEPS,
        rooted,
        snapped: false,
        ends: (frame.left, frame.right),
        most_ticks: (frame.width() / label).clamp(2.0, 12.0),
    })
}

/// A band with dotted edges, named above.
fn draw_band(leaf: &mut Leaf, frame: Frame, axis: &Axis, band: &Band) {
    let places = (axis.place_clipped(band.low), axis.place_clipped(band.high));
    let (Some(low), Some(high)) = places else {
        return;
    };
    let (corner, opposite) = frame.stripe(Way::Upright, low, high);
    leaf.sheet.rectangle("ch-band", corner, opposite);
    for x in [low, high] {
        let (from, to) = frame.across(Way::Upright, x);
        leaf.sheet.line("ch-band-edge", from, to);
    }
    let room = leaf.measures.right() - frame.left;
    let half = leaf.width_of(&clipped(&band.name)).min(room) / 2.0;
    let most = (leaf.measures.right() - half).max(frame.left + half);
    let centre = ((low + high) / 2.0).clamp(frame.left + half, most);
    let y = frame.top - leaf.measures.text * 0.5;
    leaf.name("ch-text", at(centre, y), Anchor::Middle, (&band.name, room));
}

fn name(leaf: &mut Leaf, frame: Frame, name: &str, foot: f64) {
    let size = leaf.measures.text;
    let (point, room) = match leaf.measures.narrow {
        true => (
            at(frame.left + 5.0, foot - 58.0 + size + 3.0),
            frame.width() - 8.0,
        ),
        false => (
            at(leaf.measures.edge, foot + size * 0.3),
            frame.left - leaf.measures.edge - 12.0,
        ),
    };
    leaf.name("ch-strong", point, Anchor::Start, (name, room));
}

/// Stands the readings of a method on its foot line, those that would overlap on top of each
/// other. Returns whether a stack was too high to draw all of it.
fn stacks(leaf: &mut Leaf, axis: &Axis, readings: &[f64], (foot, rise): (f64, f64)) -> bool {
    let mut places: Vec<f64> = readings
        .iter()
        .filter_map(|reading| axis.place(*reading))
        .collect();
    places.sort_by(f64::total_cmp);
    let mut stacks: Vec<Vec<f64>> = Vec::new();
    for x in places {
        match stacks.last_mut() {
            Some(stack) if stack.first().is_some_and(|first| x - first < 2.0 * RADIUS) => {
                stack.push(x);
            }
            _ => stacks.push(vec![x]),
        }
    }
    let highest = stacks.iter().map(Vec::len).max().unwrap_or(0);
    let step = (rise / highest.max(1) as f64).clamp(LEAST_RISE, 2.0 * RADIUS + 0.6);
    let most = (rise / step).floor().max(1.0) as usize;
    let dots: Vec<Point> = stacks
        .iter()
        .flat_map(|stack| stack.iter().take(most).enumerate())
        .map(|(level, x)| at(*x, foot - RADIUS - level as f64 * step))
        .collect();
    signs::dots(leaf, &dots, RADIUS);
    highest > most
}

/// A mean or spread with its interval, as a diamond on a line with end bars.
fn mean_sign(leaf: &mut Leaf, axis: &Axis, interval: &Interval, y: f64) {
    let Some(x) = axis.place_clipped(interval.value) else {
        return;
    };
    let ends = (
        axis.place_clipped(interval.low),
        axis.place_clipped(interval.high),
    );
    if let (Some(low), Some(high)) = ends {
        let beyond = (
            axis.place_within(interval.low).is_none(),
            axis.place_within(interval.high).is_none(),
        );
        signs::interval(leaf, y, (low, high), beyond);
    }
    signs::diamond(leaf, "ch-mean", at(x, y), 5.5);
}

fn spreads_panel(
    leaf: &mut Leaf,
    data: &MethodDots,
    shown: &[MethodReadings],
    (frame, rows): (Frame, &Rows),
) {
    let spreads = || shown.iter().filter_map(|method| method.spread);
    let largest = spreads().map(|spread| spread.value).fold(0.0, f64::max);
    // A spread of two or three readings has an interval that would dwarf all others.
    let high = |spread: Interval| spread.high.min(5.0 * largest);
    let quantity = spread_quantity(&data.quantity, spreads().map(high));
    let extent = Extent::of(&quantity, spreads().map(high).chain([0.0, largest]));
    let axis = level_axis(leaf, &quantity, (extent, true), frame);
    frame.level_ticks(leaf, &axis.ticks(), true);
    frame.outline(leaf);
    let narrow = leaf.measures.narrow;
    for (row, method) in shown.iter().enumerate() {
        let y = rows.foot(row);
        if narrow {
            let point = at(frame.left + 5.0, y - 10.0);
            let name = (&*method.name, frame.width() - 8.0);
            leaf.name("ch-strong", point, Anchor::Start, name);
        }
        if let Some(spread) = method.spread {
            mean_sign(leaf, &axis, &spread, y);
        }
    }
    let name = format!("standard deviation s{}", unit_behind(&quantity));
    leaf.y = leaf.y.max(frame.name_level(leaf, &name));
}

fn unit_behind(quantity: &Quantity) -> String {
    if quantity.unit.is_empty() {
        String::new()
    } else {
        format!(", {}", clipped(&quantity.unit))
    }
}
