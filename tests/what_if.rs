//! What would have been: quotes priced again by an edition that is only proposed, and by others of a partner's
//! agreements.
//!
//! The quotes are those of worlds drawn at random. `PROPTEST_CASES` says how many; each law tells on standard
//! error what it has seen.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

/// The worlds of the laws, with more in them than is needed here.
#[allow(dead_code, unused_imports)]
mod laws {
    pub mod tape;
    pub mod worlds;
    pub mod run;
}
#[path = "../crates/reconcile/tests/laws/world.rs"]
#[allow(dead_code)]
mod books;

use std::cell::RefCell;

use chrono::{Days, NaiveDate};
use evenfare::wire::{WrittenQuote, pb};
use evenfare_engine::job::Job;
use evenfare_engine::money::Percent;
use evenfare_engine::period::Span;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::{AgreementRow, DiscountRow, Edition, Tariff};
use evenfare_engine::view::{Reader, view};
use evenfare_engine::{brief, quote};
use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::firm::Firms;
use evenfare_reconcile::overview::Margin;
use evenfare_reconcile::reconcile;
use evenfare_reconcile::what_if::{Compared, NotTried, OtherAgreements, Past, Proposal, Trial, Tried};
use laws::run::{Tally, told};
use laws::worlds::World;
use laws::{run, tape, worlds};
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;
use prost::Message;

/// Holds a law on a world for each case. How many tariffs were refused is told and bounded, and so are the jobs that
/// the law could not use.
fn law(name: &str, check: impl FnMut(&World, &Tally) -> TestCaseResult) {
    let check = RefCell::new(check);
    run::law(name, "", |world, tally| check.borrow_mut()(world, tally));
}

/// Job and quote as they come back from where they are kept.
fn kept(job: &Job, quote: &Quote) -> (Job, Quote) {
    let job = pb::Job::decode(&*pb::Job::from(job).encode_to_vec()).unwrap();
    let written: WrittenQuote = (&view(quote, &Reader::Office).unwrap()).into();
    let quote = pb::Quote::decode(written.as_bytes()).unwrap();
    (Job::try_from(job).unwrap(), Quote::try_from(&quote).unwrap())
}

/// The job by every route that the edition allows, each priced; where none is, that is counted.
fn quoted(world: &World, tally: &Tally) -> Vec<(Job, Quote)> {
    let routes = world.edition.routes();
    let jobs = routes.iter().map(|route| world.job.by_route(route));
    let jobs = std::iter::once(world.job.clone()).chain(jobs);
    let quoted: Vec<_> =
        jobs.filter_map(|job| Some((job.clone(), world.quoted(&job, tally).ok()?))).collect();
    if quoted.is_empty()
        && let Err(refused) = quote(&world.job, &world.edition)
    {
        tally.refuse(&refused);
    }
    quoted
}

/// Each offer of a quote, tried; none where a sum is too large in another currency.
fn tried(proposal: &Proposal, job: &Job, quote: &Quote) -> Vec<Tried> {
    let mut firms = Firms::default();
    let offers = quote.offers.iter().map(|offer| {
        let past = Past { number: "Q-2026-00001", job, quote, accepted: Some(&offer.id) };
        match proposal.tried(&past, &mut firms) {
            Ok(tried) => Some(tried),
            Err(NotTried::Overflow(_)) => None,
            Err(error) => panic!("{error}"),
        }
    });
    offers.flatten().collect()
}

fn unchanged(tried: &[Tried], edition: &Edition) -> TestCaseResult {
    let mut trial = Trial::new(edition);
    for one in tried {
        prop_assert_eq!(one.now.as_ref(), Ok(&one.then));
        trial.add(one).unwrap();
    }
    prop_assert_eq!(trial.all.then, trial.all.now);
    let parts = trial.by_partner.values().chain(trial.by_family.values()).chain(trial.by_route.values());
    for Compared { then, now } in parts {
        prop_assert_eq!(then, now);
    }
    prop_assert_eq!((trial.same(), trial.refusals()), (tried.len() as u64, 0));
    prop_assert!(trial.largest.is_empty());
    Ok(())
}

