//! Distributions: the probability below and beyond a value, and the value for a probability.
//!
//! | distribution | attained |
//! | --- | --- |
//! | normal | the last digits, both tails |
//! | Student's t, chi-squared, F | 12 digits, both tails (F: 10 from a million degrees of freedom on) |
//! | noncentral t | 13 places |
//! | range of n normal deviates | 13 places, up to a thousand deviates |
//! | studentized range | 13 places, up to a thousand groups |
//! | Dunnett, groups of any sizes | 13 places |
//!
//! Digits are relative, places are after the point of a probability. They are held against
//! integrals of twenty digits and more by another method in the tests of published values. Quantiles
//! are sought to the last digits of the probability.
//!
//! A probability is refused (`None`) for parameters outside the stated range, a quantile also for a
//! probability that is not between 0 and 1. Nothing here panics or gives a number that is none.

mod beta;
mod chi_squared;
mod dunnett;
mod f;
mod gamma;
mod noncentral_student;
mod normal;
mod over_spread;
mod range;
mod root;
mod student;
mod studentized_range;

pub use chi_squared::{chi_squared_beyond, chi_squared_probability, chi_squared_quantile};
pub use dunnett::{Dunnett, Sides};
pub use f::{f_beyond, f_probability, f_quantile};
pub use gamma::log_gamma;
pub(super) use gamma::log_gamma_rise;
pub use noncentral_student::{
    noncentral_student_noncentrality, noncentral_student_probability, noncentral_student_quantile,
};
pub use normal::{normal_beyond, normal_density, normal_probability, normal_quantile};
pub use range::normal_range_probability;
pub(super) use range::{mean_of_range, mean_square_of_range};
pub use student::{
    student_beyond, student_factor, student_probability, student_probability_within,
    student_quantile,
};
pub use studentized_range::{studentized_range_beyond, studentized_range_quantile};

/// Whether a number is a probability that has a quantile.
fn is_open_probability(number: f64) -> bool {
    number > 0.0 && number < 1.0
}
