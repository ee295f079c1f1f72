//! Between passes: nothing guessed, nothing cut past the minimum, nothing impossible believed.
//!
//! The habits checked here are common practice, no published source.

use overwire_core::Limits;
use overwire_core::cutting::{
    Advice, Aim, Dial, Graduation, Lathe, Learned, Left, Outcome, Pass, PassKind, PassQuestion,
    PassSettings, Slide, Standing, Taken, Watch, next_pass, passes_at, usual_noise,
};
use overwire_core::thread::Flanks;
use overwire_core::units::{Angle, Length, Unit};
use proptest::prelude::*;

use crate::{equal_wires, inches, mm, thread};

fn limits() -> Limits {
    thread("1/2-13 UNC-2A").limits.expect("limits")
}

fn lathe(graduated: Graduation, division: Option<Length>, compound_deg: f64) -> Lathe {
    let dial = Some(Dial {
        graduated,
        smallest_division: division,
    });
    Lathe {
        cross_slide_dial: dial,
        compound_dial: dial,
        compound_angle: Some(Angle::from_degrees(compound_deg).expect("an angle")),
    }
}

fn flanks() -> Flanks {
    Flanks::from_degrees(30.0, 30.0).expect("flanks")
}

fn advice(over_middle: Length, lathe: &Lathe, slide: Slide, learned: Option<&Learned>) -> Advice {
    let limits = limits();
    next_pass(&PassQuestion {
        left: Left::between(limits.middle() + over_middle, &limits),
        settings: &PassSettings::default(),
        lathe,
        slide,
        flanks: &flanks(),
        learned,
    })
}

fn cut(advice: Advice) -> overwire_core::cutting::NextPass {
    match advice {
        Advice::Cut(pass) => pass,
        other => panic!("no cut: {other:?}"),
    }
}

#[test]
fn what_is_not_known_of_a_lathe_is_a_reason_and_not_a_figure() {
    let nothing = Lathe::default();
    let straight = nothing.in_feed(Slide::CrossSlide, inches(0.0103));
    assert_eq!(straight.radial, inches(0.0103) * 0.5);
    assert_eq!(straight.dial.unwrap_err().code(), "graduation-unknown");
    let along = nothing.in_feed(Slide::Compound, inches(0.0103));
    assert_eq!(
        (along.travel, along.dial.unwrap_err().code()),
        (None, "compound-angle-unknown")
    );
    assert!(
        along
            .sentence(Unit::Inch, 4)
            .contains("No dial figure: the setting of the compound")
    );

    let along_the_work = lathe(Graduation::Radius, None, 90.0);
    let figure = along_the_work.in_feed(Slide::Compound, inches(0.0103)).dial;
    assert_eq!(figure.unwrap_err().code(), "compound-angle-too-steep");
}

#[test]
fn changing_the_dial_changes_the_figure_and_nothing_else() {
    let of = |graduated| lathe(graduated, None, 29.5).in_feed(Slide::Compound, mm(0.2));
    let (radius, diameter) = (of(Graduation::Radius), of(Graduation::Diameter));
    assert_eq!(
        (radius.radial, radius.travel),
        (diameter.radial, diameter.travel)
    );
    let (one, two) = (
        radius.dial.expect("a figure"),
        diameter.dial.expect("a figure"),
    );
    assert!((two.mm() - 2.0 * one.mm()).abs() < 1e-15);
}

#[test]
fn a_thread_already_under_is_offered_no_cut() {
    let limits = limits();
    let left = Left::between(limits.pitch_diameter_min - inches(0.0008), &limits);
    assert_eq!(left.standing(), Standing::AlreadyUnder);
    let words = left.sentence(Unit::Inch, 4);
    assert!(words.starts_with("Already under: 0.0008 in below the minimum"));
    let half_tolerance = limits.tolerance() * 0.5;
    let advice = advice(
        -half_tolerance - inches(0.0008),
        &Lathe::default(),
        Slide::CrossSlide,
        None,
    );
    assert_eq!(advice.code(), "already_under");
    assert!(!advice.sentence(Unit::Inch, 4).contains("dial"));
}

/// Exactly on a limit is inside.
#[test]
fn the_limits_themselves_are_inside() {
    let limits = limits();
    let at = |diameter| Left::between(diameter, &limits).standing();
    assert_eq!(at(limits.pitch_diameter_max), Standing::Inside);
    assert_eq!(at(limits.pitch_diameter_min), Standing::PastMiddle);
    assert_eq!(
        at(limits.pitch_diameter_max + mm(0.0001)),
        Standing::OverMaximum
    );
}

