//! Pictures that are not in time order, each measured against its data.

use overwire_core::stats::distribution::normal_quantile;

use super::*;

#[test]
fn bars_are_whole_steps_wide_with_edges_between_steps_and_hold_every_reading() {
    for format in [DESK, PHONE] {
        for count in [1, 5, 29, 140, 2000] {
            let mut data = samples::bars();
            data.values = samples::readings(count);
            let drawing = drawn(&histogram(&data, &format));
            let value_at = scale(&drawing.level_labels());
            let count_at = scale(&drawing.upright_labels());
            let bars = drawing.classed("ch-bar");
            let mut held = 0.0;
            for bar in &bars {
                let left = value_at(bar.number("x")) * 1000.0;
                let width = value_at(bar.number("x") + bar.number("width")) * 1000.0 - left;
                assert!((left - left.floor() - 0.5).abs() < 0.06, "edge at {left}");
                assert!(
                    width > 0.9 && (width - width.round()).abs() < 0.06,
                    "{width}"
                );
                held += count_at(bar.number("y"));
            }
            assert!(
                (held - count as f64).abs() < 0.05 * bars.len() as f64,
                "{held} {count}"
            );
        }
    }
}

/// Wide bars reach past the last reading; the axis goes as far as they do.
#[test]
fn no_bar_reaches_past_the_axis() {
    for format in [DESK, PHONE] {
        for last in 60..160 {
            let mut data = samples::bars();
            data.tolerance = None;
            let steps = [0, 10, 15, 18, 20, 22, 25, 28, 30, 32, 35, 40, last];
            data.values = steps.map(|step| 11.4 + f64::from(step) / 1000.0).to_vec();
            let drawing = drawn(&histogram(&data, &format));
            let axis = drawing.points("ch-axis");
            let ends = axis.iter().map(|point| point.0);
            let (left, right) = ends.fold((f64::INFINITY, 0.0), |(left, right): (f64, f64), x| {
                (left.min(x), right.max(x))
            });
            for bar in drawing.classed("ch-bar") {
                let from = bar.number("x");
                let to = from + bar.number("width");
                assert!(
                    from > left - 0.1 && to < right + 0.1,
                    "{last}: {to} past {right}"
                );
            }
        }
    }
}

#[test]
fn a_curve_needs_thirty_readings_and_has_a_name() {
    let mut data = samples::bars();
    data.values = samples::readings(29);
    let few = drawn(&histogram(&data, &DESK));
    assert!(few.classed("ch-curve").is_empty());
    assert!(
        few.caption()
            .contains("No curve is drawn over fewer than 30")
    );
    data.values = samples::readings(30);
    let enough = drawn(&histogram(&data, &DESK));
    assert_eq!(enough.classed("ch-curve").len(), 1);
    assert!(
        enough
            .caption()
            .contains("Curve: normal distribution with this mean and s.")
    );
}

#[test]
fn the_curve_holds_as_many_readings_as_the_bars() {
    let data = samples::bars();
    let drawing = drawn(&histogram(&data, &DESK));
    let value_at = scale(&drawing.level_labels());
    let count_at = scale(&drawing.upright_labels());
    let curve = drawing.points("ch-curve");
    let area: f64 = curve
        .windows(2)
        .map(|pair| {
            let width = value_at(pair[1].0) - value_at(pair[0].0);
            width * (count_at(pair[0].1) + count_at(pair[1].1)) / 2.0
        })
        .sum();
    let bar = drawing.classed("ch-bar")[0];
    let width = value_at(bar.number("x") + bar.number("width")) - value_at(bar.number("x"));
    assert!((area / width - 140.0).abs() < 1.5, "{}", area / width);
}

#[test]
fn the_caption_of_a_histogram_has_count_mean_and_spread() {
    let caption = drawn(&histogram(&samples::bars(), &PHONE)).caption();
    for figure in ["n 140", "mean 11.42", "s 0.00", "display steps wide"] {
        assert!(caption.contains(figure), "{figure}: {caption}");
    }
}

/// The labels stand at the quantiles of the normal distribution.
#[test]
fn the_normal_scale_is_normal() {
    let drawing = drawn(&normal_plot(&samples::normal(), &DESK));
    let labels = drawing.upright_labels();
    assert!(labels.len() >= 7, "{labels:?}");
    let score = |part: f64| normal_quantile(part / 100.0).unwrap();
    let place = |value: f64| labels.iter().find(|label| label.1 == value).unwrap().0;
    let unit = (place(5.0) - place(95.0)) / (score(95.0) - score(5.0));
    for (y, part, _) in &labels {
        assert!(
            (place(50.0) - unit * score(*part) - y).abs() < 0.03,
            "{part}"
        );
    }
}

