//! The range of normal deviates.

use super::normal::{normal_beyond, normal_density, normal_probability};
use crate::stats::integral::over_line;

/// Beyond this a normal deviate counts for nothing here.
const FAR: f64 = 8.8;

/// The probability that the range of so many normal deviates lies below a value,
/// `k ∫ φ(x) [Φ(x) - Φ(x - r)]^(k-1) dx`; good to 13 places. `None` for fewer than two.
///
/// ```
/// use overwire_core::stats::distribution::normal_range_probability;
/// // Two deviates: their difference has a standard deviation of √2.
/// let below = normal_range_probability(2.0_f64.sqrt(), 2).expect("a probability");
/// assert!((below - 0.682_689_492_137_086).abs() < 1e-14);
/// ```
pub fn normal_range_probability(range: f64, deviates: u32) -> Option<f64> {
    if deviates < 2 || range.is_nan() {
        return None;
    }
    Some(RangeOf::new(deviates).below(range))
}

/// The range of so many deviates, with what its integral needs again and again.
pub(super) struct RangeOf {
    deviates: f64,
    nodes: Vec<Node>,
}

/// A place on the line, its share of the integral, and the probabilities to either side.
struct Node {
    place: f64,
    weight: f64,
    below: f64,
    beyond: f64,
}

impl RangeOf {
    /// For two deviates at least.
    pub(super) fn new(deviates: u32) -> RangeOf {
        let deviates = f64::from(deviates);
        // The largest of many deviates spreads the less the more there are.
        let width = (0.24 / (2.0 * deviates.ln()).sqrt()).min(0.25);
        let reach = (FAR / width).ceil() as i32;
        let node = |index: i32| {
            let place = f64::from(index) * width;
            Node {
                place,
                weight: normal_density(place) * width,
                below: normal_probability(place),
                beyond: normal_beyond(place),
            }
        };
        let counts = |node: &Node| node.below.powf(deviates - 1.0) > 1e-19;
        RangeOf {
            deviates,
            nodes: (-reach..=reach).map(node).filter(counts).collect(),
        }
    }

    /// The probability below a range.
    pub(super) fn below(&self, range: f64) -> f64 {
        if range <= 0.0 {
            return 0.0;
        }
        let power = self.deviates - 1.0;
        let one = |node: &Node| node.weight * RangeOf::inside(node, range).powf(power);
        let sum: f64 = self.nodes.iter().map(one).sum();
        (self.deviates * sum).min(1.0)
    }

    /// The probability beyond a range.
    pub(super) fn beyond(&self, range: f64) -> f64 {
        1.0 - self.below(range)
    }

    /// The probability between a node and the place `range` below it.
    fn inside(node: &Node, range: f64) -> f64 {
        let other = node.place - range;
        // Above the middle the difference of the upper tails keeps the digits.
        let inside = match node.place > range / 2.0 {
            true => normal_beyond(other) - node.beyond,
            false => node.below - normal_probability(other),
        };
        inside.max(0.0)
    }

    /// The density: the same integral with one power less, and the density at the lower end.
    fn density(&self, range: f64) -> f64 {
        let power = self.deviates - 2.0;
        let one = |node: &Node| {
            let lower = normal_density(node.place - range);
            node.weight * lower * RangeOf::inside(node, range).powf(power)
        };
        let sum: f64 = self.nodes.iter().map(one).sum();
        self.deviates * (self.deviates - 1.0) * sum
    }
}

/// The mean range of so many normal deviates, `∫ [1 - Φ^n - (1-Φ)^n] dx`.
pub(in crate::stats) fn mean_of_range(deviates: f64) -> f64 {
    let function = |place: f64| {
        let beyond = normal_beyond(place.abs());
        -(deviates * (-beyond).ln_1p()).exp_m1() - beyond.powf(deviates)
    };
    over_line(-12.0, 12.0, 0.06, function)
}

/// The mean square of the range of so many normal deviates, `∫ r² f(r) dr`, summed over `ln r`.
pub(in crate::stats) fn mean_square_of_range(deviates: u32) -> f64 {
    if deviates == 2 {
        return 2.0;
    }
    let range = RangeOf::new(deviates);
    let mut low = 1.0;
    while range.below(low) > 1e-18 {
        low /= 2.0;
    }
    let function = |logarithm: f64| {
        let value = logarithm.exp();
        value.powi(3) * range.density(value)
    };
    // Relative to its mean the range spreads the less the more deviates there are.
    let step = (0.15 / f64::from(deviates).ln()).min(0.12);
    over_line(f64::ln(low), f64::ln(2.0 * FAR), step, function)
}
