//! Run rules against their plainest form, gaps, words, and what chance gives.

use overwire_core::stats::run_rules::{
    Book, LONGEST_RUN, Rule, RuleSet, RunRuleError, RunRules, Signals, Watch, Zones,
};
use overwire_core::stats::series::Series;
use proptest::prelude::*;

/// Whether the last of `points` completes the pattern, by looking at the points themselves.
fn completes(points: &[f64], rule: Rule, rules: RunRules) -> bool {
    let length = usize::from(rules.length(rule));
    let window = |length: usize| {
        let from = points.len().checked_sub(length)?;
        points.get(from..)
    };
    let all = |so: &dyn Fn(f64) -> bool| {
        window(length).is_some_and(|window| window.iter().all(|&point| so(point)))
    };
    let steps = |so: &dyn Fn(&[f64]) -> bool| {
        window(length).is_some_and(|window| window.windows(2).all(so))
    };
    let all_but_one = |so: &dyn Fn(f64) -> bool| {
        let latest = points.iter().rev().take(length);
        let within = latest.filter(|point| so(**point)).count();
        within + 1 >= length && points.last().is_some_and(|&point| so(point))
    };
    match rule {
        Rule::BeyondLimit => points.last().is_some_and(|point| point.abs() > 3.0),
        Rule::SameSide => all(&|point| point > 0.0) || all(&|point| point < 0.0),
        Rule::Trend => steps(&|pair| pair[1] > pair[0]) || steps(&|pair| pair[1] < pair[0]),
        Rule::Alternating => window(length).is_some_and(|window| {
            window
                .windows(3)
                .all(|three| (three[1] - three[0]) * (three[2] - three[1]) < 0.0)
        }),
        Rule::TwoOfThree => all_but_one(&|point| point > 2.0) || all_but_one(&|point| point < -2.0),
        Rule::FourOfFive => all_but_one(&|point| point > 1.0) || all_but_one(&|point| point < -1.0),
        Rule::NearCentre => all(&|point| point.abs() < 1.0),
        Rule::AwayFromCentre => all(&|point| point.abs() > 1.0),
    }
}

/// Points on a grid of a quarter of a sigma, so that ties and hits on lines are common, in moods that
/// make long runs, trends and alternations likely.
fn points() -> impl Strategy<Value = Vec<f64>> {
    let mood = (
        0..5_u8,
        -16..16_i32,
        prop::collection::vec(-6..7_i32, 1..40),
    );
    prop::collection::vec(mood, 1..8).prop_map(|moods| {
        let mut points = Vec::new();
        for (mood, level, wobble) in moods {
            for (index, wobble) in wobble.into_iter().enumerate() {
                let index = index as i32;
                let quarters = match mood {
                    0 => wobble,
                    1 => level + wobble,
                    2 => level + index + wobble / 5,
                    3 => (if index % 2 == 0 { 5 } else { -5 }) + wobble / 2,
                    _ => wobble / 3,
                };
                points.push(f64::from(quarters) / 4.0);
            }
        }
        points
    })
}

fn lengths() -> impl Strategy<Value = RunRules> {
    (2..=LONGEST_RUN, 2..12_u8, 3..20_u8, 2..20_u8, 2..12_u8).prop_map(
        |(side, trend, alternating, near, away)| {
            [
                (Rule::SameSide, side.min(20)),
                (Rule::Trend, trend),
                (Rule::Alternating, alternating),
                (Rule::NearCentre, near),
                (Rule::AwayFromCentre, away),
            ]
            .into_iter()
            .try_fold(RunRules::nelson(), |rules, (rule, length)| {
                rules.with_length(rule, length)
            })
            .expect("lengths in range")
        },
    )
}