#[test]
fn a_normal_plots_line_goes_through_mean_and_spread() {
    let data = samples::normal();
    let drawing = drawn(&normal_plot(&data, &DESK));
    let value_at = scale(&drawing.level_labels());
    let labels = drawing.upright_labels();
    let place = |value: f64| labels.iter().find(|label| label.1 == value).unwrap().0;
    let ends = drawing.points("ch-curve");
    let along = |y: f64| {
        let part = (y - ends[0].1) / (ends[1].1 - ends[0].1);
        value_at(ends[0].0 + part * (ends[1].0 - ends[0].0))
    };
    let (mean, spread) = (
        data.summary.mean.unwrap(),
        data.summary.standard_deviation.unwrap(),
    );
    assert!((along(place(50.0)) - mean).abs() < 2e-5);
    assert!((along(place(95.0)) - mean - 1.644_854 * spread).abs() < 2e-5);
}

#[test]
fn every_reading_of_every_method_is_a_dot_in_its_place() {
    for format in [DESK, PHONE] {
        let data = samples::methods();
        let drawing = drawn(&method_dots(&data, &format));
        assert_eq!(drawing.dots().len(), 48);
        assert_eq!(
            drawing.classed("ch-mean").len(),
            8,
            "four means, four spreads"
        );
        let edges: Vec<f64> = drawing
            .points("ch-band-edge")
            .iter()
            .map(|edge| edge.0)
            .collect();
        let middle = (edges[0] + edges[2]) / 2.0;
        // The band reaches 0.002 mm each way, so it is the scale of the panel.
        let unit = (edges[2] - edges[0]) / 0.004;
        let readings = data
            .methods
            .iter()
            .flat_map(|method| method.readings.iter());
        let mut wanted: Vec<f64> = readings
            .map(|reading| middle + (reading - 11.421) * unit)
            .collect();
        let mut found: Vec<f64> = drawing.dots().iter().map(|dot| dot.0).collect();
        wanted.sort_by(f64::total_cmp);
        found.sort_by(f64::total_cmp);
        for (found, wanted) in found.iter().zip(&wanted) {
            assert!((found - wanted).abs() < 0.05, "{found} {wanted}");
        }
    }
}

#[test]
fn dots_of_one_display_step_are_stacked_not_hidden() {
    let mut data = samples::methods();
    data.methods[0].readings = vec![11.42; 9];
    let drawing = drawn(&method_dots(&data, &DESK));
    let mut dots: Vec<String> = drawing
        .dots()
        .iter()
        .map(|dot| format!("{dot:?}"))
        .collect();
    dots.sort();
    let count = dots.len();
    dots.dedup();
    assert_eq!(dots.len(), count, "no two dots in one place");
}

#[test]
fn an_interval_beyond_the_axis_ends_in_an_arrow() {
    let mut data = samples::methods();
    assert!(
        drawn(&method_dots(&data, &DESK))
            .classed("ch-arrow")
            .is_empty()
    );
    if let Some(mean) = &mut data.methods[1].mean {
        mean.high = 11.6;
    }
    assert_eq!(
        drawn(&method_dots(&data, &DESK)).classed("ch-arrow").len(),
        1
    );
}

#[test]
fn agreement_shows_bias_limits_intervals_and_margin() {
    for format in [DESK, PHONE] {
        let drawing = drawn(&agreement(&samples::pairs(), &format));
        let value_at = scale(&drawing.upright_labels());
        let round = |y: &f64| (value_at(*y) * 1e4).round() / 1e4;
        let heights = |class: &str| drawing.heights(class).iter().map(round).collect::<Vec<_>>();
        assert_eq!(heights("ch-level"), [0.0011]);
        assert_eq!(heights("ch-slope-limit"), [0.0048, -0.0026]);
        assert_eq!(heights("ch-band-edge"), [0.004, -0.004]);
        let bars = drawing.classed("ch-interval");
        let ends: Vec<(f64, f64)> = bars
            .iter()
            .map(|bar| (round(&bar.runs()[0][0].1), round(&bar.runs()[0][1].1)))
            .collect();
        assert_eq!(
            ends,
            [(-0.0038, -0.0014), (0.0004, 0.0018), (0.0036, 0.006)]
        );
    }
}

