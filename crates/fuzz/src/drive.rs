//! One target, case after case.

use std::path::Path;
use std::sync::OnceLock;

use crate::memory::bounded;

/// One reader, or several of a kind.
pub struct Target {
    /// Its name; that of its folder in `corpus/`.
    pub name: &'static str,
    /// What it begins with.
    pub seeds: fn() -> Vec<Vec<u8>>,
    /// One case.
    pub run: fn(&[u8]),
    /// Does a reader take part that is not ours, whose panics are caught?
    pub reads_by_others: bool,
}

static TARGET: OnceLock<&Target> = OnceLock::new();

/// The target that is named; with `EVENFARE_SEEDS`, only writes what it begins with to that folder.
pub fn begin(targets: &'static [Target]) {
    let name = std::env::var("EVENFARE_TARGET").unwrap_or_default();
    let Some(target) = targets.iter().find(|target| target.name == name) else {
        let names: Vec<&str> = targets.iter().map(|target| target.name).collect();
        eprintln!("EVENFARE_TARGET is to be one of {}", names.join(", "));
        std::process::exit(64);
    };
    if let Some(folder) = std::env::var_os("EVENFARE_SEEDS") {
        for (number, seed) in (target.seeds)().iter().enumerate() {
            std::fs::write(Path::new(&folder).join(format!("seed-{number}")), seed)
                .expect("a seed is written");
        }
        std::process::exit(0);
    }
    if target.reads_by_others {
        let_others_panic();
    }
    TARGET.get_or_init(|| target);
}

/// What a reader that is not ours panics of is caught where it is called; a panic that is not caught ends the
/// run all the same.
fn let_others_panic() {
    let ends_the_run = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        let is_others = |file: &str| file.contains("/registry/") || file.starts_with("/rustc/");
        if !panic.location().is_some_and(|at| is_others(at.file())) {
            ends_the_run(panic);
        }
    }));
}

/// One case.
pub fn run(bytes: &[u8]) {
    let target = TARGET.get().expect("begin() comes first");
    bounded(bytes.len(), || (target.run)(bytes));
}
