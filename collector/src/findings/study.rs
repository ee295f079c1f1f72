//! Is the measurement to be trusted? What a study found, in sentences, figures and pictures.

use overwire_core::holding::Lift;
use overwire_core::study::{
    AgreementPiece, BlandAltman, Comparison, ComparisonSettings, LimitsFactor, Margin,
    MethodReadings, Pairing, Study, WireStudy,
};
use overwire_core::thread::Limits;

use super::coarse::{Spread, within};
use super::gauge::{STANDS_OUT, stray};
use super::{Findings, Section, Shown, Table};
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
    /// By how much more the pitch diameter rises for a thicker lone wire than for a thicker wire of the pair,
    /// mm for mm; none where no wires are known.
    pub wire_gain: Option<f64>,
    /// By how much wires held square to the axis would read too high here; none where no wires are known.
    pub held_square: Option<Lift>,
}

/// Everything a study says so far.
pub fn study(question: &Question<'_>, shown: &Shown) -> Findings {
    let progress = question.study.progress();
    let mut findings = Findings {
        title: format!("{}: {}", question.form.study, question.form.kind.words()),
        about: question.about.clone(),
        ..Findings::default()
    };
    let again = match progress.redone {
        0 => String::new(),
        1 => ", 1 of them again".to_owned(),
        redone => format!(", {redone} of them again"),
    };
    let mut sentences = vec![format!(
        "{} of {} readings are taken{again}.",
        progress.filled, progress.total
    )];
    if progress.filled < progress.total {
        sentences.push("What follows is of the readings so far.".to_owned());
    }
    findings.add_before(Section::said("How far it is", sentences));
    findings.settings.push(format!(
        "Readings taken {}; seed {}.",
        question.study.design().order.words(),
        question.form.seed
    ));
    match question.form.kind {
        StudyKind::MethodComparison if question.study.design().pieces_each() > 1 => {
            agreement(&mut findings, question, shown);
        }
        StudyKind::MethodComparison => methods(&mut findings, question, shown),
        StudyKind::Wires => wires(&mut findings, question, shown),
        StudyKind::Repeatability => super::gauge::one_piece(&mut findings, question, shown),
        StudyKind::GaugeRr => super::gauge::crossed(&mut findings, question, shown),
        StudyKind::Nested => super::gauge::nested(&mut findings, question, shown),
        StudyKind::Linearity => super::certified::linearity(&mut findings, question, shown),
        // Visits without an end are no plan of cells.
        StudyKind::Stability => {}
    }
    findings
}

fn margin(question: &Question<'_>) -> Option<Margin> {
    let share = question.form.margin()?;
    let tolerance = question.limits?.tolerance().mm();
    Some(Margin::share_of(tolerance, share))
}

fn pairing(question: &Question<'_>) -> Pairing {
    match question.form.order.as_str() {
        "" | "blocks" => Pairing::Blocks,
        _ => Pairing::Apart,
    }
}

fn methods(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let title = "Do the methods differ?";
    let Some(margin) = margin(question) else {
        let why = "the thread has no limits, so there is no margin within which a difference would not matter";
        return findings.add(Section::undefined(title, &why));
    };
    let settings = ComparisonSettings {
        pairing: pairing(question),
        step_mm: question.step_mm,
        ..ComparisonSettings::usual(margin)
    };
    let compared = MethodReadings::from_study(question.study, settings.pairing)
        .and_then(|methods| Ok((Comparison::of(&methods, 0, settings)?, methods)));
    match compared {
        Ok((comparison, methods)) => {
            say_comparison(findings, &comparison, &methods, shown);
            say_lift(findings, question.held_square.as_ref(), shown);
            say_strays(findings, &methods, shown);
            draw_methods(findings, &comparison, &methods, shown);
        }
        Err(error) => findings.add(Section::undefined(title, &error)),
    }
}

