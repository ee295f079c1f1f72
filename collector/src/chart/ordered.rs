//! A panel of points in the order they were taken, with everything that belongs on it. The
//! run chart has one, the control charts two.

use std::collections::BTreeMap;

use super::axis::{Axis, Extent, LEAST_STEPS, Plan};
use super::frame::{Frame, Way};
use super::leaf::Leaf;
use super::lines::{self, LineEnd};
use super::quantity::Quantity;
use super::series::{Excluded, Order, runs, thinned_runs};
use super::signs;
use super::words::{clipped, counted, left_out, listed, numbers};
use super::{ControlLimits, Exclusion, Mark, Signal, Tolerance, marks};
use crate::sheet::{Point, at};

/// Symbols nearer to each other than this are not all drawn; the caption has their number.
const LEAST_SYMBOL_GAP: f64 = 3.0;
/// The same where points themselves are not drawn one by one.
const LEAST_THINNED_GAP: f64 = 9.0;

/// What a panel shows.
pub(super) struct Panel<'a> {
    pub(super) quantity: Quantity,
    pub(super) name: String,
    /// Which panel it is where there are two, e.g. ` of means`.
    pub(super) of: String,
    pub(super) noun: &'a str,
    /// What the axis' steps are called.
    pub(super) step: &'static str,
    /// Points that cannot be there, such as the moving range before the first piece.
    pub(super) absent: usize,
    /// How many points the level axis has room for.
    pub(super) count: usize,
    pub(super) values: &'a [Option<f64>],
    pub(super) exclusions: &'a [Exclusion],
    pub(super) signals: &'a [Signal],
    pub(super) limits: &'a [ControlLimits],
    pub(super) tolerance: Option<&'a Tolerance>,
    /// Whether the axis leaves the tolerance out of account.
    pub(super) zoomed: bool,
    /// Whether the axis starts at 0.
    pub(super) rooted: bool,
}

/// A panel with its axis laid out.
pub(super) struct Laid<'a> {
    panel: Panel<'a>,
    axis: Axis,
    excluded: Excluded<'a>,
    frame: Frame,
}

impl<'a> Panel<'a> {
    /// The lines that are named at the right.
    pub(super) fn ends(&self) -> Vec<LineEnd> {
        let mut ends = lines::control_ends(&self.quantity, self.limits);
        if let Some(tolerance) = self.tolerance {
            ends.extend(lines::tolerance_ends(&self.quantity, tolerance));
        }
        ends
    }

    /// Everything the axis has to show, in display steps.
    fn extent(&self, excluded: &Excluded) -> Extent {
        let counting = self.values.iter().enumerate();
        let counting = counting.filter(|(index, _)| !excluded.contains(*index));
        let values = counting.filter_map(|(_, value)| *value);
        let limits = self.limits.iter();
        let limits = limits.flat_map(|limits| [limits.lower, limits.centre, limits.upper]);
        let tolerance = self.tolerance.filter(|_| !self.zoomed);
        let tolerance = tolerance.map_or([None; 2], |tolerance| [tolerance.lower, tolerance.upper]);
        let drawn = limits.chain(tolerance).flatten();
        Extent::of(&self.quantity, values.chain(drawn))
    }

    /// Whether any point can be drawn.
    pub(super) fn has_points(&self) -> bool {
        let mut values = self.values.iter().flatten();
        values.any(|value| self.quantity.steps(*value).is_some())
    }

    /// Lays the axis out between two heights of the leaf.
    pub(super) fn lay(self, leaf: &Leaf, top: f64, bottom: f64) -> Laid<'a> {
        let excluded = Excluded::of(self.exclusions, self.values.len());
        let axis = Axis::of(&Plan {
            quantity: &self.quantity,
            extent: self.extent(&excluded),
            floor: LEAST_STEPS,
            rooted: self.rooted,
            snapped: true,
            ends: (bottom, top),
            most_ticks: ((bottom - top) / (leaf.measures.line() * 2.4)).max(3.0),
        });
        let frame = Frame {
            left: 0.0,
            right: 0.0,
            top,
            bottom,
        };
        Laid {
            panel: self,
            axis,
            excluded,
            frame,
        }
    }
}

