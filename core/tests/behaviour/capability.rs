//! Capability: refusals, cautions, intervals, distributions.
//!
//! Values marked scipy were computed with scipy 1.17.1.

use overwire_core::stats::capability::{
    Capability, CapabilitySettings, Caution, Evidence, Fitted, Index, Indices, IntervalMethod,
    PercentileIndices, ReadingsOf, Refusal, Refused, Shape, Steadiness, Tolerance,
    one_sided_interval,
};
use overwire_core::stats::individuals::{self, Individuals, IndividualsSettings};
use overwire_core::stats::limits::{Sigma, SigmaBasis};
use overwire_core::stats::run_rules::{RunRules, Signals, Zones};
use overwire_core::stats::series::Series;
use overwire_core::stats::{Moments, Undefined};
use overwire_core::units::Unit;

use crate::normal_numbers;

fn moments(count: usize, mean: f64, deviation: f64) -> Moments {
    Moments {
        count,
        mean,
        sum_of_squares: deviation * deviation * (count as f64 - 1.0),
    }
}

fn evidence(count: usize) -> Evidence {
    Evidence {
        steadiness: Steadiness::Steady { hits: 0 },
        step: Some(0.001),
        ..Evidence::without_chart(moments(count, 10.0, 0.01), (9.98, 10.02))
    }
}

fn tolerance() -> Tolerance {
    Tolerance::new(Some(9.95), Some(10.05)).expect("a tolerance")
}

fn of(evidence: &Evidence, tolerance: &Tolerance) -> Result<Capability, Box<Refused>> {
    Capability::of(evidence, tolerance, CapabilitySettings::default())
}

#[test]
fn indices_are_refused_with_every_reason_and_plain_figures() {
    let poor = Evidence {
        steadiness: Steadiness::NotSteady { hits: 2 },
        readings_of: ReadingsOf::OnePiece,
        ..evidence(9)
    };
    let refused = of(&poor, &tolerance()).expect_err("refused");
    let codes: Vec<&str> = refused.reasons.iter().map(Refusal::code).collect();
    assert_eq!(codes, ["one-piece", "too-few-pieces", "not-steady"]);
    assert_eq!(
        refused.figures(Unit::Millimetre, 3),
        "9 pieces from 9.980 mm to 10.020 mm, mean 10.0000 mm, standard deviation 0.0100 mm; limits \
         9.950 mm and 10.050 mm."
    );
    assert!(
        refused
            .sentence()
            .starts_with("No capability index. These are repeat readings")
    );
    let flat = Evidence {
        moments: moments(40, 10.0, 0.0),
        ..evidence(40)
    };
    let refused = of(&flat, &tolerance()).expect_err("refused");
    assert_eq!(refused.reasons, [Refusal::Undefined(Undefined::NoSpread)]);
    assert!(of(&evidence(10), &tolerance()).is_ok());
}

/// With limits frozen from the first of many pieces sigma is known from those alone.
#[test]
fn an_index_is_as_firm_as_its_sigma() {
    let sigma_from = |count: usize| Evidence {
        within: Some(Sigma {
            sigma: 0.01,
            basis: SigmaBasis::MeanMovingRange,
            degrees_of_freedom: 0.6 * count as f64,
            count,
        }),
        ..evidence(60)
    };
    let refused = of(&sigma_from(5), &tolerance()).expect_err("refused");
    assert_eq!(refused.reasons, [Refusal::FewBehindSigma { found: 5 }]);
    assert!(
        refused
            .sentence()
            .contains("Sigma comes from 5 pieces only")
    );
    let provisional = of(&sigma_from(12), &tolerance()).expect("indices");
    let told = provisional.sentence();
    assert!(
        told.starts_with("Provisional, from 60 pieces, sigma from 12 of them: Cpk lies between"),
        "{told}"
    );
    assert_eq!(provisional.cautions, [Caution::Provisional { found: 12 }]);
    let firm = of(&sigma_from(60), &tolerance())
        .expect("indices")
        .sentence();
    assert!(firm.contains("from 60 pieces, between"), "{firm}");
}

/// Where no chart was looked at, no index leads, and there is none where the sums already speak against it: 60 pieces
/// that spread 1.3 times as much as from one to the next. ln 1.3 = 0.262, 1.6/√60 = 0.207.
#[test]
fn without_a_chart_no_index_leads() {
    let sums = |within: f64| Evidence {
        steadiness: Steadiness::Unknown,
        within: Some(Sigma {
            sigma: within,
            basis: SigmaBasis::MeanMovingRange,
            degrees_of_freedom: 36.0,
            count: 60,
        }),
        ..evidence(60)
    };
    let found = of(&sums(0.01), &tolerance()).expect("indices");
    assert!(
        found
            .sentence()
            .starts_with("If the process is steady, which is not asked")
    );
    assert!(found.settings_words().contains("a chart was not looked at"));
    let refused = of(&sums(0.01 / 1.3), &tolerance()).expect_err("refused");
    let told = refused.sentence();
    assert!(
        told.contains("overall they spread 1.3 times as much"),
        "{told}"
    );
    let looked = Evidence {
        steadiness: Steadiness::Steady { hits: 0 },
        ..sums(0.01 / 1.3)
    };
    assert!(
        of(&looked, &tolerance()).is_ok(),
        "the chart says it better"
    );
}

