//! Complete elliptic integrals by the arithmetic-geometric mean.
//!
//! With `a = 1`, `b = k'` and `c = e` the means close in on each other, each step
//! doubling the digits; `K = π / (2 a)` and `K - E = K Σ 2^(n-1) c_n²`. The sum gives the
//! difference K - E without the loss of digits a subtraction would bring.
//! Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 17.6 (from memory).

use std::f64::consts::FRAC_PI_2;

/// Both complete integrals for one ellipse.
#[derive(Debug, Clone, Copy)]
pub(super) struct Complete {
    /// Of the first kind, K.
    pub(super) first: f64,
    /// K - E, without cancellation.
    pub(super) first_less_second: f64,
}

impl Complete {
    /// The integrals for an ellipse whose axes are as `axis_ratio` to 1, `0 < axis_ratio <= 1`:
    /// the modulus squared is `1 - axis_ratio²`.
    pub(super) fn of_axis_ratio(axis_ratio: f64) -> Complete {
        let (mut larger, mut smaller) = (1.0_f64, axis_ratio);
        let mut weight = 0.5;
        let mut sum = weight * (1.0 - axis_ratio) * (1.0 + axis_ratio);
        // Eight steps bring any ratio above 1e-12 to the last digit; the rest change nothing.
        for _ in 0..12 {
            let half_gap = (larger - smaller) / 2.0;
            weight *= 2.0;
            sum += weight * half_gap * half_gap;
            (larger, smaller) = ((larger + smaller) / 2.0, (larger * smaller).sqrt());
        }
        let first = FRAC_PI_2 / larger;
        Complete {
            first,
            first_less_second: first * sum,
        }
    }

    /// Of the second kind, E.
    pub(super) fn second(&self) -> f64 {
        self.first - self.first_less_second
    }
}

#[cfg(test)]
mod tests {
    use super::Complete;

    /// K(m) for m = 0.05, 0.10, ... Source: Abramowitz & Stegun, table 17.1, as carried in a public
    /// list of test values.
    const FIRST_KIND: [f64; 6] = [
        1.591_003_453_790_792,
        1.612_441_348_720_219,
        1.635_256_732_264_58,
        1.659_623_598_610_528,
        1.685_750_354_812_596,
        1.713_889_448_178_791,
    ];

    /// The ratio of the axes that belongs to the parameter m.
    fn ratio(parameter: f64) -> f64 {
        (1.0 - parameter).sqrt()
    }

    #[test]
    fn first_kind_as_printed() {
        for (step, printed) in FIRST_KIND.into_iter().enumerate() {
            let parameter = 0.05 * (step + 1) as f64;
            let found = Complete::of_axis_ratio(ratio(parameter)).first;
            assert!((found - printed).abs() < 2e-15, "{step}: {found}");
        }
    }

    /// K(1/2) = Γ(1/4)² / (4 √π) and the rest from Legendre's relation; from memory.
    #[test]
    fn the_case_of_equal_moduli() {
        let half = Complete::of_axis_ratio(ratio(0.5));
        assert!((half.first - 1.854_074_677_301_372).abs() < 1e-15);
        assert!((half.second() - 1.350_643_881_047_675).abs() < 1e-15);
    }

    #[test]
    fn a_circle_has_half_pi() {
        let circle = Complete::of_axis_ratio(1.0);
        assert!((circle.first - std::f64::consts::FRAC_PI_2).abs() < 1e-15);
        assert!(circle.first_less_second.abs() < 1e-15);
    }

    #[test]
    fn legendres_relation_holds() {
        for parameter in [1e-9, 0.01, 0.3, 0.9, 0.999_999] {
            let one = Complete::of_axis_ratio(ratio(parameter));
            let other = Complete::of_axis_ratio(f64::sqrt(parameter));
            let left = one.second() * other.first - one.first * other.first_less_second;
            assert!((left - std::f64::consts::FRAC_PI_2).abs() < 1e-14, "{left}");
        }
    }
}
