//! The readings of a crossed study: every operator measured every piece, equally often.

use thiserror::Error;

use crate::study::progress::Study;

/// One reading with its tags.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaggedReading<'a> {
    /// Which piece.
    pub piece: &'a str,
    /// Who measured.
    pub operator: &'a str,
    /// What was read.
    pub value: f64,
}

/// Why readings make no balanced study.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum TableError {
    /// Fewer than two pieces.
    #[error("a gauge study needs two pieces at least, found {found}")]
    TooFewPieces {
        /// How many there are.
        found: usize,
    },
    /// Nobody, or for a nested study only one, measured.
    #[error("a gauge study needs {needed} operators at least, found {found}")]
    TooFewOperators {
        /// How many it takes.
        needed: usize,
        /// How many there are.
        found: usize,
    },
    /// A piece that an operator measured less or more often than the others. A missing reading is never
    /// filled in.
    #[error(
        "{operator} measured {piece} {}, others {}: measure what is missing, or leave the piece or the operator out",
        times(*.found),
        times(*.expected)
    )]
    Unbalanced {
        /// Who.
        operator: String,
        /// Which piece.
        piece: String,
        /// How often.
        found: usize,
        /// How often elsewhere.
        expected: usize,
    },
    /// An operator with fewer or more pieces than another.
    #[error("{operator} measured {found} pieces, others {expected}: each needs as many")]
    UnevenPieces {
        /// Who.
        operator: String,
        /// How many.
        found: usize,
        /// How many others measured.
        expected: usize,
    },
    /// Every piece was measured once only: nothing says how readings repeat.
    #[error("every piece was measured once only: without repeats nothing says how readings repeat")]
    NoRepeats,
    /// A reading that is not a number.
    #[error("{operator}, {piece}: a reading is not a finite number")]
    NotFinite {
        /// Who.
        operator: String,
        /// Which piece.
        piece: String,
    },
    /// A study that varies the method: each method needs a study of its own.
    #[error("the study has no method {}", .method.saturating_add(1))]
    NoSuchMethod {
        /// The method asked for, counted from 0.
        method: usize,
    },
}

impl TableError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            TableError::TooFewPieces { .. } => "too-few-pieces",
            TableError::TooFewOperators { .. } => "too-few-operators",
            TableError::Unbalanced { .. } => "unbalanced",
            TableError::UnevenPieces { .. } => "uneven-pieces",
            TableError::NoRepeats => "no-repeats",
            TableError::NotFinite { .. } => "not-finite",
            TableError::NoSuchMethod { .. } => "no-such-method",
        }
    }
}

/// Pieces by operators by repeats, complete.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossed {
    pieces: Vec<String>,
    operators: Vec<String>,
    repeats: usize,
    /// By piece, then operator, then repeat.
    cells: Vec<Vec<f64>>,
}

impl Crossed {
    /// Sorts readings into a table, in the order in which pieces and operators are first named.
    ///
    /// # Errors
    /// [`TableError`] names what is missing or too much.
    pub fn of(readings: &[TaggedReading]) -> Result<Crossed, TableError> {
        let pieces = names(readings.iter().map(|reading| reading.piece));
        let operators = names(readings.iter().map(|reading| reading.operator));
        if pieces.len() < 2 {
            return Err(TableError::TooFewPieces {
                found: pieces.len(),
            });
        }
        let mut cells = vec![Vec::new(); pieces.len() * operators.len()];
        for reading in readings {
            if !reading.value.is_finite() {
                return Err(TableError::NotFinite {
                    operator: reading.operator.to_owned(),
                    piece: reading.piece.to_owned(),
                });
            }
            let piece = position(&pieces, reading.piece);
            let operator = position(&operators, reading.operator);
            if let Some(cell) = cells.get_mut(piece * operators.len() + operator) {
                cell.push(reading.value);
            }
        }
        let table = Crossed {
            repeats: cells.iter().map(Vec::len).max().unwrap_or(0),
            pieces,
            operators,
            cells,
        };
        table.check()?;
        Ok(table)
    }

    /// The readings of one method of a study.
    ///
    /// # Errors
    /// [`TableError`] when the study is not finished, or has no such method.
    pub fn from_study(study: &Study, method: usize) -> Result<Crossed, TableError> {
        Crossed::of(&tagged(study, method)?)
    }

    fn check(&self) -> Result<(), TableError> {
        for (index, cell) in self.cells.iter().enumerate() {
            if cell.len() != self.repeats {
                let name = |names: &[String], at: usize| names.get(at).cloned().unwrap_or_default();
                return Err(TableError::Unbalanced {
                    operator: name(&self.operators, index % self.operators.len().max(1)),
                    piece: name(&self.pieces, index / self.operators.len().max(1)),
                    found: cell.len(),
                    expected: self.repeats,
                });
            }
        }
        match self.repeats {
            0 | 1 => Err(TableError::NoRepeats),
            _ => Ok(()),
        }
    }

    /// The pieces.
    pub fn pieces(&self) -> &[String] {
        &self.pieces
    }

    /// The operators.
    pub fn operators(&self) -> &[String] {
        &self.operators
    }

    /// How often each measured each.
    pub const fn repeats(&self) -> usize {
        self.repeats
    }

    /// The cells: by piece, then operator.
    pub(crate) fn cells(&self) -> &[Vec<f64>] {
        &self.cells
    }

    /// The first reading: an origin for all.
    pub(crate) fn origin(&self) -> f64 {
        super::super::sums::origin(&self.cells)
    }

    /// All readings of each piece.
    pub(crate) fn by_piece(&self) -> Vec<Vec<f64>> {
        let rows = self.cells.chunks(self.operators.len().max(1));
        rows.map(|row| row.concat()).collect()
    }

    /// All readings of each operator.
    pub(crate) fn by_operator(&self) -> Vec<Vec<f64>> {
        let of = |operator: usize| {
            let cells = self.cells.iter().skip(operator);
            cells
                .step_by(self.operators.len().max(1))
                .flatten()
                .copied()
        };
        (0..self.operators.len())
            .map(|operator| of(operator).collect())
            .collect()
    }
}

/// The readings of one method of a study, tagged.
pub(crate) fn tagged(study: &Study, method: usize) -> Result<Vec<TaggedReading<'_>>, TableError> {
    let design = study.design();
    if method >= design.methods.len() {
        return Err(TableError::NoSuchMethod { method });
    }
    let readings = study
        .measured()
        .filter(|measured| measured.cell.method == method);
    let tag = |measured: crate::study::progress::Measured<'_>| {
        let cell = measured.cell;
        Some(TaggedReading {
            piece: design.piece_name(cell.operator, cell.piece)?,
            operator: design.operators.get(cell.operator)?,
            value: measured.value_mm,
        })
    };
    Ok(readings.filter_map(tag).collect())
}

pub(crate) fn names<'a>(all: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in all {
        if !names.iter().any(|seen| seen == name) {
            names.push(name.to_owned());
        }
    }
    names
}

pub(crate) fn position(names: &[String], name: &str) -> usize {
    names
        .iter()
        .position(|seen| seen == name)
        .unwrap_or(names.len())
}

/// How often, in words.
fn times(count: usize) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        _ => format!("{count} times"),
    }
}
