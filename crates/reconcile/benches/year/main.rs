//! A year of quotes, papers and payments reconciled in one call: time, and memory at its peak.
//!
//! `cargo bench -p evenfare-reconcile --bench year` takes years of 10 000, 100 000 and 1 000 000 quotes, each
//! in a process of its own; to each quote its invoice, to six fifths of them payments. With a number it
//! takes one year of that many quotes; with `--test` it only shows that it runs. Where `EVENFARE_DUCKDB` names a
//! Python that has DuckDB, the same year is joined and summed by it as well, on two threads, and has to come to
//! the same.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::float_arithmetic)]

mod world;
mod beside;

use std::process::Command;
use std::time::Instant;

use evenfare_reconcile::reconcile;

use world::WRONG;

/// That of the command.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let is_test = given.iter().any(|one| one == "--test");
    let asked = given.iter().find_map(|one| one.parse::<usize>().ok());
    if let Some(quotes) = asked.or(is_test.then_some(1_000)) {
        return year(quotes);
    }
    println!(
        "quotes      payments    made, s   peak, MiB   reconciled, s   of the CPU, s   peak, MiB   CPU ns / (n log2 n)   DuckDB, s   peak, MiB"
    );
    for quotes in [10_000, 100_000, 1_000_000] {
        let own = std::env::current_exe().unwrap();
        assert!(Command::new(own).arg(quotes.to_string()).status().unwrap().success());
    }
}

fn year(quotes: usize) {
    let began = Instant::now();
    let inputs = world::inputs(quotes);
    let made = began.elapsed().as_secs_f64();
    let before = peak_mib();
    let payments: usize =
        inputs.statements.iter().flat_map(|one| &one.batches).map(|one| one.payments.len()).sum();
    let (began, cpu) = (Instant::now(), cpu_seconds());
    let reconciled = reconcile(&inputs).unwrap();
    let (taken, cpu) = (began.elapsed().as_secs_f64(), cpu_seconds() - cpu);
    let wrong = quotes.div_ceil(WRONG);
    let told =
        |code: &str| reconciled.differences.iter().filter(|one| one.difference.reason.code() == code).count();
    assert_eq!((told("charged_more") + told("share_below"), told("unpaid")), (wrong, wrong));
    assert_eq!(reconciled.differences.len(), 2 * wrong);
    assert!(reconciled.undecided.is_empty(), "{:?}", reconciled.undecided.first());
    let n = quotes as f64;
    let peak = peak_mib();
    let python = std::env::var("EVENFARE_DUCKDB").ok();
    let beside = python.map(|python| beside::by_duckdb(&python, &inputs, &reconciled));
    let (by_duckdb, its_peak) = beside.unwrap_or_default();
    println!(
        "{quotes:<11} {payments:<11} {made:<9.2} {before:<11} {taken:<15.3} {cpu:<15.2} {peak:<11} {:<21.0} {by_duckdb:<11} {its_peak}",
        cpu * 1e9 / (n * n.log2()),
    );
    match by_duckdb.parse::<f64>() {
        Ok(theirs) => println!("row|year|{taken:.2} s|{theirs:.2} s|{:.2}", theirs / taken),
        Err(_) => println!("without|year|EVENFARE_DUCKDB names no Python that has DuckDB"),
    }
}

/// What this process had of the CPU, of both kinds, in the kernel's hundredths of a second.
fn cpu_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = stat.rsplit(')').next().unwrap_or_default().split(' ').skip(12).take(2);
    fields.filter_map(|ticks| ticks.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// The most memory this process ever had, as the kernel counts it.
fn peak_mib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().strip_suffix("kB")?.trim().parse::<u64>().ok()).unwrap_or_default()
        / 1024
}
