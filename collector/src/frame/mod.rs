//! Where a frame is decoded: bytes in, frames and refusals out.
//!
//! [`Decoder::push`] takes whatever bytes have come, however they were cut, and gives what they complete.
//! It does no I/O, keeps at most the profile's longest frame, and where the splits fall does not
//! matter. Between frames, noise is skipped and counted; what looks like a frame and is not one is
//! refused with a reason and its bytes. A frame is taken only if the profile's pattern holds for the
//! *whole* of it, so a digit lost or doubled on the way cannot pass where the pattern fixes the count.
//!
//! Assumed of the bytes: the port marks damaged characters as [`damage`] describes.

pub mod damage;

use overwire_config::Profile;
use overwire_core::decimal::Decimal;
use overwire_core::units::Unit;

use damage::Byte;

/// One message from an instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Its bytes as received, without the end.
    pub raw: Vec<u8>,
    /// The number, as the display showed it.
    pub number: Decimal,
    /// The unit, if the frame carries one.
    pub unit: Option<Unit>,
    /// The channel mark, if the frame carries one.
    pub channel: Option<String>,
}

/// What some bytes completed.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A frame.
    Frame(Frame),
    /// Something that ended like a frame and is none.
    Refused(Refused),
    /// So many bytes of noise were passed over.
    Noise(usize),
}

/// Bytes that were refused, and why. They are counted and shown, never silently dropped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Why.
    pub reason: Reason,
    /// The bytes (of an overlong line, its last ones).
    pub raw: Vec<u8>,
}

/// Why bytes are no frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// The profile's pattern does not hold.
    OtherShape,
    /// No end came within the longest frame.
    TooLong,
    /// The port reported a character as damaged on the line.
    DamagedCharacter,
    /// The unit part holds a mark that the profile does not name.
    UnknownUnit,
    /// The number has more digits than can be kept exactly.
    TooManyDigits,
    /// The port went away in the middle of a frame.
    CutShort,
}

impl Reason {
    /// Code, for programs.
    pub fn code(self) -> &'static str {
        match self {
            Reason::OtherShape => "other-shape",
            Reason::TooLong => "too-long",
            Reason::DamagedCharacter => "damaged-character",
            Reason::UnknownUnit => "unknown-unit",
            Reason::TooManyDigits => "too-many-digits",
            Reason::CutShort => "cut-short",
        }
    }

    /// What it means and what to do, for a person.
    pub fn sentence(self) -> &'static str {
        match self {
            Reason::OtherShape => {
                "it does not have the shape this profile describes; is it the right profile, and are baud and parity right?"
            }
            Reason::TooLong => "no end of line came in time; is it the right profile?",
            Reason::DamagedCharacter => {
                "a character was damaged on the line, so the number cannot be trusted; press again, and check cable, baud and parity"
            }
            Reason::UnknownUnit => "its unit is not one the profile names",
            Reason::TooManyDigits => "its number has more digits than a micrometer shows",
            Reason::CutShort => "the port went away in the middle of it; press again",
        }
    }
}

/// Incremental decoder of one port's bytes.
#[derive(Debug)]
pub struct Decoder {
    profile: Profile,
    marks: damage::Unmarker,
    ends_here: [bool; 256],
    line: Vec<u8>,
    damaged: bool,
    /// Noise that was not told of yet.
    noise: usize,
    /// The byte before the line, where the line was too long and lost its front.
    lost_front: Option<u8>,
}

impl Decoder {
    /// A decoder for a profile.
    pub fn new(profile: Profile) -> Decoder {
        let mut ends_here = [false; 256];
        for last in profile.ends.iter().filter_map(|end| end.last()) {
            ends_here[usize::from(*last)] = true;
        }
        let line = Vec::with_capacity(profile.longest + 4);
        Decoder {
            profile,
            marks: damage::Unmarker::default(),
            ends_here,
            line,
            damaged: false,
            noise: 0,
            lost_front: None,
        }
    }

    /// Takes bytes as they came from the port and gives what they complete, in order.
    pub fn push(&mut self, bytes: &[u8], mut give: impl FnMut(Outcome)) {
        for &received in bytes {
            match self.marks.push(received) {
                None => {}
                Some(Byte::Good(byte)) => self.take(byte, &mut give),
                Some(Byte::Damaged) => self.damaged = true,
            }
        }
        // A line without end: say now and then how much was passed over.
        if self.noise > 4096 {
            self.tell_noise(&mut give);
        }
    }

    /// The port went away: what was begun is reported, and nothing of it joins what comes next.
    pub fn cut(&mut self) -> Option<Refused> {
        self.marks = damage::Unmarker::default();
        let begun = !self.line.is_empty() || self.damaged;
        let raw = std::mem::take(&mut self.line);
        self.start_line();
        begun.then_some(Refused {
            reason: Reason::CutShort,
            raw,
        })
    }

