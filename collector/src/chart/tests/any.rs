//! Any numbers whatever give a sound picture.

use proptest::prelude::*;

use super::documents::check;
use super::*;

/// Any number at all, with the awkward ones often, and ordinary readings often.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        3 => any::<f64>(),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(f64::NEG_INFINITY),
        1 => Just(0.0),
        1 => Just(-1e11),
        2 => -1e9..1e9,
        6 => 11.3..11.5,
        2 => (0..20_i32).prop_map(f64::from),
    ]
}

fn numbers() -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        2 => Just(Vec::new()),
        2 => any_number().prop_map(|number| vec![number]),
        3 => (any_number(), 1..40_usize).prop_map(|(number, count)| vec![number; count]),
        8 => prop::collection::vec(any_number(), 0..60),
        // Enough for a picture that draws columns instead of points.
        1 => prop::collection::vec(any_number(), 1500..2000),
    ]
}

fn any_quantity() -> impl Strategy<Value = Quantity> {
    let step = prop_oneof![Just(1_u32), Just(5), any::<u32>()];
    (any::<u8>(), step).prop_map(|(places, step_in_last_place)| Quantity {
        places: if places < 200 { places % 7 } else { places },
        step_in_last_place,
        ..samples::millimetres()
    })
}

fn any_format() -> impl Strategy<Value = Format> {
    prop_oneof![Just(DESK), Just(PHONE)]
}

fn any_tolerance() -> impl Strategy<Value = Option<Tolerance>> {
    let limit = || prop::option::of(any_number());
    let tolerance = (limit(), limit(), any_number()).prop_map(|(lower, upper, guard)| Tolerance {
        lower,
        upper,
        guard,
    });
    prop::option::of(tolerance)
}

fn any_interval() -> impl Strategy<Value = Interval> {
    let numbers = (any_number(), any_number(), any_number());
    numbers.prop_map(|(value, low, high)| Interval { value, low, high })
}

fn any_summary() -> impl Strategy<Value = Summary> {
    let number = || prop::option::of(any_number());
    (number(), number()).prop_map(|(mean, standard_deviation)| Summary {
        mean,
        standard_deviation,
    })
}

fn any_limits() -> impl Strategy<Value = Vec<ControlLimits>> {
    let line = || prop::option::of(any_number());
    let limits = (any::<u8>(), line(), line(), line());
    let limits = limits.prop_map(|(from, lower, centre, upper)| ControlLimits {
        from: from.into(),
        lower,
        centre,
        upper,
    });
    prop::collection::vec(limits, 0..4)
}

/// Indexes within and beyond the points.
fn indexes() -> impl Strategy<Value = Vec<usize>> {
    prop::collection::vec(prop_oneof![8 => 0..80_usize, 1 => any::<usize>()], 0..30)
}

prop_compose! {
    fn any_run()(
        quantity in any_quantity(),
        values in numbers(),
        missing in any::<u8>(),
        tolerance in any_tolerance(),
        summary in any_summary(),
        limits in any_limits(),
        (excluded, spoken, changed) in (indexes(), indexes(), indexes()),
        zoomed in any::<bool>(),
    ) -> RunChart {
        let mut values: Vec<Option<f64>> = values.into_iter().map(Some).collect();
        if let Some(value) = values.get_mut(usize::from(missing)) {
            *value = None;
        }
        let exclusions = excluded.iter().map(|index| Exclusion {
            index: *index,
            reason: format!("reason {}", index % 40),
        });
        let marks = changed.iter().map(|index| Mark {
            before: *index,
            kind: MarkKind::Tool,
            label: "insert".to_owned(),
        });
        let signals = spoken.iter().map(|index| samples::signal(*index, "7", "words"));
        RunChart {
            quantity,
            values,
            summary,
            exclusions: exclusions.collect(),
            tolerance,
            limits,
            signals: signals.collect(),
            marks: marks.collect(),
            zoomed,
            ..samples::run()
        }
    }
}

