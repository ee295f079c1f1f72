//! What the last pieces say of the next ones, while a job is running: does wear lead to a limit, how many pieces are
//! left until it is met, and does the last piece stand out?
//!
//! Only the last [`LATEST`] pieces are asked, so that a tool that was changed long ago says nothing of this one.
//!
//! Whoever asks after every piece asks often: a drift is only told of where chance would give it in fewer than one of a
//! hundred looks, and only while its limit is not farther off than twice the pieces it is known from.
//!
//! Source: the line, its forecast and the rules are those of [`super::trend`], [`super::individuals`] and
//! [`super::run_rules`]; how many pieces are asked and when a drift is told of is common practice, no source.

use super::Undefined;
use super::individuals::{Individuals, IndividualsSettings};
use super::run_rules::{Explanation, Rule, RunRules, Side, Signals};
use super::series::Series;
use super::step::Step;
use super::trend::{FIRM_PIECES, Forecast, Trend};
use crate::units::{Length, Unit};

/// So many of the last pieces are asked.
pub const LATEST: usize = 25;
/// So many are needed.
pub const LEAST: usize = FIRM_PIECES;
/// A slope that chance gives less often is told of.
const SIGNIFICANCE: f64 = 0.01;
/// A limit is told of that is not farther ahead than so many times the pieces that are known.
const FARTHEST: f64 = 2.0;
/// When a limit may be met within so many pieces, something should be done about it.
const SOON: f64 = 10.0;

/// What the last pieces say.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// How many they are: the last ones, since the level last stepped.
    pub count: usize,
    /// The step that these pieces came after, if they are those since a step.
    pub step: Option<Step>,
    /// The line through them, where there is a drift.
    pub trend: Option<Trend>,
    /// When the limit that it leads to is met, where that is not far off.
    pub forecast: Option<Forecast>,
    /// What the last piece completes: a pattern of the usual rules, about the line where there is one.
    pub patterns: Vec<Explanation>,
}

impl Outlook {
    /// Of the means of pieces in the order they were made, mm, and the limits of a single piece, mm.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than [`LEAST`] pieces; [`Undefined`] where none of them differ.
    ///
    /// ```
    /// use overwire_core::stats::outlook::Outlook;
    /// let means: Vec<f64> = (1..=12)
    ///     .map(|piece| 25.510 - 0.002 * f64::from(piece) + 0.001 * f64::from(piece % 3))
    ///     .collect();
    /// let outlook = Outlook::of(&means, (Some(25.470), Some(25.560)))?;
    /// assert_eq!(outlook.pieces_left(), Some(6.0));
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(means: &[f64], limits: (Option<f64>, Option<f64>)) -> Result<Outlook, Undefined> {
        let latest = &means[means.len().saturating_sub(LATEST)..];
        if latest.len() < LEAST {
            return Err(Undefined::TooFew {
                of: "pieces",
                needed: LEAST,
                found: latest.len(),
            });
        }
        let drift = drift(latest);
        let step = drift.as_ref().and_then(Trend::clear_step).copied();
        let latest = &latest[step.map_or(0, |step| step.at)..];
        let trend = match step {
            None => drift,
            // What came after the step may drift by itself; after two steps nobody knows.
            Some(_) => self::drift(latest).filter(|trend| trend.clear_step().is_none()),
        };
        let count = latest.len();
        let near = |forecast: &Forecast| forecast.piece < (1.0 + FARTHEST) * count as f64;
        let ahead = |trend: &Trend| trend.forecast_within(limits.0, limits.1).ok();
        Ok(Outlook {
            count,
            step,
            patterns: patterns(latest, trend.as_ref())?,
            forecast: trend.as_ref().and_then(ahead).filter(near),
            trend,
        })
    }

    /// How many pieces are left until the limit is met, by the line; 0 where it is met already.
    pub fn pieces_left(&self) -> Option<f64> {
        let forecast = self.forecast.as_ref()?;
        Some((forecast.last_safe_piece - self.count as f64).max(0.0))
    }

