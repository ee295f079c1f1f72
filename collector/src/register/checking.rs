//! What is checked alike in every form: texts, names, days, numbers with their units. Each mistake is noted at its field.

use std::collections::BTreeMap;

use overwire_core::decimal::Decimal;
use overwire_core::units::{Length, Unit};

/// What is wrong with a form: a sentence for each field, by its path (`features.0.thread`).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Refusals(pub BTreeMap<String, String>);

impl Refusals {
    /// Notes what is wrong with a field; the first word on it stands.
    pub fn note(&mut self, field: impl Into<String>, sentence: impl Into<String>) {
        self.0
            .entry(field.into())
            .or_insert_with(|| sentence.into());
    }

    /// Nothing is wrong, or all that is.
    pub fn into_result(self) -> Result<(), Refusals> {
        if self.0.is_empty() { Ok(()) } else { Err(self) }
    }
}

const LONGEST_TEXT: usize = 200;

pub(super) fn check_text(refusals: &mut Refusals, field: &str, text: &str) {
    if text.chars().count() > LONGEST_TEXT {
        refusals.note(
            field,
            format!("At most {LONGEST_TEXT} characters fit here."),
        );
    } else if text.chars().any(char::is_control) {
        refusals.note(
            field,
            "Control characters (as line breaks) do not belong here.",
        );
    }
}

pub(super) fn check_name(refusals: &mut Refusals, field: &str, text: &str, what: &str) {
    if text.trim().is_empty() {
        refusals.note(field, format!("Give {what}."));
    }
    if text.trim() != text {
        refusals.note(field, "Take the spaces at its ends away.");
    }
    check_text(refusals, field, text);
}

/// Days since 1970-01-01 of `YYYY-MM-DD`.
pub fn due_day(text: &str) -> Option<i64> {
    let date: jiff::civil::Date = text.parse().ok()?;
    let first = jiff::civil::date(1970, 1, 1);
    Some(i64::from(first.until(date).ok()?.get_days()))
}

/// The day as `YYYY-MM-DD`, of days since 1970-01-01.
pub fn day_text(day: i64) -> String {
    let first = jiff::civil::date(1970, 1, 1);
    first
        .saturating_add(jiff::Span::new().days(day))
        .to_string()
}

/// The days of a calibration: the day it was made, and the day the next one is due.
pub(super) fn check_calibration(refusals: &mut Refusals, calibrated: &str, due: &str) {
    let mut day = |field: &str, text: &str| {
        let found = due_day(text);
        if !text.is_empty() && found.is_none() {
            refusals.note(
                field,
                format!("`{text}` is no date; write it as 2027-01-31."),
            );
        }
        found
    };
    let days = day("calibrated", calibrated).zip(day("due", due));
    if days.is_some_and(|(calibrated, due)| calibrated > due) {
        refusals.note(
            "calibrated",
            "It cannot be calibrated after the day it was due again: is one of the two days of another certificate?",
        );
    }
}

pub(super) fn unit(refusals: &mut Refusals, field: &str, text: &str) -> Option<Unit> {
    let parsed = Unit::parse(text).ok();
    if parsed.is_none() {
        refusals.note(field, "Say mm or in.");
    }
    parsed
}

/// A number as typed; a comma is refused with advice rather than guessed at.
pub(super) fn number(
    refusals: &mut Refusals,
    field: &str,
    text: &str,
    what: &str,
) -> Option<Decimal> {
    if text.trim().is_empty() {
        refusals.note(field, format!("Give {what}."));
        return None;
    }
    match Decimal::parse_typed(text.trim()) {
        Ok(decimal) => Some(decimal),
        Err(error) => {
            let advice = if text.contains(',') {
                " Use a decimal point."
            } else {
                ""
            };
            refusals.note(field, format!("{error}.{advice}"));
            None
        }
    }
}

pub(super) fn length(
    refusals: &mut Refusals,
    field: &str,
    text: &str,
    what: &str,
    unit: Unit,
) -> Option<Length> {
    let decimal = number(refusals, field, text, what)?;
    match decimal.length(unit) {
        Ok(length) if length.mm() > 0.0 => Some(length),
        Ok(_) => {
            refusals.note(field, format!("{text} must be above 0."));
            None
        }
        Err(error) => {
            refusals.note(field, format!("{error}."));
            None
        }
    }
}
