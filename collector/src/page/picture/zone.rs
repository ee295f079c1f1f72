//! The limits, many times larger than the section: a small ruler with the allowed band on it
//! and a pointer for the reading.

use super::{NOTE_SIZE, SHEET_WIDTH, Scene, TEXT_SIZE, tone};
use crate::sheet::{Anchor, Label, Sheet, at};

const TOP: f64 = 98.0;
const BOTTOM: f64 = 252.0;
const LEFT: f64 = 320.0;
const RIGHT: f64 = 333.0;
/// Where labels start, and the room to the right edge of the sheet.
const LABEL_X: f64 = 347.0;
const LABEL_ROOM: f64 = SHEET_WIDTH - 4.0 - LABEL_X;
/// Where the column's heading starts.
const HEADING_X: f64 = 310.0;
const ROW: f64 = 14.5;
/// The band takes at most this part of the ruler; the rest shows how far outside one is.
const BAND_SHARE: f64 = 0.55;

/// What the scale shows, and its own scale.
pub(super) struct Zone {
    name: &'static str,
    symbol: &'static str,
    limits: (f64, f64),
    reading: f64,
    /// The limits of the other quantity, written beside the first.
    beside: Option<(f64, f64)>,
    /// How many times larger than the section the ruler is drawn.
    magnification: f64,
    /// Units of the sheet for a millimetre of diameter.
    scale: f64,
    /// One division of the ruler, in the job's unit.
    division: f64,
}

impl Zone {
    /// The limits of pitch diameter, or over wires when only those are known.
    pub(super) fn of(scene: &Scene, section_scale: f64) -> Option<Zone> {
        let [pitch_diameter, over_wires] = scene.usable_limits();
        let (name, symbol, limits, reading, beside) = match (pitch_diameter, over_wires) {
            (Some(limits), beside) => {
                let reading = scene.pitch_diameter;
                ("Pitch diameter", "d\u{2082}", limits, reading, beside)
            }
            (None, Some(limits)) => ("Over wires", "M", limits, scene.over_wires, None),
            (None, None) => return None,
        };
        let band = limits.1 - limits.0;
        let largest = (BOTTOM - TOP) * BAND_SHARE / band / section_scale;
        let magnification = round_down(largest, &[1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0]);
        let scale = magnification * section_scale;
        let division = round_step(14.0 / scale / scene.millimetres_per_unit);
        Some(Zone {
            name,
            symbol,
            limits,
            reading,
            beside,
            magnification,
            scale,
            division,
        })
    }

    /// The ruler's magnification and division, in words.
    pub(super) fn sentence(&self, scene: &Scene) -> String {
        format!(
            "Limits scale: {} times the section, one division is {} {}.",
            decimal(self.magnification),
            decimal(self.division),
            scene.unit_label
        )
    }

    fn y(&self, length: f64) -> f64 {
        let middle = (self.limits.0 + self.limits.1) / 2.0;
        (TOP + BOTTOM) / 2.0 - (length - middle) * self.scale
    }

    /// Where the reading is shown: on the ruler, or past one of its ends.
    fn pointer(&self) -> Pointer {
        let y = self.y(self.reading);
        if y < TOP {
            Pointer::Above
        } else if y > BOTTOM {
            Pointer::Below
        } else {
            Pointer::On(y)
        }
    }
}

enum Pointer {
    Above,
    On(f64),
    Below,
}

/// A label of the ruler: where it points to, where it would like to be, its lines.
struct Block {
    points_to: f64,
    y: f64,
    class: &'static str,
    lines: Vec<String>,
}

impl Block {
    fn half(&self) -> f64 {
        self.lines.len() as f64 * ROW / 2.0
    }
}

