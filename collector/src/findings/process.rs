//! Is the process steady, and does it keep the limits?
//!
//! Repeats on one piece say nothing of the process: the means of the pieces are charted as individuals, and the
//! ranges of the repeats as a chart of the gauge.

use std::collections::{HashMap, HashSet};

use overwire_core::stats::capability::{
    Capability, CapabilitySettings, Evidence, Refused, Shape, Steadiness, Tolerance,
};
use overwire_core::stats::limits::Sigma;
use overwire_core::stats::pieces::Pieces;
use overwire_core::stats::run_chart::RunChart;
use overwire_core::stats::run_rules::RunRules;
use overwire_core::stats::series::Series;
use overwire_core::stats::{Moments, Readings, Undefined};
use overwire_core::thread::Limits;

use super::held::Held;
use super::percentiles::percentiles;
use super::pictures::{Individually, lines, places, summary};
use super::signals::{Order, patterns, told_signals};
use super::{Findings, Section, Shown, Table, drift, heading, pictures};
use crate::chart;

/// One reading of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceReading {
    /// The piece's number, or whatever orders the pieces.
    pub piece: i64,
    /// Pitch diameter, mm.
    pub mm: f64,
    /// Why it does not count, where a person left it out.
    pub left_out: Option<String>,
}

/// What is asked about.
#[derive(Debug, Clone)]
pub struct Question {
    /// Job and feature, or the name of a column.
    pub title: String,
    /// Thread, dates and the like.
    pub about: String,
    /// What is measured.
    pub quantity: String,
    /// The readings, in the order they were taken.
    pub readings: Vec<PieceReading>,
    /// The limits, mm.
    pub limits: Option<(Option<f64>, Option<f64>)>,
    /// Step of the display, mm.
    pub step_mm: Option<f64>,
    /// Which runs are looked for.
    pub rules: RunRules,
    /// Whether the limits come from so many pieces at the start only.
    pub freeze_after: Option<usize>,
    /// The distribution the pieces are known to have, where it is not normal.
    pub shape: Option<Shape>,
}

impl Question {
    /// Limits of a thread.
    pub fn limits_of(limits: Option<&Limits>) -> Option<(Option<f64>, Option<f64>)> {
        limits.map(|limits| {
            (
                Some(limits.pitch_diameter_min.mm()),
                Some(limits.pitch_diameter_max.mm()),
            )
        })
    }
}

/// Everything that is said of a process.
///
/// # Errors
/// There is not a single reading that counts, or one that is no number.
pub fn process(question: &Question, shown: &Shown) -> Result<Findings, Undefined> {
    let counted = question.readings.iter().filter(|r| r.left_out.is_none());
    let pieces = Pieces::of(counted.map(|reading| (reading.piece, reading.mm)))?;
    let (series, order) = series_of(question, &pieces)?;
    let mut findings = Findings {
        title: question.title.clone(),
        about: question.about.clone(),
        ..Findings::default()
    };
    let held = Held::of(&series, question.rules, question.freeze_after);
    steadiness(
        &mut findings,
        question,
        (&series, &order),
        held.as_ref(),
        shown,
    );
    gauge(&mut findings, &pieces, shown);
    let normal = drift::normality(&mut findings, question, &series, shown);
    let held = held.as_ref().ok();
    let basis = Basis {
        within: held.map(|held| held.chart.sigma),
        steadiness: held.map_or(Steadiness::Unknown, |held| Steadiness::of(&held.signals)),
        normality: normal,
        gauge: pieces.gauge().ok().map(|gauge| gauge.sigma.sigma),
    };
    capability(&mut findings, question, &series, &basis, shown)?;
    if let Some(held) = held {
        drift::shifts(&mut findings, (&series, &order), &held.chart, shown);
    }
    drift::wear(&mut findings, question, &series, shown);
    Ok(findings)
}

/// Piece means in order; a piece of which every reading was left out stays as a gap.
fn series_of(question: &Question, pieces: &Pieces<i64>) -> Result<(Series, Order), Undefined> {
    let (mut series, mut order) = (Series::default(), Order::default());
    let mut seen = HashSet::new();
    let means = pieces.pieces.iter().map(|piece| (piece.name, piece.mean()));
    let means: HashMap<i64, f64> = means.collect();
    for reading in &question.readings {
        if !seen.insert(reading.piece) {
            continue;
        }
        match (means.get(&reading.piece), &reading.left_out) {
            (Some(mean), _) => series.push(*mean)?,
            (None, Some(reason)) => series.push_excluded(reading.mm, reason)?,
            (None, None) => continue,
        }
        order.0.push(reading.piece);
    }
    Ok((series, order))
}

/// The answer on limits of single pieces.
pub(super) const INDIVIDUALS: &str = "Individuals and moving range";

