//! What the bank takes back one after the other, beside payments that are asked about, and in parts that were not paid so.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::{Reconciled, reconcile};

use crate::booked::{paid, reasons, sold};
use crate::held_back::{decided, unapplied};
use crate::own::balance;
use crate::reversed::{moved, unpaid};
use crate::world::{day, invoice_number};

fn whys(books: &Reconciled) -> Vec<Why> {
    books.undecided.iter().map(|question| question.why).collect()
}

/// Two of them name the invoice that was paid twice, so nothing is left for the third.
#[test]
fn each_reversal_takes_back_a_payment_of_its_own() {
    let inputs = sold(&[5_000]);
    let by = |words: &str| vec![paid(&inputs, 5_000, words)];
    let number = invoice_number(0);
    let entries = [(10, by(&number)), (11, by(&number))];
    let back = [(14, by(&number)), (15, by(&number)), (16, by("returned"))];
    let (_, books) = moved(&inputs, &entries, &back);
    let told = vec![("paid_unknown", -5_000), ("unpaid", -5_000)];
    assert_eq!((reasons(&books), books.undecided.len()), (told, 0));
}

/// The later payment was for the first invoice as well, and not for the other one that is named.
#[test]
fn what_is_taken_back_was_for_all_that_is_named() {
    let mut inputs = sold(&[12_000, 4_000, 4_000]);
    inputs.invoices[0].due = Some(day(30));
    let [all, first, second] = [0, 1, 2].map(invoice_number);
    let by = |other: &str| vec![paid(&inputs, 10_000, &format!("{all} {other}"))];
    let entries = [(10, by(&first)), (11, by(&second))];
    let (_, books) = moved(&inputs, &entries, &[(15, by(&first))]);
    assert_eq!((unpaid(&books), books.undecided.len()), (vec![first, all.clone()], 0));
}

/// He paid by the number of another's invoice.
#[test]
fn what_is_asked_about_is_neither_of_nothing_nor_unknown() {
    let inputs = crate::own::sold(&[5_000, 5_000]);
    let [own, other] = [0, 1].map(invoice_number);
    let by = |words: &str| vec![paid(&inputs, 5_000, words)];
    let entries = [(10, by(&other)), (11, by(&own))];
    // What a person said takes back nothing leaves both to the other reversal.
    let (mut decided_so, _) = moved(&inputs, &entries, &[(15, by("returned")), (16, by("returned"))]);
    decided_so.decisions = vec![decided(3, &[])];
    let books = reconcile(&decided_so).unwrap();
    assert_eq!(whys(&books), [Why::OtherPayer, Why::EquallyGood]);
    // What names another invoice leaves it.
    let (_, books) = moved(&inputs, &entries[..1], &[(15, by(&own))]);
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::OtherPayer], vec![("unpaid", -5_000)]));
    // Nor does a reversal that is asked about take back what was for nothing.
    let back = [(15, by(&other)), (16, by("returned"))];
    let (mut decided_so, _) = moved(&inputs, &[(10, by("a gift"))], &back);
    decided_so.decisions = vec![decided(1, &[])];
    let books = reconcile(&decided_so).unwrap();
    assert_eq!((whys(&books), reasons(&books)), (vec![Why::OtherPayer], vec![("unpaid", -5_000); 2]));
}

/// Which of the two was for the invoice that is named is not known: nothing is left of either.
#[test]
fn an_entry_with_money_both_ways_is_taken_back() {
    let inputs = sold(&[5_000]);
    let entry = vec![paid(&inputs, 7_000, ""), paid(&inputs, -2_000, "")];
    let back = vec![Payment { party: None, ..paid(&inputs, 5_000, &invoice_number(0)) }];
    let (_, books) = moved(&inputs, &[(10, entry)], &[(15, back)]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("unpaid", -5_000)], 0));
}

/// Paid in advance for two quotes, and taken back by the number of one.
#[test]
fn an_advance_for_two_quotes_is_taken_back_as_it_was() {
    let mut inputs = sold(&[6_000, 4_000]);
    inputs.invoices.clear();
    inputs.agreed.iter_mut().for_each(|of| of.invoice_by = day(60));
    inputs.terms.until = day(50);
    let by = |words: &str| vec![paid(&inputs, 10_000, words)];
    let (_, books) = moved(&inputs, &[(10, by("Q-2026-0000 Q-2026-0001"))], &[(15, by("Q-2026-0000"))]);
    assert_eq!((reasons(&books), books.undecided.len(), unapplied(&books)), (vec![], 0, 0));
}

/// It names nobody: so does what takes back all of an entry, but no payment alone.
#[test]
fn what_names_nobody_takes_no_single_payment_back() {
    let inputs = sold(&[5_000, 6_000]);
    let by = |number, minor| paid(&inputs, minor, &invoice_number(number));
    let back = |minor| vec![Payment { party: None, ..paid(&inputs, minor, "") }];
    let (_, books) =
        moved(&inputs, &[(10, vec![by(0, 5_000)]), (10, vec![by(1, 6_000)])], &[(15, back(5_000))]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("paid_unknown", -5_000)], 0));
    let (_, books) = moved(&inputs, &[(10, vec![by(0, 5_000), by(1, 6_000)])], &[(15, back(11_000))]);
    assert_eq!((unpaid(&books).len(), books.undecided.len()), (2, 0));
    // Nothing was kept back of an entry that named nothing either.
    let entry = vec![paid(&inputs, 5_000, ""), paid(&inputs, 6_000, "")];
    let (_, books) = moved(&inputs, &[(10, entry)], &[(15, back(11_000))]);
    let balances = [Role::Bank, Role::BankCharges, Role::Clearing].map(|role| balance(&books, role));
    assert_eq!((unpaid(&books).len(), balances), (2, [0; 3]));
}
