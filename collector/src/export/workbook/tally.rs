//! What is counted while the readings go by.

use std::collections::HashMap;

use overwire_core::units::Unit;

use crate::export::columns::View;
use crate::export::seen::Field;
use crate::record::Flags;
use crate::view::verdict_words;

/// Fields that [`Tally::count`] looks at.
pub const COUNTED: &[Field] = &[
    Field::Verdict,
    Field::Held,
    Field::Counted,
    Field::WallUs,
    Field::OffsetS,
];

/// Fields that [`Tally::note_use`] looks at besides.
pub const USED: &[Field] = &[
    Field::Verdict,
    Field::Held,
    Field::Counted,
    Field::WallUs,
    Field::OffsetS,
    Field::Job,
    Field::JobEntry,
    Field::Feature,
    Field::Instrument,
    Field::InstrumentEntry,
    Field::WireSet,
    Field::WireSetEntry,
    Field::Flags,
    Field::Grounds,
    Field::Text,
    Field::Unit,
];

/// How often a revision of an instrument or a wire set was used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Use {
    /// Entry of the revision; 0: it is not in the register.
    pub entry: i64,
    /// Its name as stamped.
    pub name: String,
    /// Readings made with it.
    pub readings: u64,
    /// Those made when its calibration was overdue.
    pub overdue: u64,
}

/// Readings of one thread of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Job.
    pub job: String,
    /// Thread on the piece.
    pub feature: String,
    /// Entry of the newest revision of the job that a reading was judged by.
    pub job_entry: i64,
    /// Readings.
    pub readings: u64,
    /// Those that count.
    pub counted: u64,
    /// Unit and most places of its displays.
    pub shape: (Unit, u8),
    /// Smallest and largest expanded uncertainty, mm.
    pub uncertainty: Option<(f64, f64)>,
    /// Smallest and largest factor they were expanded by.
    pub factor: Option<(f64, f64)>,
    /// Decision rules, each once; empty: compared with the limits.
    pub rules: Vec<String>,
}

/// What was counted.
#[derive(Debug, Default)]
pub struct Tally {
    /// Readings.
    pub readings: u64,
    /// Those that count.
    pub counted: u64,
    /// Void ones.
    pub void: u64,
    /// Held ones.
    pub held: u64,
    /// Verdicts in words, with how many readings that are not void have each.
    pub verdicts: Vec<(&'static str, u64)>,
    /// First and last moment, with the shop's offset then.
    pub span: Option<[(i64, i32); 2]>,
    /// Threads, as they came.
    pub groups: Vec<Group>,
    /// Instruments, as they came.
    pub instruments: Vec<Use>,
    /// Wire sets, as they came.
    pub wire_sets: Vec<Use>,
    group_at: HashMap<(i64, String), usize>,
}

fn widened(range: Option<(f64, f64)>, value: f64) -> Option<(f64, f64)> {
    let (least, most) = range.unwrap_or((value, value));
    Some((least.min(value), most.max(value)))
}

fn used(list: &mut Vec<Use>, entry: i64, name: &str, overdue: bool) {
    let found = list
        .iter()
        .position(|each| each.entry == entry && each.name == name);
    let at = found.unwrap_or_else(|| {
        list.push(Use {
            entry,
            name: name.to_owned(),
            readings: 0,
            overdue: 0,
        });
        list.len() - 1
    });
    list[at].readings += 1;
    list[at].overdue += u64::from(overdue);
}

impl Tally {
    /// Counts a reading.
    pub fn count(&mut self, view: &View<'_>) {
        let seen = view.seen();
        self.readings += 1;
        self.counted += u64::from(seen.counts());
        self.held += u64::from(seen.held());
        self.void += u64::from(seen.said().is_some_and(|standing| standing.void.is_some()));
        let words = match seen.held() {
            true => "HELD",
            false => verdict_words(&seen.text(Field::Verdict)),
        };
        let void = seen.said().is_some_and(|standing| standing.void.is_some());
        match self.verdicts.iter_mut().find(|(known, _)| *known == words) {
            _ if void => {}
            Some((_, count)) => *count += 1,
            None => self.verdicts.push((words, 1)),
        }
        let moment = view.moment();
        self.span = Some([self.span.map_or(moment, |[first, _]| first), moment]);
    }

    /// Notes what a reading was made with and judged by.
    pub fn note_use(&mut self, view: &View<'_>) {
        let seen = view.seen();
        let flags = Flags::from_text(&seen.text(Field::Flags));
        used(
            &mut self.instruments,
            seen.whole(Field::InstrumentEntry),
            &seen.text(Field::Instrument),
            flags.any(Flags::OVERDUE_INSTRUMENT),
        );
        let wire_set = seen.text(Field::WireSet);
        if !wire_set.is_empty() {
            let entry = seen.whole(Field::WireSetEntry);
            let overdue = flags.any(Flags::OVERDUE_WIRES);
            used(&mut self.wire_sets, entry, &wire_set, overdue);
        }
        let job = seen.text(Field::Job);
        if job.is_empty() {
            return;
        }
        let at = self.group(view, &job);
        let group = &mut self.groups[at];
        group.job_entry = group.job_entry.max(seen.whole(Field::JobEntry));
        group.readings += 1;
        group.counted += u64::from(seen.counts());
        let (_, places) = view.shape();
        group.shape.1 = group.shape.1.max(places);
        let grounds = view.grounds();
        if let Some(known) = grounds.uncertainty {
            group.uncertainty = widened(group.uncertainty, known.expanded_mm);
            group.factor = widened(group.factor, known.factor);
        }
        let rule = grounds.rule.as_ref().map_or("", |rule| &rule.rule);
        if !group.rules.iter().any(|known| known == rule) {
            group.rules.push(rule.to_owned());
        }
    }

    /// Where the reading's thread stands among the groups. A revision of a job keeps its place.
    fn group(&mut self, view: &View<'_>, job: &str) -> usize {
        let seen = view.seen();
        let feature = seen.text(Field::Feature);
        let key = (seen.whole(Field::JobEntry), feature.into_owned());
        if let Some(at) = self.group_at.get(&key) {
            return *at;
        }
        let same = |group: &Group| group.job == job && group.feature == key.1;
        let at = self.groups.iter().position(same).unwrap_or_else(|| {
            self.groups.push(Group {
                job: job.to_owned(),
                feature: key.1.clone(),
                job_entry: 0,
                readings: 0,
                counted: 0,
                shape: view.shape(),
                uncertainty: None,
                factor: None,
                rules: Vec::new(),
            });
            self.groups.len() - 1
        });
        self.group_at.insert(key, at);
        at
    }
}