/// What holding alone can do, beside the differences that were measured.
fn say_lift(findings: &mut Findings, held_square: Option<&Lift>, shown: &Shown) {
    if let Some(lift) = held_square {
        findings.add(Section::said(
            "What would holding the wires square do?",
            vec![
                lift.sentence(shown.unit, shown.places.saturating_add(1)),
                "A holder that does more than this does it in another way: by pressing, or by lifting a wire."
                    .to_owned(),
            ],
        ));
    }
}

/// Methods on several pieces: each against the baseline, piece by piece.
fn agreement(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let methods = &question.study.design().methods;
    let Some((baseline, others)) = methods.split_first() else {
        return;
    };
    for (other, at) in others.iter().zip(1..) {
        let pieces = AgreementPiece::from_study(question.study, at, 0);
        let pieces: Vec<AgreementPiece> = pieces.into_iter().map(|(_, piece)| piece).collect();
        let names = [other.as_str(), baseline.as_str()];
        let margin = margin(question).map(|margin| margin.length_mm);
        say_agreement(findings, names, &pieces, margin, "Pitch diameter", shown);
    }
}

/// Whether two methods may stand in for one another, over many pieces; lengths in mm.
pub fn say_agreement(
    findings: &mut Findings,
    names: [&str; 2],
    pieces: &[AgreementPiece],
    margin: Option<f64>,
    quantity: &str,
    shown: &Shown,
) {
    let title = format!("Can {} stand in for {}?", names[0], names[1]);
    let found = match BlandAltman::of(pieces, LimitsFactor::NinetyFive, 0.95) {
        Ok(found) => found,
        Err(reason) => return findings.add(Section::undefined(&title, &reason)),
    };
    let mut sentences = found.sentences(names, shown.unit, shown.places);
    if let Some(margin) = margin {
        let allowed = format!("± {} {}", shown.fine(margin), shown.unit);
        sentences.insert(
            0,
            match found.is_shown_within(margin) {
                true => {
                    format!(
                        "Yes: on single readings they are shown to differ by less than {allowed}."
                    )
                }
                false => format!("That they differ by less than {allowed} is not shown."),
            },
        );
    }
    let coarse = findings.mind_display(Spread::of_study(
        shown.step_mm(),
        Some(found.deviation.deviation),
    ));
    findings.add(Section {
        cautions: coarse.into_iter().collect(),
        ..Section::said(&title, sentences)
    });
    findings.settings.push(found.settings_words());
    let interval = |value: f64, low: f64, high: f64| chart::Interval {
        value: shown.value(value),
        low: shown.value(low),
        high: shown.value(high),
    };
    let [lower, upper] = [found.lower_limit_interval, found.upper_limit_interval];
    let data = chart::Agreement {
        heading: chart::Heading {
            title,
            ..findings.heading()
        },
        quantity: shown.quantity(quantity),
        methods: names.map(str::to_owned),
        points: found
            .points
            .iter()
            .map(|(mean, difference)| (shown.value(*mean), shown.value(*difference)))
            .collect(),
        bias: Some(interval(
            found.bias.value,
            found.bias_interval.low,
            found.bias_interval.high,
        )),
        limits: Some([
            interval(found.limits.low, lower.low, lower.high),
            interval(found.limits.high, upper.low, upper.high),
        ]),
        margin: margin.map(|margin| shown.value(margin)),
        basis: format!("{}; intervals 95 %", found.factor.words()),
    };
    if findings.picture("agreement").is_none() {
        findings.draw("agreement", chart::agreement(&data, &shown.format));
    }
}

/// Readings that stand out among those of their method, with the odds.
pub fn say_strays(findings: &mut Findings, methods: &[MethodReadings], shown: &Shown) {
    let mut section = Section::said(STANDS_OUT, Vec::new());
    let mut conventions: Vec<String> = Vec::new();
    for method in methods {
        let Ok(found) = stray(&method.readings, shown) else {
            continue;
        };
        if found.suspect {
            let sentence = format!("{}: {}", method.name, found.sentence);
            section.sentences.push(sentence);
        }
        if !conventions.contains(&found.conventions) {
            conventions.push(found.conventions);
        }
    }
    if section.sentences.is_empty() {
        let none = match conventions.is_empty() {
            false => "None, as far as so many readings tell.",
            true => "–: no method has enough readings that differ.",
        };
        section.sentences.push(none.to_owned());
    }
    findings.add(section);
    findings.settings.extend(conventions);
}

