//! Colours, and pipes that are closed early.

use std::io::Read;
use std::process::Stdio;

use crate::transcript::{bakery, program, run};

const QUOTE: [&str; 4] = ["quote", "jobs/10-uneconomic.toml", "--tariff", "tariff"];

#[test]
fn colour_only_where_it_is_asked_for() {
    let with = |name: &str, value: &str| {
        let output = program(&bakery(), &QUOTE).env(name, value).output().unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let plain = run(&QUOTE).out;
    assert!(!plain.contains('\u{1b}'));
    let coloured = with("CLICOLOR_FORCE", "1");
    assert!(coloured.contains('\u{1b}'), "a terminal gets colours");
    assert_eq!(anstream::adapter::strip_str(&coloured).to_string(), plain, "and nothing but colours");
    assert_eq!(with("NO_COLOR", "1"), plain);
}

#[test]
fn whoever_closes_the_pipe_has_read_enough() {
    for args in [&QUOTE[..], &["explain", "jobs/12-consignment.toml", "--tariff", "tariff"], &["--help"]] {
        let mut child =
            program(&bakery(), args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // Closed before the first byte.
        drop(child.stdout.take());
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        assert_eq!((child.wait().unwrap().code(), err.as_str()), (Some(0), ""), "{args:?}");
    }
}

#[test]
fn a_long_answer_may_be_cut_off() {
    let args = ["quote", "jobs/12-consignment.toml", "--tariff", "tariff", "--format", "json"];
    let mut child = program(&bakery(), &args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = [0; 100];
    child.stdout.take().unwrap().read_exact(&mut first).unwrap();
    let mut err = String::new();
    child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
    assert_eq!((child.wait().unwrap().code(), err.as_str()), (Some(0), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_no_success() {
    let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
    let output = program(&bakery(), &QUOTE).stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(70));
    assert!(
        String::from_utf8_lossy(&output.stderr).starts_with("internal error: the answer cannot be written")
    );
}
