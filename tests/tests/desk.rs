//! What a person does at the page, by its interface: tags, pieces, voids, held readings, restarts.

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder, Line, client, until};
use serde_json::{Value, json};

struct Shop {
    folder: Folder,
    line: Line,
    daemon: Daemon,
    sent: u64,
}

impl Shop {
    /// The stud job with so many readings a piece, and the spindle job beside it; the stud job is active.
    fn new(name: &str, readings_a_piece: u32) -> Shop {
        let folder = Folder::new(name);
        let line = Line::plugged_in(&folder.join("tty0"));
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        for (path, form) in [
            (
                "/api/wire-sets",
                json!({"wire_set":"WS-12A","unit":"in","diameters":["0.04811"],"by":"AK"}),
            ),
            (
                "/api/wire-sets",
                json!({"wire_set":"WS-M150","unit":"mm","diameters":["0.866"],"by":"AK"}),
            ),
            (
                "/api/instruments",
                json!({"instrument":"MIC-0","serial":"77","unit":"in","resolution":"0.00005","by":"AK"}),
            ),
            (
                "/api/jobs",
                json!({"job":"J-2417","readings_a_piece":readings_a_piece,"features":[{"name":"stud end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"}],"by":"AK"}),
            ),
            (
                "/api/jobs",
                json!({"job":"J-2431","features":[{"name":"nose","thread":"M40x1.5-4h","wire_set":"WS-M150"}],"by":"AK"}),
            ),
        ] {
            daemon.done(path, &form);
        }
        let shop = Shop {
            folder,
            line,
            daemon,
            sent: 0,
        };
        shop.tags(&json!({"job":"J-2417","purpose":"inspecting","operator":"AK"}));
        shop
    }

    fn tags(&self, form: &Value) -> Value {
        self.daemon.done("/api/stations/s0/tags", form)
    }

    fn station(&self) -> Value {
        self.daemon.station("s0")
    }

    /// Presses the button and gives the reading as the page has it.
    fn press(&mut self, text: &str) -> Value {
        self.line.send(format!("{text}\r\n").as_bytes());
        self.sent += 1;
        until("the press is kept", || {
            self.station()["today"]["readings"] == self.sent
        });
        self.station()["last"].clone()
    }

    fn say(&self, reading: &Value, what: &str, form: &Value) -> Value {
        self.daemon
            .done(&format!("/api/readings/{}/{what}", reading["entry"]), form)
    }

    fn csv(&self) -> String {
        let (status, _, body) = client::fetch(self.daemon.address, "/export.csv");
        assert_eq!(status, 200);
        String::from_utf8(body).expect("UTF-8")
    }
}

fn piece(reading: &Value) -> i64 {
    reading["piece"].as_i64().expect("a piece")
}

#[test]
fn void_and_measure_again_keeps_the_batch_s_numbers() {
    let mut shop = Shop::new("desk-void", 1);
    assert_eq!(piece(&shop.press("1.0760")), 1);
    let slipped = shop.press("1.0761");
    assert_eq!(piece(&slipped), 2);
    let void = shop.say(
        &slipped,
        "void",
        &json!({"reason":"wire slipped","by":"AK"}),
    );
    assert_eq!(
        (&void["counted"], &void["void"]["reason"]),
        (&json!(false), &json!("wire slipped"))
    );
    assert_eq!(
        shop.station()["tags"]["piece"],
        2,
        "the piece is taken up again"
    );
    let again = shop.press("1.0758");
    assert_eq!(piece(&again), 2);
    assert_eq!(
        piece(&shop.press("1.0757")),
        3,
        "the rest of the batch keeps its numbers"
    );
    let (status, refused) = shop.daemon.post(
        &format!("/api/readings/{}/void", slipped["entry"]),
        &json!({"reason":"again","by":"AK"}),
    );
    assert_eq!((status, &refused["code"]), (409, &json!("already-void")));
    let restored = shop.say(&slipped, "restore", &json!({"by":"AK"}));
    assert_eq!(
        (&restored["counted"], &restored["void"]),
        (&json!(true), &Value::Null)
    );
    let today = shop.station()["today"].clone();
    assert_eq!(
        (&today["readings"], &today["counted"]),
        (&json!(4), &json!(4))
    );
}

