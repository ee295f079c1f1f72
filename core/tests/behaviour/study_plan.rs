//! Plans of studies: balanced, the same for the same seed, and a course that can be stored at any
//! moment.

use std::collections::{BTreeMap, BTreeSet};

use overwire_core::study::{Cell, Design, DesignError, Order, Pieces, Study, StudyError, cells};
use proptest::prelude::*;

fn names(prefix: &str, count: usize) -> Vec<String> {
    (1..=count)
        .map(|number| format!("{prefix} {number}"))
        .collect()
}

fn design(pieces: usize, methods: usize, operators: usize, rounds: u32, seed: u32) -> Design {
    Design {
        pieces: Pieces::Shared(names("piece", pieces)),
        methods: names("method", methods),
        operators: names("operator", operators),
        rounds,
        order: Order::Blocks,
        seed,
    }
}

fn any_design() -> impl Strategy<Value = Design> {
    let order = prop_oneof![
        Just(Order::Blocks),
        Just(Order::Shuffled),
        Just(Order::AsListed)
    ];
    let sizes = (1..6_usize, 1..6_usize, 1..4_usize, 1..6_u32);
    (sizes, any::<u32>(), any::<bool>(), order).prop_map(|(sizes, seed, own, order)| {
        let (pieces, methods, operators, rounds) = sizes;
        let mut design = design(pieces, methods, operators, rounds, seed);
        design.order = order;
        if own {
            let list = |operator| names(&format!("{operator}'s"), pieces);
            design.pieces = Pieces::Own((0..operators).map(list).collect());
        }
        design
    })
}

/// How often each method stands in each place of a block.
fn places(blocks: &[&[Cell]]) -> BTreeMap<(usize, usize), usize> {
    let mut counts = BTreeMap::new();
    for block in blocks {
        for (place, cell) in block.iter().enumerate() {
            *counts.entry((cell.method, place)).or_insert(0) += 1;
        }
    }
    counts
}

