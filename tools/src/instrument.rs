//! A simulated micrometer: a piece being cut, a display, a way of speaking and a port.

use std::path::{Path, PathBuf};
use std::time::Duration;

use overwire_core::units::Unit;

use crate::cutting::{Cutting, Progress};
use crate::dice::{Dice, Purpose};
use crate::display::{Display, Shown};
use crate::encoder::Encoder;
use crate::mistake::Mistake;
use crate::pty::{Pty, PtyError};
use crate::workpiece::Workpiece;

/// Time a reader may take to come back from a read that took everything.
const READ_TIME: Duration = Duration::from_millis(50);

/// Time between the two presses of a double press.
pub const DOUBLE_PRESS_GAP: Duration = Duration::from_millis(250);

/// How long a frame waits for room in the port before it is lost.
const PATIENCE: Duration = Duration::from_secs(1);

/// Everything that makes one simulated micrometer.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The link at which readers find the port.
    pub link: PathBuf,
    /// What is being cut.
    pub workpiece: Workpiece,
    /// Standard deviation of a measurement, mm.
    pub repeatability_mm: f64,
    /// The display.
    pub display: Display,
    /// How it speaks.
    pub encoder: Encoder,
    /// Share of presses at which a mistake happens instead.
    pub mistake_rate: f64,
    /// Share of frames that have a burst of noise before them.
    pub noise_rate: f64,
    /// Seed of all chance.
    pub seed: u64,
}

/// One frame that left the instrument.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sent {
    /// What the display showed.
    pub shown: Shown,
    /// The bytes that went down the line.
    pub frame: Vec<u8>,
    /// Where the cutting stood.
    pub progress: Progress,
    /// What went wrong at the press, if anything did.
    pub mistake: Option<Mistake>,
}

/// Why a press sent nothing.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PressError {
    /// The plug is out.
    #[error("the plug is out: nothing was sent (`plug` puts it in again)")]
    Unplugged,
    /// The port would not take the frame.
    #[error(transparent)]
    Port(#[from] PtyError),
}

/// A simulated micrometer. Dropping it pulls the plug and removes the link.
#[derive(Debug)]
pub struct Micrometer {
    link: PathBuf,
    port: Option<Pty>,
    cutting: Cutting,
    display: Display,
    encoder: Encoder,
    mistake_rate: f64,
    noise_rate: f64,
    mistake_dice: Dice,
    noise_dice: Dice,
}

impl Micrometer {
    /// Plugs a micrometer in; readers find it at its link at once.
    ///
    /// # Errors
    /// [`PtyError`] when there is no port to be had.
    pub fn plug_in(settings: Settings) -> Result<Micrometer, PtyError> {
        let Settings {
            link,
            workpiece,
            repeatability_mm,
            seed,
            ..
        } = settings;
        Ok(Micrometer {
            port: Some(Pty::open(&link)?),
            link,
            cutting: Cutting::new(workpiece, repeatability_mm, seed),
            display: settings.display,
            encoder: settings.encoder,
            mistake_rate: settings.mistake_rate,
            noise_rate: settings.noise_rate,
            mistake_dice: Dice::new(seed, Purpose::Mistakes),
            noise_dice: Dice::new(seed, Purpose::Noise),
        })
    }

    /// Presses the button. A piece that has been measured gets its next pass first; by chance a
    /// mistake happens instead, and the pass stays to be measured.
    ///
    /// # Errors
    /// [`PressError`]; the pass stays to be measured if the plug is out.
    pub fn press(&mut self) -> Result<Vec<Sent>, PressError> {
        self.plugged()?;
        if self.mistake_dice.happens(self.mistake_rate) {
            let mistake = Mistake::any(&mut self.mistake_dice);
            return self.press_wrongly(mistake);
        }
        self.cutting.cut_if_measured();
        let reading_mm = self.cutting.measure_mm();
        Ok(vec![self.send(reading_mm, None)?])
    }

