//! Methods compared: the four verdicts, what they rest on, and what is said.

use overwire_core::stats::Undefined;
use overwire_core::study::{
    Adjustment, Comparison, ComparisonCaution, ComparisonSettings, Design, Margin, MethodReadings,
    More, Pairing, SpreadVerdict, Study, Verdict, levene,
};
use overwire_core::units::Unit;
use proptest::prelude::*;

fn method(name: &str, readings: &[f64]) -> MethodReadings {
    MethodReadings {
        name: name.to_owned(),
        readings: readings.to_vec(),
    }
}

/// Ten readings in inches of one piece: bare wires, and three ways of holding them.
fn aids() -> Vec<MethodReadings> {
    let in_mm = |name: &str, last_digits: [i32; 10]| {
        let readings = last_digits.map(|digits| (0.534 + f64::from(digits) * 1e-5) * 25.4);
        method(name, &readings)
    };
    vec![
        in_mm("bare", [12, -2, 21, 5, -10, 17, 2, 11, -5, 9]),
        in_mm("grease", [8, 4, 11, 6, 2, 9, 5, 10, 3, 7]),
        in_mm("foam", [15, 18, 13, 20, 11, 16, 19, 14, 17, 12]),
        in_mm("clip", [4, 2, 3, 5, 1, 3, 4, 2, 3, 4]),
    ]
}

fn inches(inches: f64) -> f64 {
    inches * 25.4
}

fn compared(methods: &[MethodReadings], margin: f64) -> Comparison {
    let margin = Margin::share_of(inches(margin) * 10.0, 0.10);
    Comparison::of(methods, 0, ComparisonSettings::usual(margin)).expect("a comparison")
}

fn verdicts(comparison: &Comparison) -> Vec<Verdict> {
    let verdict = |against: &overwire_core::study::Against| against.mean.expect("a mean").verdict;
    comparison.against.iter().map(verdict).collect()
}

#[test]
fn a_wide_margin_a_narrow_one_and_one_between() {
    let wide = compared(&aids(), 0.0005);
    assert_eq!(
        verdicts(&wide),
        [
            Verdict::Equivalent,
            Verdict::Equivalent,
            Verdict::Equivalent
        ]
    );
    // Two methods alone: foam reads higher, paired t 2.81 at 9 degrees of freedom.
    let foam = [aids()[0].clone(), aids()[2].clone()];
    assert_eq!(
        verdicts(&compared(&foam, 0.0005)),
        [Verdict::DifferentWithinMargin]
    );
    assert_eq!(
        verdicts(&compared(&foam, 0.00015)),
        [Verdict::Different {
            beyond_margin: false
        }]
    );
    assert_eq!(
        verdicts(&compared(&foam, 0.00003)),
        [Verdict::Different {
            beyond_margin: true
        }]
    );
    let clip = [aids()[0].clone(), aids()[3].clone()];
    let verdict = verdicts(&compared(&clip, 0.00008))[0];
    assert!(
        matches!(verdict, Verdict::NotEnough(More::Readings(_))),
        "{verdict:?}"
    );
}

/// As many more readings as were asked for, with the same bias and spread, decide.
#[test]
fn the_readings_asked_for_decide() {
    let clip = [aids()[0].clone(), aids()[3].clone()];
    let Verdict::NotEnough(More::Readings(more)) = verdicts(&compared(&clip, 0.00008))[0] else {
        panic!("decided already");
    };
    let total = 10 + more;
    assert!((20..80).contains(&total), "{total}");
    let repeated = |method: &MethodReadings| {
        let readings = method.readings.iter().cycle().take(total);
        MethodReadings {
            name: method.name.clone(),
            readings: readings.copied().collect(),
        }
    };
    let longer: Vec<MethodReadings> = clip.iter().map(repeated).collect();
    let verdict = verdicts(&compared(&longer, 0.00008))[0];
    assert!(!matches!(verdict, Verdict::NotEnough(_)), "{verdict:?}");
}

#[test]
fn a_margin_far_below_the_spread_asks_for_no_number() {
    let same = [
        method("bare", &[10.0, 10.1, 9.9, 10.05, 9.95]),
        method("grease", &[10.1, 10.0, 10.0, 9.95, 9.95]),
    ];
    let settings = ComparisonSettings::usual(Margin::share_of(0.001, 0.10));
    let comparison = Comparison::of(&same, 0, settings).expect("a comparison");
    assert_eq!(verdicts(&comparison), [Verdict::NotEnough(More::TooMany)]);
}

