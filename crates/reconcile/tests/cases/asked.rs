//! What is asked is not told as a difference as well, until it is decided.

use std::sync::Arc;

use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::Difference;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{InvoiceKind, Payment, Place};
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::booked::{booked, paid, reasons};
use crate::held_back::decided;
use crate::parts::invoiced;
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, payment};

/// The customer of a quote; every second has the same.
fn customer(number: usize) -> Arc<Firm> {
    agreed(&Plan { net: 1, ..Plan::default() }, number % 2).sales[0].buyer.clone()
}

/// A direct sale without VAT.
fn direct(net: i64, number: usize, code: &str) -> Agreed {
    let mut of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, number);
    of.sales[0].buyer = customer(number);
    of.currency = currency(code);
    of
}

/// Direct sales of these nets, invoiced by us.
fn sold(sales: &[(i64, &str)]) -> Inputs {
    let mut inputs = empty();
    for (number, &(net, code)) in sales.iter().enumerate() {
        let of = direct(net, number, code);
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

fn from(number: usize, minor: i64, words: &str) -> Payment {
    payment(minor, &customer(number), words)
}

fn whys(books: &Reconciled) -> Vec<Why> {
    books.undecided.iter().map(|question| question.why).collect()
}

fn numbers(numbers: &[usize]) -> String {
    let numbers: Vec<String> = numbers.iter().map(|number| invoice_number(*number)).collect();
    numbers.join(" ")
}

#[test]
fn no_reminder_goes_to_who_paid_invoices_of_two_currencies() {
    let inputs = sold(&[(5_000, "EUR"), (1, "EUR"), (11_172, "USD")]);
    let (_, books) =
        booked(inputs, &[(8, from(0, 15_000, &numbers(&[0, 2]))), (8, from(1, 1, &numbers(&[1])))]);
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::SeveralCurrencies], vec![]));
}

/// The answer still took all of an invoice of which the next payment had paid the most.
#[test]
fn an_answer_takes_what_is_left_when_all_is_matched() {
    let inputs = sold(&[(6_000, "EUR"), (4_000, "EUR")]);
    let stranger = Payment { party: Some("Somebody".into()), ..from(0, 7_000, &numbers(&[0, 1])) };
    let payments = [(8, stranger), (9, from(0, 5_000, &numbers(&[0])))];
    let (mut inputs, books) = booked(inputs, &payments);
    assert_eq!((whys(&books), books.undecided[0].parts.len()), (vec![Why::EquallyGood], 3));
    let both = books.undecided[0].parts.last().unwrap();
    let told: Vec<_> = both.iter().map(|part| (&*part.invoice, part.minor)).collect();
    assert_eq!(told, [(&*invoice_number(0), 1_000), (&*invoice_number(1), 6_000)]);
    inputs.decisions = vec![decided(1, &[(&invoice_number(0), 1_000), (&invoice_number(1), 6_000)])];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("overpaid", 2_000)]);
}

/// The last invoice of it was told to take all that was paid.
#[test]
fn an_answer_of_which_nothing_is_left_stays_as_it_was_asked() {
    let inputs = sold(&[(6_000, "EUR"), (4_000, "EUR")]);
    let stranger = |minor| Payment { party: Some("Somebody".into()), ..from(0, minor, &numbers(&[0, 1])) };
    let (_, books) = booked(inputs, &[(8, stranger(7_000)), (9, stranger(10_000))]);
    assert_eq!((whys(&books), books.undecided[0].parts.len()), (vec![Why::EquallyGood], 3));
    let both = books.undecided[0].parts.last().unwrap();
    let told: Vec<_> = both.iter().map(|part| (&*part.invoice, part.minor)).collect();
    assert_eq!(told, [(&*invoice_number(0), 6_000), (&*invoice_number(1), 1_000)]);
}

