//! What studies must not claim: a line through a curve, limits from a handful of visits or pieces, a
//! margin that is none, a spread that was never seen.

use overwire_core::stats::distribution::normal_quantile;
use overwire_core::stats::individuals::{Individuals, IndividualsSettings};
use overwire_core::stats::outliers::generalised_esd;
use overwire_core::stats::series::Series;
use overwire_core::stats::{Readings, Undefined};
use overwire_core::study::{
    BlandAltman, Design, Level, LimitsFactor, Linearity, MethodReadings, Pairing, Stability, Study,
    Visit, WireStudy, dunnett, tukey,
};
use overwire_core::units::Unit;

fn levels(biases: &[(f64, f64)]) -> Vec<Level> {
    let repeats = [-0.001, 0.0, 0.001, 0.0];
    biases
        .iter()
        .map(|(reference, bias)| Level {
            reference: *reference,
            readings: repeats.map(|off| reference + bias + off).to_vec(),
        })
        .collect()
}

/// A bias that falls and rises again has no slope, and yet it changes with size.
#[test]
fn a_bias_that_bends_is_not_put_on_a_line() {
    let bent = [
        (5.0, 0.16),
        (10.0, 0.04),
        (15.0, 0.0),
        (20.0, 0.04),
        (25.0, 0.16),
    ];
    let found = Linearity::of(&levels(&bent), 0.95).expect("a line");
    let sentences = found.sentences(Unit::Millimetre, 3);
    assert_eq!(
        sentences,
        [
            "The bias bends with size: the straight line does not fit (probability by chance below \
             0.0001). No one correction holds for all sizes, and none can be read off a line.",
            "At 5.000 mm it reads +0.1600 mm, the mean of 4 readings.",
            "At 10.000 mm it reads +0.0400 mm, the mean of 4 readings.",
            "At 15.000 mm it reads 0.0000 mm, the mean of 4 readings.",
            "At 20.000 mm it reads +0.0400 mm, the mean of 4 readings.",
            "At 25.000 mm it reads +0.1600 mm, the mean of 4 readings.",
        ]
    );
    assert!(found.share_at(10.0, 0.1).is_err());
    let straight = [(5.0, 0.001), (10.0, 0.002), (15.0, 0.003)];
    let found = Linearity::of(&levels(&straight), 0.95).expect("a line");
    assert!(found.share_at(10.0, 0.1).is_ok());
    assert!(found.settings_words().contains("tested for a bend"));
}

#[test]
fn two_masters_cannot_tell_whether_a_line_fits() {
    let two = Linearity::of(&levels(&[(5.0, 0.001), (15.0, 0.004)]), 0.95).expect("a line");
    let said = two.sentences(Unit::Millimetre, 3).join(" ");
    assert!(
        said.contains("cannot be checked: needs 3 masters of different sizes at least, has 2."),
        "{said}"
    );
    let again = levels(&[(5.0, 0.001), (15.0, 0.004), (15.0, 0.004)]);
    let again = Linearity::of(&again, 0.95).expect("a line");
    let said = again.sentences(Unit::Millimetre, 3).join(" ");
    assert!(said.contains("cannot be checked"), "{said}");
    let mut once = levels(&[(5.0, 0.001), (10.0, 0.003), (15.0, 0.004)]);
    for level in &mut once {
        level.readings.truncate(1);
    }
    let once = Linearity::of(&once, 0.95).expect("a line");
    let said = once.sentences(Unit::Millimetre, 3).join(" ");
    assert!(
        said.contains("cannot be checked: needs 1 repeat reading at least, has 0."),
        "{said}"
    );
}

fn visits(off_in_micrometres: &[i32]) -> Vec<Visit> {
    let days = 0..off_in_micrometres.len();
    days.zip(off_in_micrometres)
        .map(|(day, off)| Visit {
            day: day as f64,
            readings: vec![20.0 + f64::from(*off) * 0.001],
        })
        .collect()
}

const STEADY: [i32; 10] = [1, 3, 2, 1, 2, 3, 2, 2, 1, 3];

/// The mean of ten visits is 2 micrometres up, their deviation 0.816 micrometres; t is 2.262.
#[test]
fn a_reference_is_spoken_of() {
    let said = |reference: f64| {
        let found = Stability::of(&visits(&STEADY), Some(reference), 0.05).expect("a course");
        found
            .sentences(Unit::Millimetre, 3)
            .pop()
            .expect("a sentence")
    };
    assert_eq!(
        said(20.0),
        "Over all visits it reads 0.0020 mm higher than the reference (+0.0014 mm to +0.0026 mm, \
         95 %): more than chance."
    );
    assert!(
        said(20.0018).ends_with("(-0.0004 mm to +0.0008 mm, 95 %): that it is off is not shown.")
    );
    let still = Stability::of(&visits(&[1; 10]), Some(20.0), 0.05).expect("a course");
    let said = still.sentences(Unit::Millimetre, 3).join(" ");
    assert!(
        said.contains("Whether it reads what the reference is cannot be told: no spread"),
        "{said}"
    );
}

