//! What the step of the display adds, and whether it is fine enough.

use super::distribution::{normal_beyond, normal_probability};
use super::{Figure, Undefined};
use crate::decimal::format_to;

/// The standard uncertainty that a display step adds to a reading: half a step to either side, all alike,
/// `q/√12`. Source: JCGM 100 (GUM), F.2.2.1.
///
/// ```
/// use overwire_core::stats::resolution::reading_uncertainty;
/// assert!((reading_uncertainty(0.001) - 0.000_288_675).abs() < 1e-9);
/// ```
pub fn reading_uncertainty(step: f64) -> f64 {
    step / 12.0_f64.sqrt()
}

/// The standard uncertainty that a display step adds to the difference of two readings, `q/√6`.
pub fn difference_uncertainty(step: f64) -> f64 {
    step / 6.0_f64.sqrt()
}

/// The standard deviation to put into a budget: the one found, but never less than the display alone
/// makes. Readings that are all the same say that the spread is below the step, not that there is none.
pub fn spread_for_budget(standard_deviation: f64, step: f64) -> f64 {
    standard_deviation.max(reading_uncertainty(step))
}

/// A standard deviation less what the display added, `√(s² - q²/12)`; zero when the display made all
/// of it. Source: W. F. Sheppard (1898), as in every handbook; good when the step is at most about twice
/// the standard deviation.
pub fn without_display(standard_deviation: f64, step: f64) -> f64 {
    let square = standard_deviation * standard_deviation - step * step / 12.0;
    square.max(0.0).sqrt()
}

/// What a display makes of a normal quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Displayed {
    /// The mean of the readings, in steps.
    pub mean: f64,
    /// Their standard deviation, in steps.
    pub standard_deviation: f64,
}

/// Mean and standard deviation, in steps, of the readings of a normal quantity whose mean lies `offset` steps
/// from a whole step and that spreads by `deviation` steps: summed over all steps.
///
/// With a spread of a quarter of a step the readings spread by anything from a fifth of a step to a half,
/// as the mean happens to lie.
///
/// # Errors
/// [`Undefined::Senseless`] for a deviation not above zero or beyond a thousand steps, or an offset that is
/// no number.
pub fn displayed(deviation: f64, offset: f64) -> Result<Displayed, Undefined> {
    let senseless = |what, found| Err(Undefined::Senseless { what, found });
    if !(deviation > 0.0 && deviation <= 1e3) {
        return senseless("a deviation in steps", deviation);
    }
    if offset.is_nan() || offset.abs() > 1e9 {
        return senseless("an offset in steps", offset);
    }
    let whole = offset.round();
    let part = offset - whole;
    let reach = (40.0 * deviation).ceil() as i32 + 1;
    let shown = |step: i32| {
        let place = f64::from(step);
        let (low, high) = (
            (place - 0.5 - part) / deviation,
            (place + 0.5 - part) / deviation,
        );
        let probability = match low > 0.0 {
            true => normal_beyond(low) - normal_beyond(high),
            false => normal_probability(high) - normal_probability(low),
        };
        (place, probability)
    };
    let mean: f64 = (-reach..=reach)
        .map(shown)
        .map(|(place, share)| place * share)
        .sum();
    let square = |(place, share): (f64, f64)| (place - mean) * (place - mean) * share;
    let variance: f64 = (-reach..=reach).map(shown).map(square).sum();
    Ok(Displayed {
        mean: whole + mean,
        standard_deviation: variance.sqrt(),
    })
}

/// What is known about the display and what it is used for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Use {
    /// The display step; all in one unit.
    pub step: f64,
    /// The width of the tolerance, when there is one.
    pub tolerance: Option<f64>,
    /// The upper limit of the chart of ranges, or of moving ranges.
    pub range_limit: Option<f64>,
    /// The standard deviation of the process.
    pub process_deviation: Option<f64>,
}

/// Whether one rule calls the display fine enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fineness {
    /// Fine enough.
    Fine,
    /// Too coarse.
    Coarse,
}

impl Fineness {
    const fn when(fine: bool) -> Fineness {
        match fine {
            true => Fineness::Fine,
            false => Fineness::Coarse,
        }
    }
}

