//! Run rules: patterns on a control chart that chance alone rarely draws.
//!
//! Eight patterns, as Nelson (1984) numbers them, and the four of the Western Electric handbook
//! (1956), which are among them under other numbers and lengths. Each can be switched off, and
//! the length of every run is a setting, because books differ. How often the rules cry wolf is
//! worked out by [`RunRules::points_to_signal`].
//!
//! # Conventions
//!
//! * Beyond, above, below and inside are strict: a point on a line is on neither side of it, so
//!   one on the centre line ends a run.
//! * The point marked is the one that completes the pattern; it must itself be in the zone.
//! * Two of three and four of five need all of them on one side; at the start of a chart two or
//!   four points are enough.
//! * A run of 6 rising points has 5 rising steps; equal neighbours end it, and an alternation too.
//! * A missing or excluded reading ends every pattern.
//!
//! Source: Nelson, Journal of Quality Technology 16 (1984); Western Electric, Statistical Quality
//! Control Handbook (1956); both from memory. With these conventions the run lengths of Champ &
//! Woodall, Technometrics 29 (1987), are met.
//!
//! # How it is worked out
//!
//! Every point is compared with the lines once; each comparison is a bit in a register of the 128
//! latest ones. A pattern is then a few shifts of a register, for one new point as for 64 at once:
//! [`Watch::next`] and [`Watch::scan`] are the same arithmetic.

mod expected;
mod explain;
mod history;
mod said;
mod signals;
mod words;
mod zones;

pub use explain::{Explanation, Side};
pub use signals::{Hit, Signals};
pub use zones::Zones;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use history::History;

pub use said::RulesError;

/// The longest run that can be asked for.
pub const LONGEST_RUN: u8 = 64;

/// Which book the rules are numbered by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Book {
    /// Nelson 1984, eight rules.
    Nelson1984,
    /// Western Electric 1956, four rules.
    WesternElectric1956,
}

/// A pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[repr(u8)]
pub enum Rule {
    /// A point beyond a control limit.
    BeyondLimit,
    /// So many points in a row on one side of the centre line.
    SameSide,
    /// So many points in a row steadily rising or falling.
    Trend,
    /// So many points in a row going up and down in turn.
    Alternating,
    /// Two of three points in a row beyond two sigma on one side.
    TwoOfThree,
    /// Four of five points in a row beyond one sigma on one side.
    FourOfFive,
    /// So many points in a row within one sigma of the centre line.
    NearCentre,
    /// So many points in a row further than one sigma from the centre line, on either side.
    AwayFromCentre,
}

impl Rule {
    /// All of them, in Nelson's order.
    pub const ALL: [Rule; 8] = [
        Rule::BeyondLimit,
        Rule::SameSide,
        Rule::Trend,
        Rule::Alternating,
        Rule::TwoOfThree,
        Rule::FourOfFive,
        Rule::NearCentre,
        Rule::AwayFromCentre,
    ];

    /// Its number in a book, or `None` when the book does not have it.
    ///
    /// ```
    /// use overwire_core::stats::run_rules::{Book, Rule};
    /// assert_eq!(Rule::SameSide.number(Book::Nelson1984), Some(2));
    /// assert_eq!(Rule::SameSide.number(Book::WesternElectric1956), Some(4));
    /// assert_eq!(Rule::Trend.number(Book::WesternElectric1956), None);
    /// ```
    pub const fn number(self, book: Book) -> Option<u8> {
        match (book, self) {
            (Book::Nelson1984, rule) => Some(rule as u8 + 1),
            (Book::WesternElectric1956, Rule::BeyondLimit) => Some(1),
            (Book::WesternElectric1956, Rule::TwoOfThree) => Some(2),
            (Book::WesternElectric1956, Rule::FourOfFive) => Some(3),
            (Book::WesternElectric1956, Rule::SameSide) => Some(4),
            (Book::WesternElectric1956, _) => None,
        }
    }
}

/// Some of the rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct RuleSet(u8);

impl RuleSet {
    /// None of them.
    pub const NONE: RuleSet = RuleSet(0);
    /// All eight.
    pub const ALL: RuleSet = RuleSet(u8::MAX);

    /// Just these.
    pub fn of(rules: &[Rule]) -> RuleSet {
        rules
            .iter()
            .fold(RuleSet::NONE, |set, &rule| set.with(rule))
    }

    /// These and one more.
    #[must_use]
    pub const fn with(self, rule: Rule) -> RuleSet {
        RuleSet(self.0 | 1 << rule as u8)
    }

    /// These without one.
    #[must_use]
    pub const fn without(self, rule: Rule) -> RuleSet {
        RuleSet(self.0 & !(1 << rule as u8))
    }

