//! Real ports: frames in odd chunks with noise between them, unplugging, missing and held ports.

use std::fmt::Write as _;
use std::time::{Duration, Instant};

use overwire_tests::daemon::settings;
use overwire_tests::{Daemon, Dice, Folder, Line, until};

/// Noise that stands between frames: control bytes, bytes no text holds, lines that are no frame.
const NOISE: [&[u8]; 6] = [
    b"\x00\x81\x13",
    b"\xFF\xFE",
    b"ERR 7\r\n",
    b"\r\n\r\n",
    b"#\x02",
    b"0.5.5\r\n",
];

/// Sends numbered frames in random chunks with noise between them; gives the texts.
fn send_in_chunks(line: &Line, frames: usize, first_digit: usize, dice: &mut Dice) -> Vec<String> {
    let mut bytes = Vec::new();
    let mut texts = Vec::new();
    for number in 0..frames {
        if dice.below(3) == 0 {
            bytes.extend_from_slice(NOISE[dice.below(NOISE.len() as u64) as usize]);
        }
        let text = format!("{first_digit}.{number:05}");
        bytes.extend_from_slice(format!("+{text}\r\n").as_bytes());
        texts.push(text);
    }
    let mut rest = bytes.as_slice();
    while !rest.is_empty() {
        let size = (1 + dice.below(23) as usize).min(rest.len());
        line.send(&rest[..size]);
        rest = &rest[size..];
        if dice.below(4) == 0 {
            std::thread::sleep(Duration::from_micros(dice.below(300)));
        }
    }
    texts
}

fn texts_of(folder: &Folder, station: &str) -> Vec<String> {
    let connection = rusqlite::Connection::open(folder.join("record.db")).expect("the record");
    let sql = "SELECT text FROM reading WHERE station = ?1 ORDER BY sequence";
    let mut statement = connection.prepare(sql).expect("readings");
    let rows = statement
        .query_map([station], |row| row.get(0))
        .expect("readings");
    rows.map(|text| text.expect("a text")).collect()
}

fn arrive_once_and_in_order(ports: usize, frames: usize, seed: u64) {
    let folder = Folder::new(&format!("ports-{ports}"));
    let lines: Vec<Line> = (0..ports)
        .map(|i| Line::plugged_in(&folder.join(&format!("tty{i}"))))
        .collect();
    let daemon = Daemon::start(&settings(&folder, ports, ""));
    let senders: Vec<_> = lines
        .into_iter()
        .enumerate()
        .map(|(index, line)| {
            std::thread::spawn(move || {
                let mut dice = Dice::new(seed + index as u64);
                (send_in_chunks(&line, frames, index + 1, &mut dice), line)
            })
        })
        .collect();
    let sent: Vec<(Vec<String>, Line)> = senders
        .into_iter()
        .map(|sender| sender.join().expect("sent"))
        .collect();
    until("every frame is kept", || {
        daemon.get("/api/state")["record"]["entries"].as_u64() > Some((ports * frames) as u64)
    });
    for (index, (texts, _line)) in sent.iter().enumerate() {
        assert_eq!(
            &texts_of(&folder, &format!("s{index}")),
            texts,
            "station s{index}, seed {seed}"
        );
    }
    assert!(
        daemon.station("s0")["noise_bytes"].as_u64() > Some(0),
        "noise is counted"
    );
    assert!(daemon.end());
}

#[test]
fn one_port_in_odd_chunks_with_noise() {
    arrive_once_and_in_order(1, 3000, 11);
}

#[test]
fn sixty_four_ports_in_odd_chunks_with_noise() {
    arrive_once_and_in_order(64, 150, 12);
}

