//! Studies of the measurement.

use overwire_core::study::{
    Agreement, AverageRange, CategoriesFactor, Components, Crossed, GaugeConvention, GaugeSettings,
    GaugeStudy, GaugeTable, Level, Linearity, NestedReadings, NestedStudy, OnePiece,
    OnePieceSettings, Pooling, RangeBias, RangeDivisors, RangeFactors, TaggedReading,
};
use serde_json::{Value, json};

use super::{Case, figure};

/// Answers a case.
pub fn answer(case: &Case) -> Value {
    match case.id.as_str() {
        "aiag-avgrange" => average_range(case),
        "aiag-anova" => pooled(case),
        "montgomery-grr" => both_models(case),
        "montgomery-gauge-pt" => one_operator(case),
        "syn-grr" => synthetic(case),
        "nested-3x5x3" => nested(case),
        "aiag-bias-range" => bias_from_range(case),
        "aiag-linearity" => linearity(case),
        "t1-good" | "t1-bias" => one_piece(case),
        id if id.starts_with("aiag-kappa") => kappa(case),
        other => panic!("{other}: nothing answers it"),
    }
}

/// The readings of a file, by piece and operator.
fn crossed(case: &Case, operator: &str) -> Crossed {
    let (pieces, operators) = (case.column("part"), case.column(operator));
    let readings = tagged(&pieces, &operators, case.readings());
    Crossed::of(&readings).expect("a balanced table")
}

fn tagged<'a>(
    pieces: &'a [String],
    operators: &'a [String],
    values: Vec<f64>,
) -> Vec<TaggedReading<'a>> {
    let tags = pieces.iter().zip(operators).zip(values);
    tags.map(|((piece, operator), value)| TaggedReading {
        piece,
        operator,
        value,
    })
    .collect()
}

fn percent(share: f64) -> f64 {
    100.0 * share
}

fn average_range(case: &Case) -> Value {
    let factors = RangeFactors {
        repeats: case.number("K1"),
        operators: case.number("K2"),
        pieces: case.number("K3"),
    };
    let table = crossed(case, "appraiser");
    let found = AverageRange::with(&table, factors, GaugeSettings::usual(None));
    ranges(&found.expect("a study"))
}

fn ranges(found: &AverageRange) -> Value {
    let share = |deviation| percent(found.share_of_study(deviation).expect("a share"));
    let categories = found.categories.expect("categories");
    json!({
        "Rbar": found.mean_range, "xdiff": found.operator_range, "Rp": found.piece_range,
        "EV": found.repeat, "AV": found.operator, "GRR": found.gauge, "PV": found.piece,
        "TV": found.total,
        "pct_EV": share(found.repeat), "pct_AV": share(found.operator),
        "pct_GRR": share(found.gauge), "pct_PV": share(found.piece),
        "ndc": categories.whole(), "ndc_raw": categories.exact,
    })
}

fn pooled(case: &Case) -> Value {
    let table = crossed(case, "appraiser");
    let study = GaugeStudy::of(&table, GaugeSettings::usual(None)).expect("a study");
    assert!(study.pooled, "interaction above 0.25 is pooled");
    let found = study.components();
    let squares = &study.table;
    json!({
        "ss_part": squares.pieces.squares, "ss_op": squares.operators.squares,
        "ss_int": squares.interaction.squares, "ss_rep": squares.repeats.squares,
        "ss_total": squares.total().squares,
        "F_int_over_equipment": squares.interaction_ratio().expect("a ratio").ratio,
        "var_rep": found.repeat.variance, "var_op": found.operator.variance,
        "var_int": found.interaction.variance, "var_grr": found.gauge.variance,
        "var_part": found.piece.variance,
        "sd_rep": found.repeat.deviation(), "sd_op": found.operator.deviation(),
        "sd_grr": found.gauge.deviation(), "sd_part": found.piece.deviation(),
        "sd_total": found.total.deviation(),
        "pct_rep": percent(found.repeat.share_of_study),
        "pct_op": percent(found.operator.share_of_study),
        "pct_grr": percent(found.gauge.share_of_study),
        "pct_part": percent(found.piece.share_of_study),
        "ndc": found.categories.expect("categories").whole(),
    })
}

