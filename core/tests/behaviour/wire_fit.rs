//! Whether wires suit a thread, condition by condition, and what the usual formulas would say.

use overwire_core::Judge;
use overwire_core::suitability::{
    Condition, Profile, Suitability, box_constants, suitability, usual_formulas,
};
use overwire_core::thread::Thread;
use overwire_core::units::{Length, Unit};
use proptest::prelude::*;

use crate::properties::cases;
use crate::{equal_wires, inches, mm, thread};

fn weigh(thread: &Thread, profile: &Profile, wire: Length) -> Suitability {
    let (smallest, largest) = thread.pitch_diameter_zone();
    suitability(
        &thread.geometry,
        profile,
        &equal_wires(wire),
        smallest,
        largest,
    )
    .expect("a seat")
}

fn failures(found: &Suitability) -> Vec<&'static str> {
    found
        .failures()
        .map(|check| check.condition.code())
        .collect()
}

#[test]
fn every_condition_comes_with_its_amount() {
    let thread = thread("M10x1.5-6g");
    let mut profile = Profile::sharp(&thread.geometry);
    profile.root = Some(mm(8.0));
    profile.flank_bottom = Some(mm(8.3));
    let found = weigh(&thread, &profile, mm(0.866));
    assert_eq!((found.checks.len(), found.code()), (5, "suitable"));
    let margin = |condition| found.check(condition).expect("weighed").margin.mm();
    // Nearly best wires touch close to the pitch cylinder and read 0.866 pitches over it.
    assert!((margin(Condition::AboveFlankBottom) - (8.862 - 8.3)).abs() < 3e-3);
    assert!((margin(Condition::BelowFlankTop) - (9.968 - 8.994)).abs() < 3e-3);
    assert!((margin(Condition::ProudOfCrest) - (8.862 + 0.866 * 1.5 - 9.968)).abs() < 3e-3);
    assert!((margin(Condition::ClearOfNeighbour) - (1.5 - 0.866)).abs() < 3e-3);
    // The plane best size is this much above the exact one.
    assert!((found.off_best.mm() - 0.0014).abs() < 1e-4);
    let said = found.sentence(Unit::Millimetre, 4);
    assert!(
        said.starts_with("The wires suit the thread, 0.0014 mm above the best size"),
        "{said}"
    );
    for check in &found.checks {
        assert!(
            check
                .sentence(Unit::Millimetre, 3)
                .starts_with("The wires ")
        );
    }
}

#[test]
fn thick_and_thin_wires_fail_for_their_own_reasons() {
    let thread = thread("M10x1.5-6g");
    let profile = Profile::sharp(&thread.geometry);
    assert_eq!(
        failures(&weigh(&thread, &profile, mm(0.70))),
        ["proud_of_crest"]
    );
    let thick = weigh(&thread, &profile, mm(1.52));
    assert_eq!(failures(&thick), ["below_flank_top", "clear_of_neighbour"]);
    assert!(
        thick
            .sentence(Unit::Millimetre, 3)
            .contains("on the crest's edge")
    );
    let mut shallow = profile;
    shallow.root = Some(mm(8.6));
    assert_eq!(
        failures(&weigh(&thread, &shallow, mm(0.866))),
        ["clear_of_root"]
    );
    let mut rounded = profile;
    rounded.flank_bottom = Some(mm(8.9));
    assert_eq!(
        failures(&weigh(&thread, &rounded, mm(0.866))),
        ["above_flank_bottom"]
    );
}

/// A worn crest leaves less flank above and less to stand proud of.
#[test]
fn a_worn_crest_moves_both_ends() {
    let thread = thread("M10x1.5-6g");
    let sharp = Profile::sharp(&thread.geometry);
    let new = weigh(&thread, &sharp, mm(0.866));
    let worn = weigh(&thread, &sharp.with_worn_crest(mm(9.7)), mm(0.866));
    assert!(worn.range.min < new.range.min && worn.range.crest_edge < new.range.crest_edge);
    let edge = worn.range.crest_edge.expect("an edge");
    let beyond = weigh(&thread, &sharp.with_worn_crest(mm(9.7)), edge + mm(0.001));
    assert!(failures(&beyond).contains(&"below_flank_top"));
    let within = weigh(&thread, &sharp.with_worn_crest(mm(9.7)), edge - mm(0.001));
    assert!(within.is_suitable());
    let rounded = weigh(&thread, &sharp.with_flank_top(mm(9.7)), mm(0.866));
    assert_eq!(rounded.range.min, new.range.min);
    assert_eq!(rounded.range.crest_edge, worn.range.crest_edge);
}

#[test]
fn the_shortest_flank_decides_on_the_thinnest_wire() {
    let thread = thread("M10x1.5-6g");
    let mut profile = Profile::sharp(&thread.geometry);
    profile.flank_bottom = Some(mm(8.8));
    let thinnest = weigh(&thread, &profile, mm(0.866))
        .range
        .min
        .expect("a thinnest wire");
    let at = |wire| failures(&weigh(&thread, &profile, wire));
    assert_eq!(at(thinnest - mm(1e-6)), ["above_flank_bottom"]);
    assert!(at(thinnest + mm(1e-6)).is_empty());
}

#[test]
fn what_the_usual_formulas_would_have_said() {
    let thread = thread("1/2-13 UNC-2A");
    let wires = equal_wires(inches(0.04441));
    let reading = inches(0.5133);
    let found = usual_formulas(&thread.geometry, &wires, reading).expect("a seat");
    let said = found.sentence(Unit::Inch, 5);
    assert!(
        said.contains("0.00010 in too large; that of ASME B1.2"),
        "{said}"
    );
    let excess = found.asme_b1_2_excess().expect("equal flanks");
    // Too small by a tenth of a micrometre or so.
    assert!((-2e-4..-5e-5).contains(&excess.mm()), "{excess:?}");
    let constants = box_constants(&thread.geometry, &wires, found.exact).expect("a seat");
    assert!((reading - constants.with_lead - found.exact).mm().abs() < 1e-12);
    assert!((constants.lead_part() - found.plane_excess()).mm().abs() < 1e-12);
    let said = constants.sentence(Unit::Inch, 5);
    assert!(
        said.starts_with("Constant to take off a reading: 0.06661 in as marked"),
        "{said}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// The closed form turned round gives back the reading it was taken from.
    #[test]
    fn the_closed_form_goes_both_ways(case in cases()) {
        let wires = equal_wires(mm(case.wire));
        let diameter = mm(case.pitch_diameter);
        let closed = overwire_core::plane::asme_b1_2_over_wires(&case.geometry, &wires, diameter);
        let Some(reading) = closed else { return Ok(()) };
        let Ok(found) = usual_formulas(&case.geometry, &wires, reading) else { return Ok(()) };
        let back = found.asme_b1_2.expect("equal flanks");
        prop_assert!((back.mm() / case.pitch_diameter - 1.0).abs() < 1e-12);
    }

    /// Wires that suit can be judged with, and wires that do not cannot.
    #[test]
    fn what_suits_can_be_judged_with(share in 0.6..2.2, size in 0_usize..4) {
        let designation = ["M10x1.5-6g", "1/2-13 UNC-2A", "M3x0.5-6g", "1 1/16-12 UN-2A"][size];
        let thread = thread(designation);
        let wire = mm(thread.geometry.pitch.mm() / 3_f64.sqrt() * share);
        let profile = Profile::sharp(&thread.geometry);
        let suits = weigh(&thread, &profile, wire).is_suitable();
        prop_assert_eq!(suits, Judge::new(&thread, &equal_wires(wire)).is_ok());
    }
}
