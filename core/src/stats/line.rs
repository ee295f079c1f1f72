//! The line of least squares, with what it is worth.

use super::distribution::{f_beyond, student_beyond, student_factor};
use super::moments::Moments;
use super::{Figure, Interval, Readings, Undefined};

/// A straight line through points, `y = intercept + slope x`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// How many points.
    pub count: usize,
    /// Rise of y for one of x.
    pub slope: f64,
    /// Where the line crosses `x = 0`.
    pub intercept: f64,
    /// The mean of x.
    pub x_mean: f64,
    /// The mean of y.
    pub y_mean: f64,
    /// The sum of the squared differences of x from its mean.
    pub x_squares: f64,
    /// The same of y.
    pub y_squares: f64,
    /// The sum of the squared distances of y from the line.
    pub residual_squares: f64,
}

impl Line {
    /// The line through points that belong together pair by pair.
    ///
    /// # Errors
    /// [`Undefined`] for lists of different lengths, fewer than two points, points that are no finite
    /// numbers, or when all x are the same.
    ///
    /// ```
    /// use overwire_core::stats::line::Line;
    /// let line = Line::through(&[0.0, 5.0, 10.0], &[12.002, 12.004, 12.006])?;
    /// assert!((line.slope - 0.0004).abs() < 1e-12);
    /// # Ok::<(), overwire_core::stats::Undefined>(())
    /// ```
    pub fn through(x: &[f64], y: &[f64]) -> Result<Line, Undefined> {
        if x.len() != y.len() {
            return Err(Undefined::Unpaired {
                first: x.len(),
                second: y.len(),
            });
        }
        Undefined::unless_enough("points", 2, x.len())?;
        let along = Moments::of(&Readings::of_numbers(x)?)?;
        let up = Moments::of(&Readings::of_numbers(y)?)?;
        if along.sum_of_squares <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        let points = || x.iter().zip(y).map(|(x, y)| (x - along.mean, y - up.mean));
        let slope = points().map(|(x, y)| x * y).sum::<f64>() / along.sum_of_squares;
        let residual = |(x, y): (f64, f64)| (y - slope * x).powi(2);
        Ok(Line {
            count: x.len(),
            slope,
            intercept: up.mean - slope * along.mean,
            x_mean: along.mean,
            y_mean: up.mean,
            x_squares: along.sum_of_squares,
            y_squares: up.sum_of_squares,
            residual_squares: points().map(residual).sum(),
        })
    }

    /// The line's y at an x.
    pub fn at(&self, x: f64) -> f64 {
        self.y_mean + self.slope * (x - self.x_mean)
    }

    /// The degrees of freedom that are left, `n - 2`.
    pub const fn degrees_of_freedom(&self) -> usize {
        self.count.saturating_sub(2)
    }

    /// The standard deviation of the points about the line, by `n - 2`.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] with two points only: they always lie on it.
    pub fn residual_deviation(&self) -> Figure {
        Undefined::unless_enough("points", 3, self.count)?;
        Ok((self.residual_squares / self.degrees_of_freedom() as f64).sqrt())
    }

    /// The standard error of the slope.
    ///
    /// # Errors
    /// As [`Line::residual_deviation`].
    pub fn slope_error(&self) -> Figure {
        Ok(self.residual_deviation()? / self.x_squares.sqrt())
    }

    /// The standard error of the line's height at an x; at 0 that of the intercept.
    ///
    /// # Errors
    /// As [`Line::residual_deviation`].
    pub fn height_error(&self, x: f64) -> Figure {
        let away = (x - self.x_mean).powi(2) / self.x_squares;
        Ok(self.residual_deviation()? * (1.0 / self.count as f64 + away).sqrt())
    }

    /// The standard error of one further point at an x.
    ///
    /// # Errors
    /// As [`Line::residual_deviation`].
    pub fn forecast_error(&self, x: f64) -> Figure {
        Ok(self.residual_deviation()?.hypot(self.height_error(x)?))
    }

    /// The interval of the slope.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than three points, or for a confidence that is no probability.
    pub fn slope_interval(&self, confidence: f64) -> Result<Interval, Undefined> {
        let reach = self.factor(confidence)? * self.slope_error()?;
        Ok(Interval::about(self.slope, reach, confidence))
    }