#[test]
fn spread_is_judged_apart_from_the_mean() {
    let comparison = compared(&aids(), 0.0005);
    let spreads: Vec<SpreadVerdict> = comparison
        .against
        .iter()
        .map(|against| against.spread.expect("a spread").verdict)
        .collect();
    assert_eq!(spreads, [SpreadVerdict::Tighter; 3]);
    assert!(comparison.same_spread.differ);
    assert_eq!(comparison.adjustment, Adjustment::OwnSpreads);
    assert_eq!(comparison.one_spread, None);
    let codes: Vec<&str> = comparison
        .cautions()
        .iter()
        .map(ComparisonCaution::code)
        .collect();
    assert_eq!(codes, ["spreads_rough", "spreads_differ"]);
}

#[test]
fn what_is_said() {
    let comparison = compared(&aids(), 0.00015);
    let against =
        |index: usize| comparison.against_sentences(&comparison.against[index], Unit::Inch, 5);
    assert_eq!(
        against(0),
        [
            "grease: EQUIVALENT. It reads 0.000005 in higher than bare (-0.000059 in to +0.000069 in, \
             95 % for all methods at once, 0.33 % of the tolerance). In the mean it is shown to read the same \
             within ±0.00015 in. Margin test: -0.000035 in to +0.000045 in (90 %).",
            "grease: its spread is 0.31 of bare's (0.15 to 0.62): it repeats better than bare."
        ]
    );
    assert_eq!(
        comparison.settings_words(Unit::Inch, 5),
        "Margin 0.00015 in (10 % of the tolerance); paired: one reading of each method in every \
         block; significance 0.05; intervals 95 %, of the margin test 90 %; spreads differ when \
         Levene's test by the median is below 0.05; further readings for a chance of 90 %. Baseline \
         bare; differences: all against the baseline at once, each with its own spread (Dunnett's T3)."
    );
    assert_eq!(
        comparison.overall_sentences()[1],
        "Not all methods repeat alike (Levene by the median 12.05, probability by chance below \
         0.0001)."
    );
    assert_eq!(
        comparison.repeat_sentences(Unit::Inch, 5)[3],
        "clip: readings repeat with a standard deviation of 0.000012 in (0.000008 in to 0.000022 in, \
         10 readings)."
    );
    let clip = [aids()[0].clone(), aids()[3].clone()];
    let comparison = compared(&clip, 0.00008);
    let [mean, _] = comparison.against_sentences(&comparison.against[0], Unit::Inch, 5);
    assert!(mean.contains("NOT ENOUGH READINGS: take "), "{mean}");
    assert!(
        mean.contains("more rounds of all methods decide with a chance of 90 %."),
        "{mean}"
    );
}

#[test]
fn the_step_stands_in_where_readings_do_not_differ() {
    let same = [method("bare", &[10.001; 8]), method("clip", &[10.001; 8])];
    let settings = ComparisonSettings::usual(Margin::share_of(0.1, 0.10));
    let blind = Comparison::of(&same, 0, settings).expect("a comparison");
    assert_eq!(
        blind.against[0].mean.expect_err("no spread"),
        Undefined::NoSpread
    );
    let known = ComparisonSettings {
        step_mm: Some(0.001),
        ..settings
    };
    let comparison = Comparison::of(&same, 0, known).expect("a comparison");
    let mean = comparison.against[0].mean.expect("a mean");
    assert_eq!(mean.verdict, Verdict::Equivalent);
    // A step over √6 is the deviation of a difference of two rounded readings.
    let expected = 0.001 / 6.0_f64.sqrt() / 8.0_f64.sqrt();
    assert!((mean.difference.estimate.standard_error - expected).abs() < 1e-15);
    assert!(
        comparison
            .cautions()
            .contains(&ComparisonCaution::StepTooCoarse)
    );
    let [_, spread] = comparison.against_sentences(&comparison.against[0], Unit::Millimetre, 3);
    assert!(spread.contains("cannot be held against"), "{spread}");
}

