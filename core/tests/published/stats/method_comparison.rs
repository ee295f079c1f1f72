//! Methods held against each other.

use overwire_core::stats::distribution::{Dunnett, Sides, studentized_range_quantile};
use overwire_core::study::{
    Aim, Basis, BlandAltman, Deviation, Difference, Equivalence, LimitsFactor, OneWay, SpreadRatio,
    bartlett, dunnett, levene, repeat_differences, tukey, welch,
};
use serde_json::{Value, json};

use super::anova_oneway::{grouped, named_groups};
use super::{Case, figure};

/// Answers a case.
pub fn answer(case: &Case) -> Value {
    match case.id.as_str() {
        "bland-altman-1986" => agreement(case),
        "bland-altman-repeat" => repeats(case),
        "nist-eda359-ftest" => two_spreads(case),
        "f-sd-ratio" => spread_ratio(case),
        "anova-tukey-aids" => methods(case),
        "dunnett-ops" => against_first(case),
        id if id.starts_with("tost-paired") => equivalence(case),
        id if id.starts_with("q-tukey") => studentized_range(case),
        id if id.starts_with("dunnett-crit") => dunnett_factors(case),
        id if id.starts_with("power-paired") => pairs_needed(case),
        other => panic!("{other}: nothing answers it"),
    }
}

fn agreement(case: &Case) -> Value {
    let factor = LimitsFactor::Times(case.number("factor"));
    let found = BlandAltman::of_pairs(&case.numbers("a"), &case.numbers("b"), factor, 0.95);
    let found = found.expect("agreement");
    json!({
        "bias": found.bias.value,
        "sd": found.deviation.deviation,
        "limits": [found.limits.low, found.limits.high],
        "se_bias": found.bias.standard_error,
        "ci_bias": [found.bias_interval.low, found.bias_interval.high],
        "se_limit": found.limit_error,
        "ci_lower_limit": [found.lower_limit_interval.low, found.lower_limit_interval.high],
        "ci_upper_limit": [found.upper_limit_interval.low, found.upper_limit_interval.high],
    })
}

fn repeats(case: &Case) -> Value {
    let deviation = |one: &str, other: &str| {
        let pieces = case.numbers(one).into_iter().zip(case.numbers(other));
        let pieces: Vec<[f64; 2]> = pieces.map(|(one, other)| [one, other]).collect();
        repeat_differences(&pieces).expect("a deviation").deviation
    };
    let (of_a, of_b) = (deviation("a1", "a2"), deviation("b1", "b2"));
    // The paper rounds a deviation to one place before it doubles it.
    let doubled = |deviation: f64| 2.0 * (deviation * 10.0).round() / 10.0;
    json!({
        "sd_a": of_a, "coef_a": doubled(of_a), "exact_a": of_a,
        "sd_b": of_b, "coef_b": doubled(of_b), "exact_b": of_b,
    })
}

fn two_spreads(case: &Case) -> Value {
    let groups = grouped(&case.column("batch"), &case.readings());
    let deviation = |group: usize| Deviation::of(&groups[group].1).expect("a deviation");
    let (first, second) = (deviation(0), deviation(1));
    let ratio = SpreadRatio::of(&first, &second, 0.95).expect("a ratio");
    json!({ "F": ratio.f, "sd1": first.deviation, "sd2": second.deviation })
}

fn spread_ratio(case: &Case) -> Value {
    let deviation = |name: &str| Deviation::of(&case.numbers(name)).expect("a deviation");
    let ratio = SpreadRatio::of(&deviation("a"), &deviation("b"), 0.95).expect("a ratio");
    json!({
        "F": ratio.f,
        "ratio_sd": ratio.ratio,
        "ci_sd_ratio": [ratio.interval.low, ratio.interval.high],
        "p_one_sided": ratio.probability_above,
    })
}

fn equivalence(case: &Case) -> Value {
    let pairs = Difference::of_pairs(&case.numbers("a"), &case.numbers("b"), 0.0);
    let difference = pairs.expect("a difference");
    let (margin, significance) = (case.number("margin"), case.number("alpha"));
    let found = Equivalence::test(&difference.estimate, margin, significance).expect("a test");
    json!({
        "mean_diff": difference.estimate.value,
        "sd_diff": difference.deviation_of_pairs().expect("a deviation").deviation,
        "t_lower": found.t_lower,
        "p_lower": found.probability_lower,
        "t_upper": found.t_upper,
        "p_upper": found.probability_upper,
        "p": found.probability(),
        "ci90": [found.interval.low, found.interval.high],
        "equivalent": found.is_shown(),
    })
}

