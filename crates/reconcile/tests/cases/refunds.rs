//! Money that goes back: for several debts, in part, in another currency, by the bank; and what several quotes were paid
//! together.

use crate::booked::{booked, reasons};
use crate::held_back::{decided, owed, quotes, taken_back, unapplied};
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, payment, place};
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, reconcile};

/// One payment for two quotes, or for a quote and what was paid too much of an invoice.
#[test]
fn what_comes_to_several_debts_gives_all_of_them_back() {
    let advances = |inputs: &Inputs, quotes: usize| -> Vec<(u64, Payment)> {
        let buyer = inputs.agreed[0].sales[0].buyer.clone();
        (0..quotes).map(|number| (5, payment(5_000, &buyer, &inputs.agreed[number].number))).collect()
    };
    let inputs = taken_back(2);
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    let back = |minor: i64| (9, payment(-minor, &buyer, "returned"));
    let mut payments = advances(&inputs, 2);
    payments.push(back(10_000));
    let (_, books) = booked(inputs, &payments);
    assert_eq!((reasons(&books), books.undecided.len(), unapplied(&books)), (vec![], 0, 0));
    // Of three it is asked which; the answer has a row for each.
    let inputs = taken_back(3);
    let mut payments = advances(&inputs, 3);
    payments.push(back(10_000));
    let (mut asked, books) = booked(inputs, &payments);
    let question = &books.undecided[0];
    assert_eq!((question.why, question.parts.len(), reasons(&books)), (Why::EquallyGood, 3, vec![]));
    let rows: Vec<(&str, i64)> = question.parts[0].iter().map(|part| (&*part.invoice, part.minor)).collect();
    asked.decisions = vec![decided(4, &rows)];
    let books = reconcile(&asked).unwrap();
    assert_eq!(
        (reasons(&books), books.undecided.len(), unapplied(&books)),
        (vec![("overpaid", 5_000)], 0, -5_000)
    );
    // What is less than all and no sum of any is asked: the first ones, or as a person shares it out.
    let inputs = taken_back(2);
    let mut payments = advances(&inputs, 2);
    payments.push(back(6_000));
    let (mut asked, books) = booked(inputs.clone(), &payments);
    let question = &books.undecided[0];
    assert_eq!((question.why, question.parts.len(), owed(&books).len()), (Why::GivenBack, 1, 0));
    let rows: Vec<(&str, i64)> = question.parts[0].iter().map(|part| (&*part.invoice, part.minor)).collect();
    assert_eq!(rows, [("Q-2026-0000", -5_000), ("Q-2026-0001", -1_000)]);
    asked.decisions = vec![decided(3, &[("Q-2026-0000", -2_000), ("Q-2026-0001", -4_000)])];
    let left = owed(&reconcile(&asked).unwrap());
    assert_eq!(left, [("Q-2026-0000".to_owned(), 3_000), ("Q-2026-0001".to_owned(), 1_000)]);
    // More than all of them gives back none.
    payments[2] = back(11_000);
    let (_, books) = booked(inputs, &payments);
    assert_eq!((owed(&books).len(), books.undecided.len()), (2, 0));
    // With what he paid too much of an invoice: by itself, and by decision.
    let mut inputs = taken_back(1);
    let mut of = agreed(&Plan { net: 8_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.sales[0].buyer = buyer.clone();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 8_000));
    inputs.agreed.push(of);
    let mut payments = advances(&inputs, 1);
    payments.push((6, payment(8_700, &buyer, &invoice_number(1))));
    payments.push(back(5_700));
    let (mut inputs, books) = booked(inputs, &payments);
    assert_eq!((reasons(&books), books.undecided.len(), unapplied(&books)), (vec![], 0, 0));
    inputs.decisions = vec![decided(3, &[(&invoice_number(1), -700), ("Q-2026-0000", -5_000)])];
    assert_eq!(reconcile(&inputs).unwrap().journal, books.journal);
}

