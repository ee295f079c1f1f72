//! Marks where job, wires or tool changed: dotted uprights with a tab on top.

use super::frame::Frame;
use super::leaf::Leaf;
use super::series::Order;
use super::words::{clipped, listed};
use super::{Mark, MarkKind};
use crate::sheet::{Anchor, Point, at};

/// Upright lines where something changed.
pub(super) fn draw_lines(leaf: &mut Leaf, frame: Frame, order: Order, marks: &[Mark]) {
    let strokes: Vec<_> = marks
        .iter()
        .filter(|mark| mark.before < order.count)
        .map(|mark| order.start(mark.before))
        .map(|x| vec![at(x, frame.top), at(x, frame.bottom)])
        .collect();
    leaf.sheet.strokes("ch-mark", &strokes, false);
}

/// A row of tabs above a panel that says what changed where, and the sentence for it.
pub(super) fn draw_tabs(
    leaf: &mut Leaf,
    frame: Frame,
    order: Order,
    (marks, noun): (&[Mark], &str),
) {
    let mut marks: Vec<&Mark> = marks.iter().collect();
    marks.retain(|mark| mark.before < order.count);
    marks.sort_by_key(|mark| mark.before);
    let mut free_from = f64::NEG_INFINITY;
    for (index, mark) in marks.iter().enumerate() {
        let x = order.start(mark.before);
        let next = marks.get(index + 1);
        // The last tab may reach a little beyond the panel, where nothing else stands so high.
        let end = next.map_or(frame.right + 14.0, |next| order.start(next.before));
        if x < free_from || end - x < 14.0 {
            continue;
        }
        let text = format!("{} {}", sign_of(mark.kind), clipped(&mark.label));
        let text = match end - x {
            room if room < 60.0 => sign_of(mark.kind).to_owned(),
            room => leaf.shortened(&text, (room - 12.0).min(190.0)),
        };
        free_from = x + tab(leaf, at(x, frame.top), &text);
    }
    leaf.sentence(mark_sentence(&marks, noun));
}

/// One tab; returns its width.
fn tab(leaf: &mut Leaf, foot: Point, text: &str) -> f64 {
    let width = leaf.width_of(text) + 8.0;
    let height = leaf.measures.text * 1.3;
    let corner = at(foot.x, foot.y - height - 3.0);
    leaf.sheet
        .rectangle("ch-tab", corner, at(foot.x + width, foot.y - 3.0));
    let point = at(foot.x + 4.0, foot.y - 3.0 - height * 0.27);
    leaf.label("ch-text", point, Anchor::Start, text);
    width
}

fn sign_of(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::Job => "J",
        MarkKind::WireSet => "W",
        MarkKind::Tool => "T",
        MarkKind::Other => "\u{2022}",
    }
}

fn mark_sentence(marks: &[&Mark], noun: &str) -> Option<String> {
    let parts: Vec<String> = marks
        .iter()
        .map(|mark| {
            let kind = match mark.kind {
                MarkKind::Job => "J, job",
                MarkKind::WireSet => "W, wire set",
                MarkKind::Tool => "T, tool",
                MarkKind::Other => "\u{2022}",
            };
            let label = clipped(&mark.label);
            format!("{kind}: {label} from {noun} {}", mark.before + 1)
        })
        .collect();
    let parts = listed(&parts, "; ");
    (!parts.is_empty()).then(|| format!("Dotted uprights, changes: {parts}."))
}
