//! What the statistics say of a job and of a study.

use overwire_tests::daemon::{program, settings};
use overwire_tests::findings::{cell, section};
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

struct Shop {
    folder: Folder,
    daemon: Daemon,
}

impl Shop {
    fn new(name: &str, readings_a_piece: u32) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        daemon.done(
            "/api/wire-sets",
            &json!({"wire_set":"WS","unit":"in","diameters":["0.04441"],"by":"AK"}),
        );
        daemon.done(
            "/api/jobs",
            &json!({"job":"J","readings_a_piece":readings_a_piece,"features":[
                {"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS"}],"by":"AK"}),
        );
        let shop = Shop { folder, daemon };
        shop.tags(&json!({"job":"J","purpose":"inspecting","operator":"AK"}));
        shop
    }

    fn tags(&self, tags: &Value) {
        self.daemon.done("/api/stations/s0/tags", tags);
    }

    fn measure(&self, inches: f64) -> Value {
        self.daemon.done(
            "/api/stations/s0/reading",
            &json!({"text":format!("{inches:.5}")}),
        )
    }

    fn statistics(&self) -> Value {
        self.daemon.get("/api/statistics?job=J&feature=end")
    }

    fn summary(&self) -> Value {
        self.daemon.get("/api/summary?job=J&feature=end")
    }

    /// What a command says of the shop's record.
    fn told(&self, arguments: &[&str]) -> String {
        let out = std::process::Command::new(program("overwire", "overwire"))
            .args(arguments)
            .arg("--record")
            .arg(self.folder.join("record.db"))
            .output()
            .expect("the command");
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
        String::from_utf8(out.stdout).expect("text")
    }
}

/// Twelve pieces with two readings each, 0.00010 in apart: the means are the pieces, the ranges are the gauge's.
#[test]
fn repeats_are_never_pieces_of_the_process() {
    let shop = Shop::new("findings-pieces", 2);
    let mut first = Value::Null;
    for piece in 0..12 {
        let size = 0.5125 + 0.000_05 * f64::from([0, 3, -2, 5, 1, -4, 2, 4, -1, -3, 6, 0][piece]);
        let reading = shop.measure(size - 0.000_05);
        if piece == 0 {
            first = reading;
        }
        shop.measure(size + 0.000_05);
    }
    let found = shop.statistics();
    assert_eq!(cell(&section(&found, "Figures"), "pieces"), "12");
    let gauge = section(&found, "Repeats on one piece: the gauge");
    let told = gauge["sentences"][0].as_str().expect("a sentence");
    // The range of two is 0.0001 in; over d2 = 1.128 that is 0.0000886 in.
    assert!(told.contains("0.000089 in"), "{told}");
    let keeps = section(&found, "Does it keep the limits?");
    assert!(
        keeps["sentences"][1]
            .as_str()
            .is_some_and(|told| told.starts_with("Provisional, from 12 pieces")),
        "{keeps}"
    );
    shop.daemon.done(
        &format!("/api/readings/{}/void", first["entry"]),
        &json!({"reason":"wire slipped","by":"AK"}),
    );
    let found = shop.statistics();
    assert_eq!(
        cell(&section(&found, "Figures"), "pieces"),
        "12",
        "one of its readings still stands"
    );
    for picture in ["run", "individuals", "histogram"] {
        let svg = shop.daemon.text(&format!(
            "/findings.svg?job=J&feature=end&picture={picture}"
        ));
        assert!(
            svg.starts_with("<svg") && !svg.contains("NaN"),
            "{picture}: {}",
            &svg[..80.min(svg.len())]
        );
    }
}

