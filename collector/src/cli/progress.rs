//! A bar that says how far a long command has come; only where somebody looks.

use indicatif::{ProgressBar, ProgressStyle};

/// A bar on standard error.
#[derive(Debug)]
pub struct Bar(ProgressBar);

impl Bar {
    /// A bar that is drawn, or one that is not.
    pub fn of(drawn: bool) -> Bar {
        if !drawn {
            return Bar(ProgressBar::hidden());
        }
        let bar = ProgressBar::new(0);
        let style = ProgressStyle::with_template("{bar:30} {percent:>3} %  {eta} left");
        Bar(match style {
            Ok(style) => bar.with_style(style),
            Err(_) => bar,
        })
    }

    /// So many of so many.
    pub fn at(&self, done: i64, all: i64) {
        self.0.set_length(all.unsigned_abs());
        self.0.set_position(done.unsigned_abs());
    }

    /// Takes it off the screen.
    pub fn end(&self) {
        self.0.finish_and_clear();
    }
}