    fn take(&mut self, byte: u8, give: &mut impl FnMut(Outcome)) {
        self.line.push(byte);
        if self.ends_here[usize::from(byte)]
            && let Some(end) = self
                .profile
                .ends
                .iter()
                .find(|end| self.line.ends_with(end))
        {
            let length = self.line.len() - end.len();
            self.finish(length, give);
            return;
        }
        if self.line.len() > self.profile.longest + 4 {
            self.lost_front = Some(self.line.remove(0));
            self.noise += 1;
        }
    }

    fn finish(&mut self, length: usize, give: &mut impl FnMut(Outcome)) {
        if length == 0 && !self.damaged {
            self.line.clear();
            self.tell_noise(give);
            return;
        }
        let overlong = self.lost_front.is_some() || length > self.profile.longest;
        let outcome = if self.damaged {
            Err(Reason::DamagedCharacter)
        } else {
            self.find_frame(length)
        };
        match outcome {
            Ok((skipped, frame)) => {
                self.noise += skipped;
                self.tell_noise(give);
                give(Outcome::Frame(frame));
            }
            Err(reason) => {
                self.tell_noise(give);
                let reason = if overlong && reason == Reason::OtherShape {
                    Reason::TooLong
                } else {
                    reason
                };
                give(Outcome::Refused(Refused {
                    reason,
                    raw: self.line[..length].to_vec(),
                }));
            }
        }
        self.start_line();
    }

    fn tell_noise(&mut self, give: &mut impl FnMut(Outcome)) {
        if self.noise > 0 {
            give(Outcome::Noise(std::mem::take(&mut self.noise)));
        }
    }

    fn start_line(&mut self) {
        self.line.clear();
        self.damaged = false;
        self.lost_front = None;
    }

    /// The frame that is the line, or that ends it with only noise before.
    fn find_frame(&self, length: usize) -> Result<(usize, Frame), Reason> {
        let line = &self.line[..length];
        let whole_may_match = self.lost_front.is_none() && length <= self.profile.longest;
        if whole_may_match && self.profile.pattern.is_match(line) {
            return Ok((0, self.read(line)?));
        }
        let first = usize::from(whole_may_match).max(length.saturating_sub(self.profile.longest));
        for start in first..length {
            let before = if start == 0 {
                self.lost_front
            } else {
                Some(line[start - 1])
            };
            if may_start_after(before, line[start]) && self.profile.pattern.is_match(&line[start..])
            {
                return Ok((start, self.read(&line[start..])?));
            }
        }
        Err(Reason::OtherShape)
    }

    fn read(&self, bytes: &[u8]) -> Result<Frame, Reason> {
        let parts = self
            .profile
            .pattern
            .captures(bytes)
            .ok_or(Reason::OtherShape)?;
        let text = |name: &str| {
            parts
                .name(name)
                .and_then(|part| std::str::from_utf8(part.as_bytes()).ok())
                .filter(|part| !part.is_empty())
        };
        let digits: String = text("number")
            .ok_or(Reason::OtherShape)?
            .chars()
            .filter(|c| *c != ' ')
            .collect();
        let number = Decimal::parse(&plain(&digits)).map_err(|_| Reason::TooManyDigits)?;
        let number = match self.profile.scale_places {
            Some(places) if number.places() == 0 => {
                Decimal::from_steps(number.steps(), places).map_err(|_| Reason::TooManyDigits)?
            }
            _ => number,
        };
        let unit = match text("unit") {
            None => None,
            Some(mark) => {
                let known = self.profile.unit_marks.get(&mark.to_ascii_lowercase());
                Some(*known.ok_or(Reason::UnknownUnit)?)
            }
        };
        Ok(Frame {
            raw: bytes.to_vec(),
            number,
            unit,
            channel: text("channel").map(str::to_owned),
        })
    }
}

/// IEEE 488.2 lets a number begin or end with its point: `.5`, `12.`.
fn plain(digits: &str) -> String {
    let (sign, rest) = match digits.strip_prefix(['+', '-']) {
        Some(rest) => (digits.get(..1).unwrap_or_default(), rest),
        None => ("", digits),
    };
    let zero = if rest.starts_with('.') { "0" } else { "" };
    format!("{sign}{zero}{}", rest.trim_end_matches('.'))
}

/// Whether a frame can begin at a byte, given the one before it: noise may stand before a frame, but
/// never a character that could belong to its number.
fn may_start_after(before: Option<u8>, first: u8) -> bool {
    let Some(before) = before else { return true };
    let of_number = before.is_ascii_digit() || matches!(before, b'.' | b',' | b'+' | b'-');
    if matches!(first, b'+' | b'-') {
        return !of_number && !matches!(before, b'e' | b'E');
    }
    !of_number && !before.is_ascii_alphanumeric() && before != b' '
}

#[cfg(test)]
mod tests;
