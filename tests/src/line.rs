//! A serial line whose far end the test holds: a pseudo-terminal under a link that stays.

use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

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

    /// Sends bytes, waiting while the kernel has no room.
    pub fn send(&self, mut bytes: &[u8]) {
        let far_end = self.far_end.as_ref().expect("the line is plugged in");
        while !bytes.is_empty() {
            let sent =
                rustix::io::retry_on_intr(|| rustix::io::write(far_end, bytes)).expect("write");
            bytes = &bytes[sent..];
        }
    }
}

impl Drop for Line {
    fn drop(&mut self) {
        self.unplug();
    }
}
