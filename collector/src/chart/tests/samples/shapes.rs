//! Samples of the pictures that are not in time order.

use super::*;

pub(in crate::chart::tests) fn bars() -> Histogram {
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
pub(in crate::chart::tests) fn normal() -> NormalPlot {
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

pub(in crate::chart::tests) fn methods() -> MethodDots {
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

pub(in crate::chart::tests) fn pairs() -> Agreement {
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

pub(in crate::chart::tests) fn parts() -> Components {
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

pub(in crate::chart::tests) fn wear() -> Trend {
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

/// Five masters, six readings of each, and a line that rises by 0.2 thousandths for a millimetre.
pub(in crate::chart::tests) fn masters() -> BiasOverSize {
    let noise = noise(30);
    let size = |at: usize| 5.0 + 5.0 * (at / 6) as f64;
    let line = |size: f64| 0.0002 * size - 0.001;
    let biases = on_display((0..30).map(|at| line(size(at)) + 0.0008 * noise[at]));
    let points: Vec<(f64, f64)> = biases
        .into_iter()
        .enumerate()
        .map(|(at, bias)| (size(at), bias))
        .collect();
    let mean = |master: &[(f64, f64)]| {
        let sum: f64 = master.iter().map(|(_, bias)| bias).sum();
        (master[0].0, sum / master.len() as f64)
    };
    let height = |place: u32| {
        let along = 5.0 + 0.5 * f64::from(place);
        let half = 0.0003 + 0.00002 * (along - 15.0).abs();
        Height {
            along,
            value: line(along),
            low: line(along) - half,
            high: line(along) + half,
        }
    };
    BiasOverSize {
        heading: heading("Linearity of MIC-11"),
        quantity: Quantity {
            name: "Bias".to_owned(),
            ..millimetres()
        },
        along: Quantity {
            name: "Size of the master".to_owned(),
            ..millimetres()
        },
        means: points.chunks(6).map(mean).collect(),
        points,
        line: (0..=40).map(height).collect(),
        basis: "Interval of the line's height: 95 %".to_owned(),
    }
}