/// Three rules about the display step, each by itself. A rule whose figure is not known says why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adequacy {
    /// How many steps the tolerance is wide; ten at least are fine. Common practice, no source.
    pub steps_in_tolerance: Result<(f64, Fineness), Undefined>,
    /// How many values a range can take up to the limit of its chart, none included; five at least are fine.
    /// Common practice, no source.
    pub values_within_limit: Result<(f64, Fineness), Undefined>,
    /// The standard deviation of the process in steps; one at least is fine. Common practice, no source.
    pub steps_in_deviation: Result<(f64, Fineness), Undefined>,
}

impl Adequacy {
    /// Applies the three rules.
    ///
    /// # Errors
    /// [`Undefined::Senseless`] for a step not above zero.
    ///
    /// ```
    /// use overwire_core::stats::resolution::{Adequacy, Fineness, Use};
    /// let adequacy = Adequacy::of(&Use {
    ///     step: 0.001,
    ///     tolerance: Some(0.020),
    ///     range_limit: Some(0.0033),
    ///     process_deviation: None,
    /// })?;
    /// assert_eq!(adequacy.steps_in_tolerance, Ok((20.0, Fineness::Fine)));
    /// assert_eq!(adequacy.values_within_limit, Ok((4.0, Fineness::Coarse)));
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn of(known: &Use) -> Result<Adequacy, Undefined> {
        let step = known.step;
        if !(step > 0.0 && step.is_finite()) {
            return Err(Undefined::Senseless {
                what: "the display step",
                found: step,
            });
        }
        let in_steps = |length: Option<f64>, what| -> Figure {
            let length = length.ok_or(Undefined::TooFew {
                of: what,
                needed: 1,
                found: 0,
            })?;
            // A whole number of steps must not miss it by the last bit.
            let steps = length / step;
            let whole = steps.round();
            let near = (steps - whole).abs() < 1e-9 * whole.abs().max(1.0);
            Ok(if near { whole } else { steps })
        };
        let judged = |steps: f64, least: f64| (steps, Fineness::when(steps >= least));
        let range = in_steps(known.range_limit, "limits of ranges");
        Ok(Adequacy {
            steps_in_tolerance: in_steps(known.tolerance, "tolerances").map(|s| judged(s, 10.0)),
            values_within_limit: range.map(|steps| judged(steps.floor() + 1.0, 5.0)),
            steps_in_deviation: in_steps(known.process_deviation, "process deviations")
                .map(|steps| judged(steps, 1.0)),
        })
    }

    /// What the step is too coarse for on a chart or in a study, in one sentence, and what is blurred by it; nothing
    /// where it is fine or not known. The tolerance has no place there.
    ///
    /// ```
    /// use overwire_core::stats::resolution::{Adequacy, Use};
    /// let adequacy = Adequacy::of(&Use {
    ///     step: 0.001,
    ///     tolerance: None,
    ///     range_limit: Some(0.0033),
    ///     process_deviation: Some(0.0007),
    /// })?;
    /// let told = adequacy.coarse_sentence("Limits and patterns").unwrap_or_default();
    /// assert!(told.contains("0.7 steps") && told.contains("only 4 values"));
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn coarse_sentence(&self, blurred: &str) -> Option<String> {
        let coarse = |judged: &Result<(f64, Fineness), Undefined>| match judged {
            Ok((steps, Fineness::Coarse)) => Some(*steps),
            _ => None,
        };
        let spread = coarse(&self.steps_in_deviation).map(|steps| {
            let steps = format_to(steps, 1);
            format!("the standard deviation is {steps} steps, 1 at least is wanted")
        });
        let ranges = coarse(&self.values_within_limit).map(|values| {
            let values = format_to(values, 0);
            format!("ranges can take only {values} values up to their limit, 5 are wanted")
        });
        let told: Vec<String> = spread.into_iter().chain(ranges).collect();
        (!told.is_empty()).then(|| {
            format!(
                "The display is coarse for this spread: {}. {blurred} are partly those of the rounding.",
                told.join("; ")
            )
        })
    }
}
