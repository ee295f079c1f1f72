//! Whether readings look normal.
//!
//! A test of few readings cannot show that they are normal, and one of very many finds departures that do no
//! harm. A coarse display makes readings look less normal than they are: equal readings count against
//! them. Where its step is known, equal readings are therefore spread evenly over the step before they are tested
//! ([`AndersonDarling::of_rounded`]).

use super::describe::Sorted;
use super::distribution::{normal_beyond, normal_probability};
use super::{Moments, Readings, Undefined};
use crate::decimal::format_to;

mod shapiro_wilk;

pub use shapiro_wilk::{ShapiroWilk, shapiro_wilk};

/// Fewer readings than this are not tested.
pub const FEWEST: usize = 8;

/// With fewer different readings than this the display is too coarse for the test.
pub const FEW_DIFFERENT: usize = 8;

/// Critical values of the adjusted statistic and the significances they belong to.
///
/// Source: R. B. D'Agostino and M. A. Stephens, Goodness-of-fit techniques (1986), table 4.7 (from memory).
pub const CRITICAL_VALUES: [(f64, f64); 4] =
    [(0.10, 0.631), (0.05, 0.752), (0.025, 0.873), (0.01, 1.035)];

/// What Anderson and Darling's test says, with mean and spread taken from the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AndersonDarling {
    /// How many readings.
    pub count: usize,
    /// How many of them are different.
    pub different: usize,
    /// The statistic A².
    pub statistic: f64,
    /// `A²(1 + 0.75/n + 2.25/n²)`.
    pub adjusted: f64,
    /// How often normal readings look as little normal as these.
    pub chance: f64,
    /// The standard deviation of the readings in steps of the display, where the step was allowed for.
    pub deviation_in_steps: Option<f64>,
}

/// Something to know about a test of normality.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Caution {
    /// So few different readings that the display alone may speak against them.
    CoarseDisplay,
    /// Readings that spread by less than a step of the display: spreading them over it does not help.
    WithinAStep,
    /// So few readings that much would not be noticed.
    FewReadings,
    /// So many readings that harmless departures are noticed.
    ManyReadings,
}

impl Caution {
    /// One sentence for a person.
    pub const fn sentence(self) -> &'static str {
        match self {
            Caution::CoarseDisplay => {
                "There are fewer than 8 different readings: equal readings of a coarse display count \
                 against normality."
            }
            Caution::WithinAStep => {
                "The readings spread by less than a step of the display: whether they are normal cannot be told."
            }
            Caution::FewReadings => {
                "With fewer than 30 readings much that is not normal goes unnoticed."
            }
            Caution::ManyReadings => {
                "With more than 1000 readings departures are noticed that do no harm."
            }
        }
    }
}

impl AndersonDarling {
    /// Tests readings.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than eight readings or without spread.
    pub fn of(readings: &Readings) -> Result<AndersonDarling, Undefined> {
        AndersonDarling::of_sorted(&Sorted::of(readings)?, None)
    }

