//! Temperatures, and what warmth does to a reading.

use thiserror::Error;

use super::term::{Note, TermKind};
use super::{Corrected, CorrectionError};
use crate::compression::Expansion;
use crate::helix;
use crate::thread::Geometry;
use crate::units::{Pitch, WireDiameter};
use crate::wires::Wires;

/// The temperature at which sizes are stated: 20 °C (ISO 1).
pub const STANDARD_TEMPERATURE: Temperature = Temperature(20.0);

/// The hottest temperature accepted, in degrees Celsius.
pub const HOTTEST_CELSIUS: f64 = 200.0;

const COLDEST_CELSIUS: f64 = -50.0;

/// Why a temperature was refused.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error(
    "a temperature of {celsius} °C is not plausible; expected {COLDEST_CELSIUS} to {HOTTEST_CELSIUS} °C"
)]
pub struct TemperatureError {
    /// What was given.
    pub celsius: f64,
}

impl TemperatureError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "temperature-implausible"
    }
}

/// A temperature, held in degrees Celsius.
///
/// ```
/// use overwire_core::correction::Temperature;
/// assert_eq!(Temperature::from_fahrenheit(68.0)?.celsius(), 20.0);
/// # Ok::<(), overwire_core::correction::TemperatureError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// So many degrees Celsius.
    ///
    /// # Errors
    /// [`TemperatureError`] below -50 or above [`HOTTEST_CELSIUS`].
    pub fn from_celsius(celsius: f64) -> Result<Temperature, TemperatureError> {
        if (COLDEST_CELSIUS..=HOTTEST_CELSIUS).contains(&celsius) {
            Ok(Temperature(celsius))
        } else {
            Err(TemperatureError { celsius })
        }
    }

    /// So many degrees Fahrenheit.
    ///
    /// # Errors
    /// As [`Temperature::from_celsius`].
    pub fn from_fahrenheit(fahrenheit: f64) -> Result<Temperature, TemperatureError> {
        Temperature::from_celsius((fahrenheit - 32.0) / 1.8)
    }

    /// In degrees Celsius.
    pub const fn celsius(self) -> f64 {
        self.0
    }

    /// Kelvins above 20 °C; negative below.
    pub const fn above_standard(self) -> f64 {
        self.0 - STANDARD_TEMPERATURE.0
    }
}

/// How warm a thing is, and how much it grows for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// Its temperature.
    pub temperature: Temperature,
    /// Its coefficient of expansion.
    pub expansion: Expansion,
}

impl Warmth {
    /// By what share of itself it is longer than at 20 °C.
    pub fn growth(&self) -> f64 {
        self.expansion.per_kelvin() * self.temperature.above_standard()
    }

    fn factor(&self) -> f64 {
        1.0 + self.growth()
    }
}

/// How warm part, wires and micrometer are. What is left out is taken as 20 °C.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Temperatures {
    /// The threaded part.
    pub part: Option<Warmth>,
    /// The wires.
    pub wires: Option<Warmth>,
    /// The micrometer.
    pub micrometer: Option<Warmth>,
}

impl Temperatures {
    /// Part, wires and micrometer all as warm as each other, wires and micrometer of one expansion.
    pub fn all_at(temperature: Temperature, part: Expansion, gauge: Expansion) -> Temperatures {
        let warmth = |expansion| Warmth {
            temperature,
            expansion,
        };
        Temperatures {
            part: Some(warmth(part)),
            wires: Some(warmth(gauge)),
            micrometer: Some(warmth(gauge)),
        }
    }
}

/// Whoever gives one temperature should know what was taken for the others.
pub(super) fn notes(temperatures: &Temperatures) -> Vec<Note> {
    let given = [
        (temperatures.part, "part"),
        (temperatures.wires, "wires"),
        (temperatures.micrometer, "micrometer"),
    ];
    if given.iter().all(|(warmth, _)| warmth.is_none()) {
        return Vec::new();
    }
    given
        .into_iter()
        .filter(|(warmth, _)| warmth.is_none())
        .map(|(_, what)| Note::TakenAsStandard { what })
        .collect()
}

/// What would have been read over wires, and then on a part, of 20 °C.
pub(super) fn bring_to_standard(
    geometry: &Geometry,
    wires: &Wires,
    temperatures: &Temperatures,
    corrected: &mut Corrected,
) -> Result<(), CorrectionError> {
    if temperatures.wires.is_none() && temperatures.part.is_none() {
        return Ok(());
    }
    let part_factor = temperatures.part.map_or(1.0, |warmth| warmth.factor());
    let grown_part = grown_geometry(geometry, part_factor);
    let wire_factor = temperatures.wires.map_or(1.0, |warmth| warmth.factor());
    let grown_wires = grown_wires(wires, wire_factor);
    let grown = helix::pitch_diameter(&grown_part, &grown_wires, corrected.reading)?;
    if let Some(warmth) = temperatures.wires {
        let over_cold_wires = helix::over_wires(&grown_part, wires, grown.pitch_diameter)?;
        let amount = over_cold_wires.over_wires - corrected.reading;
        corrected.add(TermKind::WireTemperature(warmth), amount);
    }
    if let Some(warmth) = temperatures.part {
        let pitch_diameter = grown.pitch_diameter * (1.0 / part_factor);
        let on_cold_part = helix::over_wires(geometry, wires, pitch_diameter)?;
        let amount = on_cold_part.over_wires - corrected.reading;
        corrected.add(TermKind::PartTemperature(warmth), amount);
    }
    Ok(())
}

/// The part as its warmth has it. Crest and root play no part in where the wires sit.
fn grown_geometry(geometry: &Geometry, factor: f64) -> Geometry {
    let pitch = Pitch::from_length(geometry.pitch.length() * factor);
    Geometry {
        pitch: pitch.unwrap_or(geometry.pitch),
        ..*geometry
    }
}

fn grown_wires(wires: &Wires, factor: f64) -> Wires {
    let grown = |wire: WireDiameter| WireDiameter::new(wire.length() * factor).unwrap_or(wire);
    let [first, second] = wires.pair;
    Wires::three(grown(wires.single), grown(first), grown(second))
}
