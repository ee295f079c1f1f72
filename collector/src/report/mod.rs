//! The inspection report: one self-contained HTML page of a job, of its first piece or of a named one, made to be
//! printed. It needs no script and fetches nothing.
//!
//! | room | what is there |
//! | --- | --- |
//! | [`gather`] | what the record holds of the job, read in one transaction together with the head of the chain |
//! | [`equipment`] | what was measured with, as it stood at each reading |
//! | [`html`] | texts made safe, and tables |
//! | `parts` | the sections, one file each |
//!
//! Values, limits and verdicts are those of [`crate::view`], statistics those of [`crate::findings`]: nothing is
//! formatted a second way. A unit that is asked for changes what is shown and never what was compared.
//!
//! A report is bounded: of each thread up to [`MOST_ROWS`] readings are listed. Of a larger job those that do not
//! pass are listed, up to as many, and the report says so and names the export that holds the rest.

pub mod equipment;
pub mod gather;
pub mod html;
mod parts;

use overwire_core::units::Unit;
use rusqlite::Connection;

use crate::clock::Stamp;
use crate::record::RecordError;
use gather::Gathered;

/// Most readings of one thread that are listed.
pub const MOST_ROWS: usize = 2_000;

/// What is reported on.
#[derive(Debug, Clone, Default)]
pub struct Question {
    /// The job.
    pub job: String,
    /// One of its threads; empty is all of them.
    pub feature: String,
    /// Which pieces.
    pub which: Which,
    /// Paper to print on.
    pub paper: Paper,
    /// Unit lengths are shown in; none shows each reading in its own, each limit in its thread's.
    pub unit: Option<Unit>,
}

/// Which pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Which {
    /// Every piece.
    #[default]
    All,
    /// The lowest piece number that was inspected: the first article.
    First,
    /// The piece of a number.
    Piece(i64),
}

impl Which {
    /// From a word: `first`, a piece number, or nothing for every piece.
    pub fn parse(text: &str) -> Option<Which> {
        match text.trim() {
            "" => Some(Which::All),
            "first" => Some(Which::First),
            number => number
                .parse()
                .ok()
                .filter(|piece| *piece >= 1)
                .map(Which::Piece),
        }
    }
}

impl Paper {
    /// From a word: `a4` (or nothing) or `letter`.
    pub fn parse(text: &str) -> Option<Paper> {
        match text.trim().to_ascii_lowercase().as_str() {
            "" | "a4" => Some(Paper::A4),
            "letter" => Some(Paper::Letter),
            _ => None,
        }
    }
}

/// Paper sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// ISO 216 A4, 210 by 297 mm.
    #[default]
    A4,
    /// ANSI A letter, 8.5 by 11 in.
    Letter,
}

/// Where and by what a report is made.
#[derive(Debug, Clone)]
pub struct Maker {
    /// Name of the shop; may be empty.
    pub shop: String,
    /// When it is made.
    pub at: Stamp,
}

/// Why there is no report.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The record could not be read.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// No such job.
    #[error("there is no job {0}")]
    NoJob(String),
    /// No such thread on the pieces of the job.
    #[error("job {job} has no thread {feature}")]
    NoFeature {
        /// The job.
        job: String,
        /// What was asked for.
        feature: String,
    },
    /// Nothing was inspected yet.
    #[error("no piece of job {0} has an inspected reading that counts yet")]
    NothingInspected(String),
    /// The piece has no reading.
    #[error("piece {piece} of job {job} has no reading")]
    NoPiece {
        /// The job.
        job: String,
        /// What was asked for.
        piece: i64,
    },
}

impl From<rusqlite::Error> for ReportError {
    fn from(error: rusqlite::Error) -> Self {
        ReportError::Record(error.into())
    }
}

impl ReportError {
    /// Stable short name, for programs.
    pub fn code(&self) -> &'static str {
        match self {
            ReportError::Record(error) => error.code(),
            ReportError::NoJob(_) => "no-job",
            ReportError::NoFeature { .. } => "no-feature",
            ReportError::NothingInspected(_) => "nothing-inspected",
            ReportError::NoPiece { .. } => "no-piece",
        }
    }

    /// What to do next.
    pub fn hint(&self) -> &'static str {
        match self {
            ReportError::Record(error) => error.hint(),
            ReportError::NoJob(_) => "Write the job's name as it was set up.",
            ReportError::NoFeature { .. } => {
                "Write the thread's name as in the job, or leave it out for all of them."
            }
            ReportError::NothingInspected(_) => {
                "Measure a piece with the purpose `inspecting`, or re-tag its readings."
            }
            ReportError::NoPiece { .. } => "Look at the piece numbers in the list of readings.",
        }
    }
}

/// Makes the report.
///
/// # Errors
/// There is no such job, thread or piece, nothing was inspected, or the record cannot be read.
pub fn report(
    connection: &Connection,
    question: &Question,
    maker: &Maker,
) -> Result<String, ReportError> {
    // One transaction: the head of the chain is that of what is reported, whatever is measured meanwhile.
    let transaction = connection.unchecked_transaction()?;
    let gathered = Gathered::read(&transaction, question)?;
    Ok(parts::document(&transaction, question, maker, &gathered))
}
