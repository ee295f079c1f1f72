//! What a person says of a reading is checked as the station's own tags are: bounded, plain characters, and
//! words of the shop's lists. (Newlines may stand in a reason; other control characters may not: they reach
//! terminals and spreadsheets through the log and the CSV.)

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder};
use serde_json::{Value, json};

fn reading(daemon: &Daemon) -> String {
    let reading = daemon.done("/api/stations/s0/reading", &json!({"text":"1.0760"}));
    format!("/api/readings/{}", reading["entry"])
}

#[test]
fn what_is_said_is_bounded_and_plain() {
    let folder = Folder::new("said");
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    let path = reading(&daemon);
    let long = "x".repeat(501);
    let before = daemon.get("/api/state")["record"]["entries"].clone();
    for (what, form) in [
        ("void", json!({"reason":"wire slipped","by":long})),
        ("void", json!({"reason":"wire slipped","by":"A\u{1b}[31mK"})),
        ("void", json!({"reason":"a\u{0}=1","by":"AK"})),
        ("comment", json!({"text":"\u{1b}[31mred","by":"AK"})),
        ("comment", json!({"text":long,"by":"AK"})),
        (
            "retag",
            json!({"method":"telepathy","reason":"x","by":"AK"}),
        ),
        ("retag", json!({"operator":"A\nK","reason":"x","by":"AK"})),
        (
            "retag",
            json!({"position":"p".repeat(81),"reason":"x","by":"AK"}),
        ),
    ] {
        let (status, refused) = daemon.post(&format!("{path}/{what}"), &form);
        assert_eq!(status, 422, "{what} {form}: {refused}");
        assert!(refused["fields"].is_object(), "{refused}");
    }
    let after = daemon.get("/api/state")["record"]["entries"].clone();
    assert_eq!(after, before, "what is refused is not kept");
    let form =
        json!({"method":"rubber strips","operator":"BR","position":"head","reason":"x","by":"AK"});
    let moved: Value = daemon.done(&format!("{path}/retag"), &form);
    assert_eq!(moved["method"], "rubber strips");
}
