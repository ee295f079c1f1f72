//! What was measured with, as it stood at the time of each reading: a reading names the revision of its wire set
//! and instrument, and was flagged when it was made if a calibration was overdue then. Nothing is looked up today.

use std::collections::{BTreeMap, HashMap};

use overwire_core::units::Unit;

use crate::record::{Change, Flags, Kind, Reading, RecordError};
use crate::register::forms::{InstrumentForm, WireSetForm};
use crate::view::grounds::{GroundsView, ZeroNoteView, why_no_verdict};
use crate::view::unit_of;

/// Most zero checks that are listed.
pub const MOST_ZEROS: usize = 500;

/// How often something was used, and how often while its calibration was overdue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Use {
    /// Readings that count.
    pub readings: usize,
    /// Of them, those made while the calibration was overdue.
    pub overdue: usize,
}

/// What was measured with.
#[derive(Debug, Default)]
pub struct Equipment {
    unit: Option<Unit>,
    instrument_forms: HashMap<i64, InstrumentForm>,
    wire_forms: HashMap<i64, WireSetForm>,
    /// Instruments by name and entry of the revision (0: not in the register).
    pub instruments: BTreeMap<(String, i64), Use>,
    /// Wire sets likewise.
    pub wire_sets: BTreeMap<(String, i64), Use>,
    /// Zero checks of an instrument, each with its unit and how many readings rest on it; at most [`MOST_ZEROS`].
    pub zeros: BTreeMap<(String, ZeroNoteView, &'static str), usize>,
    /// Whether there were more.
    pub more_zeros: bool,
    /// Readings that no zero check stood behind.
    pub without_zero: usize,
    /// How the wires were held.
    pub methods: BTreeMap<String, usize>,
    /// Decision rules, and readings judged by each; empty compares with the limits.
    pub rules: BTreeMap<String, usize>,
    /// Readings without verdict, by why.
    pub without_verdict: BTreeMap<&'static str, usize>,
    /// Readings that carry no uncertainty.
    pub without_uncertainty: usize,
    /// Coverage factors of those that do.
    pub factors: BTreeMap<String, usize>,
}

impl Equipment {
    /// Of the registers' revisions; lengths are noted in the unit, or in each reading's own.
    ///
    /// # Errors
    /// A body this program does not understand.
    pub fn of(changes: &[Change], unit: Option<Unit>) -> Result<Equipment, RecordError> {
        let mut equipment = Equipment {
            unit,
            ..Equipment::default()
        };
        for change in changes {
            let entry = change.head.entry;
            match change.kind {
                Kind::Instrument => {
                    equipment.instrument_forms.insert(entry, change.form()?);
                }
                Kind::WireSet => {
                    equipment.wire_forms.insert(entry, change.form()?);
                }
                _ => {}
            }
        }
        Ok(equipment)
    }

    /// A revision of an instrument; none for one that was not in the register.
    pub fn instrument(&self, entry: i64) -> Option<&InstrumentForm> {
        self.instrument_forms.get(&entry)
    }

    /// A revision of a wire set.
    pub fn wire_set(&self, entry: i64) -> Option<&WireSetForm> {
        self.wire_forms.get(&entry)
    }

    /// Notes what a reading was made with.
    pub fn note(&mut self, reading: &Reading) {
        let (tags, flags) = (&reading.tags, reading.judged.flags);
        let instrument = (tags.instrument.name.to_string(), tags.instrument.entry);
        count(
            self.instruments.entry(instrument).or_default(),
            flags.any(Flags::OVERDUE_INSTRUMENT),
        );
        if let Some(set) = &tags.wire_set {
            let set = (set.name.to_string(), set.entry);
            count(
                self.wire_sets.entry(set).or_default(),
                flags.any(Flags::OVERDUE_WIRES),
            );
        }
        *self.methods.entry(tags.method.to_string()).or_default() += 1;
        self.note_grounds(reading);
    }

    fn note_grounds(&mut self, reading: &Reading) {
        let unit = self.unit.unwrap_or(unit_of(reading.unit));
        let grounds = GroundsView::of(reading, unit);
        match why_no_verdict(&reading.judged) {
            Some(why) => *self.without_verdict.entry(why).or_default() += 1,
            None => {
                let rule = grounds.rule.unwrap_or_default();
                *self.rules.entry(rule).or_default() += 1;
            }
        }
        match grounds.factor {
            Some(factor) => *self.factors.entry(factor).or_default() += 1,
            None => self.without_uncertainty += 1,
        }
        let stood = grounds.zero.as_ref().is_some_and(|zero| zero.stands);
        self.without_zero += usize::from(!stood);
        if let Some(zero) = grounds.zero {
            let key = (
                reading.tags.instrument.name.to_string(),
                zero,
                unit.as_str(),
            );
            if self.zeros.len() < MOST_ZEROS || self.zeros.contains_key(&key) {
                *self.zeros.entry(key).or_default() += 1;
            } else {
                self.more_zeros = true;
            }
        }
    }
}

impl Use {
    /// Of several together.
    pub fn sum<'a>(each: impl Iterator<Item = &'a Use>) -> Use {
        each.fold(Use::default(), |sum, used| Use {
            readings: sum.readings + used.readings,
            overdue: sum.overdue + used.overdue,
        })
    }
}

fn count(used: &mut Use, overdue: bool) {
    used.readings += 1;
    used.overdue += usize::from(overdue);
}
