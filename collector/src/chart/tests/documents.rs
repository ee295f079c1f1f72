//! What holds for every picture whatever its data: it is well formed, finite, inside its
//! sheet, and no text of anybody's escapes.

use proptest::prelude::*;

use super::*;
use crate::sheet::width_of;

/// Well formed, no number that is none, nothing beyond the sheet.
pub(super) fn check(picture: &Picture) -> Result<(), TestCaseError> {
    let drawing = drawn(picture);
    prop_assert_eq!(drawing.elements[0].name.as_str(), "svg");
    prop_assert!(picture.width.is_finite() && picture.height.is_finite());
    prop_assert!(picture.height < 6000.0, "height {}", picture.height);
    for element in &drawing.elements {
        for name in ["x", "y", "cx", "cy", "r", "width", "height", "font-size"] {
            let value = element.attribute(name);
            if !value.is_empty() {
                let number: f64 = value.parse().unwrap();
                prop_assert!(number.abs() <= 6000.0, "{name} {value}");
            }
        }
        for (x, y) in element.runs().concat() {
            prop_assert!(x.abs() <= 6000.0 && y.abs() <= 6000.0, "{x} {y}");
        }
    }
    let texts = drawing.texts().into_iter().map(|text| text.text.as_str());
    for text in texts.chain([picture.description.as_str()]) {
        let mut words = text.split([' ', ',', ';', '(', ')', '\u{a0}']);
        let none = ["NaN", "inf", "-inf", "infinity"];
        prop_assert!(words.all(|word| !none.contains(&word)), "{}", text);
    }
    texts_are_inside(&drawing, picture)
}

/// The estimate of a text's width is on the wide side, so a little more than the sheet is
/// granted.
fn texts_are_inside(drawing: &Drawing, picture: &Picture) -> Result<(), TestCaseError> {
    for text in drawing.texts() {
        let wide = width_of(&text.text, text.number("font-size"));
        let x = text.number("x");
        let (left, right) = match text.attribute("text-anchor") {
            "start" => (x, x + wide),
            "middle" => (x - wide / 2.0, x + wide / 2.0),
            _ => (x - wide, x),
        };
        let place = format!("`{}` from {left} to {right}", text.text);
        prop_assert!(left > -3.0 && right < picture.width + 3.0, "{place}");
        prop_assert!((0.0..picture.height).contains(&text.number("y")), "{place}");
    }
    Ok(())
}

/// With `OVERWIRE_CHARTS=folder` the samples are kept for looking at.
#[test]
fn every_sample_is_sound_in_every_format() {
    let folder = std::env::var_os("OVERWIRE_CHARTS").map(std::path::PathBuf::from);
    for (form, format) in FORMATS {
        for (name, picture) in samples::all(&format) {
            check(&picture).unwrap_or_else(|error| panic!("{name} {form}: {error}"));
            assert!(!drawn(&picture).classed("ch-axis").is_empty(), "{name}");
            if let Some(folder) = &folder {
                std::fs::write(folder.join(format!("{name}.{form}.svg")), &picture.svg).unwrap();
            }
        }
    }
}

#[test]
fn every_picture_has_a_name_and_says_its_figures() {
    for (name, picture) in samples::all(&DESK) {
        let drawing = drawn(&picture);
        assert_eq!(drawing.elements[0].attribute("role"), "img", "{name}");
        assert_eq!(drawing.named("title").text, picture.title, "{name}");
        assert_eq!(drawing.named("desc").text, picture.description, "{name}");
    }
    let told = run_chart(&samples::run(), &DESK).description;
    for figure in [
        "11.441",
        "11.402",
        "11.4320",
        "chip under the anvil",
        "nine in a row",
    ] {
        assert!(told.contains(figure), "{figure} in {told}");
    }
    let told = components(&samples::parts(), &DESK).description;
    assert!(
        told.contains("repeatability: 6.2\u{a0}% share of the variance"),
        "{told}"
    );
}

#[test]
fn the_same_data_give_the_same_picture() {
    for (first, second) in samples::all(&DESK).iter().zip(samples::all(&DESK)) {
        assert_eq!(first.1.svg, second.1.svg);
    }
}

#[test]
fn nothing_to_draw_is_said_in_a_sentence() {
    let mut run = samples::run();
    run.values = vec![None, Some(f64::NAN), Some(f64::INFINITY)];
    let mut bars = samples::bars();
    bars.values = vec![f64::NAN];
    let mut methods = samples::methods();
    methods.methods.clear();
    let mut parts = samples::parts();
    parts.components.clear();
    let mut wear = samples::wear();
    wear.points.clear();
    let mut masters = samples::masters();
    masters.points.clear();
    for picture in [
        run_chart(&run, &PHONE),
        histogram(&bars, &PHONE),
        method_dots(&methods, &PHONE),
        components(&parts, &PHONE),
        trend(&wear, &PHONE),
        bias_over_size(&masters, &PHONE),
    ] {
        check(&picture).unwrap();
        assert!(
            picture.description.contains("There are no"),
            "{}",
            picture.description
        );
        assert!(drawn(&picture).dots().is_empty());
    }
}

