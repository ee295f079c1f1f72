//! Corrections: separate, signed, and nothing hidden; compression and held wires besides.

use overwire_core::compression::{
    Compression, Elasticity, Expansion, Force, Material, Pressing, compression, recommended_force,
};
use overwire_core::correction::{
    Corrected, Inputs, Temperature, Temperatures, Warmth, WireConvention, correct,
};
use overwire_core::helix;
use overwire_core::holding::{Held, lift};
use overwire_core::thread::Geometry;
use overwire_core::units::{Angle, Pitch, Unit};
use proptest::prelude::*;

use crate::properties::{Case, cases};
use crate::{equal_wires, mm, thread};

fn newtons(force: f64) -> Force {
    Force::from_newtons(force).expect("a force")
}

fn hard(force: f64) -> Pressing {
    Pressing::on(Material::HardenedSteel, newtons(force))
}

fn warm(celsius: f64, millionths: f64) -> Warmth {
    Warmth {
        temperature: Temperature::from_celsius(celsius).expect("a temperature"),
        expansion: Expansion::from_millionths_per_kelvin(millionths).expect("an expansion"),
    }
}

fn m10(inputs: &Inputs) -> Corrected {
    let geometry = thread("M10x1.5-6g").geometry;
    correct(&geometry, &equal_wires(mm(0.866)), mm(10.23), inputs).expect("a correction")
}

fn codes(corrected: &Corrected) -> Vec<&'static str> {
    corrected.terms.iter().map(|term| term.code()).collect()
}

fn note_codes(corrected: &Corrected) -> Vec<&'static str> {
    corrected.notes.iter().map(|note| note.code()).collect()
}

#[test]
fn nothing_known_changes_nothing() {
    let untouched = m10(&Inputs {
        convention: WireConvention::UnderLoad,
        ..Inputs::default()
    });
    assert_eq!(untouched.reading, mm(10.23));
    assert!(untouched.terms.is_empty() && untouched.notes.is_empty());
    assert_eq!(
        note_codes(&m10(&Inputs::default())),
        ["convention_not_stated"]
    );
}

#[test]
fn compression_is_on_for_free_wires_and_off_for_wires_under_load() {
    let with = |convention, pressing| {
        m10(&Inputs {
            pressing,
            convention,
            ..Inputs::default()
        })
    };
    let free = with(WireConvention::Free, Some(hard(10.0)));
    assert_eq!(codes(&free), ["compression"]);
    assert!((free.amount("compression").mm() - 0.003_93).abs() < 2e-5);
    assert!(free.notes.is_empty());
    let loaded = with(WireConvention::UnderLoad, Some(hard(10.0)));
    assert!(loaded.terms.is_empty());
    assert_eq!(note_codes(&loaded), ["compression_in_wires"]);
    let unknown = with(WireConvention::NotStated, Some(hard(10.0)));
    assert!(unknown.terms.is_empty());
    assert_eq!(note_codes(&unknown), ["convention_not_stated"]);
    assert_eq!(
        note_codes(&with(WireConvention::Free, None)),
        ["force_not_given"]
    );
}

#[test]
fn a_set_of_mixed_conventions_is_refused() {
    use WireConvention::{Free, NotStated, UnderLoad};
    for mixed in [
        [Free, UnderLoad, Free],
        [Free, Free, NotStated],
        [UnderLoad, Free, Free],
    ] {
        let error = WireConvention::of_set(mixed).expect_err("a mixed set");
        assert_eq!(error.code(), "mixed-conventions");
    }
    let error = WireConvention::of_set([Free, Free, UnderLoad]).expect_err("a mixed set");
    assert_eq!(
        error.to_string(),
        "the wires of a set must be certified by one convention, found free and under load"
    );
    for convention in [Free, UnderLoad, NotStated] {
        assert_eq!(WireConvention::of_set([convention; 3]), Ok(convention));
        assert_eq!(WireConvention::parse(convention.code()), Some(convention));
        let text = serde_json::to_string(&convention).expect("a text");
        assert_eq!(text, format!("\"{}\"", convention.code()));
    }
}

