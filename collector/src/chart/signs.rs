//! Symbols and hatching. Each symbol has a shape of its own.

use super::leaf::Leaf;
use crate::sheet::{Anchor, Point, at};

/// Strokes at 45 degrees inside a rectangle given by its upper left and lower right corner.
pub(super) fn hatched(leaf: &mut Leaf, class: &str, (corner, opposite): (Point, Point), step: f64) {
    let (left, top, right, bottom) = (corner.x, corner.y, opposite.x, opposite.y);
    if right - left < 0.5 || bottom - top < 0.5 {
        return;
    }
    // The strokes are the lines x + y = sum.
    let first = ((left + top) / step).ceil() as i64;
    let last = ((right + bottom) / step).floor() as i64;
    let strokes: Vec<_> = (first..=last)
        .map(|count| count as f64 * step)
        .map(|sum| {
            let from = left.max(sum - bottom);
            let to = right.min(sum - top);
            vec![at(from, sum - from), at(to, sum - to)]
        })
        .collect();
    leaf.sheet.strokes(class, &strokes, false);
}

/// Filled dots, all of one size, as one element.
pub(super) fn dots(leaf: &mut Leaf, points: &[Point], radius: f64) {
    let strokes: Vec<_> = points
        .iter()
        .map(|point| vec![*point, at(point.x + 0.01, point.y)])
        .collect();
    // Dots are strokes of no length with round ends: a tenth of the text of as many circles.
    leaf.sheet
        .strokes_of_width("ch-dots", &strokes, 2.0 * radius);
}

/// A hollow circle: a reading that does not count.
pub(super) fn hollow(leaf: &mut Leaf, centre: Point, radius: f64) {
    leaf.sheet.circle("ch-hollow", centre, radius);
}

/// A diamond: a point where a rule speaks up.
pub(super) fn diamond(leaf: &mut Leaf, class: &str, centre: Point, radius: f64) {
    let path = [
        at(centre.x, centre.y - radius),
        at(centre.x + radius, centre.y),
        at(centre.x, centre.y + radius),
        at(centre.x - radius, centre.y),
    ];
    leaf.sheet.path(class, &path, true);
}

/// A level interval: a line with end bars; an end that lies beyond the drawing has an arrow.
pub(super) fn interval(leaf: &mut Leaf, y: f64, (low, high): (f64, f64), beyond: (bool, bool)) {
    let mut strokes = vec![vec![at(low, y), at(high, y)]];
    for (x, cut) in [(low, beyond.0), (high, beyond.1)] {
        if !cut {
            strokes.push(vec![at(x, y - 4.5), at(x, y + 4.5)]);
        }
    }
    leaf.sheet.strokes("ch-interval", &strokes, false);
    if beyond.0 {
        leaf.sheet
            .arrow_head("ch-arrow", at(low, y), at(-1.0, 0.0), 10.0);
    }
    if beyond.1 {
        leaf.sheet
            .arrow_head("ch-arrow", at(high, y), at(1.0, 0.0), 10.0);
    }
}

/// An upright interval; an end that lies beyond the drawing has no bar.
pub(super) fn upright_interval(
    leaf: &mut Leaf,
    x: f64,
    (low, high): (f64, f64),
    beyond: (bool, bool),
) {
    let mut strokes = vec![vec![at(x, low), at(x, high)]];
    for (y, cut) in [(low, beyond.0), (high, beyond.1)] {
        if !cut {
            strokes.push(vec![at(x - 4.5, y), at(x + 4.5, y)]);
        }
    }
    leaf.sheet.strokes("ch-interval", &strokes, false);
}

/// A short text on a piece of paper, so that lines behind it do not run through it.
pub(super) fn backed(leaf: &mut Leaf, class: &str, point: Point, content: &str) {
    let half = leaf.width_of(content) / 2.0 + 1.5;
    let size = leaf.measures.text;
    let corner = at(point.x - half, point.y - size * 0.85);
    let opposite = at(point.x + half, point.y + size * 0.22);
    leaf.sheet.rectangle("ch-back", corner, opposite);
    leaf.label(class, point, Anchor::Middle, content);
}
