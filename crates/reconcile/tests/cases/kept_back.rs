//! What the bank had kept back of a payment that it takes back.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, reconcile};

use crate::booked::{paid, reasons, sold};
use crate::held_back::decided;
use crate::own::balance;
use crate::reversed::{moved, unpaid};
use crate::world::{currency, invoice_number, place};

/// The bank keeps something for it, or had kept something of what came in.
#[test]
fn charges_do_not_hide_what_is_taken_back() {
    let inputs = sold(&[10_000]);
    let less =
        |minor, charges_minor, words: &str| vec![Payment { charges_minor, ..paid(&inputs, minor, words) }];
    for ((came, kept), (goes, costs)) in
        [((10_000, 0), (10_300, 300)), ((9_800, 200), (10_000, 0)), ((9_800, 200), (9_800, 0))]
    {
        let entries = [(10, less(came, kept, &invoice_number(0)))];
        let (_, books) = moved(&inputs, &entries, &[(15, less(goes, costs, "returned"))]);
        assert_eq!(
            (reasons(&books), books.undecided.len()),
            (vec![("unpaid", -10_000)], 0),
            "{came}, {goes}"
        );
    }
}

/// What was kept back of what came in comes back with it: it was called a gain of exchange or, where the reversal said what
/// it was for, the invoice was owed without it.
#[test]
fn charges_of_what_is_taken_back_come_back_with_it() {
    let of = |inputs: &Inputs, minor, charges_minor, words: &str| {
        vec![Payment { charges_minor, ..paid(inputs, minor, words) }]
    };
    let whole = vec![("unpaid", -10_000)];
    for paid_by in ["", &*invoice_number(0), "Q-2026-0000"] {
        for taken_back_by in ["returned", &*invoice_number(0), "Q-2026-0000"] {
            let inputs = sold(&[10_000]);
            let (entry, back) = (of(&inputs, 9_800, 200, paid_by), of(&inputs, 9_800, 0, taken_back_by));
            let (_, books) = moved(&inputs, &[(10, entry.clone())], &[(15, back.clone())]);
            assert_eq!(
                (reasons(&books), books.undecided.len()),
                (whole.clone(), 0),
                "{paid_by} {taken_back_by}"
            );
            let balances = [Role::Bank, Role::BankCharges, Role::Exchange].map(|role| balance(&books, role));
            assert_eq!(balances, [0; 3], "{paid_by} {taken_back_by}");
            // The same of dollars, at one rate.
            let mut inputs = inputs;
            inputs.agreed[0].currency = currency("USD");
            let paper = &mut inputs.invoices[0];
            paper.currency = currency("USD");
            (paper.net_minor, paper.gross_minor, paper.payable_minor) = (11_172, 11_172, 11_172);
            let (_, books) = moved(&inputs, &[(10, entry)], &[(15, back)]);
            let balances = [Role::BankCharges, Role::Exchange].map(|role| balance(&books, role));
            assert_eq!(balances, [0; 2], "{paid_by} {taken_back_by}");
            assert!(reasons(&books).contains(&("unpaid", -11_172)), "{paid_by} {taken_back_by}");
        }
    }
    // Of two it is asked, and the answers come to what was taken back; the charges were refused.
    let inputs = sold(&[10_000, 10_000]);
    let entries = [0, 1].map(|number| (10, of(&inputs, 9_800, 200, &invoice_number(number))));
    let (mut asked, books) = moved(&inputs, &entries, &[(15, of(&inputs, 9_800, 0, "returned"))]);
    let question = &books.undecided[0];
    for (number, parts) in question.parts.iter().enumerate() {
        assert_eq!(parts[0].minor, -9_800);
        asked.decisions = vec![Decision::Payment {
            place: place("decided_payments.csv", 2),
            payment: question.payment.clone().unwrap(),
            towards: parts.clone(),
        }];
        let books = reconcile(&asked).unwrap();
        assert_eq!((reasons(&books), unpaid(&books)), (whole.clone(), vec![invoice_number(number)]));
        assert_eq!([Role::BankCharges, Role::Exchange].map(|role| balance(&books, role)), [200, 0]);
    }
    assert_eq!(question.parts.len(), 2);
}

/// What the bank had kept back was taken for leave to undo all, and the person's word was lost.
#[test]
fn a_decision_stands_beside_what_the_bank_had_kept_back() {
    let inputs = sold(&[6_000, 4_000]);
    let [first, second] = [invoice_number(0), invoice_number(1)];
    let entry = vec![Payment { charges_minor: 200, ..paid(&inputs, 9_800, "") }];
    let (mut asked, _) = moved(&inputs, &[(10, entry)], &[(15, vec![paid(&inputs, 9_800, "returned")])]);
    // All of the first; and what it did, which comes to less by what was kept back.
    let whole = vec![("unpaid", -6_000), ("unpaid", -4_000)];
    for (parts, told) in [
        (vec![(&*first, -9_800)], vec![("unpaid", -10_000)]),
        (vec![(&*first, -6_000), (&*second, -3_800)], whole),
    ] {
        asked.decisions = vec![decided(1, &[(&first, 6_000), (&second, 4_000)]), decided(2, &parts)];
        let books = reconcile(&asked).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (told, 0));
        let balances = [Role::Bank, Role::BankCharges, Role::Exchange].map(|role| balance(&books, role));
        assert_eq!(balances, [0; 3]);
    }
}

/// One of the two came with charges, so what they did is not the same, but what is answered is.
#[test]
fn no_answer_is_offered_twice() {
    let inputs = sold(&[10_000, 9_800]);
    let of = |charges_minor| vec![Payment { charges_minor, ..paid(&inputs, 9_800, &invoice_number(0)) }];
    let back = vec![paid(&inputs, 9_800, "returned")];
    let (_, books) = moved(&inputs, &[(10, of(200)), (11, of(0))], &[(15, back)]);
    let asked: Vec<_> = books.undecided.iter().map(|one| one.parts.len()).collect();
    assert_eq!(asked, [1]);
}
