//! Whether a set of wires can be used on a thread at all.

use thiserror::Error;

use super::words;
use crate::helix::{self, Seated};
use crate::seat::{self, Seat, WireRange};
use crate::thread::Thread;
use crate::units::{Length, Unit};
use crate::wires::Wires;

/// Wires of one set that differ by more than this share of their mean are not a set.
pub const LARGEST_MIX: f64 = 0.01;

/// Why these wires cannot be used on this thread.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum JudgeError {
    /// The three wires are not one set.
    #[error(
        "wires of {} and {} are not one set; wires of a set agree within a hundredth",
        words::wire_text(*.thinnest, *.unit), words::wire_text(*.thickest, *.unit)
    )]
    MixedWires {
        /// The thinnest of the three.
        thinnest: Length,
        /// The thickest of the three.
        thickest: Length,
        /// The unit of the thread, for the sentence.
        unit: Unit,
    },
    /// The wire lies below the crest, or on the root.
    #[error(
        "wire diameter {} is too small for {designation}: {}",
        words::wire_text(*.wire, *.unit), words::usable_text(.range, *.unit)
    )]
    WireTooSmall {
        /// The thinnest wire of the set.
        wire: Length,
        /// The thread.
        designation: String,
        /// What can be used.
        range: Box<WireRange>,
        /// The unit of the thread, for the sentence.
        unit: Unit,
    },
    /// The wire rides on the crest's edges, or on its neighbour.
    #[error(
        "wire diameter {} is too large for {designation}: {}",
        words::wire_text(*.wire, *.unit), words::usable_text(.range, *.unit)
    )]
    WireTooLarge {
        /// The thickest wire of the set.
        wire: Length,
        /// The thread.
        designation: String,
        /// What can be used.
        range: Box<WireRange>,
        /// The unit of the thread, for the sentence.
        unit: Unit,
    },
    /// The wires have no seat on this thread at all.
    #[error("wire diameter {} has no seat on {designation}: {source}", words::wire_text(*.wire, *.unit))]
    NoSeat {
        /// The lone wire.
        wire: Length,
        /// The thread.
        designation: String,
        /// The unit of the thread, for the sentence.
        unit: Unit,
        /// What the exact seat said.
        #[source]
        source: helix::HelixError,
    },
}

impl JudgeError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            JudgeError::MixedWires { .. } => "mixed-wires",
            JudgeError::WireTooSmall { .. } => "wire-too-small",
            JudgeError::WireTooLarge { .. } => "wire-too-large",
            JudgeError::NoSeat { .. } => "no-seat",
        }
    }
}

pub(super) fn refuse_mixed_wires(thread: &Thread, wires: &Wires) -> Result<(), JudgeError> {
    let (thinnest, thickest) = (wires.thinnest(), wires.thickest());
    if thickest - thinnest > wires.mean() * LARGEST_MIX {
        return Err(JudgeError::MixedWires {
            thinnest,
            thickest,
            unit: thread.unit,
        });
    }
    Ok(())
}

pub(super) fn refuse_outside_range(
    thread: &Thread,
    wires: &Wires,
    range: &WireRange,
) -> Result<(), JudgeError> {
    if range.min.is_some_and(|min| wires.thinnest() < min) {
        return Err(too_small(thread, wires, range));
    }
    let largest = range.max.or(range.neighbours_touch);
    if largest.is_some_and(|max| wires.thickest() > max) {
        return Err(too_large(thread, wires, range));
    }
    Ok(())
}

/// The range is found by search; the seats at both ends of the zone have the last word.
pub(super) fn refuse_bad_seats(
    thread: &Thread,
    wires: &Wires,
    range: &WireRange,
    ends: [&Seated; 2],
) -> Result<(), JudgeError> {
    for seated in ends {
        match seat::seat(&thread.geometry, wires, seated) {
            Seat::Ok | Seat::BeyondModel => {}
            Seat::BelowCrest { .. } | Seat::BottomsOnRoot { .. } => {
                return Err(too_small(thread, wires, range));
            }
            Seat::RidesCrestEdge { .. } | Seat::NeighboursTouch { .. } => {
                return Err(too_large(thread, wires, range));
            }
        }
    }
    Ok(())
}

fn too_small(thread: &Thread, wires: &Wires, range: &WireRange) -> JudgeError {
    JudgeError::WireTooSmall {
        wire: wires.thinnest(),
        designation: thread.designation.clone(),
        range: Box::new(*range),
        unit: thread.unit,
    }
}

fn too_large(thread: &Thread, wires: &Wires, range: &WireRange) -> JudgeError {
    JudgeError::WireTooLarge {
        wire: wires.thickest(),
        designation: thread.designation.clone(),
        range: Box::new(*range),
        unit: thread.unit,
    }
}
