//! Run rules as a person says them: `nelson`, or `nelson:1,2,5`, or `western-electric:1,4=9`.

use std::str::FromStr;

use thiserror::Error;

use super::{Rule, RuleSet, RunRuleError, RunRules};

/// Why run rules are not understood.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum RulesError {
    /// No such set of rules.
    #[error("expected usual, nelson or western-electric, found `{found}`")]
    Book {
        /// What was said.
        found: String,
    },
    /// No such rule in the book.
    #[error("expected the number of a rule of this book, as in nelson:1,2,5, found `{found}`")]
    Number {
        /// What was said.
        found: String,
    },
    /// A run cannot have that length.
    #[error("rule {number}: {reason}")]
    Length {
        /// The rule.
        number: u8,
        /// Why not.
        reason: RunRuleError,
    },
}

/// The set's name; after a colon the numbers of the rules that are on, by the book of the set, each with the length
/// of its run after `=` where it is not the book's. `usual` is numbered by Nelson.
///
/// ```
/// use overwire_core::stats::run_rules::{Rule, RunRules};
/// let rules: RunRules = "nelson:1,2=8".parse()?;
/// assert!(rules.on().contains(Rule::SameSide) && !rules.on().contains(Rule::Trend));
/// assert_eq!(rules.length(Rule::SameSide), 8);
/// assert_eq!("usual".parse(), Ok(RunRules::usual()));
/// # Ok::<(), overwire_core::stats::run_rules::RulesError>(())
/// ```
impl FromStr for RunRules {
    type Err = RulesError;

    fn from_str(said: &str) -> Result<RunRules, RulesError> {
        let (book, numbers) = match said.split_once(':') {
            Some((book, numbers)) => (book.trim(), Some(numbers)),
            None => (said.trim(), None),
        };
        let rules = match (book, numbers) {
            ("" | "usual", None) => RunRules::usual(),
            // Whoever names numbers may name any of the book.
            ("usual" | "nelson", _) => RunRules::nelson(),
            ("western-electric", _) => RunRules::western_electric(),
            (found, _) => {
                let found = found.to_owned();
                return Err(RulesError::Book { found });
            }
        };
        numbers.map_or(Ok(rules), |numbers| rules.numbered(numbers))
    }
}

impl RunRules {
    /// The same with only the rules of these numbers on.
    fn numbered(self, numbers: &str) -> Result<RunRules, RulesError> {
        let (mut rules, mut on) = (self, RuleSet::NONE);
        for said in numbers.split(',').map(str::trim) {
            let unknown = || RulesError::Number {
                found: said.to_owned(),
            };
            let (number, length) = match said.split_once('=') {
                Some((number, length)) => (number.trim(), Some(length.trim())),
                None => (said, None),
            };
            let number: u8 = number.parse().map_err(|_| unknown())?;
            let of_book = |rule: &Rule| rule.number(self.book()) == Some(number);
            let rule = Rule::ALL.into_iter().find(of_book).ok_or_else(unknown)?;
            on = on.with(rule);
            if let Some(length) = length {
                let length = length.parse().map_err(|_| unknown())?;
                let changed = rules.with_length(rule, length);
                rules = changed.map_err(|reason| RulesError::Length { number, reason })?;
            }
        }
        Ok(rules.only(on))
    }
}
