//! What a conversion costs: the exact seat both ways, beside the closed forms of the handbooks.
//!
//! Every iteration converts [`BATCH`] different readings, so the time shown is that of a batch and
//! the item rate is that of single conversions. Run on one core of a quiet machine:
//!
//! ```text
//! taskset -c 1 cargo bench -p overwire-core --bench seat
//! ```

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use overwire_core::helix::{self, Laid};
use overwire_core::judge::{Judge, Purpose};
use overwire_core::plane;
use overwire_core::thread::{Flanks, Geometry, Hand};
use overwire_core::units::{Length, Pitch, WireDiameter};
use overwire_core::wires::Wires;

/// Conversions in one iteration.
const BATCH: usize = 1000;

fn main() {
    divan::main();
}

fn mm(number: f64) -> Length {
    Length::from_mm(number).expect("a length")
}

/// A thread and wires, and readings spread over a tenth of a millimetre.
struct Case {
    geometry: Geometry,
    wires: Wires,
    laid: Laid,
    diameters: Vec<Length>,
    readings: Vec<Length>,
}

impl Case {
    fn new(pitch: f64, starts: u32, flanks: (f64, f64), diameter: f64, wires: [f64; 3]) -> Case {
        let geometry = Geometry::checked(
            Pitch::from_length(mm(pitch)).expect("a pitch"),
            starts,
            Hand::Right,
            Flanks::from_degrees(flanks.0, flanks.1).expect("flanks"),
            None,
            None,
        )
        .expect("a geometry");
        let [single, first, second] = wires.map(|w| WireDiameter::new(mm(w)).expect("a wire"));
        let wires = Wires::three(single, first, second);
        let diameters: Vec<Length> = (0..BATCH)
            .map(|index| mm(diameter + 0.1 * index as f64 / BATCH as f64))
            .collect();
        let reading = |diameter: &Length| {
            let seated = helix::over_wires(&geometry, &wires, *diameter);
            seated.expect("a seat").over_wires
        };
        let readings = diameters.iter().map(reading).collect();
        Case {
            laid: Laid::new(&geometry, &wires),
            geometry,
            wires,
            diameters,
            readings,
        }
    }

    /// M10x1.5 over best wires: 60 degrees, one start, 3 degrees of lead.
    fn metric() -> Case {
        Case::new(1.5, 1, (30.0, 30.0), 8.9, [0.866; 3])
    }

    /// A trapezoidal thread with four starts: 30 degrees, 14 degrees of lead.
    fn four_starts() -> Case {
        Case::new(7.0, 4, (15.0, 15.0), 36.1, [3.6; 3])
    }

    /// A 7/45 buttress thread.
    fn buttress() -> Case {
        Case::new(3.0, 1, (7.0, 45.0), 40.0, [1.62; 3])
    }

    /// M10x1.5 over three wires that differ by half a micrometre.
    fn unequal_wires() -> Case {
        Case::new(1.5, 1, (30.0, 30.0), 8.9, [0.866, 0.8655, 0.8665])
    }
}

fn to_pitch_diameter(bencher: Bencher, case: &Case) {
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for reading in &case.readings {
            let found = case.laid.pitch_diameter(black_box(*reading));
            let _unused = black_box(found);
        }
    });
}

fn to_over_wires(bencher: Bencher, case: &Case) {
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for diameter in &case.diameters {
            let found = case.laid.over_wires(black_box(*diameter));
            let _unused = black_box(found);
        }
    });
}

#[divan::bench]
fn exact_to_pitch_diameter(bencher: Bencher) {
    to_pitch_diameter(bencher, &Case::metric());
}

#[divan::bench]
fn exact_to_over_wires(bencher: Bencher) {
    to_over_wires(bencher, &Case::metric());
}

#[divan::bench]
fn exact_to_pitch_diameter_many(bencher: Bencher) {
    let case = Case::metric();
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        let readings = black_box(&case.readings);
        case.laid.pitch_diameters(readings, |found| {
            let _unused = black_box(found);
        });
    });
}

#[divan::bench]
fn exact_to_over_wires_many(bencher: Bencher) {
    let case = Case::metric();
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        let diameters = black_box(&case.diameters);
        case.laid.readings_over_wires(diameters, |found| {
            let _unused = black_box(found);
        });
    });
}

/// The thread and the wires prepared anew for every reading.
#[divan::bench]
fn exact_to_pitch_diameter_unprepared(bencher: Bencher) {
    let case = Case::metric();
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for reading in &case.readings {
            let found = helix::pitch_diameter(&case.geometry, &case.wires, black_box(*reading));
            let _unused = black_box(found);
        }
    });
}

/// The thread and the wires prepared anew for every diameter.
#[divan::bench]
fn exact_to_over_wires_unprepared(bencher: Bencher) {
    let case = Case::metric();
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for diameter in &case.diameters {
            let found = helix::over_wires(&case.geometry, &case.wires, black_box(*diameter));
            let _unused = black_box(found);
        }
    });
}

#[divan::bench]
fn exact_to_pitch_diameter_four_starts(bencher: Bencher) {
    to_pitch_diameter(bencher, &Case::four_starts());
}

#[divan::bench]
fn exact_to_over_wires_four_starts(bencher: Bencher) {
    to_over_wires(bencher, &Case::four_starts());
}

#[divan::bench]
fn exact_to_pitch_diameter_unequal_flanks(bencher: Bencher) {
    to_pitch_diameter(bencher, &Case::buttress());
}

#[divan::bench]
fn exact_to_over_wires_unequal_flanks(bencher: Bencher) {
    to_over_wires(bencher, &Case::buttress());
}

#[divan::bench]
fn exact_to_pitch_diameter_unequal_wires(bencher: Bencher) {
    to_pitch_diameter(bencher, &Case::unequal_wires());
}

#[divan::bench]
fn exact_to_over_wires_unequal_wires(bencher: Bencher) {
    to_over_wires(bencher, &Case::unequal_wires());
}

#[divan::bench]
fn plane_to_pitch_diameter(bencher: Bencher) {
    let case = Case::metric();
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for reading in &case.readings {
            let reading = black_box(*reading);
            black_box(plane::plane_pitch_diameter(
                &case.geometry,
                &case.wires,
                reading,
            ));
        }
    });
}

#[divan::bench]
fn plane_to_over_wires(bencher: Bencher) {
    let case = Case::metric();
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for diameter in &case.diameters {
            let diameter = black_box(*diameter);
            black_box(plane::plane_over_wires(
                &case.geometry,
                &case.wires,
                diameter,
            ));
        }
    });
}

#[divan::bench]
fn asme_b1_2_to_over_wires(bencher: Bencher) {
    let case = Case::metric();
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for diameter in &case.diameters {
            let diameter = black_box(*diameter);
            black_box(plane::asme_b1_2_over_wires(
                &case.geometry,
                &case.wires,
                diameter,
            ));
        }
    });
}

/// A reading all the way to a verdict, as the daemon does it.
#[divan::bench]
fn verdict(bencher: Bencher) {
    let thread = overwire_core::thread::designation::parse("M10x1.5-6g").expect("a thread");
    let case = Case::metric();
    let judge = Judge::new(&thread, &case.wires).expect("usable wires");
    bencher.counter(ItemsCount::new(BATCH)).bench_local(|| {
        for reading in &case.readings {
            let _unused = black_box(judge.judge(black_box(*reading), Purpose::Inspecting));
        }
    });
}
