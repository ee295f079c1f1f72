//! Studies: plans that the data button walks through.

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

struct Shop {
    folder: Folder,
    daemon: Daemon,
}

impl Shop {
    /// A job on 1/2-13 UNC-2A over the shop's wires.
    fn new(name: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        daemon.done(
            "/api/wire-sets",
            &json!({"wire_set":"WS","unit":"in","diameters":["0.04441"],"by":"AK"}),
        );
        daemon.done(
            "/api/jobs",
            &json!({"job":"J","features":[{"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS"}],"by":"AK"}),
        );
        Shop { folder, daemon }
    }

    fn plan(&self, more: &Value) -> (u16, Value) {
        let mut form = json!({"study":"holders","kind":"method_comparison","job":"J","feature":"end",
            "methods":["by hand","rubber strips"],"rounds":3,"seed":7,"by":"AK"});
        if let (Some(form), Some(more)) = (form.as_object_mut(), more.as_object()) {
            form.extend(more.clone());
        }
        self.daemon.post("/api/studies", &form)
    }

    fn tags(&self, tags: &Value) -> (u16, Value) {
        self.daemon.post("/api/stations/s0/tags", tags)
    }

    fn begin(&self) {
        let (status, answer) = self.plan(&json!({}));
        assert_eq!(status, 200, "{answer}");
        assert_eq!(
            self.tags(&json!({"study":"holders","operator":"AK"})).0,
            200
        );
    }

    fn measure(&self, text: &str) -> Value {
        self.daemon
            .done("/api/stations/s0/reading", &json!({"text":text}))
    }

    fn study(&self) -> Value {
        self.daemon.station("s0")["study"].clone()
    }

    fn restart(&mut self) {
        self.daemon.kill();
        self.daemon = Daemon::start(&self.folder.join("overwire.toml"));
    }
}

#[test]
fn each_press_fills_the_next_cell_with_its_method() {
    let shop = Shop::new("study-fill");
    shop.begin();
    let mut methods = Vec::new();
    for number in 1..=6 {
        let next = shop.study()["next"].clone();
        assert_eq!(next["number"], number);
        let words = next["words"].as_str().expect("words").to_owned();
        let reading = shop.measure(&format!("0.5125{number}"));
        let method = reading["method"].as_str().expect("a method").to_owned();
        assert!(words.contains(&method), "{words}: {reading}");
        assert_eq!(
            (&reading["purpose"], &reading["counted"]),
            (&json!("study"), &json!(true))
        );
        methods.push(method);
    }
    for block in methods.chunks(2) {
        assert_ne!(
            block[0], block[1],
            "a round goes through both methods: {methods:?}"
        );
    }
    let study = shop.study();
    assert_eq!(
        (&study["filled"], &study["next"]),
        (&json!(6), &Value::Null)
    );
    let further = shop.measure("0.51259");
    assert_eq!(further["counted"], false);
    assert!(
        further["flags"].to_string().contains("study_done"),
        "{further}"
    );
}

#[test]
fn a_void_opens_the_cell_again_and_a_kill_forgets_nothing() {
    let mut shop = Shop::new("study-redo");
    shop.begin();
    let first = shop.measure("0.51250");
    shop.measure("0.51260");
    let words = |shop: &Shop| {
        shop.study()["next"]["words"]
            .as_str()
            .expect("words")
            .to_owned()
    };
    let third = words(&shop);
    shop.daemon.done(
        &format!("/api/readings/{}/void", first["entry"]),
        &json!({"reason":"wire slipped","by":"AK"}),
    );
    let study = shop.study();
    assert_eq!(study["next"]["again"], "wire slipped", "{study}");
    assert!(words(&shop).contains(first["method"].as_str().expect("a method")));
    shop.restart();
    assert_eq!(shop.study(), study, "as before the kill");
    let again = shop.measure("0.51251");
    assert_eq!(again["method"], first["method"]);
    assert_eq!(words(&shop), third, "then on where it was left");
    let (status, refused) = shop.daemon.post(
        &format!("/api/readings/{}/restore", first["entry"]),
        &json!({"by":"AK"}),
    );
    assert_eq!(
        (status, &refused["code"]),
        (409, &json!("of-a-study")),
        "{refused}"
    );
    let (status, refused) = shop.daemon.post(
        &format!("/api/readings/{}/retag", again["entry"]),
        &json!({"method":"by hand","reason":"mixed up","by":"AK"}),
    );
    assert_eq!(
        (status, &refused["code"]),
        (409, &json!("of-a-study")),
        "{refused}"
    );
}

#[test]
fn a_study_is_paused_for_other_work_and_its_readings_stay_out_of_it() {
    let shop = Shop::new("study-pause");
    shop.begin();
    shop.measure("0.51250");
    assert_eq!(shop.tags(&json!({"purpose":"inspecting"})).0, 200);
    assert_eq!(shop.study(), Value::Null);
    let piece = shop.measure("0.51300");
    assert_eq!(
        (&piece["purpose"], &piece["piece"]),
        (&json!("inspecting"), &json!(1))
    );
    assert_eq!(shop.tags(&json!({"study":"holders"})).0, 200);
    assert_eq!(shop.study()["filled"], 1);
    let (status, refused) = shop.tags(&json!({"study":null,"purpose":"study"}));
    assert_eq!(status, 422);
    assert!(refused["fields"]["purpose"].is_string(), "{refused}");
    let zero = shop.measure("0.00000");
    assert_eq!(zero["counted"], false, "closed jaws fill no cell");
    assert_eq!(shop.study()["filled"], 1);
}

#[test]
fn a_plan_that_cannot_be_carried_out_is_refused_field_by_field() {
    let shop = Shop::new("study-plan");
    for (more, field) in [
        (json!({"methods":["by hand"]}), "methods"),
        (json!({"methods":["by hand","by magic"]}), "methods"),
        (json!({"methods":["by hand","by hand"]}), "methods"),
        (json!({"job":"J-9"}), "job"),
        (json!({"feature":"other"}), "feature"),
        (json!({"rounds":0}), "rounds"),
        (json!({"rounds":"many"}), "rounds"),
        (json!({"rounds":null}), "rounds"),
        (json!({"rounds":1.5}), "rounds"),
        (json!({"margin_percent":"a lot"}), "margin_percent"),
        (
            json!({"kind":"gauge_rr","methods":["by hand"],"pieces":["1"]}),
            "pieces",
        ),
        (
            json!({"kind":"nested","methods":["by hand"],"operators":["A","B"],"pieces":["1","2","3"]}),
            "pieces",
        ),
        (json!({"order":"sideways"}), "order"),
    ] {
        let (status, refused) = shop.plan(&more);
        assert_eq!(status, 422, "{more}: {refused}");
        assert!(refused["fields"][field].is_string(), "{more}: {refused}");
    }
    shop.begin();
    shop.measure("0.51250");
    let (status, refused) = shop.plan(&json!({"rounds":5}));
    assert_eq!(status, 422);
    assert!(
        refused["fields"]["study"]
            .as_str()
            .is_some_and(|told| told.contains("begun")),
        "{refused}"
    );
    let (status, answer) = shop.plan(
        &json!({"study":"gauge","kind":"gauge_rr","methods":["by hand"],
        "pieces":["A","B","C"],"operators":["AK","BR"],"rounds":2,"seed":0}),
    );
    assert_eq!(status, 200, "{answer}");
    assert_eq!(shop.tags(&json!({"study":"gauge"})).0, 200);
    let next = shop.study()["next"]["words"]
        .as_str()
        .expect("words")
        .to_owned();
    assert!(next.contains("measures"), "whose turn it is: {next}");
}
