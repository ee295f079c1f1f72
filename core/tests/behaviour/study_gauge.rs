//! Gauge studies: what is refused, what is said, and that the limits of components hold as often as they claim.

use overwire_core::stats::Undefined;
use overwire_core::stats::distribution::normal_quantile;
use overwire_core::study::{
    Band, Crossed, Design, GaugeSettings, GaugeStudy, GaugeTolerance, NestedReadings, NestedStudy,
    Order, Pieces, Pooling, Study, TaggedReading,
};
use overwire_core::units::Unit;
use proptest::prelude::*;

/// Readings by piece, operator and repeat, with names.
fn tagged(cells: &[Vec<Vec<f64>>]) -> Vec<(String, String, f64)> {
    let mut readings = Vec::new();
    for (piece, row) in cells.iter().enumerate() {
        for (operator, cell) in row.iter().enumerate() {
            for value in cell {
                readings.push((
                    format!("piece {piece}"),
                    format!("operator {operator}"),
                    *value,
                ));
            }
        }
    }
    readings
}

fn as_tagged(readings: &[(String, String, f64)]) -> Vec<TaggedReading<'_>> {
    readings
        .iter()
        .map(|(piece, operator, value)| TaggedReading {
            piece,
            operator,
            value: *value,
        })
        .collect()
}

fn small_study() -> Vec<(String, String, f64)> {
    tagged(&[
        vec![vec![10.001, 10.002], vec![10.003, 10.002]],
        vec![vec![10.021, 10.020], vec![10.022, 10.022]],
        vec![vec![10.041, 10.043], vec![10.044, 10.042]],
        vec![vec![10.060, 10.062], vec![10.061, 10.063]],
    ])
}

#[test]
fn a_table_with_a_hole_is_refused() {
    let mut readings = small_study();
    readings.pop();
    let error = Crossed::of(&as_tagged(&readings)).expect_err("a hole");
    assert_eq!(
        error.to_string(),
        "operator 1 measured piece 3 once, others twice: measure what is missing, or leave the piece or \
         the operator out"
    );
    readings.retain(|(piece, operator, _)| piece != "piece 3" || operator != "operator 1");
    let error = Crossed::of(&as_tagged(&readings)).expect_err("a hole");
    assert_eq!(error.code(), "unbalanced");
    let once: Vec<(String, String, f64)> = tagged(&[vec![vec![1.0]], vec![vec![2.0]]]);
    assert_eq!(
        Crossed::of(&as_tagged(&once)).expect_err("once").code(),
        "no-repeats"
    );
    let one_piece = tagged(&[vec![vec![1.0, 2.0]]]);
    assert_eq!(
        Crossed::of(&as_tagged(&one_piece)).expect_err("one").code(),
        "too-few-pieces"
    );
    let nan = tagged(&[vec![vec![1.0, f64::NAN]], vec![vec![1.0, 2.0]]]);
    assert_eq!(
        Crossed::of(&as_tagged(&nan)).expect_err("nan").code(),
        "not-finite"
    );
    let nested = NestedReadings::of(&as_tagged(&once)).expect_err("one operator");
    assert_eq!(nested.code(), "too-few-operators");
}

