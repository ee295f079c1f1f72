//! A file that is written whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write as _};
use std::path::{Path, PathBuf};

use super::ExportError;

/// Room before the file.
const ROOM: usize = 1 << 16;

/// Writes a file so that no half file ever stands under its name: beside it first, then in its place. A link is
/// followed, a file of before leaves its rights to the new one, and what is no plain file (a device, a pipe) is
/// written to as it stands.
///
/// # Errors
/// Whatever writing it says, or the file cannot be made; the error names it.
pub fn into_file<T>(
    file: &Path,
    write: impl FnOnce(&mut BufWriter<File>) -> Result<T, ExportError>,
) -> Result<T, ExportError> {
    let named = |error: ExportError| match error {
        ExportError::Write(source) => ExportError::NotWritten {
            file: file.to_owned(),
            source,
        },
        other => other,
    };
    // One that does not exist yet cannot be a link to follow.
    let target = fs::canonicalize(file).unwrap_or_else(|_| file.to_owned());
    let done = match fs::metadata(&target) {
        Ok(before) if !before.is_file() => straight(&target, write),
        before => beside(&target, before.ok(), write),
    };
    done.map_err(named)
}

/// Into what is no plain file.
fn straight<T>(
    target: &Path,
    write: impl FnOnce(&mut BufWriter<File>) -> Result<T, ExportError>,
) -> Result<T, ExportError> {
    let file = OpenOptions::new().write(true).open(target)?;
    let mut out = BufWriter::with_capacity(ROOM, file);
    let written = write(&mut out)?;
    out.flush()?;
    Ok(written)
}

/// Into a new file that then takes the place of the one before.
fn beside<T>(
    target: &Path,
    before: Option<fs::Metadata>,
    write: impl FnOnce(&mut BufWriter<File>) -> Result<T, ExportError>,
) -> Result<T, ExportError> {
    let partial = PathBuf::from(format!("{}.{}.part", target.display(), std::process::id()));
    let file = OpenOptions::new()
        .write(true)
        .read(true)
        .create_new(true)
        .open(&partial)?;
    let mut out = BufWriter::with_capacity(ROOM, file);
    let written = write(&mut out).and_then(|written| {
        out.flush()?;
        if let Some(before) = before {
            out.get_ref().set_permissions(before.permissions())?;
        }
        out.get_ref().sync_all()?;
        fs::rename(&partial, target)?;
        Ok(written)
    });
    if written.is_err() {
        // What could not be finished is of no use; that it cannot be removed is no further trouble.
        let _ = fs::remove_file(&partial);
    }
    written
}

/// Whether two paths lead to one file, also where a link or another spelling hides it.
pub fn is_same(one: &Path, other: &Path) -> bool {
    let place = |path: &Path| -> io::Result<PathBuf> {
        if let Ok(place) = fs::canonicalize(path) {
            return Ok(place);
        }
        let folder = path.parent().filter(|folder| *folder != Path::new(""));
        let folder = fs::canonicalize(folder.unwrap_or(Path::new(".")))?;
        Ok(folder.join(path.file_name().unwrap_or_default()))
    };
    match (place(one), place(other)) {
        (Ok(one), Ok(other)) => one == other,
        _ => one == other,
    }
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::{PermissionsExt as _, symlink};

    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder =
            std::env::temp_dir().join(format!("overwire-out-{name}-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        folder
    }

    fn put(file: &Path, text: &str) -> Result<(), ExportError> {
        into_file(file, |out| Ok(out.write_all(text.as_bytes())?))
    }

    #[test]
    fn links_are_followed_rights_stay_and_nothing_is_left_over() {
        let folder = folder("links");
        let (target, link) = (folder.join("target"), folder.join("link"));
        fs::write(&target, "before").unwrap();
        fs::set_permissions(&target, fs::Permissions::from_mode(0o600)).unwrap();
        symlink(&target, &link).unwrap();
        put(&link, "after").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&target).unwrap(), "after");
        assert_eq!(
            fs::metadata(&target).unwrap().permissions().mode() & 0o777,
            0o600
        );
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 2);
        let failed = into_file(&target, |_| -> Result<(), ExportError> {
            Err(io::Error::other("full").into())
        });
        assert!(failed.unwrap_err().to_string().contains("target: full"));
        assert_eq!(fs::read_to_string(&target).unwrap(), "after");
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 2);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_pipe_is_written_to_and_stays_one() {
        let folder = folder("pipe");
        let pipe = folder.join("pipe");
        let (kind, rights) = (
            rustix::fs::FileType::Fifo,
            rustix::fs::Mode::RUSR | rustix::fs::Mode::WUSR,
        );
        rustix::fs::mknodat(rustix::fs::CWD, &pipe, kind, rights, 0).unwrap();
        let listened = pipe.clone();
        let listener = std::thread::spawn(move || fs::read_to_string(listened).unwrap());
        put(&pipe, "through").unwrap();
        assert!(!fs::metadata(&pipe).unwrap().is_file());
        assert_eq!(listener.join().unwrap(), "through");
        let refused = put(&folder, "into a folder").unwrap_err().to_string();
        assert!(refused.contains("overwire-out-pipe"), "{refused}");
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn one_file_is_known_by_any_of_its_names() {
        let folder = folder("same");
        let file = folder.join("record.db");
        fs::write(&file, "").unwrap();
        symlink(&file, folder.join("link")).unwrap();
        assert!(is_same(&file, &folder.join("link")));
        assert!(is_same(&file, &folder.join(".").join("record.db")));
        assert!(is_same(&folder.join("new"), &folder.join(".").join("new")));
        assert!(!is_same(&file, &folder.join("record.db-wal")));
        fs::remove_dir_all(&folder).unwrap();
    }
}
