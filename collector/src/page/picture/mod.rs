//! The picture beside the numbers: the thread's axial profile with the three wires seated in it.
//!
//! The picture is drawn from the job's own numbers and to scale, both ways alike. A thread is
//! much thicker than its pitch is long, so the core is left out between break lines, as on a
//! workshop drawing; beside it a second scale, many times larger and saying how many, shows
//! the limits and where the reading stands between them. Line types follow the habits of
//! technical drawing (thick outlines, thin dimension lines, chain lines for axis and pitch
//! line, dashes for what is assumed), and the verdict is in words: nothing depends on colour.
//!
//! This module only builds a string. It trusts none of its numbers: whatever cannot be drawn
//! becomes [`empty`] with a sentence saying so. The three neighbours are `profile` (the
//! geometry, in millimetres), `section` (the profile on paper) and `zone` (the limits scale).

mod profile;
mod section;
#[cfg(test)]
mod tests;
mod zone;

use crate::sheet::{Anchor, BOLD, Label, Sheet, at, escape, name_for, width_of, wrapped};
use profile::Wire;
use section::Section;

/// The view box is this wide; every other measure on the sheet follows from it.
const SHEET_WIDTH: f64 = 440.0;
/// Where the notes under the drawing begin.
const NOTES_TOP: f64 = 306.0;
/// Sizes of text: title, ordinary, notes.
const TITLE_SIZE: f64 = 15.0;
const TEXT_SIZE: f64 = 13.0;
const NOTE_SIZE: f64 = 12.0;
/// No length of a thread or wire, in millimetres, is beyond this.
const LARGEST_MM: f64 = 20_000.0;

/// What the picture shows. Lengths are millimetres, angles degrees.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The job and thread as people call them, e.g. `J-2417 stud end 1 1/16-12 UN-2A`.
    pub title: String,
    /// How the job's unit is written: `mm` or `in`.
    pub unit_label: String,
    /// Millimetres in one of the job's units: 1 or 25.4.
    pub millimetres_per_unit: f64,
    /// Decimals of every number written in the job's unit.
    pub places: usize,
    /// Distance between neighbouring grooves along the axis.
    pub pitch: f64,
    /// Number of starts; the lead is this many pitches.
    pub starts: u32,
    /// Whether the thread is left-handed (an axial section looks the same: it is said in words).
    pub left_hand: bool,
    /// Angle of the flank that faces the free end, from the plane square to the axis.
    pub leading_flank_deg: f64,
    /// Angle of the other flank.
    pub trailing_flank_deg: f64,
    /// Major diameter, drawn as the crest.
    pub major_diameter: f64,
    /// Root diameter; without one a plausible root is drawn dashed.
    pub root_diameter: Option<f64>,
    /// The pitch diameter drawn: the measured one, or the middle of the limits.
    pub pitch_diameter: f64,
    /// Smallest and largest allowed pitch diameter.
    pub pitch_diameter_limits: Option<(f64, f64)>,
    /// Wire diameters: the single one, then the pair from left to right.
    pub wires: [f64; 3],
    /// Distance of the wires' axes from the thread axis: the single side, and the mean of the
    /// pair side.
    pub wire_axis_radius: [f64; 2],
    /// The measurement over wires that belongs to the pitch diameter drawn.
    pub over_wires: f64,
    /// Smallest and largest allowed measurement over wires.
    pub over_wires_limits: Option<(f64, f64)>,
    /// Whether the pitch diameter drawn was measured.
    pub measured: bool,
    /// The verdict's code (`pass`, `fail_over`, ...) and its words.
    pub verdict: Option<(&'static str, String)>,
    /// What there is to say about how the wires lie, if anything.
    pub seat_sentence: Option<String>,
}

