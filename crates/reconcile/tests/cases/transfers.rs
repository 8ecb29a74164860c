//! Money that goes from one account of ours to another, and money of which only a list says so.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Payment, Place, Statement};
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;

use crate::booked::{booked, reasons};
use crate::own::{FIRST, SECOND, account, balance, sold};
use crate::world::bank::Account;
use crate::world::{self, Plan, agreed, day, invoice_number, payment};

/// One movement on an account of ours, to or from the other.
fn side(account: &str, other: &str, on: u64, minor: i64) -> Statement {
    let mut of =
        payment(minor, &agreed(&Plan { net: 1, ..Plan::default() }, 0).sales[0].seller, "R-2026-00000");
    of.party_account = Some(other.replace(' ', "").into());
    let mut one = Account::default();
    one.book(day(on), vec![of]);
    let mut statement = one.statements().remove(0);
    statement.account = account.into();
    statement
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whichever side is known, and on whatever days: no question, and what has not arrived is in transit; it is told
    /// where it should have arrived, and nothing else is.
    #[test]
    fn transfers_between_own_accounts_balance(
        minor in 1_i64..1_000_000, out in 0_u64..60, later in 0_u64..20, sides in 1_usize..4, listed in any::<bool>(),
    ) {
        let mut inputs = sold(&[5_000]);
        inputs.terms.payment_days = 200;
        inputs.invoices[0].due = None;
        let own = [FIRST, SECOND].map(|own| account(own, "workshop"));
        inputs.terms.accounts = if listed { own.into() } else { Vec::new() };
        let both = [side(FIRST, SECOND, out, -minor), side(SECOND, FIRST, out + later, minor)];
        inputs.statements = both.into_iter().enumerate().filter(|(at, _)| sides >> at & 1 == 1).map(|(_, one)| one).collect();
        let books = reconcile(&inputs).unwrap();
        for (one, postings) in books.journal.transactions() {
            prop_assert_eq!(postings.iter().map(|posting| posting.base_minor).sum::<i64>(), 0, "{:?}", one);
        }
        let moved: i64 = inputs.statements.iter().map(|one| one.closing.minor - one.opening.minor).sum();
        prop_assert_eq!(balance(&books, Role::Bank), i128::from(moved));
        if listed {
            prop_assert_eq!(balance(&books, Role::Transit), -i128::from(moved));
            prop_assert_eq!(&books.undecided, &[]);
            let alone = inputs.statements.len() == 1;
            let told: Vec<_> = if alone { vec![("in_transit", moved)] } else { Vec::new() };
            prop_assert_eq!(reasons(&books), told);
            prop_assert_eq!(balance(&books, Role::Receivable), 5_000);
        } else {
            prop_assert_eq!(balance(&books, Role::Transit), 0);
        }
        // The month that one side stands in may be closed before the other is known.
        let first: Month = Month::of(books.journal.transactions().next().unwrap().0.posted);
        let closing = books.close(first).unwrap();
        inputs.closings = vec![closing];
        let again = reconcile(&inputs).unwrap();
        prop_assert_eq!(&again.changed, &[]);
        prop_assert_eq!(again.journal.balances(), books.journal.balances());
    }

    /// Of two currencies each comes to nothing in transit, however late a side is known: what came out of it is what
    /// was put in.
    #[test]
    fn transfers_between_currencies_leave_nothing_in_transit(
        sent in 10_000_i64..10_000_000, off in -9_i64..10, days in [0_u64..28, 0..28], late in prop::option::of(0_usize..2),
    ) {
        let mut inputs = sold(&[5_000]);
        inputs.terms.accounts = [FIRST, SECOND].map(|own| account(own, "workshop")).into();
        inputs.terms.until = "2026-06-30".parse().unwrap();
        let (euros, francs) = (world::currency("EUR"), world::currency("CHF"));
        let due = inputs.rates.converted(sent, euros, francs, day(0)).unwrap();
        let mut arrives = side(SECOND, FIRST, days[1], due + due * off / 1_000);
        arrives.currency = francs;
        let both = [side(FIRST, SECOND, days[0], -sent), arrives];
        inputs.statements = both.to_vec();
        if let Some(late) = late {
            inputs.statements.remove(late);
            inputs.closings = vec![reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap()];
            inputs.statements = both.to_vec();
            inputs.terms.until = "2026-07-31".parse().unwrap();
        }
        let books = reconcile(&inputs).unwrap();
        let together = days[0].abs_diff(days[1]) <= 10;
        let mut transit = std::collections::BTreeMap::new();
        for (one, postings) in books.journal.transactions() {
            prop_assert_eq!(postings.iter().map(|posting| posting.base_minor).sum::<i64>(), 0, "{:?}", one);
            for posting in postings.iter().filter(|posting| posting.role == Role::Transit) {
                let sums: &mut [i64; 2] = transit.entry(posting.currency).or_default();
                *sums = [sums[0] + posting.minor, sums[1] + posting.base_minor];
            }
        }
        let is_clear = transit.values().all(|sums| *sums == [0, 0]);
        prop_assert_eq!(is_clear, together, "{:?}", transit);
        let told = reasons(&books).iter().filter(|(code, _)| *code == "in_transit").count();
        prop_assert!(if together { told == 0 } else { told > 0 || late.is_none() }, "{told}");
    }
}

