//! A master that is visited again and again, over days: stability, walked through by the data button.

use std::path::Path;
use std::process::Command;

use overwire_tests::daemon::program;
use overwire_tests::dated_shop::Shop;
use overwire_tests::findings::section;
use serde_json::{Value, json};

const SAME: &str = "Does it stay the same?";

/// NIST/SEMATECH e-Handbook 6.3.2.2, flow rates (from memory), a hundredth of their distance from 50 each: mean
/// 50.0081, limits of individuals 50.058041 and 49.958159. Two readings a visit, whose mean is the rate.
const RATES: [i64; 10] = [-4, -24, -1, 13, -22, 12, 26, 24, 36, 21];

fn stability(study: &str) -> Value {
    json!({"study":study,"kind":"stability","over":"plain","rounds":2,"every_days":7,"instrument":"MIC-0",
        "masters":[{"master":"SM-50","size":"50.0000","unit":"mm","certificate":"C-7"}],"by":"AK"})
}

fn thousandths(read: i64) -> String {
    format!("{}.{:03}", read / 1000, read % 1000)
}

#[test]
fn a_stability_study_goes_on_for_weeks_and_survives_a_restart() {
    let mut shop = Shop::new("stability");
    shop.begin(&stability("weekly"));
    let study = shop.study();
    assert_eq!(study["visit"]["words"], "The first visit.");
    assert_eq!(
        study["next"]["words"],
        "Measure SM-50, 50.00 mm, visit 1, reading 1 of 2."
    );
    let mut csv = "when,size\n".to_owned();
    for (visit, rate) in (1..).zip(RATES) {
        // One visit is two days late, one a day early.
        let day = 7 * (visit - 1) + [0, 0, 2, 0, -1, 0, 0, 0, 0, 0][visit as usize - 1];
        shop.on_day(day);
        if visit == 4 {
            shop.restart();
        }
        for (place, off) in [(1, -1), (2, 1)] {
            let next = shop.study()["next"].clone();
            let words = format!("Measure SM-50, 50.00 mm, visit {visit}, reading {place} of 2.");
            assert_eq!(next["words"], words);
            let text = thousandths(50_000 + rate + off);
            let reading = shop.press(&text);
            assert_eq!(reading["counted"], true, "{reading}");
            assert_eq!(reading["attempt"], visit);
            let at = reading["at"].as_str().expect("a time");
            csv += &format!("{},{text}\n", &at[..10]);
        }
        // The visit has its readings: another one at once is no second visit.
        let rest = shop.study();
        assert_eq!((&rest["next"], &rest["filled"]), (&Value::Null, &json!(2)));
        assert_eq!(rest["visit"]["number"], visit);
        let idle = shop.press(&thousandths(50_000 + visit));
        assert_eq!(idle["counted"], false);
        assert!(idle["flags"].to_string().contains("study_done"), "{idle}");
    }
    let result = shop.result("weekly");
    let asked = [
        "stability",
        "--column",
        "size",
        "--day",
        "when",
        "--reference",
        "50",
    ];
    let told = shop.at_the_command_line(&asked, &csv);
    assert_eq!(section(&result, SAME), section(&told, SAME));
    let svg = shop
        .daemon
        .text("/findings.svg?study=weekly&picture=visits");
    for limit in ["50.0580", "50.0081", "49.9582"] {
        assert!(svg.contains(limit), "{limit}: {svg}");
    }
    // scipy 1.17.1 of the means over these days: stats.linregress slope 0.00074350 a day, p 0.0093004;
    // stats.ttest_1samp against 50: 95 % from 49.99355 to 50.02265.
    let same = section(&result, SAME)["sentences"].to_string();
    for told in [
        "drifts by +0.0223 mm in 30 days (probability by chance 0.0093)",
        "reads 0.0081 mm higher than the reference (-0.0064 mm to +0.0226 mm, 95 %)",
    ] {
        assert!(same.contains(told), "{told}: {same}");
    }
    let rows = section(&result, "Visit by visit")["table"]["rows"].clone();
    assert_eq!(rows.as_array().map(Vec::len), Some(10));
    let far = section(&result, "How far it is")["sentences"].to_string();
    assert!(far.contains("Visits so far: 10, with 20 readings"), "{far}");
}

#[test]
fn a_visit_may_be_paused_voided_in_its_sitting_and_left_unfinished() {
    let mut shop = Shop::new("stability-void");
    shop.begin(&stability("weekly"));
    let first = shop.press("50.001");
    let slip = shop.press("50.090");
    let void = |entry: &Value| format!("/api/readings/{entry}/void");
    shop.daemon.done(
        &void(&slip["entry"]),
        &json!({"reason":"not clean","by":"AK"}),
    );
    let again = shop.study();
    assert_eq!(
        (&again["next"]["again"], &again["filled"]),
        (&json!("not clean"), &json!(1))
    );
    // Other work between, and a kill: the visit is where it was.
    shop.daemon
        .done("/api/stations/s0/tags", &json!({"study":null}));
    assert_eq!(shop.press("12.345")["purpose"], "inspecting");
    shop.restart();
    shop.daemon
        .done("/api/stations/s0/tags", &json!({"study":"weekly"}));
    assert_eq!(shop.study(), again);
    shop.press("50.002");
    assert_eq!(shop.study()["redone"], 1);
    let due = |shop: &Shop| shop.daemon.station("s0")["visits"][0].clone();
    assert_eq!(due(&shop)["is_due"], false, "{}", due(&shop));
    // A week later; one reading only, then nothing for a week: the visit stands as it is.
    shop.on_day(8);
    assert_eq!(
        (&due(&shop)["study"], &due(&shop)["is_due"]),
        (&json!("weekly"), &json!(true))
    );
    assert!(
        shop.study()["visit"]["words"]
            .as_str()
            .is_some_and(|told| told.ends_with("1 day ago.")),
        "{}",
        shop.study()
    );
    shop.press("50.003");
    shop.on_day(15);
    assert_eq!(
        shop.study()["next"]["words"],
        "Measure SM-50, 50.00 mm, visit 3, reading 1 of 2."
    );
    // What is voided after its sitting cannot be taken again: its visit stands with what it has.
    shop.daemon
        .done(&void(&first["entry"]), &json!({"reason":"dirt","by":"AK"}));
    let next = shop.study()["next"].clone();
    assert_eq!(
        (&next["words"], &next["again"]),
        (
            &json!("Measure SM-50, 50.00 mm, visit 3, reading 1 of 2."),
            &Value::Null
        )
    );
    shop.press("50.004");
    shop.press("50.005");
    let rows = section(&shop.result("weekly"), "Visit by visit")["table"]["rows"].clone();
    let counts: Vec<&str> = rows
        .as_array()
        .expect("rows")
        .iter()
        .filter_map(|row| row[2].as_str())
        .collect();
    assert_eq!(counts, ["1", "1", "2"], "{rows}");
    let record = shop.folder.join("record.db");
    let verified = Command::new(program("overwire", "overwire"))
        .args(["verify", "--record"])
        .arg(Path::new(&record))
        .status()
        .expect("overwire verify");
    assert!(verified.success());
}
