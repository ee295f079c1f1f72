//! How long charts with a memory stay silent: the average number of points to a signal.
//!
//! For independent normal readings the average run length solves an integral equation over where the
//! chart stands (Crowder, Technometrics 29 (1987), for the weighted average; Page, Biometrika 41 (1954), for
//! the sum; from memory). It is solved on the nodes of Gauss and Legendre, good to nine digits and more.

use std::f64::consts::PI;

use super::cusum::CusumSettings;
use super::distribution::{normal_density, normal_probability};
use super::ewma::EwmaSettings;

/// The most nodes an equation is solved on.
const MOST_NODES: usize = 240;

impl EwmaSettings {
    /// The average number of points until a signal when the mean lies `shift` sigma off the target, from
    /// the target on and with the lasting limits; 0 gives how often the chart cries wolf.
    ///
    /// `None` for settings out of range, or limits too wide for the weight to be worked out.
    ///
    /// ```
    /// use overwire_core::stats::ewma::EwmaSettings;
    /// let points = EwmaSettings::default().points_to_signal(0.0).ok_or("settings")?;
    /// assert!((points - 500.0).abs() < 1.0);
    /// # Ok::<(), &str>(())
    /// ```
    pub fn points_to_signal(&self, shift: f64) -> Option<f64> {
        let (weight, width) = (self.weight, self.width);
        let sound = weight > 0.0 && weight <= 1.0 && width > 0.0 && shift.is_finite();
        if !sound {
            return None;
        }
        let limit = width * (weight / (2.0 - weight)).sqrt();
        // Two nodes to the width of the kernel.
        let nodes = legendre(-limit, limit, 40.0 + 4.0 * limit / weight)?;
        let chance = |from: f64, to: f64| {
            normal_density((to - (1.0 - weight) * from) / weight - shift) / weight
        };
        let matrix = nodes.iter().map(|&(from, _)| {
            let row = nodes.iter().map(|&(to, share)| -share * chance(from, to));
            row.chain([1.0]).collect()
        });
        let lengths = solve_with_diagonal(matrix.collect())?;
        let from_target = nodes.iter().zip(&lengths);
        let rest = from_target.map(|(&(to, share), length)| share * chance(0.0, to) * length);
        sensible(1.0 + rest.sum::<f64>())
    }
}

impl CusumSettings {
    /// The average number of points until either sum is a signal when the mean lies `shift` sigma off
    /// the target; 0 gives how often the chart cries wolf. With a head start that is from the start on: the two
    /// sides are put together as Lucas & Crosier, Technometrics 24 (1982), do (from memory).
    ///
    /// `None` for settings out of range, a decision limit too high to be worked out, or a head start that lets
    /// both sums rise together.
    ///
    /// ```
    /// use overwire_core::stats::cusum::CusumSettings;
    /// let points = CusumSettings::default().points_to_signal(0.0).ok_or("settings")?;
    /// assert!((points - 465.0).abs() < 1.0);
    /// # Ok::<(), &str>(())
    /// ```
    pub fn points_to_signal(&self, shift: f64) -> Option<f64> {
        if 2.0 * (self.head_start - self.allowance) > self.decision {
            return None;
        }
        // The same for a shift to either side; the side it goes to signals sooner.
        let (towards, away) = (self.one_sided(shift.abs())?, self.one_sided(-shift.abs())?);
        // By how much the other side is sooner from its head start on; one that hardly ever signals is not.
        let sooner = match away.from_zero.is_finite() {
            true => away.from_start / away.from_zero,
            false => 1.0,
        };
        let both = towards.from_start - towards.from_zero * (1.0 - sooner);
        sensible(both / (1.0 + towards.from_zero / away.from_zero))
    }

