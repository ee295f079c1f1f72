//! What stands between a reading and an honest verdict, on the running daemon: zero checks, temperatures,
//! compression, coating, passes. Figures are by core, checked there against published values; here it is their
//! way through the daemon, the record and back.

use std::process::Command;

use overwire_tests::daemon::program;
use overwire_tests::one_station::{BUDGET, KNOWING, Shop, number};
use serde_json::{Value, json};

#[test]
fn a_job_is_begun_with_a_zero_check_or_with_a_reason() {
    let shop = Shop::new("zero-gate", KNOWING, "");
    assert_eq!(shop.job(&json!({})).0, 200);
    let begin = json!({"job":"J","purpose":"inspecting","operator":"AK"});
    let (status, refused) = shop.tags(&begin);
    assert_eq!(status, 422, "{refused}");
    let told = refused["fields"]["reason"].as_str().expect("the field");
    assert!(told.contains("zero"), "{told}");
    assert_eq!(
        shop.station()["tags"]["job"],
        Value::Null,
        "nothing was changed"
    );
    let mut reasoned = begin.clone();
    reasoned["reason"] = json!("standard is at calibration");
    assert_eq!(shop.tags(&reasoned).0, 200);
    let reading = shop.measure("0.51250");
    let flags = reading["flags"].as_array().expect("flags");
    assert!(flags.contains(&json!("zero_old")), "{flags:?}");
    assert_eq!(reading["verdict"], "pass");
}

#[test]
fn a_zero_check_stands_survives_a_kill_and_falls_with_its_void() {
    let mut shop = Shop::new("zero-kill", KNOWING, "");
    assert_eq!(shop.tags(&json!({"purpose":"zero"})).0, 200);
    let off = shop.measure("0.00015");
    assert_eq!(
        (&off["verdict"], &off["words"]),
        (&json!("zero_off"), &json!("ZERO OFF"))
    );
    assert_eq!(shop.station()["zero"]["state"], "off_by");
    let good = shop.measure("0.00005");
    assert_eq!(good["verdict"], "zero_within");
    assert_eq!(good["counted"], false);
    assert_eq!(shop.station()["zero"]["state"], "within");
    let no_zero = shop.measure("0.51250");
    assert!(
        no_zero["flags"]
            .as_array()
            .expect("flags")
            .contains(&json!("no_zero"))
    );
    shop.restart();
    assert_eq!(
        shop.station()["zero"]["state"],
        "within",
        "as before the kill"
    );
    assert_eq!(shop.job(&json!({})).0, 200);
    assert_eq!(shop.tags(&json!({"job":"J","purpose":"inspecting"})).0, 200);
    let reading = shop.measure("0.51250");
    assert!(
        reading["zero_age_s"].as_i64().expect("an age") >= 0,
        "{reading}"
    );
    shop.daemon.done(
        &format!("/api/readings/{}/void", good["entry"]),
        &json!({"reason":"dirt or burr","by":"AK"}),
    );
    assert_eq!(
        shop.station()["zero"]["state"],
        "off_by",
        "the check before holds again"
    );
    let rows = shop.rows();
    assert_eq!(rows[3]["zero_off"], "0.00005");
    assert!(
        rows[3]["zero_at"].starts_with("20"),
        "{:?}",
        rows[3]["zero_at"]
    );
}

/// Steel 15 K above the gauge is 11.5e-6 x 15 too large (common handbook expansion). Over wires the pitch
/// diameter of 0.446 in grows the reading and the wider groove of 0.0769 in pitch lets the wires sink:
/// (0.446 - 0.866 x 0.0769) in x 0.0001725 = 0.000065 in.
#[test]
fn a_warm_part_is_corrected_by_a_term_of_its_own_until_the_piece_goes() {
    let shop = Shop::new("warm", "", "");
    shop.begin(&json!({}), "inspecting");
    let cold = shop.measure("0.51250");
    assert_eq!(cold["corrections"], json!([]));
    assert_eq!(
        shop.tags(&json!({"part_celsius":"35","gauge_celsius":"20"}))
            .0,
        200
    );
    let warm = shop.measure("0.51250");
    let term = |kind: &str| {
        let all = warm["corrections"].as_array().expect("corrections").clone();
        let found = all.into_iter().find(|each| each["kind"] == kind);
        number(&found.expect("the term")["amount"])
    };
    let part = term("part_temperature");
    assert!((part + 0.000_065).abs() < 0.000_002, "{part}");
    assert!(term("wire_temperature").abs() < 1e-9 && term("micrometer_temperature").abs() < 1e-9);
    let difference = number(&cold["pitch_diameter"]) - number(&warm["pitch_diameter"]);
    assert!(
        (difference + part).abs() < 0.000_011,
        "to a step of the display: {difference} {part}"
    );
    assert!(
        warm["flags"]
            .as_array()
            .expect("flags")
            .contains(&json!("corrected"))
    );
    let tags = &shop.station()["tags"];
    assert_eq!(
        tags["part_celsius"],
        Value::Null,
        "the piece has gone, and its warmth with it"
    );
    assert_eq!(tags["gauge_celsius"], "20");
    let rows = shop.rows();
    assert_eq!(rows[0]["correction_part_temperature"], "");
    let kept: f64 = rows[1]["correction_part_temperature"]
        .parse()
        .expect("a number");
    assert!((kept - part).abs() < 1e-9, "{kept} {part}");
}

