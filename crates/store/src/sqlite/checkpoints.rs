//! Taking what is committed over from the log into the file, beside the writer.
//!
//! SQLite would do this inside the commit that fills the log, and whoever waits for that commit would wait
//! for two more flushes of the disk. Here a thread of its own does it. Under a load without a pause it never
//! catches up with the end of the log, which could then not begin anew: so when the log has grown too
//! long the writer, between two batches, takes over the little that is left.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::JoinHandle;

use rusqlite::Connection;

use super::connection;

/// After about this many bytes the thread is woken,
const WAKE_AFTER: usize = 4 << 20;
/// and when the log has this many pages (of 4 KiB) the writer helps.
const LONG: i64 = 4_096;

pub(super) struct Checkpoints {
    wake: Option<SyncSender<()>>,
    thread: Option<JoinHandle<()>>,
    long: Arc<AtomicBool>,
    bytes: usize,
}

impl Checkpoints {
    pub(super) fn start(path: PathBuf) -> std::io::Result<Self> {
        let (wake, woken) = sync_channel(1);
        let long = Arc::new(AtomicBool::new(false));
        let thread = {
            let long = Arc::clone(&long);
            std::thread::Builder::new()
                .name("store checkpoints".to_owned())
                .spawn(move || run(&path, &woken, &long))?
        };
        Ok(Self { wake: Some(wake), thread: Some(thread), long, bytes: 0 })
    }

    /// This many bytes were committed, and answered.
    pub(super) fn committed(&mut self, bytes: usize, writer: &Connection) {
        self.bytes = self.bytes.saturating_add(bytes);
        if self.long.swap(false, Ordering::Relaxed) {
            let _ = pages_in_log(writer);
        } else if self.bytes >= WAKE_AFTER {
            self.bytes = 0;
            // One that is at work already is not woken twice.
            let _ = self.wake.as_ref().map(|wake| wake.try_send(()));
        }
    }
}

impl Drop for Checkpoints {
    fn drop(&mut self) {
        self.wake = None;
        let _ = self.thread.take().map(JoinHandle::join);
    }
}

fn run(path: &std::path::Path, woken: &Receiver<()>, long: &AtomicBool) {
    let mut open: Option<Connection> = None;
    while woken.recv().is_ok() {
        if open.is_none() {
            open = connection::to_write(path).ok();
        }
        match open.as_ref().and_then(pages_in_log) {
            Some(pages) => long.store(pages >= LONG, Ordering::Relaxed),
            // It failed: nothing is lost, the log only stays longer. Next time with a new connection.
            None => open = None,
        }
    }
}

/// Takes over what no reader is in the way of; the length of the log.
fn pages_in_log(connection: &Connection) -> Option<i64> {
    connection.query_row("PRAGMA wal_checkpoint(PASSIVE)", (), |row| row.get(1)).ok()
}
