//! What an axis counts: a quantity in its unit, in the steps of the instrument's display.

use overwire_core::decimal::{Decimal, MOST_PLACES, format_to};

/// No reading is more display steps than this; beyond it, whole steps are no longer whole.
const MOST_STEPS: f64 = 1e11;
/// A display counts by ones, twos, fives, not by more than this.
const LARGEST_STEP: u32 = 1000;

/// A measured quantity, its unit, and how the display counts it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quantity {
    /// What it is called, e.g. `Pitch diameter`.
    pub name: String,
    /// The unit of the workshop drawing, e.g. `mm`; empty for plain counts.
    pub unit: String,
    /// Decimals the display shows in that unit; eight at most are used.
    pub places: u8,
    /// How many of the last decimal make one display step: usually 1, for a display in half
    /// thousandths 5.
    pub step_in_last_place: u32,
}

impl Quantity {
    /// Whole numbers of something.
    pub(super) fn counting(name: &str) -> Quantity {
        Quantity {
            name: name.to_owned(),
            unit: String::new(),
            places: 0,
            step_in_last_place: 1,
        }
    }

    /// The same quantity in tenths of a step, for figures that are calculated.
    pub(super) fn finer(&self) -> Quantity {
        Quantity {
            places: (self.places() + 1).min(MOST_PLACES),
            ..self.clone()
        }
    }

    pub(super) fn places(&self) -> u8 {
        self.places.min(MOST_PLACES)
    }

    pub(super) fn last_places(&self) -> i64 {
        i64::from(self.step_in_last_place.clamp(1, LARGEST_STEP))
    }

    /// One display step in the unit.
    pub(super) fn step(&self) -> f64 {
        self.last_places() as f64 / self.shift()
    }

    fn shift(&self) -> f64 {
        10f64.powi(i32::from(self.places()))
    }

    /// A value counted in display steps, if any axis could show it.
    pub(super) fn steps(&self, value: f64) -> Option<f64> {
        let steps = value * self.shift() / self.last_places() as f64;
        (steps.abs() <= MOST_STEPS).then_some(steps)
    }

    /// So many steps, as the display would write them.
    pub(super) fn tick(&self, steps: i64) -> String {
        let count = steps.saturating_mul(self.last_places());
        Decimal::from_steps(count, self.places()).map_or_else(
            |_| format_to(count as f64 / self.shift(), self.places()),
            |decimal| decimal.to_string(),
        )
    }

    /// A calculated figure, to a tenth of the display's last place.
    pub(super) fn figure(&self, value: f64) -> String {
        self.written(value, self.places() + 1)
    }

    /// A spread, which is smaller than the readings and gets one decimal more.
    pub(super) fn spread(&self, value: f64) -> String {
        self.written(value, self.places() + 2)
    }

    /// A calculated figure with its unit.
    pub(super) fn measured(&self, value: f64) -> String {
        self.united(&self.figure(value))
    }

    /// A given value: as many decimals as the display has, and more only if it needs them; one that needs many is
    /// calculated, and gets one more.
    pub(super) fn given(&self, value: f64) -> String {
        let most = self.places() + 3;
        let exact = (self.places()..most).find(|places| {
            let shift = 10f64.powi(i32::from(*places));
            ((value * shift).round() - value * shift).abs() < 1e-4
        });
        self.written(value, exact.unwrap_or(self.places() + 1))
    }

    /// A text with the unit behind it.
    pub(super) fn united(&self, text: &str) -> String {
        if self.unit.is_empty() {
            text.to_owned()
        } else {
            // A no-break space keeps number and unit on one line.
            format!("{text}\u{a0}{}", super::words::clipped(&self.unit))
        }
    }

    /// Name and unit, as an axis is headed.
    pub(super) fn heading(&self) -> String {
        let name = super::words::clipped(&self.name);
        if self.unit.is_empty() {
            name
        } else {
            format!("{name}, {}", super::words::clipped(&self.unit))
        }
    }

    fn written(&self, value: f64, places: u8) -> String {
        if self.steps(value).is_some() {
            format_to(value, places)
        } else {
            "unknown".to_owned()
        }
    }
}
