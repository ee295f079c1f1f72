//! A line as it may come in, and what it asks about.

use overwire_core::thread::Hand;
use overwire_core::units::{Length, Unit};
use serde::Deserialize;

/// A line.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Line {
    pub(super) thread: Option<String>,
    pub(super) geometry: Option<GeometryLine>,
    pub(super) pitch_diameter_min: Option<f64>,
    pub(super) pitch_diameter_max: Option<f64>,
    pub(super) unit: Option<Unit>,
    pub(super) wires: Option<WiresLine>,
    pub(super) over_wires: Option<f64>,
    pub(super) pitch_diameter: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct GeometryLine {
    pub(super) pitch: f64,
    pub(super) starts: Option<u32>,
    pub(super) hand: Option<Hand>,
    pub(super) leading_flank_deg: Option<f64>,
    pub(super) trailing_flank_deg: Option<f64>,
    pub(super) major_diameter: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(
    untagged,
    expecting = "`wires`: give one diameter, or a list of three with the single side's wire first"
)]
pub(super) enum WiresLine {
    One(f64),
    Three([f64; 3]),
}

/// The size a line asks about: neither, or one of the two.
pub(super) struct Asked {
    pub(super) over_wires: Option<Length>,
    pub(super) pitch_diameter: Option<Length>,
}

impl Asked {
    pub(super) fn of(
        over_wires: Option<f64>,
        pitch_diameter: Option<f64>,
        unit: Unit,
    ) -> Result<Asked, String> {
        let length = |number: Option<f64>, name| {
            number
                .map(|number| length_above_zero(number, unit, name))
                .transpose()
        };
        Ok(Asked {
            over_wires: length(over_wires, "over_wires")?,
            pitch_diameter: length(pitch_diameter, "pitch_diameter")?,
        })
    }

    pub(super) fn anything(&self) -> bool {
        self.over_wires.is_some() || self.pitch_diameter.is_some()
    }
}

pub(super) fn length_above_zero(number: f64, unit: Unit, name: &str) -> Result<Length, String> {
    let length = Length::from_unit(number, unit).map_err(|error| format!("`{name}`: {error}"))?;
    if length.mm() > 0.0 {
        Ok(length)
    } else {
        Err(format!("`{name}` must be above 0"))
    }
}
