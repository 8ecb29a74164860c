//! Inputs that nobody would write on purpose, or somebody would.

use std::fs;
use std::path::Path;

use serde_json::Value;
use unicode_width::UnicodeWidthStr;

use crate::transcript::{Said, bakery, run, run_in};
use crate::world::{copy, empty, spoil};

/// Ends with that code, says why on standard error and nothing on standard output.
fn refused(said: &Said, code: i32, says: &str) {
    assert_eq!(said.code, code, "{}", said.err);
    assert!(said.err.contains(says), "{says:?} in {}", said.err);
    assert!(!said.err.contains("panicked") && !said.err.contains('\u{1b}'), "{}", said.err);
    assert_eq!(said.out, "");
}

fn quote(dir: &Path, job: &str) -> Said {
    let tariff = bakery().join("tariff");
    run_in(dir, &["quote", job, "--tariff", tariff.to_str().unwrap()])
}

#[test]
fn files_that_are_no_jobs() {
    let dir = empty("no-jobs");
    let check = |name: &str, bytes: &[u8], code, says: &str| {
        fs::write(dir.join(name), bytes).unwrap();
        refused(&quote(&dir, name), code, says);
    };
    check("empty.toml", b"", 65, "missing_key");
    check("empty.json", b"", 65, "error");
    check("binary.toml", &[0, 159, 146, 150, 255, 0, 1], 65, "not_text");
    check("noise.json", &[b'[', 0xff, 0xfe, b'{'], 65, "error");
    check("deep.json", "[".repeat(100_000).as_bytes(), 65, "error");
    check("deep.toml", format!("x = {}", "[".repeat(100_000)).as_bytes(), 65, "error");
    check("huge.toml", &vec![b'#'; 2 << 20], 65, "file_too_large");
    check("job.csv", b"reference,J-1", 65, "unknown_format");
    check("escape.toml", b"reference = \"\x1b[2J\x1b]0;x\x07\"", 65, "error");
    refused(&quote(&dir, "missing.toml"), 66, "cannot read missing.toml");
    let misspelt = quote(&dir, "bnary.toml");
    refused(&misspelt, 66, "there is no such file or folder; the nearest:");
    assert!(misspelt.err.ends_with(" binary.toml\n"), "{}", misspelt.err);
    refused(&quote(&dir, "."), 66, "cannot read .");
    fs::create_dir(dir.join("folder.toml")).unwrap();
    refused(&quote(&dir, "folder.toml"), 66, "cannot read folder.toml");
}

#[test]
fn folders_that_are_no_tariffs() {
    let dir = empty("no-tariffs");
    let job = bakery().join("jobs/01-direct-oven.toml");
    let with = |tariff: &str| run_in(&dir, &["routes", job.to_str().unwrap(), "--tariff", tariff]);
    fs::create_dir(dir.join("bare")).unwrap();
    refused(&with("bare"), 65, "no_edition");
    refused(&with("nowhere"), 66, "cannot read nowhere");
    fs::write(dir.join("file"), "x").unwrap();
    refused(&with("file"), 66, "cannot read file");
    refused(&run_in(&dir, &["tariff", "check", "file"]), 66, "there is no folder file");
    let said = run_in(&dir, &["tariff", "check", "bare"]);
    assert_eq!(said.code, 65);
    assert!(said.out.ends_with("0 editions, 1 error, 0 warnings\n"), "{}", said.out);
}

#[test]
fn the_tariff_is_where_one_looks_for_it() {
    let job = "jobs/02-two-partners.toml";
    let priced = run(&["quote", job, "--tariff", "tariff"]);
    assert_eq!(priced.code, 0, "{}", priced.err);
    assert_eq!(run(&["quote", job]).out, priced.out, "in the folder `tariff`");

    let dir = empty("no-tariff-here");
    let tariff = bakery().join("tariff");
    let job = bakery().join(job);
    let args = ["quote", job.to_str().unwrap()];
    let mut command = crate::transcript::program(&dir, &args);
    let by_environment = command.env("EVENFARE_TARIFF", &tariff).output().unwrap();
    assert_eq!(String::from_utf8(by_environment.stdout).unwrap(), priced.out);
    let said = run_in(&dir, &args);
    refused(&said, 66, "cannot read tariff: there is no such file or folder");
    assert!(said.err.contains("--tariff or EVENFARE_TARIFF says where the tariff is"), "{}", said.err);
}

