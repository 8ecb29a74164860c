//! What there is to begin with: the demo world, and the small edition of the readers' tests.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use evenfare_engine::job::Job;
use evenfare_files::{Tariffs, parse_job, read_job, read_tariff};

#[path = "../../files/tests/workshop/mod.rs"]
mod workshop;

pub use workshop::{EDITION, LETTERHEAD, LOGO, TEXTS};

/// The folder of the demo world.
pub fn bakery() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery")
}

fn sorted(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).expect("the demo world").map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    paths
}

/// Its editions.
pub static TARIFFS: LazyLock<Tariffs> =
    LazyLock::new(|| read_tariff(&bakery().join("tariff")).expect("the demo world has no mistakes"));

/// Its jobs.
pub static JOBS: LazyLock<Vec<Job>> = LazyLock::new(|| {
    let read = |path: PathBuf| read_job(&path).expect("the demo world has no mistakes").0;
    sorted(&bakery().join("jobs")).into_iter().map(read).collect()
});

/// The job of the small edition.
pub static SMALL_JOB: LazyLock<Job> =
    LazyLock::new(|| parse_job("job.toml", workshop::JOB).expect("a sound job").0);

/// The job files as people wrote them.
pub fn job_files() -> Vec<Vec<u8>> {
    sorted(&bakery().join("jobs")).iter().map(|path| fs::read(path).expect("a job file")).collect()
}

/// The files of the small edition, by name.
pub fn small_edition() -> impl Iterator<Item = (&'static str, &'static [u8])> {
    let more = [("letterhead.toml", LETTERHEAD), ("mark.svg", LOGO), ("texts.csv", TEXTS)];
    EDITION.iter().copied().chain(more).map(|(name, text)| (name, text.as_bytes()))
}
