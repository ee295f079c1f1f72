//! How well a reading is known, on the running daemon: the uncertainty budget, what feeds it, and the verdicts that
//! take it into account. Figures are by core, checked there against published values.

use overwire_tests::one_station::{BUDGET, Shop, number};
use serde_json::json;

#[test]
fn a_guarded_job_leaves_undecided_what_it_cannot_prove() {
    let shop = Shop::new("guarded", BUDGET, "");
    shop.begin(&json!({"decision":"guarded"}), "inspecting");
    let station = shop.station();
    let trust = &station["trust"];
    assert!(
        trust["rows"].as_array().expect("rows").len() >= 7,
        "{trust}"
    );
    let accept = &trust["accept"];
    let (min, max) = (number(&accept["min"]), number(&accept["max"]));
    assert!(min > 0.4435 && max < 0.4485, "{accept}");
    // The window over these wires is 0.51021 to 0.51521 in.
    assert_eq!(shop.measure("0.51270")["verdict"], "pass");
    let near = shop.measure("0.51515");
    assert_eq!(near["verdict"], "undecided", "{near}");
    assert!(
        near["left"]
            .as_str()
            .expect("words")
            .contains("too close to decide"),
        "{near}"
    );
    assert_eq!(shop.measure("0.51600")["verdict"], "fail_over");
    assert_eq!(shop.measure("0.50400")["verdict"], "fail_under");
    let rows = shop.rows();
    let u: f64 = rows[0]["uncertainty"].parse().expect("an uncertainty");
    assert!(u > 0.000_05 && u < 0.001, "{u}");
    assert!(
        rows[0]["decision_rule"].contains("ISO 14253-1"),
        "{:?}",
        rows[0]
    );
    assert!(
        rows[0]["accept_max"].starts_with("0.44"),
        "{:?}",
        rows[0]["accept_max"]
    );
}

#[test]
fn a_rule_that_needs_an_uncertainty_gives_no_verdict_without_one_and_says_why() {
    let shop = Shop::new("no-budget", "", "");
    shop.begin(&json!({"decision":"guarded"}), "inspecting");
    let station = shop.station();
    let problem = station["problem"].as_str().expect("a problem");
    assert!(problem.contains("[uncertainty]"), "{problem}");
    assert_eq!(shop.measure("0.51270")["verdict"], "none");
    let (status, refused) = shop.job(&json!({"decision":"by feel"}));
    assert_eq!(status, 422);
    assert!(refused["fields"]["decision"].is_string(), "{refused}");
    let (status, refused) = shop.job(&json!({"decision":"guarded","decision_value":"40"}));
    assert_eq!(status, 422);
    assert!(refused["fields"]["decision_value"].is_string(), "{refused}");
}

/// What a source contributes to the uncertainty, in; none where it has no line.
fn contribution_of(shop: &Shop, source: &str) -> Option<f64> {
    let rows = shop.station()["trust"]["rows"].clone();
    let rows = rows.as_array().expect("rows");
    let row = rows.iter().find(|row| row["source"] == source)?;
    let text = row["contribution"].as_str().expect("text");
    Some(text.trim_end_matches(" in").parse().expect("a number"))
}

fn contribution(shop: &Shop) -> f64 {
    contribution_of(shop, "repeatability").expect("the line")
}

/// Equal repeats do not prove that nothing varies: a display that counts in steps of 0.00005 in leaves that over the
/// root of twelve, once (JCGM 100:2008 F.2.2.1, from memory).
#[test]
fn repeats_that_do_not_differ_leave_the_display_step() {
    let mut shop = Shop::new("equal-repeats", BUDGET, "");
    shop.begin(&json!({"readings_a_piece":3}), "inspecting");
    for piece in 0..6 {
        for _ in 0..3 {
            shop.measure(&format!("{:.5}", 0.5120 + f64::from(piece) * 0.0001));
        }
    }
    shop.restart();
    let step = 0.00005 / 12f64.sqrt();
    let found = contribution(&shop);
    assert!((found - step).abs() < 1e-6, "{found}");
    assert_eq!(contribution_of(&shop, "display step"), None);
}

/// The step of the display is in every budget, as the readings show it or coarser where the instrument is entered so:
/// q over the root of twelve (JCGM 100:2008 F.2.2.1, from memory).
#[test]
fn the_display_step_is_in_the_budget_whatever_was_entered() {
    let mut shop = Shop::new("display-step", BUDGET, "");
    shop.begin(&json!({}), "inspecting");
    let step_is = |shop: &Shop, step: f64| {
        let found = contribution_of(shop, "display step");
        let found = found.unwrap_or_else(|| panic!("no display step, {step} expected"));
        assert!((found - step / 12f64.sqrt()).abs() < 6e-7, "{found} {step}");
    };
    // As entered, before there is any reading and after one that shows more digits.
    step_is(&shop, 0.00005);
    let finer = shop.measure("0.51270");
    step_is(&shop, 0.00005);
    // A reading that shows fewer digits carries its own step, the first of them already.
    let coarser = shop.measure("0.513");
    step_is(&shop, 0.001);
    let known = |reading: &serde_json::Value| number(&reading["uncertainty"]);
    assert!(known(&coarser) > 2.0 * 0.001 / 12f64.sqrt(), "{coarser}");
    assert!(known(&finer) < 0.001 / 12f64.sqrt(), "{finer}");
    shop.restart();
    step_is(&shop, 0.001);
    // Nothing entered: the readings show it.
    shop.daemon.done(
        "/api/instruments",
        &json!({"instrument":"MIC-0","serial":"77","unit":"in","max_error":"0.0001","by":"AK"}),
    );
    let first = shop.measure("0.5127");
    step_is(&shop, 0.0001);
    assert!(known(&first) > 2.0 * 0.0001 / 12f64.sqrt(), "{first}");
}

