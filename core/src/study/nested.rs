//! A gauge study in which every operator has pieces of their own, as when measuring uses pieces up or
//! they cannot travel.
//!
//! Operators are tested against their pieces, pieces against repeats. That pieces of one operator are
//! larger than another's looks like a difference of operators: deal them out at random.
//! Source: AIAG Measurement Systems Analysis (formulas from memory; results checked against independent ones).

use super::anova::{OneWay, Variation};
use super::budget::Repeatability;
use super::figure::FRatio;
use super::gauge_rr::{
    Categories, Component, GaugeSettings, Part, TableError, TaggedReading, at_least, component,
    names, of_difference, of_sum, of_sum_less, position, tagged,
};
use super::progress::Study;
use super::sums::rounding_of;
use crate::stats::Undefined;

/// Readings of operators with pieces of their own: by operator, then piece, equally often.
#[derive(Debug, Clone, PartialEq)]
pub struct NestedReadings {
    operators: Vec<String>,
    /// By operator, then piece.
    pieces: Vec<Vec<Vec<f64>>>,
}

impl NestedReadings {
    /// Sorts readings, in the order in which operators and their pieces are first named. Pieces of
    /// different operators may have the same name and are different pieces all the same.
    ///
    /// # Errors
    /// [`TableError`] names what is missing or too much.
    pub fn of(readings: &[TaggedReading]) -> Result<NestedReadings, TableError> {
        let operators = names(readings.iter().map(|reading| reading.operator));
        if operators.len() < 2 {
            return Err(TableError::TooFewOperators {
                needed: 2,
                found: operators.len(),
            });
        }
        let mut pieces = Vec::with_capacity(operators.len());
        let mut repeats = None;
        for operator in &operators {
            let own = |reading: &&TaggedReading| reading.operator == operator;
            let own: Vec<TaggedReading> = readings.iter().filter(own).copied().collect();
            pieces.push(own_pieces(operator, &own, &mut repeats)?);
        }
        let expected = pieces.first().map_or(0, Vec::len);
        let uneven = pieces
            .iter()
            .zip(&operators)
            .find(|(own, _)| own.len() != expected);
        if let Some((own, operator)) = uneven {
            return Err(TableError::UnevenPieces {
                operator: operator.clone(),
                found: own.len(),
                expected,
            });
        }
        if expected < 2 {
            return Err(TableError::TooFewPieces { found: expected });
        }
        match repeats {
            Some(2..) => Ok(NestedReadings { operators, pieces }),
            _ => Err(TableError::NoRepeats),
        }
    }

    /// The readings of one method of a study.
    ///
    /// # Errors
    /// [`TableError`] when the study is not finished, or has no such method.
    pub fn from_study(study: &Study, method: usize) -> Result<NestedReadings, TableError> {
        NestedReadings::of(&tagged(study, method)?)
    }
}

/// The readings of an operator, piece by piece; each as often as the first piece of all.
fn own_pieces(
    operator: &str,
    readings: &[TaggedReading],
    repeats: &mut Option<usize>,
) -> Result<Vec<Vec<f64>>, TableError> {
    let pieces = names(readings.iter().map(|reading| reading.piece));
    let mut cells = vec![Vec::new(); pieces.len()];
    for reading in readings {
        if !reading.value.is_finite() {
            return Err(TableError::NotFinite {
                operator: operator.to_owned(),
                piece: reading.piece.to_owned(),
            });
        }
        if let Some(cell) = cells.get_mut(position(&pieces, reading.piece)) {
            cell.push(reading.value);
        }
    }
    for (cell, piece) in cells.iter().zip(&pieces) {
        let expected = *repeats.get_or_insert(cell.len());
        if cell.len() != expected {
            return Err(TableError::Unbalanced {
                operator: operator.to_owned(),
                piece: piece.clone(),
                found: cell.len(),
                expected,
            });
        }
    }
    Ok(cells)
}

/// A nested gauge study.
#[derive(Debug, Clone, PartialEq)]
pub struct NestedStudy {
    /// How it was reckoned; there is no interaction to pool.
    pub settings: GaugeSettings,
    /// How many operators.
    pub operator_count: usize,
    /// How many pieces each.
    pub piece_count: usize,
    /// How many repeats of each.
    pub repeat_count: usize,
    /// Between operators.
    pub operators: Variation,
    /// Between the pieces of one operator.
    pub pieces: Variation,
    /// Between repeats.
    pub repeats: Variation,
    /// Operators over pieces.
    pub operator_ratio: Result<FRatio, Undefined>,
    /// Pieces over repeats.
    pub piece_ratio: Result<FRatio, Undefined>,
    /// Repeats.
    pub repeat: Component,
    /// Operators.
    pub operator: Component,
    /// The whole gauge.
    pub gauge: Component,
    /// The pieces themselves.
    pub piece: Component,
    /// All that varies.
    pub total: Component,
    /// How many categories of pieces the gauge tells apart.
    pub categories: Result<Categories, Undefined>,
}

