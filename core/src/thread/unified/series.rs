//! Diameter and pitch combinations of the Unified series, and limits taken from print.
//!
//! Standard: ASME B1.1. Coarse, fine and extra-fine series: written down from memory; the coarse
//! sizes up to 3 inches were also seen in print. Constant-pitch series: the table of standard
//! combinations of the same standard, from memory. Check against your copy.
//!
//! Diameters are in ten-thousandths of an inch, the resolution to which the standard rounds them.

use super::{Class, Series};
use crate::decimal::Decimal;
use crate::thread::inch_size::InchSize;

/// One listed size: diameter in ten-thousandths of an inch, threads per inch.
type Listed = (u32, f64);

/// The coarse series, UNC.
const COARSE: &[Listed] = &[
    (730, 64.0),
    (860, 56.0),
    (990, 48.0),
    (1120, 40.0),
    (1250, 40.0),
    (1380, 32.0),
    (1640, 32.0),
    (1900, 24.0),
    (2160, 24.0),
    (2500, 20.0),
    (3125, 18.0),
    (3750, 16.0),
    (4375, 14.0),
    (5000, 13.0),
    (5625, 12.0),
    (6250, 11.0),
    (7500, 10.0),
    (8750, 9.0),
    (10000, 8.0),
    (11250, 7.0),
    (12500, 7.0),
    (13750, 6.0),
    (15000, 6.0),
    (17500, 5.0),
    (20000, 4.5),
    (22500, 4.5),
    (25000, 4.0),
    (27500, 4.0),
    (30000, 4.0),
    (32500, 4.0),
    (35000, 4.0),
    (37500, 4.0),
    (40000, 4.0),
];

/// The fine series, UNF.
const FINE: &[Listed] = &[
    (600, 80.0),
    (730, 72.0),
    (860, 64.0),
    (990, 56.0),
    (1120, 48.0),
    (1250, 44.0),
    (1380, 40.0),
    (1640, 36.0),
    (1900, 32.0),
    (2160, 28.0),
    (2500, 28.0),
    (3125, 24.0),
    (3750, 24.0),
    (4375, 20.0),
    (5000, 20.0),
    (5625, 18.0),
    (6250, 18.0),
    (7500, 16.0),
    (8750, 14.0),
    (10000, 12.0),
    (11250, 12.0),
    (12500, 12.0),
    (13750, 12.0),
    (15000, 12.0),
];

/// The extra-fine series, UNEF.
const EXTRA_FINE: &[Listed] = &[
    (2160, 32.0),
    (2500, 32.0),
    (3125, 32.0),
    (3750, 32.0),
    (4375, 28.0),
    (5000, 28.0),
    (5625, 24.0),
    (6250, 24.0),
    (6875, 24.0),
    (7500, 20.0),
    (8125, 20.0),
    (8750, 20.0),
    (9375, 20.0),
    (10000, 20.0),
    (10625, 18.0),
    (11250, 18.0),
    (11875, 18.0),
    (12500, 18.0),
    (13125, 18.0),
    (13750, 18.0),
    (14375, 18.0),
    (15000, 18.0),
    (15625, 18.0),
    (16250, 18.0),
    (16875, 18.0),
];

/// The constant-pitch series: threads per inch, first and last diameter, in ten-thousandths.
const CONSTANT_PITCH: &[(f64, u32, u32)] = &[
    (4.0, 25_000, 60_000),
    (6.0, 13_750, 60_000),
    (8.0, 10_000, 60_000),
    (12.0, 5_625, 60_000),
    (16.0, 3_750, 60_000),
    (20.0, 2_500, 30_000),
    (28.0, 2_500, 15_000),
    (32.0, 2_500, 10_000),
];

/// Diameters of the constant-pitch series come in sixteenths up to two inches, then in eighths.
fn is_constant_pitch_diameter(diameter: u32) -> bool {
    match diameter {
        0..=20_000 => diameter.is_multiple_of(625),
        _ => diameter.is_multiple_of(1_250),
    }
}

/// The series that lists this combination. Where two do, the coarse, fine or extra-fine one counts,
/// because its length of engagement goes with the printed limits.
pub(in crate::thread) fn listed_in(diameter: u32, threads_per_inch: f64) -> Option<Series> {
    let same = |other: f64| (other - threads_per_inch).abs() < 1e-9;
    let graded = [
        (Series::Coarse, COARSE),
        (Series::Fine, FINE),
        (Series::ExtraFine, EXTRA_FINE),
    ];
    let found = graded.into_iter().find(|(_, sizes)| {
        sizes
            .iter()
            .any(|&(listed, count)| listed == diameter && same(count))
    });
    let constant = CONSTANT_PITCH
        .iter()
        .find(|&&(count, first, last)| same(count) && (first..=last).contains(&diameter))
        .filter(|_| is_constant_pitch_diameter(diameter))
        .map(|&(count, ..)| Series::Constant {
            engages_by_diameter: count < 9.0,
        });
    found.map(|(series, _)| series).or(constant)
}

