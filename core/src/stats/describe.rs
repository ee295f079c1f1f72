//! A set of repeat readings described.

use super::constants::MeanRange;
use super::{Figure, Interval, Moments, Readings, Undefined};
use crate::decimal::format_to;

/// The inverse of the upper quartile of a normal deviate, to four places as it is usually printed.
pub const MEDIAN_DEVIATION_SCALE: f64 = 1.4826;

/// How quartiles are taken between readings. The numbers are those of R. J. Hyndman and Y. Fan, The American
/// Statistician 50 (1996) 361 (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Quartiles {
    /// Type 6: at place `(n + 1) p`, as the NIST/SEMATECH e-Handbook takes them.
    Six,
    /// Type 7: at place `(n - 1) p + 1`, the usual one of programs.
    #[default]
    Seven,
}

impl Quartiles {
    /// What a report prints about it.
    pub const fn words(self) -> &'static str {
        match self {
            Quartiles::Six => "quartiles at place (n + 1) p (type 6)",
            Quartiles::Seven => "quartiles at place (n - 1) p + 1 (type 7)",
        }
    }
}

/// By which conventions a set is described.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// How quartiles are taken.
    pub quartiles: Quartiles,
    /// The confidence of intervals.
    pub confidence: f64,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            quartiles: Quartiles::default(),
            confidence: 0.95,
        }
    }
}

impl Settings {
    /// What a report prints about them.
    pub fn words(&self) -> String {
        format!(
            "standard deviation by n - 1; intervals for {} %, the mean's by Student's t, the \
             deviation's by chi-squared; {}",
            format_to(self.confidence * 100.0, 1),
            self.quartiles.words()
        )
    }
}

/// Readings from the smallest to the largest, in numbers in which they are exact.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sorted {
    exact: Vec<f64>,
    worth: f64,
}

impl Sorted {
    /// # Errors
    /// [`Undefined::TooFew`] without readings.
    pub(super) fn of(readings: &Readings) -> Result<Sorted, Undefined> {
        Undefined::unless_enough("readings", 1, readings.len())?;
        let mut exact = readings.exact().into_owned();
        exact.sort_unstable_by(f64::total_cmp);
        Ok(Sorted {
            exact,
            worth: readings.worth(),
        })
    }

    /// At a place counted from 1, between two readings in proportion; the ends beyond them.
    fn at_place(&self, place: f64) -> f64 {
        let last = self.exact.len() as f64;
        let place = place.clamp(1.0, last);
        let whole = place.floor();
        let at = |place: f64| self.exact.get(place as usize - 1).copied().unwrap_or(0.0);
        let below = at(whole);
        let above = at((whole + 1.0).min(last));
        below + (place - whole) * (above - below)
    }

    pub(super) fn least(&self) -> f64 {
        self.at_place(1.0)
    }

    pub(super) fn greatest(&self) -> f64 {
        self.at_place(f64::INFINITY)
    }

    /// Exact for counts: a whole number or a half.
    pub(super) fn median(&self) -> f64 {
        self.at_place((self.exact.len() as f64 + 1.0) / 2.0)
    }

    /// The median of the distances from a number.
    pub(super) fn median_distance(&self, from: f64) -> f64 {
        let mut distances: Vec<f64> = self
            .exact
            .iter()
            .map(|number| (number - from).abs())
            .collect();
        distances.sort_unstable_by(f64::total_cmp);
        let sorted = Sorted {
            exact: distances,
            worth: self.worth,
        };
        sorted.median()
    }

    /// The value below which a share of the readings lies, in the unit of the figures.
    pub(super) fn quantile(&self, share: f64, quartiles: Quartiles) -> f64 {
        let count = self.exact.len() as f64;
        let place = match quartiles {
            Quartiles::Six => (count + 1.0) * share,
            Quartiles::Seven => (count - 1.0) * share + 1.0,
        };
        self.at_place(place) * self.worth
    }

    /// How many different readings there are.
    pub(super) fn different(&self) -> usize {
        let steps = self.exact.windows(2).filter(|pair| match pair {
            [one, other] => one < other,
            _ => false,
        });
        steps.count() + usize::from(!self.exact.is_empty())
    }

    pub(super) fn worth(&self) -> f64 {
        self.worth
    }

    pub(super) fn exact(&self) -> &[f64] {
        &self.exact
    }
}
/// The value below which a share of the readings lies.
///
/// # Errors
/// [`Undefined`] without readings or for a share that is no probability.
pub fn quantile(readings: &Readings, share: f64, quartiles: Quartiles) -> Figure {
    Undefined::unless_probability("a share", share)?;
    Ok(Sorted::of(readings)?.quantile(share, quartiles))
}

