//! The axial section on paper: both sides of the thread, wires, micrometer faces, dimensions.

use super::profile::{Edge, Piece, Place, Profile, Side, Wire};
use super::{NOTE_SIZE, Scene, TEXT_SIZE};
use crate::sheet::{Anchor, Label, Point, Sheet, at};

/// The ends of the thread shown, from left to right on the sheet.
const LEFT: f64 = 42.0;
const RIGHT: f64 = 264.0;
/// The room for faces, wires and both sides of the thread, from top to bottom.
const TOP: f64 = 48.0;
const BOTTOM: f64 = 282.0;
/// How thick a micrometer face is drawn.
const FACE: f64 = 17.0;
/// The gap in the core between the two break lines.
const GAP: f64 = 28.0;
/// Where the dimension lines stand.
const OVER_WIRES_X: f64 = 24.0;
const PITCH_DIAMETER_X: f64 = 291.0;
/// How many pitches fill the width, at least.
const PITCHES: f64 = 3.4;
/// A pitch smaller than this on the sheet is not drawn: the wires are beyond all measure.
const SMALLEST_PITCH: f64 = 9.0;

/// How millimetres become units of the sheet: one scale for both directions.
pub(super) struct View {
    pub(super) scale: f64,
    axis_y: f64,
    /// The core inside this radius is left out, and a gap of this half height is drawn for it.
    cut_radius: f64,
    half_gap: f64,
    /// Radius of the micrometer face on the pair side and on the single side.
    faces: [f64; 2],
}

impl View {
    /// The largest scale at which everything fits, or `None` if the wires dwarf the thread.
    pub(super) fn fit(profile: &Profile, wires: &[Wire; 3], starts: u32) -> Option<View> {
        let top = |wire: &Wire| wire.centre.radius + wire.radius;
        let single = top(&wires[0]).max(profile.crest_radius);
        let pair = top(&wires[1]).max(top(&wires[2])).max(profile.crest_radius);
        let lowest = wires.iter().map(|wire| wire.centre.radius - wire.radius);
        let inner = lowest.fold(profile.root_radius, f64::min);
        let stub = profile.pitch * if starts > 1 { 0.42 } else { 0.32 };
        let shown = pair + single - 2.0 * (inner - stub);
        let height = BOTTOM - TOP - 2.0 * FACE;
        let by_width = (RIGHT - LEFT) / (PITCHES * profile.pitch);
        let scale = by_width.min((height - GAP) / shown);
        let spare = ((height - GAP) / scale - shown) / 2.0;
        let mut cut_radius = inner - stub - spare.clamp(0.0, 0.4 * profile.pitch);
        let mut half_gap = GAP / 2.0;
        if cut_radius * scale <= half_gap {
            (cut_radius, half_gap) = (0.0, 0.0);
        }
        let upper = (pair - cut_radius) * scale + half_gap;
        let lower = (single - cut_radius) * scale + half_gap;
        let above = (height - upper - lower) / 2.0;
        let view = View {
            scale,
            axis_y: TOP + FACE + above + upper,
            cut_radius,
            half_gap,
            faces: [pair, single],
        };
        (profile.pitch * scale >= SMALLEST_PITCH).then_some(view)
    }

    /// Whether the core is left out.
    pub(super) fn is_broken(&self) -> bool {
        self.half_gap > 0.0
    }

    fn x(&self, axial: f64) -> f64 {
        (LEFT + RIGHT) / 2.0 + axial * self.scale
    }

    fn y(&self, side: Side, radius: f64) -> f64 {
        let outward = (radius - self.cut_radius) * self.scale + self.half_gap;
        match side {
            Side::Pair => self.axis_y - outward,
            Side::Single => self.axis_y + outward,
        }
    }

    fn point(&self, side: Side, place: Place) -> Point {
        at(self.x(place.axial), self.y(side, place.radius))
    }

    /// Axial places of the ends of the thread shown.
    fn ends(&self) -> (f64, f64) {
        let half = (RIGHT - LEFT) / 2.0 / self.scale;
        (-half, half)
    }

