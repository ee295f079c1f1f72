//! Trend: a line fitted through readings that drift on purpose, as with a wearing edge, the
//! sloped limits around it, and where it will lead.

use super::axis::{Axis, Extent, LEAST_STEPS, Plan};
use super::frame::{Frame, Way, room_for_labels};
use super::leaf::Leaf;
use super::lines;
use super::quantity::Quantity;
use super::signs;
use super::words::{clipped, left_out};
use super::{Format, Heading, Picture, Tolerance};
use crate::sheet::{Anchor, Point, at};

/// More dots than this are thinned.
const MOST_DOTS: usize = 4000;

/// Readings with the lines fitted through them.
#[derive(Clone, Debug)]
pub struct Trend {
    /// Title and notes.
    pub heading: Heading,
    /// What is measured.
    pub quantity: Quantity,
    /// What they are drawn over, e.g. `piece`, or hours in the cut.
    pub along: Quantity,
    /// Readings: where along, and the value.
    pub points: Vec<(f64, f64)>,
    /// The fitted lines, one for each edge of the tool.
    pub segments: Vec<TrendSegment>,
    /// Where the last line leads.
    pub forecast: Option<Forecast>,
    /// The limits of the single piece.
    pub tolerance: Option<Tolerance>,
    /// What the sloped limits and the intervals are, e.g. `sloped limits: line ± 3 s`.
    pub basis: String,
}

/// A fitted line between two places.
#[derive(Clone, Copy, Debug)]
pub struct TrendSegment {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// Its value at 0.
    pub intercept: f64,
    /// Its rise for one unit along.
    pub slope: f64,
    /// Distance of the sloped limits from it.
    pub half_width: f64,
}

/// Where a line leads beyond the last reading.
#[derive(Clone, Debug)]
pub struct Forecast {
    /// The interval ahead: where along, its lower and its upper end.
    pub interval: Vec<(f64, f64, f64)>,
    /// Where the line meets a limit, if it does.
    pub crossing: Option<Crossing>,
}

/// Where a forecast meets a limit.
#[derive(Clone, Debug)]
pub struct Crossing {
    /// Where along, most likely.
    pub at: f64,
    /// Earliest, by the interval.
    pub earliest: Option<f64>,
    /// Latest, by the interval.
    pub latest: Option<f64>,
    /// What is met, e.g. `guarded tolerance max`.
    pub limit: String,
}

impl TrendSegment {
    fn value(&self, along: f64) -> f64 {
        self.intercept + self.slope * along
    }
}

/// Draws a trend.
pub fn trend(data: &Trend, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&data.heading, "Trend", format);
    let mut points = data.points.clone();
    points.retain(|(along, value)| {
        data.along.steps(*along).is_some() && data.quantity.steps(*value).is_some()
    });
    if points.is_empty() {
        return leaf.nothing("There are no readings to draw.");
    }
    words(&mut leaf, data, points.len());
    let tolerance = data.tolerance.unwrap_or_default();
    let ends = lines::tolerance_ends(&data.quantity, &tolerance);
    lines::tell(&mut leaf, &data.quantity, &ends);
    let top = leaf.y + leaf.measures.line() * 1.6;
    let mut frame = Frame {
        left: leaf.measures.edge,
        right: leaf.measures.width - lines::room_for(&leaf, &ends),
        top,
        bottom: top + leaf.measures.plot,
    };
    let upright = upright_axis(&leaf, data, &points, frame);
    frame.left += room_for_labels(&leaf, &upright);
    leaf.say(upright.sentence("", "display step", data.tolerance.as_ref()));
    let level = level_axis(&leaf, data, &points, frame);
    let map = Map {
        frame,
        level: &level,
        upright: &upright,
    };
    drawing(&mut leaf, data, &map, &points);
    lines::name_level(&mut leaf, frame, &upright, ends);
    leaf.finish()
}

/// From the back to the front: grid, interval ahead, tolerance, lines, readings.
fn drawing(leaf: &mut Leaf, data: &Trend, map: &Map, points: &[(f64, f64)]) {
    let frame = map.frame;
    frame.upright_ticks(leaf, &map.upright.ticks());
    draw_interval(leaf, data, map);
    let tolerance = data.tolerance.unwrap_or_default();
    lines::draw_tolerance(leaf, frame, map.upright, Way::Level, &tolerance);
    draw_forecast(leaf, data, map);
    draw_segments(leaf, data, map);
    frame.outline(leaf);
    draw_points(leaf, map, points);
    let name_y = frame.top - leaf.measures.text * 0.7;
    frame.name_upright(leaf, name_y, &data.quantity.heading());
    frame.level_ticks(leaf, &map.level.ticks(), false);
    leaf.y = frame.name_level(leaf, &data.along.heading());
}

