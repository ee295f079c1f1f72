//! Sums of pieces that are followed reading by reading, against the pieces put together at once.

use std::collections::{HashMap, HashSet};

use overwire_core::stats::individuals;
use overwire_core::stats::piece_sums::{PieceSums, Tried};
use overwire_core::stats::pieces::Pieces;
use overwire_core::stats::series::Series;
use proptest::prelude::*;

/// Steps from one reading to the next: the same piece, the next one, back to an earlier one, begun again, left out.
#[derive(Debug, Clone, Copy)]
struct Step {
    piece: i64,
    attempt: i64,
    mm: i32,
    left_out: bool,
}

fn step() -> impl Strategy<Value = Step> {
    let piece = prop_oneof![6 => Just(0), 8 => Just(1), 1 => -4..0_i64, 1 => 2..4_i64];
    let attempt = prop_oneof![12 => Just(0), 2 => Just(1), 1 => Just(-1)];
    (piece, attempt, -300..300_i32, prop::bool::weighted(0.1)).prop_map(
        |(piece, attempt, mm, left_out)| Step {
            piece,
            attempt,
            mm,
            left_out,
        },
    )
}

fn readings(steps: &[Step]) -> Vec<Tried> {
    let (mut piece, mut attempts) = (1_i64, HashMap::new());
    let one = |step: &Step| {
        piece = (piece + step.piece).max(1);
        let attempt: &mut i64 = attempts.entry(piece).or_insert(1);
        *attempt = (*attempt + step.attempt).max(1);
        Tried {
            piece,
            attempt: *attempt,
            mm: 11.8 + f64::from(step.mm) / 4096.0,
            left_out: step.left_out,
        }
    };
    steps.iter().map(one).collect()
}

/// The same in plain steps: which readings stand, the means of their pieces in order, the gaps.
fn at_once(readings: &[Tried]) -> (Series, Option<f64>, usize) {
    let mut newest: HashMap<i64, i64> = HashMap::new();
    for reading in readings.iter().filter(|reading| !reading.left_out) {
        let last = newest.entry(reading.piece).or_insert(reading.attempt);
        *last = reading.attempt.max(*last);
    }
    let stand = readings.iter().filter(|reading| {
        let newest = newest.get(&reading.piece);
        newest.is_none_or(|newest| *newest == reading.attempt)
    });
    let stand: Vec<&Tried> = stand.collect();
    let counted = stand.iter().filter(|reading| !reading.left_out);
    let pieces = Pieces::of(counted.map(|reading| (reading.piece, reading.mm))).expect("numbers");
    let means: HashMap<i64, f64> = pieces
        .pieces
        .iter()
        .map(|piece| (piece.name, piece.mean()))
        .collect();
    let (mut series, mut seen) = (Series::default(), HashSet::new());
    for reading in &stand {
        if seen.insert(reading.piece) {
            match means.get(&reading.piece) {
                Some(mean) => series.push(*mean).expect("a number"),
                None => series.push_excluded(reading.mm, "x").expect("a number"),
            }
        }
    }
    let left_out = stand.iter().filter(|reading| reading.left_out).count();
    let gauge = pieces.gauge().ok().map(|gauge| gauge.sigma.sigma);
    (series, gauge, left_out)
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-12 * one.abs().max(1.0)
}

proptest! {
    /// Wherever sums were stored in between and followed on, they are those of all readings, bit by bit.
    #[test]
    fn followed_sums_are_those_made_anew(
        steps in prop::collection::vec(step(), 1..50),
        stored in 0..50_usize,
    ) {
        let all = readings(&steps);
        let (before, since) = all.split_at(stored.min(all.len()));
        let kept = serde_json::to_string(&PieceSums::of(before)).expect("JSON");
        let mut sums: PieceSums = serde_json::from_str(&kept).expect("sums");
        for (at, reading) in since.iter().enumerate() {
            if sums.follow(*reading).is_err() {
                sums = PieceSums::of(&all[..before.len() + at + 1]);
            }
            let anew = PieceSums::of(&all[..before.len() + at + 1]);
            prop_assert_eq!(&sums, &anew);
        }
    }

    #[test]
    fn sums_are_those_of_the_pieces_put_together_at_once(
        steps in prop::collection::vec(step(), 1..100),
    ) {
        let all = readings(&steps);
        let so_far = PieceSums::of(&all).so_far();
        let (series, gauge, left_out) = at_once(&all);
        let wanted = individuals::sums(&series);
        prop_assert_eq!(so_far.left_out, left_out);
        prop_assert_eq!(so_far.means.count(), wanted.count());
        prop_assert_eq!(so_far.means.moving_ranges(), wanted.moving_ranges());
        prop_assert_eq!(so_far.means.extremes(), wanted.extremes());
        if let (Ok(found), Ok(wanted)) = (so_far.means.moments(), wanted.moments()) {
            prop_assert!(near(found.mean, wanted.mean));
            prop_assert!(near(found.sum_of_squares, wanted.sum_of_squares));
        }
        if let Ok(range) = wanted.mean_moving_range() {
            prop_assert!(near(so_far.means.mean_moving_range().expect("neighbours"), range));
        }
        let sigma = so_far.repeats.sigma().ok().map(|sigma| sigma.sigma);
        prop_assert_eq!(sigma.is_some(), gauge.is_some());
        prop_assert!(near(sigma.unwrap_or(0.0), gauge.unwrap_or(0.0)));
    }
}

/// A hundred thousand pieces one by one, with a spread of a thousandth of their size: as close as in blocks.
#[test]
fn sums_one_by_one_keep_their_digits() {
    use overwire_core::stats::running::Running;
    let mut state = 1_u64;
    let readings: Vec<f64> = (0..100_000)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            11.8 + (state >> 40) as f64 / (1_u64 << 24) as f64 * 0.01
        })
        .collect();
    let (mut one_by_one, mut in_blocks) = (Running::default(), Running::default());
    readings
        .iter()
        .for_each(|reading| one_by_one.push(*reading));
    in_blocks.take(&readings);
    let moments = one_by_one.moments().expect("readings");
    let wanted = in_blocks.moments().expect("readings");
    assert!((moments.mean - wanted.mean).abs() < 1e-13);
    let share = moments.sum_of_squares / wanted.sum_of_squares - 1.0;
    assert!(share.abs() < 1e-12, "{share}");
    assert_eq!(one_by_one.extremes(), in_blocks.extremes());
}

proptest! {
    /// Whatever the order of the names, pieces stand in the order in which they first came, each with all its readings.
    #[test]
    fn pieces_keep_their_places_in_any_order(names in prop::collection::vec(0..12_i32, 1..60)) {
        let readings = names.iter().enumerate().map(|(at, name)| (*name, at as f64));
        let pieces = Pieces::of(readings).expect("numbers").pieces;
        let mut first: Vec<i32> = Vec::new();
        for name in &names {
            if !first.contains(name) {
                first.push(*name);
            }
        }
        let found: Vec<i32> = pieces.iter().map(|piece| piece.name).collect();
        prop_assert_eq!(&found, &first);
        for piece in &pieces {
            let own = names.iter().enumerate().filter(|(_, name)| **name == piece.name);
            let own: Vec<f64> = own.map(|(at, _)| at as f64).collect();
            prop_assert_eq!(&piece.readings, &own);
        }
    }
}