impl Laid<'_> {
    /// Room for the labels at the left and the names at the right.
    pub(super) fn rooms(&self, leaf: &Leaf) -> (f64, f64) {
        let left = super::frame::room_for_labels(leaf, &self.axis) + leaf.measures.edge;
        (left, lines::room_for(leaf, &self.panel.ends()))
    }

    /// Sets where the panel begins and ends at left and right.
    pub(super) fn place(&mut self, left: f64, right: f64) {
        self.frame.left = left;
        self.frame.right = right.max(left + 40.0);
    }

    pub(super) fn frame(&self) -> Frame {
        self.frame
    }

    /// Writes what the panel shows, so far above it.
    pub(super) fn name(&self, leaf: &mut Leaf, above: f64) {
        let y = self.frame.top - above;
        self.frame.name_upright(leaf, y, &self.panel.name);
    }

    pub(super) fn order(&self) -> Order {
        Order::of(self.frame, self.panel.count)
    }

    /// Draws everything but the level axis, and adds the panel's sentences.
    pub(super) fn draw(&self, leaf: &mut Leaf, changes: &[Mark]) {
        let frame = self.frame;
        let order = self.order();
        frame.upright_ticks(leaf, &self.axis.ticks());
        if let Some(tolerance) = self.panel.tolerance {
            lines::draw_tolerance(leaf, frame, &self.axis, Way::Level, tolerance);
        }
        marks::draw_lines(leaf, frame, order, changes);
        let start = |index| order.start(index);
        lines::draw_control(leaf, frame, &self.axis, self.panel.limits, start);
        frame.outline(leaf);
        self.points(leaf, order);
        self.excluded_points(leaf, order);
        self.signal_points(leaf, order);
        lines::name_level(leaf, frame, &self.axis, self.panel.ends());
        self.sentences(leaf);
    }

    fn points(&self, leaf: &mut Leaf, order: Order) {
        let values = self.panel.values;
        if order.is_thinned() {
            let runs = thinned_runs(values, &self.excluded, &self.axis, order);
            leaf.sheet.strokes("ch-envelope", &runs, false);
            return;
        }
        let runs = runs(values, &self.excluded, &self.axis, order);
        let class = match order.dot_radius() {
            Some(_) => "ch-joined",
            None => "ch-envelope",
        };
        leaf.sheet.strokes(class, &runs, false);
        // A single point between two gaps has no line, so it needs a dot at any spacing.
        let alone = |run: &&Vec<Point>| order.dot_radius().is_some() || run.len() == 1;
        let points: Vec<Point> = runs.iter().filter(alone).flatten().copied().collect();
        signs::dots(leaf, &points, order.dot_radius().unwrap_or(1.2));
    }

    /// Hollow points with the sign of their reason; one that is off the axis stands at its end.
    fn excluded_points(&self, leaf: &mut Leaf, order: Order) {
        let mut free_from = f64::NEG_INFINITY;
        let mut points: Vec<_> = self.excluded.signs().collect();
        points.sort_unstable_by_key(|(index, _, _)| *index);
        for (index, sign, reason) in points {
            let value = self.panel.values.get(index).copied().flatten();
            let x = order.x(index);
            let drawable = value.filter(|value| self.panel.quantity.steps(*value).is_some());
            let Some(value) = drawable.filter(|_| x >= free_from) else {
                continue;
            };
            free_from = x + LEAST_SYMBOL_GAP;
            let radius = order.dot_radius().unwrap_or(2.0).max(2.6) + 0.6;
            leaf.sheet.open_told(&format!(
                "{} {}: {}, not counted: {}",
                clipped(self.panel.noun),
                index + 1,
                self.panel
                    .quantity
                    .united(&self.panel.quantity.given(value)),
                clipped(reason)
            ));
            if let Some(point) = self.excluded_place(leaf, x, value) {
                signs::hollow(leaf, point, radius);
                self.sign(leaf, "ch-text", point, &sign);
            }
            leaf.sheet.close_told();
        }
    }

    /// Where an excluded point is drawn: in its place, or inside the end of the axis beyond
    /// which it lies, with an arrow toward it.
    fn excluded_place(&self, leaf: &mut Leaf, x: f64, value: f64) -> Option<Point> {
        if let Some(y) = self.axis.place_within(value) {
            return Some(at(x, y));
        }
        let end = self.axis.place_clipped(value)?;
        let up = end <= self.frame.top + 0.5;
        let direction = at(0.0, if up { -1.0 } else { 1.0 });
        leaf.sheet
            .arrow_head("ch-arrow", at(x, end + direction.y * -1.5), direction, 8.0);
        Some(at(x, end - direction.y * 14.0))
    }

    /// A short sign beside a point, on the side where there is more room.
    fn sign(&self, leaf: &mut Leaf, class: &str, point: Point, sign: &str) {
        let above = point.y - self.frame.top > 24.0
            && (point.y < (self.frame.top + self.frame.bottom) / 2.0
                || self.frame.bottom - point.y < 24.0);
        let y = match above {
            true => point.y - 9.0,
            false => point.y + 8.0 + leaf.measures.text * 0.8,
        };
        signs::backed(leaf, class, at(point.x, y), sign);
    }

    /// The points with signals, in order: index, height, and all that was said there.
    fn signalled(&self) -> Vec<(usize, f64, Vec<&Signal>)> {
        let mut by_point: BTreeMap<usize, Vec<&Signal>> = BTreeMap::new();
        for signal in self.panel.signals {
            by_point.entry(signal.index).or_default().push(signal);
        }
        let height = |index: usize| {
            let value = self.panel.values.get(index).copied().flatten()?;
            self.axis.place_clipped(value)
        };
        by_point
            .into_iter()
            .filter_map(|(index, signals)| Some((index, height(index)?, signals)))
            .collect()
    }

    /// Diamonds with the numbers of the rules that spoke up.
    fn signal_points(&self, leaf: &mut Leaf, order: Order) {
        let points = self.signalled();
        let (mut free_from, mut sign_from) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        let (mut drawn, count) = (0, points.len());
        for (index, y, signals) in points {
            let x = order.x(index);
            if x < free_from {
                continue;
            }
            free_from = x + match order.is_thinned() {
                true => LEAST_THINNED_GAP,
                false => LEAST_SYMBOL_GAP,
            };
            drawn += 1;
            leaf.sheet
                .open_told(&told(self.panel.noun, index, &signals));
            let radius = order.dot_radius().unwrap_or(2.0) + 2.8;
            signs::diamond(leaf, "ch-signal", at(x, y), radius);
            let sign = rules(&signals);
            let half = leaf.width_of(&sign) / 2.0;
            if x - half >= sign_from {
                self.sign(leaf, "ch-text-signal-strong", at(x, y), &sign);
                sign_from = x + half + 2.0;
            }
            leaf.sheet.close_told();
        }
        if drawn < count {
            leaf.say(format!(
                "{drawn} of {count} diamonds drawn, the others are too close."
            ));
        }
    }

    /// What the caption says of this panel.
    fn sentences(&self, leaf: &mut Leaf) {
        let panel = &self.panel;
        let values = panel.values;
        let missing = values.iter().filter(|value| value.is_none()).count();
        let missing = missing.saturating_sub(panel.absent);
        if missing > 0 {
            let missing = counted(missing, panel.noun);
            leaf.say(format!("Gaps: {missing} missing."));
        }
        let drawable = |value: &&f64| panel.quantity.steps(**value).is_none();
        let lost = values.iter().flatten().filter(drawable).count();
        leaf.sentence(left_out(lost, panel.noun));
        leaf.sentence(self.excluded.sentence(panel.noun));
        leaf.sentence(signal_sentence(panel));
        if self.order().is_thinned() {
            leaf.say(format!(
                "{} drawn as the lowest and highest of each of {:.0} columns.",
                counted(values.len(), panel.noun),
                self.frame.width()
            ));
        }
        leaf.say(self.axis.sentence(&panel.of, panel.step, panel.tolerance));
    }
}