fn methods(case: &Case) -> Value {
    // An object does not keep the order of its names; these stand in that of the expected pairs.
    let order = ["baseline", "grease", "foam", "clip"];
    let mut groups = named_groups(case);
    groups.sort_by_key(|(name, _)| order.iter().position(|one| one == name));
    let readings: Vec<&[f64]> = groups.iter().map(|(_, group)| group.as_slice()).collect();
    let ratio = OneWay::of(&readings)
        .expect("a table")
        .ratio
        .expect("a ratio");
    let by_welch = welch(&readings).expect("a ratio");
    let pairs = tukey(&readings, 0.95).expect("pairs");
    let name = |group: usize| groups[group].0.as_str();
    let named = pairs
        .iter()
        .map(|pair| format!("{}-{}", name(pair.second), name(pair.first)));
    let deviations = readings
        .iter()
        .map(|group| figure(Deviation::of(group).map(|d| d.deviation)));
    json!({
        "F": ratio.ratio,
        "p": ratio.probability,
        "levene_median": figure(levene(&readings).map(|ratio| ratio.ratio)),
        "bartlett": figure(bartlett(&readings).map(|found| found.statistic)),
        "welch_F": by_welch.ratio,
        "welch_p": by_welch.probability,
        "pairs": named.collect::<Value>(),
        "diff": pairs.iter().map(|pair| pair.estimate.value).collect::<Value>(),
        "low": pairs.iter().map(|pair| pair.adjusted.interval.low).collect::<Value>(),
        "high": pairs.iter().map(|pair| pair.adjusted.interval.high).collect::<Value>(),
        "p_adj": pairs.iter().map(|pair| pair.adjusted.probability).collect::<Value>(),
        "sd_each": deviations.collect::<Value>(),
    })
}

fn against_first(case: &Case) -> Value {
    let groups = named_groups(case);
    let readings: Vec<&[f64]> = groups.iter().map(|(_, group)| group.as_slice()).collect();
    let pairs = dunnett(&readings, 0, 0.95).expect("comparisons");
    let name = |group: usize| groups[group].0.as_str();
    let named = pairs
        .iter()
        .map(|pair| format!("{} - {}", name(pair.second), name(pair.first)));
    let t = pairs
        .iter()
        .map(|pair| figure(pair.estimate.t_against(0.0)));
    let first = &pairs[0];
    let reach = first.adjusted.interval.high - first.estimate.value;
    json!({
        "names": named.collect::<Value>(),
        "estimate": pairs.iter().map(|pair| pair.estimate.value).collect::<Value>(),
        "t": t.collect::<Value>(),
        "p": pairs.iter().map(|pair| pair.adjusted.probability).collect::<Value>(),
        "crit": reach / first.estimate.standard_error,
        "low": pairs.iter().map(|pair| pair.adjusted.interval.low).collect::<Value>(),
        "high": pairs.iter().map(|pair| pair.adjusted.interval.high).collect::<Value>(),
    })
}

fn studentized_range(case: &Case) -> Value {
    let groups = case.count("k") as u32;
    let upper = |probability| {
        studentized_range_quantile(probability, groups, case.number("df")).expect("a quantile")
    };
    json!({ "q05": upper(0.95), "q01": upper(0.99), "q05_table": upper(0.95) })
}

fn dunnett_factors(case: &Case) -> Value {
    let comparisons = Dunnett::equal(case.count("k"), case.number("df")).expect("comparisons");
    let factor = |sides| comparisons.quantile(0.95, sides).expect("a factor");
    let (both, one) = (factor(Sides::Both), factor(Sides::One));
    json!({ "two_sided": both, "one_sided": one, "table": [both, one] })
}

fn pairs_needed(case: &Case) -> Value {
    let aim = Aim {
        difference: case.number("delta_over_sd"),
        basis: Basis::Pairs { deviation: 1.0 },
        significance: 0.05,
    };
    let needed = aim.readings_for_difference(0.90).expect("a number");
    json!({ "n": needed, "n_ceil": needed.ceil() })
}