/// Invoiced at 99.98 and asked for as 100.00 (BT-114), it was paid twice: 100.00 are too much.
#[test]
fn of_what_is_rounded_goes_back_what_was_paid_twice() {
    let mut inputs = taken_back(1);
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    let mut of = agreed(&Plan { net: 9_998, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.sales[0].buyer = buyer.clone();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 9_998));
    inputs.invoices.last_mut().unwrap().rounding_minor = 2;
    inputs.agreed.push(of);
    let named = |on, minor| (on, payment(minor, &buyer, &invoice_number(1)));
    let back = |minor: i64| (9, payment(-minor, &buyer, "returned"));
    let rounding = vec![("rounding", 2)];
    let (_, books) = booked(inputs.clone(), &[named(5, 10_000), named(6, 10_000), back(10_000)]);
    assert_eq!((reasons(&books), books.undecided.len()), (rounding.clone(), 0));
    // With what is held for the quote.
    let held = |minor| (4, payment(minor, &buyer, "Q-2026-0000"));
    let payments = [held(5_000), named(5, 10_000), named(6, 10_000), back(15_000)];
    let (_, books) = booked(inputs.clone(), &payments);
    assert_eq!((reasons(&books), books.undecided.len(), unapplied(&books)), (rounding, 0, 0));
    // As much is held for the quote: it may be either.
    let payments = [held(10_000), named(5, 10_000), named(6, 10_000), back(10_000)];
    let (_, books) = booked(inputs, &payments);
    let either = [vec![invoice_number(1)], vec!["Q-2026-0000".to_owned()]];
    let told: Vec<Vec<String>> =
        books.undecided[0].candidates.iter().map(|of| of.iter().map(ToString::to_string).collect()).collect();
    assert_eq!((books.undecided.len(), told), (1, either.to_vec()));
}

#[test]
fn a_part_of_what_is_owed_is_asked() {
    let inputs = taken_back(1);
    let (buyer, quote) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[0].number.clone());
    let payments = [(5, payment(5_000, &buyer, &quote)), (9, payment(-3_000, &buyer, "returned"))];
    let (mut inputs, books) = booked(inputs, &payments);
    let question = &books.undecided[0];
    assert_eq!((question.why, question.why.code()), (Why::GivenBack, "given_back"));
    assert_eq!((&question.candidates, reasons(&books)), (&quotes(&[0]), vec![("overpaid", 2_000)]));
    for (rows, left) in [(&[(&*quote, -3_000)][..], 2_000), (&[], 5_000)] {
        inputs.decisions = vec![decided(2, rows)];
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (vec![("overpaid", left)], 0));
    }
    // Of an invoice that was paid too much as well.
    let mut inputs = empty();
    let of = agreed(&Plan { net: 8_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 8_000));
    inputs.agreed.push(of.clone());
    let buyer = &of.sales[0].buyer;
    let payments = [(5, payment(9_000, buyer, &invoice_number(1))), (9, payment(-300, buyer, "returned"))];
    let (mut inputs, books) = booked(inputs, &payments);
    assert_eq!((books.undecided[0].why, reasons(&books)), (Why::GivenBack, vec![("overpaid", 700)]));
    inputs.decisions = vec![decided(2, &[(&invoice_number(1), -300)])];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("overpaid", 700)]);
}

