//! Studies of masters on the page: what was measured stands against what certificates state.

use overwire_core::stats::{Moments, Readings};
use overwire_core::study::{Level, Linearity, MethodReadings, Visit, VisitStudy};

use super::masters;
use super::study::{Question, say_strays};
use super::{Findings, Section, Shown};
use crate::register::masters::MasterForm;
use crate::register::studies::{StudyForm, StudyKind};

/// What a reading over masters is called.
fn quantity(form: &StudyForm) -> &'static str {
    match form.is_plain() {
        true => "Size of the master",
        false => "Pitch diameter",
    }
}

/// Masters of several sizes.
pub fn linearity(findings: &mut Findings, question: &Question<'_>, shown: &Shown) {
    let form = question.form;
    let sizes: Vec<f64> = form
        .masters
        .iter()
        .filter_map(MasterForm::size_mm)
        .collect();
    let levels = Level::from_study(question.study, &sizes);
    let found = masters::linearity(findings, &levels, shown);
    certificates(findings, form, found.as_ref(), shown);
    not_corrected(findings, form);
    say_strays(findings, &by_master(question), shown);
}

/// The readings of each master that was measured.
fn by_master(question: &Question<'_>) -> Vec<MethodReadings> {
    let masters = question.form.masters.iter().zip(0..);
    let of = |(master, at): (&MasterForm, usize)| MethodReadings {
        name: master.master.clone(),
        readings: question
            .study
            .measured()
            .filter(|measured| measured.cell.piece == at)
            .map(|measured| measured.value_mm)
            .collect(),
    };
    masters.map(of).collect()
}

/// Everything that visits to one master say so far.
pub fn stability(form: &StudyForm, visits: &VisitStudy, about: &str, shown: &Shown) -> Findings {
    let mut findings = Findings {
        title: format!("{}: {}", form.study, form.kind.words()),
        about: about.to_owned(),
        ..Findings::default()
    };
    let standing = visits.standing();
    findings.add_before(Section::said("How far it is", far(visits)));
    let reference = form.masters.first().and_then(MasterForm::size_mm);
    let made = visits.visits();
    masters::stability(&mut findings, &made, reference, quantity(form), shown);
    findings.add(by_visit(&made, shown));
    certificates(&mut findings, form, None, shown);
    if standing.visits > 0 {
        not_corrected(&mut findings, form);
    }
    findings.settings.push(visits.settings_words());
    findings
}

fn far(visits: &VisitStudy) -> Vec<String> {
    let standing = visits.standing();
    let again = match standing.redone {
        0 => String::new(),
        redone => format!(", {redone} of them again"),
    };
    let due = standing.due_day().map(crate::clock::day_text);
    let due = due.map_or_else(String::new, |day| format!(" The next visit is due {day}."));
    let mut sentences = vec![format!(
        "Visits so far: {}, with {} readings{again}.{due}",
        standing.visits, standing.readings
    )];
    let wanted = standing.plan.readings as usize;
    let short = visits.visits();
    let short = short.iter().filter(|visit| visit.readings.len() < wanted);
    match short.count() {
        0 => {}
        1 => sentences.push(format!("1 visit has fewer than its {wanted} readings.")),
        many => sentences.push(format!(
            "{many} visits have fewer than their {wanted} readings."
        )),
    }
    sentences
}

fn by_visit(visits: &[Visit], shown: &Shown) -> Section {
    let row = |(visit, number): (&Visit, usize)| {
        let mean = Readings::of_numbers(&visit.readings).and_then(|set| Moments::of(&set));
        let least = visit.readings.iter().copied().fold(f64::INFINITY, f64::min);
        let most = visit
            .readings
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        vec![
            number.to_string(),
            crate::clock::day_text(visit.day as i64),
            visit.readings.len().to_string(),
            shown.figure(mean.map(|moments| moments.mean)),
            shown.fine(least),
            shown.fine(most),
        ]
    };
    let columns = ["visit", "day", "n", "mean", "smallest", "largest"];
    Section {
        table: Some(super::Table {
            columns: columns.map(str::to_owned).to_vec(),
            rows: visits.iter().zip(1..).map(row).collect(),
        }),
        ..Section::said("Visit by visit", Vec::new())
    }
}

/// What the certificates state, and where a bias may be the master's own.
fn certificates(
    findings: &mut Findings,
    form: &StudyForm,
    found: Option<&Linearity>,
    shown: &Shown,
) {
    let mut section = Section::said(
        "What do the certificates say?",
        form.masters.iter().map(certified).collect(),
    );
    let stated = form
        .masters
        .iter()
        .filter(|master| master.uncertainty_mm().is_some());
    if stated.count() < form.masters.len() {
        section.cautions.push(
            "Where no uncertainty of a master is stated, how much of its bias is the master's own cannot be told."
                .to_owned(),
        );
    }
    section
        .cautions
        .extend(form.masters.iter().filter_map(|master| {
            let expanded = master.uncertainty_mm()?;
            let size = master.size_mm()?;
            let mut levels = found?.levels.iter();
            let level = levels.find(|level| (level.reference - size).abs() < 1e-9)?;
            (level.bias.abs() <= expanded).then(|| {
                format!(
                    "{}: its bias of {} is no larger than the uncertainty of its certificate, {}.",
                    master.master,
                    shown.fine(level.bias),
                    shown.fine(expanded)
                )
            })
        }));
    findings.add(section);
}

fn certified(master: &MasterForm) -> String {
    let unit = master.unit.trim();
    let known = match master.uncertainty.trim() {
        "" => "no uncertainty stated".to_owned(),
        expanded => format!("± {expanded} {unit} (k = 2)"),
    };
    let whose = match master.certificate.trim() {
        "" => String::new(),
        certificate => format!(", certificate {certificate}"),
    };
    format!(
        "{}: {} {unit}, {known}{whose}.",
        master.master,
        master.size.trim()
    )
}

/// Nothing is corrected by what was found here.
fn not_corrected(findings: &mut Findings, form: &StudyForm) {
    let measured = match form.is_plain() {
        true => {
            "Masters were measured plain, without wires: what is found is the instrument's own."
        }
        false => {
            "Masters were measured over wires: what is found is of instrument, wires and holding together."
        }
    };
    let done = match form.kind {
        StudyKind::Linearity => format!(
            "Nothing is corrected for it. The page says it beside the readings of {}, at their size.",
            form.instrument
        ),
        _ => "Nothing is corrected for it.".to_owned(),
    };
    findings.add(Section::said(
        "What is done with it?",
        vec![done, measured.to_owned()],
    ));
}
