//! The leaf a picture is drawn on: heading, the drawing, caption, and the words for those who
//! do not see it.

use super::axis::{Axis, Extent, LEAST_STEPS, Plan};
use super::frame::Frame;
use super::quantity::Quantity;
use super::words::clipped;
use super::{Format, Heading, Look, Picture, Width, style};
use crate::sheet::{Anchor, BOLD, Label, Point, Sheet, at, escape, name_for, width_of, wrapped};

/// Sizes that follow from the width.
#[derive(Clone, Copy, Debug)]
pub(super) struct Measures {
    pub(super) width: f64,
    pub(super) title: f64,
    /// Axis labels, names of lines.
    pub(super) text: f64,
    /// Captions.
    pub(super) note: f64,
    /// The margin of the leaf.
    pub(super) edge: f64,
    /// Height of a drawing that stands alone.
    pub(super) plot: f64,
    pub(super) narrow: bool,
}

impl Measures {
    fn of(width: Width) -> Measures {
        match width {
            Width::Desk => Measures {
                width: 1080.0,
                title: 18.0,
                text: 14.0,
                note: 14.0,
                edge: 14.0,
                plot: 330.0,
                narrow: false,
            },
            Width::Phone => Measures {
                width: 366.0,
                title: 15.0,
                text: 12.0,
                note: 12.5,
                edge: 6.0,
                plot: 262.0,
                narrow: true,
            },
        }
    }

    /// From one line of text to the next.
    pub(super) fn line(self) -> f64 {
        self.text * 1.25
    }

    pub(super) fn right(self) -> f64 {
        self.width - self.edge
    }
}

/// A picture being drawn.
pub(super) struct Leaf {
    pub(super) sheet: Sheet,
    pub(super) measures: Measures,
    /// How far down the leaf is used.
    pub(super) y: f64,
    look: Look,
    title: String,
    notes: Vec<String>,
    figures: Vec<String>,
    sentences: Vec<String>,
    told: Vec<String>,
}

impl Leaf {
    /// An upright axis along a frame that takes in all values.
    pub(super) fn upright_axis(
        &self,
        quantity: &Quantity,
        values: impl IntoIterator<Item = f64>,
        frame: Frame,
    ) -> Axis {
        Axis::of(&Plan {
            quantity,
            extent: Extent::of(quantity, values),
            floor: LEAST_STEPS,
            rooted: false,
            snapped: true,
            ends: (frame.bottom, frame.top),
            most_ticks: (frame.height() / (self.measures.line() * 2.4)).max(3.0),
        })
    }

    /// A leaf with its heading; `kind` says in words what picture it is.
    pub(super) fn new(heading: &Heading, kind: &str, format: &Format) -> Leaf {
        let measures = Measures::of(format.width);
        let mut leaf = Leaf {
            sheet: Sheet::new(),
            measures,
            y: measures.edge,
            look: format.look,
            title: clipped(&heading.title),
            notes: heading.notes.iter().map(|note| clipped(note)).collect(),
            figures: Vec::new(),
            sentences: Vec::new(),
            told: vec![format!("{kind}.")],
        };
        if leaf.title.trim().is_empty() {
            leaf.title = kind.to_owned();
        }
        leaf.heading(heading);
        leaf
    }

    fn heading(&mut self, heading: &Heading) {
        let measures = self.measures;
        let room = measures.right() - measures.edge;
        let title = name_for(&self.title, measures.title, room);
        self.y += measures.title;
        self.line("ch-strong", measures.title, &title);
        let about = clipped(&heading.about);
        if !about.trim().is_empty() {
            self.told.push(format!("{about}."));
            for line in wrapped(&about, measures.note, room, 2) {
                self.y += measures.note * 1.4;
                self.line("ch-quiet", measures.note, &line);
            }
        }
        self.y += measures.note * 0.7;
    }

    /// A line of text at the left edge, on the current height.
    fn line(&mut self, class: &str, size: f64, content: &str) {
        let edge = self.measures.edge;
        self.sheet.text(&Label {
            class,
            point: at(edge, self.y),
            size,
            anchor: Anchor::Start,
            room: self.measures.right() - edge,
            upright: false,
            content,
        });
    }

    /// A short text anywhere, in the size of axis labels.
    pub(super) fn label(&mut self, class: &str, point: Point, anchor: Anchor, content: &str) {
        let room = match anchor {
            Anchor::Start => self.measures.width - point.x,
            Anchor::Middle => 2.0 * point.x.min(self.measures.width - point.x),
            Anchor::End => point.x,
        };
        self.sheet.text(&Label {
            class,
            point,
            size: self.measures.text,
            anchor,
            room: room.max(20.0),
            upright: false,
            content,
        });
    }

