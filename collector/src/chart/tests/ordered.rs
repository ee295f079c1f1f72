//! Points in order: gaps, exclusions, signals, marks, limits, and very many points.

use super::*;

#[test]
fn a_missing_reading_leaves_a_gap_and_an_excluded_one_does_not_join() {
    let mut chart = samples::run();
    let joined = |chart: &RunChart| {
        let drawing = drawn(&run_chart(chart, &DESK));
        drawing.classed("ch-joined")[0].runs()
    };
    let runs = joined(&chart);
    assert_eq!(runs.len(), 2, "one gap");
    assert_eq!(
        runs.concat().len(),
        56 - 2 - 2,
        "neither gaps nor exclusions"
    );
    chart.values[30] = None;
    assert_eq!(joined(&chart).len(), 3);
    let caption = drawn(&run_chart(&chart, &DESK)).caption();
    assert!(caption.contains("Gaps: 3 readings missing."), "{caption}");
}

#[test]
fn excluded_readings_are_hollow_and_their_reasons_are_told() {
    for format in [DESK, PHONE] {
        let drawing = drawn(&run_chart(&samples::run(), &format));
        assert_eq!(drawing.classed("ch-hollow").len(), 2);
        let caption = drawing.caption();
        for told in [
            "a = wire fell out (reading 10)",
            "b = chip under the anvil (reading 17)",
        ] {
            assert!(caption.contains(told), "{told}: {caption}");
        }
        let signs = drawing.classed("ch-text");
        for sign in ["a", "b"] {
            assert!(signs.iter().any(|text| text.text == sign), "{sign}");
        }
        // 11.468 lies beyond the axis: an arrow, and the axis is not stretched for it.
        assert_eq!(drawing.classed("ch-arrow").len(), 1);
        assert!(drawing.upright_labels().iter().all(|label| label.1 < 11.46));
    }
}

#[test]
fn excluded_readings_do_not_count() {
    let caption = drawn(&run_chart(&samples::run(), &DESK)).caption();
    assert!(caption.contains("n 52"), "{caption}");
    assert!(caption.contains("highest 11.434"), "{caption}");
    assert!(caption.contains("0 readings outside"), "{caption}");
}

#[test]
fn a_reading_on_the_limit_is_inside() {
    let mut chart = samples::run();
    // 11.402 and 11.441 are the limits; steps of a thousandth have no exact double.
    chart.values[0] = Some(11.401 + 0.001);
    chart.values[1] = Some(11.44 + 0.001);
    chart.values[2] = Some(11.442);
    let caption = drawn(&run_chart(&chart, &DESK)).caption();
    assert!(caption.contains("1 reading outside"), "{caption}");
}

#[test]
fn signals_are_diamonds_with_the_rules_numbers() {
    for format in [DESK, PHONE] {
        let drawing = drawn(&run_chart(&samples::run(), &format));
        assert_eq!(drawing.classed("ch-signal").len(), 3);
        let signs = drawing.classed("ch-text-signal-strong");
        let signs: Vec<&str> = signs.iter().map(|sign| sign.text.as_str()).collect();
        assert_eq!(signs, ["1", "1,2", "5"]);
        let caption = drawing.caption();
        let told = "1 = beyond a control limit (readings 4, 45)";
        assert!(caption.contains(told), "{caption}");
        let mut titles = drawing
            .elements
            .iter()
            .filter(|element| element.name == "title");
        assert!(titles.any(|title| {
            title
                .text
                .starts_with("reading 53: rule 5: Point 53: two of three")
        }));
    }
}

#[test]
fn a_signals_diamond_stands_on_its_point() {
    let drawing = drawn(&run_chart(&samples::run(), &DESK));
    let value_at = scale(&drawing.upright_labels());
    let diamond = drawing.classed("ch-signal")[1].runs().concat();
    let middle = diamond.iter().map(|point| point.1).sum::<f64>() / 4.0;
    let reading = samples::run().values[44].unwrap();
    assert!((value_at(middle) - reading).abs() < 1e-4);
}

#[test]
fn tolerance_is_solid_and_hatched_and_control_limits_are_dashed() {
    let picture = run_chart(&samples::run(), &DESK);
    let drawing = drawn(&picture);
    let style = &drawing.named("style").text;
    let rule = |class: &str| {
        let from = style.find(&format!(".{class}{{")).unwrap();
        style[from..].split('}').next().unwrap().to_owned()
    };
    assert!(!rule("ch-tolerance").contains("dasharray"));
    assert!(rule("ch-control").contains("dasharray"));
    let value_at = scale(&drawing.upright_labels());
    let values = |class: &str| -> Vec<f64> {
        let heights = drawing.heights(class).into_iter();
        heights.map(|y| (value_at(y) * 1e4).round() / 1e4).collect()
    };
    assert_eq!(values("ch-tolerance"), [11.441, 11.402]);
    assert_eq!(values("ch-guard-line"), [11.437, 11.406]);
    assert_eq!(values("ch-control"), [11.432, 11.4106]);
    assert_eq!(values("ch-centre"), [11.4213]);
    assert_eq!(drawing.classed("ch-guard").len(), 2);
    assert_eq!(drawing.classed("ch-hatch").len(), 2);
    assert_eq!(drawing.classed("ch-guard-hatch").len(), 2);
    // The short hatching stands on the side that is not allowed.
    let outside = drawing
        .points("ch-hatch")
        .into_iter()
        .map(|point| value_at(point.1));
    assert!(
        outside
            .clone()
            .all(|value| !(11.4021..=11.4409).contains(&value))
    );
}

