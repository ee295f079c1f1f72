//! The axial profile in millimetres: flanks, flats, and where a wire lies between the flanks.
//!
//! Lengths along the axis (`axial`) run to the right, toward the free end of the thread, so
//! the leading flank of every ridge faces right and bounds the groove beside it on the left.
//! A groove is placed by the middle of its opening on the pitch cylinder, where groove and
//! ridge are each half a pitch wide: that is what makes it the pitch cylinder.

use super::Scene;

/// What one straight piece of the outline is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Edge {
    Flank,
    Crest,
    Root,
}

/// A place in the axial plane, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    pub(super) axial: f64,
    pub(super) radius: f64,
}

/// One straight piece of the outline.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    pub(super) from: Place,
    pub(super) to: Place,
    pub(super) edge: Edge,
}

/// Where a wire comes nearest to one flank.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contact {
    pub(super) place: Place,
    /// The crest end of that flank.
    pub(super) crest_end: Place,
    /// Whether the flank has metal there, between root and crest.
    pub(super) on_flank: bool,
    /// What is left between wire and flank in this section.
    pub(super) clearance: f64,
}

/// One wire, cut across.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wire {
    pub(super) centre: Place,
    pub(super) radius: f64,
    pub(super) contacts: [Contact; 2],
}

/// The profile of one thread.
#[derive(Clone, Copy, Debug)]
pub(super) struct Profile {
    pub(super) pitch: f64,
    leading: f64,
    trailing: f64,
    pub(super) pitch_radius: f64,
    pub(super) crest_radius: f64,
    pub(super) root_radius: f64,
    /// False when no root diameter was given and a plausible one is drawn.
    pub(super) root_known: bool,
    /// Axial place of a groove on the pair side, and on the single side: half a lead further.
    phase: [f64; 2],
}

/// The side of the thread that carries the pair of wires, or the single one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Side {
    Pair,
    Single,
}

impl Profile {
    /// The profile of a scene, or `None` when its numbers leave no metal between root and crest.
    pub(super) fn of(scene: &Scene) -> Option<Profile> {
        let leading = scene.leading_flank_deg.to_radians();
        let trailing = scene.trailing_flank_deg.to_radians();
        let pitch_radius = scene.pitch_diameter / 2.0;
        let half_height = scene.pitch / (leading.tan() + trailing.tan()) / 2.0;
        let crest_radius = (scene.major_diameter / 2.0).min(pitch_radius + half_height);
        let half_lead = scene.pitch * f64::from(scene.starts) / 2.0;
        let mut profile = Profile {
            pitch: scene.pitch,
            leading,
            trailing,
            pitch_radius,
            crest_radius,
            root_radius: 0.0,
            root_known: false,
            phase: [scene.pitch / 2.0, scene.pitch / 2.0 + half_lead],
        };
        let floor = (pitch_radius - half_height).max(0.0);
        let given = scene.root_diameter.map(|root| root / 2.0);
        let given = given.filter(|root| *root > 0.0 && *root < crest_radius);
        profile.root_known = given.is_some();
        profile.root_radius = match given {
            Some(root) => root.max(floor),
            None => profile.plausible_root(scene, half_height).max(floor),
        };
        (profile.root_radius < crest_radius).then_some(profile)
    }

    /// As deep below the pitch line as the crest stands above it, with a little clearance;
    /// never so deep that hardly a flat is left, and clear of the wires.
    fn plausible_root(&self, scene: &Scene, half_height: f64) -> f64 {
        let above = (self.crest_radius - self.pitch_radius).max(0.0);
        let depth = (1.1 * above).clamp(0.2 * half_height, 0.6 * half_height);
        let [single, first, second] = scene.wires;
        let [single_side, pair_side] = scene.wire_axis_radius;
        let lowest = (single_side - single / 2.0).min(pair_side - first.max(second) / 2.0);
        (self.pitch_radius - depth)
            .min(lowest - 0.05 * self.pitch)
            .max(self.pitch_radius - 0.96 * half_height)
    }

    /// The first groove right of the middle on a side.
    fn phase(&self, side: Side) -> f64 {
        match side {
            Side::Pair => self.phase[0],
            Side::Single => self.phase[1],
        }
    }

    /// Middles of the grooves between two axial places, with their running number: grooves of
    /// one number on the two sides are half a turn apart on one helix.
    pub(super) fn grooves(&self, side: Side, from: f64, to: f64) -> Vec<(i64, f64)> {
        let phase = self.phase(side);
        let first = ((from - phase) / self.pitch).ceil() as i64;
        let last = ((to - phase) / self.pitch).floor() as i64;
        (first..=last)
            .map(|number| (number, phase + number as f64 * self.pitch))
            .collect()
    }

