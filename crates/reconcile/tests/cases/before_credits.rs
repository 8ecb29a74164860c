//! Payments that name nothing, of what an invoice asked for before a credit note took something off it.

use evenfare_reconcile::input::{Invoice, InvoiceKind, Payment};
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, paid, reasons, sold};
use crate::world::{day, groups, invoice};

/// Takes so much off an invoice of those.
fn credit(inputs: &mut Inputs, number: usize, minor: i64, on: u64) {
    let paper = invoice(&inputs.agreed[number], number, 0, &groups(1, minor), minor);
    let (kind, preceding) = (InvoiceKind::CreditNote, Some(paper.number.clone()));
    let number = format!("G-{number}-{on}").into();
    inputs.invoices.push(Invoice { kind, number, preceding, issued: day(on), due: None, ..paper });
}

fn moved(inputs: &Inputs, payments: &[(u64, i64)]) -> (Inputs, Reconciled) {
    let all: Vec<(u64, Payment)> =
        payments.iter().map(|(on, minor)| (*on, paid(inputs, *minor, "thank you"))).collect();
    booked(inputs.clone(), &all)
}

/// He was told to owe what the credit note left of it, and his money was for nothing known.
#[test]
fn who_paid_before_the_credit_note_paid_too_much() {
    let less = ("charged_less", -3_000);
    for (others, unpaid) in [(&[50_000][..], Some(("unpaid", -50_000))), (&[], None)] {
        let mut inputs = sold(&[&[10_000][..], others].concat());
        credit(&mut inputs, 0, 3_000, 20);
        for (payments, told) in [
            (&[(10, 10_000)][..], vec![less, ("overpaid", 3_000)]),
            (&[(19, 10_000), (25, -3_000)], vec![less]),
            (&[(10, 7_000)], vec![less]),
        ] {
            let (_, books) = moved(&inputs, payments);
            // The other invoice is due before the credit note was written.
            let told: Vec<_> = unpaid.into_iter().chain(told).collect();
            assert_eq!((reasons(&books), books.undecided.len()), (told, 0), "{payments:?} beside {others:?}");
        }
    }
    // On the day of the credit note it asked for less already.
    let mut inputs = sold(&[10_000]);
    credit(&mut inputs, 0, 3_000, 20);
    let (_, books) = moved(&inputs, &[(20, 10_000)]);
    assert_eq!(reasons(&books), [("unpaid", -7_000), less, ("payment_unknown", 10_000)]);
    // All of it was taken back.
    let mut inputs = sold(&[10_000]);
    credit(&mut inputs, 0, 10_000, 20);
    let missing = ("invoice_missing", -10_000);
    let (_, books) = moved(&inputs, &[(10, 10_000)]);
    assert_eq!(reasons(&books), [missing, ("overpaid", 10_000)]);
    let owed = &books.differences[1].difference;
    assert_eq!((owed.day, owed.quote.as_deref()), (day(20), Some("Q-2026-0000")));
    assert_eq!(reasons(&moved(&inputs, &[(10, 10_000), (25, -10_000)]).1), [missing]);
}

/// The second payment can only be for the one that asks for so much longer.
#[test]
fn the_invoice_that_asks_for_so_much_no_longer_is_first() {
    let mut inputs = sold(&[10_000, 10_000]);
    credit(&mut inputs, 0, 3_000, 25);
    credit(&mut inputs, 1, 3_000, 12);
    let (_, books) = moved(&inputs, &[(10, 10_000), (20, 10_000)]);
    let (less, over) = (("charged_less", -3_000), ("overpaid", 3_000));
    let mut told = reasons(&books);
    told.sort_unstable();
    assert_eq!((told, books.undecided.len()), (vec![less, less, over, over], 0));
}

/// It asked for two cents more than it comes to (BT-114). They were no part of what went back.
#[test]
fn what_was_paid_rounded_goes_back_rounded() {
    let mut inputs = sold(&[10_000]);
    inputs.invoices[0].rounding_minor = 2;
    credit(&mut inputs, 0, 10_000, 20);
    for words in [&*inputs.invoices[0].number, "thank you"] {
        let payments = [(10, paid(&inputs, 10_002, words)), (25, paid(&inputs, -10_002, "thank you"))];
        let (_, books) = booked(inputs.clone(), &payments);
        assert_eq!(
            (reasons(&books), books.undecided.len()),
            (vec![("invoice_missing", -10_000)], 0),
            "{words}"
        );
    }
}

