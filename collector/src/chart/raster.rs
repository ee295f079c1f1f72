//! Pictures as dots, for programs that take no drawings: spreadsheets, letters.
//!
//! The same drawing in its written-out colours, in letters that are built in, so that a picture looks alike on every
//! machine, one without any fonts included. Only a character those letters do not have is looked for in the fonts of
//! the system.

use std::cmp::Reverse;
use std::collections::HashMap;
use std::sync::{Arc, LazyLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{self, FontResolver, Tree, fontdb};

use super::style;

/// Dots along a CSS pixel: sharp on paper and on fine screens.
pub const DOTS_A_PIXEL: f64 = 2.0;
/// CSS pixels along a metre, of 96 to the inch.
const PIXELS_A_METRE: f64 = 96.0 / 0.0254;
/// More dots than this along a side are no picture of ours.
const MOST_DOTS: f64 = 16_384.0;

const FAMILY: &str = "DejaVu Sans";

/// The letters that are built in.
static LETTERS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut letters = fontdb::Database::new();
    for face in [dejavu::sans::regular(), dejavu::sans::bold()] {
        letters.load_font_source(fontdb::Source::Binary(Arc::new(face)));
    }
    // Whatever a drawing asks for.
    letters.set_sans_serif_family(FAMILY);
    letters.set_serif_family(FAMILY);
    Arc::new(letters)
});

/// The same, and those of the system after them.
static ALL_LETTERS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut letters = fontdb::Database::clone(&LETTERS);
    letters.load_system_fonts();
    Arc::new(letters)
});

/// Why there are no dots.
#[derive(Debug, thiserror::Error)]
pub enum RasterError {
    /// The drawing cannot be read.
    #[error("the drawing cannot be read: {0}")]
    Drawing(#[from] usvg::Error),
    /// It is too large to be made into dots.
    #[error("a drawing of {0} by {1} is too large to be made into dots")]
    Size(f32, f32),
    /// The dots cannot be packed.
    #[error("the picture cannot be packed: {0}")]
    Packing(#[from] png::EncodingError),
}

/// A drawing of [`Picture::svg`](super::Picture::svg), in either look, as a PNG file (ISO/IEC 15948) that says how
/// large it is: [`DOTS_A_PIXEL`] to the CSS pixel, without transparency.
///
/// # Errors
/// The text is no SVG, or of no size that can be drawn.
pub fn png(svg: &str) -> Result<Vec<u8>, RasterError> {
    let options = usvg::Options {
        fontdb: Arc::clone(&LETTERS),
        font_resolver: FontResolver {
            select_font: FontResolver::default_font_selector(),
            select_fallback: fallback(),
        },
        ..usvg::Options::default()
    };
    let tree = Tree::from_str(&style::written_out(svg), &options)?;
    let size = tree.size();
    let dots = [size.width(), size.height()].map(|side| (f64::from(side) * DOTS_A_PIXEL).ceil());
    let pixmap = dots
        .iter()
        .all(|side| *side <= MOST_DOTS)
        .then(|| Pixmap::new(dots[0] as u32, dots[1] as u32));
    let Some(mut pixmap) = pixmap.flatten() else {
        return Err(RasterError::Size(size.width(), size.height()));
    };
    pixmap.fill(resvg::tiny_skia::Color::WHITE);
    let scale = DOTS_A_PIXEL as f32;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixmap.as_mut(),
    );
    packed(&pixmap)
}

/// Looks for a character among the letters that are built in, then among those of the system.
fn fallback() -> usvg::FallbackSelectionFn<'static> {
    let among = FontResolver::default_fallback_selector();
    Box::new(move |character, tried, letters| {
        among(character, tried, letters).or_else(|| {
            // What was there keeps its place in it.
            *letters = Arc::clone(&ALL_LETTERS);
            among(character, tried, letters)
        })
    })
}

fn packed(pixmap: &Pixmap) -> Result<Vec<u8>, RasterError> {
    let few = FewColours::of(pixmap);
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, pixmap.width(), pixmap.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(few.palette);
    let dots_a_metre = (PIXELS_A_METRE * DOTS_A_PIXEL).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: dots_a_metre,
        yppu: dots_a_metre,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&few.dots)?;
    writer.finish()?;
    Ok(file)
}

type Colour = [u8; 3];

/// Dots by the place of their colour in a palette: a third of the size.
struct FewColours {
    /// Red, green and blue of each colour.
    palette: Vec<u8>,
    dots: Vec<u8>,
}

impl FewColours {
    /// The colours that come most often; those of the few dots beyond them, steps of the edges of letters and lines,
    /// become the nearest.
    fn of(pixmap: &Pixmap) -> FewColours {
        let mut runs: Vec<(Colour, usize)> = Vec::new();
        for dot in pixmap.data().chunks_exact(4) {
            // On a white ground nothing shows through.
            let colour = [dot[0], dot[1], dot[2]];
            match runs.last_mut() {
                Some((last, length)) if *last == colour => *length += 1,
                _ => runs.push((colour, 1)),
            }
        }
        let mut counts: HashMap<Colour, usize> = HashMap::new();
        for (colour, length) in &runs {
            *counts.entry(*colour).or_default() += length;
        }
        let mut colours: Vec<(Colour, usize)> = counts.into_iter().collect();
        colours.sort_by_key(|&(colour, count)| (Reverse(count), colour));
        let kept: Vec<Colour> = colours.iter().take(256).map(|each| each.0).collect();
        let places = colours
            .iter()
            .map(|(colour, _)| (*colour, nearest(*colour, &kept)));
        let places: HashMap<Colour, u8> = places.collect();
        let mut dots = Vec::with_capacity(pixmap.data().len() / 4);
        for (colour, length) in runs {
            dots.extend(std::iter::repeat_n(places[&colour], length));
        }
        FewColours {
            palette: kept.concat(),
            dots,
        }
    }
}

/// The place of the colour that is least away.
fn nearest(colour: Colour, kept: &[Colour]) -> u8 {
    let away = |other: &Colour| -> u32 {
        let parts = colour.iter().zip(other);
        parts
            .map(|(one, other)| u32::from(one.abs_diff(*other)).pow(2))
            .sum()
    };
    let places = (0_u8..=u8::MAX).zip(kept);
    places
        .min_by_key(|(_, other)| away(other))
        .map_or(0, |(place, _)| place)
}
