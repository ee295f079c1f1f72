//! What a chart of a million readings costs: limits, capability, run rules.
//!
//! ```text
//! taskset -c 1 cargo bench -p overwire-core --bench process
//! ```
//!
//! With `PROCESS_READINGS` naming a file of doubles (`tools/bench/numpy_process.py` writes one, and does
//! the same with numpy), those are used, and the figures are printed to be held against the script's. With
//! `PROCESS_LIMITS` (`0.4619,0.4675`) they are held against those limits.

#![expect(
    clippy::disallowed_methods,
    reason = "the bench, unlike core, reads a file that it is told of"
)]

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use overwire_core::stats::capability::{
    Capability, CapabilitySettings, Evidence, Steadiness, Tolerance,
};
use overwire_core::stats::groups::{GroupChart, GroupSpread, Groups};
use overwire_core::stats::individuals::{self, Individuals, IndividualsSettings};
use overwire_core::stats::run_rules::{RunRules, Signals, Watch};
use overwire_core::stats::series::Series;

/// Readings on the chart.
const READINGS: usize = 1_000_000;

/// Readings in a group.
const GROUP: u32 = 5;

const LIMITS: (f64, f64) = (0.4671, 0.4679);

fn main() {
    if std::env::var_os("PROCESS_READINGS").is_some() {
        print_figures();
    }
    divan::main();
}

/// Readings from a file, or sums of twelve even deviates.
fn series() -> Series {
    let readings = match std::env::var_os("PROCESS_READINGS") {
        Some(path) => {
            let bytes = std::fs::read(path).expect("a readable file");
            let (doubles, _) = bytes.as_chunks();
            doubles
                .iter()
                .map(|bytes| f64::from_le_bytes(*bytes))
                .collect()
        }
        None => {
            let mut state = 1_u64;
            let mut even = move || {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                (state >> 11) as f64 / (1_u64 << 53) as f64
            };
            let mut normal = move || (0..12).map(|_| even()).sum::<f64>() - 6.0;
            (0..READINGS).map(|_| 0.4675 + 1e-4 * normal()).collect()
        }
    };
    Series::from_readings(readings).expect("finite readings")
}

fn tolerance() -> Tolerance {
    let (lower, upper) = match std::env::var("PROCESS_LIMITS") {
        Ok(text) => {
            let (lower, upper) = text.split_once(',').expect("two limits");
            let number = |text: &str| text.parse().expect("a number");
            (number(lower), number(upper))
        }
        Err(_) => LIMITS,
    };
    Tolerance::new(Some(lower), Some(upper)).expect("a tolerance")
}

fn capability(evidence: &Evidence) -> Capability {
    Capability::of(evidence, &tolerance(), CapabilitySettings::default()).expect("indices")
}

/// The chart of individuals and its capability.
fn of_individuals(series: &Series) -> (Individuals, Capability) {
    let sums = individuals::sums(series);
    let chart = Individuals::from_sums(&sums, IndividualsSettings::default()).expect("limits");
    let extremes = sums.extremes().expect("readings");
    let evidence = Evidence::of(chart.moments, extremes, chart.sigma, Steadiness::Unknown);
    (chart, capability(&evidence))
}

/// The charts of means and ranges and their capability.
fn of_groups(series: &Series) -> (Groups, GroupChart, Capability) {
    let groups = Groups::of_size(series, GROUP, GroupSpread::Range).expect("groups");
    let chart = GroupChart::of(&groups).expect("limits");
    let moments = groups.sums.moments().expect("readings");
    let extremes = groups.sums.extremes().expect("readings");
    let evidence = Evidence::of(moments, extremes, chart.sigma, Steadiness::Unknown);
    let capability = capability(&evidence);
    (groups, chart, capability)
}

fn bench<Made>(bencher: Bencher, work: impl Fn(&Series) -> Made + Sync) {
    let series = series();
    bencher
        .counter(ItemsCount::new(series.readings().len()))
        .bench_local(|| work(black_box(&series)));
}

