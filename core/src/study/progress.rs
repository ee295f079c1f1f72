//! A study under way: which reading is next, what has been taken, what was taken again and why.
//!
//! A pure state machine. It is stored as its design and the list of what happened; reading it back
//! replays that list, so a study can be paused for days and a stored one that does not hold
//! together is refused. Nothing is ever taken out: a reading taken again stays in the list with
//! the reason.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::design::{Design, DesignError, Factor, Pieces};
use super::plan::{Cell, cells};
use crate::stats::counted;

/// Something that happened in a study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Step {
    /// A reading filled a cell.
    Filled {
        /// Which cell, counted from 0 in the order of the plan.
        cell: usize,
        /// The reading's id in the record.
        reading: String,
        /// What it read, in mm.
        value_mm: f64,
    },
    /// A cell is to be measured again.
    Redo {
        /// Which cell.
        cell: usize,
        /// Why.
        reason: String,
    },
}

/// Why a step was refused.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum StudyError {
    /// The design cannot be carried out.
    #[error(transparent)]
    Design(#[from] DesignError),
    /// There is nothing left to measure.
    #[error("every reading of the study has been taken")]
    Finished,
    /// A reading that is not a number.
    #[error("the reading `{reading}` is not a finite number")]
    NotFinite {
        /// Its id.
        reading: String,
    },
    /// A reading cannot fill two cells.
    #[error("the reading `{reading}` has already filled cell {}", .cell + 1)]
    Used {
        /// Its id.
        reading: String,
        /// The cell, counted from 0.
        cell: usize,
    },
    /// There is no such cell.
    #[error("there is no cell {}; the study has {cells}", .cell.saturating_add(1))]
    NoSuchCell {
        /// The cell asked for, counted from 0.
        cell: usize,
        /// How many there are.
        cells: usize,
    },
    /// The cell holds no reading.
    #[error("cell {} holds no reading that could be taken again", .cell + 1)]
    NotFilled {
        /// The cell, counted from 0.
        cell: usize,
    },
    /// Nothing is taken again without a reason.
    #[error("a reading is taken again only with a reason")]
    NoReason,
    /// A stored study fills its cells in another order than its plan says.
    #[error("the stored study fills cell {} where its plan asks for cell {}", .found + 1, .expected + 1)]
    OutOfOrder {
        /// The cell it fills.
        found: usize,
        /// The cell that was next.
        expected: usize,
    },
}

impl StudyError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            StudyError::Design(error) => error.code(),
            StudyError::Finished => "study-finished",
            StudyError::NotFinite { .. } => "not-finite",
            StudyError::Used { .. } => "reading-used",
            StudyError::NoSuchCell { .. } => "no-such-cell",
            StudyError::NotFilled { .. } => "cell-not-filled",
            StudyError::NoReason => "no-reason",
            StudyError::OutOfOrder { .. } => "out-of-order",
        }
    }
}

/// What a study is stored as.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stored {
    design: Design,
    steps: Vec<Step>,
}

/// A study under way.
///
/// ```
/// use overwire_core::study::{Design, Study};
/// let methods = vec!["bare".to_owned(), "grease".to_owned()];
/// let mut study = Study::new(Design::methods_on_one_piece("master", methods, "Ann", 2, 1))?;
/// while let Some(prompt) = study.next() {
///     let id = format!("reading-{}", prompt.number);
///     study.fill(&id, 13.571)?;
/// }
/// assert!(study.is_finished());
/// study.redo(0, "a wire slipped")?;
/// assert_eq!(study.progress().filled, 3);
/// # Ok::<(), overwire_core::study::StudyError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Stored", into = "Stored")]
pub struct Study {
    design: Design,
    cells: Vec<Cell>,
    steps: Vec<Step>,
    open: BTreeSet<usize>,
    current: BTreeMap<usize, usize>,
    used: BTreeMap<String, usize>,
}