#[test]
fn a_void_needs_a_reason() {
    let mut shop = Shop::new("desk-reason", 1);
    let reading = shop.press("1.0760");
    let (status, refused) = shop.daemon.post(
        &format!("/api/readings/{}/void", reading["entry"]),
        &json!({"reason":" ","by":"AK"}),
    );
    assert_eq!(status, 422);
    assert!(refused["fields"]["reason"].is_string(), "{refused}");
    assert_eq!(shop.station()["last"]["void"], Value::Null);
}

#[test]
fn three_readings_a_piece_and_going_back() {
    let mut shop = Shop::new("desk-three", 3);
    for (text, wanted) in [("1.0760", 1), ("1.0761", 1), ("1.0762", 1), ("1.0759", 2)] {
        assert_eq!(piece(&shop.press(text)), wanted);
    }
    let back = shop
        .daemon
        .done("/api/stations/s0/piece", &json!({"go":"back"}));
    assert_eq!(
        (&back["tags"]["piece"], &back["tags"]["attempt"]),
        (&json!(1), &json!(2))
    );
    let again = shop.press("1.0763");
    assert_eq!((piece(&again), &again["attempt"]), (1, &json!(2)));
    let (status, refused) = shop
        .daemon
        .post("/api/stations/s0/piece", &json!({"go":"back"}));
    assert_eq!((status, &refused["code"]), (409, &json!("first-piece")));
}

#[test]
fn a_held_unit_waits_for_a_yes_and_keeps_both() {
    let mut shop = Shop::new("desk-unit", 1);
    let held = shop.press("27.331");
    assert_eq!(
        (&held["verdict"], &held["held"]["reason"]),
        (&json!("held"), &json!("unit"))
    );
    assert_eq!(shop.station()["tags"]["piece"], 1, "it does not count yet");
    let answered = shop.say(&held, "answer", &json!({"answer":"other_unit","by":"AK"}));
    assert_eq!(
        (&answered["verdict"], &answered["unit"]),
        (&json!("pass"), &json!("mm"))
    );
    assert_eq!(
        shop.station()["tags"]["piece"],
        2,
        "now it counts, and the piece is done"
    );
    let (status, _) = shop.daemon.post(
        &format!("/api/readings/{}/answer", held["entry"]),
        &json!({"answer":"keep","by":"AK"}),
    );
    assert_eq!(status, 409, "it was answered");
    let row = shop.csv().lines().nth(1).expect("the row").to_owned();
    assert!(
        row.contains(",27.331,mm,station,") && row.contains(",in,none,"),
        "{row}"
    );
}

#[test]
fn a_reading_of_another_job_is_moved_only_by_a_person_and_both_jobs_stay_visible() {
    let mut shop = Shop::new("desk-job", 1);
    let held = shop.press("1.5861");
    assert_eq!(held["held"]["reason"], "job");
    let moved = shop.say(&held, "answer", &json!({"answer":"other_job","by":"BR"}));
    assert_eq!(
        (&moved["job"], &moved["verdict"]),
        (&json!("J-2431"), &json!("pass"))
    );
    let row = shop.csv().lines().nth(1).expect("the row").to_owned();
    assert!(row.contains("J-2431") && row.contains("J-2417"), "{row}");
    for job in ["J-2417", "J-2431"] {
        let (_, _, body) = client::fetch(shop.daemon.address, &format!("/export.csv?job={job}"));
        assert_eq!(
            String::from_utf8_lossy(&body).lines().count(),
            2,
            "found under {job}"
        );
    }
}

