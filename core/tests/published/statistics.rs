//! Coverage factors as printed, and a published budget worked through.

use overwire_core::uncertainty::{
    Budget, Contribution, Coverage, Source, Spread, normal_probability, student_factor,
};

use crate::{Row, check, rows};

fn factor(row: &Row) -> f64 {
    let degrees = match row.text("degrees") {
        "inf" => f64::INFINITY,
        degrees => degrees.parse().expect("degrees of freedom"),
    };
    // Three of the printed headings are rounded: they stand for one, two and three standard
    // deviations of a normal distribution.
    let probability = match row.inputs["normal_k"].as_f64() {
        Some(deviations) => 2.0 * normal_probability(deviations) - 1.0,
        None => row.number("percent") / 100.0,
    };
    student_factor(probability, degrees).expect("a factor")
}

/// The end gauge: four contributions in nanometres with their degrees of freedom. A nanometre
/// stands for a millimetre here.
fn end_gauge(probability: f64) -> Budget {
    let line = |standard, degrees_of_freedom| Contribution {
        source: Source::Other("end gauge".to_owned()),
        spread: Spread::Standard {
            standard,
            degrees_of_freedom,
        },
        sensitivity: 1.0,
    };
    let lines = [
        line(25.0, 18.0),
        line(9.7, 25.6),
        line(2.9, 50.0),
        line(16.6, 2.0),
    ];
    Budget::new(&lines, Coverage::Probability(probability)).expect("a budget")
}

fn computed(row: &Row) -> f64 {
    match row.quantity.as_str() {
        "student_factor" => factor(row),
        "gum_h1_combined" => end_gauge(0.99).uncertainty.standard.mm(),
        "gum_h1_degrees" => end_gauge(0.99).uncertainty.degrees_of_freedom,
        "gum_h1_expanded_99" => end_gauge(0.99).uncertainty.expanded().mm(),
        other => panic!("nothing computes `{other}`"),
    }
}

#[test]
fn coverage_factors_and_a_published_budget() {
    let table = rows(include_str!("statistics.csv"));
    check(&table, 168, computed, |row| row.differs_by);
}
