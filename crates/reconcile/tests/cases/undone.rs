//! What the bank takes back: what it is none of, and whose.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::{Reconciled, reconcile};

use crate::booked::{paid, reasons, sold};
use crate::held_back::decided;
use crate::own::balance;
use crate::reversed::moved;
use crate::world::{currency, day, invoice_number};

/// The questions: why, and how many answers are told.
fn asked(books: &Reconciled) -> Vec<(Why, usize)> {
    books.undecided.iter().map(|one| (one.why, one.candidates.len())).collect()
}

/// A person said that it is for nothing, so it was not for what the bank takes back by a number.
#[test]
fn what_is_for_nothing_was_not_for_what_a_reversal_names() {
    let inputs = sold(&[5_000]);
    let by = |words: &str| vec![paid(&inputs, 5_000, words)];
    let (mut inputs, _) = moved(&inputs, &[(10, by("flowers"))], &[(15, by(&invoice_number(0)))]);
    inputs.decisions = vec![decided(1, &[])];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("unpaid", -10_000)]);
}

/// It was decided to be for an invoice of later days: the reversal that is for nothing leaves it to the next one.
#[test]
fn what_waits_for_its_invoice_is_not_for_nothing() {
    let mut inputs = sold(&[5_000]);
    (inputs.invoices[0].issued, inputs.agreed[0].invoice_by) = (day(60), day(60));
    inputs.terms.until = day(28);
    let by = || vec![paid(&inputs, 5_000, "")];
    let (mut inputs, _) = moved(&inputs, &[(10, by())], &[(15, by()), (16, by())]);
    inputs.decisions = vec![decided(1, &[(&invoice_number(0), 5_000)]), decided(2, &[])];
    let books = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&books), books.accounts.months().len()), (vec![], 0));
}

/// What the second of its payments was for is not known yet, so what it did as a whole is not either.
#[test]
fn an_entry_of_which_a_part_is_known_is_not_taken_back() {
    let inputs = sold(&[5_000, 6_000]);
    let entry = vec![paid(&inputs, 5_000, &invoice_number(0)), paid(&inputs, 6_000, "")];
    let back = vec![Payment { party: None, ..paid(&inputs, 11_000, "") }];
    let (_, books) = moved(&inputs, &[(10, entry)], &[(15, back)]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("paid_unknown", -11_000)], 0));
}

/// Money both ways: nothing says which of it was for the invoice, but what a person said of the reversal stays.
#[test]
fn what_was_decided_of_a_reversal_of_money_both_ways_stays() {
    let inputs = sold(&[5_000, 6_000]);
    let entry = vec![paid(&inputs, 6_000, ""), paid(&inputs, -1_000, "")];
    let back = vec![Payment { party: None, ..paid(&inputs, 5_000, "returned") }];
    let (mut inputs, _) = moved(&inputs, &[(10, entry)], &[(15, back)]);
    inputs.decisions = vec![decided(2, &[(&invoice_number(0), -5_000)])];
    let mut told = reasons(&reconcile(&inputs).unwrap());
    told.sort_unstable();
    let unknown = [("paid_unknown", -1_000), ("payment_unknown", 6_000)];
    assert_eq!(told, [unknown, [("unpaid", -10_000), ("unpaid", -6_000)]].concat());
}

/// What came later is no answer.
#[test]
fn a_reversal_is_of_what_came_before_it() {
    let inputs = sold(&[5_000; 3]);
    let by = |on, number| (on, vec![paid(&inputs, 5_000, &invoice_number(number))]);
    let back = |on| (on, vec![paid(&inputs, 5_000, "returned")]);
    let (_, books) = moved(&inputs, &[by(10, 0), by(11, 1), by(17, 2)], &[back(15), back(20)]);
    let questions = vec![(Why::EquallyGood, 2), (Why::EquallyGood, 3)];
    assert_eq!((reasons(&books), asked(&books)), (vec![], questions));
}

/// They name invoices of two customers: where it is all that was paid of them, each has his own back.
#[test]
fn of_two_parties_all_is_taken_back_and_a_part_is_asked_about() {
    let inputs = crate::own::sold(&[5_000, 6_000]);
    let by = |sale: usize, minor| {
        let buyer = &inputs.agreed[sale].sales[0].buyer;
        (10, vec![crate::world::payment(minor, buyer, &invoice_number(sale))])
    };
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let unpaid = vec![("unpaid", -5_000), ("unpaid", -6_000)];
    for (minor, told, questions) in [(11_000, unpaid, vec![]), (8_000, vec![], vec![(Why::EquallyGood, 3)])] {
        let back = vec![Payment { party: None, ..paid(&inputs, minor, &both) }];
        let (_, books) = moved(&inputs, &[by(0, 5_000), by(1, 6_000)], &[(15, back)]);
        assert_eq!((reasons(&books), asked(&books)), (told, questions), "{minor}");
    }
}

/// The rate is another by then: what came in for nothing known was worth what it is worth when the bank takes it back.
#[test]
fn what_is_taken_back_clears_what_came_in() {
    let mut inputs = sold(&[5_000]);
    inputs.rates = Rates::new(
        [(1, "1.1172"), (33, "1.2500"), (40, "1.2500")]
            .map(|(on, rate)| (day(on), currency("USD"), rate.parse().unwrap())),
    );
    let of = || vec![Payment { party: Some("Somebody".into()), ..paid(&inputs, 10_000, "") }];
    let (mut inputs, _) = moved(&inputs, &[(5, of())], &[(39, of())]);
    inputs.statements.iter_mut().for_each(|statement| statement.currency = currency("USD"));
    let books = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&books), balance(&books, Role::Clearing)), (vec![("unpaid", -5_000)], 0));
}

/// A collection for quotes that have no invoice yet: what came in is on the account of who is to pay, and so is what goes back.
#[test]
fn what_an_entry_is_held_for_stands_on_the_account_of_the_buyer() {
    let mut inputs = sold(&[5_000, 6_000]);
    inputs.invoices.clear();
    inputs.agreed.iter_mut().for_each(|of| of.invoice_by = day(60));
    inputs.terms.until = day(50);
    let entry = [5_000, 6_000].map(|minor| Payment { party: None, ..paid(&inputs, minor, "") }).to_vec();
    let both = paid(&inputs, 11_000, "Q-2026-0000 Q-2026-0001");
    let back = (15, vec![Payment { party: None, ..both }]);
    let (_, books) = moved(&inputs, &[(10, entry)], &[back]);
    let payments = books.journal.transactions().filter(|(one, _)| one.source.event == Event::Payment);
    let parties: Vec<_> = payments.map(|(one, _)| one.source.party.as_deref()).collect();
    assert_eq!(parties, [Some("FR000000000"); 3]);
}