/// From an account in dollars goes back what came in in euros: 50.00 EUR are 55.86 USD.
#[test]
fn money_that_goes_back_in_another_currency_is_asked() {
    let inputs = taken_back(1);
    let (buyer, quote) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[0].number.clone());
    let (inputs, _) = booked(inputs, &[(5, payment(5_000, &buyer, &quote))]);
    let dollars = |minor: i64| {
        let mut inputs = inputs.clone();
        let mut account = crate::world::bank::Account::default();
        account.book(day(9), vec![payment(-minor, &buyer, "returned")]);
        let mut statement = account.statements().remove(0);
        (statement.account, statement.currency) = ("DE79 0000 0000 1234 5678 90".into(), currency("USD"));
        inputs.statements.push(statement);
        inputs
    };
    for (minor, part, left) in [(5_586, -5_000, 0), (5_560, -5_000, 0), (2_234, -2_000, 3_000)] {
        let mut inputs = dollars(minor);
        let books = reconcile(&inputs).unwrap();
        let question = &books.undecided[0];
        // What dollars are worth is not guessed while it is asked.
        assert_eq!((question.why, reasons(&books)), (Why::GivenBack, vec![]));
        let [row] = question.parts[0].as_slice() else { panic!("{:?}", question.parts) };
        assert_eq!((&row.invoice, row.currency, row.minor), (&quote, currency("EUR"), part));
        inputs.decisions = vec![Decision::Payment {
            place: place("decided_payments.csv", 2),
            payment: question.payment.clone().unwrap(),
            towards: vec![row.clone()],
        }];
        let books = reconcile(&inputs).unwrap();
        let told: Vec<i64> = books.differences.iter().map(|one| one.difference.amount_minor).collect();
        assert_eq!(
            (told, unapplied(&books)),
            (Vec::from_iter(Some(left).filter(|left| *left > 0)), -i128::from(left))
        );
        let sum: i128 = books.journal.balances().unwrap().iter().map(|(_, sum)| sum).sum();
        assert_eq!(sum, 0);
    }
    // More than it is worth is not it; a person may say so, and what the rate made of it is told.
    let mut inputs = dollars(6_586);
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("overpaid", 5_000), ("paid_unknown", -6_586)]);
    let Decision::Payment { place, mut payment, mut towards } = decided(1, &[(&quote, -5_000)]) else {
        return;
    };
    payment.account = "DE79 0000 0000 1234 5678 90".into();
    inputs.decisions =
        vec![Decision::Payment { place: place.clone(), payment: payment.clone(), towards: towards.clone() }];
    let books = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&books), [("currency", -1_000)]);
    let one = &books.differences[0].difference;
    assert_eq!((one.quote.as_deref(), one.currency, one.day), (Some(&*quote), currency("USD"), day(9)));
    towards[0].minor = 5_000;
    inputs.decisions = vec![Decision::Payment { place, payment, towards }];
    assert!(
        matches!(reconcile(&inputs), Err(Unreconciled::Undecidable(slips)) if slips[0].code == "does_not_add_up")
    );
}

/// What a payment names takes its own, where it comes to all of that: quotes without an invoice, and invoices.
#[test]
fn one_payment_in_advance_for_two_quotes_is_shared_out() {
    let mut inputs = taken_back(2);
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    (inputs.agreed[1].reversed, inputs.agreed[1].invoice_by) = (None, day(3));
    inputs.agreed[1].sales[0].net = evenfare_engine::money::Net::from_minor(6_000).unwrap();
    inputs.agreed[1].sales[0].gross = evenfare_engine::money::Gross::from_minor(6_000).unwrap();
    inputs.terms.until = day(9);
    let words = "Q-2026-0000, Q-2026-0001";
    let paid = [(2, payment(11_000, &buyer, words))];
    let missing = ("invoice_missing", -6_000);
    let (with_one, books) = booked(inputs.clone(), &paid);
    assert_eq!(reasons(&books), [missing, ("overpaid", 5_000)]);
    // It goes back by the words that it came with.
    let back = [paid[0].clone(), (4, payment(-5_000, &buyer, "Q-2026-0000"))];
    assert_eq!(reasons(&booked(inputs.clone(), &back).1), [missing]);
    let back = [paid[0].clone(), (4, payment(-11_000, &buyer, words))];
    assert_eq!(
        (reasons(&booked(inputs.clone(), &back).1), unapplied(&booked(inputs, &back).1)),
        (vec![missing], 0)
    );
    // The second is invoiced: that is paid, and no more.
    let mut invoiced = with_one;
    let of = invoiced.agreed[1].clone();
    invoiced.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 6_000));
    let books = reconcile(&invoiced).unwrap();
    assert_eq!((reasons(&books), unapplied(&books)), (vec![("overpaid", 5_000)], -5_000));
    assert_eq!(owed(&books), [("Q-2026-0000".to_owned(), 5_000)]);
    // Nothing is taken back, and the first is not invoiced yet: nobody paid too much.
    invoiced.agreed[0].reversed = None;
    assert_eq!(reasons(&reconcile(&invoiced).unwrap()), []);
}

