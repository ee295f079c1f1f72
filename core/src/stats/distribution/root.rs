//! The quantile of a distribution from its two tails.

/// More than any search here takes.
const MOST_STEPS: u32 = 400;

/// Where `low < high` and a function that rises from below zero at `low` to above it at `high` is zero:
/// halving and inverse parabolas by turns, to the last digits.
///
/// `None` when the function gives no number. Source: T. R. Chandrupatla, Advances in Engineering Software
/// 28 (1997) 145 (from memory).
pub(super) fn zero_between(
    mut low: (f64, f64),
    mut high: (f64, f64),
    function: impl Fn(f64) -> f64,
) -> Option<f64> {
    let mut share = 0.5;
    for _ in 0..MOST_STEPS {
        let at = high.0 + share * (low.0 - high.0);
        let value = function(at);
        if value.is_nan() {
            return None;
        }
        let third = match (value > 0.0) == (high.1 > 0.0) {
            true => high,
            false => std::mem::replace(&mut low, high),
        };
        high = (at, value);
        let best = match low.1.abs() < high.1.abs() {
            true => low,
            false => high,
        };
        let reach = 2.0 * f64::EPSILON * best.0.abs() + f64::MIN_POSITIVE;
        let least_share = reach / (low.0 - high.0).abs();
        if least_share > 0.5 || best.1.abs() <= 0.0 {
            return Some(best.0);
        }
        share = next_share(high, low, third).clamp(least_share, 1.0 - least_share);
    }
    Some(high.0)
}

/// How far to go from `near` towards `far`: by the inverse parabola through three points where it can
/// be trusted, else half the way.
fn next_share(near: (f64, f64), far: (f64, f64), third: (f64, f64)) -> f64 {
    let along = (near.0 - far.0) / (third.0 - far.0);
    let rise = (near.1 - far.1) / (third.1 - far.1);
    let trusted = rise * rise < along && (1.0 - rise).powi(2) < 1.0 - along;
    if !trusted {
        return 0.5;
    }
    let stretch = (third.0 - near.0) / (far.0 - near.0);
    near.1 / (far.1 - near.1) * third.1 / (far.1 - third.1)
        + stretch * near.1 / (third.1 - near.1) * far.1 / (third.1 - far.1)
}

/// The value above zero with this probability below it, from the tails `(below, beyond)` of a
/// distribution: sought on the scale of logarithms, in the smaller tail.
pub(super) fn quantile_above_zero(
    probability: f64,
    start: f64,
    tails: impl Fn(f64) -> Option<(f64, f64)>,
) -> Option<f64> {
    let rest = 1.0 - probability;
    let excess = |value: f64| {
        let Some((below, beyond)) = tails(value) else {
            return f64::NAN;
        };
        match probability < 0.5 {
            true => (below.max(f64::MIN_POSITIVE) / probability).ln(),
            false => (rest / beyond.max(f64::MIN_POSITIVE)).ln(),
        }
    };
    let function = |logarithm: f64| excess(logarithm.exp());
    let start = start.max(1e-300).ln();
    let (low, high) = bracket(start, &function)?;
    zero_between(low, high, function).map(f64::exp)
}

/// Two points, twice as far apart each time, between which a rising function turns positive.
pub(super) fn bracket(
    start: f64,
    function: &impl Fn(f64) -> f64,
) -> Option<((f64, f64), (f64, f64))> {
    let mut known = (start, function(start));
    let direction = match known.1 < 0.0 {
        true => 1.0,
        false => -1.0,
    };
    let mut step = 0.25;
    for _ in 0..16 {
        let at = known.0 + direction * step;
        let next = (at, function(at));
        if next.1.is_nan() {
            return None;
        }
        if (next.1 < 0.0) != (known.1 < 0.0) {
            return Some(match direction > 0.0 {
                true => (known, next),
                false => (next, known),
            });
        }
        known = next;
        step *= 2.0;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_a_root_to_the_last_digits() {
        let function = |x: f64| x * x - 2.0;
        let root = zero_between((0.0, -2.0), (2.0, 2.0), function).expect("a root");
        assert!((root - std::f64::consts::SQRT_2).abs() < 1e-15);
        let flat = |x: f64| (x - 1.0).powi(9);
        let root = zero_between((-3.0, flat(-3.0)), (7.0, flat(7.0)), flat).expect("a root");
        assert!((root - 1.0).abs() < 1e-2);
    }

    #[test]
    fn brackets_either_way() {
        for zero in [-70.0, -0.1, 0.2, 300.0] {
            let function = |x: f64| x - zero;
            let (low, high) = bracket(0.0, &function).expect("a bracket");
            assert!(low.0 <= zero && zero <= high.0, "{zero}");
        }
        assert_eq!(bracket(0.0, &|_| -1.0), None);
        assert_eq!(
            bracket(0.0, &|x| if x > 0.0 { f64::NAN } else { -1.0 }),
            None
        );
    }
}
