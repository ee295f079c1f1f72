//! The link to a port: whether it is there, and if not, why not.
//!
//! The decisions are pure: [`Link`] is told what happened and says what is to be told and when to try
//! again. The port itself is opened and read in [`port`]. Silence is normal for an instrument that
//! sends when a button is pressed: only the port can declare itself lost.

pub mod port;

use std::fmt;

/// Time between two tries to open a port that is not there. A port that returns is found within it.
pub const RETRY_MS: u64 = 250;

/// Why a port is not being listened to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    /// There is nothing at the path.
    Missing,
    /// It was there and went away while it was open.
    Unplugged,
    /// This user may not open it; the group that may.
    NoPermission {
        /// Group of the port's node.
        group: String,
    },
    /// Another program holds it.
    Held,
    /// The system refused for another reason.
    Refused(String),
}

/// State of a link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    /// Bytes are waited for.
    Listening,
    /// The port is tried again and again.
    Waiting(Why),
}

impl State {
    /// Code, for programs and the page.
    pub fn code(&self) -> &'static str {
        match self {
            State::Listening => "listening",
            State::Waiting(Why::Missing) => "absent",
            State::Waiting(Why::Unplugged) => "unplugged",
            State::Waiting(Why::NoPermission { .. }) => "no_permission",
            State::Waiting(Why::Held) => "held",
            State::Waiting(Why::Refused(_)) => "refused",
        }
    }

    /// What to do about it, if anything can be done.
    pub fn hint(&self) -> Option<String> {
        match self {
            State::Listening => None,
            State::Waiting(Why::Missing) => Some(
                "Plug the adapter in, or correct `port` in the settings; `overwire ports` lists what is there."
                    .to_owned(),
            ),
            State::Waiting(Why::Unplugged) => {
                Some("Plug it in again; nothing needs to be restarted.".to_owned())
            }
            State::Waiting(Why::NoPermission { group }) => Some(format!(
                "Let this user in: `sudo usermod -aG {group} $USER`, then log in again (or restart the service)."
            )),
            State::Waiting(Why::Held) => Some(
                "Close the other program that has it open; `sudo fuser -v PORT` names it."
                    .to_owned(),
            ),
            State::Waiting(Why::Refused(_)) => {
                Some("Check that the path is a serial port and the line settings suit it.".to_owned())
            }
        }
    }
}

/// The sentence for a person, the port named.
pub struct Sentence<'a>(pub &'a State, pub &'a str);

impl fmt::Display for Sentence<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let port = self.1;
        match self.0 {
            State::Listening => write!(f, "Listening on {port}."),
            State::Waiting(Why::Missing) => {
                write!(f, "There is nothing at {port}; waiting for it.")
            }
            State::Waiting(Why::Unplugged) => {
                write!(
                    f,
                    "{port} disappeared while listening; waiting for it to return."
                )
            }
            State::Waiting(Why::NoPermission { group }) => {
                write!(
                    f,
                    "This user may not open {port}; members of the group `{group}` may."
                )
            }
            State::Waiting(Why::Held) => write!(f, "Another program holds {port}."),
            State::Waiting(Why::Refused(what)) => write!(f, "{port} could not be opened: {what}."),
        }
    }
}

/// What happened to a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Happened {
    /// It was opened.
    Opened,
    /// It could not be opened.
    OpenFailed(Why),
    /// It went away while open.
    Lost,
}

/// One link.
#[derive(Debug, Clone)]
pub struct Link {
    state: State,
    retry_at_ns: Option<i64>,
}

impl Link {
    /// A link to a port that has not been tried yet: due at once.
    pub fn new(now_ns: i64) -> Link {
        Link {
            state: State::Waiting(Why::Missing),
            retry_at_ns: Some(now_ns),
        }
    }

    /// Its state.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// When the port is to be tried again, monotonic nanoseconds; none while it is listened to.
    pub fn retry_at_ns(&self) -> Option<i64> {
        self.retry_at_ns
    }

    /// Takes what happened; says whether the state changed and is to be told.
    pub fn step(&mut self, happened: Happened, now_ns: i64) -> bool {
        let next = match happened {
            Happened::Opened => State::Listening,
            Happened::Lost => State::Waiting(Why::Unplugged),
            // What was unplugged is missing for as long as it stays out: that is the same news.
            Happened::OpenFailed(Why::Missing) if self.state == State::Waiting(Why::Unplugged) => {
                State::Waiting(Why::Unplugged)
            }
            Happened::OpenFailed(why) => State::Waiting(why),
        };
        let waits = next != State::Listening;
        self.retry_at_ns = waits.then_some(now_ns + RETRY_MS as i64 * 1_000_000);
        let changed = next != self.state;
        self.state = next;
        changed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every state meets every event.
    #[test]
    fn every_state_and_event() {
        let group = || Why::NoPermission {
            group: "dialout".to_owned(),
        };
        let states = [
            State::Listening,
            State::Waiting(Why::Missing),
            State::Waiting(Why::Unplugged),
            State::Waiting(group()),
            State::Waiting(Why::Held),
            State::Waiting(Why::Refused("x".to_owned())),
        ];
        for state in &states {
            for (happened, wanted) in [
                (Happened::Opened, State::Listening),
                (Happened::Lost, State::Waiting(Why::Unplugged)),
                (Happened::OpenFailed(group()), State::Waiting(group())),
                (Happened::OpenFailed(Why::Held), State::Waiting(Why::Held)),
                (
                    Happened::OpenFailed(Why::Missing),
                    if *state == State::Waiting(Why::Unplugged) {
                        State::Waiting(Why::Unplugged)
                    } else {
                        State::Waiting(Why::Missing)
                    },
                ),
            ] {
                let mut link = Link {
                    state: state.clone(),
                    retry_at_ns: None,
                };
                let changed = link.step(happened.clone(), 7);
                assert_eq!(link.state, wanted, "{state:?} {happened:?}");
                assert_eq!(changed, wanted != *state, "{state:?} {happened:?}");
                let due = (wanted != State::Listening).then_some(7 + RETRY_MS as i64 * 1_000_000);
                assert_eq!(link.retry_at_ns, due);
            }
        }
    }

    #[test]
    fn each_reason_says_what_to_do() {
        let waiting = State::Waiting(Why::NoPermission {
            group: "dialout".to_owned(),
        });
        assert!(waiting.hint().unwrap().contains("usermod -aG dialout"));
        assert_eq!(
            Sentence(&State::Waiting(Why::Unplugged), "/dev/ttyUSB0").to_string(),
            "/dev/ttyUSB0 disappeared while listening; waiting for it to return."
        );
    }
}
