//! Lines of one value: limits, means, bands, and their names where they end.

use super::axis::Axis;
use super::frame::{Frame, Way};
use super::leaf::Leaf;
use super::quantity::Quantity;
use super::signs::hatched;
use super::{ControlLimits, Tolerance};
use crate::sheet::{Anchor, at};

/// How deep the hatching beyond a tolerance limit is.
const HATCH_DEPTH: f64 = 8.0;
/// Distance of the strokes of hatching.
const HATCH_STEP: f64 = 7.0;

/// The name of a line, written where it ends.
pub(super) struct LineEnd {
    pub(super) value: f64,
    pub(super) name: &'static str,
    pub(super) figure: String,
    pub(super) class: &'static str,
}

impl LineEnd {
    fn lines(&self, narrow: bool) -> Vec<String> {
        if narrow {
            let short = self.name.replace("control limit", "control");
            vec![short, self.figure.clone()]
        } else {
            vec![format!("{} {}", self.name, self.figure)]
        }
    }
}

/// The lines a tolerance consists of: limit and guarded limit of each side.
pub(super) fn tolerance_ends(quantity: &Quantity, tolerance: &Tolerance) -> Vec<LineEnd> {
    let sides = [
        ("tolerance max", "guarded max", tolerance.upper, -1.0),
        ("tolerance min", "guarded min", tolerance.lower, 1.0),
    ];
    let mut ends = Vec::new();
    for (name, guarded, limit, inward) in sides {
        let Some(limit) = limit.filter(|limit| quantity.steps(*limit).is_some()) else {
            continue;
        };
        let mut push = |name, value: f64| {
            ends.push(LineEnd {
                value,
                name,
                figure: quantity.given(value),
                class: "ch-text-tolerance",
            });
        };
        push(name, limit);
        let guarded_limit = limit + inward * tolerance.guard;
        if tolerance.guard != 0.0 && quantity.steps(guarded_limit).is_some() {
            push(guarded, guarded_limit);
        }
    }
    ends
}

/// The lines that control limits consist of; the last ones are named.
pub(super) fn control_ends(quantity: &Quantity, limits: &[ControlLimits]) -> Vec<LineEnd> {
    let Some(last) = limits.last() else {
        return Vec::new();
    };
    let lines = [
        ("upper control limit", last.upper),
        ("centre", last.centre),
        ("lower control limit", last.lower),
    ];
    lines
        .into_iter()
        .filter_map(|(name, value)| Some((name, value?)))
        .filter(|(_, value)| quantity.steps(*value).is_some())
        .map(|(name, value)| LineEnd {
            value,
            name,
            figure: quantity.figure(value),
            class: "ch-text-control",
        })
        .collect()
}

/// Says the values of lines to those who do not see them.
pub(super) fn tell(leaf: &mut Leaf, quantity: &Quantity, ends: &[LineEnd]) {
    for end in ends {
        leaf.tell(format!("{} {}.", end.name, quantity.united(&end.figure)));
    }
}

/// Room at the right for the names of level lines.
pub(super) fn room_for(leaf: &Leaf, ends: &[LineEnd]) -> f64 {
    let narrow = leaf.measures.narrow;
    let widest = ends
        .iter()
        .flat_map(|end| end.lines(narrow))
        .map(|line| leaf.width_of(&line))
        .fold(0.0, f64::max);
    let most = if narrow { 112.0 } else { 280.0 };
    if ends.is_empty() {
        leaf.measures.edge
    } else {
        widest.min(most) + 22.0
    }
}

/// Draws limits and guard bands: solid, hatched on the side that is not allowed.
pub(super) fn draw_tolerance(
    leaf: &mut Leaf,
    frame: Frame,
    axis: &Axis,
    way: Way,
    tolerance: &Tolerance,
) {
    for (limit, inward) in [(tolerance.lower, 1.0), (tolerance.upper, -1.0)] {
        let Some(limit) = limit else { continue };
        let guarded = axis.place_clipped(limit + inward * tolerance.guard);
        if let (Some(edge), Some(guarded)) = (axis.place_clipped(limit), guarded)
            && tolerance.guard != 0.0
        {
            let (corner, opposite) = frame.stripe(way, edge, guarded);
            leaf.sheet.rectangle("ch-guard", corner, opposite);
            hatched(leaf, "ch-guard-hatch", (corner, opposite), HATCH_STEP);
        }
        if let Some(guarded) = axis.place_within(limit + inward * tolerance.guard)
            && tolerance.guard != 0.0
        {
            let (from, to) = frame.across(way, guarded);
            leaf.sheet.line("ch-guard-line", from, to);
        }
        if let Some(place) = axis.place_within(limit) {
            draw_limit(leaf, frame, way, (place, inward));
        }
    }
}

/// One limit, with short hatching beyond it.
fn draw_limit(leaf: &mut Leaf, frame: Frame, way: Way, (place, inward): (f64, f64)) {
    let outward = match way {
        Way::Level => inward * HATCH_DEPTH,
        Way::Upright => -inward * HATCH_DEPTH,
    };
    let stripe = frame.stripe(way, place, place + outward);
    hatched(leaf, "ch-hatch", stripe, HATCH_STEP);
    let (from, to) = frame.across(way, place);
    leaf.sheet.line("ch-tolerance", from, to);
}