#[test]
fn what_a_gauge_study_says() {
    let readings = small_study();
    let table = Crossed::of(&as_tagged(&readings)).expect("a table");
    let settings = GaugeSettings::usual(Some(GaugeTolerance::Between(0.050)));
    let study = GaugeStudy::of(&table, settings).expect("a study");
    let sentences = study.sentences(Unit::Millimetre, 3);
    assert!(study.pooled);
    assert_eq!(
        sentences,
        [
            "The gauge takes up 14 % of the tolerance, limits 11 % to 305 % (10 to 30 %: may do, depending on \
             what is at stake). The limits reach from \"10 to 30 %\" to \"above 30 %\": which it is these \
             readings do not say. It tells 30 sizes of pieces apart.",
            "Repeats: standard deviation 0.0009 mm (0.0007 mm to 0.0016 mm), 3.6 % of the study's spread, \
             11 % of the tolerance.",
            "Operators: standard deviation 0.0007 mm (0.0000 mm to 0.0254 mm), 2.8 % of the study's spread, \
             8.7 % of the tolerance.",
            "The whole gauge: standard deviation 0.0012 mm (0.0009 mm to 0.0254 mm), 4.6 % of the \
             study's spread, 14 % of the tolerance.",
            "The pieces: standard deviation 0.0258 mm (0.0146 mm to 0.0962 mm), 100 % of the study's spread, \
             309 % of the tolerance.",
            "With 2 operators, how much operators differ is hardly known: look at the limits."
        ]
    );
    assert_eq!(
        study.settings_words(Unit::Millimetre, 3),
        "4 pieces, 2 operators, 2 readings of each, analysis of variance without interaction. Random \
         effects; interaction pooled with the repeats when its probability by chance is above 0.25; \
         tolerance 0.050 mm against 6 deviations; categories by 1.41; limits 95 %."
    );
}

#[test]
fn older_papers_and_one_limit() {
    let readings = small_study();
    let table = Crossed::of(&as_tagged(&readings)).expect("a table");
    let share = |deviations: f64, tolerance| {
        let settings = GaugeSettings {
            deviations,
            ..GaugeSettings::usual(Some(tolerance))
        };
        let study = GaugeStudy::of(&table, settings).expect("a study");
        study
            .components()
            .gauge
            .share_of_tolerance
            .expect("a share")
    };
    let (six, older) = (
        share(6.0, GaugeTolerance::Between(0.05)),
        share(5.15, GaugeTolerance::Between(0.05)),
    );
    assert!((older / six - 5.15 / 6.0).abs() < 1e-12);
    // Three deviations against half the width are the same share.
    assert!((share(6.0, GaugeTolerance::OneSided(0.025)) - six).abs() < 1e-12);
    let senseless = GaugeSettings {
        deviations: 0.0,
        ..GaugeSettings::usual(None)
    };
    assert!(matches!(
        GaugeStudy::of(&table, senseless),
        Err(Undefined::Senseless { .. })
    ));
}

#[test]
fn one_operator_says_nothing_of_operators() {
    let readings = tagged(&[
        vec![vec![10.001, 10.002]],
        vec![vec![10.021, 10.020]],
        vec![vec![10.041, 10.043]],
    ]);
    let table = Crossed::of(&as_tagged(&readings)).expect("a table");
    let study = GaugeStudy::of(&table, GaugeSettings::usual(None)).expect("a study");
    let found = study.components();
    assert!(found.operator.deviation_limits.is_err());
    assert!((found.gauge.variance - found.repeat.variance).abs() < 1e-18);
    let sentences = study.sentences(Unit::Millimetre, 3);
    let last = sentences.last().expect("a sentence");
    assert_eq!(
        last,
        "One operator only: nothing is said about how operators differ."
    );
}

#[test]
fn repeats_that_do_not_differ_leave_figures_out() {
    let readings = tagged(&[
        vec![vec![10.0, 10.0], vec![10.0, 10.0]],
        vec![vec![10.5, 10.5], vec![10.5, 10.5]],
    ]);
    let table = Crossed::of(&as_tagged(&readings)).expect("a table");
    let study = GaugeStudy::of(&table, GaugeSettings::usual(None)).expect("a study");
    assert_eq!(study.components().categories, Err(Undefined::NoSpread));
    assert_eq!(study.table.interaction_ratio(), Err(Undefined::NoSpread));
    let sentences = study.sentences(Unit::Millimetre, 3).join(" ");
    assert!(
        sentences.contains(
            "The repeats do not differ: how good the gauge is, and how many sizes of pieces it tells \
             apart, is not known from them."
        ),
        "{sentences}"
    );
    assert!(sentences.contains("Repeats: standard deviation 0.0000 mm (limits -: "));
    assert_eq!(study.components().band(), Err(Undefined::NoSpread));
    assert!(!sentences.contains("NaN"), "{sentences}");
}

