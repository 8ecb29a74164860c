//! Copies of the demo world, to be spoilt.

use std::fs;
use std::path::{Path, PathBuf};

use crate::transcript::bakery;

/// An empty folder of that name, for one test alone.
pub fn empty(name: &str) -> PathBuf {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("commands").join(name);
    let _ = fs::remove_dir_all(&dir);
    fs::create_dir_all(&dir).unwrap();
    dir
}

/// A copy of the demo world.
pub fn copy(name: &str) -> PathBuf {
    let dir = empty(name);
    copy_into(&bakery(), &dir);
    dir
}

/// Copies all files below one folder into another.
pub fn copy_into(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy_into(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// Replaces one text in a file by another.
pub fn spoil(dir: &Path, file: &str, from: &str, to: &str) {
    let path = dir.join(file);
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains(from), "{file} has no {from:?}");
    fs::write(&path, text.replacen(from, to, 1)).unwrap();
}

/// The twelve jobs, by number and file.
pub fn jobs() -> Vec<(String, String)> {
    let mut names: Vec<String> = fs::read_dir(bakery().join("jobs"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names.len(), 12);
    names.into_iter().map(|name| (name[..2].to_owned(), format!("jobs/{name}"))).collect()
}
