//! Parts of the variation as bars from 0.

use super::axis::{Axis, Extent, Plan};
use super::frame::{Frame, Way};
use super::leaf::Leaf;
use super::quantity::Quantity;
use super::signs::hatched;
use super::words::clipped;
use super::{Format, Heading, Picture};
use crate::sheet::{Anchor, at};

/// More bars than this do not fit on a leaf.
const MOST_COMPONENTS: usize = 24;
/// Fillings of the bars: tinted, hatched, dark.
const MOST_MEASURES: usize = 3;
/// Thickness of a bar.
const THICK: f64 = 17.0;

/// Parts of a variation.
#[derive(Clone, Debug)]
pub struct Components {
    /// Title and notes.
    pub heading: Heading,
    /// What the bars measure, at most three things, e.g. `share of the variance` and
    /// `share of the tolerance`.
    pub measures: Vec<String>,
    /// The parts, in the order they are drawn.
    pub components: Vec<Component>,
}

/// One part of a variation.
#[derive(Clone, Debug)]
pub struct Component {
    /// What it is called, e.g. `repeatability`.
    pub name: String,
    /// For each measure its percentage.
    pub percent: Vec<Option<f64>>,
    /// A word to stand behind the bars, e.g. `s 0.0021 mm` or `calculated below 0`.
    pub remark: String,
}

/// Draws parts of a variation.
pub fn components(data: &Components, format: &Format) -> Picture {
    let mut leaf = Leaf::new(&data.heading, "Components of variation", format);
    let measures = data.measures.len().clamp(1, MOST_MEASURES);
    let shown = &data.components[..data.components.len().min(MOST_COMPONENTS)];
    let percent = percentage();
    let values = || {
        let all = shown
            .iter()
            .flat_map(|part| part.percent.iter().take(measures));
        all.flatten().copied()
    };
    if Extent::of(&percent, values()).is_empty() {
        return leaf.nothing("There are no components to draw.");
    }
    let height = row_height(&leaf, measures);
    let left = names_room(&leaf, shown);
    let top = leaf.y + key_height(&leaf, data);
    let frame = Frame {
        left,
        right: leaf.measures.right() - figure_room(&leaf, shown),
        top,
        bottom: top + height * shown.len() as f64 + 4.0,
    };
    let axis = percent_axis(&leaf, &percent, Extent::of(&percent, values()), frame);
    key(&mut leaf, data);
    frame.level_ticks(&mut leaf, &axis.ticks(), true);
    for (row, component) in shown.iter().enumerate() {
        let top = frame.top + row as f64 * height;
        draw_component(&mut leaf, component, (frame, top), &axis, measures);
    }
    frame.outline(&mut leaf);
    leaf.y = frame.name_level(&mut leaf, "percent");
    words(&mut leaf, data, shown, measures);
    leaf.finish()
}

/// Tenths of a percent.
fn percentage() -> Quantity {
    Quantity {
        name: "percent".to_owned(),
        unit: "%".to_owned(),
        places: 0,
        step_in_last_place: 1,
    }
}

fn row_height(leaf: &Leaf, measures: usize) -> f64 {
    let name = if leaf.measures.narrow {
        leaf.measures.line() + 4.0
    } else {
        0.0
    };
    measures as f64 * THICK + 12.0 + name
}

fn names_room(leaf: &Leaf, shown: &[Component]) -> f64 {
    let edge = leaf.measures.edge;
    if leaf.measures.narrow {
        return edge + 8.0;
    }
    let widest = shown
        .iter()
        .map(|part| leaf.width_of(&clipped(&part.name)))
        .fold(60.0, f64::max);
    edge + widest.min(240.0) + 14.0
}

/// Room behind the longest bar for its percentage and remark.
fn figure_room(leaf: &Leaf, shown: &[Component]) -> f64 {
    if leaf.measures.narrow {
        return leaf.width_of("100.0\u{a0}%") + 8.0;
    }
    let widest = shown
        .iter()
        .map(|part| leaf.width_of(&clipped(&part.remark)))
        .fold(0.0, f64::max);
    leaf.width_of("100.0\u{a0}%") + widest.min(240.0) + 28.0
}

fn percent_axis(leaf: &Leaf, percent: &Quantity, extent: Extent, frame: Frame) -> Axis {
    let mut extent = extent;
    extent.take(Some(100.0 / 1.05));
    Axis::of(&Plan {
        quantity: percent,
        extent,
        floor: 0.0,
        rooted: true,
        snapped: false,
        ends: (frame.left, frame.right),
        most_ticks: (frame.width() / (leaf.width_of("100") + 30.0)).clamp(2.0, 11.0),
    })
}

fn is_keyed(data: &Components) -> bool {
    !data.measures.is_empty()
}