/// Inches read alike, in mm: what the interaction keeps is what numbers are rounded by, no gauge.
#[test]
fn what_rounding_leaves_is_no_gauge() {
    let inches = [
        0.51237, 0.51251, 0.51263, 0.51279, 0.51288, 0.51291, 0.51302, 0.51313, 0.51327, 0.51331,
    ];
    let cells: Vec<Vec<Vec<f64>>> = inches
        .iter()
        .map(|inches| vec![vec![inches * 25.4; 3]; 3])
        .collect();
    let readings = tagged(&cells);
    let table = Crossed::of(&as_tagged(&readings)).expect("a table");
    let settings = GaugeSettings::usual(Some(GaugeTolerance::Between(0.1)));
    let study = GaugeStudy::of(&table, settings).expect("a study");
    for found in [&study.with_interaction, &study.without_interaction] {
        assert_eq!(
            found.categories.map(|told| told.whole()),
            Err(Undefined::NoSpread)
        );
        assert_eq!(found.band(), Err(Undefined::NoSpread));
        assert!(found.gauge.variance <= 0.0, "{:?}", found.gauge);
    }
    let said = study.sentences(Unit::Millimetre, 4).join(" ");
    assert!(!said.contains("good. It tells"), "{said}");
    assert!(said.contains("The repeats do not differ"), "{said}");

    let own: Vec<(String, String, f64)> = (0..18)
        .map(|at| {
            let (operator, piece) = (at / 6, at % 6 / 2);
            let mm = inches[piece] * 25.4;
            (
                format!("piece {operator}.{piece}"),
                format!("operator {operator}"),
                mm,
            )
        })
        .collect();
    let nested = NestedReadings::of(&as_tagged(&own)).expect("readings");
    let study = NestedStudy::of(&nested, settings).expect("a study");
    assert_eq!(
        study.categories.map(|told| told.whole()),
        Err(Undefined::NoSpread)
    );
    let said = study.sentences(Unit::Millimetre, 4).join(" ");
    assert!(said.contains("The repeats do not differ"), "{said}");
}

/// Where operators come out as less than nothing, the limits of the whole gauge still hold its figure
/// and are nowhere below those of the repeats.
#[test]
fn limits_hold_their_own_figure() {
    let mut deviates = Deviates(7);
    for _ in 0..60 {
        let mut own = Vec::new();
        for operator in 0..3 {
            for piece in 0..4 {
                let of_piece = 0.02 * deviates.next();
                for _ in 0..2 {
                    let mm = 10.0 + of_piece + 0.001 * deviates.next();
                    own.push((format!("piece {piece}"), format!("operator {operator}"), mm));
                }
            }
        }
        let settings = GaugeSettings::usual(None);
        let nested = NestedReadings::of(&as_tagged(&own)).expect("readings");
        let nested = NestedStudy::of(&nested, settings).expect("a study");
        let table = Crossed::of(&as_tagged(&own)).expect("a table");
        let crossed = GaugeStudy::of(&table, settings).expect("a study");
        let mut gauges = vec![(nested.repeat, nested.gauge)];
        let mut all = vec![nested.operator, nested.piece, nested.total];
        for found in [&crossed.with_interaction, &crossed.without_interaction] {
            gauges.push((found.repeat, found.gauge));
            all.extend([found.operator, found.interaction, found.reproducibility]);
            all.extend([found.piece, found.total]);
        }
        for (repeat, gauge) in gauges {
            let of_repeats = repeat.deviation_limits.expect("limits");
            let limits = gauge.deviation_limits.expect("limits");
            assert!(limits.holds(gauge.deviation()), "{gauge:?}");
            assert!(
                limits.low >= of_repeats.low.min(gauge.deviation()),
                "{gauge:?} {repeat:?}"
            );
            assert!(limits.high >= of_repeats.high, "{gauge:?} {repeat:?}");
        }
        for component in all {
            if let Ok(limits) = component.deviation_limits {
                assert!(limits.holds(component.deviation()), "{component:?}");
                assert!(limits.high > 0.0, "{component:?}");
            }
        }
    }
}