#[test]
fn the_same_edition_changes_nothing() {
    let mut offers = 0;
    law("the_same_edition_changes_nothing", |world, tally| {
        let proposal = Proposal::new(world.edition.clone(), std::slice::from_ref(&world.edition));
        for (job, quote) in quoted(world, tally) {
            let (job, quote) = kept(&job, &quote);
            let tried = tried(&proposal, &job, &quote);
            offers += tried.len();
            unchanged(&tried, &world.edition)?;
        }
        Ok(())
    });
    told("the_same_edition_changes_nothing", &format!("{offers} offers"));
    assert!(offers > 100, "{offers} offers");
}

/// The same rows with days of their own, which cover no day of the job. Of each partner's agreements that of the
/// job's day is left, and holds on those days.
fn later(world: &World) -> Option<Edition> {
    let from = world.job.received.checked_add_days(Days::new(400)).unwrap();
    let mut tariff = world.tariff.clone();
    tariff.edition = "LATER".parse().unwrap();
    tariff.span = Span { from, until: None };
    let (holding, others): (Vec<AgreementRow>, Vec<AgreementRow>) =
        tariff.agreements.drain(..).partition(|row| row.span.contains(world.job.received));
    tariff.discounts.retain(|row| !others.iter().any(|other| other.code == row.agreement));
    tariff.credits.retain(|row| !others.iter().any(|other| other.code == row.agreement));
    tariff.agreements =
        holding.into_iter().map(|row| AgreementRow { span: Span { from, until: None }, ..row }).collect();
    tariff.currency_rates.clear();
    for row in &mut tariff.vat_rates {
        row.percent = "11".parse().unwrap();
    }
    Edition::new(tariff).ok()
}

#[test]
fn the_days_of_a_proposal_do_not_count() {
    let (mut offers, mut unmade) = (0, 0);
    law("the_days_of_a_proposal_do_not_count", |world, tally| {
        let Some(later) = later(world) else {
            unmade += 1;
            return Ok(());
        };
        let proposal = Proposal::new(later, std::slice::from_ref(&world.edition));
        for (job, quote) in quoted(world, tally) {
            prop_assert!(brief(&job, proposal.edition()).is_err(), "its days cover the job's");
            let tried = tried(&proposal, &job, &quote);
            offers += tried.len();
            unchanged(&tried, proposal.edition())?;
        }
        Ok(())
    });
    told("the_days_of_a_proposal_do_not_count", &format!("{offers} offers, {unmade} editions not made"));
    assert!(offers > 100 && unmade * 20 < offers, "{offers} offers, {unmade} editions not made");
}

/// Another tariff: other markups, discounts and prices, and some findings less.
fn changed(world: &World) -> Option<Edition> {
    let mut draw = world.choices(0);
    let mut tariff: Tariff = world.tariff.clone();
    tariff.edition = "NEXT".parse().unwrap();
    for row in &mut tariff.markups {
        row.percent = Percent::from_scaled(draw.within(0, 1_500_000)).unwrap();
    }
    for row in &mut tariff.discounts {
        if draw.chance(30) {
            row.percent = Percent::from_scaled(draw.within(0, 300_000)).unwrap();
        }
    }
    if draw.chance(30) && tariff.findings.len() > 1 {
        let gone = draw.pick(&tariff.findings).code.clone();
        tariff.findings.retain(|row| row.code != gone);
        tariff.finding_steps.retain(|row| row.finding != gone);
    }
    Edition::new(tariff).ok()
}

/// End price, shares, what the workshop keeps, cost.
fn sums<'m>(margins: impl Iterator<Item = &'m Margin>) -> [i64; 4] {
    margins.fold([0; 4], |sums, margin| {
        let of = [margin.end_net_minor, margin.shares_minor, margin.workshop_net_minor, margin.cost_minor];
        std::array::from_fn(|place| sums[place] + of[place])
    })
}

