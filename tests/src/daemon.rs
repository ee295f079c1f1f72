//! The real daemon as a process.

use std::fmt::Write as _;
use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::Value;

use crate::client;

/// How long a daemon may take to start or to end.
const PATIENCE: Duration = Duration::from_secs(20);

/// A program of this workspace, built if it is not there yet.
pub fn program(package: &str, name: &str) -> PathBuf {
    let mut folder = std::env::current_exe().expect("this test's own path");
    folder.pop();
    if folder.ends_with("deps") {
        folder.pop();
    }
    let path = folder.join(name);
    // Cargo builds the programs of the package under test only; asking again costs little when fresh.
    let mut build = Command::new(std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned()));
    build.args(["build", "--quiet", "--package", package, "--bin", name]);
    if folder.ends_with("release") {
        build.arg("--release");
    }
    if let Some(target) = folder.parent() {
        build.arg("--target-dir").arg(target);
    }
    let built = build.status().expect("cargo to build the program with");
    assert!(built.success(), "{package} could not be built");
    path
}

/// Settings for stations in a folder, each on `ttyN` with the bare decimal profile.
pub fn settings(folder: &crate::Folder, stations: usize, more: &str) -> PathBuf {
    let rules = match more.contains("[rules]") {
        true => "",
        false => "[rules]\nzero_check_hours = 0\n",
    };
    let mut text = format!(
        "version = 1\n{more}\n{rules}[shop]\nname = \"Tarn Mill Machine Shop\"\nmethods = [\"by hand\", \"rubber strips\"]\n[record]\nfile = \"record.db\"\n[page]\nlisten = \"127.0.0.1:0\"\n"
    );
    for index in 0..stations {
        let port = folder.join(&format!("tty{index}"));
        let _ = write!(
            text,
            "[[station]]\nname = \"s{index}\"\nport = \"{}\"\nprofile = \"decimal-line\"\ninstrument = \"MIC-{index}\"\nunit = \"in\"\n",
            port.display()
        );
    }
    let path = folder.join("overwire.toml");
    std::fs::write(&path, text).expect("settings written");
    path
}

/// Kernel's number of the user `nobody` on Debian.
const NOBODY: &str = "65534";

/// Sets who may do what with a file or folder.
pub fn allow(path: &Path, mode: u32) {
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).expect("chmod");
}

/// The daemon as a program that runs without root's rights: root may open and write everything.
pub fn without_rights(folder: &crate::Folder) -> PathBuf {
    let built = program("overwire", "overwire");
    if !rustix::process::geteuid().is_root() {
        return built;
    }
    // A copy, since the folder of builds may be closed to others; made by a process of its own, since a program that
    // another thread's child still holds open for writing cannot be started.
    let copy = folder.join("overwire");
    crate::command::output_of(Command::new("cp").arg(built).arg(&copy));
    allow(&copy, 0o755);
    allow(&folder.join(""), 0o777);
    let run = format!("setpriv --reuid {NOBODY} --regid {NOBODY} --clear-groups");
    script(
        folder,
        "as_nobody",
        &format!("exec {run} \"{}\" \"$@\"", copy.display()),
    )
}

/// A program in a folder that is a shell script.
pub fn script(folder: &crate::Folder, name: &str, text: &str) -> PathBuf {
    let script = folder.join(name);
    std::fs::write(&script, format!("#!/bin/sh\n{text}\n")).expect("a script");
    allow(&script, 0o755);
    script
}

/// A running daemon; killed when dropped.
#[derive(Debug)]
pub struct Daemon {
    child: Child,
    /// Where its page is.
    pub address: SocketAddr,
}

impl Daemon {
    /// Starts `overwire run` and waits until its page is served.
    pub fn start(settings: &Path) -> Daemon {
        Daemon::start_program(&program("overwire", "overwire"), settings)
    }

    /// Starts another program that takes the same command line.
    pub fn start_program(program: &Path, settings: &Path) -> Daemon {
        let mut child = Command::new(program)
            .args(["run", "--settings"])
            .arg(settings)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the daemon starts");
        let stdout = child.stdout.take().expect("the daemon's output");
        let (told, first) = std::sync::mpsc::channel();
        std::thread::spawn(move || {
            let mut line = String::new();
            let read = BufReader::new(stdout).read_line(&mut line);
            // Nobody waits any more once the patience has ended.
            let _ = told.send(read.map(|_| line));
        });
        let line = match first.recv_timeout(PATIENCE) {
            Ok(line) => line.expect("the daemon's first line"),
            Err(_) => {
                let _ = child.kill();
                let _ = child.wait();
                panic!("the daemon said nothing for {PATIENCE:?}");
            }
        };
        let address = line
            .trim()
            .strip_prefix("page http://")
            .and_then(|rest| rest.strip_suffix('/'))
            .and_then(|address| address.parse().ok());
        let Some(address) = address else {
            let _ = child.kill();
            panic!("the daemon said {line:?} instead of its page's address");
        };
        Daemon { child, address }
    }

    /// Its process id.
    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// kill -9.
    pub fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// SIGTERM, then waits for its end; gives whether it ended well.
    pub fn end(mut self) -> bool {
        if let Some(pid) = rustix::process::Pid::from_raw(self.child.id() as i32) {
            let _ = rustix::process::kill_process(pid, rustix::process::Signal::TERM);
        }
        let deadline = std::time::Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().expect("its end") {
                return status.success();
            }
            let waits = std::time::Instant::now() < deadline;
            assert!(waits, "the daemon did not end within {PATIENCE:?}");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// GET as JSON.
    pub fn get(&self, path: &str) -> Value {
        client::get(self.address, path)
    }

    /// GET as JSON; gives the status and the answer.
    pub fn ask(&self, path: &str) -> (u16, Value) {
        let (status, _, body) = client::fetch(self.address, path);
        (status, serde_json::from_slice(&body).unwrap_or_default())
    }

    /// GET as text.
    pub fn text(&self, path: &str) -> String {
        let (status, _, body) = client::fetch(self.address, path);
        let text = String::from_utf8(body).expect("UTF-8");
        assert_eq!(status, 200, "{path}: {text}");
        text
    }

    /// POST as JSON; gives the status and the answer.
    pub fn post(&self, path: &str, body: &Value) -> (u16, Value) {
        client::post(self.address, path, body)
    }

    /// POST that must be done.
    pub fn done(&self, path: &str, body: &Value) -> Value {
        let (status, answer) = self.post(path, body);
        assert_eq!(status, 200, "{path} {body}: {answer}");
        answer
    }

    /// A station as the page sees it.
    pub fn station(&self, name: &str) -> Value {
        let state = self.get("/api/state");
        let stations = state["stations"].as_array().expect("stations").clone();
        stations
            .into_iter()
            .find(|station| station["name"] == name)
            .expect("the station")
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        self.kill();
    }
}
