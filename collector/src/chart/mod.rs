//! Statistical pictures: plain numbers in, a drawing out.
//!
//! One module draws every picture of numbers, so that they look alike on the page, on paper
//! and in a spreadsheet. Each picture has a struct of plain data and one pure function:
//!
//! | picture | function |
//! | --- | --- |
//! | readings in the order they were taken | [`run_chart`] |
//! | individuals with moving ranges, means with ranges or standard deviations | [`control_chart`] |
//! | how often each reading came | [`histogram`] |
//! | readings against what a normal distribution would give | [`normal_plot`] |
//! | every reading of several methods, means and spreads with intervals | [`method_dots`] |
//! | differences of two methods against their means | [`agreement`] |
//! | what masters of several sizes read more than they are, with the line through it | [`bias_over_size`] |
//! | parts of the variation, from 0 | [`components`] |
//! | a line through drifting readings, and where it leads | [`trend`] |
//!
//! What keeps them honest: axes are ticked in whole display steps and never span less than
//! the tolerance or ten steps unless the caption says that they are zoomed; tolerance limits
//! are solid lines with hatching, control limits are dashed, and both are named where they
//! end; every symbol has a shape of its own, so that nothing depends on colour; a reading
//! that is missing leaves a gap and one that does not count stays visible, hollow, with its
//! reason; a picture that draws fewer marks than there are readings says so.
//!
//! Nothing here trusts its numbers. A number that is no number, or is too large for any axis,
//! is left out and counted in the caption; a text may hold anything, of any length.

mod agreement;
mod axis;
mod bias;
mod components;
mod frame;
mod histogram;
mod leaf;
mod lines;
mod marks;
mod methods;
mod normal;
mod ordered;
mod quantity;
pub mod raster;
mod run;
mod series;
mod signs;
mod style;
#[cfg(test)]
mod tests;
mod trend;
mod words;

pub use agreement::{Agreement, agreement};
pub use bias::{BiasOverSize, Height, bias_over_size};
pub use components::{Component, Components, components};
pub use histogram::{Density, Histogram, bar_counts, histogram};
pub use methods::{Band, MethodDots, MethodReadings, method_dots};
pub use normal::{NormalPlot, normal_plot};
pub use quantity::Quantity;
pub use run::{ControlChart, ControlPanel, PanelKind, RunChart, control_chart, run_chart};
pub use trend::{Crossing, Forecast, Trend, TrendSegment, trend};

/// How wide a picture is drawn. Letters keep their size, so the two differ in layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// For pages about 1280 px wide, paper and spreadsheets.
    Desk,
    /// For telephones about 390 px wide.
    Phone,
}

/// Where the colours come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// Custom properties that follow a light or dark page and turn black on white in print.
    /// A page may set `--chart-ink`, `--chart-paper` and their like to its own colours.
    Page,
    /// Written-out colours on white, for programs that know no custom properties.
    Fixed,
}

/// The form a picture is drawn in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Format {
    /// How wide it is.
    pub width: Width,
    /// Where its colours come from.
    pub look: Look,
}

/// What stands over and under every picture, in the caller's words.
#[derive(Clone, Debug, Default)]
pub struct Heading {
    /// What is shown, e.g. `J-2417 stud end, pitch diameter`.
    pub title: String,
    /// The line below it: thread, dates, instrument. May be empty.
    pub about: String,
    /// Sentences for the end of the caption, e.g. what the limits are based on.
    pub notes: Vec<String>,
}

/// A finished picture.
#[derive(Clone, Debug)]
pub struct Picture {
    /// The SVG document, complete with its own style.
    pub svg: String,
    /// Its accessible name.
    pub title: String,
    /// The picture in sentences, with its figures.
    pub description: String,
    /// Width of the drawing, in CSS pixels.
    pub width: f64,
    /// Height of the drawing, in CSS pixels.
    pub height: f64,
}

/// Figures that stand in the caption; whoever makes the statistics makes these.
#[derive(Clone, Copy, Debug, Default)]
pub struct Summary {
    /// The mean of the readings that count.
    pub mean: Option<f64>,
    /// Their standard deviation.
    pub standard_deviation: Option<f64>,
}

/// A figure with the interval it lies in.
#[derive(Clone, Copy, Debug)]
pub struct Interval {
    /// The figure itself.
    pub value: f64,
    /// The interval's lower end.
    pub low: f64,
    /// The interval's upper end.
    pub high: f64,
}

/// The limits a single piece has to keep.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tolerance {
    /// Smallest allowed.
    pub lower: Option<f64>,
    /// Largest allowed.
    pub upper: Option<f64>,
    /// Width of the guard band inside each limit; 0 for none, negative for a band outside.
    pub guard: f64,
}

/// Control limits from one point on.
#[derive(Clone, Copy, Debug, Default)]
pub struct ControlLimits {
    /// Index of the first point they hold for.
    pub from: usize,
    /// Lower limit, if there is one.
    pub lower: Option<f64>,
    /// Centre line.
    pub centre: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
}

/// A point where a rule speaks up.
#[derive(Clone, Debug)]
pub struct Signal {
    /// Index of the point.
    pub index: usize,
    /// The rule's number or short name, drawn beside the point.
    pub rule: String,
    /// What the rule is, in a few words that are the same for each of its points.
    pub meaning: String,
    /// What it says of this point, in a sentence.
    pub words: String,
}

/// A point that does not count.
#[derive(Clone, Debug)]
pub struct Exclusion {
    /// Index of the point.
    pub index: usize,
    /// Why it does not count.
    pub reason: String,
}

/// Something that changed between two points.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Index of the first point after the change.
    pub before: usize,
    /// What changed.
    pub kind: MarkKind,
    /// To what, e.g. the name of the job.
    pub label: String,
}

/// The kinds of change that are marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// Another job.
    Job,
    /// Another set of wires.
    WireSet,
    /// Another tool, or an edge changed.
    Tool,
    /// Anything else.
    Other,
}

impl Interval {
    /// An interval that nothing draws.
    fn none() -> Interval {
        Interval {
            value: f64::NAN,
            low: f64::NAN,
            high: f64::NAN,
        }
    }
}
