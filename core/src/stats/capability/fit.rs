//! Distributions fitted to readings that are not normal.
//!
//! Log-normal and normal by their mean and standard deviation (n - 1), Weibull and folded normal by
//! greatest likelihood. Form errors (taper, out-of-round) cannot be negative and gather near zero:
//! the folded normal is made for them.
//!
//! Source: ISO 22514-2 for the choice; Tsagris, Beneki & Hassani, Mathematics 2 (2014), for the folded normal;
//! from memory.

use serde::{Deserialize, Serialize};

use crate::bisection::rising_zero;
use crate::stats::distribution::{normal_beyond, normal_probability, normal_quantile};
use crate::stats::running::Running;
use crate::stats::{Figure, Undefined};

/// Which distribution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Shape {
    /// Normal.
    Normal,
    /// Log-normal: the logarithm is normal.
    LogNormal,
    /// Weibull, from zero up.
    Weibull,
    /// The size of a normal number: for form errors.
    FoldedNormal,
}

impl Shape {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Shape::Normal => "normal",
            Shape::LogNormal => "log-normal",
            Shape::Weibull => "weibull",
            Shape::FoldedNormal => "folded-normal",
        }
    }

    /// In words, with how it is fitted.
    pub const fn words(self) -> &'static str {
        match self {
            Shape::Normal => "normal distribution, by mean and standard deviation (n - 1)",
            Shape::LogNormal => {
                "log-normal distribution, by mean and standard deviation (n - 1) of the logarithms"
            }
            Shape::Weibull => "Weibull distribution from zero up, by greatest likelihood",
            Shape::FoldedNormal => "folded normal distribution, by greatest likelihood",
        }
    }
}

/// A fitted distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Fitted {
    /// Normal.
    Normal {
        /// The mean.
        mean: f64,
        /// The standard deviation.
        deviation: f64,
    },
    /// Log-normal.
    LogNormal {
        /// The mean of the natural logarithms.
        log_mean: f64,
        /// Their standard deviation.
        log_deviation: f64,
    },
    /// Weibull, `1 - exp(-(x/scale)^shape)`.
    Weibull {
        /// The shape.
        shape: f64,
        /// The scale.
        scale: f64,
    },
    /// The size of a normal number.
    FoldedNormal {
        /// The mean of the number before folding, not below zero.
        mean: f64,
        /// Its standard deviation.
        deviation: f64,
    },
}

impl Fitted {
    /// Fits a distribution to readings.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than two readings or without spread; for readings at or below zero (below
    /// zero for the folded normal) where the distribution has none.
    ///
    /// ```
    /// use overwire_core::stats::capability::{Fitted, Shape};
    /// let fitted = Fitted::to(Shape::LogNormal, &[0.5, 1.0, 2.0])?;
    /// let Fitted::LogNormal { log_mean, log_deviation } = fitted else { panic!() };
    /// assert!(log_mean.abs() < 1e-12 && (log_deviation - 2.0_f64.ln()).abs() < 1e-12);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn to(shape: Shape, readings: &[f64]) -> Result<Fitted, Undefined> {
        Undefined::unless_enough("readings", 2, readings.len())?;
        if let Some(at) = readings.iter().position(|reading| !reading.is_finite()) {
            return Err(Undefined::NotAReading { at });
        }
        match shape {
            Shape::Normal => {
                let (mean, deviation) = mean_and_deviation(readings)?;
                Ok(Fitted::Normal { mean, deviation })
            }
            Shape::LogNormal => {
                above_zero(readings)?;
                let logs: Vec<f64> = readings.iter().map(|reading| reading.ln()).collect();
                let (log_mean, log_deviation) = mean_and_deviation(&logs)?;
                Ok(Fitted::LogNormal {
                    log_mean,
                    log_deviation,
                })
            }
            Shape::Weibull => weibull(readings),
            Shape::FoldedNormal => folded_normal(readings),
        }
    }

    /// The share that lies below a value.
    pub fn probability(&self, value: f64) -> f64 {
        match *self {
            Fitted::Normal { mean, deviation } => normal_probability((value - mean) / deviation),
            Fitted::LogNormal {
                log_mean,
                log_deviation,
            } => match value > 0.0 {
                true => normal_probability((value.ln() - log_mean) / log_deviation),
                false => 0.0,
            },
            Fitted::Weibull { shape, scale } => match value > 0.0 {
                true => -(-(value / scale).powf(shape)).exp_m1(),
                false => 0.0,
            },
            Fitted::FoldedNormal { mean, deviation } => match value > 0.0 {
                true => {
                    let inner = normal_beyond((-value - mean) / deviation);
                    inner - normal_beyond((value - mean) / deviation)
                }
                false => 0.0,
            },
        }
    }

    /// The value that a share lies below.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for a share that is not between 0 and 1.
    pub fn quantile(&self, share: f64) -> Figure {
        Undefined::unless_probability("a share", share)?;
        let senseless = Undefined::Senseless {
            what: "a share",
            found: share,
        };
        let normal = || normal_quantile(share).ok_or(senseless);
        match *self {
            Fitted::Normal { mean, deviation } => Ok(mean + deviation * normal()?),
            Fitted::LogNormal {
                log_mean,
                log_deviation,
            } => Ok((log_mean + log_deviation * normal()?).exp()),
            Fitted::Weibull { shape, scale } => Ok(scale * (-(-share).ln_1p()).powf(1.0 / shape)),
            Fitted::FoldedNormal { mean, deviation } => {
                let excess = |value: f64| Some(self.probability(value) - share);
                rising_zero(0.0, mean + 40.0 * deviation, excess).ok_or(senseless)
            }
        }
    }

    /// Which distribution it is.
    pub const fn shape(&self) -> Shape {
        match self {
            Fitted::Normal { .. } => Shape::Normal,
            Fitted::LogNormal { .. } => Shape::LogNormal,
            Fitted::Weibull { .. } => Shape::Weibull,
            Fitted::FoldedNormal { .. } => Shape::FoldedNormal,
        }
    }
}

