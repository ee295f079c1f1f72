//! Whether the pieces keep steady and keep their limits: the statistics of the job as they are found for the page,
//! with their pictures.

use rusqlite::Connection;

use super::super::Question;
use super::super::gather::{Gathered, OfFeature};
use super::super::html::{Table, free, list, paragraph, plain};
use super::section;
use crate::findings::{Findings, Section};
use crate::page::findings::{Asked, statistics_of};

/// A histogram is drawn from so many pieces on: of fewer it shows chance. Our own figure.
const HISTOGRAM_FROM: usize = 10;

/// The section.
pub fn process(connection: &Connection, question: &Question, gathered: &Gathered) -> String {
    if gathered.piece.is_some() {
        let told = "No capability and no chart: one piece says nothing of a process. The report of the whole job has \
                    them.";
        return section("Steadiness and capability", &paragraph(told));
    }
    let mut html = String::new();
    for of in &gathered.features {
        html.push_str(&of_thread(connection, question, gathered, of));
    }
    section("Steadiness and capability", &html)
}

fn of_thread(
    connection: &Connection,
    question: &Question,
    gathered: &Gathered,
    of: &OfFeature,
) -> String {
    let asked = Asked::about(&question.job, &of.name, question.unit);
    let name = format!("<h3>{}</h3>\n", free(&of.name));
    match statistics_of(connection, &gathered.register, &asked) {
        Ok(findings) => name + &told(&findings, of.pieces.len()),
        Err(refusal) => name + &paragraph(&plain(&refusal.error)),
    }
}

fn told(findings: &Findings, pieces: usize) -> String {
    let mut html = String::new();
    for drawn in &findings.pictures {
        if drawn.name == "run" || drawn.name == "histogram" && pieces >= HISTOGRAM_FROM {
            html.push_str(&format!("<figure>{}</figure>\n", drawn.svg));
        }
    }
    if pieces < HISTOGRAM_FROM {
        html.push_str(&paragraph(&format!(
            "No histogram: {pieces} of the {HISTOGRAM_FROM} pieces it is drawn from."
        )));
    }
    for section in &findings.sections {
        html.push_str(&answer(section));
    }
    if !findings.settings.is_empty() {
        let settings: Vec<String> = findings.settings.iter().map(|text| plain(text)).collect();
        html.push_str(&format!(
            "<details class=\"small\" open><summary>By these conventions</summary>{}</details>\n",
            list(&settings)
        ));
    }
    html
}

fn answer(section: &Section) -> String {
    let sentences: Vec<String> = section.sentences.iter().map(|text| plain(text)).collect();
    let mut html = format!("<h4>{}</h4>\n{}", plain(&section.heading), list(&sentences));
    if let Some(figures) = &section.table {
        let columns: Vec<&str> = figures.columns.iter().map(String::as_str).collect();
        let mut table = Table::new("figures", &plain(&section.heading), &columns);
        for row in &figures.rows {
            let cells: Vec<String> = row.iter().map(|cell| plain(cell)).collect();
            table.row(&cells);
        }
        html.push_str(&table.end());
    }
    let cautions: Vec<String> = section
        .cautions
        .iter()
        .map(|text| format!("Mind: {}", plain(text)))
        .collect();
    html + &list(&cautions)
}
