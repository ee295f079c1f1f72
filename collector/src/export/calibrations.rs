//! From one calibration to the next: the days between which an instrument or a wire set was used on the strength
//! of one certificate. When a calibration finds it wrong, these are the readings to look at again.
//!
//! The days come from the revisions in the record. Every day that any revision told stands, so that no
//! calibration is lost by a later slip.

use std::collections::BTreeMap;

use rusqlite::Connection;
use serde::Serialize;

use super::choice::{Choice, ChoiceError, Pattern};
use crate::record::{Change, Kind, RecordError, reader};
use crate::register::forms::{InstrumentForm, WireSetForm, day_text, due_day};

/// What was calibrated, and the periods between its calibrations.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Calibrated {
    /// `instrument` or `wire_set`: the field of a [`Choice`] that asks for it.
    pub of: &'static str,
    /// Its name.
    pub name: String,
    /// The serial number that its newest revision gives.
    pub serial: String,
    /// In their order: before the first calibration, between each and the next, after the last.
    pub periods: Vec<Period>,
}

/// From the day of one calibration to the day of the next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Period {
    /// Day of the calibration it begins with; none: before the first that is known.
    pub from: Option<String>,
    /// Certificate of that calibration.
    pub certificate: String,
    /// Day of the next one; none: there was none yet.
    pub to: Option<String>,
}

/// The calibrations of what a choice names by instrument and wire set; of everything where it names neither.
///
/// # Errors
/// SQLite refuses, or a form in the record is not understood. The inner error: the choice asks for more than that.
pub fn calibrations(
    connection: &Connection,
    choice: &Choice,
) -> Result<Result<Vec<Calibrated>, ChoiceError>, RecordError> {
    let mut rest = choice.clone();
    let [instrument, wire_set] = [&mut rest.instrument, &mut rest.wire_set].map(std::mem::take);
    for (field, text) in rest.fields_mut() {
        if !text.is_empty() {
            let sentence = "Calibrations are looked up by instrument and wire set only.".to_owned();
            return Ok(Err(ChoiceError { field, sentence }));
        }
    }
    let neither = instrument.is_empty() && wire_set.is_empty();
    let wanted = |text: &str| match text {
        "" => neither.then(|| Pattern::of("*")),
        text => Some(Pattern::of(text)),
    };
    let mut found = Vec::new();
    for (kind, pattern) in [
        (Kind::Instrument, wanted(&instrument)),
        (Kind::WireSet, wanted(&wire_set)),
    ] {
        if let Some(pattern) = pattern {
            let told = told(connection, kind)?;
            found.extend(told.into_iter().filter_map(|(name, known)| {
                let named = pattern.is(&name) || known.serials.iter().any(|s| pattern.is(s));
                named.then(|| known.calibrated(kind.code(), name))
            }));
        }
    }
    found.retain(|calibrated| !calibrated.periods.is_empty());
    Ok(Ok(found))
}

/// What the revisions of one thing told.
#[derive(Debug, Default)]
struct Known {
    serials: Vec<String>,
    /// Certificates by the day of calibration.
    days: BTreeMap<i64, String>,
}

impl Known {
    fn take(&mut self, serial: String, calibrated: &str, certificate: String) {
        if !serial.is_empty() {
            self.serials.retain(|known| *known != serial);
            self.serials.push(serial);
        }
        if let Some(day) = due_day(calibrated) {
            self.days.insert(day, certificate);
        }
    }

    fn calibrated(self, of: &'static str, name: String) -> Calibrated {
        let mut periods = Vec::new();
        let mut open: Option<Period> = None;
        for (day, certificate) in self.days {
            let day = day_text(day);
            let before = open.take().unwrap_or(Period {
                from: None,
                certificate: String::new(),
                to: None,
            });
            periods.push(Period {
                to: Some(day.clone()),
                ..before
            });
            open = Some(Period {
                from: Some(day),
                certificate,
                to: None,
            });
        }
        periods.extend(open);
        Calibrated {
            of,
            name,
            serial: self.serials.last().cloned().unwrap_or_default(),
            periods,
        }
    }
}

fn told(connection: &Connection, kind: Kind) -> Result<BTreeMap<String, Known>, RecordError> {
    let mut all: BTreeMap<String, Known> = BTreeMap::new();
    for change in reader::changes_of_kinds(connection, &[kind])? {
        let (serial, calibrated, certificate) = facts(&change)?;
        let known = all.entry(change.subject).or_default();
        known.take(serial, &calibrated, certificate);
    }
    Ok(all)
}

/// Serial number, day of calibration and certificate of a revision.
fn facts(change: &Change) -> Result<(String, String, String), RecordError> {
    Ok(match change.kind {
        Kind::Instrument => {
            let form: InstrumentForm = change.form()?;
            (form.serial, form.calibrated, form.certificate)
        }
        _ => {
            let form: WireSetForm = change.form()?;
            (String::new(), form.calibrated, form.certificate)
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(told: &[(&str, &str)]) -> Known {
        let mut known = Known::default();
        for (day, certificate) in told {
            known.take("S-1".to_owned(), day, (*certificate).to_owned());
        }
        known
    }

    #[test]
    fn periods_go_from_each_calibration_to_the_next_whatever_the_order_told() {
        let known = known(&[
            ("2025-11-03", "C-2"),
            ("", ""),
            ("2024-10-30", "C-1"),
            ("2025-11-03", "C-2a"),
        ]);
        let calibrated = known.calibrated("instrument", "MIC-07".to_owned());
        assert_eq!(calibrated.serial, "S-1");
        let told: Vec<_> = calibrated
            .periods
            .iter()
            .map(|p| (p.from.as_deref(), p.certificate.as_str(), p.to.as_deref()))
            .collect();
        assert_eq!(
            told,
            [
                (None, "", Some("2024-10-30")),
                (Some("2024-10-30"), "C-1", Some("2025-11-03")),
                (Some("2025-11-03"), "C-2a", None),
            ]
        );
    }

    #[test]
    fn without_a_day_there_is_no_period() {
        let calibrated = known(&[("", "C-1")]).calibrated("wire_set", "WS".to_owned());
        assert_eq!(calibrated.periods, []);
    }
}
