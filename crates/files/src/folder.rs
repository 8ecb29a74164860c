//! A folder of files, on disk or in memory.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fs;
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};

use evenfare_engine::nearest::or_nearest;

use crate::decode::{TARIFF_FILE_LIMIT, too_large};
use crate::picture::{MOST_BYTES, is_picture};
use crate::report::{Mistake, Report, Says};

/// The name of the file that makes a folder an edition.
pub(crate) const EDITION_FILE: &str = "edition.toml";
/// The name of the file that says how documents look.
pub(crate) const LETTERHEAD_FILE: &str = "letterhead.toml";

/// The name of the chart of accounts, beside the editions of a tariff.
pub(crate) const CHART_FILE: &str = "chart.csv";

/// Where a file is not there, this many of the names beside it are looked at for the nearest.
const LOOKED_AT: usize = 1_000;

/// The files of a tariff by their paths below the folder: `2026-07/parts.csv`.
///
/// The same reading serves a folder on disk, files compiled into a program, and tests.
///
/// # Examples
/// ```
/// use evenfare_files::Folder;
/// let folder = Folder::from_files("demo", [("2026-07/edition.toml", "[edition]\n")]);
/// assert_eq!(folder.name(), "demo");
/// ```
#[derive(Debug, Clone, Default)]
pub struct Folder {
    name: String,
    /// Nothing stands for a file that could not be read, or is read by nobody; a mistake says why.
    files: BTreeMap<String, Option<Vec<u8>>>,
    mistakes: Report,
    /// Folders directly below, with or without files in them.
    folders: BTreeSet<String>,
}

impl Folder {
    /// A folder in memory; the paths are below it and separated by `/`.
    pub fn from_files<P, B>(name: &str, files: impl IntoIterator<Item = (P, B)>) -> Self
    where
        P: Into<String>,
        B: Into<Vec<u8>>,
    {
        let files: BTreeMap<String, _> =
            files.into_iter().map(|(path, bytes)| (path.into(), Some(bytes.into()))).collect();
        let folders =
            files.keys().filter_map(|path| path.split_once('/')).map(|(folder, _)| folder.to_owned());
        Self { name: name.to_owned(), folders: folders.collect(), files, mistakes: Report::default() }
    }

    /// Reads the files of a tariff folder and of the folders directly below it: tables, letterheads and
    /// pictures. Of other files of keys the names are known; all else is left alone, and so are names that
    /// begin with a point.
    ///
    /// What cannot be listed or read is kept as a mistake and reported with the mistakes of the
    /// other files when the folder is parsed.
    pub fn from_disk(dir: &Path) -> Self {
        let mut folder = Self { name: dir.display().to_string(), ..Self::default() };
        for name in folder.take_in(dir, "") {
            folder.take_in(&dir.join(&name), &name);
            folder.folders.insert(name);
        }
        folder
    }

    /// Takes in the files of one folder and answers with the names of those below it.
    fn take_in(&mut self, dir: &Path, prefix: &str) -> Vec<String> {
        let mut folders = Vec::new();
        let paths = paths_in(dir, "a tariff").unwrap_or_else(|says| {
            self.mistakes.push(Mistake::in_folder(dir.display().to_string(), says));
            Vec::new()
        });
        for (name, path) in paths {
            if path.is_dir() {
                folders.push(name);
                continue;
            }
            let bytes = if is_read(&name) {
                // A picture that cannot be read is a mistake only where a letterhead names it.
                let is_named_elsewhere = is_picture(&name);
                let limit = if is_named_elsewhere { MOST_BYTES } else { TARIFF_FILE_LIMIT };
                let bytes = read(&path, limit).map_err(|says| {
                    if !is_named_elsewhere {
                        self.mistakes.push(Mistake::in_folder(path.display().to_string(), says));
                    }
                });
                bytes.ok()
            } else if is_toml(&name) {
                // Only to be told that nobody reads it.
                None
            } else {
                continue;
            };
            let key = if prefix.is_empty() { name } else { format!("{prefix}/{name}") };
            self.files.insert(key, bytes);
        }
        folders
    }

    /// The folder's name, as messages give it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The name of something below, as messages give it.
    pub(crate) fn path_of(&self, below: &str) -> String {
        if self.name.is_empty() {
            below.to_owned()
        } else {
            format!("{}/{below}", self.name.trim_end_matches('/'))
        }
    }

    /// What could not be read.
    pub(crate) fn mistakes(&self) -> &Report {
        &self.mistakes
    }

    /// A file; its bytes, where it could be read.
    pub(crate) fn file(&self, path: &str) -> Option<Option<&[u8]>> {
        self.files.get(path).map(Option::as_deref)
    }

    /// The names of the folders directly below.
    pub(crate) fn folders(&self) -> impl Iterator<Item = &str> {
        self.folders.iter().map(String::as_str)
    }

