//! What the bank takes back: of equal payments, of an entry as a whole, and of nothing that is known.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{paid, reasons, sold};
use crate::held_back::decided;
use crate::own::balance;
use crate::world::bank::Account;
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, place};

/// What comes of entries on their days, and of what the bank takes back on others.
pub fn moved(
    inputs: &Inputs,
    entries: &[(u64, Vec<Payment>)],
    taken_back: &[(u64, Vec<Payment>)],
) -> (Inputs, Reconciled) {
    let (mut inputs, mut account) = (inputs.clone(), Account::default());
    entries.iter().for_each(|(on, payments)| account.book(day(*on), payments.clone()));
    taken_back.iter().for_each(|(on, payments)| account.take_back(day(*on), payments.clone()));
    inputs.statements = account.statements();
    let books = reconcile(&inputs).unwrap();
    (inputs, books)
}

/// The invoices that are told to be unpaid.
pub fn unpaid(books: &Reconciled) -> Vec<String> {
    let told = books.differences.iter().map(|found| &found.difference);
    let told = told.filter(|one| one.reason.code() == "unpaid");
    told.map(|one| one.documents[1].number.to_string()).collect()
}

/// Two invoices of one amount were paid, and the bank takes back one of the payments. The last was taken.
#[test]
fn which_of_two_equal_payments_was_taken_back_is_asked() {
    let inputs = sold(&[5_000, 5_000]);
    let by = |number| paid(&inputs, 5_000, &invoice_number(number));
    let entries = [(10, vec![by(0)]), (11, vec![by(1)])];
    let returned = |on| (on, vec![paid(&inputs, 5_000, "returned")]);
    let (mut asked, books) = moved(&inputs, &entries, &[returned(15)]);
    let question = &books.undecided[0];
    assert_eq!((question.why, question.amount_minor, reasons(&books)), (Why::EquallyGood, -5_000, vec![]));
    assert_eq!(question.candidates, [[invoice_number(0).into()], [invoice_number(1).into()]]);
    for (number, parts) in question.parts.iter().enumerate() {
        asked.decisions = vec![Decision::Payment {
            place: place("decided_payments.csv", 2),
            payment: question.payment.clone().unwrap(),
            towards: parts.clone(),
        }];
        let books = reconcile(&asked).unwrap();
        assert_eq!((unpaid(&books), books.undecided.len()), (vec![invoice_number(number)], 0));
    }
    // What came after it was not taken back; nor is it asked where both are, or where both paid one invoice.
    let (_, books) = moved(&inputs, &entries[..1], &[returned(15)]);
    assert_eq!((unpaid(&books).len(), books.undecided.len()), (2, 0));
    let late = [entries[0].clone(), (16, vec![by(1)])];
    let (_, books) = moved(&inputs, &late, &[returned(15)]);
    assert_eq!((unpaid(&books), books.undecided.len()), (vec![invoice_number(0)], 0));
    let (_, books) = moved(&inputs, &entries, &[returned(15), returned(16)]);
    assert_eq!((unpaid(&books).len(), books.undecided.len()), (2, 0));
    let twice = [entries[0].clone(), (11, vec![by(0)])];
    let (_, books) = moved(&inputs, &twice, &[returned(15)]);
    assert_eq!((unpaid(&books), books.undecided.len()), (vec![invoice_number(1)], 0));
    // Of three two are: it is asked of each.
    let inputs = sold(&[5_000; 3]);
    let entries: Vec<_> =
        (0..3).map(|number| (10, vec![paid(&inputs, 5_000, &invoice_number(number))])).collect();
    let (_, books) = moved(&inputs, &entries, &[returned(15), returned(16)]);
    let answers: Vec<usize> = books.undecided.iter().map(|one| one.candidates.len()).collect();
    assert_eq!((reasons(&books), answers), (vec![], vec![3, 3]));
}

