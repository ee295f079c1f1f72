//! Sizes of the BSW and BSF series.
//!
//! Standard: BS 84, from memory; the threads per inch of 1/4 to 3/4 inch (BSW) and of 1/4 to 1 inch
//! (BSF) were also seen in Machinery's Handbook, 31st edition, in a table of nuts. Check against
//! your copy. Diameters are in ten-thousandths of an inch.

use super::Series;

/// The coarse series, BSW: diameter, threads per inch.
pub const COARSE: &[(u32, f64)] = &[
    (625, 60.0),
    (938, 48.0),
    (1_250, 40.0),
    (1_562, 32.0),
    (1_875, 24.0),
    (2_188, 24.0),
    (2_500, 20.0),
    (3_125, 18.0),
    (3_750, 16.0),
    (4_375, 14.0),
    (5_000, 12.0),
    (5_625, 12.0),
    (6_250, 11.0),
    (6_875, 11.0),
    (7_500, 10.0),
    (8_750, 9.0),
    (10_000, 8.0),
    (11_250, 7.0),
    (12_500, 7.0),
    (15_000, 6.0),
    (17_500, 5.0),
    (20_000, 4.5),
    (22_500, 4.0),
    (25_000, 4.0),
    (27_500, 3.5),
    (30_000, 3.5),
];

/// The fine series, BSF: diameter, threads per inch.
pub const FINE: &[(u32, f64)] = &[
    (1_875, 32.0),
    (2_188, 28.0),
    (2_500, 26.0),
    (2_812, 26.0),
    (3_125, 22.0),
    (3_750, 20.0),
    (4_375, 18.0),
    (5_000, 16.0),
    (5_625, 16.0),
    (6_250, 14.0),
    (6_875, 14.0),
    (7_500, 12.0),
    (8_750, 11.0),
    (10_000, 10.0),
    (11_250, 9.0),
    (12_500, 9.0),
    (13_750, 8.0),
    (15_000, 8.0),
    (17_500, 7.0),
    (20_000, 7.0),
];

/// The threads per inch a series lists for a diameter.
///
/// ```
/// use overwire_core::thread::whitworth::{Series, usual_threads_per_inch};
/// assert_eq!(usual_threads_per_inch(Series::Fine, 5_000), Some(16.0));
/// ```
pub fn usual_threads_per_inch(series: Series, diameter: u32) -> Option<f64> {
    let sizes = match series {
        Series::Coarse => COARSE,
        Series::Fine => FINE,
        Series::Selected => return None,
    };
    let row = sizes.iter().find(|(listed, _)| *listed == diameter);
    row.map(|&(_, count)| count)
}
