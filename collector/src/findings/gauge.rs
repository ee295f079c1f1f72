//! One piece again and again, and several people on several pieces: what varies by the measurement.

use overwire_core::decimal::{Decimal, format_to};
use overwire_core::stats::outliers::{Side, grubbs, several};
use overwire_core::stats::{Moments, Readings, Undefined};
use overwire_core::study::{
    Component, Crossed, GaugeSettings, GaugeStudy, GaugeTolerance, NestedReadings, NestedStudy,
    OnePiece, OnePieceSettings, TableError,
};
use overwire_core::units::Unit;

use super::coarse::Spread;
use super::study::Question;
use super::{Findings, Section, Shown, Table};
use crate::chart;

const WHAT_VARIES: &str = "How much of what varies is the measurement?";

/// How well one way repeats on one piece, and how far it is off.
pub fn one_piece(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let measured = question.study.measured();
    let values: Vec<f64> = measured.map(|reading| reading.value_mm).collect();
    let settings = OnePieceSettings::usual(
        reference(question, shown.unit),
        question.limits.map(|limits| limits.tolerance().mm()),
    );
    say_one_piece(findings, &values, settings, "Pitch diameter", shown);
}

/// The same of any numbers, mm.
pub fn say_one_piece(
    findings: &mut Findings,
    values: &[f64],
    settings: OnePieceSettings,
    quantity: &str,
    shown: &Shown,
) {
    let title = "How well does it repeat, and how far is it off?";
    match OnePiece::of(values, settings) {
        Ok(found) => {
            let deviation = Some(found.deviation.deviation);
            let coarse = findings.mind_display(Spread::of_study(shown.step_mm(), deviation));
            findings.add(Section {
                cautions: coarse.into_iter().collect(),
                ..Section::said(title, found.sentences(shown.unit, shown.places))
            });
            findings.settings.push(settings.settings_words());
        }
        Err(reason) => findings.add(Section::undefined(title, &reason)),
    }
    strays(findings, values, shown);
    draw_run(findings, quantity, values, shown);
}

/// The known size, in the unit of the thread.
fn reference(question: &Question<'_>, unit: Unit) -> Option<f64> {
    let text = question.form.reference.trim();
    Some(Decimal::parse_typed(text).ok()?.length(unit).ok()?.mm())
}

/// Readings that stand out, with the odds; nobody takes them out but a person with a reason.
fn strays(findings: &mut Findings, values: &[f64], shown: &Shown) {
    match stray(values, shown) {
        Ok(found) => {
            findings.add(Section::said(STANDS_OUT, vec![found.sentence]));
            findings.settings.push(found.conventions);
        }
        Err(reason) => findings.add(Section::undefined(STANDS_OUT, &reason)),
    }
}

pub(super) const STANDS_OUT: &str = "Does a reading stand out?";

/// What is said of readings that stand out.
pub(super) struct Stray {
    /// Whether one is to be looked at.
    pub suspect: bool,
    pub sentence: String,
    pub conventions: String,
}

/// Several readings in mm that hide each other, or the one furthest out: one that is a step of the display off is
/// none.
pub(super) fn stray(values: &[f64], shown: &Shown) -> Result<Stray, Undefined> {
    let readings = Readings::of_numbers(values)?;
    let found = grubbs(&readings, 0.05, Side::Either)?;
    let mean = Moments::of(&readings)?.mean;
    let off = |index: usize| values.get(index).map_or(0.0, |mm| (mm - mean).abs());
    let near = |index: usize| off(index) < 1.5 * shown.step_mm();
    let several = several(&readings, 0.05).ok().flatten();
    let several = several.filter(|several| !several.suspect_indices().into_iter().any(near));
    if let Some((sentence, several)) = several.and_then(|found| Some((found.sentence()?, found))) {
        return Ok(Stray {
            suspect: true,
            sentence,
            conventions: format!(
                "{}; each also beyond 3.5 by its distance from the median in median distances",
                several.settings_words()
            ),
        });
    }
    let sentence = match found.is_suspect() && near(found.index) {
        true => format!(
            "Reading {} of {} is one step of the display off the others: no more can be said of it.",
            found.index + 1,
            found.count
        ),
        false => found.sentence(),
    };
    Ok(Stray {
        suspect: found.is_suspect(),
        sentence,
        conventions: found.settings_words(),
    })
}

fn draw_run(findings: &mut Findings, quantity: &str, values: &[f64], shown: &Shown) {
    let data = chart::RunChart {
        heading: findings.heading(),
        quantity: shown.quantity(quantity),
        noun: "reading".to_owned(),
        values: values.iter().map(|mm| Some(shown.value(*mm))).collect(),
        summary: chart::Summary::default(),
        exclusions: Vec::new(),
        tolerance: None,
        limits: Vec::new(),
        signals: Vec::new(),
        marks: Vec::new(),
        zoomed: true,
    };
    findings.draw("run", chart::run_chart(&data, &shown.format));
}