/// Wires certified under load carry their compression: none is added. Free ones get it, about 3.1 um at
/// 8 N on 1/2-13 in steel (an independent calculation of Hertz's contacts).
#[test]
fn compression_is_added_for_free_wires_and_never_for_loaded_ones() {
    let shop = Shop::new("compression", "", "");
    shop.begin(&json!({"material":"hardened-steel"}), "inspecting");
    assert_eq!(shop.measure("0.51250")["corrections"], json!([]));
    shop.daemon.done(
        "/api/wire-sets",
        &json!({"wire_set":"WS","unit":"in","diameters":["0.04441"],"convention":"free","by":"AK"}),
    );
    let free = shop.measure("0.51260");
    let term = &free["corrections"][0];
    assert_eq!(term["kind"], "compression", "{free}");
    let micrometres = number(&term["amount"]) * 25_400.0;
    assert!((micrometres - 3.1).abs() < 0.15, "{micrometres}");
}

/// On a 60-degree thread the pitch diameter grows by four times the coat (every handbook; common practice).
#[test]
fn a_coating_to_come_moves_the_limits_the_thread_is_measured_to() {
    let shop = Shop::new("coating", "", "");
    let coated = |min: &str, max: &str| {
        json!({"features":[{"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS",
               "coating":{"unit":"in","thickness_min":min,"thickness_max":max}}]})
    };
    shop.begin(&coated("0.0002", "0.0003"), "inspecting");
    let limits = shop.station()["thread"]["limits"].clone();
    // 0.4435 - 4 x 0.0002 and 0.4485 - 4 x 0.0003.
    let (min, max) = (number(&limits["min"]), number(&limits["max"]));
    assert!(
        (min - 0.4427).abs() < 5e-6 && (max - 0.4473).abs() < 5e-6,
        "{limits}"
    );
    let basis = shop.station()["thread"]["basis"]
        .as_str()
        .expect("a basis")
        .to_owned();
    assert!(basis.starts_with("Limits before plating."), "{basis}");
    let (status, refused) = shop.job(&coated("0.0001", "0.0020"));
    assert_eq!(status, 422);
    assert!(
        refused["fields"]["features.0.coating.thickness_max"].is_string(),
        "{refused}"
    );
}

const LATHE: &str = "[station.lathe]\nslide = \"compound\"\ncompound_dial = \"radius\"\ncompound_division = 0.001\ncompound_angle_deg = 29.5\n";

/// Along a compound at 29.5 degrees what is left on diameter takes 0.5745 of it (common practice).
#[test]
fn between_passes_the_dial_figure_is_told_and_what_was_dialled_is_learned_from() {
    let mut shop = Shop::new("passes", "", LATHE);
    shop.begin(&json!({}), "cutting");
    shop.measure("0.53270");
    let cut = shop.station()["cut"].clone();
    assert_eq!(
        (&cut["advice"], &cut["slide"]),
        (&json!("cut"), &json!("compound")),
        "{cut}"
    );
    // 0.0200 in is left to the middle; 0.6 of it along the compound is 0.00689, rounded down.
    assert_eq!(cut["dial"], "0.0060", "{cut}");
    assert_eq!(shop.tags(&json!({"dialled":"0.0060"})).0, 200);
    assert_eq!(shop.station()["cut"]["dialled"], "0.0060");
    shop.restart();
    assert_eq!(
        shop.station()["tags"]["dialled"],
        "0.0060",
        "as before the kill"
    );
    shop.measure("0.53270");
    assert_eq!(shop.tags(&json!({"dialled":"0.0060"})).0, 200);
    // 0.0060 along the compound is 0.01044 on diameter; 0.0090 came off.
    shop.measure("0.52370");
    let station = shop.station();
    let learned = station["cut"]["notes"].to_string();
    assert!(learned.contains("86 percent"), "{learned}");
    assert_eq!(station["tags"]["dialled"], Value::Null);
    assert_eq!(shop.tags(&json!({"dialled":"0.0030"})).0, 200);
    let fell = shop.measure("0.51400");
    assert_eq!(
        (&fell["verdict"], &fell["held"]["reason"]),
        (&json!("held"), &json!("fall")),
        "{fell}"
    );
    let causes = shop.station()["causes"].to_string();
    assert!(causes.len() > 2, "{causes}");
}

