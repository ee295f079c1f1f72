//! Distances from the median, in median distances.

use super::odds_words;
use crate::decimal::format_to;
use crate::stats::describe::Sorted;
use crate::stats::distribution::normal_beyond;
use crate::stats::{Readings, Undefined};

/// The upper quartile of a normal deviate as it is printed: a median distance is so many standard deviations.
const MEDIAN_DISTANCE: f64 = 0.6745;

/// A mean distance of normal readings times this, `√(π/2)`, is their standard deviation.
const MEAN_DISTANCE: f64 = 1.253_314;

/// By what distances are judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScoreSettings {
    /// A score beyond this is suspect.
    pub limit: f64,
    /// A reading fewer display steps than this from the median is never suspect: a coarse display alone puts
    /// readings that far out.
    pub least_steps: f64,
}

impl Default for ScoreSettings {
    /// 3.5, and two display steps.
    fn default() -> ScoreSettings {
        ScoreSettings {
            limit: 3.5,
            least_steps: 2.0,
        }
    }
}

/// By what yardstick the scores were made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Yardstick {
    /// The median distance from the median.
    MedianDistance,
    /// The mean distance from the median: more than half of the readings are the same, so that the
    /// median distance is nothing.
    MeanDistance,
}

impl Yardstick {
    /// What a report prints about it.
    pub const fn words(self) -> &'static str {
        match self {
            Yardstick::MedianDistance => "0.6745 times the distance over the median distance",
            Yardstick::MeanDistance => {
                "the distance over 1.253314 mean distances, as the median distance is nothing"
            }
        }
    }
}

/// The scores of all readings.
#[derive(Debug, Clone, PartialEq)]
pub struct MedianScores {
    /// By what they are judged.
    pub settings: ScoreSettings,
    /// The median.
    pub median: f64,
    /// The median distance from it.
    pub median_distance: f64,
    /// By what yardstick they were made.
    pub yardstick: Yardstick,
    /// One score for each reading: about a normal deviate when nothing is wrong.
    pub scores: Vec<f64>,
    /// The indices of the suspect readings.
    pub suspects: Vec<usize>,
}

impl MedianScores {
    /// How often chance alone would put some reading of the set as far out as this one, if the readings
    /// were normal: rough for few readings.
    pub fn chance(&self, index: usize) -> Option<f64> {
        let score = self.scores.get(index)?;
        Some((2.0 * self.scores.len() as f64 * normal_beyond(score.abs())).min(1.0))
    }

    /// One sentence for a person about one reading.
    pub fn sentence(&self, index: usize) -> Option<String> {
        let score = self.scores.get(index)?;
        Some(format!(
            "Reading {} of {} scores {} by its distance from the median (suspect beyond {}); chance \
             alone would put one that far out {}.",
            index + 1,
            self.scores.len(),
            format_to(score.abs(), 1),
            self.settings.limit,
            odds_words(self.chance(index)?)
        ))
    }

    /// What a report prints about the conventions.
    pub fn settings_words(&self) -> String {
        format!(
            "median scores: {}; suspect beyond {} and from {} display steps on",
            self.yardstick.words(),
            self.settings.limit,
            self.settings.least_steps
        )
    }
}

/// Scores all readings by their distances from the median.
///
/// # Errors
/// [`Undefined`] below three readings, or [`Undefined::NoSpread`] when all are the same.
pub fn median_scores(
    readings: &Readings,
    settings: ScoreSettings,
) -> Result<MedianScores, Undefined> {
    Undefined::unless_enough("readings", 3, readings.len())?;
    let sorted = Sorted::of(readings)?;
    let exact = readings.exact();
    let median = sorted.median();
    let median_distance = sorted.median_distance(median);
    let total: f64 = exact.iter().map(|number| (number - median).abs()).sum();
    let mean_distance = total / exact.len() as f64;
    if mean_distance <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let (yardstick, scale) = match median_distance > 0.0 {
        true => (Yardstick::MedianDistance, MEDIAN_DISTANCE / median_distance),
        false => (
            Yardstick::MeanDistance,
            1.0 / (MEAN_DISTANCE * mean_distance),
        ),
    };
    let scores: Vec<f64> = exact
        .iter()
        .map(|number| (number - median) * scale)
        .collect();
    // Counts are whole steps; plain numbers have no step to fall short of.
    let near = match readings.step() {
        Some(_) => settings.least_steps,
        None => 0.0,
    };
    let suspect = |(number, score): (&f64, &f64)| {
        score.abs() > settings.limit && (number - median).abs() >= near
    };
    let suspects = exact.iter().zip(&scores).enumerate();
    let suspects = suspects
        .filter(|&(_, pair)| suspect(pair))
        .map(|(index, _)| index);
    Ok(MedianScores {
        settings,
        median: median * sorted.worth(),
        median_distance: median_distance * sorted.worth(),
        yardstick,
        suspects: suspects.collect(),
        scores,
    })
}