#[test]
fn totals_are_sums_of_parts() {
    let (mut quotes, mut refused, mut converted, mut unmade) = (0, 0, 0, 0);
    law("totals_are_sums_of_parts", |world, tally| {
        let Some(next) = changed(world) else {
            unmade += 1;
            return Ok(());
        };
        let proposal = Proposal::new(next, std::slice::from_ref(&world.edition));
        let mut trial = Trial::new(proposal.edition());
        let other = |(job, _): &(Job, Quote)| Job { currency: None, ..job.clone() };
        let all = quoted(world, tally);
        let in_its_own = all.iter().map(other).filter_map(|job| {
            let quote = quote(&job, &world.edition).ok()?;
            Some((job, quote))
        });
        let all: Vec<_> = in_its_own.chain(all.iter().cloned()).collect();
        let all: Vec<Tried> = all.iter().flat_map(|(job, quote)| tried(&proposal, job, quote)).collect();
        for one in &all {
            trial.add(one).unwrap();
        }
        prop_assert_eq!(trial.tried(), all.len() as u64);
        let comparable = trial.all.then.quotes;
        prop_assert_eq!(trial.all.now.quotes, comparable);
        prop_assert_eq!(trial.steps().map(|step| step.quotes).sum::<u64>(), comparable);
        prop_assert_eq!(trial.cheaper() + trial.same() + trial.dearer(), comparable);
        for of in [|both: &Compared| both.then, |both: &Compared| both.now] {
            let whole = of(&trial.all);
            let parts =
                |parts: Vec<&Compared>| sums(parts.iter().map(|both| of(both)).collect::<Vec<_>>().iter());
            prop_assert_eq!(parts(trial.by_route.values().collect()), sums([&whole].into_iter()));
            prop_assert_eq!(parts(trial.by_family.values().collect()), sums([&whole].into_iter()));
            prop_assert_eq!(parts(trial.by_partner.values().collect())[1], whole.shares_minor);
            prop_assert_eq!(whole.end_net_minor, whole.shares_minor + whole.workshop_net_minor);
        }
        // What needs no conversion is added up as it stands.
        if trial.converted == 0 {
            let compared = || all.iter().filter_map(|one| Some((&one.then, one.now.as_ref().ok()?)));
            prop_assert_eq!(sums(compared().map(|(then, _)| then)), sums([&trial.all.then].into_iter()));
            prop_assert_eq!(sums(compared().map(|(_, now)| now)), sums([&trial.all.now].into_iter()));
        }
        quotes += comparable;
        refused += trial.refusals();
        converted += trial.converted;
        Ok(())
    });
    let what = format!(
        "{quotes} quotes compared, {converted} of them converted, {refused} refused, {unmade} editions not made"
    );
    told("totals_are_sums_of_parts", &what);
    assert!(quotes > 100 && refused > 0 && converted > 0 && unmade * 20 < quotes, "{what}");
}

/// The world with two agreements of one partner: that of the job's day, and one that begins after it.
fn with_another_agreement(world: &World, partner: usize) -> Option<(Edition, Tariff)> {
    let mut draw = world.choices(1);
    let mut tariff = world.tariff.clone();
    let partner = world.job.route[partner].partner.clone();
    let is_his = |row: &AgreementRow| row.partner == partner;
    let own =
        tariff.agreements.iter().find(|row| is_his(row) && row.span.contains(world.job.received))?.clone();
    tariff.agreements.retain(|row| !is_his(row));
    let last = world.job.received.checked_add_days(Days::new(3)).unwrap();
    let mut add = |code: &str, span: Span| {
        let code = code.parse().unwrap();
        tariff.agreements.push(AgreementRow { code, span, ..own.clone() });
    };
    add(own.code.as_str(), Span { from: own.span.from, until: Some(last) });
    add("OTHER", Span { from: last.succ_opt().unwrap(), until: None });
    for row in tariff.discounts.clone().iter().filter(|row| row.agreement == own.code) {
        let percent = Percent::from_scaled(draw.within(0, 250_000)).unwrap();
        tariff.discounts.push(DiscountRow { agreement: "OTHER".parse().unwrap(), percent, ..row.clone() });
    }
    for row in tariff.credits.clone() {
        if row.agreement == own.code && draw.chance(70) {
            tariff
                .credits
                .push(evenfare_engine::tariff::CreditRow { agreement: "OTHER".parse().unwrap(), ..row });
        }
    }
    // The same with the other alone, on all days: what would have been, by rows and not by us.
    let mut alone = tariff.clone();
    alone.agreements.retain(|row| row.code != own.code);
    for row in alone.agreements.iter_mut().filter(|row| is_his(row)) {
        row.span = Span { from: NaiveDate::from_ymd_opt(1990, 1, 1).unwrap(), until: None };
    }
    alone.discounts.retain(|row| row.agreement != own.code);
    alone.credits.retain(|row| row.agreement != own.code);
    Some((Edition::new(tariff).ok()?, alone))
}

