//! Is the measurement to be trusted? What a study found, in sentences, figures and pictures.

use overwire_core::study::{
    Comparison, ComparisonSettings, Margin, MethodReadings, Pairing, Study,
};
use overwire_core::thread::Limits;

use super::{Findings, Section, Shown, Table, heading};
use crate::chart;
use crate::register::studies::{StudyForm, StudyKind};

/// What is asked about.
#[derive(Debug)]
pub struct Question<'a> {
    /// The plan, as typed.
    pub form: &'a StudyForm,
    /// How far it has come.
    pub study: &'a Study,
    /// Limits of the thread.
    pub limits: Option<Limits>,
    /// Thread, dates and the like.
    pub about: String,
    /// Step of the display, mm.
    pub step_mm: Option<f64>,
}

/// Everything a study says so far.
pub fn study(question: &Question<'_>, shown: &Shown) -> Findings {
    let progress = question.study.progress();
    let mut findings = Findings {
        title: format!("{}: {}", question.form.study, question.form.kind.words()),
        about: question.about.clone(),
        ..Findings::default()
    };
    let mut sentences = vec![format!(
        "{} of {} readings are taken, {} were taken again.",
        progress.filled, progress.total, progress.redone
    )];
    if progress.filled < progress.total {
        sentences.push("What follows is of the readings so far.".to_owned());
    }
    findings.add(Section::said("How far it is", sentences));
    findings.settings.push(format!(
        "Readings taken {}; seed {}.",
        question.study.design().order.words(),
        question.form.seed
    ));
    match question.form.kind {
        StudyKind::MethodComparison | StudyKind::Wires => methods(&mut findings, question, shown),
        StudyKind::Repeatability => super::gauge::one_piece(&mut findings, question, shown),
        StudyKind::GaugeRr => super::gauge::crossed(&mut findings, question, shown),
        StudyKind::Nested => super::gauge::nested(&mut findings, question, shown),
    }
    findings
}

fn margin(question: &Question<'_>) -> Option<Margin> {
    let share = question.form.margin()?;
    let tolerance = question.limits?.tolerance().mm();
    Some(Margin::share_of(tolerance, share))
}

fn methods(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let title = "Do the methods differ?";
    let Some(margin) = margin(question) else {
        let why = "the thread has no limits, so there is no margin within which a difference would not matter";
        return findings.add(Section::undefined(title, &why));
    };
    let pairing = match question.form.order.as_str() {
        "" | "blocks" => Pairing::Blocks,
        _ => Pairing::Apart,
    };
    let settings = ComparisonSettings {
        pairing,
        step_mm: question.step_mm,
        ..ComparisonSettings::usual(margin)
    };
    let compared = MethodReadings::from_study(question.study, pairing)
        .and_then(|methods| Ok((Comparison::of(&methods, 0, settings)?, methods)));
    match compared {
        Ok((comparison, methods)) => {
            say_comparison(findings, &comparison, shown);
            draw_methods(findings, question, &comparison, &methods, shown);
        }
        Err(error) => findings.add(Section::undefined(title, &error)),
    }
}

/// What a comparison says, method by method.
pub fn say_comparison(findings: &mut Findings, comparison: &Comparison, shown: &Shown) {
    let (unit, places) = (shown.unit, shown.places);
    let mut section = Section::said(
        "Do the methods differ?",
        comparison.overall_sentences().to_vec(),
    );
    for against in &comparison.against {
        section
            .sentences
            .extend(comparison.against_sentences(against, unit, places));
    }
    section.cautions = comparison
        .cautions()
        .iter()
        .map(|caution| caution.sentence())
        .collect();
    findings.add(section);
    let mut repeats = Section::said(
        "How well does each repeat?",
        comparison.repeat_sentences(unit, places),
    );
    repeats.table = Some(method_table(comparison, shown));
    findings.add(repeats);
    findings
        .settings
        .push(comparison.settings_words(unit, places));
}

fn method_table(comparison: &Comparison, shown: &Shown) -> Table {
    let columns = ["method", "readings", "mean", "standard deviation"];
    let rows = comparison.methods.iter().map(|method| {
        vec![
            method.name.clone(),
            method.count.to_string(),
            shown.figure(method.mean),
            shown.figure(method.deviation.map(|deviation| deviation.deviation)),
        ]
    });
    Table {
        columns: columns.map(str::to_owned).to_vec(),
        rows: rows.collect(),
    }
}

fn draw_methods(
    findings: &mut Findings,
    question: &Question<'_>,
    comparison: &Comparison,
    methods: &[MethodReadings],
    shown: &Shown,
) {
    let drawn = methods
        .iter()
        .zip(&comparison.methods)
        .map(|(readings, figures)| {
            let spread = figures.deviation.ok().zip(figures.deviation_interval.ok());
            chart::MethodReadings {
                name: readings.name.clone(),
                readings: readings
                    .readings
                    .iter()
                    .map(|mm| shown.value(*mm))
                    .collect(),
                mean: mean_interval(&readings.readings, shown),
                spread: spread.map(|(deviation, interval)| chart::Interval {
                    value: shown.value(deviation.deviation),
                    low: shown.value(interval.low),
                    high: shown.value(interval.high),
                }),
            }
        });
    let base = comparison
        .methods
        .first()
        .and_then(|method| method.mean.ok());
    let band = base.map(|mean| chart::Band {
        name: "margin about the baseline".to_owned(),
        low: shown.value(mean - comparison.settings.margin.length_mm),
        high: shown.value(mean + comparison.settings.margin.length_mm),
    });
    let data = chart::MethodDots {
        heading: heading(&findings.title, &question.about),
        quantity: shown.quantity("Pitch diameter"),
        methods: drawn.collect(),
        band,
        intervals: "95 % intervals".to_owned(),
    };
    findings.draw("methods", chart::method_dots(&data, &shown.format));
}

fn mean_interval(readings: &[f64], shown: &Shown) -> Option<chart::Interval> {
    use overwire_core::stats::{Moments, Readings};
    let moments = Readings::of_numbers(readings)
        .and_then(|set| Moments::of(&set))
        .ok()?;
    let interval = moments.mean_interval(0.95).ok()?;
    Some(chart::Interval {
        value: shown.value(moments.mean),
        low: shown.value(interval.low),
        high: shown.value(interval.high),
    })
}
