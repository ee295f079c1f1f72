//! One sample of every picture, with all that can be on it. The data are made up.

use super::*;

mod shapes;

pub(super) use shapes::*;

pub(super) const FORMATS: [(&str, Format); 4] = [
    ("desk", form(Width::Desk, Look::Page)),
    ("phone", form(Width::Phone, Look::Page)),
    ("desk-fixed", form(Width::Desk, Look::Fixed)),
    ("phone-fixed", form(Width::Phone, Look::Fixed)),
];

const fn form(width: Width, look: Look) -> Format {
    Format { width, look }
}

/// Numbers that look random, roughly normal around 0 with a spread of 1; the same every time.
pub(super) fn noise(count: usize) -> Vec<f64> {
    let mut state = 20_260_504_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    (0..count)
        .map(|_| (0..12).map(|_| next()).sum::<f64>() - 6.0)
        .collect()
}

pub(super) fn millimetres() -> Quantity {
    Quantity {
        name: "Pitch diameter".to_owned(),
        unit: "mm".to_owned(),
        places: 3,
        step_in_last_place: 1,
    }
}

pub(super) fn inches() -> Quantity {
    Quantity {
        name: "Pitch diameter".to_owned(),
        unit: "in".to_owned(),
        places: 5,
        step_in_last_place: 5,
    }
}

pub(super) fn heading(title: &str) -> Heading {
    Heading {
        title: title.to_owned(),
        about: "J-2417 stud end, 1/2-13 UNC-2A · 4 to 12 May 2026".to_owned(),
        notes: vec!["Control limits from pieces 1 to 30 by moving ranges.".to_owned()],
    }
}

fn on_display(values: impl Iterator<Item = f64>) -> Vec<f64> {
    values
        .map(|value| (value * 1000.0).round() / 1000.0)
        .collect()
}

/// Readings around 11.42 mm with a step after the 34th.
pub(super) fn readings(count: usize) -> Vec<f64> {
    on_display(noise(count).into_iter().enumerate().map(|(index, noise)| {
        let shift = if index > 34 { 0.004 } else { 0.0 };
        11.421 + shift + 0.0035 * noise
    }))
}

pub(super) fn summary(values: &[f64]) -> Summary {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Summary {
        mean: Some(mean),
        standard_deviation: Some((squares / (count - 1.0)).sqrt()),
    }
}

pub(super) fn tolerance() -> Tolerance {
    Tolerance {
        lower: Some(11.402),
        upper: Some(11.441),
        guard: 0.004,
    }
}

pub(super) fn limits() -> Vec<ControlLimits> {
    vec![ControlLimits {
        from: 0,
        lower: Some(11.4106),
        centre: Some(11.4213),
        upper: Some(11.4320),
    }]
}

pub(super) fn signal(index: usize, rule: &str, words: &str) -> Signal {
    Signal {
        index,
        rule: rule.to_owned(),
        meaning: words.to_owned(),
        words: format!("Point {}: {words}.", index + 1),
    }
}

fn exclusion(index: usize, reason: &str) -> Exclusion {
    Exclusion {
        index,
        reason: reason.to_owned(),
    }
}

fn mark(before: usize, kind: MarkKind, label: &str) -> Mark {
    Mark {
        before,
        kind,
        label: label.to_owned(),
    }
}

pub(super) fn run() -> RunChart {
    let readings = readings(56);
    let summary = summary(&readings);
    let mut values: Vec<Option<f64>> = readings.into_iter().map(Some).collect();
    values[16] = Some(11.468);
    values[9] = Some(11.407);
    values[21] = None;
    values[22] = None;
    RunChart {
        heading: heading("Pitch diameter of the stud end"),
        quantity: millimetres(),
        noun: "reading".to_owned(),
        values,
        summary,
        exclusions: vec![
            exclusion(9, "wire fell out"),
            exclusion(16, "chip under the anvil"),
        ],
        tolerance: Some(tolerance()),
        limits: limits(),
        signals: vec![
            signal(44, "2", "nine in a row on one side of the centre"),
            signal(44, "1", "beyond a control limit"),
            signal(3, "1", "beyond a control limit"),
            signal(52, "5", "two of three far out on one side"),
        ],
        marks: vec![
            mark(12, MarkKind::WireSet, "w-07"),
            mark(35, MarkKind::Tool, "insert 3"),
        ],
        zoomed: false,
    }
}

