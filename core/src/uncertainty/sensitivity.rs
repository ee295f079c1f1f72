//! How much each quantity moves the pitch diameter.
//!
//! Central differences of the exact seat, [`crate::helix::pitch_diameter`]. The step is a
//! hundred-thousandth of the quantity, for which the difference is good to nine digits.
//!
//! Without lead they are known in closed form: 1 for the reading, `-(1 + 1/sin a)` for the wires
//! together, `cot a / 2` for the pitch, `(w cos a - P/2)/sin² a` for both half-angles together.
//! The last is zero at the best wire: there the wire touches on the pitch cylinder, about
//! which a flank of wrong angle turns. The exact values keep that property for any lead.

use super::Source;
use crate::compression::{self, CompressionError, Expansion, Force, Pressing};
use crate::correction::{CorrectionError, Inputs, Temperature, Temperatures, Warmth, correct};
use crate::helix::{self, HelixError};
use crate::thread::{Flanks, Geometry};
use crate::units::{Angle, Length, Pitch, WireDiameter};
use crate::wires::Wires;

/// The share of a quantity that is added and taken away.
const STEP: f64 = 1e-5;

/// What one unit of each quantity does to the pitch diameter; mm for mm, or mm for a radian.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivities {
    /// The reading, and with it micrometer, zero and repeatability.
    pub reading: f64,
    /// Each wire by itself: the lone one, then the pair.
    pub wires: [f64; 3],
    /// All three wires together.
    pub wires_together: f64,
    /// The pitch, local and groove to groove; the lead goes with it.
    pub pitch: f64,
    /// The leading flank's angle.
    pub leading_flank: f64,
    /// The trailing flank's angle.
    pub trailing_flank: f64,
    /// Both flank angles together: nothing at the best wire.
    pub both_flanks: f64,
}

impl Sensitivities {
    /// At this reading over these wires.
    ///
    /// # Errors
    /// [`HelixError`] when the wires have no seat here or close by.
    ///
    /// ```
    /// use overwire_core::uncertainty::Sensitivities;
    /// use overwire_core::{thread::designation, units::*, wires::Wires};
    /// let thread = designation::parse("M8x1.25-6g")?;
    /// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.7217)?)?);
    /// let found = Sensitivities::at(&thread.geometry, &wires, Length::from_mm(8.2)?)?;
    /// assert!((found.wires_together + 3.0026).abs() < 2e-4);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn at(
        geometry: &Geometry,
        wires: &Wires,
        over_wires: Length,
    ) -> Result<Sensitivities, HelixError> {
        let slope = |size: f64, at: &dyn Fn(f64) -> Result<f64, HelixError>| {
            let step = STEP * size;
            Ok::<f64, HelixError>((at(step)? - at(-step)?) / (2.0 * step))
        };
        let reading = slope(over_wires.mm(), &|step| {
            diameter(geometry, wires, over_wires + Length::computed(step))
        })?;
        let thinnest = wires.thinnest().mm();
        let wire = |seats: [bool; 3]| {
            slope(thinnest, &|step| {
                diameter(geometry, &changed_wires(wires, seats, step), over_wires)
            })
        };
        let pitch = slope(geometry.pitch.mm(), &|step| {
            diameter(&changed_pitch(geometry, step), wires, over_wires)
        })?;
        let flank = |which: [f64; 2]| {
            slope(1.0, &|step| {
                diameter(&changed_flanks(geometry, which, step), wires, over_wires)
            })
        };
        Ok(Sensitivities {
            reading,
            wires: [
                wire([true, false, false])?,
                wire([false, true, false])?,
                wire([false, false, true])?,
            ],
            wires_together: wire([true; 3])?,
            pitch,
            leading_flank: flank([1.0, 0.0])?,
            trailing_flank: flank([0.0, 1.0])?,
            both_flanks: flank([1.0, 1.0])?,
        })
    }
}

impl Sensitivities {
    /// The one that belongs to a source; `None` for force and temperatures, which depend on more
    /// ([`force_sensitivity`], [`TemperatureSensitivities`]), and for sources of the user's own.
    pub fn to(&self, source: &Source) -> Option<f64> {
        match source {
            Source::Micrometer | Source::Zero | Source::Display | Source::Repeatability => {
                Some(self.reading)
            }
            Source::WiresTogether => Some(self.wires_together),
            Source::Wire(seat) => self.wires.get(usize::from(*seat)).copied(),
            Source::Pitch => Some(self.pitch),
            Source::LeadingFlank => Some(self.leading_flank),
            Source::TrailingFlank => Some(self.trailing_flank),
            Source::BothFlanks => Some(self.both_flanks),
            // The form of the thread is part of the pitch diameter itself.
            Source::Form => Some(1.0),
            Source::Force
            | Source::PartTemperature
            | Source::WireTemperature
            | Source::MicrometerTemperature
            | Source::Other(_) => None,
        }
    }
}

