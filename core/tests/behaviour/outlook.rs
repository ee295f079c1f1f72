//! What the last pieces of a running job say of the next ones.

use overwire_core::stats::Undefined;
use overwire_core::stats::outlook::{LATEST, LEAST, Outlook};
use overwire_core::units::Unit;

use crate::noise;

/// The mean pitch diameters, in, of the first twelve studs of the invented shop's job J-2417: an edge wears while
/// stainless studs are cut, and the diameter shrinks.
const STUDS: [f64; 12] = [
    1.00423, 1.00416, 1.00391, 1.00406, 1.00381, 1.00371, 1.00371, 1.00366, 1.00331, 1.00321,
    1.00326, 1.00296,
];
/// 1 1/16-12 UN-2A, in.
const LIMITS: (f64, f64) = (1.0010, 1.0067);

fn mm(inches: f64) -> f64 {
    inches * 25.4
}

fn of(inches: &[f64], limits: (f64, f64)) -> Result<Outlook, Undefined> {
    let means: Vec<f64> = inches.iter().copied().map(mm).collect();
    Outlook::of(&means, (Some(mm(limits.0)), Some(mm(limits.1))))
}

fn said(outlook: &Outlook) -> String {
    outlook.sentences("Piece 12", Unit::Inch, 5).join(" ")
}

/// Figures by numpy 2.4 and scipy 1.17: `linregress`, the limit less three residual standard deviations, and the
/// roots of Fieller's square.
#[test]
fn wear_is_told_of_long_before_a_piece_is_below_the_limit() {
    let expected = [
        (10, 18.0, 14.0, 26.0),
        (11, 18.0, 14.0, 24.0),
        (12, 16.0, 12.0, 20.0),
    ];
    for (count, left, earliest, latest) in expected {
        let outlook = of(&STUDS[..count], LIMITS).unwrap();
        assert_eq!(outlook.pieces_left(), Some(left), "{count}");
        let words = format!(
            "About {left} pieces left before the limit ({earliest} to {latest}, 95 % sure)"
        );
        assert!(said(&outlook).starts_with(&words), "{}", said(&outlook));
        assert!(
            !outlook.asks_for_heed(),
            "{count}: nothing has to be done yet"
        );
    }
    let told = said(&of(&STUDS, LIMITS).unwrap());
    assert!(
        told.ends_with(
            "By the last 12 pieces the diameter shrinks by 0.001090 in every 10 pieces."
        ),
        "{told}"
    );
    // The same wear with less room.
    let outlook = of(&STUDS, (1.0020, 1.0067)).unwrap();
    assert!(outlook.asks_for_heed() && outlook.pieces_left() < Some(10.0));
    let outlook = of(&STUDS, (1.0029, 1.0067)).unwrap();
    assert_eq!(
        (outlook.asks_for_heed(), outlook.pieces_left()),
        (true, Some(0.0))
    );
    assert!(
        said(&outlook).starts_with("No piece left"),
        "{}",
        said(&outlook)
    );
}

#[test]
fn a_limit_that_is_far_off_or_not_there_is_not_forecast() {
    let outlook = of(&STUDS, (0.9800, 1.0067)).unwrap();
    assert!(outlook.trend.is_some() && outlook.forecast.is_none());
    assert!(said(&outlook).starts_with("By the last 12 pieces the diameter shrinks"));
    let means: Vec<f64> = STUDS.iter().copied().map(mm).collect();
    let outlook = Outlook::of(&means, (None, Some(mm(1.0067)))).unwrap();
    assert!(outlook.trend.is_some() && outlook.forecast.is_none() && !outlook.asks_for_heed());
}

/// Pieces that only scatter, looked at after each of them: drifts are told of in about one look of a hundred.
#[test]
fn what_only_scatters_hardly_ever_drifts() {
    let mut next = noise(20_261_130);
    let (mut looks, mut drifts, mut urgent) = (0_u32, 0_u32, 0_u32);
    for _ in 0..200 {
        let pieces: Vec<f64> = (0..40).map(|_| 1.0040 + 0.0002 * next()).collect();
        for count in LEAST..=pieces.len() {
            let outlook = of(&pieces[..count], LIMITS).unwrap();
            looks += 1;
            drifts += u32::from(outlook.trend.is_some());
            urgent += u32::from(outlook.forecast.is_some());
        }
    }
    assert!(looks > 6000);
    let share = f64::from(drifts) / f64::from(looks);
    assert!((0.003..0.02).contains(&share), "{drifts} of {looks}");
    assert!(
        urgent * 4 <= drifts,
        "{urgent} forecasts of {drifts} drifts"
    );
}