/// The first reversal named the invoice, or a person said what it takes back; the second one took the payment back again.
#[test]
fn what_was_taken_back_is_not_taken_back_again() {
    let number = invoice_number(0);
    let told = vec![("paid_unknown", -5_000), ("unpaid", -5_000)];
    let inputs = sold(&[5_000, 5_000]);
    let by = |words: &str| vec![paid(&inputs, 5_000, words)];
    let mut one = inputs.clone();
    one.agreed.truncate(1);
    one.invoices.truncate(1);
    // It was paid by the number, by the quote, by both or by nothing.
    for words in [&*number, "Q-2026-0000", ""] {
        let back = [(15, by(&number)), (16, by("returned"))];
        let (_, books) = moved(&one, &[(10, by(words))], &back);
        assert_eq!((reasons(&books), books.undecided.len()), (told.clone(), 0), "{words}");
    }
    // So it is with what is held for a quote.
    let mut held = one.clone();
    held.invoices.clear();
    (held.agreed[0].invoice_by, held.terms.until) = (day(60), day(50));
    let back = [(15, by("Q-2026-0000")), (16, by("returned"))];
    let (_, books) = moved(&held, &[(10, by("Q-2026-0000"))], &back);
    assert_eq!(reasons(&books), [("paid_unknown", -5_000)]);
    // By a decision: of the invoice; and that neither is for anything.
    let back = [(15, by("returned")), (16, by("returned"))];
    let (mut asked, _) = moved(&one, &[(10, by(&number))], &back);
    for decisions in [vec![decided(2, &[(&number, -5_000)])], vec![decided(1, &[]), decided(2, &[])]] {
        asked.decisions = decisions;
        assert_eq!(reasons(&reconcile(&asked).unwrap()), told);
    }
    // What is for nothing took back nothing that was paid, nor did what came before the payment.
    let (mut asked, _) = moved(&one, &[(10, by(""))], &back);
    asked.decisions = vec![decided(2, &[])];
    assert_eq!(reasons(&reconcile(&asked).unwrap()), told[1..]);
    let (_, books) = moved(&one, &[(10, by(&number))], &[(9, by(&number)), (16, by("returned"))]);
    assert_eq!(reasons(&books), [("unpaid", -10_000)]);
    // What is left of two is what the other took back: it was asked.
    let back = [(15, by(&number)), (16, by("returned"))];
    for second in [&*invoice_number(1), ""] {
        let (_, books) = moved(&inputs, &[(10, by(&number)), (11, by(second))], &back);
        assert_eq!((reasons(&books), books.undecided.len()), (vec![told[1]; 2], 0), "{second}");
    }
    // Of two that were for it, the one that was for nothing else; the other was for the rest of it and for another.
    let inputs = sold(&[8_000, 2_000]);
    let by = |words: &str| vec![paid(&inputs, 5_000, words)];
    let entries = [(10, by(&number)), (11, by(&format!("{number} {}", invoice_number(1))))];
    let (_, books) = moved(&inputs, &entries, &[(15, by(&number)), (16, by("returned"))]);
    assert_eq!(reasons(&books), [("unpaid", -8_000), ("unpaid", -2_000)]);
}

/// It took the other invoice then, and the one that was named was owed twice.
#[test]
fn what_a_reversal_names_its_payment_was_for() {
    let inputs = sold(&[5_000, 5_000]);
    let by = |words: &str| vec![paid(&inputs, 5_000, words)];
    let both = [("unpaid", -5_000), ("unpaid", -5_000)];
    for number in [0, 1] {
        let back = [(15, by(&invoice_number(number))), (16, by("returned"))];
        let (_, books) = moved(&inputs, &[(10, by(""))], &back[..1]);
        assert_eq!((reasons(&books), books.undecided.len()), (both.to_vec(), 0));
        let (_, books) = moved(&inputs, &[(10, by(""))], &back);
        assert_eq!(reasons(&books), [&[("paid_unknown", -5_000)][..], &both].concat());
    }
    // So it is where it names a quote, before there is an invoice.
    let mut held = inputs.clone();
    held.invoices.remove(0);
    (held.agreed[0].invoice_by, held.terms.until) = (day(60), day(50));
    let (_, books) = moved(&held, &[(10, by(""))], &[(15, by("Q-2026-0000"))]);
    assert_eq!((reasons(&books), books.undecided.len()), (both[1..].to_vec(), 0));
}

