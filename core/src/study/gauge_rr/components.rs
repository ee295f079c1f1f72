//! A gauge study by analysis of variance.

use super::intervals::Part;
use super::{
    Band, Categories, Crossed, GaugeSettings, Pooling, at_least, of_difference, of_sum, of_sum_less,
};
use crate::stats::{Interval, Moments, Undefined};
use crate::study::anova::{OneWay, Variation};
use crate::study::budget::Repeatability;
use crate::study::figure::FRatio;
use crate::study::sums::{above, rounding_of};

/// The sums of squares of a crossed study.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaugeTable {
    /// How many pieces.
    pub piece_count: usize,
    /// How many operators.
    pub operator_count: usize,
    /// How many repeats of each.
    pub repeat_count: usize,
    /// The mean of all readings.
    pub mean: f64,
    /// Between pieces.
    pub pieces: Variation,
    /// Between operators.
    pub operators: Variation,
    /// What pieces and operators do together.
    pub interaction: Variation,
    /// Between repeats.
    pub repeats: Variation,
}

impl GaugeTable {
    /// The table of a study.
    ///
    /// # Errors
    /// [`Undefined`] when there is too little to take apart.
    pub fn of(table: &Crossed) -> Result<GaugeTable, Undefined> {
        let cells = table.cells();
        let (p, o) = (table.pieces().len(), table.operators().len());
        let by_piece = OneWay::of(&table.by_piece())?;
        let within = OneWay::of(cells)?.within;
        let operators = match o {
            0 | 1 => 0.0,
            _ => OneWay::of(&table.by_operator())?.between.squares,
        };
        let rounding = by_piece.count as f64 * rounding_of(cells).powi(2);
        Ok(GaugeTable {
            piece_count: p,
            operator_count: o,
            repeat_count: table.repeats(),
            mean: by_piece.mean,
            pieces: by_piece.between.above(rounding),
            operators: Variation {
                squares: operators,
                degrees_of_freedom: o as f64 - 1.0,
            }
            .above(rounding),
            interaction: Variation {
                squares: interaction_squares(table)?,
                degrees_of_freedom: (p as f64 - 1.0) * (o as f64 - 1.0),
            }
            .above(rounding),
            repeats: within.above(rounding),
        })
    }

    /// All squares.
    pub fn total(&self) -> Variation {
        let fixed = self.pieces.with(&self.operators);
        fixed.with(&self.interaction).with(&self.repeats)
    }

    /// The interaction held against the repeats.
    ///
    /// # Errors
    /// [`Undefined`] with one operator only, or when repeats do not differ.
    pub fn interaction_ratio(&self) -> Result<FRatio, Undefined> {
        self.interaction.over(&self.repeats)
    }
}

/// What neither pieces nor operators explain, cell by cell.
fn interaction_squares(table: &Crossed) -> Result<f64, Undefined> {
    let origin = table.origin();
    let means = |groups: &[Vec<f64>]| -> Result<Vec<f64>, Undefined> {
        let mean = |group: &Vec<f64>| above(origin, group).map(|moments: Moments| moments.mean);
        groups.iter().map(mean).collect()
    };
    let (pieces, operators) = (means(&table.by_piece())?, means(&table.by_operator())?);
    let whole = above(origin, &table.cells().concat())?.mean;
    let cells = means(table.cells())?;
    let mut squares = 0.0;
    for (row, piece) in cells.chunks(operators.len().max(1)).zip(&pieces) {
        for (cell, operator) in row.iter().zip(&operators) {
            squares += (cell - piece - operator + whole).powi(2);
        }
    }
    Ok(squares * table.repeats() as f64)
}

/// One component of what varies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Its variance, not below zero.
    pub variance: f64,
    /// Its variance as reckoned; below zero when there is less of it than chance accounts for.
    pub raw_variance: f64,
    /// The limits of its standard deviation; undefined when they cannot be had.
    pub deviation_limits: Result<Interval, Undefined>,
    /// Its deviation as a share of all that varies.
    pub share_of_study: f64,
    /// Its variance as a share of all that varies; these add up to one.
    pub contribution: f64,
    /// So many deviations of it as a share of the tolerance; `None` without one.
    pub share_of_tolerance: Option<f64>,
}

