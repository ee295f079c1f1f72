//! Shapiro and Wilk's test, by Royston's approximations.
//!
//! Source: J. P. Royston, Applied Statistics 44 (1995) 547, algorithm R94 (from memory; checked against R).

use std::f64::consts::PI;

use crate::stats::describe::Sorted;
use crate::stats::distribution::{normal_beyond, normal_quantile};
use crate::stats::{Readings, Undefined};

/// The most readings the approximations were made for.
const MOST: usize = 5_000;

/// What the test says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShapiroWilk {
    /// How many readings.
    pub count: usize,
    /// The statistic W: the squared correlation with what normal readings would be.
    pub statistic: f64,
    /// How often normal readings look as little normal as these.
    pub chance: f64,
}

/// Tests three to 5000 readings.
///
/// # Errors
/// [`Undefined`] with fewer or more readings, or without spread.
pub fn shapiro_wilk(readings: &Readings) -> Result<ShapiroWilk, Undefined> {
    Undefined::unless_enough("readings", 3, readings.len())?;
    if readings.len() > MOST {
        return Err(Undefined::TooMany {
            of: "readings",
            most: MOST,
            found: readings.len(),
        });
    }
    let sorted = Sorted::of(readings)?;
    let range = sorted.greatest() - sorted.least();
    if range <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let origin = sorted.least();
    let scaled: Vec<f64> = sorted
        .exact()
        .iter()
        .map(|number| (number - origin) / range)
        .collect();
    let short = short_of_one(&scaled, &weights(scaled.len()));
    Ok(ShapiroWilk {
        count: scaled.len(),
        statistic: 1.0 - short,
        chance: chance(short, scaled.len() as f64),
    })
}

fn polynomial(coefficients: &[f64], argument: f64) -> f64 {
    let rising = coefficients.iter().rev();
    rising.fold(0.0, |sum, coefficient| sum * argument + coefficient)
}

/// The weights of the ordered readings: rising, of opposite sign about the middle.
fn weights(count: usize) -> Vec<f64> {
    const LAST: [f64; 6] = [0.0, 0.221_157, -0.147_981, -2.071_19, 4.434_685, -2.706_056];
    const LAST_BUT_ONE: [f64; 6] = [
        0.0, 0.042_981, -0.293_762, -1.752_461, 5.682_633, -3.582_633,
    ];
    let number = count as f64;
    let score = |index: usize| {
        let share = (index as f64 + 0.625) / (number + 0.25);
        normal_quantile(share).unwrap_or(0.0)
    };
    let scores: Vec<f64> = (0..count).map(score).collect();
    if count == 3 {
        return vec![-0.5_f64.sqrt(), 0.0, 0.5_f64.sqrt()];
    }
    let squares: f64 = scores.iter().map(|score| score * score).sum();
    let root = 1.0 / number.sqrt();
    // The scores rise; the last ones are those of the largest readings.
    let from_top = |back: usize| scores.iter().rev().nth(back).copied().unwrap_or(0.0);
    let corrected = [
        polynomial(&LAST, root) + from_top(0) / squares.sqrt(),
        polynomial(&LAST_BUT_ONE, root) + from_top(1) / squares.sqrt(),
    ];
    let own = if count > 5 { 2 } else { 1 };
    let taken = |values: &mut dyn Iterator<Item = f64>| {
        2.0 * values.take(own).map(|value| value * value).sum::<f64>()
    };
    let scores_taken = taken(&mut (0..own).map(from_top));
    let weights_taken = taken(&mut corrected.into_iter());
    let factor = ((squares - scores_taken) / (1.0 - weights_taken)).sqrt();
    let weight = |(index, score): (usize, &f64)| {
        let (from_start, from_end) = (index, count - 1 - index);
        let outer = corrected.iter().take(own);
        match from_start < from_end {
            true => outer
                .copied()
                .nth(from_start)
                .map_or(score / factor, |outer| -outer),
            false => outer.copied().nth(from_end).unwrap_or(score / factor),
        }
    };
    scores.iter().enumerate().map(weight).collect()
}

/// `1 - W`, taken so that it keeps its digits when W is nearly one.
fn short_of_one(readings: &[f64], weights: &[f64]) -> f64 {
    let count = readings.len() as f64;
    let mean = |values: &[f64]| values.iter().sum::<f64>() / count;
    let (reading_mean, weight_mean) = (mean(readings), mean(weights));
    let squares =
        |values: &[f64], mean: f64| values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
    let (of_readings, of_weights) = (
        squares(readings, reading_mean),
        squares(weights, weight_mean),
    );
    let product: f64 = readings
        .iter()
        .zip(weights)
        .map(|(reading, weight)| (reading - reading_mean) * (weight - weight_mean))
        .sum();
    let root = (of_readings * of_weights).sqrt();
    (root - product) * (root + product) / (of_readings * of_weights)
}

fn chance(short: f64, count: f64) -> f64 {
    if count < 3.5 {
        let angle = (1.0 - short).max(0.0).sqrt().asin() - PI / 3.0;
        return (6.0 / PI * angle).clamp(0.0, 1.0);
    }
    let logarithm = short.max(f64::MIN_POSITIVE).ln();
    if count < 11.5 {
        let most = polynomial(&[-2.273, 0.459], count);
        if logarithm >= most {
            return 0.0;
        }
        let mean = polynomial(&[0.544, -0.399_78, 0.025_054, -6.714e-4], count);
        let deviation = polynomial(&[1.3822, -0.778_57, 0.062_767, -0.002_032_2], count).exp();
        return normal_beyond((-(most - logarithm).ln() - mean) / deviation);
    }
    let size = count.ln();
    let mean = polynomial(&[-1.5861, -0.310_82, -0.083_751, 0.003_891_5], size);
    let deviation = polynomial(&[-0.4803, -0.082_676, 0.003_030_2], size).exp();
    normal_beyond((logarithm - mean) / deviation)
}
