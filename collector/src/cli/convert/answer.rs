//! The answer to a line: what the line says, with the rest filled in.

use overwire_core::decimal::format_to;
use overwire_core::helix::{self, Seated};
use overwire_core::judge::{Judge, Purpose, Verdict};
use overwire_core::seat::{self, Seat, WireRange};
use overwire_core::units::{Length, Unit};
use serde::Serialize;
use serde_json::Number;

use super::known::Ready;
use super::line::Asked;
use super::plain::{PlainGeometry, PlainWires};

/// An answer. Its fields stand in the order of their names, in which they are written. Those that
/// repeat the line are left empty here, for the line to fill in.
#[derive(Serialize)]
pub(super) struct Answer<'a> {
    best_wire: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    designation: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) geometry: Option<&'a PlainGeometry<'a>>,
    lead_angle_correction: Option<f64>,
    left_to_max: Option<f64>,
    left_to_middle: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limits_basis: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) over_wires: Option<Size<'a>>,
    over_wires_max: Option<f64>,
    over_wires_min: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) pitch_diameter: Option<Size<'a>>,
    pitch_diameter_max: Option<f64>,
    pitch_diameter_min: Option<f64>,
    plane_pitch_diameter: Option<f64>,
    seat: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) thread: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) unit: Option<&'a str>,
    verdict: Option<&'static str>,
    warnings: Vec<String>,
    wire_max: Option<f64>,
    wire_min: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) wires: Option<&'a PlainWires>,
}

/// A size: as the line gives it, or as it was found.
#[derive(Serialize)]
#[serde(untagged)]
pub(super) enum Size<'a> {
    Given(&'a Number),
    Found(Option<f64>),
}

/// Wires at rest at the size asked about, if they can be.
struct Rest {
    seated: Option<Seated>,
    seat: Option<Seat>,
    warnings: Vec<String>,
}

impl Rest {
    fn of(ready: &Ready, asked: &Asked) -> Rest {
        let nothing = |warnings| Rest {
            seated: None,
            seat: None,
            warnings,
        };
        let Some(wires) = ready.wires.as_ref().filter(|_| asked.anything()) else {
            return nothing(match asked.anything() {
                true => vec!["without `wires` nothing can be converted".to_owned()],
                false => Vec::new(),
            });
        };
        let found = match (asked.over_wires, asked.pitch_diameter) {
            (Some(over_wires), _) => helix::pitch_diameter(&ready.geometry, wires, over_wires),
            (None, Some(diameter)) => helix::over_wires(&ready.geometry, wires, diameter),
            (None, None) => return nothing(Vec::new()),
        };
        match found {
            Ok(seated) => Rest {
                seat: Some(seat::seat(&ready.geometry, wires, &seated)),
                seated: Some(seated),
                warnings: Vec::new(),
            },
            Err(error) => nothing(vec![format!("{error}.")]),
        }
    }

    /// Where the wires rest on the flanks, as they should.
    fn sound(&self) -> Option<&Seated> {
        self.seated
            .as_ref()
            .filter(|_| self.seat.is_some_and(|seat| seat.is_ok()))
    }

    fn seat_code(&self, ready: &Ready, asked: &Asked) -> Option<&'static str> {
        match &self.seat {
            Some(seat) => Some(seat.code()),
            None if asked.anything() && ready.wires.is_some() => Some("beyond_model"),
            None => None,
        }
    }
}

