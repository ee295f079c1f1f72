//! What was asked for: limits, where they come from, by which revision.

use overwire_core::units::Unit;

use super::super::Question;
use super::super::gather::{Gathered, OfFeature};
use super::super::html::{Table, free, paragraph, plain};
use super::section;
use crate::register::forms::{FeatureForm, JobForm};
use crate::view::LimitsView;
use crate::view::register::ThreadView;

/// The requirements, one row a thread and revision.
pub fn requirements(question: &Question, gathered: &Gathered) -> String {
    let columns = [
        "Thread",
        "No.",
        "Designation",
        "Pitch diameter",
        "Where the limits come from",
        "Job revision, drawing",
    ];
    let mut table = Table::new("requirements", "Limits of the pitch diameter", &columns);
    for of in &gathered.features {
        for (entry, number, form) in revisions(of, gathered) {
            table.row(&row(of, entry, number, form, question));
        }
    }
    let mut html = table.end();
    if question.unit.is_some() {
        let mut said =
            "Lengths are shown in the unit asked for (1 in = 25.4 mm exactly).".to_owned();
        if !gathered.equipment.rules.is_empty() {
            said.push_str(
                " Limits and readings were compared as they stand in the record, before any rounding.",
            );
        }
        html.push_str(&paragraph(&said));
    }
    section("Requirements", &html)
}

/// The revisions a thread was judged by; the newest where it was not.
fn revisions<'a>(of: &OfFeature, gathered: &'a Gathered) -> Vec<(i64, u32, &'a JobForm)> {
    let known = |entry: &i64| {
        let (number, form) = gathered.revisions.get(entry)?;
        Some((*entry, *number, form))
    };
    let judged: Vec<_> = of.judged_by.iter().filter_map(known).collect();
    match judged.is_empty() {
        false => judged,
        true => {
            let newest = gathered.revisions.keys().next_back();
            newest.and_then(known).into_iter().collect()
        }
    }
}

fn row(
    of: &OfFeature,
    entry: i64,
    number: u32,
    form: &JobForm,
    question: &Question,
) -> Vec<String> {
    let feature = form.features.iter().find(|each| each.name == of.name);
    let drawing = match (form.drawing.as_str(), form.drawing_revision.as_str()) {
        ("", "") => "no drawing named".to_owned(),
        (drawing, "") => free(drawing),
        (drawing, revision) => format!("{} rev. {}", free(drawing), free(revision)),
    };
    let characteristic = feature.map_or("", |feature| &feature.characteristic);
    let [designation, limits, basis] = thread(feature, question.unit);
    vec![
        free(&of.name),
        free(characteristic),
        designation,
        limits,
        basis,
        format!("{number} (entry {entry}), {drawing}"),
    ]
}

/// Designation, limits and where they come from.
fn thread(feature: Option<&FeatureForm>, unit: Option<Unit>) -> [String; 3] {
    let unknown = || [(); 3].map(|()| "–".to_owned());
    let Some(thread) = feature.and_then(|feature| feature.thread().ok()) else {
        return unknown();
    };
    let view = ThreadView::with(&thread, None, None);
    let unit = unit.unwrap_or(thread.unit);
    let limits = match thread.limits {
        Some(limits) => {
            let (min, max) = (limits.pitch_diameter_min, limits.pitch_diameter_max);
            let shown = LimitsView::of(min.mm(), max.mm(), unit);
            format!("{} to {} {unit}", shown.min, shown.max)
        }
        None => "no limits".to_owned(),
    };
    let special = if view.special {
        " A size the standard does not list."
    } else {
        ""
    };
    [
        free(&view.designation),
        format!("<strong>{limits}</strong>"),
        plain(&format!("{}{special}", view.basis)),
    ]
}
