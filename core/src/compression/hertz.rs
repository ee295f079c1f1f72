//! Two bodies pressed together: Hertz's contact, at a point and along a line.
//!
//! Point: the gap between the bodies opens as `A x² + B y²`, `A <= B`. The contact is an
//! ellipse of semi-axes `a >= b`; with the modulus `e² = 1 - (b/a)²` and the complete
//! elliptic integrals K and E
//!
//! ```text
//!   B/A = [E/(1 - e²) - K] / [K - E]
//!   a³  = 3 N (K - E) / (2 π E* e² A)          1/E* = Σ (1 - ν²)/E
//!   d   = 3 N K / (2 π E* a)                   p0 = 3 N / (2 π a b)
//! ```
//!
//! Line, a cylinder of radius q on a plane along a length L, `V = Σ (1 - ν²)/(π E)`:
//! `d = V (F/L) [1 + ln(L³ / (V F q))]`.
//! Sources: K. L. Johnson, Contact Mechanics, chapter 4, and Puttock & Thwaite, NSL Technical
//! Paper 25 (1969), both from memory.

use std::f64::consts::{PI, TAU};

use super::elliptic::Complete;
use crate::bisection::rising_zero;

/// How two bodies yield at a point.
#[derive(Debug, Clone, Copy)]
pub(super) struct PointContact {
    /// How far they come together, in mm.
    pub(super) approach: f64,
    /// Highest pressure, in N/mm².
    pub(super) peak_pressure: f64,
}

/// The flattest ellipse looked for: axes as one to a million.
const FLATTEST: f64 = 1e-6;

/// Contact at a point. `curvatures` are the two principal relative curvatures in 1/mm, the
/// smaller first; `compliance` is the sum of both bodies' `(1 - ν²)/E`.
/// `None` unless the bodies curve away from each other in every direction.
pub(super) fn point_contact(
    curvatures: (f64, f64),
    normal_force: f64,
    compliance: f64,
) -> Option<PointContact> {
    let (smaller, larger) = (curvatures.0 / 2.0, curvatures.1 / 2.0);
    if !(smaller > 0.0 && larger >= smaller) {
        return None;
    }
    let axis_ratio = axis_ratio(larger / smaller)?;
    let integrals = Complete::of_axis_ratio(axis_ratio);
    let modulus_square = (1.0 - axis_ratio) * (1.0 + axis_ratio);
    // For a circle (K - E)/e² tends to π/4.
    let shape = match modulus_square > 1e-12 {
        true => integrals.first_less_second / modulus_square,
        false => PI / 4.0,
    };
    let semi_axis = (3.0 * normal_force * compliance * shape / (TAU * smaller)).cbrt();
    let semi_axes = semi_axis * semi_axis * axis_ratio;
    Some(PointContact {
        approach: 3.0 * normal_force * compliance * integrals.first / (TAU * semi_axis),
        peak_pressure: 3.0 * normal_force / (TAU * semi_axes),
    })
}

/// The ratio of the contact ellipse's axes that belongs to a ratio of curvatures.
fn axis_ratio(curvature_ratio: f64) -> Option<f64> {
    if curvature_ratio <= 1.0 + 1e-9 {
        return Some(1.0);
    }
    let logarithm = rising_zero(0.0, -FLATTEST.ln(), |flatness| {
        Some(ratio_of_curvatures((-flatness).exp()) - curvature_ratio)
    })?;
    Some((-logarithm).exp())
}

fn ratio_of_curvatures(axis_ratio: f64) -> f64 {
    if axis_ratio >= 1.0 - 1e-9 {
        return 1.0;
    }
    let integrals = Complete::of_axis_ratio(axis_ratio);
    let square = axis_ratio * axis_ratio;
    (integrals.second() / square - integrals.first) / integrals.first_less_second
}

/// How far a cylinder and a plane come together along a line of contact, in mm.
pub(super) fn line_contact(radius: f64, length: f64, force: f64, compliance: f64) -> f64 {
    let yielding = compliance / PI;
    let slenderness = length.powi(3) / (yielding * force * radius);
    yielding * force / length * (1.0 + slenderness.ln())
}

#[cfg(test)]
mod tests {
    use super::{line_contact, point_contact, ratio_of_curvatures};

    /// A ball on a plane: `a³ = 3 N R/(4 E*)`, `d = a²/R`, `p0 = 3 N/(2 π a²)`; Hertz's own case,
    /// from memory.
    #[test]
    fn a_ball_on_a_plane() {
        let (radius, force, compliance) = (5.0, 10.0, 2.0 * (1.0 - 0.09) / 200_000.0);
        let found = point_contact((1.0 / radius, 1.0 / radius), force, compliance).expect("a ball");
        let semi_axis = (0.75 * force * radius * compliance).cbrt();
        let approach = semi_axis * semi_axis / radius;
        assert!((found.approach / approach - 1.0).abs() < 1e-12);
        let pressure = 1.5 * force / (std::f64::consts::PI * semi_axis * semi_axis);
        assert!((found.peak_pressure / pressure - 1.0).abs() < 1e-12);
    }

    #[test]
    fn nearly_round_contacts_join_the_round_one() {
        let at = |stretch: f64| point_contact((0.2, 0.2 * stretch), 10.0, 1e-5).expect("a contact");
        for stretch in [1.0 + 1e-8, 1.0 + 1e-6, 1.0 + 1e-4] {
            let step = at(stretch).approach / at(1.0).approach - 1.0;
            assert!(step.abs() < stretch - 1.0 + 1e-7, "{stretch}: {step:e}");
        }
        assert!(ratio_of_curvatures(0.5) > ratio_of_curvatures(0.6));
    }

    #[test]
    fn bodies_that_do_not_curve_apart_have_no_point_contact() {
        assert!(point_contact((0.0, 1.0), 1.0, 1e-5).is_none());
        assert!(point_contact((-0.1, 1.0), 1.0, 1e-5).is_none());
    }

    /// A steel cylinder of 1 mm under 10 N over 6.35 mm yields by hundredths of a micrometre.
    #[test]
    fn a_line_of_contact_yields_little() {
        let compliance = 2.0 * (1.0 - 0.29 * 0.29) / 206_000.0;
        let approach = line_contact(0.5, 6.35, 10.0, compliance);
        assert!((5e-5..12e-5).contains(&approach), "{approach}");
    }
}
