//! What a station is told of the pieces to come.

use std::process::Command;

use overwire_tests::daemon::settings;
use overwire_tests::findings::section;
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

/// Readings over wires, in, of studs of the invented shop's job J-2417, piece by piece: the first is read three times,
/// an edge wears.
const STUDS: [&[&str]; 12] = [
    &["1.07635", "1.07640", "1.07650"],
    &["1.07635"],
    &["1.07610"],
    &["1.07625"],
    &["1.07600"],
    &["1.07590"],
    &["1.07591"],
    &["1.07585"],
    &["1.07550"],
    &["1.07540"],
    &["1.07545"],
    &["1.07515"],
];

struct Shop {
    _folder: Folder,
    daemon: Daemon,
}

impl Shop {
    fn new(name: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        for set in ["WS-12A", "WS-12B"] {
            let form = json!({"wire_set":set,"unit":"in","diameters":["0.04811"],"by":"AK"});
            daemon.done("/api/wire-sets", &form);
        }
        let feature = json!({"name":"stud end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"});
        let form = json!({"job":"J-2417","readings_a_piece":3,"features":[feature],"by":"AK"});
        daemon.done("/api/jobs", &form);
        let shop = Shop {
            _folder: folder,
            daemon,
        };
        shop.tags(&json!({"job":"J-2417","purpose":"inspecting","operator":"AK"}));
        shop
    }

    fn tags(&self, tags: &Value) {
        self.daemon.done("/api/stations/s0/tags", tags);
    }

    fn measure(&self, piece: usize, texts: &[&str]) -> Vec<Value> {
        self.tags(&json!({"piece":piece}));
        let measured = texts.iter().map(|text| {
            let form = json!({"text":text,"unit":"in"});
            self.daemon.done("/api/stations/s0/reading", &form)
        });
        measured.collect()
    }

    fn outlook(&self) -> Value {
        self.daemon
            .get("/api/outlook?job=J-2417&feature=stud%20end")
    }
}

#[test]
fn wear_is_told_of_while_every_piece_is_still_in_limits() {
    let shop = Shop::new("outlook-wear");
    let mut readings = Vec::new();
    for (piece, texts) in (1..).zip(STUDS) {
        let measured = shop.measure(piece, texts);
        assert!(
            measured.iter().all(|reading| reading["verdict"] == "pass"),
            "{measured:?}"
        );
        readings.extend(measured);
        let told = shop.outlook();
        // Repeats on one piece are no pieces.
        assert_eq!(told["pieces"], piece, "{told}");
        assert_eq!(
            told["sentences"].as_array().map(Vec::is_empty),
            Some(piece < 10),
            "{told}"
        );
        assert_eq!(told["left"].is_u64(), piece >= 10, "{told}");
    }
    let told = shop.outlook();
    assert_eq!(
        (&told["left"], &told["heed"]),
        (&json!(16), &json!(false)),
        "{told}"
    );
    // The statistics of the same pieces say the same.
    let found = shop
        .daemon
        .get("/api/statistics?job=J-2417&feature=stud%20end");
    let drift = section(&found, "Does it drift with wear?");
    assert_eq!(told["sentences"][0], drift["sentences"][1]);
    let void = |reading: &Value| {
        let path = format!("/api/readings/{}/void", reading["entry"]);
        shop.daemon
            .done(&path, &json!({"reason":"wire slipped","by":"AK"}));
    };
    // One of three readings of the first piece: the piece still counts. Then the last piece's only one.
    void(&readings[0]);
    assert_eq!(shop.outlook()["pieces"], 12);
    void(&readings[readings.len() - 1]);
    assert_eq!(shop.outlook()["pieces"], 11);
}

#[test]
fn another_tool_and_other_wires_begin_afresh() {
    let shop = Shop::new("outlook-afresh");
    let mut ninth = Value::Null;
    for (piece, texts) in (1..).zip(STUDS) {
        let measured = shop.measure(piece, texts);
        if piece == 9 {
            ninth = measured[0].clone();
        }
    }
    let path = format!("/api/readings/{}/comment", ninth["entry"]);
    let remark = |text: &str| {
        shop.daemon.done(&path, &json!({"text":text,"by":"AK"}));
        shop.outlook()
    };
    let told = remark("burr taken off");
    assert_eq!(
        (&told["pieces"], &told["since"]),
        (&json!(12), &Value::Null)
    );
    let told = remark("new tool, edge 2");
    assert_eq!(
        (&told["pieces"], &told["left"]),
        (&json!(4), &Value::Null),
        "{told}"
    );
    assert_eq!(told["since"], "new tool, edge 2 (piece 9)");
    shop.tags(&json!({"wire_set":"WS-12B"}));
    shop.measure(13, &["1.07510"]);
    let told = shop.outlook();
    assert_eq!(
        (&told["pieces"], &told["since"]),
        (&json!(1), &json!("wires WS-12B (piece 13)"))
    );
}

/// Pieces that are far back in a long record are found as those at its end are.
#[test]
fn last_pieces_are_found_however_far_back_they_are() {
    let folder = Folder::new("outlook-far");
    let record = folder.join("record.db");
    let filled = Command::new(env!("CARGO_BIN_EXE_fill_record"))
        .arg("--record")
        .arg(&record)
        .arg("--settings")
        .arg(folder.join("long.toml"))
        .args(["--readings", "20000", "--a-job", "5000"])
        .output()
        .expect("fill_record");
    assert!(filled.status.success(), "{filled:?}");
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    for job in 1..=4 {
        let told = daemon.get(&format!(
            "/api/outlook?job=1/2-20%20UNF%20lot%20{job}&feature=thread"
        ));
        assert_eq!(told["pieces"], 25, "{told}");
        let words = told["sentences"].to_string();
        assert!(words.contains("By the last 25 pieces"), "{words}");
    }
    let (status, told) = daemon.post("/api/outlook?job=x&feature=y", &json!({}));
    assert_eq!(status, 405, "{told}");
}

#[test]
fn a_thread_that_is_not_there_is_refused() {
    let shop = Shop::new("outlook-none");
    assert_eq!(shop.outlook()["pieces"], 0);
    for path in [
        "/api/outlook?job=J-2417&feature=nose",
        "/api/outlook?job=J-9&feature=stud%20end",
        "/api/outlook",
    ] {
        let (status, _, _) = overwire_tests::client::fetch(shop.daemon.address, path);
        assert_eq!(status, 404, "{path}");
    }
}