/// Of what goes out nothing is left to be paid: the last invoice of it was told to give back all.
#[test]
fn an_answer_that_gives_back_is_by_what_was_paid() {
    let inputs = invoiced(&[("R-20261", 2_000), ("R-20262", 1_500)]);
    let stranger = Payment { party: Some("Somebody".into()), ..paid(&inputs, -3_500, "R-20261 R-20262") };
    let payments = [(8, paid(&inputs, 2_000, "")), (9, paid(&inputs, 1_500, "")), (10, stranger)];
    let (_, books) = booked(inputs, &payments);
    let answers = books.undecided[0].parts.iter();
    let told: Vec<Vec<_>> = answers.map(|of| of.iter().map(|part| part.minor).collect()).collect();
    assert!(told.contains(&vec![-2_000, -1_500]), "{told:?}");
}

/// Of its quote there are invoices of two currencies: what was decided was asked again.
#[test]
fn what_is_decided_for_a_quote_of_two_currencies_is_not_asked_again() {
    let mut inputs = invoiced(&[("R-20261", 2_000), ("R-20262", 1_500)]);
    inputs.invoices[1].currency = currency("USD");
    inputs.decisions = vec![decided(1, &[("Q-2026-0000", 2_000)])];
    let (_, books) = booked(inputs.clone(), &[(10, paid(&inputs, 2_000, "for the repair"))]);
    assert_eq!(whys(&books), []);
    let unpaid = reasons(&books).into_iter().filter(|(reason, _)| *reason == "unpaid");
    assert_eq!(unpaid.collect::<Vec<_>>(), [("unpaid", -1_500)]);
}

#[test]
fn every_invoice_that_a_part_may_be_of_is_in_question() {
    // Ten, of which a question tells eight; the one of less than was paid cannot take a part of it.
    let sales: Vec<_> = (0..20).map(|n| (if n == 2 { 900 } else { 10_000 + n }, "EUR")).collect();
    let (_, books) = booked(sold(&sales), &[(20, from(0, 1_000, ""))]);
    assert_eq!((whys(&books), books.undecided[0].candidates.len()), (vec![Why::PartOfSeveral], 8));
    let of_others: Vec<_> = (0..20).filter(|n| n % 2 == 1).map(|n| ("unpaid", -10_000 - n)).collect();
    // Of each of them all but what was paid is owed whatever the answer is.
    let own = (0..20).filter(|n| n % 2 == 0 && *n != 2).map(|n| ("unpaid", -9_000 - n));
    let mut expected: Vec<_> = of_others.into_iter().chain(own).chain([("unpaid", -900)]).collect();
    let mut told = reasons(&books);
    expected.sort_unstable();
    told.sort_unstable();
    assert_eq!(told, expected);
}

#[test]
fn a_cent_that_is_asked_about_silences_a_cent() {
    let (_, books) = booked(sold(&[(5_950_000, "EUR"), (1, "EUR"), (119, "EUR")]), &[(20, from(0, 1, ""))]);
    assert_eq!(whys(&books), [Why::PartOfSeveral]);
    let mut told = reasons(&books);
    told.sort_unstable();
    assert_eq!(told, [("unpaid", -5_949_999), ("unpaid", -118)]);
}

#[test]
fn a_payment_that_only_invoices_in_question_could_take_is_asked_about_too() {
    let twins = [(5_000, "EUR"), (1, "EUR"), (5_000, "EUR")];
    let small = (8, from(1, 1, &numbers(&[1])));
    // One of two equal invoices is paid, and a part of one of them.
    let paid = [small.clone(), (20, from(0, 5_000, "")), (21, from(0, 2_000, ""))];
    let (_, books) = booked(sold(&twins), &paid);
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::EquallyGood, Why::PartOfSeveral], vec![]));
    // Two equal payments, each of which may be of the first and third or of the fifth and seventh.
    let four =
        [(1_000, "EUR"), (1, "EUR"), (4_000, "EUR"), (0, "EUR"), (2_000, "EUR"), (0, "EUR"), (3_000, "EUR")];
    let paid = [small.clone(), (20, from(0, 5_000, "")), (21, from(0, 5_000, ""))];
    let (_, books) = booked(sold(&four), &paid);
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::EquallyGood; 2], vec![]));
    // A part of what is named with another currency.
    let mixed = [(5_000, "EUR"), (1, "EUR"), (11_172, "USD")];
    let paid = [small, (20, from(0, 15_000, &numbers(&[0, 2]))), (21, from(0, 2_000, ""))];
    let (_, books) = booked(sold(&mixed), &paid);
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::SeveralCurrencies, Why::PartOfSeveral], vec![]));
}

