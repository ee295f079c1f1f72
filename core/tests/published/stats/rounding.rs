//! Rounding on decimal digits, and limits before and after it.

use overwire_core::decimal::Decimal;
use overwire_core::stats::rounding::{Comparison, Place, Ties, place, round_to};
use serde_json::{Value, json};

use super::Case;

pub fn answer(case: &Case) -> Value {
    let decimal = |name: &str| Decimal::parse(case.text(name)).expect("a decimal");
    let (value, step) = (decimal("value"), decimal("step"));
    if case.has("lsl") {
        let limits = (decimal("lsl"), decimal("usl"));
        let passes =
            |comparison| place(value, limits, step, comparison).expect("a place") == Place::Within;
        return json!({
            "absolute_pass": passes(Comparison::Absolute),
            "rounding_pass": passes(Comparison::Rounded(Ties::Even)),
        });
    }
    let rounded = |ties| round_to(value, step, ties).expect("a decimal").to_string();
    json!({ "half_even": rounded(Ties::Even), "half_away": rounded(Ties::Away) })
}