    /// A name that may be long: set smaller, then shortened, until it fits its room.
    pub(super) fn name(
        &mut self,
        class: &str,
        point: Point,
        anchor: Anchor,
        (name, room): (&str, f64),
    ) {
        let content = name_for(&clipped(name), self.measures.text, room);
        self.sheet.text(&Label {
            class,
            point,
            size: self.measures.text,
            anchor,
            room,
            upright: false,
            content: &content,
        });
    }

    /// As much of a text as fits at full size.
    pub(super) fn shortened(&self, text: &str, room: f64) -> String {
        let text = clipped(text);
        if self.width_of(&text) <= room {
            return text;
        }
        let lines = wrapped(&text.replace(' ', "\u{a0}"), self.measures.text, room, 1);
        lines.concat()
    }

    /// How far such a text runs.
    pub(super) fn width_of(&self, content: &str) -> f64 {
        width_of(content, self.measures.text)
    }

    /// A figure for the first line of the caption, e.g. `n 48`.
    pub(super) fn figure(&mut self, name: &str, figure: &str) {
        self.figures.push(format!("{name}\u{a0}{figure}"));
    }

    /// A sentence of the caption.
    pub(super) fn say(&mut self, sentence: impl Into<String>) {
        self.sentences.push(sentence.into());
    }

    /// A sentence of the caption, if there is one.
    pub(super) fn sentence(&mut self, sentence: Option<String>) {
        self.sentences.extend(sentence);
    }

    /// A sentence that only those hear who do not see the drawing.
    pub(super) fn tell(&mut self, sentence: impl Into<String>) {
        self.told.push(sentence.into());
    }

    /// A leaf with nothing on it but the reason.
    pub(super) fn nothing(mut self, sentence: &str) -> Picture {
        let measures = self.measures;
        self.y += measures.plot / 2.0;
        let middle = at(measures.width / 2.0, self.y);
        self.sheet.text(&Label {
            class: "ch-quiet",
            point: middle,
            size: measures.title,
            anchor: Anchor::Middle,
            room: measures.right() - measures.edge,
            upright: false,
            content: sentence,
        });
        self.told.push(sentence.to_owned());
        self.y += measures.plot / 2.0;
        self.finish()
    }

    /// The finished picture.
    pub(super) fn finish(mut self) -> Picture {
        self.caption();
        let description = self.description();
        let height = (self.y + self.measures.edge).ceil();
        let width = self.measures.width;
        // A coordinate that is no number would be a fault of the drawing, not of the data.
        let body = self.sheet.finish().unwrap_or_default();
        let (title, look) = (self.title, self.look);
        Picture {
            svg: document(&title, &description, (width, height), look, &body),
            title,
            description,
            width,
            height,
        }
    }

    fn caption(&mut self) {
        let measures = self.measures;
        let room = measures.right() - measures.edge;
        let most = if measures.narrow { 30 } else { 14 };
        let figures = self.figures.join("  \u{b7}  ");
        let sentences = self.sentences.iter().chain(&self.notes).cloned();
        let sentences = sentences.collect::<Vec<_>>().join(" ");
        self.y += measures.note * 0.3;
        for line in wrapped(&figures, measures.note * BOLD, room, 5) {
            self.y += measures.note * 1.4;
            self.line("ch-strong", measures.note, &line);
        }
        for line in wrapped(&sentences, measures.note, room, most) {
            self.y += measures.note * 1.4;
            self.line("ch-quiet", measures.note, &line);
        }
    }

    fn description(&self) -> String {
        let mut told = self.told.clone();
        if !self.figures.is_empty() {
            told.push(format!("{}.", self.figures.join(", ")));
        }
        told.extend(self.sentences.iter().chain(&self.notes).cloned());
        told.join(" ")
    }
}

fn document(
    title: &str,
    description: &str,
    (width, height): (f64, f64),
    look: Look,
    body: &str,
) -> String {
    let (title, description) = (escape(title), escape(description));
    let style = style::sheet(look);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ch\" role=\"img\" width=\"{width}\" \
         height=\"{height}\" viewBox=\"0 0 {width} {height}\">\n\
         <title>{title}</title>\n<desc>{description}</desc>\n<style>{style}</style>\n\
         <rect class=\"ch-paper\" width=\"{width}\" height=\"{height}\"/>\n{body}</svg>\n"
    )
}