/// The rows of an answer have to come to what is asked about; it was told without what banks kept back.
#[test]
fn what_is_asked_about_is_what_it_clears() {
    let less_charges = Payment { charges_minor: 50, ..from(0, 4_950, "") };
    let (_, books) = booked(sold(&[(5_000, "EUR"), (1, "EUR"), (5_000, "EUR")]), &[(20, less_charges)]);
    let question = &books.undecided[0];
    assert_eq!((question.amount_minor, question.parts[0][0].minor), (5_000, 5_000));
}

#[test]
fn a_stranger_is_not_asked_for_what_another_paid() {
    let mut stranger = from(0, 5_000, "");
    stranger.party = Some("Somebody".into());
    let (_, books) = booked(sold(&[(5_000, "EUR")]), &[(20, from(0, 5_000, "")), (21, stranger)]);
    assert_eq!((whys(&books), reasons(&books)), (vec![], vec![("payment_unknown", 5_000)]));
}

#[test]
fn what_is_paid_back_is_not_told_as_overpaid_while_it_is_asked_of_what() {
    // Two invoices were paid twice, and one of them was given back.
    let twice = [0, 2].map(|number| from(0, 10_000, &numbers(&[number])));
    let paid = [
        (8, twice[0].clone()),
        (9, twice[1].clone()),
        (20, from(0, -5_000, "")),
        (8, from(1, 1, &numbers(&[1]))),
    ];
    let (_, books) = booked(sold(&[(5_000, "EUR"), (1, "EUR"), (5_000, "EUR")]), &paid);
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::EquallyGood], vec![]));
}

#[test]
fn a_sale_that_an_invoice_may_be_of_is_not_told_to_be_without_one() {
    let mut inputs = sold(&[(5_000, "EUR"), (1, "EUR"), (5_000, "EUR")]);
    inputs.invoices.remove(2);
    inputs.invoices[0].quote = None;
    let (mut inputs, books) = booked(inputs, &[(8, from(1, 1, &numbers(&[1])))]);
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::EquallyGood], vec![]));
    inputs.decisions = vec![Decision::Invoice {
        place: Place { file: "decided_invoices.csv".into(), line: 2 },
        seller: "workshop".into(),
        number: invoice_number(0).into(),
        quote: Some("Q-2026-0002".into()),
    }];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("invoice_missing", -5_000), ("unpaid", -5_000)]);
}

