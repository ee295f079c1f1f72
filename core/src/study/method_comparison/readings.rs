//! The readings of methods, as a study gave them.

use std::collections::{BTreeMap, BTreeSet};

use super::settings::{ComparisonError, Pairing};
use crate::study::design::Pieces;
use crate::study::progress::Study;

/// A method and what it read.
#[derive(Debug, Clone, PartialEq)]
pub struct MethodReadings {
    /// Its name.
    pub name: String,
    /// Its readings in mm; when paired, in the order of the blocks, one of each block.
    pub readings: Vec<f64>,
}

impl MethodReadings {
    /// The readings of a study of one piece, method by method. With blocks, only rounds in which nothing
    /// is missing count, so that readings stay paired.
    ///
    /// # Errors
    /// [`ComparisonError::ManyPieces`] for more than one piece.
    pub fn from_study(
        study: &Study,
        pairing: Pairing,
    ) -> Result<Vec<MethodReadings>, ComparisonError> {
        let design = study.design();
        let found = match &design.pieces {
            Pieces::Shared(pieces) => pieces.len(),
            Pieces::Own(lists) => lists.iter().map(Vec::len).sum(),
        };
        if found != 1 {
            return Err(ComparisonError::ManyPieces { found });
        }
        let blocks = complete_blocks(study);
        let mut methods: Vec<MethodReadings> = design
            .methods
            .iter()
            .map(|name| MethodReadings {
                name: name.clone(),
                readings: Vec::new(),
            })
            .collect();
        for measured in study.measured() {
            let block = (measured.cell.round, measured.cell.operator);
            let counts = pairing == Pairing::Apart || blocks.contains(&block);
            if let (true, Some(method)) = (counts, methods.get_mut(measured.cell.method)) {
                method.readings.push(measured.value_mm);
            }
        }
        Ok(methods)
    }
}

/// Rounds of an operator in which no method is missing.
fn complete_blocks(study: &Study) -> BTreeSet<(usize, usize)> {
    let mut counts = BTreeMap::new();
    for measured in study.measured() {
        let block = (measured.cell.round, measured.cell.operator);
        *counts.entry(block).or_insert(0_usize) += 1;
    }
    let methods = study.design().methods.len();
    let full = counts.into_iter().filter(|(_, count)| *count == methods);
    full.map(|(block, _)| block).collect()
}
