//! Random small books, held against what anybody can add up: whatever was paid, taken back or returned, and whatever it
//! names, a party's account is what was invoiced to him less what he paid.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use evenfare_engine::money::Currency;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::{Difference, Paper, Reason};
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Statement};
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::ties::open_is_the_closing;
use crate::world::bank::Account;
use crate::world::{Plan, agreed, currency, day, empty, groups, invoice, payment};

/// What happens to one of three customers on a day.
#[derive(Debug, Clone)]
struct Step {
    party: usize,
    kind: Kind,
    minor: i64,
    on: u64,
    of: Index,
    words: u8,
}

#[derive(Debug, Clone, Copy)]
enum Kind {
    Invoiced,
    Credited,
    /// By an invoice below nothing.
    InvoicedBack,
    PaidWhole,
    Paid,
    SentBack,
    /// By the bank.
    Returned,
}

const KINDS: [Kind; 9] = [
    Kind::Invoiced,
    Kind::Invoiced,
    Kind::Credited,
    Kind::InvoicedBack,
    Kind::PaidWhole,
    Kind::PaidWhole,
    Kind::Paid,
    Kind::SentBack,
    Kind::Returned,
];

fn step() -> impl Strategy<Value = Step> {
    let parts =
        (0_usize..3, prop::sample::select(KINDS.to_vec()), 1_i64..6, 0_u64..85, any::<Index>(), 0_u8..5);
    parts.prop_map(|(party, kind, minor, on, of, words)| Step {
        party,
        kind,
        minor: minor * 1_000,
        on,
        of,
        words,
    })
}

/// The last customer buys in dollars, and pays to an account of dollars.
const IN_DOLLARS: usize = 2;

/// Two quotes of each customer, and what happens to them. Nobody names what is another's.
fn books(steps: &[Step]) -> Inputs {
    let mut inputs = empty();
    let rate = |on, rate: &str| (day(on), currency("USD"), rate.parse().unwrap());
    inputs.rates = Rates::new([rate(0, "1.1172"), rate(19, "1.0500"), rate(45, "1.2345")]);
    inputs.terms.bonuses.clear();
    inputs.terms.payment_days = 0;
    for number in 0..6 {
        let mut of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, number);
        if number >= 3 {
            of.sales[0].buyer = inputs.agreed[number - 3].sales[0].buyer.clone();
        }
        if number % 3 == IN_DOLLARS {
            of.currency = currency("USD");
        }
        inputs.agreed.push(of);
    }
    let mut accounts = [Account::default(), Account::default()];
    for (place, step) in steps.iter().enumerate() {
        let account = &mut accounts[usize::from(step.party == IN_DOLLARS)];
        let quote = step.party + 3 * usize::from(step.words % 2);
        let of = inputs.agreed[quote].clone();
        let buyer = of.sales[0].buyer.clone();
        let own: Vec<&Invoice> = inputs.invoices.iter().filter(|one| one.buyer.name == buyer.name).collect();
        let named = (!own.is_empty()).then(|| own[step.of.index(own.len())]);
        let words = match step.words {
            0 | 1 => String::new(),
            2 => of.number.to_string(),
            3 => named.map(|one| one.number.to_string()).unwrap_or_default(),
            _ => own.iter().rev().take(2).map(|one| one.number.to_string()).collect::<Vec<_>>().join(", "),
        };
        let paper = |number: String, kind, minor: i64| Invoice {
            number: number.into(),
            kind,
            issued: day(step.on),
            due: None,
            accounting_vat: None,
            ..invoice(&of, place, 0, &groups(1, minor), minor)
        };
        let whole = named.map_or(step.minor, |one| one.gross_minor.abs());
        match step.kind {
            Kind::Invoiced => {
                inputs.invoices.push(paper(format!("R-2026-{place:05}"), InvoiceKind::Invoice, step.minor))
            }
            Kind::Credited => {
                let minor = if step.words > 2 { whole } else { step.minor };
                let mut credit = paper(format!("G-2026-{place:05}"), InvoiceKind::CreditNote, minor);
                credit.preceding = named.filter(|_| step.words > 1).map(|one| one.number.clone());
                inputs.invoices.push(credit);
            }
            Kind::InvoicedBack => {
                inputs.invoices.push(paper(format!("N-2026-{place:05}"), InvoiceKind::Invoice, -whole));
            }
            Kind::PaidWhole => account.book(day(step.on), vec![payment(whole, &buyer, &words)]),
            Kind::Paid => account.book(day(step.on), vec![payment(step.minor, &buyer, &words)]),
            Kind::SentBack => account.book(day(step.on), vec![payment(-whole, &buyer, &words)]),
            Kind::Returned => account.take_back(day(step.on), vec![payment(whole, &buyer, "returned")]),
        }
    }
    let [euros, dollars] = accounts.map(Account::statements);
    inputs.statements = euros;
    inputs.statements.extend(dollars.into_iter().map(|statement| Statement {
        account: "DE79 0000 0000 1234 5678 90".into(),
        currency: currency("USD"),
        ..statement
    }));
    inputs
}