impl Component {
    /// Its standard deviation.
    pub fn deviation(&self) -> f64 {
        self.variance.sqrt()
    }

    /// The limits of its share of the tolerance; `None` without a tolerance, or where it has no limits.
    pub fn tolerance_limits(&self) -> Option<Interval> {
        let limits = self.deviation_limits.ok()?;
        let deviation = Some(self.deviation()).filter(|deviation| *deviation > 0.0)?;
        let each = self.share_of_tolerance? / deviation;
        Some(Interval {
            low: each * limits.low,
            high: each * limits.high,
            ..limits
        })
    }
}

/// What varies, taken apart by one model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Components {
    /// Whether the interaction was kept; else it is pooled with the repeats.
    pub interaction_kept: bool,
    /// What stands for chance between repeats: repeats, with the interaction if that was pooled.
    pub error: Variation,
    /// Pieces over what they are tested against.
    pub piece_ratio: Result<FRatio, Undefined>,
    /// Operators over what they are tested against.
    pub operator_ratio: Result<FRatio, Undefined>,
    /// Repeats: how one operator's readings of one piece vary.
    pub repeat: Component,
    /// Operators.
    pub operator: Component,
    /// Operators who read some pieces differently than others.
    pub interaction: Component,
    /// Operators and interaction: reproducibility.
    pub reproducibility: Component,
    /// The whole gauge: repeats and reproducibility.
    pub gauge: Component,
    /// The pieces themselves.
    pub piece: Component,
    /// All that varies.
    pub total: Component,
    /// How many categories of pieces the gauge tells apart.
    pub categories: Result<Categories, Undefined>,
}

impl Components {
    /// Takes a table apart, with the interaction kept or pooled.
    pub fn of(table: &GaugeTable, interaction_kept: bool, settings: &GaugeSettings) -> Components {
        Model::new(table, interaction_kept).components(settings)
    }

    /// The repeatability that the uncertainty budget takes from here: that of repeats.
    pub fn repeatability(&self) -> Repeatability {
        Repeatability {
            deviation_mm: self.repeat.deviation(),
            degrees_of_freedom: self.error.degrees_of_freedom,
        }
    }

    /// The band of the gauge: by its share of the tolerance if there is one, else of the study.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] when repeats do not differ: they do not make a gauge good.
    pub fn band(&self) -> Result<Band, Undefined> {
        band(&self.gauge, &self.repeat)
    }
}

/// The band of a gauge whose repeats differ.
pub(crate) fn band(gauge: &Component, repeat: &Component) -> Result<Band, Undefined> {
    match repeat.variance > 0.0 {
        true => Ok(Band::of(
            gauge.share_of_tolerance.unwrap_or(gauge.share_of_study),
        )),
        false => Err(Undefined::NoSpread),
    }
}

/// Counts as numbers, and the mean squares of a model.
struct Model<'a> {
    table: &'a GaugeTable,
    kept: bool,
    p: f64,
    o: f64,
    r: f64,
    /// What stands for repeats.
    error: Variation,
    /// What pieces and operators are tested against.
    against: Variation,
}