#[test]
fn passes_come_down_to_size_in_sensible_steps() {
    let lathe = lathe(Graduation::Radius, Some(inches(0.0005)), 29.5);
    let mut over = inches(0.0600);
    let mut kinds = Vec::new();
    while let Advice::Cut(pass) = advice(over, &lathe, Slide::CrossSlide, None) {
        let share = pass.in_feed.diameter.mm() / over.mm();
        assert!(pass.kind != PassKind::Roughing || share <= 0.6 + 1e-9);
        kinds.push(pass.kind);
        over = pass.leaves;
    }
    assert_eq!(kinds.last(), Some(&PassKind::Last));
    assert!(
        kinds.len() <= 6 && kinds.contains(&PassKind::LastButOne),
        "{kinds:?}"
    );
    assert!(over.abs() < inches(0.0010), "{over:?}");
}

/// A dial of 0.001 in on radius takes 0.002 in off the diameter.
#[test]
fn what_the_dial_cannot_show_is_said() {
    let coarse = lathe(Graduation::Radius, Some(inches(0.001)), 29.5);
    let advice = advice(inches(0.0015), &coarse, Slide::CrossSlide, None);
    assert_eq!(advice.code(), "below_the_dial");
    let words = advice.sentence(Unit::Inch, 4);
    assert!(words.contains("0.0015 in on diameter") && words.contains("0.0020 in"));
}

#[test]
fn a_lathe_that_takes_more_is_dialled_less_and_one_that_springs_is_not_forced() {
    let lathe = lathe(Graduation::Radius, None, 29.5);
    let learned = |taken: f64| {
        let pass = Pass {
            dialled: inches(0.0100),
            taken: inches(taken),
        };
        Learned::from_passes(&[pass], inches(0.0001)).expect("one pass")
    };
    let asked = |learned: &Learned| {
        let advice = advice(inches(0.0200), &lathe, Slide::CrossSlide, Some(learned));
        cut(advice)
    };
    let greedy = asked(&learned(0.0125));
    assert_eq!(greedy.in_feed.diameter.to_text(Unit::Inch, 4), "0.0096 in");
    assert_eq!(greedy.warnings[0].code(), "takes_more");

    let springy = asked(&learned(0.0070));
    assert_eq!(springy.in_feed.diameter.to_text(Unit::Inch, 4), "0.0120 in");
    assert_eq!(springy.expected.to_text(Unit::Inch, 4), "0.0084 in");
    let spring = springy.spring.expect("a spring pass");
    assert_eq!(spring.code(), "held_back");
    assert!(
        spring
            .sentence(Unit::Inch, 4)
            .contains("0.0030 in on diameter less")
    );
}

#[test]
fn passes_too_light_to_tell_teach_nothing() {
    let pass = |dialled: f64, taken: f64| Pass {
        dialled: mm(dialled),
        taken: mm(taken),
    };
    let step = mm(0.001);
    assert_eq!(Learned::from_passes(&[], step), None);
    assert_eq!(Learned::from_passes(&[pass(0.005, 0.009)], step), None);
    assert_eq!(Learned::from_passes(&[pass(0.0, 0.0)], Length::ZERO), None);
    // A fallen wire is not the lathe.
    assert_eq!(Learned::from_passes(&[pass(0.1, 0.3)], step), None);
    let learned = Learned::from_passes(&[pass(0.1, 0.1), pass(0.3, 0.24)], step).expect("two");
    assert_eq!(
        learned.sentence(),
        "The 2 passes so far took 85 percent of what was dialled, single ones 80 to 100 percent."
    );
}

#[test]
fn a_compound_past_the_flank_is_warned_of() {
    let steep = cut(advice(
        inches(0.02),
        &lathe(Graduation::Radius, None, 31.0),
        Slide::Compound,
        None,
    ));
    assert_eq!(steep.warnings[0].code(), "compound_past_flank");
    let usual = cut(advice(
        inches(0.02),
        &lathe(Graduation::Radius, None, 29.5),
        Slide::Compound,
        None,
    ));
    assert_eq!(usual.warnings, []);
    let last = cut(advice(
        inches(0.002),
        &lathe(Graduation::Radius, None, 29.5),
        Slide::Compound,
        None,
    ));
    assert_eq!(last.kind, PassKind::Last);
    assert_eq!(last.warnings[0].code(), "finish_straight_in");
}

#[test]
fn depths_and_settings_that_make_no_sense_are_refused() {
    assert_eq!(
        passes_at(mm(1.0), mm(0.0)).unwrap_err().code(),
        "not-positive"
    );
    assert_eq!(
        passes_at(mm(100.0), mm(1e-6)).unwrap_err().code(),
        "too-many-passes"
    );
    assert_eq!(
        passes_at(mm(-1.0), mm(0.1)).map(|passes| passes.count),
        Ok(0)
    );
    assert_eq!(
        passes_at(mm(0.6), mm(0.1)).map(|passes| passes.count),
        Ok(3)
    );
    for share in [0.0, 1.0, f64::NAN] {
        assert!(PassSettings::checked(share, Aim::Middle, None).is_err());
    }
    assert!(PassSettings::checked(0.5, Aim::AboveMinimum(Length::ZERO), None).is_err());
}

