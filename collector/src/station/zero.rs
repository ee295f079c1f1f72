//! Zero checks of a station's instrument: what the last one said, and whether it still stands. Pure; the
//! rule is core's ([`overwire_core::zero_check`]).

use overwire_core::units::Length;
use overwire_core::zero_check::{Standard, ZeroCheck, ZeroRule, ZeroStanding};

use crate::record::grounds::ZeroNote;
use crate::register::measuring::InstrumentFacts;

/// A check that is off by more than this many tolerances was no check but a reading of something else.
const FAR: f64 = 10.0;
/// Off by less than this is always a check, mm.
const NEAR_MM: f64 = 0.25;

/// What a reading taken as a zero check says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found {
    /// A check.
    Check(ZeroNote),
    /// Too far off to be one.
    Far,
}

/// Looks at a zero check; `step` is one step of the display.
pub fn look(reading: Length, facts: &InstrumentFacts, step: Length, at_us: i64) -> Found {
    let off = reading - facts.zero_standard;
    let tolerance = facts
        .tolerance_of_zero()
        .filter(|tolerance| *tolerance > Length::ZERO)
        .unwrap_or(step * 2.0);
    if off.abs().mm() > (FAR * tolerance.mm()).max(NEAR_MM) {
        return Found::Far;
    }
    let note = ZeroNote {
        at_us,
        off_mm: off.mm(),
        tolerance_mm: tolerance.mm(),
        stands: false,
    };
    Found::Check(ZeroNote {
        stands: stands(&note, at_us, 0),
        ..note
    })
}

/// Whether a check stands at a moment.
pub fn stands(note: &ZeroNote, now_us: i64, hours: u32) -> bool {
    matches!(
        standing(Some(note), now_us, hours),
        ZeroStanding::Within { .. }
    )
}

/// The verdict of a check, by its code.
pub fn verdict(note: &ZeroNote) -> &'static str {
    match stands(note, note.at_us, 0) {
        true => "zero_within",
        false => "zero_off",
    }
}

/// Where the last check stands at a moment; with 0 hours its age does not matter.
pub fn standing(last: Option<&ZeroNote>, now_us: i64, hours: u32) -> ZeroStanding {
    let seconds = |us: i64| us.div_euclid(1_000_000);
    let length = |mm: f64| Length::from_mm(mm).unwrap_or(Length::ZERO);
    let Some(note) = last else {
        return ZeroStanding::Missing;
    };
    let minutes = if hours == 0 {
        OLDEST_MINUTES
    } else {
        i64::from(hours) * 60
    };
    let rule = ZeroRule::checked(length(note.tolerance_mm), minutes.min(OLDEST_MINUTES));
    let check = ZeroCheck {
        standard: Standard::ClosedAnvils,
        reading: length(note.off_mm),
        at_seconds: seconds(note.at_us),
    };
    let now = if hours == 0 { note.at_us } else { now_us };
    rule.map_or(ZeroStanding::Missing, |rule| {
        rule.standing(Some(&check), seconds(now))
    })
}

/// The oldest a check may be by any rule: a week.
const OLDEST_MINUTES: i64 = 7 * 24 * 60;

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(value: f64) -> Length {
        Length::from_mm(value).unwrap()
    }

    fn check(reading: f64) -> ZeroNote {
        let facts = InstrumentFacts {
            zero_standard: mm(25.0),
            zero_tolerance: Some(mm(0.002)),
            ..InstrumentFacts::default()
        };
        match look(mm(reading), &facts, mm(0.001), 1_000_000_000) {
            Found::Check(note) => note,
            Found::Far => panic!("far"),
        }
    }

    #[test]
    fn a_check_on_a_standard_is_compared_with_its_size() {
        assert_eq!(verdict(&check(25.002)), "zero_within");
        assert_eq!(verdict(&check(25.003)), "zero_off");
        assert!((check(24.997).off_mm + 0.003).abs() < 1e-12);
    }

    #[test]
    fn a_reading_of_a_thread_is_no_zero_check() {
        let facts = InstrumentFacts::default();
        let found = look(mm(27.331), &facts, mm(0.001), 0);
        assert_eq!(found, Found::Far);
    }

    #[test]
    fn a_check_grows_old() {
        let note = check(25.0);
        let hour = 3_600_000_000;
        let code = |hours_later: i64, rule: u32| {
            standing(Some(&note), note.at_us + hours_later * hour, rule).code()
        };
        assert_eq!((code(11, 12), code(13, 12)), ("within", "old"));
        assert_eq!(code(5_000, 0), "within", "no age is asked for");
        assert_eq!(standing(None, 0, 12).code(), "missing");
    }
}
