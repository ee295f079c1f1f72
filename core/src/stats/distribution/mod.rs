//! Distributions: the probability below and beyond a value, and the value for a probability.
//!
//! | distribution | attained |
//! | --- | --- |
//! | normal | the last digits, both tails |
//! | Student's t, chi-squared, F | 12 digits, both tails |
//!
//! A probability is refused (`None`) for parameters outside the stated range, a quantile also for a
//! probability that is not between 0 and 1. Nothing here panics or gives a number that is none.

mod beta;
mod chi_squared;
mod f;
mod gamma;
mod normal;
mod range;
mod root;
mod student;

pub use chi_squared::{chi_squared_beyond, chi_squared_probability, chi_squared_quantile};
pub use f::{f_beyond, f_probability, f_quantile};
pub use gamma::log_gamma;
pub(super) use gamma::log_gamma_rise;
pub use normal::{normal_beyond, normal_density, normal_probability, normal_quantile};
pub use range::normal_range_probability;
pub(super) use range::{mean_of_range, mean_square_of_range};
pub use student::{
    student_beyond, student_factor, student_probability, student_probability_within,
    student_quantile,
};

/// Whether a number is a probability that has a quantile.
fn is_open_probability(number: f64) -> bool {
    number > 0.0 && number < 1.0
}
