//! A few pieces of one thread, a few of the next: is the machine steady over all of them?
//!
//! No run is long enough for limits of its own. What they share is the machine, so the deviations from what was
//! aimed at go on one chart. Where the parts spread differently each deviation is counted in its part's sigma too.

use std::collections::BTreeMap;

use overwire_core::decimal::format_to;
use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
use overwire_core::stats::run_rules::{Explanation, RunRules, Signals};
use overwire_core::stats::short_run::{Deviations, PartChange, Run, SpreadsCompared, Standardised};
use overwire_core::stats::{Moments, Readings, Undefined};
use overwire_core::units::Unit;

use super::coarse::{ON_CHARTS, Spread};
use super::phasing::FEW_POINTS;
use super::pictures::{self, Drawn, Individually, lines, wide_signals};
use super::signals::{Order, patterns_of, told_signals};
use super::{Findings, Section, Shown, Table};
use crate::chart;

/// What is asked about.
#[derive(Debug, Clone)]
pub struct Question {
    /// Name of the column.
    pub title: String,
    /// Name of the file.
    pub about: String,
    /// What is measured.
    pub quantity: String,
    /// The runs in order, mm.
    pub runs: Vec<Run>,
    /// Which runs are looked for.
    pub rules: RunRules,
    /// Whether deviations are counted in their part's sigma too where the parts spread alike.
    pub standardised: bool,
    /// Step of the display, mm.
    pub step_mm: Option<f64>,
    /// What a run's nominal is, in words.
    pub nominal: &'static str,
}

/// Everything that is said of short runs.
///
/// # Errors
/// A reading or a nominal that is no number.
pub fn short_runs(question: &Question, shown: &Shown) -> Result<Findings, Undefined> {
    let deviations = Deviations::of(&question.runs, PartChange::default())?;
    let mut findings = Findings {
        title: question.title.clone(),
        about: question.about.clone(),
        ..Findings::default()
    };
    steadiness(&mut findings, question, &deviations, shown);
    let compared = SpreadsCompared::of(&question.runs);
    match &compared {
        Ok(compared) => {
            findings.add(Section::said(ALIKE, vec![compared.sentence()]));
            findings.settings.push(compared_words(compared));
        }
        Err(reason) => findings.add(Section::undefined(ALIKE, reason)),
    }
    if question.standardised || compared.is_ok_and(|compared| compared.differ()) {
        standardised(&mut findings, question, shown);
    }
    findings.add(figures(question, shown)?);
    Ok(findings)
}

const STEADY: &str = "Is the machine steady over all parts?";
const ALIKE: &str = "Do the parts spread alike?";

fn compared_words(compared: &SpreadsCompared) -> String {
    format!(
        "Spreads of {} parts with three readings at least compared by Levene's test about the median, at 5 %.",
        compared.parts
    )
}

fn steadiness(
    findings: &mut Findings,
    question: &Question,
    deviations: &Deviations,
    shown: &Shown,
) {
    findings.settings.push(deviations.settings_words());
    let chart = match deviations.limits() {
        Ok(chart) => chart,
        Err(reason) => return findings.add(Section::undefined(STEADY, &reason)),
    };
    let signals = [chart.signals(&deviations.series, question.rules)];
    let coarse = findings.mind_display(Spread {
        step_mm: question.step_mm,
        deviation: Some(chart.sigma.sigma),
        range_limit: chart.range_limits.upper,
        blurred: ON_CHARTS,
    });
    let mut sentences = vec![
        verdict(&signals[0], &chart.standing.words()),
        aim(question, &chart, shown),
        chart.sentence(shown.unit, shown.places),
    ];
    sentences.extend(patterns_of(&signals, &deviations.series, |pattern| {
        with_part(question, pattern)
    }));
    let mut steady = Section::said(STEADY, sentences);
    steady.cautions.extend(coarse);
    findings.add(steady);
    findings.settings.push(chart.settings.settings_words());
    findings.settings.push(question.rules.settings_words());
    let drawn = Individually {
        heading: heading_of(findings),
        quantity: shown.quantity(&format!("{}, deviation from nominal", question.quantity)),
        noun: "piece",
        series: &deviations.series,
        drawn: Drawn::of(&deviations.series, &chart, shown),
        signals: told_signals(&signals, &deviations.series, &Order::default()),
        marks: marks(question, deviations),
    };
    findings.draw("deviations", pictures::individuals(drawn, shown));
}

fn heading_of(findings: &Findings) -> chart::Heading {
    let mut heading = findings.heading();
    let chain = "No moving range is taken across a change of part.".to_owned();
    heading.notes.insert(0, chain);
    heading
}

fn verdict(signals: &Signals, limits: &str) -> String {
    let points = signals.coarseness.points;
    match signals.hits.len() {
        0 if points < FEW_POINTS as u64 => format!(
            "Too few pieces to call it steady: nothing stands out among {points}. The limits: {limits}."
        ),
        0 => format!("Steady as far as these rules see. The limits: {limits}."),
        1 => format!("Not steady: 1 piece stands out. The limits: {limits}."),
        hits => format!("Not steady: {hits} pieces stand out. The limits: {limits}."),
    }
}

/// Where pieces lie on average, seen from what was aimed at.
fn aim(question: &Question, chart: &Individuals, shown: &Shown) -> String {
    let mean = chart.moments.mean;
    let side = if mean < 0.0 { "below" } else { "above" };
    format!(
        "On average pieces lie {} {} {side} {}.",
        shown.fine(mean.abs()),
        shown.unit,
        question.nominal
    )
}

