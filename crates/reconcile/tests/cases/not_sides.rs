//! Decisions that two payments are the sides of a transfer: what is none is refused, and what is lost is told.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::{Paper, Reason};
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::{Payment, Slip};
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, reconcile};

use crate::booked::reasons;
use crate::own::{FIRST, SECOND, account, balance, between, id, sold};
use crate::world::bank::Account;
use crate::world::{currency, day, invoice_number, payment, place};

/// An account of the customer.
const HIS: &str = "CH93 0076 2011 6238 5295 7";

/// These two are the sides of a transfer.
fn sides(payment: PaymentId, minor: i64, other: &PaymentId) -> Decision {
    let part = Part { invoice: format!("payment {other}").into(), currency: currency("EUR"), minor };
    Decision::Payment { place: place("decided_payments.csv", 2), payment, towards: vec![part] }
}

/// Two accounts of ours with statements; of the first, payments of these days.
fn booked(payments: Vec<(u64, Payment)>) -> Inputs {
    let mut inputs = sold(&[5_000]);
    inputs.terms.payment_days = 200;
    inputs.invoices[0].due = None;
    inputs.terms.accounts = vec![account(FIRST, "workshop"), account(SECOND, "workshop")];
    let mut own = Account::default();
    payments.into_iter().for_each(|(on, payment)| own.book(day(on), vec![payment]));
    inputs.statements = own.statements();
    inputs
}

fn refused(inputs: &Inputs) -> Vec<Slip> {
    match reconcile(inputs) {
        Err(Unreconciled::Undecidable(slips)) => slips,
        other => panic!("{:?}", other.map(|books| reasons(&books))),
    }
}

/// A transfer to an account of ours that has no statement, and what a customer paid, in some way that shows it.
#[test]
fn a_payment_of_another_is_no_side() {
    let inputs = booked(Vec::new());
    let (customer, workshop) = (&inputs.agreed[0].sales[0].buyer, &inputs.agreed[0].sales[0].seller);
    let to_ours = Payment { party_account: Some(SECOND.into()), ..payment(-60_000, workshop, "") };
    let from = |name: &str, account: Option<&str>, words: &str| Payment {
        party: Some(name.into()).filter(|_| !name.is_empty()),
        party_account: account.map(Into::into),
        ..payment(1_500, customer, words)
    };
    let number = invoice_number(0);
    let came = id(FIRST, 2).to_string();
    let his = format!("{came} of {}", customer.id);
    for (paid, found) in [
        // By his name, or by his account, whatever the name.
        (from(&customer.name, None, ""), &his),
        (from(&customer.name.to_uppercase(), Some("DE00 0"), "thanks"), &his),
        (from("", Some(HIS), ""), &his),
        (from(&workshop.name, Some(&HIS.replace(' ', "")), ""), &his),
        (from(&customer.name, None, &number), &his),
        // By an invoice or a quote that it names.
        (from("Nobody", None, &format!("for {number}")), &format!("{came} for {}", number.replace('-', ""))),
        (from("", None, "q 2026 0000"), &format!("{came} for Q20260000")),
        (
            Payment { structured: vec![number.as_str().into()], ..from("", None, "") },
            &format!("{came} for {}", number.replace('-', "")),
        ),
    ] {
        let mut inputs = booked(vec![(3, to_ours.clone()), (4, paid.clone())]);
        inputs.terms.accounts.push(account(HIS, &customer.id));
        // Whichever of the two has the row.
        for decision in
            [sides(id(FIRST, 1), -60_000, &id(FIRST, 2)), sides(id(FIRST, 2), 1_500, &id(FIRST, 1))]
        {
            inputs.decisions = vec![decision];
            let slips = refused(&inputs);
            assert_eq!(slips.len(), 1, "{paid:?}: {slips:?}");
            assert_eq!((slips[0].code, &slips[0].found), ("not_a_transfer", found));
            assert_eq!((&*slips[0].place.file, slips[0].place.line), ("decided_payments.csv", 2));
            // What a person decided later is no mistake less when one looks back.
            let mut early = inputs.clone();
            early.terms.until = day(2);
            assert_eq!(refused(&early), slips);
        }
    }
}

