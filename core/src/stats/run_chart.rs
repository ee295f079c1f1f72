//! Figures of a run chart: readings in time order, without limits.
//!
//! They need no sigma and no normal readings, only the order: whether readings gather above and below their
//! median, and whether they go up and down more or less often than chance would have it. Runs and counts
//! never reach across a gap: expected numbers are summed stretch by stretch.
//!
//! Source: Wald & Wolfowitz (1940) for runs about the median; Levene & Wolfowitz (1944) for runs up and down,
//! `(2n-1)/3` expected with variance `(16n-29)/90`; NIST/SEMATECH e-Handbook 1.3.5.13; from memory. The chance is
//! that of a normal deviate, good from about ten readings on each side.
//!
//! Runs up and down were worked out for readings of which no two are equal. Where the display makes neighbours equal
//! they are counted twice, with every tie broken as makes the fewest runs and as makes the most (Bradley,
//! Distribution-Free Statistical Tests, 1968, from memory): only what both say is said.

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
        self.chance < UNUSUAL
    }

    /// What the number says, in words.
    fn judgement(&self) -> &'static str {
        match (self.is_unusual(), (self.found as f64) < self.expected) {
            (false, _) => "as chance would have it",
            (true, true) => "fewer than chance would give: a drift, or batches",
            (true, false) => "more than chance would give: alternation, or correcting too often",
        }
    }

    fn sentence(&self, what: &str) -> String {
        format!(
            "Runs {what}: {} (about {} expected), {}.",
            self.found,
            format_to(self.expected, 1),
            self.judgement()
        )
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
    pub up_and_down: Result<UpAndDown, Undefined>,
}

/// Runs up and down, with the ties broken both ways; without ties the two are the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UpAndDown {
    /// Every tie carries on what came before it.
    pub fewest: RunCount,
    /// Every tie turns wherever a turn makes one run more.
    pub most: RunCount,
}

impl UpAndDown {
    /// How often chance would give such a number of runs, however the ties fall: the larger of both chances, and 1
    /// where the number to be expected lies between the two.
    pub fn chance(&self) -> f64 {
        let side = |count: &RunCount| (count.found as f64 - count.expected).signum();
        match side(&self.fewest) * side(&self.most) < 0.0 {
            true => 1.0,
            false => self.fewest.chance.max(self.most.chance),
        }
    }

    /// Whether chance is a poor explanation, however the ties fall.
    pub fn is_unusual(&self) -> bool {
        self.chance() < UNUSUAL
    }

    /// Whether the ties leave it open: broken one way chance explains the runs, broken the other it hardly does.
    pub fn is_open(&self) -> bool {
        !self.is_unusual() && (self.fewest.is_unusual() || self.most.is_unusual())
    }
}

/// What chance gives less often than this it hardly gives.
const UNUSUAL: f64 = 0.05;

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
            up_and_down: up_and_down(&steps),
        })
    }

    /// What the figures say, in words; two sentences.
    pub fn sentence(&self) -> String {
        let none = |what: &str, reason: Undefined| format!("Runs {what}: none ({reason}).");
        let about = match self.about_median {
            Ok(count) => count.sentence("about the median"),
            Err(reason) => none("about the median", reason),
        };
        let up_and_down = match self.up_and_down {
            Ok(runs) => self.up_and_down_sentence(&runs),
            Err(reason) => none("up and down", reason),
        };
        format!("{about} {up_and_down}")
    }

    fn up_and_down_sentence(&self, runs: &UpAndDown) -> String {
        let (fewest, most) = (runs.fewest.found, runs.most.found);
        if fewest == most {
            return runs.fewest.sentence("up and down");
        }
        let expected = format_to(runs.fewest.expected, 1);
        let ties = match self.ties {
            1 => "1 pair of neighbours reads the same".to_owned(),
            ties => format!("{ties} pairs of neighbours read the same"),
        };
        match runs.is_open() || runs.fewest.judgement() != runs.most.judgement() {
            true => format!(
                "Runs up and down: not judged, because {ties}; by how those fall there are {fewest} to {most} (about \
                 {expected} expected)."
            ),
            false => format!(
                "Runs up and down: {fewest} to {most}, by how equal neighbours fall (about {expected} expected), {}.",
                runs.fewest.judgement()
            ),
        }
    }
}

fn up_and_down(steps: &Runs) -> Result<UpAndDown, Undefined> {
    // Only ties: nothing goes up or down.
    Undefined::unless_enough(
        "steps that go up or down",
        1,
        steps.positive + steps.negative,
    )?;
    let count = |found| RunCount::of(found, steps.expected, steps.variance);
    Ok(UpAndDown {
        fewest: count(steps.runs)?,
        most: count(steps.most)?,
    })
}

/// -1, 0 or 1.
fn sign(number: f64) -> i8 {
    i8::from(number > 0.0) - i8::from(number < 0.0)
}

/// Runs of equal signs.
#[derive(Default)]
struct Runs {
    /// With zeros passed over: the fewest there can be however they fall.
    runs: usize,
    /// With every zero a turn where that makes one more.
    most: usize,
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
        expected: fn(usize, usize, usize) -> (f64, f64),
    ) {
        let (mut latest, mut length, mut positive, mut negative, mut zero) = (0, 0, 0, 0, 0);
        let mut turned = 0;
        for sign in signs {
            let (before, now) = (turned, if sign == 0 { -turned } else { sign });
            self.most += usize::from(sign == 0 || now != before);
            turned = now;
            match sign {
                0 => {
                    zero += 1;
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
        if positive + negative + zero > 0 {
            let (more, variance) = expected(positive, negative, zero);
            self.expected += more;
            self.variance += variance;
        }
        self.positive += positive;
        self.negative += negative;
        self.zero += zero;
    }

    /// Readings on the median count for neither side.
    fn expected_about_median(positive: usize, negative: usize, _on: usize) -> (f64, f64) {
        if positive + negative == 0 {
            return (0.0, 0.0);
        }
        let (one, other) = (positive as f64, negative as f64);
        let (twice, all) = (2.0 * one * other, one + other);
        let variance = match all > 1.0 {
            true => twice * (twice - all) / (all * all * (all - 1.0)),
            false => 0.0,
        };
        (twice / all + 1.0, variance.max(0.0))
    }

    /// By the number of readings between which there are so many steps, ties among them.
    fn expected_up_and_down(rising: usize, falling: usize, ties: usize) -> (f64, f64) {
        let readings = (rising + falling + ties + 1) as f64;
        let variance = (16.0 * readings - 29.0) / 90.0;
        ((2.0 * readings - 1.0) / 3.0, variance.max(0.0))
    }
}
