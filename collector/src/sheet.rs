//! The sheet of paper that every picture is drawn on: a few shapes and texts written as SVG.
//!
//! Everything drawn passes through here, so three promises are kept in one place: every text
//! is escaped, every coordinate is a finite number, and no text is wider than the room it was
//! given (a font's real widths are unknown, so they are estimated on the wide side).

use std::fmt::Write as _;

/// How much wider bold text runs.
pub(crate) const BOLD: f64 = 1.08;

/// A point on the sheet: x to the right, y downward, in units of the view box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Point {
    pub(crate) x: f64,
    pub(crate) y: f64,
}

/// Shorthand for a [`Point`].
pub(crate) fn at(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// Which part of a text stands at its point.
#[derive(Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// One line of text and the room it has.
pub(crate) struct Label<'a> {
    pub(crate) class: &'a str,
    pub(crate) point: Point,
    pub(crate) size: f64,
    pub(crate) anchor: Anchor,
    /// The room along the text; a longer text is set smaller.
    pub(crate) room: f64,
    /// Turned to be read from the right, as along an upright dimension line.
    pub(crate) upright: bool,
    pub(crate) content: &'a str,
}

/// The growing body of the picture.
pub(crate) struct Sheet {
    body: String,
    sound: bool,
}

impl Sheet {
    pub(crate) fn new() -> Self {
        Sheet {
            body: String::new(),
            sound: true,
        }
    }

    /// The body, unless some coordinate was not a finite number.
    pub(crate) fn finish(self) -> Option<String> {
        self.sound.then_some(self.body)
    }

    fn coordinate(&mut self, number: f64) -> String {
        self.sound &= number.is_finite();
        let text = format!("{number:.2}");
        let short = text.trim_end_matches('0').trim_end_matches('.');
        match short {
            "-0" => "0".to_owned(),
            _ => short.to_owned(),
        }
    }

    fn push(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }

    pub(crate) fn line(&mut self, class: &str, from: Point, to: Point) {
        self.path(class, &[from, to], false);
    }

    /// Straight lines from point to point.
    pub(crate) fn path(&mut self, class: &str, points: &[Point], closed: bool) {
        self.strokes(class, &[points.to_vec()], closed);
    }

    /// Several runs of straight lines as one element.
    pub(crate) fn strokes(&mut self, class: &str, runs: &[Vec<Point>], closed: bool) {
        self.drawn(class, "", runs, closed);
    }

