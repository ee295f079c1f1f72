//! What lines have in common, prepared once.

use std::collections::HashMap;
use std::rc::Rc;

use overwire_core::judge::Judge;
use overwire_core::seat::{self, WireRange};
use overwire_core::thread::custom::{CustomThread, TypedLimits};
use overwire_core::thread::{Basis, Flanks, Geometry, Hand, Limits, Thread, designation};
use overwire_core::units::{Length, Pitch, Unit, WireDiameter};
use overwire_core::wires::Wires;

use super::line::{GeometryLine, Line, WiresLine, length_above_zero};

/// How many are kept, twice: when as many new ones have come, those not used since are dropped.
const KEPT: usize = 256;

/// What was prepared for lines before, by their key.
#[derive(Default)]
pub(super) struct Known {
    recent: HashMap<Vec<u8>, Rc<Ready>>,
    older: HashMap<Vec<u8>, Rc<Ready>>,
}

impl Known {
    /// What belongs to this key; prepared now when it is new. `None` when it cannot be.
    pub(super) fn get(
        &mut self,
        key: &[u8],
        prepare: impl FnOnce() -> Result<Ready, String>,
    ) -> Option<Rc<Ready>> {
        if let Some(ready) = self.recent.get(key) {
            return Some(Rc::clone(ready));
        }
        let ready = match self.older.remove(key) {
            Some(ready) => ready,
            None => Rc::new(prepare().ok()?),
        };
        if self.recent.len() >= KEPT {
            self.older = std::mem::take(&mut self.recent);
        }
        self.recent.insert(key.to_vec(), Rc::clone(&ready));
        Some(ready)
    }
}

/// All of a line but the size it asks about, in core's own values.
pub(super) struct Ready {
    pub(super) unit: Unit,
    pub(super) geometry: Geometry,
    pub(super) thread: Option<Thread>,
    pub(super) limits: Option<Limits>,
    pub(super) wires: Option<Wires>,
    /// The judge of the thread over the wires, or what keeps it from judging.
    pub(super) judge: Option<Result<Judge, String>>,
    /// The wires that suit the thread; `None` when that depends on the size asked about.
    pub(super) range: Option<WireRange>,
    /// Where the limits come from.
    pub(super) basis: Option<String>,
}

impl Ready {
    /// Everything that can be prepared from a line, or what is wrong with it.
    pub(super) fn of(line: &Line) -> Result<Ready, String> {
        let (unit, geometry, thread) = shape(line)?;
        let limits = limits(line, unit, thread.as_ref())?;
        if line.over_wires.is_some() && line.pitch_diameter.is_some() {
            return Err("give `over_wires` or `pitch_diameter`, not both".to_owned());
        }
        let thread = judged_thread(thread, geometry, limits, unit)?;
        let wires = line.wires.as_ref().map(|wires| wires_of(wires, unit));
        let wires = wires.transpose()?;
        let judge = thread
            .as_ref()
            .zip(wires.as_ref())
            .map(|(thread, wires)| Judge::new(thread, wires).map_err(|error| format!("{error}.")));
        let zone = match (&limits, &thread) {
            (Some(limits), _) => Some((limits.pitch_diameter_min, limits.pitch_diameter_max)),
            (None, thread) => thread.as_ref().map(Thread::pitch_diameter_zone),
        };
        Ok(Ready {
            range: zone.map(|(smallest, largest)| seat::wire_range(&geometry, smallest, largest)),
            basis: thread.as_ref().map(|thread| thread.basis.sentence()),
            unit,
            geometry,
            thread,
            limits,
            wires,
            judge,
        })
    }
}

fn shape(line: &Line) -> Result<(Unit, Geometry, Option<Thread>), String> {
    match (&line.thread, &line.geometry) {
        (Some(text), None) => {
            let thread = designation::parse(text).map_err(|error| error.to_string())?;
            let unit = line.unit.unwrap_or(thread.unit);
            Ok((unit, thread.geometry, Some(thread)))
        }
        (None, Some(given)) => {
            let unit = line.unit.unwrap_or(Unit::Millimetre);
            Ok((unit, geometry(given, unit)?, None))
        }
        _ => Err("give `thread` (a designation) or `geometry`, one of them".to_owned()),
    }
}

fn geometry(given: &GeometryLine, unit: Unit) -> Result<Geometry, String> {
    let pitch =
        Length::from_unit(given.pitch, unit).map_err(|error| format!("`pitch`: {error}"))?;
    let pitch = Pitch::from_length(pitch).map_err(|error| format!("`pitch`: {error}"))?;
    let leading = given
        .leading_flank_deg
        .or(given.trailing_flank_deg)
        .unwrap_or(30.0);
    let trailing = given.trailing_flank_deg.unwrap_or(leading);
    let flanks = Flanks::from_degrees(leading, trailing).map_err(|error| error.to_string())?;
    let major = given
        .major_diameter
        .map(|major| {
            Length::from_unit(major, unit).map_err(|error| format!("`major_diameter`: {error}"))
        })
        .transpose()?;
    let (starts, hand) = (given.starts.unwrap_or(1), given.hand.unwrap_or(Hand::Right));
    Geometry::checked(pitch, starts, hand, flanks, major, None).map_err(|error| error.to_string())
}

/// The limits given in the line, or else the thread's own.
fn limits(line: &Line, unit: Unit, thread: Option<&Thread>) -> Result<Option<Limits>, String> {
    match (line.pitch_diameter_min, line.pitch_diameter_max) {
        (None, None) => Ok(thread.and_then(|thread| thread.limits)),
        (Some(min), Some(max)) => Limits::checked(
            length_above_zero(min, unit, "pitch_diameter_min")?,
            length_above_zero(max, unit, "pitch_diameter_max")?,
        )
        .map(Some)
        .map_err(|error| error.to_string()),
        _ => Err("give both `pitch_diameter_min` and `pitch_diameter_max`, or none".to_owned()),
    }
}

fn wires_of(given: &WiresLine, unit: Unit) -> Result<Wires, String> {
    let wire = |number: f64| {
        Length::from_unit(number, unit)
            .and_then(WireDiameter::new)
            .map_err(|error| format!("`wires`: {error}"))
    };
    Ok(match given {
        WiresLine::One(diameter) => Wires::equal(wire(*diameter)?),
        WiresLine::Three([single, a, b]) => Wires::three(wire(*single)?, wire(*a)?, wire(*b)?),
    })
}

/// The thread to judge by: the designation's, with the limits given in the line where there are any.
fn judged_thread(
    thread: Option<Thread>,
    geometry: Geometry,
    limits: Option<Limits>,
    unit: Unit,
) -> Result<Option<Thread>, String> {
    match (thread, limits) {
        (Some(thread), None) => Ok(Some(thread)),
        (Some(thread), Some(limits)) => {
            let basis = if thread.limits == Some(limits) {
                thread.basis.clone()
            } else {
                Basis::Typed
            };
            Ok(Some(Thread {
                limits: Some(limits),
                basis,
                ..thread
            }))
        }
        (None, None) => Ok(None),
        (None, Some(limits)) => {
            let custom = CustomThread {
                unit,
                pitch: geometry.pitch,
                starts: geometry.starts,
                hand: geometry.hand,
                flanks: geometry.flanks,
                major_diameter: geometry.major_diameter,
                root_diameter: geometry.root_diameter,
                limits: TypedLimits::PitchDiameter {
                    min: limits.pitch_diameter_min,
                    max: limits.pitch_diameter_max,
                },
            };
            custom.build().map(Some).map_err(|error| error.to_string())
        }
    }
}