    fn face(&self, side: Side) -> f64 {
        let [pair, single] = self.faces;
        match side {
            Side::Pair => self.y(side, pair),
            Side::Single => self.y(side, single),
        }
    }
}

/// The section in millimetres, and how it comes onto paper.
pub(super) struct Section {
    pub(super) profile: Profile,
    /// The single wire, then the pair.
    pub(super) wires: [Wire; 3],
    pub(super) view: View,
}

impl Section {
    /// The section of a scene, or `None` when it cannot be drawn.
    pub(super) fn of(scene: &Scene) -> Option<Section> {
        let profile = Profile::of(scene)?;
        let wires = profile.wires(scene);
        let view = View::fit(&profile, &wires, scene.starts)?;
        Some(Section {
            profile,
            wires,
            view,
        })
    }
}

/// Draws everything but the limits scale.
pub(super) fn draw(sheet: &mut Sheet, scene: &Scene, section: &Section) {
    let [single, first, second] = &section.wires;
    let view = &section.view;
    for (side, wires) in [
        (Side::Pair, &[first, second][..]),
        (Side::Single, &[single][..]),
    ] {
        half(sheet, section, side);
        for wire in wires {
            draw_wire(sheet, view, side, wire);
        }
        pitch_line(sheet, section, side);
        for wire in wires {
            let radius = wire.radius * view.scale;
            sheet.circle("wire-edge", view.point(side, wire.centre), radius);
            contacts(sheet, view, side, wire);
        }
        face(sheet, view, side);
        if scene.starts > 1 && section.profile.pitch * view.scale >= 24.0 {
            start_letters(sheet, scene, section, side);
        }
    }
    sheet.line(
        "chain",
        at(LEFT - 8.0, view.axis_y),
        at(RIGHT + 3.0, view.axis_y),
    );
    dimensions(sheet, scene, section);
}

/// One side of the thread: metal, hatching, outline, break lines.
fn half(sheet: &mut Sheet, section: &Section, side: Side) {
    let Section { profile, view, .. } = section;
    let (from, to) = view.ends();
    let pieces = profile.outline(side, from, to);
    let core = view.y(side, view.cut_radius);
    let mut polygon = vec![at(LEFT, core)];
    for piece in &pieces {
        for place in [piece.from, piece.to] {
            let point = view.point(side, place);
            if polygon.last() != Some(&point) {
                polygon.push(point);
            }
        }
    }
    polygon.push(at(RIGHT, core));
    sheet.path("metal", &polygon, true);
    sheet.strokes("hatch", &hatching(&polygon, 6.5), false);
    outline(sheet, section, side, &pieces);
    let (Some(first), Some(last)) = (polygon.get(1), polygon.iter().rev().nth(1)) else {
        return;
    };
    sheet.path("break", &zigzag(at(LEFT, core), *first, 1), false);
    sheet.path("break", &zigzag(at(RIGHT, core), *last, 1), false);
    if view.is_broken() {
        let (left, right) = (at(LEFT - 5.0, core), at(RIGHT + 5.0, core));
        sheet.path("break", &zigzag(left, right, 3), false);
    }
}

/// The edge of the metal; roots nobody gave are dashed.
fn outline(sheet: &mut Sheet, section: &Section, side: Side, pieces: &[Piece]) {
    let Section { profile, view, .. } = section;
    let run = |piece: &Piece| vec![view.point(side, piece.from), view.point(side, piece.to)];
    let assumed = |piece: &&Piece| piece.edge == Edge::Root && !profile.root_known;
    let (dashed, solid): (Vec<&Piece>, Vec<&Piece>) = pieces.iter().partition(assumed);
    let runs: Vec<Vec<Point>> = solid.iter().map(|piece| run(piece)).collect();
    sheet.strokes("outline", &runs, false);
    let runs: Vec<Vec<Point>> = dashed.iter().map(|piece| run(piece)).collect();
    sheet.strokes("assumed", &runs, false);
}

