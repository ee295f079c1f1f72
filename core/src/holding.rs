//! What a holding aid does to a reading: wires kept off their natural tilt.
//!
//! A free wire tilts until it lies along the groove: `tan b = h / X` at its own axis. A wire that is
//! held at another tilt cannot sink as deep. It still rests on both flanks, but the two contacts
//! are no longer those of a ball, and the holder takes the turning moment that is left.
//!
//! # Where a held wire rests
//!
//! Let the wire lie along `u = (0, cos b, sin b)` in the plane x = X. On the flank
//! `z = h θ + P/4 + (r - d2/2) t` the normal out of the metal is `n = (r/D)(t e_r + (h/r) e_θ - e_z)`,
//! `D = sqrt(r² (1 + t²) + h²)`. It is square to the wire where
//!
//! ```text
//!   t sin θ + (h/r) cos θ = tan b
//! ```
//!
//! which gives the contact's angle θ for its radius r. Half a wire q along n from there lies the
//! wire's axis:
//!
//! ```text
//!   X   = r cos θ + q (r/D) (t cos θ - (h/r) sin θ)
//!   z_0 = h θ + P/4 + (r - d2/2) t - q r/D - tan b (r sin θ + q (r/D) tan b)
//! ```
//!
//! with z_0 the place where the axis crosses y = 0. Half a turn about x maps the other flank onto
//! this form. Both flanks must give one X, and their z_0 must cancel. With `tan b = h / X` this
//! is the seat of [`crate::helix`].
//!
//! To the second order, held off by δ: `dM = X δ² / (tan a1 tan a2)`, for equal flanks
//! `X δ² / tan² a`. Against the exact lift the rule is 17 % off at 1 degree and 31 % at 2 on the
//! threads tried, and grows worse. The lift is always positive: the pitch diameter comes out too large.
//! Source: derived here; checked against sampled surfaces, no printed values.

use thiserror::Error;

use crate::bisection::rising_zero;
use crate::helix::{self, HelixError};
use crate::thread::Geometry;
use crate::units::{Angle, Length, Unit, WireDiameter};
use crate::wires::Wires;

/// Up to this far off the natural tilt the rule of thumb is within 17 %.
pub const RULE_HOLDS_TO_DEGREES: f64 = 1.0;

/// How the wires are held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Held {
    /// Each wire tilted this much more than a free one lies, less if negative.
    Off(Angle),
    /// All three turned alike in space by this angle: what tilts one side more tilts the other
    /// side less.
    Turned(Angle),
    /// Square to the thread's axis.
    Square,
}

/// What holding the wires adds to a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lift {
    /// By how much the reading is larger than over free wires. All three are held alike.
    pub lift: Length,
    /// The same by the rule `X δ² / (tan a1 tan a2)`; `None` when a flank stands square to the axis.
    pub by_rule: Option<Length>,
    /// How far the wires are off their natural tilt.
    pub off: Angle,
    /// How free wires tilt.
    pub natural_tilt: Angle,
    /// The largest diameter at which a held wire touches.
    pub contact: Length,
    /// Whether that lies at or beyond the crest: there the wire rides on the crest's edge, and
    /// [`Lift::lift`] is more than it can rise.
    pub rides_crest_edge: bool,
}

/// Why no lift can be given.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum HoldingError {
    /// Free wires have no seat either.
    #[error(transparent)]
    Seat(#[from] HelixError),
    /// At this tilt the wire does not come to rest on both flanks.
    #[error(
        "a wire held {off_degrees:.2} degrees off its natural tilt does not rest on both flanks"
    )]
    NoRest {
        /// How far off.
        off_degrees: f64,
    },
}

impl HoldingError {
    /// A stable name for files and messages.
    pub fn code(&self) -> &'static str {
        match self {
            HoldingError::Seat(error) => error.code(),
            HoldingError::NoRest { .. } => "no-rest",
        }
    }
}

