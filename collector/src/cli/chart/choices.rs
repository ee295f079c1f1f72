//! What can be chosen for a chart.

use clap::ValueEnum;
use overwire_core::stats::capability::Shape;
use overwire_core::stats::cusum::CusumSettings;
use overwire_core::stats::ewma::EwmaSettings;
use overwire_core::stats::small_shifts::ShiftSettingsError;

use crate::chart::MarkKind;
use crate::findings::groups;
use crate::findings::process::{Break, Scatter};

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum ShapeChoice {
    LogNormal,
    Weibull,
    FoldedNormal,
    AsRead,
}

impl ShapeChoice {
    pub fn scatter(self) -> Scatter {
        match self {
            ShapeChoice::LogNormal => Scatter::As(Shape::LogNormal),
            ShapeChoice::Weibull => Scatter::As(Shape::Weibull),
            ShapeChoice::FoldedNormal => Scatter::As(Shape::FoldedNormal),
            ShapeChoice::AsRead => Scatter::AsRead,
        }
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum SpreadChoice {
    Range,
    Deviation,
}

impl SpreadChoice {
    pub fn spread(self) -> groups::Spread {
        match self {
            SpreadChoice::Range => groups::Spread::Range,
            SpreadChoice::Deviation => groups::Spread::Deviation,
        }
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum PictureName {
    Run,
    Individuals,
    Histogram,
    Normal,
    Trend,
    Shifts,
    Means,
    Deviations,
    Standardised,
}

impl PictureName {
    pub fn name(self) -> &'static str {
        match self {
            PictureName::Run => "run",
            PictureName::Individuals => "individuals",
            PictureName::Histogram => "histogram",
            PictureName::Normal => "normal",
            PictureName::Trend => "trend",
            PictureName::Shifts => "shifts",
            PictureName::Means => "means",
            PictureName::Deviations => "deviations",
            PictureName::Standardised => "standardised",
        }
    }

    /// What it needs, where it is not to be had.
    pub fn hint(self) -> &'static str {
        match self {
            PictureName::Run => "Of groups ask for means, of short runs for deviations.",
            PictureName::Individuals => {
                "It needs two numbers that differ, and pieces without groups."
            }
            PictureName::Histogram => "It needs --lower or --upper.",
            PictureName::Normal => "It needs eight numbers.",
            PictureName::Trend => "It needs a trend that is proven.",
            PictureName::Means => "It needs --group or --group-size, and numbers that differ.",
            PictureName::Shifts => "It needs two numbers that differ, and pieces without groups.",
            PictureName::Deviations => "It needs --nominal, and numbers that differ.",
            PictureName::Standardised => {
                "It needs --nominal, and --standardised where the parts spread alike."
            }
        }
    }
}

/// A phase that a person names: `41` or `41=new insert`.
pub fn named_break(text: &str) -> Result<Break, String> {
    let (piece, name) = text.split_once('=').unwrap_or((text, ""));
    let piece = piece.trim().parse().map_err(|_| {
        "say the number of the first piece and what changed: 41=new insert".to_owned()
    })?;
    let label = match name.trim() {
        "" => "a change".to_owned(),
        name => name.to_owned(),
    };
    Ok(Break {
        piece,
        kind: MarkKind::Other,
        label,
    })
}

/// One setting of the charts for small shifts.
#[derive(Debug, Clone, Copy)]
pub enum ShiftSetting {
    Average(EwmaSettings),
    Sums(CusumSettings),
    Middle,
    /// A size in the unit of the numbers.
    Target(f64),
}

/// `ewma=0.1,2.7`, `cusum=0.5,4,half`, `target=9.7` or `target=middle`.
pub fn shift_setting(text: &str) -> Result<ShiftSetting, String> {
    let (name, said) = text.split_once('=').unwrap_or((text, ""));
    let plain = |error: ShiftSettingsError| error.to_string();
    match (name, said) {
        ("ewma", said) => said.parse().map(ShiftSetting::Average).map_err(plain),
        ("cusum", said) => said.parse().map(ShiftSetting::Sums).map_err(plain),
        ("target", "middle") => Ok(ShiftSetting::Middle),
        ("target", said) => match said.parse() {
            Ok(size) if f64::is_finite(size) => Ok(ShiftSetting::Target(size)),
            _ => Err("say target=middle, of the limits, or a number: target=9.7".to_owned()),
        },
        _ => Err("say ewma=WEIGHT,LIMITS, cusum=ALLOWANCE,LIMIT or target=NUMBER".to_owned()),
    }
}
