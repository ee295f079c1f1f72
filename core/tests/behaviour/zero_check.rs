//! A zero check stands or does not, and starting without one needs a reason.
//!
//! The rules checked here are common practice, no published source.

use overwire_core::units::{Length, Unit};
use overwire_core::wires::Wires;
use overwire_core::zero_check::{Standard, Start, ZeroCheck, ZeroRule, ZeroStanding, age_words};

use crate::{inches, mm, wire};

const HOUR: i64 = 3600;

fn closed(reading: Length) -> ZeroCheck {
    ZeroCheck {
        standard: Standard::ClosedAnvils,
        reading,
        at_seconds: 1_000,
    }
}

fn rule() -> ZeroRule {
    ZeroRule::checked(inches(0.0001), 240).expect("a rule")
}

#[test]
fn half_a_thou_left_on_does_not_start_a_job() {
    let standing = rule().standing(Some(&closed(inches(0.0005))), 1_000);
    assert_eq!(
        standing.sentence(Unit::Inch, 4),
        "The zero is off: 0.0005 in too much, and 0.0001 in is allowed. Wipe the anvils, set the \
         zero and check again."
    );
    for nothing in [None, Some(""), Some("  ")] {
        let refused = standing.start(nothing).unwrap_err();
        assert_eq!(refused.code(), "zero-not-checked");
    }
    let reason = "first article is waiting";
    assert_eq!(
        standing.start(Some(" first article is waiting ")),
        Ok(Start::WithoutCheck {
            standing,
            reason: reason.to_owned()
        })
    );
}

#[test]
fn exactly_the_tolerance_is_within_either_way() {
    for reading in [inches(0.0001), -inches(0.0001), Length::ZERO] {
        let standing = rule().standing(Some(&closed(reading)), 1_000 + HOUR);
        assert_eq!(standing.code(), "within");
        assert_eq!(standing.start(None), Ok(Start::Checked));
        assert_eq!(
            standing.sentence(Unit::Inch, 4),
            "Zero checked 1 h 0 min ago."
        );
    }
}

#[test]
fn a_check_grows_old_and_a_clock_set_back_is_noticed() {
    let check = closed(Length::ZERO);
    let at = |now| rule().standing(Some(&check), now).code();
    assert_eq!(at(1_000 + 4 * HOUR), "within");
    assert_eq!(at(1_001 + 4 * HOUR), "old");
    assert_eq!(at(999), "clock_went_back");
    assert_eq!(at(i64::MIN), "clock_went_back");
    assert_eq!(rule().standing(None, 0), ZeroStanding::Missing);
    // Off is graver than old.
    let off = closed(inches(0.0005));
    assert_eq!(
        rule().standing(Some(&off), 1_000 + 9 * HOUR).code(),
        "off_by"
    );
}

#[test]
fn standards_read_what_they_are() {
    let rod = Standard::Named {
        name: "rod 25".to_owned(),
        length: mm(25.0),
    };
    let check = ZeroCheck {
        standard: rod,
        reading: mm(24.997),
        at_seconds: 0,
    };
    assert!((check.offset().mm() + 0.003).abs() < 1e-12);
    let plug = Standard::CylinderOverWires {
        name: "plug 0.5".to_owned(),
        diameter: inches(0.5),
        wires: Wires::three(
            wire(inches(0.0444)),
            wire(inches(0.0442)),
            wire(inches(0.0444)),
        ),
    };
    // The lone wire whole, and the two of the pair midway.
    assert!((plug.should_read().inches() - (0.5 + 0.0444 + 0.0443)).abs() < 1e-12);
    assert_eq!(plug.words(), "plug 0.5 over wires");
}

#[test]
fn rules_that_make_no_sense_are_refused() {
    let refused = |tolerance, minutes| ZeroRule::checked(tolerance, minutes).unwrap_err().code();
    assert_eq!(refused(Length::ZERO, 60), "tolerance-not-positive");
    assert_eq!(refused(mm(0.002), 0), "age-out-of-range");
    assert_eq!(refused(mm(0.002), 20_000), "age-out-of-range");
}

#[test]
fn ages_in_words() {
    let words = [59, 60, 11_100, 187_200].map(age_words);
    assert_eq!(words, ["59 s", "1 min", "3 h 5 min", "2 d 4 h"]);
}