fn both_models(case: &Case) -> Value {
    let table = crossed(case, "operator");
    let study = GaugeStudy::of(&table, GaugeSettings::usual(None)).expect("a study");
    let (full, reduced) = (&study.with_interaction, &study.without_interaction);
    let squares = &study.table;
    json!({
        "ss_part": squares.pieces.squares, "ss_op": squares.operators.squares,
        "ss_int": squares.interaction.squares, "ss_rep": squares.repeats.squares,
        "ss_total": squares.total().squares,
        "F_part": full.piece_ratio.expect("a ratio").ratio,
        "F_op": full.operator_ratio.expect("a ratio").ratio,
        "F_int": squares.interaction_ratio().expect("a ratio").ratio,
        "var_part_full": full.piece.variance, "var_op_full": full.operator.variance,
        "var_int_raw": full.interaction.raw_variance, "var_rep_full": full.repeat.variance,
        "var_rep_reduced": reduced.repeat.variance, "var_op_reduced": reduced.operator.variance,
        "var_part_reduced": reduced.piece.variance, "var_grr_reduced": reduced.gauge.variance,
    })
}

/// One operator, deviations from the mean range by the printed d2.
fn one_operator(case: &Case) -> Value {
    use overwire_core::study::GaugeTolerance;
    let rows = case.rows("subgroups");
    let names: Vec<String> = (0..rows.len()).map(|piece| piece.to_string()).collect();
    let readings: Vec<TaggedReading> = names
        .iter()
        .zip(&rows)
        .flat_map(|(piece, row)| {
            row.iter().map(move |&value| TaggedReading {
                piece,
                operator: "one",
                value,
            })
        })
        .collect();
    let table = Crossed::of(&readings).expect("a table");
    let width = case.number("usl") - case.number("lsl");
    let settings = GaugeSettings::usual(Some(GaugeTolerance::Between(width)));
    let factors = RangeFactors {
        repeats: 1.0 / case.number("d2"),
        ..RangeFactors::computed(2, 1, rows.len()).expect("factors")
    };
    let found = AverageRange::with(&table, factors, settings).expect("a study");
    json!({
        "xbarbar": GaugeTable::of(&table).expect("a table").mean,
        "rbar": found.mean_range,
        "sigma_gauge": found.gauge,
        "PT": found.share_of_tolerance(found.gauge).expect("a share"),
    })
}

fn synthetic(case: &Case) -> Value {
    let table = crossed(case, "operator");
    let settings = GaugeSettings {
        categories: CategoriesFactor::Exact,
        pooling: Pooling::Never,
        ..GaugeSettings::usual(None)
    };
    let study = GaugeStudy::of(&table, settings).expect("a study");
    // The averages and ranges of this case count categories by 1.41.
    let by_range = AverageRange::of(&table, GaugeSettings::usual(None)).expect("a study");
    let squares = &study.table;
    let interaction = squares.interaction_ratio().expect("a ratio");
    let mean_square = |variation: &overwire_core::study::Variation| variation.mean_square();
    let full = &study.with_interaction;
    json!({
        "anova": {
            "df_part": squares.pieces.degrees_of_freedom,
            "df_op": squares.operators.degrees_of_freedom,
            "df_int": squares.interaction.degrees_of_freedom,
            "df_rep": squares.repeats.degrees_of_freedom,
            "ss_part": squares.pieces.squares, "ss_op": squares.operators.squares,
            "ss_int": squares.interaction.squares, "ss_rep": squares.repeats.squares,
            "ss_total": squares.total().squares,
            "ms_part": mean_square(&squares.pieces), "ms_op": mean_square(&squares.operators),
            "ms_int": mean_square(&squares.interaction), "ms_rep": mean_square(&squares.repeats),
            "F_int": interaction.ratio, "p_int": interaction.probability,
            "with_interaction": model(full),
            "without_interaction": model(&study.without_interaction),
        },
        "avgrange": ranges(&by_range),
        // Nothing is clipped at zero here: then this estimate is that of analysis of variance.
        "reml_full": {
            "p:o": full.interaction.variance, "p": full.piece.variance,
            "o": full.operator.variance, "Residual": full.repeat.variance,
        },
    })
}

fn model(found: &Components) -> Value {
    let categories = found.categories.expect("categories");
    json!({
        "ms_pool": found.error.mean_square(), "df_pool": found.error.degrees_of_freedom,
        "F_part": found.piece_ratio.expect("a ratio").ratio,
        "p_part": found.piece_ratio.expect("a ratio").probability,
        "F_op": found.operator_ratio.expect("a ratio").ratio,
        "p_op": found.operator_ratio.expect("a ratio").probability,
        "var_rep": found.repeat.variance, "var_int": found.interaction.variance,
        "var_op": found.operator.variance, "var_part": found.piece.variance,
        "var_repro": found.reproducibility.variance, "var_grr": found.gauge.variance,
        "var_total": found.total.variance,
        "sd_rep": found.repeat.deviation(), "sd_repro": found.reproducibility.deviation(),
        "sd_grr": found.gauge.deviation(), "sd_part": found.piece.deviation(),
        "sd_total": found.total.deviation(),
        "pct_study_grr": percent(found.gauge.share_of_study),
        "pct_contrib_grr": percent(found.gauge.contribution),
        "ndc_raw": categories.exact, "ndc": categories.whole(),
    })
}

