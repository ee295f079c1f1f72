//! The usual mistakes, in words.

use crate::units::{Length, Unit};

/// Which wire of the three was another one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OtherSeat {
    /// The wire alone under its anvil.
    Lone,
    /// One of the two in neighbouring grooves.
    OneOfPair,
}

/// A usual mistake.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Cause {
    /// The display was set to this unit.
    OtherUnit {
        /// The unit it was set to.
        shown_in: Unit,
    },
    /// A wire has fallen out and the anvil lies on the crests of one side.
    WireFallenOut,
    /// One wire sits on the crest.
    WireOnCrest,
    /// All wires sit on the crest.
    WiresOnCrest,
    /// No wire is in place: the anvils lie on the crests.
    NoWires,
    /// The zero is off, as the last zero check showed.
    ZeroOff {
        /// What was read too much.
        offset: Length,
    },
    /// The thread of another job was measured.
    OtherJob {
        /// The job.
        name: String,
    },
    /// Another set of wires was used.
    OtherWires {
        /// The set.
        set: String,
    },
    /// One wire came from another set.
    OneOtherWire {
        /// The set it came from.
        set: String,
        /// Where it sat.
        seat: OtherSeat,
    },
    /// The job was given the lead in the place of the pitch.
    LeadForPitch {
        /// What the pitch would then be.
        pitch: Length,
    },
    /// The job was given a pitch that had been divided by the starts once too often.
    PitchDividedTwice {
        /// What the pitch would then be.
        pitch: Length,
    },
    /// One turn of the thimble too many or too few was read off.
    ThimbleTurn {
        /// One turn, with the sign it has in the reading.
        by: Length,
    },
}

impl Cause {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Cause::OtherUnit { .. } => "other-unit",
            Cause::WireFallenOut => "wire-fallen-out",
            Cause::WireOnCrest => "wire-on-crest",
            Cause::WiresOnCrest => "wires-on-crest",
            Cause::NoWires => "no-wires",
            Cause::ZeroOff { .. } => "zero-off",
            Cause::OtherJob { .. } => "other-job",
            Cause::OtherWires { .. } => "other-wires",
            Cause::OneOtherWire { .. } => "one-other-wire",
            Cause::LeadForPitch { .. } => "lead-for-pitch",
            Cause::PitchDividedTwice { .. } => "pitch-divided-twice",
            Cause::ThimbleTurn { .. } => "thimble-turn",
        }
    }

    /// The commonest first. A habit of the trade, no published source.
    pub(super) const fn commonness(&self) -> u8 {
        match self {
            Cause::WireFallenOut => 0,
            Cause::OtherUnit { .. } => 1,
            Cause::ZeroOff { .. } => 2,
            Cause::OtherJob { .. } => 3,
            Cause::OtherWires { .. } => 4,
            Cause::ThimbleTurn { .. } => 5,
            Cause::WireOnCrest => 6,
            Cause::WiresOnCrest => 7,
            Cause::NoWires => 8,
            Cause::OneOtherWire { .. } => 9,
            Cause::LeadForPitch { .. } => 10,
            Cause::PitchDividedTwice { .. } => 11,
        }
    }

    /// What may have happened, as a question.
    pub fn question(&self, unit: Unit, places: u8) -> String {
        let text = |length: &Length| length.to_text(unit, places);
        match self {
            Cause::OtherUnit { shown_in } => format!("Was the display set to {shown_in}?"),
            Cause::WireFallenOut => {
                "Has a wire fallen out, so that the anvil lies on the crests?".to_owned()
            }
            Cause::WireOnCrest => "Does one wire sit on the crest, not in its groove?".to_owned(),
            Cause::WiresOnCrest => "Do the wires sit on the crests, not in their grooves?".into(),
            Cause::NoWires => "Was this read on the crests, without wires?".to_owned(),
            Cause::ZeroOff { offset } => format!(
                "Is the zero still off by {}, as at the last zero check?",
                text(offset)
            ),
            Cause::OtherJob { name } => format!("Is this a part of job {name}?"),
            Cause::OtherWires { set } => format!("Are these the wires of set {set}?"),
            Cause::OneOtherWire { set, seat } => {
                let seat = match seat {
                    OtherSeat::Lone => "the lone wire",
                    OtherSeat::OneOfPair => "one wire of the pair",
                };
                format!("Is {seat} from set {set}?")
            }
            Cause::LeadForPitch { pitch } => format!(
                "Was the lead entered as the pitch? From groove to groove it would be {}.",
                text(pitch)
            ),
            Cause::PitchDividedTwice { pitch } => format!(
                "Was the pitch divided by the starts once too often? From groove to groove it \
                 would be {}.",
                text(pitch)
            ),
            Cause::ThimbleTurn { by } => format!(
                "Was a turn of the thimble misread, {} too {}?",
                text(&by.abs()),
                if *by > Length::ZERO { "much" } else { "little" }
            ),
        }
    }

    /// What to do next.
    pub const fn what_to_do(&self) -> &'static str {
        match self {
            Cause::OtherUnit { .. } => "Look at the unit on the display, set it, and read again.",
            Cause::WireFallenOut | Cause::NoWires => {
                "Lift the wires, see that all three are seated, and read again."
            }
            Cause::WireOnCrest | Cause::WiresOnCrest => {
                "Seat every wire in its groove and read again; a groove still too shallow cannot \
                 be measured with these wires yet."
            }
            Cause::ZeroOff { .. } => "Wipe the anvils, check and set the zero, and read again.",
            Cause::OtherJob { .. } => "Look at the drawing and set the job that is on the machine.",
            Cause::OtherWires { .. } => {
                "Read the label of the set, choose it here, and read again."
            }
            Cause::OneOtherWire { .. } => {
                "Measure the three wires against each other; wires of two sets are never mixed."
            }
            Cause::LeadForPitch { .. } | Cause::PitchDividedTwice { .. } => {
                "Measure from groove to groove with a scale, and correct the job if it is wrong."
            }
            Cause::ThimbleTurn { .. } => "Read the thimble once more against the sleeve.",
        }
    }
}