    /// The interval of the line's height at an x.
    ///
    /// # Errors
    /// As [`Line::slope_interval`].
    pub fn height_interval(&self, x: f64, confidence: f64) -> Result<Interval, Undefined> {
        let reach = self.factor(confidence)? * self.height_error(x)?;
        Ok(Interval::about(self.at(x), reach, confidence))
    }

    /// The interval in which one further point at an x is to be expected.
    ///
    /// # Errors
    /// As [`Line::slope_interval`].
    pub fn forecast_interval(&self, x: f64, confidence: f64) -> Result<Interval, Undefined> {
        let reach = self.factor(confidence)? * self.forecast_error(x)?;
        Ok(Interval::about(self.at(x), reach, confidence))
    }

    /// Student's t of the slope against no slope.
    ///
    /// # Errors
    /// [`Undefined`] with fewer than three points, or when all lie on the line.
    pub fn slope_student(&self) -> Figure {
        over_error(self.slope, self.slope_error()?)
    }

    /// Student's t of the intercept against none.
    ///
    /// # Errors
    /// As [`Line::slope_student`].
    pub fn intercept_student(&self) -> Figure {
        over_error(self.intercept, self.height_error(0.0)?)
    }

    /// How often chance alone would give a slope this far from none, on either side.
    ///
    /// # Errors
    /// As [`Line::slope_student`].
    pub fn slope_chance(&self) -> Figure {
        self.chance(self.slope_student()?)
    }

    /// How often chance alone would give an intercept this far from none, on either side.
    ///
    /// # Errors
    /// As [`Line::slope_student`].
    pub fn intercept_chance(&self) -> Figure {
        self.chance(self.intercept_student()?)
    }

    /// The share of the spread of y that the line explains.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when all y are the same.
    pub fn explained(&self) -> Figure {
        match self.y_squares > 0.0 {
            true => Ok(1.0 - self.residual_squares / self.y_squares),
            false => Err(Undefined::NoSpread),
        }
    }

    fn chance(&self, student: f64) -> Figure {
        let beyond = student_beyond(student.abs(), self.degrees_of_freedom() as f64);
        beyond.map(|beyond| 2.0 * beyond).ok_or(Undefined::NoSpread)
    }

    fn factor(&self, confidence: f64) -> Figure {
        Undefined::unless_probability("a confidence", confidence)?;
        Undefined::unless_enough("points", 3, self.count)?;
        student_factor(confidence, self.degrees_of_freedom() as f64).ok_or(Undefined::Senseless {
            what: "a confidence",
            found: confidence,
        })
    }
}

/// Whether a straight line is the right thing to draw: what repeated readings at the same x leave for
/// bending, against what they differ by themselves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LackOfFit {
    /// The mean square of the bending over that of the repeats.
    pub ratio: f64,
    /// Its degrees of freedom: different x less two.
    pub upper: usize,
    /// Those of the repeats.
    pub lower: usize,
    /// How often chance alone would bend it as much.
    pub chance: f64,
}

/// Tests a straight line through groups of readings, each group at one x.
///
/// # Errors
/// [`Undefined`] with fewer than three groups, without repeats, or when all repeats are the same.
pub fn lack_of_fit(groups: &[(f64, &[f64])]) -> Result<LackOfFit, Undefined> {
    Undefined::unless_enough("places", 3, groups.len())?;
    let x: Vec<f64> = groups
        .iter()
        .flat_map(|(x, y)| y.iter().map(|_| *x))
        .collect();
    let y: Vec<f64> = groups.iter().flat_map(|(_, y)| y.iter().copied()).collect();
    let line = Line::through(&x, &y)?;
    let lower = y.len().saturating_sub(groups.len());
    Undefined::unless_enough("repeat readings", 1, lower)?;
    let (mut bending, mut repeats) = (0.0, 0.0);
    for (x, y) in groups {
        let moments = Moments::of(&Readings::of_numbers(y)?)?;
        repeats += moments.sum_of_squares;
        bending += moments.count as f64 * (moments.mean - line.at(*x)).powi(2);
    }
    if repeats <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let upper = groups.len() - 2;
    let ratio = bending / upper as f64 / (repeats / lower as f64);
    let chance = f_beyond(ratio, upper as f64, lower as f64).ok_or(Undefined::NoSpread)?;
    Ok(LackOfFit {
        ratio,
        upper,
        lower,
        chance,
    })
}

fn over_error(estimate: f64, error: f64) -> Figure {
    match error > 0.0 {
        true => Ok(estimate / error),
        false => Err(Undefined::NoSpread),
    }
}
