//! A shop with a calendar of its own, for what goes on for weeks.

use std::process::Command;

use serde_json::{Value, json};

use crate::daemon::{program, settings};
use crate::{Daemon, Folder, Line, until};

/// A daemon in a calendar of its own, a micrometer in millimetres on a real port, and no job.
#[derive(Debug)]
pub struct Shop {
    /// Its folder.
    pub folder: Folder,
    /// The line of its micrometer.
    pub line: Line,
    /// Its daemon.
    pub daemon: Daemon,
}

impl Shop {
    /// Starts it.
    pub fn new(name: &str) -> Shop {
        let folder = Folder::new(name);
        let line = Line::plugged_in(&folder.join("tty0"));
        let file = settings(&folder, 1, "");
        let text = std::fs::read_to_string(&file).expect("the settings");
        std::fs::write(&file, text.replace("unit = \"in\"", "unit = \"mm\"")).expect("written");
        let daemon = Shop::started(&folder);
        Shop {
            folder,
            line,
            daemon,
        }
    }

    fn started(folder: &Folder) -> Daemon {
        let dated = program("overwire-tests", "dated_daemon");
        Daemon::start_program(&dated, &folder.join("overwire.toml"))
    }

    /// Kills the daemon and starts it again.
    pub fn restart(&mut self) {
        self.daemon.kill();
        self.daemon = Shop::started(&self.folder);
        until("the port is open again", || {
            self.daemon.station("s0")["link"]["state"] == "listening"
        });
    }

    /// Sets its calendar, days ahead.
    pub fn on_day(&self, day: i64) {
        std::fs::write(self.folder.join("days"), day.to_string()).expect("the calendar");
    }

    /// Plans a study; gives the status and the answer.
    pub fn plan(&self, form: &Value) -> (u16, Value) {
        self.daemon.post("/api/studies", form)
    }

    /// Plans a study and goes to it.
    pub fn begin(&self, form: &Value) {
        let (status, answer) = self.plan(form);
        assert_eq!(status, 200, "{answer}");
        let tags = json!({"study": form["study"], "operator": "AK"});
        self.daemon.done("/api/stations/s0/tags", &tags);
    }

    /// The study as the page sees it.
    pub fn study(&self) -> Value {
        self.daemon.station("s0")["study"].clone()
    }

    /// Presses the data button; gives the reading once it is kept.
    pub fn press(&self, text: &str) -> Value {
        let before = self.daemon.station("s0")["last"]["entry"].clone();
        self.line.send(format!("{text}\r\n").as_bytes());
        until("the reading is kept", || {
            self.daemon.station("s0")["last"]["entry"] != before
        });
        self.daemon.station("s0")["last"].clone()
    }

    /// What a study found.
    pub fn result(&self, study: &str) -> Value {
        self.daemon.get(&format!("/api/studies/{study}"))
    }

    /// What the command line says of the same numbers.
    pub fn at_the_command_line(&self, arguments: &[&str], csv: &str) -> Value {
        let file = self.folder.join("numbers.csv");
        std::fs::write(&file, csv).expect("written");
        let output = Command::new(program("overwire", "overwire"))
            .arg("study")
            .args(arguments)
            .args([file.to_str().expect("a plain path"), "--json"])
            .output()
            .expect("overwire runs");
        let complaint = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{complaint}");
        serde_json::from_slice(&output.stdout).expect("JSON")
    }
}
