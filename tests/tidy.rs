//! The house rules that a compiler does not know.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Longer than this, a file wants to be two.
const MOST_LINES: usize = 420;
/// Tables of plain data, one row after the other, read well at any length.
const TABLES: [&str; 2] = ["crates/engine/src/tariff/rows.rs", "crates/engine/src/tariff/entries.rs"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(dir: &Path, into: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(dir) else { return };
    for path in entries.map(|entry| entry.unwrap().path()) {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() && name != "target" && !name.starts_with('.') {
            rust_files(&path, into);
        } else if name.ends_with(".rs") {
            into.push(path);
        }
    }
}

fn files_below(dir: &str) -> Vec<(String, String)> {
    let mut paths = Vec::new();
    rust_files(&root().join(dir), &mut paths);
    paths.sort();
    assert!(!paths.is_empty(), "no Rust files below {dir}");
    let relative = |path: &Path| path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
    paths.iter().map(|path| (relative(path), fs::read_to_string(path).unwrap())).collect()
}

#[test]
fn files_are_small() {
    let mut long = Vec::new();
    for (path, text) in ["crates", "tests"].into_iter().flat_map(files_below) {
        let lines = text.lines().count();
        if lines > MOST_LINES && !TABLES.contains(&path.as_str()) {
            long.push(format!("{path}: {lines} lines, at most {MOST_LINES}"));
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn no_float_in_the_engine() {
    for (path, text) in files_below("crates/engine/src") {
        for word in ["f32", "f64"] {
            let found = text.split(|c: char| !c.is_alphanumeric() && c != '_').any(|token| token == word);
            assert!(!found, "{path} names {word}");
        }
    }
}

/// Reading order is dependency order: a module of the engine uses only those declared above it.
#[test]
fn modules_use_only_those_above_them() {
    let lib = fs::read_to_string(root().join("crates/engine/src/lib.rs")).unwrap();
    let declared = lib.lines().filter_map(|line| {
        let line = line.trim().strip_prefix("pub ").unwrap_or(line.trim());
        line.strip_prefix("mod ")?.strip_suffix(';')
    });
    let place: HashMap<&str, usize> = declared.enumerate().map(|(place, name)| (name, place)).collect();
    assert!(place.len() > 20, "lib.rs declares its modules one a line");
    let mut wrong = Vec::new();
    for (path, text) in files_below("crates/engine/src") {
        let module = path.trim_start_matches("crates/engine/src/").split(['/', '.']).next().unwrap();
        let Some(&own) = place.get(module) else { continue };
        // Tests at the end of a file may look further.
        let code = text.split("#[cfg(test)]").next().unwrap();
        for used in code.split("crate::").skip(1) {
            let used = used.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap();
            if place.get(used).is_some_and(|&theirs| theirs > own) && !is_doc_link(code, used) {
                wrong.push(format!("{path} uses {used}, which is declared below {module}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A name that stands only in links of the documentation binds nothing.
fn is_doc_link(code: &str, used: &str) -> bool {
    let name = format!("crate::{used}");
    code.lines().filter(|line| line.contains(&name)).all(|line| line.trim_start().starts_with("//"))
}

#[test]
fn every_path_that_developers_md_names_exists() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let mut checked = 0;
    for word in text.split('`').skip(1).step_by(2) {
        let looks_like_path = !word.contains(char::is_whitespace)
            && (word.contains('/') || [".rs", ".md", ".toml"].iter().any(|ending| word.ends_with(ending)))
            && !word.contains(['<', '*', '{', ':', '=']);
        let known_top = [
            "crates",
            "tests",
            "examples",
            "proto",
            ".ci",
            "build.rs",
            "README.md",
            "DEVELOPERS.md",
            "Cargo.toml",
        ];
        if looks_like_path && known_top.iter().any(|top| word.starts_with(top)) {
            assert!(root().join(word.trim_end_matches('/')).exists(), "DEVELOPERS.md names {word}");
            checked += 1;
        }
    }
    assert!(checked > 10, "DEVELOPERS.md names the places of the project");
}