/// The summary says of pieces, limits and repeats what the whole answer says, whatever was said of readings meanwhile,
/// on the page and at the command line.
#[test]
fn a_summary_says_what_the_whole_answer_says() {
    let shop = Shop::new("findings-summary", 2);
    let mut readings = Vec::new();
    let agree = |when: &str| {
        let (whole, summary) = (shop.statistics(), shop.summary());
        for heading in ["Figures", "Repeats on one piece: the gauge"] {
            let (whole, summary) = (section(&whole, heading), section(&summary, heading));
            assert_eq!(summary["table"], whole["table"], "{heading} {when}");
            if heading != "Figures" {
                assert_eq!(
                    summary["sentences"][0], whole["sentences"][0],
                    "{heading} {when}"
                );
            }
        }
        let kept = "Does it keep the limits?";
        let (whole, summary) = (section(&whole, kept), section(&summary, kept));
        let kept_by = |found: &Value| found["sentences"][0].to_string();
        assert!(
            kept_by(&whole).contains("pieces lie inside the limits"),
            "{whole}"
        );
        assert_eq!(kept_by(&summary), kept_by(&whole), "{when}");
        let second = summary["sentences"][1].to_string();
        assert!(
            second.contains("which is not asked here") || second.contains("No capability index"),
            "{second}"
        );
    };
    for piece in 0..12 {
        let size = 0.5125 + 0.000_05 * f64::from([0, 3, -2, 5, 1, -4, 2, 4, -1, -3, 6, 0][piece]);
        readings.push(shop.measure(size - 0.000_05));
        readings.push(shop.measure(size + 0.000_05));
        if piece > 2 {
            agree("as pieces come");
        }
    }
    let said = |what: &str, at: usize| {
        let path = format!("/api/readings/{}/{what}", readings[at]["entry"]);
        shop.daemon
            .done(&path, &json!({"reason":"wire slipped","by":"AK"}));
    };
    for (what, at) in [("void", 6), ("void", 7), ("void", 23), ("restore", 7)] {
        said(what, at);
        agree(&format!("after {what} {at}"));
    }
    let summary = shop.summary();
    assert_eq!(summary["figures"]["pieces"], 12);
    assert_eq!(summary["figures"]["left_out"], 2);
    let told = shop.told(&["summary", "--job", "J", "--json"]);
    assert_eq!(serde_json::from_str::<Value>(&told).expect("JSON"), summary);
    let anew = shop.told(&["summary", "--job", "J", "--json", "--anew"]);
    assert_eq!(anew, told);
    assert!(shop.told(&["summary", "--job", "J"]).contains("12 pieces"));
}

/// Two levels: whether the process is steady is not asked of sums, and yet they speak against it.
#[test]
fn sums_of_a_process_that_moved_give_no_index() {
    let shop = Shop::new("findings-moved", 1);
    for piece in 0..40 {
        let noise = 0.000_02 * f64::from([0, 3, -2, 5, 1, -4, 2, 4, -1, -3][piece % 10]);
        shop.measure(0.5125 + noise + if piece < 20 { 0.0 } else { 0.0006 });
    }
    let summary = shop.summary();
    let headline = summary["headline"].to_string();
    assert!(
        headline.contains("All 40 pieces lie inside the limits"),
        "{headline}"
    );
    let told = section(&summary, "Does it keep the limits?")["sentences"].to_string();
    assert!(
        told.contains("No capability index. The pieces do not look steady"),
        "{told}"
    );
    assert_eq!(summary["figures"]["cpk"], Value::Null);
}

/// What lies outside is said first, and what was measured before pieces were begun again; on the page, in the summary
/// and at the command line.
#[test]
fn pieces_outside_and_earlier_attempts_are_told() {
    let shop = Shop::new("findings-outside", 1);
    let noise = [0, 3, -2, 5, 1, -4, 2, 4, -1, -3, 2, 0];
    for (piece, step) in (1..).zip(noise) {
        let size = 0.5125 + 0.000_05 * f64::from(step);
        if piece == 3 {
            shop.measure(0.5160);
            shop.tags(&json!({"piece":3}));
        }
        shop.measure(if piece == 7 { 0.5160 } else { size });
    }
    for found in [shop.statistics(), shop.summary()] {
        let keeps = section(&found, "Does it keep the limits?");
        let first = keeps["sentences"][0].to_string();
        assert!(
            first.contains("1 of 12 pieces lies outside the limits (above)"),
            "{first}"
        );
        let minded = keeps["cautions"].to_string();
        assert!(
            minded.contains("1 reading of their earlier attempts is left out; 1 lies outside"),
            "{minded}"
        );
        assert!(minded.contains("is not functional size"), "{minded}");
    }
    let told = shop.told(&["summary", "--job", "J"]);
    assert!(
        told.contains("1 of 12 pieces lies outside the limits (above)"),
        "{told}"
    );
}

