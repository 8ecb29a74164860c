//! Quotes are kept as the office's message, for years: what is read back is the quote, whoever asks
//! for it; and what is damaged is refused with a reason.
//!
//! The quotes are those of the worked example and of worlds drawn at random. `PROPTEST_CASES` says
//! how many; each law tells on standard error what it has seen.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

/// The worlds of the laws, with more in them than is needed here.
#[allow(dead_code, unused_imports)]
mod laws {
    pub mod tape;
    pub mod worlds;
}

use std::cell::RefCell;
use std::io::Write;
use std::path::Path;
use std::sync::LazyLock;

use evenfare::wire::{InvalidQuote, WrittenQuote, pb};
use evenfare_engine::quote::{Draft, Quote};
use evenfare_engine::view::{Reader, view};
use evenfare_engine::{brief, planned, quote, revised};
use evenfare_files::{read_job, read_tariff};
use laws::tape;
use laws::tape::Tapes;
use laws::worlds::{Recipe, World};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseResult, TestRunner};
use prost::Message;

fn written(quote: &Quote, reader: &Reader) -> WrittenQuote {
    (&view(quote, reader).unwrap()).into()
}

fn message(quote: &Quote, reader: &Reader) -> pb::Quote {
    pb::Quote::decode(written(quote, reader).as_bytes()).unwrap()
}

fn kept(quote: &Quote) -> Vec<u8> {
    written(quote, &Reader::Office).as_bytes().to_vec()
}

fn read(bytes: &[u8]) -> Result<Quote, InvalidQuote> {
    Quote::try_from(&pb::Quote::decode(bytes).unwrap())
}

fn readers(quote: &Quote) -> impl Iterator<Item = Reader> {
    let partners = quote.route.iter().map(|party| Reader::Partner(party.code.clone()));
    [Reader::Office, Reader::Accountant, Reader::Customer].into_iter().chain(partners)
}

/// A quote that was kept is the quote, for every reader.
fn comes_back(quote: &Quote) -> TestCaseResult {
    let back = match read(&kept(quote)) {
        Ok(back) => back,
        Err(error) => return Err(TestCaseError::fail(format!("{error}: {error:?}"))),
    };
    prop_assert!(back == *quote, "{back:?}\nis not\n{quote:?}");
    for reader in readers(quote) {
        prop_assert!(view(&back, &reader) == view(quote, &reader), "for {reader}");
        is_written_as_others_write_it(quote, &reader)?;
    }
    Ok(())
}

/// To the byte, by the writer that comes with the messages.
fn is_written_as_others_write_it(quote: &Quote, reader: &Reader) -> TestCaseResult {
    let written = written(quote, reader);
    let by_others = message(quote, reader).encode_to_vec();
    prop_assert!(written.as_bytes() == by_others, "for {reader}: {written:?}, not {} bytes", by_others.len());
    Ok(())
}

/// What another reader sees lacks the cost lines, and is refused for that.
fn is_the_offices_alone(quote: &Quote) -> TestCaseResult {
    for reader in readers(quote).filter(|reader| !reader.sees_all()) {
        let refused = Quote::try_from(&message(quote, &reader));
        let problems = refused.as_ref().map_err(InvalidQuote::problems).unwrap_err();
        let costs = problems.iter().find(|problem| problem.place.as_str() == "main.costs");
        prop_assert_eq!(costs.map(|problem| problem.code), Some("missing_field"), "{:?}", problems);
    }
    Ok(())
}

/// The test harness captures `eprintln!` and not this.
fn told(law: &str, what: &str) {
    let _ = writeln!(std::io::stderr().lock(), "law {law}: {what}");
}

/// Holds a law on a world for each case, with something else drawn beside it.
fn drawn<S: Strategy>(law: &str, beside: S, check: impl FnMut(&World, S::Value) -> TestCaseResult) {
    let config = Config { failure_persistence: None, max_shrink_iters: 20_000, ..Config::default() };
    let check = RefCell::new(check);
    let held = TestRunner::new(config).run(&(Tapes { of: Recipe }, beside), |(recipe, beside)| {
        match World::new(&recipe.0) {
            Ok(world) => check.borrow_mut()(&world, beside),
            Err(_) => Ok(()),
        }
    });
    held.unwrap_or_else(|error| panic!("law {law} does not hold: {error}"));
}

