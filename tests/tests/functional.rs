//! Functional checks, on the running daemon: recorded beside the readings of a piece, superseded and never
//! overwritten, withdrawn with a reason, there again after a kill.

use std::process::Command;

use overwire_tests::daemon::{program, settings};
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

struct Shop {
    folder: Folder,
    daemon: Daemon,
}

impl Shop {
    /// The stud job is active, inspecting, one reading a piece.
    fn new(name: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        daemon.done(
            "/api/wire-sets",
            &json!({"wire_set":"WS","unit":"in","diameters":["0.04811"],"by":"AK"}),
        );
        daemon.done(
            "/api/jobs",
            &json!({"job":"J-2417","features":[{"name":"stud end","thread":"1 1/16-12 UN-2A","wire_set":"WS"},
                    {"name":"stud","thread":"1 1/16-12 UN-2A","wire_set":"WS"}],"by":"AK"}),
        );
        let shop = Shop { folder, daemon };
        shop.daemon.done(
            "/api/stations/s0/tags",
            &json!({"job":"J-2417","purpose":"inspecting","operator":"AK"}),
        );
        shop
    }

    fn measure(&self, text: &str) -> Value {
        self.daemon
            .done("/api/stations/s0/reading", &json!({"text":text}))
    }

    fn tell(&self, more: &Value) -> (u16, Value) {
        let mut form =
            json!({"job":"J-2417","feature":"stud end","piece":1,"station":"s0","by":"AK"});
        if let (Some(form), Some(more)) = (form.as_object_mut(), more.as_object()) {
            form.extend(more.clone());
        }
        self.daemon.post("/api/functional-checks", &form)
    }

    fn told(&self, more: &Value) -> Value {
        let (status, answer) = self.tell(more);
        assert_eq!(status, 200, "{answer}");
        answer
    }

    /// The check of a piece of the stud end, as the station's state tells it.
    fn shown(&self, piece: i64) -> Value {
        let station = self.daemon.station("s0");
        let checks = station["functional_checks"].as_array().expect("checks");
        let of = |check: &&Value| check["piece"] == piece && check["feature"] == "stud end";
        checks.iter().find(of).cloned().unwrap_or(Value::Null)
    }

    fn overwire(&self, arguments: &[&str]) -> (bool, String) {
        let output = Command::new(program("overwire", "overwire"))
            .args(arguments)
            .arg("--settings")
            .arg(self.folder.join("overwire.toml"))
            .output()
            .expect("overwire runs");
        let text = String::from_utf8(output.stdout).expect("UTF-8");
        (output.status.success(), text)
    }
}

#[test]
fn a_check_stands_beside_its_piece_and_a_later_one_supersedes_it() {
    let mut shop = Shop::new("functional-stands");
    let reading = shop.measure("1.0732");
    assert_eq!(reading["verdict"], "pass", "{reading}");
    assert_eq!(shop.shown(1)["state"], "none");
    assert_eq!(shop.shown(1)["sentence"], "none recorded");
    let told = shop.told(&json!({"result":"does_not_go","gauge":"RING-12"}));
    let sentence = told["sentence"].as_str().expect("a sentence");
    assert!(
        sentence.starts_with("done with RING-12 by AK on 20")
            && sentence.ends_with(", does not go"),
        "{sentence}"
    );
    assert_eq!(shop.shown(1), told);
    let caution = shop.daemon.station("s0")["functional_caution"].clone();
    let caution = caution
        .as_str()
        .expect("the wires pass and the ring does not");
    assert!(caution.contains("Wires do not see them"), "{caution}");

    let second = shop.told(&json!({"result":"goes","gauge":"RING-12","words":"after deburring"}));
    let sentence = second["sentence"].as_str().expect("a sentence");
    assert!(sentence.ends_with(", goes (after deburring)"), "{sentence}");
    let station = shop.daemon.station("s0");
    assert_eq!(station["functional_caution"], Value::Null);
    assert_eq!(station["check_gauges"], json!(["RING-12"]));

    shop.daemon.kill();
    shop.daemon = Daemon::start(&shop.folder.join("overwire.toml"));
    assert_eq!(shop.shown(1), second, "there again after a kill");
    let all = shop.daemon.get("/api/functional-checks?job=J-2417");
    assert_eq!(all["standing"], json!([second]));
    assert_eq!(all["superseded"], json!([told]), "nothing is overwritten");
    let (found, listed) = shop.overwire(&["functional", "--job", "J-2417"]);
    assert!(found && listed.lines().count() == 1, "{listed}");
    assert!(
        listed.contains("piece 1, attempt 1: done with RING-12"),
        "{listed}"
    );
    let (_, listed) = shop.overwire(&["functional", "--job", "J-2417", "--all"]);
    assert!(listed.contains("(a later one stands)"), "{listed}");
    assert!(shop.overwire(&["verify"]).0, "the chain holds");
}