/// Draws the scale, or says that there are no limits.
pub(super) fn draw(sheet: &mut Sheet, scene: &Scene, zone: Option<&Zone>) {
    let Some(zone) = zone else {
        heading(sheet, "No limits", "for this thread");
        return;
    };
    let symbol = zone.symbol;
    heading(sheet, zone.name, &format!("{symbol}, {}", scene.unit_label));
    ruler(sheet, scene, zone);
    pointer(sheet, scene, zone);
    let mut blocks = blocks(scene, zone);
    spread(&mut blocks);
    for block in &blocks {
        write_block(sheet, block);
    }
    let times = format!("{}\u{d7} the section,", decimal(zone.magnification));
    let division = format!("1 division {} {}", decimal(zone.division), scene.unit_label);
    for (y, content) in [(BOTTOM + 35.5, &times), (BOTTOM + 51.0, &division)] {
        sheet.text(&line("", at(HEADING_X, y), NOTE_SIZE, content));
    }
}

fn heading(sheet: &mut Sheet, name: &str, below: &str) {
    sheet.text(&line("strong", at(HEADING_X, 60.0), TEXT_SIZE, name));
    sheet.text(&line("", at(HEADING_X, 75.5), TEXT_SIZE, below));
}

fn line<'a>(class: &'a str, point: crate::sheet::Point, size: f64, content: &'a str) -> Label<'a> {
    Label {
        class,
        point,
        size,
        anchor: Anchor::Start,
        room: SHEET_WIDTH - 4.0 - point.x,
        upright: false,
        content,
    }
}

/// The ruler with its divisions, the band, and the lines of the limits.
fn ruler(sheet: &mut Sheet, scene: &Scene, zone: &Zone) {
    sheet.rectangle("ruler", at(LEFT, TOP), at(RIGHT, BOTTOM));
    let (least, most) = (zone.y(zone.limits.0), zone.y(zone.limits.1));
    sheet.rectangle("band", at(LEFT, most), at(RIGHT, least));
    let step = zone.division * scene.millimetres_per_unit;
    let half = (BOTTOM - TOP) / 2.0 / zone.scale;
    let middle = (zone.limits.0 + zone.limits.1) / 2.0;
    let first = ((middle - half) / step).ceil() as i64;
    let last = ((middle + half) / step).floor() as i64;
    let mut ticks = Vec::new();
    for number in first..=last {
        let y = zone.y(number as f64 * step);
        let reach = if number % 5 == 0 { 8.0 } else { 5.0 };
        ticks.push(vec![at(RIGHT - reach, y), at(RIGHT, y)]);
    }
    sheet.strokes("thin", &ticks, false);
    for y in [least, most] {
        sheet.line("limit", at(LEFT - 3.0, y), at(RIGHT + 3.0, y));
    }
    for (y, word) in [(TOP - 6.0, "over"), (BOTTOM + 15.0, "under")] {
        sheet.text(&Label {
            class: "quiet",
            point: at(LEFT - 10.0, y),
            size: NOTE_SIZE,
            anchor: Anchor::Start,
            room: 60.0,
            upright: false,
            content: word,
        });
    }
}

fn pointer(sheet: &mut Sheet, scene: &Scene, zone: &Zone) {
    let code = scene.verdict.as_ref().map_or("none", |(code, _)| *code);
    let tone = tone(code);
    let middle = (LEFT + RIGHT) / 2.0;
    let head = format!("pointer {tone}");
    let stem = format!("reading {tone}");
    match zone.pointer() {
        Pointer::On(y) if scene.measured => {
            sheet.line(&stem, at(LEFT, y), at(RIGHT, y));
            sheet.arrow_head(&head, at(LEFT, y), at(1.0, 0.0), 11.0);
        }
        Pointer::On(y) => {
            let class = format!("{stem} not-measured");
            sheet.line(&class, at(LEFT - 9.0, y), at(RIGHT, y));
        }
        Pointer::Above => {
            sheet.line(&stem, at(middle, TOP + 24.0), at(middle, TOP + 10.0));
            sheet.arrow_head(&head, at(middle, TOP - 1.0), at(0.0, -1.0), 14.0);
        }
        Pointer::Below => {
            sheet.line(&stem, at(middle, BOTTOM - 24.0), at(middle, BOTTOM - 10.0));
            sheet.arrow_head(&head, at(middle, BOTTOM + 1.0), at(0.0, 1.0), 14.0);
        }
    }
}