/// The quotes of the worked example.
static DEMO: LazyLock<Vec<Quote>> = LazyLock::new(|| {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let tariffs = read_tariff(&bakery.join("tariff")).unwrap();
    let mut files: Vec<_> =
        std::fs::read_dir(bakery.join("jobs")).unwrap().map(|file| file.unwrap().path()).collect();
    files.sort();
    let jobs = files.iter().map(|path| read_job(path).unwrap().0);
    jobs.filter_map(|job| quote(&job, tariffs.on(job.received).unwrap()).ok()).collect()
});

#[test]
fn a_kept_quote_is_the_quote_in_the_worked_example() {
    assert!(DEMO.len() > 8, "{} quotes", DEMO.len());
    for quote in DEMO.iter() {
        comes_back(quote).unwrap();
        comes_back(&quote.reversed().unwrap()).unwrap();
        is_the_offices_alone(quote).unwrap();
    }
}

#[test]
fn a_kept_quote_is_the_quote() {
    let (mut cases, mut quotes, mut revisions) = (0, 0, 0);
    drawn("a_kept_quote_is_the_quote", Just(()), |world, ()| {
        cases += 1;
        let Ok(quote) = quote(&world.job, &world.edition) else { return Ok(()) };
        quotes += 1;
        comes_back(&quote)?;
        comes_back(&quote.reversed().unwrap())?;
        is_the_offices_alone(&quote)?;
        let direct = evenfare_engine::job::Job { route: Vec::new(), ..world.job.clone() };
        if let Ok(revision) = revised(&quote, &direct, &world.edition) {
            revisions += 1;
            comes_back(&revision)?;
            comes_back(&revision.reversed().unwrap())?;
        }
        Ok(())
    });
    told("a_kept_quote_is_the_quote", &format!("{cases} cases, {quotes} quotes, {revisions} revisions"));
    assert!(cases < 100 || quotes * 3 > cases * 2, "{quotes} quotes in {cases} cases");
}

#[test]
fn a_brief_quote_is_the_quote() {
    let (mut quotes, mut refusals) = (0, 0);
    drawn("a_brief_quote_is_the_quote", Just(()), |world, ()| {
        let whole = quote(&world.job, &world.edition);
        let without = |with_plan: bool| {
            whole.clone().map(|quote| {
                let mut draft = Draft::clone(&quote);
                for offer in &mut draft.offers {
                    offer.working.clear();
                    for unit in offer.units.iter_mut().filter(|_| !with_plan) {
                        unit.findings.clear();
                        unit.plan.clear();
                    }
                }
                draft.seal().unwrap()
            })
        };
        *if whole.is_ok() { &mut quotes } else { &mut refusals } += 1;
        prop_assert_eq!(planned(&world.job, &world.edition), without(true));
        prop_assert_eq!(brief(&world.job, &world.edition), without(false));
        Ok(())
    });
    told("a_brief_quote_is_the_quote", &format!("{quotes} quotes and {refusals} refusals"));
    let cases = quotes + refusals;
    assert!(cases < 100 || quotes * 3 > cases * 2, "{quotes} quotes in {cases} cases");
}

/// A quote, or a reason why not: sums that do not hold, or fields with place, code, and what was
/// expected there. What is a quote can be kept again.
fn is_clear(read: Result<Quote, InvalidQuote>) -> Result<bool, TestCaseError> {
    match read {
        Ok(quote) => comes_back(&quote).map(|()| true),
        Err(InvalidQuote::Unsealed(why)) => {
            prop_assert!(!why.to_string().is_empty());
            Ok(false)
        }
        Err(InvalidQuote::Fields(problems)) => {
            prop_assert!(!problems.is_empty());
            for problem in problems {
                prop_assert!(!problem.code.is_empty() && !problem.expected.is_empty(), "{problem:?}");
            }
            Ok(false)
        }
    }
}

