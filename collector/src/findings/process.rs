//! Is the process steady, and does it keep the limits?
//!
//! Repeats on one piece say nothing of the process: the means of the pieces are charted as individuals, and the
//! ranges of the repeats as a chart of the gauge.

use overwire_core::stats::capability::{
    Capability, CapabilitySettings, Evidence, Steadiness, Tolerance,
};
use overwire_core::stats::individuals::{Individuals, IndividualsSettings, moving_ranges};
use overwire_core::stats::limits::ControlLimits;
use overwire_core::stats::pieces::Pieces;
use overwire_core::stats::run_chart::RunChart;
use overwire_core::stats::run_rules::{Book, Explanation, RunRules, Signals};
use overwire_core::stats::series::Series;
use overwire_core::stats::{Moments, Readings, Undefined};
use overwire_core::thread::Limits;

use super::{Findings, Section, Shown, Table, drift, heading};
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
    let series = series_of(question, &pieces)?;
    let mut findings = Findings {
        title: question.title.clone(),
        about: question.about.clone(),
        ..Findings::default()
    };
    let chart = Individuals::of(&series, IndividualsSettings::default());
    steadiness(&mut findings, question, &series, chart.as_ref(), shown);
    gauge(&mut findings, &pieces, shown);
    let normal = drift::normality(&mut findings, question, &series, shown);
    let individuals = chart.as_ref().ok();
    capability(
        &mut findings,
        question,
        &pieces,
        &series,
        individuals,
        normal,
        shown,
    )?;
    if let Some(individuals) = individuals {
        drift::shifts(&mut findings, &series, individuals, shown);
    }
    drift::wear(&mut findings, question, &series, shown);
    Ok(findings)
}

/// Piece means in order; a piece of which every reading was left out stays as a gap.
fn series_of(question: &Question, pieces: &Pieces<i64>) -> Result<Series, Undefined> {
    let mut series = Series::default();
    let mut seen = std::collections::BTreeSet::new();
    for reading in &question.readings {
        if !seen.insert(reading.piece) {
            continue;
        }
        let piece = pieces
            .pieces
            .iter()
            .find(|piece| piece.name == reading.piece);
        match (piece, &reading.left_out) {
            (Some(piece), _) => series.push(piece.mean())?,
            (None, Some(reason)) => series.push_excluded(reading.mm, reason)?,
            (None, None) => {}
        }
    }
    Ok(series)
}

fn steadiness(
    findings: &mut Findings,
    question: &Question,
    series: &Series,
    chart: Result<&Individuals, &Undefined>,
    shown: &Shown,
) {
    let run = RunChart::of(series);
    let mut sentences: Vec<String> = run.iter().map(RunChart::sentence).collect();
    let chart = match chart {
        Ok(chart) => chart,
        Err(reason) => {
            findings.add(Section::said("Is it steady?", sentences));
            findings.add(Section::undefined("Individuals and moving range", reason));
            draw_run(findings, question, series, None, shown);
            return;
        }
    };
    let signals = chart.signals(series, question.rules);
    sentences.insert(0, verdict(&signals, chart));
    sentences.push(chart.sentence(shown.unit, shown.places));
    let told = told_signals(&signals, series);
    sentences.extend(patterns(&signals, series));
    findings.add(Section::said("Is it steady?", sentences));
    findings.settings.push(chart.settings.settings_words());
    findings.settings.push(question.rules.settings_words());
    draw_run(findings, question, series, Some((chart, &told)), shown);
    draw_individuals(findings, question, series, chart, told, shown);
}

fn verdict(signals: &Signals, chart: &Individuals) -> String {
    let standing = chart.standing.words();
    match signals.hits.len() {
        0 => format!("Steady as far as these rules see. The limits: {standing}."),
        1 => format!("Not steady: 1 point stands out. The limits: {standing}."),
        hits => format!("Not steady: {hits} points stand out. The limits: {standing}."),
    }
}

/// Most patterns told one by one.
const MOST_PATTERNS: usize = 20;