/// With an interaction, the sentence of the operators holds both, and says so.
#[test]
fn operators_are_named_with_their_interaction() {
    let readings = small_study();
    let table = Crossed::of(&as_tagged(&readings)).expect("a table");
    let settings = GaugeSettings {
        pooling: Pooling::Never,
        ..GaugeSettings::usual(None)
    };
    let study = GaugeStudy::of(&table, settings).expect("a study");
    let said = study.sentences(Unit::Millimetre, 3);
    assert!(
        said[2].starts_with("Operators with their interaction: "),
        "{said:?}"
    );

    let one = tagged(&[vec![vec![10.00, 10.02]], vec![vec![10.01, 10.03]]]);
    let table = Crossed::of(&as_tagged(&one)).expect("a table");
    let study = GaugeStudy::of(&table, settings).expect("a study");
    let words = study.settings_words(Unit::Millimetre, 3);
    assert!(
        words.starts_with("2 pieces, 1 operator, 2 readings of each"),
        "{words}"
    );
    let said = study.sentences(Unit::Millimetre, 3).join(" ");
    assert!(
        said.contains("It tells 1 size of pieces apart; 5 are wanted."),
        "{said}"
    );
}

#[test]
fn bands_of_the_trade() {
    let bands = [0.0999, 0.10, 0.30, 0.3001].map(|share| Band::of(share).code());
    assert_eq!(bands, ["good", "marginal", "marginal", "poor"]);
}

/// A study walked through by its plan comes out as the table it was laid out for.
#[test]
fn a_planned_study_fills_the_table() {
    let names = |prefix: &str, count: usize| (0..count).map(|n| format!("{prefix} {n}")).collect();
    let design = Design {
        pieces: Pieces::Shared(names("piece", 4)),
        methods: vec!["bare".to_owned()],
        operators: names("operator", 2),
        rounds: 2,
        order: Order::Blocks,
        seed: 11,
    };
    let mut study = Study::new(design.clone()).expect("a study");
    let readings = small_study();
    while let Some(prompt) = study.next() {
        let cell = prompt.cell;
        let index = (cell.piece * 2 + cell.operator) * 2 + cell.round;
        study
            .fill(&index.to_string(), readings[index].2)
            .expect("a reading");
        if index == 0 {
            assert_eq!(
                Crossed::from_study(&study, 1)
                    .expect_err("no method")
                    .code(),
                "no-such-method"
            );
        }
    }
    let walked = Crossed::from_study(&study, 0).expect("a table");
    let settings = GaugeSettings::usual(None);
    let walked = GaugeStudy::of(&walked, settings).expect("a study");
    let listed = Crossed::of(&as_tagged(&readings)).expect("a table");
    let listed = GaugeStudy::of(&listed, settings).expect("a study");
    let pair = (
        walked.components().gauge.variance,
        listed.components().gauge.variance,
    );
    assert!((pair.0 - pair.1).abs() < 1e-15, "{pair:?}");

    let own = |operator: usize| names(&format!("own {operator}"), 3);
    let nested = Design {
        pieces: Pieces::Own(vec![own(0), own(1)]),
        ..design
    };
    let mut study = Study::new(nested).expect("a study");
    let mut number = 0;
    while study.next().is_some() {
        number += 1;
        let value = f64::from(number * number % 7);
        study.fill(&number.to_string(), value).expect("a reading");
    }
    let readings = NestedReadings::from_study(&study, 0).expect("a table");
    let found = NestedStudy::of(&readings, settings).expect("a study");
    assert_eq!(
        (found.operator_count, found.piece_count, found.repeat_count),
        (2, 3, 2)
    );
}

/// Normal deviates for simulations: a linear congruence (Knuth's factors) through the quantile.
struct Deviates(u64);