/// Draws control limits and centre, each from where it begins to hold to where the next begins.
pub(super) fn draw_control(
    leaf: &mut Leaf,
    frame: Frame,
    axis: &Axis,
    limits: &[ControlLimits],
    start_of: impl Fn(usize) -> f64,
) {
    for (class, value) in [
        (
            "ch-control",
            (|limits| limits.lower) as fn(&ControlLimits) -> Option<f64>,
        ),
        ("ch-centre", |limits| limits.centre),
        ("ch-control", |limits| limits.upper),
    ] {
        let mut runs = Vec::new();
        for (index, phase) in limits.iter().enumerate() {
            let next = limits.get(index + 1);
            let from = start_of(phase.from).max(frame.left);
            let to = next.map_or(frame.right, |next| start_of(next.from));
            let place = value(phase).and_then(|value| axis.place_within(value));
            if let Some(y) = place.filter(|_| from < to) {
                runs.push(vec![at(from, y), at(to.min(frame.right), y)]);
            }
        }
        leaf.sheet.strokes(class, &runs, false);
    }
}

/// Writes the names of level lines into the room at the right, moved apart where lines are
/// close, each with a leader from its line.
pub(super) fn name_level(leaf: &mut Leaf, frame: Frame, axis: &Axis, ends: Vec<LineEnd>) {
    let narrow = leaf.measures.narrow;
    let line = leaf.measures.line();
    let mut placed: Vec<(f64, LineEnd)> = ends
        .into_iter()
        .filter_map(|end| Some((axis.place(end.value)?, end)))
        .collect();
    placed.sort_by(|one, other| one.0.total_cmp(&other.0));
    let wanted: Vec<f64> = placed
        .iter()
        .map(|(y, _)| y.clamp(frame.top, frame.bottom))
        .collect();
    let rows = if narrow { 2.0 } else { 1.0 };
    let half = rows * line / 2.0 + if narrow { 1.5 } else { 0.5 };
    let centres = spread(
        &wanted,
        half,
        (frame.top - 1.5 * line, frame.bottom + 0.4 * line),
    );
    for (((y, end), edge), centre) in placed.iter().zip(&wanted).zip(centres) {
        let off = if *y < frame.top - 0.5 {
            " \u{2191}"
        } else if *y > frame.bottom + 0.5 {
            " \u{2193}"
        } else {
            ""
        };
        let x = frame.right + 16.0;
        let bend = [at(frame.right, *edge), at(x - 3.0, centre)];
        leaf.sheet.path("ch-leader", &bend, false);
        let lines = end.lines(narrow);
        let last = lines.len().saturating_sub(1);
        let first = centre - rows * line / 2.0 + leaf.measures.text * 0.97;
        for (row, text) in lines.iter().enumerate() {
            let text = format!("{text}{}", if row == last { off } else { "" });
            let point = at(x, first + row as f64 * line);
            leaf.label(end.class, point, Anchor::Start, &text);
        }
    }
}

/// The names of upright lines, placed in rows above the frame.
pub(super) struct Flags {
    placed: Vec<(f64, usize, f64, LineEnd)>,
    rows: usize,
}

impl Flags {
    /// Finds a row for each name; the axis must be laid out already.
    pub(super) fn of(leaf: &Leaf, frame: Frame, axis: &Axis, ends: Vec<LineEnd>) -> Flags {
        let mut ends: Vec<(f64, LineEnd)> = ends
            .into_iter()
            .filter_map(|end| Some((axis.place_clipped(end.value)?, end)))
            .collect();
        ends.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut taken: Vec<f64> = Vec::new();
        let mut placed = Vec::new();
        for (x, end) in ends {
            let half = leaf.width_of(&end.lines(false).join(" ")) / 2.0 + 3.0;
            let least = leaf.measures.edge + half;
            let most = (leaf.measures.right() - half).max(least);
            let centre = x.clamp(frame.left.min(least).max(least), most);
            let row = taken.iter().position(|end| *end <= centre - half);
            let row = row.unwrap_or(taken.len());
            taken.truncate(taken.len().max(row + 1));
            match taken.get_mut(row) {
                Some(end) => *end = centre + half,
                None => taken.push(centre + half),
            }
            placed.push((x, row, centre, end));
        }
        Flags {
            placed,
            rows: taken.len(),
        }
    }

    /// The height the rows need.
    pub(super) fn height(&self, leaf: &Leaf) -> f64 {
        if self.rows == 0 {
            return 0.0;
        }
        self.rows as f64 * leaf.measures.line() + 6.0
    }

    /// Writes the names; `frame` has its top below the rows.
    pub(super) fn draw(&self, leaf: &mut Leaf, frame: Frame) {
        let line = leaf.measures.line();
        let row_bottom = |row: usize| frame.top - 6.0 - row as f64 * line;
        for (x, row, _, _) in &self.placed {
            let foot = at(*x, frame.top);
            leaf.sheet
                .line("ch-leader", at(*x, row_bottom(*row) + 1.0), foot);
        }
        for (_, row, centre, end) in &self.placed {
            let text = end.lines(false).join(" ");
            let half = leaf.width_of(&text) / 2.0 + 2.0;
            let bottom = row_bottom(*row);
            let corner = at(centre - half, bottom - line + 2.0);
            leaf.sheet
                .rectangle("ch-paper", corner, at(centre + half, bottom));
            let point = at(*centre, bottom - line * 0.22);
            leaf.label(end.class, point, Anchor::Middle, &text);
        }
    }
}

/// Moves centres apart until they are two halves away from each other, each as near to its
/// wish as that allows. The wishes are in order.
pub(super) fn spread(wanted: &[f64], half: f64, (low, high): (f64, f64)) -> Vec<f64> {
    let mut centres = wanted.to_vec();
    for _ in 0..80 {
        for index in 1..centres.len() {
            let missing = 2.0 * half - (centres[index] - centres[index - 1]);
            if missing > 0.0 {
                centres[index - 1] -= missing / 2.0;
                centres[index] += missing / 2.0;
            }
        }
        for centre in &mut centres {
            *centre = centre.clamp(low + half, (high - half).max(low + half));
        }
    }
    centres
}
