//! Points in the order they were taken: joined runs, and fewer strokes than there are points
//! when there are more points than the drawing has columns.

use super::Exclusion;
use super::axis::Axis;
use super::frame::Frame;
use super::words::{clipped, listed, numbers};
use crate::sheet::{Point, at};

/// With more points than this for each column of the drawing they are drawn as columns.
const MOST_POINTS_PER_COLUMN: f64 = 2.0;
/// Reasons beyond the alphabet share a sign.
const ALPHABET: &str = "abcdefghijklmnopqrstuvwxyz";

/// Places of points in order along the level axis.
#[derive(Clone, Copy)]
pub(super) struct Order {
    pub(super) left: f64,
    pub(super) spacing: f64,
    pub(super) count: usize,
}

impl Order {
    pub(super) fn of(frame: Frame, count: usize) -> Order {
        Order {
            left: frame.left,
            spacing: frame.width() / count.max(1) as f64,
            count,
        }
    }

    /// The middle of a point's room.
    pub(super) fn x(self, index: usize) -> f64 {
        self.left + (index as f64 + 0.5) * self.spacing
    }

    /// Where a point's room begins.
    pub(super) fn start(self, index: usize) -> f64 {
        self.left + index.min(self.count) as f64 * self.spacing
    }

    /// Whether points are drawn as columns of lowest and highest.
    pub(super) fn is_thinned(self) -> bool {
        self.spacing * MOST_POINTS_PER_COLUMN < 1.0
    }

    /// Radius of the dots, if there is room for dots at all.
    pub(super) fn dot_radius(self) -> Option<f64> {
        (self.spacing >= 2.6).then(|| (self.spacing * 0.32).clamp(1.2, 3.4))
    }
}

/// Which points do not count, and the sign of each one's reason.
pub(super) struct Excluded<'a> {
    excluded: Vec<bool>,
    reasons: Vec<(&'a str, Vec<usize>)>,
}

impl<'a> Excluded<'a> {
    pub(super) fn of(exclusions: &'a [Exclusion], count: usize) -> Excluded<'a> {
        let mut excluded = vec![false; count];
        let mut reasons: Vec<(&str, Vec<usize>)> = Vec::new();
        let mut known = std::collections::HashMap::new();
        for exclusion in exclusions {
            let Some(place) = excluded.get_mut(exclusion.index) else {
                continue;
            };
            *place = true;
            let reason = exclusion.reason.as_str();
            let row = *known.entry(reason).or_insert_with(|| {
                reasons.push((reason, Vec::new()));
                reasons.len() - 1
            });
            if let Some((_, indexes)) = reasons.get_mut(row) {
                indexes.push(exclusion.index);
            }
        }
        Excluded { excluded, reasons }
    }

    pub(super) fn contains(&self, index: usize) -> bool {
        self.excluded.get(index).copied().unwrap_or(false)
    }

    pub(super) fn count(&self) -> usize {
        self.excluded.iter().filter(|excluded| **excluded).count()
    }

    /// Each excluded point with the sign of its reason, and the reason.
    pub(super) fn signs(&self) -> impl Iterator<Item = (usize, String, &'a str)> {
        self.reasons
            .iter()
            .enumerate()
            .flat_map(|(row, (reason, indexes))| {
                indexes
                    .iter()
                    .map(move |index| (*index, sign(row), *reason))
            })
    }

    /// The reasons in a sentence.
    pub(super) fn sentence(&self, noun: &str) -> Option<String> {
        let parts: Vec<String> = self
            .reasons
            .iter()
            .enumerate()
            .map(|(row, (reason, indexes))| {
                let which = numbers(indexes);
                format!("{}\u{a0}= {} ({noun} {which})", sign(row), clipped(reason))
            })
            .collect();
        let parts = listed(&parts, "; ");
        (!parts.is_empty()).then(|| format!("Hollow, not counted: {parts}."))
    }
}

fn sign(row: usize) -> String {
    match ALPHABET.chars().nth(row) {
        Some(letter) => letter.to_string(),
        None => "*".to_owned(),
    }
}

/// The joined runs of points that count; a missing one ends a run.
pub(super) fn runs(
    values: &[Option<f64>],
    excluded: &Excluded,
    axis: &Axis,
    order: Order,
) -> Vec<Vec<Point>> {
    let mut runs = Vec::new();
    let mut run = Vec::new();
    for (index, value) in values.iter().enumerate() {
        if excluded.contains(index) {
            continue;
        }
        match value.and_then(|value| axis.place(value)) {
            Some(y) => run.push(at(order.x(index), y)),
            None if run.is_empty() => {}
            None => runs.push(std::mem::take(&mut run)),
        }
    }
    if !run.is_empty() {
        runs.push(run);
    }
    runs
}

/// The same with every column of the drawing reduced to its first, highest, lowest and last
/// point; a column without any point ends a run.
pub(super) fn thinned_runs(
    values: &[Option<f64>],
    excluded: &Excluded,
    axis: &Axis,
    order: Order,
) -> Vec<Vec<Point>> {
    let mut runs: Vec<Vec<Point>> = Vec::new();
    let mut column: Option<Column> = None;
    let mut ended: Option<i64> = None;
    for (index, value) in values.iter().enumerate() {
        let place = value.and_then(|value| axis.place(value));
        let Some(y) = place.filter(|_| !excluded.contains(index)) else {
            continue;
        };
        let number = order.x(index).floor() as i64;
        match &mut column {
            Some(column) if column.number == number => column.take(y),
            _ => {
                finish(
                    &mut runs,
                    column.replace(Column::new(number, y)),
                    &mut ended,
                );
            }
        }
    }
    finish(&mut runs, column, &mut ended);
    runs
}

/// Adds a column to the run it continues, or begins another.
fn finish(runs: &mut Vec<Vec<Point>>, column: Option<Column>, ended: &mut Option<i64>) {
    let Some(column) = column else { return };
    let continues = *ended == Some(column.number - 1);
    *ended = Some(column.number);
    match runs.last_mut() {
        Some(run) if continues => run.extend(column.points()),
        _ => runs.push(column.points().to_vec()),
    }
}

/// What one column of the drawing holds.
struct Column {
    number: i64,
    first: f64,
    top: f64,
    bottom: f64,
    last: f64,
}

impl Column {
    fn new(number: i64, y: f64) -> Column {
        Column {
            number,
            first: y,
            top: y,
            bottom: y,
            last: y,
        }
    }

    fn take(&mut self, y: f64) {
        self.top = self.top.min(y);
        self.bottom = self.bottom.max(y);
        self.last = y;
    }

    fn points(&self) -> [Point; 4] {
        let x = self.number as f64 + 0.5;
        [self.first, self.top, self.bottom, self.last].map(|y| at(x, y))
    }
}
