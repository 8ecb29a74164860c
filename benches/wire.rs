//! What it costs to answer a request for a price: from the decoded job to the bytes of the quote.
#![allow(missing_docs, reason = "criterion's entry point")]

#[path = "../crates/engine/benches/pricing/world/mod.rs"]
mod world;

use std::error::Error;
use std::hint::black_box;

use criterion::{BatchSize, Criterion};
use evenfare::wire::{WrittenQuote, pb};
use evenfare_engine::job::Job;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::view::{Reader, view_of};
use evenfare_engine::{Refused, brief, quote};
use prost::Message;

/// As the server has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

type Price = fn(&Job, &Edition) -> Result<Quote, Refused>;

/// The whole way; nothing where the job is refused.
fn answered(wire: pb::Job, edition: &Edition, price: Price, reader: &Reader) -> Option<WrittenQuote> {
    let job = Job::try_from(wire).ok()?;
    let quote = price(&job, edition).ok()?;
    Some(WrittenQuote::from(&view_of(quote, reader)?))
}

fn main() -> Result<(), Box<dyn Error>> {
    let edition = Edition::new(world::tariff()?).map_err(|problems| format!("{problems:?}"))?;
    let job = world::job()?;
    let wire = pb::Job::from(&job);
    let sent = answered(wire.clone(), &edition, brief, &Reader::Office).ok_or("refused")?;
    let read = pb::Quote::decode(sent.as_bytes())?;
    assert_eq!(read.main.map(|main| main.end.map(|end| end.lines.len())), Some(Some(20)));

    let mut criterion = Criterion::default().configure_from_args();
    let mut group = criterion.benchmark_group("one job of 20 lines over the wire");
    for (name, price) in [("brief", brief as Price), ("quote", quote)] {
        for reader in [Reader::Office, Reader::Customer] {
            group.bench_function(format!("{name} for {reader}"), |b| {
                let answer = |wire| answered(wire, black_box(&edition), price, &reader);
                b.iter_batched(|| wire.clone(), answer, BatchSize::SmallInput);
            });
        }
    }
    group.bench_function("job read", |b| {
        b.iter_batched(|| wire.clone(), |wire| Job::try_from(wire).is_ok(), BatchSize::SmallInput);
    });
    group.bench_function("job priced in brief", |b| b.iter(|| brief(black_box(&job), &edition)));
    let quoted = brief(&job, &edition)?;
    group.bench_function("view of it", |b| {
        b.iter_batched(|| quoted.clone(), |quote| view_of(quote, &Reader::Office), BatchSize::SmallInput);
    });
    let seen = view_of(quoted, &Reader::Office).ok_or("no view")?;
    group.bench_function("bytes of it", |b| b.iter(|| WrittenQuote::from(black_box(&seen))));
    group.finish();
    criterion.final_summary();
    Ok(())
}
