//! Tables of Acme threads: allowances by size range, and the listed sizes.
//!
//! Standard: ASME B1.5. Fourteen of the allowances were seen in Machinery's Handbook, 27th edition,
//! page 1841, table 10; the others and the sizes are from memory. Check against your copy.

/// One range of sizes: upper end in ten-thousandths of an inch, and the allowances of classes 2,
/// 3 and 4 in the same unit.
type AllowanceRow = (u32, [i64; 3]);

/// Pitch diameter allowances by size range, each from above the end of the range before.
const ALLOWANCES: &[AllowanceRow] = &[
    (1_875, [24, 18, 12]),
    (3_125, [40, 30, 20]),
    (4_375, [49, 37, 24]),
    (5_625, [57, 42, 28]),
    (6_875, [63, 47, 32]),
    (8_125, [69, 52, 35]),
    (9_375, [75, 56, 37]),
    (10_625, [80, 60, 40]),
    (11_875, [85, 64, 42]),
    (13_125, [89, 67, 45]),
    (14_375, [94, 70, 47]),
    (15_625, [98, 73, 49]),
    (18_750, [105, 79, 52]),
    (21_250, [113, 85, 57]),
    (23_750, [120, 90, 60]),
    (26_250, [126, 95, 63]),
    (28_750, [133, 99, 66]),
    (32_500, [140, 105, 70]),
    (37_500, [150, 112, 75]),
    (42_500, [160, 120, 80]),
    (47_500, [170, 127, 85]),
    (55_000, [181, 136, 91]),
];

/// The listed sizes: diameter in ten-thousandths of an inch, threads per inch. From memory.
pub const LISTED: &[(u32, f64)] = &[
    (2_500, 16.0),
    (3_125, 14.0),
    (3_750, 12.0),
    (4_375, 12.0),
    (5_000, 10.0),
    (6_250, 8.0),
    (7_500, 6.0),
    (8_750, 6.0),
    (10_000, 5.0),
    (11_250, 5.0),
    (12_500, 5.0),
    (13_750, 4.0),
    (15_000, 4.0),
    (17_500, 4.0),
    (20_000, 4.0),
    (22_500, 3.0),
    (25_000, 3.0),
    (27_500, 3.0),
    (30_000, 2.0),
    (35_000, 2.0),
    (40_000, 2.0),
    (45_000, 2.0),
    (50_000, 2.0),
];

/// The allowance of the size range a diameter lies in; column 0, 1, 2 for class 2, 3, 4.
pub(super) fn allowance(diameter: u32, column: usize) -> Option<i64> {
    let (_, columns) = ALLOWANCES.iter().find(|(upto, _)| diameter <= *upto)?;
    columns.get(column).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table was typed in; this is how its numbers came about.
    #[test]
    fn allowances_are_those_of_the_middle_of_their_range() {
        let mut from = 0;
        for &(upto, columns) in ALLOWANCES {
            let middle = f64::from(from + upto) / 2e4;
            for (constant, printed) in [0.008, 0.006, 0.004].into_iter().zip(columns) {
                let exact = constant * middle.sqrt() * 1e4;
                assert!(
                    (exact - printed as f64).abs() <= 0.51,
                    "{upto}: {exact} {printed}"
                );
            }
            from = upto;
        }
    }
}
