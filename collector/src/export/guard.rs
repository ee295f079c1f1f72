//! Keeps text from being run as a formula by a spreadsheet (CWE-1236).
//!
//! Text that begins with one of `= + - @`, a tab, a line end, a NUL or one of the full-width forms of the
//! four signs gets an apostrophe before it. So does text that begins with an apostrophe, so that taking
//! one off gives the text back in every case. Only columns of free text are guarded.

use std::borrow::Cow;

/// The text, guarded where it needs to be.
pub fn guarded(text: &str) -> Cow<'_, str> {
    let risky = |c: char| {
        matches!(
            c,
            '=' | '+' | '-' | '@' | '\t' | '\r' | '\n' | '\0' | '\'' | '＝' | '＋' | '－' | '＠'
        )
    };
    // A spreadsheet may pass over leading spaces before it looks for a sign.
    if text.trim_start_matches(' ').starts_with(risky) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

/// The reverse of [`guarded`].
pub fn unguarded(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if matches!(guarded(rest), Cow::Owned(_)) => rest,
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_could_be_run_is_guarded_and_comes_back() {
        for text in [
            "=1+1", "+5", "-0.5", "@SUM(A1)", "\t=1", "\r\n", "'quoted", "  =1", "＝1", "\0x",
        ] {
            let guarded = guarded(text);
            assert!(guarded.starts_with('\''), "{text:?}");
            assert_eq!(unguarded(&guarded), text);
        }
        for text in ["", "J-2417", "0042-07", "1E5", "AK", "a=b", "’s"] {
            assert_eq!(guarded(text), text);
            assert_eq!(unguarded(text), text);
        }
    }
}
