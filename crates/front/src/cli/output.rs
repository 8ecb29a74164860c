//! Files that commands write.

use std::fs::{self, File};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

use evenfare_files::disk_says;

use super::outcome::Failure;

/// Writes a file that is not there yet, whole or not at all: it has its name only when all of it is on disk.
pub(super) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    not_there(path)?;
    replace(path, bytes)
}

fn not_there(path: &Path) -> Result<(), Failure> {
    // A link that leads nowhere is something too.
    if path.symlink_metadata().is_ok() {
        let there = format!("{} is there already; nothing was written. Name another file", path.display());
        return Err(Failure::File(there));
    }
    Ok(())
}

/// The same in the place of an older one.
pub(super) fn replace(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let mut file = Unfinished::over(path)?;
    file.write(bytes)?;
    file.finish()
}

/// A file that is written piece by piece; it has its name only when all of it is on disk.
pub(super) struct Unfinished<'p> {
    path: &'p Path,
    part: PathBuf,
    file: BufWriter<File>,
    is_whole: bool,
}

impl<'p> Unfinished<'p> {
    /// One that is not there yet.
    #[cfg(feature = "serve")]
    pub(super) fn new(path: &'p Path) -> Result<Self, Failure> {
        not_there(path)?;
        Self::over(path)
    }

    fn over(path: &'p Path) -> Result<Self, Failure> {
        let mut part = path.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        let file = File::create_new(&part).map_err(|error| match error.kind() {
            ErrorKind::AlreadyExists => in_the_way(path, &part),
            _ => failed(path, &error),
        })?;
        Ok(Self { path, part, file: BufWriter::new(file), is_whole: false })
    }

    /// What comes next in it.
    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.file.write_all(bytes).map_err(|error| failed(self.path, &error))
    }

    /// All of it was written.
    pub(super) fn finish(mut self) -> Result<(), Failure> {
        let finished = self.file.flush().and_then(|()| {
            self.file.get_ref().sync_all()?;
            fs::rename(&self.part, self.path)
        });
        self.is_whole = finished.is_ok();
        finished.map_err(|error| failed(self.path, &error))
    }
}

impl Drop for Unfinished<'_> {
    fn drop(&mut self) {
        if !self.is_whole {
            // What went wrong is told; half a file would only be in the way.
            let _ = fs::remove_file(&self.part);
        }
    }
}

/// A part of it is there: of a command that is still at work, or was cut off.
fn in_the_way(path: &Path, part: &Path) -> Failure {
    let (path, part) = (path.display(), part.display());
    let why = format!("another command is writing it, or was cut off; in that case remove {part}");
    Failure::File(format!("cannot write {path}: {why}"))
}

/// Why a file or folder was not written.
pub(super) fn failed(path: &Path, error: &io::Error) -> Failure {
    let why = match error.kind() {
        ErrorKind::NotFound => format!("there is no folder {}", folder_of(path).display()),
        _ => disk_says(error),
    };
    Failure::File(format!("cannot write {}: {why}", path.display()))
}

/// Is there the folder that a file is to be written to?
#[cfg(feature = "serve")]
pub(super) fn has_folder(path: &Path) -> Result<(), Failure> {
    if folder_of(path).is_dir() { Ok(()) } else { Err(failed(path, &ErrorKind::NotFound.into())) }
}

fn folder_of(path: &Path) -> &Path {
    if path.as_os_str().as_encoded_bytes().ends_with(b"/") {
        return path;
    }
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