/// What holding the wires like this adds to the reading on a thread of this pitch diameter.
///
/// # Errors
/// [`HoldingError`] when the wires have no seat, free or held.
///
/// ```
/// use overwire_core::holding::{Held, lift};
/// use overwire_core::{thread::designation, units::*, wires::Wires};
/// let thread = designation::parse("M8x1.25-6g")?;
/// let wires = Wires::equal(WireDiameter::new(Length::from_mm(0.7217)?)?);
/// let square = lift(&thread.geometry, &wires, Length::from_mm(7.1)?, Held::Square)?;
/// assert_eq!(square.lift.to_text(Unit::Millimetre, 3), "0.032 mm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn lift(
    geometry: &Geometry,
    wires: &Wires,
    pitch_diameter: Length,
    held: Held,
) -> Result<Lift, HoldingError> {
    let free = helix::over_wires(geometry, wires, pitch_diameter)?;
    let rise = |wire: WireDiameter| held_rise(geometry, wire, pitch_diameter, held);
    let single = rise(wires.single)?;
    let [first, second] = match wires.is_equal() {
        true => [single, single],
        false => [rise(wires.pair[0])?, rise(wires.pair[1])?],
    };
    let contact = single.contact.max(first.contact).max(second.contact);
    let contact = Length::computed(2.0 * contact);
    let off = match held {
        Held::Off(off) | Held::Turned(off) => off,
        Held::Square => Angle::computed(-free.tilt.radians()),
    };
    Ok(Lift {
        lift: Length::computed(single.rise + (first.rise + second.rise) / 2.0),
        by_rule: by_rule(geometry, free.axis_radius, off),
        off,
        natural_tilt: free.tilt,
        contact,
        rides_crest_edge: geometry
            .major_diameter
            .is_some_and(|crest| contact >= crest),
    })
}

/// What one held wire does, in mm.
#[derive(Clone, Copy)]
struct Rise {
    /// How much further out its axis lies.
    rise: f64,
    /// The larger radius at which it touches.
    contact: f64,
}

fn held_rise(
    geometry: &Geometry,
    wire: WireDiameter,
    pitch_diameter: Length,
    held: Held,
) -> Result<Rise, HoldingError> {
    let seat = helix::wire_seat(geometry, wire.mm(), pitch_diameter.mm())?;
    let natural = (geometry.lead().mm() / std::f64::consts::TAU).atan2(seat.axis_radius);
    let at = |off: f64| {
        let tilt = natural + off;
        let groove = HeldGroove::new(geometry, wire.mm() / 2.0, pitch_diameter.mm(), tilt);
        let rest = groove.rest(seat.axis_radius).ok_or(HoldingError::NoRest {
            off_degrees: off.to_degrees(),
        })?;
        Ok(Rise {
            rise: rest.axis_radius - seat.axis_radius,
            contact: rest.contact[0].max(rest.contact[1]),
        })
    };
    match held {
        Held::Off(off) => at(off.radians()),
        Held::Square => at(-natural),
        // Which side is tilted more is not known: the mean of both ways.
        Held::Turned(off) => {
            let (one, other) = (at(off.radians())?, at(-off.radians())?);
            Ok(Rise {
                rise: (one.rise + other.rise) / 2.0,
                contact: one.contact.max(other.contact),
            })
        }
    }
}

/// `X δ² / (tan a1 tan a2)`.
fn by_rule(geometry: &Geometry, axis_radius: f64, off: Angle) -> Option<Length> {
    let slopes = geometry.flanks.leading.tan() * geometry.flanks.trailing.tan();
    let lift = axis_radius * off.radians() * off.radians() / slopes;
    Length::from_mm(lift).ok()
}

impl Lift {
    /// Whether the rule of thumb is good to within 17 % here.
    pub fn rule_holds(&self) -> bool {
        self.by_rule.is_some() && self.off.degrees().abs() <= RULE_HOLDS_TO_DEGREES
    }

    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "held_wires_lift"
    }

    /// One or two sentences for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        let said = format!(
            "Wires held {:.2} degrees off their natural tilt of {:.2} degrees read {} too large, and \
             so does the pitch diameter.",
            self.off.degrees().abs(),
            self.natural_tilt.degrees(),
            self.lift.to_text(unit, places)
        );
        if self.rides_crest_edge {
            return format!(
                "{said} They would touch beyond the crest, so they ride on its edge and the amount is \
                 the most it can be."
            );
        }
        match self.by_rule {
            Some(rule) if !self.rule_holds() => format!(
                "{said} The rule of thumb says {} but holds only up to {RULE_HOLDS_TO_DEGREES} degree.",
                rule.to_text(unit, places)
            ),
            _ => said,
        }
    }
}

/// A groove with a wire held in it, in mm and radians.
struct HeldGroove {
    slopes: [f64; 2],
    advance: f64,
    quarter_pitch: f64,
    level: f64,
    half_wire: f64,
    tilt_tangent: f64,
}

