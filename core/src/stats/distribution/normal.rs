//! The normal distribution.

use std::f64::consts::SQRT_2;

use super::is_open_probability;

/// `1/√π`.
const INVERSE_ROOT_PI: f64 = 0.564_189_583_547_756_3;

/// `1/√(2π)`.
const DENSITY_AT_CENTRE: f64 = 0.398_942_280_401_432_7;

/// The density of a normal deviate.
pub fn normal_density(deviate: f64) -> f64 {
    DENSITY_AT_CENTRE * (-0.5 * deviate * deviate).exp()
}

/// The probability that a normal deviate lies below `deviate` standard deviations.
///
/// ```
/// use overwire_core::stats::distribution::normal_probability;
/// assert!((normal_probability(1.959_963_984_540_054) - 0.975).abs() < 1e-14);
/// ```
pub fn normal_probability(deviate: f64) -> f64 {
    normal_beyond(-deviate)
}

/// The probability that a normal deviate lies beyond `deviate` standard deviations; keeps all
/// its digits far out.
pub fn normal_beyond(deviate: f64) -> f64 {
    0.5 * error_complement(deviate)
}

/// The deviate below which a normal deviate lies with this probability; `None` unless it is
/// between 0 and 1.
///
/// ```
/// use overwire_core::stats::distribution::normal_quantile;
/// let deviate = normal_quantile(0.95).expect("a probability");
/// assert!((deviate - 1.644_853_626_951_472_7).abs() < 1e-14);
/// ```
pub fn normal_quantile(probability: f64) -> Option<f64> {
    if !is_open_probability(probability) {
        return None;
    }
    Some(match probability > 0.5 {
        true => deviate_beyond(1.0 - probability),
        false => -deviate_beyond(probability),
    })
}

/// The deviate beyond which a normal deviate lies with a probability of at most a half: a first
/// guess, then steps of Halley's rule on the logarithm of the tail, which is nearly a parabola.
fn deviate_beyond(probability: f64) -> f64 {
    let logarithm = probability.ln();
    let mut deviate = first_guess(logarithm);
    for _ in 0..8 {
        let tail = normal_beyond(deviate);
        let hazard = normal_density(deviate) / tail;
        let excess = tail.ln() - logarithm;
        // d ln(tail)/dz = -h and its slope -h (h - z).
        let newton = excess / hazard;
        let step = newton / (1.0 + 0.5 * newton * (hazard - deviate));
        deviate += step;
        if step.abs() <= 1e-16 * deviate.abs().max(1e-3) {
            break;
        }
    }
    deviate
}

/// A rational approximation in `√(-2 ln p)`, good to 5e-4. Source: Abramowitz & Stegun 26.2.23 (from
/// memory); the steps that follow do not depend on its digits.
fn first_guess(logarithm: f64) -> f64 {
    let root = (-2.0 * logarithm).max(0.0).sqrt();
    let upper = 2.515_517 + root * (0.802_853 + root * 0.010_328);
    let lower = 1.0 + root * (1.432_788 + root * (0.189_269 + root * 0.001_308));
    (root - upper / lower).max(0.0)
}

/// `erfc(z/√2)`, twice the probability beyond a deviate, by rational approximations to the last digits.
///
/// Source: W. J. Cody, Mathematics of Computation 23 (1969) 631 (from memory; checked against values
/// of forty digits).
fn error_complement(deviate: f64) -> f64 {
    let argument = deviate / SQRT_2;
    let size = argument.abs();
    if size <= 0.46875 {
        return 1.0 - argument * small(argument * argument);
    }
    let complement = match size <= 4.0 {
        true => middle(size) * exponential_of_half_square(deviate.abs()),
        false => large(size) * exponential_of_half_square(deviate.abs()),
    };
    match deviate < 0.0 {
        true => 2.0 - complement,
        false => complement,
    }
}

/// `exp(-z²/2)` with the square split, so that its rounding costs no digits far out.
fn exponential_of_half_square(size: f64) -> f64 {
    if size > 38.6 {
        return 0.0;
    }
    let coarse = (size * 16.0).trunc() / 16.0;
    let rest = (size - coarse) * (size + coarse);
    (-0.5 * coarse * coarse).exp() * (-0.5 * rest).exp()
}