impl Model<'_> {
    fn new(table: &GaugeTable, kept: bool) -> Model<'_> {
        let kept = kept && table.operator_count > 1;
        let pooled = table.repeats.with(&table.interaction);
        let (error, against) = match kept {
            true => (table.repeats, table.interaction),
            false => (pooled, pooled),
        };
        Model {
            table,
            kept,
            p: table.piece_count as f64,
            o: table.operator_count as f64,
            r: table.repeat_count as f64,
            error,
            against,
        }
    }

    fn components(&self, settings: &GaugeSettings) -> Components {
        let square = |variation: &Variation| variation.mean_square().unwrap_or(0.0);
        let (error, against) = (square(&self.error), square(&self.against));
        let interaction = match self.kept {
            true => (against - error) / self.r,
            false => 0.0,
        };
        let operator = match self.o > 1.0 {
            true => (square(&self.table.operators) - against) / (self.p * self.r),
            false => 0.0,
        };
        let piece = (square(&self.table.pieces) - against) / (self.o * self.r);
        let above_zero = |raw: f64| raw.max(0.0);
        let reproducibility = above_zero(operator) + above_zero(interaction);
        let gauge = error + reproducibility;
        let total = gauge + above_zero(piece);
        let limits = self.limits(settings.confidence);
        let component =
            |raw: f64, limits: Result<Interval, Undefined>| component(raw, limits, total, settings);
        Components {
            interaction_kept: self.kept,
            error: self.error,
            piece_ratio: self.table.pieces.over(&self.against),
            operator_ratio: self.table.operators.over(&self.against),
            repeat: component(error, limits.repeat),
            operator: component(operator, limits.operator),
            interaction: component(interaction, limits.interaction),
            reproducibility: component(reproducibility, limits.reproducibility),
            gauge: component(gauge, at_least(limits.gauge, limits.repeat)),
            piece: component(piece, limits.piece),
            total: component(total, limits.total),
            categories: settings.categories_told(
                above_zero(piece).sqrt(),
                gauge.sqrt(),
                error.sqrt(),
            ),
        }
    }

    fn limits(&self, confidence: f64) -> Limits {
        match (self.o > 1.0, self.kept) {
            (false, _) => self.limits_of_one_operator(confidence),
            (true, false) => self.limits_when_pooled(confidence),
            (true, true) => self.limits_when_kept(confidence),
        }
    }

    /// One over the readings of an operator, and of a piece.
    fn shares(&self) -> (f64, f64) {
        (1.0 / (self.p * self.r), 1.0 / (self.o * self.r))
    }

    fn limits_of_one_operator(&self, confidence: f64) -> Limits {
        let (_, each) = self.shares();
        let error = |factor: f64| Part::new(factor, &self.error);
        let pieces = |factor: f64| Part::new(factor, &self.table.pieces);
        let one_operator = Undefined::TooFew {
            of: "operators",
            needed: 2,
            found: self.table.operator_count,
        };
        Limits {
            repeat: of_sum(&[error(1.0)], confidence),
            operator: Err(one_operator),
            interaction: Err(one_operator),
            reproducibility: Err(one_operator),
            gauge: of_sum(&[error(1.0)], confidence),
            piece: of_difference(pieces(each), error(each), confidence),
            total: of_sum(&[pieces(each), error(1.0 - each)], confidence),
        }
    }

    fn limits_when_pooled(&self, confidence: f64) -> Limits {
        let (among, each) = self.shares();
        let error = |factor: f64| Part::new(factor, &self.error);
        let operators = |factor: f64| Part::new(factor, &self.table.operators);
        let pieces = |factor: f64| Part::new(factor, &self.table.pieces);
        let operator = of_difference(operators(among), error(among), confidence);
        let total = [operators(among), pieces(each), error(1.0 - among - each)];
        Limits {
            repeat: of_sum(&[error(1.0)], confidence),
            operator,
            interaction: Err(Undefined::NotInModel {
                what: "interaction of its own",
            }),
            reproducibility: operator,
            gauge: of_sum(&[operators(among), error(1.0 - among)], confidence),
            piece: of_difference(pieces(each), error(each), confidence),
            total: of_sum(&total, confidence),
        }
    }

    fn limits_when_kept(&self, confidence: f64) -> Limits {
        let (among, each) = self.shares();
        let error = |factor: f64| Part::new(factor, &self.error);
        let against = |factor: f64| Part::new(factor, &self.against);
        let operators = |factor: f64| Part::new(factor, &self.table.operators);
        let pieces = |factor: f64| Part::new(factor, &self.table.pieces);
        let (of_against, of_error) = ((self.p - 1.0) * among, (self.r - 1.0) / self.r);
        // Operators and interaction: (S_o + (p-1) S_po)/(p r) - S_e/r.
        let people = [operators(among), against(of_against)];
        let gauge = [operators(among), against(of_against), error(of_error)];
        let total = [
            operators(among),
            pieces(each),
            against(of_against - each),
            error(of_error),
        ];
        let by_repeats = 1.0 / self.r;
        let operator = of_difference(operators(among), against(among), confidence);
        let reproducibility = of_sum_less(&people, error(by_repeats), confidence);
        Limits {
            repeat: of_sum(&[error(1.0)], confidence),
            operator,
            interaction: of_difference(against(by_repeats), error(by_repeats), confidence),
            // A sum is not surer than its part.
            reproducibility: match operator {
                Ok(_) => at_least(reproducibility, operator),
                Err(_) => reproducibility,
            },
            gauge: of_sum(&gauge, confidence),
            piece: of_difference(pieces(each), against(each), confidence),
            total: of_sum(&total, confidence),
        }
    }
}