/// By party: what was invoiced less what was taken back, less what came in and went out.
fn added_up(inputs: &Inputs) -> BTreeMap<Arc<str>, i64> {
    let firms: Vec<Arc<Firm>> = inputs.agreed.iter().map(|of| of.sales[0].buyer.clone()).collect();
    let id = |name: &str| firms.iter().find(|firm| &*firm.name == name).unwrap().id.clone();
    let mut sums: BTreeMap<Arc<str>, i64> = BTreeMap::new();
    for one in &inputs.invoices {
        let sign = if one.kind == InvoiceKind::CreditNote { -1 } else { 1 };
        *sums.entry(id(&one.buyer.name)).or_default() += sign * one.gross_minor;
    }
    let batches = inputs.statements.iter().flat_map(|statement| &statement.batches);
    for one in batches.flat_map(|batch| &batch.payments) {
        *sums.entry(id(one.party.as_deref().unwrap())).or_default() -= one.minor;
    }
    sums.retain(|_, minor| *minor != 0);
    sums
}

/// By party, what the accounts close with.
fn accounts(books: &Reconciled) -> BTreeMap<Arc<str>, i64> {
    let mut last: BTreeMap<Arc<str>, i64> = BTreeMap::new();
    for one in books.accounts.months() {
        last.insert(one.party.clone(), one.closing_minor);
    }
    last.retain(|_, minor| *minor != 0);
    last
}

/// Without the places of its papers.
fn anywhere(one: &Difference) -> Difference {
    let mut one = one.clone();
    one.documents.iter_mut().for_each(|document| document.place = None);
    one
}

/// What it is about, whatever papers came to stand behind it since, and what it comes to.
type About = (Reason, String, Currency, Option<String>, Option<String>, i64);

