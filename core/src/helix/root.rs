//! The zero of a rising function, found without ever running away.

/// The most steps any search may take; two or three are usual.
pub(super) const MOST_STEPS: u32 = 100;

/// A step this small, relative to the unknown, is the last one: Newton's rule doubles the
/// digits, so what remains after it is below rounding, and so is what a straight line leaves out
/// between the last place looked at and the zero.
pub(super) const LAST_STEP: f64 = 1e-9;

/// A zero, and what was seen at the last place looked at.
pub(super) struct Root<T> {
    /// The last place.
    pub(super) unknown: f64,
    /// From there to the zero.
    pub(super) step: f64,
    /// What the function found there.
    pub(super) seen: T,
}

/// What a function is at one place.
pub(super) struct Value<T> {
    pub(super) excess: f64,
    /// One over its rate of change: known sooner than the excess.
    pub(super) over_rate: f64,
    pub(super) seen: T,
}

/// The zero of a rising function between two bounds: Newton's rule, halving the bracket
/// whenever a step would leave it. Never takes more than [`MOST_STEPS`] steps.
#[inline(always)]
pub(super) fn rising_root<T>(
    mut low: f64,
    mut high: f64,
    start: f64,
    function: impl Fn(f64) -> Option<Value<T>>,
) -> Option<Root<T>> {
    let mut unknown = match start > low && start <= high {
        true => start,
        false => low + (high - low) / 2.0,
    };
    for _ in 0..MOST_STEPS {
        let Value {
            excess,
            over_rate,
            seen,
        } = function(unknown)?;
        if !excess.is_finite() {
            return None;
        }
        if excess > 0.0 {
            high = unknown;
        } else {
            low = unknown;
        }
        let step = -excess * over_rate;
        if over_rate > 0.0 && step.abs() <= LAST_STEP * unknown {
            return Some(Root {
                unknown,
                step,
                seen,
            });
        }
        let next = unknown + step;
        unknown = match over_rate > 0.0 && next > low && next < high {
            true => next,
            false => low + (high - low) / 2.0,
        };
    }
    None
}