/// The finding behind the rule: on 1/2-13 a fallen wire reads half of M - D less, which looks
/// like a slightly small thread and not like nonsense.
#[test]
fn a_fallen_wire_gets_no_pass_until_repeated() {
    let thread = thread("1/2-13 UNC-2A");
    let wires = equal_wires(inches(0.04441));
    let limits = thread.limits.expect("limits");
    let reading = |diameter| {
        let seated = overwire_core::helix::over_wires(&thread.geometry, &wires, diameter);
        seated.expect("a seat").over_wires
    };
    let crest = thread.geometry.major_diameter.expect("a crest");
    let (before, after) = (
        reading(limits.middle() + inches(0.0165)),
        reading(limits.middle() + inches(0.0150)),
    );
    let fallen = (after + crest) * 0.5;
    assert!(fallen > reading(limits.pitch_diameter_min), "it would pass");
    assert!(fallen < reading(limits.pitch_diameter_max), "it would pass");

    let noise = usual_noise(inches(0.00005), limits.tolerance());
    let take = |watch: &mut Watch, diameter, wires_lifted| {
        watch.take(&Taken {
            diameter,
            most_cut: Some(inches(0.0015)),
            noise,
            wires_lifted,
        })
    };
    let mut watch = Watch::default();
    assert_eq!(take(&mut watch, before, false), Outcome::Believed);
    let doubted = take(&mut watch, fallen, false);
    assert_eq!(
        doubted.withheld().map(|doubt| doubt.code()),
        Some("fell_too_far")
    );
    let again = take(&mut watch, fallen, false);
    assert_eq!(again.code(), "still_waiting");
    assert!(again.withheld().is_some());
    assert_eq!(take(&mut watch, after, true), Outcome::Cleared);
    assert_eq!(watch.believed(), Some(after));
}

#[test]
fn a_doubted_reading_that_repeats_itself_was_true() {
    let take = |watch: &mut Watch, diameter: f64, wires_lifted| {
        watch.take(&Taken {
            diameter: mm(diameter),
            most_cut: Some(Length::ZERO),
            noise: mm(0.01),
            wires_lifted,
        })
    };
    let mut watch = Watch::from_believed(mm(10.20));
    let risen = take(&mut watch, 10.31, false);
    assert_eq!(risen.withheld().map(|doubt| doubt.code()), Some("rose"));
    // Neither the old nor the doubted value: still not believed.
    assert_eq!(take(&mut watch, 10.26, true).code(), "doubted");
    assert_eq!(take(&mut watch, 10.258, true), Outcome::Confirmed);
    assert_eq!(take(&mut watch, 10.255, false), Outcome::Believed);
}

/// Without a word on what was cut only a rise can be caught.
#[test]
fn an_unknown_cut_leaves_the_rise() {
    let take = |watch: &mut Watch, diameter: f64| {
        watch.take(&Taken {
            diameter: mm(diameter),
            most_cut: None,
            noise: mm(0.01),
            wires_lifted: false,
        })
    };
    let mut watch = Watch::from_believed(mm(10.20));
    assert_eq!(take(&mut watch, 9.80), Outcome::Believed);
    assert_eq!(take(&mut watch, 9.82).code(), "doubted");
}

proptest! {
    /// Whatever the lathe has done before, a suggested pass ends above the minimum.
    #[test]
    fn no_suggested_pass_goes_below_the_minimum(
        over in -0.06_f64..3.0,
        share in 0.1_f64..0.9,
        ratio in 0.05_f64..2.0,
        division in proptest::option::of(0.001_f64..0.1),
        compound in 0.0_f64..45.0,
        on_diameter in any::<bool>(),
        aim_above in proptest::option::of(0.001_f64..0.2),
    ) {
        let limits = limits();
        let left = Left::between(limits.middle() + mm(over), &limits);
        let aim = aim_above.map_or(Aim::Middle, |guard| Aim::AboveMinimum(mm(guard)));
        let settings = PassSettings::checked(share, aim, None).expect("settings");
        let pass = Pass { dialled: mm(1.0), taken: mm(ratio) };
        let learned = Learned::from_passes(&[pass], mm(0.001));
        let graduated = if on_diameter { Graduation::Diameter } else { Graduation::Radius };
        let question = PassQuestion {
            left,
            settings: &settings,
            lathe: &lathe(graduated, division.map(mm), compound),
            slide: Slide::Compound,
            flanks: &flanks(),
            learned: learned.as_ref(),
        };
        if let Advice::Cut(pass) = next_pass(&question) {
            let diameter = pass.in_feed.diameter;
            prop_assert!(diameter > Length::ZERO);
            prop_assert!(diameter <= left.to_min + mm(1e-9));
            prop_assert!(pass.expected <= left.to_min + mm(1e-9));
            if pass.kind == PassKind::Roughing {
                prop_assert!(diameter.mm() <= left.to_min.mm() * share + 1e-9);
            }
        }
    }
}
