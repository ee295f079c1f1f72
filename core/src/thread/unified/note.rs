//! What there is to say about the limits of one Unified thread.

use super::series::{self, Printed};
use super::{Class, Form, Series, Unified};

/// Everything particular about this thread, in sentences.
pub(super) fn about(
    thread: &Unified,
    listed: Option<Series>,
    printed: Option<&Printed>,
    shared: Option<&Printed>,
) -> Option<String> {
    let mut notes = Vec::new();
    notes.extend(about_series(thread, listed, printed.is_some()));
    notes.extend(about_engagement(thread, listed));
    if let Some(printed) = printed {
        notes.push(format!("Limits as printed in {}.", printed.source));
    }
    if let Some(shared) = shared {
        notes.push(format!(
            "The allowance is that of class 2A as printed in {}.",
            shared.source
        ));
    }
    if thread.form == Form::LargeRootRadius && thread.class != Class::Three {
        notes.push("UNJ threads are usually of class 3A.".to_owned());
    }
    if thread.starts > 1 {
        notes.push("Limits are those of the single-start thread of the same pitch.".to_owned());
    }
    notes.extend(thread.gauging.map(|system| system.sentence().to_owned()));
    (!notes.is_empty()).then(|| notes.join(" "))
}

/// What to say when the series named is not the one that lists this size.
fn about_series(thread: &Unified, listed: Option<Series>, printed: bool) -> Option<String> {
    match listed {
        Some(series) if series.letters() == thread.series.letters() => None,
        Some(series) => Some(format!(
            "{} is listed as UN{}; its limits are used.",
            size(thread),
            series.letters()
        )),
        None => Some(about_special(thread, printed)),
    }
}

fn about_special(thread: &Unified, printed: bool) -> String {
    let mut text = format!(
        "{} is in none of the coarse, fine, extra-fine and constant-pitch series: a special \
         thread (UNS)",
        size(thread)
    );
    if !printed {
        let engagement = engagement_used(thread);
        text += &format!(", limits computed with {engagement} as length of engagement");
    }
    text.push('.');
    let (letters, count) = (thread.series.letters(), thread.threads_per_inch);
    if let Some(usual) = series::listed_threads_per_inch(thread.series, thread.diameter()) {
        text += &format!(" UN{letters} lists {usual} threads per inch for this diameter.");
    }
    if let Some(near) = series::nearest_listed(thread.diameter(), count) {
        let near = near.text_before(count);
        text += &format!(" If the listed {near}-{count} is meant, write it so.");
    }
    text
}

fn size(thread: &Unified) -> String {
    let count = thread.threads_per_inch;
    format!("{}-{count}", thread.size.text_before(count))
}

fn engagement_used(thread: &Unified) -> String {
    match thread.engagement {
        Some(stated) => format!("{} in", stated.value()),
        None if thread.is_old_fine_one_inch() => "the diameter".to_owned(),
        None => "9 pitches".to_owned(),
    }
}

/// What a stated length of engagement changes.
fn about_engagement(thread: &Unified, listed: Option<Series>) -> Option<String> {
    let stated = thread.engagement?.value();
    let pitches = stated * thread.threads_per_inch;
    let usual = crate::decimal::format_to(thread.usual_engagement(listed), 4);
    Some(format!(
        "Tolerance and allowance are computed with the stated length of engagement of {stated} in \
         ({pitches:.1} pitches) in place of the usual {usual} in."
    ))
}
