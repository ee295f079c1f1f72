//! The lines that run rules compare a point with.

/// The centre line and the lines one, two and three sigma from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zones {
    /// The centre line.
    pub(super) centre: f64,
    /// One, two, three sigma below.
    pub(super) lower: [f64; 3],
    /// One, two, three sigma above.
    pub(super) upper: [f64; 3],
}

impl Zones {
    /// Lines about a centre, `sigma` apart. A sigma below zero counts as zero: then every point
    /// off the centre line is beyond.
    pub fn about(centre: f64, sigma: f64) -> Zones {
        let steps = [1.0, 2.0, 3.0].map(|step| step * sigma.max(0.0));
        Zones {
            centre,
            lower: steps.map(|step| centre - step),
            upper: steps.map(|step| centre + step),
        }
    }

    /// For points that are already counted in sigma from the centre line, as on a chart whose
    /// limits differ from point to point.
    pub fn standard() -> Zones {
        Zones::about(0.0, 1.0)
    }

    /// From control limits that need not be symmetric: the lines between lie at thirds. Where a limit is
    /// missing nothing is beyond any line on that side.
    pub fn between(centre: f64, lower: Option<f64>, upper: Option<f64>) -> Zones {
        let thirds = |limit: Option<f64>, nowhere: f64| match limit {
            Some(limit) => [1.0, 2.0, 3.0].map(|third| centre + (limit - centre) * third / 3.0),
            None => [nowhere; 3],
        };
        Zones {
            centre,
            lower: thirds(lower, f64::NEG_INFINITY),
            upper: thirds(upper, f64::INFINITY),
        }
    }

    /// How far a point lies from the centre line, counted in steps between the lines of its side.
    pub(super) fn steps_out(&self, point: f64) -> f64 {
        let side = match point < self.centre {
            true => self.lower,
            false => self.upper,
        };
        let [step, ..] = side.map(|line| (line - self.centre).abs());
        (point - self.centre).abs() / step
    }
}
