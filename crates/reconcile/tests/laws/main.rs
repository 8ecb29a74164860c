//! The laws of month end, over generated months.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

mod world;
mod kinds;
mod faults;
mod threads;
mod bonuses;
mod closings;
mod transit;
mod pairs;
mod ties;
mod accounts;

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::Difference;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{CourierBill, InvoiceKind, Leg, Statement};
use evenfare_reconcile::journal::{Event, Journal, Posting, Source};
use evenfare_reconcile::month::Month as Period;
use evenfare_reconcile::overview::Margin;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use faults::{Expected, month, some_faults};
use kinds::Fault;
use ties::figures_are_of_papers;
use world::bank::Account;
use world::{Plan, day, plans};

/// The differences that were found, as far as faults foresee them.
fn found(reconciled: &Reconciled) -> Vec<Expected> {
    let differences = reconciled.differences.iter().map(|found| &found.difference);
    let told = |one: &Difference| (one.reason, one.quote.as_deref().map(str::to_owned), one.amount_minor);
    let mut found: Vec<Expected> = differences.map(told).collect();
    found.sort();
    found
}

fn check(plans: &[Plan], faults: &[(usize, Fault)]) {
    let month = month(plans, faults);
    let reconciled = reconcile(&month.inputs).unwrap();
    assert_eq!(found(&reconciled), month.expected, "{faults:?}");
    assert!(reconciled.undecided.is_empty(), "{faults:?}: {:?}", reconciled.undecided);
    for found in &reconciled.differences {
        assert!(!found.difference.documents.is_empty(), "{found:?}");
    }
    figures_are_of_papers(&month.inputs, &reconciled);
    balances(&reconciled.journal);
}

/// Every transaction adds up to nothing, and so do the accounts. They stand in the order of the books.
fn balances(journal: &Journal) {
    assert!(journal.transactions().map(|(one, _)| (one.posted, &one.source, one.day)).is_sorted());
    for (one, postings) in journal.transactions() {
        let sum: i128 = postings.iter().map(|posting| i128::from(posting.base_minor)).sum();
        assert_eq!(sum, 0, "{one:?} {postings:?}");
        // In each currency too, but for what the books' own currency makes up for.
        let mut sums: HashMap<_, i128> = HashMap::new();
        for posting in postings {
            *sums.entry(posting.currency).or_default() += i128::from(posting.minor);
        }
        assert!(sums.len() > 1 || sums.values().all(|sum| *sum == 0) || one.source.event.word() == "payment");
    }
    let all: i128 = journal.balances().unwrap().iter().map(|(_, sum)| sum).sum();
    assert_eq!(all, 0);
}

/// What parties owe or paid for nothing yet, in each currency and in that of the books, but for what comes to nothing.
fn owed(journal: &Journal) -> Vec<(Option<Arc<str>>, Currency, [i64; 2])> {
    let mut owed: BTreeMap<(Option<Arc<str>>, Currency), [i64; 2]> = BTreeMap::new();
    for (one, postings) in journal.transactions() {
        for posting in postings.iter().filter(|one| [Role::Receivable, Role::Unapplied].contains(&one.role)) {
            let [minor, base] = owed.entry((one.source.party.clone(), posting.currency)).or_default();
            (*minor, *base) = (*minor + posting.minor, *base + posting.base_minor);
        }
    }
    let left = owed.into_iter().filter(|(_, sums)| *sums != [0, 0]);
    left.map(|((party, currency), sums)| (party, currency, sums)).collect()
}

/// What an invoice says of VAT in the books' currency is what is posted, and a credit note that takes all of it back
/// turns it round.
fn says_vat(inputs: &Inputs, journal: &Journal) {
    let said: HashMap<&str, i64> = inputs
        .invoices
        .iter()
        .filter_map(|invoice| {
            let sign = if invoice.kind == InvoiceKind::CreditNote { -1 } else { 1 };
            Some((&*invoice.number, sign * invoice.accounting_vat?.minor))
        })
        .collect();
    for (one, postings) in journal.transactions().filter(|(one, _)| one.source.event == Event::Invoice) {
        let Some(said) = said.get(&*one.source.document) else { continue };
        let posted = postings.iter().filter(|posting| posting.role == Role::VatPayable);
        assert_eq!(posted.map(|posting| -posting.base_minor).sum::<i64>(), *said, "{one:?}");
    }
}

