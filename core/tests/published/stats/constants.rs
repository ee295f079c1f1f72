//! Factors of control charts, as printed and as integrated elsewhere.

use overwire_core::stats::constants::{Constants, MeanRange};
use serde_json::{Value, json};

use super::Case;

pub fn answer(case: &Case) -> Value {
    match case.has("m") {
        true => mean_range(case),
        false => factors(case),
    }
}

fn mean_range(case: &Case) -> Value {
    let (readings, ranges) = (case.count("m") as u32, case.count("g") as u32);
    let worth = MeanRange::of(readings, ranges).expect("ranges");
    json!({ "d2_star": worth.divisor, "nu_patnaik": worth.degrees_of_freedom })
}

fn factors(case: &Case) -> Value {
    let factors = Constants::of(case.count("n") as u32).expect("factors");
    json!({
        "c4": factors.c4, "inv_c4": 1.0 / factors.c4,
        "d2": factors.d2, "inv_d2": 1.0 / factors.d2, "d3": factors.d3,
        "A": factors.a, "A2": factors.a2, "A3": factors.a3,
        "B3": factors.b3, "B4": factors.b4, "B5": factors.b5, "B6": factors.b6,
        "D1": factors.d1_limit, "D2": factors.d2_limit,
        "D3": factors.d3_limit, "D4": factors.d4_limit,
        "E2": factors.e2,
    })
}
