//! The pictures of the statistics, as they are on the page and on paper.

use rust_xlsxwriter::{Image, Worksheet};

use super::grid::Grid;
use super::sheets::set_up;
use super::statistics::Told;
use super::{Paper, Setup};
use crate::chart::raster;
use crate::export::ExportError;
use crate::export::value::Value;
use crate::findings::Drawn;

/// Height of a row in CSS pixels: 15 points.
const ROW_PIXELS: f64 = 20.0;
/// CSS pixels along a millimetre, of 96 to the inch.
const PIXELS_A_MM: f64 = 96.0 / 25.4;
/// UTF-16 units that a spreadsheet takes of the text for those who do not see a picture.
const LONGEST_ALT_TEXT: usize = 255;
/// Rows above the first picture.
const HEAD_ROWS: f64 = 3.0;
/// What the margins and the lines at head and foot take of a sheet of paper across and down, mm.
const MARGINS: (f64, f64) = (2.0 * 17.8, 2.0 * 19.1 + 5.0);

/// The sheet: a picture below its title, each on a page of its own.
pub fn sheet(told: &[Told], setup: &Setup) -> Result<Worksheet, ExportError> {
    let mut sheet = Worksheet::new();
    sheet.set_name("Pictures")?;
    set_up(&mut sheet, setup)?;
    let mut page = Page {
        grid: Grid::new(sheet, &setup.looks, 0),
        widest: 0.0,
        tallest: 0.0,
        breaks: Vec::new(),
    };
    page.grid.heading(0, "Pictures of the statistics")?;
    page.grid.row = 2;
    for of_thread in told {
        match &of_thread.found {
            Ok(found) => {
                for drawn in &found.pictures {
                    page.picture(&of_thread.title, drawn)?;
                }
            }
            Err(reason) => page.line(&format!("{}: –: {reason}", of_thread.title))?,
        }
    }
    page.finish(setup.paper)
}

struct Page {
    grid: Grid,
    /// Sizes in CSS pixels.
    widest: f64,
    tallest: f64,
    breaks: Vec<u32>,
}

impl Page {
    fn line(&mut self, text: &str) -> Result<(), ExportError> {
        self.grid.cell(0, &Value::Free(text.into()))?;
        self.grid.row += 1;
        Ok(())
    }

    fn picture(&mut self, thread: &str, drawn: &Drawn) -> Result<(), ExportError> {
        let image = match raster::png(&drawn.svg) {
            Ok(file) => Image::new_from_buffer(&file)?,
            Err(error) => {
                return self.line(&format!("{thread}: {}: –: {error}", drawn.kind()));
            }
        };
        if self.tallest > 0.0 {
            self.breaks.push(self.grid.row);
        }
        self.line(&format!("{thread}: {}", drawn.kind()))?;
        let [width, height] =
            [image.width(), image.height()].map(|dots| dots / raster::DOTS_A_PIXEL);
        let image = image.set_alt_text(whole_sentences(&drawn.description, LONGEST_ALT_TEXT));
        self.grid.sheet.insert_image(self.grid.row, 0, &image)?;
        self.widest = self.widest.max(width);
        self.tallest = self.tallest.max(height + HEAD_ROWS * ROW_PIXELS);
        self.grid.row += (height / ROW_PIXELS).ceil() as u32 + 1;
        Ok(())
    }

    /// A page a picture, all at one scale: the largest that the widest and the tallest fit at.
    fn finish(mut self, paper: Paper) -> Result<Worksheet, ExportError> {
        let (across, down) = match paper {
            Paper::A4 => (297.0, 210.0),
            Paper::Letter => (279.4, 215.9),
        };
        let fits = |paper: f64, margins: f64, pixels: f64| (paper - margins) * PIXELS_A_MM / pixels;
        let scale = fits(across, MARGINS.0, self.widest).min(fits(down, MARGINS.1, self.tallest));
        if self.tallest > 0.0 {
            // Within one column, so that programs with other letters, and so other columns, do not stretch them.
            let column = self.widest.ceil() as u32 + 20;
            self.grid.sheet.set_column_width_pixels(0, column)?;
            let percent = (scale * 100.0).floor().clamp(10.0, 100.0);
            self.grid.sheet.set_print_scale(percent as u16);
            self.grid.sheet.set_page_breaks(&self.breaks)?;
        }
        Ok(self.grid.sheet)
    }
}

/// As many whole sentences of a text as fit; of a first one that does not, its beginning.
fn whole_sentences(text: &str, most: usize) -> &str {
    let (mut units, mut fits, mut ended) = (0, 0, 0);
    for (at, character) in text.char_indices() {
        if character == ' ' && text[..at].ends_with('.') {
            ended = at;
        }
        units += character.len_utf16();
        if units > most {
            return if ended > 0 {
                &text[..ended]
            } else {
                &text[..fits]
            };
        }
        fits = at + character.len_utf8();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_cut_after_a_sentence() {
        let told = "Histogram. Unit 1.5 mm. And so on.";
        let fits = told.len();
        assert_eq!(whole_sentences(told, fits), told);
        assert_eq!(whole_sentences(told, fits - 1), "Histogram. Unit 1.5 mm.");
        assert_eq!(whole_sentences(told, 22), "Histogram.");
        assert_eq!(whole_sentences(told, 23), "Histogram. Unit 1.5 mm.");
        assert_eq!(whole_sentences(told, 9), "Histogram");
        assert_eq!(whole_sentences("🔩🔩🔩", 5), "🔩🔩");
    }
}
