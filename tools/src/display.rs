//! What an instrument's display shows: a whole number of its smallest steps.

use overwire_core::units::Unit;

/// Most decimal places a display here may have.
pub const MOST_PLACES: u8 = 6;

/// How an instrument shows a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Display {
    unit: Unit,
    places: u8,
    /// Smallest step, in units of the last place: 5 on a display that counts 0.00005 in.
    step: i64,
}

impl Display {
    /// The customary resolution of a unit: 0.00005 in or 0.001 mm (common practice, no source).
    pub fn customary(unit: Unit) -> Display {
        match unit {
            Unit::Inch => Display {
                unit,
                places: 5,
                step: 5,
            },
            Unit::Millimetre => Display {
                unit,
                places: 3,
                step: 1,
            },
        }
    }

    /// A display with so many places, at most [`MOST_PLACES`]; it counts by ones, but an inch display
    /// of five places by fives.
    pub fn with_places(unit: Unit, places: u8) -> Display {
        let customary = Display::customary(unit);
        if places == customary.places {
            return customary;
        }
        Display {
            unit,
            places: places.min(MOST_PLACES),
            step: 1,
        }
    }

    /// The unit shown.
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// Smallest step, mm.
    pub fn step_mm(&self) -> f64 {
        self.step as f64 / self.counts_per_mm()
    }

    /// What the display shows for a length: the nearest step.
    pub fn show(&self, length_mm: f64) -> Shown {
        let steps = (length_mm * self.counts_per_mm() / self.step as f64).round();
        Shown {
            counts: steps as i64 * self.step,
            places: self.places,
            unit: self.unit,
        }
    }

    fn counts_per_mm(&self) -> f64 {
        10_f64.powi(i32::from(self.places)) / self.unit.mm_per_unit()
    }
}

/// A value as the display shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown {
    /// The digits without their point.
    pub counts: i64,
    /// Digits behind the point.
    pub places: u8,
    /// The unit.
    pub unit: Unit,
}

impl Shown {
    /// The digits with their point, trailing zeros kept, a minus sign only where it belongs.
    pub fn text(&self) -> String {
        let places = usize::from(self.places);
        let digits = format!("{:0width$}", self.counts.unsigned_abs(), width = places + 1);
        let (whole, decimals) = digits.split_at(digits.len() - places);
        let sign = if self.counts < 0 { "-" } else { "" };
        let point = if places == 0 { "" } else { "." };
        format!("{sign}{whole}{point}{decimals}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_keeps_zeros_and_places_the_point() {
        let text = |counts, places| {
            Shown {
                counts,
                places,
                unit: Unit::Inch,
            }
            .text()
        };
        assert_eq!(text(107_930, 5), "1.07930");
        assert_eq!(text(-45, 5), "-0.00045");
        assert_eq!(text(0, 3), "0.000");
        assert_eq!(text(1000, 3), "1.000");
        assert_eq!(text(7, 0), "7");
    }

    #[test]
    fn a_display_counts_by_its_own_step() {
        let inch = Display::customary(Unit::Inch);
        assert_eq!(inch.show(1.07932 * 25.4).text(), "1.07930");
        assert_eq!(inch.show(1.07933 * 25.4).text(), "1.07935");
        assert_eq!(
            Display::customary(Unit::Millimetre).show(40.2784).text(),
            "40.278"
        );
        assert_eq!(
            Display::with_places(Unit::Inch, 4)
                .show(1.07932 * 25.4)
                .text(),
            "1.0793"
        );
        assert_eq!(
            Display::customary(Unit::Millimetre).show(-0.0004).text(),
            "0.000"
        );
    }

    #[test]
    fn the_step_is_told_in_millimetres() {
        assert!((Display::customary(Unit::Inch).step_mm() - 0.00127).abs() < 1e-12);
        assert!((Display::customary(Unit::Millimetre).step_mm() - 0.001).abs() < 1e-12);
    }
}