#[test]
fn of_two_such_invoices_it_is_asked_which_one_payment_was_for() {
    let mut inputs = sold(&[10_000, 10_000]);
    credit(&mut inputs, 0, 3_000, 20);
    credit(&mut inputs, 1, 3_000, 21);
    let less = [("charged_less", -3_000); 2];
    let (_, books) = moved(&inputs, &[(10, 10_000)]);
    assert_eq!((reasons(&books), books.undecided.len()), (less.to_vec(), 1));
    let question = &books.undecided[0];
    assert_eq!((question.why, question.candidates.len()), (Why::EquallyGood, 2));
    // Two pay both, whichever is of which; and one that came too late for either is none of them.
    let (_, books) = moved(&inputs, &[(10, 10_000), (12, 10_000)]);
    let over = [less[0], ("overpaid", 3_000)];
    assert_eq!((reasons(&books), books.undecided.len()), ([over, over].concat(), 0));
    let (_, books) = moved(&inputs, &[(10, 10_000), (30, 10_000)]);
    assert_eq!((books.undecided.len(), reasons(&books).len()), (1, 3));
    // The second credit note alone is later than this one.
    let (_, books) = moved(&inputs, &[(20, 10_000)]);
    let told = vec![("unpaid", -7_000), less[0], less[1], ("overpaid", 3_000)];
    assert_eq!((reasons(&books), books.undecided.len()), (told, 0));
}

/// It went back of the one that was paid last, or by its number.
#[test]
fn of_two_that_are_paid_too_much_it_is_asked_which_money_goes_back() {
    let mut inputs = sold(&[10_000, 20_000]);
    credit(&mut inputs, 0, 3_000, 20);
    credit(&mut inputs, 1, 3_000, 21);
    let less = vec![("charged_less", -3_000); 2];
    for words in ["thank you", &*inputs.invoices[1].number] {
        let both = [(10, paid(&inputs, 10_000, "thank you")), (11, paid(&inputs, 20_000, words))];
        let back = |on| (on, paid(&inputs, -3_000, "returned"));
        let (_, books) = booked(inputs.clone(), &[&both[..], &[back(25)]].concat());
        assert_eq!((reasons(&books), books.undecided.len()), (less.clone(), 1), "{words}");
        let question = &books.undecided[0];
        assert_eq!((question.why, question.candidates.len()), (Why::EquallyGood, 2), "{words}");
        let (_, books) = booked(inputs.clone(), &[&both[..], &[back(25), back(26)]].concat());
        assert_eq!((reasons(&books), books.undecided.len()), (less.clone(), 0), "{words}");
    }
}

#[test]
fn what_went_out_before_anything_came_in_gives_none_of_it_back() {
    let mut inputs = sold(&[10_000]);
    credit(&mut inputs, 0, 3_000, 20);
    let (less, over) = (("charged_less", -3_000), ("overpaid", 3_000));
    for (on, expect) in [(8, vec![("paid_unknown", -3_000), less, over]), (12, vec![less])] {
        let mut payments = [(on, -3_000), (10, 10_000)];
        payments.sort_unstable();
        let (_, books) = moved(&inputs, &payments);
        assert_eq!((reasons(&books), books.undecided.len()), (expect, 0), "{on}");
    }
}

/// What was too much by then went back, and a second credit note makes it no less.
#[test]
fn what_went_back_before_another_credit_note_stays_so() {
    let mut inputs = sold(&[10_000]);
    credit(&mut inputs, 0, 3_000, 20);
    credit(&mut inputs, 0, 2_000, 40);
    let (_, books) = moved(&inputs, &[(10, 10_000), (25, -3_000)]);
    let told = vec![("charged_less", -5_000), ("overpaid", 2_000)];
    assert_eq!((reasons(&books), books.undecided.len()), (told, 0));
}

/// The payment was taken off the invoice again, in the next month.
#[test]
fn a_closed_month_stays_paid() {
    let june: Month = "2026-06".parse().unwrap();
    let (mut inputs, _) = moved(&sold(&[10_000]), &[(10, 10_000)]);
    inputs.terms.until = june.last_day();
    inputs.closings.push(reconcile(&inputs).unwrap().close(june).unwrap());
    credit(&mut inputs, 0, 10_000, 40);
    inputs.terms.until = day(50);
    let books = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&books), [("invoice_missing", -10_000), ("overpaid", 10_000)]);
    assert!(books.changed.is_empty(), "{:?}", books.changed);
}

/// Nine invoices, of which a question tells eight: of what came in, and of what went back between two credit notes.
#[test]
fn all_that_asked_for_as_much_are_in_question() {
    let mut inputs = sold(&[10_000; 9]);
    (0..9).for_each(|number| credit(&mut inputs, number, 3_000, 20));
    let (_, books) = moved(&inputs, &[(10, 10_000)]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("charged_less", -3_000); 9], 1));
    (0..9).for_each(|number| credit(&mut inputs, number, 2_500, 40));
    let (_, books) = moved(&inputs, &[&[(10, 10_000); 9][..], &[(25, -3_000)]].concat());
    let mut told = reasons(&books);
    told.sort_unstable();
    // Of 55.00 that is too much of each, 30.00 may have gone back.
    let expect = [[("charged_less", -5_500); 9], [("overpaid", 2_500); 9]].concat();
    assert_eq!((told, books.undecided.len()), (expect, 1));
}
