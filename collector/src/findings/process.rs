//! Is the process steady, and does it keep the limits?
//!
//! Repeats on one piece say nothing of the process: the means of the pieces are charted as individuals, and the
//! ranges of the repeats as a chart of the gauge.

use std::collections::{HashMap, HashSet};

use overwire_core::stats::capability::{Shape, Steadiness};
use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
use overwire_core::stats::limits::Sigma;
use overwire_core::stats::pieces::Pieces;
use overwire_core::stats::run_chart::RunChart;
use overwire_core::stats::run_rules::RunRules;
use overwire_core::stats::series::Series;
use overwire_core::stats::{Moments, Readings, Undefined};
use overwire_core::thread::Limits;

use super::coarse::{ON_CHARTS, Spread};
use super::held::Held;
use super::limits_kept::{Basis, capability, tolerance};
pub use super::phases::{Break, Freeze, PhaseError, ProcessError};
use super::pictures::{Individually, places, summary};
pub use super::shifts::{Target, Watch};
use super::signals::{Order, patterns, told_signals};
use super::{Findings, Section, Shown, drift, phases, pictures, shifts};
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
    /// Which pieces the limits come from.
    pub freeze: Freeze,
    /// Where phases begin.
    pub breaks: Vec<Break>,
    /// How pieces scatter, where they are known not to scatter normally.
    pub scatter: Option<Scatter>,
    /// How small shifts are looked for.
    pub watch: Watch,
}

/// How pieces scatter that do not scatter normally.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scatter {
    /// As a distribution does that is fitted to them.
    As(Shape),
    /// As they do: read off the pieces themselves.
    AsRead,
}

/// Pieces on their chart.
pub(super) struct Charted<'a> {
    /// What was asked.
    pub question: &'a Question,
    /// The piece means in order, with what was left out.
    pub series: Series,
    /// The numbers of the pieces.
    pub order: Order,
}

impl Question {
    /// How coarsely the means of the pieces are rounded, mm: of several readings so much the less.
    pub(super) fn step_of_a_mean(&self) -> Option<f64> {
        let counted = self.readings.iter().filter(|r| r.left_out.is_none());
        let readings = counted.clone().count().max(1) as f64;
        let pieces: HashSet<i64> = counted.map(|reading| reading.piece).collect();
        self.step_mm
            .map(|step| step * pieces.len() as f64 / readings)
    }

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
/// There is not a single reading that counts, or one that is no number; or the phases asked for cannot be had.
pub fn process(question: &Question, shown: &Shown) -> Result<Findings, ProcessError> {
    let (pieces, series, order) = ordered(question)?;
    let mut findings = Findings {
        title: question.title.clone(),
        about: question.about.clone(),
        ..Findings::default()
    };
    let starts = phases::starts(&series, &order, &question.breaks)?;
    let after = question.freeze.after(&series, &order, starts.len() + 1)?;
    let held = Held::of(&series, &order, starts, after, question.rules);
    let chart = held.as_ref().ok().and_then(|held| held.chart().ok());
    findings.mind_display(spread(question, &series, chart));
    let charted = Charted {
        question,
        series,
        order,
    };
    steadiness(&mut findings, &charted, held.as_ref(), shown);
    gauge(&mut findings, &pieces, shown);
    let held = held.ok();
    let latest = latest(&charted, held.as_ref());
    let now = latest.as_ref().unwrap_or(&charted);
    let chart = held.as_ref().and_then(|held| held.chart().ok());
    let basis = Basis {
        within: chart.map(|chart| chart.sigma),
        steadiness: held.as_ref().map_or(Steadiness::Unknown, Held::steadiness),
        normality: drift::normality(&mut findings, now, shown),
        gauge: pieces.gauge().ok().map(|gauge| gauge.sigma.sigma),
    };
    capability(&mut findings, now, &basis, shown)?;
    if let Some(chart) = chart {
        shifts::shifts(&mut findings, now, chart, shown);
    }
    let from = held
        .as_ref()
        .and_then(Held::latest)
        .map_or(0, |part| part.range.start);
    drift::wear(&mut findings, &charted, from, shown);
    Ok(findings)
}

/// The pieces of the last phase, where there are several.
fn latest<'a>(charted: &Charted<'a>, held: Option<&Held>) -> Option<Charted<'a>> {
    let part = held.filter(|held| held.in_phases())?.latest()?;
    let from = charted.series.place(part.range.start);
    Some(Charted {
        question: charted.question,
        series: charted.series.part(part.range.clone()),
        order: charted.order.since(from),
    })
}

