//! Files made for harm, for every reader: reading one ends, takes a bounded amount of memory, and says what is
//! wrong.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

#[path = "../workshop/mod.rs"]
mod workshop;

mod jobs;
mod tariffs;
mod month_end;
mod sheets;

use std::sync::{Mutex, PoisonError};

use evenfare_files::Report;
use peak_alloc::PeakAlloc;

#[global_allocator]
static COUNTED: PeakAlloc = PeakAlloc;

/// One after the other, as the memory of all is counted together.
static ONE: Mutex<()> = Mutex::new(());

const MIB: usize = 1 << 20;

/// Reads with at most this many MiB of memory; the mistakes, one a line, none where it is read.
fn within<T>(mib: usize, what: &str, read: impl FnOnce() -> Result<T, Report>) -> String {
    let before = COUNTED.current_usage();
    COUNTED.reset_peak_usage();
    let told = read().err().map(|report| report.to_string()).unwrap_or_default();
    let taken = COUNTED.peak_usage().saturating_sub(before).div_ceil(MIB);
    assert!(taken <= mib, "{what} has taken {taken} MiB, more than {mib}");
    if std::env::var_os("EVENFARE_TAKEN").is_some() {
        eprintln!("{what}: {taken} MiB of {mib}");
    }
    // A thousand mistakes may be told, none of them at length.
    let longest = told.lines().map(|line| line.chars().count()).max().unwrap_or_default();
    assert!(longest < 2_000, "{what} is told in {longest} characters");
    told
}

/// Held while a test counts.
fn alone() -> std::sync::MutexGuard<'static, ()> {
    ONE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Has it been refused for that?
fn refused(told: &str, code: &str) {
    assert!(
        told.contains(&format!("error[{code}]")),
        "no {code} in {}",
        told.lines().next().unwrap_or("nothing")
    );
}