/// The account says whose it is, whatever else does; and of whom nothing is known, a person's word counts.
#[test]
fn what_goes_to_an_account_of_ours_is_a_side_whatever_it_says() {
    let inputs = booked(Vec::new());
    let (customer, workshop) = (&inputs.agreed[0].sales[0].buyer, &inputs.agreed[0].sales[0].seller);
    let left = |account: Option<&str>, from: &str| Payment {
        party: Some(from.into()),
        party_account: account.map(Into::into),
        ..payment(-1_500, customer, "")
    };
    let came = |words: &str| Payment { minor: 1_490, ..payment(1_490, workshop, words) };
    for (left, came) in [
        (left(Some(SECOND), &customer.name), came("")),
        (left(Some(SECOND), "A Bank"), came("")),
        (left(None, "A Bank"), came("between us")),
        (left(Some(HIS), "A Bank"), came("")),
    ] {
        let mut inputs = booked(vec![(3, left.clone()), (4, came)]);
        inputs.decisions = vec![sides(id(FIRST, 1), -1_500, &id(FIRST, 2))];
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0), "{left:?}");
        assert_eq!((balance(&books, Role::BankCharges), balance(&books, Role::Transit)), (10, 0));
    }
}

#[test]
fn more_than_the_terms_allow_is_told() {
    // 1 % of 500.00 EUR are 5.00 EUR.
    for (came, told) in [(49_999, None), (49_500, None), (49_499, Some(-501)), (1, Some(-49_999))] {
        for days in [[3, 5], [5, 3]] {
            let mut inputs = between(&[(days[0], -50_000, false)], "EUR", &[(days[1], came, false)]);
            inputs.decisions = vec![sides(id(FIRST, 1), -50_000, &id(SECOND, 1))];
            let books = reconcile(&inputs).unwrap();
            let expect: Vec<_> = told.map(|minor| ("in_transit", minor)).into_iter().collect();
            assert_eq!((reasons(&books), books.in_transit.len()), (expect, 0), "{came}");
            assert_eq!(balance(&books, Role::BankCharges), i128::from(50_000 - came));
            for one in &books.differences {
                let papers: Vec<_> =
                    one.difference.documents.iter().map(|of| (of.paper, &*of.number)).collect();
                let both = if days[0] < days[1] { [FIRST, SECOND] } else { [SECOND, FIRST] };
                let both = both.map(|account| id(account, 1).to_string());
                assert_eq!(papers, [(Paper::Payment, &*both[0]), (Paper::Payment, &*both[1])]);
                assert_eq!((one.difference.day, &*one.difference.party), (day(5), "workshop"));
            }
        }
    }
    // What the bank says that it kept back is not lost.
    let mut inputs = between(&[(3, -50_000, false)], "EUR", &[(5, 48_000, false)]);
    inputs.statements[1].batches[0].payments[0].charges_minor = 2_000;
    inputs.decisions = vec![sides(id(FIRST, 1), -50_000, &id(SECOND, 1))];
    let books = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&books), balance(&books, Role::BankCharges)), (vec![], 2_000));
}

/// In two currencies, by what the sides are worth: what is told is what is posted to exchange.
#[test]
fn a_rate_that_is_too_far_off_is_told() {
    // 1000.00 EUR are 919.40 CHF; 910.30 CHF are 990.10 EUR, and 910.10 CHF are 989.88 EUR.
    for (came, told) in [(91_030, None), (91_010, Some(-1_012)), (94_000, Some(2_241))] {
        let mut inputs = between(&[(3, -100_000, false)], "CHF", &[(40, came, false)]);
        let second = PaymentId { statement: "S2026-07".into(), ..id(SECOND, 1) };
        inputs.decisions = vec![sides(id(FIRST, 1), -100_000, &second)];
        let books = reconcile(&inputs).unwrap();
        let expect: Vec<_> = told.map(|minor| ("currency", minor)).into_iter().collect();
        assert_eq!(reasons(&books), expect, "{came}");
        if let Some(minor) = told {
            assert_eq!(balance(&books, Role::Exchange), -i128::from(minor));
            let one = &books.differences[0].difference;
            assert_eq!((one.reason, one.currency, one.day), (Reason::Currency, currency("EUR"), day(40)));
        }
    }
}

/// It was told as in transit, and after the decision what is lost is told: each in its month.
#[test]
fn what_is_lost_is_told_after_a_month_was_closed_with_all_of_it() {
    let mut inputs = between(&[(3, -50_000, false)], "EUR", &[(40, 48_000, false)]);
    let june = "2026-06".parse::<evenfare_reconcile::month::Month>().unwrap();
    inputs.terms.until = june.last_day();
    let closed = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&closed), [("in_transit", -50_000)]);
    inputs.closings = vec![closed.close(june).unwrap()];
    let second = PaymentId { statement: "S2026-07".into(), ..id(SECOND, 1) };
    inputs.decisions = vec![sides(id(FIRST, 1), -50_000, &second)];
    for month in [june.next(), june.next().next()] {
        inputs.terms.until = month.last_day();
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.settled.len()), (vec![("in_transit", -2_000)], 1), "{month}");
        assert_eq!(books.settled[0].found.difference.amount_minor, -50_000);
        assert_eq!((books.differences[0].posted, books.in_transit.len()), (day(40), 0));
        inputs.closings.push(books.close(month).unwrap());
    }
}