/// The drift named beside one that is not shown is found 9 times in 10, by trying it.
#[test]
fn the_drift_that_would_have_been_found_is_found() {
    let base = Stability::of(&visits(&STEADY), None, 0.05).expect("a course");
    let said = base.sentences(Unit::Millimetre, 5).join(" ");
    let before = " mm in 30 days would have been found 9 times in 10).";
    let named = said
        .split(before)
        .next()
        .and_then(|said| said.rsplit(' ').next());
    let named: f64 = named
        .and_then(|text| text.parse().ok())
        .unwrap_or_else(|| panic!("{said}"));
    let deviation = base
        .drift
        .and_then(|line| line.residual_deviation())
        .expect("a deviation");
    // Normal noise from Marsaglia's xorshift.
    let mut seed = 88_172_645_463_325_252_u64;
    let mut uniform = || {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        ((seed >> 11) as f64 / (1_u64 << 53) as f64).max(1e-9)
    };
    let tries = 4000;
    let found = (0..tries).filter(|_| {
        let visits: Vec<Visit> = (0..10)
            .map(|day| {
                let day = f64::from(day);
                let off = deviation * normal_quantile(uniform()).expect("a quantile");
                Visit {
                    day,
                    readings: vec![20.0 + named / 30.0 * day + off],
                }
            })
            .collect();
        let found = Stability::of(&visits, None, 0.05).expect("a course");
        found.drift_is_shown().expect("a line")
    });
    let share = found.count() as f64 / f64::from(tries);
    assert!((0.87..0.94).contains(&share), "{share}");
}

#[test]
fn few_visits_and_many_beyond() {
    let few = Stability::of(&visits(&STEADY[..6]), None, 0.05).expect("a course");
    let said = few.sentences(Unit::Millimetre, 3);
    assert_eq!(
        said[1],
        "The limits of so few visits are tentative (provisional: 6 of 25 points)."
    );
    let mut many: Vec<i32> = STEADY.iter().copied().cycle().take(60).collect();
    for off in many.iter_mut().skip(40) {
        *off += 40;
    }
    let many = Stability::of(&visits(&many), None, 0.05).expect("a course");
    let beyond = many.beyond.len();
    let said = many.sentences(Unit::Millimetre, 3);
    let told = format!("visit 1, 2, 3, 4, 5 and {} more.", beyond - 5);
    assert!(said[0].contains(&told), "{said:?}");
    assert!(!said.join(" ").contains("tentative"), "{said:?}");
}

fn agreement(first: &[f64], second: &[f64]) -> BlandAltman {
    BlandAltman::of_pairs(first, second, LimitsFactor::NinetyFive, 0.95).expect("agreement")
}

#[test]
fn limits_of_agreement_with_their_intervals() {
    let first = [10.002, 10.513, 11.004, 11.498, 12.003, 12.503];
    let second = [10.001, 10.513, 11.002, 11.497, 12.001, 12.502];
    let found = agreement(&first, &second);
    let said = found.sentences(["grease", "bare"], Unit::Millimetre, 3);
    // -0.0003 and 0.0026, each ± 2.571 sqrt(3/6) 0.000753.
    assert_eq!(
        said[2..4],
        [
            "The lower of these limits lies within -0.0017 mm to +0.0011 mm, the upper within \
             +0.0013 mm to +0.0040 mm (95 %).",
            "6 pieces are few: below 10, the limits say little."
        ]
    );
    let twice: Vec<f64> = first.iter().chain(&first).copied().collect();
    let other: Vec<f64> = second.iter().chain(&second).copied().collect();
    let said = agreement(&twice, &other).sentences(["a", "b"], Unit::Millimetre, 3);
    assert!(!said.join(" ").contains("are few"), "{said:?}");
}

