//! What the latest points were, as registers of bits, and the patterns in them.

use super::{Coarseness, Rule, RuleSet, RunRules, Zones};

/// So many points are taken at once.
pub(super) const BLOCK: usize = 64;

/// How many yes-or-no facts are kept of a point.
const FACTS: usize = 11;

/// Facts by their place in a register array.
const ABOVE: usize = 0;
const BELOW: usize = 1;
const ABOVE_ONE: usize = 2;
const BELOW_ONE: usize = 3;
const ABOVE_TWO: usize = 4;
const BELOW_TWO: usize = 5;
const BEYOND: usize = 6;
const NEAR: usize = 7;
const RISING: usize = 8;
const FALLING: usize = 9;
const AWAY: usize = 10;

/// One register for each fact: bit 127 tells of the latest point, bit 126 of the one before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct History {
    registers: [u128; FACTS],
    /// `NaN` when there is none: nothing is above or below it.
    previous: f64,
    coarseness: Coarseness,
}

impl Default for History {
    fn default() -> History {
        History {
            registers: [0; FACTS],
            previous: f64::NAN,
            coarseness: Coarseness::default(),
        }
    }
}

impl History {
    pub(super) fn break_chain(&mut self) {
        self.registers = [0; FACTS];
        self.previous = f64::NAN;
    }

    pub(super) const fn coarseness(&self) -> Coarseness {
        self.coarseness
    }

    /// Takes up to [`BLOCK`] points.
    pub(super) fn take(&mut self, points: &[f64], zones: &Zones) {
        let (Some(&last), count) = (points.last(), points.len() as u32) else {
            return;
        };
        let steps = u64::from(count) - u64::from(self.previous.is_nan());
        let facts = facts(points, self.previous, zones);
        let made = |fact: usize| u64::from(facts.bits[fact].count_ones());
        let coarse = &mut self.coarseness;
        coarse.points += u64::from(count);
        coarse.steps += steps;
        coarse.ties += steps - made(RISING) - made(FALLING);
        coarse.on_a_line += facts.on_a_line;
        for (register, bits) in self.registers.iter_mut().zip(facts.bits) {
            *register = *register >> count | u128::from(bits) << (128 - count);
        }
        self.previous = last;
    }

    /// The patterns that the latest `count` points complete.
    pub(super) fn patterns(&self, rules: &RunRules, count: usize) -> Patterns {
        let mut patterns = Patterns {
            bits: [0; Rule::ALL.len()],
        };
        for rule in rules.on().iter() {
            let latest = self.pattern(rule, rules) >> (128 - count);
            patterns.bits[rule as usize] = latest as u64;
        }
        patterns
    }

    fn pattern(&self, rule: Rule, rules: &RunRules) -> u128 {
        let of = |fact: usize| self.registers[fact];
        let either = |pattern: fn(u128, u32) -> u128, one: usize, other: usize, length: u32| {
            pattern(of(one), length) | pattern(of(other), length)
        };
        let length = u32::from(rules.length(rule));
        match rule {
            Rule::BeyondLimit => of(BEYOND),
            Rule::SameSide => either(run, ABOVE, BELOW, length),
            Rule::Trend => either(run, RISING, FALLING, length - 1),
            Rule::Alternating => {
                let turns = of(RISING) & of(FALLING) << 1 | of(FALLING) & of(RISING) << 1;
                run(turns, length - 2)
            }
            Rule::TwoOfThree => either(all_but_one, ABOVE_TWO, BELOW_TWO, length),
            Rule::FourOfFive => either(all_but_one, ABOVE_ONE, BELOW_ONE, length),
            Rule::NearCentre => run(of(NEAR), length),
            Rule::AwayFromCentre => run(of(AWAY), length),
        }
    }

