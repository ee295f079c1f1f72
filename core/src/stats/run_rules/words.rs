//! What is said about run rules and their hits.

use super::{Book, Coarseness, Explanation, MOST_TIES, Rule, RunRules, Side};
use crate::decimal::format_to;

impl Book {
    /// How it is named in print.
    pub const fn words(self) -> &'static str {
        match self {
            Book::Nelson1984 => "Nelson 1984",
            Book::WesternElectric1956 => "Western Electric 1956",
        }
    }
}

impl Rule {
    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Rule::BeyondLimit => "beyond-limit",
            Rule::SameSide => "same-side",
            Rule::Trend => "trend",
            Rule::Alternating => "alternating",
            Rule::TwoOfThree => "two-of-three",
            Rule::FourOfFive => "four-of-five",
            Rule::NearCentre => "near-centre",
            Rule::AwayFromCentre => "away-from-centre",
        }
    }

    /// What such a pattern usually comes from.
    pub const fn usual_cause(self) -> &'static str {
        match self {
            Rule::BeyondLimit => {
                "One thing out of the ordinary: a slipped wire, a chip, a wrong dial setting."
            }
            Rule::SameSide => "The level has moved: an offset, a new insert, another batch of bar.",
            Rule::Trend => "Something drifts: tool wear, or the machine warming up.",
            Rule::Alternating => {
                "Two sources take turns: two spindles, two fixtures, or correcting after every piece."
            }
            Rule::TwoOfThree | Rule::FourOfFive => {
                "An early sign that the level has moved or the spread has grown."
            }
            Rule::NearCentre => {
                "Quieter than the limits say: the limits are too wide, or every group mixes several \
                 sources."
            }
            Rule::AwayFromCentre => {
                "Two levels mixed: points from two sources, or correcting too much."
            }
        }
    }

    /// The pattern in a few words, with its length.
    fn pattern_words(self, length: u8) -> String {
        match self {
            Rule::BeyondLimit => "a point beyond a limit".to_owned(),
            Rule::SameSide => format!("{length} in a row on one side of the centre line"),
            Rule::Trend => format!("{length} in a row rising or falling"),
            Rule::Alternating => format!("{length} in a row up and down in turn"),
            Rule::TwoOfThree => "2 of 3 beyond two sigma on one side".to_owned(),
            Rule::FourOfFive => "4 of 5 beyond one sigma on one side".to_owned(),
            Rule::NearCentre => format!("{length} in a row within one sigma"),
            Rule::AwayFromCentre => format!("{length} in a row further out than one sigma"),
        }
    }
}

impl RunRules {
    /// The settings as they are printed with a chart.
    pub fn settings_words(&self) -> String {
        let one = |rule: Rule| {
            let number = rule.number(self.book()).map(|number| number.to_string());
            let pattern = rule.pattern_words(self.length(rule));
            format!("{}: {pattern}", number.unwrap_or_default())
        };
        let rules: Vec<String> = self.on().iter().map(one).collect();
        match rules.is_empty() {
            true => "No run rules.".to_owned(),
            false => format!(
                "Run rules of {}: {}. A point on a line counts for neither side; equal neighbours end \
                 a trend; a missing or excluded reading ends every pattern.",
                self.book().words(),
                rules.join("; ")
            ),
        }
    }
}

impl Explanation {
    /// The rule that spoke up in a few words, the same for each of its points.
    pub fn pattern_words(&self) -> String {
        self.rule.pattern_words(self.rules.length(self.rule))
    }

    /// One sentence for a person, with the numbers of the points on the chart.
    pub fn sentence(&self) -> String {
        let length = self.rules.length(self.rule);
        let (count, above) = (self.count, self.side == Some(Side::Above));
        let pick = |one: &'static str, other: &'static str| if above { one } else { other };
        let what = match self.rule {
            Rule::BeyondLimit => {
                let limit = pick("above the upper", "below the lower");
                return format!(
                    "Point {} lies {limit} control limit ({}).",
                    self.last,
                    self.reference()
                );
            }
            Rule::SameSide => {
                let side = pick("above", "below");
                format!("{count} in a row {side} the centre line; {length} are a signal")
            }
            Rule::Trend => {
                let way = pick("rising", "falling");
                format!("{count} in a row steadily {way}; {length} are a signal")
            }
            Rule::Alternating => {
                format!("{count} in a row going up and down in turn; {length} are a signal")
            }
            Rule::TwoOfThree => {
                let side = pick("above", "below");
                format!("{count} of {length} further than two sigma {side} the centre line")
            }
            Rule::FourOfFive => {
                let side = pick("above", "below");
                format!("{count} of {length} further than one sigma {side} the centre line")
            }
            Rule::NearCentre => {
                format!(
                    "{count} in a row within one sigma of the centre line; {length} are a signal"
                )
            }
            Rule::AwayFromCentre => format!(
                "{count} in a row further than one sigma from the centre line; {length} are a signal"
            ),
        };
        let points = format!("Points {} to {}", self.first, self.last);
        format!("{points}: {what} ({}).", self.reference())
    }

    fn reference(&self) -> String {
        let book = self.rules.book();
        match self.rule.number(book) {
            Some(number) => format!("{}, rule {number}", book.words()),
            None => book.words().to_owned(),
        }
    }
}

impl Coarseness {
    /// A warning when equal neighbours are too many for the rules.
    pub fn warning(self) -> Option<String> {
        let percent = |share: f64| format_to(share * 100.0, 0);
        self.is_too_coarse().then(|| {
            format!(
                "{} of {} neighbours are equal ({} percent, more than {}): the display's step is coarse \
                 against the spread, and rules about rising, falling or alternating points say little.",
                self.ties,
                self.steps,
                percent(self.ties as f64 / self.steps as f64),
                percent(MOST_TIES)
            )
        })
    }
}