fn settings(question: &Question<'_>) -> GaugeSettings {
    let tolerance = question.limits.map(|limits| limits.tolerance().mm());
    GaugeSettings::usual(tolerance.map(GaugeTolerance::Between))
}

/// Several people on the same pieces.
pub fn crossed(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let table = Crossed::from_study(question.study, 0);
    say_crossed(findings, table, settings(question), shown);
}

/// Each person with pieces of their own.
pub fn nested(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let readings = NestedReadings::from_study(question.study, 0);
    say_nested(findings, readings, settings(question), shown);
}

/// What varies, of readings that may not make a table.
pub fn say_crossed(
    findings: &mut Findings,
    table: Result<Crossed, TableError>,
    settings: GaugeSettings,
    shown: &Shown,
) {
    let found = table
        .map_err(|error| error.to_string())
        .and_then(|table| GaugeStudy::of(&table, settings).map_err(|reason| reason.to_string()));
    let found = match found {
        Ok(found) => found,
        Err(error) => return findings.add(Section::undefined(WHAT_VARIES, &error)),
    };
    let parts = found.components();
    let rows = [
        ("repeats", &parts.repeat),
        ("operators", &parts.operator),
        ("operator with piece", &parts.interaction),
        ("the whole gauge", &parts.gauge),
        ("pieces", &parts.piece),
        ("all together", &parts.total),
    ];
    let sentences = found.sentences(shown.unit, shown.places);
    let conventions = found.settings_words(shown.unit, shown.places);
    say_components(findings, sentences, conventions, &rows, shown);
}

/// The same, where each person has pieces of their own.
pub fn say_nested(
    findings: &mut Findings,
    readings: Result<NestedReadings, TableError>,
    settings: GaugeSettings,
    shown: &Shown,
) {
    let found = readings
        .map_err(|error| error.to_string())
        .and_then(|readings| {
            NestedStudy::of(&readings, settings).map_err(|reason| reason.to_string())
        });
    let found = match found {
        Ok(found) => found,
        Err(error) => return findings.add(Section::undefined(WHAT_VARIES, &error)),
    };
    let rows = [
        ("repeats", &found.repeat),
        ("operators", &found.operator),
        ("the whole gauge", &found.gauge),
        ("pieces", &found.piece),
        ("all together", &found.total),
    ];
    let sentences = found.sentences(shown.unit, shown.places);
    let conventions = found.settings_words(shown.unit, shown.places);
    say_components(findings, sentences, conventions, &rows, shown);
}

/// Sentences, table and picture of what varies; the last row is the whole, which is not drawn.
fn say_components(
    findings: &mut Findings,
    sentences: Vec<String>,
    conventions: String,
    rows: &[(&str, &Component)],
    shown: &Shown,
) {
    let mut section = Section::said(WHAT_VARIES, sentences);
    section.table = Some(table(rows, shown));
    // Repeats come first.
    let repeats = rows.first().map(|(_, part)| part.deviation());
    let coarse = findings.mind_display(Spread::of_study(shown.step_mm(), repeats));
    section.cautions.extend(coarse);
    findings.add(section);
    findings.settings.push(conventions);
    if let Some((_, parts)) = rows.split_last() {
        draw_components(findings, parts, shown);
    }
}

fn percent(share: f64) -> String {
    format!("{} %", format_to(share * 100.0, 1))
}

fn table(rows: &[(&str, &Component)], shown: &Shown) -> Table {
    let columns = [
        "part",
        "standard deviation",
        "from",
        "to",
        "of the variance",
        "of the study's spread",
        "of the tolerance",
    ];
    let row = |(name, part): &(&str, &Component)| {
        let limits = part.deviation_limits.as_ref();
        let end = |mm: Option<f64>| mm.map_or_else(|| "–".to_owned(), |mm| shown.fine(mm));
        vec![
            (*name).to_owned(),
            shown.fine(part.deviation()),
            end(limits.ok().map(|limits| limits.low)),
            end(limits.ok().map(|limits| limits.high)),
            percent(part.contribution),
            percent(part.share_of_study),
            part.share_of_tolerance
                .map_or_else(|| "–".to_owned(), percent),
        ]
    };
    Table {
        columns: columns.map(str::to_owned).to_vec(),
        rows: rows.iter().map(row).collect(),
    }
}

fn draw_components(findings: &mut Findings, rows: &[(&str, &Component)], shown: &Shown) {
    let component = |(name, part): &(&str, &Component)| chart::Component {
        name: (*name).to_owned(),
        percent: vec![
            Some(part.contribution * 100.0),
            Some(part.share_of_study * 100.0),
            part.share_of_tolerance.map(|share| share * 100.0),
        ],
        remark: String::new(),
    };
    let data = chart::Components {
        heading: findings.heading(),
        measures: [
            "of the variance",
            "of the study's spread",
            "of the tolerance",
        ]
        .map(str::to_owned)
        .to_vec(),
        components: rows.iter().map(component).collect(),
    };
    findings.draw("components", chart::components(&data, &shown.format));
}
