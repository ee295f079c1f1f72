//! A cursor over the characters of a designation.

use super::DesignationError;
use crate::decimal::Decimal;

/// How many characters of what was found are shown.
const SHOWN: usize = 12;

pub(super) struct Scanner {
    characters: Vec<char>,
    place: usize,
}

impl Scanner {
    pub(super) fn new(text: &str) -> Scanner {
        Scanner {
            characters: text.chars().collect(),
            place: 0,
        }
    }

    pub(super) fn refuse_longer_than(&self, longest: usize) -> Result<(), DesignationError> {
        if self.characters.len() <= longest {
            return Ok(());
        }
        Err(DesignationError {
            at: longest,
            found: format!("{} characters", self.characters.len()),
            expected: format!("at most {longest}"),
        })
    }

    pub(super) fn place(&self) -> usize {
        self.place
    }

    pub(super) fn go_back_to(&mut self, place: usize) {
        self.place = place;
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.characters.get(self.place).copied()
    }

    fn rest(&self) -> &[char] {
        self.characters.get(self.place..).unwrap_or_default()
    }

    pub(super) fn skip_spaces(&mut self) {
        while self.peek().is_some_and(char::is_whitespace) {
            self.place += 1;
        }
    }

    /// Steps over spaces and any dashes between the parts of a designation.
    pub(super) fn skip_separators(&mut self) {
        while self
            .peek()
            .is_some_and(|found| found.is_whitespace() || is_dash(found))
        {
            self.place += 1;
        }
    }

    /// Steps over spaces, dashes and commas between the parts that follow a class.
    pub(super) fn skip_separators_and_commas(&mut self) {
        while self
            .peek()
            .is_some_and(|found| found.is_whitespace() || is_dash(found) || found == ',')
        {
            self.place += 1;
        }
    }

    pub(super) fn eat(&mut self, wanted: impl Fn(char) -> bool) -> bool {
        let found = self.peek().is_some_and(wanted);
        self.place += usize::from(found);
        found
    }

    pub(super) fn eat_letter(&mut self, letter: char) -> bool {
        self.eat(|found| found.eq_ignore_ascii_case(&letter))
    }

    pub(super) fn eat_dash(&mut self) -> bool {
        self.eat(is_dash)
    }

    pub(super) fn eat_times(&mut self) -> bool {
        self.eat(|found| matches!(found, 'x' | 'X' | '×' | '*'))
    }

    /// The characters from here on that satisfy a condition.
    pub(super) fn take_while(&mut self, wanted: impl Fn(char) -> bool) -> String {
        let rest = self.rest().iter();
        let taken: String = rest.copied().take_while(|&found| wanted(found)).collect();
        self.place += taken.chars().count();
        taken
    }

    /// The letters from here on, in capitals, without stepping over them.
    pub(super) fn word_ahead(&self) -> String {
        let rest = self.rest().iter();
        let letters = rest.take_while(|found| found.is_ascii_alphabetic());
        letters.map(char::to_ascii_uppercase).collect()
    }

    /// Steps over this word, given in capitals, if it and no longer one stands here.
    pub(super) fn eat_word(&mut self, word: &str) -> bool {
        let found = self.word_ahead() == word;
        self.place += if found { word.chars().count() } else { 0 };
        found
    }

    /// Steps over a sign for inches.
    pub(super) fn eat_inch_mark(&mut self) -> bool {
        self.eat(|found| matches!(found, '"' | '\u{201d}' | '\u{2033}'))
    }

    /// Digits with at most one point among or before them.
    pub(super) fn take_decimal(&mut self, expected: &str) -> Result<Decimal, DesignationError> {
        let start = self.place;
        let text = self.take_while(|found| found.is_ascii_digit() || found == '.');
        if text.is_empty() {
            return Err(self.expected(expected));
        }
        if self.peek() == Some(',') {
            return Err(self.expected("a decimal point, as in 1.5"));
        }
        let zero_before_point = if text.starts_with('.') { "0" } else { "" };
        Decimal::parse(&format!("{zero_before_point}{text}")).map_err(|error| DesignationError {
            at: start,
            found: format!("`{}`", shortened(text.chars())),
            expected: format!("{expected} ({error})"),
        })
    }

    /// A number of millimetres with at most three places, and at most a metre.
    pub(super) fn take_micrometres(&mut self, expected: &str) -> Result<u32, DesignationError> {
        let start = self.place;
        let decimal = self.take_decimal(expected)?;
        micrometres(decimal).ok_or_else(|| {
            self.place = start;
            self.expected("a number of millimetres with at most three decimal places")
        })
    }

    /// The error that something else should stand here.
    pub(super) fn expected(&self, expected: &str) -> DesignationError {
        let rest = self.rest().iter().copied();
        let token = rest.take_while(|found| !found.is_whitespace());
        let found = match self.peek() {
            None => "the end".to_owned(),
            Some(',') => "`,`".to_owned(),
            Some(found) if found.is_whitespace() => "a space".to_owned(),
            Some(_) => format!("`{}`", shortened(token)),
        };
        DesignationError {
            at: self.place,
            found,
            expected: expected.to_owned(),
        }
    }
}

fn micrometres(decimal: Decimal) -> Option<u32> {
    let divisor = 10_i64.pow(decimal.places().into());
    let thousandfold = decimal.steps().checked_mul(1_000)?;
    let whole = thousandfold % divisor == 0;
    u32::try_from(thousandfold / divisor)
        .ok()
        .filter(|&um| whole && um <= 1_000_000)
}

fn is_dash(found: char) -> bool {
    matches!(found, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}')
}

/// The beginning of what was found, without control characters.
fn shortened(found: impl Iterator<Item = char>) -> String {
    let mut visible = found.filter(|character| !character.is_control());
    let mut text: String = visible.by_ref().take(SHOWN).collect();
    if visible.next().is_some() {
        text.push('…');
    }
    text
}
