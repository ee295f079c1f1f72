//! Taper and out-of-round.

use overwire_core::form::{Form, Placed, Position, TaperRate};
use serde_json::{Value, json};

use super::{Case, figure};
use crate::mm;

pub fn answer(case: &Case) -> Value {
    match (case.has("z"), case.inputs["d"][0].is_array()) {
        (true, true) => grid(case),
        (true, false) => taper(case),
        (false, _) => oval(case),
    }
}

fn placed(position: &str, diameter: f64) -> Placed {
    Placed {
        position: Position::parse(position).expect("a position"),
        pitch_diameter: mm(diameter),
    }
}

fn form(readings: &[Placed]) -> Form {
    Form::of(readings, 1).expect("form")
}

fn rate(form: &Form) -> TaperRate {
    let taper = form.taper.as_ref().expect("a taper");
    taper.rate.expect("a slope")
}

fn taper(case: &Case) -> Value {
    let readings = case.numbers("z").into_iter().zip(case.numbers("d"));
    let readings = readings.map(|(along, diameter)| placed(&format!("at {along} mm"), diameter));
    let form = form(&readings.collect::<Vec<Placed>>());
    let rate = rate(&form);
    let interval = rate.interval.expect("an interval");
    json!({
        "slope": rate.diameter_for_distance, "taper_over_length": rate.rise().mm(),
        "range": form.taper.expect("a taper").difference.mm(),
        "ci": [interval.low, interval.high], "p": figure(rate.chance),
        "resid_sd": figure(rate.straying.map(|length| length.mm())),
    })
}

fn oval(case: &Case) -> Value {
    let readings = case.numbers("angle_deg").into_iter().zip(case.numbers("d"));
    let readings = readings.map(|(angle, diameter)| placed(&format!("{angle} deg"), diameter));
    let round = form(&readings.collect::<Vec<Placed>>()).out_of_round;
    let round = round.expect("out of round");
    let oval = round.oval.expect("an oval");
    json!({
        "max_min": round.difference.mm(), "d0": oval.mean.mm(), "ovality": oval.ovality.mm(),
        "angle_max_deg": oval.largest_at_deg,
    })
}

/// Rows are places along the axis, columns angles.
fn grid(case: &Case) -> Value {
    let mut readings = Vec::new();
    for (along, diameters) in case.numbers("z").into_iter().zip(case.rows("d")) {
        for (column, diameter) in diameters.into_iter().enumerate() {
            readings.push(placed(
                &format!("at {along} mm, {} deg", 60 * column),
                diameter,
            ));
        }
    }
    let form = form(&readings);
    let means: Vec<f64> = form
        .stations
        .iter()
        .map(|station| station.mean.mm())
        .collect();
    let round = form
        .stations
        .iter()
        .map(|station| station.out_of_round().mm());
    json!({
        "station_mean": means, "oor": round.collect::<Vec<f64>>(),
        "taper_range": form.taper.as_ref().expect("a taper").difference.mm(),
        "taper_ls_over_length": rate(&form).rise().mm(),
        "oor_max": form.out_of_round.expect("out of round").difference.mm(),
        "min": form.least.mm(), "max": form.greatest.mm(),
    })
}
