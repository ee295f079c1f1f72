//! Load driver: numbered values to many simulated ports, and a ledger of what was sent.
//!
//! It reads nothing from the daemon; a test compares the ledger with the record.

use std::fs::File;
use std::io::BufWriter;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use anyhow::{Context, bail};
use clap::Parser;
use overwire_tools::dice::parse_share;
use overwire_tools::player::{Player, Score};
use overwire_tools::terminal::{self, Stop, say};

/// Plays numbered values to simulated serial ports.
///
/// Line S of port P among N carries BASE + S * N + P as +I.DDDDD, so that each value is the only one
/// of its kind. The ledger has one row for each line that went wholly into its port.
#[derive(Debug, Parser)]
#[command(version)]
struct Options {
    /// Folder for the links tty0, tty1, ... (must exist)
    #[arg(long, value_name = "FOLDER")]
    folder: PathBuf,
    /// How many ports
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=1024))]
    ports: u16,
    /// Lines for each port
    #[arg(long, default_value_t = 100)]
    count: u32,
    /// Lines a second at each port, or max
    #[arg(long, default_value = "max", value_parser = rate)]
    rate: Rate,
    /// First value, in units of the fifth decimal place
    #[arg(long, default_value_t = 100_000)]
    base: u32,
    /// Split writes at random places, by this seed
    #[arg(long, value_name = "SEED")]
    chunks: Option<u64>,
    /// Share of lines, 0 to 1, with a line of noise before them
    #[arg(long, value_name = "RATE", default_value_t = 0.0, value_parser = parse_share)]
    noise: f64,
    /// Seed of the noise
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Where to write what was sent: port,line,text,sent_unix_us
    #[arg(long, value_name = "FILE")]
    ledger: PathBuf,
    /// Start only when a line comes on standard input
    #[arg(long)]
    on_enter: bool,
    /// Seconds without a byte taken at any port until it gives up
    #[arg(long, value_name = "SECONDS", default_value_t = 30)]
    give_up: u32,
    /// Seconds to keep the ports open at the end, after every byte was taken
    #[arg(long, value_name = "SECONDS", default_value_t = 0)]
    hold: u32,
}

#[derive(Debug, Clone, Copy)]
struct Rate(Option<f64>);

fn rate(text: &str) -> Result<Rate, String> {
    if text == "max" {
        return Ok(Rate(None));
    }
    match text.parse() {
        Ok(rate) if rate > 0.0 && rate <= 100_000.0 => Ok(Rate(Some(rate))),
        _ => Err("a rate is a number above 0, at most 100000, or max".to_owned()),
    }
}

fn main() -> ExitCode {
    match run(&Options::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("load: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run(options: &Options) -> anyhow::Result<()> {
    let stop = Stop::on_signals().context("signals cannot be caught")?;
    let seconds = |count: u32| Duration::from_secs(count.into());
    let ledger = File::create(&options.ledger)
        .with_context(|| format!("cannot make the ledger {}", options.ledger.display()))?;
    let mut player = Player::new(Score {
        folder: options.folder.clone(),
        ports: options.ports.into(),
        lines: options.count.into(),
        rate: options.rate.0,
        base: options.base.into(),
        chunk_seed: options.chunks,
        noise_rate: options.noise,
        noise_seed: options.seed,
    })?;
    player
        .links()
        .for_each(|link| say(format_args!("port {}", link.display())));
    if options.on_enter && !wait_for_line(&stop) {
        return Ok(());
    }
    let give_up = seconds(options.give_up);
    let sent = player.play(&mut BufWriter::new(ledger), give_up, &stop)?;
    say(format_args!("sent {sent} lines to {} ports", options.ports));
    let left = player.wait_until_taken(give_up, &stop);
    if left > 0 {
        bail!("{left} bytes were not taken; they are lost with the ports");
    }
    say("taken");
    stop.sleep(seconds(options.hold));
    Ok(())
}

/// Whether a line came before the end of the input or the wish to stop.
fn wait_for_line(stop: &Stop) -> bool {
    let lines = terminal::lines();
    loop {
        match lines.recv_timeout(Duration::from_millis(50)) {
            Ok(_) => return true,
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) if !stop.is_set() => {}
            Err(_) => return false,
        }
    }
}
