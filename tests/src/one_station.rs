//! A shop with one station, a registered micrometer and a wire set for 1/2-13.

use std::collections::HashMap;
use std::process::Command;

use serde_json::{Value, json};

use crate::command::output_of;
use crate::daemon::{program, settings};
use crate::{Daemon, Folder};

/// The shop.
#[derive(Debug)]
pub struct Shop {
    /// Its folder.
    pub folder: Folder,
    /// Its daemon.
    pub daemon: Daemon,
}

/// Settings of a shop that knows how well it measures; a zero check is asked for.
pub const KNOWING: &str = "[rules]\nzero_check_hours = 12\n[uncertainty]\npitch_mm = 0.002\nflank_angle_deg = 0.25\nrepeatability_mm = 0.0015\n";

/// Settings of a shop that makes a budget and asks for no zero check.
pub const BUDGET: &str = "[rules]\nzero_check_hours = 0\n[uncertainty]\n";

impl Shop {
    /// With further settings, and those of its lathe.
    pub fn new(name: &str, more: &str, lathe: &str) -> Shop {
        let folder = Folder::new(name);
        let path = settings(&folder, 1, more);
        let text = std::fs::read_to_string(&path).expect("settings") + lathe;
        std::fs::write(&path, text).expect("settings written");
        let daemon = Daemon::start(&path);
        let shop = Shop { folder, daemon };
        shop.daemon.done(
            "/api/instruments",
            &json!({"instrument":"MIC-0","serial":"77","unit":"in","resolution":"0.00005",
                    "max_error":"0.0001","force_n":"8","zero_tolerance":"0.0001","by":"AK"}),
        );
        shop.daemon.done(
            "/api/wire-sets",
            &json!({"wire_set":"WS","unit":"in","diameters":["0.04441"],"convention":"under_load",
                    "uncertainty":"0.00002","by":"AK"}),
        );
        shop
    }

    /// Saves the job `J`, with further fields of its form.
    pub fn job(&self, more: &Value) -> (u16, Value) {
        let mut form = json!({"job":"J","features":[
            {"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS"}],"by":"AK"});
        if let (Some(form), Some(more)) = (form.as_object_mut(), more.as_object()) {
            form.extend(more.clone());
        }
        self.daemon.post("/api/jobs", &form)
    }

    /// Changes the tags of its station.
    pub fn tags(&self, tags: &Value) -> (u16, Value) {
        self.daemon.post("/api/stations/s0/tags", tags)
    }

    /// Saves the job and begins it for a purpose.
    pub fn begin(&self, job: &Value, purpose: &str) {
        let (status, answer) = self.job(job);
        assert_eq!(status, 200, "{answer}");
        let tags = json!({"job":"J","purpose":purpose,"operator":"AK"});
        let (status, answer) = self.tags(&tags);
        assert_eq!(status, 200, "{answer}");
    }

    /// Types a reading in.
    pub fn measure(&self, text: &str) -> Value {
        self.daemon
            .done("/api/stations/s0/reading", &json!({"text":text}))
    }

    /// Its station, as the page sees it.
    pub fn station(&self) -> Value {
        self.daemon.station("s0")
    }

    /// Kills the daemon and starts it again.
    pub fn restart(&mut self) {
        self.daemon.kill();
        self.daemon = Daemon::start(&self.folder.join("overwire.toml"));
    }

    /// What a command of the program says of the shop's record.
    pub fn told(&self, arguments: &[&str]) -> String {
        let mut command = Command::new(program("overwire", "overwire"));
        command.args(arguments).arg("--settings");
        command.arg(self.folder.join("overwire.toml"));
        String::from_utf8(output_of(&mut command)).expect("UTF-8")
    }

    /// The exported readings as rows of named cells.
    pub fn rows(&self) -> Vec<HashMap<String, String>> {
        rows_of(&self.told(&["export"]))
    }

    /// The same of a row a piece.
    pub fn pieces(&self) -> Vec<HashMap<String, String>> {
        rows_of(&self.told(&["export", "--rows", "pieces"]))
    }
}

fn rows_of(csv: &str) -> Vec<HashMap<String, String>> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows = reader.deserialize();
    rows.map(|row| row.expect("a row")).collect()
}

/// A number from text.
pub fn number(value: &Value) -> f64 {
    value
        .as_str()
        .and_then(|text| text.parse().ok())
        .unwrap_or(f64::NAN)
}
