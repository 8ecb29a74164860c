//! Copies of a store: taken while it is written to, checked, and put back.

use std::ffi::OsString;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use rusqlite::backup::Backup;

use super::tables::unavailable;
use super::{Sqlite, connection};
use crate::audit::{AuditError, Audited, audit};
use crate::refused::StoreError;
use crate::store::Store as _;

/// Why there is no copy.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BackupError {
    /// Something stands where the copy was to be, or where a store was to be put back.
    #[error("{0} is there already; nothing was written. Name another file")]
    Exists(String),
    /// A store that is in use, perhaps the very one that was to be copied, stands where the copy was to be.
    #[error("{0} is a store in use, and no place for a copy")]
    InUse(String),
    /// What was to be copied is no store, or none that this program knows.
    #[error("{0}")]
    Source(StoreError),
    /// The file is damaged.
    #[error("the file is damaged: {0}")]
    Damaged(String),
    /// The file is sound, what it holds is not what was written down.
    #[error("the copy does not hold: {0}")]
    Audit(#[from] AuditError),
    /// It cannot be read or written.
    #[error("{0}")]
    Io(String),
}

impl Sqlite {
    /// Copies a store as it stands at one moment, while others write on, and checks the copy. It stands at
    /// `to` only when it holds. Where something stands already, such as an older copy, nothing is done: it may
    /// be the last one that is whole. A copy of a store by an earlier program is brought up to date; the store itself is
    /// left as it is, for that program may be using it.
    ///
    /// # Errors
    /// [`BackupError`] says why there is no copy.
    pub async fn backup(from: impl AsRef<Path>, to: impl AsRef<Path>) -> Result<Audited, BackupError> {
        let (from, to) = (from.as_ref().to_owned(), to.as_ref().to_owned());
        if is_same(&from, &to) || ["-wal", "-shm"].iter().any(|ending| with_ending(&to, ending).exists()) {
            return Err(BackupError::InUse(to.display().to_string()));
        }
        let source = from.clone();
        apart(move || holds_a_store(&source).map_err(BackupError::Source)).await?;
        copied(from, &to).await
    }

    /// Puts a copy back as a store of its own: checks the copy, copies it, and checks that before it stands
    /// at `to`. Where something stands already, nothing is done. A copy by an earlier program is brought up to
    /// date on the way; the file it comes from is left as it is.
    ///
    /// # Errors
    /// [`BackupError`] says why it was not put back.
    pub async fn restore(from: impl AsRef<Path>, to: impl AsRef<Path>) -> Result<Audited, BackupError> {
        let (from, to) = (from.as_ref().to_owned(), to.as_ref().to_owned());
        free(&to)?;
        let source = from.clone();
        apart(move || {
            let source = connection::to_read(&source).map_err(AuditError::from)?;
            sound(&source)?;
            // An empty file is a sound database too.
            match connection::version(&source).map_err(AuditError::from)? {
                0 => Err(BackupError::Damaged("it holds no store".to_owned())),
                _ => Ok(()),
            }
        })
        .await?;
        copied(from, &to).await
    }
}

fn holds_a_store(path: &Path) -> Result<(), StoreError> {
    match connection::known(&connection::to_read(path)?)? {
        0 => Err(StoreError::Corrupt("the file holds no store".to_owned())),
        _ => Ok(()),
    }
}

/// Copies a file beside its place, checks that, and gives it its name.
async fn copied(from: PathBuf, to: &Path) -> Result<Audited, BackupError> {
    // A log or a journal that was left behind would be taken for that of the copy.
    for ending in ["", "-wal", "-journal"] {
        free(&with_ending(to, ending))?;
    }
    let beside = Beside::new(to);
    let copy_at = beside.path().to_owned();
    apart(move || copy(&from, &copy_at)).await?;
    let audited = check(beside.path()).await?;
    name(beside.path(), to)?;
    Ok(audited)
}

/// Nothing may stand there, not even a link that leads nowhere.
fn free(path: &Path) -> Result<(), BackupError> {
    let there = path.symlink_metadata().is_ok();
    if there { Err(BackupError::Exists(path.display().to_string())) } else { Ok(()) }
}

