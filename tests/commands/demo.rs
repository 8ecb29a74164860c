//! The demo: what it writes, and what it will not overwrite.

use std::fs;
use std::path::Path;

use crate::transcript::{bakery, check, program, run_in, words};
use crate::world::empty;

/// Every file below a folder, by path.
fn files(dir: &Path, below: &str, into: &mut Vec<(String, Vec<u8>)>) {
    for entry in fs::read_dir(dir.join(below)).unwrap().map(Result::unwrap) {
        let path = format!("{below}/{}", entry.file_name().into_string().unwrap());
        if entry.path().is_dir() {
            files(dir, &path, into);
        } else {
            into.push((path, fs::read(entry.path()).unwrap()));
        }
    }
    into.sort();
}

/// All of them but the documents and the store, which the demo world is not built with.
fn world(dir: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    files(dir, ".", &mut all);
    all.retain(|(path, _)| !path.starts_with("./paper/") && !path.starts_with("./evenfare.db"));
    all
}

/// Run again where it changes nothing that the documents are made of.
const AGAIN: &str = if cfg!(feature = "pdf") { " --no-paper" } else { "" };

#[test]
fn the_demo_writes_its_world_and_prices_it() {
    let dir = empty("demo");
    check(&dir, "demo.txt", "demo");
    assert!(
        world(&dir.join("evenfare-demo")) == world(&bakery()),
        "the demo writes the world it was built with"
    );
    if cfg!(feature = "pdf") {
        let mut documents = Vec::new();
        files(&dir.join("evenfare-demo"), "./paper", &mut documents);
        // One job is refused by its route; four have a partner, one of them two.
        assert_eq!(documents.len(), 27);
        assert!(documents.iter().all(|(path, bytes)| path.ends_with(".pdf") && bytes.starts_with(b"%PDF-")));
    }
    check(&dir, "demo-again.txt", &format!("demo evenfare-demo{AGAIN}"));

    fs::write(dir.join("evenfare-demo/jobs/05-yen.toml"), "mine").unwrap();
    fs::remove_file(dir.join("evenfare-demo/README.md")).unwrap();
    check(&dir, "demo-changed.txt", "demo");
    assert_eq!(fs::read(dir.join("evenfare-demo/jobs/05-yen.toml")).unwrap(), b"mine");
    assert!(
        !dir.join("evenfare-demo/README.md").exists(),
        "nothing is written where something is in the way"
    );

    check(&dir, "demo-forced.txt", &format!("demo --force{AGAIN}"));
    assert!(world(&dir.join("evenfare-demo")) == world(&bakery()));
}

/// The commands that the demo names, without the program that it names them for.
fn named(out: &str, program: &str) -> Vec<String> {
    let (_, next) = out.split_once("To try next").unwrap();
    let whole = next.replace(" \\\n  ", " ");
    let lines = whole.lines().skip(2);
    lines.map(|line| line.strip_prefix(program).unwrap_or_else(|| panic!("{line}")).to_owned()).collect()
}

#[test]
fn the_commands_it_names_work() {
    let dir = empty("demo-next");
    let demo = |world| ["demo", world].into_iter().chain(AGAIN.split_whitespace()).collect::<Vec<_>>();
    let commands = named(&run_in(&dir, &demo("a/world")).out, "evenfare ");
    assert!(commands.len() >= 5);
    for command in &commands {
        let said = run_in(&dir, &words(command));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{command}");
    }
    let by_cargo = program(&dir, &demo("a/world")).env("CARGO", "cargo").output().unwrap();
    assert_eq!(named(&String::from_utf8(by_cargo.stdout).unwrap(), "cargo run -- "), commands);
    let spaced = run_in(&dir, &demo("my world")).out;
    assert!(spaced.contains("evenfare tariff check 'my world/tariff'\n"), "{spaced}");
}

#[test]
fn a_file_in_the_way_is_no_folder() {
    let dir = empty("demo-file");
    fs::write(dir.join("evenfare-demo"), "a file").unwrap();
    for args in [&["demo"][..], &["demo", "--force"]] {
        let said = run_in(&dir, args);
        assert_eq!((said.code, said.out.as_str()), (66, ""));
        let told = "error: cannot write evenfare-demo/README.md: ";
        assert!(said.err.starts_with(told) && !said.err.contains("overwritten"), "{}", said.err);
    }
    assert_eq!(fs::read(dir.join("evenfare-demo")).unwrap(), b"a file");
}