#[test]
fn cautions_say_what_weakens_an_index() {
    let codes = |evidence: &Evidence| -> Vec<&'static str> {
        let capability = of(evidence, &tolerance()).expect("indices");
        assert_eq!(
            capability.caution_sentences(Unit::Millimetre, 3).len(),
            capability.cautions.len()
        );
        capability.cautions.iter().map(Caution::code).collect()
    };
    assert_eq!(codes(&evidence(30)), Vec::<&str>::new());
    let weak = Evidence {
        steadiness: Steadiness::Unknown,
        step: Some(0.02),
        range_limit: Some(0.037),
        gauge: Some(0.006),
        normality: Some(0.01),
        extremes: (9.94, 10.02),
        ..evidence(29)
    };
    assert_eq!(
        codes(&weak),
        [
            "provisional",
            "steadiness-unknown",
            "gauge-blurs",
            "not-normal",
            "pieces-outside",
            "step-coarse-for-tolerance",
            "step-coarse-for-ranges",
            "step-coarse-for-spread",
        ]
    );
    let capability = of(&weak, &tolerance()).expect("indices");
    let blurred = capability
        .cautions
        .iter()
        .find_map(|caution| match caution {
            Caution::GaugeBlurs { without_gauge, .. } => *without_gauge,
            _ => None,
        });
    assert!((blurred.expect("a sigma") - 0.008).abs() < 1e-12);
    assert!(capability.sentence().starts_with(
        "If the process is steady, which is not asked here: Provisional, from 29 pieces: Ppk lies"
    ));
    let firm = of(&evidence(50), &tolerance()).expect("indices");
    assert!(
        firm.sentence()
            .starts_with("Ppk = 1.67 from 50 pieces, between")
    );
}

/// Each end of the exact interval gives the index found the probability it should have (checked with
/// scipy.stats.nct); Bissell's lies close by.
#[test]
fn one_limit_has_an_exact_interval() {
    let lower_only = Tolerance::new(Some(9.96), None).expect("a tolerance");
    let capability = of(&evidence(30), &lower_only).expect("indices");
    let Indices {
        both,
        upper,
        lower,
        least,
        ..
    } = capability.overall;
    assert_eq!((both, upper), (None, None));
    assert_eq!(lower, Some(least));
    assert_eq!(least.method, IntervalMethod::NoncentralStudent);
    let interval = one_sided_interval(4.0 / 3.0, 30, 0.95).expect("an interval");
    assert!((least.interval.low - interval.low).abs() < 1e-9);
    let settings = CapabilitySettings {
        one_limit: IntervalMethod::Bissell,
        ..CapabilitySettings::default()
    };
    let approximate = Capability::of(&evidence(30), &lower_only, settings).expect("indices");
    let Index {
        interval: about,
        at_least,
        ..
    } = approximate.overall.least;
    assert!((about.low - interval.low).abs() < 0.02 && (about.high - interval.high).abs() < 0.02);
    assert!(at_least > about.low && at_least < 4.0 / 3.0);
    assert!(
        capability.about_target.is_err(),
        "no Cpm without two limits"
    );
    assert_ne!(
        settings.settings_words(),
        CapabilitySettings::default().settings_words()
    );
}

#[test]
fn cpm_counts_the_distance_from_the_target() {
    let centred = of(&evidence(50), &tolerance()).expect("indices");
    let pp = centred.overall.both.expect("two limits").value;
    assert!((centred.about_target.expect("Cpm") - pp).abs() < 1e-9);
    let aimed = tolerance().with_target(10.02).expect("a target");
    let off = of(&evidence(50), &aimed).expect("indices");
    let expected = 0.1 / (6.0 * (0.0001_f64 + 0.0004).sqrt());
    assert!((off.about_target.expect("Cpm") - expected).abs() < 1e-9);
}

/// A limit is told as it was given, also beside readings of fewer places.
#[test]
fn limits_are_told_as_they_were_given() {
    let inches = |number: f64| number * 25.4;
    let limits = Tolerance::new(Some(inches(0.4435)), Some(inches(0.449))).expect("a tolerance");
    let told = limits.words(Unit::Inch, 3);
    assert_eq!(told, "limits 0.4435 in and 0.449 in");
    let limits = Tolerance::new(Some(11.9), None).expect("a tolerance");
    assert_eq!(
        limits.words(Unit::Millimetre, 0),
        "lower limit 11.9 mm, no upper limit"
    );
}

