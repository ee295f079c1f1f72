//! Charts of the spreadsheet's own: the pieces one after another between their limits, and how often each size
//! came. What they are drawn from stands on a sheet of its own.

use std::collections::VecDeque;

use overwire_core::decimal::step;
use overwire_core::units::Unit;
use rust_xlsxwriter::{
    Chart, ChartFormat, ChartLine, ChartLineDashType, ChartMarker, ChartMarkerType, ChartType,
    Worksheet,
};

use super::Setup;
use super::grid::Grid;
use super::sheets::set_up;
use crate::chart::{Quantity, bar_counts};
use crate::export::ExportError;
use crate::export::pieces::Piece;
use crate::export::value::Value;

/// Threads that are charted at most.
pub const MOST_THREADS: usize = 12;
/// Pieces of a thread that are charted at most: the newest.
const MOST_PIECES: usize = 500;
const NAME: &str = "Chart_data";
/// Heads of the pieces' columns, and of the sizes' after a gap.
const HEADS: [&str; 7] = [
    "job",
    "feature",
    "piece",
    "unit",
    "pitch_diameter_mean",
    "lower_limit",
    "upper_limit",
];
const SIZES_FROM: u16 = 8;
const SIZE_HEADS: [&str; 6] = ["job", "feature", "unit", "size_from", "size_to", "pieces"];
/// Rows from one pair of charts to the next, and columns between the two.
const CHART_ROWS: u32 = 24;
const CHART_COLUMNS: u16 = 12;

#[derive(Debug)]
struct Point {
    piece: i64,
    mean: f64,
    limits: Option<(f64, f64)>,
}

#[derive(Debug)]
struct Thread {
    job: String,
    feature: String,
    unit: Unit,
    places: u8,
    points: VecDeque<Point>,
}

/// What is charted.
#[derive(Debug, Default)]
pub struct Charts {
    threads: Vec<Thread>,
    /// Threads that are not.
    pub threads_left_out: usize,
    /// Pieces that are not, of threads that are.
    pub pieces_left_out: u64,
    last_left_out: Option<(String, String)>,
}

impl Charts {
    /// Takes a piece; those of one thread come one after another.
    pub fn take(&mut self, piece: &Piece) {
        let repeats = piece.repeats();
        let Some((unit, places)) = piece.shape.filter(|_| !repeats.readings.is_empty()) else {
            return;
        };
        if !piece.newest {
            return;
        }
        let here = |thread: &Thread| thread.job == piece.job && thread.feature == piece.feature;
        if !self.threads.last().is_some_and(here) {
            if self.threads.len() == MOST_THREADS {
                let name = (piece.job.clone(), piece.feature.clone());
                if self.last_left_out.as_ref() != Some(&name) {
                    self.threads_left_out += 1;
                    self.last_left_out = Some(name);
                }
                return;
            }
            self.threads.push(Thread {
                job: piece.job.clone(),
                feature: piece.feature.clone(),
                unit,
                places,
                points: VecDeque::new(),
            });
        }
        let Some(thread) = self.threads.last_mut() else {
            return;
        };
        let per_unit = thread.unit.mm_per_unit();
        thread.points.push_back(Point {
            piece: piece.piece,
            mean: repeats.mean() / per_unit,
            limits: piece
                .limits
                .map(|(min, max)| (min / per_unit, max / per_unit)),
        });
        if thread.points.len() > MOST_PIECES {
            thread.points.pop_front();
            self.pieces_left_out += 1;
        }
    }

    /// The charts, and the sheet that they are drawn from.
    pub fn sheets(&self, setup: &Setup) -> Result<[Worksheet; 2], ExportError> {
        let mut sheet = Worksheet::new();
        sheet.set_name(NAME)?;
        set_up(&mut sheet, setup)?;
        sheet.set_freeze_panes(1, 0)?;
        sheet.set_repeat_rows(0, 0)?;
        let columns = usize::from(SIZES_FROM) + SIZE_HEADS.len();
        let mut grid = Grid::new(sheet, &setup.looks, columns);
        for (column, head) in (0..).zip(HEADS).chain((SIZES_FROM..).zip(SIZE_HEADS)) {
            grid.heading(column, head)?;
        }
        let mut drawn = Worksheet::new();
        drawn.set_name("Charts")?;
        set_up(&mut drawn, setup)?;
        drawn.set_repeat_rows(0, 0)?;
        let mut drawn = Grid::new(drawn, &setup.looks, 0);
        drawn.heading(0, "Pieces, thread by thread")?;
        let (mut next, mut next_size) = (1, 1);
        for (index, thread) in (0_u32..).zip(&self.threads) {
            let points = (next, thread.write_points(&mut grid, next)?);
            let sizes = (next_size, thread.write_sizes(&mut grid, next_size)?);
            let at = 2 + index * CHART_ROWS;
            drawn.row = at;
            let name = format!("{}, {}", thread.job, thread.feature);
            drawn.cell(0, &Value::Free(name.into()))?;
            let run = thread.run_chart(points);
            drawn.sheet.insert_chart(at + 1, 0, &run)?;
            let histogram = thread.histogram(sizes);
            drawn
                .sheet
                .insert_chart(at + 1, CHART_COLUMNS, &histogram)?;
            (next, next_size) = (points.1 + 1, sizes.1 + 1);
        }
        grid.set_widths()?;
        Ok([drawn.sheet, grid.sheet])
    }
}