impl Scene {
    /// A length as a number in the job's unit.
    fn number(&self, millimetres: f64) -> String {
        let places = self.places.min(8);
        let text = format!("{:.*}", places, millimetres / self.millimetres_per_unit);
        match text.strip_prefix('-') {
            Some(rest) if !rest.contains(|digit: char| ('1'..='9').contains(&digit)) => {
                rest.to_owned()
            }
            _ => text,
        }
    }

    /// A length in the job's unit without needless zeros, for lengths nobody measured.
    fn plain(&self, millimetres: f64) -> String {
        let text = format!("{:.4}", millimetres / self.millimetres_per_unit);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }

    /// The limits of pitch diameter and over wires, as far as they are a band of some width.
    fn usable_limits(&self) -> [Option<(f64, f64)>; 2] {
        [self.pitch_diameter_limits, self.over_wires_limits].map(|limits| {
            limits.filter(|(least, most)| {
                least.abs() < LARGEST_MM && most.abs() < LARGEST_MM && most - least > 1e-7
            })
        })
    }

    /// Whether every number can be drawn at all.
    fn is_drawable(&self) -> bool {
        let lengths = [
            self.pitch,
            self.major_diameter,
            self.pitch_diameter,
            self.over_wires,
            self.millimetres_per_unit,
        ];
        let lengths = lengths.iter().chain(&self.wires);
        let mut lengths = lengths.chain(&self.wire_axis_radius);
        let flanks = [self.leading_flank_deg, self.trailing_flank_deg];
        lengths.all(|length| *length > 1e-4 && *length < LARGEST_MM)
            && flanks.iter().all(|flank| (0.0..=80.0).contains(flank))
            && flanks.iter().sum::<f64>() > 2.0
            && (1..=1000).contains(&self.starts)
    }
}

/// The picture as an SVG document.
pub fn svg(scene: &Scene) -> String {
    drawn(scene).unwrap_or_else(|| {
        empty("There is no picture: these numbers of thread and wires cannot be drawn together.")
    })
}

/// The picture when there is nothing to draw: a sheet with one sentence on it.
pub fn empty(sentence: &str) -> String {
    let mut sheet = Sheet::new();
    let size = TITLE_SIZE;
    let lines = wrapped(sentence, size, SHEET_WIDTH - 60.0, 8);
    let top = 165.0 - (lines.len() as f64 - 1.0) * 11.0;
    for (row, line) in lines.iter().enumerate() {
        sheet.text(&Label {
            class: "quiet",
            point: at(SHEET_WIDTH / 2.0, top + row as f64 * 22.0),
            size,
            anchor: Anchor::Middle,
            room: SHEET_WIDTH - 60.0,
            upright: false,
            content: line,
        });
    }
    let words = Words {
        title: "No picture",
        description: sentence,
    };
    document(&words, 330.0, "", &sheet.finish().unwrap_or_default())
}