    /// The groove of a side nearest the middle of the picture; the left one of two.
    pub(super) fn middle_groove(&self, side: Side) -> f64 {
        let grooves = self.grooves(side, -0.75 * self.pitch, 0.75 * self.pitch);
        grooves
            .iter()
            .map(|(_, middle)| *middle)
            .min_by(|one, other| (one.abs() + 1e-9 * one).total_cmp(&(other.abs() + 1e-9 * other)))
            .unwrap_or(0.0)
    }

    /// Axial places of the two flanks of a groove at one radius: left (leading), right.
    fn flanks_at(&self, groove: f64, radius: f64) -> [f64; 2] {
        let above = radius - self.pitch_radius;
        let quarter = self.pitch / 4.0;
        [
            groove - quarter - above * self.leading.tan(),
            groove + quarter + above * self.trailing.tan(),
        ]
    }

    /// The outline of one side between two axial places, from left to right.
    pub(super) fn outline(&self, side: Side, from: f64, to: f64) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let grooves = self.grooves(side, from - self.pitch, to + self.pitch);
        for (_, groove) in grooves {
            let crest = self.flanks_at(groove, self.crest_radius);
            let root = self.flanks_at(groove, self.root_radius);
            let next = self.flanks_at(groove + self.pitch, self.crest_radius);
            let corners = [
                (crest[0], self.crest_radius, Edge::Flank),
                (root[0], self.root_radius, Edge::Root),
                (root[1], self.root_radius, Edge::Flank),
                (crest[1], self.crest_radius, Edge::Crest),
                (next[0], self.crest_radius, Edge::Crest),
            ];
            for pair in corners.windows(2) {
                pieces.extend(clipped(pair[0], pair[1], from, to));
            }
        }
        pieces
    }

    /// A wire of the given radius in a groove, its axis at the given distance from the thread
    /// axis, equally near both flanks.
    pub(super) fn wire(&self, groove: f64, axis_radius: f64, radius: f64) -> Wire {
        let above = axis_radius - self.pitch_radius;
        let quarter = self.pitch / 4.0;
        let (leading, trailing) = (self.leading, self.trailing);
        let aside = (quarter * (trailing.cos() - leading.cos())
            + above * (trailing.sin() - leading.sin()))
            / (leading.cos() + trailing.cos());
        let centre = Place {
            axial: groove + aside,
            radius: axis_radius,
        };
        let distance = (aside + quarter + above * leading.tan()) * leading.cos();
        let contact = |toward: f64, flank: f64, crest_axial: f64| {
            let place = Place {
                axial: centre.axial + toward * distance * flank.cos(),
                radius: axis_radius - distance * flank.sin(),
            };
            Contact {
                place,
                crest_end: Place {
                    axial: crest_axial,
                    radius: self.crest_radius,
                },
                on_flank: place.radius <= self.crest_radius && place.radius >= self.root_radius,
                clearance: distance - radius,
            }
        };
        let crest = self.flanks_at(groove, self.crest_radius);
        Wire {
            centre,
            radius,
            contacts: [
                contact(-1.0, leading, crest[0]),
                contact(1.0, trailing, crest[1]),
            ],
        }
    }

    /// How much further out a wire's axis lies for each millimetre of its radius.
    fn lift(&self) -> f64 {
        (1.0 / self.leading.cos() + 1.0 / self.trailing.cos())
            / (self.leading.tan() + self.trailing.tan())
    }

    /// The three wires of a scene: the single one, then the pair from left to right. The axis
    /// radius of the pair side is that of their mean; each wire lies by its own size.
    pub(super) fn wires(&self, scene: &Scene) -> [Wire; 3] {
        let [single, first, second] = scene.wires.map(|diameter| diameter / 2.0);
        let [single_side, pair_side] = scene.wire_axis_radius;
        let apart = (first - second) / 2.0 * self.lift();
        [
            self.wire(self.middle_groove(Side::Single), single_side, single),
            self.wire(-self.pitch / 2.0, pair_side + apart, first),
            self.wire(self.pitch / 2.0, pair_side - apart, second),
        ]
    }
}

/// The part of a straight piece that lies between two axial places.
fn clipped(start: (f64, f64, Edge), end: (f64, f64, Edge), from: f64, to: f64) -> Option<Piece> {
    let (left, right) = (start.0.max(from), end.0.min(to));
    if left > right || end.0 < from || start.0 > to {
        return None;
    }
    let span = end.0 - start.0;
    let radius_at = |axial: f64, whole: f64| {
        if span <= f64::EPSILON {
            whole
        } else {
            start.1 + (end.1 - start.1) * (axial - start.0) / span
        }
    };
    Some(Piece {
        from: Place {
            axial: left,
            radius: radius_at(left, start.1),
        },
        to: Place {
            axial: right,
            radius: radius_at(right, end.1),
        },
        edge: start.2,
    })
}
