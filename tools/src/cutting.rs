//! A thread being cut, pass by pass, and measured between passes: a pure, seeded model.
//!
//! - No two blanks come to the first measured pass alike: the start size varies, uniformly, by up to
//!   [`START_VARIES`] of the metal over the target either way.
//! - A pass takes off a little less than was dialled in: tool and work spring away. The shortfall is
//!   uniform between 0 and [`MOST_SPRING`] of the depth.
//! - Passes follow the plan of the workpiece, except the last: there the machinist dials in what the
//!   reading before it says is left to the target.
//! - A pass never adds metal, so the true size never rises within a piece.
//! - A measurement is the true size plus a normal error with the given standard deviation. Measuring
//!   again without cutting gives the same size with another error.

use crate::dice::{Dice, Purpose};
use crate::workpiece::Workpiece;

/// Largest share of a dialled depth that springs away.
pub const MOST_SPRING: f64 = 0.08;

/// By how much the start size varies, as a share of the metal over the target.
pub const START_VARIES: f64 = 0.05;

/// The state of a piece in the machine.
#[derive(Debug, Clone)]
pub struct Cutting {
    workpiece: Workpiece,
    repeatability_mm: f64,
    cut_dice: Dice,
    measure_dice: Dice,
    piece: u32,
    passes_done: usize,
    size_mm: f64,
    last_reading_mm: Option<f64>,
}

/// Where the cutting stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// The piece, from 1.
    pub piece: u32,
    /// The pass that was cut last, from 1.
    pub pass: usize,
    /// All passes of a piece.
    pub passes: usize,
}

impl Progress {
    /// True at the finished size.
    pub fn is_last_pass(&self) -> bool {
        self.pass >= self.passes
    }
}

impl Cutting {
    /// The first piece, cut to its start size and not yet measured.
    pub fn new(workpiece: Workpiece, repeatability_mm: f64, seed: u64) -> Cutting {
        let mut cutting = Cutting {
            size_mm: workpiece.start_mm,
            workpiece,
            repeatability_mm,
            cut_dice: Dice::new(seed, Purpose::Cutting),
            measure_dice: Dice::new(seed, Purpose::Measuring),
            piece: 0,
            passes_done: 1,
            last_reading_mm: None,
        };
        cutting.next_piece();
        cutting
    }

    /// The numbers of the workpiece.
    pub fn workpiece(&self) -> &Workpiece {
        &self.workpiece
    }

    /// Where the cutting stands.
    pub fn progress(&self) -> Progress {
        Progress {
            piece: self.piece,
            pass: self.passes_done,
            passes: self.workpiece.cuts_mm.len() + 1,
        }
    }

    /// True once the last pass is cut and measured.
    pub fn is_finished(&self) -> bool {
        self.progress().is_last_pass() && self.last_reading_mm.is_some()
    }

    /// The true size over the wires.
    pub fn size_mm(&self) -> f64 {
        self.size_mm
    }

    /// Cuts the next pass if this one has been measured and one is left.
    pub fn cut_if_measured(&mut self) {
        if let Some(reading_mm) = self.last_reading_mm
            && !self.progress().is_last_pass()
        {
            self.cut(reading_mm);
        }
    }

    /// Measures the present size.
    pub fn measure_mm(&mut self) -> f64 {
        let reading_mm = self.size_mm + self.repeatability_mm * self.measure_dice.normal();
        self.last_reading_mm = Some(reading_mm);
        reading_mm
    }

    /// Puts the next blank in the machine, cut to its start size.
    pub fn next_piece(&mut self) {
        self.piece = self.piece.saturating_add(1);
        self.passes_done = 1;
        let Workpiece {
            start_mm,
            target_mm,
            ..
        } = self.workpiece;
        let varies = START_VARIES * (2.0 * self.cut_dice.uniform() - 1.0);
        self.size_mm = start_mm + (start_mm - target_mm) * varies;
        self.last_reading_mm = None;
    }