/// Every pattern once, as long as it grew.
fn patterns(signals: &Signals, series: &Series) -> Vec<String> {
    let mut patterns: Vec<Explanation> = Vec::new();
    for hit in &signals.hits {
        for explained in signals.explain(series, hit) {
            let grown = |known: &Explanation| {
                (known.rule, known.first) == (explained.rule, explained.first)
            };
            match patterns.iter_mut().find(|known| grown(known)) {
                Some(known) => *known = explained,
                None => patterns.push(explained),
            }
        }
    }
    let further = patterns.len().saturating_sub(MOST_PATTERNS);
    let mut told: Vec<String> = patterns
        .iter()
        .take(MOST_PATTERNS)
        .map(Explanation::sentence)
        .collect();
    if further > 0 {
        told.push(format!("And {further} further signals."));
    }
    told
}

/// Each hit in words, at its place on the chart.
fn told_signals(signals: &Signals, series: &Series) -> Vec<chart::Signal> {
    let mut told = Vec::new();
    for hit in &signals.hits {
        for explained in signals.explain(series, hit) {
            let number = explained.rule.number(Book::Nelson1984);
            told.push(chart::Signal {
                index: series.place(hit.index).saturating_sub(1),
                rule: number.map_or_else(String::new, |number| number.to_string()),
                words: explained.sentence(),
            });
        }
    }
    told
}

/// The values of a chart by place: none where a reading is missing; left-out ones with their reason.
fn places(series: &Series, shown: &Shown) -> (Vec<Option<f64>>, Vec<chart::Exclusion>) {
    use overwire_core::stats::series::Gap;
    let mut values = vec![None; series.places()];
    let mut exclusions = Vec::new();
    for (index, mm) in series.readings().iter().enumerate() {
        if let Some(value) = values.get_mut(series.place(index).saturating_sub(1)) {
            *value = Some(shown.value(*mm));
        }
    }
    let mut gaps = series
        .gaps()
        .iter()
        .filter(|gap| !matches!(gap.gap, Gap::FreshStart { .. }));
    let empty: Vec<usize> = (0..values.len())
        .filter(|&at| values[at].is_none())
        .collect();
    for at in empty {
        if let Some(gap) = gaps.next()
            && let Gap::Excluded { reading, reason } = &gap.gap
        {
            values[at] = Some(shown.value(*reading));
            exclusions.push(chart::Exclusion {
                index: at,
                reason: reason.clone(),
            });
        }
    }
    (values, exclusions)
}