    /// Presses the button on a standard of this size, for a zero check; the piece stays as it is.
    ///
    /// # Errors
    /// [`PressError`].
    pub fn press_on_standard(&mut self, size_mm: f64) -> Result<Vec<Sent>, PressError> {
        self.plugged()?;
        Ok(vec![self.send(size_mm, None)?])
    }

    /// Presses the button with a mistake.
    ///
    /// # Errors
    /// [`PressError`].
    pub fn press_wrongly(&mut self, mistake: Mistake) -> Result<Vec<Sent>, PressError> {
        self.plugged()?;
        self.cutting.cut_if_measured();
        if mistake == Mistake::DoublePress {
            let reading_mm = self.cutting.measure_mm();
            let first = self.send(reading_mm, None)?;
            std::thread::sleep(DOUBLE_PRESS_GAP);
            return Ok(vec![first, self.send(reading_mm, Some(mistake))?]);
        }
        let wrong_mm = mistake.reads_mm(self.cutting.size_mm(), self.cutting.workpiece());
        Ok(vec![self.send(wrong_mm, Some(mistake))?])
    }

    /// Noise on the line with no line end: the next frame comes glued to it.
    ///
    /// # Errors
    /// [`PressError`].
    pub fn make_noise(&mut self) -> Result<Vec<u8>, PressError> {
        let noise = self.noise_dice.noise();
        self.plugged()?.write(&noise, PATIENCE)?;
        Ok(noise)
    }

    /// Puts the next blank in the machine.
    pub fn next_piece(&mut self) {
        self.cutting.next_piece();
    }

    /// Switches the display.
    pub fn show_in(&mut self, unit: Unit) {
        if unit != self.display.unit() {
            self.display = Display::customary(unit);
        }
    }

    /// Pulls the plug: the reader sees a hang-up, what it has not taken is lost, the link is gone.
    pub fn unplug(&mut self) {
        self.port = None;
    }

    /// Puts the plug in again, under the same link.
    ///
    /// # Errors
    /// [`PtyError`] when there is no port to be had.
    pub fn plug(&mut self) -> Result<(), PtyError> {
        if self.port.is_none() {
            self.port = Some(Pty::open(&self.link)?);
        }
        Ok(())
    }

    /// Whether the reader takes every byte within a time; true with the plug out. A claim that a dead
    /// reader left is lifted when it does not.
    pub fn taken_within(&self, patience: Duration) -> bool {
        let Some(port) = &self.port else { return true };
        let taken = port.taken_within(patience);
        if taken {
            // Nothing waits any more while the reader is still in its read, and a port that goes away at
            // that moment can take the last bytes along.
            std::thread::sleep(READ_TIME);
        } else {
            port.lift_claim();
        }
        taken
    }

    /// The link readers open.
    pub fn link(&self) -> &Path {
        &self.link
    }

    /// Where the cutting stands.
    pub fn progress(&self) -> Progress {
        self.cutting.progress()
    }

    /// True once the piece is at its finished size and measured.
    pub fn is_finished(&self) -> bool {
        self.cutting.is_finished()
    }

    fn plugged(&self) -> Result<&Pty, PressError> {
        self.port.as_ref().ok_or(PressError::Unplugged)
    }

    fn send(&mut self, reading_mm: f64, mistake: Option<Mistake>) -> Result<Sent, PressError> {
        let noise = self
            .noise_dice
            .happens(self.noise_rate)
            .then(|| self.noise_dice.noise());
        let shown = self.display.show(reading_mm);
        let frame = self.encoder.frame(&shown);
        let port = self.plugged()?;
        // What the reader says to the instrument is heard and not understood.
        port.drain();
        if let Some(mut noise) = noise {
            noise.extend_from_slice(self.encoder.end.bytes());
            port.write(&noise, PATIENCE)?;
        }
        port.write(&frame, PATIENCE)?;
        Ok(Sent {
            shown,
            frame,
            progress: self.cutting.progress(),
            mistake,
        })
    }
}
