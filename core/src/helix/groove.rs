//! One wire in one groove: the balance at the head of [`crate::helix`] solved either way.
//!
//! Both searches are all but straight lines in their unknown (the square of the contact radius for
//! a known X, the contact radius for a known d2), so that two or three steps of Newton's rule are
//! enough, and the last one is taken along the line. With two flanks of their own, each place on
//! the leading one is paired with the place on the trailing one that puts the ball equally far out.

use std::f64::consts::{PI, TAU};

use super::real::Real;
use super::root::{Root, Value, rising_root};
use super::touch::{Flank, Touch};
use super::{HelixError, Seated, checked_diameter};
use crate::thread::Geometry;
use crate::units::{Angle, Length};
use crate::wires::Wires;

/// The groove as the equations see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Groove {
    /// The leading and the trailing flank.
    pub(super) flanks: [Flank; 2],
    pub(super) symmetric: bool,
    /// One over the sum of both slopes.
    pub(super) over_slopes: f64,
    /// How far out of the corner of a plane groove a ball of radius 1 rests: `1 / sin a` for equal
    /// flanks.
    reach: f64,
    pub(super) pitch: f64,
    /// Lead over a full turn: advance for one radian.
    pub(super) advance: f64,
}

/// One wire at rest.
#[derive(Clone, Copy)]
pub(crate) struct WireSeat {
    /// Radius of the contact on the leading and the trailing flank.
    pub(crate) contact: [f64; 2],
    /// Distance of the wire's axis from the thread's axis.
    pub(crate) axis_radius: f64,
    /// c of the head of [`super::touch`], on the leading and the trailing flank.
    pub(super) climb: [f64; 2],
}