fn drawn(scene: &Scene) -> Option<String> {
    if !scene.is_drawable() {
        return None;
    }
    let section = Section::of(scene)?;
    let scale = section.view.scale;
    let mut sheet = Sheet::new();
    heading(&mut sheet, scene);
    section::draw(&mut sheet, scene, &section);
    let zone = zone::Zone::of(scene, scale);
    zone::draw(&mut sheet, scene, zone.as_ref());
    section::scale_bar(&mut sheet, scene, scale);
    let sentences = remarks(scene, &section, zone.is_some());
    let bottom = notes(&mut sheet, scene, &sentences);
    let description = description(scene, zone.as_ref(), &sentences);
    let words = Words {
        title: &scene.title,
        description: &description,
    };
    let measure = format!(r#" data-units-per-millimetre="{scale:.5}""#);
    Some(document(&words, bottom + 8.0, &measure, &sheet.finish()?))
}

/// Title, verdict, and the line about the thread.
fn heading(sheet: &mut Sheet, scene: &Scene) {
    let badge = match &scene.verdict {
        Some((code, words)) => verdict(sheet, code, words),
        None => 0.0,
    };
    let room = SHEET_WIDTH - 28.0 - badge;
    let title = name_for(&scene.title, TITLE_SIZE, room);
    sheet.text(&Label {
        class: "strong",
        point: at(10.0, 20.0),
        size: TITLE_SIZE,
        anchor: Anchor::Start,
        room,
        upright: false,
        content: &title,
    });
    sheet.text(&Label {
        class: "quiet",
        point: at(10.0, 38.0),
        size: NOTE_SIZE,
        anchor: Anchor::Start,
        room: SHEET_WIDTH - 20.0,
        upright: false,
        content: &about_thread(scene),
    });
}

/// The verdict in a frame, filled when it is a failure; returns the frame's width.
fn verdict(sheet: &mut Sheet, code: &str, words: &str) -> f64 {
    let tone = tone(code);
    let width = (width_of(words, TEXT_SIZE) * BOLD + 16.0).min(180.0);
    let right = SHEET_WIDTH - 8.0;
    sheet.rectangle(
        &format!("badge {tone}"),
        at(right - width, 5.0),
        at(right, 26.0),
    );
    sheet.text(&Label {
        class: &format!("strong badge-{tone}"),
        point: at(right - width / 2.0, 20.2),
        size: TEXT_SIZE,
        anchor: Anchor::Middle,
        room: width - 8.0,
        upright: false,
        content: &name_for(words, TEXT_SIZE, width - 8.0),
    });
    width
}

/// Four tones serve all verdicts; the words tell them apart.
fn tone(code: &str) -> &'static str {
    match code {
        "pass" => "good",
        "still_to_cut" | "undecided" | "held" => "wait",
        _ if code.starts_with("fail") => "bad",
        _ => "plain",
    }
}

fn about_thread(scene: &Scene) -> String {
    let unit = &scene.unit_label;
    let mut parts = vec![format!("pitch {} {unit}", scene.plain(scene.pitch))];
    if scene.starts > 1 {
        let lead = scene.plain(scene.pitch * f64::from(scene.starts));
        parts.push(format!("{} starts", scene.starts));
        parts.push(format!("lead {lead} {unit}"));
    }
    let hand = if scene.left_hand { "left" } else { "right" };
    parts.push(format!("{hand} hand"));
    let (leading, trailing) = (scene.leading_flank_deg, scene.trailing_flank_deg);
    if (leading - trailing).abs() < 1e-6 {
        parts.push(format!("flanks {}\u{b0}", round_angle(leading)));
    } else {
        let (leading, trailing) = (round_angle(leading), round_angle(trailing));
        parts.push(format!("flanks {leading}\u{b0} and {trailing}\u{b0}"));
    }
    parts.join(" \u{b7} ")
}

fn round_angle(degrees: f64) -> f64 {
    (degrees * 1000.0).round() / 1000.0
}

/// The sentences under the drawing: what is to scale, what is assumed, what the marks mean.
fn remarks(scene: &Scene, section: &Section, limited: bool) -> Vec<String> {
    let mut sentences = vec![if section.view.is_broken() {
        "To scale both ways; the core is left out at the zigzag lines.".to_owned()
    } else {
        "To scale both ways.".to_owned()
    }];
    if !scene.measured {
        sentences.push(if limited {
            "Nothing measured yet: drawn at the middle of the limits.".to_owned()
        } else {
            "Nothing measured yet.".to_owned()
        });
    }
    sentences.push(wires_sentence(scene));
    sentences.extend(contact_sentence(&section.wires));
    if (scene.leading_flank_deg - scene.trailing_flank_deg).abs() > 1e-6 {
        sentences.push("The free end of the thread is at the right.".to_owned());
    }
    if !section.profile.root_known {
        sentences.push("Dashed root: assumed.".to_owned());
    }
    sentences
}

