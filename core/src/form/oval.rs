//! The oval in the diameters round the axis.

use crate::stats::constants::d2;
use crate::stats::{Moments, Readings, Undefined};
use crate::units::{Length, Unit};

/// Two lobes fitted by least squares: `d = mean + a cos 2t + c sin 2t`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oval {
    /// The mean diameter of the fit.
    pub mean: Length,
    /// Largest minus smallest diameter of the fit, `2 √(a² + c²)`.
    pub ovality: Length,
    /// The angle of its largest diameter, in degrees below 180.
    pub largest_at_deg: f64,
    /// How far the diameters stray from it: a standard deviation, by the number of angles less three.
    pub straying: Result<Length, Undefined>,
    /// How many angles stand behind it.
    pub angles: usize,
}

impl Oval {
    /// The oval through diameters at angles in degrees.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] with fewer than three, [`Undefined::NoSpread`] when they stand at fewer than
    /// three different angles below 180 degrees.
    ///
    /// ```
    /// use overwire_core::form::Oval;
    /// use overwire_core::units::Length;
    /// let at = |degrees, mm| Ok::<_, Box<dyn std::error::Error>>((degrees, Length::from_mm(mm)?));
    /// let oval = Oval::through(&[at(0.0, 12.010)?, at(60.0, 12.004)?, at(120.0, 12.007)?])?;
    /// assert!((oval.ovality.mm() - 0.006_928).abs() < 1e-6);
    /// assert!((oval.largest_at_deg - 165.0).abs() < 1e-6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn through(diameters: &[(f64, Length)]) -> Result<Oval, Undefined> {
        Undefined::unless_enough("angles", 3, diameters.len())?;
        let doubled = |degrees: f64| (2.0 * degrees).to_radians();
        let cosines = Centred::of(diameters, |angle, _| doubled(angle).cos())?;
        let sines = Centred::of(diameters, |angle, _| doubled(angle).sin())?;
        let sizes = Centred::of(diameters, |_, diameter| diameter.mm())?;
        let (cc, ss, cs) = (cosines.by(&cosines), sines.by(&sines), cosines.by(&sines));
        let determinant = cc * ss - cs * cs;
        // Two angles, or one and its opposite, leave the fit open.
        if determinant <= 1e-9 * (diameters.len() as f64).powi(2) {
            return Err(Undefined::NoSpread);
        }
        let (cd, sd) = (cosines.by(&sizes), sines.by(&sizes));
        let a = (cd * ss - sd * cs) / determinant;
        let c = (sd * cc - cd * cs) / determinant;
        let residual = |index: usize| {
            let fitted = a * cosines.at(index) + c * sines.at(index);
            (sizes.at(index) - fitted).powi(2)
        };
        let squares: f64 = (0..diameters.len()).map(residual).sum();
        let left = diameters.len() - 3;
        let straying = Undefined::unless_enough("angles", 4, diameters.len())
            .map(|()| Length::computed((squares / left as f64).sqrt()));
        Ok(Oval {
            mean: Length::computed(sizes.mean - a * cosines.mean - c * sines.mean),
            ovality: Length::computed(2.0 * a.hypot(c)),
            largest_at_deg: (c.atan2(a) / 2.0).to_degrees().rem_euclid(180.0),
            straying,
            angles: diameters.len(),
        })
    }

    /// One sentence for a person.
    pub fn sentence(&self, unit: Unit, places: u8) -> String {
        format!(
            "The oval through {} angles is {} out of round, largest at {:.0} degrees.",
            self.angles,
            self.ovality.to_text(unit, places),
            self.largest_at_deg
        )
    }
}

/// Numbers as differences from their mean.
struct Centred {
    mean: f64,
    differences: Vec<f64>,
}

impl Centred {
    fn of(
        diameters: &[(f64, Length)],
        number: impl Fn(f64, Length) -> f64,
    ) -> Result<Centred, Undefined> {
        let numbers = diameters
            .iter()
            .map(|&(angle, diameter)| number(angle, diameter));
        let numbers: Vec<f64> = numbers.collect();
        let mean = Moments::of(&Readings::of_numbers(&numbers)?)?.mean;
        Ok(Centred {
            mean,
            differences: numbers.iter().map(|number| number - mean).collect(),
        })
    }

    fn by(&self, other: &Centred) -> f64 {
        let pairs = self.differences.iter().zip(&other.differences);
        pairs.map(|(one, other)| one * other).sum()
    }

    fn at(&self, index: usize) -> f64 {
        self.differences.get(index).copied().unwrap_or(0.0)
    }
}

/// The range that so many places show by chance when there is no error of form: each is the mean of so many
/// repeat readings with a known repeatability. A range below it is not distinguishable from none.
///
/// The expected range of means, `d2(places) s/√repeats`.
///
/// # Errors
/// [`Undefined`] below two places, without repeats, or above a thousand places.
pub fn range_by_chance(
    places: u32,
    repeatability: Length,
    repeats: u32,
) -> Result<Length, Undefined> {
    Undefined::unless_enough("repeat readings", 1, repeats as usize)?;
    Ok(repeatability * (d2(places)? / f64::from(repeats).sqrt()))
}