    /// Those in both.
    #[must_use]
    pub const fn and(self, other: RuleSet) -> RuleSet {
        RuleSet(self.0 & other.0)
    }

    /// Whether this one is among them.
    pub const fn contains(self, rule: Rule) -> bool {
        self.0 >> rule as u8 & 1 == 1
    }

    /// Whether there is none.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// One after another, in Nelson's order.
    pub fn iter(self) -> impl Iterator<Item = Rule> {
        Rule::ALL
            .into_iter()
            .filter(move |&rule| self.contains(rule))
    }
}

/// Why a run of that length cannot be watched for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum RunRuleError {
    /// Too short to be a run, or longer than is remembered.
    #[error("expected a run of {shortest} to {LONGEST_RUN} points, found {length}")]
    Length {
        /// What was asked for.
        length: u8,
        /// The shortest run that makes sense for the rule.
        shortest: u8,
    },
    /// The rule has no length of its own.
    #[error("expected a rule with a run length; the length of this one is fixed")]
    Fixed,
}

impl RunRuleError {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            RunRuleError::Length { .. } => "run-length",
            RunRuleError::Fixed => "run-length-fixed",
        }
    }
}

/// Which rules are on, and their lengths: a setting that is printed with every chart
/// ([`RunRules::settings_words`]).
///
/// ```
/// use overwire_core::stats::run_rules::{Rule, RunRules, Watch, Zones};
///
/// let rules = RunRules::nelson().with_length(Rule::SameSide, 7)?;
/// let mut watch = Watch::new(rules, Zones::standard());
/// let signals = [0.5; 7].map(|point| watch.next(point));
/// assert!(signals[5].is_empty());
/// assert!(signals[6].contains(Rule::SameSide));
/// # Ok::<(), overwire_core::stats::run_rules::RunRuleError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct RunRules {
    book: Book,
    on: RuleSet,
    same_side: u8,
    trend: u8,
    alternating: u8,
    near_centre: u8,
    away_from_centre: u8,
}

impl RunRules {
    /// All eight of Nelson 1984: 9 on one side, 6 rising or falling, 14 alternating, 15 near the
    /// centre line, 8 away from it.
    pub const fn nelson() -> RunRules {
        RunRules {
            book: Book::Nelson1984,
            on: RuleSet::ALL,
            same_side: 9,
            trend: 6,
            alternating: 14,
            near_centre: 15,
            away_from_centre: 8,
        }
    }

    /// The four of Western Electric 1956: 8 on one side.
    pub const fn western_electric() -> RunRules {
        let on = RuleSet::NONE
            .with(Rule::BeyondLimit)
            .with(Rule::TwoOfThree)
            .with(Rule::FourOfFive)
            .with(Rule::SameSide);
        RunRules {
            book: Book::WesternElectric1956,
            on,
            same_side: 8,
            ..RunRules::nelson()
        }
    }

    /// What is on unless somebody asks for more: a point beyond a limit and nine on one side. All
    /// rules together cry wolf every ninety points.
    pub const fn usual() -> RunRules {
        let on = RuleSet::NONE.with(Rule::BeyondLimit).with(Rule::SameSide);
        RunRules {
            on,
            ..RunRules::nelson()
        }
    }

    /// The same with only these rules on; those the book does not have stay off.
    #[must_use]
    pub fn only(self, rules: RuleSet) -> RunRules {
        let known = Rule::ALL
            .into_iter()
            .filter(|rule| rule.number(self.book).is_some())
            .fold(RuleSet::NONE, RuleSet::with);
        RunRules {
            on: rules.and(known),
            ..self
        }
    }

    /// Those that mean something on a chart of ranges or standard deviations: the first four.
    #[must_use]
    pub fn for_spread(self) -> RunRules {
        let lasting = [
            Rule::BeyondLimit,
            Rule::SameSide,
            Rule::Trend,
            Rule::Alternating,
        ];
        self.only(self.on.and(RuleSet::of(&lasting)))
    }

    /// Those that mean something on a chart of moving ranges: a point beyond a limit. Neighbouring
    /// moving ranges share a reading, so runs are no sign of anything.
    #[must_use]
    pub fn for_moving_ranges(self) -> RunRules {
        self.only(self.on.and(RuleSet::of(&[Rule::BeyondLimit])))
    }