/// `erf(x)/x` for `|x| <= 0.46875`.
fn small(square: f64) -> f64 {
    const UPPER: [f64; 4] = [
        3.161_123_743_870_565_5,
        113.864_154_151_050_16,
        377.485_237_685_302,
        3_209.377_589_138_469_4,
    ];
    const LOWER: [f64; 4] = [
        23.601_290_952_344_122,
        244.024_637_934_444_17,
        1_282.616_526_077_372_3,
        2_844.236_833_439_171,
    ];
    ratio(square, 0.185_777_706_184_603_15, &UPPER, &LOWER)
}

/// `erfc(x) exp(x²)` for `0.46875 < x <= 4`.
fn middle(size: f64) -> f64 {
    const UPPER: [f64; 8] = [
        0.564_188_496_988_670_1,
        8.883_149_794_388_377,
        66.119_190_637_141_63,
        298.635_138_197_400_1,
        881.952_221_241_769,
        1_712.047_612_634_070_7,
        2_051.078_377_826_071_6,
        1_230.339_354_797_997_2,
    ];
    const LOWER: [f64; 8] = [
        15.744_926_110_709_835,
        117.693_950_891_312_5,
        537.181_101_862_009_9,
        1_621.389_574_566_690_3,
        3_290.799_235_733_459_7,
        4_362.619_090_143_247,
        3_439.367_674_143_721_6,
        1_230.339_354_803_749_5,
    ];
    ratio(size, 2.153_115_354_744_038_3e-08, &UPPER, &LOWER)
}

/// `erfc(x) exp(x²)` for `x > 4`.
fn large(size: f64) -> f64 {
    const UPPER: [f64; 5] = [
        0.305_326_634_961_232_36,
        0.360_344_899_949_804_45,
        0.125_781_726_111_229_26,
        0.016_083_785_148_742_275,
        0.000_658_749_161_529_837_8,
    ];
    const LOWER: [f64; 5] = [
        2.568_520_192_289_822,
        1.872_952_849_923_467_3,
        0.527_905_102_951_428_5,
        0.060_518_341_312_441_32,
        0.002_335_204_976_268_691_8,
    ];
    let inverse = 1.0 / (size * size);
    let series = inverse * ratio(inverse, 0.016_315_387_137_302_097, &UPPER, &LOWER);
    (INVERSE_ROOT_PI - series) / size
}

/// Two polynomials of the same degree, one by the other; the lower one leads with 1.
fn ratio(argument: f64, leading: f64, upper: &[f64], lower: &[f64]) -> f64 {
    let by_horner = |first: f64, coefficients: &[f64]| {
        coefficients
            .iter()
            .fold(first, |sum, coefficient| sum * argument + coefficient)
    };
    by_horner(leading, upper) / by_horner(1.0, lower)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn constants_are_what_they_say() {
        assert!((INVERSE_ROOT_PI * PI.sqrt() - 1.0).abs() < 1e-15);
        assert!((DENSITY_AT_CENTRE * (2.0 * PI).sqrt() - 1.0).abs() < 1e-15);
    }

    #[test]
    fn there_and_back() {
        for probability in [1e-300, 1e-100, 1e-12, 1e-3, 0.025, 0.4, 0.499_999, 0.5] {
            let deviate = normal_quantile(probability).expect("a quantile");
            let back = normal_probability(deviate);
            assert!(
                (back / probability - 1.0).abs() < 1e-12,
                "{probability}: {back}"
            );
        }
        for probability in [0.500_001, 0.8, 0.999, 1.0 - 1e-12] {
            let deviate = normal_quantile(probability).expect("a quantile");
            assert!((normal_probability(deviate) - probability).abs() < 2e-16);
        }
    }

    #[test]
    fn the_pieces_meet() {
        for meeting in [0.46875 * SQRT_2, 4.0 * SQRT_2] {
            let below = error_complement(meeting * (1.0 - 1e-15));
            let above = error_complement(meeting * (1.0 + 1e-15));
            assert!((below / above - 1.0).abs() < 1e-13, "{meeting}");
        }
        assert_eq!(error_complement(0.0), 1.0);
        assert_eq!(error_complement(60.0), 0.0);
        assert_eq!(error_complement(-60.0), 2.0);
    }

    #[test]
    fn what_is_no_probability_has_no_quantile() {
        for probability in [0.0, 1.0, -0.1, f64::NAN] {
            assert_eq!(normal_quantile(probability), None);
        }
    }
}
