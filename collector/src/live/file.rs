//! One live file. A line is added by a single `write` with `O_APPEND`, for which room is asked beforehand, so that
//! whoever watches never sees half a line, not even when the disk fills up.

use std::fs::{File, Metadata, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::fs::{FileExt as _, MetadataExt as _, OpenOptionsExt as _};
use std::path::{Path, PathBuf};

use rustix::fs::{FallocateFlags, OFlags, fallocate};
use rustix::io::Errno;

use super::LiveError;

/// Most that is read to find the last line.
const LONGEST_LINE: u64 = 1 << 20;
/// Numbers that siblings may have.
const MOST_SIBLINGS: u32 = 99;

/// A file that is open to be added to.
#[derive(Debug)]
pub struct LiveFile {
    file: File,
    path: PathBuf,
    id: (u64, u64),
    size: u64,
    /// Whether something was written that is not known to be on the disk.
    unsynced: bool,
    /// Another's file that stands under the name that this one would have.
    pub instead_of: Option<PathBuf>,
    /// Every line of its period up to this entry is in it.
    pub upto: i64,
}

/// Says what a last line stands for: its entry if it is what the record gives for it, none if it is not.
pub type Knows<'k> = &'k mut dyn FnMut(&[u8]) -> Result<Option<i64>, LiveError>;

impl LiveFile {
    /// Opens the file of a name, making it where it is not there. A file that is not this record's is left alone,
    /// and the next number is tried.
    ///
    /// # Errors
    /// The system refuses.
    pub fn open(
        folder: &Path,
        (name, ending): (&str, &str),
        heading: &str,
        knows: Knows<'_>,
    ) -> Result<LiveFile, LiveError> {
        for number in 1..=MOST_SIBLINGS {
            let path = folder.join(match number {
                1 => format!("{name}.{ending}"),
                _ => format!("{name}~{number}.{ending}"),
            });
            let refused = |source: io::Error| match source.kind() {
                io::ErrorKind::NotFound if !folder.is_dir() => {
                    LiveError::NoFolder(folder.to_owned())
                }
                _ => LiveError::Refused {
                    path: path.clone(),
                    source,
                },
            };
            if !folder.is_dir() {
                return Err(LiveError::NoFolder(folder.to_owned()));
            }
            let (opened, denied) = match opened(&path, true) {
                Err(error) if error.kind() == io::ErrorKind::PermissionDenied && path.exists() => {
                    (opened(&path, false), Some(error))
                }
                opened => (opened, None),
            };
            let Some((file, found)) = opened.map_err(refused)? else {
                continue;
            };
            let mut live = LiveFile {
                file,
                path: path.clone(),
                id: id(&found),
                size: found.len(),
                unsynced: false,
                instead_of: (number > 1).then(|| folder.join(format!("{name}.{ending}"))),
                upto: 0,
            };
            match (live.take_up(heading, knows), denied) {
                (Ok(false), _) => {}
                (_, Some(denied)) => return Err(live.refused(denied)),
                (taken_up, None) => return taken_up.map(|_| live),
            }
        }
        Err(LiveError::Taken(folder.join(format!("{name}.{ending}"))))
    }

    /// Its path.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn refused(&self, source: io::Error) -> LiveError {
        LiveError::Refused {
            path: self.path.clone(),
            source,
        }
    }

    /// Whether what stands under its name is still this file, as it was left.
    pub fn is_in_place(&self) -> bool {
        std::fs::metadata(&self.path)
            .is_ok_and(|found| id(&found) == self.id && found.len() == self.size)
    }

    /// Finds out how far it has come; false if it is another's. A heading or last line that was cut off by the end
    /// of a machine is mended.
    fn take_up(&mut self, heading: &str, knows: Knows<'_>) -> Result<bool, LiveError> {
        let heading = heading.as_bytes();
        let mut front = vec![0; heading.len().min(self.size as usize)];
        self.file
            .read_exact_at(&mut front, 0)
            .map_err(|error| self.refused(error))?;
        if !heading.starts_with(&front) {
            return Ok(false);
        }
        if front.len() < heading.len() {
            self.cut(0)?;
            self.append(heading)?;
            return Ok(true);
        }
        let (line, end) = self.last_line()?;
        if end < heading.len() as u64 {
            return Ok(false);
        }
        if end > heading.len() as u64 {
            let Some(upto) = knows(&line)? else {
                return Ok(false);
            };
            self.upto = upto;
        }
        if end < self.size {
            tracing::warn!(file = %self.path.display(), "A line that was cut off was taken out.");
            self.cut(end)?;
        }
        Ok(true)
    }

    /// The last whole line, and where it ends.
    fn last_line(&self) -> Result<(Vec<u8>, u64), LiveError> {
        let from = self.size.saturating_sub(LONGEST_LINE);
        let mut tail = vec![0; (self.size - from) as usize];
        self.file
            .read_exact_at(&mut tail, from)
            .map_err(|error| self.refused(error))?;
        let Some(last) = tail.iter().rposition(|byte| *byte == b'\n') else {
            return Ok((Vec::new(), 0));
        };
        tail.truncate(last + 1);
        let before = tail.get(..last).unwrap_or_default();
        let begin = before.iter().rposition(|byte| *byte == b'\n');
        let line = tail.split_off(begin.map_or(0, |newline| newline + 1));
        Ok((line, from + last as u64 + 1))
    }

    fn cut(&mut self, size: u64) -> Result<(), LiveError> {
        self.file
            .set_len(size)
            .map_err(|error| self.refused(error))?;
        self.size = size;
        Ok(())
    }

    /// Adds a whole line, or nothing.
    ///
    /// # Errors
    /// The system refuses.
    pub fn append(&mut self, line: &[u8]) -> Result<(), LiveError> {
        self.reserve(line.len() as u64)
            .map_err(|error| self.refused(error))?;
        loop {
            match self.file.write(line) {
                Ok(written) if written == line.len() => {
                    self.size += written as u64;
                    self.unsynced = true;
                    return Ok(());
                }
                Ok(_) => {
                    // Only a disk that cannot set room aside comes to this.
                    self.cut(self.size)?;
                    return Err(self.refused(io::ErrorKind::StorageFull.into()));
                }
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(self.refused(error)),
            }
        }
    }

    /// Sets room aside after the end. A disk that cannot do that is taken as it is.
    fn reserve(&self, length: u64) -> io::Result<()> {
        match fallocate(&self.file, FallocateFlags::KEEP_SIZE, self.size, length) {
            Err(error @ (Errno::NOSPC | Errno::DQUOT | Errno::FBIG)) => Err(error.into()),
            _ => Ok(()),
        }
    }

    /// Has everything on the disk.
    ///
    /// # Errors
    /// The system refuses.
    pub fn sync(&mut self) -> Result<(), LiveError> {
        if std::mem::take(&mut self.unsynced) {
            self.file.sync_all().map_err(|error| self.refused(error))?;
        }
        Ok(())
    }
}

fn id(found: &Metadata) -> (u64, u64) {
    (found.dev(), found.ino())
}

/// The file under a name, made where there is none if it is to be added to; none where something else than a file
/// stands there.
fn opened(path: &Path, to_add: bool) -> io::Result<Option<(File, Metadata)>> {
    let opened = OpenOptions::new()
        .read(true)
        .append(to_add)
        .create(to_add)
        // A pipe under the name must not keep the thread.
        .custom_flags(OFlags::NONBLOCK.bits() as i32)
        .open(path);
    let file = match opened {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::IsADirectory => return Ok(None),
        Err(error) => return Err(error),
    };
    let found = file.metadata()?;
    Ok(found.is_file().then_some((file, found)))
}
