//! Functional checks, each with its gauge, who and when.

use std::collections::BTreeMap;

use super::super::MOST_ROWS;
use super::super::gather::Gathered;
use super::super::html::{Table, free, paragraph, plain};
use super::{counted, section};
use crate::record::functional::standing;
use crate::view::functional::sentence;

/// The checks of the pieces reported on.
pub fn checks(gathered: &Gathered) -> String {
    let stands = standing(&gathered.checks);
    let mut html = without(gathered);
    if !gathered.checks.is_empty() {
        let columns = ["Thread", "Piece", "Functional check"];
        let caption = "Go gauge or mating part, on the whole thread";
        let mut table = Table::new("checks", caption, &columns);
        for check in gathered.checks.iter().take(MOST_ROWS) {
            let attempt = match check.of.attempt {
                1 => String::new(),
                attempt => format!(" <small>attempt {attempt}</small>"),
            };
            let mut said = free(&sentence(Some(check)));
            if !stands.contains(&check.entry) {
                said = format!("<s>{said}</s> <small>superseded by a later one</small>");
            }
            table.row(&[
                free(&check.of.feature),
                format!("{}{attempt}", check.of.piece),
                said,
            ]);
        }
        html.push_str(&table.end());
        if gathered.checks.len() > MOST_ROWS {
            html.push_str(&paragraph(&format!(
                "{} checks in all; `overwire functional --job` lists every one.",
                gathered.checks.len()
            )));
        }
    }
    section("Functional checks", &html)
}

/// Pieces nothing was recorded of.
fn without(gathered: &Gathered) -> String {
    let mut none: BTreeMap<&str, Vec<i64>> = BTreeMap::new();
    for of in &gathered.features {
        for (number, piece) in &of.pieces {
            if gathered.check(&of.name, *number, piece.attempt).is_none() {
                none.entry(&of.name).or_default().push(*number);
            }
        }
    }
    let said = none.iter().map(|(name, pieces)| {
        paragraph(&format!(
            "{}: functional check: none recorded for {}.",
            free(name),
            plain(&named(pieces))
        ))
    });
    said.collect()
}

/// Pieces by their numbers, in rising order: `piece 3`, `3 pieces (2, 5 to 6)`.
pub fn named(pieces: &[i64]) -> String {
    match pieces {
        [piece] => format!("piece {piece}"),
        pieces => format!("{} ({})", counted(pieces.len(), "piece"), ranges(pieces)),
    }
}

/// Numbers in rising order, runs of them written by their ends; at most twenty parts.
fn ranges(numbers: &[i64]) -> String {
    const MOST: usize = 20;
    let mut runs: Vec<(i64, i64)> = Vec::new();
    for number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *number => *last = *number,
            _ => runs.push((*number, *number)),
        }
    }
    let told = runs.iter().take(MOST).map(|(first, last)| {
        if first == last {
            first.to_string()
        } else {
            format!("{first} to {last}")
        }
    });
    let mut text = told.collect::<Vec<_>>().join(", ");
    if runs.len() > MOST {
        text.push_str(", …");
    }
    text
}