#[test]
fn a_check_is_withdrawn_with_a_reason_and_then_none_stands() {
    let shop = Shop::new("functional-withdrawn");
    shop.measure("1.0732");
    let (status, refused) = shop.tell(&json!({"result":"withdrawn","reason":"wrong piece"}));
    assert_eq!(
        (status, &refused["code"]),
        (409, &json!("nothing-to-withdraw"))
    );
    shop.told(&json!({"result":"goes","gauge":"RING-12"}));
    let (status, refused) = shop.tell(&json!({"result":"withdrawn"}));
    assert_eq!(status, 422, "{refused}");
    assert!(refused["fields"]["reason"].is_string(), "{refused}");
    let told = shop.told(&json!({"result":"withdrawn","reason":"wrong piece"}));
    let sentence = told["sentence"].as_str().expect("a sentence");
    assert!(
        sentence.contains("withdrawn by AK on") && sentence.contains("wrong piece; none stands")
    );
    assert_eq!(
        shop.tell(&json!({"result":"withdrawn","reason":"again"})).0,
        409
    );
    let told = shop.told(&json!({"result":"not_done","words":"no ring of this size"}));
    assert_eq!(told["state"], "not_done");
    assert_eq!(shop.shown(1), told);
}

#[test]
fn a_check_belongs_to_one_attempt_at_one_piece_of_one_feature() {
    let shop = Shop::new("functional-attempts");
    shop.measure("1.0732");
    shop.told(&json!({"result":"goes","gauge":"RING-12"}));
    shop.daemon
        .done("/api/stations/s0/tags", &json!({"piece":1}));
    assert_eq!(shop.daemon.station("s0")["tags"]["attempt"], 2);
    shop.measure("1.0732");
    let states = |shop: &Shop| -> Vec<(i64, String)> {
        let all = shop.daemon.station("s0");
        let checks = all["functional_checks"].as_array().expect("checks").clone();
        let of = checks.iter().filter(|check| check["piece"] == 1);
        of.map(|check| {
            let state = check["state"].as_str().unwrap_or_default();
            (
                check["attempt"].as_i64().unwrap_or_default(),
                state.to_owned(),
            )
        })
        .collect()
    };
    let goes = |attempt| (attempt, "goes".to_owned());
    assert_eq!(states(&shop), [goes(1), (2, "none".to_owned())]);
    shop.told(&json!({"result":"goes","gauge":"RING-12"}));
    assert_eq!(
        states(&shop),
        [goes(1), goes(2)],
        "the last attempt is meant"
    );
    let of_stud = shop.told(&json!({"feature":"stud","result":"goes","gauge":"NUT"}));
    assert_eq!(of_stud["feature"], "stud");
    let gauges = shop.daemon.station("s0")["check_gauges"].clone();
    assert_eq!(
        gauges,
        json!(["RING-12"]),
        "another feature's gauge is not offered"
    );
}

#[test]
fn what_is_refused_says_what_to_mend_and_keeps_nothing() {
    let shop = Shop::new("functional-refused");
    shop.measure("1.0732");
    for (form, status, field) in [
        (json!({"result":"maybe"}), 422, "result"),
        (json!({"result":"goes"}), 422, "gauge"),
        (json!({"result":"not_done","gauge":"RING-12"}), 422, "gauge"),
        (json!({"result":"goes","gauge":"a\u{7}b"}), 422, "gauge"),
        (json!({"result":"goes","gauge":"R","piece":0}), 422, "piece"),
        (
            json!({"result":"goes","gauge":"R","attempt":7}),
            422,
            "attempt",
        ),
        (
            json!({"result":"goes","gauge":"R","feature":""}),
            422,
            "feature",
        ),
        (
            json!({"result":"goes","gauge":"R","words":"x".repeat(501)}),
            422,
            "words",
        ),
        (json!({"result":"goes","gauge":"R","job":"J-1"}), 404, ""),
        (
            json!({"result":"goes","gauge":"R","feature":"nose"}),
            404,
            "",
        ),
        (json!({"result":"goes","gauge":"R","station":"s9"}), 404, ""),
        (json!({"result":"goes","gauge":"R","more":1}), 400, ""),
    ] {
        let (found, answer) = shop.tell(&form);
        assert_eq!(found, status, "{form}: {answer}");
        assert!(
            field.is_empty() || answer["fields"][field].is_string(),
            "{form}: {answer}"
        );
    }
    assert_eq!(shop.shown(1)["state"], "none");
    let hostile = "<script>alert('\"&')</script> \u{1F527} \u{5d0}\u{5d1}";
    let told = shop.told(&json!({"result":"goes","gauge":hostile,"words":hostile}));
    assert_eq!(told["gauge"], hostile);
}