/// By another key: alone, or with all of its entry.
#[test]
fn what_a_named_entry_took_back_is_not_taken_back_alone() {
    let inputs = sold(&[10_000, 10_000]);
    let [first, second] = [invoice_number(0), invoice_number(1)];
    let of = |party: &str, minor, words: &str| Payment {
        party: Some(party).filter(|party| !party.is_empty()).map(Into::into),
        ..paid(&inputs, minor, words)
    };
    let entry = vec![of("Payer One", 10_000, &first), of("Payer Two", 10_000, &second)];
    let both = format!("{first} {second}");
    for [named, unnamed] in [
        [of("", 20_000, &both), of("Payer One", 10_000, "returned")],
        [of("Payer One", 10_000, &first), of("", 20_000, "returned")],
    ] {
        let of_both = named.minor == 20_000;
        let back = [(15, vec![named]), (16, vec![unnamed.clone()])];
        let (_, books) = moved(&inputs, &[(10, entry.clone())], &back);
        let unpaid = if of_both { 2 } else { 1 };
        let told = vec![("unpaid", -10_000); unpaid];
        let found = reasons(&books);
        assert_eq!(found, [vec![("paid_unknown", -unnamed.minor)], told].concat(), "{of_both}");
    }
}

/// The bank repeats the reference from end to end.
#[test]
fn the_payment_of_that_reference_is_taken_back() {
    let inputs = sold(&[5_000, 5_000]);
    let of = |reference: &str, words: &str| {
        let end_to_end = Some(reference.into());
        vec![Payment { end_to_end, ..paid(&inputs, 5_000, words) }]
    };
    let entries = [(10, of("E-7", &invoice_number(0))), (11, of("E-8", &invoice_number(1)))];
    for (reference, number) in [("e7", 0), ("E-8", 1)] {
        let (_, books) = moved(&inputs, &entries, &[(15, of(reference, "returned"))]);
        assert_eq!((unpaid(&books), books.undecided.len()), (vec![invoice_number(number)], 0));
    }
    // One that nothing had says nothing, and no second one had it.
    for taken_back in [vec![(15, of("E-9", ""))], vec![(15, of("E-8", "")), (16, of("E-8", ""))]] {
        let (_, books) = moved(&inputs, &entries, &taken_back);
        let (asked, left) = if taken_back.len() == 1 { (1, 0) } else { (0, 2) };
        assert_eq!((books.undecided.len(), unpaid(&books).len()), (asked, left), "{taken_back:?}");
    }
}

/// Whichever came first was put to the last. What it was for is not known when the bank takes it back.
#[test]
fn beside_a_payment_that_names_nothing_it_is_asked() {
    let inputs = sold(&[5_000, 5_000]);
    let named = invoice_number(0);
    for [first, second] in [[&*named, ""], ["", &*named]] {
        let entries = [(10, vec![paid(&inputs, 5_000, first)]), (11, vec![paid(&inputs, 5_000, second)])];
        let (_, books) = moved(&inputs, &entries, &[(15, vec![paid(&inputs, 5_000, "returned")])]);
        let asked: Vec<_> = books.undecided.iter().map(|one| one.candidates.clone()).collect();
        assert_eq!((asked, reasons(&books)), (vec![vec![vec![named.as_str().into()]]], vec![]));
    }
}

