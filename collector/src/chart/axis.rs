//! An axis: which whole display steps it runs between, where a value lies on it, its ticks.

use super::Tolerance;
use super::quantity::Quantity;
use super::words::{counted, times};

/// An axis spans at least so many display steps, lest the display's own steps look like
/// large swings.
pub(super) const LEAST_STEPS: f64 = 10.0;
/// Room left beyond the outermost values, as a part of the span.
const MARGIN: f64 = 0.05;
/// Nothing is drawn farther off than this, wherever a value lies.
const FARTHEST: f64 = 5000.0;

/// The lowest and highest of some values, in display steps.
#[derive(Clone, Copy, Debug)]
pub(super) struct Extent {
    pub(super) least: f64,
    pub(super) most: f64,
}

impl Extent {
    /// Of no values yet.
    pub(super) fn new() -> Extent {
        Extent {
            least: f64::INFINITY,
            most: f64::NEG_INFINITY,
        }
    }

    /// Of all values that an axis can show.
    pub(super) fn of(quantity: &Quantity, values: impl IntoIterator<Item = f64>) -> Extent {
        let mut extent = Extent::new();
        for value in values {
            extent.take(quantity.steps(value));
        }
        extent
    }

    /// Widens it to a value, if there is one.
    pub(super) fn take(&mut self, steps: Option<f64>) {
        if let Some(steps) = steps {
            self.least = self.least.min(steps);
            self.most = self.most.max(steps);
        }
    }

    /// Both together.
    pub(super) fn with(mut self, other: Extent) -> Extent {
        self.least = self.least.min(other.least);
        self.most = self.most.max(other.most);
        self
    }

    pub(super) fn is_empty(self) -> bool {
        self.least > self.most
    }

    pub(super) fn span(self) -> f64 {
        (self.most - self.least).max(0.0)
    }
}

/// What an axis is asked for.
pub(super) struct Plan<'a> {
    pub(super) quantity: &'a Quantity,
    pub(super) extent: Extent,
    /// The least span, in display steps.
    pub(super) floor: f64,
    /// Whether it starts at 0.
    pub(super) rooted: bool,
    /// Whether it ends at ticks.
    pub(super) snapped: bool,
    /// Where its low and its high end lie on the sheet.
    pub(super) ends: (f64, f64),
    pub(super) most_ticks: f64,
}

/// An axis in whole display steps.
pub(super) struct Axis {
    quantity: Quantity,
    /// Its ends, in display steps.
    pub(super) low: i64,
    pub(super) high: i64,
    tick: i64,
    ends: (f64, f64),
    rooted: bool,
    /// Whether the values alone would have spanned less than the floor.
    pub(super) floored: bool,
}

impl Axis {
    pub(super) fn of(plan: &Plan) -> Axis {
        let extent = plan.extent;
        let extent = if extent.is_empty() {
            Extent {
                least: 0.0,
                most: 0.0,
            }
        } else {
            extent
        };
        let (low, high) = if plan.rooted {
            (0.0, extent.most.max(plan.floor).max(1.0) * (1.0 + MARGIN))
        } else {
            let span = extent.span().max(plan.floor).max(1.0) * (1.0 + 2.0 * MARGIN);
            let middle = (extent.least + extent.most) / 2.0;
            (middle - span / 2.0, middle + span / 2.0)
        };
        let tick = nice((high - low) / plan.most_ticks.max(1.0), plan.quantity);
        let unit = if plan.snapped { tick } else { 1 };
        let low = (low / unit as f64).floor() as i64 * unit;
        let high = (high / unit as f64).ceil() as i64 * unit;
        Axis {
            quantity: plan.quantity.clone(),
            low,
            high: high.max(low + 1),
            tick,
            ends: plan.ends,
            rooted: plan.rooted,
            floored: extent.span() < plan.floor,
        }
    }

