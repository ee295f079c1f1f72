//! The curvature of a wire resting on a helical flank, and the share of the force each flank takes.
//!
//! The flank `S(r, θ) = (r cos θ, r sin θ, h θ + r t)` has the normal `(t, h/r, -1)` out of the
//! metal, so with `D = sqrt(r² (1 + t²) + h²)` its second derivatives along that normal are
//! `0` (r r), `h/D` (r θ) and `-t r²/D` (θ θ). A tangent vector v has the parts `a = v_x` along
//! r and `b = v_y / r` along θ, and the flank falls away from the wire along v and w by
//! `b_v b_w t r²/D - (a_v b_w + a_w b_v) h/D`.
//! The wire falls away by `1/q` across its own direction. The sum of both is the relative
//! curvature; its two principal values go into Hertz's equations.
//! Without a lead the flank's part is `sin a / r` along the groove, that of a cone.
//!
//! The forces: both flank normals meet the wire's axis square to it, so in the plane across the
//! wire two normal forces and the anvil's push must balance.

use crate::helix::WireSeat;
use crate::thread::Geometry;
use crate::units::Angle;

/// One flank's contact with the wire.
#[derive(Debug, Clone, Copy)]
pub(super) struct FlankContact {
    /// Principal relative curvatures in 1/mm, the smaller first.
    pub(super) curvatures: (f64, f64),
    /// Normal force for one unit of the anvil's push on this wire.
    pub(super) share: f64,
}

/// Both contacts of a seated wire.
pub(super) fn contacts(geometry: &Geometry, half_wire: f64, seat: &WireSeat) -> [FlankContact; 2] {
    let advance = geometry.lead().mm() / std::f64::consts::TAU;
    let flanks = [geometry.flanks.leading, geometry.flanks.trailing];
    let [one, other] = [0, 1]
        .map(|flank: usize| Placed::new(flanks[flank], advance, half_wire, seat.contact[flank]));
    let turn = one.across * other.lift + other.across * one.lift;
    let contact = |placed: &Placed, partner: &Placed| FlankContact {
        curvatures: placed.relative_curvatures(half_wire),
        share: partner.across / turn,
    };
    [contact(&one, &other), contact(&other, &one)]
}

/// A contact in its own frame: radial, circumferential, axial.
struct Placed {
    slope: f64,
    advance: f64,
    radius: f64,
    /// `D` of the module head.
    stretch: f64,
    /// The wire's direction.
    along: [f64; 3],
    /// Unit normal out of the metal.
    normal: [f64; 3],
    /// The normal's part against the anvil's push, and square to it across the wire.
    lift: f64,
    across: f64,
}

impl Placed {
    fn new(flank: Angle, advance: f64, half_wire: f64, radius: f64) -> Placed {
        let slope = flank.tan();
        let stretch = (radius * radius * (1.0 + slope * slope) + advance * advance).sqrt();
        let step = half_wire / stretch;
        let (outward, sideways) = (radius * (1.0 + step * slope), step * advance);
        let axis_radius = outward.hypot(sideways);
        let length = axis_radius.hypot(advance);
        let along = [-sideways, outward, advance].map(|part| part / length);
        let normal = [slope, advance / radius, -1.0].map(|part| part * radius / stretch);
        let lift = (normal[0] * outward + normal[1] * sideways) / axis_radius;
        Placed {
            slope,
            advance,
            radius,
            stretch,
            along,
            normal,
            lift,
            across: (1.0 - lift * lift).max(0.0).sqrt(),
        }
    }

    /// How the flank falls away from the wire along two tangent directions.
    fn falls_away(&self, one: &[f64; 3], other: &[f64; 3]) -> f64 {
        let radius = self.radius;
        let mixed = (one[0] * other[1] + other[0] * one[1]) / radius;
        let round = one[1] * other[1];
        (round * self.slope - mixed * self.advance) / self.stretch
    }

    fn relative_curvatures(&self, half_wire: f64) -> (f64, f64) {
        let across = cross(&self.normal, &self.along);
        let along_along = self.falls_away(&self.along, &self.along);
        let along_across = self.falls_away(&self.along, &across);
        let across_across = self.falls_away(&across, &across) + 1.0 / half_wire;
        let sum = along_along + across_across;
        let larger = sum / 2.0 + ((across_across - along_along) / 2.0).hypot(along_across);
        let product = along_along * across_across - along_across * along_across;
        (product / larger, larger)
    }
}

fn cross(one: &[f64; 3], other: &[f64; 3]) -> [f64; 3] {
    [
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    ]
}

#[cfg(test)]
mod tests {
    use super::contacts;
    use crate::helix::wire_seat;
    use crate::thread::Geometry;
    use crate::thread::designation;

