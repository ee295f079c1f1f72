//! A simulated micrometer on a pseudo-terminal.
//!
//! Interactive: each Enter presses the data button, `help` lists the words. With `--press N` it presses
//! by itself and ends. Each frame sent is told in one line on standard output.

use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::mpsc::RecvTimeoutError;
use std::time::{Duration, Instant};

use anyhow::{Context, bail};
use clap::Parser;
use overwire_core::units::Unit;
use overwire_tools::commands::{self, Command};
use overwire_tools::dice::parse_share;
use overwire_tools::display::{Display, MOST_PLACES};
use overwire_tools::encoder::{Encoder, LineEnd, Shape};
use overwire_tools::instrument::{Micrometer, Sent, Settings};
use overwire_tools::terminal::{self, Stop, say};
use overwire_tools::workpiece::Workpiece;

/// A simulated micrometer: a serial port that is a pseudo-terminal, and a thread being cut.
#[derive(Debug, Parser)]
#[command(version, after_help = concat!(
    "Words typed at it:\n",
    "  Enter, press N, next, double, nowire, crest, zero, noise, unplug [S], plug, inch, mm, help, quit"
))]
struct Options {
    /// Where readers find the port: a link to the pseudo-terminal is laid here
    #[arg(long, value_name = "PATH")]
    port: PathBuf,
    /// Shape of a frame
    #[arg(long, value_enum, default_value_t = Shape::DecimalLine)]
    shape: Shape,
    /// Unit of the display and of the sizes given here: in or mm
    #[arg(long, default_value = "in", value_parser = unit)]
    unit: Unit,
    /// Decimal places of the display [default: 5 in inch, 3 in millimetre]
    #[arg(long, value_parser = clap::value_parser!(u8).range(0..=i64::from(MOST_PLACES)))]
    places: Option<u8>,
    /// What ends a line
    #[arg(long, value_enum, default_value_t = LineEnd::Crlf)]
    end: LineEnd,
    /// Channel mark, for the shape that has one
    #[arg(long, default_value = "A1")]
    channel: String,
    /// Thread to cut, as "M10x1.5-6g" [default: a stud end, 1 1/16-12 UN-2A; a spindle, M40x1.5-4h]
    #[arg(long, value_name = "DESIGNATION", requires = "wire", conflicts_with_all = ["target", "major"])]
    thread: Option<String>,
    /// Size over the wires to aim for, instead of a thread
    #[arg(long, requires = "major", requires = "wire")]
    target: Option<f64>,
    /// Major diameter of the thread
    #[arg(long, requires = "target")]
    major: Option<f64>,
    /// Diameter of the wires; with --thread or --target
    #[arg(long)]
    wire: Option<f64>,
    /// Size over the wires at the first measured pass [default: 0.3 wires over the target]
    #[arg(long)]
    start: Option<f64>,
    /// Depths of cut on the diameter after the first pass, as 0.006,0.004,0.002
    #[arg(long, value_delimiter = ',')]
    cuts: Option<Vec<f64>>,
    /// Standard deviation of a measurement [default: one step of the display]
    #[arg(long)]
    repeatability: Option<f64>,
    /// Share of presses, 0 to 1, at which a mistake happens: closed jaws, a wire missing or on a
    /// crest, a double press
    #[arg(long, value_name = "RATE", default_value_t = 0.0, value_parser = parse_share)]
    stray: f64,
    /// Share of frames, 0 to 1, with a burst of noise before them
    #[arg(long, value_name = "RATE", default_value_t = 0.0, value_parser = parse_share)]
    noise: f64,
    /// Pull the plug after so many presses, for so many seconds: 3 or 3,1.5
    #[arg(long, value_name = "AFTER[,SECONDS]", value_parser = unplug)]
    unplug: Option<(u32, f64)>,
    /// Press so many times by itself, then end
    #[arg(long, value_name = "N")]
    press: Option<u32>,
    /// Milliseconds between those presses
    #[arg(long, value_name = "MS", default_value_t = 1000)]
    every: u64,
    /// Seed of all chance: the same seed gives the same readings
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn unit(text: &str) -> Result<Unit, String> {
    match text {
        "in" => Ok(Unit::Inch),
        "mm" => Ok(Unit::Millimetre),
        _ => Err("a unit is in or mm".to_owned()),
    }
}

fn unplug(text: &str) -> Result<(u32, f64), String> {
    let (after, seconds) = text.split_once(',').unwrap_or((text, "1"));
    match (after.parse(), seconds.parse()) {
        (Ok(after), Ok(seconds)) if (0.0..=3600.0).contains(&seconds) => Ok((after, seconds)),
        _ => Err("give presses, and seconds from 0 to 3600 behind a comma: 3,1.5".to_owned()),
    }
}

fn main() -> ExitCode {
    match run(Options::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("micrometer: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run(options: Options) -> anyhow::Result<()> {
    let stop = Stop::on_signals().context("signals cannot be caught")?;
    let micrometer = Micrometer::plug_in(settings(&options)?)?;
    say(format_args!("port {}", micrometer.link().display()));
    let mut bench = Bench {
        micrometer,
        unplug: options.unplug,
        presses: 0,
        plug_at: None,
    };
    match options.press {
        Some(count) => bench.press_by_itself(count, Duration::from_millis(options.every), &stop),
        None => bench.follow_words(&stop),
    }
}

fn settings(options: &Options) -> anyhow::Result<Settings> {
    let display = match options.places {
        Some(places) => Display::with_places(options.unit, places),
        None => Display::customary(options.unit),
    };
    let repeatability_mm = match options.repeatability {
        Some(deviation) if (0.0..1000.0).contains(&deviation) => in_mm(options, deviation),
        Some(deviation) => bail!("--repeatability {deviation} is no length from 0 upward"),
        None => display.step_mm(),
    };
    Ok(Settings {
        link: options.port.clone(),
        workpiece: workpiece(options)?,
        repeatability_mm,
        display,
        encoder: Encoder {
            shape: options.shape,
            end: options.end,
            channel: options.channel.clone(),
        },
        mistake_rate: options.stray,
        noise_rate: options.noise,
        seed: options.seed,
    })
}

fn in_mm(options: &Options, size: f64) -> f64 {
    size * options.unit.mm_per_unit()
}

fn workpiece(options: &Options) -> anyhow::Result<Workpiece> {
    let sizes = (options.target, options.major, options.wire);
    let mut workpiece = match (&options.thread, sizes) {
        (Some(thread), (.., Some(wire))) => Workpiece::of_thread(thread, in_mm(options, wire))?,
        (None, (Some(target), Some(major), Some(wire))) => Workpiece::customary(
            options.unit,
            in_mm(options, target),
            in_mm(options, major),
            in_mm(options, wire),
        ),
        (_, (.., Some(_))) => bail!("--wire needs --thread, or --target and --major"),
        _ if options.unit == Unit::Inch => Workpiece::stud_end(),
        _ => Workpiece::spindle(),
    };
    if let Some(start) = options.start {
        workpiece.start_mm = in_mm(options, start);
        workpiece = workpiece.with_customary_cuts();
    }
    if let Some(cuts) = &options.cuts {
        workpiece.cuts_mm = cuts.iter().map(|cut| in_mm(options, *cut)).collect();
    }
    Ok(workpiece.checked()?)
}

/// The micrometer with what has been done at it.
struct Bench {
    micrometer: Micrometer,
    unplug: Option<(u32, f64)>,
    presses: u32,
    plug_at: Option<Instant>,
}

impl Bench {
    fn press_by_itself(&mut self, count: u32, every: Duration, stop: &Stop) -> anyhow::Result<()> {
        for press in 0..count {
            if press > 0 && !stop.sleep(every) {
                return Ok(());
            }
            if self.micrometer.is_finished() {
                self.micrometer.next_piece();
            }
            self.press()?;
            if let Some(at) = self.plug_at.take() {
                stop.sleep(at.saturating_duration_since(Instant::now()));
                self.plug()?;
            }
        }
        if !self.micrometer.taken_within(Duration::from_secs(2)) {
            eprintln!("micrometer: not every byte was taken; what is left is lost with the port");
        }
        Ok(())
    }

    fn follow_words(&mut self, stop: &Stop) -> anyhow::Result<()> {
        say("Enter presses the data button; help lists the words");
        let lines = terminal::lines();
        while !stop.is_set() {
            if self.plug_at.is_some_and(|at| Instant::now() >= at) {
                self.plug()?;
            }
            let line = match lines.recv_timeout(Duration::from_millis(50)) {
                Ok(line) => line,
                Err(RecvTimeoutError::Timeout) => continue,
                Err(RecvTimeoutError::Disconnected) => break,
            };
            match commands::parse(&line) {
                Ok(Command::Quit) => break,
                Ok(command) => self.obey(command)?,
                Err(error) => say(error),
            }
        }
        self.micrometer.taken_within(Duration::from_secs(1));
        Ok(())
    }

    fn obey(&mut self, command: Command) -> anyhow::Result<()> {
        match command {
            Command::Press(count) => {
                for _ in 0..count {
                    self.tell_refusal(|bench| bench.press())?;
                }
            }
            Command::Err(mistake) => self.tell_refusal(|bench| {
                bench
                    .micrometer
                    .press_wrongly(mistake)?
                    .iter()
                    .for_each(tell);
                Ok(())
            })?,
            Command::Noise => self.tell_refusal(|bench| {
                let noise = bench.micrometer.make_noise()?;
                say(format_args!("noise {} bytes, no line end", noise.len()));
                Ok(())
            })?,
            Command::NextPiece => {
                self.micrometer.next_piece();
                say(format_args!(
                    "piece {} is in the machine",
                    self.micrometer.progress().piece
                ));
            }
            Command::Show(unit) => {
                self.micrometer.show_in(unit);
                say(format_args!("the display shows {}", unit.as_str()));
            }
            Command::Unplug(seconds) => self.pull_plug(seconds),
            Command::Plug => self.plug()?,
            Command::Help => say(commands::HELP),
            Command::Quit => {}
        }
        Ok(())
    }

    /// A press that sends nothing is told, not fatal: the person at the instrument sees it and goes on.
    fn tell_refusal(
        &mut self,
        act: impl FnOnce(&mut Bench) -> anyhow::Result<()>,
    ) -> anyhow::Result<()> {
        if let Err(error) = act(self) {
            say(format_args!("{error:#}"));
        } else if !self.micrometer.taken_within(Duration::from_millis(300)) {
            say("no program has taken it yet; it waits in the port");
        }
        Ok(())
    }

    fn press(&mut self) -> anyhow::Result<()> {
        self.micrometer.press()?.iter().for_each(tell);
        self.presses += 1;
        if let Some((after, seconds)) = self.unplug
            && after == self.presses
        {
            self.micrometer.taken_within(Duration::from_secs(1));
            self.pull_plug(Some(seconds));
        }
        Ok(())
    }

    fn pull_plug(&mut self, seconds: Option<f64>) {
        self.micrometer.unplug();
        self.plug_at = seconds.map(|seconds| Instant::now() + Duration::from_secs_f64(seconds));
        say("unplugged");
    }

    fn plug(&mut self) -> anyhow::Result<()> {
        self.plug_at = None;
        self.micrometer.plug()?;
        say(format_args!(
            "plugged in at {}",
            self.micrometer.link().display()
        ));
        Ok(())
    }
}

fn tell(sent: &Sent) {
    let progress = sent.progress;
    let mistake = sent
        .mistake
        .map(|mistake| format!(", {}", mistake.words()))
        .unwrap_or_default();
    say(format_args!(
        "sent {} {} (piece {}, pass {} of {}{mistake})",
        sent.shown.text(),
        sent.shown.unit.as_str(),
        progress.piece,
        progress.pass,
        progress.passes,
    ));
}
