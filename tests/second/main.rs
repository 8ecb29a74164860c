//! Two engines, one answer.
//!
//! `engine` computes quotes a second time, by somebody who has read what is computed and not how the
//! engine does it; `world` makes tariffs and jobs, as the text of their files. Every figure, flag and
//! refusal has to be the same. `PROPTEST_CASES` says how many jobs; `--nocapture` shows how many a
//! minute there were, and how many of them reached what.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

mod compare;
mod engine;
mod tally;
mod world;

use std::cell::RefCell;
use std::thread;
use std::time::Instant;

use evenfare_files::{Folder, Tariffs, parse_job, parse_tariff};
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestError, TestRng, TestRunner};

use engine::tables::{Job, Tariff};
use tally::Tally;
use world::{Seeds, World};

/// A tariff takes longer to read than a job to price, so several are priced by each.
const JOBS: usize = 8;

/// Where the two engines differ over a world, job by job.
fn differences(world: &World, tally: &mut Tally) -> Vec<String> {
    let files = world.tariff.iter().map(|(name, text)| (format!("E/{name}"), text.as_str()));
    let tariffs = match parse_tariff(&Folder::from_files("tariff", files)) {
        Ok(tariffs) => tariffs,
        Err(report) => return vec![format!("the tariff is not sound:\n{report}")],
    };
    let tariff = Tariff::read(&world.tariff);
    world.jobs.iter().filter_map(|job| difference(&tariffs, &tariff, job, tally)).collect()
}

fn difference(tariffs: &Tariffs, tariff: &Tariff, text: &str, tally: &mut Tally) -> Option<String> {
    let job = match parse_job("job.toml", text) {
        Ok((job, _)) => job,
        Err(report) => return Some(format!("the job cannot be read:\n{report}\n{text}")),
    };
    let ours = compare::of_engine(&evenfare_engine::quote(&job, &tariffs.editions()[0]));
    let job: Job = toml::from_str(text).unwrap();
    let quote = engine::quote(tariff, &job);
    tally.add(&job, &quote);
    let units: Vec<String> = job.units.iter().map(|unit| unit.id.clone()).collect();
    let unlike = ours.unlike(&compare::of_second(&quote, &units));
    (!unlike.is_empty()).then(|| format!("{}\n\n{text}", unlike.join("\n")))
}

/// The jobs of `EVENFARE_SEED`, which are the same each time.
fn runner(config: Config, number: u8) -> TestRunner {
    let seed = std::env::var("EVENFARE_SEED").unwrap_or_else(|_| "1".into());
    let mut bytes = [number; 32];
    bytes[..8].copy_from_slice(&seed.parse::<u64>().unwrap().to_be_bytes());
    TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &bytes))
}

/// As many worlds as that; the first that differs, made as plain as can be.
fn run(worlds: u32, number: u8) -> Tally {
    let config =
        Config { cases: worlds, failure_persistence: None, max_shrink_iters: 0, ..Config::default() };
    let tally = RefCell::new(Tally::default());
    let answer = runner(config, number).run(&world::draws(JOBS), |draws| {
        let differences = differences(&world::world(&draws), &mut tally.borrow_mut());
        if differences.is_empty() { Ok(()) } else { Err(TestCaseError::fail("they differ")) }
    });
    if let Err(TestError::Fail(_, draws)) = answer {
        let differ = |draws: &Seeds| differences(&world::world(draws), &mut Tally::default());
        let world = world::world(&world::plainest(draws, |draws| !differ(draws).is_empty()));
        let files: Vec<String> =
            world.tariff.iter().map(|(name, text)| format!("# {name}\n{text}")).collect();
        panic!("{}\n\n{}", differences(&world, &mut Tally::default()).join("\n---\n"), files.join("\n"));
    }
    tally.into_inner()
}

#[test]
fn two_engines_give_the_same_quote() {
    let began = Instant::now();
    let cores = thread::available_parallelism().map_or(1, |cores| cores.get() as u8);
    let worlds = Config::default().cases.div_ceil(JOBS as u32 * u32::from(cores));
    let mut tally = Tally::default();
    thread::scope(|scope| {
        let runs: Vec<_> = (0..cores).map(|number| scope.spawn(move || run(worlds, number))).collect();
        for run in runs {
            match run.join() {
                Ok(reached) => tally.merge(reached),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
    });
    let millis = began.elapsed().as_millis().max(1);
    println!(
        "{} jobs, {} a minute, of which reached\n{tally}",
        tally.cases,
        u128::from(tally.cases) * 60_000 / millis
    );
    if tally.cases >= 20_000 {
        assert!(tally.missing().is_empty(), "no case has reached {:?}", tally.missing());
    }
}