    /// The run length of the sum for readings above the target; infinite where it is too long for
    /// the digits there are.
    fn one_sided(&self, shift: f64) -> Option<OneSided> {
        let (allowance, decision, head_start) = (self.allowance, self.decision, self.head_start);
        let sound = allowance >= 0.0
            && decision > 0.0
            && (0.0..=decision).contains(&head_start)
            && (allowance + shift).is_finite();
        if !sound {
            return None;
        }
        let nodes = legendre(0.0, decision, 40.0 + 6.0 * decision)?;
        // Where a step leads, and the chance that it leads back to zero.
        let chance = |from: f64, to: f64| normal_density(to - from + allowance - shift);
        let to_zero = |from: f64| normal_probability(allowance - from - shift);
        let start = (0.0, 0.0);
        let places = || std::iter::once(&start).chain(&nodes);
        let matrix = places().map(|&(from, _)| {
            let row = nodes.iter().map(|&(to, share)| -share * chance(from, to));
            std::iter::once(-to_zero(from))
                .chain(row)
                .chain([1.0])
                .collect()
        });
        let lengths = solve_with_diagonal(matrix.collect())?;
        let (from_zero, from_nodes) = lengths.split_first()?;
        let Some(from_zero) = sensible(*from_zero) else {
            return Some(OneSided {
                from_zero: f64::INFINITY,
                from_start: f64::INFINITY,
            });
        };
        let steps = nodes.iter().zip(from_nodes);
        let steps = steps.map(|(&(to, share), length)| share * chance(head_start, to) * length);
        Some(OneSided {
            from_zero,
            from_start: 1.0 + to_zero(head_start) * from_zero + steps.sum::<f64>(),
        })
    }
}

/// How long one sum stays silent.
struct OneSided {
    /// From zero on.
    from_zero: f64,
    /// From the head start on.
    from_start: f64,
}

/// A run length that rounding has not eaten.
fn sensible(length: f64) -> Option<f64> {
    (1.0..1e12).contains(&length).then_some(length)
}

/// Nodes and weights of Gauss and Legendre between two ends, so many of them.
fn legendre(low: f64, high: f64, wanted: f64) -> Option<Vec<(f64, f64)>> {
    let count = wanted.ceil() as usize;
    if !wanted.is_finite() || count > MOST_NODES {
        return None;
    }
    let half = (high - low) / 2.0;
    let nodes = (0..count).map(|index| {
        let mut at = (PI * (index as f64 + 0.75) / (count as f64 + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..100 {
            let (value, slope_here) = polynomial(count, at);
            slope = slope_here;
            let step = value / slope;
            at -= step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        let weight = 2.0 / ((1.0 - at * at) * slope * slope);
        (low + half * (1.0 - at), half * weight)
    });
    Some(nodes.collect())
}

/// Legendre's polynomial of a degree and its slope.
fn polynomial(degree: usize, at: f64) -> (f64, f64) {
    let (mut before, mut here) = (1.0, at);
    for step in 2..=degree {
        let step = step as f64;
        let next = ((2.0 * step - 1.0) * at * here - (step - 1.0) * before) / step;
        (before, here) = (here, next);
    }
    let slope = degree as f64 * (at * here - before) / (at * at - 1.0);
    (here, slope)
}

/// Solves linear equations whose last column is the right side, one added to the diagonal; `None` when
/// they have no one solution.
fn solve_with_diagonal(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let count = rows.len();
    for (index, row) in rows.iter_mut().enumerate() {
        *row.get_mut(index)? += 1.0;
    }
    for column in 0..count {
        let size = |row: &Vec<f64>| row.get(column).map_or(0.0, |number| number.abs());
        let below = rows.get(column..)?.iter().enumerate();
        let (pivot, _) = below.max_by(|one, other| size(one.1).total_cmp(&size(other.1)))?;
        rows.swap(column, column + pivot);
        let (done, rest) = rows.split_at_mut(column + 1);
        let top = done.last()?;
        let divisor = *top.get(column)?;
        if divisor.abs() < f64::MIN_POSITIVE {
            return None;
        }
        for row in rest {
            let factor = *row.get(column)? / divisor;
            let tail = row.iter_mut().zip(top).skip(column);
            tail.for_each(|(number, above)| *number -= factor * above);
        }
    }
    let mut solution = vec![0.0; count];
    for (index, row) in rows.iter().enumerate().rev() {
        let known = row.iter().zip(&solution).skip(index + 1);
        let known: f64 = known.map(|(number, found)| number * found).sum();
        *solution.get_mut(index)? = (row.last()? - known) / row.get(index)?;
    }
    Some(solution)
}
