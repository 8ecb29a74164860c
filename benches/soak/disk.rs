//! The disk, tried beside the server ten times a second: what flushing takes there is not the server's fault.

use std::fs::File;
use std::os::unix::fs::FileExt;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::seen::Seen;

/// Written and flushed each time, over and over in one place: the least that anybody can ask of a disk.
const BLOCK: [u8; 4096] = [0x5a; 4096];
/// So seldom that the server does not notice.
const EVERY: Duration = Duration::from_millis(100);

/// A file beside the store, to which somebody else writes.
pub struct Disk {
    took: Arc<Mutex<Vec<Duration>>>,
    ended: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Disk {
    pub fn of(dir: &Path) -> Self {
        let file = File::create(dir.join("disk")).unwrap();
        let (took, ended) = (Arc::<Mutex<Vec<_>>>::default(), Arc::new(AtomicBool::new(false)));
        let thread = std::thread::spawn({
            let (took, ended) = (Arc::clone(&took), Arc::clone(&ended));
            move || {
                while !ended.load(Ordering::Relaxed) {
                    let begin = Instant::now();
                    file.write_all_at(&BLOCK, 0).unwrap();
                    file.sync_data().unwrap();
                    took.lock().unwrap().push(begin.elapsed());
                    std::thread::sleep(EVERY);
                }
            }
        });
        Self { took, ended, thread: Some(thread) }
    }

    /// What it took since it was asked last.
    pub fn seen(&self) -> Seen {
        Seen::of(&self.took)
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            thread.join().unwrap();
        }
    }
}