/// Repeats on finished pieces take the place of the setting once ten degrees of freedom are there.
#[test]
fn repeats_of_the_record_feed_the_budget() {
    let mut shop = Shop::new("repeats", BUDGET, "");
    shop.begin(&json!({"readings_a_piece":3}), "inspecting");
    // The setting: 0.002 mm.
    assert!(
        (contribution(&shop) - 0.002 / 25.4).abs() < 1e-6,
        "{}",
        contribution(&shop)
    );
    // Five pieces of {-1, 0, +1} x 0.0002 in about their own means: s = 0.0002 in, 10 degrees of freedom.
    for piece in 0..5 {
        for step in [-4, 0, 4] {
            shop.measure(&format!(
                "{:.5}",
                0.5125 + f64::from(piece * 2 + step) * 0.000_05
            ));
        }
    }
    shop.restart();
    assert!(
        (contribution(&shop) - 0.0002).abs() < 1e-6,
        "{}",
        contribution(&shop)
    );
}

/// A study of the method feeds the budget of every job reading taken so.
#[test]
fn a_study_s_repeatability_feeds_the_budget() {
    let shop = Shop::new("study-budget", BUDGET, "");
    shop.begin(&json!({}), "inspecting");
    shop.daemon.done(
        "/api/studies",
        &json!({"study":"repeat","kind":"repeatability","job":"J","feature":"end","methods":["by hand"],
                "rounds":12,"seed":1,"by":"AK"}),
    );
    assert_eq!(shop.tags(&json!({"study":"repeat"})).0, 200);
    // Twelve readings of +-0.00010 in by turns: s = 0.00010 x sqrt(12/11) in.
    for round in 0..12 {
        let sign = if round % 2 == 0 { 1.0 } else { -1.0 };
        shop.measure(&format!("{:.5}", 0.5125 + sign * 0.0001));
    }
    assert_eq!(shop.tags(&json!({"study":null})).0, 200);
    let found = contribution(&shop);
    assert!(
        (found - 0.0001 * (12.0_f64 / 11.0).sqrt()).abs() < 1e-6,
        "{found}"
    );
}

/// A row a piece says how well its readings are known, by which rule they were judged, and what was overdue.
#[test]
fn a_row_a_piece_carries_uncertainty_rule_and_overdue_calibrations() {
    let shop = Shop::new("wide-grounds", BUDGET, "");
    let instrument = |due: &str| {
        shop.daemon.done(
            "/api/instruments",
            &json!({"instrument":"MIC-0","serial":"77","unit":"in","resolution":"0.00005",
                    "max_error":"0.0001","due":due,"by":"AK"}),
        )
    };
    instrument("2020-01-01");
    shop.begin(
        &json!({"decision":"guarded","readings_a_piece":2}),
        "inspecting",
    );
    shop.measure("0.51270");
    // A coarser reading of the same piece is less well known; the instrument is back from calibration.
    instrument("2999-01-01");
    shop.measure("0.513");
    shop.begin(
        &json!({"decision":"simple","readings_a_piece":2}),
        "inspecting",
    );
    shop.measure("0.51270");
    let (rows, pieces) = (shop.rows(), shop.pieces());
    let known = |row: &std::collections::HashMap<String, String>| row["uncertainty"].parse::<f64>();
    let each: Vec<f64> = rows
        .iter()
        .map(|row| known(row).expect("a number"))
        .collect();
    assert!(each[1] > each[0], "{each:?}");
    // To the places of the finest display of the piece, so at most rounded up to what the coarse one shows.
    let largest = known(&pieces[0]).expect("a number");
    assert!(
        largest > each[0] && largest <= each[1],
        "{largest} {each:?}"
    );
    assert_eq!(known(&pieces[1]), Ok(each[2]));
    assert_eq!(pieces[0]["coverage_factor"], rows[1]["coverage_factor"]);
    assert!(
        pieces[0]["decision_rule"].contains("ISO 14253-1"),
        "{:?}",
        pieces[0]
    );
    assert_eq!(
        pieces[0]["decision_rule"], rows[0]["decision_rule"],
        "named once"
    );
    assert_eq!(pieces[1]["decision_rule"], "");
    let overdue = |at: usize| {
        (
            &*pieces[at]["overdue_instrument"],
            &*pieces[at]["overdue_wires"],
        )
    };
    assert_eq!((overdue(0), overdue(1)), (("1", "0"), ("0", "0")));
}
