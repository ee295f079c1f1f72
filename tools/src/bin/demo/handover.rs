//! The shop handed over to the person at the terminal.

use std::sync::mpsc::RecvTimeoutError;
use std::time::{Duration, Instant};

use overwire_tools::commands::{self, Command};
use overwire_tools::instrument::Micrometer;
use overwire_tools::terminal::{self, say};

use crate::floor::Floor;
use crate::story::{BENCH, LATHE};
use crate::words;

/// What the demonstration adds to the words of a micrometer.
const MORE_HELP: &str = "\
lathe-1     go to the lathe: Enter cuts, measures, inspects and starts the next piece
bench-2     go to the bench: Enter measures the next finished spindle";

/// Where the person stands.
struct Person {
    at: usize,
    plug_at: [Option<Instant>; 2],
}

/// Obeys typed words until `quit`, the end of the input or a signal.
pub fn obey_words(floor: &mut Floor) -> anyhow::Result<()> {
    let mut person = Person {
        at: LATHE,
        plug_at: [None; 2],
    };
    terminal::forget_typed();
    let lines = terminal::lines();
    while !floor.stop.is_set() {
        person.plug_when_due(floor)?;
        let line = match lines.recv_timeout(Duration::from_millis(100)) {
            Ok(line) => line,
            Err(RecvTimeoutError::Timeout) => {
                // Notices a daemon that has ended by itself without asking its page all the time.
                floor.check_daemon()?;
                continue;
            }
            Err(RecvTimeoutError::Disconnected) => break,
        };
        if line.trim() == "lathe-1" || line.trim() == "bench-2" {
            person.at = if line.trim() == "bench-2" {
                BENCH
            } else {
                LATHE
            };
            say(format_args!(
                "you stand at {}",
                floor.places[person.at].station.name
            ));
            continue;
        }
        match commands::parse(&line) {
            Ok(Command::Quit) => break,
            Ok(command) => {
                if let Err(error) = person.obey(floor, command) {
                    floor.check_daemon()?;
                    say(format_args!("{error:#}"));
                }
            }
            Err(error) => say(error),
        }
    }
    Ok(())
}

impl Person {
    fn obey(&mut self, floor: &mut Floor, command: Command) -> anyhow::Result<()> {
        match command {
            Command::Press(count) => {
                for _ in 0..count {
                    if floor.stop.is_set() {
                        break;
                    }
                    self.go_on(floor)?;
                    self.show(floor, |micrometer| Ok(micrometer.press()?))?;
                }
            }
            Command::Err(mistake) => {
                self.show(floor, |micrometer| Ok(micrometer.press_wrongly(mistake)?))?;
            }
            Command::Noise => {
                let noise = floor.places[self.at].micrometer.make_noise()?;
                say(format_args!(
                    "{} bytes of noise; the next frame comes glued to them",
                    noise.len()
                ));
            }
            Command::NextPiece => {
                floor.next_piece(self.at)?;
                self.say_piece(floor);
            }
            Command::Show(unit) => {
                floor.places[self.at].micrometer.show_in(unit);
                say(format_args!("the display shows {}", unit.as_str()));
            }
            Command::Unplug(seconds) => {
                floor.places[self.at].micrometer.unplug();
                self.plug_at[self.at] =
                    seconds.map(|seconds| Instant::now() + Duration::from_secs_f64(seconds));
                say(format_args!(
                    "unplugged  ->  {}",
                    floor.await_link(self.at, false)?
                ));
            }
            Command::Plug => self.plug(floor, self.at)?,
            Command::Help => say(format_args!("{}\n{MORE_HELP}", commands::HELP)),
            Command::Quit => {}
        }
        Ok(())
    }

    /// What comes after a measured size: a piece finished at the lathe is inspected once; then the next
    /// piece has its turn.
    fn go_on(&self, floor: &mut Floor) -> anyhow::Result<()> {
        let place = &floor.places[self.at];
        if !place.micrometer.is_finished() {
            return Ok(());
        }
        if place.purpose == "cutting" {
            floor.set_purpose(self.at, "inspecting")?;
            say("         wires hung again; this reading inspects the finished thread");
        } else {
            floor.next_piece(self.at)?;
            self.say_piece(floor);
        }
        Ok(())
    }

    fn say_piece(&self, floor: &Floor) {
        let piece = floor.places[self.at].micrometer.progress().piece;
        let place = if self.at == LATHE {
            "in the machine"
        } else {
            "at the bench"
        };
        say(format_args!("         piece {piece} is {place}"));
    }

    fn show(
        &self,
        floor: &mut Floor,
        act: impl FnOnce(&mut Micrometer) -> anyhow::Result<Vec<overwire_tools::instrument::Sent>>,
    ) -> anyhow::Result<()> {
        let told = floor.act(self.at, act)?;
        let name = floor.places[self.at].station.name;
        told.iter().for_each(|told| say(words::line(name, told)));
        Ok(())
    }

    fn plug(&mut self, floor: &mut Floor, place: usize) -> anyhow::Result<()> {
        self.plug_at[place] = None;
        floor.places[place].micrometer.plug()?;
        say(format_args!(
            "plugged in  ->  {}",
            floor.await_link(place, true)?
        ));
        Ok(())
    }

    fn plug_when_due(&mut self, floor: &mut Floor) -> anyhow::Result<()> {
        for place in [LATHE, BENCH] {
            if self.plug_at[place].is_some_and(|at| Instant::now() >= at) {
                self.plug(floor, place)?;
            }
        }
        Ok(())
    }
}
