//! What must not be lost when something is said of a reading afterwards: doubt, holds, flags, uncertainty.

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

struct Shop {
    folder: Folder,
    daemon: Daemon,
}

impl Shop {
    fn new(name: &str, more: &str, job: &Value, purpose: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, more));
        daemon.done(
            "/api/wire-sets",
            &json!({"wire_set":"WS","unit":"in","diameters":["0.04441"],"convention":"under_load",
                    "uncertainty":"0.00002","by":"AK"}),
        );
        let shop = Shop { folder, daemon };
        shop.instrument(&json!({}));
        shop.job("J", job);
        assert_eq!(
            shop.tags(&json!({"job":"J","purpose":purpose,"operator":"AK"}))
                .0,
            200
        );
        shop
    }

    fn instrument(&self, more: &Value) {
        let mut form = json!({"instrument":"MIC-0","unit":"in","resolution":"0.00005",
            "max_error":"0.0001","zero_tolerance":"0.0001","by":"AK"});
        merge(&mut form, more);
        self.daemon.done("/api/instruments", &form);
    }

    fn job(&self, name: &str, more: &Value) {
        let mut form = json!({"job":name,"features":[
            {"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS"}],"by":"AK"});
        merge(&mut form, more);
        self.daemon.done("/api/jobs", &form);
    }

    fn tags(&self, tags: &Value) -> (u16, Value) {
        self.daemon.post("/api/stations/s0/tags", tags)
    }

    fn measure(&self, text: &str) -> Value {
        self.daemon
            .done("/api/stations/s0/reading", &json!({"text":text}))
    }

    fn say(&self, reading: &Value, what: &str, form: &Value) -> Value {
        self.daemon
            .done(&format!("/api/readings/{}/{what}", reading["entry"]), form)
    }

    fn station(&self) -> Value {
        self.daemon.station("s0")
    }

    fn restart(&mut self) {
        self.daemon.kill();
        self.daemon = Daemon::start(&self.folder.join("overwire.toml"));
    }
}

fn merge(form: &mut Value, more: &Value) {
    if let (Some(form), Some(more)) = (form.as_object_mut(), more.as_object()) {
        form.extend(more.clone());
    }
}

fn has(reading: &Value, flag: &str) -> bool {
    reading["flags"]
        .as_array()
        .is_some_and(|flags| flags.contains(&json!(flag)))
}

/// A fallen wire on 1/2-13 reads half of what the reading stood above the crest lower: (0.5250 + 0.4985) / 2.
#[test]
fn a_remark_or_a_void_does_not_switch_the_watch_off() {
    let shop = Shop::new("doubt-watch", "", &json!({}), "cutting");
    let first = shop.measure("0.52500");
    let fallen = shop.measure("0.51250");
    assert_eq!(fallen["held"]["reason"], "wire", "{fallen}");
    shop.say(&fallen, "answer", &json!({"answer":"void","by":"AK"}));
    assert_eq!(
        shop.measure("0.51250")["verdict"],
        "held",
        "the same again is no proof"
    );
    shop.say(&first, "comment", &json!({"text":"looks fine","by":"AK"}));
    assert_eq!(shop.measure("0.51240")["verdict"], "held");
}

#[test]
fn words_alone_never_make_a_reading_count_or_answer_it() {
    let shop = Shop::new("doubt-words", "", &json!({}), "inspecting");
    let far = shop.measure("0.70000");
    assert!(has(&far, "out_of_window"));
    let retagged = shop.say(
        &far,
        "retag",
        &json!({"operator":"BR","reason":"it was BR","by":"AK"}),
    );
    assert_eq!(
        (&retagged["counted"], &retagged["operator"]),
        (&json!(false), &json!("BR"))
    );
    assert!(has(&retagged, "out_of_window"), "{retagged}");
    assert_eq!(shop.station()["tags"]["piece"], 1);
    let metric = shop.measure("13.0200");
    assert_eq!(metric["held"]["reason"], "unit", "{metric}");
    let retagged = shop.say(
        &metric,
        "retag",
        &json!({"operator":"BR","reason":"it was BR","by":"AK"}),
    );
    assert_eq!(
        retagged["held"]["reason"], "unit",
        "it still waits: {retagged}"
    );
}

