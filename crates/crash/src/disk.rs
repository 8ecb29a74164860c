//! A disk in memory on which SQLite runs: it keeps files, locks and shared memory as an operating system does, and
//! writes down whatever is done to it.

use std::collections::{BTreeMap, HashMap};
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock, Mutex, MutexGuard, PoisonError};

use crate::op::{File, Medium, Op, put};

/// Where disks are found by SQLite. There is no such folder: nothing else is.
const ROOT: &str = "/evenfare-power-cut/";
/// Locks of the shared memory that a log is found through.
const SHARED_LOCKS: usize = 8;

static DISKS: LazyLock<Mutex<HashMap<usize, Disk>>> = LazyLock::new(Mutex::default);
static NEXT: AtomicUsize = AtomicUsize::new(0);

/// One folder on a disk. Clones are the same one.
#[derive(Clone)]
pub struct Disk(Arc<Mutex<State>>);

/// A disk under a path, for as long as this is kept.
pub struct Mounted {
    id: usize,
    disk: Disk,
}

/// Somebody else holds the lock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Busy;

/// The process that had the file open was killed: it does nothing any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dead;

/// How a file is locked, by one of those who have it open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Not at all.
    None,
    /// It is read.
    Shared,
    /// It is going to be written.
    Reserved,
    /// It waits until nobody reads.
    Pending,
    /// Nobody else reads or writes.
    Exclusive,
}

/// A file that somebody has open.
pub struct Handle {
    disk: Disk,
    file: File,
    level: Level,
    /// The first flush takes the names with it, as SQLite's own code for Unix does for journals and logs.
    flushes_folder: bool,
    shared: Vec<bool>,
    exclusive: Vec<bool>,
    /// Shared memory that this one has seen; it stays there for as long.
    regions: Vec<Arc<[AtomicU64]>>,
    joined: bool,
}

#[derive(Default)]
struct State {
    names: BTreeMap<Arc<str>, File>,
    files: BTreeMap<File, Vec<u8>>,
    next: File,
    /// What was done; none where it is not written down.
    ops: Option<Vec<Op>>,
    dead: bool,
    readers: usize,
    /// The highest lock beyond that of readers.
    writer: Option<Level>,
    /// How many share each lock; one alone where it is none.
    shared: [Option<usize>; SHARED_LOCKS],
    regions: Vec<Arc<[AtomicU64]>>,
    joined: usize,
}

impl Disk {
    /// A disk to which this was done. What is done to it from now on is added, where it is `recording`.
    pub fn after(ops: Vec<Op>, recording: bool) -> Self {
        let mut medium = Medium::default();
        ops.iter().for_each(|op| medium.take(op));
        let (names, files) = medium.seen();
        let next = files.keys().chain(names.values()).max().map_or(0, |last| last.saturating_add(1));
        let shared = [Some(0); SHARED_LOCKS];
        let ops = recording.then_some(ops);
        Self(Arc::new(Mutex::new(State { names, files, next, ops, shared, ..State::default() })))
    }

    /// Under a path of its own.
    pub fn mount(self) -> Mounted {
        let id = NEXT.fetch_add(1, Ordering::Relaxed);
        lock(&DISKS).insert(id, self.clone());
        Mounted { id, disk: self }
    }

    /// Somebody was told that everything up to that event is kept.
    pub fn answered(&self, sequence: u64) {
        self.state().note(Op::Answered { sequence });
    }

    /// Looks at what was done to it so far.
    pub fn look<T>(&self, at: impl FnOnce(&[Op]) -> T) -> T {
        at(self.state().ops.as_deref().unwrap_or_default())
    }

    /// Whoever runs on it does nothing more; what was done to it.
    pub fn killed(&self) -> Vec<Op> {
        let mut state = self.state();
        state.dead = true;
        state.ops.take().unwrap_or_default()
    }

    /// The disk of a path, and the name there.
    pub fn find(path: &str) -> Option<(Self, &str)> {
        let (id, name) = path.strip_prefix(ROOT)?.split_once('/')?;
        let disk = lock(&DISKS).get(&id.parse().ok()?).cloned()?;
        Some((disk, name))
    }

