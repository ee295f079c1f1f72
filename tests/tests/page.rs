//! The page in a real browser: `tests/browser/page.spec.mjs` against the demonstration, that is, the
//! real daemon with two simulated micrometers, after its first piece is cut and inspected.
//!
//! `OVERWIRE_SHOTS=folder` keeps the screenshots; the README's picture, `tests/browser/page.png`, is
//! `page-desktop-light.png` of them. `CHROMIUM` names the browser.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

/// Time in which the demonstration has played its first piece.
const PLAY_TIME: Duration = Duration::from_secs(60);

const SHOTS: [&str; 4] = [
    "page-desktop-light.png",
    "page-desktop-dark.png",
    "page-phone-light.png",
    "page-phone-dark.png",
];

/// The demonstration, ended in good order when the test does.
struct Demo {
    child: Child,
}

impl Demo {
    /// Starts it in a folder and waits until its first piece is through.
    fn play(folder: &Path, port: u16) -> Demo {
        let mut child = Command::new(demo_program())
            .arg("--dir")
            .arg(folder)
            .args(["--no-wait", "--page-port", &port.to_string()])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the demonstration starts");
        let output = child.stdout.take().expect("its output is piped");
        let demo = Demo { child };
        let (tell, told) = mpsc::channel();
        std::thread::spawn(move || {
            // Reads on to the end, so that the demonstration never waits for its output to be read.
            for line in BufReader::new(output).lines().map_while(Result::ok) {
                let _ = tell.send(line);
            }
        });
        let mut said = String::new();
        while let Ok(line) = told.recv_timeout(PLAY_TIME) {
            if line.starts_with("done ") {
                return demo;
            }
            said.push_str(&line);
            said.push('\n');
        }
        panic!("the demonstration's first piece did not go through; it said:\n{said}");
    }
}

impl Drop for Demo {
    fn drop(&mut self) {
        if let Some(mut words) = self.child.stdin.take() {
            let _ = words.write_all(b"quit\n");
        }
        let _ = self.child.wait();
    }
}

/// The folder of the programs that were built together with this test.
fn programs() -> PathBuf {
    let own = std::env::current_exe().expect("this test has a path");
    let folder = own.ancestors().nth(2).expect("…/PROFILE/deps/page-HASH");
    folder.to_owned()
}

/// The demonstration beside this test, built if it is not there.
fn demo_program() -> PathBuf {
    let folder = programs();
    let found = folder.join("demo");
    if !found.exists() || !folder.join("overwire").exists() {
        let mut build = Command::new(env!("CARGO"));
        build.args(["build", "-p", "overwire", "-p", "overwire-tools"]);
        if folder.ends_with("release") {
            build.arg("--release");
        }
        let target = folder.parent().expect("…/TARGET/PROFILE");
        build.arg("--target-dir").arg(target);
        build.current_dir(env!("CARGO_MANIFEST_DIR"));
        let built = build.status().expect("cargo runs");
        assert!(built.success(), "{build:?} failed");
    }
    found
}

/// The folder of the browser tests, with what they need from npm.
fn browser_tests() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("browser");
    if !folder.join("node_modules/playwright-core").exists() {
        let installed = Command::new("npm")
            .args(["ci", "--silent", "--no-audit", "--no-fund"])
            .current_dir(&folder)
            .status()
            .expect("npm is needed: Debian's package npm; tools/test.sh installs it");
        assert!(installed.success(), "npm ci failed in {}", folder.display());
    }
    folder
}

fn chromium() -> String {
    let chromium = std::env::var("CHROMIUM").unwrap_or_else(|_| "/usr/bin/chromium".to_owned());
    assert!(
        Path::new(&chromium).exists(),
        "{chromium} is missing: Debian's package chromium; tools/test.sh installs it"
    );
    chromium
}

/// A port that nobody listens on.
fn free_port() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port is free");
    listener.local_addr().expect("it has an address").port()
}

#[test]
fn the_page_in_a_browser() {
    let chromium = chromium();
    let browser_tests = browser_tests();
    let folder = std::env::temp_dir().join(format!("overwire-page-{}", std::process::id()));
    let port = free_port();
    let demo = Demo::play(&folder.join("demo"), port);
    let shots =
        std::env::var_os("OVERWIRE_SHOTS").map_or_else(|| folder.join("shots"), PathBuf::from);
    // The tests run in their own folder; a relative one would be meant from here.
    let shots = std::path::absolute(shots).expect("a folder for screenshots");
    let output = Command::new("node")
        .args(["--test", "page.spec.mjs"])
        .current_dir(browser_tests)
        .env("OVERWIRE_URL", format!("http://127.0.0.1:{port}/"))
        .env("OVERWIRE_SHOTS", &shots)
        .env("CHROMIUM", chromium)
        .output()
        .expect("node is needed: Debian's package nodejs; tools/test.sh installs it");
    drop(demo);
    assert!(
        output.status.success(),
        "{}\n{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    for shot in SHOTS {
        assert!(shots.join(shot).exists(), "{shot} was not taken");
    }
    let _ = std::fs::remove_dir_all(folder);
}