fn chart_of(run: &RunChart, kind: PanelKind) -> ControlChart {
    let panel = |kind, values: Vec<Option<f64>>| ControlPanel {
        kind,
        values,
        exclusions: run.exclusions.clone(),
        limits: run.limits.clone(),
        signals: run.signals.clone(),
    };
    let lower = run.values.iter().skip(1).copied().collect();
    ControlChart {
        quantity: run.quantity.clone(),
        upper: panel(PanelKind::Means, run.values.clone()),
        lower: panel(kind, lower),
        marks: run.marks.clone(),
        ..samples::control()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_numbers_in_order_give_a_sound_picture(run in any_run(), format in any_format()) {
        check(&run_chart(&run, &format))?;
        for kind in [PanelKind::MovingRanges, PanelKind::StandardDeviations] {
            check(&control_chart(&chart_of(&run, kind), &format))?;
        }
    }

    #[test]
    fn any_numbers_give_a_sound_histogram(
        quantity in any_quantity(),
        values in numbers(),
        summary in any_summary(),
        tolerance in any_tolerance(),
        (mean, spread) in (any_number(), any_number()),
        zoomed in any::<bool>(),
        format in any_format(),
    ) {
        let density = Some(Density::normal(mean, spread));
        let data = Histogram {
            quantity, values, summary, tolerance, density, zoomed, ..samples::bars()
        };
        check(&histogram(&data, &format))?;
    }

    #[test]
    fn any_numbers_give_a_sound_normal_plot(
        quantity in any_quantity(),
        points in prop::collection::vec((any_number(), any_number()), 0..300),
        summary in any_summary(),
        tolerance in any_tolerance(),
        format in any_format(),
    ) {
        let data = NormalPlot { quantity, points, summary, tolerance, ..samples::normal() };
        check(&normal_plot(&data, &format))?;
    }

    #[test]
    fn any_methods_give_a_sound_dot_plot(
        quantity in any_quantity(),
        methods in prop::collection::vec(
            (numbers(), prop::option::of(any_interval()), prop::option::of(any_interval())),
            0..30,
        ),
        band in prop::option::of((any_number(), any_number())),
        format in any_format(),
    ) {
        let methods = methods.into_iter().map(|(readings, mean, spread)| MethodReadings {
            name: "a way of holding".to_owned(), readings, mean, spread,
        });
        let band = band.map(|(low, high)| Band { name: "band".to_owned(), low, high });
        let data = MethodDots {
            quantity, methods: methods.collect(), band, ..samples::methods()
        };
        check(&method_dots(&data, &format))?;
    }

    #[test]
    fn any_pairs_give_a_sound_picture(
        quantity in any_quantity(),
        points in prop::collection::vec((any_number(), any_number()), 0..300),
        bias in prop::option::of(any_interval()),
        limits in prop::option::of([any_interval(), any_interval()]),
        margin in prop::option::of(any_number()),
        format in any_format(),
    ) {
        let data = Agreement { quantity, points, bias, limits, margin, ..samples::pairs() };
        check(&agreement(&data, &format))?;
    }

    #[test]
    fn any_components_give_a_sound_picture(
        parts in prop::collection::vec(
            prop::collection::vec(prop::option::of(any_number()), 0..5), 0..40,
        ),
        measures in 0..5_usize,
        format in any_format(),
    ) {
        let components_of = parts.into_iter().map(|percent| Component {
            name: "part".to_owned(), percent, remark: "remark".to_owned(),
        });
        let data = Components {
            measures: vec!["measure".to_owned(); measures],
            components: components_of.collect(),
            ..samples::parts()
        };
        check(&components(&data, &format))?;
    }

    #[test]
    fn any_bias_over_size_gives_a_sound_picture(
        (quantity, along) in (any_quantity(), any_quantity()),
        points in prop::collection::vec((any_number(), any_number()), 0..300),
        means in prop::collection::vec((any_number(), any_number()), 0..9),
        line in prop::collection::vec([any_number(), any_number(), any_number(), any_number()], 0..80),
        format in any_format(),
    ) {
        let line = line.into_iter().map(|[along, value, low, high]| Height { along, value, low, high });
        let line = line.collect();
        let data = BiasOverSize { quantity, along, points, means, line, ..samples::masters() };
        check(&bias_over_size(&data, &format))?;
    }

    #[test]
    fn any_trend_gives_a_sound_picture(
        (quantity, along) in (any_quantity(), any_quantity()),
        points in prop::collection::vec((any_number(), any_number()), 0..300),
        segments in prop::collection::vec([any_number(), any_number(), any_number(), any_number()], 0..4),
        interval in prop::collection::vec((any_number(), any_number(), any_number()), 0..20),
        crossing in prop::option::of((any_number(), prop::option::of(any_number()))),
        tolerance in any_tolerance(),
        format in any_format(),
    ) {
        let segments = segments.into_iter().map(|[from, to, intercept, slope]| TrendSegment {
            from, to, intercept, slope, half_width: intercept,
        });
        let crossing = crossing.map(|(at, earliest)| Crossing {
            at, earliest, latest: earliest, limit: "limit".to_owned(),
        });
        let data = Trend {
            quantity, along, points, tolerance,
            segments: segments.collect(),
            forecast: Some(Forecast { interval, crossing }),
            ..samples::wear()
        };
        check(&trend(&data, &format))?;
    }
}
