//! Of what more could be meant than a question tells: all of it is in question, and nothing besides.

use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, paid, reasons, sold};
use crate::held_back::taken_back;
use crate::reversed::unpaid;
use crate::world::{Plan, agreed, currency, day, invoice, invoice_number, payment};

fn stranger(minor: i64) -> Payment {
    payment(minor, &Firm { id: "X".into(), name: "A Stranger".into(), vat_id: None }, "")
}

/// Sales of 100.00 to one customer, of each of which he paid so much too much.
fn overpaid(all: &[i64]) -> (Inputs, Vec<(u64, Payment)>) {
    let inputs = sold(&vec![10_000; all.len()]);
    let own = all.iter().enumerate();
    let own = own.map(|(number, over)| (10, paid(&inputs, 10_000 + over, &invoice_number(number)))).collect();
    (inputs, own)
}

/// The questions: why, and how many answers are told.
fn asked(books: &Reconciled) -> Vec<(Why, usize)> {
    books.undecided.iter().map(|one| (one.why, one.candidates.len())).collect()
}

/// Twelve, of which eight are told.
#[test]
fn all_that_are_alike_are_in_question() {
    let (inputs, eight) = (sold(&[5_000; 12]), vec![(Why::EquallyGood, 8)]);
    for payment in [paid(&inputs, 5_000, ""), stranger(5_000)] {
        let (_, books) = booked(inputs.clone(), &[(20, payment)]);
        assert_eq!((reasons(&books), asked(&books)), (vec![], eight.clone()));
    }
    let (inputs, all) = overpaid(&[700; 12]);
    for payment in [paid(&inputs, -700, ""), stranger(-700)] {
        let (_, books) = booked(inputs.clone(), &[&all[..], &[(20, payment)]].concat());
        assert_eq!((reasons(&books), asked(&books)), (vec![], eight.clone()));
    }
}

/// Five pairs come to it, of which four are looked for. Of two pairs both are, and what is in neither is told.
#[test]
fn all_that_several_ways_may_take_are_in_question() {
    let nets: Vec<i64> = (1_000..1_010).collect();
    let over: Vec<i64> = (100..110).collect();
    let [four, two] = [4, 2].map(|ways| vec![(Why::EquallyGood, ways)]);
    for (nets, minor, told, ways) in [
        (nets, 2_009, vec![], &four),
        (vec![3_000, 7_000, 4_000, 6_000, 500], 10_000, vec![("unpaid", -500)], &two),
    ] {
        let inputs = sold(&nets);
        let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, minor, ""))]);
        assert_eq!((reasons(&books), asked(&books)), (told, ways.clone()));
    }
    for (over, minor, told, ways) in
        [(over, 209, vec![], &four), (vec![300, 700, 400, 600, 50], 1_000, vec![("overpaid", 50)], &two)]
    {
        let (inputs, mut all) = overpaid(&over);
        all.push((20, paid(&inputs, -minor, "")));
        let (_, books) = booked(inputs, &all);
        assert_eq!((reasons(&books), asked(&books)), (told, ways.clone()));
    }
}

/// The bank takes back one of two payments of too much; or one of two that gave more back than that.
#[test]
fn all_that_a_reversal_may_be_of_are_in_question() {
    let inputs = sold(&[5_000, 5_000]);
    let by = |on, minor| [0, 1].map(|number| (on, paid(&inputs, minor, &invoice_number(number))));
    let (there, back) = (by(10, 5_700), by(12, -800));
    for (all, minor) in [(there.to_vec(), 5_700), ([there.clone(), back].concat(), -800)] {
        let returned = (20, paid(&inputs, -minor, "returned"));
        let (mut inputs, _) = booked(inputs.clone(), &[all, vec![returned]].concat());
        inputs.statements[0].batches.last_mut().unwrap().reversal = true;
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), asked(&books)), (vec![], vec![(Why::EquallyGood, 2)]), "{minor}");
    }
}

/// Two payments are together all of the first invoice. Among one more than are tried each may be a part of any.
#[test]
fn parts_are_looked_for_among_as_many_invoices_as_are_tried() {
    for (invoices, questions) in [(24, 0), (25, 2)] {
        let nets: Vec<i64> = (0..invoices).map(|nth| 9_000 + 10 * nth).collect();
        let inputs = sold(&nets);
        let both = [(20, paid(&inputs, 4_000, "")), (21, paid(&inputs, 5_000, ""))];
        assert_eq!(asked(&booked(inputs, &both).1), vec![(Why::PartOfSeveral, 8); questions], "{invoices}");
    }
}

