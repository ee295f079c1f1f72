//! What was worked out last: a page asks for the answer and then for each of its pictures, and all of them come
//! from one working out.
//!
//! An answer holds for the record's last entry it was worked out at and for no other. Whoever asks the same while it
//! is being worked out waits for it.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use crate::collect::command::Refusal;
use crate::findings::Findings;

/// What was found, or why there is nothing.
pub type Answer = Result<Arc<Findings>, Refusal>;

/// So many answers are remembered: those of a few pages, on a desk and in a hand.
const MOST: usize = 6;

/// A question, and the last entry of the record it is asked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Key {
    /// The words of the question.
    pub words: Vec<(String, String)>,
    /// Number of the record's last entry.
    pub entry: i64,
    /// Entry of the last revision of a job that the register knows: it is told a moment after the record.
    pub revision: i64,
}

/// The last answers.
#[derive(Debug, Default)]
pub struct Answered {
    latest: Mutex<VecDeque<(Key, Arc<OnceLock<Answer>>)>>,
}

impl Answered {
    /// The answer to a question, worked out where it is not known.
    pub fn or_work_out(&self, key: Key, work_out: impl FnOnce() -> Answer) -> Answer {
        let place = self.place(key);
        place.get_or_init(work_out).clone()
    }

    fn place(&self, key: Key) -> Arc<OnceLock<Answer>> {
        let mut latest = self.latest.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, place)) = latest.iter().find(|(known, _)| *known == key) {
            return place.clone();
        }
        // What an older record gave will not be asked for again.
        latest.retain(|(known, _)| known.words != key.words);
        latest.truncate(MOST - 1);
        let place = Arc::new(OnceLock::new());
        latest.push_front((key, place.clone()));
        place
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(word: &str, entry: i64) -> Key {
        Key {
            words: vec![("job".to_owned(), word.to_owned())],
            entry,
            revision: 0,
        }
    }

    fn title(answer: &Answer) -> String {
        answer
            .as_ref()
            .map(|found| found.title.clone())
            .unwrap_or_default()
    }

    #[test]
    fn an_answer_is_worked_out_once_for_each_state_of_the_record() {
        let answered = Answered::default();
        let mut times = 0;
        let mut ask = |key: Key| {
            let answer = answered.or_work_out(key, || {
                times += 1;
                let title = times.to_string();
                Ok(Arc::new(Findings {
                    title,
                    ..Findings::default()
                }))
            });
            title(&answer)
        };
        assert_eq!(
            [ask(key("a", 1)), ask(key("a", 1)), ask(key("b", 1))],
            ["1", "1", "2"]
        );
        assert_eq!(
            [ask(key("a", 2)), ask(key("a", 2)), ask(key("b", 1))],
            ["3", "3", "2"]
        );
        for other in 0..MOST {
            ask(key(&other.to_string(), 1));
        }
        assert_eq!(ask(key("a", 2)), "10", "the oldest were let go");
    }
}
