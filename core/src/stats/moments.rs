//! Mean and spread.
//!
//! Sums are taken of the differences from the first reading, and squares only of the differences from
//! the mean: the squares of a diameter would swallow a spread a thousand times smaller. Sums of
//! counts are whole numbers, so that nothing is lost at all.

use super::distribution::{chi_squared_quantile, student_factor};
use super::readings::Shown;
use super::{Figure, Interval, Readings, Undefined};

/// How many readings, their mean, and the sum of the squares of their differences from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// How many readings.
    pub count: usize,
    /// Their mean.
    pub mean: f64,
    /// The sum of the squared differences from the mean.
    pub sum_of_squares: f64,
}

impl Moments {
    /// The moments of a set of readings.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without any.
    ///
    /// ```
    /// use overwire_core::stats::{Moments, Readings};
    /// let moments = Moments::of(&Readings::of_numbers(&[10_000_000.1, 10_000_000.3])?)?;
    /// assert!((moments.mean - 10_000_000.2).abs() < 1e-8);
    /// assert!((moments.standard_deviation()? - 0.02_f64.sqrt()).abs() < 1e-8);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(readings: &Readings) -> Result<Moments, Undefined> {
        match readings.shown() {
            Shown::Steps { counts, step } => {
                let in_steps = of_counts(counts)?;
                Ok(Moments {
                    count: in_steps.count,
                    mean: in_steps.mean * step.mm(),
                    sum_of_squares: in_steps.sum_of_squares * step.mm() * step.mm(),
                })
            }
            Shown::Numbers(numbers) => of_numbers(numbers),
        }
    }

    /// The degrees of freedom of the spread, `n - 1`.
    pub const fn degrees_of_freedom(&self) -> usize {
        self.count.saturating_sub(1)
    }

    /// The variance, by `n - 1`.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] with fewer than two readings.
    pub fn variance(&self) -> Figure {
        Undefined::unless_enough("readings", 2, self.count)?;
        Ok(self.sum_of_squares / self.degrees_of_freedom() as f64)
    }

    /// The standard deviation, by `n - 1`.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] with fewer than two readings.
    pub fn standard_deviation(&self) -> Figure {
        self.variance().map(f64::sqrt)
    }

    /// The standard error of the mean, `s/√n`.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] with fewer than two readings.
    pub fn standard_error(&self) -> Figure {
        let deviation = self.standard_deviation()?;
        Ok(deviation / (self.count as f64).sqrt())
    }

    /// The interval of the mean by Student's t.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than two readings, or for a confidence that is no probability.
    pub fn mean_interval(&self, confidence: f64) -> Result<Interval, Undefined> {
        Undefined::unless_probability("a confidence", confidence)?;
        let error = self.standard_error()?;
        let degrees = self.degrees_of_freedom() as f64;
        let factor = student_factor(confidence, degrees).ok_or(Undefined::Senseless {
            what: "a confidence",
            found: confidence,
        })?;
        Ok(Interval::about(self.mean, factor * error, confidence))
    }

    /// The interval of the standard deviation by chi-squared; for normal readings.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than two readings, or for a confidence that is no probability.
    pub fn deviation_interval(&self, confidence: f64) -> Result<Interval, Undefined> {
        let deviation = self.standard_deviation()?;
        deviation_interval(deviation, self.degrees_of_freedom() as f64, confidence)
    }

    /// How many standard errors the mean lies above a reference: Student's t.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than two readings or without spread.
    pub fn student_against(&self, reference: f64) -> Figure {
        let error = self.standard_error()?;
        match error > 0.0 {
            true => Ok((self.mean - reference) / error),
            false => Err(Undefined::NoSpread),
        }
    }
}

