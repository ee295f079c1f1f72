//! One-way analysis of variance.

use overwire_core::study::{OneWay, Summary, bartlett, levene, tukey};
use serde_json::{Value, json};

use super::{Case, figure, numbers};

/// Answers a case.
pub fn answer(case: &Case) -> Value {
    if case.has("day_mean_V") {
        return of_summaries(case);
    }
    if case.has("data_file") && case.id.starts_with("strd") {
        return of_counts(case);
    }
    let groups = named_groups(case);
    let readings: Vec<&[f64]> = groups.iter().map(|(_, group)| group.as_slice()).collect();
    let mut answer = table(&OneWay::of(&readings).expect("a table"));
    answer["levene_median"] = figure(levene(&readings).map(|ratio| ratio.ratio));
    answer["bartlett"] = figure(bartlett(&readings).map(|found| found.statistic));
    let pairs = tukey(&readings, 0.95).expect("pairs");
    let name = |group: usize| groups[group].0.as_str();
    let named = pairs
        .iter()
        .map(|pair| format!("{}-{}", name(pair.second), name(pair.first)));
    answer["tukey_pairs"] = named.collect();
    answer["tukey_diff"] = pairs.iter().map(|pair| pair.estimate.value).collect();
    answer["tukey_low"] = pairs
        .iter()
        .map(|pair| pair.adjusted.interval.low)
        .collect();
    answer["tukey_high"] = pairs
        .iter()
        .map(|pair| pair.adjusted.interval.high)
        .collect();
    answer["tukey_p"] = pairs.iter().map(|pair| pair.adjusted.probability).collect();
    answer
}

/// Groups by name: given outright, or by the first column of a file.
pub fn named_groups(case: &Case) -> Vec<(String, Vec<f64>)> {
    let Some(given) = case.inputs["groups"].as_object() else {
        let labels = case.column("batch");
        return grouped(&labels, &case.readings());
    };
    let group = |(name, readings): (&String, &Value)| (name.clone(), numbers(readings));
    given.iter().map(group).collect()
}

/// Readings by label, in the order of first mention.
pub fn grouped<R: Copy>(labels: &[String], readings: &[R]) -> Vec<(String, Vec<R>)> {
    let mut groups: Vec<(String, Vec<R>)> = Vec::new();
    for (label, reading) in labels.iter().zip(readings) {
        match groups.iter_mut().find(|(name, _)| name == label) {
            Some((_, group)) => group.push(*reading),
            None => groups.push((label.clone(), vec![*reading])),
        }
    }
    groups
}

fn table(table: &OneWay) -> Value {
    let ratio = table.ratio.expect("a ratio");
    json!({
        "df_between": table.between.degrees_of_freedom,
        "ss_between": table.between.squares,
        "ms_between": table.between.mean_square(),
        "F": ratio.ratio,
        "p": ratio.probability,
        "df_within": table.within.degrees_of_freedom,
        "ss_within": table.within.squares,
        "ms_within": table.within.mean_square(),
        "r_squared": figure(table.share_between()),
        "residual_sd": figure(table.deviation_within()),
    })
}

/// The readings as counts of the last place that any of them shows.
fn of_counts(case: &Case) -> Value {
    let shown = case.readings_as_shown();
    let places_of = |text: &String| text.split_once('.').map_or(0, |(_, places)| places.len());
    let places = shown.iter().map(places_of).max().expect("readings");
    let counts: Vec<i64> = shown
        .iter()
        .map(|text| {
            let missing = "0".repeat(places - places_of(text));
            let digits = format!("{}{missing}", text.replace('.', ""));
            digits.parse().expect("a count")
        })
        .collect();
    let groups = grouped(&case.column("group"), &counts);
    let groups: Vec<Vec<i64>> = groups.into_iter().map(|(_, counts)| counts).collect();
    assert_eq!(groups.len(), case.count("groups"), "{}", case.id);
    let step = 1.0 / 10_f64.powi(places as i32);
    let answer = table(&OneWay::of_counts(&groups, step).expect("a table"));
    to_certified_digits(case, &answer);
    answer
}

/// From counts every certified digit but the last must come out, also where plain numbers lose eleven
/// of them.
fn to_certified_digits(case: &Case, answer: &Value) {
    for key in [
        "ss_between",
        "ms_between",
        "F",
        "ss_within",
        "ms_within",
        "r_squared",
        "residual_sd",
    ] {
        let certified: f64 = case.expected_text(key).parse().expect("a certified value");
        let found = answer[key].as_f64().expect("a number");
        let off = (found / certified - 1.0).abs();
        assert!(
            off < 1e-14,
            "{} {key}: {found} against {certified}",
            case.id
        );
    }
}

fn of_summaries(case: &Case) -> Value {
    let count = case.count("K");
    let means = case.numbers("day_mean_V");
    let deviations = case.numbers("day_sd_uV");
    let groups: Vec<Summary> = means
        .iter()
        .zip(&deviations)
        .map(|(&mean, &deviation)| Summary {
            count,
            mean,
            deviation: deviation * 1e-6,
        })
        .collect();
    let table = OneWay::of_summaries(&groups).expect("a table");
    let of_means = table.between.mean_square().expect("between") / count as f64;
    json!({
        "grand_mean": table.mean,
        "s_means_uV": of_means.sqrt() * 1e6,
        "pooled_sd_uV": table.deviation_within().expect("within") * 1e6,
        "F": table.ratio.expect("a ratio").ratio,
    })
}
