//! Converting and judging a sound reading allocates nothing: it may run on every frame.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

use overwire_core::helix;
use overwire_core::judge::{Judge, Purpose, Verdict};
use overwire_core::stats::run_rules::{RunRules, Watch, Zones};
use overwire_core::stats::running::Running;
use overwire_core::thread::designation;
use overwire_core::units::{Length, WireDiameter};
use overwire_core::wires::Wires;

thread_local! {
    static COUNT: Cell<u64> = const { Cell::new(0) };
}

/// The system's allocator, counting what this thread asks for.
struct Counting;

#[expect(unsafe_code, reason = "an allocator can only be watched from inside")]
// SAFETY: every call is handed on unchanged to the system's allocator.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        COUNT.with(|count| count.set(count.get() + 1));
        // SAFETY: the caller's promises about `layout` are handed on.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, block: *mut u8, layout: Layout) {
        // SAFETY: the caller's promises about `block` and `layout` are handed on.
        unsafe { System.dealloc(block, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

fn allocations(work: impl FnOnce()) -> u64 {
    let before = COUNT.with(Cell::get);
    work();
    COUNT.with(Cell::get) - before
}

#[test]
fn a_sound_reading_allocates_nothing() {
    let thread = designation::parse("M10x1.5-6g").expect("a thread");
    let wire = |mm: f64| WireDiameter::new(Length::from_mm(mm).expect("a length")).expect("a wire");
    let reading = Length::from_mm(10.2).expect("a length");
    for wires in [
        Wires::equal(wire(0.866)),
        Wires::three(wire(0.866), wire(0.8659), wire(0.8661)),
    ] {
        let judge = Judge::new(&thread, &wires).expect("usable wires");
        let converted = allocations(|| {
            let there = helix::pitch_diameter(&thread.geometry, &wires, reading).expect("a seat");
            helix::over_wires(&thread.geometry, &wires, there.pitch_diameter).expect("a seat");
        });
        let judged = allocations(|| {
            let judgement = judge.judge(reading, Purpose::Inspecting);
            assert_eq!(judgement.verdict, Verdict::Pass);
        });
        assert_eq!((converted, judged), (0, 0));
    }
    assert!(
        allocations(|| drop(thread.clone())) > 0,
        "the counter counts"
    );
}

#[test]
fn a_point_on_a_chart_allocates_nothing() {
    let points: Vec<f64> = (0..500_i32)
        .map(|n| f64::from(n * 37 % 101) / 10.0 - 5.0)
        .collect();
    let mut watch = Watch::new(RunRules::nelson(), Zones::standard());
    let mut sums = Running::default();
    let mut hits = 0;
    let counted = allocations(|| {
        watch.scan(&points, |_, _| hits += 1);
        for &point in &points {
            hits += u32::from(!watch.next(point).is_empty());
        }
        sums.take(&points);
    });
    assert_eq!(counted, 0);
    assert!(hits > 0 && sums.count() == 500);
}