#[test]
fn every_term_is_said_with_its_sign() {
    let corrected = m10(&Inputs {
        zero_reading: Some(mm(-0.003)),
        temperatures: Temperatures {
            part: Some(warm(32.0, 11.5)),
            wires: Some(warm(21.0, 11.5)),
            micrometer: Some(warm(23.0, 11.5)),
        },
        pressing: Some(hard(8.0)),
        convention: WireConvention::Free,
    });
    let order = [
        "zero",
        "micrometer_temperature",
        "compression",
        "wire_temperature",
        "part_temperature",
    ];
    assert_eq!(codes(&corrected), order);
    let said: Vec<String> = corrected
        .terms
        .iter()
        .map(|term| term.sentence(Unit::Millimetre, 4))
        .collect();
    assert_eq!(
        said[0],
        "Zero: +0.0030 mm, because the micrometer shows -0.0030 mm where it should show nothing."
    );
    assert_eq!(
        said[1],
        "Temperature of the micrometer: +0.0004 mm, at 23.0 °C with 11.5 millionths per kelvin."
    );
    assert!(
        said[2].starts_with("Compression: +0.0034 mm under 8.0 N (0.0033 mm at the flanks"),
        "{}",
        said[2]
    );
    // Three wires' worth of a micrometre's hundredth shows as nothing, without a sign.
    assert!(
        said[3].starts_with("Temperature of the wires: 0.0000 mm, at 21.0 °C"),
        "{}",
        said[3]
    );
    assert!(
        said[4].starts_with("Temperature of the part: -0.0011 mm, at 32.0 °C"),
        "{}",
        said[4]
    );
}

#[test]
fn one_temperature_without_the_others_is_noted() {
    let corrected = m10(&Inputs {
        temperatures: Temperatures {
            part: Some(warm(35.0, 11.5)),
            ..Temperatures::default()
        },
        convention: WireConvention::UnderLoad,
        ..Inputs::default()
    });
    let said: Vec<String> = corrected.notes.iter().map(|note| note.sentence()).collect();
    assert_eq!(
        said,
        [
            "No temperature was given for the wires: taken as 20 °C.",
            "No temperature was given for the micrometer: taken as 20 °C."
        ]
    );
}

/// All of one material and one temperature: the ratios stay, and so does the size at 20 °C.
#[test]
fn a_shop_of_one_temperature_and_one_material_needs_no_correction() {
    let steel = Expansion::from_millionths_per_kelvin(11.5).expect("an expansion");
    let celsius = Temperature::from_celsius(31.0).expect("a temperature");
    let corrected = m10(&Inputs {
        temperatures: Temperatures::all_at(celsius, steel, steel),
        convention: WireConvention::UnderLoad,
        ..Inputs::default()
    });
    assert!(
        corrected.total().mm().abs() < 1e-12,
        "{:?}",
        corrected.total()
    );
    assert_eq!(corrected.terms.len(), 3);
}

#[test]
fn what_is_not_plausible_is_refused() {
    assert!(Force::from_newtons(0.0).is_err() && Force::from_newtons(f64::NAN).is_err());
    assert_eq!(
        Force::from_newtons(1e4).expect_err("too much").code(),
        "force-implausible"
    );
    assert!(
        Temperature::from_celsius(400.0).is_err() && Temperature::from_celsius(f64::NAN).is_err()
    );
    assert!(Expansion::from_millionths_per_kelvin(1e4).is_err());
    let steel = Material::Steel.elasticity();
    let own = |modulus, poisson| Elasticity::checked(modulus, poisson, steel.expansion(), 600.0);
    assert!(own(210_000.0, 0.3).is_ok());
    assert_eq!(
        own(210.0, 0.5).expect_err("Poisson").code(),
        "material-implausible"
    );
    let error = own(21.0, 0.3).expect_err("a modulus");
    assert!(
        error
            .to_string()
            .starts_with("modulus of 21 is not plausible"),
        "{error}"
    );
    for material in Material::ALL {
        assert_eq!(Material::parse(material.code()), Some(material));
        let known = material.elasticity();
        let (modulus, poisson) = (known.modulus_n_per_mm2(), known.poisson());
        let pressure = known.elastic_pressure_n_per_mm2();
        let typed = Elasticity::checked(modulus, poisson, known.expansion(), pressure);
        assert_eq!(typed, Ok(known));
    }
    let mut flat = hard(5.0);
    flat.anvil_contact = mm(0.0);
    let geometry = thread("M10x1.5-6g").geometry;
    let found = compression(&geometry, &equal_wires(mm(0.866)), mm(9.0), &flat);
    assert_eq!(found.expect_err("no anvil").code(), "anvil-contact");
}