    /// The same of readings that a display rounded to its step: of m equal ones the k-th is taken to lie at
    /// `(k - 1/2)/m` of the step. By simulation normal readings that spread by a step or more are then taken for
    /// others in 1 to 6 of 100 cases, 30 to 1000 of them; without it in nearly all.
    ///
    /// # Errors
    /// As [`AndersonDarling::of`], and [`Undefined::Senseless`] for a step that is not above zero.
    ///
    /// ```
    /// use overwire_core::stats::Readings;
    /// use overwire_core::stats::normality::AndersonDarling;
    /// let rounded = [1.0, 2.0, 2.0, 3.0, 3.0, 3.0, 3.0, 4.0, 4.0, 5.0];
    /// let readings = Readings::of_numbers(&rounded)?;
    /// let plain = AndersonDarling::of(&readings)?;
    /// let allowed_for = AndersonDarling::of_rounded(&readings, 1.0)?;
    /// assert!(allowed_for.statistic < plain.statistic);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of_rounded(readings: &Readings, step: f64) -> Result<AndersonDarling, Undefined> {
        if !(step > 0.0 && step.is_finite()) {
            return Err(Undefined::Senseless {
                what: "a step of a display",
                found: step,
            });
        }
        AndersonDarling::of_sorted(&Sorted::of(readings)?, Some(step))
    }

    fn of_sorted(sorted: &Sorted, step: Option<f64>) -> Result<AndersonDarling, Undefined> {
        Undefined::unless_enough("readings", FEWEST, sorted.exact().len())?;
        let origin = sorted.least();
        let away: Vec<f64> = sorted
            .exact()
            .iter()
            .map(|number| number - origin)
            .collect();
        let as_read = Moments::of(&Readings::of_numbers(&away)?)?.standard_deviation()?;
        if as_read <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        let deviates = match step {
            Some(step) => deviates(&spread_over(&away, step))?,
            None => deviates(&away)?,
        };
        let count = deviates.len() as f64;
        let below = deviates.iter().map(|&z| logarithm(normal_probability(z)));
        let beyond = deviates.iter().rev().map(|&z| logarithm(normal_beyond(z)));
        let mut weight = -1.0;
        let sum: f64 = below
            .zip(beyond)
            .map(|(below, beyond)| {
                weight += 2.0;
                weight * (below + beyond)
            })
            .sum();
        let statistic = -count - sum / count;
        let adjusted = statistic * (1.0 + 0.75 / count + 2.25 / (count * count));
        Ok(AndersonDarling {
            count: deviates.len(),
            different: sorted.different(),
            statistic,
            adjusted,
            chance: chance(adjusted),
            deviation_in_steps: step.map(|step| as_read / step),
        })
    }

    /// How often chance alone does this, as it is printed; never as nothing.
    pub fn chance_words(&self) -> String {
        match self.chance {
            small if small < 0.001 => "below 0.001".to_owned(),
            chance => format_to(chance, 3),
        }
    }

    /// What to know about it.
    pub fn cautions(&self) -> Vec<Caution> {
        let coarse = match self.deviation_in_steps {
            Some(steps) => (steps < 1.0).then_some(Caution::WithinAStep),
            None => (self.different < FEW_DIFFERENT).then_some(Caution::CoarseDisplay),
        };
        let size = match self.count {
            ..30 => Some(Caution::FewReadings),
            1001.. => Some(Caution::ManyReadings),
            _ => None,
        };
        coarse.into_iter().chain(size).collect()
    }

    /// What a report prints about the conventions.
    pub const fn settings_words(&self) -> &'static str {
        match self.deviation_in_steps {
            None => {
                "Anderson-Darling, mean and deviation from the readings, probability by D'Agostino and \
                 Stephens 1986; the step of the display is not known and not allowed for."
            }
            Some(_) => {
                "Anderson-Darling, mean and deviation from the readings, probability by D'Agostino and \
                 Stephens 1986; equal readings are spread evenly over the step of the display."
            }
        }
    }
}

/// Sorted numbers in standard deviations from their mean.
fn deviates(sorted: &[f64]) -> Result<Vec<f64>, Undefined> {
    let moments = Moments::of(&Readings::of_numbers(sorted)?)?;
    let deviation = moments.standard_deviation()?;
    let deviates = sorted
        .iter()
        .map(|number| (number - moments.mean) / deviation);
    Ok(deviates.collect())
}

/// Sorted numbers with equal ones spread evenly over a step about where they are. Numbers closer together than a
/// thousandth of it are equal.
fn spread_over(sorted: &[f64], step: f64) -> Vec<f64> {
    let equal = sorted.chunk_by(|one, next| next - one < step / 1000.0);
    let spread = equal.flat_map(|equal| {
        let count = equal.len() as f64;
        let place = move |place: usize| (place as f64 + 0.5) / count - 0.5;
        equal
            .iter()
            .enumerate()
            .map(move |(at, number)| number + step * place(at))
    });
    let mut spread: Vec<f64> = spread.collect();
    spread.sort_unstable_by(f64::total_cmp);
    spread
}

fn logarithm(probability: f64) -> f64 {
    probability.max(f64::MIN_POSITIVE).ln()
}

/// Source: R. B. D'Agostino and M. A. Stephens, Goodness-of-fit techniques (1986), table 4.9 (from memory).
fn chance(adjusted: f64) -> f64 {
    let parabola = |constant: f64, once: f64, twice: f64| {
        (constant + once * adjusted + twice * adjusted * adjusted).exp()
    };
    match adjusted {
        // The parabola turns up again far out, where nothing is left anyway.
        far if far > 150.0 => 0.0,
        far if far >= 0.6 => parabola(1.2937, -5.709, 0.0186),
        middle if middle >= 0.34 => parabola(0.9177, -4.279, -1.38),
        near if near >= 0.2 => 1.0 - parabola(-8.318, 42.796, -59.938),
        _ => 1.0 - parabola(-13.436, 101.14, -223.73),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The pieces of the probability meet, and agree with the critical values.
    #[test]
    fn probability_and_critical_values_agree() {
        for meeting in [0.2, 0.34, 0.6] {
            let jump = chance(meeting - 1e-9) - chance(meeting + 1e-9);
            assert!(jump.abs() < 0.006, "{meeting}: {jump}");
        }
        for (significance, critical) in CRITICAL_VALUES {
            assert!(
                (chance(critical) / significance - 1.0).abs() < 0.02,
                "{critical}"
            );
        }
        assert!(chance(1000.0) < 1e-300 && chance(153.0) < 1e-100);
    }
}
