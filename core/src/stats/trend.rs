//! The chart of a trend: tool wear.
//!
//! A tool that wears makes the thread grow steadily; a plain chart would only say so over and over. Here
//! the limits slope with the wear, rules are held against what is left beside the line, and the line says when
//! the limit of the thread will be reached. A fresh start of the series (a new insert) begins a new line.
//!
//! The forecast is the piece at which the line with its spread meets the limit; its interval comes
//! from the uncertainty of the line (Fieller's rule, from memory).
//!
//! Source: common practice: the line of least squares over ten pieces at least, limits three residual standard
//! deviations from it.

use std::f64::consts::FRAC_2_SQRT_PI;

use super::distribution::student_factor;
use super::limits::{ControlLimits, Sigma, SigmaBasis, USUAL_WIDTH};
use super::line::Line;
use super::run_rules::{RunRules, Signals, Zones};
use super::series::{Gap, Series};
use super::step::Step;
use super::{Figure, Interval, Undefined};
use crate::decimal::format_to;
use crate::units::{Length, Unit};

/// A line through fewer pieces is called provisional. Common practice, no source.
pub const FIRM_PIECES: usize = 10;

/// Readings over pieces, and the line through them.
///
/// ```
/// use overwire_core::stats::trend::Trend;
/// let pieces: Vec<f64> = (1..=12).map(f64::from).collect();
/// let diameters: Vec<f64> =
///     pieces.iter().map(|piece| 12.0 + 0.001 * piece + 0.0003 * (piece * 2.0).sin()).collect();
/// let trend = Trend::of(&pieces, &diameters)?;
/// let forecast = trend.forecast(12.030)?;
/// assert!(forecast.piece > 25.0 && forecast.piece < 30.0);
/// # Ok::<(), overwire_core::stats::Undefined>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The line: millimetres over pieces.
    pub line: Line,
    /// The spread about it.
    pub sigma: Sigma,
    /// What each reading is above the line, with the gaps of the series.
    pub residuals: Series,
    /// How many sigma the limits lie from the line.
    pub width: f64,
    /// The step that fits the readings best in place of a line; none where there are too few.
    pub step: Option<Step>,
}

/// When a limit will be reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// The limit of the thread that is being approached.
    pub limit: f64,
    /// Where the line with its spread meets it, in pieces.
    pub piece: f64,
    /// The last whole piece before that.
    pub last_safe_piece: f64,
    /// The earliest piece that has to be reckoned with; `None` when the wear is so uncertain that the limit
    /// may have been reached already.
    pub earliest: Option<f64>,
    /// The latest; `None` when the wear is not certain enough to say that it ever comes.
    pub latest: Option<f64>,
    /// With which confidence the two hold it.
    pub confidence: f64,
}

impl Trend {
    /// The line through readings, `pieces` being their numbers (or minutes of cutting).
    ///
    /// # Errors
    /// [`Undefined`] for lists of different lengths, fewer than three readings, all at one piece, or
    /// all exactly on a line.
    pub fn of(pieces: &[f64], readings: &[f64]) -> Result<Trend, Undefined> {
        let line = Line::through(pieces, readings)?;
        let deviation = line.residual_deviation()?;
        let points = pieces.iter().zip(readings);
        Ok(Trend {
            residuals: Series::from_readings(
                points
                    .map(|(&piece, reading)| reading - line.at(piece))
                    .collect(),
            )?,
            sigma: Sigma {
                sigma: deviation,
                basis: SigmaBasis::AboutLine,
                degrees_of_freedom: line.degrees_of_freedom() as f64,
                count: line.count,
            }
            .above_zero()?,
            step: Step::beside_line(readings, line.residual_squares).ok(),
            line,
            width: USUAL_WIDTH,
        })
    }

    /// The line through what came since the latest fresh start of a series, over the places on the chart.
    ///
    /// # Errors
    /// As [`Trend::of`].
    pub fn since_fresh_start(series: &Series) -> Result<Trend, Undefined> {
        let starts = series.gaps().iter().rev();
        let mut starts = starts.filter(|at| matches!(at.gap, Gap::FreshStart { .. }));
        let from = starts.next().map_or(0, |at| at.before);
        let readings = series.readings().get(from..).unwrap_or_default();
        let places = (from..series.readings().len()).map(|index| series.place(index) as f64);
        let trend = Trend::of(&places.collect::<Vec<_>>(), readings)?;
        let residuals = series.since(from, trend.residuals.readings());
        Ok(Trend { residuals, ..trend })
    }

    /// The sloped limits at a piece.
    pub fn limits_at(&self, piece: f64) -> ControlLimits {
        ControlLimits::about(self.line.at(piece), self.width * self.sigma.sigma)
    }

