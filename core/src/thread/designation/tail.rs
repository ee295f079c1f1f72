//! What may follow the class of a designation, in any order: hand, starts, lead, length of
//! engagement, gauging system. Nothing may stand there twice. Every system reads its end here and
//! says by [`Allowed`] what it lets stand there.

use super::DesignationError;
use super::scanner::Scanner;
use crate::decimal::Decimal;
use crate::thread::unified::GaugingSystem;
use crate::thread::{Engagement, Hand, MOST_STARTS};
use crate::units::Unit;

/// Numbers of starts that are written as words.
const NUMBER_WORDS: [(&str, u32); 12] = [
    ("SINGLE", 1),
    ("ONE", 1),
    ("DOUBLE", 2),
    ("TWO", 2),
    ("TRIPLE", 3),
    ("THREE", 3),
    ("QUADRUPLE", 4),
    ("FOUR", 4),
    ("FIVE", 5),
    ("SIX", 6),
    ("SEVEN", 7),
    ("EIGHT", 8),
];

/// Something read, and the place where it began.
#[derive(Clone, Copy)]
pub(super) struct Placed<T> {
    pub(super) at: usize,
    pub(super) found: T,
}

/// What a system lets follow its class.
#[derive(Clone, Copy)]
pub(super) struct Allowed {
    /// The unit lengths are in.
    pub(super) unit: Unit,
    /// `LE` and a length of engagement; in millimetres also the groups S, N and L.
    pub(super) engagement: bool,
    /// A gauging system in brackets, as in `(22)`.
    pub(super) gauging: bool,
    /// What to say was expected when nothing fits.
    pub(super) expected: &'static str,
}

enum Item {
    Hand(Hand),
    Starts(u32),
    Lead(Decimal),
    Engagement(Engagement),
    Gauging(GaugingSystem),
}

/// What followed the class.
#[derive(Default)]
pub(super) struct Tail {
    hand: Option<Placed<Hand>>,
    starts: Option<Placed<u32>>,
    lead: Option<Placed<Decimal>>,
    /// A length or group of engagement.
    pub(super) engagement: Option<Placed<Engagement>>,
    gauging: Option<Placed<GaugingSystem>>,
}

impl Tail {
    /// Reads to the end of the text.
    pub(super) fn take(scanner: &mut Scanner, allowed: &Allowed) -> Result<Tail, DesignationError> {
        let mut tail = Tail::default();
        loop {
            let before = scanner.place();
            scanner.skip_separators_and_commas();
            if scanner.peek().is_none() {
                scanner.go_back_to(before);
                scanner.skip_spaces();
                return match scanner.peek() {
                    None => Ok(tail),
                    Some(_) => Err(scanner.expected(allowed.expected)),
                };
            }
            tail.take_one(scanner, allowed)?;
        }
    }

    fn take_one(
        &mut self,
        scanner: &mut Scanner,
        allowed: &Allowed,
    ) -> Result<(), DesignationError> {
        let at = scanner.place();
        let fresh = match take_item(scanner, allowed)? {
            Item::Hand(found) => put(&mut self.hand, at, found),
            Item::Starts(found) => put(&mut self.starts, at, found),
            Item::Lead(found) => put(&mut self.lead, at, found),
            Item::Engagement(found) => put(&mut self.engagement, at, found),
            Item::Gauging(found) => put(&mut self.gauging, at, found),
        };
        if fresh {
            return Ok(());
        }
        scanner.go_back_to(at);
        Err(scanner.expected("the end: this was already said"))
    }

    pub(super) fn hand(&self) -> Hand {
        self.hand.map_or(Hand::Right, |hand| hand.found)
    }

    /// The hand where it may also stand before the class. Saying it in both places is refused.
    pub(super) fn hand_after(&self, earlier: Option<Hand>) -> Result<Hand, DesignationError> {
        match (earlier, self.hand) {
            (Some(_), Some(again)) => Err(DesignationError {
                at: again.at,
                found: "a hand".to_owned(),
                expected: "the end: the hand was already said".to_owned(),
            }),
            (Some(hand), None) => Ok(hand),
            (None, _) => Ok(self.hand()),
        }
    }

    /// Refuses starts and leads where the standard has single-start threads only.
    pub(super) fn one_start(&self) -> Result<(), DesignationError> {
        let more = self.starts.filter(|starts| starts.found != 1);
        let at = more
            .map(|starts| starts.at)
            .or(self.lead.map(|lead| lead.at));
        at.map_or(Ok(()), |at| {
            Err(DesignationError {
                at,
                found: "starts or a lead".to_owned(),
                expected: "one start: this system has no others".to_owned(),
            })
        })
    }