#[test]
fn soft_parts_are_marked_and_said_to_be() {
    let geometry = thread("M10x1.5-6g").geometry;
    let on = |material| {
        let pressing = Pressing::on(material, newtons(8.0));
        compression(&geometry, &equal_wires(mm(0.866)), mm(9.0), &pressing).expect("a compression")
    };
    let hard = on(Material::HardenedSteel);
    assert_eq!(hard.code(), "elastic");
    assert!(!hard.sentence(Unit::Millimetre, 4).contains("marks"));
    let soft = on(Material::Aluminium);
    assert_eq!(soft.code(), "beyond_elastic");
    let said = soft.sentence(Unit::Millimetre, 4);
    assert!(said.contains("beyond the 400 N/mm²"), "{said}");
    assert!(soft.total() > hard.total());
    assert!(on(Material::Carbide).total() < hard.total());
}

#[test]
fn the_recommended_force_says_where_it_comes_from() {
    let at = |threads| {
        let pitch = Pitch::from_threads_per_inch(threads).expect("a pitch");
        recommended_force(pitch)
    };
    assert_eq!(
        at(13.0).sentence(),
        "Recommended measuring force 11.12 N (40 oz) within 10 %, by ASME B1.2 and B89.1.17, from \
         memory: check against your copy."
    );
    assert!(!at(72.0).sentence().contains("memory"));
    assert!(at(13.0).covers(newtons(10.1)) && !at(13.0).covers(newtons(9.9)));
}

#[test]
fn held_wires_are_said_to_read_large() {
    let m8 = thread("M8x1.25-6g").geometry;
    let at = |held| lift(&m8, &equal_wires(mm(0.7217)), mm(7.1), held).expect("a lift");
    let degrees = |number: f64| Angle::from_degrees(number).expect("an angle");
    let said = at(Held::Off(degrees(0.5))).sentence(Unit::Millimetre, 4);
    assert_eq!(
        said,
        "Wires held 0.50 degrees off their natural tilt of 3.05 degrees read 0.0009 mm too large, \
         and so does the pitch diameter."
    );
    let square = at(Held::Square);
    assert!(!square.rule_holds() && !square.rides_crest_edge);
    let said = square.sentence(Unit::Millimetre, 3);
    assert!(
        said.ends_with("The rule of thumb says 0.032 mm but holds only up to 1 degree."),
        "{said}"
    );
    let turned = at(Held::Turned(degrees(1.0))).lift.mm();
    let (more, less) = (at(Held::Off(degrees(1.0))), at(Held::Off(degrees(-1.0))));
    assert!((turned - (more.lift.mm() + less.lift.mm()) / 2.0).abs() < 1e-12);
    let steep = Geometry { starts: 8, ..m8 };
    let square = lift(&steep, &equal_wires(mm(0.7)), mm(7.1), Held::Square).expect("a lift");
    assert!(square.rides_crest_edge);
    assert!(
        square
            .sentence(Unit::Millimetre, 3)
            .contains("ride on its edge")
    );
}

fn scaled(case: &Case, scale: f64) -> Geometry {
    Geometry {
        pitch: Pitch::from_length(case.geometry.pitch.length() * scale).expect("a pitch"),
        ..case.geometry
    }
}

