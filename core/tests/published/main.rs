//! Published values against what this crate computes.
//!
//! Every row of the tables beside this file names its source. `source_kind` says how good it is:
//! `published-found` was seen in print, `published-memory` is a published value written down from
//! memory, `computed-independent` has no printed value and comes from a second, independent
//! calculation, `common-practice` is a rule of the shop without a document. Nothing here was
//! produced by the code under test.
//!
//! A row whose `differs_by` is filled is known to disagree, by that amount and for the reason in
//! its note; it stays in the table, and the test asserts that it, and no other, disagrees.

mod acceptance;
mod compression;
mod cutting;
mod diagnosis;
mod distributions;
mod functional;
mod helix;
mod holding;
mod large_lead;
mod limits;
mod other_systems;
mod plane;
mod plating;
mod sensitivities;
mod sizes;
mod statistics;
mod stats;
mod thermal;

use overwire_core::thread::{Flanks, Geometry, Hand};
use overwire_core::units::{Length, Pitch, WireDiameter};
use overwire_core::wires::Wires;
use serde_json::Value;

pub struct Row {
    pub quantity: String,
    pub inputs: Value,
    pub expected: f64,
    pub tolerance: f64,
    pub differs_by: Option<f64>,
    pub formula_differs_by: Option<f64>,
    /// Whether the value was seen in print.
    pub printed: bool,
}

impl Row {
    pub fn number(&self, name: &str) -> f64 {
        self.inputs[name]
            .as_f64()
            .unwrap_or_else(|| panic!("{}: no number `{name}`", self.label()))
    }

    pub fn text(&self, name: &str) -> &str {
        self.inputs[name].as_str().unwrap_or_default()
    }

    pub fn has(&self, name: &str) -> bool {
        !self.inputs[name].is_null()
    }

    pub fn label(&self) -> String {
        format!("{} {}", self.quantity, self.inputs)
    }
}

/// The rows of a table. A row without a source, or one that differs without a reason, is an error.
pub fn rows(table: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let headers = reader.headers().expect("a header").clone();
    let column = |name: &str| headers.iter().position(|header| header == name);
    reader
        .records()
        .map(|record| {
            let record = record.expect("a readable row");
            let field = |name: &str| {
                column(name)
                    .and_then(|index| record.get(index))
                    .unwrap_or("")
            };
            let number = |name: &str| field(name).parse::<f64>().ok();
            let kinds = [
                "published-found",
                "published-memory",
                "computed-independent",
                "common-practice",
            ];
            assert!(!field("source").is_empty(), "no source: {record:?}");
            assert!(
                kinds.contains(&field("source_kind")),
                "source kind: {record:?}"
            );
            let differs =
                !field("differs_by").is_empty() || !field("formula_differs_by").is_empty();
            assert!(
                !differs || !field("note").is_empty(),
                "no reason: {record:?}"
            );
            Row {
                quantity: field("quantity").to_owned(),
                inputs: serde_json::from_str(field("inputs")).expect("inputs"),
                expected: number("expected").expect("an expected value"),
                tolerance: number("tolerance").expect("a tolerance"),
                differs_by: number("differs_by"),
                formula_differs_by: number("formula_differs_by"),
                printed: field("source_kind") == "published-found",
            }
        })
        .collect()
}

/// Checks every row and reports all that fail.
pub fn check(
    rows: &[Row],
    at_least: usize,
    computed: impl Fn(&Row) -> f64,
    known_difference: impl Fn(&Row) -> Option<f64>,
) {
    assert!(rows.len() >= at_least, "only {} rows", rows.len());
    let mut failures = Vec::new();
    for row in rows {
        let found = computed(row);
        let known = known_difference(row).unwrap_or(0.0);
        // A known difference must not be within the tolerance: then it would be none.
        let idle = known.abs() > 0.0 && known.abs() <= row.tolerance;
        let off = found - row.expected - known;
        if off.abs() > row.tolerance.max(1e-12) || !off.is_finite() || idle {
            let label = row.label();
            failures.push(format!(
                "{label}: {found} against {} + {known}",
                row.expected
            ));
        }
    }
    assert!(
        failures.is_empty(),
        "{} rows fail:\n{}",
        failures.len(),
        failures.join("\n")
    );
}

#[test]
fn three_hundred_rows_were_seen_in_print() {
    let tables = [
        include_str!("large_lead.csv"),
        include_str!("metric_limits.csv"),
        include_str!("plane_over_wires.csv"),
        include_str!("unified_limits.csv"),
        include_str!("wire_sizes.csv"),
    ];
    let printed = |table: &str| rows(table).iter().filter(|row| row.printed).count();
    assert!(tables.map(printed).iter().sum::<usize>() >= 300);
}

pub fn mm(number: f64) -> Length {
    Length::from_mm(number).expect("a length")
}

pub fn equal_wires(diameter_mm: f64) -> Wires {
    Wires::equal(WireDiameter::new(mm(diameter_mm)).expect("a wire"))
}

pub fn geometry(pitch_mm: f64, starts: u32, flanks_deg: (f64, f64)) -> Geometry {
    Geometry::checked(
        Pitch::from_length(mm(pitch_mm)).expect("a pitch"),
        starts,
        Hand::Right,
        Flanks::from_degrees(flanks_deg.0, flanks_deg.1).expect("flanks"),
        None,
        None,
    )
    .expect("a geometry")
}

pub fn symmetric(pitch_mm: f64, included_deg: f64) -> Geometry {
    geometry(pitch_mm, 1, (included_deg / 2.0, included_deg / 2.0))
}