/// Of as many as are tried two come to it. One more may be any of them.
#[test]
fn several_are_looked_for_among_as_many_as_are_tried() {
    for (others, questions) in [(22, vec![]), (23, vec![(Why::TooMany, 8)])] {
        let nets: Vec<i64> =
            [7_000, 11_000].into_iter().chain((0..others).map(|nth| 10_000 + 7 * nth)).collect();
        let inputs = sold(&nets);
        let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 18_000, ""))]);
        assert_eq!(asked(&books), questions, "{others}");
    }
}

/// A part of the smallest of 25 was paid before, so that it asks for just as much as the next payment: it stands behind those
/// that are told, and was told to be unpaid.
#[test]
fn what_asks_for_as_much_as_may_be_a_part_is_in_question() {
    let nets: Vec<i64> = [5_000].into_iter().chain(20_000..20_024).collect();
    let mut inputs = sold(&nets);
    inputs.invoices.iter_mut().skip(1).for_each(|one| one.issued = day(30));
    let all = [(10, 2_000), (31, 3_000)].map(|(on, minor)| (on, paid(&inputs, minor, "")));
    let (_, books) = booked(inputs, &all);
    assert_eq!((asked(&books), unpaid(&books).len()), (vec![(Why::PartOfSeveral, 8)], 24));
    assert!(!unpaid(&books).contains(&invoice_number(0)));
}

/// It may be paid by what names it beside another in dollars.
#[test]
fn parts_of_an_invoice_in_question_are_asked_about() {
    let (mut inputs, dollars) = (sold(&[5_000, 11_172]), currency("USD"));
    (inputs.agreed[1].currency, inputs.invoices[1].currency) = (dollars, dollars);
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let all = [(10, 15_000, &*both), (20, 2_000, ""), (21, 3_000, "")];
    let all = all.map(|(on, minor, words)| (on, paid(&inputs, minor, words)));
    let (_, books) = booked(inputs, &all);
    assert_eq!(asked(&books), [(Why::SeveralCurrencies, 1), (Why::EquallyGood, 1), (Why::EquallyGood, 1)]);
}

/// So is what comes to it and another.
#[test]
fn what_comes_to_an_invoice_in_question_and_another_is_asked_about() {
    let (mut inputs, dollars) = (sold(&[5_000, 11_172, 700]), currency("USD"));
    (inputs.agreed[1].currency, inputs.invoices[1].currency) = (dollars, dollars);
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let all = [(10, 15_000, &*both), (20, 5_700, "")];
    let all = all.map(|(on, minor, words)| (on, paid(&inputs, minor, words)));
    let (_, books) = booked(inputs, &all);
    assert_eq!(asked(&books), [(Why::SeveralCurrencies, 1), (Why::EquallyGood, 1)]);
}

/// It is asked whether the advance went back; then as much goes back again, with what was paid too much of an invoice.
#[test]
fn what_comes_to_a_debt_in_question_and_another_is_asked_about() {
    let mut inputs = taken_back(1);
    let (buyer, quote) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[0].number.clone());
    for number in [1, 2] {
        let mut of = agreed(&Plan { net: 8_000, vat: [1; 3], day: 3, ..Plan::default() }, number);
        if number == 2 {
            of.sales[0].buyer = buyer.clone();
        }
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, 8_000));
        inputs.agreed.push(of);
    }
    let payments = [
        (5, payment(5_000, &buyer, &quote)),
        (6, payment(8_700, &buyer, &invoice_number(2))),
        (9, payment(-5_000, &buyer, &invoice_number(1))),
        (10, payment(-5_700, &buyer, "")),
    ];
    let (_, books) = booked(inputs, &payments);
    let whys: Vec<Why> = books.undecided.iter().map(|one| one.why).collect();
    assert_eq!(whys, [Why::OtherPayer, Why::EquallyGood]);
}

/// Paid before the one and named with the other, which has to be paid: whose money it is that goes back is asked.
#[test]
fn what_one_is_owed_is_not_set_against_what_another_owes() {
    let inputs = crate::own::sold(&[5_000, 500]);
    let by = |minor, words: &str| Payment { remittance: words.into(), ..stranger(minor) };
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let (_, books) = booked(inputs, &[(10, by(6_500, &invoice_number(0))), (20, by(-1_000, &both))]);
    assert_eq!(asked(&books), [(Why::EquallyGood, 3)]);
}