fn wires_sentence(scene: &Scene) -> String {
    // Wires are known better than a reading: a hundred-thousandth of an inch, a ten-thousandth of a millimetre.
    let places = if scene.millimetres_per_unit > 1.0 {
        5
    } else {
        4
    };
    let text = |diameter: f64| format!("{:.*}", places, diameter / scene.millimetres_per_unit);
    let [single, first, second] = scene.wires.map(text);
    let unit = &scene.unit_label;
    if single == first && first == second {
        format!("Wires \u{2300}\u{a0}{single} {unit}.")
    } else {
        format!("Wires \u{2300}\u{a0}{single} single, {first} and {second} {unit} pair.")
    }
}

fn contact_sentence(wires: &[Wire; 3]) -> Option<String> {
    let mut contacts = wires.iter().flat_map(|wire| {
        let contacts = wire.contacts.iter();
        contacts.map(move |contact| (contact, wire.radius))
    });
    if !contacts.clone().any(|(contact, _)| contact.on_flank) {
        return None;
    }
    let lifted = contacts.any(|(contact, radius)| contact.clearance > 0.02 * radius);
    Some(if lifted {
        "Dots: where a wire is nearest the flank; the helix lifts it, so it touches just beside \
         this section."
            .to_owned()
    } else {
        "Dots: contact.".to_owned()
    })
}

/// Writes the notes; returns the height they reach.
fn notes(sheet: &mut Sheet, scene: &Scene, sentences: &[String]) -> f64 {
    let room = SHEET_WIDTH - 20.0;
    let seat = scene.seat_sentence.as_deref().unwrap_or_default();
    let seat = wrapped(seat, NOTE_SIZE * BOLD, room, 3);
    let rest = wrapped(&sentences.join(" "), NOTE_SIZE, room, 5);
    let lines = seat.iter().map(|line| ("strong", line));
    let mut bottom = NOTES_TOP;
    for (class, line) in lines.chain(rest.iter().map(|line| ("quiet", line))) {
        bottom += 15.5;
        sheet.text(&Label {
            class,
            point: at(10.0, bottom),
            size: NOTE_SIZE,
            anchor: Anchor::Start,
            room: room + 10.0,
            upright: false,
            content: line,
        });
    }
    bottom
}

/// The whole picture in sentences, for those who hear it.
fn description(scene: &Scene, zone: Option<&zone::Zone>, sentences: &[String]) -> String {
    let unit = &scene.unit_label;
    let measured = if scene.measured { "measured" } else { "drawn" };
    let mut told = vec![
        format!(
            "Axial section of the thread with one wire below and two above, between micrometer \
             faces; {}.",
            about_thread(scene)
        ),
        format!(
            "Over wires {} {unit}, pitch diameter {} {unit}, {measured}.",
            scene.number(scene.over_wires),
            scene.number(scene.pitch_diameter)
        ),
    ];
    let names = ["Pitch diameter", "Over wires"];
    for (name, limits) in names.iter().zip(scene.usable_limits()) {
        told.extend(limits.map(|(least, most)| {
            let (least, most) = (scene.number(least), scene.number(most));
            format!("{name} limits {least} to {most} {unit}.")
        }));
    }
    told.extend(
        scene
            .verdict
            .iter()
            .map(|(_, words)| format!("Verdict: {words}.")),
    );
    told.extend(scene.seat_sentence.clone());
    told.extend(zone.map(|zone| zone.sentence(scene)));
    told.extend(sentences.iter().cloned());
    told.join(" ")
}

struct Words<'a> {
    title: &'a str,
    description: &'a str,
}

fn document(words: &Words, height: f64, attributes: &str, body: &str) -> String {
    let title = escape(words.title);
    let description = escape(words.description);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"axial-profile\" role=\"img\" \
         viewBox=\"0 0 {SHEET_WIDTH} {height}\"{attributes}>\n\
         <title>{title}</title>\n<desc>{description}</desc>\n<style>{STYLE}</style>\n\
         <rect class=\"paper\" width=\"{SHEET_WIDTH}\" height=\"{height}\"/>\n{body}</svg>\n"
    )
}

const STYLE: &str = include_str!("picture.css");
