//! `overwire thread`: everything there is to know about a thread before the first chip.

use std::fmt::Write as _;
use std::process::ExitCode;

use overwire_core::decimal::{Decimal, format_to};
use overwire_core::functional::{FlankErrors, FormErrors, equivalent};
use overwire_core::judge::{Judge, NOT_FUNCTIONAL_SIZE, Purpose, left_in_words};
use overwire_core::suitability::usual_formulas;
use overwire_core::thread::{Hand, Thread, designation};
use overwire_core::units::{Angle, Length, Unit, WireDiameter};
use overwire_core::wires::Wires;
use serde_json::json;

use crate::view::measuring::{about, fine_places};

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLE)]
pub struct ThreadCommand {
    /// Designation, as on the drawing
    designation: String,
    /// The wires: one diameter, or three with commas, the wire on the single side first
    #[arg(long, value_name = "DIAMETER[,D,D]", value_delimiter = ',')]
    wires: Vec<String>,
    /// Unit of everything given and shown: mm or in (left out: the thread's own)
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// A reading over the wires, to be converted and judged
    #[arg(long, value_name = "LENGTH", requires = "wires")]
    reading: Option<String>,
    /// Measured pitch error: the largest between any two grooves in engagement
    #[arg(long, value_name = "LENGTH")]
    pitch_error: Option<String>,
    /// Measured errors of the leading and the trailing flank angle, degrees
    #[arg(
        long,
        value_name = "DEGREES,DEGREES",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    flank_errors: Vec<f64>,
    /// Radial depth over which the straight flanks engage (left out: 0.541 of the pitch at 60
    /// degrees, else half of it)
    #[arg(long, value_name = "LENGTH", requires = "flank_errors")]
    engaged_depth: Option<String>,
    /// JSON instead of text
    #[arg(long)]
    json: bool,
}

const EXAMPLE: &str = "\
Examples:
  overwire thread \"1/2-13 UNC-2A\"
  overwire thread \"1/2-13 UNC-2A\" --wires 0.04441 --reading 0.5150
  overwire thread \"Tr40x14(P7)LH-7e\" --wires 3.6 --json
  overwire thread \"M10x1.5-6g\" --pitch-error 0.010 --flank-errors 0.2,-0.3";

/// What was asked for, understood.
struct Asked {
    thread: Thread,
    unit: Unit,
    judge: Option<Judge>,
    reading: Option<Length>,
    errors: Option<FormErrors>,
}