impl Deviates {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let share = ((self.0 >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
        normal_quantile(share).expect("a probability")
    }
}

/// In 600 simulated studies (from a fixed seed) each 95 % limit holds the true deviation between 92.5
/// and 98.5 % of the time; the rule is known to be a little wide.
#[test]
fn limits_of_components_hold_as_often_as_they_claim() {
    let truth = [1.0, 0.7, 0.6, 3.0];
    let [repeat, interaction, operator, piece] = truth;
    let mut deviates = Deviates(20_240_611);
    let settings = GaugeSettings {
        pooling: Pooling::Never,
        ..GaugeSettings::usual(None)
    };
    let (mut held, studies) = ([0_u32; 7], 600);
    for _ in 0..studies {
        let operators: Vec<f64> = (0..4).map(|_| operator * deviates.next()).collect();
        let mut cells = Vec::new();
        for _ in 0..8 {
            let of_piece = piece * deviates.next();
            let mut row = Vec::new();
            for of_operator in &operators {
                let cell = of_piece + of_operator + interaction * deviates.next();
                row.push((0..3).map(|_| cell + repeat * deviates.next()).collect());
            }
            cells.push(row);
        }
        let readings = tagged(&cells);
        let table = Crossed::of(&as_tagged(&readings)).expect("a table");
        let study = GaugeStudy::of(&table, settings).expect("a study");
        let found = study.components();
        let reproducibility = operator.hypot(interaction);
        let gauge = repeat.hypot(reproducibility);
        let components = [
            (found.repeat, repeat),
            (found.interaction, interaction),
            (found.operator, operator),
            (found.reproducibility, reproducibility),
            (found.gauge, gauge),
            (found.piece, piece),
            (found.total, gauge.hypot(piece)),
        ];
        for ((component, truth), held) in components.into_iter().zip(&mut held) {
            let limits = component.deviation_limits;
            *held += u32::from(limits.is_ok_and(|limits| limits.holds(truth)));
        }
    }
    let shares = held.map(|count| f64::from(count) / f64::from(studies));
    assert!(
        shares.iter().all(|share| (0.925..0.985).contains(share)),
        "{shares:?}"
    );
}

fn random_cells() -> impl Strategy<Value = Vec<Vec<Vec<f64>>>> {
    (2..6_usize, 1..4_usize, 2..4_usize).prop_flat_map(|(pieces, operators, repeats)| {
        let value = (-500..500_i32).prop_map(|count| 13.0 + f64::from(count) * 1e-4);
        let cell = prop::collection::vec(value, repeats);
        prop::collection::vec(prop::collection::vec(cell, operators), pieces)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// The parts of a table add up to the whole, and the shares of the components to one.
    #[test]
    fn parts_add_up(cells in random_cells()) {
        let readings = tagged(&cells);
        let table = Crossed::of(&as_tagged(&readings)).expect("a table");
        let study = GaugeStudy::of(&table, GaugeSettings::usual(None)).expect("a study");
        let all: Vec<f64> = readings.iter().map(|(_, _, value)| *value).collect();
        let mean = all.iter().sum::<f64>() / all.len() as f64;
        let squares: f64 = all.iter().map(|value| (value - mean).powi(2)).sum();
        let total = study.table.total();
        prop_assert!((total.squares - squares).abs() < 1e-9 * squares.max(1e-6));
        prop_assert!((total.degrees_of_freedom - (all.len() as f64 - 1.0)).abs() < 1e-9);
        for model in [&study.with_interaction, &study.without_interaction] {
            if model.total.variance > 0.0 {
                let shares = model.repeat.contribution + model.operator.contribution
                    + model.interaction.contribution + model.piece.contribution;
                prop_assert!((shares - 1.0).abs() < 1e-9);
            }
        }
    }

    /// In which order readings are listed does not matter.
    #[test]
    fn the_order_of_readings_does_not_matter(cells in random_cells(), turn in 0..50_usize) {
        let mut readings = tagged(&cells);
        let gauge = |readings: &[(String, String, f64)]| {
            let table = Crossed::of(&as_tagged(readings)).expect("a table");
            let study = GaugeStudy::of(&table, GaugeSettings::usual(None)).expect("a study");
            study.components().gauge.variance
        };
        let before = gauge(&readings);
        let turn = turn % readings.len();
        readings.rotate_left(turn);
        prop_assert!((gauge(&readings) - before).abs() < 1e-12);
    }
}
