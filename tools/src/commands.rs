//! Words typed at a simulated micrometer.

use overwire_core::units::Unit;

use crate::mistake::Mistake;

/// Most presses that one command may ask for.
pub const MOST_PRESSES: u32 = 1000;

/// Longest time, seconds, that one command may keep a plug pulled.
pub const LONGEST_UNPLUG_SECONDS: f64 = 3600.0;

/// The words, one a line, for `help`.
pub const HELP: &str = "\
Enter       press the data button (takes the next pass first, if this one is measured)
press N     press it N times
next        put the next blank in the machine
double      press twice within a quarter of a second
nowire      press with the single wire fallen out
crest       press with a wire riding on a crest
zero        press with the jaws closed
noise       a burst of noise on the line, no reading
unplug [S]  pull the plug (for S seconds, if given)
plug        put the plug in again
inch, mm    switch the display to inch, to millimetre
help        these lines
quit        end";

/// What a person at the instrument does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Command {
    /// Press the data button so many times.
    Press(u32),
    /// Put the next blank in the machine.
    NextPiece,
    /// Make a mistake.
    Err(Mistake),
    /// Put noise on the line.
    Noise,
    /// Pull the plug, for so many seconds or until plugged in again.
    Unplug(Option<f64>),
    /// Put the plug in.
    Plug,
    /// Switch the display.
    Show(Unit),
    /// List the words.
    Help,
    /// End.
    Quit,
}

/// Why a line is no command.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CommandError {
    /// The word is not known.
    #[error("`{0}` is no command; `help` lists them")]
    Unknown(String),
    /// The number is missing its place or its bounds.
    #[error("`{word}`: `{found}` is not {wanted}")]
    BadNumber {
        /// The command.
        word: &'static str,
        /// What stood behind it.
        found: String,
        /// What may stand there.
        wanted: &'static str,
    },
    /// More stands on the line than the command takes.
    #[error("`{word}` stands alone, `{rest}` is too much")]
    TooMuch {
        /// The command.
        word: String,
        /// What stood behind it.
        rest: String,
    },
}

/// Reads one line; an empty one is a press.
///
/// # Errors
/// [`CommandError`] names what cannot be read.
pub fn parse(line: &str) -> Result<Command, CommandError> {
    let line = line.trim().to_lowercase();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((&line, ""));
    let rest = rest.trim();
    match (word, rest) {
        ("" | "press", "") => return Ok(Command::Press(1)),
        ("press", _) => return presses(rest),
        ("unplug", "") => return Ok(Command::Unplug(None)),
        ("unplug", _) => return unplug(rest),
        _ => {}
    }
    let command = match word {
        "next" => Command::NextPiece,
        "double" => Command::Err(Mistake::DoublePress),
        "nowire" => Command::Err(Mistake::MissingWire),
        "crest" => Command::Err(Mistake::WireOnCrest),
        "zero" => Command::Err(Mistake::ClosedJaws),
        "noise" => Command::Noise,
        "plug" => Command::Plug,
        "inch" | "in" => Command::Show(Unit::Inch),
        "mm" => Command::Show(Unit::Millimetre),
        "help" | "?" => Command::Help,
        "quit" | "exit" => Command::Quit,
        unknown => return Err(CommandError::Unknown(unknown.to_owned())),
    };
    if rest.is_empty() {
        return Ok(command);
    }
    Err(CommandError::TooMuch {
        word: word.to_owned(),
        rest: rest.to_owned(),
    })
}

fn presses(rest: &str) -> Result<Command, CommandError> {
    match rest.parse() {
        Ok(count @ 1..=MOST_PRESSES) => Ok(Command::Press(count)),
        _ => Err(CommandError::BadNumber {
            word: "press",
            found: rest.to_owned(),
            wanted: "a whole number from 1 to 1000",
        }),
    }
}

fn unplug(rest: &str) -> Result<Command, CommandError> {
    match rest.parse::<f64>() {
        Ok(seconds) if (0.0..=LONGEST_UNPLUG_SECONDS).contains(&seconds) => {
            Ok(Command::Unplug(Some(seconds)))
        }
        _ => Err(CommandError::BadNumber {
            word: "unplug",
            found: rest.to_owned(),
            wanted: "a number of seconds from 0 to 3600",
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read() {
        assert_eq!(parse(""), Ok(Command::Press(1)));
        assert_eq!(parse("  Press 12 "), Ok(Command::Press(12)));
        assert_eq!(parse("unplug"), Ok(Command::Unplug(None)));
        assert_eq!(parse("unplug 2.5"), Ok(Command::Unplug(Some(2.5))));
        assert_eq!(parse("nowire"), Ok(Command::Err(Mistake::MissingWire)));
        assert_eq!(parse("inch"), Ok(Command::Show(Unit::Inch)));
    }

    #[test]
    fn what_cannot_be_read_is_named() {
        let refusal = |line| parse(line).unwrap_err().to_string();
        assert_eq!(refusal("pres"), "`pres` is no command; `help` lists them");
        assert_eq!(
            refusal("press 0"),
            "`press`: `0` is not a whole number from 1 to 1000"
        );
        assert_eq!(
            refusal("press 1001"),
            "`press`: `1001` is not a whole number from 1 to 1000"
        );
        assert_eq!(
            refusal("unplug NaN"),
            "`unplug`: `nan` is not a number of seconds from 0 to 3600"
        );
        assert_eq!(refusal("next 3"), "`next` stands alone, `3` is too much");
    }

    #[test]
    fn every_word_of_the_help_is_a_command() {
        for line in HELP.lines() {
            let word = line.trim().split([' ', ',']).next().unwrap_or_default();
            let word = if word == "Enter" { "" } else { word };
            assert!(parse(word).is_ok(), "{line}");
        }
    }
}
