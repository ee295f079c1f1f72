//! What the shop knows of how well it measures: the parts of an uncertainty budget that no certificate
//! gives. A file without `[uncertainty]` makes no budget, and verdicts are by simple comparison.

use crate::reader::Reader;

/// Largest errors expected, each either way; the budget takes them as evenly spread between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UncertaintySettings {
    /// Error of the thread's pitch from one groove to the next, mm.
    pub pitch_mm: f64,
    /// Error of the average flank angle, degrees.
    pub flank_angle_deg: f64,
    /// How far the part may be from the temperature told for it (20 degrees where none is), kelvin.
    pub part_temperature_k: f64,
    /// How far wires and micrometer may be from theirs, kelvin.
    pub gauge_temperature_k: f64,
    /// How far the measuring force may be from its figure, as a share of it.
    pub force_share: f64,
    /// Standard deviation of one measurement with the wires laid anew, mm; used until the record holds
    /// enough repeats of the job itself.
    pub repeatability_mm: f64,
    /// Confidence of the expanded uncertainty, above 0.5 and below 1.
    pub confidence: f64,
}

impl Default for UncertaintySettings {
    /// Magnitudes of careful bench work; common practice, no source.
    fn default() -> Self {
        UncertaintySettings {
            pitch_mm: 0.003,
            flank_angle_deg: 0.5,
            part_temperature_k: 3.0,
            gauge_temperature_k: 2.0,
            force_share: 0.3,
            repeatability_mm: 0.002,
            confidence: 0.95,
        }
    }
}

/// Reads `[uncertainty]`; what is left out takes its default.
pub(crate) fn read(root: &Reader<'_, '_>) -> Option<UncertaintySettings> {
    let table = root.table("uncertainty")?;
    let mut settings = UncertaintySettings::default();
    for (key, most, place) in [
        ("pitch_mm", 0.5, &mut settings.pitch_mm),
        ("flank_angle_deg", 5.0, &mut settings.flank_angle_deg),
        (
            "part_temperature_k",
            100.0,
            &mut settings.part_temperature_k,
        ),
        (
            "gauge_temperature_k",
            50.0,
            &mut settings.gauge_temperature_k,
        ),
        ("force_share", 1.0, &mut settings.force_share),
        ("repeatability_mm", 0.5, &mut settings.repeatability_mm),
    ] {
        if let Some(number) = table.number(key, 0.0..=most) {
            *place = number;
        }
    }
    if let Some(confidence) = table.number("confidence", 0.6..=0.999) {
        settings.confidence = confidence;
    }
    table.finish();
    Some(settings)
}