/// How pieces spread, from one to the next where there is a chart.
fn spread(question: &Question, series: &Series, chart: Option<&Individuals>) -> Spread {
    let moments = || Moments::of(&Readings::of_numbers(series.readings()).ok()?).ok();
    let overall = || moments()?.standard_deviation().ok();
    Spread {
        step_mm: question.step_mm,
        deviation: chart.map(|chart| chart.sigma.sigma).or_else(overall),
        range_limit: chart.and_then(|chart| chart.range_limits.upper),
        blurred: ON_CHARTS,
    }
}

/// The pieces that count with their readings, and their means in order.
pub(super) fn ordered(question: &Question) -> Result<(Pieces<i64>, Series, Order), Undefined> {
    let counted = question.readings.iter().filter(|r| r.left_out.is_none());
    let pieces = Pieces::of(counted.map(|reading| (reading.piece, reading.mm)))?;
    let (series, order) = series_of(question, &pieces)?;
    Ok((pieces, series, order))
}

/// Piece means in order; a piece of which every reading was left out stays as a gap.
fn series_of(question: &Question, pieces: &Pieces<i64>) -> Result<(Series, Order), Undefined> {
    if question.readings.iter().all(|r| r.left_out.is_none()) {
        let names = pieces.pieces.iter().map(|piece| piece.name);
        return Ok((pieces.means(), Order(names.collect())));
    }
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
    charted: &Charted<'_>,
    held: Result<&Held, &Undefined>,
    shown: &Shown,
) {
    let (question, order) = (charted.question, &charted.order);
    // Phases of different levels have no median in common.
    let run = match held {
        Ok(held) if held.in_phases() => None,
        Ok(held) => RunChart::of(held.judged()).ok(),
        Err(_) => RunChart::of(&charted.series).ok(),
    };
    let mut sentences: Vec<String> = run.iter().map(RunChart::sentence).collect();
    let held = match held {
        Ok(held) => held,
        Err(reason) => {
            sentences.insert(0, format!("–: {reason}."));
            findings.add(Section::said("Is it steady?", sentences));
            findings.add(Section::undefined(INDIVIDUALS, reason));
            draw_run(findings, charted, None, shown);
            return;
        }
    };
    sentences.insert(0, held.verdict(order));
    if let (false, Ok(chart)) = (held.in_phases(), held.chart()) {
        sentences.push(chart.sentence(shown.unit, shown.places));
    }
    sentences.extend(held.steps(question.step_mm, shown));
    sentences.extend(patterns(&held.signals, held.judged(), order));
    let out = question.readings.iter().filter(|r| r.left_out.is_some());
    sentences.extend(left_out(out.count()));
    sentences.extend(held.rest_words(order));
    let mut section = Section::said("Is it steady?", sentences);
    section.table = held.table(order, shown);
    section.cautions.extend(held.cautions());
    section.cautions.extend(findings.coarse.clone());
    section.cautions.extend(order.caution());
    findings.add(section);
    let conventions = IndividualsSettings::default().settings_words();
    findings.settings.push(conventions);
    findings.settings.extend(held.settings_words(shown));
    findings.settings.push(question.rules.settings_words());
    let told = told_signals(&held.signals, held.judged(), order);
    draw_run(findings, charted, Some((held, &told)), shown);
    draw_individuals(findings, charted, (held, told), shown);
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

fn draw_run(
    findings: &mut Findings,
    charted: &Charted<'_>,
    held: Option<(&Held, &[chart::Signal])>,
    shown: &Shown,
) {
    let (question, series, order) = (charted.question, &charted.series, &charted.order);
    let (values, exclusions) = places(series, shown);
    let data = chart::RunChart {
        heading: findings.heading(),
        quantity: shown.quantity(&question.quantity),
        noun: order.noun().to_owned(),
        values,
        summary: summary(series, shown),
        exclusions,
        tolerance: tolerance(question, shown),
        limits: held
            .map(|(held, _)| held.drawn(order, shown).limits)
            .unwrap_or_default(),
        signals: held.map_or_else(Vec::new, |(_, told)| told.to_vec()),
        marks: held.map(|(held, _)| held.marks()).unwrap_or_default(),
        zoomed: false,
    };
    findings.draw("run", chart::run_chart(&data, &shown.format));
}

fn draw_individuals(
    findings: &mut Findings,
    charted: &Charted<'_>,
    (held, signals): (&Held, Vec<chart::Signal>),
    shown: &Shown,
) {
    let drawn = Individually {
        heading: findings.heading(),
        quantity: shown.quantity(&charted.question.quantity),
        noun: charted.order.noun(),
        series: held.judged(),
        drawn: held.drawn(&charted.order, shown),
        signals,
        marks: held.marks(),
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
