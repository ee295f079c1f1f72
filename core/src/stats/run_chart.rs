//! Figures of a run chart: readings in time order, without limits.
//!
//! They need no sigma and no normal readings, only the order: whether readings gather above and below their
//! median, and whether they go up and down more or less often than chance would have it. Runs and counts
//! never reach across a gap: expected numbers are summed stretch by stretch.
//!
//! Source: Wald & Wolfowitz (1940) for runs about the median; Levene & Wolfowitz (1944) for runs up and down,
//! `(2n-1)/3` expected with variance `(16n-29)/90`; NIST/SEMATECH e-Handbook 1.3.5.13; from memory. The chance is
//! that of a normal deviate, good from about ten readings on each side.

use super::Undefined;
use super::distribution::normal_beyond;
use super::series::Series;
use crate::decimal::format_to;

/// A number of runs against what chance would give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunCount {
    /// How many runs there are.
    pub found: usize,
    /// How many chance would give.
    pub expected: f64,
    /// The standard deviation of that number.
    pub deviation: f64,
    /// How often chance would give a number this far from the expected one, either way.
    pub chance: f64,
}

impl RunCount {
    fn of(found: usize, expected: f64, variance: f64) -> Result<RunCount, Undefined> {
        if variance <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        let deviation = variance.sqrt();
        let away = (found as f64 - expected).abs() / deviation;
        Ok(RunCount {
            found,
            expected,
            deviation,
            chance: 2.0 * normal_beyond(away),
        })
    }

    /// Whether chance is a poor explanation: less than one in twenty.
    pub fn is_unusual(&self) -> bool {
        self.chance < 0.05
    }
}

/// The figures of a run chart.
///
/// ```
/// use overwire_core::stats::run_chart::RunChart;
/// use overwire_core::stats::series::Series;
/// let series = Series::from_readings(vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0])?;
/// let chart = RunChart::of(&series)?;
/// assert_eq!((chart.longest_run, chart.longest_trend), (5, 10));
/// assert!(chart.about_median?.is_unusual());
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunChart {
    /// How many readings.
    pub count: usize,
    /// Their median.
    pub median: f64,
    /// How many lie above it.
    pub above: usize,
    /// How many lie below it.
    pub below: usize,
    /// How many lie on it: they count for neither side and end no run.
    pub on_median: usize,
    /// How many equal the reading before them: they count for neither direction.
    pub ties: usize,
    /// The longest run on one side of the median.
    pub longest_run: usize,
    /// The longest stretch that steadily rises or falls, in readings; equal neighbours end it.
    pub longest_trend: usize,
    /// Runs about the median: few when readings drift or come in batches, many when they alternate.
    pub about_median: Result<RunCount, Undefined>,
    /// Runs up and down: few in a drift, many when two sources take turns.
    pub up_and_down: Result<RunCount, Undefined>,
}

impl RunChart {
    /// The figures of a series.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without a reading.
    pub fn of(series: &Series) -> Result<RunChart, Undefined> {
        let median = super::individuals::median(&mut series.readings().to_vec());
        let median = median.ok_or(Undefined::TooFew {
            of: "readings",
            needed: 1,
            found: 0,
        })?;
        let mut sides = Runs::default();
        let mut steps = Runs {
            zero_ends: true,
            ..Runs::default()
        };
        for (_, stretch) in series.stretches() {
            let signs = stretch.iter().map(|reading| sign(reading - median));
            sides.stretch(signs, Runs::expected_about_median);
            let neighbours = stretch.iter().zip(stretch.iter().skip(1));
            let signs = neighbours.map(|(before, after)| sign(after - before));
            steps.stretch(signs, Runs::expected_up_and_down);
        }
        Ok(RunChart {
            count: series.readings().len(),
            median,
            above: sides.positive,
            below: sides.negative,
            on_median: sides.zero,
            ties: steps.zero,
            longest_run: sides.longest,
            longest_trend: steps.longest + 1,
            about_median: RunCount::of(sides.runs, sides.expected, sides.variance),
            up_and_down: RunCount::of(steps.runs, steps.expected, steps.variance),
        })
    }

    /// What the figures say, in words; one sentence or two.
    pub fn sentence(&self) -> String {
        let say = |count: Result<RunCount, Undefined>, what: &str| match count {
            Err(reason) => format!("Runs {what}: none ({reason})."),
            Ok(count) => {
                let judgement = match (count.is_unusual(), (count.found as f64) < count.expected) {
                    (false, _) => "as chance would have it",
                    (true, true) => "fewer than chance would give: a drift, or batches",
                    (true, false) => {
                        "more than chance would give: alternation, or correcting too often"
                    }
                };
                format!(
                    "Runs {what}: {} (about {} expected), {judgement}.",
                    count.found,
                    format_to(count.expected, 1)
                )
            }
        };
        format!(
            "{} {}",
            say(self.about_median, "about the median"),
            say(self.up_and_down, "up and down")
        )
    }
}

/// -1, 0 or 1.
fn sign(number: f64) -> i8 {
    i8::from(number > 0.0) - i8::from(number < 0.0)
}

/// Runs of equal signs.
#[derive(Default)]
struct Runs {
    runs: usize,
    longest: usize,
    positive: usize,
    negative: usize,
    zero: usize,
    /// Whether a zero ends the longest run. It never makes one run two.
    zero_ends: bool,
    expected: f64,
    variance: f64,
}

impl Runs {
    /// Takes the signs of one stretch; zeros are passed over.
    fn stretch(
        &mut self,
        signs: impl Iterator<Item = i8>,
        expected: fn(usize, usize) -> (f64, f64),
    ) {
        let (mut latest, mut length, mut positive, mut negative) = (0, 0, 0, 0);
        for sign in signs {
            match sign {
                0 => {
                    self.zero += 1;
                    length = if self.zero_ends { 0 } else { length };
                    continue;
                }
                1 => positive += 1,
                _ => negative += 1,
            }
            if sign != latest {
                (latest, length) = (sign, 0);
                self.runs += 1;
            }
            length += 1;
            self.longest = self.longest.max(length);
        }
        if positive + negative > 0 {
            let (more, variance) = expected(positive, negative);
            self.expected += more;
            self.variance += variance;
        }
        self.positive += positive;
        self.negative += negative;
    }

    fn expected_about_median(positive: usize, negative: usize) -> (f64, f64) {
        let (one, other) = (positive as f64, negative as f64);
        let (twice, all) = (2.0 * one * other, one + other);
        let variance = match all > 1.0 {
            true => twice * (twice - all) / (all * all * (all - 1.0)),
            false => 0.0,
        };
        (twice / all + 1.0, variance.max(0.0))
    }

    /// By the number of readings between which there are so many steps.
    fn expected_up_and_down(rising: usize, falling: usize) -> (f64, f64) {
        let readings = (rising + falling + 1) as f64;
        let variance = (16.0 * readings - 29.0) / 90.0;
        ((2.0 * readings - 1.0) / 3.0, variance.max(0.0))
    }
}
