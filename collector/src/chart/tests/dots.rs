//! Pictures as dots, read as a program of others would read them.

use super::*;
use crate::chart::raster::{DOTS_A_PIXEL, RasterError, png};

struct Dots {
    width: usize,
    rows: Vec<Vec<[u8; 3]>>,
    dots_a_metre: u32,
}

impl Dots {
    fn of(svg: &str) -> Dots {
        let file = png(svg).unwrap();
        let mut decoder = ::png::Decoder::new(std::io::Cursor::new(file));
        decoder.set_transformations(::png::Transformations::EXPAND);
        let mut reader = decoder.read_info().unwrap();
        let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
        let frame = reader.next_frame(&mut bytes).unwrap();
        assert_eq!(frame.color_type, ::png::ColorType::Rgb);
        let width = frame.width as usize;
        let row = |row: &[u8]| {
            let dots = row.chunks_exact(3);
            dots.map(|dot| [dot[0], dot[1], dot[2]]).collect()
        };
        Dots {
            width,
            rows: bytes.chunks_exact(3 * width).map(row).collect(),
            dots_a_metre: reader.info().pixel_dims.unwrap().xppu,
        }
    }

    fn count(&self, colour: &str) -> usize {
        let part = |at: usize| u8::from_str_radix(&colour[at..at + 2], 16).unwrap();
        let colour = [part(1), part(3), part(5)];
        let all = self.rows.iter().flatten();
        all.filter(|dot| **dot == colour).count()
    }

    /// The columns of a band of rows, in CSS pixels, on which there is anything.
    fn columns(&self, band: std::ops::Range<f64>) -> Option<(f64, f64)> {
        let at = |pixels: f64| (pixels * DOTS_A_PIXEL) as usize;
        let rows = &self.rows[at(band.start)..at(band.end)];
        let inked = |column: &usize| rows.iter().any(|row| row[*column] != [255; 3]);
        let first = (0..self.width).find(inked)?;
        let last = (0..self.width).rfind(inked)?;
        Some((
            first as f64 / DOTS_A_PIXEL,
            (last + 1) as f64 / DOTS_A_PIXEL,
        ))
    }
}

fn light(name: &str) -> &'static str {
    let mut palette = crate::chart::style::PALETTE.iter();
    palette.find(|colour| colour.0 == name).unwrap().1
}

/// A rule that was not understood would leave a shape in black, which no colour of the light palette is.
#[test]
fn every_picture_becomes_dots_of_its_size_in_its_own_colours() {
    for (name, picture) in samples::all(&DESK) {
        let dots = Dots::of(&picture.svg);
        assert_eq!(dots.width as f64, picture.width * DOTS_A_PIXEL, "{name}");
        assert_eq!(
            dots.rows.len() as f64,
            picture.height * DOTS_A_PIXEL,
            "{name}"
        );
        // 192 dots an inch.
        assert_eq!(dots.dots_a_metre, 7559, "{name}");
        assert_eq!(dots.count("#000000"), 0, "{name}: what is black?");
        for colour in ["ink", "soft", "paper"] {
            assert!(dots.count(light(colour)) > 500, "{name}: {colour}");
        }
    }
}

#[test]
fn limits_of_both_kinds_keep_their_colours() {
    let dots = Dots::of(&control_chart(&samples::control(), &DESK).svg);
    for colour in ["control", "signal"] {
        assert!(dots.count(light(colour)) > 200, "{colour}");
    }
    let dots = Dots::of(&run_chart(&samples::run(), &DESK).svg);
    assert!(dots.count(light("tolerance")) > 1000);
}

#[test]
fn both_looks_are_the_same_dots() {
    let fixed = Format {
        look: Look::Fixed,
        ..DESK
    };
    let of = |format| png(&run_chart(&samples::run(), format).svg).unwrap();
    assert!(of(&DESK) == of(&fixed));
}

/// Sets a title alone and says over which columns it runs.
fn title_runs(title: &str) -> Option<(f64, f64)> {
    let heading = Heading {
        title: title.to_owned(),
        ..Heading::default()
    };
    let data = RunChart {
        heading,
        ..samples::run()
    };
    let picture = run_chart(&data, &DESK);
    let edge = 14.0;
    Dots::of(&picture.svg).columns(edge..edge + 22.0)
}

/// No letter runs wider than the drawing reckons with, so what fits there fits in dots.
#[test]
fn letters_are_drawn_and_no_wider_than_was_reckoned() {
    for title in [
        "Pitch diameter over wires",
        "WWWWMMMM",
        "0123456789.,-",
        "Ø12 ±0,01 µm ΔΣλ",
    ] {
        let (first, last) = title_runs(title).unwrap();
        let reckoned = crate::sheet::width_of(title, 18.0) * crate::sheet::BOLD;
        assert!((13.0..18.0).contains(&first), "{title}: from {first}");
        assert!(
            last - first <= reckoned,
            "{title}: {} of {reckoned}",
            last - first
        );
        assert!(
            last - first > reckoned * 0.6,
            "{title}: {} of {reckoned}",
            last - first
        );
    }
}

/// Letters that are not built in, and on many machines nowhere, take nothing else away.
#[test]
fn strange_letters_leave_the_others_standing() {
    let (_, plain) = title_runs("Gewinde").unwrap();
    let (first, last) = title_runs("Gewinde 螺紋 🔩 \u{10ffff}").unwrap();
    assert!(
        (13.0..18.0).contains(&first) && last >= plain,
        "{first} to {last}"
    );
}

#[test]
fn what_is_no_drawing_of_a_size_is_refused() {
    assert!(matches!(png("no drawing"), Err(RasterError::Drawing(_))));
    let wide = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100000\" height=\"10\"/>";
    let error = png(wide).unwrap_err();
    assert_eq!(
        error.to_string(),
        "a drawing of 100000 by 10 is too large to be made into dots"
    );
}
