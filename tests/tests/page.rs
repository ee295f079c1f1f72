//! The page in a real browser: `tests/browser/page.spec.mjs` against a running daemon with a job and
//! readings. `OVERWIRE_SHOTS=folder` keeps the screenshots; the README's picture is
//! `page-desktop-light.png` of them.

use std::path::{Path, PathBuf};
use std::process::Command;

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder, Line, until};
use serde_json::json;

/// Cuts a stud end pass by pass and inspects it.
fn play(daemon: &Daemon, line: &Line) {
    for (path, form) in [
        (
            "/api/wire-sets",
            json!({"wire_set":"WS-12A","unit":"in","diameters":["0.04811","0.04811","0.04811"],"certificate":"C-118","convention":"under_load","due":"2031-03-01","by":"AK"}),
        ),
        (
            "/api/instruments",
            json!({"instrument":"MIC-0","serial":"TM-0307","unit":"in","range_min":"0","range_max":"2","resolution":"0.00005","due":"2031-01-31","by":"AK"}),
        ),
        (
            "/api/jobs",
            json!({"job":"J-2417","drawing":"HF-1716-03","drawing_revision":"C","readings_a_piece":2,"features":[{"name":"stud end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"}],"by":"AK"}),
        ),
        (
            "/api/stations/s0/tags",
            json!({"job":"J-2417","purpose":"cutting","operator":"AK"}),
        ),
    ] {
        daemon.done(path, &form);
    }
    line.send(b"1.0903\r\n1.0845\r\n1.0813\r\n1.0794\r\n1.0763\r\n");
    until("the passes are kept", || {
        daemon.station("s0")["today"]["readings"] == 5
    });
    daemon.done("/api/stations/s0/tags", &json!({"purpose":"inspecting"}));
    line.send(b"1.0762\r\n1.0761\r\n");
    until("the inspection is kept", || {
        daemon.station("s0")["today"]["readings"] == 7
    });
}

fn browser_tests() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("browser");
    if !folder.join("node_modules/playwright-core").exists() {
        let installed = Command::new("npm")
            .args(["ci", "--silent", "--no-audit", "--no-fund"])
            .current_dir(&folder)
            .status()
            .expect("npm (Debian's package npm; tools/test.sh installs it)");
        assert!(installed.success(), "npm ci failed in {}", folder.display());
    }
    folder
}

#[test]
fn the_page_in_a_browser() {
    let chromium = std::env::var("CHROMIUM").unwrap_or_else(|_| "/usr/bin/chromium".to_owned());
    assert!(
        Path::new(&chromium).exists(),
        "{chromium} is missing: Debian's package chromium; tools/test.sh installs it"
    );
    let folder = Folder::new("page");
    let line = Line::plugged_in(&folder.join("tty0"));
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    play(&daemon, &line);
    let shots =
        std::env::var("OVERWIRE_SHOTS").map_or_else(|_| folder.join("shots"), PathBuf::from);
    let output = Command::new("node")
        .args(["--test", "page.spec.mjs"])
        .current_dir(browser_tests())
        .env("OVERWIRE_URL", format!("http://{}/", daemon.address))
        .env("OVERWIRE_SHOTS", &shots)
        .env("CHROMIUM", chromium)
        .output()
        .expect("node (Debian's package nodejs; tools/test.sh installs it)");
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "{told}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    for shot in [
        "page-desktop-light.png",
        "page-desktop-dark.png",
        "page-phone-light.png",
        "page-phone-dark.png",
    ] {
        assert!(shots.join(shot).exists(), "{shot} was not taken");
    }
}