fn wires(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let pairing = pairing(question);
    let methods = MethodReadings::from_study(question.study, pairing);
    match (methods, question.wire_gain) {
        (Err(error), _) => findings.add(Section::undefined(DIFFERENT_WIRES, &error)),
        (Ok(_), None) => {
            let why = "no reading of this study has a wire set";
            findings.add(Section::undefined(DIFFERENT_WIRES, &why));
        }
        (Ok(methods), Some(gain)) => {
            say_wires(findings, &methods, gain, pairing, shown);
            say_strays(findings, &methods, shown);
        }
    }
}

const DIFFERENT_WIRES: &str = "Do the wires differ?";

/// Whether three wires differ; readings in mm, with each wire alone in turn.
pub fn say_wires(
    findings: &mut Findings,
    seated: &[MethodReadings],
    gain: f64,
    pairing: Pairing,
    shown: &Shown,
) {
    match WireStudy::of(seated, gain, pairing, 0.95) {
        Err(reason) => findings.add(Section::undefined(DIFFERENT_WIRES, &reason)),
        Ok(found) => {
            let sentences = found.sentences(shown.unit, shown.places);
            let coarse = findings.mind_display(repeats(seated, shown));
            findings.add(Section {
                cautions: coarse.into_iter().collect(),
                ..Section::said(DIFFERENT_WIRES, sentences)
            });
            findings.settings.push(found.settings_words());
        }
    }
}

/// How the readings of each method repeat.
fn repeats(methods: &[MethodReadings], shown: &Shown) -> Spread {
    let readings = methods.iter().map(|method| method.readings.as_slice());
    Spread::of_study(shown.step_mm(), within(readings))
}

/// What a comparison says, method by method.
pub fn say_comparison(
    findings: &mut Findings,
    comparison: &Comparison,
    methods: &[MethodReadings],
    shown: &Shown,
) {
    let (unit, places) = (shown.unit, shown.places);
    let mut section = Section::said(
        "Do the methods differ?",
        comparison.overall_sentences().to_vec(),
    );
    let mut verdicts = Vec::new();
    for against in &comparison.against {
        let told = comparison.against_sentences(against, unit, places);
        verdicts.extend(told.first().cloned());
        section.sentences.extend(told);
    }
    section.cautions = comparison
        .cautions()
        .iter()
        .map(|caution| caution.sentence())
        .chain(findings.mind_display(repeats(methods, shown)))
        .collect();
    findings.add(section);
    findings.headline = verdicts.join(" ");
    let mut repeats = Section::said(
        "How well does each repeat?",
        comparison.repeat_sentences(unit, places),
    );
    repeats.table = Some(method_table(comparison, shown));
    findings.add(repeats);
    findings.sections.extend(one_spread(comparison, shown));
    findings
        .settings
        .push(comparison.settings_words(unit, places));
}

/// Dunnett's comparisons with one spread for all, where there may be one.
fn one_spread(comparison: &Comparison, shown: &Shown) -> Option<Section> {
    let sentences = comparison.one_spread_sentences()?;
    let columns = ["method", "difference", "from", "to", "by chance"];
    let pairs = comparison.one_spread.iter().flatten();
    let rows = pairs.map(|pair| {
        let name = comparison.methods.get(pair.second);
        let interval = pair.adjusted.interval;
        vec![
            name.map_or_else(String::new, |method| method.name.clone()),
            shown.fine(pair.estimate.value),
            shown.fine(interval.low),
            shown.fine(interval.high),
            super::masters::chance(pair.adjusted.probability),
        ]
    });
    let mut section = Section::said("With one spread for all methods", sentences);
    section.table = Some(Table {
        columns: columns.map(str::to_owned).to_vec(),
        rows: rows.collect(),
    });
    Some(section)
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
        heading: findings.heading(),
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