pub(super) fn lines(limits: &ControlLimits, shown: &Shown) -> Vec<chart::ControlLimits> {
    vec![chart::ControlLimits {
        from: 0,
        lower: limits.lower.map(|mm| shown.value(mm)),
        centre: Some(shown.value(limits.centre)),
        upper: limits.upper.map(|mm| shown.value(mm)),
    }]
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

fn summary(series: &Series, shown: &Shown) -> chart::Summary {
    let moments =
        Readings::of_numbers(series.readings()).and_then(|readings| Moments::of(&readings));
    chart::Summary {
        mean: moments
            .as_ref()
            .ok()
            .map(|moments| shown.value(moments.mean)),
        standard_deviation: moments
            .and_then(|moments| moments.standard_deviation())
            .ok()
            .map(|mm| shown.value(mm)),
    }
}

fn draw_run(
    findings: &mut Findings,
    question: &Question,
    series: &Series,
    limits: Option<(&Individuals, &Vec<chart::Signal>)>,
    shown: &Shown,
) {
    let (values, exclusions) = places(series, shown);
    let data = chart::RunChart {
        heading: heading(&question.title, &question.about),
        quantity: shown.quantity(&question.quantity),
        noun: "piece".to_owned(),
        values,
        summary: summary(series, shown),
        exclusions,
        tolerance: tolerance(question, shown),
        limits: limits
            .map(|(chart, _)| lines(&chart.limits, shown))
            .unwrap_or_default(),
        signals: limits.map(|(_, told)| told.clone()).unwrap_or_default(),
        marks: Vec::new(),
        zoomed: false,
    };
    findings.draw("run", chart::run_chart(&data, &shown.format));
}

fn draw_individuals(
    findings: &mut Findings,
    question: &Question,
    series: &Series,
    individuals: &Individuals,
    signals: Vec<chart::Signal>,
    shown: &Shown,
) {
    let (values, exclusions) = places(series, shown);
    let mut ranges = vec![None; values.len()];
    for (index, range) in moving_ranges(series).enumerate() {
        if let Some(place) = ranges.get_mut(series.place(index).saturating_sub(1)) {
            *place = range.map(|mm| shown.value(mm));
        }
    }
    let data = chart::ControlChart {
        heading: heading(&question.title, &question.about),
        quantity: shown.quantity(&question.quantity),
        noun: "piece".to_owned(),
        upper: chart::ControlPanel {
            kind: chart::PanelKind::Individuals,
            values,
            exclusions,
            limits: lines(&individuals.limits, shown),
            signals,
        },
        lower: chart::ControlPanel {
            kind: chart::PanelKind::MovingRanges,
            values: ranges,
            exclusions: Vec::new(),
            limits: lines(&individuals.range_limits, shown),
            signals: wide_steps(series, individuals),
        },
        marks: Vec::new(),
    };
    findings.draw("individuals", chart::control_chart(&data, &shown.format));
}

fn wide_steps(series: &Series, individuals: &Individuals) -> Vec<chart::Signal> {
    individuals
        .wide_steps(series)
        .into_iter()
        .map(|index| chart::Signal {
            index: series.place(index).saturating_sub(1),
            rule: "1".to_owned(),
            words: format!(
                "The step to piece {} is wider than chance.",
                series.place(index)
            ),
        })
        .collect()
}

fn gauge(findings: &mut Findings, pieces: &Pieces<i64>, shown: &Shown) {
    let heading = "Repeats on one piece: the gauge";
    if pieces.pieces.iter().all(|piece| piece.readings.len() < 2) {
        return;
    }
    let gauge = match pieces.gauge() {
        Ok(gauge) => gauge,
        Err(reason) => return findings.add(Section::undefined(heading, &reason)),
    };
    let signals = gauge.signals();
    let mut sentences = vec![format!(
        "Readings of one piece repeat with a standard deviation of {} {} ({} degrees of freedom).",
        shown.fine(gauge.sigma.sigma),
        shown.unit,
        overwire_core::decimal::format_to(gauge.sigma.degrees_of_freedom, 1)
    )];
    for index in signals {
        if let Some(piece) = pieces.pieces.get(index) {
            sentences.push(format!(
                "Piece {}: its readings lie too far apart. Did a wire slip, or was there a chip?",
                piece.name
            ));
        }
    }
    findings.add(Section::said(heading, sentences));
}

fn capability(
    findings: &mut Findings,
    question: &Question,
    pieces: &Pieces<i64>,
    series: &Series,
    chart: Option<&Individuals>,
    normal: Option<f64>,
    shown: &Shown,
) -> Result<(), Undefined> {
    let Some((lower, upper)) = question.limits else {
        return Ok(());
    };
    let tolerance_mm = Tolerance::new(lower, upper)?;
    let readings = Readings::of_numbers(series.readings())?;
    let moments = Moments::of(&readings)?;
    let extremes = series
        .readings()
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), mm| {
            (low.min(*mm), high.max(*mm))
        });
    let steadiness = chart.map_or(Steadiness::Unknown, |chart| {
        Steadiness::of(&chart.signals(series, question.rules))
    });
    let evidence = Evidence {
        within: chart.map(|chart| chart.sigma),
        steadiness,
        step: question.step_mm,
        normality: normal,
        gauge: pieces.gauge().ok().map(|gauge| gauge.sigma.sigma),
        ..Evidence::of(moments, extremes, placeholder(&moments)?, steadiness)
    };
    let settings = CapabilitySettings::default();
    match Capability::of(&evidence, &tolerance_mm, settings) {
        Ok(found) => {
            let mut section = Section::said("Does it keep the limits?", vec![found.sentence()]);
            let indices = found.within.iter().chain([&found.overall]);
            section
                .sentences
                .extend(indices.map(|indices| indices.words()));
            section.cautions = found.caution_sentences(shown.unit, shown.places);
            findings.add(section);
            findings.settings.push(settings.settings_words());
        }
        Err(refused) => findings.add(Section::said(
            "Does it keep the limits?",
            vec![
                refused.sentence(),
                refused.figures(shown.unit, shown.places),
            ],
        )),
    }
    findings.add(figures(&moments, extremes, shown));
    draw_histogram(findings, question, series, &moments, shown);
    Ok(())
}

/// The overall sigma, in the place of one from neighbours where there is none.
fn placeholder(moments: &Moments) -> Result<overwire_core::stats::limits::Sigma, Undefined> {
    overwire_core::stats::capability::overall(moments)
}

fn figures(moments: &Moments, (least, greatest): (f64, f64), shown: &Shown) -> Section {
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
