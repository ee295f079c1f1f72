//! Finding, starting and ending the real `overwire` daemon as a program of its own.
//!
//! However the starting program ends, the daemon ends too: dropped, it gets SIGTERM and, when that
//! does not help, SIGKILL; and should the starting program itself be killed, the kernel sends the
//! daemon SIGTERM. For that the daemon is started through [`launch`], a second life of the starting
//! program that asks the kernel for this and then becomes the daemon. A program that starts daemons
//! must therefore hand its arguments to [`launch`] when the first of them is [`LAUNCH_WORD`].

use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal};

use crate::http::{HttpError, Page};

/// The word that starts the second life.
pub const LAUNCH_WORD: &str = "launch-daemon";

/// How long the page may take to come up.
const PAGE_PATIENCE: Duration = Duration::from_secs(20);

/// How long the daemon may take to end in good order.
const END_PATIENCE: Duration = Duration::from_secs(6);

/// Why there is no running daemon.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DaemonError {
    /// No program to start.
    #[error(
        "the program `overwire` was not found at {0}; build it with `cargo build --release -p overwire`"
    )]
    NotFound(PathBuf),
    /// Building it failed.
    #[error("`{0}` failed; its messages stand above")]
    NotBuilt(String),
    /// It did not start.
    #[error("cannot start {program}: {source}")]
    NotStarted {
        /// What was started.
        program: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// It ended before it had a page.
    #[error("overwire ended before its page was up ({status}); it said: {said}")]
    EndedEarly {
        /// How it ended.
        status: String,
        /// The end of its log.
        said: String,
    },
    /// It came to no page in time.
    #[error("overwire had no page after {} s; it said: {said}", PAGE_PATIENCE.as_secs())]
    NoPage {
        /// The end of its log.
        said: String,
    },
    /// It told an address that is none.
    #[error(transparent)]
    NoAddress(#[from] HttpError),
}

/// Where the daemon's program is: beside this program. Started by cargo, or when it is missing, it is
/// built first, with the same profile and target folder.
///
/// # Errors
/// [`DaemonError::NotBuilt`] or [`DaemonError::NotFound`].
pub fn find() -> Result<PathBuf, DaemonError> {
    let own = std::env::current_exe().unwrap_or_default();
    let folder = own.parent().unwrap_or(Path::new("."));
    let program = folder.join("overwire");
    let by_cargo = std::env::var_os("CARGO");
    if by_cargo.is_some() || !program.exists() {
        build(
            folder,
            by_cargo.map_or_else(|| PathBuf::from("cargo"), PathBuf::from),
            &program,
        )?;
    }
    if program.exists() {
        Ok(program)
    } else {
        Err(DaemonError::NotFound(program))
    }
}

fn build(folder: &Path, cargo: PathBuf, program: &Path) -> Result<(), DaemonError> {
    let (Some(target), Some(profile)) = (folder.parent(), folder.file_name()) else {
        return Err(DaemonError::NotFound(program.to_owned()));
    };
    let profile = if profile == "debug" {
        "dev".into()
    } else {
        profile.to_owned()
    };
    let mut command = Command::new(cargo);
    command
        .args([
            "build",
            "--package",
            "overwire",
            "--bin",
            "overwire",
            "--profile",
        ])
        .arg(&profile);
    command
        .arg("--manifest-path")
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml"));
    command.arg("--target-dir").arg(target);
    command.stdin(Stdio::null());
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(_) => {
            let profile = profile.to_string_lossy();
            Err(DaemonError::NotBuilt(format!(
                "cargo build --package overwire --profile {profile}"
            )))
        }
        Err(_) => Err(DaemonError::NotFound(program.to_owned())),
    }
}

/// A running daemon; dropping it ends it.
#[derive(Debug)]
pub struct Daemon {
    child: Child,
    page: Page,
}