/// It names one of two invoices. That was owed by more than it asks for, and the other stayed paid.
#[test]
fn a_payment_is_taken_back_as_it_was() {
    let inputs = sold(&[6_000, 4_000]);
    let by = |words: &str| vec![paid(&inputs, 10_000, words)];
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let (mut decided_so, books) = moved(&inputs, &[(10, by(&both))], &[(15, by(&invoice_number(0)))]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("unpaid", -6_000), ("unpaid", -4_000)], 0));
    // Who decides says what of each.
    let [first, second] = [invoice_number(0), invoice_number(1)];
    decided_so.decisions =
        vec![decided(1, &[(&first, 6_000), (&second, 4_000)]), decided(2, &[(&first, -10_000)])];
    assert_eq!(reasons(&reconcile(&decided_so).unwrap()), [("unpaid", -10_000)]);
}

/// Of invoices in dollars a person took a bad rate. What the reversal did of the one that it names stood there three times, so
/// that one gained more.
#[test]
fn what_a_rate_made_is_of_each_invoice_once() {
    let mut inputs = sold(&[10_000, 10_000]);
    let [first, second] = [invoice_number(0), invoice_number(1)];
    inputs.agreed.iter_mut().for_each(|of| of.currency = currency("USD"));
    inputs.invoices.iter_mut().for_each(|one| one.currency = currency("USD"));
    let by = |words: &str| vec![paid(&inputs, 17_000, words)];
    let (mut books, _) = moved(&inputs, &[(10, by(""))], &[(15, by(&first))]);
    let mut decision = decided(1, &[(&first, 10_000), (&second, 10_000)]);
    if let Decision::Payment { towards, .. } = &mut decision {
        towards.iter_mut().for_each(|part| part.currency = currency("USD"));
    }
    books.decisions = vec![decision];
    let told = reasons(&reconcile(&books).unwrap());
    let of_rates: Vec<_> = told.into_iter().filter(|(reason, _)| *reason == "currency").collect();
    assert_eq!(of_rates, [("currency", -451), ("currency", -451), ("currency", 451), ("currency", 451)]);
}

/// An entry in euros, taken back by numbers of invoices in dollars: which paid which is not said. Both stayed to be matched.
#[test]
fn an_entry_in_another_currency_than_its_invoices_is_taken_back() {
    let mut inputs = sold(&[5_000, 6_000, 5_000, 6_000]);
    for number in [0, 1] {
        inputs.agreed[number].currency = currency("USD");
        inputs.invoices[number].currency = currency("USD");
    }
    let entry = vec![paid(&inputs, 5_000, ""), paid(&inputs, 6_000, "")];
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let back = (15, vec![Payment { party: None, ..paid(&inputs, 11_000, &both) }]);
    let (_, books) = moved(&inputs, &[(10, entry)], &[back]);
    let told = [5_000, 6_000, 5_000, 6_000].map(|minor| ("unpaid", -minor));
    assert_eq!((reasons(&books), books.undecided.len()), (told.to_vec(), 0));
    assert_eq!([Role::Bank, Role::Exchange].map(|role| balance(&books, role)), [0; 2]);
}

/// A collection of two that named nothing. Both stayed to be matched, and paid two other invoices.
#[test]
fn what_a_reversal_names_its_entry_was_for() {
    let inputs = sold(&[5_000, 6_000, 5_000, 6_000]);
    let entry = vec![paid(&inputs, 5_000, ""), paid(&inputs, 6_000, "")];
    let told = [5_000, 6_000, 5_000, 6_000].map(|minor| ("unpaid", -minor));
    let back = |words: &str| (15, vec![Payment { party: None, ..paid(&inputs, 11_000, words) }]);
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let (_, books) = moved(&inputs, &[(10, entry.clone())], &[back(&both)]);
    assert_eq!((reasons(&books), books.undecided.len()), (told.to_vec(), 0));
    // By quotes that have no invoice yet, and in other parts than came in.
    let mut held = inputs.clone();
    held.invoices.drain(..2);
    held.agreed.iter_mut().for_each(|of| of.invoice_by = day(60));
    held.terms.until = day(50);
    let (_, books) = moved(&held, &[(10, entry.clone())], &[back("Q-2026-0000 Q-2026-0001")]);
    assert_eq!((reasons(&books), books.undecided.len()), (told[2..].to_vec(), 0));
    let (mut parts, _) = moved(&inputs, &[(10, entry)], &[back("returned")]);
    parts.decisions = vec![decided(2, &[(&invoice_number(0), -9_000), (&invoice_number(1), -2_000)])];
    let books = reconcile(&parts).unwrap();
    assert_eq!((reasons(&books), books.undecided.len()), (told.to_vec(), 0));
}

