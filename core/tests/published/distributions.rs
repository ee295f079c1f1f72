//! Distributions against integrals of many digits, and against printed tables.
//!
//! `relative` says whether the tolerance is a share of the value (far tails) or places of it.

use overwire_core::stats::constants::{d2, d3};
use overwire_core::stats::distribution::{
    Dunnett, Sides, chi_squared_beyond, chi_squared_probability, chi_squared_quantile, f_beyond,
    f_quantile, noncentral_student_probability, noncentral_student_quantile, normal_beyond,
    normal_quantile, normal_range_probability, student_beyond, studentized_range_beyond,
    studentized_range_quantile,
};

use crate::{Row, rows};

fn dunnett(row: &Row) -> Dunnett {
    let comparisons = row.number("comparisons") as usize;
    Dunnett::equal(comparisons, row.number("degrees")).expect("comparisons")
}

/// The factor k of a one-sided tolerance limit: `k √n` is a quantile of noncentral t.
fn tolerance_factor(row: &Row) -> Option<f64> {
    let count = row.number("count");
    let noncentrality = normal_quantile(row.number("coverage"))? * count.sqrt();
    let confidence = row.number("probability");
    let quantile = noncentral_student_quantile(confidence, count - 1.0, noncentrality)?;
    Some(quantile / count.sqrt())
}

fn computed(row: &Row) -> f64 {
    let number = |name: &str| row.number(name);
    let count = |name: &str| row.number(name) as u32;
    let found = match row.quantity.as_str() {
        "normal_beyond" => Some(normal_beyond(number("value"))),
        "student_beyond" => student_beyond(number("value"), number("degrees")),
        "chi_squared_beyond" => chi_squared_beyond(number("value"), number("degrees")),
        "chi_squared_probability" => chi_squared_probability(number("value"), number("degrees")),
        "chi_squared_quantile" => chi_squared_quantile(number("probability"), number("degrees")),
        "f_beyond" => f_beyond(number("value"), number("upper"), number("lower")),
        "f_quantile" => f_quantile(number("probability"), number("upper"), number("lower")),
        "noncentral_student_probability" => noncentral_student_probability(
            number("value"),
            number("degrees"),
            number("noncentrality"),
        ),
        "one_sided_tolerance_factor" => tolerance_factor(row),
        "normal_range_probability" => normal_range_probability(number("value"), count("deviates")),
        "mean_range" => d2(count("deviates")).ok(),
        "range_deviation" => d3(count("deviates")).ok(),
        "studentized_range_beyond" => {
            studentized_range_beyond(number("value"), count("groups"), number("degrees"))
        }
        "studentized_range_quantile" => {
            studentized_range_quantile(number("probability"), count("groups"), number("degrees"))
        }
        "dunnett_beyond" => dunnett(row).beyond(number("value"), Sides::Both),
        "dunnett_beyond_one_side" => dunnett(row).beyond(number("value"), Sides::One),
        "dunnett_quantile" => dunnett(row).quantile(number("probability"), Sides::Both),
        "dunnett_quantile_one_side" => dunnett(row).quantile(number("probability"), Sides::One),
        other => panic!("nothing computes `{other}`"),
    };
    found.unwrap_or_else(|| panic!("refused: {}", row.label()))
}

#[test]
fn integrals_and_tables() {
    let table = rows(include_str!("distributions.csv"));
    assert!(table.len() >= 100, "only {} rows", table.len());
    let mut failures = Vec::new();
    for row in &table {
        let found = computed(row);
        let scale = match row.inputs["relative"].as_bool() {
            Some(true) => row.expected.abs(),
            _ => 1.0,
        };
        let off = (found - row.expected).abs();
        if off.is_nan() || off > row.tolerance * scale {
            failures.push(format!("{}: {found} against {}", row.label(), row.expected));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Groups of different sizes: one group alone is Student's t, whatever the sizes; and the larger the named
/// group, the less its mean ties the others together.
#[test]
fn groups_of_different_sizes() {
    for (named, other) in [(3, 30), (10, 10), (40, 2)] {
        let one = Dunnett::of_sizes(named, &[other], 12.0).expect("a comparison");
        let beyond = one.beyond(2.3, Sides::Both).expect("a probability");
        let student = 2.0 * student_beyond(2.3, 12.0).expect("a probability");
        assert!(
            (beyond - student).abs() < 1e-13,
            "{named} {other}: {beyond}"
        );
    }
    let at_least_one = |named| {
        let several = Dunnett::of_sizes(named, &[10, 10, 10], 30.0).expect("comparisons");
        several.beyond(2.3, Sides::Both).expect("a probability")
    };
    assert!(at_least_one(5) < at_least_one(10) && at_least_one(10) < at_least_one(500));
    let equal = Dunnett::equal(3, 30.0).expect("comparisons");
    assert!(
        (equal.beyond(2.3, Sides::Both).expect("a probability") - at_least_one(10)).abs() < 1e-14
    );
}