#[test]
fn a_question_about_a_partners_paper_does_not_hide_what_he_owes() {
    // Of which of two equal invoices a partner took back one is asked; ours to him are not paid.
    let mut inputs = empty();
    for number in [0, 2] {
        let of = agreed(&Plan { partners: 1, net: 9_000, vat: [1; 3], day: 3, ..Plan::default() }, number);
        for sale in 0..2 {
            let mut paper = invoice(&of, number, sale, &of.sales[sale].vat, of.sales[sale].net.minor());
            paper.buyer.clone_from(
                &invoice(&inputs.agreed.first().cloned().unwrap_or(of.clone()), 0, sale, &[], 0).buyer,
            );
            inputs.invoices.push(paper);
        }
        inputs.agreed.push(of);
        let buyer = inputs.agreed[0].sales[1].buyer.clone();
        inputs.agreed.last_mut().unwrap().sales[1].buyer = buyer;
    }
    let mut credit = inputs.invoices[1].clone();
    (credit.kind, credit.number, credit.quote) = (InvoiceKind::CreditNote, "G-1".into(), None);
    credit.issued = day(9);
    inputs.invoices.push(credit);
    let books = reconcile(&inputs).unwrap();
    assert_eq!(whys(&books), [Why::EquallyGood]);
    let ours = inputs.agreed[0].sales[0].gross.minor();
    assert_eq!(reasons(&books), [("unpaid", -ours), ("unpaid", -ours)]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Every cent that came in clears something, is asked about or is for nothing known; of an invoice that a
    /// question names no more is told as unpaid than is owed whatever the answers are; and when each is answered, by any
    /// of its rows, what is told is what is owed.
    #[test]
    fn money_is_told_once(
        nets in prop::collection::vec(1_i64..9, 1..7),
        paid in prop::collection::vec((1_i64..20, 0_usize..2, prop::collection::vec(any::<Index>(), 0..3)), 0..6),
        answers in prop::collection::vec(any::<Index>(), 12),
    ) {
        let sales: Vec<_> = nets.iter().map(|net| (net * 1_000, "EUR")).collect();
        let payments: Vec<_> = paid.iter().zip(8..).map(|((halves, payer, named), on)| {
            // Most name nothing; what is named may be of the other customer.
            let named: Vec<usize> = named.iter().skip(1).map(|one| one.index(nets.len())).collect();
            (on, from(*payer, halves * 500, &numbers(&named)))
        }).collect();
        let (mut inputs, mut books) = booked(sold(&sales), &payments);
        let asked_for: i64 = inputs.invoices.iter().map(|invoice| invoice.gross_minor).sum();
        let came: i64 = payments.iter().map(|(_, payment)| payment.minor).sum();
        let mut answers = answers.into_iter();
        loop {
            let owed = books.journal.balances().unwrap().iter().find(|(role, _)| *role == Role::Receivable).unwrap().1;
            let owed = i64::try_from(owed).unwrap();
            let told = |code: &'static str| reasons(&books).into_iter().filter(move |(of, _)| *of == code).map(|(_, minor)| minor);
            let asked: i64 = books.undecided.iter().map(|question| question.amount_minor).sum();
            let others = inputs.decisions.iter().filter(|one| matches!(one, Decision::Payment { towards, .. } if towards.is_empty()));
            let others: i64 = others.map(|one| amount_of(one, &payments)).sum();
            prop_assert_eq!(asked_for - owed + asked + others + told("payment_unknown").sum::<i64>(), came);
            for question in &books.undecided {
                let named: Vec<&str> = question.candidates.iter().flatten().map(AsRef::as_ref).collect();
                for found in &books.differences {
                    let Difference { documents, reason, amount_minor, .. } = &found.difference;
                    let Some(of) = documents.iter().find(|one| named.contains(&&*one.number)) else { continue };
                    let of = inputs.invoices.iter().find(|invoice| *invoice.number == *of.number).unwrap();
                    let is_owed = asked - amount_minor <= of.gross_minor;
                    prop_assert!(is_owed || reason.code() != "unpaid", "{:?} {:?}", found, question);
                }
            }
            let Some(question) = books.undecided.first() else {
                prop_assert_eq!(told("unpaid").sum::<i64>() + told("overpaid").sum::<i64>(), -owed);
                break;
            };
            let Some(answer) = answers.next() else { panic!("{:?}", books.undecided) };
            let answer = answer.index(question.parts.len() + 1);
            inputs.decisions.push(Decision::Payment {
                place: Place { file: "decided_payments.csv".into(), line: 2 },
                payment: question.payment.clone().unwrap(),
                towards: question.parts.get(answer).cloned().unwrap_or_default(),
            });
            books = reconcile(&inputs).unwrap();
        }
    }
}

/// What the payment of a decision is of; each is on a day of its own.
fn amount_of(decision: &Decision, payments: &[(u64, Payment)]) -> i64 {
    let Decision::Payment { payment, .. } = decision else { panic!("{decision:?}") };
    payments[usize::try_from(payment.entry).unwrap() - 1].1.minor
}