fn key_height(leaf: &Leaf, data: &Components) -> f64 {
    let measures = data.measures.len().min(MOST_MEASURES);
    if is_keyed(data) {
        measures as f64 * (leaf.measures.line() + 3.0) + 8.0
    } else {
        8.0
    }
}

/// What each filling means.
fn key(leaf: &mut Leaf, data: &Components) {
    let left = leaf.measures.edge;
    let line = leaf.measures.line() + 3.0;
    for (measure, name) in data.measures.iter().take(MOST_MEASURES).enumerate() {
        let y = leaf.y + measure as f64 * line;
        filled(
            leaf,
            measure,
            (at(left, y + 2.0), at(left + 26.0, y + line - 4.0)),
        );
        let room = leaf.measures.right() - left - 36.0;
        let point = at(left + 34.0, y + line * 0.7);
        leaf.name("ch-text", point, Anchor::Start, (name, room));
    }
}

/// A bar in the filling of its measure.
fn filled(leaf: &mut Leaf, measure: usize, corners: (crate::sheet::Point, crate::sheet::Point)) {
    let class = match measure {
        0 => "ch-bar",
        1 => "ch-bar-second",
        _ => "ch-bar-third",
    };
    leaf.sheet.rectangle(class, corners.0, corners.1);
    if measure == 1 {
        hatched(leaf, "ch-bar-hatch", corners, 5.0);
    }
}

fn draw_component(
    leaf: &mut Leaf,
    component: &Component,
    (frame, top): (Frame, f64),
    axis: &Axis,
    measures: usize,
) {
    let above = if leaf.measures.narrow {
        leaf.measures.line() + 4.0
    } else {
        0.0
    };
    let bars = top + 6.0 + above;
    let middle = bars + measures as f64 * THICK / 2.0;
    name(leaf, component, (frame, top), middle);
    remark(leaf, component, (frame, top), middle);
    for (measure, percent) in component.percent.iter().take(measures).enumerate() {
        let place = percent.and_then(|percent| Some((percent, axis.place(percent)?)));
        let Some((percent, x)) = place else { continue };
        let y = bars + measure as f64 * THICK;
        let (_, opposite) = frame.stripe(Way::Upright, frame.left, x);
        let corners = (at(frame.left, y), at(opposite.x, y + THICK - 2.0));
        filled(leaf, measure, corners);
        let point = at(opposite.x + 6.0, y + THICK * 0.72);
        leaf.label("ch-text", point, Anchor::Start, &written(percent));
    }
}

/// The component's name: beside its bars, or above them on a narrow leaf.
fn name(leaf: &mut Leaf, component: &Component, (frame, top): (Frame, f64), middle: f64) {
    let size = leaf.measures.text;
    let (point, room) = match leaf.measures.narrow {
        true => (at(frame.left + 4.0, top + 4.0 + size), frame.width() * 0.6),
        false => (
            at(leaf.measures.edge, middle + size * 0.35),
            frame.left - leaf.measures.edge - 8.0,
        ),
    };
    leaf.name("ch-strong", point, Anchor::Start, (&component.name, room));
}

fn written(percent: f64) -> String {
    format!("{}\u{a0}%", overwire_core::decimal::format_to(percent, 1))
}

fn remark(leaf: &mut Leaf, component: &Component, (frame, top): (Frame, f64), middle: f64) {
    let text = clipped(&component.remark);
    if text.is_empty() {
        return;
    }
    let right = leaf.measures.right();
    let (y, room) = match leaf.measures.narrow {
        true => {
            let name = leaf
                .width_of(&clipped(&component.name))
                .min(frame.width() * 0.6);
            let used = name * crate::sheet::BOLD + 12.0;
            (top + 4.0 + leaf.measures.text, right - frame.left - used)
        }
        false => (
            middle + leaf.measures.text * 0.35,
            right - frame.right - leaf.width_of("100.0\u{a0}%") - 20.0,
        ),
    };
    let place = at(right, y);
    leaf.name("ch-quiet", place, Anchor::End, (&text, room.max(40.0)));
}

fn words(leaf: &mut Leaf, data: &Components, shown: &[Component], measures: usize) {
    for component in shown {
        let parts: Vec<String> = component
            .percent
            .iter()
            .take(measures)
            .enumerate()
            .filter_map(|(measure, percent)| {
                let percent = percent.filter(|percent| percent.is_finite())?;
                let name = data.measures.get(measure).map(|name| clipped(name));
                Some(format!("{} {}", written(percent), name.unwrap_or_default()))
            })
            .collect();
        let (name, remark) = (clipped(&component.name), clipped(&component.remark));
        leaf.tell(format!("{name}: {}. {remark}", parts.join(", ")));
    }
    let more = data.components.len() - shown.len();
    if more > 0 {
        leaf.say(format!("{more} more components are not drawn."));
    }
}
