//! Masters: does the bias change with size, does the measurement stay the same?

use overwire_core::decimal::format_to;
use overwire_core::stats::line::Line;
use overwire_core::stats::{Figure, Interval, Undefined};
use overwire_core::study::{Level, LevelBias, Linearity, Stability, Visit};

use super::coarse::{Spread, within};
use super::pictures::lines;
use super::{Findings, Section, Shown, Table};
use crate::chart;

/// Places along the sizes at which the line is drawn.
const PLACES: u32 = 60;

/// Whether the bias changes along the range; masters in mm. Gives what was found, for who goes on from it.
pub fn linearity(findings: &mut Findings, levels: &[Level], shown: &Shown) -> Option<Linearity> {
    let title = "Does the bias change with size?";
    let found = match Linearity::of(levels, 0.95) {
        Ok(found) => found,
        Err(reason) => {
            findings.add(Section::undefined(title, &reason));
            return None;
        }
    };
    let mut section = Section::said(title, found.sentences(shown.unit, shown.places));
    section.table = Some(levels_table(&found, shown));
    let repeats = within(levels.iter().map(|level| level.readings.as_slice()));
    let coarse = findings.mind_display(Spread::of_study(shown.step_mm(), repeats));
    section.cautions.extend(coarse);
    findings.add(section);
    findings.add(each_master(&found, shown));
    if !found.bend_is_shown() {
        findings.add(tested(&found, shown));
    }
    findings.settings.push(found.settings_words());
    draw_bias(findings, levels, &found, shown);
    Some(found)
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
    table(columns.into_iter().take(told), found.levels.iter().map(row))
}

fn table<'a>(
    columns: impl Iterator<Item = &'a str>,
    rows: impl Iterator<Item = Vec<String>>,
) -> Table {
    Table {
        columns: columns.map(str::to_owned).collect(),
        rows: rows.collect(),
    }
}

/// Each master by its own repeats, against no bias.
fn each_master(found: &Linearity, shown: &Shown) -> Section {
    let row = |level: &LevelBias| {
        let estimate = level.estimate();
        let interval = estimate.and_then(|estimate| estimate.interval(found.confidence));
        let mut cells = vec![
            shown.fine(level.reference),
            shown.fine(level.bias),
            shown.figure(level.deviation.map(|repeats| repeats.deviation)),
        ];
        cells.extend(test(
            estimate.and_then(|estimate| estimate.t_against(0.0)),
            estimate.and_then(|estimate| estimate.probability_against(0.0)),
        ));
        cells.extend(ends(interval, |mm| shown.fine(mm)));
        cells
    };
    let columns = [
        "master",
        "mean bias",
        "standard deviation",
        "t",
        "by chance",
        "from",
        "to",
    ];
    Section {
        table: Some(table(columns.into_iter(), found.levels.iter().map(row))),
        ..Section::said(
            "Does each master read what it is?",
            vec!["Each by its own repeats, against no bias.".to_owned()],
        )
    }
}

/// Slope and height of the line, each against none.
fn tested(found: &Linearity, shown: &Shown) -> Section {
    let line: &Line = &found.line;
    let plain = |number: f64| format_to(number, 7);
    let mut slope = vec!["slope, for every one of size".to_owned(), plain(line.slope)];
    slope.push(dashed(line.slope_error(), plain));
    slope.extend(test(line.slope_student(), line.slope_chance()));
    slope.extend(ends(line.slope_interval(found.confidence), plain));
    let mut height = vec![
        "bias by the line at size 0".to_owned(),
        shown.fine(line.intercept),
    ];
    height.push(dashed(line.height_error(0.0), |mm| shown.fine(mm)));
    height.extend(test(line.intercept_student(), line.intercept_chance()));
    let interval = line.height_interval(0.0, found.confidence);
    height.extend(ends(interval, |mm| shown.fine(mm)));
    let columns = [
        "of",
        "figure",
        "standard error",
        "t",
        "by chance",
        "from",
        "to",
    ];
    let about = dashed(line.residual_deviation(), |mm| shown.fine(mm));
    let explained = dashed(line.explained(), |share| format_to(share * 100.0, 1));
    Section {
        table: Some(table(columns.into_iter(), [slope, height].into_iter())),
        ..Section::said(
            "What the line is worth",
            vec![
                format!(
                    "Readings scatter about the line by {about} {} (standard deviation).",
                    shown.unit
                ),
                format!(
                    "The line explains {explained} % of what the biases vary (R squared); |t| above {} is more than chance.",
                    format_to(found.critical, 3)
                ),
            ],
        )
    }
}

