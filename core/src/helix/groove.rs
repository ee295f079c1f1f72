//! One wire in one groove: the equations at the head of [`crate::helix`].

use std::f64::consts::{PI, TAU};

use super::root::rising_root;
use super::{HelixError, Seated, checked_diameter};
use crate::plane;
use crate::thread::Geometry;
use crate::units::{Angle, Length};
use crate::wires::Wires;

/// The groove as the equations see it.
pub(super) struct Groove {
    /// Slopes of the leading and the trailing flank.
    slopes: [f64; 2],
    sines: [f64; 2],
    symmetric: bool,
    pitch: f64,
    /// Lead over a full turn: advance for one radian.
    advance: f64,
}

/// What one flank does to a ball that touches it at a given radius.
#[derive(Clone, Copy)]
struct Touch {
    /// Distance of the ball's centre from the axis, and its rate of change with the contact radius.
    axis_radius: f64,
    axis_rate: f64,
    /// The flank's part of the balance, and its rate of change.
    axial: f64,
    axial_rate: f64,
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
    advance: f64,
}

impl WireSeat {
    pub(super) fn seated(
        &self,
        geometry: &Geometry,
        wires: &Wires,
        over_wires_mm: f64,
        pitch_diameter_mm: f64,
    ) -> Seated {
        let over_wires = Length::computed(over_wires_mm);
        let pitch_diameter = Length::computed(pitch_diameter_mm);
        let plane = plane::plane_pitch_diameter(geometry, wires, over_wires);
        Seated {
            over_wires,
            pitch_diameter,
            plane_pitch_diameter: plane,
            lead_angle_correction: plane - pitch_diameter,
            contact_radius: self.contact,
            axis_radius: self.axis_radius,
            tilt: Angle::computed(self.advance.atan2(self.axis_radius)),
        }
    }
}