/// The floor: one addition for each reading, in lanes.
#[divan::bench]
fn one_pass_over_memory(bencher: Bencher) {
    bench(bencher, |series| {
        let (chunks, _) = series.readings().as_chunks::<8>();
        let add = |mut sums: [f64; 8], chunk: &[f64; 8]| {
            for (sum, reading) in sums.iter_mut().zip(chunk) {
                *sum += reading;
            }
            sums
        };
        chunks.iter().fold([0.0; 8], add)
    });
}

#[divan::bench]
fn limits_and_capability_of_individuals(bencher: Bencher) {
    bench(bencher, of_individuals);
}

#[divan::bench]
fn limits_and_capability_of_groups(bencher: Bencher) {
    bench(bencher, of_groups);
}

#[divan::bench]
fn eight_rules_on_individuals(bencher: Bencher) {
    let zones = of_individuals(&series()).0.limits.zones();
    bench(bencher, |series| {
        Signals::find(series, zones, RunRules::nelson())
    });
}

#[divan::bench]
fn four_rules_on_individuals(bencher: Bencher) {
    let zones = of_individuals(&series()).0.limits.zones();
    bench(bencher, |series| {
        Signals::find(series, zones, RunRules::western_electric())
    });
}

#[divan::bench]
fn eight_rules_on_group_means(bencher: Bencher) {
    let (groups, chart, _) = of_groups(&series());
    bencher
        .counter(ItemsCount::new(groups.len()))
        .bench_local(|| chart.mean_signals(black_box(&groups), RunRules::nelson()));
}

/// As a live chart takes them.
#[divan::bench]
fn eight_rules_point_by_point(bencher: Bencher) {
    let zones = of_individuals(&series()).0.limits.zones();
    bench(bencher, |series| {
        let mut watch = Watch::new(RunRules::nelson(), zones);
        let hits = series
            .readings()
            .iter()
            .filter(|&&reading| !watch.next(reading).is_empty());
        hits.count()
    });
}

/// Everything about groups: both charts, both sets of rules, capability.
#[divan::bench]
fn everything_of_groups(bencher: Bencher) {
    bench(bencher, |series| {
        let (groups, chart, capability) = of_groups(series);
        let eight = chart.mean_signals(&groups, RunRules::nelson());
        let four = chart.mean_signals(&groups, RunRules::western_electric());
        let spreads = chart.spread_signals(&groups, RunRules::nelson());
        (capability, eight, four, spreads)
    });
}

fn print_figures() {
    let series = series();
    let (groups, chart, capability) = of_groups(&series);
    let within = capability.within.as_ref().expect("a sigma within");
    let ranges = groups.spreads.readings();
    println!("centre {:?}", chart.centre);
    println!(
        "mean range {:?}",
        ranges.iter().sum::<f64>() / ranges.len() as f64
    );
    println!("limits {:?}", chart.mean_limits(GROUP));
    println!("limits of ranges {:?}", chart.spread_limits(GROUP));
    println!("Cp {:?}", within.both.map(|index| index.value));
    println!("Cpk {:?} Ppk {:?}", within.least, capability.overall.least);
    print_counts(
        "means",
        &chart
            .mean_signals(&groups, RunRules::nelson())
            .expect("limits"),
    );
    print_counts(
        "means",
        &chart
            .mean_signals(&groups, RunRules::western_electric())
            .expect("limits"),
    );
    print_counts(
        "ranges",
        &chart
            .spread_signals(&groups, RunRules::nelson())
            .expect("limits"),
    );
    let (chart, capability) = of_individuals(&series);
    let within = capability.within.as_ref().expect("a sigma within");
    println!(
        "individuals: limits {:?}, mean moving range {:?}",
        chart.limits, chart.range_limits.centre
    );
    println!(
        "Cpk {:?} Ppk {:?}",
        within.least.value, capability.overall.least.value
    );
    print_counts("individuals", &chart.signals(&series, RunRules::nelson()));
}

fn print_counts(of: &str, signals: &Signals) {
    let counts = signals.rules.on().iter().map(|rule| {
        let number = rule.number(signals.rules.book()).unwrap_or_default();
        format!("{number}: {}", signals.count(rule))
    });
    let counts: Vec<String> = counts.collect();
    println!(
        "{of}, {}: {}",
        signals.rules.book().words(),
        counts.join(", ")
    );
    println!("  {:?} {:?}", signals.coarseness, Steadiness::of(signals));
}
