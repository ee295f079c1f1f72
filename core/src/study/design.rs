//! What a study is laid out over: pieces, methods, operators and rounds.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The most readings a study may ask for.
pub const MOST_CELLS: usize = 20_000;

/// Which pieces are measured, and by whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pieces {
    /// Every operator measures all of them (crossed).
    Shared(Vec<String>),
    /// Every operator has pieces of their own (nested), one list for each operator, all of one length.
    Own(Vec<Vec<String>>),
}

/// In which order the cells are measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    /// Round by round; in a round operator by operator, piece by piece in random order, and on each
    /// piece one go through all methods (a block), balanced for place and predecessor. What drifts
    /// (warmth, wear, practice) then meets all methods alike.
    #[default]
    Blocks,
    /// Every cell anywhere: no blocks, so drift adds to the spread.
    Shuffled,
    /// As listed, round by round. Not random: drift may look like a difference.
    AsListed,
}

impl Order {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Order::Blocks => "blocks",
            Order::Shuffled => "shuffled",
            Order::AsListed => "as-listed",
        }
    }

    /// What is printed with every result.
    pub const fn words(self) -> &'static str {
        match self {
            Order::Blocks => "in balanced random order, one go through all methods after the other",
            Order::Shuffled => "in random order, without blocks",
            Order::AsListed => {
                "in the order listed, not at random: drift may look like a difference"
            }
        }
    }
}

/// The layout of a study. Checked by [`Design::check`] wherever it is used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Design {
    /// The pieces.
    pub pieces: Pieces,
    /// The ways of measuring, one at least.
    pub methods: Vec<String>,
    /// Who measures, one at least.
    pub operators: Vec<String>,
    /// How often each combination is measured; at least once.
    pub rounds: u32,
    /// In which order.
    pub order: Order,
    /// The seed of the order: the same seed gives the same order.
    pub seed: u32,
}

/// What a design varies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Factor {
    /// Pieces.
    Piece,
    /// Ways of measuring.
    Method,
    /// Who measures.
    Operator,
}

impl Factor {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Factor::Piece => "piece",
            Factor::Method => "method",
            Factor::Operator => "operator",
        }
    }
}

/// Why a design cannot be carried out.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum DesignError {
    /// Nothing to measure, nobody to measure it, or no way of doing so.
    #[error("a study needs at least one {}", .factor.code())]
    Nothing {
        /// What is missing.
        factor: Factor,
    },
    /// A name without letters.
    #[error("a {} has no name", .factor.code())]
    NoName {
        /// What has no name.
        factor: Factor,
    },
    /// Two of the same name.
    #[error("there are two of {} `{name}`", .factor.code())]
    SameName {
        /// What is named twice.
        factor: Factor,
        /// The name.
        name: String,
    },
    /// Operators with pieces of their own, but not one list of equal length for each.
    #[error("expected as many pieces for each operator, one list each, found {found:?}")]
    OwnPieces {
        /// How many pieces each list holds.
        found: Vec<usize>,
    },
    /// No rounds.
    #[error("expected at least one round, found 0")]
    NoRounds,
    /// More readings than anybody takes.
    #[error("the study asks for {found} readings; at most {MOST_CELLS} are accepted")]
    TooMany {
        /// How many it asks for.
        found: usize,
    },
}

impl DesignError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            DesignError::Nothing { .. } => "nothing-to-study",
            DesignError::NoName { .. } => "no-name",
            DesignError::SameName { .. } => "same-name",
            DesignError::OwnPieces { .. } => "own-pieces",
            DesignError::NoRounds => "no-rounds",
            DesignError::TooMany { .. } => "too-many-readings",
        }
    }
}

impl Design {
    /// Several methods on one piece, in blocks.
    pub fn methods_on_one_piece(
        piece: &str,
        methods: Vec<String>,
        operator: &str,
        rounds: u32,
        seed: u32,
    ) -> Design {
        Design {
            pieces: Pieces::Shared(vec![piece.to_owned()]),
            methods,
            operators: vec![operator.to_owned()],
            rounds,
            order: Order::Blocks,
            seed,
        }
    }

    /// Which of three wires lies alone: each wire in each seat in turn. The first wire named in a
    /// method's words is the lone one, the others lie as the pair.
    pub fn wires_in_turn(
        piece: &str,
        wires: [&str; 3],
        operator: &str,
        rounds: u32,
        seed: u32,
    ) -> Design {
        let [first, second, third] = wires;
        let seated = |lone: &str, left: &str, right: &str| {
            format!("wire {lone} alone, {left} and {right} as the pair")
        };
        let methods = vec![
            seated(first, second, third),
            seated(second, third, first),
            seated(third, first, second),
        ];
        Design::methods_on_one_piece(piece, methods, operator, rounds, seed)
    }

    /// How many pieces an operator measures.
    pub fn pieces_each(&self) -> usize {
        match &self.pieces {
            Pieces::Shared(pieces) => pieces.len(),
            Pieces::Own(lists) => lists.first().map_or(0, Vec::len),
        }
    }

    /// The name of a piece of an operator's; nothing when there is none.
    pub fn piece_name(&self, operator: usize, piece: usize) -> Option<&str> {
        let pieces = match &self.pieces {
            Pieces::Shared(pieces) => pieces,
            Pieces::Own(lists) => lists.get(operator)?,
        };
        pieces.get(piece).map(String::as_str)
    }

    /// How many readings the study asks for.
    pub fn cells(&self) -> usize {
        let combinations = self
            .pieces_each()
            .saturating_mul(self.methods.len())
            .saturating_mul(self.operators.len());
        combinations.saturating_mul(self.rounds as usize)
    }

    /// Whether the design can be carried out.
    ///
    /// # Errors
    /// [`DesignError`] names the first thing that stands in the way.
    pub fn check(&self) -> Result<(), DesignError> {
        check_names(Factor::Method, &self.methods)?;
        check_names(Factor::Operator, &self.operators)?;
        match &self.pieces {
            Pieces::Shared(pieces) => check_names(Factor::Piece, pieces)?,
            Pieces::Own(lists) => self.check_own(lists)?,
        }
        if self.rounds == 0 {
            return Err(DesignError::NoRounds);
        }
        match self.cells() {
            found if found > MOST_CELLS => Err(DesignError::TooMany { found }),
            _ => Ok(()),
        }
    }

    fn check_own(&self, lists: &[Vec<String>]) -> Result<(), DesignError> {
        let found: Vec<usize> = lists.iter().map(Vec::len).collect();
        let each = self.pieces_each();
        if found.len() != self.operators.len() || found.iter().any(|&count| count != each) {
            return Err(DesignError::OwnPieces { found });
        }
        let all: Vec<String> = lists.iter().flatten().cloned().collect();
        check_names(Factor::Piece, &all)
    }
}

fn check_names(factor: Factor, names: &[String]) -> Result<(), DesignError> {
    if names.is_empty() {
        return Err(DesignError::Nothing { factor });
    }
    let mut sorted: Vec<&str> = names.iter().map(|name| name.trim()).collect();
    sorted.sort_unstable();
    if sorted.first().is_some_and(|name| name.is_empty()) {
        return Err(DesignError::NoName { factor });
    }
    let twice = sorted.windows(2).find_map(|pair| match pair {
        [one, other] if one == other => Some((*one).to_owned()),
        _ => None,
    });
    match twice {
        Some(name) => Err(DesignError::SameName { factor, name }),
        None => Ok(()),
    }
}