proptest! {
    #[test]
    fn every_combination_is_measured_once_in_every_round(design in any_design()) {
        let plan = cells(&design).expect("a plan");
        let different: BTreeSet<Cell> = plan.iter().copied().collect();
        prop_assert_eq!(plan.len(), design.cells());
        prop_assert_eq!(different.len(), plan.len());
    }

    #[test]
    fn the_same_seed_gives_the_same_plan(design in any_design()) {
        prop_assert_eq!(cells(&design), cells(&design));
    }

    #[test]
    fn a_block_is_one_go_through_all_methods_on_one_piece(
        (pieces, methods, rounds) in (1..5_usize, 1..7_usize, 1..6_u32),
        seed in any::<u32>(),
    ) {
        let plan = cells(&design(pieces, methods, 2, rounds, seed)).expect("a plan");
        for block in plan.chunks(methods) {
            let different: BTreeSet<usize> = block.iter().map(|cell| cell.method).collect();
            prop_assert_eq!(different.len(), methods);
            let same = |cell: &Cell| (cell.piece, cell.operator, cell.round);
            prop_assert!(block.iter().all(|cell| same(cell) == same(&block[0])));
        }
        let rounds: Vec<usize> = plan.iter().map(|cell| cell.round).collect();
        prop_assert!(rounds.is_sorted());
    }

    /// After any number of blocks, how often two methods stood in the same place differs by one at
    /// most; after each complete square not at all.
    #[test]
    fn no_method_is_favoured_by_its_place(
        methods in 2..8_usize, rounds in 1..30_u32, seed in any::<u32>(),
    ) {
        let plan = cells(&design(1, methods, 1, rounds, seed)).expect("a plan");
        let blocks: Vec<&[Cell]> = plan.chunks(methods).collect();
        for done in 1..=blocks.len() {
            let counts = places(&blocks[..done]);
            let most = counts.values().max().copied().unwrap_or(0);
            let least = match counts.len() == methods * methods {
                true => counts.values().min().copied().unwrap_or(0),
                false => 0,
            };
            prop_assert!(most - least <= usize::from(done % methods != 0), "{done}: {counts:?}");
        }
    }

    /// Over a square of an even number of methods, or two of an odd one, every method follows
    /// every other equally often.
    #[test]
    fn no_method_is_favoured_by_what_goes_before(methods in 2..8_usize, seed in any::<u32>()) {
        let rounds = if methods % 2 == 0 { methods } else { 2 * methods };
        let plan = cells(&design(1, methods, 1, rounds as u32, seed)).expect("a plan");
        let mut follows = BTreeMap::new();
        for block in plan.chunks(methods) {
            for pair in block.windows(2) {
                *follows.entry((pair[0].method, pair[1].method)).or_insert(0) += 1;
            }
        }
        prop_assert_eq!(follows.len(), methods * (methods - 1));
        prop_assert!(follows.values().all(|&count| count == rounds / methods));
    }

    /// Whatever is filled and redone, a study read back from its text goes on where it was, and
    /// what stands is the last reading of each cell.
    #[test]
    fn a_stored_study_goes_on_where_it_was(
        design in any_design(),
        choices in prop::collection::vec((any::<bool>(), any::<prop::sample::Index>(), 0.0..20.0), 1..60),
    ) {
        let mut study = Study::new(design).expect("a study");
        let mut expected = BTreeMap::new();
        for (number, (redo, which, value)) in choices.into_iter().enumerate() {
            if redo {
                let cell = which.index(study.cells().len());
                let redone = study.redo(cell, "a wire slipped").is_ok();
                prop_assert_eq!(redone, expected.remove(&cell).is_some());
            } else if let Some(prompt) = study.next() {
                let cell = study.fill(&format!("id-{number}"), value).expect("a reading");
                prop_assert_eq!(cell, prompt.index);
                expected.insert(cell, value);
            }
            let text = serde_json::to_string(&study).expect("text");
            let back: Study = serde_json::from_str(&text).expect("a study");
            prop_assert_eq!(&back, &study);
            study = back;
        }
        let standing: Vec<(Cell, f64)> = study.measured().map(|m| (m.cell, m.value_mm)).collect();
        let cells = expected.iter().map(|(&cell, &value)| (study.cells()[cell], value));
        prop_assert_eq!(standing, cells.collect::<Vec<_>>());
        prop_assert_eq!(study.progress().filled, expected.len());
        prop_assert_eq!(study.is_finished(), expected.len() == study.cells().len());
    }
}

#[test]
fn another_seed_gives_another_plan() {
    let plans: Vec<Vec<Cell>> = (0..5)
        .map(|seed| cells(&design(3, 3, 2, 4, seed)).expect("a plan"))
        .collect();
    for (index, plan) in plans.iter().enumerate() {
        assert!(!plans[..index].contains(plan));
    }
}

#[test]
fn designs_that_cannot_be_carried_out() {
    let mut nobody = design(1, 2, 1, 1, 1);
    nobody.operators.clear();
    let mut twice = design(1, 2, 1, 1, 1);
    twice.methods[1] = "method 1 ".to_owned();
    let mut nameless = design(1, 2, 1, 1, 1);
    nameless.pieces = Pieces::Shared(vec![" ".to_owned()]);
    let mut own = design(1, 1, 2, 1, 1);
    own.pieces = Pieces::Own(vec![names("a", 3), names("b", 2)]);
    let cases = [
        (
            nobody,
            "nothing-to-study",
            "a study needs at least one operator",
        ),
        (twice, "same-name", "there are two of method `method 1`"),
        (nameless, "no-name", "a piece has no name"),
        (
            own,
            "own-pieces",
            "expected as many pieces for each operator, one list each, found [3, 2]",
        ),
        (
            design(1, 1, 1, 0, 1),
            "no-rounds",
            "expected at least one round, found 0",
        ),
        (
            design(100, 10, 3, 100, 1),
            "too-many-readings",
            "the study asks for 300000 readings; at most 20000 are accepted",
        ),
    ];
    for (design, code, message) in cases {
        let error = cells(&design).expect_err(code);
        assert_eq!((error.code(), error.to_string().as_str()), (code, message));
    }
}