    pub(super) fn gauging(&self) -> Option<GaugingSystem> {
        self.gauging.map(|gauging| gauging.found)
    }

    /// The length of engagement, where one was stated.
    pub(super) fn length_of_engagement(&self) -> Option<Decimal> {
        match self.engagement?.found {
            Engagement::Length(length) => Some(length),
            Engagement::Short | Engagement::Normal | Engagement::Long => None,
        }
    }

    /// The number of starts, by count or by lead; one when nothing was said. `earlier` is what
    /// the text before the class said. All must agree. The pitch is in the unit of the text.
    pub(super) fn starts(&self, earlier: Option<u32>, pitch: f64) -> Result<u32, DesignationError> {
        let mut agreed = earlier;
        if let Some(starts) = self.starts {
            agree(&mut agreed, starts)?;
        }
        if let Some(lead) = self.lead {
            let starts = starts_of_lead(lead.found, pitch).ok_or_else(|| DesignationError {
                at: lead.at,
                found: format!("a lead of {}", lead.found),
                expected: format!("a lead of 1 to {MOST_STARTS} whole pitches"),
            })?;
            let at = lead.at;
            agree(&mut agreed, Placed { at, found: starts })?;
        }
        Ok(agreed.unwrap_or(1))
    }
}

fn put<T>(slot: &mut Option<Placed<T>>, at: usize, found: T) -> bool {
    let fresh = slot.is_none();
    *slot = Some(Placed { at, found });
    fresh
}

/// Notes a number of starts; an earlier one must be the same.
pub(super) fn agree(agreed: &mut Option<u32>, starts: Placed<u32>) -> Result<(), DesignationError> {
    match *agreed {
        Some(earlier) if earlier != starts.found => Err(DesignationError {
            at: starts.at,
            found: format!("{} starts", starts.found),
            expected: format!("{earlier} starts, as said before"),
        }),
        _ => {
            *agreed = Some(starts.found);
            Ok(())
        }
    }
}

/// How many pitches make this lead, allowing for the rounding of its last digit.
pub(super) fn starts_of_lead(lead: Decimal, pitch: f64) -> Option<u32> {
    let starts = (lead.value() / pitch).round();
    let rounding = 0.5 * 0.1_f64.powi(lead.places().into());
    let off = (lead.value() - starts * pitch).abs();
    let whole = off <= rounding.min(pitch / 20.0) + 1e-9;
    (whole && (1.0..=f64::from(MOST_STARTS)).contains(&starts)).then_some(starts as u32)
}

/// A number of starts in brackets, if a bracket stands here.
pub(super) fn take_starts_in_brackets(
    scanner: &mut Scanner,
) -> Result<Option<Placed<u32>>, DesignationError> {
    const STARTS: Allowed = Allowed {
        unit: Unit::Inch,
        engagement: false,
        gauging: false,
        expected: "a number of starts, as in (2 STARTS)",
    };
    let before = scanner.place();
    scanner.skip_separators();
    let at = scanner.place();
    if scanner.peek() != Some('(') {
        scanner.go_back_to(before);
        return Ok(None);
    }
    match take_item(scanner, &STARTS)? {
        Item::Starts(found) => Ok(Some(Placed { at, found })),
        _ => {
            scanner.go_back_to(at);
            Err(scanner.expected(STARTS.expected))
        }
    }
}

fn take_item(scanner: &mut Scanner, allowed: &Allowed) -> Result<Item, DesignationError> {
    let start = scanner.place();
    let in_brackets = scanner.eat(|found| found == '(');
    scanner.skip_spaces();
    let numbered = scanner
        .peek()
        .is_some_and(|found| found.is_ascii_digit() || found == '.');
    let item = match numbered {
        true => take_numbered(scanner, allowed, in_brackets)?,
        false => take_word(scanner, allowed)?,
    };
    let Some(item) = item else {
        scanner.go_back_to(start);
        return Err(scanner.expected(allowed.expected));
    };
    scanner.skip_spaces();
    if in_brackets && !scanner.eat(|found| found == ')') {
        return Err(scanner.expected("a closing bracket"));
    }
    Ok(item)
}