    /// Whether something should be done: a limit may be met soon, or the last piece stands out.
    pub fn asks_for_heed(&self) -> bool {
        let earliest = |forecast: &Forecast| forecast.earliest.unwrap_or(0.0) - self.count as f64;
        let soon = self.forecast.as_ref().map(earliest);
        let stepped_lately = self.step.is_some() && self.count < LEAST;
        soon.is_some_and(|pieces| pieces <= SOON) || !self.patterns.is_empty() || stepped_lately
    }

    /// What they say, in words, the more urgent first; `last` is the name of the last piece.
    pub fn sentences(&self, last: &str, unit: Unit, places: u8) -> Vec<String> {
        let mut said = Vec::new();
        if let Some(forecast) = &self.forecast {
            said.push(forecast.left_sentence(self.count as f64));
        }
        said.extend(
            self.patterns
                .iter()
                .map(|pattern| self.pattern_words(pattern, last)),
        );
        let text = |mm: f64| Length::computed(mm).to_text(unit, places.saturating_add(1));
        let count = self.count;
        if let Some(step) = &self.step {
            let (rise, way) = (text(step.rise.abs()), higher(step.rise));
            said.push(format!(
                "The last {count} pieces lie {rise} {way} than those before: was a tool changed, or an offset set?"
            ));
        }
        said.extend(match &self.trend {
            Some(trend) => {
                let way = if trend.line.slope > 0.0 {
                    "grows"
                } else {
                    "shrinks"
                };
                let slope = text((trend.line.slope * 10.0).abs());
                Some(format!(
                    "By the last {count} pieces the diameter {way} by {slope} every 10 pieces."
                ))
            }
            // Of few pieces since a step nothing is known yet.
            None if count < LEAST => None,
            None if self.patterns.is_empty() => Some(format!(
                "By the last {count} pieces nothing drifts and the last one does not stand out."
            )),
            None => Some(format!("By the last {count} pieces nothing drifts.")),
        });
        said
    }

    fn pattern_words(&self, pattern: &Explanation, last: &str) -> String {
        let about = match self.trend {
            Some(_) => "the line of the drift",
            None => "the mean of them",
        };
        let side = match pattern.side {
            Some(Side::Above) => "above",
            _ => "below",
        };
        let cause = pattern.rule.usual_cause();
        match pattern.rule {
            Rule::SameSide => {
                format!(
                    "The last {} pieces all lie {side} {about}. {cause}",
                    pattern.count
                )
            }
            _ => format!("{last} stands out: farther {side} {about} than chance gives. {cause}"),
        }
    }
}

fn higher(rise: f64) -> &'static str {
    if rise > 0.0 { "higher" } else { "lower" }
}

/// The line through pieces that drift.
fn drift(means: &[f64]) -> Option<Trend> {
    let places: Vec<f64> = (1..=means.len()).map(|place| place as f64).collect();
    let proven = |trend: &Trend| trend.slope_chance().is_ok_and(|p| p < SIGNIFICANCE);
    Trend::of(&places, means).ok().filter(proven)
}

/// What the last piece completes by the usual rules, about the line where there is one; of few pieces nothing.
fn patterns(means: &[f64], trend: Option<&Trend>) -> Result<Vec<Explanation>, Undefined> {
    let rules = RunRules::usual();
    if let Some(trend) = trend {
        return Ok(completed(&trend.signals(rules), &trend.residuals));
    }
    if means.len() < LEAST {
        return Ok(Vec::new());
    }
    let series = Series::from_readings(means.to_vec())?;
    let chart = Individuals::of(&series, IndividualsSettings::default())?;
    Ok(completed(&chart.signals(&series, rules), &series))
}

/// What the last point completes.
fn completed(signals: &Signals, series: &Series) -> Vec<Explanation> {
    let last = series.readings().len().saturating_sub(1);
    let at_last = signals.hits.iter().filter(|hit| hit.index == last);
    at_last
        .flat_map(|hit| signals.explain(series, hit))
        .collect()
}