impl Groove {
    pub(super) fn of(geometry: &Geometry) -> Groove {
        let symmetric = geometry.flanks.is_symmetric();
        let leading = Flank::of(geometry.flanks.leading);
        let trailing = match symmetric {
            true => leading,
            false => Flank::of(geometry.flanks.trailing),
        };
        let over_slopes = 1.0 / (leading.slope + trailing.slope);
        Groove {
            flanks: [leading, trailing],
            symmetric,
            over_slopes,
            reach: (leading.secant + trailing.secant) * over_slopes,
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
    #[inline(always)]
    pub(super) fn seated(
        &self,
        seat: &WireSeat,
        plane_constant: f64,
        over_wires_mm: f64,
        pitch_diameter_mm: f64,
    ) -> Seated {
        let over_wires = Length::computed(over_wires_mm);
        let pitch_diameter = Length::computed(pitch_diameter_mm);
        let plane = Length::computed(over_wires_mm - plane_constant);
        Seated {
            over_wires,
            pitch_diameter,
            plane_pitch_diameter: plane,
            lead_angle_correction: plane - pitch_diameter,
            contact_radius: seat.contact,
            axis_radius: seat.axis_radius,
            tilt: Angle::computed((self.advance / seat.axis_radius).arc_tangent()),
        }
    }

    /// [`crate::plane::constant`] from the slopes at hand:
    /// `cos((a1 - a2)/2) / sin((a1 + a2)/2)` is the reach above.
    pub(super) fn plane_constant(&self, wires: &Wires) -> f64 {
        wires.seated_mean().mm() * (1.0 + self.reach) - self.pitch * self.over_slopes
    }

    /// A ball on one flank, from the square of its contact radius.
    fn touch(&self, flank: usize, half_wire: f64, square: f64) -> Touch<f64> {
        Touch::of(&self.flanks[flank], self.advance, half_wire, square)
    }

    /// The touch of a ball whose centre is this far out; the unknown is the square of the contact
    /// radius. The contact is never further out than the centre, which brackets it.
    #[inline(always)]
    fn contact(&self, flank: usize, half_wire: f64, axis_radius: f64) -> Option<Root<Touch<f64>>> {
        let axis_square = axis_radius * axis_radius;
        let start = axis_radius - half_wire * self.flanks[flank].sine;
        rising_root(0.0, axis_square, start * start, |square| {
            let touch = self.touch(flank, half_wire, square);
            Some(Value {
                // In this order the two large squares cancel without loss.
                excess: (square - axis_square) + touch.beyond,
                over_rate: 1.0 / touch.spread(),
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

    #[inline(always)]
    fn solved_at_axis(&self, half_wire: f64, axis_radius: f64) -> Option<(WireSeat, f64)> {
        let leading = self.rest(0, half_wire, axis_radius)?;
        let trailing = match self.symmetric {
            true => leading,
            false => self.rest(1, half_wire, axis_radius)?,
        };
        let axial = self.pitch / 2.0 + leading.axial + trailing.axial;
        let diameter = checked_diameter(2.0 * (axis_radius + axial * self.over_slopes))?;
        let seat = sound(WireSeat {
            contact: [leading.contact, trailing.contact],
            axis_radius,
            climb: [leading.climb, trailing.climb],
        })?;
        Some((seat, diameter))
    }

    /// One flank's side of the seat of a ball whose centre is this far out, counted from there.
    #[inline(always)]
    fn rest(&self, flank: usize, half_wire: f64, axis_radius: f64) -> Option<Rest> {
        let Root {
            unknown,
            step,
            seen,
        } = self.contact(flank, half_wire, axis_radius)?;
        let last = unknown.sqrt();
        let step = step / (2.0 * last);
        let spread = seen.spread();
        (spread > 0.0).then(|| Rest {
            contact: last + step,
            spread,
            axial: seen.axial(last, axis_radius) + seen.axial_rate() * step,
            climb: seen.climb(),
        })
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

    #[inline(always)]
    fn solved_at_diameter(&self, half_wire: f64, level: f64) -> Option<WireSeat> {
        // Beyond this the flanks' rise outweighs everything else in the balance.
        let highest = level + half_wire + (2.0 * half_wire + PI * self.advance) * self.over_slopes;
        let start = self.plane_axis_radius(half_wire, level) - half_wire * self.flanks[0].sine;
        match self.symmetric {
            true => self.solved_alike(half_wire, level, [start, highest]),
            false => self.solved_apart(half_wire, level, [start, highest]),
        }
    }

    /// Both flanks alike: half of the balance is enough.
    #[inline(always)]
    fn solved_alike(
        &self,
        half_wire: f64,
        level: f64,
        [start, highest]: [f64; 2],
    ) -> Option<WireSeat> {
        let root = rising_root(0.0, highest, start, |radius| {
            let touch = self.touch(0, half_wire, radius * radius);
            Some(Value {
                excess: self.pitch / 4.0 + touch.axial(radius, level),
                over_rate: touch.axis_square() / (touch.climb() * touch.spread()),
                seen: touch,
            })
        })?;
        let last = root.seen.axis_square().sqrt();
        let spread = root.seen.spread();
        let contact = root.unknown + root.step;
        let climb = root.seen.climb();
        sound(WireSeat {
            contact: [contact, contact],
            axis_radius: last + root.unknown * spread / last * root.step,
            climb: [climb, climb],
        })
        .filter(|_| spread > 0.0)
    }

    /// Two flanks of their own: for each place on the leading one the place on the trailing one
    /// is found that puts the ball equally far out.
    fn solved_apart(
        &self,
        half_wire: f64,
        level: f64,
        [start, highest]: [f64; 2],
    ) -> Option<WireSeat> {
        let root = rising_root(0.0, highest, start, |radius| {
            let leading = self.touch(0, half_wire, radius * radius);
            let axis_radius = leading.axis_square().sqrt();
            let trailing = self.rest(1, half_wire, axis_radius)?;
            let axial = leading.axial(radius, level) + (axis_radius - level) * self.flanks[1].slope;
            // dz/dr of both, the trailing one by way of the common centre.
            let climbs = leading.climb() + trailing.climb * radius / trailing.contact;
            Some(Value {
                excess: self.pitch / 2.0 + axial + trailing.axial,
                over_rate: leading.axis_square() / (climbs * leading.spread()),
                seen: (leading, axis_radius, trailing),
            })
        })?;
        let (leading, last, trailing) = root.seen;
        let spread = leading.spread();
        // The axis, and with it the trailing contact, follows the leading one's last step.
        let axis_step = root.unknown * spread / last * root.step;
        let trailing_step = axis_step * last / (trailing.contact * trailing.spread);
        sound(WireSeat {
            contact: [root.unknown + root.step, trailing.contact + trailing_step],
            axis_radius: last + axis_step,
            climb: [leading.climb(), trailing.climb],
        })
        .filter(|_| spread > 0.0)
    }

    /// Where the plane formula puts the wire's axis.
    pub(super) fn plane_axis_radius(&self, half_wire: f64, level: f64) -> f64 {
        level + half_wire * self.reach - self.pitch / 2.0 * self.over_slopes
    }

    /// How much the wire's axis moves out for one unit of pitch diameter.
    pub(super) fn lift(&self, seat: &WireSeat) -> f64 {
        let rate = seat.climb[0] / seat.contact[0] + seat.climb[1] / seat.contact[1];
        seat.axis_radius / (2.0 * rate * self.over_slopes)
    }
}

/// One flank's side of a seat.
#[derive(Clone, Copy)]
struct Rest {
    /// Radius of the contact.
    contact: f64,
    /// k of the head of [`super::touch`].
    spread: f64,
    /// The flank's part of the balance, counted from the centre's radius.
    axial: f64,
    /// c of the head of [`super::touch`].
    climb: f64,
}

/// A seat, or nothing when it is not a sound one: a contact at the axis, or a place where a
/// larger thread would not lift the wire.
#[inline(always)]
pub(super) fn sound(seat: WireSeat) -> Option<WireSeat> {
    let [one, other] = seat.contact;
    // The sign of the rate in `Groove::lift`, without its divisions.
    let lifts = seat.climb[0] * other + seat.climb[1] * one;
    let nearest = 1e-6 * seat.axis_radius;
    (one > nearest && other > nearest && lifts > 0.0 && lifts.is_finite()).then_some(seat)
}
