//! Averages over an estimated standard deviation.
//!
//! A statistic that is divided by an estimate s of σ has the distribution it would have with σ
//! known, averaged over `s/σ = √(χ²/n)`. The average is a plain sum over equal steps of `ln(s/σ)`.

use std::f64::consts::{FRAC_PI_2, LN_2, PI};

use super::gamma::{above_logarithm, log_gamma, stirling_rest};

/// Where the density has fallen by this many powers of e it counts for nothing.
const FALLEN: f64 = 42.0;

/// More nodes than any sensible question takes.
const MOST_NODES: f64 = 2e6;

/// Values of `s/σ` and their weights, for so many degrees of freedom.
pub(super) struct OverSpread {
    nodes: Vec<(f64, f64)>,
}

impl OverSpread {
    /// `sharpness`: the averaged function changes over no less than a share of `1/sharpness` of `s`.
    /// `None` for degrees of freedom below one, or for a sharpness that no question asks for.
    pub(super) fn new(degrees_of_freedom: f64, sharpness: f64) -> Option<OverSpread> {
        if degrees_of_freedom.is_nan() || degrees_of_freedom < 1.0 {
            return None;
        }
        if degrees_of_freedom > 1e14 {
            return Some(OverSpread {
                nodes: vec![(1.0, 1.0)],
            });
        }
        let (low, high) = ends(degrees_of_freedom);
        let narrow = 0.5 / (2.0 * degrees_of_freedom).sqrt();
        let step = narrow.min(0.1).min(0.6 / sharpness);
        let steps = ((high - low) / step).ceil();
        if steps.is_nan() || steps > MOST_NODES {
            return None;
        }
        let constant = log_constant(degrees_of_freedom);
        let node = |index: u32| {
            let logarithm = low + f64::from(index) * step;
            let decline = degrees_of_freedom / 2.0 * decline(logarithm);
            (logarithm.exp(), (constant - decline).exp() * step)
        };
        let nodes = (0..=steps as u32).map(node);
        Some(OverSpread {
            nodes: nodes.filter(|&(_, weight)| weight > 1e-20).collect(),
        })
    }

    /// The average of a function of `s/σ`.
    pub(super) fn mean(&self, function: impl Fn(f64) -> f64) -> f64 {
        let one = |&(spread, weight): &(f64, f64)| weight * function(spread);
        self.nodes.iter().map(one).sum()
    }
}

/// `s² - 1 - 2 ln s`, by the logarithm: by how much the density falls on either side of 1.
fn decline(logarithm: f64) -> f64 {
    let above = (2.0 * logarithm).exp_m1();
    match above.abs() < 0.3 {
        true => above_logarithm(above),
        false => above - 2.0 * logarithm,
    }
}

/// The ends, in `ln(s/σ)`, by halving.
fn ends(degrees_of_freedom: f64) -> (f64, f64) {
    let fallen = |logarithm: f64| degrees_of_freedom / 2.0 * decline(logarithm) > FALLEN;
    let end = |mut far: f64| {
        let mut near = 0.0;
        for _ in 0..30 {
            let middle = (near + far) / 2.0;
            match fallen(middle) {
                true => far = middle,
                false => near = middle,
            }
        }
        far
    };
    (end(-2.0 * FALLEN), end(FRAC_PI_2 * 2.0))
}

/// The logarithm of the density of `ln(s/σ)` at 1: `ln 2 + h ln h - h - ln Γ(h)` with `h = n/2`.
fn log_constant(degrees_of_freedom: f64) -> f64 {
    let half = degrees_of_freedom / 2.0;
    match half < 10.0 {
        true => LN_2 + half * half.ln() - half - log_gamma(half),
        false => LN_2 + 0.5 * (half / (2.0 * PI)).ln() - stirling_rest(half),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The weights sum to one, the mean square of `s/σ` is one, its mean is c4.
    #[test]
    fn moments_of_the_spread() {
        for degrees in [1.0, 1.5, 2.0, 4.0, 30.0, 1e3, 1e6, 1e15] {
            let over = OverSpread::new(degrees, 1.0).expect("an average");
            assert!((over.mean(|_| 1.0) - 1.0).abs() < 1e-13, "{degrees}");
            assert!(
                (over.mean(|spread| spread * spread) - 1.0).abs() < 1e-13,
                "{degrees}"
            );
            let mean = over.mean(|spread| spread);
            let rise = super::super::log_gamma_rise(degrees / 2.0, 0.5).exp();
            assert!(
                (mean - (2.0 / degrees).sqrt() * rise).abs() < 1e-13,
                "{degrees}"
            );
        }
    }
}
