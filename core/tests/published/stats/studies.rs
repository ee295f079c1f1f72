//! What studies reckon and no handbook prints: values from a second, independent calculation.

use overwire_core::stats::{Interval, Undefined};
use overwire_core::study::{
    AgreementPiece, Aim, Basis, BlandAltman, Blocked, Comparison, ComparisonSettings, Component,
    Components, Crossed, Deviation, Difference, GaugeSettings, GaugeStudy, LimitsFactor, Margin,
    MethodReadings, NestedReadings, NestedStudy, Pairing, SpreadRatio, Stability, TaggedReading,
    Visit, WireStudy, bartlett, dunnett_in_blocks, levene,
};
use serde_json::{Value, json};

use super::{Case, figure};

/// Answers a case.
pub fn answer(case: &Case) -> Value {
    match case.id.as_str() {
        "methods-in-blocks" => in_blocks(case),
        "tukey-in-blocks" => wires(case),
        "pairs-for-equivalence" => pairs_needed(case),
        "agreement-repeated" => agreement(case),
        "component-limits-nested" => nested_limits(case),
        "stability-drift" => stability(case),
        "spreads" => spreads(case),
        id if id.starts_with("t3-") => all_at_once(case),
        id if id.starts_with("difference-") => difference(case),
        id if id.starts_with("chance-") => chances(case),
        id if id.starts_with("component-limits") => crossed_limits(case),
        other => panic!("{other}: nothing answers it"),
    }
}

fn ends(interval: Interval) -> Value {
    json!([interval.low, interval.high])
}

fn in_blocks(case: &Case) -> Value {
    let groups = case.rows("groups");
    let found = Blocked::of(&groups).expect("a table");
    let ratio = found.ratio.expect("a ratio");
    let pairs = dunnett_in_blocks(&groups, 0, 0.95).expect("comparisons");
    json!({
        "ss_methods": found.between_methods.squares,
        "ss_blocks": found.between_blocks.squares,
        "ss_rest": found.rest.squares,
        "df_rest": found.rest.degrees_of_freedom,
        "F": ratio.ratio,
        "p": ratio.probability,
        "F_blocks": found.blocks_ratio.expect("a ratio").ratio,
        "t": pairs.iter().map(|pair| figure(pair.estimate.t_against(0.0))).collect::<Value>(),
        "dunnett_p": pairs.iter().map(|pair| pair.adjusted.probability).collect::<Value>(),
        "levene_p": figure(levene(&groups).map(|ratio| ratio.probability)),
        "bartlett_p": figure(bartlett(&groups).map(|found| found.probability)),
    })
}

fn methods(case: &Case) -> Vec<MethodReadings> {
    let rows = case.rows("groups").into_iter().enumerate();
    rows.map(|(index, readings)| MethodReadings {
        name: format!("method {index}"),
        readings,
    })
    .collect()
}

fn wires(case: &Case) -> Value {
    let found = WireStudy::of(&methods(case), case.number("gain"), Pairing::Blocks, 0.95);
    let found = found.expect("a study");
    let wires = || found.wires.iter();
    json!({
        "tukey_p": found.pairs.iter().map(|pair| pair.probability).collect::<Value>(),
        "above_mean": wires().map(|wire| wire.above_mean.value).collect::<Value>(),
        "standard_error": wires().map(|wire| wire.above_mean.standard_error).collect::<Value>(),
        "low": wires().map(|wire| wire.interval.low).collect::<Value>(),
        "high": wires().map(|wire| wire.interval.high).collect::<Value>(),
    })
}

fn difference(case: &Case) -> Value {
    let (first, second) = (case.numbers("a"), case.numbers("b"));
    let found = match case.has("paired") {
        true => Difference::of_pairs(&first, &second, 0.0),
        false => Difference::of_groups(&first, &second, 0.0),
    };
    let estimate = found.expect("a difference").estimate;
    let interval = estimate.interval(0.95).expect("an interval");
    json!({
        "difference": estimate.value,
        "t": figure(estimate.t_against(0.0)),
        "p": figure(estimate.probability_against(0.0)),
        "df": estimate.degrees_of_freedom,
        "low": interval.low,
        "high": interval.high,
    })
}

fn aim(case: &Case, difference: f64) -> Aim {
    Aim {
        difference,
        basis: Basis::Pairs {
            deviation: case.number("deviation"),
        },
        significance: case.number("significance"),
    }
}

fn chances(case: &Case) -> Value {
    let aim = aim(case, case.number("difference"));
    let pairs = case.number("pairs");
    json!({
        "equivalence": aim.chance_of_equivalence(case.number("margin"), pairs),
        "difference": aim.chance_of_difference(pairs),
    })
}

fn pairs_needed(case: &Case) -> Value {
    let aim = aim(case, 0.0);
    let pairs = |margin: &f64| {
        let needed = aim
            .readings_for_equivalence(*margin, 0.90)
            .expect("a number");
        // Where one significance serves both, nothing but equivalence can decide here.
        let whole = aim.readings_to_decide(*margin, aim.significance, 0.90);
        assert_eq!(whole, Some(needed.ceil() as usize));
        needed.ceil()
    };
    json!({ "pairs": case.numbers("margins").iter().map(pairs).collect::<Value>() })
}

