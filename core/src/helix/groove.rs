//! One wire in one groove: the equations at the head of [`crate::helix`], in the form they are
//! reckoned in.
//!
//! `A² + B²` can be written without A and B. Since `W² (r²(1 + t²) + h²) = q²`,
//!
//! ```text
//!   X² = r² + q² + r² W (2 t - W)
//! ```
//!
//! With `v = (h W / q)²` the rates of change with the contact radius r are short, too:
//!
//! ```text
//!   dX²/dr² = k,                          k = 1 + W t (1 + v) - W² v
//!   dz/dr   = c k / X²,                   c = t r² (1 + W t) + W h²
//! ```
//!
//! where z is the flank's part of the balance. Along the flank the ball therefore climbs
//! `dz/dX = c / (r X)`: it rolls on the helicoid through its own centre. Both searches are all
//! but straight lines in their unknown (r² for a known X, r for a known d2), so that two or three
//! steps of Newton's rule are enough, and the last one is taken along the line.

use std::f64::consts::{PI, TAU};

use super::root::{Root, Value, rising_root};
use super::{HelixError, Seated, checked_diameter};
use crate::thread::Geometry;
use crate::units::{Angle, Length};
use crate::wires::Wires;

/// The groove as the equations see it.
pub(super) struct Groove {
    /// The leading and the trailing flank.
    flanks: [Flank; 2],
    symmetric: bool,
    pitch: f64,
    /// Lead over a full turn: advance for one radian.
    advance: f64,
}

/// One flank.
#[derive(Clone, Copy)]
struct Flank {
    /// `tan a`.
    slope: f64,
    /// `1 + tan² a`.
    stretch: f64,
    /// Its square root, `1 / cos a`.
    secant: f64,
}

impl Flank {
    fn of(angle: Angle) -> Flank {
        let slope = angle.tan();
        let stretch = 1.0 + slope * slope;
        Flank {
            slope,
            stretch,
            secant: stretch.sqrt(),
        }
    }
}

/// A ball that touches one flank at a given radius.
#[derive(Clone, Copy)]
struct Touch {
    slope: f64,
    advance: f64,
    /// The square of the contact radius.
    square: f64,
    /// W of the module head of [`crate::helix`].
    lean: f64,
    /// v of this module's head.
    twist: f64,
    /// What the square of the centre's distance from the axis is more than that.
    beyond: f64,
}

impl Touch {
    /// k of this module's head.
    fn spread(&self) -> f64 {
        let (lean, twist) = (self.lean, self.twist);
        1.0 + lean * self.slope * (1.0 + twist) - lean * lean * twist
    }

    /// c of this module's head.
    fn climb(&self) -> f64 {
        self.slope * self.square * (1.0 + self.lean * self.slope)
            + self.lean * self.advance * self.advance
    }

    /// The flank's part of the balance. `level` is the radius the axial place is counted from:
    /// near the contact it keeps the numbers small.
    fn axial(&self, radius: f64, level: f64) -> f64 {
        let sideways = self.lean * self.advance;
        let outward = radius * (1.0 + self.lean * self.slope);
        (radius - level) * self.slope
            - self.lean * radius
            - self.advance * arc_tangent(sideways / outward)
    }

    /// How fast the flank's part of the balance grows with the contact radius.
    fn axial_rate(&self) -> f64 {
        self.climb() * self.spread() / self.axis_square()
    }

    /// The square of the centre's distance from the axis.
    fn axis_square(&self) -> f64 {
        self.square + self.beyond
    }
}

/// The arc tangent; of small numbers by its series, which then is exact to the last digit.
fn arc_tangent(ratio: f64) -> f64 {
    if ratio.abs() > 0.02 {
        return ratio.atan();
    }
    let square = ratio * ratio;
    let fourth = square * square;
    let tail = (1.0 / 5.0 - square / 7.0) + fourth / 9.0;
    ratio * ((1.0 - square / 3.0) + fourth * tail)
}

/// One wire at rest.
#[derive(Clone, Copy)]
pub(crate) struct WireSeat {
    /// Radius of the contact on the leading and the trailing flank.
    pub(crate) contact: [f64; 2],
    /// Distance of the wire's axis from the thread's axis.
    pub(crate) axis_radius: f64,
    /// How much the axis moves out for one unit of pitch diameter.
    pub(super) slope: f64,
}