/// Limits of variances.
struct Limits {
    repeat: Result<Interval, Undefined>,
    operator: Result<Interval, Undefined>,
    interaction: Result<Interval, Undefined>,
    reproducibility: Result<Interval, Undefined>,
    gauge: Result<Interval, Undefined>,
    piece: Result<Interval, Undefined>,
    total: Result<Interval, Undefined>,
}

/// A component of this variance as reckoned. Its limits hold the figure itself; where even the upper one
/// is nothing, there are none.
pub(crate) fn component(
    raw: f64,
    limits: Result<Interval, Undefined>,
    total: f64,
    settings: &GaugeSettings,
) -> Component {
    let variance = raw.max(0.0);
    let contribution = match total > 0.0 {
        true => variance / total,
        false => 0.0,
    };
    Component {
        variance,
        raw_variance: raw,
        deviation_limits: limits.and_then(|limits| match limits.high.max(variance) {
            high if high > 0.0 => Ok(Interval {
                low: limits.low.clamp(0.0, variance).sqrt(),
                high: high.sqrt(),
                confidence: limits.confidence,
            }),
            _ => Err(Undefined::NoSpread),
        }),
        share_of_study: contribution.sqrt(),
        contribution,
        share_of_tolerance: settings.share_of_tolerance(variance.sqrt()),
    }
}

/// A gauge study by analysis of variance: the table, and what varies by both models.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeStudy {
    /// How it was reckoned.
    pub settings: GaugeSettings,
    /// The sums of squares.
    pub table: GaugeTable,
    /// With the interaction kept.
    pub with_interaction: Components,
    /// With the interaction pooled with the repeats.
    pub without_interaction: Components,
    /// Whether the settings pool the interaction.
    pub pooled: bool,
}

impl GaugeStudy {
    /// Reckons a study.
    ///
    /// # Errors
    /// [`Undefined`] for settings that make no sense, or too little to take apart.
    ///
    /// ```
    /// use overwire_core::study::{Crossed, GaugeSettings, GaugeStudy, TaggedReading};
    /// let rows = [
    ///     ("1", "Ann", 10.01), ("1", "Ann", 10.02), ("1", "Bob", 10.02), ("1", "Bob", 10.02),
    ///     ("2", "Ann", 10.11), ("2", "Ann", 10.12), ("2", "Bob", 10.13), ("2", "Bob", 10.12),
    /// ];
    /// let readings = rows.map(|(piece, operator, value)| TaggedReading { piece, operator, value });
    /// let study = GaugeStudy::of(&Crossed::of(&readings)?, GaugeSettings::usual(None))?;
    /// assert!(study.components().gauge.share_of_study < 0.30);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(readings: &Crossed, settings: GaugeSettings) -> Result<GaugeStudy, Undefined> {
        settings.check()?;
        let table = GaugeTable::of(readings)?;
        let pooled = match (settings.pooling, table.interaction_ratio()) {
            (Pooling::Never, _) => false,
            (Pooling::Always, _) => true,
            (Pooling::Above(limit), Ok(ratio)) => ratio.probability > limit,
            // Repeats that do not differ leave nothing to test the interaction against: it is kept.
            (Pooling::Above(_), Err(_)) => false,
        };
        Ok(GaugeStudy {
            settings,
            with_interaction: Components::of(&table, true, &settings),
            without_interaction: Components::of(&table, false, &settings),
            table,
            pooled,
        })
    }

    /// What varies by the model that the settings ask for.
    pub const fn components(&self) -> &Components {
        match self.pooled {
            true => &self.without_interaction,
            false => &self.with_interaction,
        }
    }
}