/// A set of readings described. Lengths are in millimetres for counts of steps, else in the unit of the
/// numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Description {
    /// By which conventions.
    pub settings: Settings,
    /// How many readings, their mean and spread.
    pub moments: Moments,
    /// The smallest.
    pub least: f64,
    /// The largest.
    pub greatest: f64,
    /// Largest minus smallest.
    pub range: f64,
    /// The median.
    pub median: f64,
    /// The quartile below.
    pub lower_quartile: f64,
    /// The quartile above.
    pub upper_quartile: f64,
    /// The median distance from the median.
    pub median_deviation: f64,
    /// The mean distance from the median.
    pub mean_deviation: f64,
    /// How many different readings there are.
    pub different: usize,
    /// The standard deviation, by `n - 1`.
    pub standard_deviation: Figure,
    /// The standard error of the mean.
    pub standard_error: Figure,
    /// The interval of the mean.
    pub mean_interval: Result<Interval, Undefined>,
    /// The interval of the standard deviation.
    pub deviation_interval: Result<Interval, Undefined>,
    /// Skewness `m3/m2^(3/2)`, by `n`.
    pub skewness: Figure,
    /// Excess kurtosis `m4/m2² - 3`, by `n`.
    pub excess_kurtosis: Figure,
    /// How much each reading follows the one before: autocorrelation at lag one.
    pub following: Figure,
}

impl Description {
    /// Describes a set of readings.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without readings. What needs more readings or some spread is undefined by
    /// itself.
    ///
    /// ```
    /// use overwire_core::stats::Readings;
    /// use overwire_core::stats::describe::{Description, Settings};
    /// use overwire_core::units::Length;
    /// let step = Length::from_mm(0.001)?;
    /// let readings = Readings::of_steps(&[12_003, 12_001, 12_004, 12_003], step)?;
    /// let description = Description::of(&readings, Settings::default())?;
    /// assert!((description.median - 12.003).abs() < 1e-12);
    /// assert!((description.range - 0.003).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(readings: &Readings, settings: Settings) -> Result<Description, Undefined> {
        let sorted = Sorted::of(readings)?;
        let moments = Moments::of(readings)?;
        let worth = sorted.worth();
        let median = sorted.median();
        let distances = sorted.exact.iter().map(|number| (number - median).abs());
        let shape = Shape::of(readings)?;
        Ok(Description {
            settings,
            moments,
            least: sorted.least() * worth,
            greatest: sorted.greatest() * worth,
            range: (sorted.greatest() - sorted.least()) * worth,
            median: median * worth,
            lower_quartile: sorted.quantile(0.25, settings.quartiles),
            upper_quartile: sorted.quantile(0.75, settings.quartiles),
            median_deviation: sorted.median_distance(median) * worth,
            mean_deviation: distances.sum::<f64>() / moments.count as f64 * worth,
            different: sorted.different(),
            standard_deviation: moments.standard_deviation(),
            standard_error: moments.standard_error(),
            mean_interval: moments.mean_interval(settings.confidence),
            deviation_interval: moments.deviation_interval(settings.confidence),
            skewness: shape.skewness(),
            excess_kurtosis: shape.excess_kurtosis(),
            following: shape.following(),
        })
    }

    /// The quartile above minus the one below.
    pub fn quartile_range(&self) -> f64 {
        self.upper_quartile - self.lower_quartile
    }

    /// The standard deviation as the range alone estimates it, `R/d2*`: for a few readings that are all
    /// shown beside it.
    ///
    /// # Errors
    /// [`Undefined`] below two readings or above a thousand.
    pub fn deviation_from_range(&self) -> Figure {
        let readings = u32::try_from(self.moments.count).unwrap_or(u32::MAX);
        Ok(self.range / MeanRange::of(readings, 1)?.divisor)
    }

    /// The median deviation as an estimate of the standard deviation of normal readings.
    pub fn scaled_median_deviation(&self) -> f64 {
        self.median_deviation * MEDIAN_DEVIATION_SCALE
    }

    /// What a report prints about the conventions.
    pub fn settings_words(&self) -> String {
        self.settings.words()
    }
}

/// Sums of powers of the differences from the mean.
struct Shape {
    count: f64,
    second: f64,
    third: f64,
    fourth: f64,
    neighbours: f64,
}

impl Shape {
    fn of(readings: &Readings) -> Result<Shape, Undefined> {
        let exact = readings.exact();
        let first = exact.first().copied().unwrap_or(0.0);
        let away: Vec<f64> = exact.iter().map(|number| number - first).collect();
        let middle = Moments::of(&Readings::of_numbers(&away)?)?.mean;
        let differences: Vec<f64> = away.iter().map(|number| number - middle).collect();
        let power = |power: i32| differences.iter().map(|d| d.powi(power)).sum::<f64>();
        let pairs = differences.iter().zip(differences.iter().skip(1));
        Ok(Shape {
            count: differences.len() as f64,
            second: power(2),
            third: power(3),
            fourth: power(4),
            neighbours: pairs.map(|(one, next)| one * next).sum(),
        })
    }

    fn with_spread(&self, figure: f64) -> Figure {
        Undefined::unless_enough("readings", 2, self.count as usize)?;
        // Differences so small that their powers vanish are no spread either.
        match self.second > 0.0 && figure.is_finite() {
            true => Ok(figure),
            false => Err(Undefined::NoSpread),
        }
    }

    fn skewness(&self) -> Figure {
        let second = self.second / self.count;
        self.with_spread(self.third / self.count / (second * second.sqrt()))
    }

    fn excess_kurtosis(&self) -> Figure {
        let second = self.second / self.count;
        self.with_spread(self.fourth / self.count / (second * second) - 3.0)
    }

    fn following(&self) -> Figure {
        self.with_spread(self.neighbours / self.second)
    }
}
