//! What a functional check found, and what that means beside a verdict over wires.
//!
//! Over wires one groove is felt on each side; a go ring gauge or the mating part feels the whole thread: lead,
//! flank angles, root, crest, straightness, burrs. One does not stand in for the other. That a go gauge checks
//! the functional (virtual) size and must pass over the whole thread is common practice, no source.

use crate::judge::Verdict;

/// What a functional check found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FunctionalResult {
    /// The gauge or mating part goes on over the whole thread.
    Goes,
    /// It does not.
    DoesNotGo,
    /// Nobody tried, and somebody said so.
    NotDone,
    /// What was said before is taken back.
    Withdrawn,
}

impl FunctionalResult {
    /// All of them.
    pub const ALL: [FunctionalResult; 4] = [
        FunctionalResult::Goes,
        FunctionalResult::DoesNotGo,
        FunctionalResult::NotDone,
        FunctionalResult::Withdrawn,
    ];

    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            FunctionalResult::Goes => "goes",
            FunctionalResult::DoesNotGo => "does_not_go",
            FunctionalResult::NotDone => "not_done",
            FunctionalResult::Withdrawn => "withdrawn",
        }
    }

    /// The reverse of [`FunctionalResult::code`].
    pub fn parse(code: &str) -> Option<FunctionalResult> {
        Self::ALL.into_iter().find(|result| result.code() == code)
    }

    /// What a person reads.
    pub const fn words(self) -> &'static str {
        match self {
            FunctionalResult::Goes => "goes",
            FunctionalResult::DoesNotGo => "does not go",
            FunctionalResult::NotDone => "not done",
            FunctionalResult::Withdrawn => "withdrawn",
        }
    }

    /// Whether a gauge or mating part was tried.
    pub const fn was_tried(self) -> bool {
        matches!(self, FunctionalResult::Goes | FunctionalResult::DoesNotGo)
    }

    /// What to know where the check and the verdict over wires do not say the same.
    ///
    /// ```
    /// use overwire_core::functional_check::FunctionalResult;
    /// use overwire_core::judge::Verdict;
    /// assert!(FunctionalResult::DoesNotGo.beside(Verdict::Pass).is_some());
    /// assert!(FunctionalResult::Goes.beside(Verdict::Pass).is_none());
    /// ```
    pub const fn beside(self, verdict: Verdict) -> Option<&'static str> {
        match (self, verdict) {
            (FunctionalResult::DoesNotGo, Verdict::Pass) => Some(
                "The pitch diameter over wires is within its limits and the gauge does not go: look for errors \
                 of lead, flank angle, root or crest, for burrs and for dirt. Wires do not see them.",
            ),
            (FunctionalResult::Goes, Verdict::FailOver | Verdict::StillToCut) => Some(
                "The gauge goes although the pitch diameter is over its limit: is the gauge worn or the wrong \
                 one, or did a wire not sit?",
            ),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_come_back() {
        for result in FunctionalResult::ALL {
            assert_eq!(FunctionalResult::parse(result.code()), Some(result));
        }
        assert_eq!(FunctionalResult::parse("maybe"), None);
    }

    #[test]
    fn a_check_that_agrees_with_the_wires_needs_no_word() {
        for (result, verdict) in [
            (FunctionalResult::Goes, Verdict::Pass),
            (FunctionalResult::Goes, Verdict::FailUnder),
            (FunctionalResult::DoesNotGo, Verdict::FailOver),
            (FunctionalResult::DoesNotGo, Verdict::StillToCut),
            (FunctionalResult::NotDone, Verdict::Pass),
            (FunctionalResult::Withdrawn, Verdict::Pass),
        ] {
            assert_eq!(result.beside(verdict), None, "{result:?} {verdict:?}");
        }
        let worn = FunctionalResult::Goes.beside(Verdict::FailOver);
        assert!(worn.is_some_and(|said| said.contains("worn")));
    }
}