pub(super) fn control() -> ControlChart {
    let values: Vec<Option<f64>> = readings(56).into_iter().map(Some).collect();
    let ranges = (0..values.len())
        .map(|index| Some((values[index]? - values[index.checked_sub(1)?]?).abs()))
        .collect();
    let mut phases = limits();
    phases.push(ControlLimits {
        from: 35,
        lower: Some(11.4146),
        centre: Some(11.4253),
        upper: Some(11.4360),
    });
    ControlChart {
        heading: heading("Individuals and moving ranges"),
        quantity: millimetres(),
        noun: "piece".to_owned(),
        upper: ControlPanel {
            kind: PanelKind::Individuals,
            values,
            exclusions: Vec::new(),
            limits: phases,
            signals: vec![signal(3, "1", "beyond a control limit")],
        },
        lower: ControlPanel {
            kind: PanelKind::MovingRanges,
            values: ranges,
            exclusions: Vec::new(),
            limits: vec![ControlLimits {
                from: 0,
                lower: None,
                centre: Some(0.00402),
                upper: Some(0.01313),
            }],
            signals: vec![signal(4, "1", "beyond a control limit")],
        },
        marks: vec![mark(35, MarkKind::Tool, "insert 3")],
    }
}

/// Means of five with standard deviations.
pub(super) fn subgroups() -> ControlChart {
    let readings = readings(150);
    let groups = readings.chunks(5).map(summary).collect::<Vec<_>>();
    let means = groups.iter().map(|group| group.mean).collect();
    let spreads = groups
        .iter()
        .map(|group| group.standard_deviation)
        .collect();
    let mut chart = control();
    chart.heading.title = "Means of five and standard deviations".to_owned();
    chart.noun = "subgroup".to_owned();
    chart.marks.clear();
    chart.upper.kind = PanelKind::Means;
    chart.upper.values = means;
    chart.upper.signals.clear();
    chart.upper.limits = vec![ControlLimits {
        from: 0,
        lower: Some(11.4195),
        centre: Some(11.4243),
        upper: Some(11.4291),
    }];
    chart.lower.kind = PanelKind::StandardDeviations;
    chart.lower.values = spreads;
    chart.lower.signals.clear();
    chart.lower.limits = vec![ControlLimits {
        from: 0,
        lower: Some(0.0),
        centre: Some(0.00335),
        upper: Some(0.0070),
    }];
    chart
}

/// A wide tolerance left out of a run chart, and no control limits.
fn zoomed() -> RunChart {
    RunChart {
        heading: heading("Zoomed"),
        tolerance: Some(Tolerance {
            lower: Some(11.30),
            upper: Some(11.50),
            guard: 0.0,
        }),
        limits: Vec::new(),
        exclusions: Vec::new(),
        signals: Vec::new(),
        zoomed: true,
        ..run()
    }
}

/// A display in half tenths of a thousandth of an inch, few readings, one limit.
fn half_tenths() -> RunChart {
    let noise = noise(7).into_iter();
    let values = noise.map(|noise| Some(0.4500 + (noise * 2.0).round() * 0.000_05));
    RunChart {
        heading: heading("Few readings, one limit"),
        quantity: inches(),
        values: values.collect(),
        summary: Summary::default(),
        tolerance: Some(Tolerance {
            lower: None,
            upper: Some(0.4503),
            guard: 0.0,
        }),
        limits: Vec::new(),
        exclusions: Vec::new(),
        signals: Vec::new(),
        marks: Vec::new(),
        ..run()
    }
}

/// Every picture by name, in one format.
pub(super) fn all(format: &Format) -> Vec<(&'static str, Picture)> {
    vec![
        ("run", run_chart(&run(), format)),
        ("zoomed", run_chart(&zoomed(), format)),
        ("inches", run_chart(&half_tenths(), format)),
        ("control", control_chart(&control(), format)),
        ("subgroups", control_chart(&subgroups(), format)),
        ("histogram", histogram(&bars(), format)),
        ("normal", normal_plot(&normal(), format)),
        ("methods", method_dots(&methods(), format)),
        ("agreement", agreement(&pairs(), format)),
        ("components", components(&parts(), format)),
        ("trend", trend(&wear(), format)),
        ("bias", bias_over_size(&masters(), format)),
    ]
}
