//! The sections of a report, one after the other.

mod checks;
mod end;
mod head;
mod means;
mod outcome;
mod process;
mod readings;
mod requirements;
mod trail;

use rusqlite::Connection;

use super::gather::Gathered;
use super::html::{beginning, plain, style_string};
use super::{Maker, Paper, Question, Which};
use crate::clock::{Civil, iso};
use crate::record::chain::hex;

/// The style of every report.
const STYLE: &str = include_str!("report.css");

/// Most characters of a name in the foot of a page.
const FOOT_NAME: usize = 28;

/// The whole page.
pub fn document(
    connection: &Connection,
    question: &Question,
    maker: &Maker,
    gathered: &Gathered,
) -> String {
    let title = title(question, gathered);
    let mut body = head::head(&title, question, maker, gathered);
    body.push_str(&head::result(question, gathered));
    body.push_str(&requirements::requirements(question, gathered));
    body.push_str(&readings::readings(question, gathered));
    body.push_str(&checks::checks(gathered));
    body.push_str(&means::means(gathered));
    body.push_str(&trail::trail(question, gathered));
    body.push_str(&process::process(connection, question, gathered));
    body.push_str(&end::end(maker, gathered));
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <link rel=\"icon\" href=\"data:,\">\n<title>{}: {}</title>\n\
         <style>\n{STYLE}{}</style>\n</head>\n<body>\n<main>\n{body}</main>\n</body>\n</html>\n",
        plain(&title),
        plain(&beginning(&question.job, 80)),
        page_style(question, maker, gathered)
    )
}

fn title(question: &Question, gathered: &Gathered) -> String {
    match (question.which, gathered.piece) {
        (Which::First, Some(piece)) => format!("First article inspection report, piece {piece}"),
        (_, Some(piece)) => format!("Inspection report, piece {piece}"),
        (_, None) => "Inspection report".to_owned(),
    }
}

/// The paper, and what stands in the foot of every page.
fn page_style(question: &Question, maker: &Maker, gathered: &Gathered) -> String {
    let size = match question.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let mark: String = hex(&gathered.tip.hash).chars().take(12).collect();
    let job = style_string(&format!("Job {}", beginning(&question.job, FOOT_NAME)));
    let record = style_string(&format!(
        "Record to entry {}, head {mark}, made {}",
        gathered.tip.entry,
        iso(maker.at.wall_us, maker.at.utc_offset_s)
            .get(..16)
            .unwrap_or_default()
            .replace('T', " ")
    ));
    format!(
        "@page {{ size: {size} portrait; margin: 14mm 13mm 17mm;\n\
         @bottom-left {{ content: {job}; }}\n@bottom-center {{ content: {record}; }}\n\
         @bottom-right {{ content: \"Page \" counter(page) \" of \" counter(pages); }} }}\n"
    )
}

/// A section with its heading.
fn section(heading: &str, html: &str) -> String {
    format!("<section>\n<h2>{}</h2>\n{html}</section>\n", plain(heading))
}

/// The shop's civil time of a moment, with the offset where several occur.
fn when(wall_us: i64, utc_offset_s: i32, offsets: &Offsets) -> String {
    let mut text = String::new();
    Civil::default().plain(&mut text, wall_us, utc_offset_s);
    if offsets.several {
        text.push_str(" UTC");
        crate::clock::offset(&mut text, utc_offset_s);
    }
    text
}

/// Offsets from UTC that occur.
#[derive(Debug, Clone, Default)]
struct Offsets {
    first: Option<i32>,
    several: bool,
}

impl Offsets {
    fn of(gathered: &Gathered) -> Offsets {
        let mut offsets = Offsets::default();
        for of in &gathered.features {
            let apart = of.apart.iter().map(|(standing, _)| standing);
            for standing in of.listed.iter().chain(apart) {
                let offset = standing.reading.head.stamp.utc_offset_s;
                let first = *offsets.first.get_or_insert(offset);
                offsets.several |= offset != first;
            }
        }
        offsets
    }

    /// In which time the report tells.
    fn sentence(&self) -> String {
        match self.first {
            Some(offset) if !self.several => {
                let mut text = String::from("Times are the shop’s, UTC");
                crate::clock::offset(&mut text, offset);
                text + "."
            }
            _ => "Times are the shop’s, each with its offset from UTC.".to_owned(),
        }
    }
}

/// `1 reading`, `7 readings`.
fn counted(number: usize, noun: &str) -> String {
    match number {
        1 => format!("1 {noun}"),
        number => format!("{number} {noun}s"),
    }
}