    /// With next to no lead: `sin a / r` along the wire, `1/q` across, force `1/(2 sin a)`.
    #[test]
    fn a_cone_when_there_is_no_lead() {
        let mut geometry = designation::parse("M10x1.5-6g").expect("a thread").geometry;
        geometry.pitch = crate::units::Pitch::from_length(crate::units::Length::computed(1e-4))
            .expect("a pitch");
        let seat = wire_seat(&geometry, 0.01, 9.0).expect("a seat");
        let [one, other] = contacts(&geometry, 0.005, &seat);
        assert!((one.curvatures.0 * seat.contact[0] - 0.5).abs() < 1e-6);
        assert!((one.curvatures.1 / 200.0 - 1.0).abs() < 1e-6);
        assert!((one.share - 1.0).abs() < 1e-9 && (other.share - 1.0).abs() < 1e-9);
    }

    /// The flank's normal is square to the wire: what the seat's derivation rests on.
    #[test]
    fn normals_are_square_to_the_wire() {
        let thread = designation::parse("M3x0.5-6g").expect("a thread");
        let seat = wire_seat(&thread.geometry, 0.29, 2.6).expect("a seat");
        let advance = thread.geometry.lead().mm() / std::f64::consts::TAU;
        let flank = thread.geometry.flanks.leading;
        let placed = super::Placed::new(flank, advance, 0.145, seat.contact[0]);
        let product: f64 = (0..3)
            .map(|part| placed.normal[part] * placed.along[part])
            .sum();
        assert!(product.abs() < 1e-15, "{product:e}");
    }

    /// The gap between flank and wire along z, as two surfaces over the plane x y.
    fn gap(
        geometry: &Geometry,
        diameter: f64,
        half_wire: f64,
        axis_radius: f64,
        at: (f64, f64),
    ) -> f64 {
        let advance = geometry.lead().mm() / std::f64::consts::TAU;
        let (x, y) = at;
        let flank =
            advance * y.atan2(x) + (x.hypot(y) - diameter / 2.0) * geometry.flanks.leading.tan();
        let tilt = advance / axis_radius;
        let back = (half_wire * half_wire - (x - axis_radius).powi(2)).sqrt();
        flank - y * tilt - back * tilt.hypot(1.0)
    }

    /// The curvatures by differences of that gap, turned from the plane x y into the tangent plane.
    #[test]
    fn curvatures_agree_with_the_gap_between_the_surfaces() {
        for (designation, starts, wire, diameter) in [
            ("M10x1.5-6g", 1, 0.9, 9.026),
            ("M10x1.5-6g", 6, 0.84, 9.026),
            ("M3x0.5-6g", 3, 0.27, 2.675),
        ] {
            let mut geometry = designation::parse(designation).expect("a thread").geometry;
            geometry.starts = starts;
            let seat = wire_seat(&geometry, wire, diameter).expect("a seat");
            let half_wire = wire / 2.0;
            let [found, _] = contacts(&geometry, half_wire, &seat);
            let advance = geometry.lead().mm() / std::f64::consts::TAU;
            let slope = geometry.flanks.leading.tan();
            let radius = seat.contact[0];
            let stretch = (radius * radius * (1.0 + slope * slope) + advance * advance).sqrt();
            let turn = -(half_wire / stretch * advance / seat.axis_radius).asin();
            let (x, y) = (radius * turn.cos(), radius * turn.sin());
            let step = 2e-3 * half_wire;
            let at = |i: f64, j: f64| {
                let place = (x + i * step, y + j * step);
                gap(&geometry, diameter, half_wire, seat.axis_radius, place)
            };
            let square = step * step;
            let xx = (at(1.0, 0.0) - 2.0 * at(0.0, 0.0) + at(-1.0, 0.0)) / square;
            let yy = (at(0.0, 1.0) - 2.0 * at(0.0, 0.0) + at(0.0, -1.0)) / square;
            let xy =
                (at(1.0, 1.0) - at(1.0, -1.0) - at(-1.0, 1.0) + at(-1.0, -1.0)) / (4.0 * square);
            assert!(
                ((at(1.0, 0.0) - at(-1.0, 0.0)) / step).abs() < 1e-3,
                "the surfaces touch"
            );
            // The tangent plane's slopes, its metric, and the share of z along the normal.
            let (p, q) = (
                slope * turn.cos() - advance * turn.sin() / radius,
                slope * turn.sin() + advance * turn.cos() / radius,
            );
            let upright = 1.0 / (1.0 + p * p + q * q).sqrt();
            let area = 1.0 + p * p + q * q;
            let product = (xx * yy - xy * xy) * upright * upright / area;
            let sum = (xx * (1.0 + q * q) + yy * (1.0 + p * p) - 2.0 * xy * p * q) * upright / area;
            let (smaller, larger) = found.curvatures;
            assert!(
                (smaller * larger / product - 1.0).abs() < 1e-4,
                "{designation} {starts}: {product}"
            );
            assert!(
                ((smaller + larger) / sum - 1.0).abs() < 1e-4,
                "{designation} {starts}: {sum}"
            );
        }
    }
}