    /// Sigma from the mean moving range of what is left beside the line: what it would be without slow
    /// waves about the line.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without two neighbouring readings.
    pub fn sigma_from_neighbours(&self) -> Figure {
        let sums = super::individuals::sums(&self.residuals);
        Ok(sums.mean_moving_range()? / FRAC_2_SQRT_PI)
    }

    /// How often chance alone would give a slope this far from none.
    ///
    /// # Errors
    /// [`Undefined`] as for a line.
    pub fn slope_chance(&self) -> Figure {
        self.line.slope_chance()
    }

    /// What run rules find among what is left beside the line.
    pub fn signals(&self, rules: RunRules) -> Signals {
        let zones = Zones::about(0.0, self.sigma.sigma * self.width / USUAL_WIDTH);
        Signals::find(&self.residuals, zones, rules)
    }

    /// When the line with its spread meets a limit of the thread, at 95 % confidence.
    ///
    /// # Errors
    /// As [`Trend::forecast_with`].
    pub fn forecast(&self, limit: f64) -> Result<Forecast, Undefined> {
        self.forecast_with(limit, 0.95)
    }

    /// When the line with its spread meets a limit of the thread, a guard band already taken off: a limit
    /// above the line for wear that makes the diameter grow, one below it for wear that makes it shrink.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] when the line runs away from the limit, or for a confidence that is no
    /// probability.
    pub fn forecast_with(&self, limit: f64, confidence: f64) -> Result<Forecast, Undefined> {
        Undefined::unless_probability("a confidence", confidence)?;
        let senseless = Undefined::Senseless {
            what: "the way to a limit that the trend leads away from",
            found: limit,
        };
        let line = &self.line;
        let spread = self.width * self.sigma.sigma * line.slope.signum();
        // Where the line itself has to be when its spread meets the limit, above its middle.
        let to_go = limit - spread - line.y_mean;
        let piece = line.x_mean + to_go / line.slope;
        if !piece.is_finite() || (limit - line.y_mean) * line.slope <= 0.0 {
            return Err(senseless);
        }
        let factor = student_factor(confidence, self.sigma.degrees_of_freedom).ok_or(senseless)?;
        let (earliest, latest) = self.fieller(to_go, factor).ok_or(senseless)?;
        Ok(Forecast {
            limit,
            piece,
            last_safe_piece: piece.floor(),
            earliest,
            latest,
            confidence,
        })
    }

    /// When the limit that the wear leads to will be met, at 95 % confidence: the upper one when the
    /// diameter grows, the lower one when it shrinks.
    ///
    /// # Errors
    /// As [`Trend::forecast_with`], and [`Undefined::TooFew`] when there is no limit on that side.
    pub fn forecast_within(
        &self,
        lower: Option<f64>,
        upper: Option<f64>,
    ) -> Result<Forecast, Undefined> {
        let ahead = match self.line.slope > 0.0 {
            true => upper,
            false => lower,
        };
        self.forecast(ahead.ok_or(Undefined::TooFew {
            of: "limits on that side",
            needed: 1,
            found: 0,
        })?)
    }

    /// All pieces at which the line could be at a height above its middle, going by its interval there:
    /// `(h - b d)² <= t² s² (1/n + d²/Sxx)`, d the distance from the middle piece.
    fn fieller(&self, height: f64, factor: f64) -> Option<(Option<f64>, Option<f64>)> {
        let line = &self.line;
        let noise = (factor * self.sigma.sigma).powi(2);
        let square = line.slope * line.slope - noise / line.x_squares;
        let half = height * line.slope;
        let plain = height * height - noise / line.count as f64;
        let root = half * half - square * plain;
        if root < 0.0 {
            // The interval of the line holds the height everywhere: it may be reached already.
            return (square < 0.0).then_some((None, None));
        }
        let ends = [half - root.sqrt(), half + root.sqrt()].map(|end| line.x_mean + end / square);
        match square > 0.0 {
            true => Some((Some(ends[0]), Some(ends[1]))),
            // Only one branch lies on the way there; the other belongs to a slope of the other sign.
            false => Some((Some(ends[0].max(ends[1])), None)),
        }
    }

    /// Where the next reading at a piece is to be expected.
    ///
    /// # Errors
    /// [`Undefined`] for a confidence that is no probability.
    pub fn expected_at(&self, piece: f64, confidence: f64) -> Result<Interval, Undefined> {
        self.line.forecast_interval(piece, confidence)
    }

    /// The settings as they are printed with a chart.
    pub fn settings_words(&self) -> String {
        format!(
            "Line of least squares through {} readings; limits {} standard deviations about the line from it.",
            self.line.count,
            format_to(self.width, 2)
        )
    }

    /// The step that the readings follow rather than a line.
    pub fn clear_step(&self) -> Option<&Step> {
        self.step.as_ref().filter(|step| step.fits_clearly_better())
    }