/// The interval of a standard deviation of so many degrees of freedom, by chi-squared.
///
/// # Errors
/// [`Undefined::Senseless`] for a confidence that is no probability or degrees of freedom not above zero.
pub fn deviation_interval(
    deviation: f64,
    degrees_of_freedom: f64,
    confidence: f64,
) -> Result<Interval, Undefined> {
    Undefined::unless_probability("a confidence", confidence)?;
    let beyond = (1.0 - confidence) / 2.0;
    let end = |probability: f64| {
        let quantile = chi_squared_quantile(probability, degrees_of_freedom);
        quantile.map(|quantile| deviation * (degrees_of_freedom / quantile).sqrt())
    };
    let refused = Undefined::Senseless {
        what: "the degrees of freedom",
        found: degrees_of_freedom,
    };
    Ok(Interval {
        low: end(1.0 - beyond).ok_or(refused)?,
        high: end(beyond).ok_or(refused)?,
        confidence,
    })
}

/// The spread within several sets taken together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// The standard deviation within the sets.
    pub standard_deviation: f64,
    /// Its degrees of freedom, `Σ(n - 1)`.
    pub degrees_of_freedom: usize,
    /// How many sets of two readings at least stand behind it.
    pub sets: usize,
    /// How many readings there are in them.
    pub count: usize,
}

/// The spread within several sets, `s² = Σ(n_i - 1)s_i² / Σ(n_i - 1)`.
///
/// # Errors
/// [`Undefined::TooFew`] when no set has two readings.
pub fn pooled(sets: &[Moments]) -> Result<Pooled, Undefined> {
    let usable = || sets.iter().filter(|set| set.count >= 2);
    let degrees_of_freedom: usize = usable().map(Moments::degrees_of_freedom).sum();
    Undefined::unless_enough("repeat readings", 1, degrees_of_freedom)?;
    let squares: f64 = usable().map(|set| set.sum_of_squares).sum();
    Ok(Pooled {
        standard_deviation: (squares / degrees_of_freedom as f64).sqrt(),
        degrees_of_freedom,
        sets: usable().count(),
        count: usable().map(|set| set.count).sum(),
    })
}

/// Counts, in steps. Differences from the first are whole numbers, and so are their sums.
fn of_counts(counts: &[i64]) -> Result<Moments, Undefined> {
    let Some(&first) = counts.first() else {
        return Err(none());
    };
    let number = counts.len() as i128;
    let away = || {
        counts
            .iter()
            .map(|&count| i128::from(count) - i128::from(first))
    };
    let sum: i128 = away().sum();
    // The whole number next to the mean: what is left of the sum is less than the number of readings.
    let middle = (2 * sum + number).div_euclid(2 * number);
    let left = (sum - middle * number) as f64;
    let squares = away().try_fold(0_i128, |squares, step| {
        squares.checked_add((step - middle) * (step - middle))
    });
    let Some(squares) = squares else {
        let numbers: Vec<f64> = counts.iter().map(|&count| count as f64).collect();
        return of_numbers(&numbers);
    };
    let count = counts.len() as f64;
    Ok(Moments {
        count: counts.len(),
        mean: (i128::from(first) + middle) as f64 + left / count,
        sum_of_squares: squares as f64 - left * left / count,
    })
}

fn of_numbers(numbers: &[f64]) -> Result<Moments, Undefined> {
    let Some(&first) = numbers.first() else {
        return Err(none());
    };
    let count = numbers.len() as f64;
    let away = numbers.iter().map(|number| number - first).sum::<f64>() / count;
    // Twice: the second mean takes up what rounding left of the first.
    let left = numbers
        .iter()
        .map(|number| number - first - away)
        .sum::<f64>()
        / count;
    let middle = away + left;
    let squares: f64 = numbers
        .iter()
        .map(|number| {
            let difference = number - first - middle;
            difference * difference
        })
        .sum();
    Ok(Moments {
        count: numbers.len(),
        mean: first + middle,
        sum_of_squares: squares,
    })
}

const fn none() -> Undefined {
    Undefined::TooFew {
        of: "readings",
        needed: 1,
        found: 0,
    }
}