    fn cut(&mut self, reading_mm: f64) {
        let is_last = self.passes_done == self.workpiece.cuts_mm.len();
        let planned = self
            .workpiece
            .cuts_mm
            .get(self.passes_done - 1)
            .copied()
            .unwrap_or(0.0);
        let left = (reading_mm - self.workpiece.target_mm).max(0.0);
        let dialled = if is_last { left } else { planned };
        self.size_mm -= dialled * (1.0 - MOST_SPRING * self.cut_dice.uniform());
        self.passes_done += 1;
        self.last_reading_mm = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(cutting: &mut Cutting) -> Vec<(f64, f64)> {
        let mut readings = Vec::new();
        while !cutting.is_finished() {
            cutting.cut_if_measured();
            let reading = cutting.measure_mm();
            readings.push((cutting.size_mm(), reading));
        }
        readings
    }

    fn stud_end(seed: u64) -> Cutting {
        Cutting::new(Workpiece::stud_end(), 0.00127, seed)
    }

    #[test]
    fn a_seed_gives_the_same_readings_every_time() {
        assert_eq!(piece(&mut stud_end(11)), piece(&mut stud_end(11)));
        assert_ne!(piece(&mut stud_end(11)), piece(&mut stud_end(12)));
    }

    #[test]
    fn passes_come_down_to_the_target_and_never_rise() {
        for seed in 0..200 {
            let mut cutting = stud_end(seed);
            let target = cutting.workpiece().target_mm;
            for _ in 0..3 {
                let sizes: Vec<f64> = piece(&mut cutting).iter().map(|(size, _)| *size).collect();
                assert_eq!(sizes.len(), 5, "seed {seed}");
                assert!(
                    sizes.windows(2).all(|two| two[1] < two[0]),
                    "seed {seed}: {sizes:?}"
                );
                // Five readings' errors and the spring of the last pass: 0.03 mm is half the tolerance.
                assert!((sizes[4] - target).abs() < 0.03, "seed {seed}: {sizes:?}");
                cutting.next_piece();
            }
        }
    }

    #[test]
    fn measuring_again_repeats_as_the_given_deviation_says() {
        let mut cutting = Cutting::new(Workpiece::spindle(), 0.002, 4);
        let readings: Vec<f64> = (0..20_000).map(|_| cutting.measure_mm()).collect();
        let count = readings.len() as f64;
        let mean = readings.iter().sum::<f64>() / count;
        let squares: f64 = readings
            .iter()
            .map(|reading| (reading - mean).powi(2))
            .sum();
        let deviation = (squares / (count - 1.0)).sqrt();
        // Four standard errors of a mean and of a standard deviation.
        assert!(
            (mean - cutting.size_mm()).abs() < 4.0 * 0.002 / count.sqrt(),
            "{mean}"
        );
        assert!(
            (deviation - 0.002).abs() < 4.0 * 0.002 / (2.0 * count).sqrt(),
            "{deviation}"
        );
    }

    #[test]
    fn a_finished_piece_stays_at_its_size_and_the_next_starts_anew() {
        let mut cutting = stud_end(2);
        piece(&mut cutting);
        let size = cutting.size_mm();
        cutting.cut_if_measured();
        cutting.measure_mm();
        assert!((cutting.size_mm() - size).abs() < 1e-12);
        cutting.next_piece();
        assert_eq!(
            cutting.progress(),
            Progress {
                piece: 2,
                pass: 1,
                passes: 5
            }
        );
        let Workpiece {
            start_mm,
            target_mm,
            ..
        } = cutting.workpiece();
        let metal = start_mm - target_mm;
        assert!((cutting.size_mm() - start_mm).abs() <= START_VARIES * metal);
    }

    #[test]
    fn a_workpiece_without_cuts_is_finished_at_its_first_reading() {
        let mut workpiece = Workpiece::spindle();
        workpiece.cuts_mm.clear();
        let mut cutting = Cutting::new(workpiece, 0.001, 1);
        assert!(!cutting.is_finished());
        assert_eq!(piece(&mut cutting).len(), 1);
    }
}