/// Lines at 45 degrees across a polygon, cut exactly at its edges.
fn hatching(polygon: &[Point], spacing: f64) -> Vec<Vec<Point>> {
    let sum = |point: &Point| point.x + point.y;
    let low = polygon.iter().map(sum).fold(f64::INFINITY, f64::min);
    let high = polygon.iter().map(sum).fold(f64::NEG_INFINITY, f64::max);
    let step = spacing * std::f64::consts::SQRT_2;
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    let mut runs = Vec::new();
    for number in first..=last {
        let level = number as f64 * step;
        let mut crossings: Vec<Point> = Vec::new();
        for (index, start) in polygon.iter().enumerate() {
            let end = &polygon[(index + 1) % polygon.len()];
            if (sum(start) <= level) != (sum(end) <= level) {
                let part = (level - sum(start)) / (sum(end) - sum(start));
                let x = start.x + (end.x - start.x) * part;
                crossings.push(at(x, level - x));
            }
        }
        crossings.sort_by(|one, other| one.x.total_cmp(&other.x));
        runs.extend(crossings.chunks_exact(2).map(<[Point]>::to_vec));
    }
    runs
}

/// A thin line with zigzags: something is left out, or goes on, beyond it.
fn zigzag(from: Point, to: Point, times: usize) -> Vec<Point> {
    let length = (to.x - from.x).hypot(to.y - from.y).max(1e-6);
    let along = at((to.x - from.x) / length, (to.y - from.y) / length);
    let place = |forward: f64, aside: f64| {
        at(
            from.x + along.x * forward - along.y * aside,
            from.y + along.y * forward + along.x * aside,
        )
    };
    let mut points = vec![from];
    for time in 0..times {
        let middle = length * (time as f64 + 0.5) / times as f64;
        points.extend([
            place(middle - 4.0, 0.0),
            place(middle - 2.0, -5.0),
            place(middle + 2.0, 5.0),
            place(middle + 4.0, 0.0),
        ]);
    }
    points.push(to);
    points
}

/// A wire, cut across, with its centre lines.
fn draw_wire(sheet: &mut Sheet, view: &View, side: Side, wire: &Wire) {
    let centre = view.point(side, wire.centre);
    let radius = wire.radius * view.scale;
    sheet.circle("wire", centre, radius);
    let reach = (radius * 0.35).min(6.0);
    let cross = [
        vec![
            at(centre.x - reach, centre.y),
            at(centre.x + reach, centre.y),
        ],
        vec![
            at(centre.x, centre.y - reach),
            at(centre.x, centre.y + reach),
        ],
    ];
    sheet.strokes("thin", &cross, false);
}

/// Dots where a wire touches its flanks; where the flank ends short of it, the flank's line is
/// carried on to show where it would have touched.
fn contacts(sheet: &mut Sheet, view: &View, side: Side, wire: &Wire) {
    for contact in &wire.contacts {
        let point = view.point(side, contact.place);
        if contact.on_flank {
            sheet.circle("contact", point, 2.9);
        } else if contact.place.radius > contact.crest_end.radius {
            let end = view.point(side, contact.crest_end);
            sheet.line("extended", end, point);
        }
    }
}

fn pitch_line(sheet: &mut Sheet, section: &Section, side: Side) {
    let y = section.view.y(side, section.profile.pitch_radius);
    sheet.line(
        "pitch-line",
        at(LEFT - 8.0, y),
        at(PITCH_DIAMETER_X + 4.0, y),
    );
}

/// A flat micrometer face as a bar that touches the wires.
fn face(sheet: &mut Sheet, view: &View, side: Side) {
    let inner = view.face(side);
    let outer = match side {
        Side::Pair => inner - FACE,
        Side::Single => inner + FACE,
    };
    sheet.rectangle("face", at(LEFT + 26.0, inner), at(RIGHT - 26.0, outer));
    sheet.text(&Label {
        class: "quiet",
        point: at((LEFT + RIGHT) / 2.0, (inner + outer) / 2.0 + 4.2),
        size: NOTE_SIZE,
        anchor: Anchor::Middle,
        room: RIGHT - LEFT - 60.0,
        upright: false,
        content: "micrometer face",
    });
}

