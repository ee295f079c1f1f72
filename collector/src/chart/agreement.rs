//! Agreement of two methods: the difference of each pair of readings against their mean
//! (Bland and Altman's plot).

use super::axis::{Axis, Extent, LEAST_STEPS, Plan};
use super::frame::{Frame, Way, room_for_labels};
use super::leaf::Leaf;
use super::lines::{self, LineEnd};
use super::quantity::Quantity;
use super::signs;
use super::words::{clipped, left_out};
use super::{Format, Heading, Interval, Picture};
use crate::sheet::{Point, at};

/// Differences of two methods, piece by piece.
#[derive(Clone, Debug)]
pub struct Agreement {
    /// Title and notes.
    pub heading: Heading,
    /// What is measured.
    pub quantity: Quantity,
    /// The two methods: the difference is the first less the second.
    pub methods: [String; 2],
    /// Each pair: the mean of both, and their difference.
    pub points: Vec<(f64, f64)>,
    /// Mean difference.
    pub bias: Option<Interval>,
    /// Lower and upper limit of agreement.
    pub limits: Option<[Interval; 2]>,
    /// Differences up to this, either way, do not matter.
    pub margin: Option<f64>,
    /// What limits and intervals are, e.g. `limits: bias ± 1.96 s; intervals: 95 %`.
    pub basis: String,
}

/// Draws the differences of two methods.
pub fn agreement(data: &Agreement, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&data.heading, "Agreement of two methods", format);
    let quantity = &data.quantity;
    let mut points = data.points.clone();
    points.retain(|(mean, difference)| {
        quantity.steps(*mean).is_some() && quantity.steps(*difference).is_some()
    });
    if points.is_empty() {
        return leaf.nothing("There are no pairs of readings to draw.");
    }
    words(&mut leaf, data, points.len());
    let ends = ends(data);
    let mut frame = Frame {
        left: leaf.measures.edge,
        right: leaf.measures.width - lines::room_for(&leaf, &ends),
        top: leaf.y + leaf.measures.line() * 1.6,
        bottom: leaf.y + leaf.measures.line() * 1.6 + leaf.measures.plot,
    };
    let upright = upright_axis(&leaf, data, &points, frame);
    frame.left += room_for_labels(&leaf, &upright);
    leaf.say(upright.sentence(" of differences", "display step", None));
    let level = level_axis(&leaf, quantity, &points, frame);
    draw(&mut leaf, data, frame, (&level, &upright), &points);
    lines::name_level(&mut leaf, frame, &upright, ends);
    let [first, second] = data.methods.each_ref().map(|name| clipped(name));
    let name = Quantity {
        name: format!("{first} less {second}"),
        ..quantity.clone()
    };
    let name_y = frame.top - leaf.measures.text * 0.7;
    frame.name_upright(&mut leaf, name_y, &name.heading());
    leaf.y = frame.name_level(&mut leaf, &format!("mean of both: {}", quantity.heading()));
    leaf.finish()
}

fn words(leaf: &mut Leaf, data: &Agreement, count: usize) {
    let quantity = &data.quantity;
    leaf.figure("pairs", &count.to_string());
    let told = |interval: Interval| {
        let [low, high] = [interval.low, interval.high].map(|end| quantity.figure(end));
        format!("{} ({low} to {high})", quantity.measured(interval.value))
    };
    if let Some(bias) = data.bias {
        leaf.figure("bias", &told(bias));
    }
    if let Some([lower, upper]) = data.limits {
        leaf.figure("limits of agreement", &told(lower));
        leaf.figure("and", &told(upper));
    }
    if let Some(margin) = data.margin {
        let margin = quantity.united(&quantity.given(margin));
        leaf.say(format!(
            "Dotted: differences up to \u{b1}\u{a0}{margin} do not matter."
        ));
    }
    let basis = clipped(&data.basis);
    if !basis.is_empty() {
        leaf.say(format!("Bars at the right: intervals; {basis}."));
    }
    leaf.sentence(left_out(data.points.len() - count, "pair"));
}

fn ends(data: &Agreement) -> Vec<LineEnd> {
    let limits = data.limits;
    let named = [
        ("upper limit", limits.map(|limits| limits[1]), "ch-text-fit"),
        ("bias", data.bias, "ch-text"),
        ("lower limit", limits.map(|limits| limits[0]), "ch-text-fit"),
    ];
    named
        .into_iter()
        .filter_map(|(name, interval, class)| {
            let value = interval?.value;
            data.quantity.steps(value)?;
            Some(LineEnd {
                value,
                name,
                figure: data.quantity.figure(value),
                class,
            })
        })
        .collect()
}

