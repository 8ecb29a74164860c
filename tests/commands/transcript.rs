//! Runs the program and holds what it says against what it said before.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use unicode_width::UnicodeWidthStr;

/// Kept with all their working, so that whoever changes a working sees in them what has changed.
const IN_FULL: [&str; 2] = ["quote-02.json", "quote-11.json"];

/// What a command said, and how it ended.
pub struct Said {
    pub out: String,
    pub err: String,
    pub code: i32,
}

/// The root of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The demo world, where most commands are run.
pub fn bakery() -> PathBuf {
    root().join("examples/bakery")
}

/// The program, with nothing of the surroundings that could change what it says.
pub fn program(dir: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_evenfare"));
    command.args(args).current_dir(dir).env_clear().stdin(Stdio::null());
    command
}

/// Runs a command in a folder.
pub fn run_in(dir: &Path, args: &[&str]) -> Said {
    let output = program(dir, args).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).expect("the program writes UTF-8");
    let code = output.status.code().expect("the program ends by itself");
    Said { out: text(output.stdout), err: text(output.stderr), code }
}

/// Runs a command in the demo world.
pub fn run(args: &[&str]) -> Said {
    run_in(&bakery(), args)
}

/// The words of a command line.
pub fn words(line: &str) -> Vec<&str> {
    line.split(' ').collect()
}

/// Holds a command's transcript against `golden/NAME`, or writes it there.
pub fn check(dir: &Path, name: &str, line: &str) {
    let said = run_in(dir, &words(line));
    let is_json = name.ends_with(".json");
    for text in [&said.out, &said.err] {
        assert!(!text.contains('\u{1b}'), "{name}: escapes where no terminal is");
        assert!(!text.contains("panicked"), "{name}: {text}");
        assert!(
            is_json || !text.lines().any(|line| line.ends_with(' ')),
            "{name}: spaces at the end of a line"
        );
    }
    if !is_json {
        // What the parser of the command line says of it is as long as it is.
        let own = if said.err.contains("For more information, try") { "" } else { &said.err };
        for line in said.out.lines().chain(own.lines()).filter(|line| !is_quoted(line)) {
            assert!(line.width() <= 80, "{name}: {} columns in {line:?}", line.width());
        }
    }
    let out = if is_json && !IN_FULL.contains(&name) { without_working(&said.out) } else { said.out };
    let mut transcript = format!("$ evenfare {line}\n{out}");
    if !said.err.is_empty() {
        transcript.push_str(&format!("--- to standard error\n{}", said.err));
    }
    transcript.push_str(&format!("--- exit code {}\n", said.code));
    against(&golden().join(name), &transcript);
}

/// Where the transcripts stand.
pub fn golden() -> PathBuf {
    root().join("tests/commands/golden")
}

/// Holds a text against the file that it stood in before, or writes it there.
pub fn against(path: &Path, transcript: &str) {
    if std::env::var_os("EVENFARE_BLESS").is_some_and(|value| value == "1") {
        fs::write(path, transcript).unwrap();
        return;
    }
    let before =
        fs::read_to_string(path).unwrap_or_else(|_| panic!("{} is missing; see main.rs", path.display()));
    if before != transcript {
        let line = before.lines().zip(transcript.lines()).position(|(a, b)| a != b);
        let line = line.unwrap_or_else(|| before.lines().count().min(transcript.lines().count()));
        panic!(
            "{} differs from line {}:\n  was {:?}\n  is  {:?}\nall of it:\n{transcript}",
            path.display(),
            line + 1,
            before.lines().nth(line),
            transcript.lines().nth(line),
        );
    }
}

/// A line of a file as it stands there, shown with its number: as wide as whoever wrote it made it.
fn is_quoted(line: &str) -> bool {
    let (number, rest) = line.split_once('│').unwrap_or(("x", ""));
    number.trim().chars().all(|c| c.is_ascii_digit()) && !rest.is_empty()
        || line.trim_start().starts_with('·')
}

/// JSON with each list of workings replaced by its length and a checksum: nine tenths of a quote
/// are working, and nobody reads nine tenths of that. Any change of it changes the checksum.
fn without_working(json: &str) -> String {
    let mut kept = String::new();
    let mut lines = json.split_inclusive('\n');
    while let Some(line) = lines.next() {
        let Some(indent) = line.strip_suffix("\"working\": [\n") else {
            kept.push_str(line);
            continue;
        };
        let end = format!("{indent}]");
        let (mut count, mut sum) = (0_usize, FNV_OFFSET);
        for inner in lines.by_ref().take_while(|inner| !inner.starts_with(&end)) {
            count += 1;
            sum = inner.bytes().fold(sum, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(FNV_PRIME));
        }
        kept.push_str(&format!("{indent}\"working\": <{count} lines, checksum {sum:016x}>\n"));
    }
    kept
}

// FNV-1a, 64 bits.
const FNV_OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
const FNV_PRIME: u64 = 0x0000_0100_0000_01b3;