/// Gives the copy its name. Other than renaming, this fails where something has come to stand there meanwhile.
fn name(copy: &Path, to: &Path) -> Result<(), BackupError> {
    let linked = match fs::hard_link(copy, to) {
        // The file systems of sticks have no links: there the name is taken before the copy gets it.
        Err(error) if [ErrorKind::PermissionDenied, ErrorKind::Unsupported].contains(&error.kind()) => {
            fs::File::create_new(to).and_then(|_| fs::rename(copy, to).inspect_err(|_| remove(to)))
        }
        linked => linked,
    };
    linked.and_then(|()| flush_folder(to)).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => BackupError::Exists(to.display().to_string()),
        _ => io(&error),
    })
}

/// A file beside its later place; gone with this.
struct Beside(PathBuf);

impl Beside {
    fn new(to: &Path) -> Self {
        let path = with_ending(to, &format!(".{}.partial", std::process::id()));
        remove(&path);
        Self(path)
    }

    fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        remove(&self.0);
    }
}

/// Is it one file, by whatever names?
fn is_same(one: &Path, other: &Path) -> bool {
    let real = |path: &Path| fs::canonicalize(path).ok();
    real(one).is_some_and(|one| real(other) == Some(one)) || is_linked(one, other)
}

#[cfg(unix)]
fn is_linked(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let id = |path: &Path| fs::metadata(path).ok().map(|file| (file.dev(), file.ino()));
    id(one).is_some_and(|one| id(other) == Some(one))
}

#[cfg(not(unix))]
fn is_linked(_: &Path, _: &Path) -> bool {
    false
}

fn remove(path: &Path) {
    for ending in ["", "-wal", "-shm", "-journal"] {
        let _ = fs::remove_file(with_ending(path, ending));
    }
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(ending);
    name.into()
}

/// A name is on disk when its folder is.
fn flush_folder(path: &Path) -> std::io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    fs::File::open(folder.unwrap_or(Path::new(".")))?.sync_all()
}

fn io(error: &std::io::Error) -> BackupError {
    BackupError::Io(error.to_string())
}

fn of_sqlite(error: &rusqlite::Error) -> BackupError {
    match unavailable(error) {
        StoreError::Corrupt(text) => BackupError::Damaged(text),
        error => BackupError::Io(error.to_string()),
    }
}

async fn apart(work: impl FnOnce() -> Result<(), BackupError> + Send + 'static) -> Result<(), BackupError> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|error| Err(BackupError::Io(error.to_string())))
}

/// All pages in one step: the reader's snapshot is one moment, and writers do not wait for it.
fn copy(from: &Path, to: &Path) -> Result<(), BackupError> {
    let source = connection::to_read(from).map_err(|error| BackupError::Io(error.to_string()))?;
    connection::private(to);
    let mut target = Connection::open(to).map_err(|error| of_sqlite(&error))?;
    let backup = Backup::new(&source, &mut target).map_err(|error| of_sqlite(&error))?;
    match backup.step(-1).map_err(|error| of_sqlite(&error))? {
        rusqlite::backup::StepResult::Done => Ok(()),
        other => Err(BackupError::Io(format!("the copy did not come to its end: {other:?}"))),
    }
}

/// Is the file sound, page by page and index by index?
fn sound(connection: &Connection) -> Result<(), BackupError> {
    let said: String = connection
        .query_row("PRAGMA integrity_check", (), |row| row.get(0))
        .map_err(|error| of_sqlite(&error))?;
    if said == "ok" { Ok(()) } else { Err(BackupError::Damaged(said)) }
}

/// Opens a copy as a store, reads everything, and leaves a single file.
async fn check(path: &Path) -> Result<Audited, BackupError> {
    let store = Sqlite::open(path).map_err(AuditError::from)?;
    let audited = audit(&store, None, |_| Ok(())).await;
    store.close().await;
    let audited = audited?;
    let path = path.to_owned();
    apart(move || {
        let connection = connection::to_write(&path).map_err(AuditError::from)?;
        sound(&connection)?;
        // Without the log: whoever carries the copy away carries one file.
        connection.pragma_update(None, "journal_mode", "DELETE").map_err(|error| of_sqlite(&error))?;
        connection.close().map_err(|(_, error)| of_sqlite(&error))?;
        fs::File::open(&path).and_then(|file| file.sync_all()).map_err(|error| io(&error))
    })
    .await?;
    Ok(audited)
}