/// A long name beside a panel ends before the panel begins.
#[test]
fn long_names_of_rows_keep_clear_of_the_panel() {
    let long = "a holder of plastic, second version, printed by the apprentice in the spring";
    let mut methods = samples::methods();
    methods.methods[2].name = long.to_owned();
    let mut parts = samples::parts();
    parts.components[1].name = long.to_owned();
    for picture in [method_dots(&methods, &DESK), components(&parts, &DESK)] {
        let drawing = drawn(&picture);
        let panel = drawing
            .points("ch-axis")
            .into_iter()
            .map(|point| point.0)
            .fold(f64::MAX, f64::min);
        let mut names = drawing.classed("ch-strong").into_iter();
        let name = names
            .find(|name| name.text.starts_with("a holder"))
            .unwrap();
        let wide = width_of(&name.text, name.number("font-size"));
        assert!(name.number("x") + wide < panel, "{} {panel}", name.text);
    }
}

/// Texts that try to be something else.
const HOSTILE: [&str; 6] = [
    "</text><script>alert(1)</script>",
    "\" onload=\"alert(1)\" x=\"&amp;&#60;",
    "]]>--><!DOCTYPE svg>",
    "line\nbreak\u{0}\u{1b}[31m\u{202e}evil",
    "NaN\u{fffe}\u{ffff}",
    "",
];

#[test]
fn hostile_names_stay_texts() {
    let long = "very long name ".repeat(4000);
    for text in HOSTILE
        .into_iter()
        .chain([long.as_str(), "Schaftfräser \u{2300} 漢字 🔩"])
    {
        for format in [DESK, PHONE] {
            for picture in hostile(text, &format) {
                let drawing = drawn(&picture);
                assert!(
                    drawing
                        .elements
                        .iter()
                        .all(|element| element.name != "script")
                );
                assert!(
                    drawing
                        .elements
                        .iter()
                        .all(|element| element.attribute("onload").is_empty())
                );
                texts_are_inside(&drawing, &picture).unwrap();
                assert!(picture.svg.len() < 200_000, "{}", picture.svg.len());
            }
        }
    }
}

/// Every picture with every one of its texts replaced.
fn hostile(text: &str, format: &Format) -> Vec<Picture> {
    let own = || text.to_owned();
    let heading = Heading {
        title: own(),
        about: own(),
        notes: vec![own()],
    };
    let quantity = Quantity {
        name: own(),
        unit: own(),
        ..samples::millimetres()
    };
    let mut run = samples::run();
    (run.heading, run.quantity, run.noun) = (heading.clone(), quantity.clone(), own());
    run.exclusions.iter_mut().for_each(|one| one.reason = own());
    run.marks.iter_mut().for_each(|one| one.label = own());
    for signal in &mut run.signals {
        (signal.rule, signal.words) = (own(), own());
    }
    let mut bars = samples::bars();
    (bars.heading, bars.quantity, bars.noun) = (heading.clone(), quantity.clone(), own());
    bars.density = Some(Density {
        name: own(),
        ..Density::normal(11.42, 0.004)
    });
    let mut methods = samples::methods();
    (methods.heading, methods.quantity) = (heading.clone(), quantity.clone());
    (methods.intervals, methods.methods[0].name) = (own(), own());
    let mut pairs = samples::pairs();
    (pairs.heading, pairs.quantity, pairs.basis) = (heading.clone(), quantity.clone(), own());
    pairs.methods = [own(), own()];
    let mut parts = samples::parts();
    (parts.heading, parts.measures) = (heading.clone(), vec![own(); 5]);
    for component in &mut parts.components {
        (component.name, component.remark) = (own(), own());
    }
    let mut wear = samples::wear();
    (wear.heading, wear.quantity, wear.basis) = (heading.clone(), quantity.clone(), own());
    wear.along = quantity.clone();
    let mut masters = samples::masters();
    (masters.heading, masters.quantity, masters.basis) = (heading, quantity.clone(), own());
    masters.along = quantity;
    vec![
        run_chart(&run, format),
        histogram(&bars, format),
        method_dots(&methods, format),
        agreement(&pairs, format),
        components(&parts, format),
        trend(&wear, format),
        bias_over_size(&masters, format),
    ]
}