#[test]
fn damaged_bytes_are_a_quote_or_a_clear_error() {
    let originals: Vec<Vec<u8>> = DEMO.iter().map(kept).collect();
    let config = Config { failure_persistence: None, ..Config::default() };
    // Mostly other letters and small numbers: bytes that are no text are no message to begin with.
    let byte = prop_oneof![8 => 0x20_u8..0x7f, 4 => 0_u8..8, 1 => any::<u8>()];
    let damage = proptest::collection::vec((any::<prop::sample::Index>(), byte), 1..3);
    let cut = prop::option::weighted(0.1, any::<prop::sample::Index>());
    let noise = prop::option::weighted(0.1, proptest::collection::vec(any::<u8>(), 0..200));
    let strategy = (0..originals.len(), damage, cut, noise);
    let (mut quotes, mut refused, mut unreadable) = (0, 0, 0);
    let seen = RefCell::new((&mut quotes, &mut refused, &mut unreadable));
    let held = TestRunner::new(config).run(&strategy, |(which, damage, cut, noise)| {
        let mut bytes = originals[which].clone();
        for (at, byte) in damage {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        let bytes = noise.unwrap_or(bytes);
        let (quotes, refused, unreadable) = &mut *seen.borrow_mut();
        match pb::Quote::decode(&*bytes) {
            Ok(wire) if is_clear(Quote::try_from(&wire))? => **quotes += 1,
            Ok(_) => **refused += 1,
            Err(_) => **unreadable += 1,
        }
        Ok(())
    });
    held.unwrap_or_else(|error| panic!("{error}"));
    let what = format!("{quotes} quotes still, {refused} refused, {unreadable} no messages");
    told("damaged_bytes_are_a_quote_or_a_clear_error", &what);
    assert!(quotes > 0 && refused > 0 && unreadable > 0, "{what}");
}

/// They stay as they are: a build that cannot read them any more loses what was kept by others.
#[test]
fn what_an_earlier_build_kept_is_read() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/archive");
    let files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()).collect();
    assert!(!files.is_empty());
    for file in files {
        let bytes = std::fs::read(&file).unwrap();
        let back = read(&bytes).unwrap_or_else(|error| panic!("{}: {error:?}", file.display()));
        assert!(kept(&back) == bytes, "{} would be kept in another way", file.display());
    }
}

/// What a change of a kept quote is refused for.
fn check(change: impl FnOnce(&mut pb::Quote), expect: &[&str]) {
    let with_route = DEMO.iter().find(|quote| quote.route.len() > 1).unwrap();
    let mut wire = message(with_route, &Reader::Office);
    change(&mut wire);
    let got = match Quote::try_from(&wire) {
        Ok(_) => Vec::new(),
        Err(InvalidQuote::Unsealed(why)) => vec![why.to_string()],
        Err(InvalidQuote::Fields(problems)) => {
            problems.iter().map(|problem| format!("{} {}", problem.place, problem.code)).collect()
        }
    };
    assert_eq!(got, expect);
}

fn main(quote: &mut pb::Quote) -> &mut pb::Offer {
    quote.main.as_mut().unwrap()
}

#[test]
fn what_contradicts_itself_is_refused_by_its_place() {
    check(|_| {}, &[]);
    check(|wire| wire.revision = 0, &["revision missing_field"]);
    check(|wire| main(wire).end = None, &["main.end missing_field"]);
    check(|wire| main(wire).end.as_mut().unwrap().gross = None, &["main.end contradiction"]);
    check(|wire| main(wire).contribution = None, &["main.contribution contradiction"]);
    check(|wire| main(wire).warranty = None, &["main.warranty contradiction"]);
    check(|wire| main(wire).sales[1].lines[0].id.push('x'), &["main.sales contradiction"]);
    check(|wire| main(wire).working[0].rule = "guessed".into(), &["main.working[0].rule unknown_rule"]);
    check(|wire| main(wire).working[0].rounding = 0, &["main.working[0].rounding unknown_number"]);
    check(|wire| main(wire).working[0].inputs[0].origin = None, &["main.working[0].inputs[0] missing_field"]);
    check(|wire| main(wire).units[0].plan[0].why.push('\n'), &["main.units[0].plan[0].why unknown_reason"]);
    let other = |wire: &mut pb::Quote| {
        main(wire).shares[0].share.as_mut().unwrap().currency_code = "CHF".into();
    };
    check(other, &["main.shares[0].share other_currency"]);
    let huge = |wire: &mut pb::Quote| main(wire).cost.as_mut().unwrap().amount_minor = i64::MIN;
    check(huge, &["main.cost too_large"]);
}

#[test]
fn a_sum_that_does_not_hold_is_not_sealed() {
    let to_another = |wire: &mut pb::Quote| main(wire).shares.reverse();
    check(to_another, &["whose shares there are of offer `main` cannot be so"]);
    let sold_on = |wire: &mut pb::Quote| main(wire).sales[0].buyer = "customer".into();
    check(sold_on, &["who sells to whom of offer `main` cannot be so"]);
    check(|wire| wire.reversal = true, &["what the workshop keeps of offer `main` cannot be so"]);
    let no_vat = |wire: &mut pb::Quote| main(wire).end.as_mut().unwrap().vat_due = None;
    check(no_vat, &["the VAT due of offer `main` cannot be so"]);
}
