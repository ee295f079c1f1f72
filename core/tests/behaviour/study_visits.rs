//! A master visited again and again: what is asked for when, and that nothing of it depends on the order in
//! which voids and readings come.

use overwire_core::study::{Moment, StudyError, VisitPlan, VisitStep, VisitStudy};
use proptest::prelude::*;

fn study(readings: u32, every_days: u32) -> VisitStudy {
    VisitStudy::new(VisitPlan {
        master: "SM-10".to_owned(),
        readings,
        every_days,
    })
}

fn at(day: i64, hour: i64) -> Moment {
    Moment {
        day,
        second: day * 86_400 + hour * 3600,
    }
}

fn place(step: &VisitStep) -> Option<(usize, u32)> {
    match step {
        VisitStep::Measure { visit, reading, .. } => Some((*visit, *reading)),
        VisitStep::Rest => None,
    }
}

#[test]
fn a_visit_has_its_readings_and_then_rests_until_another_day() {
    let mut study = study(2, 7);
    assert_eq!(study.standing().due_day(), None, "the first is due at once");
    assert_eq!(place(&study.standing().next(at(0, 9))), Some((1, 1)));
    assert_eq!(study.fill("a", 10.0, at(0, 9)), Ok(0));
    // Paused for the afternoon: the same visit.
    assert_eq!(place(&study.standing().next(at(0, 17))), Some((1, 2)));
    assert_eq!(study.fill("b", 10.0, at(0, 17)), Ok(0));
    assert_eq!(study.standing().next(at(0, 18)), VisitStep::Rest);
    assert_eq!(study.fill("c", 10.0, at(0, 18)), Err(StudyError::Finished));
    assert_eq!(study.standing().due_day(), Some(7));
    // A day too early is a visit all the same.
    assert_eq!(place(&study.standing().next(at(6, 9))), Some((2, 1)));
    assert_eq!(study.fill("d", 10.0, at(6, 9)), Ok(1));
    assert_eq!(study.standing().due_day(), Some(13));
    let visits = study.visits();
    let counts: Vec<(f64, usize)> = visits.iter().map(|v| (v.day, v.readings.len())).collect();
    assert_eq!(counts, [(0.0, 2), (6.0, 1)]);
}

#[test]
fn a_sitting_over_midnight_is_one_visit() {
    let mut study = study(3, 1);
    study.fill("a", 10.0, at(0, 23)).expect("a place");
    assert_eq!(study.fill("b", 10.0, at(1, 0)), Ok(0));
    assert_eq!(study.fill("c", 10.0, at(1, 0)), Ok(0));
    assert_eq!(study.standing().next(at(1, 0)), VisitStep::Rest);
    assert_eq!(place(&study.standing().next(at(1, 2))), Some((2, 1)));
}

#[test]
fn a_void_is_taken_again_in_its_sitting_only() {
    let mut study = study(2, 7);
    study.fill("a", 10.0, at(0, 9)).expect("a place");
    study.fill("b", 11.0, at(0, 9)).expect("a place");
    assert_eq!(study.redo("b", " "), Err(StudyError::NoReason));
    study.redo("b", "not clean").expect("taken out");
    assert!(study.redo("b", "not clean").is_err(), "it is out already");
    assert!(study.redo("z", "unknown").is_err());
    match study.standing().next(at(0, 10)) {
        VisitStep::Measure { again, reading, .. } => {
            assert_eq!((again.as_deref(), reading), (Some("not clean"), 2));
        }
        VisitStep::Rest => panic!("a reading is missing"),
    }
    let mut later = study.clone();
    study.fill("c", 10.1, at(0, 10)).expect("a place");
    assert_eq!(study.standing().redone, 1);
    assert_eq!(study.standing().next(at(0, 10)), VisitStep::Rest);
    // On another day it is another visit, and the first stands with one reading.
    assert_eq!(later.fill("c", 10.1, at(3, 9)), Ok(1));
    assert_eq!((later.standing().redone, later.visits().len()), (0, 2));
}

#[test]
fn a_visit_whose_readings_are_all_void_is_no_visit() {
    let mut study = study(1, 7);
    study.fill("a", 10.0, at(0, 9)).expect("a place");
    study.fill("b", 10.0, at(7, 9)).expect("a place");
    study.redo("b", "dropped").expect("taken out");
    assert_eq!(
        (study.standing().visits, study.standing().due_day()),
        (1, Some(7))
    );
    assert_eq!(
        study.fill("c", 10.0, at(9, 9)),
        Ok(1),
        "begun anew on its own day"
    );
    assert_eq!(study.visits()[1].day, 9.0);
    assert_eq!(
        study.fill("c", 10.0, at(20, 9)),
        Err(StudyError::Used {
            reading: "c".to_owned(),
            cell: 1
        })
    );
    assert!(study.fill("n", f64::NAN, at(20, 9)).is_err());
    assert_eq!(study.visits().len(), 2);
}

proptest! {
    /// Whatever comes when: a visit never holds more than its readings, no two visits lie in one sitting, and
    /// a place is given exactly when one is asked for.
    #[test]
    fn visits_are_apart_and_never_too_full(
        readings in 1_u32..4,
        steps in prop::collection::vec((0_i64..40, any::<bool>()), 1..60),
    ) {
        let mut study = study(readings, 7);
        let (mut hour, mut taken): (i64, Vec<String>) = (0, Vec::new());
        for (number, (pause, void)) in steps.into_iter().enumerate() {
            hour += pause;
            let now = at(hour.div_euclid(24), hour.rem_euclid(24));
            let asked = study.standing().next(now) != VisitStep::Rest;
            let id = format!("r{number}");
            prop_assert_eq!(study.fill(&id, 10.0, now).is_ok(), asked);
            if asked {
                taken.push(id);
            }
            if void && let Some(last) = taken.pop() {
                prop_assert!(study.redo(&last, "void").is_ok());
            }
        }
        let visits = study.visits();
        prop_assert!(visits.iter().all(|visit| visit.readings.len() <= readings as usize));
        prop_assert!(visits.windows(2).all(|two| two[0].day < two[1].day));
        let count: usize = visits.iter().map(|visit| visit.readings.len()).sum();
        prop_assert_eq!(count, study.standing().readings);
        prop_assert_eq!(count, taken.len());
    }
}
