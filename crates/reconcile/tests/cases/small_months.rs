//! Small months of a workshop, as an accountant would have them.

use std::sync::Arc;

use evenfare_reconcile::changed::How;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Payment};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, paid, reasons, sold};
use crate::own::balance;
use crate::reversed::moved;
use crate::world::{Plan, agreed, currency, day, empty, groups, invoice, invoice_number, payment};

/// What takes so much of the first sale back, by the number of its invoice.
fn credit(inputs: &mut Inputs, minor: i64, on: u64) {
    let paper = invoice(&inputs.agreed[0], 0, 0, &groups(1, minor), minor);
    let (kind, preceding) = (InvoiceKind::CreditNote, Some(paper.number.clone()));
    let number = format!("G-2026-000{on}").into();
    inputs.invoices.push(Invoice { kind, number, preceding, issued: day(on), due: None, ..paper });
}

fn told(books: &Reconciled) -> (Vec<(&'static str, i64)>, usize) {
    (reasons(books), books.undecided.len())
}

/// A partner is credited with his bonus of June, and pays the invoice of July less that.
#[test]
fn a_bonus_is_set_against_the_next_invoice() {
    let partner = Arc::new(Firm { id: "P-10".into(), name: "Partner P-10".into(), vat_id: None });
    let mut inputs = empty();
    for (number, (net, on)) in [(200_000, 3), (50_000, 33)].into_iter().enumerate() {
        let mut of = agreed(&Plan { net, vat: [1; 3], day: on, ..Plan::default() }, number);
        of.sales[0].buyer = partner.clone();
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    let bonus = Invoice {
        kind: InvoiceKind::CreditNote,
        number: "G-2026-00032".into(),
        quote: Some("bonus of June".into()),
        is_noted: true,
        issued: day(32),
        due: None,
        ..invoice(&inputs.agreed[0], 0, 0, &groups(1, 3_000), 3_000)
    };
    inputs.invoices.push(bonus);
    let both = format!("{} less G-2026-00032", invoice_number(1));
    let payments = [(10, paid(&inputs, 200_000, &invoice_number(0))), (45, paid(&inputs, 47_000, &both))];
    let (_, books) = booked(inputs, &payments);
    assert_eq!((told(&books), balance(&books, Role::Receivable)), ((vec![], 0), 0));
    // What is owed is what July adds: 1.5 % of 500.00.
    assert_eq!(balance(&books, Role::BonusPayable), -750);
}

/// Money goes back as a favour, and its credit note is written when the month is closed.
#[test]
fn a_credit_note_settles_what_went_back_before_it() {
    let june: Month = "2026-06".parse().unwrap();
    let mut inputs = sold(&[10_000]);
    let payments = [(10, paid(&inputs, 10_000, &invoice_number(0))), (20, paid(&inputs, -1_000, "a favour"))];
    credit(&mut inputs, 1_000, 35);
    let (mut inputs, _) = booked(inputs, &payments);
    let until = std::mem::replace(&mut inputs.terms.until, june.last_day());
    let books = reconcile(&inputs).unwrap();
    assert_eq!(told(&books), (vec![("paid_unknown", -1_000)], 0));
    (inputs.closings, inputs.terms.until) = (vec![books.close(june).unwrap()], until);
    let books = reconcile(&inputs).unwrap();
    assert_eq!(told(&books), (vec![("charged_less", -1_000)], 0));
    let settled: Vec<i64> = books.settled.iter().map(|one| one.found.difference.amount_minor).collect();
    let changed: Vec<How> = books.changed.iter().map(|one| one.how).collect();
    assert_eq!((settled, changed), (vec![-1_000], vec![How::Follows]));
}

/// A sale that was invoiced and paid is taken back, then its invoice, and then the money goes back.
#[test]
fn a_sale_that_was_paid_is_taken_back() {
    let mut inputs = sold(&[5_000]);
    inputs.agreed[0].reversed = Some(day(12));
    let payments = [(10, paid(&inputs, 5_000, &invoice_number(0))), (25, paid(&inputs, -5_000, "returned"))];
    credit(&mut inputs, 5_000, 20);
    let (mut inputs, books) = booked(inputs, &payments);
    assert_eq!((told(&books), balance(&books, Role::Receivable)), ((vec![], 0), 0));
    for (until, expect) in
        [(11, vec![]), (19, vec![("invoice_reversed", 5_000)]), (24, vec![("overpaid", 5_000)])]
    {
        inputs.terms.until = day(until);
        assert_eq!(told(&reconcile(&inputs).unwrap()), (expect, 0), "{until}");
    }
}

/// A direct debit comes back, and he pays by hand; in the same month, or in the next.
#[test]
fn what_was_taken_back_is_paid_again() {
    let inputs = sold(&[5_000]);
    let by = |words: &str| vec![paid(&inputs, 5_000, words)];
    for words in [&*invoice_number(0), ""] {
        let (_, books) = moved(&inputs, &[(10, by(words)), (20, by(""))], &[(15, by("returned"))]);
        assert_eq!((told(&books), balance(&books, Role::Receivable)), ((vec![], 0), 0), "{words}");
    }
    let june: Month = "2026-06".parse().unwrap();
    let (mut inputs, _) =
        moved(&inputs, &[(10, by(&invoice_number(0))), (45, by(""))], &[(35, by("returned"))]);
    let until = std::mem::replace(&mut inputs.terms.until, june.last_day());
    let closing = reconcile(&inputs).unwrap().close(june).unwrap();
    (inputs.closings, inputs.terms.until) = (vec![closing], until);
    let books = reconcile(&inputs).unwrap();
    assert_eq!((told(&books), books.changed.len()), ((vec![], 0), 0));
    inputs.terms.until = day(40);
    assert_eq!(told(&reconcile(&inputs).unwrap()), (vec![("unpaid", -5_000)], 0));
}

/// What was paid too much goes back to an account that is closed, comes back from it, and goes out once more.
#[test]
fn what_comes_back_of_what_went_back_is_owed_again() {
    let inputs = sold(&[5_000]);
    let by = |minor, words: &str| vec![paid(&inputs, minor, words)];
    let number = invoice_number(0);
    for words in ["too much", &*number] {
        let (there, back) = ([(10, by(5_700, &number)), (12, by(-700, words))], (15, by(-700, "returned")));
        let (_, books) = moved(&inputs, &there, std::slice::from_ref(&back));
        assert_eq!(told(&books), (vec![("overpaid", 700)], 0), "{words}");
        let again = [&there[..], &[(20, by(-700, ""))]].concat();
        let (_, books) = moved(&inputs, &again, &[back]);
        assert_eq!((told(&books), balance(&books, Role::Receivable)), ((vec![], 0), 0), "{words}");
    }
}

/// He pays in two parts, between which a credit note takes something off.
#[test]
fn parts_before_and_after_a_credit_note_are_all_that_is_left() {
    for words in [&*invoice_number(0), ""] {
        let mut inputs = sold(&[10_000]);
        credit(&mut inputs, 1_000, 20);
        let payments: Vec<(u64, Payment)> =
            [(10, 4_000), (30, 5_000)].map(|(on, minor)| (on, paid(&inputs, minor, words))).into();
        assert_eq!(told(&booked(inputs, &payments).1), (vec![("charged_less", -1_000)], 0), "{words}");
    }
}

/// Two sisters have one paymaster, whom nobody knows: by a number, by several, and by the amount alone.
#[test]
fn a_paymaster_pays_for_two_firms() {
    let inputs = crate::own::sold(&[5_000, 6_000, 7_000]);
    let paymaster = Firm { id: "X".into(), name: "Holding".into(), vat_id: None };
    let by = |minor, words: &str| Payment {
        party_account: Some("FR76 3000".into()),
        ..payment(minor, &paymaster, words)
    };
    let [first, second] = [0, 1].map(invoice_number);
    let payments = [(10, by(5_000, &first)), (11, by(6_000, &second)), (12, by(7_000, ""))];
    assert_eq!(told(&booked(inputs.clone(), &payments).1), (vec![], 1));
    let payments = [(10, by(11_000, &format!("{first}, {second}"))), (12, by(7_000, ""))];
    assert_eq!(told(&booked(inputs, &payments).1), (vec![], 1));
}

/// He takes off two per cent, which is told when the invoice is due, until a credit note says so.
#[test]
fn what_he_takes_off_is_owed_until_it_is_credited() {
    for words in [&*invoice_number(0), ""] {
        let inputs = sold(&[10_000]);
        let (mut inputs, _) = booked(inputs.clone(), &[(10, paid(&inputs, 9_800, words))]);
        for (until, expect) in [(16, vec![]), (17, vec![("unpaid", -200)])] {
            inputs.terms.until = day(until);
            assert_eq!(told(&reconcile(&inputs).unwrap()), (expect, 0), "{words} {until}");
        }
        credit(&mut inputs, 200, 16);
        assert_eq!(told(&reconcile(&inputs).unwrap()), (vec![("charged_less", -200)], 0), "{words}");
    }
}

/// Dollars are paid in two sums of euros, of which the bank takes a little of the second.
#[test]
fn dollars_are_paid_in_two_sums_of_euros() {
    let mut inputs = sold(&[111_720]);
    let usd = currency("USD");
    (inputs.agreed[0].currency, inputs.invoices[0].currency) = (usd, usd);
    let number = invoice_number(0);
    let payments = [(10, paid(&inputs, 50_000, &number)), (12, paid(&inputs, 49_900, &number))];
    let (_, books) = booked(inputs, &payments);
    assert_eq!(told(&books), (vec![], 0));
    assert_eq!([Role::Receivable, Role::Exchange].map(|role| balance(&books, role)), [0, 100]);
}