#[test]
fn a_cut_cannot_be_told_from_a_dial_that_nobody_described() {
    let shop = Shop::new("no-lathe", "", "");
    shop.begin(&json!({}), "cutting");
    let (status, refused) = shop.tags(&json!({"dialled":"0.0060"}));
    assert_eq!(status, 422);
    let told = refused["fields"]["dialled"].as_str().expect("the field");
    assert!(told.contains("[station.lathe]"), "{told}");
    shop.measure("0.53270");
    assert_eq!(shop.station()["cut"], Value::Null);
}

#[test]
fn readings_at_two_places_show_taper_and_out_of_round() {
    let shop = Shop::new("form", "", "");
    shop.begin(&json!({"readings_a_piece":3}), "inspecting");
    for (position, text) in [
        ("shoulder, 0 deg", "0.51250"),
        ("shoulder, 90 deg", "0.51270"),
        ("end, 0 deg", "0.51200"),
    ] {
        assert_eq!(shop.tags(&json!({"position":position})).0, 200);
        shop.measure(text);
    }
    let form = shop.station()["form"].clone();
    let sentence = form["sentence"].as_str().expect("a sentence");
    assert!(
        sentence.contains("shoulder") && sentence.contains("0.0002 in"),
        "{form}"
    );
    assert!(form["cautions"].to_string().contains("lobe"), "{form}");
}

/// The grounds of a judgement are under the chain too.
#[test]
fn the_chain_covers_the_grounds_and_another_program_walks_it() {
    let shop = Shop::new("grounds-chain", BUDGET, "");
    shop.begin(&json!({"decision":"guarded"}), "inspecting");
    shop.measure("0.51250");
    shop.measure("0.51260");
    let record = shop.folder.join("record.db");
    assert!(shop.daemon.end());
    let verify = |json: &str| {
        let output = Command::new(program("overwire", "overwire"))
            .args(["verify", json, "--record"])
            .arg(&record)
            .output()
            .expect("overwire verify");
        (
            output.status.code(),
            serde_json::from_slice::<Value>(&output.stdout).unwrap_or_default(),
        )
    };
    let (code, verified) = verify("--json");
    assert_eq!(code, Some(0), "{verified}");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/python/walk_chain.py");
    let walked = Command::new("python3")
        .arg(script)
        .arg(&record)
        .output()
        .expect("python3");
    let wanted = format!(
        "{} {}",
        verified["entries"],
        verified["head"].as_str().unwrap_or_default()
    );
    assert_eq!(String::from_utf8_lossy(&walked.stdout).trim(), wanted);
    let connection = rusqlite::Connection::open(&record).expect("the record");
    connection
        .execute_batch(
            "DROP TRIGGER reading_is_never_altered;
             UPDATE reading SET grounds = replace(grounds, '\"factor\":', '\"factor\": ')",
        )
        .expect("tampered");
    drop(connection);
    let (code, verified) = verify("--json");
    assert_eq!(code, Some(1), "a single space was put in: {verified}");
}

/// The lead entered as the pitch: wires that suit the pitch lie far below the crest of so wide a groove.
#[test]
fn a_lead_entered_as_the_pitch_is_asked_about() {
    let shop = Shop::new("lead", "", "");
    let custom = json!({"unit":"in","pitch":"0.15385","starts":2,"flank_deg":"30","major_diameter":"0.5",
        "pitch_diameter_min":"0.4435","pitch_diameter_max":"0.4485"});
    let features = json!({"features":[{"name":"end","custom":custom,"wire_set":"WS"}]});
    let (status, answer) = shop.job(&features);
    assert_eq!(status, 200, "{answer}");
    let (status, refused) = shop.tags(&json!({"job":"J","wire_set":"WS"}));
    assert_eq!(status, 422);
    let told = refused["fields"]["wire_set"].as_str().expect("the field");
    assert!(told.contains("lead entered as the pitch"), "{told}");
}