/// The bank takes the payment back: nothing is owed.
#[test]
fn what_the_bank_took_back_is_not_owed() {
    let inputs = taken_back(1);
    let (buyer, quote) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[0].number.clone());
    for words in [&*quote, "returned"] {
        let payments = [(5, payment(5_000, &buyer, &quote)), (7, payment(-5_000, &buyer, words))];
        let (mut inputs, _) = booked(inputs.clone(), &payments);
        inputs.statements[0].batches[1].reversal = true;
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len(), unapplied(&books)), (vec![], 0, 0));
    }
}

/// Until the day it was taken back a quote stands: it is paid in advance, and an invoice of it is right.
#[test]
fn what_is_taken_back_later_stands_still() {
    let mut inputs = taken_back(1);
    let of = inputs.agreed[0].clone();
    inputs.agreed[0].invoice_by = day(4);
    inputs.invoices.push(invoice(&of, 0, 0, &of.sales[0].vat, 5_000));
    (inputs.invoices[0].issued, inputs.invoices[0].due) = (day(4), Some(day(60)));
    for (until, told) in [(7, vec![]), (8, vec![("invoice_reversed", 5_000)])] {
        inputs.terms.until = day(until);
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.overview.all.quotes), (told.clone(), u64::from(told.is_empty())));
    }
    inputs.invoices.clear();
    inputs.agreed[0].invoice_by = day(60);
    for (until, told) in [(7, vec![]), (8, vec![("overpaid", 5_000)])] {
        inputs.terms.until = day(until);
        let paid = (5, payment(5_000, &of.sales[0].buyer, &of.number));
        assert_eq!(reasons(&booked(inputs.clone(), &[paid]).1), told);
    }
}

/// It stood on the account, and in no list.
#[test]
fn what_goes_back_beyond_what_came_in_is_told() {
    for reversed in [None, Some(day(8))] {
        let mut inputs = taken_back(1);
        inputs.agreed[0].reversed = reversed;
        let (buyer, quote) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[0].number.clone());
        let check = |payments: &[(u64, i64)], told: &[(&str, i64)], papers: usize| {
            let of_quote = |(on, minor): &(u64, i64)| (*on, payment(*minor, &buyer, &quote));
            let payments: Vec<(u64, Payment)> = payments.iter().map(of_quote).collect();
            let (_, books) = booked(inputs.clone(), &payments);
            assert_eq!(reasons(&books), told);
            assert_eq!(unapplied(&books), -i128::from(told.iter().map(|(_, minor)| minor).sum::<i64>()));
            let one = &books.differences[0].difference;
            assert_eq!((one.quote.as_deref(), &*one.party), (Some(&*quote), &*buyer.id));
            assert_eq!((one.day, one.documents.len()), (day(payments.last().unwrap().0), papers));
        };
        check(&[(5, 5_000), (9, -7_000)], &[("paid_unknown", -2_000)], 3);
        check(&[(5, 5_000), (9, -5_000), (12, -5_000)], &[("paid_unknown", -5_000)], 4);
        check(&[(9, -700)], &[("paid_unknown", -700)], 2);
    }
    // Of two quotes each gives back what is held for it, and what is over is of the first.
    let mut inputs = taken_back(2);
    inputs.agreed[1].reversed = None;
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    let payments = [
        (5, payment(2_000, &buyer, "Q-2026-0000")),
        (6, payment(3_000, &buyer, "Q-2026-0001")),
        (9, payment(-5_400, &buyer, "Q-2026-0000 Q-2026-0001")),
    ];
    assert_eq!(reasons(&booked(inputs.clone(), &payments[..2]).1), [("overpaid", 2_000)]);
    let (_, books) = booked(inputs, &payments);
    assert_eq!((reasons(&books), unapplied(&books)), (vec![("paid_unknown", -400)], 400));
}

