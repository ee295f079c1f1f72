//! A display that is coarse for the spread it shows: told once beside the answer, and once under every picture.

use overwire_core::stats::resolution::{Adequacy, Use};
use overwire_core::stats::{Moments, Readings};

use super::Findings;
use crate::chart::Heading;

/// A spread, and the display it was read from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spread {
    /// Step of the display, mm.
    pub step_mm: Option<f64>,
    /// Standard deviation of what is charted or studied, mm.
    pub deviation: Option<f64>,
    /// Upper limit of the chart of its ranges or moving ranges, mm.
    pub range_limit: Option<f64>,
    /// What rounding blurs.
    pub blurred: &'static str,
}

/// What rounding blurs on a chart.
pub(super) const ON_CHARTS: &str = "Limits and patterns";
/// What rounding blurs in a study.
const IN_STUDIES: &str = "Spreads, and what is judged by them,";

impl Spread {
    /// Of a study: the standard deviation of repeats in millimetres.
    pub const fn of_study(step_mm: f64, deviation: Option<f64>) -> Spread {
        Spread {
            step_mm: Some(step_mm),
            deviation,
            range_limit: None,
            blurred: IN_STUDIES,
        }
    }

    fn coarse_sentence(self) -> Option<String> {
        let adequacy = Adequacy::of(&Use {
            step: self.step_mm?,
            tolerance: None,
            range_limit: self.range_limit,
            process_deviation: self.deviation,
        });
        adequacy.ok()?.coarse_sentence(self.blurred)
    }
}

impl Findings {
    /// Looks whether the display is coarse for a spread. Where it is, every picture that is drawn from here on says so,
    /// and so does the answer whose cautions take in what is given back; a second time nothing is.
    pub(super) fn mind_display(&mut self, spread: Spread) -> Option<String> {
        if self.coarse.is_none() {
            self.coarse = spread.coarse_sentence();
            return self.coarse.clone();
        }
        None
    }

    /// The head of a picture, with what there is to say under each of them.
    pub(super) fn heading(&self) -> Heading {
        Heading {
            title: self.title.clone(),
            about: self.about.clone(),
            notes: self.coarse.iter().cloned().collect(),
        }
    }
}

/// The standard deviation within groups of repeats, all together; none where no group has two.
pub(super) fn within<'a>(groups: impl Iterator<Item = &'a [f64]>) -> Option<f64> {
    let (mut squares, mut degrees) = (0.0, 0);
    for group in groups {
        let moments = Readings::of_numbers(group).and_then(|readings| Moments::of(&readings));
        let Ok(moments) = moments else { continue };
        if let Ok(deviation) = moments.standard_deviation() {
            let own = moments.degrees_of_freedom();
            squares += deviation * deviation * own as f64;
            degrees += own;
        }
    }
    (degrees > 0).then(|| (squares / degrees as f64).sqrt())
}