/// A line through two levels would forecast what will not come.
#[test]
fn a_step_is_no_drift() {
    let mut next = noise(5);
    let level = |centre: f64, count: usize, next: &mut dyn FnMut() -> f64| -> Vec<f64> {
        (0..count).map(|_| centre + 0.0001 * next()).collect()
    };
    let mut pieces = level(1.0050, 12, &mut next);
    pieces.extend(level(1.0040, 5, &mut next));
    let outlook = of(&pieces, LIMITS).unwrap();
    assert_eq!(
        (
            outlook.count,
            outlook.trend.is_some(),
            outlook.pieces_left()
        ),
        (5, false, None)
    );
    assert!(outlook.asks_for_heed());
    let told = said(&outlook);
    let step = outlook.step.unwrap().rise / 25.4;
    assert!((step + 0.0010).abs() < 0.00015, "{step}");
    assert!(
        told.starts_with("The last 5 pieces lie 0.00") && told.contains("lower than those before"),
        "{told}"
    );
    // Ten pieces later the new level is what they are held against.
    pieces.extend(level(1.0040, 6, &mut next));
    let outlook = of(&pieces, LIMITS).unwrap();
    assert_eq!(
        (outlook.count, outlook.asks_for_heed()),
        (11, false),
        "{}",
        said(&outlook)
    );
    // Wear from the step on is a drift.
    let worn = (0..12).map(|piece| 1.0040 - 0.0001 * f64::from(piece));
    let pieces: Vec<f64> = level(1.0060, 12, &mut next)
        .into_iter()
        .chain(worn)
        .collect();
    let outlook = of(&pieces, LIMITS).unwrap();
    assert!(
        outlook.step.is_some() && outlook.pieces_left() > Some(5.0),
        "{}",
        said(&outlook)
    );
}

#[test]
fn what_was_long_ago_says_nothing() {
    let worn = (0..35).map(|piece| 1.0060 - 0.0001 * f64::from(piece));
    let mut next = noise(7);
    let mut pieces: Vec<f64> = worn.collect();
    assert!(of(&pieces, LIMITS).unwrap().trend.is_some());
    // Another edge: the drift is over, and forgotten when it has left the last pieces.
    pieces.extend((0..LATEST).map(|_| 1.0050 + 0.0001 * next()));
    let outlook = of(&pieces, LIMITS).unwrap();
    assert_eq!((outlook.count, outlook.trend.is_some()), (LATEST, false));
    assert!(!outlook.asks_for_heed(), "{}", said(&outlook));
    assert_eq!(
        said(&outlook),
        "By the last 25 pieces nothing drifts and the last one does not stand out."
    );
}

#[test]
fn a_last_piece_that_stands_out_is_named() {
    let mut next = noise(11);
    let mut pieces: Vec<f64> = (0..20).map(|_| 1.0040 + 0.0001 * next()).collect();
    pieces.push(1.0052);
    let outlook = of(&pieces, LIMITS).unwrap();
    assert!(outlook.asks_for_heed());
    let told = said(&outlook);
    assert!(
        told.starts_with("Piece 12 stands out: farther above the mean of them than chance gives."),
        "{told}"
    );
    assert!(told.contains("a slipped wire"), "{told}");
    // It was the last one only once.
    pieces.push(1.0040);
    assert!(!of(&pieces, LIMITS).unwrap().asks_for_heed());
}

#[test]
fn too_few_pieces_and_none_that_differ_say_nothing() {
    let few = of(&STUDS[..LEAST - 1], LIMITS);
    assert!(
        matches!(
            few,
            Err(Undefined::TooFew {
                needed: LEAST,
                found: 9,
                ..
            })
        ),
        "{few:?}"
    );
    assert!(of(&[1.0040; 20], LIMITS).is_err());
}