#[test]
fn one_reading_each_says_nothing() {
    let few = [method("bare", &[10.0]), method("clip", &[10.1])];
    let settings = ComparisonSettings::usual(Margin::share_of(0.1, 0.10));
    let comparison = Comparison::of(&few, 0, settings).expect("a comparison");
    assert!(comparison.against[0].mean.is_err());
    assert!(comparison.methods[0].mean.is_ok());
    let [mean, _] = comparison.against_sentences(&comparison.against[0], Unit::Millimetre, 3);
    assert_eq!(
        mean,
        "clip: cannot be held against bare, needs 2 readings at least, has 1."
    );
}

/// Two readings lie equally far from their median, so Levene's test has nothing to go by; nor do two
/// readings of each method show that they read the same.
#[test]
fn two_readings_each_show_neither_spread_nor_equivalence() {
    let pair = [
        method("bare", &[inches(0.51255), inches(0.51250)]),
        method("clip", &[inches(0.51250), inches(0.51250)]),
    ];
    assert!(levene(&[&pair[0].readings, &pair[1].readings]).is_err());
    for pairing in [Pairing::Blocks, Pairing::Apart] {
        let settings = ComparisonSettings {
            pairing,
            ..ComparisonSettings::usual(Margin::share_of(inches(0.1), 0.10))
        };
        let comparison = Comparison::of(&pair, 0, settings).expect("a comparison");
        assert!(!comparison.same_spread.differ);
        assert_eq!(
            comparison.overall_sentences()[1],
            "Same spread: cannot be told, needs 3 readings in a group at least, has 2."
        );
        let verdict = verdicts(&comparison)[0];
        assert!(
            matches!(verdict, Verdict::NotEnough(More::Readings(_))),
            "{verdict:?}"
        );
    }
}

/// Four readings, two and two: all lie equally far from the median but for what inches were rounded by.
#[test]
fn what_rounding_leaves_is_no_spread_of_spreads() {
    let of = |low: f64, high: f64| [low, high, low, high].map(|inches| inches * 25.4);
    let groups = [
        of(0.51250, 0.51255),
        of(0.51245, 0.51260),
        of(0.51251, 0.51253),
    ];
    assert_eq!(levene(&groups), Err(Undefined::NoSpread));
}

/// A method whose readings do not differ shows no agreement, as its spread is not known.
#[test]
fn readings_that_do_not_differ_show_no_agreement() {
    let methods = [
        method("bare", &[10.001, 10.002, 10.001, 10.002, 10.001, 10.001]),
        method("clip", &[10.001; 6]),
    ];
    let settings = ComparisonSettings::usual(Margin::share_of(0.5, 0.10));
    let comparison = Comparison::of(&methods, 0, settings).expect("a comparison");
    assert_eq!(verdicts(&comparison), [Verdict::NotEnough(More::NoSpread)]);
    let [mean, _] = comparison.against_sentences(&comparison.against[0], Unit::Millimetre, 3);
    assert!(
        mean.contains("the readings of a method do not differ"),
        "{mean}"
    );
    assert_eq!(
        comparison.repeat_sentences(Unit::Millimetre, 3)[1],
        "clip: all 6 readings are the same: how it repeats is not known from them."
    );
    let known = ComparisonSettings {
        step_mm: Some(0.001),
        ..settings
    };
    for pairing in [Pairing::Blocks, Pairing::Apart] {
        let known = ComparisonSettings { pairing, ..known };
        let comparison = Comparison::of(&methods, 0, known).expect("a comparison");
        assert_eq!(verdicts(&comparison), [Verdict::Equivalent]);
    }
    let still = [method("bare", &[10.001; 6]), method("clip", &[10.001; 6])];
    let comparison = Comparison::of(&still, 0, known).expect("a comparison");
    assert_eq!(verdicts(&comparison), [Verdict::Equivalent]);
    let [mean, _] = comparison.overall_sentences();
    assert!(!mean.contains("cannot be told"), "{mean}");
}

/// A margin is printed as it was given, however coarse the readings.
#[test]
fn a_margin_keeps_its_places() {
    let margin = Margin {
        length_mm: 0.005,
        tolerance_mm: None,
    };
    let methods = [
        method("bare", &[10.01, 10.02, 10.01, 10.02, 10.01, 10.01]),
        method("clip", &[10.02, 10.01, 10.01, 10.01, 10.02, 10.01]),
    ];
    let comparison =
        Comparison::of(&methods, 0, ComparisonSettings::usual(margin)).expect("a comparison");
    let words = comparison.settings_words(Unit::Millimetre, 2);
    assert!(words.starts_with("Margin 0.005 mm; "), "{words}");
    let [mean, _] = comparison.against_sentences(&comparison.against[0], Unit::Millimetre, 2);
    assert!(mean.contains("±0.005 mm"), "{mean}");
    // Given in mm, it has no end in inches: one place more than the readings.
    let words = comparison.settings_words(Unit::Inch, 5);
    assert!(words.starts_with("Margin 0.000197 in; "), "{words}");
}

