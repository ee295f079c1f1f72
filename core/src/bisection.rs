//! The zero of a rising function by halving, for places where a slope is not at hand.

/// Halving this often reaches the last digit of a number from any bracket.
const MOST_HALVINGS: u32 = 2_000;

/// Where `function` turns from negative to not negative between two bounds.
///
/// `None` when it does not change sign between them, or gives no number on the way.
pub(crate) fn rising_zero(
    mut low: f64,
    mut high: f64,
    function: impl Fn(f64) -> Option<f64>,
) -> Option<f64> {
    let (at_low, at_high) = (function(low)?, function(high)?);
    if at_low > 0.0 || at_high < 0.0 || at_low.is_nan() || at_high.is_nan() {
        return None;
    }
    for _ in 0..MOST_HALVINGS {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        let excess = function(middle)?;
        if excess.is_nan() {
            return None;
        }
        if excess < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}

#[cfg(test)]
mod tests {
    use super::rising_zero;

    #[test]
    fn finds_a_root_to_the_last_digit() {
        let root = rising_zero(0.0, 2.0, |x| Some(x * x - 2.0)).expect("a root");
        assert!((root - std::f64::consts::SQRT_2).abs() < 5e-16);
    }

    #[test]
    fn says_when_there_is_none() {
        assert_eq!(rising_zero(0.0, 1.0, |x| Some(x + 1.0)), None);
        assert_eq!(rising_zero(0.0, 1.0, |x| Some(x - 2.0)), None);
        assert_eq!(rising_zero(0.0, 1.0, |_| Some(f64::NAN)), None);
        assert_eq!(rising_zero(0.0, 1.0, |x| (x < 0.5).then_some(-1.0)), None);
    }
}
