//! Keeps the library's panics off standard error: they are caught and told in words of our own.
//!
//! The library panics where a temporary file cannot be written, on its own threads too, and has no other way to say
//! so. What a panic prints is decided by a hook of the whole process. The one set here, once, passes on everything but
//! panics that began in the library's own files, so that a fault of this program is printed as ever. A hook that
//! were put in and taken out around each workbook would race with one made beside it.

use std::panic::{PanicHookInfo, set_hook, take_hook};
use std::sync::Once;

/// Folder of the library's files, as the compiler notes them.
const LIBRARY: &str = "rust_xlsxwriter";
/// What `std::thread::scope` says after one of the library's threads has panicked.
const AFTERMATH: &str = "a scoped thread panicked";

/// Sets the hook, if it is not set yet.
pub fn hush_the_library() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let before = take_hook();
        set_hook(Box::new(move |panic| {
            if !is_the_library_s(panic) {
                before(panic);
            }
        }));
    });
}

fn is_the_library_s(panic: &PanicHookInfo<'_>) -> bool {
    let began_there = |file: &str| file.split('/').any(|folder| folder.starts_with(LIBRARY));
    panic
        .location()
        .is_some_and(|place| began_there(place.file()))
        || panic.payload_as_str() == Some(AFTERMATH)
}
