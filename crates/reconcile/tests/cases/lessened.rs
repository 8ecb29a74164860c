//! Which invoices a credit note changes, and which it leaves as they were: what was paid too much of those is known by the
//! day it was paid, however late the credit note came.

use chrono::NaiveDate;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, paid, reasons};
use crate::parts::invoiced;
use crate::world::day;

/// What was overpaid: how much, and by which day it is known.
fn overpaid(books: &Reconciled) -> Vec<(i64, NaiveDate)> {
    let told = books.differences.iter().map(|found| &found.difference);
    told.filter(|one| one.reason.code() == "overpaid").map(|one| (one.amount_minor, one.day)).collect()
}

/// Papers of a sale of 50.00, a payment of the first of them on the eleventh of June, and the last credit note ten days later.
fn paid_before(papers: &[(&str, i64)], minor: i64, names: &[(usize, &str)]) -> (Inputs, Reconciled) {
    let mut inputs = invoiced(papers);
    for (paper, of) in names {
        inputs.invoices[*paper].preceding = Some((*of).into());
    }
    inputs.invoices.last_mut().unwrap().issued = day(20);
    let payment = paid(&inputs, minor, "R-20261");
    booked(inputs, &[(10, payment)])
}

#[test]
fn a_credit_note_used_up_by_the_invoice_it_names_changes_no_other() {
    let papers = [("R-20261", 2_000), ("R-20262", 3_000), ("G-20261", -1_000)];
    let (_, books) = paid_before(&papers, 2_500, &[(2, "R-20262")]);
    assert_eq!(overpaid(&books), [(500, day(10))]);
    // One that names it is known by its own day.
    let (_, books) = paid_before(&papers, 2_500, &[(2, "R-20261")]);
    assert_eq!(overpaid(&books), [(1_500, day(20))]);
}

/// Of two the first alone was read, and what was over came off the invoice that stands between them.
#[test]
fn a_credit_note_is_taken_off_each_invoice_that_it_names() {
    let papers = [("R-20261", 2_000), ("R-20262", 1_000), ("R-20263", 2_000), ("G-20261", -2_500)];
    let mut inputs = invoiced(&papers);
    let credit = &mut inputs.invoices[3];
    credit.preceding = Some("R-20261".into());
    credit.other_preceding = vec!["r 20263".into()].into_boxed_slice();
    for quote in [inputs.invoices[3].quote.clone(), None] {
        inputs.invoices[3].quote = quote;
        let books = reconcile(&inputs).unwrap();
        let told = books.differences.iter().map(|found| &found.difference);
        let unpaid = told.filter(|one| one.reason.code() == "unpaid");
        let mut unpaid: Vec<_> = unpaid.map(|one| (&*one.documents[1].number, one.amount_minor)).collect();
        unpaid.sort_unstable();
        assert_eq!((unpaid, books.undecided.len()), (vec![("R-20262", -1_000), ("R-20263", -1_500)], 0));
    }
}

/// A credit note over two part invoices, and a new invoice of all: the first that it named was looked at alone, so that all
/// three were asked for.
#[test]
fn all_invoices_that_credit_notes_name_are_taken_back() {
    for [first, second] in [["R-20261", "R-20262"], ["R-20262", "R-20261"]] {
        for parts in [&[-3_000][..], &[-1_800, -1_200]] {
            let mut papers = vec![("R-20261", 2_000), ("R-20262", 1_000)];
            papers.extend(["G-20261", "G-20262"].into_iter().zip(parts.iter().copied()));
            papers.push(("R-20263", 5_000));
            let mut inputs = invoiced(&papers);
            for credit in inputs.invoices.iter_mut().filter(|one| one.number.starts_with('G')) {
                credit.preceding = Some(first.into());
                credit.other_preceding = vec![second.into()].into_boxed_slice();
            }
            let payment = paid(&inputs, 5_000, "R-20263");
            let (inputs, books) = booked(inputs, &[(10, payment)]);
            assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0), "{first} {parts:?}");
            // What was paid of one of them before is owed.
            let earlier = [(6, paid(&inputs, 1_000, "R-20262")), (10, paid(&inputs, 5_000, "R-20263"))];
            let (_, books) = booked(inputs, &earlier);
            assert_eq!(reasons(&books), [("overpaid", 1_000)], "{first} {parts:?}");
        }
    }
}

/// A credit note for the first that also names the second took nothing back: the first was overpaid, the second unpaid.
#[test]
fn a_credit_note_of_one_invoice_that_also_names_its_replacement_takes_back_the_first() {
    for [first, second] in [["R-20261", "R-20262"], ["R-20262", "R-20261"]] {
        let mut inputs = invoiced(&[("R-20261", 5_000), ("R-20262", 5_000), ("G-20261", -5_000)]);
        inputs.invoices[2].preceding = Some(first.into());
        inputs.invoices[2].other_preceding = vec![second.into()].into_boxed_slice();
        let payments = [(6, paid(&inputs, 5_000, "R-20261")), (10, paid(&inputs, 5_000, "R-20262"))];
        let (_, books) = booked(inputs.clone(), &payments[1..]);
        assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0), "{first}");
        let (_, books) = booked(inputs.clone(), &payments);
        assert_eq!(overpaid(&books), [(5_000, day(6))], "{first}");
        // The one that names the first alone takes it, so the second is left for this one.
        let mut other = inputs.invoices[2].clone();
        (other.number, other.issued) = ("G-20262".into(), day(6));
        (other.preceding, other.other_preceding) = (Some("R-20261".into()), Box::default());
        inputs.invoices.push(other);
        let (_, books) = booked(inputs.clone(), &payments);
        assert_eq!(overpaid(&books), [(5_000, day(6)), (5_000, day(10))], "{first}");
        let [one, other] = payments;
        let back = (12, paid(&inputs, -5_000, "G-20261"));
        let (_, books) = booked(inputs, &[one, other, back]);
        assert_eq!(overpaid(&books), [(5_000, day(6))], "{first}");
    }
}

/// What the first credit note left of it the second one took, so the third is of the other invoice alone.
#[test]
fn a_credit_note_changes_nothing_of_an_invoice_that_asks_for_nothing_any_more() {
    let papers =
        [("R-20261", 2_000), ("R-20262", 3_000), ("G-20261", -1_500), ("G-20262", -500), ("G-20263", -500)];
    let (_, books) = paid_before(&papers, 1_000, &[(2, "R-20261")]);
    assert_eq!(overpaid(&books), [(1_000, day(10))]);
}

/// Of two instalments it took back the first, which was paid.
#[test]
fn a_credit_note_that_names_instalments_is_taken_off_as_it_names_them() {
    let mut inputs = invoiced(&[("R-20261", 2_500), ("R-20262", 2_500), ("G-20261", -2_500)]);
    inputs.invoices[2].preceding = Some("R-20262".into());
    inputs.invoices[2].other_preceding = vec!["R-20261".into()].into_boxed_slice();
    let first = [(6, paid(&inputs, 2_500, "R-20261"))];
    let (_, books) = booked(inputs, &first);
    let told = reasons(&books);
    assert!(told.iter().all(|(reason, _)| !["overpaid", "unpaid"].contains(reason)), "{told:?}");
}