#[test]
fn tolerances_that_make_no_sense_are_refused() {
    assert!(Tolerance::new(None, None).is_err());
    assert!(Tolerance::new(Some(2.0), Some(1.0)).is_err());
    assert!(Tolerance::new(Some(2.0), Some(2.0)).is_err());
    assert!(Tolerance::new(Some(f64::NAN), Some(2.0)).is_err());
    assert!(tolerance().with_target(f64::INFINITY).is_err());
}

fn steadiness(readings: Vec<f64>) -> Steadiness {
    let series = Series::from_readings(readings).expect("finite");
    let chart = Individuals::of(&series, IndividualsSettings::default()).expect("limits");
    Steadiness::of(&chart.signals(&series, RunRules::usual()))
}

/// Charts of normal numbers are called steady in all but about 5 of 100 cases, however long they are; with limits
/// from the readings themselves a chart of 300 has signals by the usual rules in three cases of four.
#[test]
fn steady_charts_are_steady_at_any_length() {
    let mut next = normal_numbers(11);
    for (length, charts) in [(15, 400), (60, 400), (300, 400), (999, 200), (1000, 200)] {
        let not_steady = (0..charts).filter(|_| {
            let readings = (0..length).map(|_| next()).collect();
            matches!(steadiness(readings), Steadiness::NotSteady { .. })
        });
        let share = not_steady.count() as f64 / f64::from(charts);
        assert!(share < 0.075, "{length}: {share}");
    }
}

/// What is not steady is seen on charts of any length: a shift of the mean half way, and one point far out.
#[test]
fn what_is_not_steady_is_seen_at_any_length() {
    let mut next = normal_numbers(12);
    let mut share = |length: usize, alter: &dyn Fn(usize) -> f64| {
        let seen = (0..100).filter(|_| {
            let readings = (0..length).map(|index| next() + alter(index)).collect();
            matches!(steadiness(readings), Steadiness::NotSteady { .. })
        });
        seen.count()
    };
    for (length, shift) in [(60, 2.0), (300, 1.5), (1000, 1.0)] {
        let shifted = share(length, &|index| {
            if index < length / 2 { 0.0 } else { shift }
        });
        assert!(shifted > 80, "{length}: {shifted}");
        let out = share(length, &|index| if index == 20 { 8.0 } else { 0.0 });
        assert!(out > 90, "{length}: {out}");
    }
}

/// A long chart may have what chance gives, and no more.
#[test]
fn hits_of_long_charts() {
    let with_out = |length: usize, out: usize| {
        let readings = (0..length).map(|index| match index % 100 == 50 && index / 100 < out {
            true => 3.5,
            false => [0.5, -0.5][index % 2],
        });
        let series = Series::from_readings(readings.collect()).expect("finite");
        let signals = Signals::find(&series, Zones::standard(), RunRules::usual());
        Steadiness::of(&signals)
    };
    assert_eq!(with_out(500, 0), Steadiness::Steady { hits: 0 });
    assert_eq!(with_out(500, 1), Steadiness::Steady { hits: 1 });
    assert_eq!(with_out(500, 5), Steadiness::NotSteady { hits: 5 });
    assert_eq!(with_out(4000, 12), Steadiness::Steady { hits: 12 });
    assert_eq!(with_out(4000, 40), Steadiness::NotSteady { hits: 40 });
    // One in 370.4 and one in 256.
    let share = RunRules::usual().share_by_chance();
    assert!((share - 1.0 / 370.4 - 1.0 / 256.0).abs() < 1e-6);
}

#[test]
fn from_a_chart_to_both_kinds_of_indices() {
    let readings = (0..60_i32).map(|piece| 10.0 + 0.001 * f64::from(piece * 7 % 11 - 5));
    let series = Series::from_readings(readings.collect()).expect("finite");
    let chart = Individuals::of(&series, IndividualsSettings::default()).expect("limits");
    let sums = individuals::sums(&series);
    let extremes = sums.extremes().expect("readings");
    let evidence = Evidence::of(chart.moments, extremes, chart.sigma, Steadiness::Unknown);
    let capability = of(&evidence, &tolerance()).expect("indices");
    let within = capability.within.expect("a sigma within");
    assert_eq!((within.letter(), capability.overall.letter()), ('C', 'P'));
    assert!(within.words().starts_with("Cp = "));
    assert!(
        within
            .words()
            .ends_with("sigma from the mean moving range / d2, 60 pieces")
    );
    assert!(capability.overall.words().contains("Ppk = "));
}

