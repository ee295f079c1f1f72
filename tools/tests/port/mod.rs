//! A plain reader of a port, as any program would open it.

use std::fs::{File, OpenOptions};
use std::io::Read;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use crate::program::PATIENCE;

/// Opens a port as a plain reader would, as soon as its link leads somewhere.
pub fn open(link: &Path) -> File {
    const O_NOCTTY: i32 = rustix::fs::OFlags::NOCTTY.bits() as i32;
    let until = Instant::now() + PATIENCE;
    loop {
        let opened = OpenOptions::new()
            .read(true)
            .write(true)
            .custom_flags(O_NOCTTY)
            .open(link);
        match opened {
            Ok(port) => return port,
            Err(error) if Instant::now() > until => panic!("{}: {error}", link.display()),
            Err(_) => std::thread::sleep(Duration::from_millis(5)),
        }
    }
}

/// How a port ended for its reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    Eof,
    Eio,
    Other,
}

/// Reads a port in the background until it ends; the channel gives each read, then the end.
pub fn read(mut port: File) -> Receiver<Result<Vec<u8>, End>> {
    let (sender, receiver) = mpsc::channel();
    std::thread::spawn(move || {
        let mut block = [0_u8; 4096];
        loop {
            let end = match port.read(&mut block) {
                Ok(0) => End::Eof,
                Ok(count) => {
                    let _ = sender.send(Ok(block[..count].to_vec()));
                    continue;
                }
                Err(error) if error.raw_os_error() == Some(5) => End::Eio,
                Err(_) => End::Other,
            };
            let _ = sender.send(Err(end));
            return;
        }
    });
    receiver
}

/// All bytes up to the end of the port, and how it ended.
pub fn read_to_end(reads: &Receiver<Result<Vec<u8>, End>>) -> (Vec<u8>, End) {
    let mut bytes = Vec::new();
    loop {
        match reads
            .recv_timeout(PATIENCE)
            .expect("the port neither speaks nor ends")
        {
            Ok(block) => bytes.extend(block),
            Err(end) => return (bytes, end),
        }
    }
}