fn nested(case: &Case) -> Value {
    let (operators, pieces) = (case.column("operator"), case.column("part"));
    let readings = tagged(&pieces, &operators, case.readings());
    let readings = NestedReadings::of(&readings).expect("a balanced table");
    let found = NestedStudy::of(&readings, GaugeSettings::usual(None)).expect("a study");
    json!({
        "ss_op": found.operators.squares, "ss_part_in_op": found.pieces.squares,
        "ss_rep": found.repeats.squares,
        "F_op": found.operator_ratio.expect("a ratio").ratio,
        "F_part": found.piece_ratio.expect("a ratio").ratio,
        "var_rep": found.repeat.variance, "var_part": found.piece.variance,
        "var_op_raw": found.operator.raw_variance, "var_op": found.operator.variance,
        "sd_grr": found.gauge.deviation(),
    })
}

fn bias_from_range(case: &Case) -> Value {
    let divisors = RangeDivisors {
        mean: case.number("d2"),
        few: case.number("d2_star"),
        degrees_of_freedom: case.number("nu"),
    };
    let found = RangeBias::of(&case.readings(), case.number("reference"), &divisors, 0.95);
    let found = found.expect("a bias");
    let plain = found.estimate.interval(0.95).expect("an interval");
    json!({
        "mean": found.mean, "bias": found.estimate.value, "sigma_r": found.deviation,
        "sigma_b": found.estimate.standard_error, "t": figure(found.estimate.t_against(0.0)),
        "t_crit": (plain.high - found.estimate.value) / found.estimate.standard_error,
        "ci": [found.interval.low, found.interval.high],
    })
}

fn linearity(case: &Case) -> Value {
    let rows = case.rows("readings").into_iter();
    let levels: Vec<Level> = case
        .numbers("reference")
        .into_iter()
        .zip(rows)
        .map(|(reference, readings)| Level {
            reference,
            readings,
        })
        .collect();
    let found = Linearity::of(&levels, 0.95).expect("a line");
    json!({
        "bias_mean": found.levels.iter().map(|level| level.bias).collect::<Value>(),
        "slope": found.line.slope, "intercept": found.line.intercept,
        "s": figure(found.line.residual_deviation()), "R2": figure(found.line.explained()),
        "t_slope": figure(found.line.slope_student()),
        "t_intercept": figure(found.line.intercept_student()),
        "t_crit": found.critical,
    })
}

fn one_piece(case: &Case) -> Value {
    let study = |convention| {
        let settings = OnePieceSettings {
            convention,
            share: case.number("share"),
            ..OnePieceSettings::usual(
                Some(case.number("reference")),
                Some(case.number("tolerance")),
            )
        };
        OnePiece::of(&case.readings(), settings).expect("a study")
    };
    let (six, four) = (
        study(GaugeConvention::SixDeviations),
        study(GaugeConvention::FourDeviations),
    );
    let (bias, fit) = (six.bias.expect("a bias"), six.fit.expect("a fit"));
    let fit_four = four.fit.expect("a fit");
    json!({
        "bias": bias.estimate.value, "s": six.deviation.deviation,
        "Cg_6s": figure(fit.repeat_index), "Cgk_6s": figure(fit.bias_index.expect("an index")),
        "Cg_4s": figure(fit_four.repeat_index),
        "Cgk_4s": figure(fit_four.bias_index.expect("an index")),
        "t": figure(bias.t), "p": figure(bias.probability),
        "pct_var_rep": percent(fit.repeat_share),
        "pct_var_rep_bias": figure(fit.whole_share.expect("a share").map(percent)),
    })
}

fn kappa(case: &Case) -> Value {
    let [both_refused, first_refused, second_refused, both_passed] = case.numbers("table")[..]
    else {
        panic!("{}: four counts", case.id);
    };
    let counts = Agreement {
        both_refused: both_refused as u32,
        first_refused: first_refused as u32,
        second_refused: second_refused as u32,
        both_passed: both_passed as u32,
    };
    let kappa = figure(counts.kappa());
    json!({
        "po": figure(counts.agreement()), "pe": figure(counts.by_chance()),
        "kappa": kappa, "kappa_printed": kappa,
        "kappa_error": figure(counts.kappa_error()),
        "kappa_interval": counts
            .kappa_interval(0.95)
            .map_or(Value::Null, |interval| json!([interval.low, interval.high])),
    })
}
