//! `evenfare-crash [SEED]`: tries the states of every story, then controls in which something has to be lost.

use std::fs;
use std::path::Path;
use std::process::ExitCode;

use evenfare_crash::cuts::{Lie, Plan};
use evenfare_crash::op::Op;
use evenfare_crash::story::{Failed, Story, a_long_log, checkpoints_beside_the_writer, office_days, run};
use evenfare_crash::trial::{Broken, Outcome, try_all};
use evenfare_crash::vfs;

/// At least this many distinct states have to come up, or the stories have gone blind.
const STATES: u64 = 10_000;

const OFFICE: Plan =
    Plan { writes: 1_000, torn: 6, random: 5, missing: 40, twice: 10, killed: 20, careless: false };
const CHECKPOINTS: Plan =
    Plan { writes: 12, torn: 1, random: 1, missing: 2, twice: 2, killed: 1, careless: false };
const LONG: Plan = Plan { writes: 1, torn: 1, random: 1, missing: 1, twice: 1, killed: 0, careless: false };
/// Enough for something to be lost.
const CONTROL: Plan =
    Plan { writes: 200, torn: 1, random: 1, missing: 4, twice: 0, killed: 0, careless: false };

fn main() -> ExitCode {
    match tried() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn tried() -> Result<bool, Failed> {
    let seed = std::env::args().nth(1).map_or(Ok(7), |seed| seed.parse())?;
    vfs::register(seed).map_err(|code| format!("SQLite says {code}"))?;
    let office = run(office_days())?;
    let mut states = 0_u64;
    for (story, plan) in [
        (office.clone(), OFFICE),
        (run(checkpoints_beside_the_writer())?, CHECKPOINTS),
        (run(a_long_log())?, LONG),
    ] {
        let outcome = try_all(&story, plan, seed)?;
        println!("{}", told(&story, &outcome));
        if let Some(broken) = outcome.broken {
            keep(&broken)?;
            println!("LOST {}: {}", broken.at, broken.said);
            return Ok(false);
        }
        states = states.saturating_add(outcome.distinct);
    }
    println!("{states} distinct states, nothing lost and nothing by half");
    let careless = Plan { killed: 100, careless: true, ..CONTROL };
    let mut sees_all = states >= STATES;
    for (what, lie, plan) in [
        ("no flushes at all", Some(Lie::NoFlushes), CONTROL),
        ("no flushes of the log", Some(Lie::NoFlushesOf("-wal")), CONTROL),
        ("no flushes of the file", Some(Lie::NoFlushesOf("store.db")), CONTROL),
        ("no flushes of names", Some(Lie::NoNames), CONTROL),
        ("answers before the flush", Some(Lie::AnswersEarly), CONTROL),
        ("no flush of what a killed process has left", None, careless),
    ] {
        let ops = lie.map_or_else(|| office.ops.clone(), |lie| lie.told(&office.ops));
        let outcome = try_all(&Story { ops, ..office.clone() }, plan, seed)?;
        match outcome.broken {
            Some(broken) => {
                println!(
                    "control, {what}: lost, as it has to be, in state {}: {}",
                    outcome.distinct, broken.said
                );
            }
            None => {
                println!("control, {what}: NOTHING LOST in {} states", outcome.distinct);
                sees_all = false;
            }
        }
    }
    Ok(sees_all)
}

/// A line about a story.
fn told(story: &Story, outcome: &Outcome) -> String {
    let count = |is: fn(&Op) -> bool| story.ops.iter().filter(|op| is(op)).count();
    let writes = count(|op| matches!(op, Op::Wrote { .. }));
    let flushes = count(|op| matches!(op, Op::Flushed { .. } | Op::FolderFlushed));
    let Outcome { tried, distinct, twice, killed, took, .. } = outcome;
    let seconds = took.as_millis().max(1);
    let a_minute = u128::from(*distinct).saturating_mul(60_000).checked_div(seconds).unwrap_or(0);
    format!(
        "{}: {} events, {writes} writes, {flushes} flushes: {tried} states, {distinct} distinct ({twice} after a second \
         cut, {killed} after a kill), {}.{} s, {a_minute} a minute",
        story.name,
        story.records.len(),
        seconds / 1_000,
        seconds % 1_000 / 100,
    )
}

/// The files of a state that does not hold, where somebody wants to look at them.
fn keep(broken: &Broken) -> Result<(), Failed> {
    let Ok(folder) = std::env::var("EVENFARE_CRASH_KEEP") else { return Ok(()) };
    fs::create_dir_all(&folder)?;
    for (name, bytes) in &broken.left {
        fs::write(Path::new(&folder).join(name.as_ref()), bytes)?;
    }
    Ok(())
}
