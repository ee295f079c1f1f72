//! From a station's numbers to the scene of the picture.

use overwire_core::helix;
use overwire_core::thread::{Hand, Thread};
use overwire_core::units::Length;
use overwire_core::wires::Wires;

use super::picture::Scene;
use crate::record::standing::Standing;
use crate::register::Prepared;
use crate::view::station::StationBoard;
use crate::view::{ReadingView, places_in, unit_of};

/// The scene of a station: its last reading if it has one of the active thread, else the middle of the
/// limits.
///
/// # Errors
/// Why there is nothing to draw, in a sentence.
pub fn scene(board: &StationBoard) -> Result<Scene, String> {
    let Some(prepared) = board.prepared.as_deref() else {
        return Err("No job is active here.".to_owned());
    };
    let Some(judge) = &prepared.judge else {
        return Err(prepared
            .problem
            .clone()
            .unwrap_or_else(|| "No wire set is chosen.".to_owned()));
    };
    let (thread, wires) = (judge.thread(), judge.wires());
    let last = board
        .recent
        .front()
        .filter(|standing| is_of(standing, prepared));
    let measured = last.and_then(|standing| standing.reading.judged.pitch_diameter_mm);
    let drawn = match measured.map(Length::from_mm) {
        Some(Ok(length)) => length,
        _ => middle(thread),
    };
    let axis = |wires: &Wires| {
        helix::over_wires(&thread.geometry, wires, drawn).map(|seated| seated.axis_radius)
    };
    let seated =
        helix::over_wires(&thread.geometry, wires, drawn).map_err(|error| format!("{error}."))?;
    let pair_axis = match (
        axis(&Wires::equal(wires.pair[0])),
        axis(&Wires::equal(wires.pair[1])),
    ) {
        (Ok(first), Ok(second)) => (first + second) / 2.0,
        _ => seated.axis_radius,
    };
    let geometry = &thread.geometry;
    Ok(Scene {
        title: format!(
            "{}, {}: {}",
            prepared.job.name, prepared.feature, thread.designation
        ),
        unit_label: thread.unit.as_str().to_owned(),
        millimetres_per_unit: thread.unit.mm_per_unit(),
        places: usize::from(places(last, thread)),
        pitch: geometry.pitch.mm(),
        starts: geometry.starts,
        left_hand: geometry.hand == Hand::Left,
        leading_flank_deg: geometry.flanks.leading.degrees(),
        trailing_flank_deg: geometry.flanks.trailing.degrees(),
        major_diameter: geometry
            .major_diameter
            .unwrap_or(thread.nominal_diameter)
            .mm(),
        root_diameter: geometry.root_diameter.map(Length::mm),
        pitch_diameter: drawn.mm(),
        pitch_diameter_limits: thread.limits.map(|limits| {
            (
                limits.pitch_diameter_min.mm(),
                limits.pitch_diameter_max.mm(),
            )
        }),
        wires: wires.as_list().map(|wire| wire.mm()),
        wire_axis_radius: [seated.axis_radius, pair_axis],
        over_wires: seated.over_wires.mm(),
        over_wires_limits: judge.window().map(|(min, max)| (min.mm(), max.mm())),
        measured: measured.is_some(),
        verdict: last.map(|standing| {
            let view = ReadingView::of(standing);
            (view.verdict, view.words.to_owned())
        }),
        seat_sentence: last.and_then(|standing| {
            let notes = ReadingView::of(standing).notes;
            (standing.reading.judged.seat != "ok")
                .then(|| notes.first().cloned())
                .flatten()
        }),
    })
}

fn is_of(standing: &Standing, prepared: &Prepared) -> bool {
    let tags = &standing.reading.tags;
    let same_thread = tags
        .job
        .as_ref()
        .is_some_and(|job| job.name == prepared.job.name)
        && tags.feature.as_deref() == Some(&*prepared.feature);
    same_thread && standing.void.is_none() && standing.reading.judged.held.is_none()
}

fn middle(thread: &Thread) -> Length {
    thread
        .limits
        .map_or(thread.basic_pitch_diameter, |limits| limits.middle())
}

/// Places of the last display, in the thread's unit.
fn places(last: Option<&std::sync::Arc<Standing>>, thread: &Thread) -> u8 {
    let natural = if thread.unit == overwire_core::units::Unit::Inch {
        4
    } else {
        3
    };
    last.map_or(natural, |standing| {
        let reading = &standing.reading;
        let places = reading
            .text
            .split_once('.')
            .map_or(0, |(_, decimals)| decimals.len() as u8);
        places_in(places, unit_of(reading.unit), thread.unit)
    })
}