impl Daemon {
    /// Starts the daemon and waits until it tells where its page is. Its log goes to `log`. The thread
    /// that calls this must live as long as the daemon is to.
    ///
    /// # Errors
    /// [`DaemonError`], with the end of the log where there is one.
    pub fn start(program: &Path, settings: &Path, log: &Path) -> Result<Daemon, DaemonError> {
        let not_started = |source| DaemonError::NotStarted {
            program: program.to_owned(),
            source,
        };
        let mut child = Command::new(std::env::current_exe().map_err(not_started)?)
            .arg(LAUNCH_WORD)
            .arg(std::process::id().to_string())
            .arg(program)
            .args(["run", "--settings"])
            .arg(settings)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(File::create(log).map_err(not_started)?)
            // Ctrl-C at the terminal is for the starting program, which then ends the daemon in order.
            .process_group(0)
            .spawn()
            .map_err(not_started)?;
        let told = child.stdout.take().map(page_lines);
        let waited = told
            .map(|told| wait_for_page(&told))
            .unwrap_or(Waited::Ended);
        let outcome = match waited {
            Waited::Page(url) => Page::at(&url).map_err(DaemonError::from),
            Waited::Ended => {
                let status = end(&mut child).map_or_else(|| "?".to_owned(), |s| s.to_string());
                Err(DaemonError::EndedEarly {
                    status,
                    said: last_lines(log),
                })
            }
            Waited::TooLong => Err(DaemonError::NoPage {
                said: last_lines(log),
            }),
        };
        match outcome {
            Ok(page) => Ok(Daemon { child, page }),
            Err(error) => {
                end(&mut child);
                Err(error)
            }
        }
    }

    /// Its page.
    pub fn page(&self) -> &Page {
        &self.page
    }

    /// Its process id.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// How it ended, if it has.
    pub fn ended(&mut self) -> Option<String> {
        self.child
            .try_wait()
            .ok()
            .flatten()
            .map(|status| status.to_string())
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        end(&mut self.child);
    }
}

/// The second life: asks for SIGTERM when the starting program dies, then becomes the daemon. Comes
/// back only with a reason why it could not.
pub fn launch(arguments: &[std::ffi::OsString]) -> io::Error {
    let wrong = || io::Error::new(io::ErrorKind::InvalidInput, "this word is for inner use");
    let [parent, program, rest @ ..] = arguments else {
        return wrong();
    };
    let Some(parent) = parent.to_str().and_then(|id| id.parse::<i32>().ok()) else {
        return wrong();
    };
    if let Err(error) = rustix::process::set_parent_process_death_signal(Some(Signal::TERM)) {
        return error.into();
    }
    // The starting program may have died before the kernel was asked.
    if rustix::process::getppid().map(|id| id.as_raw_nonzero().get()) != Some(parent) {
        return io::Error::other("the starting program is gone");
    }
    Command::new(program).args(rest).exec()
}

enum Waited {
    Page(String),
    Ended,
    TooLong,
}

/// Reads the daemon's output to its end, so that it can never block on it; hands on page addresses.
fn page_lines(output: ChildStdout) -> Receiver<String> {
    let (sender, receiver) = mpsc::channel();
    std::thread::spawn(move || {
        for line in BufReader::new(output).lines().map_while(Result::ok) {
            if let Some(url) = line.strip_prefix("page ") {
                let _ = sender.send(url.trim().to_owned());
            }
        }
    });
    receiver
}

fn wait_for_page(told: &Receiver<String>) -> Waited {
    match told.recv_timeout(PAGE_PATIENCE) {
        Ok(url) => Waited::Page(url),
        Err(RecvTimeoutError::Disconnected) => Waited::Ended,
        Err(RecvTimeoutError::Timeout) => Waited::TooLong,
    }
}

/// Ends a child in good order, or else by force; nothing is left behind either way.
fn end(child: &mut Child) -> Option<std::process::ExitStatus> {
    if let Ok(Some(status)) = child.try_wait() {
        return Some(status);
    }
    let id = i32::try_from(child.id()).ok().and_then(Pid::from_raw);
    if let Some(id) = id {
        let _ = rustix::process::kill_process(id, Signal::TERM);
    }
    let until = Instant::now() + END_PATIENCE;
    while Instant::now() < until {
        match child.try_wait() {
            Ok(Some(status)) => return Some(status),
            Ok(None) => std::thread::sleep(Duration::from_millis(10)),
            Err(_) => break,
        }
    }
    let _ = child.kill();
    child.wait().ok()
}

/// The last lines of a log, for a message.
pub fn last_lines(log: &Path) -> String {
    let text = std::fs::read(log).unwrap_or_default();
    let text = String::from_utf8_lossy(&text);
    let lines: Vec<&str> = text.lines().collect();
    let last = lines[lines.len().saturating_sub(5)..].join("\n");
    if last.is_empty() {
        "nothing".to_owned()
    } else {
        last
    }
}
