//! Messages of the wire, and quotes as the store keeps them, by the first byte.
#![no_main]

use evenfare::wire::{WrittenQuote, pb};
use evenfare_engine::job::{Alternative, Job};
use evenfare_engine::quote;
use evenfare_engine::quote::Quote;
use evenfare_engine::view::{Reader, view};
use evenfare_files::{Folder, parse_job, parse_tariff};
use evenfare_paper::ubl;
use prost::Message;

use evenfare_fuzz::drive::{Target, begin, run};
use evenfare_fuzz::price::holds;
use evenfare_fuzz::refused::{is_clear, is_refused_clearly};
use evenfare_fuzz::targets::job::is_the_same_in_every_notation;
use evenfare_fuzz::world::{JOBS, TARIFFS, small_edition};

const TARGETS: [Target; 1] = [Target { name: "wire", seeds, run: case, reads_by_others: false }];

libfuzzer_sys::fuzz_target!(init: begin(&TARGETS), |bytes: &[u8]| run(bytes));

fn seeds() -> Vec<Vec<u8>> {
    let of = |kind: u8, message: Vec<u8>| [vec![kind], message].concat();
    let files =
        small_edition().map(|(name, text)| pb::TariffFile { name: name.into(), content: text.into() });
    let mut seeds = vec![of(2, pb::CheckTariffRequest { files: files.collect() }.encode_to_vec())];
    for job in JOBS.iter() {
        let wire = pb::Job::from(job);
        seeds.push(of(0, wire.encode_to_vec()));
        let request =
            pb::IssueQuoteRequest { request_id: "R-1".into(), job: Some(wire.clone()), series: "Q".into() };
        seeds.push(of(1, request.encode_to_vec()));
        let Ok(quote) = TARIFFS.edition_for(job).map(|edition| quote(job, edition)) else { continue };
        let Ok(quote) = quote else { continue };
        let seen = view(&quote, &Reader::Office).expect("the office sees every quote");
        let written = WrittenQuote::from(&seen).as_bytes().to_vec();
        let quote = pb::Quote::decode(&*written).expect("what was written is a message");
        seeds.push(of(3, written));
        let kept = pb::KeptDocument { job: Some(wire), quote: Some(quote) };
        seeds.push(of(4, kept.encode_to_vec()));
    }
    seeds
}

fn case(bytes: &[u8]) {
    let Some((kind, message)) = bytes.split_first() else { return };
    match kind % 5 {
        0 => job(pb::Job::decode(message).ok()),
        1 => job(pb::IssueQuoteRequest::decode(message).ok().and_then(|request| request.job)),
        2 => tariff(message),
        3 => {
            if let Ok(quote) = pb::Quote::decode(message) {
                kept(&quote);
            }
        }
        _ => {
            let Ok(document) = pb::KeptDocument::decode(message) else { return };
            job(document.job);
            document.quote.iter().for_each(kept);
        }
    }
}

fn job(wire: Option<pb::Job>) {
    let Some(wire) = wire else { return };
    match Job::try_from(wire) {
        Err(invalid) => {
            assert!(!invalid.problems().is_empty());
            for problem in invalid.problems() {
                assert!(
                    !problem.expected.is_empty() && !problem.found.contains(char::is_control),
                    "{problem}"
                );
            }
        }
        Ok(job) => {
            is_the_same_in_every_notation(&job);
            is_the_same_on_the_wire(&job);
            let quote = TARIFFS.edition_for(&job).ok().and_then(|edition| holds(&job, edition));
            if let Some(quote) = quote {
                comes_back(&quote);
                comes_back(&quote.reversed().expect("what is sealed can be taken back"));
            }
        }
    }
}

/// As a message and as a request for quotation.
fn is_the_same_on_the_wire(job: &Job) {
    assert_eq!(Job::try_from(pb::Job::from(job)).as_ref(), Ok(job));
    let json = serde_json::to_string(job).expect("a job is JSON");
    // Two characters that XML cannot carry; and a request cannot say the same alternative twice, one after the other.
    let is_twice = |two: &[Alternative]| two[0].id == two[1].id && two[0].text == two[1].text;
    if !json.contains(['\u{FFFE}', '\u{FFFF}']) && !job.alternatives.windows(2).any(is_twice) {
        let xml = ubl::request(job);
        match parse_job("job.xml", &xml) {
            Ok((read, _)) => assert_eq!(read, *job),
            Err(report) => panic!("{report}\n{}", String::from_utf8_lossy(&xml)),
        }
    }
}

/// As the store keeps it, and brings it back.
fn comes_back(quote: &Quote) {
    let seen = view(quote, &Reader::Office).expect("the office sees every quote");
    let kept =
        pb::Quote::decode(WrittenQuote::from(&seen).as_bytes()).expect("what was written is a message");
    let back = Quote::try_from(&kept).unwrap_or_else(|error| panic!("{error}: {error:?}"));
    assert!(back == *quote, "a kept quote comes back as another");
}

fn tariff(message: &[u8]) {
    let Ok(request) = pb::CheckTariffRequest::decode(message) else { return };
    let files = request.files.iter().map(|file| (file.name.clone(), file.content.clone()));
    let folder = Folder::from_files("", files);
    let texts = || request.files.iter().rev().map(|file| (&*file.name, &*file.content));
    match parse_tariff(&folder) {
        Ok(tariffs) => is_clear(tariffs.warnings(), texts()),
        Err(report) => is_refused_clearly(&report, texts()),
    }
}

/// What can be read of what was kept is written as it was read.
fn kept(wire: &pb::Quote) {
    if let Ok(quote) = Quote::try_from(wire) {
        let seen = view(&quote, &Reader::Office).expect("the office sees every quote");
        let again =
            pb::Quote::decode(WrittenQuote::from(&seen).as_bytes()).expect("what was written is a message");
        assert!(Quote::try_from(&again).is_ok_and(|again| again == quote), "{wire:?}");
    }
}