#[test]
fn command_lines_that_make_no_sense() {
    let job = "jobs/02-two-partners.toml";
    let long = "x".repeat(100_000);
    let check = |more: &[&str], says: &str| {
        let args: Vec<&str> = [&["explain", job, "--tariff", "tariff"], more].concat();
        refused(&run(&args), 64, says);
    };
    check(&[&long], "there is no figure");
    check(&["end.net\u{1b}[31m"], "there is no figure");
    check(&["--route", &long], "no partner's code");
    check(&["--route", ""], "no partner's code");
    check(&["--as", "partner:"], "is not a reader");
    check(&["--offer", "x"], "has no offer `x`");
    check(&["--depth", "-1"], "unexpected argument");
    check(&["--depth", "99999999999999999999"], "--depth");
    check(&["--route", &["P-BRZEG"; 400].join(",")], "expected at most");
    refused(&run(&[]), 64, "Usage");
    refused(&run(&["tariff"]), 64, "Usage");
    for address in [["--listen", "8080"], ["--metrics", "localhost:9090"]] {
        refused(&run(&[&["serve"], &address[..]].concat()), 64, "expected an IP address and a port such as");
    }
}

#[cfg(unix)]
#[test]
fn arguments_that_are_no_text() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let name = OsStr::from_bytes(b"jobs/\xff\xfe.toml");
    let mut command = crate::transcript::program(&bakery(), &["quote", "--tariff", "tariff"]);
    let output = command.arg(name).output().unwrap();
    assert_eq!(output.status.code(), Some(66));
    assert!(String::from_utf8(output.stderr).unwrap().contains("cannot read jobs/"));
}

#[test]
fn names_cannot_garble_a_page() {
    let dir = copy("garbled");
    let wide = "烘焙".repeat(60);
    spoil(&dir, "jobs/02-two-partners.toml", "Žitná Kôrka s.r.o.", &format!("\u{202E}evil\u{2066}{wide}"));
    spoil(&dir, "jobs/02-two-partners.toml", "MS4-16-01177", &"W".repeat(200));
    let said = run_in(&dir, &["quote", "jobs/02-two-partners.toml", "--tariff", "tariff"]);
    if said.code == 0 {
        assert!(!said.out.contains(['\u{202E}', '\u{2066}']));
        assert!(said.out.lines().all(|line| line.width() <= 80), "{}", said.out);
    } else {
        refused(&said, 65, "error");
    }
}

/// A program reads no standard error.
#[test]
fn what_is_not_read_of_a_request_is_told_to_programs_as_well() {
    let dir = copy("unread");
    let request = "requests/03-reverse-charge.xml";
    let told = |command: &str| -> Vec<(Value, Value)> {
        let said = run_in(&dir, &[command, request, "--format", "json"]);
        assert_eq!(said.code, 0, "{}", said.err);
        let json: Value = serde_json::from_str(&said.out).unwrap();
        let warnings = json.get("warnings").map(|all| all.as_array().unwrap().clone()).unwrap_or_default();
        assert_eq!(said.err.matches("warning: ").count(), warnings.len(), "{}", said.err);
        warnings.iter().map(|one| (one["code"].clone(), one["line"].clone())).collect()
    };
    assert!(["quote", "routes"].into_iter().all(|command| told(command).is_empty()));
    spoil(&dir, request, "  <cbc:IssueTime>", "  <cbc:Mood>fine</cbc:Mood>\n  <cbc:IssueTime>");
    for command in ["quote", "routes"] {
        assert_eq!(told(command), [("element_not_read".into(), 6.into())], "{command}");
    }
}
