//! What a go gauge says of the pieces of a job, beside what was measured of them: on the page's statistics and at the
//! command line.
//!
//! By construction (no source); kappa 1/6 with its interval by R vcd 1.4.11. Published counts: `core/src/study/go_gauge.rs`.

use std::process::Command;

use overwire_tests::charts::holds;
use overwire_tests::daemon::{program, settings};
use overwire_tests::findings::section;
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

const TITLE: &str = "Does the go gauge say what the measurement says?";

struct Shop {
    folder: Folder,
    daemon: Daemon,
}

impl Shop {
    fn new(name: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        let wires = json!({"wire_set":"WS","unit":"in","diameters":["0.04811"],"by":"AK"});
        daemon.done("/api/wire-sets", &wires);
        let thread = json!({"name":"stud end","thread":"1 1/16-12 UN-2A","wire_set":"WS"});
        daemon.done(
            "/api/jobs",
            &json!({"job":"J-2417","features":[thread],"by":"AK"}),
        );
        let tags = json!({"job":"J-2417","purpose":"inspecting","operator":"AK"});
        daemon.done("/api/stations/s0/tags", &tags);
        Shop { folder, daemon }
    }

    /// Measures the next piece, off a limit of the window by so much.
    fn measure(&self, limit: &str, off: f64, verdict: &str) -> Value {
        let window = self.daemon.station("s0")["thread"]["window"][limit].clone();
        let limit: f64 = window.as_str().expect("a limit").parse().expect("a number");
        let text = json!({"text": format!("{:.4}", limit + off)});
        let told = self.daemon.done("/api/stations/s0/reading", &text);
        assert_eq!(told["verdict"], verdict, "{told}");
        told["entry"].clone()
    }

    fn tried(&self, piece: i64, result: &str) {
        let gauge = if result == "not_done" { "" } else { "RING-12" };
        let form = json!({"job":"J-2417","feature":"stud end","piece":piece,"station":"s0","by":"AK",
            "result":result,"gauge":gauge,"words":"no ring at hand"});
        let (status, told) = self.daemon.post("/api/functional-checks", &form);
        assert_eq!(status, 200, "{told}");
    }

    fn statistics(&self, more: &str) -> Value {
        self.daemon.get(&format!(
            "/api/statistics?job=J-2417&feature=stud%20end{more}"
        ))
    }

    fn agreement(&self) -> String {
        let output = Command::new(program("overwire", "overwire"))
            .args(["functional", "--job", "J-2417", "--agreement", "--settings"])
            .arg(self.folder.join("overwire.toml"))
            .output()
            .expect("overwire runs");
        String::from_utf8(output.stdout).expect("UTF-8")
    }

    fn has_section(&self) -> bool {
        let found = self.statistics("");
        let sections = found["sections"].as_array().expect("sections");
        sections.iter().any(|one| one["heading"] == TITLE)
    }
}

#[test]
fn pieces_that_were_measured_and_tried_are_counted_and_differences_explained() {
    let shop = Shop::new("go-gauge");
    shop.measure("min", 0.001, "pass");
    shop.measure("min", 0.0012, "pass");
    assert!(!shop.has_section(), "nothing was tried");
    shop.tried(1, "not_done");
    assert!(!shop.has_section(), "that nobody tried is no check");
    shop.measure("min", -0.0006, "fail_under");
    let untried = shop.measure("min", 0.0014, "pass");
    shop.measure("max", 0.0006, "fail_over");
    shop.measure("max", 0.0008, "fail_over");
    for (piece, result) in [
        (1, "goes"),
        (2, "does_not_go"),
        // What was said first does not stand.
        (3, "does_not_go"),
        (3, "goes"),
        (5, "does_not_go"),
        (6, "goes"),
    ] {
        shop.tried(piece, result);
    }
    let found = shop.statistics("");
    let compared = section(&found, TITLE);
    holds(
        &compared["sentences"].to_string(),
        &[
            "Of 5 pieces both say the same of 3 (60 %).",
            "Kappa 0.17, between -0.71 and 1.00",
            "Of 2 measured over the upper limit the gauge lets 1 go (misses, 50 %)",
            "Of 3 not over it the gauge refuses 1",
            "1 piece is under the lower limit",
            "feels the functional diameter",
            "5 of 6 measured pieces were tried",
            "Measured not over, does not go: piece 2.",
            "Measured over, goes: piece 6.",
        ],
    );
    let rows = &compared["table"]["rows"];
    assert_eq!(rows[0], json!(["not over", "2", "1"]));
    assert_eq!(rows[1], json!(["over", "1", "1"]));
    let cautions = compared["cautions"].to_string();
    holds(
        &cautions,
        &["poor form, and no fault of the gauge", "Is the gauge worn"],
    );
    holds(
        &found["settings"].to_string(),
        &["error of Fleiss, Cohen and Everitt"],
    );
    // Grouped pieces are the same pieces.
    let grouped = shop.statistics("&chart=groups&size=2");
    assert_eq!(section(&grouped, TITLE), compared);
    let told = shop.agreement();
    holds(
        &told,
        &[
            "piece 1, attempt 1: done with RING-12",
            "J-2417, stud end",
            "Kappa 0.17",
        ],
    );

    // A voided reading says nothing, and a check that is taken back is none.
    shop.daemon.done(
        &format!("/api/readings/{untried}/void"),
        &json!({"reason":"dropped","by":"AK"}),
    );
    let withdrawn = json!({"job":"J-2417","feature":"stud end","piece":6,"station":"s0","by":"AK",
        "result":"withdrawn","reason":"wrong piece"});
    assert_eq!(
        shop.daemon.post("/api/functional-checks", &withdrawn).0,
        200
    );
    let less = section(&shop.statistics(""), TITLE)["sentences"].to_string();
    holds(
        &less,
        &[
            "Of 4 pieces both say the same of 3 (75 %)",
            "4 of 5 measured pieces were tried",
        ],
    );
}