impl Groove {
    pub(super) fn of(geometry: &Geometry) -> Groove {
        let symmetric = geometry.flanks.is_symmetric();
        let leading = Flank::of(geometry.flanks.leading);
        let trailing = match symmetric {
            true => leading,
            false => Flank::of(geometry.flanks.trailing),
        };
        Groove {
            flanks: [leading, trailing],
            symmetric,
            pitch: geometry.pitch.mm(),
            advance: geometry.lead().mm() / TAU,
        }
    }

    pub(super) fn no_seat(&self, half_wire: f64) -> HelixError {
        HelixError::NoSeat {
            wire_mm: 2.0 * half_wire,
            pitch_mm: self.pitch,
            lead_mm: self.advance * TAU,
        }
    }

    /// A reading with all that belongs to it.
    pub(super) fn seated(
        &self,
        seat: &WireSeat,
        wires: &Wires,
        over_wires_mm: f64,
        pitch_diameter_mm: f64,
    ) -> Seated {
        let over_wires = Length::computed(over_wires_mm);
        let pitch_diameter = Length::computed(pitch_diameter_mm);
        let plane = Length::computed(over_wires_mm - self.plane_constant(wires));
        Seated {
            over_wires,
            pitch_diameter,
            plane_pitch_diameter: plane,
            lead_angle_correction: plane - pitch_diameter,
            contact_radius: seat.contact,
            axis_radius: seat.axis_radius,
            tilt: Angle::computed((self.advance / seat.axis_radius).atan()),
        }
    }

    /// The sum of both slopes.
    fn slopes(&self) -> f64 {
        self.flanks[0].slope + self.flanks[1].slope
    }

    /// How far out of the corner of a plane groove a ball of radius 1 rests: `1 / sin a` for equal
    /// flanks.
    fn reach(&self) -> f64 {
        (self.flanks[0].secant + self.flanks[1].secant) / self.slopes()
    }

    /// [`crate::plane::constant`] from the slopes at hand:
    /// `cos((a1 - a2)/2) / sin((a1 + a2)/2)` is the reach above.
    fn plane_constant(&self, wires: &Wires) -> f64 {
        wires.seated_mean().mm() * (1.0 + self.reach()) - self.pitch / self.slopes()
    }

    /// A ball on one flank, from the square of its contact radius.
    fn touch(&self, flank: usize, half_wire: f64, square: f64) -> Touch {
        let Flank { slope, stretch, .. } = self.flanks[flank];
        let advance_square = self.advance * self.advance;
        let over_normal = 1.0 / (square * stretch + advance_square);
        let lean = half_wire * over_normal.sqrt();
        Touch {
            slope,
            advance: self.advance,
            square,
            lean,
            twist: advance_square * over_normal,
            beyond: half_wire * half_wire + square * lean * (2.0 * slope - lean),
        }
    }

    /// The touch of a ball whose centre is so far out that its square is `axis_square`; the unknown
    /// is the square of the contact radius. The contact is never further out than the centre,
    /// which brackets it.
    fn contact(&self, flank: usize, half_wire: f64, axis_square: f64) -> Option<Root<Touch>> {
        let Flank { slope, secant, .. } = self.flanks[flank];
        let start = axis_square.sqrt() - half_wire * slope / secant;
        rising_root(0.0, axis_square, start * start, |square| {
            let touch = self.touch(flank, half_wire, square);
            Some(Value {
                // In this order the two large squares cancel without loss.
                excess: (square - axis_square) + touch.beyond,
                rate: touch.spread(),
                seen: touch,
            })
        })
    }

    /// The seat of a ball whose centre is this far out, and the pitch diameter that puts it there.
    pub(super) fn seat_at_axis(
        &self,
        half_wire: f64,
        axis_radius: f64,
    ) -> Result<(WireSeat, f64), HelixError> {
        if !(axis_radius > half_wire && half_wire > 0.0) {
            return Err(HelixError::NothingBetweenWires {
                over_wires_mm: 2.0 * (axis_radius + half_wire),
                wire_mm: 2.0 * half_wire,
            });
        }
        self.solved_at_axis(half_wire, axis_radius)
            .ok_or_else(|| self.no_seat(half_wire))
    }