/// The number of threads per inch this series lists for a diameter.
pub(in crate::thread) fn listed_threads_per_inch(series: Series, diameter: u32) -> Option<f64> {
    let sizes = match series {
        Series::Coarse => COARSE,
        Series::Fine => FINE,
        Series::ExtraFine => EXTRA_FINE,
        Series::Constant { .. } | Series::Special => return None,
    };
    let listed = sizes.iter().find(|&&(listed, _)| listed == diameter);
    listed.map(|&(_, count)| count)
}

/// The listed size of this many threads per inch within a thousandth of a diameter that is not
/// listed itself: 0.312 or 0.313 is often written for 5/16.
pub(super) fn nearest_listed(diameter: u32, threads_per_inch: f64) -> Option<InchSize> {
    let both_ways =
        (1..=10).flat_map(|off| [diameter.saturating_sub(off), diameter.saturating_add(off)]);
    let mut near = both_ways.filter(|&near| listed_in(near, threads_per_inch).is_some());
    let decimal = Decimal::from_steps(near.next()?.into(), 4).ok()?;
    Some(InchSize::from_decimal(decimal))
}

/// Limits as printed, where the formula with today's rounding gives another last digit.
/// What is `None` agrees with the formula. Numbers are ten-thousandths of an inch.
pub(in crate::thread) struct Printed {
    diameter: u32,
    threads_per_inch: f64,
    class: Class,
    pub(in crate::thread) allowance: Option<i64>,
    pub(in crate::thread) maximum: Option<i64>,
    pub(in crate::thread) minimum: Option<i64>,
    pub(in crate::thread) source: &'static str,
}

impl Printed {
    const fn minimum(size: Listed, class: Class, minimum: i64, source: &'static str) -> Printed {
        Printed {
            diameter: size.0,
            threads_per_inch: size.1,
            class,
            allowance: None,
            maximum: None,
            minimum: Some(minimum),
            source,
        }
    }
}

const TABLE_3_SEEN: &str =
    "ASME B1.1 table 3, its minimum and allowance seen in a public copy, its maximum from memory";
const TABLE_3: &str = "ASME B1.1 table 3, from memory";
const HANDBOOK_27: &str = "Machinery's Handbook 27th edition, page 1762";
const PUBLIC_TABLE: &str = "a public table of ASME B1.1 values printed before 2003";

const PRINTED: &[Printed] = &[
    Printed {
        diameter: 6_250,
        threads_per_inch: 11.0,
        class: Class::One,
        allowance: Some(16),
        maximum: Some(5_644),
        minimum: Some(5_561),
        source: TABLE_3_SEEN,
    },
    Printed {
        diameter: 6_250,
        threads_per_inch: 11.0,
        class: Class::Two,
        allowance: Some(16),
        maximum: Some(5_644),
        minimum: Some(5_589),
        source: TABLE_3,
    },
    Printed::minimum((2_160, 24.0), Class::Three, 1_863, TABLE_3),
    Printed::minimum((9_375, 12.0), Class::Two, 8_760, PUBLIC_TABLE),
    Printed::minimum((9_375, 12.0), Class::Three, 8_793, PUBLIC_TABLE),
    Printed::minimum((57_500, 10.0), Class::Two, 56_754, HANDBOOK_27),
    Printed::minimum((57_500, 12.0), Class::Two, 56_869, HANDBOOK_27),
    Printed::minimum((57_500, 12.0), Class::Three, 56_907, HANDBOOK_27),
    Printed {
        diameter: 57_500,
        threads_per_inch: 14.0,
        class: Class::Two,
        allowance: Some(20),
        maximum: Some(57_016),
        minimum: Some(56_951),
        source: HANDBOOK_27,
    },
    Printed::minimum((57_500, 16.0), Class::Three, 57_047, HANDBOOK_27),
];

/// The printed limits of this size and class, where they differ from the formula.
pub(in crate::thread) fn printed(
    diameter: u32,
    threads_per_inch: f64,
    class: Class,
) -> Option<&'static Printed> {
    PRINTED.iter().find(|row| {
        row.diameter == diameter
            && row.class == class
            && (row.threads_per_inch - threads_per_inch).abs() < 1e-9
    })
}