/// An item that begins with a number: `2 STARTS`, `0.125 LEAD`, `(22)`, `40`.
fn take_numbered(
    scanner: &mut Scanner,
    allowed: &Allowed,
    in_brackets: bool,
) -> Result<Option<Item>, DesignationError> {
    let number_at = scanner.place();
    let number = scanner.take_decimal(allowed.expected)?;
    let after = scanner.place();
    take_unit(scanner, allowed.unit);
    scanner.skip_separators();
    let starts = whole(number).filter(|starts| (1..=MOST_STARTS).contains(starts));
    if eat_start_word(scanner) {
        return starts
            .map(|starts| Some(Item::Starts(starts)))
            .ok_or_else(|| {
                scanner.go_back_to(number_at);
                scanner.expected("1 to 64 starts")
            });
    }
    if scanner.eat_word("LEAD") {
        return Ok(Some(Item::Lead(number)));
    }
    scanner.go_back_to(after);
    let gauging = whole(number).and_then(GaugingSystem::from_number);
    if let Some(gauging) = gauging.filter(|_| in_brackets && allowed.gauging) {
        return Ok(Some(Item::Gauging(gauging)));
    }
    // A bare number is a length of engagement in metric designations only.
    let length = allowed.engagement && allowed.unit == Unit::Millimetre;
    take_unit(scanner, allowed.unit);
    Ok(length.then_some(Item::Engagement(Engagement::Length(number))))
}

/// An item that begins with a word: `LH`, `DOUBLE START`, `LEAD 0.125`, `LE 1.5`, `S`.
fn take_word(scanner: &mut Scanner, allowed: &Allowed) -> Result<Option<Item>, DesignationError> {
    if let Some(hand) = take_hand(scanner) {
        return Ok(Some(Item::Hand(hand)));
    }
    let word = scanner.word_ahead();
    if let Some(&(text, starts)) = NUMBER_WORDS.iter().find(|&&(text, _)| text == word) {
        scanner.eat_word(text);
        scanner.skip_separators();
        return match eat_start_word(scanner) {
            true => Ok(Some(Item::Starts(starts))),
            false => Err(scanner.expected("START, as in (2 STARTS)")),
        };
    }
    if scanner.eat_word("LEAD") {
        return take_length(scanner, allowed, "a lead").map(|lead| Some(Item::Lead(lead)));
    }
    if allowed.engagement && scanner.eat_word("LE") {
        let length = take_length(scanner, allowed, "a length of engagement")?;
        return Ok(Some(Item::Engagement(Engagement::Length(length))));
    }
    let groups = allowed.engagement && allowed.unit == Unit::Millimetre;
    let group = Engagement::group(&word).filter(|_| groups);
    if group.is_some() {
        scanner.eat_word(&word);
    }
    Ok(group.map(Item::Engagement))
}

fn take_hand(scanner: &mut Scanner) -> Option<Hand> {
    let hands = [
        ("LH", Hand::Left),
        ("LEFT", Hand::Left),
        ("RH", Hand::Right),
        ("RIGHT", Hand::Right),
    ];
    let (_, hand) = hands.into_iter().find(|(word, _)| scanner.eat_word(word))?;
    let after = scanner.place();
    scanner.skip_separators();
    if !scanner.eat_word("HAND") {
        scanner.go_back_to(after);
    }
    Some(hand)
}

fn eat_start_word(scanner: &mut Scanner) -> bool {
    scanner.eat_word("STARTS") || scanner.eat_word("START")
}

/// A length after its word, with an optional equals sign and unit.
fn take_length(
    scanner: &mut Scanner,
    allowed: &Allowed,
    what: &str,
) -> Result<Decimal, DesignationError> {
    scanner.skip_spaces();
    scanner.eat(|found| matches!(found, '=' | ':'));
    scanner.skip_spaces();
    let length = scanner.take_decimal(&format!("{what} in {}", allowed.unit))?;
    take_unit(scanner, allowed.unit);
    Ok(length)
}

fn take_unit(scanner: &mut Scanner, unit: Unit) {
    let before = scanner.place();
    scanner.skip_spaces();
    let found = match unit {
        Unit::Millimetre => scanner.eat_word("MM"),
        Unit::Inch => scanner.eat_inch_mark() || scanner.eat_word("IN"),
    };
    if !found {
        scanner.go_back_to(before);
    }
}

fn whole(number: Decimal) -> Option<u32> {
    match number.places() {
        0 => u32::try_from(number.steps()).ok(),
        _ => None,
    }
}
