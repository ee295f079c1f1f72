//! Limits of the pitch diameter as they are shown, and a value beside them: with so many places that what lies outside
//! is seen to lie outside. Nothing is judged here; verdicts are made by the unrounded values.

use overwire_core::decimal::{MOST_PLACES, format_to};
use overwire_core::units::Unit;
use serde::Serialize;

/// Lower and upper limit, mm.
pub type LimitsMm = (f64, f64);

/// Limits of the pitch diameter.
#[derive(Debug, Clone, Serialize, PartialEq, Eq)]
#[allow(missing_docs)]
pub struct LimitsView {
    pub min: String,
    pub max: String,
}

impl LimitsView {
    /// Of two lengths in millimetres, in a unit.
    pub fn of(min_mm: f64, max_mm: f64, unit: Unit) -> LimitsView {
        LimitsView::to((min_mm, max_mm), unit, places_of((min_mm, max_mm), unit))
    }

    /// The same with so many places.
    pub fn to(limits: LimitsMm, unit: Unit, places: u8) -> LimitsView {
        let text = |mm: f64| format_to(mm / unit.mm_per_unit(), places);
        LimitsView {
            min: text(limits.0),
            max: text(limits.1),
        }
    }
}

/// Decimal places limits are written with.
pub fn places_of((min_mm, max_mm): LimitsMm, unit: Unit) -> u8 {
    limit_places(min_mm, unit).max(limit_places(max_mm, unit))
}

/// Places a limit was given with: 4 for inch and 3 for millimetre, or up to two more, none of them a bare 0 at the end.
fn limit_places(mm: f64, unit: Unit) -> u8 {
    let value = mm / unit.mm_per_unit();
    let base = match unit {
        Unit::Inch => 4,
        Unit::Millimetre => 3,
    };
    let rounded = |places: u8| {
        let scale = 10f64.powi(i32::from(places));
        (value * scale).round() / scale
    };
    // A limit of the other unit never comes out even: one place more than a fine display says enough.
    let finest = rounded(base + 2);
    let says_as_much = |places: &u8| (rounded(*places) - finest).abs() < 5e-9;
    (base..=base + 2).find(says_as_much).unwrap_or(base + 2)
}

/// Decimal places of a value and of its limits beside each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Places {
    /// Of the value.
    pub value: u8,
    /// Of the limits.
    pub limits: u8,
}

/// Places that limits get beyond the usual ones at most.
const MORE_OF_LIMITS: u8 = 2;

/// A value that is not further outside than this is on the limit, mm: what the arithmetic leaves.
const ON_THE_LIMIT_MM: f64 = 1e-9;

impl Places {
    /// Of a value in millimetres on a display of so many places, and its limits.
    ///
    /// They are the usual ones, and more only where rounding would show a value outside its limits as one that
    /// keeps them, or the other way round.
    pub fn of(mm: Option<f64>, limits: Option<LimitsMm>, unit: Unit, display: u8) -> Places {
        let usual = Places {
            value: display,
            limits: limits.map_or(display, |limits| places_of(limits, unit)),
        };
        let (Some(mm), Some(limits)) = (mm, limits) else {
            return usual;
        };
        let of_limits = usual.limits..=usual.limits + MORE_OF_LIMITS;
        of_limits
            .flat_map(|limits| (display..=MOST_PLACES).map(move |value| Places { value, limits }))
            .find(|places| places.tell(mm, limits, unit))
            .unwrap_or(usual)
    }

    /// Of how far a value lies beyond a limit, in the unit: as the value, or more where that would make it nothing.
    pub fn of_distance(self, distance: f64) -> u8 {
        let shows = |places: &u8| distance.abs() * 10f64.powi(i32::from(*places)) >= 0.5;
        (self.value..=MOST_PLACES).find(shows).unwrap_or(self.value)
    }

