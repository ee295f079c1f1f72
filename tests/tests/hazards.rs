//! The page's address under hostile requests. Guidance: OWASP cheat sheets on CSRF and DNS rebinding (from
//! memory); CWE-22 for paths; common practice, no source, for the limits.

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Folder, Line, client, until};
use serde_json::{Value, json};

struct Site {
    daemon: Daemon,
    line: Line,
    _folder: Folder,
}

fn site(name: &str) -> Site {
    let folder = Folder::new(name);
    let line = Line::plugged_in(&folder.join("tty0"));
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    Site {
        daemon,
        line,
        _folder: folder,
    }
}

/// A request with lines of our choosing in its head.
fn ask(site: &Site, method: &str, path: &str, head: &str, body: &str) -> (u16, Value) {
    let request = format!(
        "{method} {path} HTTP/1.1\r\nConnection: close\r\n{head}Content-Length: {}\r\n\r\n{body}",
        body.len()
    );
    let (status, _, answer) = client::raw(site.daemon.address, &request);
    (
        status,
        serde_json::from_slice(&answer).unwrap_or(Value::Null),
    )
}

#[test]
fn foreign_names_and_pages_are_refused_with_what_to_do() {
    let site = site("hazards");
    let own = format!("Host: {}\r\n", site.daemon.address);
    let (status, refused) = ask(&site, "GET", "/api/state", "Host: evil.example\r\n", "");
    assert_eq!((status, &refused["code"]), (421, &json!("foreign-host")));
    assert!(
        refused["hint"]
            .as_str()
            .is_some_and(|hint| hint.contains("http://")),
        "{refused}"
    );
    let before = site.daemon.station("s0")["tags"].clone();
    let body = r#"{"position":"head"}"#;
    let path = "/api/stations/s0/tags";
    for (head, status) in [
        (
            format!("{own}Origin: http://evil.example\r\nContent-Type: application/json\r\n"),
            403,
        ),
        (
            format!("{own}Sec-Fetch-Site: cross-site\r\nContent-Type: application/json\r\n"),
            403,
        ),
        (
            format!("{own}Content-Type: application/x-www-form-urlencoded\r\n"),
            415,
        ),
        (format!("{own}Content-Type: text/plain\r\n"), 415),
    ] {
        let (found, refused) = ask(&site, "POST", path, &head, body);
        assert_eq!(found, status, "{head}");
        assert!(
            refused["error"].is_string() && refused["hint"].is_string(),
            "{refused}"
        );
    }
    assert_eq!(
        site.daemon.station("s0")["tags"],
        before,
        "nothing was changed"
    );
    let head = format!(
        "{own}Origin: http://{}\r\nContent-Type: application/json\r\n",
        site.daemon.address
    );
    assert_eq!(
        ask(&site, "POST", path, &head, body).0,
        200,
        "our own page may"
    );
}

#[test]
fn what_is_too_large_or_no_json_is_refused_at_once() {
    let site = site("hazards-size");
    let head = format!(
        "Host: {}\r\nContent-Type: application/json\r\n",
        site.daemon.address
    );
    let path = "/api/stations/s0/tags";
    let large = format!("{{\"position\":\"{}\"}}", "x".repeat(100_000));
    assert_eq!(ask(&site, "POST", path, &head, &large).0, 413);
    for body in ["", "[]", "{", "{\"a\":1}", "\u{0}"] {
        assert_eq!(ask(&site, "POST", path, &head, body).0, 400, "{body:?}");
    }
    let mut stream = TcpStream::connect(site.daemon.address).expect("connected");
    stream
        .set_read_timeout(Some(Duration::from_secs(5)))
        .expect("a time-out");
    write!(
        stream,
        "POST {path} HTTP/1.1\r\n{head}Content-Length: 10737418240\r\n\r\n"
    )
    .expect("sent");
    let mut answer = [0; 64];
    let length = stream
        .read(&mut answer)
        .expect("an answer without the body");
    assert!(String::from_utf8_lossy(&answer[..length]).contains(" 413 "));
    for path in [
        "/../Cargo.toml",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/page.css/..%2f",
        "/nothing",
    ] {
        let own = format!("Host: {}\r\n", site.daemon.address);
        assert_eq!(ask(&site, "GET", path, &own, "").0, 404, "{path}");
    }
}

/// A page that takes nothing of what it is sent holds up neither the record nor other pages, and its queue
/// is bounded.
#[test]
fn a_stalled_page_holds_up_nothing() {
    let site = site("hazards-stall");
    let mut stalled = TcpStream::connect(site.daemon.address).expect("connected");
    write!(
        stalled,
        "GET /events HTTP/1.1\r\nHost: {}\r\n\r\n",
        site.daemon.address
    )
    .expect("sent");
    std::thread::sleep(Duration::from_millis(200));
    let frames = 100_000;
    let started = Instant::now();
    for number in 0..frames {
        site.line.send(format!("0.{number:06}\r\n").as_bytes());
    }
    until("every reading is kept", || {
        site.daemon.get("/api/state")["record"]["entries"].as_u64() > Some(frames)
    });
    let status =
        std::fs::read_to_string(format!("/proc/{}/status", site.daemon.pid())).expect("status");
    let peak: u64 = status
        .lines()
        .find_map(|line| {
            line.strip_prefix("VmHWM:")?
                .split_whitespace()
                .next()?
                .parse()
                .ok()
        })
        .expect("VmHWM");
    // 20,000 events are some 16 MB; the queue and the socket hold a fraction of them.
    assert!(
        peak < 80_000,
        "peak {peak} kB after {:?}",
        started.elapsed()
    );
}