fn upright_axis(leaf: &Leaf, data: &Agreement, points: &[(f64, f64)], frame: Frame) -> Axis {
    let margin = data.margin.iter().flat_map(|margin| [*margin, -margin]);
    let intervals = data
        .bias
        .into_iter()
        .chain(data.limits.into_iter().flatten());
    let intervals = intervals.flat_map(|interval| [interval.value, interval.low, interval.high]);
    let differences = points.iter().map(|point| point.1);
    let values = differences.chain(margin).chain(intervals).chain([0.0]);
    leaf.upright_axis(&data.quantity, values, frame)
}

fn level_axis(leaf: &Leaf, quantity: &Quantity, points: &[(f64, f64)], frame: Frame) -> Axis {
    let extent = Extent::of(quantity, points.iter().map(|point| point.0));
    let label = leaf.width_of(&quantity.tick(extent.most as i64)) + 22.0;
    // The bars of the intervals stand at the right, clear of the points.
    Axis::of(&Plan {
        quantity,
        extent,
        floor: LEAST_STEPS,
        rooted: false,
        snapped: false,
        ends: (frame.left, frame.right - 44.0),
        most_ticks: (frame.width() / label).clamp(2.0, 14.0),
    })
}

fn draw(
    leaf: &mut Leaf,
    data: &Agreement,
    frame: Frame,
    (level, upright): (&Axis, &Axis),
    points: &[(f64, f64)],
) {
    frame.upright_ticks(leaf, &upright.ticks());
    margin_band(leaf, data, frame, upright);
    if let Some(zero) = upright.place_within(0.0) {
        let (from, to) = frame.across(Way::Level, zero);
        leaf.sheet.line("ch-zero", from, to);
    }
    let limits = data.limits.unwrap_or([Interval::none(); 2]);
    let lines = [
        ("ch-slope-limit", Some(limits[0])),
        ("ch-level", data.bias),
        ("ch-slope-limit", Some(limits[1])),
    ];
    for (row, (class, interval)) in lines.into_iter().enumerate() {
        let Some(interval) = interval else { continue };
        let Some(y) = upright.place_within(interval.value) else {
            continue;
        };
        let (from, to) = frame.across(Way::Level, y);
        leaf.sheet.line(class, from, to);
        let ends = [interval.low, interval.high].map(|end| upright.place_clipped(end));
        if let [Some(low), Some(high)] = ends {
            let x = frame.right - 9.0 - 12.0 * row as f64;
            let beyond = [interval.low, interval.high].map(|end| upright.place_within(end));
            let beyond = (beyond[0].is_none(), beyond[1].is_none());
            signs::upright_interval(leaf, x, (low, high), beyond);
        }
    }
    frame.outline(leaf);
    frame.level_ticks(leaf, &level.ticks(), false);
    draw_points(leaf, (level, upright), points);
}

fn margin_band(leaf: &mut Leaf, data: &Agreement, frame: Frame, upright: &Axis) {
    let Some(margin) = data.margin else { return };
    let places = (
        upright.place_clipped(margin),
        upright.place_clipped(-margin),
    );
    if let (Some(one), Some(other)) = places {
        let (corner, opposite) = frame.stripe(Way::Level, one, other);
        leaf.sheet.rectangle("ch-band", corner, opposite);
        for y in [one, other] {
            let (from, to) = frame.across(Way::Level, y);
            leaf.sheet.line("ch-band-edge", from, to);
        }
    }
}

/// The pairs; those that fall on the same spot are drawn once.
fn draw_points(leaf: &mut Leaf, (level, upright): (&Axis, &Axis), points: &[(f64, f64)]) {
    let spot = |point: &Point| ((point.x * 2.0) as i64, (point.y * 2.0) as i64);
    let mut dots: Vec<Point> = points
        .iter()
        .filter_map(|(mean, difference)| Some(at(level.place(*mean)?, upright.place(*difference)?)))
        .collect();
    dots.sort_by_key(spot);
    dots.dedup_by_key(|point| spot(point));
    let most = 20_000;
    if dots.len() > most {
        leaf.say(format!(
            "Of {} different spots every few are drawn.",
            dots.len()
        ));
        let every = dots.len() / most + 1;
        dots = dots.into_iter().step_by(every).collect();
    }
    let radius = if dots.len() > 400 { 1.6 } else { 3.4 };
    signs::dots(leaf, &dots, radius);
}
