//! Requests for quotation: a job written as one is the same job, and mistakes have their places.

use std::path::Path;

use evenfare::wire::pb;
use evenfare_engine::job::Job;
use evenfare_files::{parse_job, parse_job_for, read_job, read_tariff};
use evenfare_paper::ubl;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseResult};

use crate::drawn::{cases, jobs};

/// As XML can carry it.
fn carried(job: &Job) -> Job {
    let json = serde_json::to_string(job).unwrap().replace(['\u{FFFE}', '\u{FFFF}'], "\u{FFFD}");
    serde_json::from_str(&json).unwrap()
}

fn same(job: &Job) -> TestCaseResult {
    let xml = ubl::request(job);
    match parse_job("request.xml", &xml) {
        Ok((read, source)) => {
            prop_assert_eq!(pb::Job::from(&read), pb::Job::from(&carried(job)));
            prop_assert_eq!(&read, &carried(job));
            prop_assert!(source.warnings().is_empty(), "{}", source.warnings());
        }
        Err(report) => prop_assert!(false, "{report}\n{}", String::from_utf8_lossy(&xml)),
    }
    Ok(())
}

pub fn demo_jobs() -> Vec<Job> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/jobs");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.iter().map(|path| read_job(path).unwrap().0).collect()
}

#[test]
fn a_request_is_read_back_as_the_same_job() {
    demo_jobs().iter().for_each(|job| same(job).unwrap());
    jobs("a_request_is_read_back_as_the_same_job", cases(1), |job, _| same(job));
}

/// The request of the demo is the third job, as a portal sends it; `EVENFARE_BLESS=1` writes it anew.
#[test]
fn the_request_of_the_demo_is_that_of_its_job() {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let (job, _) = read_job(&bakery.join("jobs/03-reverse-charge.toml")).unwrap();
    let path = bakery.join("requests/03-reverse-charge.xml");
    if std::env::var_os("EVENFARE_BLESS").is_some_and(|value| value == "1") {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, ubl::request(&job)).unwrap();
    }
    let (read, source) = read_job(&path).unwrap();
    assert_eq!(read, job);
    assert!(source.warnings().is_empty());
}

/// The demo's third unit, asked for with mistakes.
fn check(change: impl Fn(&str) -> String, expect: &[&str]) {
    let job = demo_jobs().into_iter().find(|job| job.reference.as_str() == "J-2026-0227").unwrap();
    let xml = change(std::str::from_utf8(&ubl::request(&job)).unwrap());
    let tariffs = read_tariff(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/tariff")).unwrap();
    let report = match parse_job_for("request.xml", &xml, &tariffs) {
        Ok((_, source)) => source.warnings().clone(),
        Err(report) => report,
    };
    let lines: Vec<String> = report.iter().map(|mistake| mistake.located().to_string()).collect();
    assert_eq!(lines, expect);
}

#[test]
fn mistakes_in_a_request_have_their_places() {
    check(str::to_owned, &[]);
    let broken = |xml: &str| {
        xml.replace("2026-09-22", "22.9.2026")
            .replacen(">MIX-SP4</cbc:ID>", "> MIX-SP5 </cbc:ID>", 1)
            .replacen("unitCode=\"KGM\"", "unitCode=\"LBR\"", 1)
            .replacen("<cbc:Value>448100<", "<cbc:Value>448,100<", 1)
    };
    check(
        broken,
        &[
            "request.xml:5:18: error[not_a_date]: found `22.9.2026`, expected 2026-09-22: year, month, day",
            "request.xml:64:43: error[unknown_word]: found `LBR`, expected KGM",
            "request.xml:72:20: error[unknown_family]: found `MIX-SP5`, expected a code of families.csv; the nearest: MIX-SP4",
            "request.xml:80:22: error[not_a_number]: found `448,100`, expected a whole number from 0 to 18446744073709551615; a point, not a comma",
        ],
    );
}

#[test]
fn what_says_nothing_of_a_job_is_warned_of() {
    let more = |xml: &str| {
        xml.replacen("<cbc:IssueTime>", "<cbc:IssueTme>x</cbc:IssueTme><cbc:IssueTime>", 1)
            .replacen("<cbc:Name>cycles</cbc:Name>", "<cbc:Name>colour</cbc:Name>", 1)
            .replacen(
                "<cbc:ID>J-2026-0227</cbc:ID>",
                "<cbc:ID>J-2026-0227</cbc:ID><cbc:Note>Please</cbc:Note>",
                1,
            )
    };
    check(
        more,
        &[
            "request.xml:6:3: warning[element_not_read]: found `IssueTme`, expected an element that says something of a job; this one is not read",
            "request.xml:78:9: warning[element_not_read]: found `colour`, expected one of declared_value, cycles, hours, task, class, finding, warranty_cycles, cycles_at_dispatch; this one is not read",
        ],
    );
}

#[test]
fn a_request_without_lines_asks_for_no_unit() {
    let mut job = demo_jobs()[0].clone();
    (job.units, job.alternatives) = (Vec::new(), Vec::new());
    let (read, _) = parse_job("request.xml", ubl::request(&job)).unwrap();
    assert_eq!(read, job);
}

#[test]
fn alternatives_of_one_name_and_two_texts_are_two() {
    let mut job = demo_jobs().into_iter().find(|job| !job.alternatives.is_empty()).unwrap();
    let mut other = job.alternatives[0].clone();
    other.text = "Another text".parse().unwrap();
    job.alternatives.insert(1, other);
    let (read, _) = parse_job("request.xml", ubl::request(&job)).unwrap();
    assert_eq!(read, job);
}

#[test]
fn bombs_are_refused() {
    let bomb = "<!DOCTYPE r [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;\">]><r>&b;</r>";
    let report = parse_job("request.xml", bomb).unwrap_err();
    let expect = "request.xml:1:1: error[xml_doctype]: found `<!DOCTYPE`, expected no document type: what one declares is not read";
    assert_eq!(report.to_string(), expect);
    let root =
        "<RequestForQuotation xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:RequestForQuotation-2\">";
    let deep = format!("{root}{}", "<a>".repeat(300_000));
    assert!(parse_job("request.xml", deep).unwrap_err().to_string().contains("at most 64 elements"));
    let long = vec![b' '; 2 * 1024 * 1024];
    assert!(parse_job("request.xml", long).unwrap_err().to_string().contains("file_too_large"));
    assert!(parse_job("request.xml", b"<r>\xFF</r>").unwrap_err().to_string().contains("invalid_utf8"));
}

proptest! {
    #![proptest_config(Config { failure_persistence: None, ..Config::default() })]

    #[test]
    fn spoiled_requests_are_read_or_refused(
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0..8_usize, "[<>&;/a1 \"=]{0,6}"), 1..6),
    ) {
        let mut bytes = ubl::request(&demo_jobs()[11]);
        for (at, cut, more) in changes {
            let at = at.index(bytes.len());
            let end = (at + cut).min(bytes.len());
            bytes.splice(at..end, more.bytes());
        }
        if let Err(report) = parse_job("request.xml", &bytes) {
            prop_assert!(report.has_errors() && report.len() < 200);
            // The end of the file is a place as well, behind the last end of a line.
            let lines = String::from_utf8_lossy(&bytes).split('\n').count();
            prop_assert!(report.iter().filter_map(|mistake| mistake.line()).all(|line| line <= lines));
        }
    }
}
