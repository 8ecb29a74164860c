//! What is tried beside the server, ten times a second, to tell what is not its fault: others may use the same machine,
//! and its host may slow it down.

use std::fs::File;
use std::hint::black_box;
use std::os::unix::fs::FileExt;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use evenfare_files::{read_job_for, read_tariff};

use super::seen::Seen;

/// Written and flushed each time, over and over in one place: the least that anybody can ask of a disk.
const BLOCK: [u8; 4096] = [0x5a; 4096];
/// What a server does, a quarter of a millisecond of it: prices,
const PRICES: usize = 25;
/// and steps through memory, each waiting for the one before it.
const STEPS: usize = 1_000;
/// More than fits beside its processor.
const CELLS: usize = 32 << 20;
/// So seldom that the server does not notice.
const EVERY: Duration = Duration::from_millis(100);

/// Something small that is done again and again.
pub struct Beside {
    took: Arc<Mutex<Vec<Duration>>>,
    ended: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Beside {
    /// One block, flushed to a file beside the store.
    pub fn disk(dir: &Path) -> Self {
        let file = File::create(dir.join("disk")).unwrap();
        Self::of(move || {
            file.write_all_at(&BLOCK, 0).unwrap();
            file.sync_data().unwrap();
        })
    }

    /// The job, priced in this process, and memory read from one end to another.
    pub fn processor(job: &Path, tariff: &Path) -> Self {
        let tariffs = read_tariff(tariff).unwrap();
        let (job, _) = read_job_for(job, &tariffs).unwrap();
        // Written, or all of it were the one empty page of the system.
        let cells = vec![1_u8; CELLS];
        let at = AtomicUsize::new(0);
        Self::of(move || {
            let edition = tariffs.edition_for(&job).unwrap();
            for _ in 0..PRICES {
                black_box(evenfare_engine::figures(black_box(&job), edition).unwrap());
            }
            // Comes to every cell, in an order that no processor foresees.
            let step = |cell: usize| (cell.wrapping_mul(0x5DEE_CE65) + usize::from(cells[cell])) % CELLS;
            at.store((0..STEPS).fold(at.load(Ordering::Relaxed), |cell, _| step(cell)), Ordering::Relaxed);
        })
    }

    fn of(work: impl Fn() + Send + 'static) -> Self {
        let (took, ended) = (Arc::<Mutex<Vec<_>>>::default(), Arc::new(AtomicBool::new(false)));
        let thread = std::thread::spawn({
            let (took, ended) = (Arc::clone(&took), Arc::clone(&ended));
            move || {
                while !ended.load(Ordering::Relaxed) {
                    let begin = Instant::now();
                    work();
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

impl Drop for Beside {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            thread.join().unwrap();
        }
    }
}