    /// Opens a file, makes it where there is none and it is asked to.
    pub fn open(&self, name: &str, create: bool, is_journal: bool) -> Option<Handle> {
        let mut state = self.living().ok()?;
        let file = match state.names.get(name) {
            Some(file) => *file,
            None if create => state.create(Some(name)),
            None => return None,
        };
        drop(state);
        Some(self.handle(file, create && is_journal))
    }

    /// A file without a name, on no disk.
    pub fn scratch() -> Handle {
        let disk = Self::after(Vec::new(), false);
        let file = disk.state().create(None);
        disk.handle(file, false)
    }

    /// Takes a name away; whether there was one.
    pub fn remove(&self, name: &str, flush: bool) -> Result<bool, Dead> {
        let mut state = self.living()?;
        let Some((name, _)) = state.names.remove_entry(name) else { return Ok(false) };
        state.note(Op::Removed { name });
        if flush {
            state.note(Op::FolderFlushed);
        }
        Ok(true)
    }

    /// How long the file of a name is; none where there is none.
    pub fn size(&self, name: &str) -> Option<usize> {
        let state = self.state();
        let file = state.names.get(name)?;
        Some(state.files.get(file).map_or(0, Vec::len))
    }

    fn handle(&self, file: File, flushes_folder: bool) -> Handle {
        let [shared, exclusive] = [vec![false; SHARED_LOCKS], vec![false; SHARED_LOCKS]];
        let (disk, level) = (self.clone(), Level::None);
        Handle { disk, file, level, flushes_folder, shared, exclusive, regions: Vec::new(), joined: false }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        lock(&self.0)
    }

    fn living(&self) -> Result<MutexGuard<'_, State>, Dead> {
        let state = self.state();
        if state.dead { Err(Dead) } else { Ok(state) }
    }
}

impl Mounted {
    /// The path of a store on it.
    pub fn path(&self) -> String {
        format!("{ROOT}{}/store.db", self.id)
    }

    /// The disk.
    pub fn disk(&self) -> &Disk {
        &self.disk
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        lock(&DISKS).remove(&self.id);
    }
}

impl State {
    fn note(&mut self, op: Op) {
        if let Some(ops) = &mut self.ops {
            ops.push(op);
        }
    }

    fn create(&mut self, name: Option<&str>) -> File {
        let file = self.next;
        self.next = file.saturating_add(1);
        self.files.insert(file, Vec::new());
        if let Some(name) = name {
            let name: Arc<str> = name.into();
            self.names.insert(Arc::clone(&name), file);
            self.note(Op::Created { name, file });
        }
        file
    }
}

impl Handle {
    /// Reads as much as there is; how much that was.
    pub fn read(&self, at: usize, into: &mut [u8]) -> Result<usize, Dead> {
        let state = self.disk.living()?;
        let there = state.files.get(&self.file).and_then(|content| content.get(at..)).unwrap_or_default();
        let count = there.len().min(into.len());
        if let (Some(to), Some(from)) = (into.get_mut(..count), there.get(..count)) {
            to.copy_from_slice(from);
        }
        Ok(count)
    }

    /// Writes.
    pub fn write(&self, at: usize, bytes: &[u8]) -> Result<(), Dead> {
        let mut state = self.disk.living()?;
        put(state.files.entry(self.file).or_default(), at, bytes);
        if state.ops.is_some() {
            state.note(Op::Wrote { file: self.file, at, bytes: bytes.into() });
        }
        Ok(())
    }

    /// Cuts it off there, or makes it as long by zeros.
    pub fn resize(&self, size: usize) -> Result<(), Dead> {
        let mut state = self.disk.living()?;
        state.files.entry(self.file).or_default().resize(size, 0);
        state.note(Op::Resized { file: self.file, size });
        Ok(())
    }

    /// Waits until all that was written into it is on the disk.
    pub fn flush(&mut self) -> Result<(), Dead> {
        let mut state = self.disk.living()?;
        state.note(Op::Flushed { file: self.file });
        if std::mem::take(&mut self.flushes_folder) {
            state.note(Op::FolderFlushed);
        }
        Ok(())
    }

    /// How long it is.
    pub fn size(&self) -> Result<usize, Dead> {
        Ok(self.disk.living()?.files.get(&self.file).map_or(0, Vec::len))
    }