/// Two jobs with one thread are two parts, and what their pieces are seen from is said.
#[test]
fn jobs_of_the_same_thread_are_two_parts_of_short_runs() {
    let shop = Shop::new("findings-short-runs", 1);
    let measure = |more: f64| {
        for piece in 0..6 {
            shop.measure(0.5120 + more + 0.000_05 * f64::from([0, 3, -2, 5, 1, -4][piece]));
        }
    };
    measure(0.0);
    shop.daemon.done(
        "/api/jobs",
        &json!({"job":"K","readings_a_piece":1,"features":[
            {"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS"}],"by":"AK"}),
    );
    shop.tags(&json!({"job":"K","feature":"end","purpose":"inspecting"}));
    measure(0.0004);
    let found = shop
        .daemon
        .get("/api/statistics?job=J&feature=end&chart=short-runs&with=K,%20end");
    let rows = section(&found, "Parts")["table"]["rows"].clone();
    let parts: Vec<&str> = rows
        .as_array()
        .expect("rows")
        .iter()
        .filter_map(|row| row[0].as_str())
        .collect();
    assert_eq!(parts, ["1/2-13 UNC-2A (J, end)", "1/2-13 UNC-2A (K, end)"]);
    let told = found["sections"].to_string();
    assert!(told.contains("the middle of the limits."), "{told}");
    let (status, refused) = shop.daemon.ask("/api/statistics?job=J&feature=end&foo=bar");
    assert_eq!(status, 422, "{refused}");
    assert!(
        refused["error"].to_string().contains("no choice foo"),
        "{refused}"
    );
}

#[test]
fn too_few_pieces_are_told_and_get_no_index() {
    let shop = Shop::new("findings-few", 1);
    let (status, refused) = shop.daemon.ask("/api/statistics?job=J&feature=end");
    assert_eq!(status, 409, "{refused}");
    for step in 0..5 {
        shop.measure(0.5125 + 0.000_05 * f64::from(step * step));
    }
    let keeps = section(&shop.statistics(), "Does it keep the limits?");
    let told = keeps["sentences"].to_string();
    assert!(told.contains("No capability index"), "{told}");
    let (status, _) = shop.daemon.ask("/api/statistics?job=J&feature=other");
    assert_eq!(status, 404);
}

/// Two methods of equal readings are equivalent; one that reads 0.0020 in more is different.
#[test]
fn a_method_study_ends_in_a_verdict() {
    let shop = Shop::new("findings-study", 1);
    shop.daemon.done(
        "/api/studies",
        &json!({"study":"holders","kind":"method_comparison","job":"J","feature":"end",
                "methods":["by hand","rubber strips"],"rounds":10,"seed":3,"by":"AK"}),
    );
    shop.tags(&json!({"study":"holders"}));
    let noise = [0, 1, -1, 2, 0, -2, 1, 0, -1, 1];
    for round in noise {
        for _ in 0..2 {
            let next = shop.daemon.station("s0")["study"]["next"]["words"].to_string();
            let bias = if next.contains("rubber") { 0.0020 } else { 0.0 };
            shop.measure(0.5125 + bias + 0.000_05 * f64::from(round));
        }
    }
    let found = shop.daemon.get("/api/studies/holders");
    let differ = section(&found, "Do the methods differ?");
    let told = differ["sentences"].to_string();
    assert!(told.contains("rubber strips: DIFFERENT"), "{told}");
    assert!(told.contains("+0.0020"), "{told}");
    let settings = found["settings"].to_string();
    assert!(
        settings.contains("seed 3") && settings.contains("10 % of the tolerance"),
        "{settings}"
    );
    let square =
        section(&found, "What would holding the wires square do?")["sentences"].to_string();
    assert!(square.contains("off their natural tilt"), "{square}");
    let svg = shop
        .daemon
        .text("/findings.svg?study=holders&picture=methods&width=phone");
    assert!(svg.starts_with("<svg"), "{svg}");
    assert_eq!(shop.daemon.ask("/api/studies/none").0, 404);
}

/// What is minded beside the limits, in the answer and in the summary alike.
fn minded(shop: &Shop) -> String {
    let keeps = |found: &Value| section(found, "Does it keep the limits?")["cautions"].to_string();
    let (whole, summary) = (keeps(&shop.statistics()), keeps(&shop.summary()));
    let revised = |told: &str| told.matches("revised").count();
    assert_eq!(revised(&whole), revised(&summary), "{whole} {summary}");
    assert!(summary.contains("is not functional size"), "{summary}");
    assert_eq!(
        serde_json::from_str::<Value>(&shop.told(&["summary", "--job", "J", "--json"]))
            .expect("JSON"),
        shop.summary()
    );
    whole
}