/// Numbers of the books: Nelson 1984 (2: one side, 5: two of three), Western Electric 1956 (4: one side).
#[test]
fn rules_are_switched_by_the_numbers_of_their_book() {
    let rules = |said: &str| said.parse::<RunRules>().expect(said);
    assert_eq!(rules(""), RunRules::usual());
    assert_eq!(rules("nelson"), RunRules::nelson());
    assert_eq!(rules("western-electric"), RunRules::western_electric());
    let few = RuleSet::of(&[Rule::SameSide, Rule::TwoOfThree]);
    assert_eq!(rules("nelson:5, 2"), RunRules::nelson().only(few));
    let four = rules("western-electric:4=9");
    assert_eq!(four.on(), RuleSet::of(&[Rule::SameSide]));
    assert_eq!(four.length(Rule::SameSide), 9);
    for wrong in [
        "nelsen",
        "nelson:9",
        "nelson:",
        "western-electric:5",
        "nelson:two",
        "nelson:2=x",
    ] {
        assert!(wrong.parse::<RunRules>().is_err(), "{wrong}");
    }
    let told = |said: &str| said.parse::<RunRules>().unwrap_err().to_string();
    assert!(
        told("nelson:2=1").starts_with("rule 2: expected a run of"),
        "{}",
        told("nelson:2=1")
    );
    assert!(
        told("nelson:1=2").contains("fixed"),
        "{}",
        told("nelson:1=2")
    );
}

proptest! {
    /// Whatever the points, the lengths, and how they are fed.
    #[test]
    fn registers_find_what_plain_looking_finds(
        points in points(),
        rules in lengths(),
        part in 1..130_usize,
    ) {
        let mut watch = Watch::new(rules, Zones::standard());
        let mut found = vec![RuleSet::NONE; points.len()];
        for (number, part_of) in points.chunks(part).enumerate() {
            watch.scan(part_of, |index, rules| found[number * part + index] = rules);
        }
        for (index, &found) in found.iter().enumerate() {
            let plain = Rule::ALL.into_iter().filter(|&rule| completes(&points[..=index], rule, rules));
            prop_assert_eq!(found, RuleSet::of(&plain.collect::<Vec<_>>()), "point {}", index);
        }
        let coarse = watch.coarseness();
        let ties = points.windows(2).filter(|pair| (pair[1] - pair[0]).abs() < 0.1).count();
        let on_line = points.iter().filter(|point| (point.abs() % 1.0) < 0.1 && point.abs() < 3.5).count();
        prop_assert_eq!((coarse.points, coarse.steps), (points.len() as u64, points.len() as u64 - 1));
        prop_assert_eq!((coarse.ties, coarse.on_a_line), (ties as u64, on_line as u64));
    }

    /// The explanation names a stretch that is the pattern by itself, and no longer run than there is.
    #[test]
    fn explanations_hold(points in points(), rules in lengths()) {
        let series = Series::from_readings(points.clone()).expect("finite points");
        let signals = Signals::find(&series, Zones::standard(), rules);
        for hit in &signals.hits {
            for explained in signals.explain(&series, hit) {
                prop_assert_eq!(explained.last, hit.index + 1);
                let alone = &points[explained.first - 1..explained.last];
                prop_assert!(completes(alone, explained.rule, rules), "{:?}", explained);
                prop_assert!(explained.count >= 1 && explained.count <= alone.len());
                prop_assert!(explained.sentence().ends_with(").") );
                if explained.first > 1 && explained.count == alone.len() && explained.count > 5 {
                    // One point more at the front and it is no longer that run throughout.
                    let one_more = &points[explained.first - 2..explained.last];
                    let longer = u8::try_from(one_more.len()).ok().filter(|&length| length <= LONGEST_RUN);
                    if let Some(Ok(longer)) = longer.map(|length| rules.with_length(explained.rule, length)) {
                        prop_assert!(!completes(one_more, explained.rule, longer), "{:?}", explained);
                    }
                }
            }
        }
    }
}