fn steadiness(
    findings: &mut Findings,
    question: &Question,
    (series, order): (&Series, &Order),
    held: Result<&Held, &Undefined>,
    shown: &Shown,
) {
    let run = RunChart::of(series);
    let mut sentences: Vec<String> = run.iter().map(RunChart::sentence).collect();
    let held = match held {
        Ok(held) => held,
        Err(reason) => {
            findings.add(Section::said("Is it steady?", sentences));
            findings.add(Section::undefined(INDIVIDUALS, reason));
            draw_run(findings, question, (series, order), None, shown);
            return;
        }
    };
    sentences.insert(0, held.verdict());
    sentences.push(held.chart.sentence(shown.unit, shown.places));
    sentences.extend(patterns(&held.signals, &held.judged, order));
    let out = question.readings.iter().filter(|r| r.left_out.is_some());
    sentences.extend(left_out(out.count()));
    let mut section = Section::said("Is it steady?", sentences);
    section.cautions.extend(held.caution());
    section.cautions.extend(order.caution());
    findings.add(section);
    findings.settings.push(held.chart.settings.settings_words());
    findings.settings.extend(held.settings_words());
    findings.settings.push(question.rules.settings_words());
    let told = told_signals(&held.signals, &held.judged, order);
    draw_run(
        findings,
        question,
        (series, order),
        Some((held, &told)),
        shown,
    );
    draw_individuals(findings, question, (series, order), (held, told), shown);
}

/// How many readings a person left out.
pub(super) fn left_out(count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some("1 reading was left out by a person, with the reason.".to_owned()),
        count => Some(format!(
            "{count} readings were left out by a person, each with its reason."
        )),
    }
}

/// The limits of the single piece, for a picture.
pub(super) fn tolerance(question: &Question, shown: &Shown) -> Option<chart::Tolerance> {
    let (lower, upper) = question.limits?;
    Some(chart::Tolerance {
        lower: lower.map(|mm| shown.value(mm)),
        upper: upper.map(|mm| shown.value(mm)),
        guard: 0.0,
    })
}

fn draw_run(
    findings: &mut Findings,
    question: &Question,
    (series, order): (&Series, &Order),
    held: Option<(&Held, &[chart::Signal])>,
    shown: &Shown,
) {
    let (values, exclusions) = places(series, shown);
    let data = chart::RunChart {
        heading: heading(&question.title, &question.about),
        quantity: shown.quantity(&question.quantity),
        noun: order.noun().to_owned(),
        values,
        summary: summary(series, shown),
        exclusions,
        tolerance: tolerance(question, shown),
        limits: held
            .map(|(held, _)| lines(&held.chart.limits, shown))
            .unwrap_or_default(),
        signals: held.map_or_else(Vec::new, |(_, told)| told.to_vec()),
        marks: held.map(|(held, _)| held.marks(series)).unwrap_or_default(),
        zoomed: false,
    };
    findings.draw("run", chart::run_chart(&data, &shown.format));
}

fn draw_individuals(
    findings: &mut Findings,
    question: &Question,
    (series, order): (&Series, &Order),
    (held, signals): (&Held, Vec<chart::Signal>),
    shown: &Shown,
) {
    let drawn = Individually {
        title: &question.title,
        about: &question.about,
        quantity: &question.quantity,
        noun: order.noun(),
        series,
        chart: &held.chart,
        signals,
        marks: held.marks(series),
        notes: Vec::new(),
    };
    findings.draw("individuals", pictures::individuals(drawn, shown));
}

/// The answer on repeats.
pub(super) const GAUGE: &str = "Repeats on one piece: the gauge";

/// How well readings of one piece repeat.
pub(super) fn repeat_words(sigma: &Sigma, shown: &Shown) -> String {
    format!(
        "Readings of one piece repeat with a standard deviation of {} {} ({} degrees of freedom).",
        shown.fine(sigma.sigma),
        shown.unit,
        overwire_core::decimal::format_to(sigma.degrees_of_freedom, 1)
    )
}

fn gauge(findings: &mut Findings, pieces: &Pieces<i64>, shown: &Shown) {
    if pieces.pieces.iter().all(|piece| piece.readings.len() < 2) {
        return;
    }
    let gauge = match pieces.gauge() {
        Ok(gauge) => gauge,
        Err(reason) => return findings.add(Section::undefined(GAUGE, &reason)),
    };
    let signals = gauge.signals();
    let mut sentences = vec![repeat_words(&gauge.sigma, shown)];
    for index in signals {
        if let Some(piece) = pieces.pieces.get(index) {
            sentences.push(format!(
                "Piece {}: its readings lie too far apart. Did a wire slip, or was there a chip?",
                piece.name
            ));
        }
    }
    findings.add(Section::said(GAUGE, sentences));
}