#[test]
fn another_operator_does_not_change_the_uncertainty_a_reading_was_judged_by() {
    let budget = "[rules]\nzero_check_hours = 0\n[uncertainty]\n";
    let job = json!({"decision":"guarded","readings_a_piece":3});
    let mut shop = Shop::new("doubt-trust", budget, &job, "inspecting");
    for piece in 0..6 {
        for step in [-10, 0, 10] {
            shop.measure(&format!(
                "{:.5}",
                0.5125 + f64::from(piece + step) * 0.000_05
            ));
        }
    }
    shop.restart();
    let near = shop.measure("0.51490");
    assert_eq!(near["verdict"], "undecided", "{near}");
    let retagged = shop.say(
        &near,
        "retag",
        &json!({"operator":"BR","reason":"it was BR","by":"AK"}),
    );
    assert_eq!(retagged["verdict"], "undecided");
    assert_eq!(retagged["uncertainty"], near["uncertainty"]);
}

#[test]
fn a_measurement_too_coarse_for_the_ratio_gets_no_verdict_and_counts_for_no_piece() {
    let budget = "[rules]\nzero_check_hours = 0\n[uncertainty]\n";
    let shop = Shop::new(
        "doubt-ratio",
        budget,
        &json!({"decision":"ratio"}),
        "inspecting",
    );
    assert_eq!(shop.measure("0.51270")["verdict"], "pass");
    shop.instrument(&json!({"max_error":"0.003"}));
    let coarse = shop.measure("0.51280");
    assert_eq!(
        (&coarse["verdict"], &coarse["counted"]),
        (&json!("none"), &json!(false)),
        "{coarse}"
    );
    assert!(
        coarse["pitch_diameter"].is_string(),
        "it is still converted"
    );
    let problem = shop.station()["problem"]
        .as_str()
        .expect("a problem")
        .to_owned();
    assert!(problem.contains("4:1"), "{problem}");
}

#[test]
fn a_finished_thread_without_a_seat_counts_for_no_piece() {
    let shop = Shop::new("doubt-seat", "", &json!({}), "inspecting");
    let crest = shop.measure("0.56800");
    assert_eq!(
        (&crest["verdict"], &crest["counted"]),
        (&json!("none"), &json!(false)),
        "{crest}"
    );
    assert_eq!(shop.station()["tags"]["piece"], 1);
}

#[test]
fn a_zero_outside_its_tolerance_corrects_nothing_and_goes_when_it_is_no_zero() {
    let shop = Shop::new("doubt-zero", "", &json!({}), "zero");
    shop.instrument(&json!({"correct_zero":true}));
    let good = shop.measure("0.00005");
    let off = shop.measure("0.00200");
    assert_eq!(
        (&good["verdict"], &off["verdict"]),
        (&json!("zero_within"), &json!("zero_off"))
    );
    assert_eq!(shop.tags(&json!({"purpose":"inspecting"})).0, 200);
    let reading = shop.measure("0.51250");
    assert_eq!(reading["corrections"], json!([]), "{reading}");
    assert!(has(&reading, "zero_off"));
    shop.say(
        &off,
        "retag",
        &json!({"purpose":"inspecting","reason":"a part was measured","by":"AK"}),
    );
    assert_eq!(
        shop.station()["zero"]["state"],
        "within",
        "the check before holds again"
    );
    assert_eq!(
        shop.measure("0.51260")["corrections"][0]["amount"],
        "-0.000050"
    );
    let (status, refused) = shop.daemon.post(
        &format!("/api/readings/{}/retag", reading["entry"]),
        &json!({"purpose":"zero","reason":"mixed up","by":"AK"}),
    );
    assert_eq!(status, 422, "{refused}");
}