impl NestedStudy {
    /// Reckons a study.
    ///
    /// # Errors
    /// [`Undefined`] for settings that make no sense.
    pub fn of(
        readings: &NestedReadings,
        settings: GaugeSettings,
    ) -> Result<NestedStudy, Undefined> {
        settings.check()?;
        let cells: Vec<&Vec<f64>> = readings.pieces.iter().flatten().collect();
        let by_operator: Vec<Vec<f64>> = readings.pieces.iter().map(|own| own.concat()).collect();
        let by_piece = OneWay::of(&cells)?;
        let rounding = by_piece.count as f64 * rounding_of(&cells).powi(2);
        let operators = OneWay::of(&by_operator)?.between.above(rounding);
        let mut pieces = Variation {
            squares: 0.0,
            degrees_of_freedom: 0.0,
        };
        for own in &readings.pieces {
            pieces = pieces.with(&OneWay::of(own)?.between);
        }
        let pieces = pieces.above(rounding);
        let repeats = by_piece.within.above(rounding);
        let each = readings.pieces.first().map_or(0, Vec::len);
        let repeat_count = cells.first().map_or(0, |cell| cell.len());
        let parts = Parts {
            operators,
            pieces,
            repeats,
            piece_count: each as f64,
            repeat_count: repeat_count as f64,
        };
        let found = parts.components(&settings);
        Ok(NestedStudy {
            settings,
            operator_count: readings.operators.len(),
            piece_count: each,
            repeat_count,
            operators,
            pieces,
            repeats,
            operator_ratio: operators.over(&pieces),
            piece_ratio: pieces.over(&repeats),
            categories: settings.categories_told(
                found.piece.deviation(),
                found.gauge.deviation(),
                found.repeat.deviation(),
            ),
            repeat: found.repeat,
            operator: found.operator,
            gauge: found.gauge,
            piece: found.piece,
            total: found.total,
        })
    }

    /// What the uncertainty budget takes from here.
    pub fn repeatability(&self) -> Repeatability {
        Repeatability {
            deviation_mm: self.repeat.deviation(),
            degrees_of_freedom: self.repeats.degrees_of_freedom,
        }
    }
}

struct Parts {
    operators: Variation,
    pieces: Variation,
    repeats: Variation,
    piece_count: f64,
    repeat_count: f64,
}

struct Found {
    repeat: Component,
    operator: Component,
    gauge: Component,
    piece: Component,
    total: Component,
}

impl Parts {
    fn components(&self, settings: &GaugeSettings) -> Found {
        let square = |variation: &Variation| variation.mean_square().unwrap_or(0.0);
        let (p, r) = (self.piece_count, self.repeat_count);
        let repeat = square(&self.repeats);
        let piece = (square(&self.pieces) - repeat) / r;
        let operator = (square(&self.operators) - square(&self.pieces)) / (p * r);
        let gauge = repeat + operator.max(0.0);
        let total = gauge + piece.max(0.0);
        let confidence = settings.confidence;
        let operators = |factor| Part::new(factor, &self.operators);
        let pieces = |factor| Part::new(factor, &self.pieces);
        let repeats = |factor| Part::new(factor, &self.repeats);
        let among = 1.0 / (p * r);
        let one = |raw, limits| component(raw, limits, total, settings);
        let of_repeats = of_sum(&[repeats(1.0)], confidence);
        Found {
            repeat: one(repeat, of_repeats),
            piece: one(
                piece,
                of_difference(pieces(1.0 / r), repeats(1.0 / r), confidence),
            ),
            operator: one(
                operator,
                of_difference(operators(among), pieces(among), confidence),
            ),
            gauge: one(
                gauge,
                at_least(
                    of_sum_less(&[operators(among), repeats(1.0)], pieces(among), confidence),
                    of_repeats,
                ),
            ),
            total: one(
                total,
                of_sum(
                    &[
                        operators(among),
                        pieces((p - 1.0) * among),
                        repeats((r - 1.0) / r),
                    ],
                    confidence,
                ),
            ),
        }
    }
}