fn agreement(case: &Case) -> Value {
    let columns = ["a1", "a2", "b1", "b2"].map(|name| case.numbers(name));
    let pieces: Vec<AgreementPiece> = (0..columns[0].len())
        .map(|piece| AgreementPiece {
            first: vec![columns[0][piece], columns[1][piece]],
            second: vec![columns[2][piece], columns[3][piece]],
        })
        .collect();
    let found = BlandAltman::of(&pieces, LimitsFactor::NinetyFive, 0.95).expect("agreement");
    let slope = found.slope.expect("a slope");
    let within = |method: usize| figure(found.repeats[method].map(|found| found.deviation));
    json!({
        "bias": found.bias.value,
        "se_bias": found.bias.standard_error,
        "deviation": found.deviation.deviation,
        "limits": ends(found.limits),
        "within": [within(0), within(1)],
        "slope": slope.value,
        "slope_error": slope.standard_error,
        "slope_p": figure(slope.probability_against(0.0)),
    })
}

fn limits(component: &Component) -> Value {
    match component.deviation_limits {
        Ok(limits) => ends(limits),
        Err(reason) => super::refused(reason),
    }
}

fn tagged<'a>(
    pieces: &'a [String],
    operators: &'a [String],
    values: &[f64],
) -> Vec<TaggedReading<'a>> {
    let tags = pieces.iter().zip(operators).zip(values);
    tags.map(|((piece, operator), &value)| TaggedReading {
        piece,
        operator,
        value,
    })
    .collect()
}

fn crossed_limits(case: &Case) -> Value {
    let (pieces, operators) = (case.column("part"), case.column("operator"));
    let table = Crossed::of(&tagged(&pieces, &operators, &case.readings())).expect("a table");
    let study = GaugeStudy::of(&table, GaugeSettings::usual(None)).expect("a study");
    let pooled = study.without_interaction.interaction.deviation_limits;
    assert!(matches!(pooled, Err(Undefined::NotInModel { .. })));
    let of = |found: &Components| {
        json!({
            "repeat": limits(&found.repeat), "operator": limits(&found.operator),
            "interaction": limits(&found.interaction),
            "reproducibility": limits(&found.reproducibility),
            "gauge": limits(&found.gauge), "piece": limits(&found.piece),
            "total": limits(&found.total),
        })
    };
    json!({
        "with_interaction": of(&study.with_interaction),
        "without_interaction": of(&study.without_interaction),
    })
}

fn nested_limits(case: &Case) -> Value {
    let (pieces, operators) = (case.column("part"), case.column("operator"));
    let readings = NestedReadings::of(&tagged(&pieces, &operators, &case.readings()));
    let found = NestedStudy::of(&readings.expect("a table"), GaugeSettings::usual(None));
    let found = found.expect("a study");
    json!({
        "repeat": limits(&found.repeat), "piece": limits(&found.piece),
        "operator": limits(&found.operator), "gauge": limits(&found.gauge),
        "total": limits(&found.total),
    })
}

fn stability(case: &Case) -> Value {
    let days = case.numbers("days").into_iter();
    let visits: Vec<Visit> = days
        .zip(case.numbers("readings"))
        .map(|(day, reading)| Visit {
            day,
            readings: vec![reading],
        })
        .collect();
    let found = Stability::of(&visits, Some(case.number("reference")), 0.05).expect("a course");
    let (line, chart) = (found.drift.expect("a line"), found.chart.expect("a chart"));
    let bias = found.bias().expect("a bias");
    json!({
        "slope": line.slope,
        "p": figure(line.slope_chance()),
        "lower": chart.limits.lower,
        "upper": chart.limits.upper,
        "bias": bias.value_mm,
        "bias_error": bias.standard_mm,
    })
}

fn spreads(case: &Case) -> Value {
    let deviation = |name: &str| Deviation::of(&case.numbers(name)).expect("a deviation");
    let (first, second) = (deviation("a"), deviation("b"));
    let limits = first.interval(0.95).expect("limits");
    let ratio = SpreadRatio::of(&first, &second, 0.95).expect("a ratio");
    json!({
        "deviation": first.deviation, "low": limits.low, "high": limits.high,
        "ratio": ratio.ratio, "ratio_low": ratio.interval.low, "ratio_high": ratio.interval.high,
        "p": ratio.probability,
    })
}

fn all_at_once(case: &Case) -> Value {
    let usual = ComparisonSettings::usual(Margin {
        length_mm: case.number("margin"),
        tolerance_mm: None,
    });
    let settings = ComparisonSettings {
        pairing: match case.inputs.get("apart") {
            Some(_) => Pairing::Apart,
            None => Pairing::Blocks,
        },
        ..usual
    };
    let found = Comparison::of(&methods(case), 0, settings).expect("a comparison");
    let means = || {
        found
            .against
            .iter()
            .map(|against| against.mean.expect("a mean"))
    };
    json!({
        "p": means().map(|mean| mean.probability).collect::<Value>(),
        "together_p": means().map(|mean| mean.adjusted.probability).collect::<Value>(),
        "limits": means().map(|mean| ends(mean.adjusted.interval)).collect::<Value>(),
    })
}
