//! What axes promise: whole display steps, the drawing's unit, no noise blown up.

use super::*;

/// A run chart of some values without limits.
fn plain(quantity: Quantity, values: Vec<f64>) -> RunChart {
    RunChart {
        quantity,
        summary: Summary::default(),
        values: values.into_iter().map(Some).collect(),
        exclusions: Vec::new(),
        tolerance: None,
        limits: Vec::new(),
        signals: Vec::new(),
        marks: Vec::new(),
        ..samples::run()
    }
}

/// Ticks of one axis: equal distances, whole display steps, as many places as the display.
fn check_ticks(drawing: &Drawing, quantity: &Quantity) {
    let labels = drawing.upright_labels();
    assert!(labels.len() >= 3, "{labels:?}");
    let units = 10f64.powi(quantity.places.into());
    let counts: Vec<i64> = labels
        .iter()
        .map(|(_, value, text)| {
            let places = text
                .split_once('.')
                .map_or(0, |(_, decimals)| decimals.len());
            assert_eq!(places, usize::from(quantity.places), "{text}");
            (value * units).round() as i64
        })
        .collect();
    let step = i64::from(quantity.step_in_last_place);
    assert!(counts.iter().all(|count| count % step == 0), "{counts:?}");
    let rise = counts[1] - counts[0];
    assert!(
        counts.windows(2).all(|pair| pair[1] - pair[0] == rise),
        "{counts:?}"
    );
    let value_at = scale(&labels);
    // Places are written to a hundredth of a unit of the sheet.
    let hundredth = (value_at(0.0) - value_at(0.01)).abs();
    for (y, value, _) in &labels {
        assert!(
            (value_at(*y) - value).abs() < 3.0 * hundredth,
            "{y} {value}"
        );
    }
}

#[test]
fn ticks_are_whole_display_steps_in_millimetres_and_in_half_tenths_of_an_inch() {
    for format in [DESK, PHONE] {
        let millimetres = plain(samples::millimetres(), samples::readings(40));
        check_ticks(
            &drawn(&run_chart(&millimetres, &format)),
            &millimetres.quantity,
        );
        for spread in [1.0, 7.0, 90.0] {
            let noise = samples::noise(40).into_iter();
            let values = noise.map(|noise| 0.45 + (noise * spread).round() * 0.000_05);
            let inches = plain(samples::inches(), values.collect());
            check_ticks(&drawn(&run_chart(&inches, &format)), &inches.quantity);
        }
    }
}

#[test]
fn a_dot_lies_where_the_labels_say() {
    let readings = samples::readings(40);
    let drawing = drawn(&run_chart(
        &plain(samples::millimetres(), readings.clone()),
        &DESK,
    ));
    let value_at = scale(&drawing.upright_labels());
    let dots = drawing.dots();
    assert_eq!(dots.len(), readings.len());
    for ((_, y), reading) in dots.iter().zip(&readings) {
        assert!((value_at(*y) - reading).abs() < 5e-5, "{y} {reading}");
    }
    // In time order, at equal distances.
    let gaps: Vec<f64> = dots.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
    assert!(gaps.iter().all(|gap| (gap - gaps[0]).abs() < 0.02));
}

#[test]
fn the_display_flickering_by_one_step_stays_small() {
    let flicker: Vec<f64> = (0..30)
        .map(|index| 11.42 + f64::from(index % 2) * 0.001)
        .collect();
    let picture = run_chart(&plain(samples::millimetres(), flicker), &DESK);
    let drawing = drawn(&picture);
    let heights: Vec<f64> = drawing.dots().iter().map(|dot| dot.1).collect();
    let swing = heights.iter().fold(0.0, |most, y| f64::max(most, *y))
        - heights
            .iter()
            .fold(f64::MAX, |least, y| f64::min(least, *y));
    assert!(swing > 5.0 && swing < 330.0 / 9.0, "{swing}");
    assert!(picture.description.contains("so that steps stay small"));
}

#[test]
fn a_single_reading_has_an_axis_of_ten_steps_or_more() {
    for format in [DESK, PHONE] {
        let picture = run_chart(&plain(samples::millimetres(), vec![11.42]), &format);
        let labels = drawn(&picture).upright_labels();
        let span = labels.last().unwrap().1 - labels[0].1;
        assert!(span.abs() > 0.0099, "{labels:?}");
    }
}

#[test]
fn the_axis_takes_in_the_tolerance_unless_asked_not_to_and_then_says_so() {
    let mut chart = plain(samples::millimetres(), samples::readings(30));
    chart.tolerance = Some(Tolerance {
        lower: Some(11.30),
        upper: Some(11.54),
        guard: 0.0,
    });
    let whole = drawn(&run_chart(&chart, &DESK));
    let value_at = scale(&whole.upright_labels());
    let limits = whole.heights("ch-tolerance");
    assert_eq!(limits.len(), 2);
    assert!((value_at(limits[0]) - 11.54).abs() < 1e-3);
    assert!((value_at(limits[1]) - 11.30).abs() < 1e-3);
    assert!(!whole.caption().contains("zoomed"));
    chart.zoomed = true;
    let zoomed = drawn(&run_chart(&chart, &DESK));
    assert!(
        zoomed.caption().contains("zoomed, the tolerance is"),
        "{}",
        zoomed.caption()
    );
    assert!(zoomed.heights("ch-tolerance").is_empty());
    let mut names = zoomed.texts().into_iter();
    assert!(names.any(|name| name.text == "tolerance max 11.540 \u{2191}"));
}

#[test]
fn the_unit_is_the_drawings() {
    for (quantity, unit) in [(samples::millimetres(), "mm"), (samples::inches(), "in")] {
        let chart = plain(quantity, vec![0.45, 0.451]);
        let drawing = drawn(&run_chart(&chart, &DESK));
        let name = format!("Pitch diameter, {unit}");
        assert!(drawing.texts().iter().any(|text| text.text == name));
    }
}

#[test]
fn spreads_and_counts_start_at_nought() {
    let drawing = drawn(&control_chart(&samples::subgroups(), &DESK));
    let labels = drawing.upright_labels();
    let from = labels.iter().position(|label| label.1 < 1.0).unwrap();
    assert_eq!(labels[from].1, 0.0);
    let drawing = drawn(&histogram(&samples::bars(), &DESK));
    assert_eq!(drawing.upright_labels()[0].1, 0.0);
}

#[test]
fn a_reading_beyond_any_axis_is_left_out_and_counted() {
    let mut readings = samples::readings(12);
    readings[3] = f64::NAN;
    readings[4] = 1e300;
    let picture = run_chart(&plain(samples::millimetres(), readings), &DESK);
    assert!(
        picture.description.contains("2 readings cannot be drawn"),
        "{}",
        picture.description
    );
    assert_eq!(drawn(&picture).dots().len(), 10);
}