    fn solved_at_axis(&self, half_wire: f64, axis_radius: f64) -> Option<(WireSeat, f64)> {
        let axis_square = axis_radius * axis_radius;
        let at = |flank| {
            let root = self.contact(flank, half_wire, axis_square)?;
            let last = root.unknown.sqrt();
            let step = root.step / (2.0 * last);
            let axial = root.seen.axial(last, axis_radius) + root.seen.axial_rate() * step;
            Some((root.seen, last + step, axial))
        };
        let leading = at(0)?;
        let trailing = match self.symmetric {
            true => leading,
            false => at(1)?,
        };
        let axial = self.pitch / 2.0 + leading.2 + trailing.2;
        let diameter = checked_diameter(2.0 * (axis_radius + axial / self.slopes()))?;
        let contact = [leading.1, trailing.1];
        let seat = self.wire_seat(contact, axis_radius, [&leading.0, &trailing.0])?;
        Some((seat, diameter))
    }

    /// The seat on a thread of this pitch diameter: the balance solved for the leading contact.
    pub(super) fn seat_at_diameter(
        &self,
        half_wire: f64,
        diameter: f64,
    ) -> Result<WireSeat, HelixError> {
        let level = diameter / 2.0;
        if !(level > 0.0 && half_wire > 0.0) {
            return Err(self.no_seat(half_wire));
        }
        self.solved_at_diameter(half_wire, level)
            .ok_or_else(|| self.no_seat(half_wire))
    }

    fn solved_at_diameter(&self, half_wire: f64, level: f64) -> Option<WireSeat> {
        // Beyond this the flanks' rise outweighs everything else in the balance.
        let highest = level + half_wire + (2.0 * half_wire + PI * self.advance) / self.slopes();
        let Flank { slope, secant, .. } = self.flanks[0];
        let start = self.plane_axis_radius(half_wire, level) - half_wire * slope / secant;
        let root = rising_root(0.0, highest, start, |radius| {
            self.balance(half_wire, radius, level)
        })?;
        let Balance {
            leading,
            trailing,
            trailing_radius,
        } = root.seen;
        let last = leading.axis_square().sqrt();
        // Both contacts and the axis move along as far as the last step of the leading one moves them.
        let axis_step = root.unknown * leading.spread() / last * root.step;
        let trailing_step = axis_step * last / (trailing_radius * trailing.spread());
        let contact = [root.unknown + root.step, trailing_radius + trailing_step];
        self.wire_seat(contact, last + axis_step, [&leading, &trailing])
    }

    /// The balance with the leading contact at this radius, and both touches.
    fn balance(&self, half_wire: f64, radius: f64, level: f64) -> Option<Value<Balance>> {
        let leading = self.touch(0, half_wire, radius * radius);
        let (trailing, trailing_radius, step) = match self.symmetric {
            true => (leading, radius, 0.0),
            false => {
                let root = self.contact(1, half_wire, leading.axis_square())?;
                let last = root.unknown.sqrt();
                (root.seen, last, root.step / (2.0 * last))
            }
        };
        let one = leading.axial(radius, level);
        let other = match self.symmetric {
            true => one,
            false => trailing.axial(trailing_radius, level) + trailing.axial_rate() * step,
        };
        // dz/dr of both, the trailing one by way of the common centre.
        let climbs = leading.climb() + trailing.climb() * radius / trailing_radius;
        Some(Value {
            excess: self.pitch / 2.0 + one + other,
            rate: climbs * leading.spread() / leading.axis_square(),
            seen: Balance {
                leading,
                trailing,
                trailing_radius: trailing_radius + step,
            },
        })
    }

    /// Where the plane formula puts the wire's axis.
    fn plane_axis_radius(&self, half_wire: f64, level: f64) -> f64 {
        level + half_wire * self.reach() - self.pitch / (2.0 * self.slopes())
    }

    /// Puts a seat together, or nothing when it is not a sound one: a contact at the axis, or
    /// a place where a larger thread would not lift the wire.
    fn wire_seat(
        &self,
        contact: [f64; 2],
        axis_radius: f64,
        touches: [&Touch; 2],
    ) -> Option<WireSeat> {
        // dz/dX of both flanks.
        let rate =
            (touches[0].climb() / contact[0] + touches[1].climb() / contact[1]) / axis_radius;
        let slope = self.slopes() / 2.0 / rate;
        let sound = contact.iter().all(|&radius| radius > 1e-6 * axis_radius)
            && touches.iter().all(|touch| touch.spread() > 0.0)
            && slope > 0.0
            && slope.is_finite();
        sound.then_some(WireSeat {
            contact,
            axis_radius,
            slope,
        })
    }
}

/// Both touches of a ball that touches the leading flank at a given radius.
struct Balance {
    leading: Touch,
    trailing: Touch,
    trailing_radius: f64,
}