/// What has no other side, as a month's books are told.
fn in_transit(books: &Reconciled) -> i128 {
    books.in_transit.iter().map(|one| i128::from(one.base_minor)).sum()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Any sides of any transfers, some of equal amounts, in two currencies: what is told to be in transit is what the
    /// journal has there, in whatever order the statements come; no side is told twice.
    #[test]
    fn what_is_told_to_be_in_transit_is_posted_there(
        sides in prop::collection::vec((0_u64..60, 1_i64..4, any::<bool>(), any::<bool>(), any::<bool>()), 0..12),
    ) {
        let mut inputs = sold(&[5_000]);
        inputs.terms.accounts = [FIRST, SECOND].map(|own| account(own, "workshop")).into();
        let mut days: [Vec<(u64, i64)>; 2] = Default::default();
        for (on, amount, of_second, comes_in, _) in &sides {
            days[usize::from(*of_second)].push((*on, if *comes_in { amount * 100 } else { -amount * 100 }));
        }
        for (of, (own, other)) in days.iter_mut().zip([(FIRST, SECOND), (SECOND, FIRST)]) {
            of.sort_unstable();
            let mut statement: Option<Statement> = None;
            for (on, minor) in of.iter() {
                let one = side(own, other, *on, *minor);
                statement = Some(match statement {
                    None => one,
                    Some(mut so_far) => {
                        so_far.closing.minor += minor;
                        so_far.closing.day = one.closing.day;
                        so_far.batches.extend(one.batches);
                        so_far
                    }
                });
            }
            let francs = sides.iter().any(|(_, _, of_second, _, francs)| *of_second && *francs);
            if let Some(mut statement) = statement {
                if own == SECOND && francs {
                    statement.currency = world::currency("CHF");
                }
                inputs.statements.push(statement);
            }
        }
        let books = reconcile(&inputs).unwrap();
        prop_assert_eq!(in_transit(&books), balance(&books, Role::Transit));
        let mut named: Vec<&str> = books.in_transit.iter().map(|one| &*one.document.number).collect();
        named.sort_unstable();
        named.dedup();
        prop_assert_eq!(named.len(), books.in_transit.len());
        prop_assert!(books.in_transit.is_sorted_by_key(|one| one.day));
        inputs.statements.reverse();
        prop_assert_eq!(reconcile(&inputs).unwrap().in_transit, books.in_transit);
    }
}

#[test]
fn a_transfer_between_two_currencies_leaves_nothing_in_transit() {
    let mut inputs = sold(&[5_000]);
    inputs.terms.accounts = [FIRST, SECOND].map(|own| account(own, "workshop")).into();
    // 1000.00 EUR are 919.40 CHF; the bank gives 4.60 CHF less, which are 5.00 EUR.
    for (days, francs, transit, exchange) in
        [([3, 5], 91_480, 0, 500), ([5, 3], 91_480, 0, 500), ([3, 5], 50_000, 45_617, 0)]
    {
        let mut arrives = side(SECOND, FIRST, days[1], francs);
        arrives.currency = world::currency("CHF");
        inputs.statements = vec![side(FIRST, SECOND, days[0], -100_000), arrives];
        let books = reconcile(&inputs).unwrap();
        assert_eq!((balance(&books, Role::Transit), balance(&books, Role::Exchange)), (transit, exchange));
        assert_eq!((in_transit(&books), books.in_transit.len()), (transit, if transit == 0 { 0 } else { 2 }));
    }
}

/// A payment of a customer whose account stands in the list as ours.
fn listed_as_ours(minor: i64, name: Option<&str>, words: &str, inputs: &mut Inputs) -> Payment {
    inputs.terms.accounts = vec![account(SECOND, "workshop")];
    let mut paid = payment(minor, &inputs.agreed[0].sales[0].buyer, words);
    paid.party = name.map(Into::into);
    paid.party_account = Some(SECOND.into());
    paid
}