/// What to measure next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prompt {
    /// Which cell, counted from 0 in the order of the plan.
    pub index: usize,
    /// The cell.
    pub cell: Cell,
    /// Which reading of the study this is, counted from 1.
    pub number: usize,
    /// How many there are.
    pub of: usize,
    /// What has to be changed since the reading before; nothing at the start.
    pub changes: Vec<Factor>,
    /// The reason, when the cell is measured again.
    pub again: Option<String>,
    /// What to do, in words.
    pub words: String,
}

/// How far a study has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Readings that stand.
    pub filled: usize,
    /// Readings the plan asks for.
    pub total: usize,
    /// Readings that were taken again; one that is still to be taken does not count yet.
    pub redone: usize,
    /// Rounds in which nothing is missing.
    pub rounds_complete: usize,
}

/// A reading that stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured<'a> {
    /// Its cell.
    pub cell: Cell,
    /// Its id in the record.
    pub reading: &'a str,
    /// What it read, in mm.
    pub value_mm: f64,
}

impl Study {
    /// A study at its beginning.
    ///
    /// # Errors
    /// [`StudyError::Design`] when the design cannot be carried out.
    pub fn new(design: Design) -> Result<Study, StudyError> {
        let cells = cells(&design)?;
        Ok(Study {
            open: (0..cells.len()).collect(),
            design,
            cells,
            steps: Vec::new(),
            current: BTreeMap::new(),
            used: BTreeMap::new(),
        })
    }

    /// The layout.
    pub const fn design(&self) -> &Design {
        &self.design
    }

    /// The cells in the order of the plan.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Everything that happened, in order.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// What to measure next; nothing when the study is finished.
    pub fn next(&self) -> Option<Prompt> {
        let index = *self.open.first()?;
        let cell = *self.cells.get(index)?;
        let before = self.last_filled().and_then(|last| self.cells.get(last));
        let again = self.steps.iter().rev().find_map(|step| match step {
            Step::Redo { cell, reason } if *cell == index => Some(reason.clone()),
            _ => None,
        });
        Some(Prompt {
            index,
            cell,
            number: self.current.len() + 1,
            of: self.cells.len(),
            changes: before.map_or_else(Vec::new, |before| cell.changes_from(before)),
            again,
            words: cell.words(&self.design),
        })
    }

    fn last_filled(&self) -> Option<usize> {
        self.steps.iter().rev().find_map(|step| match step {
            Step::Filled { cell, .. } => Some(*cell),
            Step::Redo { .. } => None,
        })
    }

    /// Fills the next cell with a reading, in mm, and says which cell that was.
    ///
    /// # Errors
    /// [`StudyError::Finished`], [`StudyError::NotFinite`], or [`StudyError::Used`] when the reading
    /// has filled a cell before.
    pub fn fill(&mut self, reading: &str, value_mm: f64) -> Result<usize, StudyError> {
        let cell = *self.open.first().ok_or(StudyError::Finished)?;
        if !value_mm.is_finite() {
            return Err(StudyError::NotFinite {
                reading: reading.to_owned(),
            });
        }
        if let Some(&cell) = self.used.get(reading) {
            return Err(StudyError::Used {
                reading: reading.to_owned(),
                cell,
            });
        }
        self.open.remove(&cell);
        self.current.insert(cell, self.steps.len());
        self.used.insert(reading.to_owned(), cell);
        self.steps.push(Step::Filled {
            cell,
            reading: reading.to_owned(),
            value_mm,
        });
        Ok(cell)
    }

