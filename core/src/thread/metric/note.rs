//! What there is to say about the limits of one metric thread.

use super::{Form, Metric};
use crate::thread::Engagement;

/// Everything particular about this thread, in sentences.
pub(super) fn about(thread: &Metric, listed: bool, computed: bool) -> Option<String> {
    let mut notes: Vec<String> = Vec::new();
    if !listed {
        notes.push("ISO 261 does not list this diameter with this pitch.".into());
    }
    if computed {
        notes.push("A special thread: limits computed by the formulas behind the tables.".into());
    }
    if thread.starts > 1 {
        notes.push("Limits are those of the single-start thread of the same pitch.".into());
    }
    notes.extend(about_engagement(thread.engagement));
    let usual = thread.pitch_diameter_class.to_string() == "4h";
    if thread.form == Form::LargeRootRadius && !usual {
        notes.push("MJ threads are usually of class 4h6h.".into());
    }
    (!notes.is_empty()).then(|| notes.join(" "))
}

/// The class sets the limits, whatever the engagement; that is worth a sentence.
fn about_engagement(engagement: Option<Engagement>) -> Option<String> {
    let stated = match engagement? {
        Engagement::Normal => return None,
        Engagement::Short => "A short length of engagement (S)".to_owned(),
        Engagement::Long => "A long length of engagement (L)".to_owned(),
        Engagement::Length(length) => {
            format!("The length of engagement of {} mm", length.value())
        }
    };
    Some(format!(
        "{stated} does not change these limits: the class that is stated sets them."
    ))
}