/// The letter of the start each groove belongs to, in the metal under its root.
fn start_letters(sheet: &mut Sheet, scene: &Scene, section: &Section, side: Side) {
    let Section { profile, view, .. } = section;
    let margin = 9.0 / view.scale;
    let (from, to) = view.ends();
    for (number, middle) in profile.grooves(side, from + margin, to - margin) {
        let radius = profile.root_radius - 13.0 / view.scale;
        let centre = at(view.x(middle), view.y(side, radius));
        sheet.circle("tag", centre, 8.0);
        sheet.text(&Label {
            class: "strong",
            point: at(centre.x, centre.y + 4.2),
            size: NOTE_SIZE,
            anchor: Anchor::Middle,
            room: 15.0,
            upright: false,
            content: &start_name(number, scene.starts),
        });
    }
}

/// A, B, C ... from the left groove of the pair; numbers when the letters do not suffice.
fn start_name(groove: i64, starts: u32) -> String {
    let start = (groove + 1).rem_euclid(i64::from(starts.max(1)));
    match u8::try_from(start) {
        Ok(letter) if starts <= 26 => char::from(b'A' + letter).to_string(),
        _ => (start + 1).to_string(),
    }
}

/// The two dimensions: over the wires at the left, between the pitch lines at the right.
fn dimensions(sheet: &mut Sheet, scene: &Scene, section: &Section) {
    let Section { profile, view, .. } = section;
    let (top, bottom) = (view.face(Side::Pair), view.face(Side::Single));
    for y in [top, bottom] {
        sheet.line("thin", at(LEFT + 24.0, y), at(OVER_WIRES_X - 4.0, y));
    }
    let unit = &scene.unit_label;
    let over_wires = format!("M {} {unit}", scene.number(scene.over_wires));
    let middle = view.axis_y;
    let over = Dimension {
        x: OVER_WIRES_X,
        top,
        bottom,
        middle,
    };
    dimension(sheet, &over, &over_wires);
    let pitch_diameter = format!("d\u{2082} {} {unit}", scene.number(scene.pitch_diameter));
    let across = Dimension {
        x: PITCH_DIAMETER_X,
        top: view.y(Side::Pair, profile.pitch_radius),
        bottom: view.y(Side::Single, profile.pitch_radius),
        middle,
    };
    dimension(sheet, &across, &pitch_diameter);
}

/// An upright dimension line: its place, its ends, and where its text is centred.
struct Dimension {
    x: f64,
    top: f64,
    bottom: f64,
    middle: f64,
}

fn dimension(sheet: &mut Sheet, line: &Dimension, content: &str) {
    let (top, bottom) = (at(line.x, line.top), at(line.x, line.bottom));
    let length = line.bottom - line.top;
    sheet.line("thin", top, bottom);
    let head = 9f64.min(length / 2.2);
    sheet.arrow_head("head", top, at(0.0, -1.0), head);
    sheet.arrow_head("head", bottom, at(0.0, 1.0), head);
    sheet.text(&Label {
        class: "strong halo",
        point: at(line.x - 5.5, line.middle),
        size: TEXT_SIZE,
        anchor: Anchor::Middle,
        room: length.max(130.0),
        upright: true,
        content,
    });
}

/// A bar of a round length in the job's unit, at the scale of the section.
pub(super) fn scale_bar(sheet: &mut Sheet, scene: &Scene, scale: f64) {
    let y = BOTTOM + 17.0;
    let per_unit = scale * scene.millimetres_per_unit;
    let length = super::zone::round_step(110.0 / per_unit);
    let end = LEFT + length * per_unit;
    sheet.line("outline", at(LEFT, y), at(end, y));
    for x in [LEFT, end] {
        sheet.line("outline", at(x, y - 4.0), at(x, y + 4.0));
    }
    let length = super::zone::decimal(length);
    sheet.text(&Label {
        class: "",
        point: at(end + 8.0, y + 4.0),
        size: NOTE_SIZE,
        anchor: Anchor::Start,
        room: RIGHT - end - 8.0,
        upright: false,
        content: &format!("{length} {}, to scale", scene.unit_label),
    });
}