fn pressed(case: &Case, scale: f64, force: f64) -> Option<Compression> {
    let mut pressing = hard(force);
    pressing.anvil_contact = pressing.anvil_contact * scale;
    let wires = equal_wires(mm(case.wire * scale));
    let diameter = mm(case.pitch_diameter * scale);
    compression(&scaled(case, scale), &wires, diameter, &pressing).ok()
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * other.abs()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Hertz: eight times the force, four times the approach and twice the pressure.
    #[test]
    fn compression_grows_as_the_two_thirds_power(case in cases(), force in 0.1..10.0) {
        let Some(light) = pressed(&case, 1.0, force) else { return Ok(()) };
        let heavy = pressed(&case, 1.0, 8.0 * force).expect("as before");
        prop_assert!(near(heavy.single.flanks.mm(), 4.0 * light.single.flanks.mm()));
        prop_assert!(near(heavy.pair.flanks.mm(), 4.0 * light.pair.flanks.mm()));
        prop_assert!(near(heavy.peak_pressure, 2.0 * light.peak_pressure));
        prop_assert!(light.pair.total() < light.single.total());
        prop_assert!(light.single.anvil > mm(0.0) && heavy.single.anvil > light.single.anvil);
    }

    /// Everything twice as large under four times the force is twice as much compressed at the
    /// same pressure: inch and millimetre give the same thread the same answer.
    #[test]
    fn compression_scales_with_the_thread(case in cases(), force in 0.1..10.0, scale in 0.5..2.0) {
        let Some(one) = pressed(&case, 1.0, force) else { return Ok(()) };
        let other = pressed(&case, scale, force * scale * scale).expect("as before");
        prop_assert!((other.total().mm() / one.total().mm() - scale).abs() < 1e-8);
        prop_assert!((other.peak_pressure / one.peak_pressure - 1.0).abs() < 1e-8);
    }

    /// The terms add up to the whole, and the whole is the exact form written out in one piece.
    #[test]
    fn terms_add_up_to_the_exact_form(
        case in cases(),
        part in -10.0..40.0,
        wires in 5.0..35.0,
        micrometer in 5.0..35.0,
        zero in -0.02..0.02,
    ) {
        let set = equal_wires(mm(case.wire));
        let raw = helix::over_wires(&case.geometry, &set, mm(case.pitch_diameter))?.over_wires;
        let inputs = Inputs {
            zero_reading: Some(mm(zero)),
            temperatures: Temperatures {
                part: Some(warm(part, 23.0)),
                wires: Some(warm(wires, 11.5)),
                micrometer: Some(warm(micrometer, 10.0)),
            },
            convention: WireConvention::UnderLoad,
            ..Inputs::default()
        };
        let corrected = correct(&case.geometry, &set, raw, &inputs).expect("a correction");
        let sum = corrected.terms.iter().fold(raw, |sum, term| sum + term.amount);
        prop_assert_eq!(sum, corrected.reading);
        let growth = |celsius: f64, millionths: f64| 1.0 + millionths * 1e-6 * (celsius - 20.0);
        let shown = mm((raw.mm() - zero) * growth(micrometer, 10.0));
        let grown = equal_wires(mm(case.wire * growth(wires, 11.5)));
        let hot = helix::pitch_diameter(&scaled(&case, growth(part, 23.0)), &grown, shown)?;
        let cold = hot.pitch_diameter.mm() / growth(part, 23.0);
        let found = helix::pitch_diameter(&case.geometry, &set, corrected.reading)?;
        prop_assert!((found.pitch_diameter.mm() / cold - 1.0).abs() < 1e-14);
    }

    /// Held off the natural tilt, either way, a wire never lies deeper than a free one.
    #[test]
    fn held_wires_never_read_smaller(case in cases(), off in -2.0..2.0) {
        let wires = equal_wires(mm(case.wire));
        let at = |degrees: f64| {
            let held = Held::Off(Angle::from_degrees(degrees).expect("an angle"));
            lift(&case.geometry, &wires, mm(case.pitch_diameter), held)
        };
        let Ok(found) = at(off) else { return Ok(()) };
        prop_assert!(found.lift.mm() > -1e-11 * case.pitch_diameter, "{:?}", found);
        let half = at(off / 2.0).expect("closer to the natural tilt");
        prop_assert!(half.lift.mm() <= found.lift.mm() + 1e-11 * case.pitch_diameter);
        let free = at(0.0).expect("the natural tilt");
        prop_assert!(free.lift.mm().abs() < 1e-11 * case.pitch_diameter);
    }
}