#[test]
fn a_customer_whose_account_is_listed_as_ours_is_asked_about() {
    let customer = sold(&[5_000]).agreed[0].sales[0].buyer.name.to_string();
    let (customer, number) = (Some(&*customer), invoice_number(0));
    let all: &[Box<str>] = &[number.clone().into()];
    // It names the invoice, the quote, or nothing; who paid is known, or is not; in full and in part, in and out.
    for (name, words, minor) in [
        (customer, &*number, 5_000),
        (None, &number, 5_000),
        (Some("Somebody"), "Q-2026-0000", 5_000),
        (customer, "thank you", 5_000),
        (customer, "thank you", 3_000),
        (customer, &number, -700),
    ] {
        let mut inputs = sold(&[5_000]);
        let paid = listed_as_ours(minor, name, words, &mut inputs);
        let (mut inputs, asked) = booked(inputs, &[(8, paid)]);
        let question = &asked.undecided[0];
        assert_eq!((question.why, question.why.code()), (Why::OwnAccount, "own_account"));
        assert_eq!(question.candidates, [all], "{name:?} {words}");
        assert_eq!(balance(&asked, Role::Transit), 0);
        let owed = minor.max(0) - 5_000;
        let unpaid = if owed < 0 { vec![("unpaid", owed)] } else { vec![] };
        assert_eq!(reasons(&asked), unpaid, "{name:?} {words}");
        // The list is set right, or the payment is decided: for the invoice, or a transfer all the same.
        let mut right = inputs.clone();
        right.terms.accounts[0].firm = right.agreed[0].sales[0].buyer.id.clone();
        let right = reconcile(&right).unwrap();
        assert_eq!(
            (right.undecided.len(), balance(&right, Role::Receivable)),
            (0, i128::from(5_000 - minor))
        );
        let mut decided = |towards: &[_]| {
            inputs.decisions = vec![Decision::Payment {
                place: Place { file: "decided_payments.csv".into(), line: 2 },
                payment: question.payment.clone().unwrap(),
                towards: towards.to_vec(),
            }];
            reconcile(&inputs).unwrap()
        };
        let paid = decided(&question.parts[0]);
        assert_eq!((paid.undecided.len(), balance(&paid, Role::Receivable)), (0, i128::from(5_000 - minor)));
        let moved = decided(&[]);
        assert_eq!((moved.undecided.len(), balance(&moved, Role::Transit)), (0, i128::from(-minor)));
        assert_eq!(reasons(&moved), [("unpaid", -5_000), ("in_transit", minor)]);
    }
}

#[test]
fn what_only_the_list_says_is_not_silent() {
    // Nobody known, and no words: it is a transfer as the list has it, until the other side should be there.
    let mut inputs = sold(&[5_000]);
    let paid = listed_as_ours(5_000, Some("Somebody"), "thank you", &mut inputs);
    let (mut inputs, late) = booked(inputs, &[(8, paid)]);
    assert_eq!(reasons(&late), [("unpaid", -5_000), ("in_transit", 5_000)]);
    assert_eq!(late.differences[1].difference.day, day(18));
    inputs.terms.until = day(17);
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("unpaid", -5_000)]);
    // A quote of a partner's customer before there is an invoice, and money of a partner who owes nothing.
    let mut inputs = sold(&[5_000]);
    let paid = listed_as_ours(5_000, None, "Q-2026-0000", &mut inputs);
    inputs.invoices.clear();
    let (_, asked) = booked(inputs, &[(8, paid)]);
    assert_eq!((asked.undecided[0].why, asked.undecided[0].candidates.len()), (Why::OwnAccount, 0));
}

/// By the number of a quote money goes back of an invoice that was taken back; nothing is paid of it.
#[test]
fn what_is_asked_of_an_account_of_ours_is_what_the_money_may_be_for() {
    for (minor, answers) in [(-5_000, vec![vec![invoice_number(0).into()]]), (5_000, vec![])] {
        let mut inputs = sold(&[5_000]);
        let (kind, number) = (InvoiceKind::CreditNote, "G-1".into());
        let paper = inputs.invoices[0].clone();
        inputs.invoices.push(Invoice { kind, number, issued: day(5), due: None, ..paper });
        let paid = listed_as_ours(minor, None, "Q-2026-0000", &mut inputs);
        let (_, asked) = booked(inputs, &[(8, paid)]);
        assert_eq!((asked.undecided[0].why, &asked.undecided[0].candidates), (Why::OwnAccount, &answers));
    }
}
