//! Masters and check pieces: does the bias change with size, does the measurement stay the same?

use overwire_core::study::{Level, LevelBias, Linearity, Stability, Visit};

use super::pictures::lines;
use super::{Findings, Section, Shown, Table, heading};
use crate::chart;

/// Whether the bias changes along the range; masters in mm.
pub fn linearity(findings: &mut Findings, levels: &[Level], shown: &Shown) {
    let title = "Does the bias change with size?";
    match Linearity::of(levels, 0.95) {
        Err(reason) => findings.add(Section::undefined(title, &reason)),
        Ok(found) => {
            let mut section = Section::said(title, found.sentences(shown.unit, shown.places));
            section.table = Some(levels_table(&found, shown));
            findings.add(section);
            findings.settings.push(found.settings_words());
        }
    }
}

/// Master by master; without the line where the bias bends.
fn levels_table(found: &Linearity, shown: &Shown) -> Table {
    let columns = ["master", "n", "mean bias", "bias by the line", "from", "to"];
    let told = match found.bend_is_shown() {
        true => 3,
        false => columns.len(),
    };
    let row = |level: &LevelBias| {
        let cells = [
            shown.fine(level.reference),
            level.count.to_string(),
            shown.fine(level.bias),
            shown.fine(level.line),
            shown.fine(level.interval.low),
            shown.fine(level.interval.high),
        ];
        cells.into_iter().take(told).collect()
    };
    Table {
        columns: columns.into_iter().take(told).map(str::to_owned).collect(),
        rows: found.levels.iter().map(row).collect(),
    }
}

/// Whether a check piece still measures what it did, visit by visit; sizes in mm.
pub fn stability(
    findings: &mut Findings,
    visits: &[Visit],
    reference_mm: Option<f64>,
    quantity: &str,
    shown: &Shown,
) {
    let title = "Does it stay the same?";
    match Stability::of(visits, reference_mm, 0.05) {
        Err(reason) => findings.add(Section::undefined(title, &reason)),
        Ok(found) => {
            findings.add(Section::said(
                title,
                found.sentences(shown.unit, shown.places),
            ));
            findings.settings.push(found.settings_words());
            draw_visits(findings, &found, quantity, shown);
        }
    }
}

fn draw_visits(findings: &mut Findings, found: &Stability, quantity: &str, shown: &Shown) {
    let signal = |at: &usize| chart::Signal {
        index: *at,
        rule: "1".to_owned(),
        words: format!("Visit {} lies beyond the limits.", at + 1),
    };
    let data = chart::RunChart {
        heading: heading(&findings.title, &findings.about),
        quantity: shown.quantity(quantity),
        noun: "visit".to_owned(),
        values: found
            .means
            .iter()
            .map(|mm| Some(shown.value(*mm)))
            .collect(),
        summary: chart::Summary::default(),
        exclusions: Vec::new(),
        tolerance: None,
        limits: match &found.chart {
            Ok(chart) => lines(&chart.limits, shown),
            Err(_) => Vec::new(),
        },
        signals: found.beyond.iter().map(signal).collect(),
        marks: Vec::new(),
        zoomed: true,
    };
    findings.draw("visits", chart::run_chart(&data, &shown.format));
}