/// Both axes of the drawing.
struct Map<'a> {
    frame: Frame,
    level: &'a Axis,
    upright: &'a Axis,
}

impl Map<'_> {
    /// A point, if it lies in the frame.
    fn within(&self, along: f64, value: f64) -> Option<Point> {
        let x = self.level.place_within(along)?;
        Some(at(x, self.upright.place_within(value)?))
    }

    /// A straight line between two places, as far as it lies in the frame.
    fn straight(&self, value: impl Fn(f64) -> f64, from: f64, to: f64) -> Vec<Vec<Point>> {
        let mut runs = vec![Vec::new()];
        let mut outside = false;
        for part in 0..=200 {
            let along = from + (to - from) * f64::from(part) / 200.0;
            match self.within(along, value(along)) {
                Some(point) => {
                    if outside {
                        runs.push(Vec::new());
                    }
                    outside = false;
                    if let Some(run) = runs.last_mut() {
                        run.push(point);
                    }
                }
                None => outside = true,
            }
        }
        // Inner points of a straight line carry nothing.
        runs.iter()
            .filter_map(|run| Some(vec![*run.first()?, *run.last()?]))
            .collect()
    }
}

fn words(leaf: &mut Leaf, data: &Trend, count: usize) {
    leaf.figure("n", &count.to_string());
    let along = clipped(&data.along.name);
    if let Some(segment) = data.segments.last()
        && data.quantity.steps(segment.slope).is_some()
    {
        let places = data.quantity.places() + 2;
        let slope = overwire_core::decimal::format_to(segment.slope, places);
        let slope = data.quantity.united(&slope);
        leaf.figure("slope", &format!("{slope} per {along}"));
    }
    if let Some(crossing) = data
        .forecast
        .as_ref()
        .and_then(|forecast| forecast.crossing.as_ref())
    {
        leaf.sentence(crossing_words(data, crossing));
    }
    leaf.say("Solid: fitted line; dashed: sloped limits; short dashes: forecast in its interval.");
    let basis = clipped(&data.basis);
    if !basis.is_empty() {
        leaf.say(format!("{basis}."));
    }
    leaf.sentence(left_out(data.points.len() - count, "reading"));
}

/// Where the forecast meets a limit, in words.
fn crossing_words(data: &Trend, crossing: &Crossing) -> Option<String> {
    let place = |along: f64| {
        data.along.steps(along)?;
        Some(data.along.united(&overwire_core::decimal::format_to(
            along,
            data.along.places(),
        )))
    };
    let met = place(crossing.at)?;
    let mut words = format!(
        "The line with its spread meets {} about {} {met}",
        clipped(&crossing.limit),
        clipped(&data.along.name)
    );
    let earliest = crossing.earliest.and_then(place);
    let latest = crossing.latest.and_then(place);
    match (earliest, latest) {
        (Some(earliest), Some(latest)) => {
            words.push_str(&format!(" (between {earliest} and {latest})"));
        }
        (Some(earliest), None) => words.push_str(&format!(" ({earliest} at the earliest)")),
        _ => {}
    }
    words.push('.');
    Some(words)
}

fn upright_axis(leaf: &Leaf, data: &Trend, points: &[(f64, f64)], frame: Frame) -> Axis {
    let values = points.iter().map(|point| point.1);
    let tolerance = data.tolerance.unwrap_or_default();
    let limits = [tolerance.lower, tolerance.upper].into_iter().flatten();
    leaf.upright_axis(&data.quantity, values.chain(limits), frame)
}