    /// The same, open, in a width of its own.
    pub(crate) fn strokes_of_width(&mut self, class: &str, runs: &[Vec<Point>], width: f64) {
        let width = self.coordinate(width);
        self.drawn(class, &format!(r#" stroke-width="{width}""#), runs, false);
    }

    fn drawn(&mut self, class: &str, attributes: &str, runs: &[Vec<Point>], closed: bool) {
        let mut drawn = String::new();
        for run in runs {
            for (index, point) in run.iter().enumerate() {
                drawn.push(if index == 0 { 'M' } else { 'L' });
                drawn.push_str(&self.coordinate(point.x));
                drawn.push(' ');
                drawn.push_str(&self.coordinate(point.y));
            }
            if closed {
                drawn.push('Z');
            }
        }
        if !drawn.is_empty() {
            self.push(&format!(
                r#"<path class="{class}"{attributes} d="{drawn}"/>"#
            ));
        }
    }

    pub(crate) fn circle(&mut self, class: &str, centre: Point, radius: f64) {
        let x = self.coordinate(centre.x);
        let y = self.coordinate(centre.y);
        let radius = self.coordinate(radius);
        self.push(&format!(
            r#"<circle class="{class}" cx="{x}" cy="{y}" r="{radius}"/>"#
        ));
    }

    pub(crate) fn rectangle(&mut self, class: &str, corner: Point, opposite: Point) {
        let x = self.coordinate(corner.x.min(opposite.x));
        let y = self.coordinate(corner.y.min(opposite.y));
        let width = self.coordinate((opposite.x - corner.x).abs());
        let height = self.coordinate((opposite.y - corner.y).abs());
        self.push(&format!(
            r#"<rect class="{class}" x="{x}" y="{y}" width="{width}" height="{height}"/>"#
        ));
    }

    /// Opens a group whose members share a text that is shown when one points at them.
    pub(crate) fn open_told(&mut self, words: &str) {
        let words = escape(words);
        self.push(&format!("<g><title>{words}</title>"));
    }

    /// Closes it.
    pub(crate) fn close_told(&mut self) {
        self.push("</g>");
    }

    /// A filled arrow head: its tip, and the direction it points in.
    pub(crate) fn arrow_head(&mut self, class: &str, tip: Point, direction: Point, length: f64) {
        let back = at(tip.x - direction.x * length, tip.y - direction.y * length);
        let half = length * 0.33;
        let side = at(-direction.y * half, direction.x * half);
        let points = [
            tip,
            at(back.x + side.x, back.y + side.y),
            at(back.x - side.x, back.y - side.y),
        ];
        self.path(class, &points, true);
    }

    pub(crate) fn text(&mut self, label: &Label) {
        // Bold letters run wider.
        let room = match is_bold(label.class) {
            true => label.room / BOLD,
            false => label.room,
        };
        let size = fitting_size(label.content, label.size, room);
        let x = self.coordinate(label.point.x);
        let y = self.coordinate(label.point.y);
        let size = self.coordinate(size);
        let anchor = match label.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let mut element = format!(
            r#"<text class="{}" x="{x}" y="{y}" font-size="{size}" text-anchor="{anchor}""#,
            label.class
        );
        if label.upright {
            // Writing to a String cannot fail.
            let _ = write!(element, r#" transform="rotate(-90 {x} {y})""#);
        }
        let _ = write!(element, ">{}</text>", escape(label.content));
        self.push(&element);
    }
}

/// Whether a class is drawn in bold letters: one of its words is `strong`.
fn is_bold(class: &str) -> bool {
    class.split([' ', '-']).any(|word| word == "strong")
}

/// The text made safe for element content and attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for character in text.chars() {
        match printable(character) {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            character => safe.push(character),
        }
    }
    safe
}

/// What stands for a character on the sheet. Characters that XML 1.0 cannot carry at all (most
/// control characters) become the replacement character.
pub(crate) fn printable(character: char) -> char {
    match character {
        '\t' | '\n' | '\r' => ' ',
        '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        // Marks of direction would turn the text beside them.
        '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        _ => character,
    }
}

/// An estimate, on the wide side, of how far a text runs.
pub(crate) fn width_of(text: &str, size: f64) -> f64 {
    text.chars()
        .map(|character| match character {
            ' ' | '\u{a0}' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | 'i' | 'l' | 'I' | 'j' => {
                0.34
            }
            '(' | ')' | '-' | '/' | 't' | 'f' | 'r' => 0.42,
            'M' | 'W' | 'm' | 'w' => 0.96,
            _ if character.is_uppercase() => 0.74,
            _ if character.is_ascii() => 0.64,
            '\u{b7}' => 0.36,
            '\u{80}'..='\u{2fff}' => 0.76,
            _ => 1.05,
        })
        .sum::<f64>()
        * size
}

/// The size at which a text fits its room; the text itself stays whole, for half a number is
/// another number.
fn fitting_size(text: &str, size: f64, room: f64) -> f64 {
    let wide = width_of(text, size);
    if wide > room {
        size * room / wide
    } else {
        size
    }
}

/// A name that may be long: the whole of it if it fits at four fifths of the size, else its
/// beginning and an ellipsis.
pub(crate) fn name_for(text: &str, size: f64, room: f64) -> String {
    let smallest = size * 0.8 * BOLD;
    if width_of(text, smallest) <= room {
        text.to_owned()
    } else {
        shortened(text, smallest, room)
    }
}

fn shortened(text: &str, size: f64, room: f64) -> String {
    let mut kept = String::new();
    for character in text.chars() {
        kept.push(character);
        if width_of(&kept, size) + size > room {
            kept.pop();
            break;
        }
    }
    format!("{}\u{2026}", kept.trim_end())
}

/// The text broken at spaces into lines no wider than the room, at most `most` of them.
pub(crate) fn wrapped(text: &str, size: f64, room: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    // A no-break space holds a sign and its number together.
    let words = text.split([' ', '\t', '\n', '\r']);
    for word in words.filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if line.is_empty() || width_of(&longer, size) <= room {
            line = longer;
        } else {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    if lines.len() > most {
        let rest = lines.split_off(most.saturating_sub(1)).join(" ");
        lines.push(rest);
    }
    lines
        .iter()
        .map(|line| {
            if width_of(line, size) > room {
                shortened(line, size, room)
            } else {
                line.clone()
            }
        })
        .collect()
}