/// Our invoice, or that of a partner, of the sale to one who keeps so much more: what is found of shares. Nothing
/// where sums are too large for books.
fn differences(agreed: &Agreed, sale: usize, more: i64) -> Option<Vec<(Reason, i64)>> {
    let mut inputs = books::empty();
    let on = agreed.invoice_by;
    inputs.terms.currency = agreed.currency;
    inputs.terms.until = on + Days::new(60);
    let reverse_charge = 1;
    for (place, as_agreed) in agreed.sales.iter().enumerate() {
        let net = as_agreed.net.minor() - if place == sale { more } else { 0 };
        let vat = if place == sale { books::groups(reverse_charge, net) } else { as_agreed.vat.clone() };
        inputs.invoices.push(books::invoice(agreed, 7, place, &vat, net));
    }
    inputs.agreed.push(agreed.clone());
    let found = match reconcile(&inputs) {
        Ok(reconciled) => reconciled.differences,
        Err(Unreconciled::Overflow(_)) => return None,
        Err(error) => panic!("{error}"),
    };
    let reasons = found.iter().map(|found| (found.difference.reason, found.difference.amount_minor));
    Some(reasons.filter(|(reason, _)| of_shares(*reason)).collect())
}

fn of_shares(reason: Reason) -> bool {
    matches!(reason, Reason::AgreementDate | Reason::ShareBeyond | Reason::ShareBelow)
}

#[test]
fn an_invoice_by_another_agreement_is_found() {
    let (mut cases, mut invoices, mut refused) = (0, 0, 0);
    // What says nothing of an invoice, and why.
    let (mut direct, mut unmade, mut unquoted, mut alike) = (0, 0, 0, 0);
    law("an_invoice_by_another_agreement_is_found", |world, tally| {
        cases += 1;
        if world.job.route.is_empty() {
            direct += 1;
            return Ok(());
        }
        let place = world.choices(2).below(world.job.route.len() as u64) as usize;
        let Some((edition, alone)) = with_another_agreement(world, place) else {
            unmade += 1;
            return Ok(());
        };
        let Ok(issued) = world.priced_by(&world.job, &edition, tally) else {
            unquoted += 1;
            return Ok(());
        };
        let past = Past { number: "Q-2026-0007", job: &world.job, quote: &issued, accepted: Some("main") };
        let mut firms = Firms::default();
        let mut agreed = Agreed::new(past.number, &issued, "main", issued.quoted, &mut firms).unwrap();
        let others = OtherAgreements::new(std::slice::from_ref(&edition));
        others.note(&mut agreed, &past, &mut firms);
        let noted = agreed.shares[place].by_others.iter().find(|(code, _)| &**code == "OTHER");
        let Ok(would_be) = quote(&world.job, &Edition::new(alone).unwrap()) else {
            refused += 1;
            prop_assert_eq!(noted, None);
            return Ok(());
        };
        let would_be = would_be.offers[0].shares[place].share;
        prop_assert_eq!(noted.map(|(_, share)| *share), Some(would_be));
        let more = would_be.minor() - agreed.shares[place].share.minor();
        let net = agreed.sales[place].net.minor();
        if more.abs() > 2 && net - more > 0 && net > 0 {
            let Some(found) = differences(&agreed, place, more) else {
                unmade += 1;
                return Ok(());
            };
            invoices += 1;
            prop_assert_eq!(found, [(Reason::AgreementDate, more)]);
        } else {
            alike += 1;
        }
        Ok(())
    });
    let what = format!(
        "{invoices} invoices of {cases} worlds; {refused} would be refused, {alike} come to the same, {direct} are \
         direct, {unquoted} not quoted, {unmade} not made"
    );
    told("an_invoice_by_another_agreement_is_found", &what);
    // One world in seven has such an invoice: of a few worlds there may be hardly any.
    assert!(cases < 200 || (invoices * 25 > cases && unmade * 2 < cases), "{what}");
}