impl Thread {
    fn write_points(&self, grid: &mut Grid, from: u32) -> Result<u32, ExportError> {
        grid.row = from;
        for point in &self.points {
            let limit = |value: f64| Value::Number(value, self.places + 1);
            let (lower, upper) = match point.limits {
                Some((lower, upper)) => (limit(lower), limit(upper)),
                None => (Value::Empty, Value::Empty),
            };
            let cells = [
                Value::Free(self.job.as_str().into()),
                Value::Free(self.feature.as_str().into()),
                Value::Whole(point.piece),
                Value::Code(self.unit.as_str().into()),
                Value::Number(point.mean, self.places + 1),
                lower,
                upper,
            ];
            for (column, cell) in (0..).zip(&cells) {
                grid.cell(column, cell)?;
            }
            grid.row += 1;
        }
        Ok(grid.row - 1)
    }

    fn write_sizes(&self, grid: &mut Grid, from: u32) -> Result<u32, ExportError> {
        grid.row = from;
        let means: Vec<f64> = self.points.iter().map(|point| point.mean).collect();
        let quantity = Quantity {
            name: "Pitch diameter".to_owned(),
            unit: self.unit.as_str().to_owned(),
            places: self.places,
            step_in_last_place: 1,
        };
        for (low, high, count) in bar_counts(&means, &quantity) {
            let cells = [
                Value::Free(self.job.as_str().into()),
                Value::Free(self.feature.as_str().into()),
                Value::Code(self.unit.as_str().into()),
                Value::Number(low, self.places + 1),
                Value::Number(high, self.places + 1),
                Value::Whole(i64::try_from(count).unwrap_or(i64::MAX)),
            ];
            for (column, cell) in (SIZES_FROM..).zip(&cells) {
                grid.cell(column, cell)?;
            }
            grid.row += 1;
        }
        Ok((grid.row - 1).max(from))
    }

    fn number_format(&self) -> String {
        format!("0.{}", "0".repeat(usize::from(self.places.max(1))))
    }

    /// The ends of the axis: what is drawn, and a little room.
    fn ends(&self) -> Option<(f64, f64)> {
        let limits = self.points.iter().filter_map(|point| point.limits);
        let limits = limits.flat_map(|(lower, upper)| [lower, upper]);
        let all = self.points.iter().map(|point| point.mean).chain(limits);
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        let step = step(self.places);
        let room = ((high - low) * 0.08).max(step);
        let whole = |value: f64, steps: f64| (value / step + steps).round() * step;
        (high >= low).then(|| (whole(low, -room / step), whole(high, room / step)))
    }

    fn run_chart(&self, (first, last): (u32, u32)) -> Chart {
        let mut chart = Chart::new(ChartType::Line);
        let drawn: [(u16, ChartLineDashType, ChartMarkerType); 3] = [
            (4, ChartLineDashType::Solid, ChartMarkerType::Circle),
            (5, ChartLineDashType::Dash, ChartMarkerType::Square),
            (6, ChartLineDashType::LongDashDot, ChartMarkerType::Square),
        ];
        let limited = self.points.iter().any(|point| point.limits.is_some());
        for (column, dashes, marker) in drawn {
            if column > 4 && !limited {
                continue;
            }
            let mut line = ChartLine::new();
            line.set_color("#000000")
                .set_width(1.25)
                .set_dash_type(dashes);
            let mut points = ChartMarker::new();
            match column {
                4 => points.set_type(marker).set_size(5),
                _ => points.set_none(),
            };
            let mut format = ChartFormat::new();
            format.set_line(&line);
            chart
                .add_series()
                .set_name((NAME, 0, column))
                .set_categories((NAME, first, 2, last, 2))
                .set_values((NAME, first, column, last, column))
                .set_format(&mut format)
                .set_marker(&points);
        }
        chart.title().set_name("Pieces one after another");
        chart.x_axis().set_name("piece");
        let unit = self.unit.as_str();
        chart
            .y_axis()
            .set_name(&format!("mean pitch diameter, {unit}"));
        chart.y_axis().set_num_format(self.number_format());
        if let Some((low, high)) = self.ends() {
            chart.y_axis().set_min(low).set_max(high);
        }
        chart.set_width(760).set_height(400);
        chart.set_alt_text(
            "Mean pitch diameter of each piece as a line with the limits as broken lines.",
        );
        chart
    }

    fn histogram(&self, (first, last): (u32, u32)) -> Chart {
        let mut chart = Chart::new(ChartType::Column);
        let mut line = ChartLine::new();
        line.set_color("#000000");
        let mut format = ChartFormat::new();
        format.set_line(&line);
        let from = SIZES_FROM + 3;
        chart
            .add_series()
            .set_name((NAME, 0, from + 2))
            .set_categories((NAME, first, from, last, from))
            .set_values((NAME, first, from + 2, last, from + 2))
            .set_gap(0)
            .set_format(&mut format);
        chart.title().set_name("How often each size came");
        let unit = self.unit.as_str();
        chart
            .x_axis()
            .set_name(&format!("mean pitch diameter from, {unit}"));
        chart.y_axis().set_name("pieces");
        chart.legend().set_hidden();
        chart.set_width(600).set_height(400);
        chart.set_alt_text("Number of pieces by their mean pitch diameter.");
        chart
    }
}
