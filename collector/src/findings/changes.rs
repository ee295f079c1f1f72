//! Changes beside the pieces, as the record holds them: where phases of a chart begin.

use crate::chart::MarkKind;
use crate::record::beside::{Beside, ZeroCheck};
use crate::record::entry::Revised;

use super::process::Break;

/// What begins a phase when it changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changing {
    /// The wire set, or its revision.
    Wires,
    /// The instrument, or its revision.
    Instrument,
    /// A zero check of the instrument came between.
    Zero,
    /// How the wires are held.
    Method,
    /// Who measures.
    Operator,
    /// The revision of the job.
    Job,
}

impl Changing {
    /// All of them, by the names they have in an address.
    pub const ALL: [(&'static str, Changing); 6] = [
        ("wires", Changing::Wires),
        ("instrument", Changing::Instrument),
        ("zero", Changing::Zero),
        ("method", Changing::Method),
        ("operator", Changing::Operator),
        ("job", Changing::Job),
    ];

    fn kind(self) -> MarkKind {
        match self {
            Changing::Wires => MarkKind::WireSet,
            Changing::Job => MarkKind::Job,
            _ => MarkKind::Other,
        }
    }

    /// What changed from one piece to the next, in words; nothing where it did not.
    fn label(self, before: &First<'_>, after: &First<'_>, checks: &[ZeroCheck]) -> Option<String> {
        let (old, new) = (before.beside, after.beside);
        let other =
            |what: &str, old: &str, new: &str| (old != new).then(|| format!("{what} {new}"));
        match self {
            Changing::Wires => revised("wires", &old.wire_set, &new.wire_set),
            Changing::Instrument => revised("instrument", &old.instrument, &new.instrument),
            Changing::Method => other("method", &old.method, &new.method),
            Changing::Operator => match new.operator.as_str() {
                "" => (!old.operator.is_empty()).then(|| "nobody named".to_owned()),
                _ => other("operator", &old.operator, &new.operator),
            },
            Changing::Job => (old.job_entry != new.job_entry).then(|| "job revised".to_owned()),
            Changing::Zero => {
                let between = |check: &&ZeroCheck| {
                    (before.entry..after.entry).contains(&check.entry)
                        && *check.instrument == *new.instrument.name
                };
                checks.iter().find(between).map(|_| "zero check".to_owned())
            }
        }
    }
}

fn revised(what: &str, old: &Revised, new: &Revised) -> Option<String> {
    match (old.name == new.name, old.entry == new.entry) {
        (false, _) if new.name.is_empty() => Some(format!("no {what}")),
        (false, _) => Some(format!("{what} {}", new.name)),
        (true, false) => Some(format!("{what} {} revised", new.name)),
        (true, true) => None,
    }
}

/// The first reading of a piece.
#[derive(Debug, Clone, Copy)]
pub struct First<'a> {
    /// Piece.
    pub piece: i64,
    /// Its entry.
    pub entry: i64,
    /// What stood beside it.
    pub beside: &'a Beside,
    /// What was remarked on readings of the piece.
    pub remark: &'a str,
}

/// Where one of some things changes from piece to piece, or a remark holds a word; pieces in the order of the chart.
pub fn breaks(
    pieces: &[First<'_>],
    changing: &[Changing],
    remark: Option<&str>,
    checks: &[ZeroCheck],
) -> Vec<Break> {
    let mut breaks = Vec::new();
    for (before, after) in pieces.iter().zip(pieces.iter().skip(1)) {
        for change in changing {
            if let Some(label) = change.label(before, after, checks) {
                breaks.push(Break {
                    piece: after.piece,
                    kind: change.kind(),
                    label,
                });
            }
        }
        let said = after.remark.to_lowercase();
        if remark.is_some_and(|word| said.contains(&word.to_lowercase())) {
            breaks.push(Break {
                piece: after.piece,
                kind: MarkKind::Tool,
                label: after.remark.trim().to_owned(),
            });
        }
    }
    breaks
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beside(wires: (&str, i64), operator: &str) -> Beside {
        Beside {
            wire_set: Revised {
                name: wires.0.into(),
                entry: wires.1,
            },
            instrument: Revised {
                name: "M1".into(),
                entry: 1,
            },
            operator: operator.to_owned(),
            ..Beside::default()
        }
    }

    #[test]
    fn what_changed_is_named_and_nothing_else_breaks() {
        let sides = [
            beside(("WS-1", 2), "AK"),
            beside(("WS-1", 2), "BM"),
            beside(("WS-1", 9), "BM"),
            beside(("WS-2", 12), ""),
        ];
        let remarks = ["", "New TOOL, edge 2", "chip on the anvil", ""];
        let numbered = sides.iter().zip(remarks).zip(1_i64..);
        let pieces: Vec<First<'_>> = numbered
            .map(|((beside, remark), piece)| First {
                piece,
                entry: piece * 10,
                beside,
                remark,
            })
            .collect();
        let check = |entry, instrument: &str| ZeroCheck {
            entry,
            instrument: instrument.to_owned(),
        };
        let checks = [check(15, "M2"), check(25, "M1"), check(99, "M1")];
        let all: Vec<Changing> = Changing::ALL.iter().map(|(_, change)| *change).collect();
        let told = |found: Vec<Break>| {
            let told = found.into_iter().map(|found| (found.piece, found.label));
            told.collect::<Vec<_>>()
        };
        let expected = [
            (2, "operator BM"),
            (2, "New TOOL, edge 2"),
            (3, "wires WS-1 revised"),
            (3, "zero check"),
            (4, "wires WS-2"),
            (4, "nobody named"),
        ];
        let expected = expected.map(|(piece, label)| (piece, label.to_owned()));
        assert_eq!(told(breaks(&pieces, &all, Some("tool"), &checks)), expected);
        let wires = breaks(&pieces, &[Changing::Wires], None, &checks);
        assert_eq!(told(wires), [expected[2].clone(), expected[4].clone()]);
    }
}