fn told(noun: &str, index: usize, signals: &[&Signal]) -> String {
    let words: Vec<String> = signals
        .iter()
        .map(|signal| format!("rule {}: {}", clipped(&signal.rule), clipped(&signal.words)))
        .collect();
    format!("{} {}: {}", clipped(noun), index + 1, listed(&words, "; "))
}

/// The rules of one point, as drawn beside it.
fn rules(signals: &[&Signal]) -> String {
    let mut rules: Vec<String> = signals
        .iter()
        .take(4)
        .map(|signal| signal.rule.chars().take(6).collect())
        .collect();
    rules.sort();
    rules.join(",")
}

/// The rules that spoke up, in words, with their points.
fn signal_sentence(panel: &Panel) -> Option<String> {
    let mut rules: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    let within = panel.signals.iter();
    for signal in within.filter(|signal| signal.index < panel.values.len()) {
        let rule = rules.entry((&signal.rule, &signal.meaning)).or_default();
        rule.push(signal.index);
    }
    let parts: Vec<String> = rules
        .iter_mut()
        .map(|((rule, meaning), indexes)| {
            indexes.sort_unstable();
            let (rule, meaning) = (clipped(rule), clipped(meaning));
            let many = if indexes.len() > 1 { "s" } else { "" };
            let noun = clipped(panel.noun);
            format!(
                "{rule}\u{a0}= {meaning} ({noun}{many} {})",
                numbers(indexes)
            )
        })
        .collect();
    let parts = listed(&parts, "; ");
    (!parts.is_empty()).then(|| format!("Diamonds{}, rule by number: {parts}.", panel.of))
}