#[test]
fn a_typed_value_is_marked_as_typed() {
    let shop = Shop::new("desk-typed", 1);
    let typed = shop.daemon.done(
        "/api/stations/s0/reading",
        &json!({"text":"1.0760","unit":"in"}),
    );
    assert_eq!(
        (&typed["typed"], &typed["verdict"]),
        (&json!(true), &json!("pass"))
    );
    assert!(
        typed["flags"]
            .as_array()
            .is_some_and(|flags| flags.contains(&json!("typed")))
    );
    let short = shop.daemon.done(
        "/api/stations/s0/reading",
        &json!({"text":".5120","unit":"in"}),
    );
    assert_eq!(
        short["raw"], ".5120",
        "inch shops leave out the zero: {short}"
    );
    for wrong in [
        "1,0760",
        ".",
        "",
        "1.0.7",
        "NaN",
        "1e3",
        "12345678901234567890",
    ] {
        let (status, refused) = shop.daemon.post(
            "/api/stations/s0/reading",
            &json!({"text":wrong,"unit":"in"}),
        );
        assert_eq!(status, 422, "{wrong:?}: {refused}");
        assert!(refused["fields"]["text"].is_string(), "{refused}");
    }
    assert_eq!(shop.station()["today"]["readings"], 2);
}

#[test]
fn the_state_survives_a_kill() {
    let mut shop = Shop::new("desk-state", 3);
    shop.tags(&json!({"method":"rubber strips","position":"head"}));
    shop.press("1.0760");
    shop.press("1.0761");
    let before = shop.station();
    shop.daemon.kill();
    shop.daemon = Daemon::start(&shop.folder.join("overwire.toml"));
    let after = shop.station();
    for part in ["tags", "progress", "today", "recent", "thread"] {
        assert_eq!(after[part], before[part], "{part}");
    }
    assert_eq!(piece(&shop.press("1.0762")), 1);
    assert_eq!(piece(&shop.press("1.0763")), 2);
}

#[test]
fn a_form_that_is_refused_says_why_and_changes_nothing() {
    let shop = Shop::new("desk-forms", 1);
    for (path, form, field) in [
        (
            "/api/jobs",
            json!({"job":"X","features":[{"name":"a","thread":"1/2-13 UNC-9Z"}]}),
            "features.0.thread",
        ),
        (
            "/api/jobs",
            json!({"job":"X","features":[{"name":"a","custom":{"unit":"mm","pitch":"1,5","pitch_diameter_min":"9","pitch_diameter_max":"9.1"}}]}),
            "features.0.custom.pitch",
        ),
        ("/api/jobs", json!({"job":"","features":[]}), "job"),
        (
            "/api/wire-sets",
            json!({"wire_set":"W","unit":"mm","diameters":["0.8","0.9"]}),
            "diameters",
        ),
        (
            "/api/wire-sets",
            json!({"wire_set":"W","unit":"mm","diameters":["0.8"],"due":"31.1.2027"}),
            "due",
        ),
        ("/api/instruments", json!({"instrument":" "}), "instrument"),
    ] {
        let (status, refused) = shop.daemon.post(path, &form);
        assert_eq!(status, 422, "{form}: {refused}");
        assert!(refused["fields"][field].is_string(), "{form}: {refused}");
    }
    assert_eq!(
        shop.daemon.get("/api/state")["jobs"]
            .as_array()
            .map(Vec::len),
        Some(2)
    );
    let (status, refused) = shop.daemon.post("/api/jobs", &json!({"jbo":"X"}));
    assert_eq!(status, 400, "{refused}");
}

/// A page that was away gets what it missed, in order and once; one that stalls does not hold up the rest.
#[test]
fn a_page_that_was_away_catches_up() {
    let mut shop = Shop::new("desk-catch-up", 1);
    let first = shop.press("1.0760")["entry"].as_i64().expect("an entry");
    shop.press("1.0761");
    shop.press("1.0762");
    let mut heard = Vec::new();
    client::listen(shop.daemon.address, Some(first), |event, data| {
        let reading: Value = serde_json::from_str(data).expect("JSON");
        if event == "reading" {
            heard.push(reading["text"].as_str().unwrap_or_default().to_owned());
        }
        heard.len() < 2
    })
    .expect("the stream");
    assert_eq!(heard, ["1.0761", "1.0762"]);
}