    /// Takes a lock of that level at least.
    pub fn lock(&mut self, wanted: Level) -> Result<(), Busy> {
        if self.level >= wanted {
            return Ok(());
        }
        let mut state = self.disk.state();
        let other_writer = state.writer.filter(|_| self.level < Level::Reserved);
        if wanted == Level::Shared {
            if other_writer >= Some(Level::Pending) {
                return Err(Busy);
            }
            state.readers = state.readers.saturating_add(1);
            self.level = Level::Shared;
            return Ok(());
        }
        if other_writer.is_some() {
            return Err(Busy);
        }
        if wanted == Level::Exclusive && state.readers > 1 {
            // From now on nobody begins to read, and those who do come to an end.
            if self.level >= Level::Reserved {
                (state.writer, self.level) = (Some(Level::Pending), Level::Pending);
            }
            return Err(Busy);
        }
        (state.writer, self.level) = (Some(wanted), wanted);
        Ok(())
    }

    /// Gives up what is above that level.
    pub fn unlock(&mut self, wanted: Level) {
        let mut state = self.disk.state();
        if self.level > Level::Shared && wanted <= Level::Shared {
            state.writer = None;
        }
        if self.level > Level::None && wanted == Level::None {
            state.readers = state.readers.saturating_sub(1);
        }
        self.level = self.level.min(wanted);
    }

    /// Is anybody going to write?
    pub fn is_reserved(&self) -> bool {
        self.disk.state().writer.is_some()
    }

    /// A piece of the memory that all who have the file open share; none where there is none and none is asked for.
    pub fn region(&mut self, place: usize, bytes: usize, extend: bool) -> Option<*mut u64> {
        let mut state = self.disk.state();
        if !std::mem::replace(&mut self.joined, true) {
            state.joined = state.joined.saturating_add(1);
        }
        while state.regions.len() <= place {
            if !extend {
                return None;
            }
            state.regions.push((0..bytes.div_ceil(8)).map(|_| AtomicU64::new(0)).collect());
        }
        self.regions.clone_from(&state.regions);
        self.regions.get(place)?.first().map(AtomicU64::as_ptr)
    }

    /// Takes locks of the shared memory, all or none.
    pub fn lock_shared(&mut self, from: usize, count: usize, alone: bool) -> Result<(), Busy> {
        let mut state = self.disk.state();
        let to = from.saturating_add(count);
        for place in from..to {
            let free = match state.shared.get(place) {
                Some(Some(others)) => !alone || *others == 0,
                _ => false,
            };
            if !free && !self.holds(place, alone) {
                return Err(Busy);
            }
        }
        for place in (from..to).filter(|place| !self.holds(*place, alone)).collect::<Vec<_>>() {
            if let Some(lock) = state.shared.get_mut(place) {
                *lock = if alone { None } else { lock.map(|others| others.saturating_add(1)) };
            }
            mark(if alone { &mut self.exclusive } else { &mut self.shared }, place, true);
        }
        Ok(())
    }

    /// Gives them back.
    pub fn unlock_shared(&mut self, from: usize, count: usize) {
        let mut state = self.disk.state();
        for place in from..from.saturating_add(count) {
            let Some(lock) = state.shared.get_mut(place) else { continue };
            if mark(&mut self.exclusive, place, false) {
                *lock = Some(0);
            }
            if mark(&mut self.shared, place, false) {
                *lock = lock.map(|others| others.saturating_sub(1));
            }
        }
    }

    /// Has no more to do with the shared memory; it goes with the last one.
    pub fn leave(&mut self) {
        self.unlock_shared(0, SHARED_LOCKS);
        let mut state = self.disk.state();
        if std::mem::take(&mut self.joined) {
            state.joined = state.joined.saturating_sub(1);
        }
        if state.joined == 0 {
            state.regions.clear();
        }
        self.regions.clear();
    }

    fn holds(&self, place: usize, alone: bool) -> bool {
        let held = if alone { &self.exclusive } else { &self.shared };
        held.get(place).copied().unwrap_or(false)
    }
}

impl Drop for Handle {
    fn drop(&mut self) {
        self.leave();
        self.unlock(Level::None);
    }
}

/// Sets it; what it was.
fn mark(held: &mut [bool], place: usize, to: bool) -> bool {
    held.get_mut(place).is_some_and(|held| std::mem::replace(held, to))
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
