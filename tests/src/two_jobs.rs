//! A shop with a job in inches and one in millimetres, for what comes out of the record.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;

use serde_json::{Value, json};

use crate::daemon::{program, settings};
use crate::{Daemon, Folder, client};

/// The shop.
#[derive(Debug)]
pub struct Shop {
    /// Where its record is.
    pub folder: Folder,
    /// Its daemon.
    pub daemon: Daemon,
}

impl Shop {
    /// A job in inches and one in millimetres, an instrument that is overdue, and two readings a piece.
    pub fn new(name: &str) -> Shop {
        let folder = Folder::new(name);
        let daemon = Daemon::start(&settings(&folder, 1, ""));
        for (set, unit, diameter) in [("WS-12A", "in", "0.04811"), ("WS-M150", "mm", "0.866")] {
            let form = json!({"wire_set":set,"unit":unit,"diameters":[diameter],"certificate":"C-7","due":"2099-01-31","by":"AK"});
            daemon.done("/api/wire-sets", &form);
        }
        let form = json!({"instrument":"MIC-0","serial":"00071","range_min":"1","range_max":"2","unit":"in",
        "resolution":"0.0001","certificate":"C-9","due":"2020-01-31","by":"AK"});
        daemon.done("/api/instruments", &form);
        for (job, name, thread, set) in [
            ("J-1", "end", "1 1/16-12 UN-2A", "WS-12A"),
            ("J-2", "nose", "M40x1.5-4h", "WS-M150"),
        ] {
            let feature = json!({"name":name,"thread":thread,"wire_set":set});
            let form = json!({"job":job,"drawing":"0042-07","drawing_revision":"B","order":"1E5","lot":"00071",
            "readings_a_piece":2,"features":[feature],"by":"AK"});
            daemon.done("/api/jobs", &form);
        }
        let tags = json!({"job":"J-1","purpose":"inspecting","operator":"AK"});
        daemon.done("/api/stations/s0/tags", &tags);
        Shop { folder, daemon }
    }

    /// Types a reading in.
    pub fn measure(&self, text: &str, unit: &str) -> Value {
        let form = json!({"text":text,"unit":unit});
        self.daemon.done("/api/stations/s0/reading", &form)
    }

    /// Says something of a reading; gives it as it stands then.
    pub fn say(&self, reading: &Value, what: &str, form: &Value) -> Value {
        let path = format!("/api/readings/{}/{what}", reading["entry"]);
        self.daemon.done(&path, form)
    }

    /// Keeps what an address gives.
    pub fn fetched(&self, path: &str, name: &str) -> PathBuf {
        let (status, _, body) = client::fetch(self.daemon.address, path);
        assert_eq!(status, 200, "{path}");
        let file = self.folder.join(name);
        std::fs::write(&file, body).expect("written");
        file
    }

    /// Runs `overwire export`; gives its code and its complaint.
    pub fn export(&self, arguments: &[&str]) -> (Option<i32>, String) {
        let output = Command::new(program("overwire", "overwire"))
            .arg("export")
            .args(arguments)
            .arg("--settings")
            .arg(self.folder.join("overwire.toml"))
            .output()
            .expect("overwire runs");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        (output.status.code(), told)
    }

    /// Readings of both jobs, a void, a re-tag, a remark, and a piece that was begun again; each as the page got it
    /// at last, by its entry.
    pub fn measured(&self) -> BTreeMap<String, Value> {
        let mut seen = Vec::new();
        for text in ["1.0760", "1.0761", "1.0762", "1.0763", "1.0732", "1.0777"] {
            seen.push(self.measure(text, "in"));
        }
        let back = self
            .daemon
            .done("/api/stations/s0/piece", &json!({"go":"back"}));
        assert_eq!(back["tags"]["attempt"], 2, "begun again: {back}");
        for text in ["1.0759", "1.0758", "1.0757"] {
            seen.push(self.measure(text, "in"));
        }
        self.daemon
            .done("/api/stations/s0/tags", &json!({"job":"J-2"}));
        for text in ["40.250", "40.2505", "40.244"] {
            seen.push(self.measure(text, "mm"));
        }
        let by = "AK";
        seen[1] = self.say(&seen[1], "void", &json!({"reason":"wire slipped","by":by}));
        let form =
            json!({"job":"J-2","feature":"nose","piece":7,"reason":"the wrong drawing","by":"BR"});
        seen[3] = self.say(&seen[3], "retag", &form);
        seen[4] = self.say(
            &seen[4],
            "comment",
            &json!({"text":"burr taken off","by":by}),
        );
        let by_entry = |reading: Value| (reading["entry"].to_string(), reading);
        seen.into_iter().map(by_entry).collect()
    }
}
