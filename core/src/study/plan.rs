//! The order of a study's cells: a pure function of the design and its seed.

use super::balance::BalancedOrders;
use super::design::{Design, DesignError, Factor, Order};
use super::generator::Generator;

/// One reading to be taken: indices into the lists of the design, counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Cell {
    /// Which piece; with pieces of their own, which of the operator's.
    pub piece: usize,
    /// Which method.
    pub method: usize,
    /// Which operator.
    pub operator: usize,
    /// Which round.
    pub round: usize,
}

impl Cell {
    /// What to do, in words. What the study does not vary is left out.
    ///
    /// ```
    /// use overwire_core::study::{Cell, Design};
    /// let methods = vec!["bare".to_owned(), "grease".to_owned()];
    /// let design = Design::methods_on_one_piece("master", methods, "Ann", 10, 1);
    /// let cell = Cell { piece: 0, method: 1, operator: 0, round: 2 };
    /// assert_eq!(cell.words(&design), "Measure master, method grease, round 3 of 10.");
    /// ```
    pub fn words(&self, design: &Design) -> String {
        let operator = design.operators.get(self.operator).map(String::as_str);
        let mut words = match (operator, design.operators.len()) {
            (Some(name), 2..) => format!("{name} measures "),
            _ => "Measure ".to_owned(),
        };
        let piece = design.piece_name(self.operator, self.piece);
        words.push_str(piece.unwrap_or("the piece"));
        let method = design.methods.get(self.method);
        if let (Some(name), 2..) = (method, design.methods.len()) {
            words.push_str(&format!(", method {name}"));
        }
        if design.rounds > 1 {
            words.push_str(&format!(", round {} of {}", self.round + 1, design.rounds));
        }
        words.push('.');
        words
    }

    /// What has to be changed to come from one cell to this one.
    pub fn changes_from(&self, before: &Cell) -> Vec<Factor> {
        let operator = self.operator != before.operator;
        let changes = [
            (operator, Factor::Operator),
            (self.piece != before.piece, Factor::Piece),
            (self.method != before.method, Factor::Method),
        ];
        changes
            .into_iter()
            .filter_map(|(changed, factor)| changed.then_some(factor))
            .collect()
    }
}

/// The cells of a design in the order in which they are to be measured.
///
/// # Errors
/// [`DesignError`] when the design cannot be carried out.
pub fn cells(design: &Design) -> Result<Vec<Cell>, DesignError> {
    design.check()?;
    let mut generator = Generator::new(u64::from(design.seed));
    Ok(match design.order {
        Order::Blocks => in_blocks(design, &mut generator),
        Order::AsListed => as_listed(design),
        Order::Shuffled => {
            let mut cells = as_listed(design);
            generator.shuffle(&mut cells);
            cells
        }
    })
}

fn as_listed(design: &Design) -> Vec<Cell> {
    let mut cells = Vec::with_capacity(design.cells());
    for round in 0..design.rounds as usize {
        for operator in 0..design.operators.len() {
            for piece in 0..design.pieces_each() {
                cells.extend((0..design.methods.len()).map(|method| Cell {
                    piece,
                    method,
                    operator,
                    round,
                }));
            }
        }
    }
    cells
}

fn in_blocks(design: &Design, generator: &mut Generator) -> Vec<Cell> {
    let mut turns = BalancedOrders::of(design.operators.len());
    let mut blocks = BalancedOrders::of(design.methods.len());
    let mut cells = Vec::with_capacity(design.cells());
    for round in 0..design.rounds as usize {
        for operator in turns.next(generator) {
            for piece in generator.order(design.pieces_each()) {
                let block = blocks.next(generator);
                cells.extend(block.into_iter().map(|method| Cell {
                    piece,
                    method,
                    operator,
                    round,
                }));
            }
        }
    }
    cells
}
