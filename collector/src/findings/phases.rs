//! Where the phases of a chart begin, and which pieces their limits come from.

use overwire_core::stats::Undefined;
use overwire_core::stats::series::Series;

use super::signals::Order;
use crate::chart::MarkKind;

/// A phase begins with a piece because something changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Break {
    /// The first piece of the phase.
    pub piece: i64,
    /// What kind of change it was.
    pub kind: MarkKind,
    /// What changed.
    pub label: String,
}

/// Which pieces limits come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Freeze {
    /// All of them.
    #[default]
    Never,
    /// So many at the start of each phase: later ones are judged by their limits.
    First(usize),
    /// Those up to a piece, this one too; not in phases.
    UpTo(i64),
}

/// Why phases or frozen limits cannot be had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PhaseError {
    /// There is no such piece on the chart.
    #[error("there is no piece {0} on this chart")]
    NoPiece(i64),
    /// A piece to freeze up to, and phases.
    #[error("limits cannot be frozen up to one piece where there are several phases")]
    UpToInPhases,
    /// More phases than anybody reads.
    #[error("that makes {0} phases, more than {MOST_PHASES}")]
    TooMany(usize),
}

/// More phases than this are no phases.
pub const MOST_PHASES: usize = 40;

impl PhaseError {
    /// A stable name for programs.
    pub const fn code(self) -> &'static str {
        match self {
            PhaseError::NoPiece(_) => "no-piece",
            PhaseError::UpToInPhases => "frozen-in-phases",
            PhaseError::TooMany(_) => "too-many-phases",
        }
    }

    /// What to do next.
    pub const fn hint(self) -> &'static str {
        match self {
            PhaseError::NoPiece(_) => "Name a piece whose readings count.",
            PhaseError::UpToInPhases => {
                "Freeze them from so many pieces at the start of each phase."
            }
            PhaseError::TooMany(_) => "Let phases begin with something that changes more rarely.",
        }
    }
}

/// A fresh start of a chart: the index of its first counted reading, and what changed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Start {
    /// Index of the first reading of the phase.
    pub index: usize,
    /// What kinds of change and what.
    pub change: Break,
}

/// The index of the first counted reading that is a piece, or comes after it where it does not count.
fn index_of(series: &Series, order: &Order, piece: i64) -> Result<usize, PhaseError> {
    let place = order.0.iter().position(|known| *known == piece);
    let place = place.ok_or(PhaseError::NoPiece(piece))? + 1;
    let count = series.readings().len();
    Ok((0..count)
        .find(|&index| series.place(index) >= place)
        .unwrap_or(count))
}

/// Where phases begin, in order; what changed at one piece is told together.
pub(super) fn starts(
    series: &Series,
    order: &Order,
    breaks: &[Break],
) -> Result<Vec<Start>, PhaseError> {
    let mut starts: Vec<Start> = Vec::new();
    for change in breaks {
        let index = index_of(series, order, change.piece)?;
        let change = change.clone();
        match starts.iter_mut().find(|start| start.index == index) {
            Some(start) if start.change.label != change.label => {
                start.change.label = format!("{}, {}", start.change.label, change.label);
            }
            Some(_) => {}
            None => starts.push(Start { index, change }),
        }
    }
    let count = series.readings().len();
    starts.retain(|start| (1..count).contains(&start.index));
    starts.sort_by_key(|start| start.index);
    match starts.len() < MOST_PHASES {
        true => Ok(starts),
        false => Err(PhaseError::TooMany(starts.len() + 1)),
    }
}

impl Freeze {
    /// From how many readings at the start of each phase.
    pub(super) fn after(
        self,
        series: &Series,
        order: &Order,
        phases: usize,
    ) -> Result<Option<usize>, PhaseError> {
        match self {
            Freeze::Never => Ok(None),
            Freeze::First(count) => Ok(Some(count)),
            Freeze::UpTo(_) if phases > 1 => Err(PhaseError::UpToInPhases),
            Freeze::UpTo(piece) => {
                let place = order.0.iter().position(|known| *known == piece);
                let place = place.ok_or(PhaseError::NoPiece(piece))? + 1;
                let indices = 0..series.readings().len();
                let before = indices.filter(|&index| series.place(index) <= place);
                Ok(Some(before.count()))
            }
        }
    }
}

/// Why a chart was not made.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ProcessError {
    /// There is nothing to chart.
    #[error("{0}")]
    Undefined(#[from] Undefined),
    /// The phases or the freezing that were asked for cannot be had.
    #[error("{0}")]
    Phases(#[from] PhaseError),
}

impl ProcessError {
    /// A stable name for programs.
    pub const fn code(&self) -> &'static str {
        match self {
            ProcessError::Undefined(reason) => reason.code(),
            ProcessError::Phases(error) => error.code(),
        }
    }
}