/// A zero check is of an instrument: another one in its place starts without.
#[test]
fn another_instrument_does_not_take_the_zero_over() {
    let mut shop = Shop::new("doubt-instrument", "", &json!({}), "zero");
    shop.measure("0.00005");
    assert_eq!(shop.station()["zero"]["state"], "within");
    let file = shop.folder.join("overwire.toml");
    let text = std::fs::read_to_string(&file).expect("settings");
    std::fs::write(&file, text.replace("MIC-0", "MIC-9")).expect("settings");
    shop.restart();
    assert_eq!(shop.station()["zero"]["state"], "missing");
}

#[test]
fn a_job_is_chosen_together_with_its_zero_check_and_warmth_stays_with_the_piece() {
    let rules = "[rules]\nzero_check_hours = 12\n";
    let folder = Folder::new("doubt-together");
    let daemon = Daemon::start(&settings(&folder, 1, rules));
    daemon.done(
        "/api/wire-sets",
        &json!({"wire_set":"WS","unit":"in","diameters":["0.04441"],"by":"AK"}),
    );
    let shop = Shop { folder, daemon };
    shop.instrument(&json!({}));
    shop.job("J", &json!({}));
    shop.job("K", &json!({}));
    assert_eq!(shop.tags(&json!({"job":"J","purpose":"zero"})).0, 200);
    let (status, _) = shop.tags(&json!({"purpose":"inspecting"}));
    assert_eq!(status, 422, "the check itself is still to be made");
    shop.measure("0.00005");
    assert_eq!(
        shop.tags(&json!({"purpose":"inspecting","part_celsius":"40"}))
            .0,
        200
    );
    assert_eq!(shop.tags(&json!({"job":"K"})).0, 200);
    assert_eq!(shop.station()["tags"]["part_celsius"], Value::Null);
}

#[test]
fn forms_refuse_what_cannot_be_meant() {
    let shop = Shop::new("doubt-forms", "", &json!({}), "cutting");
    let job = |feature: Value| json!({"job":"L","features":[feature],"by":"AK"});
    let limits = |unit: &str, min: &str, max: &str| json!({"unit":unit,"min":min,"max":max});
    let thread = "1/2-13 UNC-2A";
    for (path, form, field) in [
        (
            "jobs",
            job(json!({"name":"end","thread":thread,"wire_set":"NOPE"})),
            "features.0.wire_set",
        ),
        (
            "jobs",
            job(json!({"name":"end","thread":thread,"limits":limits("in","11.26","11.39")})),
            "features.0.limits.max",
        ),
        (
            "jobs",
            job(json!({"name":"end","thread":thread,"limits":limits("in","0.45","0.44")})),
            "features.0.limits.max",
        ),
        (
            "instruments",
            json!({"instrument":"M","unit":"in","range_min":"2","range_max":"1","by":"AK"}),
            "range_max",
        ),
        (
            "instruments",
            json!({"instrument":"M","unit":"in","zero_tolerance":"0","by":"AK"}),
            "zero_tolerance",
        ),
        (
            "instruments",
            json!({"instrument":"M","unit":"in","max_error":"1","by":"AK"}),
            "max_error",
        ),
        (
            "wire-sets",
            json!({"wire_set":"W","unit":"in","diameters":["0.04441","0.0460","0.04441"],"by":"AK"}),
            "diameters.2",
        ),
        (
            "wire-sets",
            json!({"wire_set":"W","unit":"in","diameters":["0.04441"],"uncertainty":"5","by":"AK"}),
            "uncertainty",
        ),
    ] {
        let (status, refused) = shop.daemon.post(&format!("/api/{path}"), &form);
        assert_eq!(status, 422, "{form}: {refused}");
        assert!(refused["fields"][field].is_string(), "{form}: {refused}");
    }
    // Without a class, with the drawing's own limits.
    let metric = json!({"name":"end","thread":"M10x1.5","limits":limits("mm","8.862","8.994")});
    shop.daemon.done("/api/jobs", &job(metric));
}