#[test]
fn unplugging_in_the_middle_of_a_frame() {
    let folder = Folder::new("unplug");
    let mut line = Line::plugged_in(&folder.join("tty0"));
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    line.send(b"+0.50001\r\n+0.500");
    until("the first is kept", || texts_of(&folder, "s0").len() == 1);
    line.unplug();
    until("it is told", || {
        daemon.station("s0")["link"]["state"] == "unplugged"
    });
    let station = daemon.station("s0");
    assert_eq!(station["refused_frames"], 1, "{station}");
    assert!(
        station["last_refusal"]
            .as_str()
            .is_some_and(|told| told.contains("`+0.500`")),
        "{station}"
    );
    let sentence = station["link"]["sentence"]
        .as_str()
        .unwrap_or_default()
        .to_owned();
    assert!(sentence.contains("disappeared"), "{sentence}");
    // The dead descriptor is closed: nothing of this process holds the old terminal.
    let held = std::fs::read_dir(format!("/proc/{}/fd", daemon.pid())).expect("descriptors");
    let names = held
        .flatten()
        .filter_map(|fd| std::fs::read_link(fd.path()).ok());
    assert!(
        !names
            .map(|name| name.display().to_string())
            .any(|name| name.contains("/dev/pts/"))
    );
    line.plug_in();
    let plugged_in = Instant::now();
    until("it is found again", || {
        daemon.station("s0")["link"]["state"] == "listening"
    });
    let found_after = plugged_in.elapsed();
    assert!(
        found_after < Duration::from_secs(1),
        "found after {found_after:?}"
    );
    line.send(b"+0.50003\r\n");
    until("the next is kept", || texts_of(&folder, "s0").len() == 2);
    assert_eq!(
        texts_of(&folder, "s0"),
        ["0.50001", "0.50003"],
        "the pieces were not joined"
    );
}

#[test]
fn a_port_that_is_missing_or_held_is_waited_for_and_told_apart() {
    let folder = Folder::new("missing");
    let first_settings = settings(&folder, 1, "");
    let daemon = Daemon::start(&first_settings);
    assert_eq!(daemon.station("s0")["link"]["state"], "absent");
    let line = Line::plugged_in(&folder.join("tty0"));
    until("it is found", || {
        daemon.station("s0")["link"]["state"] == "listening"
    });
    line.send(b"0.12345\r\n");
    until("it is read", || texts_of(&folder, "s0") == ["0.12345"]);
    // A second daemon with a record of its own finds the port held.
    let text = std::fs::read_to_string(&first_settings).expect("settings");
    let other = folder.join("other.toml");
    std::fs::write(&other, text.replace("record.db", "other.db")).expect("settings");
    let second = Daemon::start(&other);
    let link = second.station("s0")["link"].clone();
    assert_eq!(link["state"], "held", "{link}");
    assert!(
        link["sentence"]
            .as_str()
            .is_some_and(|told| told.contains("Another program")),
        "{link}"
    );
    let mut plain = String::new();
    let _ = write!(plain, "{}", link["hint"]);
    assert!(plain.contains("fuser"), "says what to do: {plain}");
}

/// A line without end must not grow the daemon: 40 MB through one port.
#[test]
fn an_endless_line_does_not_grow_memory() {
    let folder = Folder::new("endless");
    let line = Line::plugged_in(&folder.join("tty0"));
    let daemon = Daemon::start(&settings(&folder, 1, ""));
    until("it listens", || {
        daemon.station("s0")["link"]["state"] == "listening"
    });
    let resident = || -> u64 {
        let status =
            std::fs::read_to_string(format!("/proc/{}/status", daemon.pid())).expect("status");
        let line = status
            .lines()
            .find(|line| line.starts_with("VmRSS:"))
            .expect("VmRSS");
        line.split_whitespace()
            .nth(1)
            .and_then(|kb| kb.parse().ok())
            .expect("a number")
    };
    let before = resident();
    for _ in 0..2500 {
        line.send(&[b'7'; 16_000]);
    }
    line.send(b"\r\n0.11111\r\n");
    until("the frame behind it is kept", || {
        texts_of(&folder, "s0") == ["0.11111"]
    });
    let grown = resident().saturating_sub(before);
    assert!(grown < 4096, "grew by {grown} kB");
    assert!(daemon.station("s0")["refused_frames"].as_u64() >= Some(1));
}
