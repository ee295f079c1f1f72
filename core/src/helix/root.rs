//! The zero of a rising function, found without ever running away.

/// The most steps any search may take; three or four are usual.
pub(super) const MOST_STEPS: u32 = 100;

/// A step this small, relative to the unknown, is the last one: Newton's rule doubles
/// the digits, so what remains after it is below rounding.
pub(super) const LAST_STEP: f64 = 1e-11;

/// The zero of a rising function between two bounds: Newton's rule, halving the bracket
/// whenever a step would leave it. Never takes more than [`MOST_STEPS`] steps.
pub(super) fn rising_root(
    mut low: f64,
    mut high: f64,
    start: f64,
    function: impl Fn(f64) -> (f64, f64),
) -> Option<f64> {
    let mut unknown = match start > low && start <= high {
        true => start,
        false => low + (high - low) / 2.0,
    };
    for _ in 0..MOST_STEPS {
        let (excess, rate) = function(unknown);
        if !excess.is_finite() {
            return None;
        }
        if excess > 0.0 {
            high = unknown;
        } else {
            low = unknown;
        }
        let step = -excess / rate;
        if rate > 0.0 && step.abs() <= LAST_STEP * unknown {
            return Some(unknown + step);
        }
        let next = unknown + step;
        unknown = match rate > 0.0 && next > low && next < high {
            true => next,
            false => low + (high - low) / 2.0,
        };
    }
    None
}
