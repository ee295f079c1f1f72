//! One sample of every picture, with all that can be on it. The data are made up.

use super::*;

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
        words: words.to_owned(),
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

pub(super) fn bars() -> Histogram {
    let values = readings(140);
    let summary = summary(&values);
    Histogram {
        heading: heading("How the readings are spread"),
        quantity: millimetres(),
        noun: "reading".to_owned(),
        density: summary
            .mean
            .zip(summary.standard_deviation)
            .map(|(mean, spread)| Density::normal(mean, spread)),
        values,
        summary,
        tolerance: Some(tolerance()),
        zoomed: false,
    }
}

/// Normal scores by a coarse table, close enough for a picture.
pub(super) fn normal() -> NormalPlot {
    let mut values = readings(60);
    values.sort_by(f64::total_cmp);
    let mut scores = noise(6000);
    scores.sort_by(f64::total_cmp);
    let points = values.iter().enumerate();
    let points = points.map(|(index, value)| (*value, scores[index * 100 + 50]));
    NormalPlot {
        heading: heading("Are the readings normally distributed?"),
        quantity: millimetres(),
        noun: "reading".to_owned(),
        points: points.collect(),
        positions: "(i - 0.375) / (n + 0.25)".to_owned(),
        summary: summary(&values),
        tolerance: Some(tolerance()),
    }
}

fn method(name: &str, shift: f64, spread: f64, skip: usize) -> MethodReadings {
    let noise = noise(skip + 12);
    let values = noise
        .into_iter()
        .skip(skip)
        .map(|noise| 11.421 + shift + spread * noise);
    let readings = on_display(values);
    let figures = summary(&readings);
    let mean = figures.mean.unwrap_or(0.0);
    let deviation = figures.standard_deviation.unwrap_or(0.0);
    MethodReadings {
        name: name.to_owned(),
        readings,
        mean: Some(Interval {
            value: mean,
            low: mean - deviation * 0.635,
            high: mean + deviation * 0.635,
        }),
        spread: Some(Interval {
            value: deviation,
            low: deviation * 0.708,
            high: deviation * 1.698,
        }),
    }
}

pub(super) fn methods() -> MethodDots {
    MethodDots {
        heading: heading("Ways of holding the wires"),
        quantity: millimetres(),
        methods: vec![
            method("by hand", 0.0, 0.002, 0),
            method("rubber band", 0.0006, 0.0012, 20),
            method("plastic holder", -0.003, 0.0026, 40),
            method("grease", 0.0003, 0.0016, 60),
        ],
        band: Some(Band {
            name: "equivalent to by hand, within 0.002 mm".to_owned(),
            low: 11.419,
            high: 11.423,
        }),
        intervals: "95 % confidence".to_owned(),
    }
}

pub(super) fn pairs() -> Agreement {
    let (first, second) = (noise(64), noise(128));
    let points = (0..32).map(|index| {
        let difference = 0.0011 + 0.0019 * second[index + 64];
        let size = 11.42 + 0.009 * first[index];
        (size, (difference * 1000.0).round() / 1000.0)
    });
    let interval = |value: f64, half: f64| Interval {
        value,
        low: value - half,
        high: value + half,
    };
    Agreement {
        heading: heading("Rubber band against by hand"),
        quantity: millimetres(),
        methods: ["rubber band".to_owned(), "by hand".to_owned()],
        points: points.collect(),
        bias: Some(interval(0.0011, 0.0007)),
        limits: Some([interval(-0.0026, 0.0012), interval(0.0048, 0.0012)]),
        margin: Some(0.004),
        basis: "limits of agreement: bias ± 1.96 s; intervals 95 %".to_owned(),
    }
}

pub(super) fn parts() -> Components {
    let part = |name: &str, variance: f64, tolerance: f64, remark: &str| Component {
        name: name.to_owned(),
        percent: vec![Some(variance), Some(tolerance)],
        remark: remark.to_owned(),
    };
    Components {
        heading: heading("Where the variation comes from"),
        measures: vec![
            "share of the variance".to_owned(),
            "six standard deviations as a share of the tolerance".to_owned(),
        ],
        components: vec![
            part("repeatability", 6.2, 18.4, "s 0.00120 mm"),
            part("operator", 1.4, 8.7, "s 0.00057 mm"),
            part(
                "operator by piece",
                0.0,
                0.0,
                "calculated below 0, set to 0",
            ),
            part("gauge, all of it", 7.6, 20.4, "s 0.00132 mm"),
            part("piece to piece", 92.4, 70.9, "s 0.00461 mm"),
        ],
    }
}

pub(super) fn wear() -> Trend {
    let noise = noise(90);
    let line = |from: f64, along: f64| 11.4105 + 0.00028 * (along - from);
    let values = noise.iter().enumerate().map(|(index, noise)| {
        let from = if index < 40 { 0.0 } else { 40.0 };
        line(from, index as f64) + 0.0017 * noise
    });
    let values = on_display(values);
    let segment = |from: f64, to: f64| TrendSegment {
        from,
        to,
        intercept: 11.4105 - 0.00028 * (from - 1.0),
        slope: 0.00028,
        half_width: 0.0051,
    };
    let ahead = (90..=150).step_by(5).map(f64::from).map(|along| {
        let middle = line(40.0, along);
        let half = 0.0052 + 0.00006 * (along - 90.0);
        (along, middle - half, middle + half)
    });
    Trend {
        heading: heading("Wear of the insert"),
        quantity: millimetres(),
        along: Quantity {
            name: "piece".to_owned(),
            unit: String::new(),
            places: 0,
            step_in_last_place: 1,
        },
        points: (1..).map(f64::from).zip(values).collect(),
        segments: vec![segment(1.0, 40.0), segment(41.0, 90.0)],
        forecast: Some(Forecast {
            interval: ahead.collect(),
            crossing: Some(Crossing {
                at: 135.0,
                earliest: Some(114.0),
                latest: Some(160.0),
                limit: "the guarded tolerance max".to_owned(),
            }),
        }),
        tolerance: Some(tolerance()),
        basis: "Sloped limits: line ± 3 s".to_owned(),
    }
}

/// Every picture by name, in one format.
pub(super) fn all(format: &Format) -> Vec<(&'static str, Picture)> {
    vec![
        ("run", run_chart(&run(), format)),
        ("control", control_chart(&control(), format)),
        ("subgroups", control_chart(&subgroups(), format)),
        ("histogram", histogram(&bars(), format)),
        ("normal", normal_plot(&normal(), format)),
        ("methods", method_dots(&methods(), format)),
        ("agreement", agreement(&pairs(), format)),
        ("components", components(&parts(), format)),
        ("trend", trend(&wear(), format)),
    ]
}
