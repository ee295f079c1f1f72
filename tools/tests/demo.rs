//! The demonstration with the real daemon: it runs through, and leaves nothing behind however it ends.

mod program;

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use program::{Folder, PATIENCE, Program};
use rustix::process::{Pid, Signal};

fn demo(folder: &Folder, arguments: &[&str]) -> Program {
    let mut command = Command::new(env!("CARGO_BIN_EXE_demo"));
    // The folder for temporary files is the test's own, so that what is left in it can be seen.
    command.env("TMPDIR", folder.file("")).args(arguments);
    Program::start(command)
}

/// Processes that have the folder in their arguments: the daemon, as long as it lives.
fn daemons(folder: &Path) -> usize {
    let wanted = folder.to_string_lossy().into_owned();
    let processes = std::fs::read_dir("/proc").unwrap().flatten();
    processes
        .filter_map(|process| std::fs::read(process.path().join("cmdline")).ok())
        .map(|arguments| String::from_utf8_lossy(&arguments).replace('\0', " "))
        .filter(|arguments| arguments.contains("run --settings") && arguments.contains(&wanted))
        .count()
}

fn await_daemons(folder: &Path, count: usize) {
    let until = Instant::now() + PATIENCE;
    while daemons(folder) != count {
        assert!(
            Instant::now() < until,
            "{} daemons run, not {count}",
            daemons(folder)
        );
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Reads output up to a line with some words.
fn read_up_to(program: &mut Program, words: &str) -> BufReader<std::process::ChildStdout> {
    let mut output = BufReader::new(program.0.stdout.take().unwrap());
    let mut line = String::new();
    while !line.contains(words) {
        line.clear();
        assert!(
            output.read_line(&mut line).unwrap() > 0,
            "the output ends before `{words}`"
        );
    }
    output
}

fn files_in(folder: &Folder) -> usize {
    std::fs::read_dir(folder.file("")).unwrap().count()
}

#[test]
fn the_first_piece_runs_through_and_nothing_is_left() {
    let folder = Folder::new("demo-once");
    let (success, output, errors) = demo(&folder, &["--once"]).finish();
    assert!(success, "{output}\n{errors}");
    assert!(
        output.contains("CAUTION  Never measure on a turning spindle"),
        "{output}"
    );
    assert!(
        output.contains("8 readings sent, 8 recorded and judged as they should be"),
        "{output}"
    );
    assert_eq!(daemons(&folder.file("")), 0);
    assert_eq!(files_in(&folder), 0);
}

#[test]
fn words_reach_the_instruments_and_the_end_of_the_input_ends_it() {
    let folder = Folder::new("demo-words");
    let mut program = demo(&folder, &["--no-wait", "--page-port", "0"]);
    let mut output = read_up_to(&mut program, "Enter presses the button at lathe-1");
    let words = b"\n\nnowire\nunplug 0.3\n\nplug\nbench-2\n\nquit\n";
    program.0.stdin.as_mut().unwrap().write_all(words).unwrap();
    let mut rest = String::new();
    std::io::Read::read_to_string(&mut output, &mut rest).unwrap();
    assert!(program.0.wait().unwrap().success());
    assert!(rest.contains("piece 2 is in the machine"), "{rest}");
    assert!(rest.contains("piece 2, pass 2 of 5:"), "{rest}");
    assert!(rest.contains("the single wire has fallen out"), "{rest}");
    assert!(rest.contains("the plug is out"), "{rest}");
    assert!(rest.contains("plugged in  ->  "), "{rest}");
    assert!(rest.contains("bench-2  piece 2, finished: 40.2"), "{rest}");
    assert_eq!(daemons(&folder.file("")), 0);
    assert_eq!(files_in(&folder), 0);
}

#[test]
fn a_signal_ends_the_daemon_too_and_so_does_a_kill() {
    for (name, signal, left) in [
        ("int", Signal::INT, 0),
        ("term", Signal::TERM, 0),
        ("kill", Signal::KILL, 1),
    ] {
        let folder = Folder::new(&format!("demo-{name}"));
        let mut program = demo(&folder, &["--page-port", "0"]);
        let _output = read_up_to(&mut program, "lathe-1  piece 1, pass 1 of 5");
        assert_eq!(daemons(&folder.file("")), 1);
        let id = Pid::from_raw(program.0.id().try_into().unwrap()).unwrap();
        rustix::process::kill_process(id, signal).unwrap();
        program.0.wait().unwrap();
        await_daemons(&folder.file(""), 0);
        // Killed outright it cannot clear its folder away.
        assert_eq!(files_in(&folder), left, "{name}");
    }
}

#[test]
fn a_settings_file_of_someone_else_is_left_alone() {
    let folder = Folder::new("demo-foreign");
    std::fs::write(folder.file("overwire.toml"), "version = 1\n").unwrap();
    let given = folder.file("").to_string_lossy().into_owned();
    let (success, _, errors) = demo(&folder, &["--once", "--dir", &given]).finish();
    assert!(!success);
    assert!(
        errors.contains("is not the demonstration's own"),
        "{errors}"
    );
    assert_eq!(
        std::fs::read_to_string(folder.file("overwire.toml")).unwrap(),
        "version = 1\n"
    );
}

#[test]
fn a_daemon_that_does_not_come_up_is_told() {
    let folder = Folder::new("demo-false");
    let (success, _, errors) = demo(&folder, &["--once", "--daemon", "/bin/false"]).finish();
    assert!(!success);
    assert!(
        errors.contains("overwire ended before its page was up"),
        "{errors}"
    );
    assert_eq!(files_in(&folder), 0);
}