/// One heading with its lines.
type Part = (&'static str, Vec<String>);

impl ThreadCommand {
    pub fn act(self) -> ExitCode {
        let said = self.understood().and_then(|asked| parts(&asked));
        match said {
            Ok(parts) if self.json => {
                let body: serde_json::Map<String, serde_json::Value> = parts
                    .into_iter()
                    .map(|(heading, lines)| (heading.to_owned(), json!(lines)))
                    .collect();
                super::print(&format!("{}\n", serde_json::Value::Object(body)));
                ExitCode::SUCCESS
            }
            Ok(parts) => {
                super::print(&text(&parts));
                ExitCode::SUCCESS
            }
            Err((error, hint)) => {
                super::complain(&error, hint);
                ExitCode::from(2)
            }
        }
    }

    fn understood(&self) -> Result<Asked, (String, &'static str)> {
        let thread = designation::parse(&self.designation).map_err(|error| {
            (
                format!("{error}."),
                "Write it as on the drawing, as 1/2-13 UNC-2A or M10x1.5-6g.",
            )
        })?;
        let unit = match &self.unit {
            None => thread.unit,
            Some(text) => {
                Unit::parse(text).map_err(|_| (format!("`{text}` is no unit."), "Say mm or in."))?
            }
        };
        let judge = self
            .wires(unit)?
            .map(|wires| Judge::new(&thread, &wires))
            .transpose()
            .map_err(|error| (format!("{error}."), "Choose wires within that range."))?;
        Ok(Asked {
            reading: length(self.reading.as_deref(), unit)?,
            errors: self.form_errors(&thread, unit)?,
            thread,
            unit,
            judge,
        })
    }

    fn wires(&self, unit: Unit) -> Result<Option<Wires>, (String, &'static str)> {
        let mut found = Vec::new();
        for text in &self.wires {
            let wire = length(Some(text), unit)?.and_then(|length| WireDiameter::new(length).ok());
            found.push(wire.ok_or((format!("`{text}` is no wire diameter."), WIRES_HINT))?);
        }
        match found.as_slice() {
            [] => Ok(None),
            [all] => Ok(Some(Wires::equal(*all))),
            [single, first, second] => Ok(Some(Wires::three(*single, *first, *second))),
            _ => Err((format!("{} wires were given.", found.len()), WIRES_HINT)),
        }
    }

    fn form_errors(
        &self,
        thread: &Thread,
        unit: Unit,
    ) -> Result<Option<FormErrors>, (String, &'static str)> {
        let pitch = length(self.pitch_error.as_deref(), unit)?;
        let depth = length(self.engaged_depth.as_deref(), unit)?;
        let flanks = match self.flank_errors.as_slice() {
            [leading, trailing] => {
                let angle = |degrees: f64| {
                    Angle::from_degrees(degrees)
                        .map_err(|error| (format!("{error}."), "Say degrees, as 0.2,-0.3."))
                };
                Some(FlankErrors {
                    leading: angle(*leading)?,
                    trailing: angle(*trailing)?,
                    depth: depth.unwrap_or_else(|| usual_depth(thread)),
                })
            }
            [] => None,
            other => {
                let found = format!("{} flank errors were given.", other.len());
                return Err((found, "Give two with a comma: leading, trailing."));
            }
        };
        let given = pitch.is_some() || flanks.is_some();
        Ok(given.then_some(FormErrors { pitch, flanks }))
    }
}

/// Depth of engagement where none was given: five eighths of the sharp triangle at 60 degrees, else half a
/// pitch (common practice).
fn usual_depth(thread: &Thread) -> Length {
    let sixty = (thread.geometry.flanks.included().degrees() - 60.0).abs() < 0.01;
    let share = if sixty { 0.541_266 } else { 0.5 };
    thread.geometry.pitch.length() * share
}

const WIRES_HINT: &str = "Give one diameter, or three with commas: the single side's first.";

fn length(text: Option<&str>, unit: Unit) -> Result<Option<Length>, (String, &'static str)> {
    let Some(text) = text else { return Ok(None) };
    Decimal::parse_typed(text.trim())
        .map_err(|error| (format!("{error}."), "Write a number with a decimal point."))?
        .length(unit)
        .map(Some)
        .map_err(|error| (format!("{error}."), "Is the unit right?"))
}

fn parts(asked: &Asked) -> Result<Vec<Part>, (String, &'static str)> {
    let mut parts = vec![
        ("thread", thread_lines(&asked.thread, asked.unit)),
        ("limits", limit_lines(&asked.thread, asked.unit)),
        ("wires", wire_lines(asked)),
    ];
    if let Some(judge) = &asked.judge {
        parts.push(("over_these_wires", about(judge, asked.unit)));
    }
    if let (Some(judge), Some(reading)) = (&asked.judge, asked.reading) {
        parts.push(("reading", reading_lines(judge, reading, asked.unit)));
    }
    if let Some(errors) = &asked.errors {
        let found = equivalent(&asked.thread.geometry, errors)
            .map_err(|error| (format!("{error}."), "Is the unit right?"))?;
        let size = measured_size(asked);
        let places = fine_places(asked.unit);
        parts.push((
            "functional_size",
            vec![found.sentence(size, asked.unit, places)],
        ));
    }
    parts.push((
        "mind",
        vec![
        NOT_FUNCTIONAL_SIZE.to_owned(),
        "Never measure on a turning spindle. Wires and burrs are sharp. This tool advises; the \
         shop's procedures and qualified inspection decide."
            .to_owned(),
    ],
    ));
    Ok(parts)
}

/// The pitch diameter measured, or the middle of the limits.
fn measured_size(asked: &Asked) -> Length {
    let measured = asked.judge.as_ref().zip(asked.reading);
    let judged = measured.map(|(judge, reading)| judge.judge(reading, Purpose::Inspecting));
    let (smallest, largest) = asked.thread.pitch_diameter_zone();
    judged
        .and_then(|judgement| judgement.seated)
        .map_or((smallest + largest) * 0.5, |seated| seated.pitch_diameter)
}

fn thread_lines(thread: &Thread, unit: Unit) -> Vec<String> {
    let geometry = &thread.geometry;
    let places = fine_places(unit);
    let [leading, trailing] = [geometry.flanks.leading, geometry.flanks.trailing];
    let hand = match geometry.hand {
        Hand::Right => "right hand",
        Hand::Left => "left hand",
    };
    let mut lines = vec![
        thread.designation.clone(),
        format!(
            "pitch {}, {} start(s), lead {}, {hand}",
            geometry.pitch.length().to_text(unit, places),
            geometry.starts,
            geometry.lead().to_text(unit, places)
        ),
        format!(
            "flanks {} and {} degrees, lead angle {} degrees at the pitch cylinder",
            format_to(leading.degrees(), 2),
            format_to(trailing.degrees(), 2),
            format_to(
                geometry
                    .lead_angle_at(thread.basic_pitch_diameter)
                    .degrees(),
                2
            )
        ),
    ];
    if thread.special {
        lines.push("not a listed size: its tolerance was worked out".to_owned());
    }
    lines
}

fn limit_lines(thread: &Thread, unit: Unit) -> Vec<String> {
    let places = fine_places(unit);
    let mut lines = vec![match &thread.limits {
        Some(limits) => format!(
            "pitch diameter {} to {}, tolerance {}",
            limits.pitch_diameter_min.to_text(unit, places),
            limits.pitch_diameter_max.to_text(unit, places),
            limits.tolerance().to_text(unit, places)
        ),
        None => "pitch diameter: no limits known".to_owned(),
    }];
    lines.push(thread.basis.sentence());
    lines
}

fn wire_lines(asked: &Asked) -> Vec<String> {
    let (thread, unit) = (&asked.thread, asked.unit);
    let places = fine_places(unit);
    let range = match &asked.judge {
        Some(judge) => *judge.wire_range(),
        None => {
            let (smallest, largest) = thread.pitch_diameter_zone();
            overwire_core::seat::wire_range(&thread.geometry, smallest, largest)
        }
    };
    let text = |length: Option<Length>| match length {
        Some(length) => length.to_text(unit, places),
        None => "not known".to_owned(),
    };
    let mut lines = vec![
        format!(
            "best {} (contact on the pitch cylinder, lead included); on wire boxes {}",
            text(range.best),
            range.best_plane.to_text(unit, places)
        ),
        format!("usable from {} to {}", text(range.min), text(range.max)),
    ];
    if let Some((min, max)) = asked.judge.as_ref().and_then(Judge::window) {
        let (min, max) = (min.to_text(unit, places), max.to_text(unit, places));
        lines.push(format!("over these wires {min} to {max}"));
    }
    lines
}

fn reading_lines(judge: &Judge, reading: Length, unit: Unit) -> Vec<String> {
    let places = fine_places(unit);
    let judgement = judge.judge(reading, Purpose::Inspecting);
    let mut lines = vec![match &judgement.seated {
        Some(seated) => format!(
            "{} over wires is a pitch diameter of {}: {}",
            reading.to_text(unit, places),
            seated.pitch_diameter.to_text(unit, places),
            judgement.verdict.words()
        ),
        None => format!(
            "{} over wires: no pitch diameter",
            reading.to_text(unit, places)
        ),
    }];
    let usual = usual_formulas(&judge.thread().geometry, judge.wires(), reading);
    lines.extend(usual.ok().map(|usual| usual.sentence(unit, places + 1)));
    let left = left_in_words(&judgement, Purpose::Inspecting, unit, places);
    lines.extend(Some(left).filter(|left| !left.is_empty()));
    let warnings = judgement.warnings.iter();
    lines.extend(warnings.map(|warning| warning.sentence(unit, places)));
    lines
}

fn text(parts: &[Part]) -> String {
    let mut text = String::new();
    for (heading, lines) in parts {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "{}", heading.replace('_', " "));
        for line in lines {
            let _ = writeln!(text, "  {line}");
        }
    }
    text
}