    /// The names of the files directly in that folder; `` is the folder itself.
    pub(crate) fn files_in(&self, folder: &str) -> impl Iterator<Item = &str> {
        self.files.keys().filter_map(move |path| match path.rsplit_once('/') {
            Some((parent, name)) if parent == folder => Some(name),
            None if folder.is_empty() => Some(path.as_str()),
            _ => None,
        })
    }
}

/// Is it one of the files that a tariff is made of?
fn is_read(name: &str) -> bool {
    name == EDITION_FILE || name == LETTERHEAD_FILE || is_csv(name) || is_picture(name)
}

/// Does the name end as a table's does, in capitals or not?
pub(crate) fn is_csv(name: &str) -> bool {
    ends_in(name, "csv")
}

/// Does the name end as that of a file of keys does, in capitals or not?
pub(crate) fn is_toml(name: &str) -> bool {
    ends_in(name, "toml")
}

fn ends_in(name: &str, end: &str) -> bool {
    name.rsplit_once('.').is_some_and(|(_, own)| own.eq_ignore_ascii_case(end))
}

/// That a file or folder cannot be read, and why; where there is none, what its name is near to.
fn unreadable(path: &Path, error: &io::Error) -> Says {
    let why = disk_says(error);
    if error.kind() != ErrorKind::NotFound {
        return Says::unreadable(&why);
    }
    let text = |name: &OsStr| name.to_string_lossy().into_owned();
    let name = path.file_name().map(text).unwrap_or_default();
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let beside = fs::read_dir(folder).into_iter().flatten().flatten().take(LOOKED_AT);
    let mut beside: Vec<String> = beside.map(|entry| text(&entry.file_name())).collect();
    // A link that leads nowhere is there, though what it names is not.
    beside.retain(|other| *other != name && !other.starts_with('.'));
    beside.sort();
    Says::unreadable(&or_nearest(&why, &name, beside.iter().map(String::as_str)))
}

/// Why a file or folder cannot be read or written, in words for whoever named it.
///
/// # Examples
/// ```
/// let error = std::fs::read("no/such/file").unwrap_err();
/// assert_eq!(evenfare_files::disk_says(&error), "there is no such file or folder");
/// ```
pub fn disk_says(error: &io::Error) -> String {
    let words = match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder",
        ErrorKind::PermissionDenied => "permission is denied",
        ErrorKind::NotADirectory => "a file stands where a folder is expected",
        ErrorKind::IsADirectory => "it is a folder, not a file",
        ErrorKind::AlreadyExists => "something stands there already",
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "the disk is full",
        ErrorKind::ReadOnlyFilesystem => "the disk can only be read",
        // The rest is rare, and the number that the operating system has for it tells nobody anything.
        _ => return error.to_string().split(" (os error").next().unwrap_or_default().to_owned(),
    };
    words.to_owned()
}

/// The names of what lies in a folder, and the paths; those that begin with a point are left out. `what` is the
/// folder of.
pub(crate) fn paths_in(dir: &Path, what: &str) -> Result<Vec<(String, PathBuf)>, Says> {
    let entries = fs::read_dir(dir).and_then(Iterator::collect::<io::Result<Vec<_>>>);
    let entries = entries.map_err(|error| match dir.is_file() {
        true => Says::unreadable(&format!("it is a file; {what} is the folder that its files lie in")),
        false => unreadable(dir, &error),
    })?;
    let paths = entries.iter().map(fs::DirEntry::path);
    let named = paths.filter_map(|path| Some((path.file_name()?.to_string_lossy().into_owned(), path)));
    Ok(named.filter(|(name, _)| !name.starts_with('.')).collect())
}

/// [`read`] of a file that lies in no folder of others: where it cannot be read, that is all there is to report.
pub(crate) fn read_alone(path: &Path, limit: usize) -> Result<Vec<u8>, Report> {
    let unread = |says| [Mistake::in_folder(path.display().to_string(), says)].into_iter().collect();
    read(path, limit).map_err(unread)
}

/// A whole file of at most this many bytes. What is no plain file, a pipe say, is not waited for.
pub(crate) fn read(path: &Path, limit: usize) -> Result<Vec<u8>, Says> {
    let metadata = fs::metadata(path).map_err(|error| unreadable(path, &error))?;
    if !metadata.is_file() {
        let why = if metadata.is_dir() { "it is a folder, not a file" } else { "it is no file" };
        return Err(Says::unreadable(why));
    }
    let most = u64::try_from(limit).unwrap_or(u64::MAX);
    if metadata.len() > most {
        return Err(too_large(metadata.len(), limit));
    }
    let mut bytes = Vec::new();
    // It may grow while it is read; one byte more than the limit is enough to be found out later.
    let read =
        fs::File::open(path).and_then(|file| file.take(most.saturating_add(1)).read_to_end(&mut bytes));
    read.map_err(|error| unreadable(path, &error))?;
    Ok(bytes)
}