#[test]
fn no_pattern_reaches_across_a_gap() {
    let mut series = Series::from_readings(vec![0.5; 8]).expect("finite");
    series.push_excluded(0.5, "burr").expect("finite");
    for _ in 0..8 {
        series.push(0.5).expect("finite");
    }
    let rules = RunRules::usual();
    let find = |series: &Series| Signals::find(series, Zones::standard(), rules);
    assert!(find(&series).hits.is_empty());
    series.push(0.5).expect("finite");
    let signals = find(&series);
    assert_eq!(signals.hits.len(), 1);
    assert_eq!(signals.hits[0].index, 16);
    let explained = signals.explain(&series, &signals.hits[0]);
    // The left out reading keeps its place on the chart.
    assert_eq!(
        (explained[0].first, explained[0].last, explained[0].count),
        (10, 18, 9)
    );
    assert_eq!(
        explained[0].sentence(),
        "Points 10 to 18: 9 in a row above the centre line; 9 are a signal (Nelson 1984, rule 2)."
    );
    // 17 readings in two stretches: 15 of them have a neighbour before them, and equal it.
    assert_eq!(
        (signals.coarseness.steps, signals.coarseness.ties),
        (15, 15)
    );
    assert!(signals.coarseness.warning().is_some());
}

#[test]
fn every_rule_is_told_in_words() {
    let cases: [(&[f64], Rule, &str); 8] = [
        (
            &[0.0, -3.5],
            Rule::BeyondLimit,
            "Point 2 lies below the lower control limit (Nelson 1984, rule 1).",
        ),
        (
            &[
                1.0, -0.5, -0.2, -0.5, -0.2, -0.3, -0.3, -0.3, -0.4, -0.4, -0.4,
            ],
            Rule::SameSide,
            "Points 2 to 11: 10 in a row below the centre line; 9 are a signal (Nelson 1984, rule 2).",
        ),
        (
            &[0.9, 0.5, 0.4, 0.3, 0.2, 0.1, -0.1],
            Rule::Trend,
            "Points 1 to 7: 7 in a row steadily falling; 6 are a signal (Nelson 1984, rule 3).",
        ),
        (
            &[
                0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2,
            ],
            Rule::Alternating,
            "Points 1 to 14: 14 in a row going up and down in turn; 14 are a signal (Nelson 1984, rule 4).",
        ),
        (
            &[2.5, 0.0, 2.5],
            Rule::TwoOfThree,
            "Points 1 to 3: 2 of 3 further than two sigma above the centre line (Nelson 1984, rule 5).",
        ),
        (
            &[-1.5, -1.2, 0.0, -1.2, -1.4],
            Rule::FourOfFive,
            "Points 1 to 5: 4 of 5 further than one sigma below the centre line (Nelson 1984, rule 6).",
        ),
        (
            &[
                0.5, -0.5, 0.2, 0.5, -0.5, 0.2, 0.5, -0.5, 0.2, 0.5, -0.5, 0.2, 0.5, -0.5, 0.2,
            ],
            Rule::NearCentre,
            "Points 1 to 15: 15 in a row within one sigma of the centre line; 15 are a signal (Nelson 1984, \
             rule 7).",
        ),
        (
            &[1.5, -1.5, 1.2, -1.1, 2.0, -2.0, 1.3, -1.4],
            Rule::AwayFromCentre,
            "Points 1 to 8: 8 in a row further than one sigma from the centre line; 8 are a signal (Nelson \
             1984, rule 8).",
        ),
    ];
    for (points, rule, words) in cases {
        let series = Series::from_readings(points.to_vec()).expect("finite");
        let rules = RunRules::nelson().only(RuleSet::of(&[rule]));
        let signals = Signals::find(&series, Zones::standard(), rules);
        let last = signals.hits.last().expect("a hit");
        let explained = signals.explain(&series, last);
        assert_eq!(explained.len(), 1);
        assert_eq!(explained[0].sentence(), words);
        assert!(!rule.usual_cause().is_empty());
    }
}

