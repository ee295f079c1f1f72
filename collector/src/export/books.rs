//! What exports need of the registers: revisions by the entry that readings name them by.

use std::cell::OnceCell;
use std::collections::{HashMap, HashSet};

use rusqlite::Connection;

use crate::record::{Kind, RecordError, reader};
use crate::register::forms::{FeatureForm, InstrumentForm, JobForm};

/// What a revision of a job says beside its name.
#[derive(Debug)]
pub struct JobFacts {
    /// Drawing number.
    pub drawing: String,
    /// Its revision.
    pub drawing_revision: String,
    /// Order.
    pub order: String,
    /// Lot or serial.
    pub lot: String,
    /// Its threads.
    features: Vec<Feature>,
}

/// A thread on the piece. Its designation is read only when somebody asks for it.
#[derive(Debug)]
struct Feature {
    form: FeatureForm,
    designation: OnceCell<String>,
}

impl Feature {
    fn designation(&self) -> &str {
        self.designation.get_or_init(|| {
            let read = self.form.thread().map(|thread| thread.designation);
            read.unwrap_or_else(|_| self.form.thread.clone().unwrap_or_default())
        })
    }
}

impl JobFacts {
    fn of(form: JobForm) -> JobFacts {
        let features = form.features.into_iter().map(|form| Feature {
            form,
            designation: OnceCell::new(),
        });
        JobFacts {
            drawing: form.drawing,
            drawing_revision: form.drawing_revision,
            order: form.order,
            lot: form.lot,
            features: features.collect(),
        }
    }

    /// Designation of a feature's thread; empty where there is no such feature.
    pub fn thread(&self, feature: &str) -> &str {
        let mut features = self.features.iter();
        let found = features.find(|known| known.form.name == feature);
        found.map_or("", Feature::designation)
    }
}

/// A revision of a job.
#[derive(Debug)]
pub struct Revision {
    /// Its entry.
    pub entry: i64,
    /// The job's name.
    pub name: String,
    /// What it says.
    pub facts: JobFacts,
}

/// Revisions by entry.
#[derive(Debug, Default)]
pub struct Books {
    jobs: HashMap<i64, Revision>,
}

/// What is told of a reading without a job.
const NOTHING: &JobFacts = &JobFacts {
    drawing: String::new(),
    drawing_revision: String::new(),
    order: String::new(),
    lot: String::new(),
    features: Vec::new(),
};

impl Books {
    /// Reads every revision of every job.
    ///
    /// # Errors
    /// SQLite refuses, or a form is not understood.
    pub fn read(connection: &Connection) -> Result<Books, RecordError> {
        let mut jobs = HashMap::new();
        for change in reader::changes_of_kinds(connection, &[Kind::Job])? {
            let form: JobForm = change.form()?;
            let revision = Revision {
                entry: change.head.entry,
                name: form.job.clone(),
                facts: JobFacts::of(form),
            };
            jobs.insert(revision.entry, revision);
        }
        Ok(Books { jobs })
    }

    /// What a revision of a job says.
    pub fn job(&self, entry: i64) -> &JobFacts {
        self.jobs
            .get(&entry)
            .map_or(NOTHING, |revision| &revision.facts)
    }

    /// Whether it has a revision; 0 names none and needs none.
    pub fn knows(&self, entry: i64) -> bool {
        entry == 0 || self.jobs.contains_key(&entry)
    }

    /// Every revision of every job.
    pub fn revisions(&self) -> impl Iterator<Item = &Revision> {
        self.jobs.values()
    }
}

/// Entries of the revisions of instruments whose serial number is wanted.
///
/// # Errors
/// SQLite refuses, or a form is not understood.
pub fn instruments_by_serial(
    connection: &Connection,
    mut is: impl FnMut(&str) -> bool,
) -> Result<HashSet<i64>, RecordError> {
    let mut found = HashSet::new();
    for change in reader::changes_of_kinds(connection, &[Kind::Instrument])? {
        let form: InstrumentForm = change.form()?;
        if !form.serial.is_empty() && is(&form.serial) {
            found.insert(change.head.entry);
        }
    }
    Ok(found)
}