/// Everything in another order: files, rows, and entries only where they are no order of their own.
fn shuffled(mut inputs: Inputs, seed: u64) -> Inputs {
    fn shuffle<T>(rows: &mut [T], seed: &mut u64) {
        for last in (1..rows.len()).rev() {
            *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            rows.swap(last, usize::try_from(*seed >> 33).unwrap() % (last + 1));
        }
    }
    let mut seed = seed;
    shuffle(&mut inputs.agreed, &mut seed);
    shuffle(&mut inputs.invoices, &mut seed);
    shuffle(&mut inputs.charges, &mut seed);
    shuffle(&mut inputs.statements, &mut seed);
    shuffle(&mut inputs.courier_bills, &mut seed);
    shuffle(&mut inputs.work_done, &mut seed);
    shuffle(&mut inputs.decisions, &mut seed);
    shuffle(&mut inputs.closings, &mut seed);
    inputs
}

/// With a consignment carried in June, so that June is the first month of the books.
fn of_june(mut inputs: Inputs) -> Inputs {
    inputs.courier_bills.push(CourierBill {
        place: world::place("first.csv", 2),
        courier: "Swift Cart".into(),
        bill: "C-1".into(),
        consignment: "1".into(),
        quote: "Q-2025-9999".into(),
        leg: Leg::Out,
        carried: day(0),
        currency: inputs.terms.currency,
        net_minor: 1_234,
    });
    inputs
}

/// A second account, on which somebody whom nobody knows pays once and says nothing.
fn by_a_stranger(on: u64, minor: i64) -> Vec<Statement> {
    let stranger = Firm { id: "stranger".into(), name: "A Stranger".into(), vat_id: None };
    let mut account = Account::default();
    account.book(day(on), vec![world::payment(minor, &stranger, "")]);
    let mut statements = account.statements();
    statements.iter_mut().for_each(|one| one.account = "AT61 1904 3002 3457 3201".into());
    statements
}

/// What was posted in a month.
fn posted(journal: &Journal, month: Period) -> Vec<(Source, NaiveDate, Vec<Posting>)> {
    let all = journal.transactions().filter(|(one, _)| Period::of(one.posted) == month);
    all.map(|(one, postings)| (one.source.clone(), one.day, postings.to_vec())).collect()
}

