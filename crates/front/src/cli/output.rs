//! Files that commands write.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use super::outcome::Failure;

/// Writes a file that is not there yet, whole or not at all: it has its name only when all of it is on disk.
pub(super) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    // Also a link that leads nowhere is something.
    if path.symlink_metadata().is_ok() {
        let there = format!("{} is there already; nothing was written. Name another", path.display());
        return Err(Failure::File(there));
    }
    let mut part = path.as_os_str().to_owned();
    part.push(".part");
    let part = Path::new(&part);
    let written = File::create_new(part).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(part, path)
    });
    written.map_err(|error| {
        if error.kind() != ErrorKind::AlreadyExists {
            // What went wrong is told; half a file would only be in the way.
            let _ = fs::remove_file(part);
        }
        failed(path, &error)
    })
}

pub(super) fn failed(path: &Path, error: &io::Error) -> Failure {
    Failure::File(format!("cannot write {}: {error}", path.display()))
}