#[test]
fn every_line_is_named_where_it_ends() {
    let names = [
        ("ch-text-tolerance", "tolerance max", "11.441"),
        ("ch-text-tolerance", "tolerance min", "11.402"),
        ("ch-text-tolerance", "guarded max", "11.437"),
        ("ch-text-control", "upper control limit", "11.4320"),
        ("ch-text-control", "centre", "11.4213"),
        ("ch-text-control", "lower control limit", "11.4106"),
    ];
    let desk = drawn(&run_chart(&samples::run(), &DESK));
    let phone = drawn(&run_chart(&samples::run(), &PHONE));
    for (class, name, figure) in names {
        let found = |drawing: &Drawing, text: &str| {
            let mut texts = drawing.classed(class).into_iter();
            texts.any(|name| name.text == text)
        };
        assert!(found(&desk, &format!("{name} {figure}")), "{name}");
        assert!(found(&phone, &name.replace(" limit", "")), "{name}");
        assert!(found(&phone, figure), "{figure}");
    }
}

#[test]
fn names_of_lines_do_not_overlap() {
    for format in [DESK, PHONE] {
        for picture in [
            run_chart(&samples::run(), &format),
            control_chart(&samples::control(), &format),
        ] {
            let drawing = drawn(&picture);
            let mut names = drawing.classed("ch-text-tolerance");
            names.extend(drawing.classed("ch-text-control"));
            let mut heights: Vec<f64> = names.iter().map(|name| name.number("y")).collect();
            heights.sort_by(f64::total_cmp);
            let size = names[0].number("font-size");
            for pair in heights.windows(2) {
                assert!(pair[1] - pair[0] >= size * 0.95, "{heights:?}");
            }
        }
    }
}

#[test]
fn limits_change_where_their_phase_begins() {
    let drawing = drawn(&control_chart(&samples::control(), &DESK));
    let runs = drawing.classed("ch-control")[0].runs();
    assert_eq!(runs.len(), 2, "two phases of the lower limit");
    let dots = drawing.dots();
    let (before, after) = (dots[34].0, dots[35].0);
    assert!((before..after).contains(&runs[0][1].0));
    assert_eq!(runs[0][1].0, runs[1][0].0);
    let mark = &drawing.classed("ch-mark")[0].runs()[0];
    assert!(
        (mark[0].0 - runs[1][0].0).abs() < 0.02,
        "the tool's mark stands there too"
    );
}

#[test]
fn a_control_chart_has_no_tolerance_and_says_what_its_lines_are() {
    let picture = control_chart(&samples::control(), &DESK);
    let drawing = drawn(&picture);
    assert!(drawing.classed("ch-tolerance").is_empty());
    assert!(drawing.caption().contains("control limits, not tolerance"));
    assert!(
        !drawing.caption().contains("missing"),
        "the first moving range is no gap"
    );
}

#[test]
fn changes_are_marked_and_told() {
    let desk = drawn(&run_chart(&samples::run(), &DESK));
    let phone = drawn(&run_chart(&samples::run(), &PHONE));
    for drawing in [&desk, &phone] {
        assert_eq!(drawing.classed("ch-mark")[0].runs().len(), 2);
        assert_eq!(drawing.classed("ch-tab").len(), 2);
        let caption = drawing.caption();
        assert!(
            caption.contains("W, wire set: w-07 from reading 13"),
            "{caption}"
        );
        assert!(
            caption.contains("T, tool: insert 3 from reading 36"),
            "{caption}"
        );
    }
    assert!(desk.texts().iter().any(|text| text.text == "T insert 3"));
}

/// A million readings, one of them far off and one gap of a tenth.
fn million() -> RunChart {
    let mut values: Vec<Option<f64>> = (0..1_000_000_u64)
        .map(|index| Some(11.42 + (index * 7919 % 31) as f64 * 0.001))
        .collect();
    values[654_321] = Some(11.55);
    values[300_000..400_000].fill(None);
    RunChart {
        values,
        signals: (0..1_000_000)
            .step_by(100)
            .map(|index| samples::signal(index, "1", "beyond a control limit"))
            .collect(),
        exclusions: Vec::new(),
        marks: Vec::new(),
        ..samples::run()
    }
}

#[test]
fn a_million_readings_stay_a_small_file_without_losing_an_extreme() {
    let chart = million();
    for (format, most) in [(DESK, 260_000), (PHONE, 100_000)] {
        let picture = run_chart(&chart, &format);
        assert!(picture.svg.len() < most, "{}", picture.svg.len());
        let drawing = drawn(&picture);
        let caption = drawing.caption();
        assert!(
            caption.contains("lowest and highest of each of"),
            "{caption}"
        );
        let value_at = scale(&drawing.upright_labels());
        let highest = drawing.points("ch-envelope").into_iter();
        let highest = highest.map(|point| value_at(point.1)).fold(0.0, f64::max);
        assert!((highest - 11.55).abs() < 5e-4, "{highest}");
        assert_eq!(drawing.classed("ch-envelope")[0].runs().len(), 2, "the gap");
        let diamonds = drawing.classed("ch-signal").len();
        assert!((10..100).contains(&diamonds), "{diamonds}");
        // One in a hundred has a signal, but for the gap of a tenth.
        let told = format!("{diamonds} of 9000 diamonds drawn");
        assert!(caption.contains(&told), "{caption}");
    }
}

#[test]
fn every_reading_is_a_dot_as_long_as_dots_fit() {
    let mut chart = samples::run();
    chart.exclusions.clear();
    chart.values = samples::readings(300).into_iter().map(Some).collect();
    assert_eq!(drawn(&run_chart(&chart, &DESK)).dots().len(), 300);
}
