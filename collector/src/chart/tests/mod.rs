//! The pictures are read back as text and measured; nothing here looks at the drawing code's
//! own intermediate numbers.

use super::*;

mod samples;

use samples::FORMATS;

/// Every sample in every format. With `OVERWIRE_CHARTS=folder` they are kept for looking at.
#[test]
fn every_sample_is_drawn_in_every_format() {
    let folder = std::env::var_os("OVERWIRE_CHARTS").map(std::path::PathBuf::from);
    for (form, format) in FORMATS {
        for (name, picture) in samples::all(&format) {
            assert!(picture.svg.contains("<path"), "{name} {form}");
            if let Some(folder) = &folder {
                std::fs::write(folder.join(format!("{name}.{form}.svg")), &picture.svg).unwrap();
            }
        }
    }
}
