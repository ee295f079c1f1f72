//! `overwire summary`.

use std::process::ExitCode;

use rusqlite::Connection;

use crate::chart::{Format, Look, Width};
use crate::findings::Shown;
use crate::findings::revised;
use crate::findings::summary::{self, Question, Summary, summary};
use crate::record::inspected::Feature;
use crate::record::kept::KeptSums;
use crate::record::{Kind, RecordError, reader};
use crate::register::forms::{FeatureForm, JobForm};

/// `overwire summary`.
#[derive(Debug, clap::Args)]
pub struct SummaryCommand {
    #[command(flatten)]
    record: super::RecordChoice,
    /// The job
    #[arg(long, value_name = "JOB")]
    job: String,
    /// One thread of it (left out: each)
    #[arg(long, value_name = "NAME")]
    feature: Option<String>,
    /// Sum up from the record alone: the file of sums beside it is neither read nor written
    #[arg(long)]
    anew: bool,
    /// JSON instead of text, one object a thread, with every figure in millimetres
    #[arg(long)]
    json: bool,
}

/// Why there is no summary.
#[derive(Debug, thiserror::Error)]
enum Refused {
    #[error(transparent)]
    Record(#[from] RecordError),
    #[error("there is no job `{wanted}` in the record; {known}")]
    NoJob { wanted: String, known: String },
    #[error("job `{job}` has no thread `{wanted}`; it has {known}")]
    NoFeature {
        job: String,
        wanted: String,
        known: String,
    },
    #[error("the thread `{feature}` of the job is not understood: {what}")]
    Strange { feature: String, what: String },
    #[error("there is nothing to sum up of `{feature}`: {reason}")]
    Nothing { feature: String, reason: String },
}

impl Refused {
    fn hint(&self) -> &'static str {
        match self {
            Refused::Record(error) => error.hint(),
            Refused::NoJob { .. } | Refused::NoFeature { .. } => {
                "Write the name as it stands on the page."
            }
            Refused::Strange { .. } => {
                "Save the job again on the page, with the mistakes it tells put right."
            }
            Refused::Nothing { .. } => "Inspect some pieces of this job first.",
        }
    }

    fn code(&self) -> u8 {
        match self {
            Refused::Record(_) => 74,
            _ => 1,
        }
    }
}

impl SummaryCommand {
    pub fn act(self) -> ExitCode {
        let connection = match self.record.open() {
            Ok(connection) => connection,
            Err(code) => return code,
        };
        let kept = match (self.anew, self.record.file()) {
            (false, Ok(file)) => KeptSums::beside(&file),
            _ => None,
        };
        match self.found(&connection, kept.as_ref()) {
            Ok(text) => {
                super::print(&text);
                ExitCode::SUCCESS
            }
            Err(refused) => {
                super::complain(&refused.to_string(), refused.hint());
                ExitCode::from(refused.code())
            }
        }
    }

    fn found(&self, record: &Connection, kept: Option<&KeptSums>) -> Result<String, Refused> {
        let job = self.form(record)?;
        let mut texts = Vec::new();
        let (mut summed_up, mut refused) = (false, None);
        for form in self.chosen(&job)? {
            let found = match self.of_feature(record, kept, form) {
                Err(Refused::Record(error)) => return Err(error.into()),
                Err(other) => {
                    let dash = self.dash(form, &other);
                    refused.get_or_insert(other);
                    dash
                }
                Ok(found) => {
                    summed_up = true;
                    found
                }
            };
            texts.push(match self.json {
                true => serde_json::to_string(&found).unwrap_or_default() + "\n",
                false => found.findings.to_text(),
            });
        }
        if let (false, Some(refused)) = (summed_up, refused) {
            return Err(refused);
        }
        let between = if self.json { "" } else { "\n" };
        Ok(texts.join(between))
    }

    /// What is told of a thread that cannot be summed up while others are.
    fn dash(&self, form: &FeatureForm, refused: &Refused) -> Summary {
        let thread = form.thread().ok();
        let about = thread.map_or_else(String::new, |thread| thread.designation);
        let title = format!("{}, {}", self.job, form.name);
        Summary::nothing(title, about, &refused.to_string())
    }

    /// The job as it was last saved.
    fn form(&self, record: &Connection) -> Result<JobForm, Refused> {
        let Some(newest) = reader::newest_of(record, Kind::Job, &self.job)? else {
            let names = reader::names_of(record, Kind::Job)?;
            return Err(Refused::NoJob {
                wanted: self.job.clone(),
                known: known(&names),
            });
        };
        let strange = |error: serde_json::Error| RecordError::Strange {
            entry: newest.head.entry,
            what: error.to_string(),
        };
        Ok(serde_json::from_str(&newest.body).map_err(strange)?)
    }

    fn chosen<'a>(&self, job: &'a JobForm) -> Result<Vec<&'a FeatureForm>, Refused> {
        let wanted = |form: &&FeatureForm| {
            let feature = self.feature.as_deref();
            feature.is_none_or(|feature| form.name == feature)
        };
        let chosen: Vec<&FeatureForm> = job.features.iter().filter(wanted).collect();
        match (chosen.is_empty(), &self.feature) {
            (true, Some(feature)) => {
                let names: Vec<String> = job.features.iter().map(quoted).collect();
                Err(Refused::NoFeature {
                    job: self.job.clone(),
                    wanted: feature.clone(),
                    known: names.join(", "),
                })
            }
            _ => Ok(chosen),
        }
    }

    fn of_feature(
        &self,
        record: &Connection,
        kept: Option<&KeptSums>,
        form: &FeatureForm,
    ) -> Result<Summary, Refused> {
        let thread = form.thread().map_err(|refusals| Refused::Strange {
            feature: form.name.clone(),
            what: refusals.0.into_values().collect::<Vec<_>>().join(" "),
        })?;
        let feature = Feature {
            job: &self.job,
            name: &form.name,
        };
        let (sums, revised) = revised::sums(record, feature, &thread, kept)?;
        let shown = Shown {
            unit: thread.unit,
            places: summary::places(&sums, thread.unit),
            format: Format {
                width: Width::Desk,
                look: Look::Fixed,
            },
        };
        let question = Question::of(record, feature, &thread, (&sums, revised))?;
        summary(&question, &shown).map_err(|reason| Refused::Nothing {
            feature: form.name.clone(),
            reason: match question.revised.left_out() {
                Some(told) => format!("{reason}. {}", told.trim_end_matches('.')),
                None => reason.to_string(),
            },
        })
    }
}

fn quoted(form: &FeatureForm) -> String {
    format!("`{}`", form.name)
}

/// So many names are listed.
const MOST_NAMES: usize = 8;

fn known(names: &[String]) -> String {
    let listed: Vec<String> = names
        .iter()
        .take(MOST_NAMES)
        .map(|name| format!("`{name}`"))
        .collect();
    match names.len().saturating_sub(MOST_NAMES) {
        _ if names.is_empty() => "it has none".to_owned(),
        0 => format!("it has {}", listed.join(", ")),
        more => format!("it has {} and {more} more", listed.join(", ")),
    }
}
