//! The preferred numbers that tolerances are rounded to.

/// The nearest number of the R40 series, rounded to whole micrometres.
pub(super) fn nearest(number: f64) -> u32 {
    const R40: [f64; 41] = [
        1.0, 1.06, 1.12, 1.18, 1.25, 1.32, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.12, 2.24, 2.36,
        2.5, 2.65, 2.8, 3.0, 3.15, 3.35, 3.55, 3.75, 4.0, 4.25, 4.5, 4.75, 5.0, 5.3, 5.6, 6.0, 6.3,
        6.7, 7.1, 7.5, 8.0, 8.5, 9.0, 9.5, 10.0,
    ];
    let decade = 10_f64.powf(number.log10().floor());
    let distance = |preferred: f64| (preferred * decade - number).abs();
    let nearest = R40.into_iter().fold(1.0, |best: f64, candidate| {
        if distance(candidate) < distance(best) {
            candidate
        } else {
            best
        }
    });
    (nearest * decade).round_ties_even() as u32
}
