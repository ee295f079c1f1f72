//! Ports that this user may not open, and ports that another program has claimed, told apart without a
//! serial adapter. Root may open everything, so a test that runs as root has the daemon run as another user.

use overwire_tests::daemon::{allow, settings, without_rights};
use overwire_tests::{Daemon, Folder, Line, until};

fn link(daemon: &Daemon) -> (String, String, String) {
    let link = daemon.station("s0")["link"].clone();
    let text = |name: &str| link[name].as_str().unwrap_or_default().to_owned();
    (text("state"), text("sentence"), text("hint"))
}

#[test]
fn a_port_that_may_not_be_opened_names_the_group_that_may() {
    let folder = Folder::new("denied");
    let line = Line::plugged_in(&folder.join("tty0"));
    let node = std::fs::canonicalize(folder.join("tty0")).expect("the line's node");
    allow(&node, 0o000);
    let settings = settings(&folder, 1, "");
    let daemon = Daemon::start_program(&without_rights(&folder), &settings);
    until("it is told", || link(&daemon).0 == "no_permission");
    let (_, sentence, hint) = link(&daemon);
    let group = std::process::Command::new("stat")
        .args(["-c", "%G"])
        .arg(&node)
        .output()
        .expect("stat");
    let group = String::from_utf8_lossy(&group.stdout).trim().to_owned();
    assert!(!group.is_empty() && sentence.contains(&group), "{sentence}");
    assert!(hint.contains(&format!("usermod -aG {group}")), "{hint}");
    // Let in, it is found without a restart.
    allow(&node, 0o666);
    until("it is let in", || link(&daemon).0 == "listening");
    line.send(b"0.12345\r\n");
    until("it is read", || {
        daemon.station("s0")["last"]["text"] == "0.12345"
    });
}

#[test]
fn a_port_claimed_by_another_kind_of_program_is_held_until_it_lets_go() {
    let folder = Folder::new("claimed");
    let line = Line::plugged_in(&folder.join("tty0"));
    let node = std::fs::canonicalize(folder.join("tty0")).expect("the line's node");
    allow(&node, 0o666);
    // TIOCEXCL alone, as terminal programs set it; a second daemon is another test's.
    let other = std::fs::File::options()
        .read(true)
        .write(true)
        .open(&node)
        .expect("the line opens");
    rustix::termios::ioctl_tiocexcl(&other).expect("a claim");
    let settings = settings(&folder, 1, "");
    let daemon = Daemon::start_program(&without_rights(&folder), &settings);
    until("it is told", || link(&daemon).0 == "held");
    let (_, sentence, hint) = link(&daemon);
    assert!(sentence.contains("Another program") && hint.contains("fuser"));
    rustix::termios::ioctl_tiocnxcl(&other).expect("the claim is lifted");
    drop(other);
    until("it is found", || link(&daemon).0 == "listening");
    line.send(b"0.54321\r\n");
    until("it is read", || {
        daemon.station("s0")["last"]["text"] == "0.54321"
    });
}