fn dashed(figure: Figure, text: impl Fn(f64) -> String) -> String {
    figure.map_or_else(|reason| format!("– ({reason})"), text)
}

/// A t with the probability of one as large by chance.
fn test(student: Figure, chance: Figure) -> [String; 2] {
    let t = student.map_or_else(|_| "–".to_owned(), |t| format_to(t, 3));
    [t, chance.map_or_else(|_| "–".to_owned(), self::chance)]
}

/// A probability in a table.
pub(super) fn chance(chance: f64) -> String {
    match chance < 0.0001 {
        true => "below 0.0001".to_owned(),
        false => format_to(chance, 4),
    }
}

fn ends(interval: Result<Interval, Undefined>, text: impl Fn(f64) -> String) -> [String; 2] {
    match interval {
        Ok(interval) => [text(interval.low), text(interval.high)],
        Err(_) => ["–".to_owned(), "–".to_owned()],
    }
}

fn draw_bias(findings: &mut Findings, levels: &[Level], found: &Linearity, shown: &Shown) {
    let points = levels.iter().flat_map(|level| {
        let bias = |reading: &f64| shown.value(reading - level.reference);
        let size = shown.value(level.reference);
        level.readings.iter().map(move |mm| (size, bias(mm)))
    });
    let means = found.levels.iter();
    let data = chart::BiasOverSize {
        heading: findings.heading(),
        quantity: shown.quantity("Bias"),
        along: shown.quantity("Size of the master"),
        points: points.collect(),
        means: means
            .map(|level| (shown.value(level.reference), shown.value(level.bias)))
            .collect(),
        line: match found.bend_is_shown() {
            true => Vec::new(),
            false => heights(found, shown),
        },
        basis: "Interval of the line's height: 95 %".to_owned(),
    };
    findings.draw("bias", chart::bias_over_size(&data, &shown.format));
}

/// The line with its interval, from the smallest master to the largest.
fn heights(found: &Linearity, shown: &Shown) -> Vec<chart::Height> {
    let sizes = || found.levels.iter().map(|level| level.reference);
    let least = sizes().fold(f64::INFINITY, f64::min);
    let most = sizes().fold(f64::NEG_INFINITY, f64::max);
    let height = |place: u32| {
        let size = least + (most - least) * f64::from(place) / f64::from(PLACES);
        let interval = found.line.height_interval(size, found.confidence).ok()?;
        Some(chart::Height {
            along: shown.value(size),
            value: shown.value(found.line.at(size)),
            low: shown.value(interval.low),
            high: shown.value(interval.high),
        })
    };
    (0..=PLACES).filter_map(height).collect()
}

/// Whether a master still measures what it did, visit by visit; sizes in mm.
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
            let repeats = within(visits.iter().map(|visit| visit.readings.as_slice()));
            let between = found.chart.map(|chart| chart.sigma.sigma).ok();
            let spread = Spread::of_study(shown.step_mm(), repeats.or(between));
            let coarse = findings.mind_display(spread);
            findings.add(Section {
                cautions: coarse.into_iter().collect(),
                ..Section::said(title, found.sentences(shown.unit, shown.places))
            });
            findings.settings.push(found.settings_words());
            draw_visits(findings, &found, quantity, shown);
        }
    }
}

fn draw_visits(findings: &mut Findings, found: &Stability, quantity: &str, shown: &Shown) {
    let signal = |at: &usize| chart::Signal {
        index: *at,
        rule: "1".to_owned(),
        meaning: "a visit beyond a limit".to_owned(),
        words: format!("Visit {} lies beyond the limits.", at + 1),
    };
    let data = chart::RunChart {
        heading: findings.heading(),
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
