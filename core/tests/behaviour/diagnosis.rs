//! A reading that cannot be true is explained, ranked, and left as it is.

use overwire_core::cutting::usual_noise;
use overwire_core::diagnosis::{
    Cause, Diagnosis, Expected, OtherJob, OtherSeat, OtherSet, Question, UnitFrom, diagnose,
    pitch_behind_the_lead,
};
use overwire_core::units::{Length, Unit};
use overwire_core::wires::Wires;
use overwire_core::{Judge, helix};

use crate::{drawing, equal_wires, inches, judge, mm, pitch_diameter_limits, wire};

/// A finished 1/2-13 over best wires, and nothing else known.
fn stud() -> Judge {
    judge("1/2-13 UNC-2A", inches(0.04441))
}

fn middle(judge: &Judge) -> Length {
    let (smallest, largest) = judge.window().expect("a window");
    (smallest + largest) * 0.5
}

fn question(judge: &Judge, over_wires: Length) -> Question<'_> {
    let tolerance = judge.thread().limits.expect("limits").tolerance();
    Question {
        over_wires,
        judge,
        expected: Expected::Finished,
        noise: usual_noise(inches(0.00005), tolerance),
        unit: UnitFrom::Setting(Unit::Inch),
        typed: false,
        crest: None,
        zero_offset: None,
        other_sets: &[],
        other_jobs: &[],
    }
}

fn first(diagnosis: &Diagnosis) -> &'static str {
    diagnosis
        .likeliest()
        .map_or("none", |likeliest| likeliest.cause.code())
}

#[test]
fn the_other_unit_is_found_unless_the_frame_named_it() {
    let judge = stud();
    let shown_in_mm = middle(&judge) * 25.4;
    let asked = question(&judge, shown_in_mm);
    let diagnosis = diagnose(&asked);
    assert_eq!(first(&diagnosis), "other-unit");
    let words = diagnosis.sentence(Unit::Inch, 4);
    assert!(
        words.starts_with("Was the display set to mm?") && words.contains("this reading fits"),
        "{words}"
    );
    let named = Question {
        unit: UnitFrom::Reading,
        ..asked
    };
    assert_eq!(first(&diagnose(&named)), "none");
}

/// Between passes, with the crest measured: half of M - D is missing.
#[test]
fn a_fallen_wire_between_passes() {
    let judge = stud();
    let (before, crest) = (middle(&judge) + inches(0.0150), inches(0.4960));
    let reading = (before - inches(0.001) + crest) * 0.5;
    let diagnosis = diagnose(&Question {
        expected: Expected::AfterPass {
            before,
            most_cut: Some(inches(0.0020)),
        },
        crest: Some(crest),
        ..question(&judge, reading)
    });
    let likeliest = diagnosis.likeliest().expect("an explanation");
    assert_eq!(likeliest.cause, Cause::WireFallenOut);
    assert_eq!(likeliest.off_by, Length::ZERO);
    let (low, high) = likeliest.range;
    assert!((high - low - inches(0.0010)).abs() < mm(1e-12));
}

/// The crest is not always at its largest: an ordinary crest tolerance is allowed for.
#[test]
fn a_fallen_wire_on_a_thread_whose_crest_was_not_measured() {
    let judge = stud();
    let crest = judge.thread().geometry.major_diameter.expect("a crest") - inches(0.006);
    let diagnosis = diagnose(&question(&judge, (middle(&judge) + crest) * 0.5));
    assert_eq!(first(&diagnosis), "wire-fallen-out");
    let words = diagnosis.sentence(Unit::Inch, 4);
    assert!(words.contains("all three are seated"), "{words}");
}

#[test]
fn wires_on_the_crest_and_no_wires_at_all() {
    let judge = stud();
    let crest = inches(0.4960);
    let asked = |over_wires| {
        diagnose(&Question {
            crest: Some(crest),
            ..question(&judge, over_wires)
        })
    };
    let wire = inches(0.04441);
    assert_eq!(first(&asked(crest)), "no-wires");
    assert_eq!(first(&asked(crest + wire * 2.0)), "wires-on-crest");
    let one = (middle(&judge) + crest) * 0.5 + wire;
    assert_eq!(first(&asked(one)), "wire-on-crest");
}

/// One unit of mean wire error gives three units of pitch diameter error at 60 degrees (a trade
/// note, public copy); the lone wire alone gives half of that.
#[test]
fn a_wrong_set_and_a_wrong_wire() {
    let judge = stud();
    let other = inches(0.04811);
    let sets = [OtherSet {
        name: "WS-12A".to_owned(),
        wires: equal_wires(other),
    }];
    let asked = |over_wires| {
        diagnose(&Question {
            other_sets: &sets,
            ..question(&judge, over_wires)
        })
    };
    let shift = (other - inches(0.04441)) * 3.0;
    let all = asked(middle(&judge) + shift);
    assert_eq!(first(&all), "other-wires");
    assert!(all.sentence(Unit::Inch, 4).contains("set WS-12A"));

    let lone = asked(middle(&judge) + shift * 0.5);
    let likeliest = lone.likeliest().expect("an explanation");
    assert_eq!(
        likeliest.cause,
        Cause::OneOtherWire {
            set: "WS-12A".to_owned(),
            seat: OtherSeat::Lone
        }
    );
    let pair = asked(middle(&judge) + shift * 0.25);
    let seats: Vec<&Cause> = pair.explaining().map(|tried| &tried.cause).collect();
    assert!(
        seats.iter().any(|cause| matches!(
            cause,
            Cause::OneOtherWire {
                seat: OtherSeat::OneOfPair,
                ..
            }
        )),
        "{seats:?}"
    );
}

