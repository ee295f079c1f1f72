//! Readings with texts that are awkward to carry wherever a person may write.

use serde_json::{Value, json};

use crate::Daemon;

/// Free texts that a spreadsheet would run, or that are awkward to carry.
pub fn hostile() -> Vec<String> {
    let mut texts: Vec<String> = [
        "=1+1",
        "+2+3",
        "-4-5",
        "@SUM(A1:A9)",
        "=HYPERLINK(\"http://shop.invalid\",\"see here\")",
        "'=1+1",
        "\"quoted\", with commas",
        "semi;colon, tab and | bar",
        "مقاس ‏M12 قلاووظ",
        "🔩 Ø12 ½″",
        "0042-07",
    ]
    .map(str::to_owned)
    .to_vec();
    texts.push("x".repeat(200));
    texts
}

/// One reading for each text, with the text wherever a person may write; piece 9, void with a reason of two lines.
pub fn readings(daemon: &Daemon) {
    for text in hostile() {
        let short: String = text.chars().take(80).collect();
        let set = json!({"wire_set":text,"unit":"in","diameters":["0.04811"],"by":text});
        daemon.done("/api/wire-sets", &set);
        let feature = json!({"name":text,"thread":"1 1/16-12 UN-2A","wire_set":text});
        let job = json!({"job":text,"drawing":text,"features":[feature],"by":text});
        daemon.done("/api/jobs", &job);
        let tags = json!({"job":text,"operator":short,"position":short,"purpose":"inspecting"});
        daemon.done("/api/stations/s0/tags", &tags);
        let reading = daemon.done("/api/stations/s0/reading", &json!({"text":"1.0777"}));
        let say = |what: &str, form: Value| {
            daemon.done(&format!("/api/readings/{}/{what}", reading["entry"]), &form);
        };
        say("comment", json!({"text":text,"by":text}));
        say("retag", json!({"piece":9,"reason":text,"by":text}));
        let two_lines = format!("{text}\nand a second line");
        say("void", json!({"reason":two_lines,"by":text}));
    }
}