    /// What of it can still matter to zone rules, for telling states apart: of a run how long it is,
    /// of the others the latest points.
    pub(super) fn essence(&self, rules: &RunRules) -> [u128; FACTS] {
        let mut essence = [0; FACTS];
        let kept = |length: u32| !(u128::MAX >> (length - 1));
        for rule in rules.on().iter() {
            let length = u32::from(rules.length(rule));
            let facts: &[usize] = match rule {
                Rule::SameSide => &[ABOVE, BELOW],
                Rule::TwoOfThree => &[ABOVE_TWO, BELOW_TWO],
                Rule::FourOfFive => &[ABOVE_ONE, BELOW_ONE],
                Rule::NearCentre => &[NEAR],
                Rule::AwayFromCentre => &[AWAY],
                Rule::BeyondLimit | Rule::Trend | Rule::Alternating => &[],
            };
            for &fact in facts {
                let register = self.registers[fact] & kept(length);
                essence[fact] = match rule {
                    Rule::TwoOfThree | Rule::FourOfFive => register,
                    _ => register & kept(register.leading_ones() + 1),
                };
            }
        }
        essence
    }
}

/// Which points lie in an unbroken run of `length`, as its last.
fn run(register: u128, length: u32) -> u128 {
    let (mut runs, mut reached) = (register, 1);
    while reached < length {
        let step = reached.min(length - reached);
        runs &= runs << step;
        reached += step;
    }
    runs
}

/// Which points are the last of `length` of which all but one at most have the fact, the last
/// among them.
fn all_but_one(register: u128, length: u32) -> u128 {
    let (mut all, mut but_one) = (register, register);
    for back in 1..length {
        let earlier = register << back;
        // One more missing is allowed only where none was missing so far.
        but_one = but_one & earlier | all;
        all &= earlier;
    }
    but_one
}

/// The facts of up to 64 points: bit 0 tells of the first.
struct Facts {
    bits: [u64; FACTS],
    on_a_line: u64,
}

fn facts(points: &[f64], mut previous: f64, zones: &Zones) -> Facts {
    let mut bits = [0_u64; FACTS];
    let mut on_outer = 0_u64;
    let Zones {
        centre,
        lower: [lower_one, lower_two, lower_three],
        upper: [upper_one, upper_two, upper_three],
    } = *zones;
    for (index, &point) in points.iter().enumerate() {
        let set = [
            point > centre,
            point < centre,
            point > upper_one,
            point < lower_one,
            point > upper_two,
            point < lower_two,
            (point > upper_three) | (point < lower_three),
            (point < upper_one) & (point > lower_one),
            point > previous,
            point < previous,
        ];
        for (register, fact) in bits.iter_mut().zip(set) {
            *register |= u64::from(fact) << index;
        }
        let on = ((point >= upper_two) ^ (point > upper_two))
            | ((point <= lower_two) ^ (point < lower_two))
            | ((point >= upper_three) ^ (point > upper_three))
            | ((point <= lower_three) ^ (point < lower_three));
        on_outer |= u64::from(on) << index;
        previous = point;
    }
    bits[AWAY] = bits[ABOVE_ONE] | bits[BELOW_ONE];
    let off = (bits[ABOVE] | bits[BELOW]) & (bits[NEAR] | bits[AWAY]) & !on_outer;
    Facts {
        bits,
        on_a_line: points.len() as u64 - u64::from(off.count_ones()),
    }
}

/// The patterns that a block of points completes: for each rule, bit 0 tells of the first point.
pub(super) struct Patterns {
    bits: [u64; Rule::ALL.len()],
}

impl Patterns {
    /// Calls `hit` for each point that completes any, in order.
    pub(super) fn each(&self, mut hit: impl FnMut(usize, RuleSet)) {
        let mut any = self.bits.iter().fold(0, |any, bits| any | bits);
        while any != 0 {
            let index = any.trailing_zeros();
            let rules = Rule::ALL
                .into_iter()
                .filter(|&rule| self.bits[rule as usize] >> index & 1 == 1)
                .fold(RuleSet::NONE, RuleSet::with);
            hit(index as usize, rules);
            any &= any - 1;
        }
    }
}