/// Capability goes by the newest limits: it is said of how many readings others were in force.
#[test]
fn limits_revised_half_way_are_told() {
    let shop = Shop::new("findings-limits-revised", 1);
    let revise = |limits: Value| {
        shop.daemon.done(
            "/api/jobs",
            &json!({"job":"J","readings_a_piece":1,"features":[
                {"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS","limits":limits}],"by":"AK"}),
        );
    };
    for piece in 0..6 {
        shop.measure(0.5125 + 0.000_05 * f64::from(piece % 3));
    }
    assert!(!minded(&shop).contains("revised"), "nothing was revised");
    revise(json!({"unit":"in","min":"0.4450","max":"0.4470"}));
    let all_by_old = minded(&shop);
    assert!(all_by_old.contains("6 of 6 readings"), "{all_by_old}");
    let mut last = Value::Null;
    for piece in 0..4 {
        last = shop.measure(0.5125 + 0.000_05 * f64::from(piece % 3));
    }
    let told = minded(&shop);
    // Limits of 1/2-13 UNC-2A: 0.4485 to 0.4435 in, ASME B1.1, from memory.
    let words = "The limits were revised: 6 of 10 readings were judged by 0.44350 to 0.44850 in \
                 (1/2-13 UNC-2A, entry ";
    assert!(told.contains(words), "{told}");
    assert!(told.contains("Capability is by the newest limits, for all pieces."));
    let report = shop.daemon.text("/report?job=J");
    assert!(report.contains(words), "the report says it too");
    assert_eq!(
        cell(&section(&shop.statistics(), "Figures"), "pieces"),
        "10"
    );
    shop.daemon.done(
        &format!("/api/readings/{}/void", last["entry"]),
        &json!({"reason":"wire slipped","by":"AK"}),
    );
    assert!(minded(&shop).contains("6 of 9 readings"));
    revise(Value::Null);
    let told = minded(&shop);
    assert!(
        told.contains("3 of 9 readings were judged by 0.44500 to 0.44700 in"),
        "{told}"
    );
}

/// A thread of the same name that is another one brings no readings into the statistics of the newest.
#[test]
fn readings_of_a_thread_that_was_replaced_are_left_out() {
    let shop = Shop::new("findings-thread-revised", 1);
    for _ in 0..6 {
        shop.measure(0.5125);
    }
    let revise = |thread: &str| {
        shop.daemon.done(
            "/api/jobs",
            &json!({"job":"J","readings_a_piece":1,"features":[
                {"name":"head","thread":"1/2-13 UNC-2A","wire_set":"WS"},
                {"name":"end","thread":thread,"wire_set":"WS"}],"by":"AK"}),
        );
    };
    revise("9/16-12 UNC-2A");
    let (status, refused) = shop.daemon.ask("/api/statistics?job=J&feature=end");
    assert_eq!(status, 409, "{refused}");
    let told = refused["error"].to_string();
    let words = "The thread was revised. Left out: 6 readings of 1/2-13 UNC-2A (entry ";
    assert!(told.contains(words), "{told}");
    shop.tags(&json!({"feature":"end"}));
    for piece in 0..3 {
        shop.measure(0.5650 + 0.000_05 * f64::from(piece));
    }
    let told = shop.told(&["summary", "--job", "J"]);
    assert!(told.contains(words), "{told}");
    assert!(
        told.contains("–: there is nothing to sum up of `head`"),
        "a thread without readings stops nothing: {told}"
    );
    assert!(told.contains("9/16-12 UNC-2A"), "{told}");
    let found = shop.statistics();
    assert_eq!(cell(&section(&found, "Figures"), "pieces"), "3");
    assert!(found["sections"].to_string().contains(words), "{found}");
    assert_eq!(shop.summary()["figures"]["pieces"], 3);
    let report = shop.daemon.text("/report?job=J");
    assert!(report.contains(words), "the report says it too");
    assert_eq!(shop.daemon.ask("/api/summary?job=J&feature=head").0, 409);
    revise("1/2-13 UNC-3A");
    let found = shop.statistics();
    assert_eq!(cell(&section(&found, "Figures"), "pieces"), "6");
    let told = found["sections"].to_string();
    assert!(told.contains("3 readings of 9/16-12 UNC-2A"), "{told}");
    assert!(told.contains("6 of 6 readings were judged by"), "{told}");
}