fn mean_and_deviation(numbers: &[f64]) -> Result<(f64, f64), Undefined> {
    let mut sums = Running::default();
    sums.take(numbers);
    let moments = sums.moments()?;
    let deviation = moments.standard_deviation()?;
    match deviation > 0.0 {
        true => Ok((moments.mean, deviation)),
        false => Err(Undefined::NoSpread),
    }
}

fn above_zero(readings: &[f64]) -> Result<(), Undefined> {
    match readings.iter().find(|reading| **reading <= 0.0) {
        None => Ok(()),
        Some(&found) => Err(Undefined::Senseless {
            what: "a reading of a quantity that is above zero",
            found,
        }),
    }
}

/// The shape k solves `Σ x^k ln x / Σ x^k - 1/k = mean ln x`, which rises with k.
fn weibull(readings: &[f64]) -> Result<Fitted, Undefined> {
    above_zero(readings)?;
    let largest = readings.iter().copied().fold(0.0, f64::max);
    let logs: Vec<f64> = readings
        .iter()
        .map(|reading| (reading / largest).ln())
        .collect();
    let count = logs.len() as f64;
    let mean = logs.iter().sum::<f64>() / count;
    if mean >= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let powers = |shape: f64| {
        logs.iter().fold((0.0, 0.0), |(sum, with_log), log| {
            let power = (shape * log).exp();
            (sum + power, with_log + power * log)
        })
    };
    let excess = |shape: f64| {
        let (sum, with_log) = powers(shape);
        Some(with_log / sum - 1.0 / shape - mean)
    };
    let shape = rising_zero(1e-6, 1e9, excess).ok_or(Undefined::NoSpread)?;
    let (sum, _) = powers(shape);
    Ok(Fitted::Weibull {
        shape,
        scale: largest * (sum / count).powf(1.0 / shape),
    })
}

/// At greatest likelihood the mean m solves `m = mean of x tanh(m x/s²)` with `s² = mean x² - m²`. Away
/// from zero there is such an m only if the readings are flatter than those of a normal number about
/// zero; otherwise it is zero.
fn folded_normal(readings: &[f64]) -> Result<Fitted, Undefined> {
    if let Some(&found) = readings.iter().find(|reading| **reading < 0.0) {
        return Err(Undefined::Senseless {
            what: "a reading of a quantity that is not below zero",
            found,
        });
    }
    let mean_of = |of: &dyn Fn(f64) -> f64| {
        readings.iter().map(|&reading| of(reading)).sum::<f64>() / readings.len() as f64
    };
    let square = mean_of(&|reading| reading * reading);
    let fourth = mean_of(&|reading| reading.powi(4));
    if square <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    if fourth >= 3.0 * square * square {
        return Ok(Fitted::FoldedNormal {
            mean: 0.0,
            deviation: square.sqrt(),
        });
    }
    // Small m: m falls short of what it should be; near the root mean square: it is more.
    let excess = |mean: f64| {
        let variance = square - mean * mean;
        let pulled = mean_of(&|reading| reading * (mean * reading / variance).tanh());
        Some(mean - pulled)
    };
    let most = square.sqrt();
    let mean = rising_zero(most * 1e-3, most * (1.0 - 1e-12), excess).ok_or(Undefined::NoSpread)?;
    let deviation = (square - mean * mean).sqrt();
    match deviation > 0.0 {
        true => Ok(Fitted::FoldedNormal { mean, deviation }),
        false => Err(Undefined::NoSpread),
    }
}