    /// Where a number of display steps lies on the sheet.
    pub(super) fn at_steps(&self, steps: f64) -> f64 {
        let (from, to) = self.ends;
        let part = (steps - self.low as f64) / (self.high - self.low) as f64;
        (from + part * (to - from)).clamp(-FARTHEST, FARTHEST)
    }

    /// Where a value lies on the sheet, if it can be shown at all.
    pub(super) fn place(&self, value: f64) -> Option<f64> {
        Some(self.at_steps(self.quantity.steps(value)?))
    }

    /// Where a value lies, if that is between the axis' ends.
    pub(super) fn place_within(&self, value: f64) -> Option<f64> {
        let steps = self.quantity.steps(value)?;
        (self.low as f64 <= steps && steps <= self.high as f64).then(|| self.at_steps(steps))
    }

    /// Where a value lies, or the end of the axis that is nearest to it.
    pub(super) fn place_clipped(&self, value: f64) -> Option<f64> {
        let steps = self.quantity.steps(value)?;
        Some(self.at_steps(steps.clamp(self.low as f64, self.high as f64)))
    }

    /// How long one display step is on the sheet.
    pub(super) fn step_length(&self) -> f64 {
        let (from, to) = self.ends;
        (to - from).abs() / (self.high - self.low) as f64
    }

    /// The span in display steps.
    pub(super) fn span(&self) -> i64 {
        self.high - self.low
    }

    /// Whole display steps that carry a label: where they lie, and the label.
    pub(super) fn ticks(&self) -> Vec<(f64, String)> {
        let first = self.low.div_euclid(self.tick) + i64::from(self.low.rem_euclid(self.tick) > 0);
        let last = self.high.div_euclid(self.tick);
        (first..=last)
            .map(|count| count * self.tick)
            .map(|steps| (self.at_steps(steps as f64), self.quantity.tick(steps)))
            .collect()
    }

    /// How far the axis reaches and, where it leaves out something wider, that it is zoomed.
    pub(super) fn sentence(&self, of: &str, step: &str, tolerance: Option<&Tolerance>) -> String {
        let quantity = &self.quantity;
        let (low, high) = self.end_labels();
        let mut sentence = format!(
            "Axis{of} {low} to {}: {} of {}",
            quantity.united(&high),
            counted(usize::try_from(self.span()).unwrap_or(0), step),
            quantity.united(&quantity.tick(1)),
        );
        let band = tolerance.and_then(|tolerance| {
            let lower = quantity.steps(tolerance.lower?)?;
            Some(quantity.steps(tolerance.upper?)? - lower)
        });
        let span = self.span() as f64;
        match band {
            Some(band) if band > span => sentence.push_str(&format!(
                "; zoomed, the tolerance is {} times as wide",
                times(band / span)
            )),
            None if self.floored => sentence.push_str("; held that wide, so that steps stay small"),
            None if !self.rooted => sentence.push_str("; zoomed to what is drawn"),
            _ => {}
        }
        sentence.push('.');
        sentence
    }

    /// Both ends as the display would write them.
    pub(super) fn end_labels(&self) -> (String, String) {
        (self.quantity.tick(self.low), self.quantity.tick(self.high))
    }
}

/// The smallest number of steps, at least as many as asked for, that reads as 1, 2 or 5 of
/// some decimal place.
pub(super) fn nice(least_steps: f64, quantity: &Quantity) -> i64 {
    let last_places = quantity.last_places();
    let least = least_steps.max(1.0) * last_places as f64;
    let round = |multiple: i64| {
        (0..16)
            .map(|power| 10_i64.pow(power))
            .flat_map(|power| [power, 2 * power, 5 * power])
            .find(|places| *places as f64 >= least && places % multiple == 0)
    };
    match round(last_places) {
        Some(places) => places / last_places,
        // A step that divides no round number, such as 3: round counts of steps instead.
        None => round(1).unwrap_or(1),
    }
}
