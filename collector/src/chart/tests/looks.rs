//! Colours: contrast in light, dark and print, and a look for programs that know no custom
//! properties.

use std::collections::HashMap;

use super::*;

/// Relative luminance and contrast ratio as WCAG 2.1 defines them (1.4.3, "contrast ratio").
fn luminance(colour: &str) -> f64 {
    let part = |at: usize| {
        let value = u8::from_str_radix(&colour[at..at + 2], 16).unwrap();
        let part = f64::from(value) / 255.0;
        if part <= 0.03928 {
            part / 12.92
        } else {
            ((part + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
}

fn contrast(one: &str, other: &str) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// The custom properties of light, dark and print, as the document states them.
fn palettes() -> Vec<(&'static str, HashMap<String, String>)> {
    let picture = run_chart(&samples::run(), &DESK);
    let style = drawn(&picture).named("style").text.clone();
    let after = |start: &str| {
        let from = style.find(start).unwrap() + start.len();
        style[from..].split('}').next().unwrap().to_owned()
    };
    let blocks = [
        ("light", after(".ch{")),
        ("dark", after("@media (prefers-color-scheme:dark){.ch{")),
        ("print", after("@media print{.ch{")),
    ];
    let colours = |block: &str| {
        let declarations = block.split(';').filter(|part| part.starts_with("--ch-"));
        let colour = |declaration: &str| {
            let (name, _) = declaration.split_once(':').unwrap();
            let from = declaration.find('#').unwrap();
            (name[5..].to_owned(), declaration[from..from + 7].to_owned())
        };
        declarations.map(colour).collect::<HashMap<_, _>>()
    };
    blocks.map(|(name, block)| (name, colours(&block))).to_vec()
}

#[test]
fn text_and_graphics_stand_out_in_light_dark_and_print() {
    for (name, palette) in palettes() {
        assert_eq!(palette.len(), 12, "{name}");
        for text in ["ink", "soft", "tolerance", "control", "signal", "fit"] {
            for ground in ["paper", "band"] {
                let ratio = contrast(&palette[text], &palette[ground]);
                assert!(ratio >= 4.5, "{name}: {text} on {ground} {ratio:.2}");
            }
        }
        for line in ["edge", "tolerance", "control", "ink", "fit", "soft"] {
            for ground in ["paper", "guard", "band", "grid", "bar"] {
                // Only what is drawn there: lines of limits and curves cross tints and bars.
                let needed = if ground == "bar" && line == "soft" {
                    2.0
                } else {
                    3.0
                };
                let ratio = contrast(&palette[line], &palette[ground]);
                assert!(ratio >= needed, "{name}: {line} on {ground} {ratio:.2}");
            }
        }
    }
}

/// In grey, what must be told apart differs in form: each pair of line classes has different
/// dashes or a different width, and symbols are of different elements.
#[test]
fn lines_differ_without_their_colours() {
    let style = drawn(&run_chart(&samples::run(), &DESK))
        .named("style")
        .text
        .clone();
    let form = |class: &str| {
        let from = style.find(&format!(".{class}{{")).unwrap();
        let rule = style[from..].split('}').next().unwrap();
        let rule = rule.split_once('{').unwrap().1;
        let parts = rule
            .split(';')
            .filter(|part| part.contains("dash") || part.contains("width"));
        parts.map(str::to_owned).collect::<Vec<_>>()
    };
    let classes = [
        "ch-tolerance",
        "ch-control",
        "ch-centre",
        "ch-mark",
        "ch-guard-line",
        "ch-joined",
    ];
    for (index, one) in classes.iter().enumerate() {
        for other in &classes[index + 1..] {
            assert_ne!(form(one), form(other), "{one} {other}");
        }
    }
}

#[test]
fn the_fixed_look_knows_only_plain_colours() {
    for (form, format) in FORMATS {
        for (name, picture) in samples::all(&format) {
            let fixed = format.look == Look::Fixed;
            for modern in ["var(", "@media", "--ch-"] {
                assert_eq!(
                    picture.svg.contains(modern),
                    !fixed,
                    "{name} {form}: {modern}"
                );
            }
            assert!(
                !drawn(&picture).named("style").text.contains('$'),
                "{name} {form}"
            );
        }
    }
}

/// Every class that is drawn has a rule, lest it come out as a black shape.
#[test]
fn every_class_has_a_rule() {
    for (name, picture) in samples::all(&DESK) {
        let drawing = drawn(&picture);
        let style = &drawing.named("style").text;
        for element in &drawing.elements {
            let class = element.class();
            let known = class.is_empty() || style.contains(&format!(".{class}{{"));
            assert!(known, "{name}: {class}");
        }
    }
}

#[test]
fn both_widths_state_their_size() {
    for (format, width) in [(DESK, 1080.0), (PHONE, 366.0)] {
        for (name, picture) in samples::all(&format) {
            assert_eq!(picture.width, width, "{name}");
            let drawing = drawn(&picture);
            let frame = &drawing.elements[0];
            let wanted = format!("0 0 {} {}", picture.width, picture.height);
            assert_eq!(frame.attribute("viewBox"), wanted);
            assert_eq!(frame.number("height"), picture.height);
        }
    }
}
