//! Undoes the marks by which a port says that a character was damaged on the line.
//!
//! Linux, with `PARMRK` and `INPCK` set and `IGNPAR` clear, hands a character with a parity or framing
//! error on as `FF 00 xx` and a good `FF` as `FF FF` (termios(3)). Without that, the usual setting drops
//! the character: a digit vanishes from a number and the number still reads.

/// A character as the line gave it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Byte {
    /// Arrived whole.
    Good(u8),
    /// Arrived with a parity or framing error; what it was is not known.
    Damaged,
}

/// Undoes the marks, one byte at a time.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct Unmarker {
    state: State,
}

#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
enum State {
    #[default]
    Plain,
    Marked,
    MarkedZero,
}

impl Unmarker {
    /// Takes a byte from the port; gives a character when one is complete.
    pub fn push(&mut self, byte: u8) -> Option<Byte> {
        let (state, out) = match (self.state, byte) {
            (State::Plain, 0xFF) => (State::Marked, None),
            (State::Plain, byte) => (State::Plain, Some(Byte::Good(byte))),
            (State::Marked, 0x00) => (State::MarkedZero, None),
            // `FF FF` is a good FF. Anything else cannot come from a port that marks; take it as it is.
            (State::Marked, byte) => (State::Plain, Some(Byte::Good(byte))),
            (State::MarkedZero, _) => (State::Plain, Some(Byte::Damaged)),
        };
        self.state = state;
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(bytes: &[u8]) -> Vec<Byte> {
        let mut unmarker = Unmarker::default();
        bytes
            .iter()
            .filter_map(|byte| unmarker.push(*byte))
            .collect()
    }

    #[test]
    fn marks_are_undone() {
        use Byte::{Damaged, Good};
        assert_eq!(all(b"12"), [Good(b'1'), Good(b'2')]);
        assert_eq!(all(b"\xFF\xFF"), [Good(0xFF)]);
        assert_eq!(
            all(b"1\xFF\x003\xFF\xFF2"),
            [Good(b'1'), Damaged, Good(0xFF), Good(b'2')]
        );
        assert_eq!(all(b"\xFF\x00\xFF1"), [Damaged, Good(b'1')]);
    }
}
