//! What is said to a person: warnings, what is left to cut, which wires would do.

use super::{FLOAT_NOISE, Judgement, Purpose, Verdict, Warning};
use crate::decimal::format_to;
use crate::seat::WireRange;
use crate::units::{Length, Unit};

/// What a pitch diameter over wires leaves out, for every page on which one is handed on.
pub const NOT_FUNCTIONAL_SIZE: &str = "Pitch diameter over wires is not functional size: errors of \
pitch and angle make the thread assemble as if it were larger. Pair it with a go gauge.";

impl Warning {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        match self {
            Warning::WireSeat(seat) => seat.code(),
            Warning::LeadMatters { .. } => "lead_matters",
            Warning::WiresDiffer { .. } => "wires_differ",
            Warning::NotFunctionalSize => "not_functional_size",
        }
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        match self {
            Warning::WireSeat(seat) => seat.sentence(unit, places),
            Warning::LeadMatters {
                correction,
                tolerance,
            } => format!(
                "The lead of this thread takes {} off the pitch diameter, against a tolerance of \
                 {}. It is included here; a plane formula leaves it out.",
                correction.to_text(unit, places),
                tolerance.to_text(unit, places)
            ),
            Warning::WiresDiffer { spread } => format!(
                "The three wires differ by {}. Keep each in the seat it was entered for.",
                spread.to_text(unit, places.max(finest_places(unit)))
            ),
            Warning::NotFunctionalSize => NOT_FUNCTIONAL_SIZE.to_owned(),
        }
    }
}

/// Enough places to show a ten-millionth of an inch or a hundredth of a micrometre.
const fn finest_places(unit: Unit) -> u8 {
    match unit {
        Unit::Millimetre => 5,
        Unit::Inch => 6,
    }
}

/// What is left to cut, or that nothing is, in plain words; empty when there is no verdict.
///
/// Amounts are on diameter. The sign is always said in words.
///
/// ```
/// use overwire_core::judge::{self, Judge, Purpose};
/// use overwire_core::{thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("9/16-18 UNF-2A")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_inches(0.0395)?)?);
/// let judgement = Judge::new(&thread, &wires)?.judge(Length::from_inches(0.5898)?, Purpose::Cutting);
/// let words = judge::left_in_words(&judgement, Purpose::Cutting, Unit::Inch, 4);
/// assert_eq!(words, "0.0011 in under minimum: no way back");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn left_in_words(judgement: &Judgement, purpose: Purpose, unit: Unit, places: u8) -> String {
    let (Some(to_max), Some(to_middle), Some(to_min)) =
        (judgement.to_max, judgement.to_middle, judgement.to_min)
    else {
        return String::new();
    };
    let amount = |length: Length| amount(length, unit, places);
    let cutting = purpose == Purpose::Cutting;
    if judgement.verdict == Verdict::Undecided {
        return undecided(to_max, to_min, unit, places);
    }
    if to_min < -FLOAT_NOISE {
        format!("{} {unit} under minimum: no way back", amount(to_min))
    } else if to_max > FLOAT_NOISE && cutting {
        format!(
            "{} {unit} to go to the middle, {} to the maximum",
            amount(to_middle),
            amount(to_max)
        )
    } else if to_max > FLOAT_NOISE {
        format!("{} {unit} over maximum: can still be cut", amount(to_max))
    } else if cutting && to_middle > FLOAT_NOISE {
        format!(
            "inside: {} {unit} to go to the middle, {} to the minimum",
            amount(to_middle),
            amount(to_min)
        )
    } else if cutting {
        format!(
            "inside, at or past the middle: {} {unit} left to the minimum",
            amount(to_min)
        )
    } else {
        format!(
            "inside: {} {unit} below the maximum, {} above the minimum",
            amount(to_max),
            amount(to_min)
        )
    }
}

/// Where a result lies that a guard band leaves open.
fn undecided(to_max: Length, to_min: Length, unit: Unit, places: u8) -> String {
    let amount = |length: Length| amount(length, unit, places);
    let (distance, limit, [inside, outside]) = match to_max.abs() < to_min.abs() {
        true => (-to_max, "maximum", ["below", "above"]),
        false => (to_min, "minimum", ["above", "below"]),
    };
    let side = match distance < Length::ZERO {
        true => outside,
        false => inside,
    };
    format!(
        "{} {unit} {side} the {limit}: too close to decide, by the guard band",
        amount(distance)
    )
}

/// An amount without its sign. What is there but rounds to nothing is not called nothing.
fn amount(length: Length, unit: Unit, places: u8) -> String {
    let rounded = format_to(length.abs().in_unit(unit), places);
    let shows_nothing = rounded.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if shows_nothing && length.abs() > FLOAT_NOISE {
        format!(
            "less than {}",
            format_to(0.1_f64.powi(places.into()), places)
        )
    } else {
        rounded
    }
}

/// Decimal places wires are stated with.
const fn wire_places(unit: Unit) -> u8 {
    match unit {
        Unit::Millimetre => 4,
        Unit::Inch => 5,
    }
}

pub(super) fn wire_text(wire: Length, unit: Unit) -> String {
    wire.to_text(unit, wire_places(unit))
}

/// What can be used, rounded so that every size named is usable.
pub(super) fn usable_text(range: &WireRange, unit: Unit) -> String {
    let places = wire_places(unit);
    let scale = 10_f64.powi(places.into());
    let up = |length: Length| format_to((length.in_unit(unit) * scale).ceil() / scale, places);
    let down = |length: Length| format_to((length.in_unit(unit) * scale).floor() / scale, places);
    let best = range.best.unwrap_or(range.best_plane).to_text(unit, places);
    match (range.min, range.max.or(range.neighbours_touch)) {
        (Some(min), Some(max)) if min < max => {
            format!(
                "usable from {} to {} {unit}, best {best}",
                up(min),
                down(max)
            )
        }
        (Some(_), Some(_)) => "no wire size can be used between these limits".to_owned(),
        (None, Some(max)) => format!("usable up to {} {unit}, best {best}", down(max)),
        (Some(min), None) => format!("usable from {} {unit}, best {best}", up(min)),
        (None, None) => format!("best {best}"),
    }
}
