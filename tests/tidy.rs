//! The house rules that a compiler does not know.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

#[path = "tidy/guides.rs"]
mod guides;

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
    for (path, text) in ["crates/engine/src", "crates/reconcile/src"].into_iter().flat_map(files_below) {
        for word in ["f32", "f64"] {
            let found = text.split(|c: char| !c.is_alphanumeric() && c != '_').any(|token| token == word);
            assert!(!found, "{path} names {word}");
        }
    }
}

/// Crates whose modules stand in reading order, each by the folder of its `lib.rs`.
const IN_READING_ORDER: [&str; 6] = [
    "crates/engine/src",
    "crates/reconcile/src",
    "crates/files/src",
    "crates/paper/src",
    "crates/front/src",
    "crates/store/src",
];

/// What is left of it: a file, and the module below it that it uses.
const REACHING_DOWN: [(&str, &str); 1] = [
    // `Edition::new` is the only way to one, and building one is a matter of its own.
    ("crates/engine/src/tariff/edition.rs", "tariff::build"),
];

/// Reading order is dependency order: a module uses only those declared above it, at every depth.
#[test]
fn modules_use_only_those_above_them() {
    let mut wrong = Vec::new();
    let mut known_seen = [false; REACHING_DOWN.len()];
    for folder in IN_READING_ORDER {
        let tree = Modules::read(folder);
        assert!(
            tree.declared.values().map(Vec::len).sum::<usize>() > 10,
            "{folder} declares modules one a line"
        );
        for (path, module, code) in &tree.files {
            for used in paths_used(code) {
                let Some(used) = tree.module_of(module, &used) else { continue };
                let common = module.iter().zip(&used).take_while(|(own, theirs)| own == theirs).count();
                let (Some(own), Some(theirs)) = (module.get(common), used.get(common)) else { continue };
                let siblings = &tree.declared[&module[..common].join("::")];
                let place = |name: &String| siblings.iter().position(|sibling| sibling == name);
                // A module of tests alone is declared behind what this reads.
                if place(own).is_some() && place(theirs) > place(own) {
                    match REACHING_DOWN.iter().position(|(by, one)| *by == path && *one == used.join("::")) {
                        Some(known) => known_seen[known] = true,
                        None => wrong
                            .push(format!("{path} uses {}, which is declared below {own}", used.join("::"))),
                    }
                }
            }
        }
    }
    wrong.dedup();
    for ((by, one), _) in REACHING_DOWN.iter().zip(known_seen).filter(|(_, seen)| !seen) {
        wrong.push(format!("{by} uses {one} no more: take it out of REACHING_DOWN"));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The modules of a crate.
struct Modules {
    /// Path, module and code of each file.
    files: Vec<(String, Vec<String>, String)>,
    /// The modules that each declares, in order.
    declared: HashMap<String, Vec<String>>,
    /// What each hands on under its own name, and the module that it comes from.
    handed_on: HashMap<(String, String), Vec<String>>,
}

impl Modules {
    fn read(folder: &str) -> Self {
        let mut tree = Self { files: Vec::new(), declared: HashMap::new(), handed_on: HashMap::new() };
        for (path, text) in files_below(folder) {
            let name = path.strip_prefix(folder).unwrap().trim_matches('/').strip_suffix(".rs").unwrap();
            let mut module: Vec<String> = name.split('/').map(str::to_owned).collect();
            if ["lib", "main", "mod"].contains(&module.last().unwrap().as_str()) {
                module.pop();
            }
            // Tests may look further, and links of the documentation bind nothing.
            let code = text.split("#[cfg(test)]").next().unwrap();
            let is_code = |line: &&str| !line.trim_start().starts_with("//");
            let code: String = code.lines().filter(is_code).map(|line| format!("{line}\n")).collect();
            let declared =
                code.lines().filter_map(|line| without_reach(line).strip_prefix("mod ")?.strip_suffix(';'));
            let declared: Vec<String> = declared.map(str::to_owned).collect();
            for (at, _) in code.match_indices("use ").filter(|(at, _)| code[..*at].ends_with([' ', '\n'])) {
                let mut used = Vec::new();
                leaves(&mut code[at + 4..].chars().peekable(), Vec::new(), &mut used);
                for path in used.into_iter().filter(|path| declared.contains(&path[0])) {
                    let key = (module.join("::"), path.last().unwrap().clone());
                    tree.handed_on.insert(key, [module.clone(), vec![path[0].clone()]].concat());
                }
            }
            tree.declared.entry(module.join("::")).or_default().extend(declared);
            tree.files.push((path, module, code));
        }
        tree
    }

    /// The module that a path leads to, seen from another.
    fn module_of(&self, from: &[String], path: &[String]) -> Option<Vec<String>> {
        let mut at = if path[0] == "crate" { Vec::new() } else { from.to_vec() };
        for name in path {
            match name.as_str() {
                "crate" => {}
                "super" => {
                    at.pop()?;
                }
                name if self
                    .declared
                    .get(&at.join("::"))
                    .is_some_and(|all| all.iter().any(|one| one == name)) =>
                {
                    at.push(name.to_owned());
                }
                name => {
                    return Some(
                        self.handed_on.get(&(at.join("::"), name.to_owned())).cloned().unwrap_or(at),
                    );
                }
            }
        }
        Some(at)
    }
}

/// A declaration without how far it can be seen.
fn without_reach(line: &str) -> &str {
    let line = line.trim();
    match line.strip_prefix("pub") {
        Some(rest) if rest.starts_with('(') => rest.split_once(") ").map_or(line, |(_, rest)| rest),
        Some(rest) => rest.trim_start(),
        None => line,
    }
}

/// Every path in the code that begins with `crate` or `super`, its braces taken apart.
fn paths_used(code: &str) -> Vec<Vec<String>> {
    let mut used = Vec::new();
    for start in ["crate::", "super::"] {
        for (at, _) in code.match_indices(start) {
            if !code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':') {
                leaves(&mut code[at..].chars().peekable(), Vec::new(), &mut used);
            }
        }
    }
    used
}

/// Reads one path, or several where it ends in braces.
fn leaves(
    text: &mut std::iter::Peekable<std::str::Chars<'_>>,
    before: Vec<String>,
    into: &mut Vec<Vec<String>>,
) {
    let mut path = before;
    loop {
        while text.next_if(|c| c.is_whitespace()).is_some() {}
        if text.next_if_eq(&'{').is_some() {
            loop {
                leaves(text, path.clone(), into);
                while text.next_if(|c| c.is_whitespace()).is_some() {}
                match text.next() {
                    Some(',') => {}
                    _ => return,
                }
                while text.next_if(|c| c.is_whitespace()).is_some() {}
                if text.next_if_eq(&'}').is_some() {
                    return;
                }
            }
        }
        let mut name = String::new();
        while let Some(c) = text.next_if(|c| c.is_alphanumeric() || *c == '_') {
            name.push(c);
        }
        if !name.is_empty() && name != "self" {
            path.push(name);
        }
        if text.next_if_eq(&':').is_none() || text.next_if_eq(&':').is_none() {
            // Another name, or whatever stands behind the path.
            while text.next_if(|c| !matches!(c, ',' | '}' | ';' | '\n')).is_some() {}
            if !path.is_empty() {
                into.push(path);
            }
            return;
        }
    }
}

/// What is left to do stands in no file, and no place is held for what is to come.
#[test]
fn nothing_is_left_unfinished() {
    // Put together here, so that this file does not hold them.
    let marks = [["@", "@"].concat(), ["TO", "DO"].concat(), ["FIX", "ME"].concat()];
    let mut paths = Vec::new();
    all_files(root(), &mut paths);
    assert!(paths.len() > 150, "the files of the project");
    let mut wrong = Vec::new();
    for path in paths {
        // What is no text has no marks.
        let Ok(text) = fs::read_to_string(&path) else { continue };
        for (number, line) in (1..).zip(text.lines()) {
            for mark in marks.iter().filter(|mark| line.contains(mark.as_str())) {
                wrong.push(format!("{}:{number} has {mark}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Every file of the project, without what is built and what the version control keeps for itself.
fn all_files(dir: &Path, into: &mut Vec<PathBuf>) {
    const OTHERS: [&str; 9] =
        ["target", ".git", "evenfare-demo", "node_modules", "dist", "gen", "stubs", "venv", "corpus"];
    for entry in fs::read_dir(dir).unwrap().map(Result::unwrap) {
        let (path, name) = (entry.path(), entry.file_name());
        if OTHERS.iter().any(|other| name == *other) {
            continue;
        }
        if path.is_dir() { all_files(&path, into) } else { into.push(path) }
    }
}

/// What stands in README.md of speed is what the one command makes: a row for each line of `benches/rows`, in order, and
/// each is told by a benchmark.
#[test]
fn the_readme_has_the_rows_of_the_benchmarks() {
    let read = |path: &str| fs::read_to_string(root().join(path)).unwrap();
    let (readme, rows) = (read("README.md"), read("benches/rows"));
    let table = readme.split("<!-- benchmarks begin").nth(1).unwrap();
    let table = table.split("<!-- benchmarks end -->").next().unwrap();
    let cells = |line: &str| line.split('|').map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let shown: Vec<_> = table.lines().filter(|line| line.starts_with('|')).skip(2).map(cells).collect();
    let wanted: Vec<_> = rows.lines().map(cells).collect();
    let of_shown: Vec<_> = shown.iter().map(|cells| (&cells[1], &cells[3])).collect();
    let of_wanted: Vec<_> = wanted.iter().map(|cells| (&cells[1], &cells[2])).collect();
    assert_eq!(of_shown, of_wanted, "benches/run.sh writes the table");
    let benchmarks = [
        "benches",
        "crates/engine/benches",
        "crates/store/benches",
        "crates/paper/benches",
        "crates/reconcile/benches",
    ];
    let told: String = benchmarks.into_iter().flat_map(files_below).map(|(_, text)| text).collect();
    let over_the_wire = read("benches/loopback/main.rs");
    for cells in &wanted {
        let is_told = match cells[0].split('-').collect::<Vec<_>>().as_slice() {
            // Of calls over the wire the name is put together of the call, the clients and the twin.
            [call, clients, twin] => {
                let turn = format!("(\"{call}\", {}, {clients})", call.to_uppercase());
                let side = format!("(\"{twin}\", side({twin}))");
                ["row|{name}-{clients}-{carrying}|", &turn, &side]
                    .iter()
                    .all(|part| over_the_wire.contains(part))
            }
            _ => told.contains(&format!("row|{}|", cells[0])),
        };
        assert!(is_told, "no benchmark tells {}", cells[0]);
    }
}