/// Champ & Woodall 1987, table 1 (from memory; two of the five are not among the open cases).
#[test]
fn run_lengths_of_zone_rules_as_published() {
    let western = RunRules::western_electric();
    let of = |rules: &[Rule]| {
        western
            .only(RuleSet::of(rules))
            .points_to_signal(0.0)
            .expect("zones")
    };
    for (rules, published) in [
        (vec![Rule::BeyondLimit], 370.40),
        (vec![Rule::BeyondLimit, Rule::TwoOfThree], 225.44),
        (vec![Rule::BeyondLimit, Rule::FourOfFive], 166.05),
        (vec![Rule::BeyondLimit, Rule::SameSide], 152.73),
        (western.on().iter().collect(), 91.75),
    ] {
        assert!((of(&rules) - published).abs() < 0.006, "{rules:?}");
    }
    assert_eq!(
        RunRules::nelson().points_to_signal(0.0),
        None,
        "trends look at no zones"
    );
    assert_eq!(western.only(RuleSet::NONE).points_to_signal(0.0), None);
    assert_eq!(western.points_to_signal(f64::NAN), None);
    let shifted = western.points_to_signal(3.0).expect("zones");
    assert!(shifted > 1.0 && shifted < 2.0, "{shifted}");
}

/// What chance gives on a long chart, against sums of twelve even deviates.
#[test]
fn hits_by_chance_come_about() {
    let mut state = 7_u64;
    let mut even = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let count = 400_000;
    let normal = (0..count).map(|_| (0..12).map(|_| even()).sum::<f64>() - 6.0);
    let series = Series::from_readings(normal.collect()).expect("finite");
    let rules = RunRules::nelson();
    let signals = Signals::find(&series, Zones::standard(), rules);
    for rule in Rule::ALL {
        let expected = f64::from(count) * rules.hits_by_chance(rule);
        let found = signals.count(rule) as f64;
        // Sums of twelve have thinner tails than normal numbers: fewer lie beyond three sigma.
        let thin = if rule == Rule::BeyondLimit {
            0.2 * expected
        } else {
            0.0
        };
        let most = 4.0 * (3.0 * expected).sqrt() + thin;
        assert!(
            (found - expected).abs() < most,
            "{rule:?}: {found}, expected {expected}"
        );
    }
}

#[test]
fn settings_stand_in_a_file_and_in_words() {
    let rules = RunRules::nelson()
        .with_length(Rule::SameSide, 7)
        .expect("a length");
    let rules = rules.only(RuleSet::of(&[Rule::BeyondLimit, Rule::SameSide]));
    let text = serde_json::to_string(&rules).expect("JSON");
    assert!(
        text.contains(r#""on":["beyond-limit","same-side"]"#),
        "{text}"
    );
    assert_eq!(
        serde_json::from_str::<RunRules>(&text).expect("rules"),
        rules
    );
    let bad = text.replace(r#""same_side":7"#, r#""same_side":1"#);
    assert!(serde_json::from_str::<RunRules>(&bad).is_err());
    assert!(rules.settings_words().starts_with(
        "Run rules of Nelson 1984: 1: a point beyond a limit; 2: 7 in a row on one side of the centre line."
    ));
    assert_eq!(
        RunRules::western_electric().book(),
        Book::WesternElectric1956
    );
    let fixed = RunRules::nelson().with_length(Rule::TwoOfThree, 4);
    assert_eq!(fixed, Err(RunRuleError::Fixed));
    let long = RunRules::nelson().with_length(Rule::SameSide, LONGEST_RUN + 1);
    assert!(matches!(long, Err(RunRuleError::Length { .. })));
    // A book never gains a rule that it does not have.
    assert!(
        !RunRules::western_electric()
            .only(RuleSet::ALL)
            .on()
            .contains(Rule::Trend)
    );
    assert!(RunRules::nelson().for_moving_ranges().on() == RuleSet::of(&[Rule::BeyondLimit]));
}

#[test]
fn one_sided_limits_have_nothing_beyond_the_missing_one() {
    let mut watch = Watch::new(RunRules::nelson(), Zones::between(1.0, None, Some(4.0)));
    let mut found = RuleSet::NONE;
    for point in [0.0, 0.1, 0.0, 0.1] {
        found = watch.next(point);
    }
    assert!(!found.contains(Rule::BeyondLimit) && !found.contains(Rule::FourOfFive));
    assert!(watch.next(4.1).contains(Rule::BeyondLimit));
}