    /// What to know of the line: that a step fits as well, or that readings stand out beside it; points are
    /// called as the caller calls them.
    pub fn cautions(&self, noun: &str) -> Vec<String> {
        let mut cautions = Vec::new();
        if let Some(step) = self.step.as_ref().filter(|step| step.fits_as_well()) {
            let place = self.residuals.place(step.at);
            cautions.push(format!(
                "a step at {noun} {place} fits as well as a steady line; was a tool changed, or an offset set?"
            ));
        }
        let signals = self.signals(RunRules::usual()).hits.len();
        if signals > 0 {
            let (noun, stand) = match signals {
                1 => (noun.to_owned(), "stands"),
                _ => (format!("{noun}s"), "stand"),
            };
            cautions.push(format!(
                "{signals} {noun} {stand} out beside the line: it is not steady, and a forecast is rough."
            ));
        }
        cautions
    }

    /// What the trend is, in words.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let text = |mm: f64| Length::computed(mm).to_text(unit, places.saturating_add(1));
        let provisional = match self.line.count < FIRM_PIECES {
            true => format!(" Provisional: {} of {FIRM_PIECES} pieces.", self.line.count),
            false => String::new(),
        };
        let certain = self.slope_chance().is_ok_and(|chance| chance < 0.05);
        if !certain {
            return format!(
                "No trend is proven by {} readings.{provisional}",
                self.line.count
            );
        }
        let way = match self.line.slope > 0.0 {
            true => "grows",
            false => "shrinks",
        };
        format!(
            "The diameter {way} by {} every 10 pieces, with a spread of {} about the line.{provisional}",
            text((self.line.slope * 10.0).abs()),
            text(self.sigma.sigma)
        )
    }
}

impl Forecast {
    /// How many pieces are left behind the last one measured, in words.
    ///
    /// ```
    /// use overwire_core::stats::trend::Forecast;
    /// let forecast = Forecast {
    ///     limit: 12.030,
    ///     piece: 27.4,
    ///     last_safe_piece: 27.0,
    ///     earliest: Some(24.9),
    ///     latest: Some(31.2),
    ///     confidence: 0.95,
    /// };
    /// assert_eq!(
    ///     forecast.left_sentence(12.0),
    ///     "About 15 pieces left before the limit (12 to 19, 95 % sure), if it goes on as it does."
    /// );
    /// assert_eq!(
    ///     forecast.left_sentence(28.0),
    ///     "No piece left: the line with its spread has met the limit. Stop, and look at the tool."
    /// );
    /// ```
    pub fn left_sentence(&self, last: f64) -> String {
        let left = |piece: f64| (piece.floor() - last).max(0.0);
        let whole = |piece: f64| format_to(left(piece), 0);
        if left(self.last_safe_piece) < 1.0 {
            return "No piece left: the line with its spread has met the limit. Stop, and look at the tool."
                .to_owned();
        }
        let sure = format!("{} % sure", format_to(self.confidence * 100.0, 0));
        let between = match (self.earliest, self.latest) {
            (Some(earliest), Some(latest)) => {
                format!("{} to {}, {sure}", whole(earliest), whole(latest))
            }
            (Some(earliest), None) => format!("{} at least, {sure}", whole(earliest)),
            (None, _) => "it may be none: the wear is too uncertain".to_owned(),
        };
        let pieces = match left(self.last_safe_piece) {
            1.0 => "1 piece".to_owned(),
            more => format!("{} pieces", format_to(more, 0)),
        };
        format!("About {pieces} left before the limit ({between}), if it goes on as it does.")
    }

    /// What is to come, in words.
    ///
    /// ```
    /// # use overwire_core::stats::trend::Forecast;
    /// let forecast = Forecast {
    ///     limit: 12.030,
    ///     piece: 27.4,
    ///     last_safe_piece: 27.0,
    ///     earliest: Some(24.9),
    ///     latest: Some(31.2),
    ///     confidence: 0.95,
    /// };
    /// assert_eq!(
    ///     forecast.sentence(),
    ///     "The line with its spread meets the limit about piece 27 (95 % sure: between 24 and 32); up to piece 24 it \
    ///      is safe."
    /// );
    /// ```
    pub fn sentence(&self) -> String {
        let text = |piece: f64| format_to(piece, 0);
        let sure = format!("{} % sure", text(self.confidence * 100.0));
        let about = format!(
            "The line with its spread meets the limit about piece {}",
            text(self.piece.round())
        );
        let Some(earliest) = self.earliest.map(|piece| text(piece.floor())) else {
            return format!("{about}; the wear is so uncertain that it may be at any time.");
        };
        let between = match self.latest {
            Some(latest) => format!("between {earliest} and {}", text(latest.ceil())),
            None => format!("not before {earliest}"),
        };
        format!("{about} ({sure}: {between}); up to piece {earliest} it is safe.")
    }
}
