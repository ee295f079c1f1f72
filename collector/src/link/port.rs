//! Opening and reading a serial port.
//!
//! A hang-up looks like an end of file, or like BrokenPipe from the serial crate, and then EIO for
//! ever; a caller that tries again spins. So everything but "nothing there" means lost, and the
//! descriptor is closed: a dead one that is kept makes the adapter come back under another name.

use std::io::{ErrorKind, Read as _};
use std::os::fd::{AsRawFd, BorrowedFd, RawFd};
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::time::Duration;

use overwire_config::LineSettings;
use overwire_config::profile::{Flow, Parity};
use rustix::termios::{ControlModes, InputModes, OptionalActions};
use serialport::{DataBits, FlowControl, SerialPort as _, StopBits, TTYPort};

use super::Why;

/// An open port.
#[derive(Debug)]
pub struct Port {
    tty: TTYPort,
}

/// What a read gave.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Got {
    /// So many bytes.
    Bytes(usize),
    /// Nothing is waiting.
    Nothing,
    /// The port is gone.
    Lost,
}

impl Port {
    /// Opens a port for this program alone, with the line's settings and damaged characters marked
    /// (see [`crate::frame::damage`]).
    ///
    /// # Errors
    /// Why it cannot be listened to.
    pub fn open(path: &Path, line: &LineSettings) -> Result<Port, Why> {
        let name = path.to_string_lossy();
        let builder = serialport::new(name.as_ref(), line.baud)
            .data_bits(data_bits(line.data_bits))
            .stop_bits(if line.stop_bits == 2 {
                StopBits::Two
            } else {
                StopBits::One
            })
            .parity(parity(line.parity))
            .flow_control(flow(line.flow))
            .timeout(Duration::ZERO);
        let tty = TTYPort::open(&builder).map_err(|error| why(path, &error))?;
        if !tty.exclusive() {
            return Err(Why::Held);
        }
        let port = Port { tty };
        port.mark_damage(line)
            .map_err(|error| Why::Refused(error.to_string()))?;
        Ok(port)
    }

    /// Has the port mark damaged characters instead of dropping them, and says what it did not take.
    fn mark_damage(&self, line: &LineSettings) -> rustix::io::Result<()> {
        // SAFETY: the descriptor is owned by `self.tty` and outlives this borrow.
        let fd = unsafe { BorrowedFd::borrow_raw(self.tty.as_raw_fd()) };
        let mut modes = rustix::termios::tcgetattr(fd)?;
        modes
            .input_modes
            .remove(InputModes::IGNPAR | InputModes::ISTRIP);
        modes
            .input_modes
            .insert(InputModes::INPCK | InputModes::PARMRK);
        rustix::termios::tcsetattr(fd, OptionalActions::Now, &modes)?;
        let taken = rustix::termios::tcgetattr(fd)?;
        let has_parity = taken.control_modes.contains(ControlModes::PARENB);
        let wants_parity = line.parity != Parity::None;
        if has_parity != wants_parity {
            let port = self.tty.name().unwrap_or_default();
            tracing::warn!(port, "Port did not take the parity asked for.");
        }
        Ok(())
    }

    /// Reads what is waiting, without waiting.
    pub fn read(&mut self, buffer: &mut [u8]) -> Got {
        loop {
            return match self.tty.read(buffer) {
                Ok(0) => Got::Lost,
                Ok(bytes) => Got::Bytes(bytes),
                Err(error) => match error.kind() {
                    ErrorKind::TimedOut | ErrorKind::WouldBlock => Got::Nothing,
                    ErrorKind::Interrupted => continue,
                    _ => Got::Lost,
                },
            };
        }
    }
}

impl AsRawFd for Port {
    fn as_raw_fd(&self) -> RawFd {
        self.tty.as_raw_fd()
    }
}

fn data_bits(bits: u8) -> DataBits {
    match bits {
        5 => DataBits::Five,
        6 => DataBits::Six,
        7 => DataBits::Seven,
        _ => DataBits::Eight,
    }
}

fn parity(parity: Parity) -> serialport::Parity {
    match parity {
        Parity::None => serialport::Parity::None,
        Parity::Odd => serialport::Parity::Odd,
        Parity::Even => serialport::Parity::Even,
    }
}

fn flow(flow: Flow) -> FlowControl {
    match flow {
        Flow::None => FlowControl::None,
        Flow::Software => FlowControl::Software,
        Flow::Hardware => FlowControl::Hardware,
    }
}

fn why(path: &Path, error: &serialport::Error) -> Why {
    if !path.exists() {
        return Why::Missing;
    }
    match error.kind() {
        serialport::ErrorKind::NoDevice => Why::Held,
        serialport::ErrorKind::Io(ErrorKind::NotFound) => Why::Missing,
        serialport::ErrorKind::Io(ErrorKind::PermissionDenied) => Why::NoPermission {
            group: group_of(path),
        },
        _ => Why::Refused(error.description.to_lowercase()),
    }
}

/// Name of the group that owns a node, or its number.
fn group_of(path: &Path) -> String {
    let Ok(metadata) = std::fs::metadata(path) else {
        return "dialout".to_owned();
    };
    let gid = metadata.gid();
    let groups = std::fs::read_to_string("/etc/group").unwrap_or_default();
    groups
        .lines()
        .find_map(|line| {
            let mut fields = line.split(':');
            let name = fields.next()?;
            let number: u32 = fields.nth(1)?.parse().ok()?;
            (number == gid).then(|| name.to_owned())
        })
        .unwrap_or_else(|| gid.to_string())
}