fn diameter(geometry: &Geometry, wires: &Wires, over_wires: Length) -> Result<f64, HelixError> {
    helix::pitch_diameter(geometry, wires, over_wires).map(|seated| seated.pitch_diameter.mm())
}

fn changed_wires(wires: &Wires, seats: [bool; 3], step: f64) -> Wires {
    let changed = |wire: WireDiameter, change: bool| match change {
        true => WireDiameter::new(wire.length() + Length::computed(step)).unwrap_or(wire),
        false => wire,
    };
    let [single, first, second] = seats;
    Wires::three(
        changed(wires.single, single),
        changed(wires.pair[0], first),
        changed(wires.pair[1], second),
    )
}

fn changed_pitch(geometry: &Geometry, step: f64) -> Geometry {
    let changed = Pitch::from_length(geometry.pitch.length() + Length::computed(step));
    Geometry {
        pitch: changed.unwrap_or(geometry.pitch),
        ..*geometry
    }
}

fn changed_flanks(geometry: &Geometry, which: [f64; 2], step: f64) -> Geometry {
    let changed = |flank: Angle, share: f64| Angle::computed(flank.radians() + share * step);
    Geometry {
        flanks: Flanks {
            leading: changed(geometry.flanks.leading, which[0]),
            trailing: changed(geometry.flanks.trailing, which[1]),
        },
        ..*geometry
    }
}

/// What one newton more does to the pitch diameter when compression is corrected for, in mm/N.
///
/// # Errors
/// [`CompressionError`] when the compression cannot be given here.
pub fn force_sensitivity(
    geometry: &Geometry,
    wires: &Wires,
    over_wires: Length,
    pressing: &Pressing,
) -> Result<f64, CompressionError> {
    let seated = helix::pitch_diameter(geometry, wires, over_wires)?;
    let force = pressing.force.newtons();
    let step = 1e-4 * force;
    let at = |newtons: f64| {
        let force = Force::from_newtons(newtons).unwrap_or(pressing.force);
        let pressing = pressing.with_force(force);
        compression::compression(geometry, wires, seated.pitch_diameter, &pressing)
            .map(|found| found.total().mm())
    };
    let reading = Sensitivities::at(geometry, wires, over_wires)?.reading;
    // The strongest force accepted has nothing above it: one side is enough.
    Ok(reading * (at(force)? - at(force - step)?) / step)
}

/// What one kelvin more does to the pitch diameter at 20 °C, in mm/K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureSensitivities {
    /// The part warmer than thought: the true size is smaller.
    pub part: f64,
    /// The wires.
    pub wires: f64,
    /// The micrometer.
    pub micrometer: f64,
}

impl TemperatureSensitivities {
    /// Around 20 °C.
    ///
    /// # Errors
    /// [`CorrectionError`] when the wires have no seat here.
    pub fn at(
        geometry: &Geometry,
        wires: &Wires,
        over_wires: Length,
        part: Expansion,
        gauge: Expansion,
    ) -> Result<TemperatureSensitivities, CorrectionError> {
        let warm = |expansion: Expansion, celsius: f64| {
            Temperature::from_celsius(celsius)
                .ok()
                .map(|temperature| Warmth {
                    temperature,
                    expansion,
                })
        };
        let slope = |temperatures: &dyn Fn(f64) -> Temperatures| {
            let at = |celsius: f64| {
                let inputs = Inputs {
                    temperatures: temperatures(celsius),
                    ..Inputs::default()
                };
                let reading = correct(geometry, wires, over_wires, &inputs)?.reading;
                Ok::<f64, CorrectionError>(diameter(geometry, wires, reading)?)
            };
            Ok::<f64, CorrectionError>((at(21.0)? - at(19.0)?) / 2.0)
        };
        let nothing = Temperatures::default();
        Ok(TemperatureSensitivities {
            part: slope(&|celsius| Temperatures {
                part: warm(part, celsius),
                ..nothing
            })?,
            wires: slope(&|celsius| Temperatures {
                wires: warm(gauge, celsius),
                ..nothing
            })?,
            micrometer: slope(&|celsius| Temperatures {
                micrometer: warm(gauge, celsius),
                ..nothing
            })?,
        })
    }
}
