//! Numbers, one by one or a few abreast: the equations are written once for both.

use std::array::from_fn;
use std::ops::{Add, Div, Mul, Sub};

/// How many numbers go abreast.
pub(super) const ABREAST: usize = 8;

/// A number, or several abreast.
pub(super) trait Real:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self>
{
    /// This number, in every place.
    fn of(number: f64) -> Self;
    /// The square root.
    fn root(self) -> Self;
    /// The arc tangent.
    fn arc_tangent(self) -> Self;
}

/// Below this the series below is exact to the last digit.
const SERIES_BELOW: f64 = 0.1;

/// The arc tangent's series.
#[inline(always)]
fn series<R: Real>(ratio: R) -> R {
    let square = ratio * ratio;
    let fourth = square * square;
    let pair = |first: f64, second: f64| R::of(first) - square * R::of(second);
    let far = pair(1.0 / 13.0, 1.0 / 15.0) + fourth * R::of(1.0 / 17.0);
    let near = pair(1.0 / 9.0, 1.0 / 11.0) + fourth * far;
    let tail = pair(1.0 / 5.0, 1.0 / 7.0) + fourth * near;
    ratio * (pair(1.0, 1.0 / 3.0) + fourth * tail)
}

impl Real for f64 {
    #[inline(always)]
    fn of(number: f64) -> f64 {
        number
    }

    #[inline(always)]
    fn root(self) -> f64 {
        self.sqrt()
    }

    #[inline(always)]
    fn arc_tangent(self) -> f64 {
        match self.abs() < SERIES_BELOW {
            true => series(self),
            false => self.atan(),
        }
    }
}

/// Several numbers abreast.
#[derive(Clone, Copy)]
pub(super) struct Row(pub(super) [f64; ABREAST]);

impl Row {
    /// Whether `test` holds in every place of this and another row.
    #[inline(always)]
    pub(super) fn all(&self, other: &Row, test: impl Fn(f64, f64) -> bool) -> bool {
        // Every place is looked at, which is quicker than to stop at the first.
        let places = self.0.iter().zip(&other.0);
        places.fold(true, |so_far, (&one, &two)| so_far & test(one, two))
    }
}

macro_rules! place_by_place {
    ($operation:ident, $name:ident, $sign:tt) => {
        impl $operation for Row {
            type Output = Row;
            #[inline(always)]
            fn $name(self, other: Row) -> Row {
                Row(from_fn(|place| self.0[place] $sign other.0[place]))
            }
        }
    };
}

place_by_place!(Add, add, +);
place_by_place!(Sub, sub, -);
place_by_place!(Mul, mul, *);
place_by_place!(Div, div, /);

impl Real for Row {
    #[inline(always)]
    fn of(number: f64) -> Row {
        Row([number; ABREAST])
    }

    #[inline(always)]
    fn root(self) -> Row {
        Row(self.0.map(f64::sqrt))
    }

    #[inline(always)]
    fn arc_tangent(self) -> Row {
        match self.all(&self, |ratio, _| ratio.abs() < SERIES_BELOW) {
            true => series(self),
            false => Row(self.0.map(Real::arc_tangent)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_of_the_arc_tangent_is_exact() {
        for step in 0..100_000 {
            let ratio = f64::from(step) * 2e-6;
            let off = (ratio.arc_tangent() - ratio.atan()).abs();
            assert!(off <= f64::EPSILON * ratio, "{ratio}: {off:e}");
            let row = Row::of(ratio).arc_tangent();
            assert!((row.0[3] - ratio.arc_tangent()).abs() <= f64::EPSILON * ratio);
        }
    }
}