#[test]
fn comparisons_that_are_refused() {
    let usual = ComparisonSettings::usual(Margin::share_of(0.1, 0.10));
    let pair = [method("bare", &[1.0, 2.0]), method("clip", &[1.0])];
    let nan = [
        method("bare", &[1.0, f64::NAN]),
        method("clip", &[1.0, 2.0]),
    ];
    let no_margin = ComparisonSettings::usual(Margin::share_of(0.1, 0.0));
    let cases = [
        (Comparison::of(&pair[..1], 0, usual), "too-few-methods"),
        (Comparison::of(&pair, 2, usual), "no-baseline"),
        (Comparison::of(&pair, 0, usual), "unpaired"),
        (Comparison::of(&nan, 0, usual), "not-finite"),
        (Comparison::of(&nan, 0, no_margin), "setting"),
    ];
    for (found, code) in cases {
        assert_eq!(found.expect_err(code).code(), code);
    }
    let apart = ComparisonSettings {
        pairing: Pairing::Apart,
        ..usual
    };
    assert!(Comparison::of(&pair, 0, apart).is_ok());
}

/// A round in which a method is missing does not count: its readings have no partners.
#[test]
fn only_complete_rounds_are_paired() {
    let methods = vec!["bare".to_owned(), "clip".to_owned()];
    let design = Design::methods_on_one_piece("master", methods, "Ann", 3, 4);
    let mut study = Study::new(design).expect("a study");
    for number in 0..5 {
        let prompt = study.next().expect("a prompt");
        let value = prompt.cell.round as f64 + 10.0 * prompt.cell.method as f64;
        study
            .fill(&format!("id-{number}"), value)
            .expect("a reading");
    }
    let paired = MethodReadings::from_study(&study, Pairing::Blocks).expect("readings");
    assert_eq!(
        paired,
        [method("bare", &[0.0, 1.0]), method("clip", &[10.0, 11.0])]
    );
    let apart = MethodReadings::from_study(&study, Pairing::Apart).expect("readings");
    assert_eq!(apart.iter().map(|one| one.readings.len()).sum::<usize>(), 5);
}

fn three_methods() -> impl Strategy<Value = Vec<MethodReadings>> {
    let readings = prop::collection::vec(-50..50_i32, 6..14);
    let length = readings.prop_flat_map(|first| {
        let count = first.len();
        let others = prop::collection::vec(prop::collection::vec(-50..50_i32, count), 2);
        (Just(first), others)
    });
    length.prop_map(|(first, others)| {
        let mm = |counts: &[i32]| counts.iter().map(|&c| 13.5 + f64::from(c) * 1e-4).collect();
        let methods = std::iter::once(first).chain(others).enumerate();
        methods
            .map(|(index, counts)| MethodReadings {
                name: format!("method {index}"),
                readings: mm(&counts),
            })
            .collect()
    })
}

