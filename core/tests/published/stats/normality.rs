//! Tests of normality.

use overwire_core::stats::Readings;
use overwire_core::stats::normality::{AndersonDarling, CRITICAL_VALUES, shapiro_wilk};
use serde_json::{Map, Value, json};

use super::Case;

pub fn answer(case: &Case) -> Value {
    if case.function.contains("critical") {
        let entry = |&(significance, value): &(f64, f64)| {
            let name = match significance < 0.05 && significance > 0.01 {
                true => format!("{significance:.3}"),
                false => format!("{significance:.2}"),
            };
            (name, json!(value))
        };
        let table: Map<String, Value> = CRITICAL_VALUES.iter().map(entry).collect();
        return json!({ "crit": table });
    }
    let readings = case.readings();
    let readings = Readings::of_numbers(&readings).expect("readings");
    let test = AndersonDarling::of(&readings).expect("a test");
    let other = shapiro_wilk(&readings).expect("a test");
    json!({
        "A2": test.statistic, "A2_adj": test.adjusted, "p": test.chance,
        "shapiro_W": other.statistic, "shapiro_p": other.chance,
    })
}
