//! What the guides name is there.

use std::fs;
use std::path::{Path, PathBuf};

use super::root;

/// Where a path of the project may begin.
const TOPS: &str =
    "crates/ tests/ examples/ proto/ benches/ .ci/ build.rs README.md DEVELOPERS.md Cargo.toml";

/// What is written for those who carry on the work: `DEVELOPERS.md`, and a `DESIGN.md` beside each crate.
fn guides() -> Vec<(String, String)> {
    let crates = fs::read_dir(root().join("crates")).unwrap();
    let names = crates.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned());
    let designs = names.map(|name| format!("crates/{name}/DESIGN.md"));
    let designs: Vec<String> = designs.filter(|path| root().join(path).exists()).collect();
    assert!(designs.len() > 5, "each large crate says why it is as it is");
    let paths = ["DEVELOPERS.md".to_owned(), "README.md".to_owned()].into_iter().chain(designs);
    paths
        .map(|path| {
            let text = fs::read_to_string(root().join(&path)).unwrap();
            (path, text)
        })
        .collect()
}

/// In a table of the map, paths begin at the folder that its heading names.
#[test]
fn every_path_that_the_guides_name_exists() {
    let (mut checked, mut wrong) = (0, Vec::new());
    for (guide, text) in guides() {
        // `DESIGN.md` of a crate may begin with its `src`.
        let own = Path::new(&guide).parent().unwrap().to_owned();
        let mut folder = None;
        for line in text.lines() {
            if line.starts_with('#') {
                folder = quoted(line).next().filter(|_| line.starts_with("### "));
            }
            let cell = line.strip_prefix("| ").and_then(|line| line.split(" | ").next()).unwrap_or_default();
            for word in quoted(line).filter(|word| looks_like_a_path(word)) {
                let place = match folder {
                    _ if TOPS.split(' ').any(|top| word.starts_with(top)) => PathBuf::from(word),
                    Some(folder) if quoted(cell).any(|one| one == word) => Path::new(folder).join(word),
                    _ if word.starts_with("src/") => own.join(word),
                    _ => continue,
                };
                checked += 1;
                if !root().join(&place).exists() {
                    wrong.push(format!("{guide} names {}", place.display()));
                }
            }
        }
    }
    assert!(checked > 150, "the guides name the places of the project, {checked} of them");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn quoted(line: &str) -> impl Iterator<Item = &str> {
    line.split('`').skip(1).step_by(2)
}

fn looks_like_a_path(word: &str) -> bool {
    let ends = [".rs", ".md", ".toml", ".py"].iter().any(|ending| word.ends_with(ending));
    (word.contains('/') || ends) && !word.contains(|c: char| c.is_whitespace() || "<*{:=".contains(c))
}

#[test]
fn every_link_of_the_guides_leads_somewhere() {
    let (mut checked, mut wrong) = (0, Vec::new());
    for (guide, text) in guides() {
        let targets = text.split("](").skip(1).filter_map(|rest| rest.split(')').next());
        for target in targets.filter(|target| !target.contains("://")) {
            let (path, heading) = target.split_once('#').unwrap_or((target, ""));
            let file = match path {
                "" => root().join(&guide),
                path => root().join(&guide).with_file_name("").join(path),
            };
            let is_there = match heading {
                "" => file.exists(),
                heading => {
                    fs::read_to_string(&file).is_ok_and(|text| headings(&text).any(|one| one == heading))
                }
            };
            checked += 1;
            if !is_there {
                wrong.push(format!("{guide} links to {target}"));
            }
        }
    }
    assert!(checked > 30, "the guides lead to one another, by {checked} links");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The headings of a text as links name them: small letters, digits, and a hyphen for each space.
fn headings(text: &str) -> impl Iterator<Item = String> {
    let headings = text.lines().filter(|line| line.starts_with('#'));
    headings.map(|line| {
        let heading = line.trim_start_matches('#').trim().to_lowercase();
        let kept = heading.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c));
        kept.map(|c| if c == ' ' { '-' } else { c }).collect()
    })
}