impl<'a> Answer<'a> {
    pub(super) fn to(ready: &'a Ready, asked: &Asked) -> Answer<'a> {
        let unit = ready.unit;
        let number = |length: Option<Length>| length.map(|length| length.in_unit(unit));
        let mut rest = Rest::of(ready, asked);
        let range = wire_range(ready, asked, rest.seated.as_ref());
        let warnings = warnings(ready, &mut rest, &range);
        let sound = rest.sound();
        let limits = ready.limits;
        let judge = ready.judge.as_ref().and_then(|judge| judge.as_ref().ok());
        let window = judge.and_then(Judge::window);
        let over = |limit: Option<Length>| Some(sound?.pitch_diameter - limit?);
        Answer {
            best_wire: number(range.best.or(Some(range.best_plane))),
            designation: ready
                .thread
                .as_ref()
                .map(|thread| thread.designation.as_str()),
            geometry: None,
            lead_angle_correction: number(sound.map(|seated| seated.lead_angle_correction)),
            left_to_max: number(over(limits.map(|limits| limits.pitch_diameter_max))),
            left_to_middle: number(over(limits.map(|limits| limits.middle()))),
            limits_basis: ready.basis.as_deref(),
            over_wires: asked
                .over_wires
                .is_none()
                .then(|| Size::Found(number(sound.map(|seated| seated.over_wires)))),
            over_wires_max: number(window.map(|(_, max)| max)),
            over_wires_min: number(window.map(|(min, _)| min)),
            pitch_diameter: asked
                .pitch_diameter
                .is_none()
                .then(|| Size::Found(number(sound.map(|seated| seated.pitch_diameter)))),
            pitch_diameter_max: number(limits.map(|limits| limits.pitch_diameter_max)),
            pitch_diameter_min: number(limits.map(|limits| limits.pitch_diameter_min)),
            plane_pitch_diameter: number(sound.map(|seated| seated.plane_pitch_diameter)),
            seat: rest.seat_code(ready, asked),
            thread: None,
            unit: None,
            verdict: sound.and_then(|seated| verdict(judge?, seated)),
            warnings,
            wire_max: number(range.max),
            wire_min: number(range.min),
            wires: None,
        }
    }
}

/// What a person should know: about the seat first, then what keeps the judge from judging.
fn warnings(ready: &Ready, rest: &mut Rest, range: &WireRange) -> Vec<String> {
    let mut warnings = std::mem::take(&mut rest.warnings);
    if let (Some(seat), None) = (&rest.seat, rest.sound()) {
        warnings.push(seat.sentence(ready.unit, 4));
        warnings.push(range_sentence(range, ready.unit));
    }
    if let Some(Err(error)) = &ready.judge {
        warnings.push(error.clone());
    }
    warnings
}

/// The wires that suit the thread over its limits; without limits, at the size asked about.
fn wire_range(ready: &Ready, asked: &Asked, seated: Option<&Seated>) -> WireRange {
    if let Some(range) = ready.range {
        return range;
    }
    let diameter = match seated {
        Some(seated) => seated.pitch_diameter,
        None => asked
            .pitch_diameter
            .or(asked.over_wires)
            .or(ready.geometry.major_diameter)
            .unwrap_or(ready.geometry.pitch.length() * 10.0),
    };
    seat::wire_range(&ready.geometry, diameter, diameter)
}

/// The usable wires in words, rounded inwards so that every size named is usable.
fn range_sentence(range: &WireRange, unit: Unit) -> String {
    let places = if unit == Unit::Inch { 5 } else { 4 };
    let scale = 10f64.powi(places);
    let text = |steps: f64| format!("{} {unit}", format_to(steps / scale, places as u8));
    let min = range
        .min
        .map(|min| text((min.in_unit(unit) * scale).ceil()));
    let max = range
        .max
        .map(|max| text((max.in_unit(unit) * scale).floor()));
    match (min, max) {
        (Some(min), Some(max)) => format!("Usable wires are from {min} to {max}."),
        (None, Some(max)) => format!("Usable wires are up to {max}."),
        (Some(min), None) => format!("Usable wires are from {min}."),
        (None, None) => "Without a major diameter the usable wires cannot be told.".to_owned(),
    }
}

fn verdict(judge: &Judge, seated: &Seated) -> Option<&'static str> {
    match judge.judge(seated.over_wires, Purpose::Inspecting).verdict {
        Verdict::None => None,
        verdict => Some(verdict.code()),
    }
}