proptest! {
    // A comparison reckons with distributions that take their time without optimisation.
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// What drifts alike under all methods of a round does not touch a bias.
    #[test]
    fn drift_is_no_bias(methods in three_methods(), slope in -0.01..0.01) {
        let drifted: Vec<MethodReadings> = methods.iter().map(|one| {
            let readings = one.readings.iter().enumerate();
            let readings: Vec<f64> = readings.map(|(round, mm)| mm + slope * round as f64).collect();
            method(&one.name, &readings)
        }).collect();
        let settings = ComparisonSettings::usual(Margin::share_of(0.1, 0.10));
        let still = Comparison::of(&methods, 0, settings).expect("a comparison");
        let moved = Comparison::of(&drifted, 0, settings).expect("a comparison");
        for (one, other) in still.against.iter().zip(&moved.against) {
            if let (Ok(one), Ok(other)) = (&one.mean, &other.mean) {
                let (one, other) = (one.difference.estimate, other.difference.estimate);
                prop_assert!((one.value - other.value).abs() < 1e-12);
                prop_assert!((one.standard_error - other.standard_error).abs() < 1e-12);
            }
        }
    }

    /// Equivalence is said only of an interval that lies within the margin, a difference only where
    /// chance is below the significance; never both "not" and a verdict.
    #[test]
    fn a_verdict_rests_on_what_was_shown(methods in three_methods(), margin in 0.0001..0.02) {
        let settings = ComparisonSettings::usual(Margin { length_mm: margin, tolerance_mm: None });
        for pairing in [Pairing::Blocks, Pairing::Apart] {
            let settings = ComparisonSettings { pairing, ..settings };
            let comparison = Comparison::of(&methods, 0, settings).expect("a comparison");
            for against in &comparison.against {
                let Ok(mean) = against.mean else { continue };
                let interval = mean.equivalence.interval;
                let inside = interval.low > -margin && interval.high < margin;
                let shown = mean.adjusted.probability < 0.05;
                let said = match mean.verdict {
                    Verdict::Equivalent => (true, false),
                    Verdict::DifferentWithinMargin => (true, true),
                    Verdict::Different { .. } => (false, true),
                    Verdict::NotEnough(_) => (false, false),
                };
                prop_assert_eq!(said, (inside, shown));
                prop_assert!(mean.adjusted.probability >= mean.probability - 1e-9);
                let printed = mean.adjusted.interval;
                prop_assert_eq!(shown, printed.low > 0.0 || printed.high < 0.0);
            }
        }
    }

    /// Reading everything a constant higher changes nothing but the means.
    #[test]
    fn a_common_part_changes_nothing(methods in three_methods(), shift in 0.0..500.0) {
        let shifted: Vec<MethodReadings> = methods.iter().map(|one| {
            let readings: Vec<f64> = one.readings.iter().map(|mm| mm + shift).collect();
            method(&one.name, &readings)
        }).collect();
        let settings = ComparisonSettings::usual(Margin::share_of(0.1, 0.10));
        let here = Comparison::of(&methods, 0, settings).expect("a comparison");
        let there = Comparison::of(&shifted, 0, settings).expect("a comparison");
        for (one, other) in here.methods.iter().zip(&there.methods) {
            if let (Ok(one), Ok(other)) = (one.deviation, other.deviation) {
                prop_assert!((one.deviation - other.deviation).abs() < 1e-9);
            }
        }
        for (one, other) in here.against.iter().zip(&there.against) {
            if let (Ok(one), Ok(other)) = (&one.mean, &other.mean) {
                prop_assert!((one.probability - other.probability).abs() < 1e-6);
            }
        }
    }
}

/// By construction: with three readings of each the spread is hardly known, so nothing is promised below ten of each;
/// with ten the number that decides is named with its chance. What is compared by Welch is said with the conventions.
#[test]
fn from_few_readings_no_chance_is_named() {
    let apart = |count: usize, margin: f64| {
        let taken = |method: &MethodReadings| MethodReadings {
            readings: method.readings.iter().copied().take(count).collect(),
            ..method.clone()
        };
        let methods = [taken(&aids()[0]), taken(&aids()[2])];
        let margin = Margin::share_of(inches(margin) * 10.0, 0.10);
        let settings = ComparisonSettings {
            pairing: Pairing::Apart,
            ..ComparisonSettings::usual(margin)
        };
        Comparison::of(&methods, 0, settings).expect("a comparison")
    };
    let told = |comparison: &Comparison| {
        comparison
            .against_sentences(&comparison.against[0], Unit::Inch, 5)
            .join(" ")
    };
    let few = told(&apart(3, 0.0001));
    assert!(
        few.contains("NOT ENOUGH READINGS") && few.contains("From 3 readings the spread is hardly"),
        "{few}"
    );
    assert!(!few.contains("with a chance of"), "{few}");
    let Verdict::NotEnough(More::Readings(more)) = verdicts(&apart(3, 0.0001))[0] else {
        panic!("{few}");
    };
    assert!(more >= 7, "{more}");
    let usual = apart(10, 0.00011);
    let conventions = usual.settings_words(Unit::Inch, 5);
    assert!(conventions.contains("by Welch"), "{conventions}");
    let paired = compared(&aids(), 0.0005).settings_words(Unit::Inch, 5);
    assert!(!paired.contains("Welch"), "{paired}");
}
