//! A serial line whose far end the test holds: a pseudo-terminal under a link that stays.

use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::Errno;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

/// How long a full line waits for its reader before the test fails.
const PATIENCE: Timespec = Timespec {
    tv_sec: 20,
    tv_nsec: 0,
};

fn wait_for_room(far_end: &OwnedFd) {
    let mut ask = [PollFd::new(far_end, PollFlags::OUT)];
    match poll(&mut ask, Some(&PATIENCE)) {
        Ok(0) => panic!("nobody took a byte from the line for {} s", PATIENCE.tv_sec),
        Ok(_) | Err(Errno::INTR) => {}
        Err(error) => panic!("the line cannot be waited for: {error}"),
    }
}

/// A line; unplugged when dropped.
#[derive(Debug)]
pub struct Line {
    far_end: Option<OwnedFd>,
    link: PathBuf,
}

impl Line {
    /// Plugs a line in at a path.
    pub fn plugged_in(link: &Path) -> Line {
        let mut line = Line {
            far_end: None,
            link: link.to_owned(),
        };
        line.plug_in();
        line
    }

    /// Plugs it in again under the same path.
    pub fn plug_in(&mut self) {
        let far_end = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)
            .expect("a pseudo-terminal");
        grantpt(&far_end).expect("grantpt");
        unlockpt(&far_end).expect("unlockpt");
        let name = ptsname(&far_end, Vec::new()).expect("ptsname");
        let mut modes = tcgetattr(&far_end).expect("tcgetattr");
        modes.make_raw();
        tcsetattr(&far_end, OptionalActions::Now, &modes).expect("tcsetattr");
        rustix::io::ioctl_fionbio(&far_end, true).expect("a line that does not block");
        // Put in place in one step, so that whoever looks finds either nothing or the line.
        let fresh = self.link.with_extension("new");
        let _ = std::fs::remove_file(&fresh);
        let node = name.to_str().expect("a path of plain characters");
        std::os::unix::fs::symlink(node, &fresh).expect("a link to the line");
        std::fs::rename(&fresh, &self.link).expect("the link in its place");
        self.far_end = Some(far_end);
    }

    /// Pulls it out: whoever listens sees a hang-up.
    pub fn unplug(&mut self) {
        self.far_end = None;
        let _ = std::fs::remove_file(&self.link);
    }

    /// Sends bytes, waiting while the kernel has no room, at most [`PATIENCE`] at a time.
    pub fn send(&self, mut bytes: &[u8]) {
        let far_end = self.far_end.as_ref().expect("the line is plugged in");
        while !bytes.is_empty() {
            match rustix::io::write(far_end, bytes) {
                Ok(sent) => bytes = &bytes[sent..],
                Err(Errno::INTR) => {}
                Err(Errno::AGAIN) => wait_for_room(far_end),
                Err(error) => panic!("the line cannot be written: {error}"),
            }
        }
    }
}

impl Drop for Line {
    fn drop(&mut self) {
        self.unplug();
    }
}
