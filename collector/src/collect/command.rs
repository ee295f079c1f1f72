//! What the page asks of the collector, and how it is refused.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use tokio::sync::oneshot;

use crate::register::forms::{InstrumentForm, JobForm, Refusals, WireSetForm};
use crate::register::studies::StudyForm;
use crate::station::TagsForm;

/// An answer: JSON for the page, or why not.
pub type Answer = Result<String, Refusal>;

/// Something asked of the collector, with where the answer goes.
#[derive(Debug)]
pub struct Command {
    /// What is asked.
    pub ask: Ask,
    /// Where the answer goes, after what it tells of is durable.
    pub answer: oneshot::Sender<Answer>,
}

/// What can be asked.
#[derive(Debug)]
pub enum Ask {
    /// Change what is active at a station.
    Tags {
        /// Station.
        station: String,
        /// What to change.
        form: TagsForm,
    },
    /// Go to the next piece, or one back.
    Piece {
        /// Station.
        station: String,
        /// 1 or -1.
        by: i64,
    },
    /// Take a typed value.
    Typed {
        /// Station.
        station: String,
        /// What was typed.
        form: TypedForm,
    },
    /// Void, restore or remark on a reading.
    Say {
        /// The reading's entry.
        entry: i64,
        /// What to do.
        what: Saying,
        /// Who and why.
        form: SayForm,
    },
    /// Put a reading elsewhere.
    Retag {
        /// The reading's entry.
        entry: i64,
        /// Where.
        form: RetagForm,
    },
    /// Answer a held reading.
    Held {
        /// The reading's entry.
        entry: i64,
        /// How.
        form: HeldForm,
    },
    /// Record what a go gauge or the mating part said of a piece.
    Functional(FunctionalForm),
    /// Save a revision of a job.
    Job(Signed<JobForm>),
    /// Save a revision of a wire set.
    WireSet(Signed<WireSetForm>),
    /// Save a revision of an instrument.
    Instrument(Signed<InstrumentForm>),
    /// Plan a study.
    Study(Signed<StudyForm>),
}

/// What can be said of a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Saying {
    /// It shall not count.
    Void,
    /// It shall count again.
    Restore,
    /// A remark.
    Comment,
}

/// Who and why.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[allow(missing_docs)]
pub struct SayForm {
    pub reason: String,
    pub text: String,
    pub by: String,
}

/// A typed value.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct TypedForm {
    pub text: String,
    #[serde(default)]
    pub unit: String,
}

/// Where a reading belongs; a field left out stays.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[allow(missing_docs)]
pub struct RetagForm {
    pub job: Option<String>,
    pub feature: Option<String>,
    pub piece: Option<i64>,
    pub position: Option<String>,
    pub wire_set: Option<String>,
    pub method: Option<String>,
    pub operator: Option<String>,
    pub purpose: Option<String>,
    pub unit: Option<String>,
    pub reason: String,
    pub by: String,
}

/// An answer to a held reading.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[allow(missing_docs)]
pub struct HeldForm {
    pub answer: String,
    pub by: String,
}

/// What a go gauge or the mating part said of a piece.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FunctionalForm {
    /// The job.
    pub job: String,
    /// The thread; may be left out where the job has one.
    pub feature: String,
    /// The piece, from 1.
    pub piece: i64,
    /// Which attempt at it; left out is the last one measured.
    pub attempt: Option<i64>,
    /// Where it was checked, if at a station.
    pub station: String,
    /// `goes`, `does_not_go`, `not_done` or `withdrawn`.
    pub result: String,
    /// The gauge by its name or number, or the mating part.
    pub gauge: String,
    /// What else there is to say.
    pub words: String,
    /// Why it is withdrawn.
    pub reason: String,
    /// Who.
    pub by: String,
}

/// A form and who fills it in.
#[derive(Debug, Deserialize)]
pub struct Signed<T> {
    /// The form.
    pub form: T,
    /// Who.
    pub by: String,
}

/// Why something was not done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refusal {
    /// Status of the HTTP answer.
    #[serde(skip)]
    pub status: u16,
    /// What is wrong, in a sentence.
    pub error: String,
    /// Stable short name.
    pub code: &'static str,
    /// What to do next.
    pub hint: String,
    /// A sentence for each field that is wrong.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub fields: BTreeMap<String, String>,
}

impl Refusal {
    /// A refusal without fields.
    pub fn new(
        status: u16,
        code: &'static str,
        error: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Refusal {
            status,
            error: error.into(),
            code,
            hint: hint.into(),
            fields: BTreeMap::new(),
        }
    }

    /// There is no such thing.
    pub fn missing(what: &str, name: impl std::fmt::Display) -> Refusal {
        Refusal::new(
            404,
            "not-there",
            format!("There is no {what} {name}."),
            "Look at the page again; it may have changed.",
        )
    }
}

impl From<Refusals> for Refusal {
    fn from(refusals: Refusals) -> Refusal {
        let first = refusals.0.values().next().cloned().unwrap_or_default();
        Refusal {
            status: 422,
            error: first,
            code: "form-refused",
            hint: "Mend the fields named and send again; nothing was changed.".to_owned(),
            fields: refusals.0,
        }
    }
}

impl From<crate::record::RecordError> for Refusal {
    fn from(error: crate::record::RecordError) -> Refusal {
        Refusal::new(503, error.code(), error.to_string(), error.hint())
    }
}