#[test]
fn components_start_at_nought_and_are_as_long_as_they_are_large() {
    for format in [DESK, PHONE] {
        let drawing = drawn(&components(&samples::parts(), &format));
        let labels = drawing.level_labels();
        assert_eq!(labels[0].1, 0.0);
        let percent_at = scale(&labels);
        let bars = drawing.classed("ch-bar");
        // The first is the key.
        let lengths: Vec<f64> = bars[1..]
            .iter()
            .map(|bar| {
                assert!(percent_at(bar.number("x")).abs() < 0.05);
                percent_at(bar.number("x") + bar.number("width"))
            })
            .collect();
        for (length, percent) in lengths.iter().zip([6.2, 1.4, 0.0, 7.6, 92.4]) {
            assert!((length - percent).abs() < 0.05, "{length} {percent}");
        }
        assert!(
            drawing
                .texts()
                .iter()
                .any(|text| text.text == "92.4\u{a0}%")
        );
    }
}

#[test]
fn a_trends_line_and_its_limits_lie_where_the_fit_says() {
    for format in [DESK, PHONE] {
        let data = samples::wear();
        let drawing = drawn(&trend(&data, &format));
        let value_at = scale(&drawing.upright_labels());
        let along_at = scale(&drawing.level_labels());
        let place = |point: (f64, f64)| (along_at(point.0), value_at(point.1));
        let lines = drawing.classed("ch-curve");
        assert_eq!(lines.len(), 2);
        for (line, segment) in lines.iter().zip(&data.segments) {
            let run = &line.runs()[0];
            let (from, to) = (place(run[0]), place(run[1]));
            assert!((from.0 - segment.from).abs() < 0.1 && (to.0 - segment.to).abs() < 0.1);
            for (along, value) in [from, to] {
                let fitted = segment.intercept + segment.slope * along;
                assert!((value - fitted).abs() < 1e-4, "{value} {fitted}");
            }
        }
        let limit = place(drawing.classed("ch-slope-limit")[0].runs()[0][0]);
        let fitted = data.segments[0].intercept + data.segments[0].slope * limit.0;
        assert!((fitted - 0.0051 - limit.1).abs() < 1e-4);
    }
}

#[test]
fn a_forecast_has_its_interval_and_says_where_it_meets_the_limit() {
    let picture = trend(&samples::wear(), &DESK);
    let drawing = drawn(&picture);
    assert_eq!(drawing.classed("ch-spread").len(), 1);
    assert_eq!(drawing.classed("ch-forecast").len(), 1);
    let along_at = scale(&drawing.level_labels());
    let crossing = drawing.points("ch-mark")[0].0;
    assert!((along_at(crossing) - 135.0).abs() < 0.2);
    let told = "The line with its spread meets the guarded tolerance max about piece 135 (between 114 and 160)";
    assert!(
        picture.description.contains(told),
        "{}",
        picture.description
    );
}

#[test]
fn bias_over_size_has_its_line_in_its_interval_over_the_masters() {
    for format in [DESK, PHONE] {
        let data = samples::masters();
        let drawing = drawn(&bias_over_size(&data, &format));
        let value_at = scale(&drawing.upright_labels());
        let along_at = scale(&drawing.level_labels());
        let line = drawing.classed("ch-curve")[0].runs()[0].clone();
        assert_eq!(line.len(), data.line.len());
        for (point, height) in line.iter().zip(&data.line) {
            assert!((along_at(point.0) - height.along).abs() < 0.05);
            assert!((value_at(point.1) - height.value).abs() < 2e-5);
        }
        let edges = drawing.classed("ch-spread-edge")[0].runs();
        let (low, high) = (value_at(edges[0][0].1), value_at(edges[1][0].1));
        assert!((low - data.line[0].low).abs() < 2e-5 && (high - data.line[0].high).abs() < 2e-5);
        assert_eq!(drawing.classed("ch-mean").len(), 5);
        assert_eq!(
            drawing.heights("ch-level").len(),
            1,
            "no bias has a line of its own"
        );
    }
    let mut bent = samples::masters();
    bent.line.clear();
    let picture = bias_over_size(&bent, &DESK);
    assert!(drawn(&picture).classed("ch-curve").is_empty());
    assert!(
        picture.description.contains("No line is drawn"),
        "{}",
        picture.description
    );
    assert!(
        picture.description.contains("At 5.000\u{a0}mm the bias is"),
        "{}",
        picture.description
    );
}