/// As many cases as are asked for; a failure is shown, not kept in a file.
fn config() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn a_clean_month_has_no_difference(plans in plans()) {
        check(&plans, &[]);
        let books = reconcile(&month(&plans, &[]).inputs).unwrap();
        prop_assert_eq!(&books.warnings, &[]);
        prop_assert_eq!(owed(&books.journal), [], "all have paid");
    }

    #[test]
    fn each_injected_fault_is_found_once((plans, faults) in some_faults()) {
        check(&plans, &faults);
    }

    #[test]
    fn journal_balances((plans, faults) in some_faults()) {
        let month = month(&plans, &faults);
        let reconciled = reconcile(&month.inputs).unwrap();
        balances(&reconciled.journal);
        // What the bank says it holds is what the books say it holds, in each currency.
        let mut held: BTreeMap<Currency, i64> = BTreeMap::new();
        for one in &month.inputs.statements {
            *held.entry(one.currency).or_default() += one.closing.minor - one.opening.minor;
        }
        for posting in reconciled.journal.transactions().flat_map(|(_, postings)| postings) {
            if posting.role == Role::Bank {
                *held.entry(posting.currency).or_default() -= posting.minor;
            }
        }
        prop_assert!(held.values().all(|left| *left == 0), "{:?}", held);
        says_vat(&month.inputs, &reconciled.journal);
    }

    /// A balance that is off by anything, or a statement that is not there, parts the chain.
    #[test]
    fn a_changed_balance_is_refused((plans, faults) in some_faults(), at in any::<Index>(), off in 1..1_000_i64) {
        let inputs = month(&plans, &faults).inputs;
        // Those of one account.
        let own = |one: &&Statement| one.account == inputs.statements[0].account;
        let statements = inputs.statements.iter().take_while(own).count();
        if statements < 2 {
            return Ok(());
        }
        let at = at.index(statements - 1);
        let parts = |change: &dyn Fn(&mut Inputs)| {
            let mut changed = inputs.clone();
            change(&mut changed);
            matches!(reconcile(&changed), Err(Unreconciled::StatementsUntied { untied }) if untied.len() == 1)
        };
        prop_assert!(parts(&|inputs| inputs.statements[at].closing.minor += off));
        prop_assert!(parts(&|inputs| inputs.statements[at + 1].opening.minor -= off));
        // Nothing is missing where a statement says that nothing moved.
        let Statement { opening, closing, .. } = &inputs.statements[at];
        let parted = at > 0 && opening.minor != closing.minor;
        prop_assert_eq!(parts(&|inputs| drop(inputs.statements.remove(at))), parted);
    }

    #[test]
    fn closings_are_next_openings((plans, faults) in some_faults()) {
        let reconciled = reconcile(&month(&plans, &faults).inputs).unwrap();
        let months = reconciled.accounts.months();
        prop_assert!(months.is_sorted_by_key(|one| (&one.party, one.currency, one.month)));
        // Every month in which something was posted to what a party owes is there, with what was invoiced in it.
        let mut posted = BTreeMap::new();
        for (one, postings) in reconciled.journal.transactions() {
            for posting in postings.iter().filter(|posting| posting.role == Role::Receivable) {
                let party = one.source.party.clone().unwrap();
                let invoiced: &mut i64 = posted.entry((party, posting.currency, Period::of(one.posted))).or_default();
                if one.source.event == Event::Invoice {
                    *invoiced += posting.minor;
                }
            }
        }
        for ((party, currency, month), invoiced) in &posted {
            let own = months.iter().find(|own| (&own.party, own.currency, own.month) == (party, *currency, *month));
            prop_assert_eq!(own.unwrap().invoiced_minor, *invoiced);
        }
        prop_assert_eq!(months.iter().map(|own| own.invoiced_minor).sum::<i64>(), posted.values().sum::<i64>());
        for own in months.chunk_by(|a, b| (&a.party, a.currency) == (&b.party, b.currency)) {
            prop_assert_eq!(own[0].opening_minor, 0);
            for (before, after) in own.iter().zip(&own[1..]) {
                prop_assert!(before.month < after.month);
                prop_assert_eq!(before.closing_minor, after.opening_minor);
            }
            let mut opening = 0;
            let mut month: Period = "2026-05".parse().unwrap();
            // Every month, also those in which nothing moved, line by line.
            while month <= "2026-09".parse().unwrap() {
                let (party, currency) = (&own[0].party, own[0].currency);
                let account = &reconciled.accounts;
                let statement = account.statement(&reconciled.journal, party, currency, month).unwrap();
                prop_assert_eq!(statement.opening_minor, opening);
                opening += statement.lines.iter().map(|line| line.minor).sum::<i64>();
                prop_assert_eq!(statement.closing_minor, opening);
                month = month.next();
            }
            prop_assert_eq!(own[own.len() - 1].closing_minor, opening);
        }
        for month in months {
            let moved = month.invoiced_minor + month.paid_minor + month.other_minor;
            prop_assert_eq!(month.opening_minor + moved, month.closing_minor);
        }
    }

    #[test]
    fn margins_add_up((plans, faults) in some_faults()) {
        let reconciled = reconcile(&month(&plans, &faults).inputs).unwrap();
        let overview = &reconciled.overview;
        let amounts = |margin: &Margin| [
            margin.end_net_minor,
            margin.shares_minor,
            margin.workshop_net_minor,
            margin.cost_minor,
            margin.contribution_minor(),
        ];
        let sum = |margins: Vec<&Margin>| {
            margins.iter().fold([0; 5], |sum: [i64; 5], margin| {
                let own = amounts(margin);
                std::array::from_fn(|place| sum[place] + own[place])
            })
        };
        let all = amounts(&overview.all);
        prop_assert_eq!(sum(overview.by_family.values().collect()), all);
        prop_assert_eq!(sum(overview.by_route.values().collect()), all);
        prop_assert_eq!(sum(overview.by_month.values().collect()), all);
        prop_assert_eq!(sum(overview.by_partner.values().collect())[1], overview.all.shares_minor);
        // What was invoiced ties to the journal; without a fault, to what was agreed as well.
        let revenue = reconciled.journal.balances().unwrap();
        let (_, revenue) = revenue.into_iter().find(|(role, _)| role.word() == "revenue").unwrap();
        prop_assert_eq!(i128::from(overview.invoiced_minor().unwrap()), -revenue);
        let clean = reconcile(&month(&plans, &[]).inputs).unwrap().overview;
        if plans.iter().all(|plan| !plan.in_dollars) {
            for (month, agreed, invoiced) in clean.months() {
                prop_assert_eq!(invoiced, agreed.workshop_net_minor, "{}", month);
            }
        }
        let quotes = overview.by_month.values().map(|margin| margin.quotes).sum::<u64>();
        prop_assert_eq!(quotes, overview.all.quotes);
    }

    /// Our invoices are posted to whom they are to on the days they were issued, whatever the last day is that is looked at,
    /// and whenever quotes were accepted.
    #[test]
    fn what_was_invoiced_does_not_depend_on_the_last_day(
        (plans, faults) in some_faults(),
        accepted in 0_u64..80,
        last in 0_u64..80,
    ) {
        let mut inputs = month(&plans, &faults).inputs;
        inputs.agreed.iter_mut().for_each(|one| one.accepted = one.accepted.max(day(accepted)));
        let invoiced = |inputs: &Inputs| {
            let books = reconcile(inputs).unwrap();
            // What is asked about is posted when it is answered.
            let is_asked = books.undecided.iter().any(|one| one.payment.is_none());
            let own = books.journal.transactions().filter(|(one, _)| one.source.event == Event::Invoice);
            let own = own.filter(|(one, _)| one.day <= day(last));
            // Of a credit note that names no invoice, the rate is that of the quote's.
            let sides = |all: &[Posting]| all.iter().map(|one| (one.role, one.currency, one.minor)).collect::<Vec<_>>();
            let own = own.map(|(one, all)| (one.source.clone(), one.day, sides(all))).collect::<Vec<_>>();
            (!is_asked).then_some(own)
        };
        let whole = invoiced(&inputs);
        inputs.terms.until = day(last);
        if let (Some(whole), Some(early)) = (whole, invoiced(&inputs)) {
            prop_assert_eq!(early, whole);
        }
    }

    #[test]
    fn order_of_files_does_not_matter((plans, faults) in some_faults(), seed in any::<u64>()) {
        let inputs = month(&plans, &faults).inputs;
        let one = reconcile(&inputs).unwrap();
        let other = reconcile(&shuffled(inputs, seed)).unwrap();
        prop_assert_eq!(one, other);
    }

    #[test]
    fn loading_twice_changes_nothing((plans, faults) in some_faults(), seed in any::<u64>()) {
        let inputs = month(&plans, &faults).inputs;
        let once = reconcile(&inputs).unwrap();
        let mut twice = inputs.clone();
        let again = shuffled(inputs.clone(), seed);
        twice.agreed.extend(again.agreed);
        twice.invoices.extend(again.invoices);
        twice.charges.extend(again.charges);
        twice.statements.extend(again.statements);
        twice.courier_bills.extend(again.courier_bills);
        twice.work_done.extend(again.work_done);
        // The copy of a file has another name; what stands first by name is named.
        let copies = twice.invoices.iter_mut().skip(inputs.invoices.len()).map(|one| &mut one.place);
        let copies = copies.chain(twice.charges.iter_mut().skip(inputs.charges.len()).map(|one| &mut one.place));
        let bills = twice.courier_bills.iter_mut().skip(inputs.courier_bills.len());
        let work = twice.work_done.iter_mut().skip(inputs.work_done.len());
        let copies = copies.chain(bills.map(|one| &mut one.place)).chain(work.map(|one| &mut one.place));
        copies.for_each(|place| place.file = format!("{}~", place.file).into());
        prop_assert_eq!(once, reconcile(&twice).unwrap());
    }
}