/// A set that would lie below the crest is predicted to read the crest.
#[test]
fn a_set_too_thin_reads_the_crest() {
    let judge = stud();
    let sets = [OtherSet {
        name: "WS-40".to_owned(),
        wires: equal_wires(inches(0.01443)),
    }];
    let crest = judge.thread().geometry.major_diameter.expect("a crest");
    let diagnosis = diagnose(&Question {
        other_sets: &sets,
        ..question(&judge, crest)
    });
    let predicted = diagnosis
        .hypotheses
        .iter()
        .find(|tried| tried.cause.code() == "other-wires")
        .map(|tried| tried.predicted);
    assert_eq!(predicted, Some(crest));
}

/// Entering the lead for the pitch shifts the pitch diameter by 0.866 P (S - 1): geometry, no
/// published source. Where the crest is known the wires are refused before anything is read.
#[test]
fn pitch_and_lead_confused_on_a_multi_start() {
    let limits = pitch_diameter_limits(mm(18.5), mm(18.7));
    let with_pitch = |pitch: f64, major: Option<Length>| {
        let mut drawing = drawing(pitch, 2, 30.0, 20.0, limits);
        drawing.major_diameter = major;
        drawing.build().expect("built")
    };
    let wires = equal_wires(mm(1.1547));
    let told_the_lead = with_pitch(4.0, None);
    let judge = Judge::new(&told_the_lead, &wires).expect("nothing speaks against the wires");
    let truly = helix::over_wires(&with_pitch(2.0, None).geometry, &wires, mm(18.6));
    let reading = truly.expect("a seat").over_wires;
    let shift = reading - middle(&judge);
    // Told the lead as the pitch, the job also reckons with twice the lead: some 0.015 mm more.
    assert!((shift.mm() - 0.866_025 * 2.0).abs() < 0.02, "{shift:?}");

    let diagnosis = diagnose(&question(&judge, reading));
    let likeliest = diagnosis.likeliest().expect("an explanation");
    assert_eq!(likeliest.cause, Cause::LeadForPitch { pitch: mm(2.0) });
    let words = likeliest.sentence(Unit::Millimetre, 3);
    assert!(words.contains("from groove to groove") || words.contains("From groove to groove"));

    let crest = Some(mm(20.0));
    let refused = with_pitch(4.0, crest);
    assert!(Judge::new(&refused, &wires).is_err());
    assert_eq!(pitch_behind_the_lead(&refused, &wires), Some(mm(2.0)));
    assert_eq!(pitch_behind_the_lead(&with_pitch(2.0, crest), &wires), None);
}

#[test]
fn another_job_and_a_zero_that_is_off() {
    let judge = stud();
    let jobs = [OtherJob {
        name: "J-2431".to_owned(),
        window: (inches(0.7000), inches(0.7050)),
    }];
    let asked = |over_wires| {
        diagnose(&Question {
            other_jobs: &jobs,
            zero_offset: Some(inches(0.0060)),
            ..question(&judge, over_wires)
        })
    };
    let elsewhere = asked(inches(0.7021));
    assert_eq!(first(&elsewhere), "other-job");
    assert!(elsewhere.sentence(Unit::Inch, 4).contains("job J-2431"));

    let (_, largest) = judge.window().expect("a window");
    let high = asked(largest + inches(0.0050));
    assert_eq!(first(&high), "zero-off");
    assert!(
        high.sentence(Unit::Inch, 4)
            .starts_with("Is the zero still off by 0.0060 in")
    );
}

/// A thimble of 40 threads an inch moves 0.025 in a turn: common practice, no source.
#[test]
fn a_thimble_turn_is_tried_on_typed_readings_only() {
    let judge = stud();
    let reading = middle(&judge) - inches(0.025);
    let asked = question(&judge, reading);
    let codes = |asked: &Question| -> Vec<&str> {
        let diagnosis = diagnose(asked);
        diagnosis
            .explaining()
            .map(|tried| tried.cause.code())
            .collect()
    };
    assert!(!codes(&asked).contains(&"thimble-turn"));
    let typed = Question {
        typed: true,
        ..asked
    };
    assert!(codes(&typed).contains(&"thimble-turn"));
}

#[test]
fn when_nothing_fits_it_says_so_and_ranks_by_distance() {
    let judge = stud();
    let diagnosis = diagnose(&question(&judge, inches(0.3000)));
    assert_eq!(first(&diagnosis), "none");
    assert!(diagnosis.sentence(Unit::Inch, 4).contains("it may be true"));
    let distances: Vec<Length> = diagnosis
        .hypotheses
        .iter()
        .map(|tried| tried.off_by)
        .collect();
    assert!(distances.len() >= 5 && distances.is_sorted());
    for tried in &diagnosis.hypotheses {
        let words = tried.sentence(Unit::Inch, 4);
        assert!(
            words.contains("from that") && words.ends_with('.'),
            "{words}"
        );
    }
}

/// Unequal wires of the set itself are reckoned by the exact seat.
#[test]
fn a_set_of_three_different_wires_is_tried_as_it_is() {
    let judge = stud();
    let wires = Wires::three(
        wire(inches(0.0450)),
        wire(inches(0.0451)),
        wire(inches(0.0452)),
    );
    let sets = [OtherSet {
        name: "WS-A".to_owned(),
        wires,
    }];
    let limits = judge.thread().limits.expect("limits");
    let expected = helix::over_wires(&judge.thread().geometry, &wires, limits.middle());
    let diagnosis = diagnose(&Question {
        other_sets: &sets,
        ..question(&judge, expected.expect("a seat").over_wires)
    });
    let all = diagnosis
        .explaining()
        .find(|tried| tried.cause.code() == "other-wires")
        .expect("explained");
    assert_eq!(all.off_by, Length::ZERO);
}
