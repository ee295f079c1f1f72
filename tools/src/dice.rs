//! Seeded chance: uniform and normal numbers from ChaCha8, one stream a purpose.
//!
//! Streams keep purposes apart: switching noise on does not change which readings a seed gives.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// What a stream of chance is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// How deep a pass really cuts.
    Cutting,
    /// How a measurement repeats.
    Measuring,
    /// When a mistake happens, and which.
    Mistakes,
    /// Noise on the line.
    Noise,
    /// Where writes are split.
    Chunks,
}

/// Reads how often something is to happen, as a share of all times.
///
/// # Errors
/// A sentence, when the text is no number from 0 to 1.
pub fn parse_share(text: &str) -> Result<f64, String> {
    let share = text
        .parse()
        .ok()
        .filter(|share| (0.0..=1.0).contains(share));
    share.ok_or_else(|| "a share is a number from 0 to 1".to_owned())
}

/// A stream of chance.
#[derive(Debug, Clone)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// The stream of a seed for one purpose.
    pub fn new(seed: u64, purpose: Purpose) -> Dice {
        let mut key = [0_u8; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        let mut generator = ChaCha8Rng::from_seed(key);
        generator.set_stream(purpose as u64);
        Dice(generator)
    }

    /// Uniform in 0 to 1, 1 left out: the top 53 bits of a word.
    pub fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Standard normal, by Box and Muller's transform of two uniforms.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }

    /// True once in `1 / rate` times.
    pub fn happens(&mut self, rate: f64) -> bool {
        self.uniform() < rate
    }

    /// A whole number from `low` up to and with `high`; `low` when the two are crossed.
    pub fn whole(&mut self, low: usize, high: usize) -> usize {
        let choices = high.saturating_sub(low) + 1;
        low + ((self.uniform() * choices as f64) as usize).min(choices - 1)
    }

    /// Noise as a bad line makes it: 1 to 12 bytes, none of which could stand in a number, a unit or a
    /// channel mark, or end a line.
    pub fn noise(&mut self) -> Vec<u8> {
        let count = self.whole(1, 12);
        let mut bytes = Vec::with_capacity(count);
        while bytes.len() < count {
            let byte = self.whole(0, 255) as u8;
            if !byte.is_ascii_alphanumeric() && !b"+-.: \t\r\n".contains(&byte) {
                bytes.push(byte);
            }
        }
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_repeats_and_streams_differ() {
        let draw = |seed, purpose| {
            let mut dice = Dice::new(seed, purpose);
            (0..20).map(|_| dice.whole(0, 999)).collect::<Vec<_>>()
        };
        assert_eq!(draw(7, Purpose::Noise), draw(7, Purpose::Noise));
        assert_ne!(draw(7, Purpose::Noise), draw(7, Purpose::Chunks));
        assert_ne!(draw(7, Purpose::Noise), draw(8, Purpose::Noise));
    }

    // Shares of the normal distribution within 1 and 2 standard deviations: any table of it.
    #[test]
    fn normal_numbers_are_spread_as_tables_say() {
        let mut dice = Dice::new(1, Purpose::Measuring);
        let draws: Vec<f64> = (0..40_000).map(|_| dice.normal()).collect();
        let share = |limit: f64| {
            draws.iter().filter(|draw| draw.abs() < limit).count() as f64 / draws.len() as f64
        };
        assert!((share(1.0) - 0.6827).abs() < 0.01, "{}", share(1.0));
        assert!((share(2.0) - 0.9545).abs() < 0.005, "{}", share(2.0));
    }

    #[test]
    fn noise_cannot_be_taken_for_a_frame() {
        let mut dice = Dice::new(3, Purpose::Noise);
        for _ in 0..500 {
            let noise = dice.noise();
            assert!((1..=12).contains(&noise.len()));
            assert!(
                !noise
                    .iter()
                    .any(|byte| byte.is_ascii_digit() || b"\r\n.".contains(byte))
            );
        }
    }

    #[test]
    fn shares_are_read_and_others_refused() {
        assert_eq!(parse_share("0.25").map(|share| share * 4.0), Ok(1.0));
        assert!(
            ["-0.1", "1.1", "NaN", "often"]
                .iter()
                .all(|text| parse_share(text).is_err())
        );
    }

    #[test]
    fn whole_numbers_reach_both_ends_and_no_further() {
        let mut dice = Dice::new(5, Purpose::Chunks);
        let draws: Vec<usize> = (0..500).map(|_| dice.whole(2, 4)).collect();
        assert_eq!(draws.iter().min(), Some(&2));
        assert_eq!(draws.iter().max(), Some(&4));
        assert_eq!(dice.whole(9, 3), 9);
    }
}
