//! Tables of the ISO metric trapezoidal thread: sizes, deviations, tolerances.
//!
//! Standards: ISO 2902 (diameters and pitches) and ISO 2903 (deviations and tolerances). The
//! normal pitch of each diameter was seen on a public sheet; everything else is from memory.
//! Check against your copy. Limits of class 7e printed on a public page are checked in the tests.
//!
//! Diameters and pitches are in micrometres, so that rows are found without rounding.

/// Diameters and their pitches; diameters that share theirs stand together.
pub(super) const LISTED: &[(&[u32], &[u32])] = &[
    (&[8_000], &[1_500]),
    (&[9_000, 10_000], &[1_500, 2_000]),
    (&[11_000, 12_000, 14_000], &[2_000, 3_000]),
    (&[16_000, 18_000, 20_000], &[2_000, 4_000]),
    (&[22_000, 24_000, 26_000, 28_000], &[3_000, 5_000, 8_000]),
    (&[30_000, 32_000, 34_000, 36_000], &[3_000, 6_000, 10_000]),
    (&[38_000, 40_000, 42_000], &[3_000, 7_000, 10_000]),
    (&[44_000], &[3_000, 7_000, 12_000]),
    (&[46_000, 48_000, 50_000, 52_000], &[3_000, 8_000, 12_000]),
    (&[55_000, 60_000], &[3_000, 9_000, 14_000]),
    (&[65_000, 70_000, 75_000, 80_000], &[4_000, 10_000, 16_000]),
    (&[85_000, 90_000, 95_000], &[4_000, 12_000, 18_000]),
    (&[100_000], &[4_000, 12_000, 20_000]),
];

pub(super) fn is_listed(diameter_um: u32, pitch_um: u32) -> bool {
    LISTED
        .iter()
        .any(|(diameters, pitches)| diameters.contains(&diameter_um) && pitches.contains(&pitch_um))
}

/// Deviations of the positions e and c by pitch, in micrometres. Position c begins at 1.5 mm.
/// These are not those of ISO 965-1: at a pitch of 8 mm e is 132 here and 140 there.
const DEVIATIONS: &[(u32, u32, Option<u32>)] = &[
    (1_500, 67, Some(140)),
    (2_000, 71, Some(150)),
    (3_000, 85, Some(170)),
    (4_000, 95, Some(190)),
    (5_000, 106, Some(212)),
    (6_000, 118, Some(236)),
    (7_000, 125, Some(250)),
    (8_000, 132, Some(265)),
    (9_000, 140, Some(280)),
    (10_000, 150, Some(300)),
    (12_000, 160, Some(335)),
    (14_000, 180, Some(355)),
    (16_000, 190, Some(375)),
    (18_000, 200, Some(400)),
    (20_000, 212, Some(425)),
    (22_000, 224, None),
    (24_000, 236, None),
    (28_000, 250, None),
    (32_000, 265, None),
    (36_000, 280, None),
    (40_000, 300, None),
    (44_000, 315, None),
];

/// The deviations e and c of a pitch.
pub(super) fn deviations(pitch_um: u32) -> Option<(u32, Option<u32>)> {
    let row = DEVIATIONS.iter().find(|(pitch, _, _)| *pitch == pitch_um)?;
    Some((row.1, row.2))
}

/// A diameter group, over and up to, a pitch, and the tolerances of grades 7, 8 and 9.
type ToleranceRow = (u32, u32, u32, [u32; 3]);

/// Pitch diameter tolerances, in micrometres.
const TOLERANCES: &[ToleranceRow] = &[
    (5_600, 11_200, 1_500, [170, 212, 265]),
    (5_600, 11_200, 2_000, [190, 236, 300]),
    (5_600, 11_200, 3_000, [212, 265, 335]),
    (11_200, 22_400, 2_000, [200, 250, 315]),
    (11_200, 22_400, 3_000, [224, 280, 355]),
    (11_200, 22_400, 4_000, [265, 335, 425]),
    (11_200, 22_400, 5_000, [280, 355, 450]),
    (11_200, 22_400, 8_000, [355, 450, 560]),
    (22_400, 45_000, 3_000, [250, 315, 400]),
    (22_400, 45_000, 5_000, [300, 375, 475]),
    (22_400, 45_000, 6_000, [335, 425, 530]),
    (22_400, 45_000, 7_000, [355, 450, 560]),
    (22_400, 45_000, 8_000, [375, 475, 600]),
    (22_400, 45_000, 10_000, [400, 500, 630]),
    (22_400, 45_000, 12_000, [425, 530, 670]),
    (45_000, 90_000, 3_000, [265, 335, 425]),
    (45_000, 90_000, 4_000, [300, 375, 475]),
    (45_000, 90_000, 8_000, [400, 500, 630]),
    (45_000, 90_000, 9_000, [425, 530, 670]),
    (45_000, 90_000, 10_000, [425, 530, 670]),
    (45_000, 90_000, 12_000, [475, 600, 750]),
    (45_000, 90_000, 14_000, [500, 630, 800]),
    (45_000, 90_000, 16_000, [530, 670, 850]),
    (45_000, 90_000, 18_000, [560, 710, 900]),
    (90_000, 180_000, 4_000, [315, 400, 500]),
    (90_000, 180_000, 12_000, [500, 630, 800]),
    (90_000, 180_000, 18_000, [600, 750, 950]),
    (90_000, 180_000, 20_000, [600, 750, 950]),
];

/// The tolerance of grade 7, 8 or 9, if it is in the table.
pub(super) fn tolerance(diameter_um: u32, pitch_um: u32, grade: u8) -> Option<u32> {
    let column = usize::from(grade.checked_sub(7)?);
    let row = TOLERANCES.iter().find(|(over, upto, pitch, _)| {
        diameter_um > *over && diameter_um <= *upto && *pitch == pitch_um
    })?;
    row.3.get(column).copied()
}

/// Clearance between the root and a nut's crest, in micrometres.
pub(super) fn root_clearance(pitch_um: u32) -> u32 {
    match pitch_um {
        0..2_000 => 150,
        2_000..=5_000 => 250,
        5_001..=12_000 => 500,
        _ => 1_000,
    }
}