impl Groove {
    pub(super) fn of(geometry: &Geometry) -> Groove {
        let flanks = [geometry.flanks.leading, geometry.flanks.trailing];
        Groove {
            slopes: flanks.map(Angle::tan),
            sines: flanks.map(Angle::sin),
            symmetric: geometry.flanks.is_symmetric(),
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

    /// The equations of the module head for one flank. `level` is the radius the axial
    /// place is counted from: near the contact it keeps the numbers small.
    fn touch(&self, flank: usize, half_wire: f64, radius: f64, level: f64) -> Touch {
        let slope = self.slopes[flank];
        let stretch = 1.0 + slope * slope;
        let normal_square = radius * radius * stretch + self.advance * self.advance;
        let step = half_wire / normal_square.sqrt();
        let step_rate = -step * radius * stretch / normal_square;

        let (sideways, sideways_rate) = (step * self.advance, step_rate * self.advance);
        let outward = radius * (1.0 + step * slope);
        let outward_rate = 1.0 + slope * (step + radius * step_rate);

        let axis_radius = sideways.hypot(outward);
        let turn = sideways.atan2(outward);
        let turn_rate =
            (sideways_rate * outward - sideways * outward_rate) / (axis_radius * axis_radius);
        Touch {
            axis_radius,
            axis_rate: (sideways * sideways_rate + outward * outward_rate) / axis_radius,
            axial: (radius - level) * slope - step * radius - self.advance * turn,
            axial_rate: slope - step - radius * step_rate - self.advance * turn_rate,
        }
    }

    /// The radius at which a ball whose centre is at `axis_radius` touches this flank.
    /// The contact is never further out than the centre, which brackets it.
    fn contact_radius(&self, flank: usize, half_wire: f64, axis_radius: f64) -> Option<f64> {
        let start = axis_radius - half_wire * self.sines[flank];
        rising_root(0.0, axis_radius, start, |radius| {
            let touch = self.touch(flank, half_wire, radius, 0.0);
            (touch.axis_radius - axis_radius, touch.axis_rate)
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
        let no_seat = || self.no_seat(half_wire);
        let leading = self.contact_radius(0, half_wire, axis_radius);
        let leading = leading.ok_or_else(no_seat)?;
        let trailing = match self.symmetric {
            true => leading,
            false => {
                let trailing = self.contact_radius(1, half_wire, axis_radius);
                trailing.ok_or_else(no_seat)?
            }
        };
        let touches = [
            self.touch(0, half_wire, leading, axis_radius),
            self.touch(1, half_wire, trailing, axis_radius),
        ];
        let axial = self.pitch / 2.0 + touches[0].axial + touches[1].axial;
        let diameter = 2.0 * (axis_radius + axial / (self.slopes[0] + self.slopes[1]));
        let diameter = checked_diameter(diameter).ok_or_else(no_seat)?;
        let seat = self
            .wire_seat([leading, trailing], touches)
            .ok_or_else(no_seat)?;
        Ok((seat, diameter))
    }

    /// The seat on a thread of this pitch diameter: the balance solved for the leading contact.
    pub(super) fn seat_at_diameter(
        &self,
        half_wire: f64,
        diameter: f64,
    ) -> Result<WireSeat, HelixError> {
        let level = diameter / 2.0;
        let slopes = self.slopes[0] + self.slopes[1];
        let no_seat = || self.no_seat(half_wire);
        if !(level > 0.0 && half_wire > 0.0) {
            return Err(no_seat());
        }
        // Beyond this the flanks' rise outweighs everything else in the balance.
        let highest = level + half_wire + (2.0 * half_wire + PI * self.advance) / slopes;
        let start = self.plane_axis_radius(half_wire, level) - half_wire * self.sines[0];
        let leading = rising_root(0.0, highest, start, |radius| {
            match self.touches_from_leading(half_wire, radius, level) {
                Some((_, [one, other])) => (
                    self.pitch / 2.0 + one.axial + other.axial,
                    one.axial_rate + other.axial_rate * one.axis_rate / other.axis_rate,
                ),
                None => (f64::NAN, f64::NAN),
            }
        });
        let leading = leading.ok_or_else(no_seat)?;
        let touches = self.touches_from_leading(half_wire, leading, level);
        let (trailing, touches) = touches.ok_or_else(no_seat)?;
        self.wire_seat([leading, trailing], touches)
            .ok_or_else(no_seat)
    }

    /// Both touches of the ball that touches the leading flank at `radius`.
    fn touches_from_leading(
        &self,
        half_wire: f64,
        radius: f64,
        level: f64,
    ) -> Option<(f64, [Touch; 2])> {
        let leading = self.touch(0, half_wire, radius, level);
        if self.symmetric {
            return Some((radius, [leading, leading]));
        }
        let trailing = self.contact_radius(1, half_wire, leading.axis_radius)?;
        let other = self.touch(1, half_wire, trailing, level);
        Some((trailing, [leading, other]))
    }

    /// Where the plane formula puts the wire's axis.
    fn plane_axis_radius(&self, half_wire: f64, level: f64) -> f64 {
        let [one, other] = self.slopes;
        let reach = ((1.0 + one * one).sqrt() + (1.0 + other * other).sqrt()) / (one + other);
        level + half_wire * reach - self.pitch / (2.0 * (one + other))
    }

    /// Puts a seat together, or nothing when it is not a sound one: a contact at the axis, or
    /// a place where a larger thread would not lift the wire.
    fn wire_seat(&self, contact: [f64; 2], touches: [Touch; 2]) -> Option<WireSeat> {
        let rate: f64 = touches
            .iter()
            .map(|touch| touch.axial_rate / touch.axis_rate)
            .sum();
        let slope = (self.slopes[0] + self.slopes[1]) / 2.0 / rate;
        let axis_radius = touches[0].axis_radius;
        let sound = contact.iter().all(|&radius| radius > 1e-6 * axis_radius)
            && touches.iter().all(|touch| touch.axis_rate > 0.0)
            && slope > 0.0
            && slope.is_finite();
        sound.then_some(WireSeat {
            contact,
            axis_radius,
            slope,
            advance: self.advance,
        })
    }
}
