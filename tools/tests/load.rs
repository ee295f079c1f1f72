//! The program `load` read back over its ports and compared with its own ledger.

mod port;
mod program;

use std::collections::HashSet;
use std::io::Write;
use std::process::Command;

use port::{open, read, read_to_end};
use program::{Folder, Program};

fn load(folder: &Folder, arguments: &[&str]) -> Program {
    let mut command = Command::new(env!("CARGO_BIN_EXE_load"));
    command.arg("--folder").arg(folder.file(""));
    command
        .arg("--ledger")
        .arg(folder.file("ledger.csv"))
        .args(arguments);
    Program::start(command)
}

/// Values in the ledger, for each port, in its order; the numbering is checked on the way.
fn ledger(folder: &Folder, ports: usize) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(folder.file("ledger.csv")).unwrap();
    let mut rows = text.lines();
    assert_eq!(rows.next(), Some("port,line,text,sent_unix_us"));
    let mut values = vec![Vec::new(); ports];
    for row in rows {
        let parts: Vec<&str> = row.split(',').collect();
        let port: usize = parts[0].parse().unwrap();
        assert_eq!(
            parts[1].parse::<usize>().unwrap(),
            values[port].len(),
            "{row}"
        );
        assert!(
            parts[3].parse::<u64>().unwrap() > 1_700_000_000_000_000,
            "{row}"
        );
        values[port].push(parts[2].to_owned());
    }
    values
}

fn received(folder: &Folder, ports: usize) -> Vec<Vec<u8>> {
    let reads: Vec<_> = (0..ports)
        .map(|port| read(open(&folder.file(&format!("tty{port}")))))
        .collect();
    reads.iter().map(|reads| read_to_end(reads).0).collect()
}

#[test]
fn every_port_gets_its_own_numbered_lines_and_the_ledger_knows_them() {
    let folder = Folder::new("plain");
    let program = load(
        &folder,
        &["--ports", "3", "--count", "400", "--base", "200000"],
    );
    let received = received(&folder, 3);
    let (success, output, errors) = program.finish();
    assert!(success, "{errors}");
    assert!(
        output.contains("sent 1200 lines to 3 ports\ntaken"),
        "{output}"
    );
    let ledger = ledger(&folder, 3);
    let mut all = HashSet::new();
    for (port, (bytes, values)) in received.iter().zip(&ledger).enumerate() {
        let wanted: String = values.iter().map(|value| format!("{value}\r\n")).collect();
        assert_eq!(String::from_utf8_lossy(bytes), wanted, "port {port}");
        assert_eq!(values.len(), 400);
        assert_eq!(values[0], format!("+2.0000{port}"));
        assert_eq!(values[399], format!("+2.01{}", 197 + port));
        all.extend(values.iter().cloned());
    }
    assert_eq!(all.len(), 1200, "a value was sent twice");
}

#[test]
fn split_writes_and_noise_leave_every_line_whole() {
    let folder = Folder::new("split");
    let arguments = [
        "--ports", "2", "--count", "60", "--rate", "200", "--chunks", "7", "--noise", "0.5",
    ];
    let program = load(&folder, &arguments);
    let received = received(&folder, 2);
    let (success, _, errors) = program.finish();
    assert!(success, "{errors}");
    for (bytes, values) in received.iter().zip(ledger(&folder, 2)) {
        let lines: Vec<String> = bytes
            .split(|byte| *byte == b'\n')
            .map(|line| String::from_utf8_lossy(line).trim_end().to_owned())
            .filter(|line| !line.is_empty())
            .collect();
        let whole: Vec<String> = lines
            .iter()
            .filter(|line| line.starts_with('+'))
            .cloned()
            .collect();
        assert_eq!(whole, values);
        let noisy = lines.len() - whole.len();
        assert!(
            (10..=50).contains(&noisy),
            "{noisy} lines of noise among 60 at a share of 0.5"
        );
    }
}

#[test]
fn writes_are_split_within_lines() {
    let folder = Folder::new("chunks");
    let program = load(
        &folder,
        &[
            "--count",
            "40",
            "--rate",
            "100",
            "--chunks",
            "3",
            "--on-enter",
        ],
    );
    let reads = read(open(&folder.file("tty0")));
    program.0.stdin.as_ref().unwrap().write_all(b"\n").unwrap();
    let blocks: Vec<Vec<u8>> = std::iter::from_fn(|| reads.recv().ok()?.ok()).collect();
    let (success, _, errors) = program.finish();
    assert!(success, "{errors}");
    let cut = blocks
        .iter()
        .filter(|block| !block.ends_with(b"\n"))
        .count();
    assert!(
        cut > 20,
        "{cut} of {} reads end within a line",
        blocks.len()
    );
}

#[test]
fn it_gives_up_where_nobody_reads_and_the_ledger_holds_what_went_in() {
    let folder = Folder::new("deaf");
    let (success, output, errors) = load(&folder, &["--count", "50000", "--give-up", "1"]).finish();
    assert!(!success, "{output}");
    assert!(errors.contains("no port took a byte for 1 s"), "{errors}");
    let sent = ledger(&folder, 1)[0].len();
    assert!((1..50_000).contains(&sent), "{sent}");
}

#[test]
fn it_starts_only_when_told_and_ends_with_its_input() {
    let folder = Folder::new("untold");
    let (success, output, _) = load(&folder, &["--on-enter"]).finish();
    assert!(success);
    assert!(!output.contains("sent"), "{output}");
}
