//! Whether readings look normal.
//!
//! A test of few readings cannot show that they are normal, and one of very many finds departures that do no
//! harm. A coarse display makes readings look less normal than they are: equal readings count against
//! them.

use super::describe::Sorted;
use super::distribution::{normal_beyond, normal_probability};
use super::{Moments, Readings, Undefined};

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
}

/// Something to know about a test of normality.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Caution {
    /// So few different readings that the display alone may speak against them.
    CoarseDisplay,
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
        Undefined::unless_enough("readings", FEWEST, readings.len())?;
        let sorted = Sorted::of(readings)?;
        let deviates = deviates(&sorted)?;
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
        })
    }

    /// What to know about it.
    pub fn cautions(&self) -> Vec<Caution> {
        let coarse = (self.different < FEW_DIFFERENT).then_some(Caution::CoarseDisplay);
        let size = match self.count {
            ..30 => Some(Caution::FewReadings),
            1001.. => Some(Caution::ManyReadings),
            _ => None,
        };
        coarse.into_iter().chain(size).collect()
    }

    /// What a report prints about the conventions.
    pub const fn settings_words(&self) -> &'static str {
        "Anderson-Darling, mean and deviation from the readings, probability by D'Agostino and \
         Stephens 1986"
    }
}

/// Readings in standard deviations from their mean, from the smallest to the largest.
fn deviates(sorted: &Sorted) -> Result<Vec<f64>, Undefined> {
    let origin = sorted.least();
    let away: Vec<f64> = sorted
        .exact()
        .iter()
        .map(|number| number - origin)
        .collect();
    let moments = Moments::of(&Readings::of_numbers(&away)?)?;
    let deviation = moments.standard_deviation()?;
    if deviation <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    Ok(away
        .iter()
        .map(|number| (number - moments.mean) / deviation)
        .collect())
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