/// A pattern in words, with the part it ends in.
fn with_part(question: &Question, pattern: &Explanation) -> String {
    let mut before = 0;
    let run = question.runs.iter().find(|run| {
        before += run.readings.len();
        pattern.last <= before
    });
    let part = run.map_or("", |run| run.part.as_str());
    format!("Part {part}: {}", pattern.sentence())
}

fn marks(question: &Question, deviations: &Deviations) -> Vec<chart::Mark> {
    let runs = question.runs.iter().skip(1);
    let changes = deviations.changes.iter().zip(runs);
    let marks = changes.map(|(before, run)| chart::Mark {
        before: *before,
        kind: chart::MarkKind::Job,
        label: run.part.clone(),
    });
    marks.collect()
}

/// The deviations again, each counted in its part's sigma.
fn standardised(findings: &mut Findings, question: &Question, shown: &Shown) {
    let heading = "Counted in each part's own sigma";
    let found = sigmas(&question.runs)
        .and_then(|sigmas| Standardised::of(&question.runs, &sigmas, PartChange::default()));
    let found = match found {
        Ok(found) => found,
        Err(reason) => return findings.add(Section::undefined(heading, &reason)),
    };
    let signals = [found.signals(question.rules)];
    let series = &found.deviations.series;
    let mut sentences = vec![verdict(&signals[0], "3 sigma about nominal")];
    sentences.extend(patterns_of(&signals, series, |pattern| {
        with_part(question, pattern)
    }));
    sentences.extend(wide_steps(&found));
    findings.add(Section::said(heading, sentences));
    findings.settings.push(
        "In sigma: each deviation over the sigma of its part, from the part's own mean moving range of two within \
         its runs, / d2; limits 0 ± 3 sigma, moving ranges up to 3.686 sigma."
            .to_owned(),
    );
    draw_standardised(findings, question, (&found, &signals), shown);
}

/// Figures in sigma have no unit of length and two places.
fn draw_standardised(
    findings: &mut Findings,
    question: &Question,
    (found, signals): (&Standardised, &[Signals]),
    shown: &Shown,
) {
    let plain = Shown {
        unit: Unit::Millimetre,
        places: 2,
        format: shown.format,
    };
    let series = &found.deviations.series;
    let limits = Standardised::range_limits();
    let beyond = found.moving_ranges.iter().enumerate();
    let beyond = beyond.filter(|(_, range)| range.is_some_and(|range| limits.is_beyond(range)));
    let wide: Vec<usize> = beyond.map(|(index, _)| index).collect();
    let asked = Individually {
        heading: heading_of(findings),
        quantity: chart::Quantity {
            name: format!("{}, deviation in sigma of its part", question.quantity),
            unit: String::new(),
            places: 2,
            step_in_last_place: 1,
        },
        noun: "piece",
        series,
        drawn: Drawn {
            limits: lines(&Standardised::LIMITS, &plain),
            range_limits: lines(&limits, &plain),
            wide: wide_signals(series, &wide, &Order::default()),
        },
        signals: told_signals(signals, series, &Order::default()),
        marks: marks(question, &found.deviations),
    };
    findings.draw("standardised", pictures::individuals(asked, &plain));
}

fn wide_steps(found: &Standardised) -> Option<String> {
    let limits = Standardised::range_limits();
    let ranges = found.moving_ranges.iter().flatten();
    let wide = ranges.filter(|range| limits.is_beyond(**range)).count();
    let upper = format_to(limits.upper.unwrap_or_default(), 3);
    (wide > 0).then(|| format!("Steps from one piece to the next above {upper} sigma: {wide}."))
}

/// The sigma of each part from neighbours within its runs.
fn sigmas(runs: &[Run]) -> Result<BTreeMap<String, f64>, Undefined> {
    let mut parts: BTreeMap<&str, Vec<Run>> = BTreeMap::new();
    for run in runs {
        parts.entry(&run.part).or_default().push(run.clone());
    }
    let sigma = |(part, runs): (&str, Vec<Run>)| {
        let deviations = Deviations::of(&runs, PartChange::Breaks)?;
        let chart = Individuals::of(&deviations.series, IndividualsSettings::default())?;
        Ok((part.to_owned(), chart.sigma.sigma))
    };
    parts.into_iter().map(sigma).collect()
}

fn figures(question: &Question, shown: &Shown) -> Result<Section, Undefined> {
    let mut parts: Vec<(&Run, Vec<f64>)> = Vec::new();
    for run in &question.runs {
        let same = |(known, _): &&mut (&Run, Vec<f64>)| {
            (&known.part, known.nominal) == (&run.part, run.nominal)
        };
        let deviations = run.readings.iter().map(|mm| mm - run.nominal);
        match parts.iter_mut().find(same) {
            Some((_, known)) => known.extend(deviations),
            None => parts.push((run, deviations.collect())),
        }
    }
    let rows = parts.iter().map(|(run, deviations)| {
        let moments = Moments::of(&Readings::of_numbers(deviations)?)?;
        Ok(vec![
            run.part.clone(),
            shown.fine(run.nominal),
            moments.count.to_string(),
            shown.fine(moments.mean),
            shown.figure(moments.standard_deviation()),
        ])
    });
    let columns = [
        "part",
        "nominal",
        "n",
        "mean deviation",
        "standard deviation",
    ];
    Ok(Section {
        heading: "Parts".to_owned(),
        table: Some(Table {
            rows: rows.collect::<Result<_, Undefined>>()?,
            columns: columns.map(str::to_owned).to_vec(),
        }),
        ..Section::default()
    })
}