    /// Has a filled cell measured again, before any cell that comes later in the plan. The reading
    /// it held stays in the list of steps and no longer counts.
    ///
    /// # Errors
    /// [`StudyError::NoSuchCell`], [`StudyError::NotFilled`], or [`StudyError::NoReason`].
    pub fn redo(&mut self, cell: usize, reason: &str) -> Result<(), StudyError> {
        if cell >= self.cells.len() {
            return Err(StudyError::NoSuchCell {
                cell,
                cells: self.cells.len(),
            });
        }
        if reason.trim().is_empty() {
            return Err(StudyError::NoReason);
        }
        if self.current.remove(&cell).is_none() {
            return Err(StudyError::NotFilled { cell });
        }
        self.open.insert(cell);
        self.steps.push(Step::Redo {
            cell,
            reason: reason.to_owned(),
        });
        Ok(())
    }

    /// The cell that a reading fills or has filled.
    pub fn cell_of(&self, reading: &str) -> Option<usize> {
        self.used.get(reading).copied()
    }

    /// Whether nothing is left to measure.
    pub fn is_finished(&self) -> bool {
        self.open.is_empty()
    }

    /// How far the study has come.
    pub fn progress(&self) -> Progress {
        let rounds = self.design.rounds as usize;
        let unfinished: BTreeSet<usize> = self
            .open
            .iter()
            .filter_map(|&index| self.cells.get(index).map(|cell| cell.round))
            .collect();
        let redone = self.steps.iter().filter_map(|step| match step {
            Step::Redo { cell, .. } => Some(*cell),
            Step::Filled { .. } => None,
        });
        let redone: Vec<usize> = redone.collect();
        // A cell is open again after its last redo only.
        let voided: BTreeSet<usize> = redone
            .iter()
            .copied()
            .filter(|cell| self.open.contains(cell))
            .collect();
        Progress {
            filled: self.current.len(),
            total: self.cells.len(),
            redone: redone.len() - voided.len(),
            rounds_complete: rounds - unfinished.len(),
        }
    }

    /// The readings that stand, in the order of the plan.
    pub fn measured(&self) -> impl Iterator<Item = Measured<'_>> {
        self.current.iter().filter_map(|(&index, &step)| {
            let cell = *self.cells.get(index)?;
            match self.steps.get(step)? {
                Step::Filled {
                    reading, value_mm, ..
                } => Some(Measured {
                    cell,
                    reading,
                    value_mm: *value_mm,
                }),
                Step::Redo { .. } => None,
            }
        })
    }

    /// What is printed with every result: layout, order, seed, and what was taken again.
    pub fn settings_words(&self) -> String {
        let design = &self.design;
        let again = match self.progress().redone {
            0 => String::new(),
            1 => " One reading was taken again.".to_owned(),
            many => format!(" {many} readings were taken again."),
        };
        let pieces = match design.pieces {
            Pieces::Shared(_) => counted(design.pieces_each(), "pieces"),
            Pieces::Own(_) => format!(
                "{} of each operator",
                counted(design.pieces_each(), "pieces")
            ),
        };
        format!(
            "{pieces}, {}, {}, {}, {} (seed {}).{again}",
            counted(design.methods.len(), "methods"),
            counted(design.operators.len(), "operators"),
            counted(design.rounds as usize, "rounds"),
            design.order.words(),
            design.seed
        )
    }

    fn replay(&mut self, step: &Step) -> Result<(), StudyError> {
        match step {
            Step::Redo { cell, reason } => self.redo(*cell, reason),
            Step::Filled {
                cell,
                reading,
                value_mm,
            } => {
                let expected = self.fill(reading, *value_mm)?;
                match expected == *cell {
                    true => Ok(()),
                    false => Err(StudyError::OutOfOrder {
                        found: *cell,
                        expected,
                    }),
                }
            }
        }
    }
}

impl TryFrom<Stored> for Study {
    type Error = StudyError;

    fn try_from(stored: Stored) -> Result<Study, StudyError> {
        let mut study = Study::new(stored.design)?;
        for step in &stored.steps {
            study.replay(step)?;
        }
        Ok(study)
    }
}

impl From<Study> for Stored {
    fn from(study: Study) -> Stored {
        Stored {
            design: study.design,
            steps: study.steps,
        }
    }
}