/// One tells the account of the other side and its name, another the name alone. It was taken back twice.
#[test]
fn the_other_side_is_known_by_what_both_tell_of_it() {
    let inputs = sold(&[5_000, 5_000]);
    let iban = Some("DE79 0000 0000 1234 5678 90");
    let of = |account: Option<&str>, words: &str| {
        vec![Payment { party_account: account.map(Into::into), ..paid(&inputs, 5_000, words) }]
    };
    let (number, owed) = (invoice_number(0), ("unpaid", -5_000));
    let both = [owed, owed];
    for [first, second] in [[iban, None], [None, iban]] {
        let (_, books) = moved(&inputs, &[(10, of(first, &number))], &[(15, of(second, "returned"))]);
        assert_eq!((reasons(&books), books.undecided.len()), (both.to_vec(), 0));
        let back = [(15, of(second, &number)), (16, of(first, "returned"))];
        let (_, books) = moved(&inputs, &[(10, of(first, &number))], &back);
        assert_eq!(reasons(&books), [&[("paid_unknown", -5_000)][..], &both].concat());
    }
    // Another account is another payment, whatever name stands beside it.
    let other = Some("DE02 5001 0517 0137 0750 30");
    let (_, books) = moved(&inputs, &[(10, of(iban, &number))], &[(15, of(other, "returned"))]);
    assert_eq!(reasons(&books), [("paid_unknown", -5_000), owed]);
}

/// A collection comes back in one sum, which names nobody. All of it stayed paid, and nothing was told.
#[test]
fn an_entry_is_taken_back_as_a_whole() {
    let inputs = sold(&[5_000, 6_000]);
    let batch = |words: [&str; 2]| vec![paid(&inputs, 5_000, words[0]), paid(&inputs, 6_000, words[1])];
    let sum = |minor| (15, vec![Payment { party: None, ..paid(&inputs, minor, "") }]);
    let both = [&*invoice_number(0), &*invoice_number(1)];
    // By their numbers, and by nothing.
    for words in [both, ["", ""]] {
        let (_, books) = moved(&inputs, &[(10, batch(words))], &[sum(11_000)]);
        assert_eq!(
            (reasons(&books), books.undecided.len()),
            (vec![("unpaid", -5_000), ("unpaid", -6_000)], 0)
        );
    }
    // What is not all of it is not known, and told.
    let (_, books) = moved(&inputs, &[(10, batch(both))], &[sum(10_999)]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("paid_unknown", -10_999)], 0));
}

/// What a partner had paid before the books were begun comes back, and is no more than his bonus.
#[test]
fn what_the_bank_takes_back_pays_no_bonus_out() {
    let mut inputs = empty();
    let of = agreed(&Plan { partners: 1, net: 200_000, vat: [1; 3], day: 3, ..Plan::default() }, 0);
    inputs.invoices.push(invoice(&of, 0, 0, &of.sales[0].vat, 200_000));
    inputs.agreed.push(of);
    inputs.terms.reporting.clear();
    let entries = [(10, vec![paid(&inputs, 200_000, &invoice_number(0))])];
    let back = [(32, vec![paid(&inputs, 3_000, "returned")])];
    let (_, books) = moved(&inputs, &entries, &back);
    assert_eq!(reasons(&books), [("paid_unknown", -3_000)]);
}
