//! A ball on one flank: the equations at the head of [`crate::helix`], in the form they are
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
//! `dz/dX = c / (r X)`: it rolls on the helicoid through its own centre.

use super::real::Real;
use crate::units::Angle;

/// One flank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Flank {
    /// `tan a`.
    pub(super) slope: f64,
    /// `1 + tan² a`.
    stretch: f64,
    /// Its square root, `1 / cos a`.
    pub(super) secant: f64,
    /// `sin a`.
    pub(super) sine: f64,
}

impl Flank {
    pub(super) fn of(angle: Angle) -> Flank {
        let slope = angle.tan();
        let stretch = 1.0 + slope * slope;
        let secant = stretch.sqrt();
        Flank {
            slope,
            stretch,
            secant,
            sine: slope / secant,
        }
    }
}

/// A ball, or several abreast, touching one flank at a given radius.
#[derive(Clone, Copy)]
pub(super) struct Touch<R> {
    slope: R,
    advance: R,
    half_wire: R,
    /// The square of the contact radius.
    square: R,
    /// `q / W`: the length of the flank's normal.
    normal: R,
    /// W of the module head of [`crate::helix`].
    lean: R,
    /// v of this module's head.
    twist: R,
    /// What the square of the centre's distance from the axis is more than that.
    pub(super) beyond: R,
}

impl<R: Real> Touch<R> {
    /// The touch of a ball of half the wire's diameter, from the square of its contact radius.
    #[inline(always)]
    pub(super) fn of(flank: &Flank, advance: f64, half_wire: f64, square: R) -> Touch<R> {
        let slope = R::of(flank.slope);
        let advance_square = R::of(advance * advance);
        let normal = (square * R::of(flank.stretch) + advance_square).root();
        let over_normal = R::of(1.0) / normal;
        let lean = R::of(half_wire) * over_normal;
        Touch {
            slope,
            advance: R::of(advance),
            half_wire: R::of(half_wire),
            square,
            normal,
            lean,
            twist: advance_square * (over_normal * over_normal),
            beyond: R::of(half_wire * half_wire) + square * lean * (slope + slope - lean),
        }
    }

    /// k of this module's head.
    #[inline(always)]
    pub(super) fn spread(&self) -> R {
        let (lean, twist, one) = (self.lean, self.twist, R::of(1.0));
        one + lean * self.slope * (one + twist) - lean * lean * twist
    }

    /// c of this module's head.
    #[inline(always)]
    pub(super) fn climb(&self) -> R {
        self.slope * self.square * (R::of(1.0) + self.lean * self.slope)
            + self.lean * self.advance * self.advance
    }

    /// The flank's part of the balance. `level` is the radius the axial place is counted from:
    /// near the contact it keeps the numbers small.
    #[inline(always)]
    pub(super) fn axial(&self, radius: R, level: R) -> R {
        // A / B, both times q / W: that much is known before W is.
        let outward = radius * (self.normal + self.half_wire * self.slope);
        let turn = (self.half_wire * self.advance / outward).arc_tangent();
        ((radius - level) * self.slope - self.lean * radius) - self.advance * turn
    }

    /// How fast the flank's part of the balance grows with the contact radius.
    #[inline(always)]
    pub(super) fn axial_rate(&self) -> R {
        self.climb() * self.spread() / self.axis_square()
    }

    /// The square of the centre's distance from the axis.
    #[inline(always)]
    pub(super) fn axis_square(&self) -> R {
        self.square + self.beyond
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// X and z by their definitions at the head of [`crate::helix`].
    fn by_definition(flank: &Flank, advance: f64, half_wire: f64, radius: f64) -> (f64, f64) {
        let slope = flank.slope;
        let normal = (radius * radius * (1.0 + slope * slope) + advance * advance).sqrt();
        let lean = half_wire / normal;
        let (sideways, outward) = (lean * advance, radius * (1.0 + lean * slope));
        let turn = sideways.atan2(outward);
        (
            sideways.hypot(outward),
            radius * slope - lean * radius - advance * turn,
        )
    }

    /// The short forms at the head of this module, against the definitions and their differences.
    #[test]
    fn the_short_forms_are_the_definitions() {
        for (flank_deg, advance, half_wire, radius) in [
            (30.0, 0.24, 0.43, 4.4),
            (15.0, 6.7, 1.8, 14.0),
            (7.0, 0.95, 0.8, 9.0),
            (45.0, 0.95, 0.8, 9.0),
            (0.0, 0.48, 0.8, 9.0),
        ] {
            let flank = Flank::of(Angle::from_degrees(flank_deg).expect("an angle"));
            let at = |radius| by_definition(&flank, advance, half_wire, radius);
            let (axis_radius, axial) = at(radius);
            let touch = Touch::of(&flank, advance, half_wire, radius * radius);
            let close = |found: f64, expected: f64, within: f64| {
                assert!((found - expected).abs() < within, "{found}, {expected}");
            };
            close(touch.axis_square().sqrt(), axis_radius, 1e-14);
            close(touch.axial(radius, 0.0), axial, 1e-14);

            let step = 1e-4;
            let (below, above) = (at(radius - step), at(radius + step));
            let square_rate = (above.0.powi(2) - below.0.powi(2)) / (2.0 * step);
            close(touch.spread(), square_rate / (2.0 * radius), 1e-8);
            close(touch.axial_rate(), (above.1 - below.1) / (2.0 * step), 1e-8);
        }
    }
}
