//! `overwire convert`: JSON lines in, JSON lines out, numbers in full precision.
//!
//! A line names a thread by `thread` or `geometry`, the `wires`, and `over_wires` or `pitch_diameter`; the
//! answer is the same line with the rest filled in. What cannot be had is null. A line that cannot be
//! used is answered with `error` and the next one is read.

use std::io::{BufRead as _, Write as _};
use std::process::ExitCode;

use overwire_core::decimal::format_to;
use overwire_core::helix::{self, Seated};
use overwire_core::judge::{Judge, Purpose, Verdict};
use overwire_core::seat::{self, WireRange};
use overwire_core::thread::custom::{CustomThread, TypedLimits};
use overwire_core::thread::{Basis, Flanks, Geometry, Hand, Limits, Thread, designation};
use overwire_core::units::{Length, Pitch, Unit, WireDiameter};
use overwire_core::wires::Wires;
use serde::Deserialize;
use serde_json::{Map, Value, json};

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLE)]
pub struct Convert {}

const EXAMPLE: &str = "\
Example line in:
  {\"thread\":\"9/16-18 UNF-2A\",\"wires\":0.0395,\"over_wires\":0.5930}
  {\"geometry\":{\"pitch\":3,\"starts\":4,\"leading_flank_deg\":15,
    \"trailing_flank_deg\":15,\"major_diameter\":24},\"unit\":\"mm\",
    \"wires\":[1.553,1.553,1.553],\"pitch_diameter\":22.3}
wires: one diameter, or three with the wire on the single side first.
unit: mm or in, for every length in the line; left out, the thread's own
(mm with a geometry).";

/// A line as it comes in.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    thread: Option<String>,
    geometry: Option<GeometryLine>,
    pitch_diameter_min: Option<f64>,
    pitch_diameter_max: Option<f64>,
    unit: Option<Unit>,
    wires: Option<WiresLine>,
    over_wires: Option<f64>,
    pitch_diameter: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct GeometryLine {
    pitch: f64,
    starts: Option<u32>,
    hand: Option<Hand>,
    leading_flank_deg: Option<f64>,
    trailing_flank_deg: Option<f64>,
    major_diameter: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum WiresLine {
    One(f64),
    Three([f64; 3]),
}

impl Convert {
    pub fn act(self) -> ExitCode {
        let stdin = std::io::stdin().lock();
        let mut out = std::io::BufWriter::new(std::io::stdout().lock());
        for line in stdin.split(b'\n') {
            let line = match line {
                Ok(line) => line,
                Err(error) => {
                    super::complain(&format!("the input cannot be read: {error}"), "");
                    return ExitCode::from(74);
                }
            };
            if line.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            let answer = answer(&line);
            // Each line is answered at once, so that a program can ask and wait.
            if writeln!(out, "{answer}")
                .and_then(|()| out.flush())
                .is_err()
            {
                return ExitCode::SUCCESS;
            }
        }
        ExitCode::SUCCESS
    }
}

/// The answer to one line.
fn answer(line: &[u8]) -> Value {
    let given: Value = match serde_json::from_slice(line) {
        Ok(given) => given,
        Err(error) => return json!({ "error": format!("not JSON: {error}") }),
    };
    match converted(&given) {
        Ok(answer) => Value::Object(answer),
        Err(error) => {
            let mut answer = given.as_object().cloned().unwrap_or_default();
            answer.insert("error".to_owned(), Value::String(error));
            Value::Object(answer)
        }
    }
}

/// What a line asks about, in core's own values.
struct Question {
    unit: Unit,
    geometry: Geometry,
    thread: Option<Thread>,
    limits: Option<Limits>,
    wires: Option<Wires>,
    over_wires: Option<Length>,
    pitch_diameter: Option<Length>,
    warnings: Vec<String>,
}

fn converted(given: &Value) -> Result<Map<String, Value>, String> {
    if !given.is_object() {
        return Err("each line is one JSON object".to_owned());
    }
    let line: Line = serde_json::from_value(given.clone()).map_err(|error| error.to_string())?;
    let mut question = question(&line)?;
    let seated = seat_it(&mut question)?;
    let mut answer = given.as_object().cloned().unwrap_or_default();
    fill(&mut answer, &mut question, seated);
    Ok(answer)
}

fn question(line: &Line) -> Result<Question, String> {
    let (unit, geometry, thread) = match (&line.thread, &line.geometry) {
        (Some(text), None) => {
            let thread = designation::parse(text).map_err(|error| error.to_string())?;
            (
                line.unit.unwrap_or(thread.unit),
                thread.geometry,
                Some(thread),
            )
        }
        (None, Some(given)) => {
            let unit = line.unit.unwrap_or(Unit::Millimetre);
            (unit, geometry(given, unit)?, None)
        }
        _ => return Err("give `thread` (a designation) or `geometry`, one of them".to_owned()),
    };
    let length = |number: f64, name: &str| {
        let length =
            Length::from_unit(number, unit).map_err(|error| format!("`{name}`: {error}"))?;
        if length.mm() > 0.0 {
            Ok(length)
        } else {
            Err(format!("`{name}` must be above 0"))
        }
    };
    let limits = match (line.pitch_diameter_min, line.pitch_diameter_max) {
        (None, None) => thread.as_ref().and_then(|thread| thread.limits),
        (Some(min), Some(max)) => Some(
            Limits::checked(
                length(min, "pitch_diameter_min")?,
                length(max, "pitch_diameter_max")?,
            )
            .map_err(|error| error.to_string())?,
        ),
        _ => {
            return Err(
                "give both `pitch_diameter_min` and `pitch_diameter_max`, or none".to_owned(),
            );
        }
    };
    if line.over_wires.is_some() && line.pitch_diameter.is_some() {
        return Err("give `over_wires` or `pitch_diameter`, not both".to_owned());
    }
    Ok(Question {
        unit,
        geometry,
        thread: judged_thread(thread, geometry, limits, unit)?,
        limits,
        wires: line
            .wires
            .as_ref()
            .map(|wires| wires_of(wires, unit))
            .transpose()?,
        over_wires: line
            .over_wires
            .map(|m| length(m, "over_wires"))
            .transpose()?,
        pitch_diameter: line
            .pitch_diameter
            .map(|d| length(d, "pitch_diameter"))
            .transpose()?,
        warnings: Vec::new(),
    })
}

fn geometry(given: &GeometryLine, unit: Unit) -> Result<Geometry, String> {
    let pitch =
        Length::from_unit(given.pitch, unit).map_err(|error| format!("`pitch`: {error}"))?;
    let pitch = Pitch::from_length(pitch).map_err(|error| format!("`pitch`: {error}"))?;
    let leading = given
        .leading_flank_deg
        .or(given.trailing_flank_deg)
        .unwrap_or(30.0);
    let trailing = given.trailing_flank_deg.unwrap_or(leading);
    let flanks = Flanks::from_degrees(leading, trailing).map_err(|error| error.to_string())?;
    let major = given
        .major_diameter
        .map(|major| {
            Length::from_unit(major, unit).map_err(|error| format!("`major_diameter`: {error}"))
        })
        .transpose()?;
    let (starts, hand) = (given.starts.unwrap_or(1), given.hand.unwrap_or(Hand::Right));
    Geometry::checked(pitch, starts, hand, flanks, major, None).map_err(|error| error.to_string())
}

fn wires_of(given: &WiresLine, unit: Unit) -> Result<Wires, String> {
    let wire = |number: f64| {
        Length::from_unit(number, unit)
            .and_then(WireDiameter::new)
            .map_err(|error| format!("`wires`: {error}"))
    };
    Ok(match given {
        WiresLine::One(diameter) => Wires::equal(wire(*diameter)?),
        WiresLine::Three([single, a, b]) => Wires::three(wire(*single)?, wire(*a)?, wire(*b)?),
    })
}

/// The thread to judge by: the designation's, with the limits given in the line where there are any.
fn judged_thread(
    thread: Option<Thread>,
    geometry: Geometry,
    limits: Option<Limits>,
    unit: Unit,
) -> Result<Option<Thread>, String> {
    match (thread, limits) {
        (Some(thread), None) => Ok(Some(thread)),
        (Some(thread), Some(limits)) => {
            let basis = if thread.limits == Some(limits) {
                thread.basis.clone()
            } else {
                Basis::Typed
            };
            Ok(Some(Thread {
                limits: Some(limits),
                basis,
                ..thread
            }))
        }
        (None, None) => Ok(None),
        (None, Some(limits)) => {
            let custom = CustomThread {
                unit,
                pitch: geometry.pitch,
                starts: geometry.starts,
                hand: geometry.hand,
                flanks: geometry.flanks,
                major_diameter: geometry.major_diameter,
                root_diameter: geometry.root_diameter,
                limits: TypedLimits::PitchDiameter {
                    min: limits.pitch_diameter_min,
                    max: limits.pitch_diameter_max,
                },
            };
            custom.build().map(Some).map_err(|error| error.to_string())
        }
    }
}

/// Seats the wires at the size asked about; none when the line asks about no size or has no wires.
fn seat_it(question: &mut Question) -> Result<Option<Seated>, String> {
    let Some(wires) = &question.wires else {
        if question.over_wires.is_some() || question.pitch_diameter.is_some() {
            question
                .warnings
                .push("without `wires` nothing can be converted".to_owned());
        }
        return Ok(None);
    };
    let geometry = &question.geometry;
    let found = match (question.over_wires, question.pitch_diameter) {
        (Some(over_wires), _) => helix::pitch_diameter(geometry, wires, over_wires),
        (None, Some(diameter)) => helix::over_wires(geometry, wires, diameter),
        (None, None) => return Ok(None),
    };
    match found {
        Ok(seated) => Ok(Some(seated)),
        Err(error) => {
            question.warnings.push(format!("{error}."));
            Ok(None)
        }
    }
}

fn fill(answer: &mut Map<String, Value>, question: &mut Question, seated: Option<Seated>) {
    let unit = question.unit;
    let number = |length: Option<Length>| length.map(|length| length.in_unit(unit));
    let asked = question.over_wires.is_some() || question.pitch_diameter.is_some();
    let seat = match (&seated, &question.wires) {
        (Some(seated), Some(wires)) => Some(seat::seat(&question.geometry, wires, seated)),
        _ => None,
    };
    let sound = seated.filter(|_| seat.is_some_and(|seat| seat.is_ok()));
    let range = wire_range(question, seated.as_ref());
    if let (Some(seat), None) = (&seat, &sound) {
        question.warnings.push(seat.sentence(unit, 4));
        question.warnings.push(range_sentence(&range, unit));
    }
    let judge = judge(question);
    let verdict = sound.and_then(|seated| verdict(judge.as_ref()?, seated));
    let mut put = |name: &str, value: Value| answer.insert(name.to_owned(), value);
    if question.over_wires.is_none() {
        put(
            "over_wires",
            json!(number(sound.map(|seated| seated.over_wires))),
        );
    }
    if question.pitch_diameter.is_none() {
        put(
            "pitch_diameter",
            json!(number(sound.map(|seated| seated.pitch_diameter))),
        );
    }
    put(
        "plane_pitch_diameter",
        json!(number(sound.map(|s| s.plane_pitch_diameter))),
    );
    put(
        "lead_angle_correction",
        json!(number(sound.map(|s| s.lead_angle_correction))),
    );
    let limits = question.limits;
    put(
        "pitch_diameter_min",
        json!(number(limits.map(|limits| limits.pitch_diameter_min))),
    );
    put(
        "pitch_diameter_max",
        json!(number(limits.map(|limits| limits.pitch_diameter_max))),
    );
    let window = judge.as_ref().and_then(Judge::window);
    put("over_wires_min", json!(number(window.map(|(min, _)| min))));
    put("over_wires_max", json!(number(window.map(|(_, max)| max))));
    put("verdict", json!(verdict));
    let over = |limit: Option<Length>| Some(sound?.pitch_diameter - limit?);
    put(
        "left_to_max",
        json!(number(over(limits.map(|limits| limits.pitch_diameter_max)))),
    );
    put(
        "left_to_middle",
        json!(number(over(limits.map(|limits| limits.middle())))),
    );
    put(
        "best_wire",
        json!(number(range.best.or(Some(range.best_plane)))),
    );
    put("wire_min", json!(number(range.min)));
    put("wire_max", json!(number(range.max)));
    let seat = match seat {
        Some(seat) => json!(seat.code()),
        None if asked && question.wires.is_some() => json!("beyond_model"),
        None => Value::Null,
    };
    put("seat", seat);
    if let Some(thread) = &question.thread {
        put("limits_basis", json!(thread.basis.sentence()));
        put("designation", json!(thread.designation));
    }
    put("warnings", json!(question.warnings));
}

/// The wires that suit the thread over its limits; without limits, at the size asked about.
fn wire_range(question: &Question, seated: Option<&Seated>) -> WireRange {
    let zone = match (&question.limits, &question.thread, seated) {
        (Some(limits), ..) => (limits.pitch_diameter_min, limits.pitch_diameter_max),
        (None, Some(thread), _) => thread.pitch_diameter_zone(),
        (None, None, Some(seated)) => (seated.pitch_diameter, seated.pitch_diameter),
        (None, None, None) => {
            let diameter = question.pitch_diameter.or(question.over_wires);
            let diameter = diameter.or(question.geometry.major_diameter);
            let diameter = diameter.unwrap_or(question.geometry.pitch.length() * 10.0);
            (diameter, diameter)
        }
    };
    seat::wire_range(&question.geometry, zone.0, zone.1)
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

/// The judge of the thread over the wires; what keeps it from judging becomes a warning.
fn judge(question: &mut Question) -> Option<Judge> {
    let (thread, wires) = (question.thread.as_ref()?, question.wires.as_ref()?);
    match Judge::new(thread, wires) {
        Ok(judge) => Some(judge),
        Err(error) => {
            question.warnings.push(format!("{error}."));
            None
        }
    }
}

fn verdict(judge: &Judge, seated: Seated) -> Option<&'static str> {
    match judge.judge(seated.over_wires, Purpose::Inspecting).verdict {
        Verdict::None => None,
        verdict => Some(verdict.code()),
    }
}
