//! The area of a drawing between its axes.

use super::axis::Axis;
use super::leaf::Leaf;
use crate::sheet::{Anchor, Point, at};

/// The area between the axes, in units of the leaf.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

/// Which way a line of one value runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    /// From left to right: the value is on the upright axis.
    Level,
    /// From top to bottom: the value is on the level axis.
    Upright,
}

/// Room that the labels of an upright axis need.
pub(super) fn room_for_labels(leaf: &Leaf, axis: &Axis) -> f64 {
    let (low, high) = axis.end_labels();
    leaf.width_of(&low).max(leaf.width_of(&high)) + 10.0
}

impl Frame {
    pub(super) fn width(self) -> f64 {
        self.right - self.left
    }

    pub(super) fn height(self) -> f64 {
        self.bottom - self.top
    }

    /// The ends of a line of one value.
    pub(super) fn across(self, way: Way, place: f64) -> (Point, Point) {
        match way {
            Way::Level => (at(self.left, place), at(self.right, place)),
            Way::Upright => (at(place, self.top), at(place, self.bottom)),
        }
    }

    /// Opposite corners of the stripe between two values, cut to the frame.
    pub(super) fn stripe(self, way: Way, one: f64, other: f64) -> (Point, Point) {
        let cut = |place: f64| match way {
            Way::Level => place.clamp(self.top, self.bottom),
            Way::Upright => place.clamp(self.left, self.right),
        };
        let (one, other) = (cut(one.min(other)), cut(one.max(other)));
        match way {
            Way::Level => (at(self.left, one), at(self.right, other)),
            Way::Upright => (at(one, self.top), at(other, self.bottom)),
        }
    }

    /// The grid and labels of the upright axis.
    pub(super) fn upright_ticks(self, leaf: &mut Leaf, ticks: &[(f64, String)]) {
        let grid: Vec<_> = ticks
            .iter()
            .map(|(y, _)| vec![at(self.left, *y), at(self.right, *y)])
            .collect();
        leaf.sheet.strokes("ch-grid", &grid, false);
        let drop = leaf.measures.text * 0.36;
        for (y, label) in ticks {
            let point = at(self.left - 7.0, y + drop);
            leaf.label("ch-quiet", point, Anchor::End, label);
        }
    }

    /// The ticks and labels of the level axis; labels that would run into each other are left
    /// out.
    pub(super) fn level_ticks(self, leaf: &mut Leaf, ticks: &[(f64, String)], grid: bool) {
        let top = if grid { self.top } else { self.bottom };
        let marks: Vec<_> = ticks
            .iter()
            .map(|(x, _)| vec![at(*x, top), at(*x, self.bottom)])
            .collect();
        leaf.sheet.strokes("ch-grid", &marks, false);
        let marks: Vec<_> = ticks
            .iter()
            .map(|(x, _)| vec![at(*x, self.bottom), at(*x, self.bottom + 4.0)])
            .collect();
        leaf.sheet.strokes("ch-axis", &marks, false);
        let y = self.bottom + 6.0 + leaf.measures.text;
        let mut free_from = 0.0;
        for (x, label) in ticks {
            let half = leaf.width_of(label) / 2.0;
            // Letters may run a little wider than they are reckoned: the outer labels keep the margin free.
            let least = leaf.measures.edge + half;
            let most = (leaf.measures.right() - half).max(least);
            let centre = x.clamp(least, most);
            if centre - half < free_from {
                continue;
            }
            leaf.label("ch-quiet", at(centre, y), Anchor::Middle, label);
            free_from = centre + half + 6.0;
        }
    }

    /// The lines of the two axes.
    pub(super) fn outline(self, leaf: &mut Leaf) {
        let corner = at(self.left, self.bottom);
        let path = [at(self.left, self.top), corner, at(self.right, self.bottom)];
        leaf.sheet.path("ch-axis", &path, false);
    }

    /// What the upright axis shows, written above it.
    pub(super) fn name_upright(self, leaf: &mut Leaf, y: f64, name: &str) {
        let point = at(leaf.measures.edge, y);
        leaf.label("ch-text", point, Anchor::Start, name);
    }

    /// What the level axis shows, written below its labels. Returns the height used.
    pub(super) fn name_level(self, leaf: &mut Leaf, name: &str) -> f64 {
        let y = self.bottom + 8.0 + leaf.measures.text + leaf.measures.line();
        leaf.label("ch-text", at(self.right, y), Anchor::End, name);
        y + leaf.measures.text * 0.3
    }
}
