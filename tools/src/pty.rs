//! A pseudo-terminal that stands in for a serial adapter, reached through a link.
//!
//! Measured on Linux, and what follows from it:
//! - Closing the master is an unplug: the reader sees end of file, then EIO. Bytes that it has not
//!   taken by then are gone, as they are on a real adapter.
//! - Bytes written while nobody has the port open are kept by the kernel and delivered at the next
//!   open. A real adapter may lose them.
//! - One reader end is held open here. It keeps the raw settings and lets us see how many bytes are
//!   still waiting; it never reads.
//! - A reader's exclusive claim (TIOCEXCL) outlives the reader, because the terminal lives on with its
//!   master; a real adapter's port is free once its holder died. [`Pty::lift_claim`] makes up for it.

use std::fs;
use std::io;
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rustix::event::{PollFd, PollFlags, Timespec};
use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;
use rustix::pty::OpenptFlags;
use rustix::termios::OptionalActions;

/// Why a simulated port could not be made or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PtyError {
    /// The system gave no pseudo-terminal.
    #[error("no pseudo-terminal to be had for {link}: {source}")]
    NotMade {
        /// The link that was asked for.
        link: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// Something that is no link stands at the link's path.
    #[error("{0} exists and is not a link; give another path, nothing is overwritten")]
    NotALink(PathBuf),
    /// The link could not be laid.
    #[error("cannot lay the link {link}: {source}")]
    NotLinked {
        /// The link that was asked for.
        link: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The kernel's buffer stayed full: nobody takes the bytes.
    #[error(
        "the port {link} is full, {written} of {wanted} bytes went in: no program is reading it"
    )]
    Full {
        /// The port's link.
        link: PathBuf,
        /// Bytes that went in.
        written: usize,
        /// Bytes that were to go in.
        wanted: usize,
    },
    /// The write failed otherwise.
    #[error("cannot write to the port {link}: {source}")]
    NotWritten {
        /// The port's link.
        link: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
}

/// The instrument's end of a simulated port. Dropping it is pulling the plug.
#[derive(Debug)]
pub struct Pty {
    master: OwnedFd,
    held: OwnedFd,
    device: PathBuf,
    link: PathBuf,
}

impl Pty {
    /// Makes a pseudo-terminal and lays `link` to its reader's end, in one step for a reader: the link
    /// leads to the old port or to the new one, never nowhere.
    ///
    /// # Errors
    /// [`PtyError::NotALink`] rather than overwriting a file, or what the system refused.
    pub fn open(link: &Path) -> Result<Pty, PtyError> {
        if fs::symlink_metadata(link).is_ok_and(|found| !found.file_type().is_symlink()) {
            return Err(PtyError::NotALink(link.to_owned()));
        }
        let (master, held, device) = new_pair().map_err(|error| PtyError::NotMade {
            link: link.to_owned(),
            source: error.into(),
        })?;
        lay_link(&device, link).map_err(|source| PtyError::NotLinked {
            link: link.to_owned(),
            source,
        })?;
        Ok(Pty {
            master,
            held,
            device,
            link: link.to_owned(),
        })
    }

    /// The link a reader opens.
    pub fn link(&self) -> &Path {
        &self.link
    }

    /// The device that the link leads to.
    pub fn device(&self) -> &Path {
        &self.device
    }

    /// Writes what fits without waiting; 0 when the port is full.
    ///
    /// # Errors
    /// [`PtyError::NotWritten`].
    pub fn write_some(&self, bytes: &[u8]) -> Result<usize, PtyError> {
        match rustix::io::write(&self.master, bytes) {
            Ok(written) => Ok(written),
            Err(Errno::AGAIN | Errno::INTR) => Ok(0),
            Err(error) => Err(PtyError::NotWritten {
                link: self.link.clone(),
                source: error.into(),
            }),
        }
    }

    /// Writes everything, waiting up to `patience` for a reader to make room.
    ///
    /// # Errors
    /// [`PtyError::Full`] when the patience ended: the rest of the bytes is lost, as on a line without
    /// flow control; or [`PtyError::NotWritten`].
    pub fn write(&self, bytes: &[u8], patience: Duration) -> Result<(), PtyError> {
        let until = Instant::now() + patience;
        let mut written = 0;
        while written < bytes.len() {
            match self.write_some(&bytes[written..])? {
                0 if Instant::now() >= until => {
                    let link = self.link.clone();
                    return Err(PtyError::Full {
                        link,
                        written,
                        wanted: bytes.len(),
                    });
                }
                0 => std::thread::sleep(Duration::from_millis(1)),
                more => written += more,
            }
        }
        Ok(())
    }

    /// Bytes that the reader has not taken yet.
    pub fn waiting(&self) -> u64 {
        // Bytes written are first in a queue that the kernel empties in its own time, and are not
        // counted there; asking whether there is something to read makes it empty the queue now.
        let mut ask = [PollFd::new(&self.held, PollFlags::IN)];
        let _ = rustix::event::poll(&mut ask, Some(&Timespec::default()));
        rustix::io::ioctl_fionread(&self.held).unwrap_or(0)
    }

