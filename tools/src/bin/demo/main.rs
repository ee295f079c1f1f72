//! The demonstration: an invented shop with two simulated micrometers and the real daemon.
//!
//! A first piece is cut and inspected before the newcomer's eyes, each press told in one line; then the
//! micrometers are handed over to the terminal. When the demonstration ends, the daemon ends and the
//! folder goes.

mod floor;
mod folder;
mod handover;
mod shop;
mod story;
mod words;

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use anyhow::{Context, bail};
use clap::Parser;
use floor::Floor;
use folder::Folder;
use overwire_tools::daemon;
use overwire_tools::terminal::{Stop, say};

const CAUTION: &str = "\
CAUTION  Never measure on a turning spindle. Wires, burrs and fresh thread crests are sharp.
         Local rules and people qualified for the work come before anything this program says.";

/// The invented Tarn Mill Machine Shop: two simulated micrometers, the real daemon and its page.
#[derive(Debug, Parser)]
#[command(name = "demo", version)]
struct Options {
    /// Folder for settings, record and ports; kept at the end [default: a new one, removed at the end]
    #[arg(long, value_name = "FOLDER")]
    dir: Option<PathBuf>,
    /// Keep the folder
    #[arg(long)]
    keep: bool,
    /// Seconds between steps of the first piece
    #[arg(long, value_name = "SECONDS", default_value_t = 3.0)]
    pause: f64,
    /// Do not wait between steps
    #[arg(long, conflicts_with = "pause")]
    no_wait: bool,
    /// Play the first piece without waiting, check that the page shows it rightly, and end
    #[arg(long)]
    once: bool,
    /// Port of the page [default: 7070 if it is free, else any; any with --once]
    #[arg(long, value_name = "PORT")]
    page_port: Option<u16>,
    /// The overwire program [default: the one beside this program, built if need be]
    #[arg(long, value_name = "FILE")]
    daemon: Option<PathBuf>,
    /// Seed of the simulated measurements
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn main() -> ExitCode {
    let arguments: Vec<OsString> = std::env::args_os().skip(1).collect();
    if let Some((word, rest)) = arguments.split_first()
        && word == daemon::LAUNCH_WORD
    {
        eprintln!("demo: cannot start overwire: {}", daemon::launch(rest));
        return ExitCode::FAILURE;
    }
    match run(&Options::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("demo: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run(options: &Options) -> anyhow::Result<()> {
    let stop = Stop::on_signals().context("signals cannot be caught")?;
    let program = match &options.daemon {
        Some(given) => given.clone(),
        None => daemon::find()?,
    };
    let page_port = match options.page_port {
        Some(port) => port,
        None if options.once => 0,
        None => shop::free_page_port(),
    };
    let folder = Folder::make(options.dir.as_deref(), options.keep)?;
    let mut floor = Floor::open(&program, folder, page_port, options.seed, stop)?;
    welcome(&floor);
    let played = story::play(&mut floor, pause(options));
    // Broken off by a signal, nothing that went wrong on the way is of interest.
    if floor.stop.is_set() {
        if options.once {
            bail!("ended before the first piece was through");
        }
        return Ok(());
    }
    match played? {
        Some(account) => conclude(&account, options.once)?,
        None => return Ok(()),
    }
    if !options.once {
        say(format_args!(
            "\n  Page     {}     <- open it in a browser",
            floor.page().url()
        ));
        say("  Enter presses the button at lathe-1; help lists more words; quit or Ctrl-C ends.\n");
        handover::obey_words(&mut floor)?;
    }
    if floor.folder.is_kept() {
        say(format_args!("kept: {}", floor.folder.path().display()));
    }
    Ok(())
}

fn pause(options: &Options) -> Duration {
    if options.once || options.no_wait || !(0.0..=600.0).contains(&options.pause) {
        Duration::ZERO
    } else {
        Duration::from_secs_f64(options.pause)
    }
}

fn welcome(floor: &Floor) {
    say("\n  overwire demonstration: Tarn Mill Machine Shop (invented)\n");
    say(CAUTION);
    say(format_args!(
        "\n  Page     {}     <- open it in a browser",
        floor.page().url()
    ));
    say(format_args!(
        "  Folder   {}\n",
        floor.folder.path().display()
    ));
    say("set up   micrometers MIC-07, MIC-11 | wire sets WS-12A, WS-M150 | jobs J-2417, J-2431");
    say("zero     both micrometers were checked on their standards and stand");
    say("lathe-1  a stud end, 1 1/16-12 UN-2A, is cut pass by pass and measured over wires\n");
}

fn conclude(account: &story::Account, once: bool) -> anyhow::Result<()> {
    if account.faults.is_empty() {
        let sent = account.sent;
        say(format_args!(
            "\ndone     {sent} readings sent, {sent} recorded and judged as they should be"
        ));
        return Ok(());
    }
    let faults = account.faults.join("\n  ");
    if once {
        bail!("not everything is as it should be:\n  {faults}");
    }
    say(format_args!(
        "\nnot everything is as it should be:\n  {faults}"
    ));
    Ok(())
}