#[test]
fn nothing_is_shown_within_no_margin_or_without_spread() {
    let first = [10.002, 10.513, 11.004, 11.498];
    let second = [10.001, 10.513, 11.002, 11.497];
    let found = agreement(&first, &second);
    assert!(found.is_shown_within(0.1));
    for margin in [0.0, -0.1, f64::NAN] {
        assert!(!found.is_shown_within(margin), "{margin}");
    }
    for off in [0.0, 0.001] {
        let same = agreement(&first, &first.map(|mm| mm - off));
        assert!(!same.is_shown_within(0.1), "{off}");
        let said = same.sentences(["a", "b"], Unit::Millimetre, 3).join(" ");
        assert!(said.contains("do not spread at all"), "{said}");
    }
}

#[test]
fn one_reading_of_each_wire_is_too_few() {
    let seated = |counts: [usize; 3]| -> Vec<MethodReadings> {
        let wires = ["A", "B", "C"].iter().zip(counts);
        wires
            .map(|(name, count)| MethodReadings {
                name: format!("{name} alone"),
                readings: (0..count).map(|at| 8.0 + at as f64 * 0.001).collect(),
            })
            .collect()
    };
    for pairing in [Pairing::Apart, Pairing::Blocks] {
        let error = WireStudy::of(&seated([1; 3]), 0.75, pairing, 0.95).expect_err("too few");
        let needed = Undefined::TooFew {
            of: "readings of each wire",
            needed: 2,
            found: 1,
        };
        assert_eq!(error, needed);
    }
    let unequal = WireStudy::of(&seated([3, 2, 3]), 0.75, Pairing::Blocks, 0.95);
    assert_eq!(
        unequal.expect_err("unequal").to_string(),
        "2 readings of one stand against 3 of the other"
    );
    let single = [[8.0], [8.1], [8.2]];
    let said = "needs 2 readings in a group at least, has 1";
    assert_eq!(tukey(&single, 0.95).expect_err("too few").to_string(), said);
    assert_eq!(
        dunnett(&single, 0, 0.95).expect_err("too few").to_string(),
        said
    );
}

/// A reading that was voided is taken again once it is there, not before.
#[test]
fn a_redo_counts_once_it_is_measured() {
    let design = Design::methods_on_one_piece("master", vec!["bare".to_owned()], "Ann", 3, 1);
    let mut study = Study::new(design).expect("a study");
    study.fill("a", 8.0).expect("a reading");
    study.fill("b", 8.0).expect("a reading");
    study.redo(0, "slipped").expect("again");
    assert_eq!((study.progress().redone, study.progress().filled), (0, 1));
    assert!(!study.settings_words().contains("again"));
    study.fill("c", 8.0).expect("a reading");
    assert_eq!((study.progress().redone, study.progress().filled), (1, 2));
    study.redo(0, "slipped").expect("again");
    study.redo(1, "slipped").expect("again");
    assert_eq!(study.progress().redone, 1);
    let text = serde_json::to_string(&study).expect("text");
    let mut study: Study = serde_json::from_str(&text).expect("a study");
    study.fill("d", 8.0).expect("a reading");
    study.fill("e", 8.0).expect("a reading");
    assert_eq!(study.progress().redone, 3);
    assert!(
        study
            .settings_words()
            .ends_with(" 3 readings were taken again.")
    );
}

/// A limit with the places of the readings may look as if a reading beyond it lay on it.
#[test]
fn limits_are_finer_than_the_readings() {
    let series = Series::from_readings(vec![9.70, 9.72]).expect("readings");
    let chart = Individuals::of(&series, IndividualsSettings::default()).expect("limits");
    // 9.71 ± 2.6587 × 0.02.
    assert_eq!(
        chart.sentence(Unit::Millimetre, 2),
        "2 readings, lower control limit 9.657 mm, centre line 9.710 mm, upper control limit 9.763 mm; \
         provisional: 2 of 25 points. Sigma 0.018 mm (mean moving range / d2), from 1 moving range."
    );
}

#[test]
fn one_of_a_kind_is_singular() {
    let readings = Readings::of_numbers(&[8.0, 8.1, 8.2, 8.1, 8.3]).expect("readings");
    let esd = generalised_esd(&readings, 0.05, 1).expect("a test");
    assert!(esd.settings_words().contains("up to 1 stray,"));
    let said = |of, needed| {
        Undefined::TooFew {
            of,
            needed,
            found: 0,
        }
        .to_string()
    };
    assert_eq!(said("readings", 1), "needs 1 reading at least, has 0");
    assert_eq!(
        said("readings of a master", 1),
        "needs 1 reading of a master at least, has 0"
    );
    assert_eq!(
        said("pieces with two readings", 1),
        "needs 1 piece with two readings at least, has 0"
    );
    assert_eq!(said("readings", 2), "needs 2 readings at least, has 0");
}