    fn tell(self, mm: f64, (min, max): LimitsMm, unit: Unit) -> bool {
        let shown = |mm: f64, places: u8| {
            let text = format_to(mm / unit.mm_per_unit(), places);
            text.parse::<f64>().unwrap_or(f64::NAN)
        };
        let outside = |more: f64, less: f64| more - less > ON_THE_LIMIT_MM;
        // Far from a limit no rounding hides anything; most values are.
        let coarsest = 10f64.powi(-i32::from(self.value.min(self.limits))) * unit.mm_per_unit();
        let far = (mm - min).abs().min((mm - max).abs()) > coarsest;
        let value = shown(mm, self.value);
        far || (outside(mm, max) == (value > shown(max, self.limits))
            && outside(min, mm) == (value < shown(min, self.limits)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_shown_as_they_were_given() {
        for (min, max, given, shown, texts) in [
            (0.5205, 0.5250, Unit::Inch, Unit::Inch, ("0.5205", "0.5250")),
            (
                0.45,
                0.45015,
                Unit::Inch,
                Unit::Inch,
                ("0.45000", "0.45015"),
            ),
            // Worked out: nothing is left of a tenth of a microinch.
            (
                1.000_199_97,
                1.005_100_03,
                Unit::Inch,
                Unit::Inch,
                ("1.0002", "1.0051"),
            ),
            (
                38.931,
                39.026,
                Unit::Millimetre,
                Unit::Millimetre,
                ("38.931", "39.026"),
            ),
            (
                32.55,
                32.88,
                Unit::Millimetre,
                Unit::Millimetre,
                ("32.550", "32.880"),
            ),
            (
                1.0010,
                1.0067,
                Unit::Inch,
                Unit::Millimetre,
                ("25.42540", "25.57018"),
            ),
        ] {
            let mm = |value: f64| value * given.mm_per_unit();
            let view = LimitsView::of(mm(min), mm(max), shown);
            assert_eq!((view.min.as_str(), view.max.as_str()), texts);
        }
    }

    /// What is seen of a value and its limits.
    fn seen(value: f64, of: Unit, limits: LimitsMm, shown: Unit, display: u8) -> [String; 3] {
        let mm = value * of.mm_per_unit();
        let places = Places::of(Some(mm), Some(limits), shown, display);
        let view = LimitsView::to(limits, shown, places.limits);
        [
            view.min,
            format_to(mm / shown.mm_per_unit(), places.value),
            view.max,
        ]
    }

    /// 11.275 mm is 0.443897... in: to five places a value above it and one below are both 0.44390.
    #[test]
    fn a_value_outside_its_limits_is_seen_outside_and_one_inside_is_not() {
        use Unit::{Inch, Millimetre};
        let metric = (11.275, 11.389);
        let inch = (0.4435 * 25.4, 0.4485 * 25.4);
        for (value, of, limits, shown, display, seen_as) in [
            (
                11.3,
                Millimetre,
                metric,
                Inch,
                5,
                ["0.443898", "0.44488", "0.448386"],
            ),
            (
                11.2749,
                Millimetre,
                metric,
                Inch,
                5,
                ["0.443898", "0.44389", "0.448386"],
            ),
            (
                11.2751,
                Millimetre,
                metric,
                Inch,
                5,
                ["0.443898", "0.44390", "0.448386"],
            ),
            (
                11.274_97,
                Millimetre,
                metric,
                Inch,
                5,
                ["0.443898", "0.443896", "0.448386"],
            ),
            (
                11.275,
                Millimetre,
                metric,
                Inch,
                5,
                ["0.443898", "0.44390", "0.448386"],
            ),
            (
                11.389_02,
                Millimetre,
                metric,
                Inch,
                4,
                ["0.443898", "0.4484", "0.448386"],
            ),
            (
                0.448_504,
                Inch,
                inch,
                Inch,
                5,
                ["0.4435", "0.448504", "0.4485"],
            ),
            (0.4485, Inch, inch, Inch, 5, ["0.4435", "0.44850", "0.4485"]),
            (
                0.448_500_4,
                Inch,
                inch,
                Inch,
                5,
                ["0.4435", "0.4485004", "0.4485"],
            ),
        ] {
            let found = seen(value, of, limits, shown, display);
            assert_eq!(found, seen_as, "{value}");
        }
    }

    /// Random values about random limits: what is seen agrees with what is so, but for what is on the limit.
    #[test]
    fn what_is_seen_is_so() {
        let mut state = 7_u64;
        let mut draw = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) as f64 / f64::from(1_u32 << 31)
        };
        for _ in 0..20_000 {
            let min = (5.0 + 20.0 * draw() * 1e3).round() / 1e3;
            let limits = (min, min + 0.1);
            let display = 2 + (draw() * 4.0) as u8;
            let unit = [Unit::Inch, Unit::Millimetre][(draw() * 2.0) as usize];
            let mm = [min, limits.1][(draw() * 2.0) as usize] + (draw() - 0.5) * 1e-3;
            let nearest = (mm - limits.0).abs().min((mm - limits.1).abs());
            if nearest < 2e-6 {
                continue;
            }
            let [low, value, high] = seen(mm, Unit::Millimetre, limits, unit, display)
                .map(|text| text.parse::<f64>().expect("a number"));
            assert_eq!(
                mm > limits.1,
                value > high,
                "{mm} {limits:?} {unit} {display}"
            );
            assert_eq!(
                mm < limits.0,
                value < low,
                "{mm} {limits:?} {unit} {display}"
            );
        }
    }
}