    /// Waits up to `patience` until the reader has taken every byte; whether it has.
    pub fn taken_within(&self, patience: Duration) -> bool {
        let until = Instant::now() + patience;
        while self.waiting() > 0 {
            if Instant::now() >= until {
                return false;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        true
    }

    /// Takes and returns what the reader has written to the instrument, so that it never fills up.
    pub fn drain(&self) -> Vec<u8> {
        let mut heard = Vec::new();
        let mut block = [0_u8; 512];
        while let Ok(count @ 1..) = rustix::io::read(&self.master, &mut block) {
            heard.extend_from_slice(&block[..count]);
        }
        heard
    }

    /// Lifts an exclusive claim that a dead reader left on the terminal.
    pub fn lift_claim(&self) {
        // Refused only on something that is no terminal, which `held` always is.
        let _ = rustix::termios::ioctl_tiocnxcl(&self.held);
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        if fs::read_link(&self.link).is_ok_and(|target| target == self.device) {
            let _ = fs::remove_file(&self.link);
        }
    }
}

/// Both ends, the reader's already raw: no echo, no line editing, bytes pass unchanged.
fn new_pair() -> rustix::io::Result<(OwnedFd, OwnedFd, PathBuf)> {
    let master =
        rustix::pty::openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
    rustix::pty::grantpt(&master)?;
    rustix::pty::unlockpt(&master)?;
    rustix::io::ioctl_fionbio(&master, true)?;
    let name = rustix::pty::ptsname(&master, Vec::new())?;
    let device = PathBuf::from(name.to_string_lossy().into_owned());
    let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
    let held = rustix::fs::open(&device, flags, Mode::empty())?;
    let mut settings = rustix::termios::tcgetattr(&held)?;
    settings.make_raw();
    rustix::termios::tcsetattr(&held, OptionalActions::Now, &settings)?;
    Ok((master, held, device))
}

/// A new link under another name, moved over the old one.
fn lay_link(device: &Path, link: &Path) -> io::Result<()> {
    let mut name = link
        .file_name()
        .map(|name| name.to_owned())
        .unwrap_or_default();
    name.push(format!(".{}.new", std::process::id()));
    let beside = link.with_file_name(name);
    let _ = fs::remove_file(&beside);
    std::os::unix::fs::symlink(device, &beside)?;
    fs::rename(&beside, link).inspect_err(|_| {
        let _ = fs::remove_file(&beside);
    })
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use super::*;

    /// A link of a test's own in the temporary folder.
    fn link(name: &str) -> PathBuf {
        std::env::temp_dir().join(format!("overwire-pty-{name}-{}", std::process::id()))
    }

    #[test]
    fn bytes_pass_unchanged_and_are_seen_waiting_until_taken() {
        let port = Pty::open(&link("bytes")).unwrap();
        // Interrupt, end of file, XON, XOFF, delete, line ends: a terminal that is not raw eats them.
        let bytes = [
            0xff, 0x00, 0x03, 0x04, 0x11, 0x13, 0x7f, 0x0d, 0x0a, 0x1a, b'7',
        ];
        port.write(&bytes, Duration::from_secs(1)).unwrap();
        assert_eq!(port.waiting(), bytes.len() as u64);
        assert!(!port.taken_within(Duration::from_millis(10)));
        let mut reader = fs::File::options()
            .read(true)
            .write(true)
            .open(port.link())
            .unwrap();
        let mut read = [0; 11];
        reader.read_exact(&mut read).unwrap();
        assert_eq!(read, bytes);
        assert!(port.taken_within(Duration::ZERO));
    }

    #[test]
    fn what_the_reader_writes_is_heard_and_not_echoed() {
        use std::io::Write;
        let port = Pty::open(&link("heard")).unwrap();
        let mut reader = fs::File::options()
            .read(true)
            .write(true)
            .open(port.link())
            .unwrap();
        reader.write_all(b"ask\r\n").unwrap();
        assert_eq!(port.drain(), b"ask\r\n");
        port.write(b"1.5\r\n", Duration::from_secs(1)).unwrap();
        assert_eq!(port.waiting(), 5);
        assert!(port.drain().is_empty(), "the terminal echoes");
    }

    #[test]
    fn a_port_removes_its_own_link_and_no_other() {
        let link = link("links");
        let old = Pty::open(&link).unwrap();
        let new = Pty::open(&link).unwrap();
        drop(old);
        assert_eq!(fs::read_link(&link).unwrap(), new.device());
        drop(new);
        assert!(fs::symlink_metadata(&link).is_err());
    }

    #[test]
    fn a_port_nobody_reads_fills_up_and_says_so() {
        let port = Pty::open(&link("full")).unwrap();
        let error = port
            .write(&[b'x'; 200_000], Duration::from_millis(30))
            .unwrap_err();
        let PtyError::Full {
            written, wanted, ..
        } = error
        else {
            panic!("{error}")
        };
        assert!(written > 0 && written < wanted, "{written} of {wanted}");
    }
}
