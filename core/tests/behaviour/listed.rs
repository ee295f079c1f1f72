//! Every listed size of the leadscrew, British and worm systems, as designations.

use overwire_core::thread::designation::parse;
use overwire_core::thread::{acme, pipe_parallel, trapezoidal, whitworth};

/// All sizes, in all their classes, some of them with more starts or left hand.
pub fn every_designation() -> Vec<String> {
    let systems = [
        acme(),
        metric(),
        buttress(),
        whitworth(),
        pipe(),
        british_association(),
        worms(),
    ];
    systems.concat()
}

fn acme() -> Vec<String> {
    const CLASSES: [&str; 11] = [
        "ACME-2G",
        "ACME-3G",
        "ACME-4G",
        "ACME-2C",
        "ACME-3C",
        "ACME-4C",
        "ACME-2G (2 STARTS)",
        "ACME-3G (3 STARTS) LH",
        "STUB ACME-2G",
        "STUB ACME M1-2G",
        "STUB ACME M2-2G",
    ];
    inch_texts(acme::LISTED, &CLASSES)
}

/// Diameters in ten-thousandths of an inch and threads per inch, before each of these words.
fn inch_texts(sizes: &[(u32, f64)], words: &[&str]) -> Vec<String> {
    let with_each = |&(diameter, count): &(u32, f64)| {
        let size = format!("{:.4}-{count}", f64::from(diameter) / 1e4);
        words.iter().map(move |word| format!("{size} {word}"))
    };
    sizes.iter().flat_map(with_each).collect()
}

fn metric() -> Vec<String> {
    let of_size = |(diameter, pitch)| {
        let (diameter, pitch) = (f64::from(diameter) / 1e3, f64::from(pitch) / 1e3);
        let lead = 2.0 * pitch;
        let classes = ["7e", "8e", "9e", "8c", "9c"];
        let mut texts = Vec::from(classes.map(|class| format!("Tr{diameter}x{pitch}-{class}")));
        texts.push(format!("Tr{diameter}x{lead}(P{pitch})LH-7e"));
        texts.push(format!("S{diameter}x{pitch}"));
        texts
    };
    trapezoidal::listed_sizes().flat_map(of_size).collect()
}

fn buttress() -> Vec<String> {
    const COUNTS: [f64; 14] = [
        20.0, 16.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.25, 1.0,
    ];
    let sizes = (8_u32..=384).flat_map(|sixteenths| COUNTS.map(|count| (sixteenths * 625, count)));
    let listed = |&(diameter, count): &(u32, f64)| {
        let text = format!("{:.4}-{count} BUTT-2A", f64::from(diameter) / 1e4);
        parse(&text).is_ok_and(|thread| !thread.special)
    };
    let sizes: Vec<(u32, f64)> = sizes.filter(listed).collect();
    inch_texts(&sizes, &["BUTT-2A", "PUSH-BUTT-3A LH"])
}

fn whitworth() -> Vec<String> {
    let coarse = inch_texts(whitworth::COARSE, &["BSW close", "BSW medium", "BSW free"]);
    let fine = inch_texts(whitworth::FINE, &["BSF close", "BSF medium", "BSF free"]);
    [coarse, fine].concat()
}

fn pipe() -> Vec<String> {
    let of_size = |size: pipe_parallel::Size| {
        let inches = f64::from(size.sixteenths) / 16.0;
        ["A", "B"].map(|class| format!("G {inches} {class}"))
    };
    pipe_parallel::SIZES.into_iter().flat_map(of_size).collect()
}

fn british_association() -> Vec<String> {
    let close = (0..=10).map(|number| format!("{number} BA close"));
    let normal = (0..=16).map(|number| format!("{number} BA normal"));
    close.chain(normal).collect()
}

/// Worms have no list: some of usual proportions.
fn worms() -> Vec<String> {
    let sizes = ["m0.5 d6", "m2 d22.4", "m10 d90", "DP10 d1.25"];
    let tips = ["tip7", "tip26.4", "tip110", "tip1.45"];
    let of_size =
        |(size, tip)| [1, 2, 4].map(|starts| format!("WORM {size} z{starts} 20deg {tip}"));
    sizes.into_iter().zip(tips).flat_map(of_size).collect()
}