/// A euro is 1.1172 USD, and from 20 June 1.0500: what came in is worth less than what goes back.
#[test]
fn in_another_currency_nothing_is_left_where_all_went_back() {
    let exchanged = |payments: &[(u64, i64, &str)]| {
        let mut inputs = taken_back(1);
        let rate = |on, rate: &str| (day(on), currency("USD"), rate.parse().unwrap());
        inputs.rates = Rates::new([rate(0, "1.1172"), rate(19, "1.0500"), rate(30, "1.0911")]);
        inputs.agreed[0].currency = currency("USD");
        let buyer = inputs.agreed[0].sales[0].buyer.clone();
        let payments: Vec<(u64, Payment)> =
            payments.iter().map(|(on, minor, words)| (*on, payment(*minor, &buyer, words))).collect();
        let (mut inputs, _) = booked(inputs, &payments);
        inputs.statements.iter_mut().for_each(|one| one.currency = currency("USD"));
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
        let balances = books.journal.balances().unwrap();
        let balance = |role| balances.iter().find(|(of, _)| *of == role).unwrap().1;
        assert_eq!(balance(Role::Bank), -balance(Role::Exchange));
        unapplied(&books)
    };
    let quote = "Q-2026-0000";
    assert_eq!(exchanged(&[(5, 5_000, quote), (25, -5_000, quote)]), 0);
    assert_eq!(exchanged(&[(5, 5_000, quote), (25, -1_700, quote), (40, -3_300, "returned")]), 0);
    assert_eq!(exchanged(&[(5, 2_000, quote), (22, 3_000, quote), (40, -5_000, quote)]), 0);
    // So it is where he paid for nothing known.
    assert_eq!(exchanged(&[(5, 700, "by mistake"), (25, -700, "returned")]), 0);
}

/// Two cents are rounding. And what came in on a day may go back on that day.
#[test]
fn what_is_left_of_an_advance_by_rounding_is_not_owed() {
    let inputs = taken_back(1);
    let (buyer, quote) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[0].number.clone());
    let paid = (5, payment(5_000, &buyer, &quote));
    for (on, minor, words, told) in [
        (9, 4_998, &*quote, vec![]),
        (9, 4_997, &*quote, vec![("overpaid", 3)]),
        (5, 5_000, "returned", vec![]),
    ] {
        let back = (on, payment(-minor, &buyer, words));
        let (_, books) = booked(inputs.clone(), &[paid.clone(), back]);
        assert_eq!((reasons(&books), books.undecided.len()), (told, 0), "{minor}");
    }
}

/// Two debts of many come to what went back, but for a cent. Of as many as are tried together the first ones may be it; of
/// more, eight are told.
#[test]
fn of_more_debts_than_are_tried_each_is_an_answer() {
    for (quotes, why, answers) in [(24, Why::GivenBack, 1), (25, Why::TooMany, 8)] {
        let inputs = taken_back(quotes);
        let buyer = inputs.agreed[0].sales[0].buyer.clone();
        let paid = inputs.agreed.iter().map(|of| (5, payment(5_000, &buyer, &of.number)));
        let all: Vec<_> = paid.chain([(9, payment(-9_999, &buyer, "returned"))]).collect();
        let (_, books) = booked(inputs.clone(), &all);
        let question = &books.undecided[0];
        assert_eq!((books.undecided.len(), question.why, question.parts.len()), (1, why, answers));
        assert_eq!(owed(&books), [], "all are in question");
    }
}
