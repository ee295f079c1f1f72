//! What a display makes of a normal quantity.

use overwire_core::stats::resolution::{
    difference_uncertainty, displayed, reading_uncertainty, without_display,
};
use serde_json::{Value, json};

use super::Case;

pub fn answer(case: &Case) -> Value {
    if case.has("step") {
        let step = case.number("step");
        return json!({ "u": reading_uncertainty(step), "u_diff": difference_uncertainty(step) });
    }
    let shown = displayed(case.number("sigma_steps"), case.number("offset_steps"));
    let shown = shown.expect("readings");
    json!({
        "mean": shown.mean, "sd": shown.standard_deviation,
        "sheppard_sd": without_display(shown.standard_deviation, 1.0),
    })
}