#[test]
fn steps_that_are_refused() {
    let mut study = Study::new(design(1, 2, 1, 1, 1)).expect("a study");
    let not_a_number = study.fill("a", f64::NAN).expect_err("not a number");
    assert_eq!(
        not_a_number.to_string(),
        "the reading `a` is not a finite number"
    );
    study.fill("a", 1.0).expect("a reading");
    let used = study.fill("a", 1.0).expect_err("used");
    assert_eq!(
        used.to_string(),
        "the reading `a` has already filled cell 1"
    );
    assert_eq!(
        study.redo(0, " ").expect_err("no reason"),
        StudyError::NoReason
    );
    assert_eq!(
        study
            .redo(1, "slipped")
            .expect_err("not filled")
            .to_string(),
        "cell 2 holds no reading that could be taken again"
    );
    assert_eq!(
        study
            .redo(2, "slipped")
            .expect_err("no such cell")
            .to_string(),
        "there is no cell 3; the study has 2"
    );
    study.fill("b", 1.0).expect("a reading");
    assert_eq!(
        study.fill("c", 1.0).expect_err("finished"),
        StudyError::Finished
    );
    study.redo(0, "slipped").expect("again");
    assert_eq!(
        study.fill("a", 1.0).expect_err("used").code(),
        "reading-used"
    );
    assert_eq!(study.cell_of("a"), Some(0));
}

#[test]
fn a_stored_study_that_does_not_hold_together_is_refused() {
    let mut study = Study::new(design(1, 2, 1, 2, 1)).expect("a study");
    study.fill("a", 1.0).expect("a reading");
    study.fill("b", 1.0).expect("a reading");
    let text = serde_json::to_string(&study).expect("text");
    let swapped = text.replace("\"cell\":0", "\"cell\":3");
    let error = serde_json::from_str::<Study>(&swapped).expect_err("out of order");
    let message = "the stored study fills cell 4 where its plan asks for cell 1";
    assert!(error.to_string().contains(message), "{error}");
}

#[test]
fn what_comes_next_in_words() {
    let mut study = Study::new(Design {
        order: Order::AsListed,
        ..design(2, 2, 2, 3, 1)
    })
    .expect("a study");
    let words = |study: &Study| study.next().expect("a prompt").words;
    assert_eq!(
        words(&study),
        "operator 1 measures piece 1, method method 1, round 1 of 3."
    );
    study.fill("a", 1.0).expect("a reading");
    let prompt = study.next().expect("a prompt");
    let changes: Vec<&str> = prompt.changes.iter().map(|factor| factor.code()).collect();
    assert_eq!((prompt.number, prompt.of, changes), (2, 24, vec!["method"]));
    study.redo(0, "a wire slipped").expect("again");
    let prompt = study.next().expect("a prompt");
    assert_eq!(prompt.again.as_deref(), Some("a wire slipped"));
    study.fill("b", 1.0).expect("a reading");
    assert_eq!(
        study.settings_words(),
        "2 pieces, 2 methods, 2 operators, 3 rounds, in the order listed, not at random: drift may \
         look like a difference (seed 1). One reading was taken again."
    );
    let wires = Design::wires_in_turn("master", ["A", "B", "C"], "Ann", 1, 1);
    assert_eq!(
        wires.methods,
        [
            "wire A alone, B and C as the pair",
            "wire B alone, C and A as the pair",
            "wire C alone, A and B as the pair"
        ]
    );
}

#[test]
fn an_empty_list_of_methods_is_named() {
    let none = Design::methods_on_one_piece("master", Vec::new(), "Ann", 1, 1);
    let error = Study::new(none).expect_err("nothing to study");
    assert!(matches!(
        error,
        StudyError::Design(DesignError::Nothing { .. })
    ));
}
