//! Several groups against one of them: Dunnett's distribution.
//!
//! The t of the comparisons share the mean of the named group and the pooled spread. With `n_i`
//! readings in a group and `n_0` in the named one, `T_i = (√(1-b_i²) Z_i - b_i Z_0)/(s/σ)` with
//! `b_i² = n_i/(n_i + n_0)`: a half for groups of one size.
//!
//! Source: C. W. Dunnett, Journal of the American Statistical Association 50 (1955) 1096 (from memory).

use std::f64::consts::FRAC_1_SQRT_2;

use super::is_open_probability;
use super::normal::{normal_beyond, normal_density, normal_probability};
use super::over_spread::OverSpread;
use super::root::{bracket, zero_between};

/// Beyond this a normal deviate counts for nothing here.
const FAR: f64 = 8.8;

/// The most comparisons at once.
const MOST_COMPARISONS: usize = 1_000;

/// On which side of the named group a difference counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// On either.
    Both,
    /// On one that was named beforehand.
    One,
}

/// Comparisons of several groups with a named one.
///
/// Probabilities are good to 13 places for up to a thousand comparisons and degrees of freedom of one
/// and more.
///
/// ```
/// use overwire_core::stats::distribution::{Dunnett, Sides};
/// let dunnett = Dunnett::equal(4, 20.0).expect("comparisons");
/// let factor = dunnett.quantile(0.95, Sides::Both).expect("a factor");
/// assert!((factor - 2.6510).abs() < 1e-4);
/// ```
pub struct Dunnett {
    /// `b/√(1-b²)` and `1/√(1-b²)` of each comparison.
    comparisons: Vec<(f64, f64)>,
    over: OverSpread,
    /// Places for the mean of the named group, with weights.
    nodes: Vec<(f64, f64)>,
}

impl Dunnett {
    /// So many groups of the size of the named one. `None` without a group, with more than a thousand,
    /// or for degrees of freedom below one.
    pub fn equal(comparisons: usize, degrees_of_freedom: f64) -> Option<Dunnett> {
        let few = comparisons <= MOST_COMPARISONS;
        few.then(|| vec![FRAC_1_SQRT_2; comparisons])
            .and_then(|shared| Dunnett::sharing(&shared, degrees_of_freedom))
    }

    /// Groups of these sizes against a named one of `named` readings. `None` as [`Dunnett::equal`], and
    /// for a group without a reading.
    pub fn of_sizes(named: usize, others: &[usize], degrees_of_freedom: f64) -> Option<Dunnett> {
        if named == 0 || others.contains(&0) {
            return None;
        }
        let share = |&other: &usize| (other as f64 / (other as f64 + named as f64)).sqrt();
        let shared: Vec<f64> = others.iter().map(share).collect();
        Dunnett::sharing(&shared, degrees_of_freedom)
    }

    /// So many comparisons that share no reading, only the degrees of freedom of their spread: the largest
    /// of them is the studentized maximum modulus. `None` as [`Dunnett::equal`].
    pub fn apart(comparisons: usize, degrees_of_freedom: f64) -> Option<Dunnett> {
        if comparisons == 0 || comparisons > MOST_COMPARISONS {
            return None;
        }
        let crowd = (1.0 + (comparisons as f64).ln()).sqrt();
        Some(Dunnett {
            comparisons: vec![(0.0, 1.0); comparisons],
            over: OverSpread::new(degrees_of_freedom, 2.0 * crowd)?,
            // The mean of the named group counts for nothing: one place stands for all.
            nodes: vec![(0.0, 1.0)],
        })
    }

    fn sharing(shared: &[f64], degrees_of_freedom: f64) -> Option<Dunnett> {
        if shared.is_empty() || shared.len() > MOST_COMPARISONS {
            return None;
        }
        let own = |share: f64| (1.0 - share * share).sqrt();
        let comparisons = shared
            .iter()
            .map(|&share| (share / own(share), 1.0 / own(share)));
        let comparisons: Vec<(f64, f64)> = comparisons.collect();
        let steepest = comparisons.iter().map(|pair| pair.0).fold(1.0, f64::max);
        let crowd = (1.0 + (shared.len() as f64).ln()).sqrt();
        let width = 0.4 / (steepest * crowd);
        let reach = (FAR / width).ceil() as i32;
        let node = |index: i32| {
            let place = f64::from(index) * width;
            (place, normal_density(place) * width)
        };
        Some(Dunnett {
            over: OverSpread::new(degrees_of_freedom, 2.0 * steepest * crowd)?,
            comparisons,
            nodes: (-reach..=reach).map(node).collect(),
        })
    }

    /// The probability that at least one t reaches beyond a limit: the significance of the largest.
    /// `None` when the limit is no number.
    pub fn beyond(&self, limit: f64, sides: Sides) -> Option<f64> {
        (!limit.is_nan()).then(|| self.some_beyond(limit, sides).clamp(0.0, 1.0))
    }

    /// The limit within which all t lie with this probability: the factor of intervals that hold
    /// together. `None` unless the probability lies between 0 and 1.
    pub fn quantile(&self, probability: f64, sides: Sides) -> Option<f64> {
        if !is_open_probability(probability) {
            return None;
        }
        let rest = 1.0 - probability;
        let function = |limit: f64| rest - self.some_beyond(limit, sides);
        let (low, high) = bracket(2.0, &function)?;
        zero_between(low, high, function)
    }

    fn some_beyond(&self, limit: f64, sides: Sides) -> f64 {
        self.over.mean(|spread| {
            let reach = limit * spread;
            let one = |&(place, weight): &(f64, f64)| weight * self.at(place, reach, sides);
            self.nodes.iter().map(one).sum()
        })
    }

    /// The probability that one at least reaches beyond, with the mean of the named group at a place.
    fn at(&self, place: f64, reach: f64, sides: Sides) -> f64 {
        if sides == Sides::Both && reach <= 0.0 {
            return 1.0;
        }
        let all_within: f64 = self
            .comparisons
            .iter()
            .map(|&(shift, scale)| {
                let above = reach * scale + shift * place;
                match sides {
                    Sides::One => (-normal_beyond(above)).ln_1p(),
                    Sides::Both => {
                        let below = shift * place - reach * scale;
                        (-(normal_beyond(above) + normal_probability(below))).ln_1p()
                    }
                }
            })
            .sum();
        -all_within.exp_m1()
    }
}
