//! What SQLite asks of an operating system, answered by a [`Disk`]: the only unsafe code here.
//!
//! SQLite hands over pointers as its documentation of `sqlite3_vfs` and `sqlite3_io_methods` says; each block below
//! relies on one sentence of it and does nothing but turn pointers into references, and back.

#![allow(unsafe_code)]

use std::ffi::{CStr, c_char, c_int, c_void};
use std::ptr;
use std::sync::atomic::{AtomicU64, Ordering, fence};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use rusqlite::ffi;

use crate::disk::{Dead, Disk, Handle, Level};

/// Where an open file stands: SQLite gives the room for it, and looks only at the first field.
#[repr(C)]
struct Slot {
    methods: *const ffi::sqlite3_io_methods,
    handle: *mut Handle,
}

static METHODS: ffi::sqlite3_io_methods = ffi::sqlite3_io_methods {
    iVersion: 2,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(truncate),
    xSync: Some(sync),
    xFileSize: Some(file_size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(check_reserved_lock),
    xFileControl: Some(file_control),
    xSectorSize: Some(sector_size),
    xDeviceCharacteristics: Some(device_characteristics),
    xShmMap: Some(shm_map),
    xShmLock: Some(shm_lock),
    xShmBarrier: Some(shm_barrier),
    xShmUnmap: Some(shm_unmap),
    xFetch: None,
    xUnfetch: None,
};

/// What was last drawn, where SQLite asks for random bytes.
static DRAWN: AtomicU64 = AtomicU64::new(0);

/// The longest path.
const LONGEST: c_int = 512;

/// From now on whatever opens a database in this process opens it on a [`Disk`]. Random bytes follow from the seed.
///
/// # Errors
/// What SQLite says where it does not take it.
pub fn register(seed: u64) -> Result<(), c_int> {
    DRAWN.store(seed, Ordering::Relaxed);
    // For the whole life of the process, as SQLite asks.
    let vfs = Box::leak(Box::new(ffi::sqlite3_vfs {
        iVersion: 2,
        szOsFile: c_int::try_from(size_of::<Slot>()).map_err(|_| ffi::SQLITE_MISUSE)?,
        mxPathname: LONGEST,
        pNext: ptr::null_mut(),
        zName: c"power cut".as_ptr(),
        pAppData: ptr::null_mut(),
        xOpen: Some(open),
        xDelete: Some(delete),
        xAccess: Some(access),
        xFullPathname: Some(full_pathname),
        xDlOpen: None,
        xDlError: None,
        xDlSym: None,
        xDlClose: None,
        xRandomness: Some(randomness),
        xSleep: Some(sleep),
        xCurrentTime: None,
        xGetLastError: None,
        xCurrentTimeInt64: Some(current_time),
        xSetSystemCall: None,
        xGetSystemCall: None,
        xNextSystemCall: None,
    }));
    // SAFETY: the structure is complete, stays for ever, and nobody here touches it again.
    match unsafe { ffi::sqlite3_vfs_register(vfs, 1) } {
        ffi::SQLITE_OK => Ok(()),
        code => Err(code),
    }
}

/// The text of a path that SQLite hands over, which ends with a zero; none where it has none.
fn path<'a>(name: *const c_char) -> Option<&'a str> {
    if name.is_null() {
        return None;
    }
    // SAFETY: a name that is not null ends with a zero, and stays for the call at least.
    unsafe { CStr::from_ptr(name) }.to_str().ok()
}

/// Hands a value back by a pointer of SQLite's.
fn give<T>(to: *mut T, value: T) {
    if !to.is_null() {
        // SAFETY: such a pointer is to room for one value, which SQLite reads after the call.
        unsafe { to.write(value) };
    }
}

/// What is open in a slot.
fn of<'a>(file: *mut ffi::sqlite3_file) -> &'a mut Handle {
    // SAFETY: SQLite calls methods only on what `open` has filled and `close` has not emptied, and for one file only
    // by one thread at a time.
    unsafe { &mut *(*file.cast::<Slot>()).handle }
}

fn done(outcome: Result<(), Dead>, failed: c_int) -> c_int {
    if outcome.is_ok() { ffi::SQLITE_OK } else { failed }
}

unsafe extern "C" fn open(
    _: *mut ffi::sqlite3_vfs,
    name: ffi::sqlite3_filename,
    file: *mut ffi::sqlite3_file,
    flags: c_int,
    said: *mut c_int,
) -> c_int {
    let handle = match path(name) {
        None => Some(Disk::scratch()),
        Some(path) => Disk::find(path).and_then(|(disk, name)| {
            let journals =
                ffi::SQLITE_OPEN_MAIN_JOURNAL | ffi::SQLITE_OPEN_WAL | ffi::SQLITE_OPEN_SUPER_JOURNAL;
            disk.open(name, flags & ffi::SQLITE_OPEN_CREATE != 0, flags & journals != 0)
        }),
    };
    // Without methods SQLite does not close what was not opened.
    let (methods, code) = if handle.is_some() {
        (&raw const METHODS, ffi::SQLITE_OK)
    } else {
        (ptr::null(), ffi::SQLITE_CANTOPEN)
    };
    let handle = handle.map_or(ptr::null_mut(), |handle| Box::into_raw(Box::new(handle)));
    give(file.cast::<Slot>(), Slot { methods, handle });
    give(said, flags);
    code
}

unsafe extern "C" fn close(file: *mut ffi::sqlite3_file) -> c_int {
    // SAFETY: SQLite closes what `open` has filled, once; the handle came out of a box there.
    drop(unsafe { Box::from_raw((*file.cast::<Slot>()).handle) });
    ffi::SQLITE_OK
}

unsafe extern "C" fn read(file: *mut ffi::sqlite3_file, into: *mut c_void, count: c_int, at: i64) -> c_int {
    let (Ok(count), Ok(at)) = (usize::try_from(count), usize::try_from(at)) else {
        return ffi::SQLITE_IOERR_READ;
    };
    // SAFETY: there is room for this many bytes, which nobody else touches meanwhile. They may not be set: so they are.
    let into = unsafe {
        into.cast::<u8>().write_bytes(0, count);
        std::slice::from_raw_parts_mut(into.cast::<u8>(), count)
    };
    match of(file).read(at, into) {
        Ok(read) if read == count => ffi::SQLITE_OK,
        Ok(_) => ffi::SQLITE_IOERR_SHORT_READ,
        Err(Dead) => ffi::SQLITE_IOERR_READ,
    }
}

unsafe extern "C" fn write(
    file: *mut ffi::sqlite3_file,
    from: *const c_void,
    count: c_int,
    at: i64,
) -> c_int {
    let (Ok(count), Ok(at)) = (usize::try_from(count), usize::try_from(at)) else {
        return ffi::SQLITE_IOERR_WRITE;
    };
    // SAFETY: there are this many bytes, and nobody changes them during the call.
    let bytes = unsafe { std::slice::from_raw_parts(from.cast::<u8>(), count) };
    done(of(file).write(at, bytes), ffi::SQLITE_IOERR_WRITE)
}

unsafe extern "C" fn truncate(file: *mut ffi::sqlite3_file, size: i64) -> c_int {
    let size = usize::try_from(size).unwrap_or(0);
    done(of(file).resize(size), ffi::SQLITE_IOERR_TRUNCATE)
}

unsafe extern "C" fn sync(file: *mut ffi::sqlite3_file, _: c_int) -> c_int {
    done(of(file).flush(), ffi::SQLITE_IOERR_FSYNC)
}

unsafe extern "C" fn file_size(file: *mut ffi::sqlite3_file, size: *mut i64) -> c_int {
    let Ok(bytes) = of(file).size() else { return ffi::SQLITE_IOERR_FSTAT };
    give(size, i64::try_from(bytes).unwrap_or(i64::MAX));
    ffi::SQLITE_OK
}

fn level(number: c_int) -> Level {
    match number {
        ffi::SQLITE_LOCK_NONE => Level::None,
        ffi::SQLITE_LOCK_SHARED => Level::Shared,
        ffi::SQLITE_LOCK_RESERVED => Level::Reserved,
        ffi::SQLITE_LOCK_PENDING => Level::Pending,
        _ => Level::Exclusive,
    }
}

unsafe extern "C" fn lock(file: *mut ffi::sqlite3_file, wanted: c_int) -> c_int {
    if of(file).lock(level(wanted)).is_ok() { ffi::SQLITE_OK } else { ffi::SQLITE_BUSY }
}

unsafe extern "C" fn unlock(file: *mut ffi::sqlite3_file, wanted: c_int) -> c_int {
    of(file).unlock(level(wanted));
    ffi::SQLITE_OK
}

unsafe extern "C" fn check_reserved_lock(file: *mut ffi::sqlite3_file, said: *mut c_int) -> c_int {
    give(said, c_int::from(of(file).is_reserved()));
    ffi::SQLITE_OK
}

unsafe extern "C" fn file_control(_: *mut ffi::sqlite3_file, _: c_int, _: *mut c_void) -> c_int {
    ffi::SQLITE_NOTFOUND
}

unsafe extern "C" fn sector_size(_: *mut ffi::sqlite3_file) -> c_int {
    4096
}

/// The same two promises as SQLite's own code for Unix makes.
unsafe extern "C" fn device_characteristics(_: *mut ffi::sqlite3_file) -> c_int {
    ffi::SQLITE_IOCAP_POWERSAFE_OVERWRITE | ffi::SQLITE_IOCAP_SUBPAGE_READ
}

unsafe extern "C" fn shm_map(
    file: *mut ffi::sqlite3_file,
    place: c_int,
    bytes: c_int,
    extend: c_int,
    said: *mut *mut c_void,
) -> c_int {
    let (Ok(place), Ok(bytes)) = (usize::try_from(place), usize::try_from(bytes)) else {
        return ffi::SQLITE_IOERR_SHMMAP;
    };
    // Atomic words may be written through a pointer, and the handle keeps them for as long as SQLite may use it.
    let region = of(file).region(place, bytes, extend != 0);
    give(said, region.map_or(ptr::null_mut(), <*mut u64>::cast));
    ffi::SQLITE_OK
}

unsafe extern "C" fn shm_lock(
    file: *mut ffi::sqlite3_file,
    from: c_int,
    count: c_int,
    flags: c_int,
) -> c_int {
    let (Ok(from), Ok(count)) = (usize::try_from(from), usize::try_from(count)) else {
        return ffi::SQLITE_IOERR_SHMLOCK;
    };
    if flags & ffi::SQLITE_SHM_UNLOCK != 0 {
        of(file).unlock_shared(from, count);
        return ffi::SQLITE_OK;
    }
    let alone = flags & ffi::SQLITE_SHM_EXCLUSIVE != 0;
    if of(file).lock_shared(from, count, alone).is_ok() { ffi::SQLITE_OK } else { ffi::SQLITE_BUSY }
}

unsafe extern "C" fn shm_barrier(_: *mut ffi::sqlite3_file) {
    fence(Ordering::SeqCst);
}

unsafe extern "C" fn shm_unmap(file: *mut ffi::sqlite3_file, _: c_int) -> c_int {
    of(file).leave();
    ffi::SQLITE_OK
}

unsafe extern "C" fn delete(_: *mut ffi::sqlite3_vfs, name: *const c_char, flush: c_int) -> c_int {
    match path(name).and_then(Disk::find).map(|(disk, name)| disk.remove(name, flush != 0)) {
        Some(Ok(true)) => ffi::SQLITE_OK,
        Some(Err(Dead)) => ffi::SQLITE_IOERR_DELETE,
        Some(Ok(false)) | None => ffi::SQLITE_IOERR_DELETE_NOENT,
    }
}

/// An empty file is as none, where it is asked whether one exists: so it is on Unix.
unsafe extern "C" fn access(
    _: *mut ffi::sqlite3_vfs,
    name: *const c_char,
    flags: c_int,
    said: *mut c_int,
) -> c_int {
    let size = path(name).and_then(Disk::find).and_then(|(disk, name)| disk.size(name));
    let is_there = size.is_some_and(|size| flags != ffi::SQLITE_ACCESS_EXISTS || size > 0);
    give(said, c_int::from(is_there));
    ffi::SQLITE_OK
}

unsafe extern "C" fn full_pathname(
    _: *mut ffi::sqlite3_vfs,
    name: *const c_char,
    room: c_int,
    said: *mut c_char,
) -> c_int {
    let Some(path) = path(name).filter(|path| usize::try_from(room).is_ok_and(|room| path.len() < room))
    else {
        return ffi::SQLITE_CANTOPEN;
    };
    // SAFETY: the room is enough for the text and its zero, and does not lie within the text.
    unsafe { ptr::copy_nonoverlapping(name, said, path.len().saturating_add(1)) };
    ffi::SQLITE_OK
}

unsafe extern "C" fn randomness(_: *mut ffi::sqlite3_vfs, count: c_int, into: *mut c_char) -> c_int {
    for place in 0..usize::try_from(count).unwrap_or(0) {
        // SplitMix64.
        let drawn = DRAWN.fetch_add(0x9e37_79b9_7f4a_7c15, Ordering::Relaxed);
        let mixed = (drawn ^ drawn >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        let [byte, ..] = (mixed ^ mixed >> 31).to_ne_bytes();
        // SAFETY: there is room for this many bytes.
        unsafe { into.add(place).cast::<u8>().write(byte) };
    }
    count
}

unsafe extern "C" fn sleep(_: *mut ffi::sqlite3_vfs, micros: c_int) -> c_int {
    std::thread::sleep(Duration::from_micros(u64::try_from(micros).unwrap_or(0)));
    micros
}

/// Milliseconds since noon of 24 November 4714 BC, as SQLite counts days.
unsafe extern "C" fn current_time(_: *mut ffi::sqlite3_vfs, said: *mut i64) -> c_int {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    give(said, i64::try_from(since.as_millis()).unwrap_or(0).saturating_add(210_866_760_000_000));
    ffi::SQLITE_OK
}
