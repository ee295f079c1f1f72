//! The pictures are read back as text and measured; nothing here looks at the drawing code's
//! own intermediate numbers.

use super::*;

mod any;
mod axes;
mod documents;
mod dots;
mod looks;
mod ordered;
mod reader;
mod samples;
mod shapes;

use reader::{Drawing, scale};
use samples::FORMATS;

const DESK: Format = Format {
    width: Width::Desk,
    look: Look::Page,
};
const PHONE: Format = Format {
    width: Width::Phone,
    look: Look::Page,
};

fn drawn(picture: &Picture) -> Drawing {
    Drawing::of(&picture.svg)
}