/// The labels of maximum, reading and minimum.
fn blocks(scene: &Scene, zone: &Zone) -> Vec<Block> {
    let limit = |word: &str, length: f64, beside: Option<f64>| {
        let mut lines = vec![format!("{word} {}", scene.number(length))];
        lines.extend(beside.map(|over_wires| format!("M {}", scene.number(over_wires))));
        let y = zone.y(length);
        Block {
            points_to: y,
            y,
            class: "",
            lines,
        }
    };
    let (least, most) = zone.limits;
    let mut blocks = vec![
        limit("max", most, zone.beside.map(|beside| beside.1)),
        limit("min", least, zone.beside.map(|beside| beside.0)),
    ];
    let number = scene.number(zone.reading);
    let apart = |from: f64, to: f64| scene.number((to - from).abs());
    let (points_to, lines) = match zone.pointer() {
        Pointer::On(y) if scene.measured => (y, vec![format!("{} {number}", zone.symbol)]),
        Pointer::On(y) => (y, vec![number, "middle".to_owned()]),
        Pointer::Above => (
            TOP + 4.0,
            vec![
                number,
                "off scale,".to_owned(),
                "over by".to_owned(),
                apart(most, zone.reading),
            ],
        ),
        Pointer::Below => (
            BOTTOM - 4.0,
            vec![
                number,
                "off scale,".to_owned(),
                "under by".to_owned(),
                apart(zone.reading, least),
            ],
        ),
    };
    blocks.push(Block {
        points_to,
        y: points_to,
        class: if scene.measured { "strong" } else { "" },
        lines,
    });
    blocks
}

/// Moves labels apart until none overlaps another, each as near its mark as that allows.
fn spread(blocks: &mut [Block]) {
    blocks.sort_by(|one, other| one.points_to.total_cmp(&other.points_to));
    for _ in 0..60 {
        for index in 1..blocks.len() {
            let needed = blocks[index - 1].half() + blocks[index].half() + 2.0;
            let missing = needed - (blocks[index].y - blocks[index - 1].y);
            if missing > 0.0 {
                blocks[index - 1].y -= missing / 2.0;
                blocks[index].y += missing / 2.0;
            }
        }
        for block in blocks.iter_mut() {
            let half = block.half();
            block.y = block.y.clamp(TOP - 8.0 + half, BOTTOM + 6.0 - half);
        }
    }
}

fn write_block(sheet: &mut Sheet, block: &Block) {
    sheet.line(
        "thin",
        at(RIGHT + 3.0, block.points_to),
        at(LABEL_X - 3.0, block.y - block.half() + ROW / 2.0),
    );
    for (row, content) in block.lines.iter().enumerate() {
        let y = block.y - block.half() + ROW * (row as f64 + 0.5) + 4.4;
        sheet.text(&Label {
            class: if row == 0 { block.class } else { "quiet" },
            point: at(LABEL_X, y),
            size: TEXT_SIZE,
            anchor: Anchor::Start,
            room: LABEL_ROOM,
            upright: false,
            content,
        });
    }
}

/// The largest of the steps times a power of ten that is not above the number.
fn round_down(number: f64, steps: &[f64]) -> f64 {
    let power = 10f64.powf(number.log10().floor());
    let fits = steps
        .iter()
        .rev()
        .find(|step| **step * power <= number * 1.000_001);
    fits.copied().unwrap_or(1.0) * power
}

/// The largest 1, 2 or 5 times a power of ten that is not above the number.
pub(super) fn round_step(number: f64) -> f64 {
    round_down(number, &[1.0, 2.0, 5.0])
}

/// A round number without trailing zeros or the noise of binary fractions.
pub(super) fn decimal(number: f64) -> String {
    let text = format!("{number:.9}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