fn about(one: &Difference) -> About {
    let (reason, party, currency, quote, first) = one.about();
    (reason, party.to_owned(), currency, quote.map(str::to_owned), first.map(str::to_owned), one.amount_minor)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn accounts_are_what_anybody_adds_up(steps in prop::collection::vec(step(), 1..14)) {
        let mut inputs = books(&steps);
        let whole = reconcile(&inputs).unwrap();
        prop_assert_eq!(accounts(&whole), added_up(&inputs));
        open_is_the_closing(&whole);
        // Of euros the books have what the papers have.
        let mut receivable: BTreeMap<&str, [i64; 2]> = BTreeMap::new();
        for (one, postings) in whole.journal.transactions() {
            let in_euros = postings.iter().all(|posting| posting.currency == currency("EUR"));
            prop_assert!(!in_euros || postings.iter().all(|posting| posting.minor == posting.base_minor), "{:?}", one);
            prop_assert!(!in_euros || postings.iter().all(|posting| posting.role != Role::Exchange), "{:?}", one);
            prop_assert_eq!(postings.iter().map(|posting| posting.base_minor).sum::<i64>(), 0, "{:?}", one);
            prop_assert!(one.source.event != Event::Rounding, "whole thousands");
            let sums = receivable.entry(one.source.party.as_deref().unwrap_or_default()).or_default();
            for posting in postings.iter().filter(|posting| posting.role == Role::Receivable) {
                sums[0] += posting.minor;
                sums[1] += posting.base_minor;
            }
        }
        // Where nothing is left to be paid either way, nothing is left in the books.
        let is_open = |party: &str| whole.differences.iter().any(|found| {
            let reason = found.difference.reason;
            let is_of_money = [Reason::Unpaid, Reason::Overpaid, Reason::InvoiceDouble].contains(&reason);
            is_of_money && &*found.difference.party == party
        });
        for (party, [minor, base]) in receivable {
            let is_closed = minor == 0 && whole.undecided.is_empty() && !is_open(party);
            prop_assert!(!is_closed || base == 0, "{} {}", party, base);
        }
        // Each difference is one, and of papers that are there.
        let mut numbers: BTreeSet<String> = inputs.invoices.iter().map(|one| one.number.to_string()).collect();
        numbers.extend(inputs.agreed.iter().map(|one| one.number.to_string()));
        let mut told = BTreeSet::new();
        for found in &whole.differences {
            prop_assert!(told.insert(&found.difference), "told twice: {:?}", found);
            let papers = found.difference.documents.iter().filter(|one| one.paper != Paper::Payment);
            for paper in papers {
                prop_assert!(numbers.contains(&*paper.number), "{:?}", found);
            }
        }
        // What is told comes to what stands on the account, where nothing is asked, nothing is second or taken back, and
        // nothing is held for a quote.
        let is_plain = |party: &str| {
            let own = inputs.invoices.iter().filter(|one| one.buyer.vat_id.as_deref() == Some(party));
            let mut own = own.map(|one| one.kind == InvoiceKind::CreditNote || one.gross_minor < 0);
            let batches = inputs.statements.iter().flat_map(|statement| &statement.batches);
            let mut payments = batches.flat_map(|batch| &batch.payments);
            !own.any(|takes_back| takes_back) && !payments.any(|one| one.remittance.starts_with('Q'))
        };
        for party in inputs.agreed.iter().map(|of| of.sales[0].buyer.id.clone()) {
            let own = || whole.differences.iter().map(|one| &one.difference).filter(|one| one.party == party);
            if !whole.undecided.is_empty() || !is_plain(&party) || own().any(|one| one.reason == Reason::InvoiceDouble) {
                continue;
            }
            let told = own().filter(|one| {
                [Reason::Unpaid, Reason::Overpaid, Reason::PaymentUnknown, Reason::PaidUnknown].contains(&one.reason)
            });
            let told: i64 = told.map(|one| -one.amount_minor).sum();
            prop_assert_eq!(told, accounts(&whole).get(&party).copied().unwrap_or_default(), "{}", party);
        }
        // Month after month: what closings say less what they say was settled is what stands.
        let until = inputs.terms.until;
        let mut stands: Vec<About> = Vec::new();
        while let Some(month) = whole.first_open().map(|first| inputs.closings.last().map_or(first, |last| last.month.next())) {
            let last: Month = "2026-07".parse().unwrap();
            if month > last {
                break;
            }
            inputs.terms.until = month.last_day();
            let closing = reconcile(&inputs).unwrap().close(month).unwrap();
            for one in &closing.settled {
                let settled = about(&one.found.difference);
                let place = stands.iter().position(|stands| *stands == settled);
                prop_assert!(place.is_some(), "settled and not told: {:?}", settled);
                stands.remove(place.unwrap());
            }
            stands.extend(closing.differences.iter().map(|found| about(&found.difference)));
            inputs.closings.push(closing);
        }
        inputs.terms.until = until;
        let closed = reconcile(&inputs).unwrap();
        prop_assert_eq!(accounts(&closed), added_up(&inputs));
        open_is_the_closing(&closed);
        prop_assert_eq!(closed.journal.balances(), whole.journal.balances());
        let open = inputs.closings.last().map(|last| last.month.next());
        let is_open = |day| open.is_none_or(|open| day >= open.first_day());
        for one in closed.settled.iter().filter(|one| is_open(one.posted)) {
            let settled = about(&one.found.difference);
            stands.remove(stands.iter().position(|stands| *stands == settled).unwrap());
        }
        let late = closed.differences.iter().filter(|found| is_open(found.posted));
        stands.extend(late.map(|found| about(&found.difference)));
        let mut now: Vec<About> = closed.differences.iter().map(|found| about(&found.difference)).collect();
        now.sort();
        stands.sort();
        prop_assert_eq!(now, stands);
        let of = |books: &Reconciled| books.differences.iter().map(|found| anywhere(&found.difference)).collect::<BTreeSet<_>>();
        if closed.undecided.is_empty() {
            prop_assert_eq!(of(&closed), of(&whole), "the same with closings and without");
        }
    }
}
