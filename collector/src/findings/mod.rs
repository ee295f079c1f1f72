//! What statistics find, ready for a person: sentences, tables and pictures of one question.
//!
//! Core works the figures out and words them; here readings of the record, or numbers of a file, become its
//! questions, and its answers become [`Findings`]: the same on the page, at the command line and for programs.
//!
//! | room | question |
//! | --- | --- |
//! | [`process`], [`drift`] | is the process steady, and does it keep the limits? |
//! | [`summary`] | the same in plain figures, from sums, however many pieces there are |
//! | [`revised`] | by which limits and of which thread are the readings, where the job was revised? |
//! | [`groups`] | the same of groups of pieces |
//! | [`short_run`] | the same of a few pieces each of different threads |
//! | [`go_gauge`] | do a go gauge and the measurement say the same? |
//! | [`study`], [`gauge`], [`masters`], [`certified`] | is the measurement to be trusted? |
//! | [`numbers`] | the same of a column of numbers |

pub mod certified;
pub mod changes;
mod coarse;
pub mod drift;
pub mod gauge;
pub mod go_gauge;
pub mod groups;
mod held;
pub mod limits_kept;
pub mod masters;
pub mod numbers;
mod percentiles;
mod phases;
mod phasing;
mod pictures;
pub mod process;
pub mod revised;
mod shifts;
pub mod short_run;
mod signals;
pub mod study;
pub mod summary;

use std::fmt::Write as _;

use overwire_core::decimal::step;
use overwire_core::stats::Undefined;
use overwire_core::units::Unit;
use serde::Serialize;

use crate::chart::{Format, Picture, Quantity};

/// Everything that was found.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Findings {
    /// What was asked.
    pub title: String,
    /// Of what: thread, dates, instrument.
    pub about: String,
    /// The answers; before the main one only how far a study is.
    pub sections: Vec<Section>,
    /// Which of them is the main one, from 0.
    pub main: usize,
    /// What it says first: what there is to say if only one sentence is read.
    pub headline: String,
    /// By which conventions, for whoever compares with another book.
    pub settings: Vec<String>,
    /// Names and descriptions of the pictures that were drawn.
    pub pictures: Vec<Drawn>,
    /// What to know where the display is coarse for the spread.
    #[serde(skip)]
    pub coarse: Option<String>,
}

/// One answer.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Section {
    /// What it is about.
    pub heading: String,
    /// The answer in sentences.
    pub sentences: Vec<String>,
    /// What to know beside it.
    pub cautions: Vec<String>,
    /// Its figures.
    pub table: Option<Table>,
}

/// Figures in rows.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Table {
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Rows, each with as many cells.
    pub rows: Vec<Vec<String>>,
}

/// A picture.
#[derive(Debug, Clone, Serialize)]
pub struct Drawn {
    /// Its name, by which it is asked for.
    pub name: &'static str,
    /// Its title.
    pub title: String,
    /// What it shows, in sentences with figures.
    pub description: String,
    /// The drawing.
    #[serde(skip)]
    pub svg: String,
}

impl Drawn {
    /// What kind of picture it is, in words.
    pub fn kind(&self) -> &str {
        self.description.split(". ").next().unwrap_or_default()
    }
}

impl Section {
    /// An answer in sentences.
    pub fn said(heading: &str, sentences: Vec<String>) -> Section {
        Section {
            heading: heading.to_owned(),
            sentences,
            ..Section::default()
        }
    }

    /// Why there is none.
    pub fn undefined(heading: &str, reason: &impl std::fmt::Display) -> Section {
        Section::said(heading, vec![format!("–: {reason}.")])
    }
}

impl Findings {
    /// Adds an answer.
    pub fn add(&mut self, section: Section) {
        if self.sections.len() == self.main {
            self.headline = section.sentences.first().cloned().unwrap_or_default();
        }
        self.sections.push(section);
    }

    /// Whether the main answer could be had; where it could not, its first sentence is a dash with the reason.
    pub fn is_answered(&self) -> bool {
        !self.headline.starts_with("–: ")
    }

    /// Adds what stands before the main answer.
    pub fn add_before(&mut self, section: Section) {
        self.main += 1;
        self.headline = section.sentences.first().cloned().unwrap_or_default();
        self.sections.push(section);
    }

    /// Adds a picture.
    pub fn draw(&mut self, name: &'static str, picture: Picture) {
        self.pictures.push(Drawn {
            name,
            title: picture.title,
            description: picture.description,
            svg: picture.svg,
        });
    }

    /// A picture by its name.
    pub fn picture(&self, name: &str) -> Option<&Drawn> {
        self.pictures.iter().find(|drawn| drawn.name == name)
    }

    /// As text for a terminal.
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        // Writing to a String cannot fail.
        let _ = writeln!(text, "{}", self.title);
        if !self.about.is_empty() {
            let _ = writeln!(text, "{}", self.about);
        }
        for section in &self.sections {
            let _ = writeln!(text, "\n{}", section.heading);
            for sentence in &section.sentences {
                let _ = writeln!(text, "  {sentence}");
            }
            if let Some(table) = &section.table {
                text.push_str(&table.to_text());
            }
            for caution in &section.cautions {
                let _ = writeln!(text, "  Mind: {caution}");
            }
        }
        if !self.settings.is_empty() {
            let _ = writeln!(text, "\nBy these conventions");
            for setting in &self.settings {
                let _ = writeln!(text, "  {setting}");
            }
        }
        text
    }
}

impl Table {
    fn to_text(&self) -> String {
        let mut widths: Vec<usize> = self.columns.iter().map(|c| c.chars().count()).collect();
        for row in &self.rows {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = (*width).max(cell.chars().count());
            }
        }
        let line = |cells: &[String]| {
            let mut line = String::from("  ");
            for (cell, width) in cells.iter().zip(&widths) {
                let gap = width - cell.chars().count();
                let _ = write!(line, "{cell}{}  ", " ".repeat(gap));
            }
            line.trim_end().to_owned() + "\n"
        };
        let mut text = line(&self.columns);
        for row in &self.rows {
            text.push_str(&line(row));
        }
        text
    }
}

/// How lengths of a question are shown: core works in millimetres.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Unit.
    pub unit: Unit,
    /// Decimal places of a reading.
    pub places: u8,
    /// The picture's form.
    pub format: Format,
}

impl Shown {
    /// A length in millimetres as a number of the unit.
    pub fn value(&self, mm: f64) -> f64 {
        mm / self.unit.mm_per_unit()
    }

    /// One step of the display, mm.
    pub fn step_mm(&self) -> f64 {
        step(self.places) * self.unit.mm_per_unit()
    }

    /// The same as text, with one place more than a reading.
    pub fn fine(&self, mm: f64) -> String {
        overwire_core::decimal::format_to(self.value(mm), self.places + 1)
    }

    /// A figure as text, or a dash with its reason.
    pub fn figure(&self, figure: Result<f64, Undefined>) -> String {
        match figure {
            Ok(mm) => self.fine(mm),
            Err(reason) => format!("– ({reason})"),
        }
    }

    /// The quantity on an axis.
    pub fn quantity(&self, name: &str) -> Quantity {
        Quantity {
            name: name.to_owned(),
            unit: self.unit.as_str().to_owned(),
            places: self.places,
            step_in_last_place: 1,
        }
    }
}