/// What a chart and its readings say before limits are asked about.
pub(super) struct Basis {
    /// The spread from piece to piece.
    pub within: Option<Sigma>,
    /// What the chart says.
    pub steadiness: Steadiness,
    /// How often chance alone would make normal readings look like these.
    pub normality: Option<f64>,
    /// The spread of the gauge.
    pub gauge: Option<f64>,
}

/// Pieces that chance would make look like theirs less often than this do not scatter normally.
const NOT_NORMAL: f64 = 0.05;

/// Does it keep the limits, if there are any?
pub(super) fn capability(
    findings: &mut Findings,
    question: &Question,
    series: &Series,
    basis: &Basis,
    shown: &Shown,
) -> Result<(), Undefined> {
    let Some((lower, upper)) = question.limits else {
        return Ok(());
    };
    let tolerance = Tolerance::new(lower, upper)?;
    let moments = Moments::of(&Readings::of_numbers(series.readings())?)?;
    let extremes = series
        .readings()
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), mm| {
            (low.min(*mm), high.max(*mm))
        });
    let evidence = Evidence {
        within: basis.within,
        steadiness: basis.steadiness,
        step: question.step_mm,
        normality: basis.normality,
        gauge: basis.gauge,
        ..Evidence::without_chart(moments, extremes)
    };
    let within = |mm: &f64| lower.is_none_or(|l| *mm >= l) && upper.is_none_or(|u| *mm <= u);
    match series.readings().iter().any(within) {
        true => say_capability(findings, &evidence, &tolerance, shown),
        false => findings.add(none_inside(moments.count)),
    }
    let not_normal = basis.normality.is_some_and(|chance| chance < NOT_NORMAL);
    if not_normal || question.shape.is_some() {
        percentiles(
            findings,
            series.readings(),
            &tolerance,
            question.shape,
            shown,
        );
    }
    findings.add(figures(&moments, extremes, shown));
    draw_histogram(findings, question, series, &moments, shown);
    Ok(())
}

/// The answer on limits.
pub(super) const LIMITS_KEPT: &str = "Does it keep the limits?";

/// What there is to say where no piece keeps the limits.
pub(super) fn none_inside(pieces: usize) -> Section {
    let sentence =
        format!("No: not one of {pieces} lies inside. Is the unit right, and are the limits?");
    Section::said(LIMITS_KEPT, vec![sentence])
}

fn say_capability(
    findings: &mut Findings,
    evidence: &Evidence,
    tolerance: &Tolerance,
    shown: &Shown,
) {
    let settings = CapabilitySettings::default();
    say_found(
        findings,
        &Capability::of(evidence, tolerance, settings),
        shown,
    );
}

/// What was found of capability, or why it is refused.
pub(super) fn say_found(
    findings: &mut Findings,
    found: &Result<Capability, Box<Refused>>,
    shown: &Shown,
) {
    match found {
        Ok(found) => {
            let mut section = Section::said(LIMITS_KEPT, vec![found.sentence()]);
            let indices = found.within.iter().chain([&found.overall]);
            section
                .sentences
                .extend(indices.map(|indices| indices.words()));
            section.cautions = found.caution_sentences(shown.unit, shown.places);
            findings.add(section);
            findings.settings.push(found.settings.settings_words());
        }
        Err(refused) => findings.add(Section::said(
            LIMITS_KEPT,
            vec![
                refused.sentence(),
                refused.figures(shown.unit, shown.places),
            ],
        )),
    }
}

/// The plain figures of the pieces.
pub(super) fn figures(moments: &Moments, (least, greatest): (f64, f64), shown: &Shown) -> Section {
    Section {
        heading: "Figures".to_owned(),
        table: Some(Table {
            columns: ["pieces", "mean", "standard deviation", "least", "greatest"]
                .map(str::to_owned)
                .to_vec(),
            rows: vec![vec![
                moments.count.to_string(),
                shown.fine(moments.mean),
                shown.figure(moments.standard_deviation()),
                shown.fine(least),
                shown.fine(greatest),
            ]],
        }),
        ..Section::default()
    }
}

/// A curve is drawn from so many pieces on.
const CURVE_FROM: usize = 30;

fn draw_histogram(
    findings: &mut Findings,
    question: &Question,
    series: &Series,
    moments: &Moments,
    shown: &Shown,
) {
    let summary = summary(series, shown);
    let curve = summary
        .mean
        .zip(summary.standard_deviation)
        .filter(|_| moments.count >= CURVE_FROM);
    let data = chart::Histogram {
        heading: heading(&question.title, &question.about),
        quantity: shown.quantity(&question.quantity),
        noun: "piece".to_owned(),
        values: series
            .readings()
            .iter()
            .map(|mm| shown.value(*mm))
            .collect(),
        summary,
        tolerance: tolerance(question, shown),
        density: curve.map(|(mean, deviation)| chart::Density::normal(mean, deviation)),
        zoomed: false,
    };
    findings.draw("histogram", chart::histogram(&data, &shown.format));
}
