//! Jobs in all three notations, by the first byte.

use evenfare_engine::job::Job;
use evenfare_engine::{Refused, quote};
use evenfare_files::{parse_job, parse_job_for};

use crate::price::holds;
use crate::refused::{is_clear, is_refused_clearly};
use crate::world::{JOBS, TARIFFS, job_files};

const NAMES: [&str; 3] = ["job.toml", "job.json", "job.xml"];

/// The least that a request for quotation says.
const REQUEST: &str = include_str!("request.xml");

/// The jobs of the demo world.
pub fn seeds() -> Vec<Vec<u8>> {
    let as_json = |job: &Job| serde_json::to_vec(job).expect("a job is JSON");
    let of = |notation: u8, text: Vec<u8>| [vec![notation], text].concat();
    let toml = job_files().into_iter().map(|text| of(0, text));
    let json = JOBS.iter().map(|job| of(1, as_json(job)));
    toml.chain(json).chain([of(2, REQUEST.into())]).collect()
}

/// A job, read alone and for the tariff of the demo world.
pub fn run(bytes: &[u8]) {
    let Some((notation, text)) = bytes.split_first() else { return };
    let Some(name) = NAMES.get(usize::from(notation % 3)) else { return };
    let files = [(*name, text)];
    let read = parse_job(name, text);
    let for_a_tariff = parse_job_for(name, text, &TARIFFS);
    assert_eq!(read.is_ok(), for_a_tariff.is_ok(), "the tariff decides whether it is a job");
    if let Err(more) = for_a_tariff {
        is_refused_clearly(&more, files);
    }
    match read {
        Err(report) => is_refused_clearly(&report, files),
        Ok((job, source)) => {
            is_clear(source.warnings(), files);
            is_the_same_in_every_notation(&job);
            let Ok(edition) = TARIFFS.edition_for(&job) else { return };
            if let Err(Refused::Job(problems)) = quote(&job, edition) {
                is_refused_clearly(&source.locate(problems), files);
            }
            holds(&job, edition);
        }
    }
}

/// Written and read again, it is the same job.
pub fn is_the_same_in_every_notation(job: &Job) {
    let json = serde_json::to_string(job).expect("a job is JSON");
    let toml = toml::to_string(job).expect("a job is TOML");
    for (name, text) in [("job.json", json), ("job.toml", toml)] {
        match parse_job(name, &text) {
            Ok((read, _)) => assert_eq!(read, *job, "{text}"),
            Err(report) => panic!("{report}\n{text}"),
        }
    }
}