const FORM_ERRORS: [f64; 20] = [
    0.004, 0.011, 0.007, 0.002, 0.016, 0.009, 0.005, 0.013, 0.003, 0.008, 0.006, 0.010, 0.001,
    0.012, 0.007, 0.005, 0.019, 0.004, 0.009, 0.006,
];

fn close(found: f64, expected: f64) {
    assert!(
        (found / expected - 1.0).abs() < 1e-9,
        "{found}, not {expected}"
    );
}

/// Shape and scale from the likelihood equation solved with scipy.optimize.brentq, quantiles from
/// scipy.stats.weibull_min.
#[test]
fn weibull_as_scipy_has_it() {
    let fitted = Fitted::to(Shape::Weibull, &FORM_ERRORS).expect("a fit");
    let Fitted::Weibull { shape, scale } = fitted else {
        panic!("{fitted:?}")
    };
    close(shape, 1.800_900_170_200_531);
    close(scale, 0.008_835_881_101_615_362);
    for (share, value) in [
        (0.00135, 0.000_225_398_280_252_528_1),
        (0.5, 0.007_208_813_088_913_867),
        (0.99865, 0.025_211_799_926_984_132),
    ] {
        close(fitted.quantile(share).expect("a quantile"), value);
        close(fitted.probability(value), share);
    }
    assert_eq!(
        Fitted::to(Shape::Weibull, &[1.0, 1.0, 1.0]),
        Err(Undefined::NoSpread)
    );
    assert!(Fitted::to(Shape::Weibull, &[1.0, 0.0]).is_err());
}

/// Likelihood equation solved with scipy.optimize.brentq, quantiles from scipy.stats.foldnorm.
#[test]
fn folded_normal_as_scipy_has_it() {
    let fitted = Fitted::to(Shape::FoldedNormal, &FORM_ERRORS).expect("a fit");
    let Fitted::FoldedNormal { mean, deviation } = fitted else {
        panic!("{fitted:?}")
    };
    close(mean, 0.007_527_918_491_668_638);
    close(deviation, 0.005_047_815_684_312_708);
    for (share, value) in [
        (0.00135, 2.596_804_607_904_183e-5),
        (0.5, 0.007_545_789_767_217_438),
        (0.99865, 0.022_671_250_658_393_132),
    ] {
        close(fitted.quantile(share).expect("a quantile"), value);
    }
    // Peaked at zero: nothing is left of the mean. scipy.stats.halfnorm.
    let peaked = [
        0.0, 0.001, 0.004, 0.0005, 0.002, 0.012, 0.003, 0.0015, 0.0, 0.007,
    ];
    let fitted = Fitted::to(Shape::FoldedNormal, &peaked).expect("a fit");
    let Fitted::FoldedNormal { mean, deviation } = fitted else {
        panic!("{fitted:?}")
    };
    assert!(mean.abs() < 1e-15);
    close(deviation, 0.004_748_684_028_233_506);
    close(
        fitted.quantile(0.99865).expect("a quantile"),
        0.015_220_164_741_104_788,
    );
    assert!(Fitted::to(Shape::FoldedNormal, &[-0.001, 0.002]).is_err());
    assert_eq!(
        Fitted::to(Shape::FoldedNormal, &[0.0, 0.0]),
        Err(Undefined::NoSpread)
    );
}

#[test]
fn percentiles_of_a_normal_distribution_are_three_sigma() {
    let readings: Vec<f64> = (0..50_i32).map(|piece| f64::from(piece * 7 % 11)).collect();
    let limits = Tolerance::new(Some(-20.0), Some(40.0)).expect("a tolerance");
    let by_percentile = PercentileIndices::of(Shape::Normal, &readings, &limits).expect("indices");
    let mut sums = overwire_core::stats::running::Running::default();
    sums.take(&readings);
    let moments = sums.moments().expect("readings");
    let plain = of(
        &Evidence {
            moments,
            extremes: (0.0, 10.0),
            ..evidence(50)
        },
        &limits,
    )
    .expect("indices");
    assert!((by_percentile.least - plain.overall.least.value).abs() < 1e-4);
    assert!(by_percentile.settings_words().contains("50 readings"));
    let few = PercentileIndices::empirical(&readings, &limits);
    assert!(matches!(few, Err(Undefined::TooFew { needed: 1000, .. })));
    let many: Vec<f64> = (0..2001).map(f64::from).collect();
    let limits = Tolerance::new(None, Some(4000.0)).expect("a tolerance");
    let read_off = PercentileIndices::empirical(&many, &limits).expect("indices");
    assert!((read_off.low - 2.7).abs() < 1e-9 && (read_off.high - 1997.3).abs() < 1e-9);
    assert!((read_off.least - 3000.0 / 997.3).abs() < 1e-9);
}