/// Where a held wire rests.
struct HeldWire {
    axis_radius: f64,
    contact: [f64; 2],
}

/// What one flank does to a held wire that touches it at a given radius.
struct Touch {
    axis_radius: f64,
    axial: f64,
}

impl HeldGroove {
    fn new(geometry: &Geometry, half_wire: f64, pitch_diameter: f64, tilt: f64) -> HeldGroove {
        let flanks = [geometry.flanks.leading, geometry.flanks.trailing];
        HeldGroove {
            slopes: flanks.map(Angle::tan),
            advance: geometry.lead().mm() / std::f64::consts::TAU,
            quarter_pitch: geometry.pitch.mm() / 4.0,
            level: pitch_diameter / 2.0,
            half_wire,
            tilt_tangent: tilt.tan(),
        }
    }

    /// The largest radius at which a flank has a point whose normal is square to the wire.
    fn farthest(&self, slope: f64) -> f64 {
        let steeper = self.tilt_tangent * self.tilt_tangent - slope * slope;
        match steeper > 0.0 {
            true => self.advance / steeper.sqrt(),
            false => f64::INFINITY,
        }
    }

    /// The equations of the module head; `None` where no point of this radius has a normal square
    /// to the wire.
    fn touch(&self, slope: f64, radius: f64) -> Option<Touch> {
        if radius > self.farthest(slope) {
            return None;
        }
        let rise = self.advance / radius;
        // At the farthest radius itself rounding may put the ratio a hair beyond one.
        let share = (self.tilt_tangent / slope.hypot(rise)).clamp(-1.0, 1.0);
        let turn = share.asin() - rise.atan2(slope);
        let (sine, cosine) = turn.sin_cos();
        let step = self.half_wire / (1.0 + slope * slope + rise * rise).sqrt();
        let sideways = radius * sine + step * self.tilt_tangent;
        Some(Touch {
            axis_radius: radius * cosine + step * (slope * cosine - rise * sine),
            axial: self.advance * turn + self.quarter_pitch + (radius - self.level) * slope
                - step
                - self.tilt_tangent * sideways,
        })
    }

    /// The contact on one flank of a wire whose axis is this far out.
    fn contact(&self, slope: f64, axis_radius: f64) -> Option<f64> {
        let excess = |radius: f64| Some(self.touch(slope, radius)?.axis_radius - axis_radius);
        // A contact far round the thread may lie well outside the wire's axis, and beyond some
        // radius the axis comes in again: the first place is the one that counts. On a flank
        // square to the thread's axis the two lie close together, just below the farthest.
        let mut low = 0.2 * axis_radius;
        let farthest = self.farthest(slope).min(4.0 * axis_radius);
        while low < farthest {
            let high = f64::min(low * 1.03, farthest);
            if excess(high)? >= 0.0 {
                return rising_zero(low, high, excess);
            }
            if high >= farthest {
                return rising_zero(low, highest(low, high, excess)?, excess);
            }
            low = high;
        }
        None
    }

    fn contacts(&self, axis_radius: f64) -> Option<([f64; 2], f64)> {
        let [one, other] = self.slopes;
        let leading = self.contact(one, axis_radius)?;
        let trailing = self.contact(other, axis_radius)?;
        let axial = self.touch(one, leading)?.axial + self.touch(other, trailing)?.axial;
        Some(([leading, trailing], axial))
    }

    /// Where the wire rests, searched from where a free one lies.
    fn rest(&self, free_axis_radius: f64) -> Option<HeldWire> {
        let slack = 1e-9 * free_axis_radius;
        // So far out that a flank is out of reach is too far out.
        let gap = |axis_radius: f64| {
            let contacts = self.contacts(axis_radius);
            Some(contacts.map_or(f64::INFINITY, |(_, gap)| gap))
        };
        let axis_radius = rising_zero(free_axis_radius - slack, 2.0 * free_axis_radius, gap)?;
        let (contact, _) = self.contacts(axis_radius)?;
        Some(HeldWire {
            axis_radius,
            contact,
        })
    }
}

/// Where a function that rises and then falls is highest, by thirds.
fn highest(mut low: f64, mut high: f64, function: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    for _ in 0..120 {
        let third = (high - low) / 3.0;
        let (one, other) = (low + third, high - third);
        if function(one)? < function(other)? {
            low = one;
        } else {
            high = other;
        }
    }
    Some(low)
}