    /// The same with another length of one run.
    ///
    /// # Errors
    /// [`RunRuleError`] for a length no run can have, or a rule without one.
    pub fn with_length(mut self, rule: Rule, length: u8) -> Result<RunRules, RunRuleError> {
        let (place, shortest) = match rule {
            Rule::SameSide => (&mut self.same_side, 2),
            Rule::Trend => (&mut self.trend, 2),
            Rule::Alternating => (&mut self.alternating, 3),
            Rule::NearCentre => (&mut self.near_centre, 2),
            Rule::AwayFromCentre => (&mut self.away_from_centre, 2),
            Rule::BeyondLimit | Rule::TwoOfThree | Rule::FourOfFive => {
                return Err(RunRuleError::Fixed);
            }
        };
        if !(shortest..=LONGEST_RUN).contains(&length) {
            return Err(RunRuleError::Length { length, shortest });
        }
        *place = length;
        Ok(self)
    }

    /// Which rules are on.
    pub const fn on(self) -> RuleSet {
        self.on
    }

    /// The book they are numbered by.
    pub const fn book(self) -> Book {
        self.book
    }

    /// How many points a pattern takes.
    pub const fn length(self, rule: Rule) -> u8 {
        match rule {
            Rule::BeyondLimit => 1,
            Rule::SameSide => self.same_side,
            Rule::Trend => self.trend,
            Rule::Alternating => self.alternating,
            Rule::TwoOfThree => 3,
            Rule::FourOfFive => 5,
            Rule::NearCentre => self.near_centre,
            Rule::AwayFromCentre => self.away_from_centre,
        }
    }
}

/// How run rules stand in a file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    book: Book,
    on: Vec<Rule>,
    same_side: u8,
    trend: u8,
    alternating: u8,
    near_centre: u8,
    away_from_centre: u8,
}

impl From<RunRules> for Written {
    fn from(rules: RunRules) -> Written {
        Written {
            book: rules.book,
            on: rules.on.iter().collect(),
            same_side: rules.same_side,
            trend: rules.trend,
            alternating: rules.alternating,
            near_centre: rules.near_centre,
            away_from_centre: rules.away_from_centre,
        }
    }
}

impl TryFrom<Written> for RunRules {
    type Error = RunRuleError;

    fn try_from(written: Written) -> Result<RunRules, RunRuleError> {
        let book = match written.book {
            Book::Nelson1984 => RunRules::nelson(),
            Book::WesternElectric1956 => RunRules::western_electric(),
        };
        book.only(RuleSet::of(&written.on))
            .with_length(Rule::SameSide, written.same_side)?
            .with_length(Rule::Trend, written.trend)?
            .with_length(Rule::Alternating, written.alternating)?
            .with_length(Rule::NearCentre, written.near_centre)?
            .with_length(Rule::AwayFromCentre, written.away_from_centre)
    }
}

/// Run rules at work: fed point by point, or many points at once, in any mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Watch {
    rules: RunRules,
    zones: Zones,
    history: History,
}

impl Watch {
    /// A watch before its first point.
    pub fn new(rules: RunRules, zones: Zones) -> Watch {
        Watch {
            rules,
            zones,
            history: History::default(),
        }
    }

    /// Takes the next point; the rules it completes a pattern of.
    pub fn next(&mut self, point: f64) -> RuleSet {
        let mut found = RuleSet::NONE;
        self.scan(&[point], |_, rules| found = rules);
        found
    }

    /// Takes the next points; calls `hit` with the index in `points` of each one that completes a
    /// pattern, in order. Nothing is allocated.
    pub fn scan(&mut self, points: &[f64], mut hit: impl FnMut(usize, RuleSet)) {
        let mut start = 0;
        for block in points.chunks(history::BLOCK) {
            self.history.take(block, &self.zones);
            let patterns = self.history.patterns(&self.rules, block.len());
            patterns.each(|index, rules| hit(start + index, rules));
            start += block.len();
        }
    }

    /// A missing or excluded reading, or a fresh start: no pattern reaches across it.
    pub fn break_chain(&mut self) {
        self.history.break_chain();
    }

    /// How many points it has taken.
    pub const fn points(&self) -> u64 {
        self.history.coarseness().points
    }

    /// Equal neighbours and points on a line so far: what a coarse display does to the rules.
    pub const fn coarseness(&self) -> Coarseness {
        self.history.coarseness()
    }
}

/// Above this share of equal neighbours the rules about rising, falling and alternating points say
/// little. Common practice, no source.
pub const MOST_TIES: f64 = 0.2;

/// What a coarse display does to the rules: equal neighbours, and points exactly on a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Coarseness {
    /// How many points were looked at.
    pub points: u64,
    /// How many of them have a neighbour before them.
    pub steps: u64,
    /// How many of those equal that neighbour.
    pub ties: u64,
    /// How many lie exactly on the centre line, a one or two sigma line, or a limit.
    pub on_a_line: u64,
}

impl Coarseness {
    /// Whether more than [`MOST_TIES`] of the steps are ties.
    pub fn is_too_coarse(self) -> bool {
        self.ties as f64 > MOST_TIES * self.steps as f64
    }
}
