//! The uncertainty budget of a job's feature: what certificates, settings and the record say, put together by
//! core's rules. It is drawn up when something changes, not for each reading: over the window of a thread
//! its sensitivities stay the same to well below what matters.

use overwire_config::UncertaintySettings;
use overwire_core::compression::{Expansion, Pressing};
use overwire_core::correction::WireConvention;
use overwire_core::stats::resolution::spread_for_budget;
use overwire_core::thread::Geometry;
use overwire_core::uncertainty::{
    Budget, Contribution, Coverage, Sensitivities, Source, Spread, TemperatureSensitivities,
    force_sensitivity,
};
use overwire_core::units::Length;
use overwire_core::wires::Wires;

use super::measuring::InstrumentFacts;

/// Degrees of freedom from which the record's own repeats are used.
const ENOUGH_FREEDOM: u32 = 10;

/// What the record says of repeats on one piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeats {
    /// Standard deviation of one reading, pooled over the pieces, mm.
    pub deviation_mm: f64,
    /// Degrees of freedom behind it.
    pub freedom: u32,
}

/// What a budget is drawn up from.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The thread's shape.
    pub geometry: &'a Geometry,
    /// The wires.
    pub wires: &'a Wires,
    /// A reading in the middle of the window.
    pub over_wires: Length,
    /// The instrument.
    pub instrument: &'a InstrumentFacts,
    /// Step of its display, as readings showed it.
    pub display: Option<Length>,
    /// Expanded uncertainty (k = 2) of a wire's diameter.
    pub wire_uncertainty: Option<Length>,
    /// What presses on what, where the force is known.
    pub pressing: Option<&'a Pressing>,
    /// How the wires are certified.
    pub convention: WireConvention,
    /// How part and gauge grow with warmth.
    pub expansions: [Expansion; 2],
    /// The shop's settings.
    pub settings: &'a UncertaintySettings,
    /// The record's repeats.
    pub repeats: Option<Repeats>,
}

impl Question<'_> {
    /// The step of the display, mm: as readings show it, or coarser where the instrument counts in several.
    fn step_mm(&self) -> f64 {
        let steps = [self.instrument.resolution, self.display];
        steps
            .into_iter()
            .flatten()
            .map(Length::mm)
            .fold(0.0, f64::max)
    }
}

/// Draws the budget up.
///
/// # Errors
/// A sentence saying what is missing or does not fit.
pub fn budget(question: &Question<'_>) -> Result<Budget, String> {
    let found = Sensitivities::at(question.geometry, question.wires, question.over_wires)
        .map_err(|error| format!("{error}."))?;
    let mut lines = certified(question, &found)?;
    lines.extend(geometric(question.settings, &found));
    lines.extend(thermal(question)?);
    lines.extend(compressed(question)?);
    lines.extend(repeated(question, found.reading));
    Budget::new(&lines, Coverage::Probability(question.settings.confidence))
        .map_err(|error| format!("{error}."))
}

fn line(source: Source, spread: Spread, sensitivity: f64) -> Contribution {
    Contribution {
        source,
        spread,
        sensitivity,
    }
}

fn within(half_width: f64) -> Spread {
    Spread::Rectangular { half_width }
}

/// Micrometer, zero and wires: what their certificates say.
fn certified(question: &Question<'_>, found: &Sensitivities) -> Result<Vec<Contribution>, String> {
    let instrument = question.instrument;
    let Some(max_error) = instrument.max_error else {
        return Err(
            "No uncertainty: enter the largest error allowed of the instrument.".to_owned(),
        );
    };
    let Some(wires) = question.wire_uncertainty else {
        return Err(
            "No uncertainty: enter the uncertainty of the wire set's diameters.".to_owned(),
        );
    };
    let mut lines = vec![line(
        Source::Micrometer,
        within(max_error.mm()),
        found.reading,
    )];
    let step = question.step_mm();
    let off = match instrument.correct_zero {
        true => step,
        false => instrument
            .tolerance_of_zero()
            .map_or(2.0 * step, Length::mm),
    };
    if off > 0.0 {
        lines.push(line(Source::Zero, within(off), found.reading));
    }
    lines.push(line(
        Source::WiresTogether,
        Spread::Expanded {
            expanded: wires.mm(),
            factor: 2.0,
        },
        found.wires_together,
    ));
    Ok(lines)
}

fn geometric(settings: &UncertaintySettings, found: &Sensitivities) -> [Contribution; 2] {
    [
        line(Source::Pitch, within(settings.pitch_mm), found.pitch),
        line(
            Source::BothFlanks,
            within(settings.flank_angle_deg.to_radians()),
            found.both_flanks,
        ),
    ]
}

fn thermal(question: &Question<'_>) -> Result<Vec<Contribution>, String> {
    let [part, gauge] = question.expansions;
    let found = TemperatureSensitivities::at(
        question.geometry,
        question.wires,
        question.over_wires,
        part,
        gauge,
    )
    .map_err(|error| format!("{error}."))?;
    let settings = question.settings;
    Ok(vec![
        line(
            Source::PartTemperature,
            within(settings.part_temperature_k),
            found.part,
        ),
        // Wires and micrometer lie side by side: one temperature moves both.
        line(
            Source::MicrometerTemperature,
            within(settings.gauge_temperature_k),
            found.micrometer + found.wires,
        ),
    ])
}

/// The force matters only where compression is corrected for.
fn compressed(question: &Question<'_>) -> Result<Option<Contribution>, String> {
    let (WireConvention::Free, Some(pressing)) = (question.convention, question.pressing) else {
        return Ok(None);
    };
    let sensitivity = force_sensitivity(
        question.geometry,
        question.wires,
        question.over_wires,
        pressing,
    )
    .map_err(|error| format!("{error}."))?;
    let off = question.settings.force_share * pressing.force.newtons();
    Ok(Some(line(Source::Force, within(off), sensitivity)))
}

/// How readings repeat and what the display's step adds to each, `q/√12` (JCGM 100, F.2.2.1). Repeats of the record
/// are readings as displayed: the step is in their scatter already, and where they do not differ it is all there is.
fn repeated(question: &Question<'_>, reading: f64) -> Vec<Contribution> {
    let known = question
        .repeats
        .filter(|repeats| repeats.freedom >= ENOUGH_FREEDOM);
    let step = question.step_mm();
    if let Some(repeats) = known {
        let spread = Spread::Repeated {
            deviation: spread_for_budget(repeats.deviation_mm, step),
            readings: repeats.freedom + 1,
            averaged: 1,
        };
        return vec![line(Source::Repeatability, spread, 1.0)];
    }
    let spread = Spread::Standard {
        standard: question.settings.repeatability_mm,
        degrees_of_freedom: f64::INFINITY,
    };
    let mut lines = vec![line(Source::Repeatability, spread, 1.0)];
    if step > 0.0 {
        lines.push(line(Source::Display, within(step / 2.0), reading));
    }
    lines
}
