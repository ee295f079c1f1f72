//! `overwire convert`: JSON lines in, JSON lines out, numbers in full precision.
//!
//! A line names a thread by `thread` or `geometry`, the `wires`, and `over_wires` or `pitch_diameter`; the
//! answer is the same line with the rest filled in. What cannot be had is null. A line that cannot be
//! used is answered with `error` and the next one is read.
//!
//! # Two ways through
//!
//! Streams are long and their lines alike: one thread, one set of wires, a new reading. So a line is
//! first read as a [`plain`] one, borrowed from the input, and what it shares with lines before it
//! (thread, limits, judge, wire range) is taken from a [`known::Known`] cache of bounded size. Whatever
//! is not plain (a null, a doubled name, an escaped letter, any mistake) goes the long way round by
//! [`serde_json::Value`], which also words the errors. Both ways end in the same [`answer::Answer`].

mod answer;
mod known;
mod line;
mod plain;

use std::io::{BufRead, BufReader, BufWriter, Read as _, Write as _};
use std::process::ExitCode;

use serde_json::{Map, Value, json};

use answer::Answer;
use known::{Known, Ready};
use line::{Asked, Line};
use plain::PlainLine;

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLE)]
pub struct Convert {}

const EXAMPLE: &str = "\
Example line in:
  {\"thread\":\"9/16-18 UNF-2A\",\"wires\":0.0395,\"over_wires\":0.5930}
  {\"geometry\":{\"pitch\":3,\"starts\":4,\"leading_flank_deg\":15,
    \"trailing_flank_deg\":15,\"major_diameter\":24},\"unit\":\"mm\",
    \"wires\":[1.553,1.553,1.553],\"pitch_diameter\":22.3}
wires: one diameter, or three with the wire on the single side first.
unit: mm or in, for every length in the line; left out, the thread's own
(mm with a geometry).";

/// Bytes read and written at once.
const AT_ONCE: usize = 1 << 16;

/// The longest line taken.
const LONGEST_LINE: u64 = 1 << 20;

impl Convert {
    pub fn act(self) -> ExitCode {
        let mut input = BufReader::with_capacity(AT_ONCE, std::io::stdin().lock());
        let mut out = BufWriter::with_capacity(AT_ONCE, std::io::stdout().lock());
        let mut converter = Converter::default();
        let mut line = Vec::new();
        loop {
            // What is answered goes out before the next line is waited for, so that a program can
            // ask and wait.
            if !input.buffer().contains(&b'\n') && out.flush().is_err() {
                return ExitCode::SUCCESS;
            }
            match next_line(&mut input, &mut line) {
                Ok(Taken::Nothing) => return ExitCode::SUCCESS,
                Ok(Taken::Line) if line.iter().all(u8::is_ascii_whitespace) => continue,
                Ok(Taken::Line) => converter.answer(&line),
                Ok(Taken::TooLong) => converter.refuse_long_line(),
                Err(error) => {
                    super::complain(&format!("the input cannot be read: {error}"), "");
                    return ExitCode::from(74);
                }
            }
            if out.write_all(&converter.answer).is_err() {
                return ExitCode::SUCCESS;
            }
        }
    }
}

/// What came in.
enum Taken {
    Line,
    TooLong,
    Nothing,
}

/// The next line, without its end. Of one that is too long nothing is kept.
fn next_line(input: &mut impl BufRead, line: &mut Vec<u8>) -> std::io::Result<Taken> {
    line.clear();
    let taken = input.by_ref().take(LONGEST_LINE).read_until(b'\n', line)?;
    if line.last() == Some(&b'\n') {
        line.pop();
    } else if taken as u64 == LONGEST_LINE {
        line.clear();
        input.skip_until(b'\n')?;
        return Ok(Taken::TooLong);
    }
    Ok(match taken {
        0 => Taken::Nothing,
        _ => Taken::Line,
    })
}

/// Answers line after line; remembers what the lines have in common.
#[derive(Default)]
struct Converter {
    known: Known,
    key: Vec<u8>,
    answer: Vec<u8>,
}

impl Converter {
    /// Puts the answer to a line, with its line end, in the place of the one before.
    fn answer(&mut self, line: &[u8]) {
        if !self.answer_plain(line) {
            self.write(&the_long_way(line));
        }
    }

    fn refuse_long_line(&mut self) {
        self.write(&json!({
            "error": format!("a line of more than {LONGEST_LINE} bytes is not read")
        }));
    }

    /// The quick way; false when the line is not a plain one, or cannot be used.
    fn answer_plain(&mut self, line: &[u8]) -> bool {
        let Some(plain) = PlainLine::read(line) else {
            return false;
        };
        self.key.clear();
        plain.write_key(&mut self.key);
        let ready = self.known.get(&self.key, || Ready::of(&plain.to_line()));
        let Some(ready) = ready else {
            return false;
        };
        let Ok(asked) = Asked::of(plain.over_wires(), plain.pitch_diameter(), ready.unit) else {
            return false;
        };
        let mut answer = Answer::to(&ready, &asked);
        plain.repeat_in(&mut answer);
        self.write(&answer);
        true
    }

    fn write(&mut self, answer: &impl serde::Serialize) {
        self.answer.clear();
        // Writing numbers and text into memory cannot fail.
        if serde_json::to_writer(&mut self.answer, answer).is_err() {
            self.answer.clear();
        }
        self.answer.push(b'\n');
    }
}

/// The answer to a line that may hold anything.
fn the_long_way(line: &[u8]) -> Value {
    let given: Value = match serde_json::from_slice(line) {
        Ok(given) => given,
        Err(error) => return json!({ "error": format!("not JSON: {error}") }),
    };
    match converted(&given) {
        Ok(answer) => Value::Object(answer),
        Err(error) => {
            let mut answer = given.as_object().cloned().unwrap_or_default();
            answer.insert("error".to_owned(), Value::String(error));
            Value::Object(answer)
        }
    }
}

fn converted(given: &Value) -> Result<Map<String, Value>, String> {
    let Some(fields) = given.as_object() else {
        return Err("each line is one JSON object".to_owned());
    };
    let line: Line = serde_json::from_value(given.clone()).map_err(|error| error.to_string())?;
    let ready = Ready::of(&line)?;
    let asked = Asked::of(line.over_wires, line.pitch_diameter, ready.unit)?;
    let mut answer = fields.clone();
    let found = serde_json::to_value(Answer::to(&ready, &asked));
    if let Ok(Value::Object(found)) = found {
        answer.extend(found);
    }
    Ok(answer)
}

#[cfg(test)]
mod tests;
