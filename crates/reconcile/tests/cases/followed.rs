//! Papers that name no quote: which sales are left for them, and which invoices they take back.

use evenfare_reconcile::input::{Invoice, InvoiceKind};
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, reconcile};

use crate::booked::{booked, paid, reasons, sold};
use crate::credits::{credit, unsold};
use crate::world::{day, groups, invoice, invoice_number, place};

/// Of three quotes of one amount one is invoiced, and one was taken back.
#[test]
fn an_invoice_that_names_no_quote_is_of_the_only_one_that_is_left() {
    let mut inputs = sold(&[5_000; 3]);
    inputs.agreed[1].reversed = Some(day(2));
    inputs.invoices.remove(1);
    inputs.invoices[1].quote = None;
    let each = [0, 2].map(|number| (20, paid(&inputs, 5_000, &invoice_number(number))));
    let (_, books) = booked(inputs, &each);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
}

/// Beside a sale that is paid, an invoice of 100.01 that no quote is known of, of the fourth of June, and what takes it back.
fn taken_back(preceding: Option<&str>, on: u64) -> Inputs {
    let mut inputs = sold(&[5_000]);
    let paper = invoice(&inputs.agreed[0], 0, 0, &groups(1, 10_001), 10_001);
    let unsold = Invoice { number: "R-C".into(), quote: None, ..paper };
    let (kind, preceding) = (InvoiceKind::CreditNote, preceding.map(Into::into));
    let credit =
        Invoice { kind, number: "G-1".into(), preceding, issued: day(on), due: None, ..unsold.clone() };
    inputs.invoices.extend([unsold, credit]);
    inputs
}

fn told(inputs: Inputs) -> Vec<(&'static str, i64)> {
    let paid = paid(&inputs, 5_000, &invoice_number(0));
    reasons(&booked(inputs, &[(20, paid)]).1)
}

#[test]
fn a_credit_note_that_names_nothing_is_of_an_invoice_of_forty_five_days_before_at_most() {
    for (on, is_of_it) in [(2, false), (3, true), (48, true), (49, false)] {
        let unknown = [("invoice_unknown", 10_001), ("invoice_unknown", -10_001), ("unpaid", -10_001)];
        let mut found = told(taken_back(None, on));
        found.sort_unstable_by_key(|(reason, minor)| (*reason, -minor));
        assert_eq!(found, if is_of_it { vec![] } else { unknown.to_vec() }, "{on}");
    }
}

/// A person said of both that they are for nothing that was agreed.
#[test]
fn what_is_of_nothing_takes_back_what_it_names() {
    let mut inputs = taken_back(Some("R-C"), 9);
    let decided = |number: &str| Decision::Invoice {
        place: place("decided_invoices.csv", 2),
        seller: "workshop".into(),
        number: number.into(),
        quote: None,
    };
    inputs.decisions = ["R-C", "G-1"].map(decided).into();
    assert_eq!(told(inputs), []);
}

/// It was all of the first quote, whichever stood first.
#[test]
fn of_a_credit_note_on_invoices_of_two_quotes_it_is_asked() {
    for [first, second] in [[0, 1], [1, 0]] {
        let mut inputs = sold(&[5_000, 6_000]);
        let paper = credit(&inputs.invoices[0], "G-1", 11_000, Some(&invoice_number(first)), 9);
        let other_preceding = vec![invoice_number(second).into()].into_boxed_slice();
        inputs.invoices.push(Invoice { other_preceding, ..paper });
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (vec![], 1));
        assert_eq!(books.undecided[0].candidates, [["Q-2026-0000".into()], ["Q-2026-0001".into()]]);
        let is_posted = books.journal.transactions().any(|(one, _)| one.source.document.contains("G-1"));
        assert!(!is_posted);
    }
}

/// Where no quote is known of one of them, it was of nothing and nobody was asked.
#[test]
fn of_a_credit_note_on_an_invoice_of_no_known_quote_too_it_is_asked() {
    for [first, second] in [["R-9", &invoice_number(0)], [&invoice_number(0), "R-9"]] {
        let mut inputs = sold(&[5_000]);
        let other = unsold(&inputs, "R-9", 1_000);
        let paper = credit(&inputs.invoices[0], "G-1", 5_000, Some(first), 9);
        let other_preceding = vec![second.into()].into_boxed_slice();
        inputs.invoices.extend([other, Invoice { other_preceding, ..paper }]);
        let books = reconcile(&inputs).unwrap();
        assert_eq!(books.undecided.len(), 1);
        assert_eq!(books.undecided[0].candidates, [["Q-2026-0000".into()]]);
        assert_eq!(reasons(&books), [("invoice_unknown", 1_000), ("unpaid", -1_000)]);
        inputs.decisions = vec![Decision::Invoice {
            place: place("decided_invoices.csv", 2),
            seller: "workshop".into(),
            number: "G-1".into(),
            quote: Some("Q-2026-0000".into()),
        }];
        let books = reconcile(&inputs).unwrap();
        let told = vec![("invoice_missing", -5_000), ("invoice_unknown", 1_000), ("unpaid", -1_000)];
        assert_eq!((reasons(&books), books.undecided.len()), (told, 0));
    }
}