/// The level axis takes in the readings and the forecast up to where it meets a limit, but
/// never leaves the readings less than a third of its length.
fn level_axis(leaf: &Leaf, data: &Trend, points: &[(f64, f64)], frame: Frame) -> Axis {
    let mut extent = Extent::of(&data.along, points.iter().map(|point| point.0));
    let ahead = data.forecast.as_ref().map(|forecast| {
        let interval = forecast.interval.iter().map(|point| point.0);
        let crossing = forecast.crossing.iter();
        let crossing = crossing.flat_map(|crossing| {
            let ends = [Some(crossing.at), crossing.earliest, crossing.latest];
            ends.into_iter().flatten()
        });
        Extent::of(&data.along, interval.chain(crossing))
    });
    if let Some(ahead) = ahead.filter(|ahead| !ahead.is_empty()) {
        let most = extent.least + 3.0 * extent.span().max(LEAST_STEPS);
        extent.most = extent.most.max(ahead.most.min(most));
    }
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

fn draw_segments(leaf: &mut Leaf, data: &Trend, map: &Map) {
    for segment in data.segments.iter().take(200) {
        let (from, to) = (segment.from, segment.to);
        if !(from.is_finite() && to.is_finite()) {
            continue;
        }
        let line = map.straight(|along| segment.value(along), from, to);
        leaf.sheet.strokes("ch-curve", &line, false);
        if segment.half_width > 0.0 {
            for side in [-1.0, 1.0] {
                let limit = |along| segment.value(along) + side * segment.half_width;
                let line = map.straight(limit, from, to);
                leaf.sheet.strokes("ch-slope-limit", &line, false);
            }
        }
    }
}

/// The interval ahead, as a tinted area.
fn draw_interval(leaf: &mut Leaf, data: &Trend, map: &Map) {
    let Some(forecast) = &data.forecast else {
        return;
    };
    let places: Vec<(f64, f64, f64)> = forecast
        .interval
        .iter()
        .take(2000)
        .filter_map(|(along, low, high)| {
            let x = map.level.place_within(*along)?;
            let low = map.upright.place_clipped(*low)?;
            Some((x, low, map.upright.place_clipped(*high)?))
        })
        .collect();
    let lower: Vec<Point> = places.iter().map(|(x, low, _)| at(*x, *low)).collect();
    let upper: Vec<Point> = places.iter().map(|(x, _, high)| at(*x, *high)).collect();
    if lower.len() > 1 {
        let around: Vec<Point> = lower.iter().chain(upper.iter().rev()).copied().collect();
        leaf.sheet.path("ch-spread", &around, true);
        leaf.sheet.strokes("ch-spread-edge", &[lower, upper], false);
    }
}

/// The line's continuation in short dashes, and where it meets a limit.
fn draw_forecast(leaf: &mut Leaf, data: &Trend, map: &Map) {
    let Some(forecast) = &data.forecast else {
        return;
    };
    if let Some(last) = data.segments.last() {
        let ahead = forecast.interval.iter().map(|point| point.0);
        let ahead = ahead
            .filter(|along| along.is_finite())
            .fold(last.to, f64::max);
        if last.to.is_finite() {
            let line = map.straight(|along| last.value(along), last.to, ahead);
            leaf.sheet.strokes("ch-forecast", &line, false);
        }
    }
    if let Some(crossing) = &forecast.crossing {
        draw_crossing(leaf, data, map, crossing);
    }
}

fn draw_crossing(leaf: &mut Leaf, data: &Trend, map: &Map, crossing: &Crossing) {
    let Some(x) = map.level.place_within(crossing.at) else {
        leaf.say("Where the line meets the limit lies beyond the drawing.");
        return;
    };
    let frame = map.frame;
    leaf.sheet
        .line("ch-mark", at(x, frame.top), at(x, frame.bottom));
    let ends = [crossing.earliest, crossing.latest].map(|end| end.unwrap_or(crossing.at));
    let places = ends.map(|end| map.level.place_clipped(end));
    if let [Some(low), Some(high)] = places {
        let inside = ends.map(|end| map.level.place_within(end).is_some());
        let unknown = [crossing.earliest.is_none(), crossing.latest.is_none()];
        let beyond = (unknown[0] || !inside[0], unknown[1] || !inside[1]);
        signs::interval(leaf, frame.top + 9.0, (low, high), beyond);
        signs::diamond(leaf, "ch-mean", at(x, frame.top + 9.0), 5.5);
    }
    let label = overwire_core::decimal::format_to(crossing.at, data.along.places());
    let named = format!("{} {label}", clipped(&data.along.name));
    let text = match leaf.width_of(&named) < frame.width() * 0.6 {
        true => named,
        false => label,
    };
    let half = leaf.width_of(&text) / 2.0;
    let most = (frame.right - half).max(frame.left + half);
    let centre = x.clamp(frame.left + half, most);
    let y = frame.top - leaf.measures.text * 0.45;
    leaf.label("ch-text", at(centre, y), Anchor::Middle, &text);
}

fn draw_points(leaf: &mut Leaf, map: &Map, points: &[(f64, f64)]) {
    let spot = |point: &Point| ((point.x * 2.0) as i64, (point.y * 2.0) as i64);
    let mut dots: Vec<Point> = points
        .iter()
        .filter_map(|(along, value)| map.within(*along, *value))
        .collect();
    dots.sort_by_key(spot);
    dots.dedup_by_key(|point| spot(point));
    if dots.len() > MOST_DOTS {
        let every = dots.len() / MOST_DOTS + 1;
        leaf.say(format!("One of {every} spots is drawn."));
        dots = dots.into_iter().step_by(every).collect();
    }
    let radius = match (dots.len() > 250, leaf.measures.narrow) {
        (true, _) => 1.7,
        (false, true) => 2.0,
        (false, false) => 3.0,
    };
    signs::dots(leaf, &dots, radius);
}
