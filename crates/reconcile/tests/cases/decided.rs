//! What a person says is for a quote that was invoiced in another currency: 1117.20 USD are 1000.00 EUR.

use evenfare_reconcile::reconcile;
use evenfare_reconcile::terms::{Decision, Part};

use crate::booked::{booked, paid, reasons, sold};
use crate::own::{FIRST, id};
use crate::world::{currency, day, invoice_number, place};

#[test]
fn what_is_for_a_quote_is_for_its_invoice_at_the_rate_of_the_day() {
    let (mut inputs, dollars) = (sold(&[111_720, 50_000]), currency("USD"));
    (inputs.agreed[0].currency, inputs.invoices[0].currency) = (dollars, dollars);
    // The other one is not due.
    inputs.invoices[1].due = Some(day(300));
    let (quote, other) = ("Q-2026-0000", invoice_number(1));
    for (came, rows, told) in [
        // All of it, by a bank's rate that is nine per mille off.
        (99_100, vec![(quote, "EUR", 99_100)], vec![]),
        // What it took of the quote is said, so what the rate made of it is told.
        (90_000, vec![(quote, "USD", 111_720)], vec![("currency", -10_000)]),
        // A part of it, beside an invoice in euros.
        (150_000, vec![(quote, "EUR", 100_000), (&*other, "EUR", 50_000)], vec![]),
    ] {
        let (mut inputs, _) = booked(inputs.clone(), &[(10, paid(&inputs, came, "for the repair"))]);
        let part = |(number, code, minor): (&str, &str, i64)| Part {
            invoice: number.into(),
            currency: currency(code),
            minor,
        };
        inputs.decisions = vec![Decision::Payment {
            place: place("decided_payments.csv", 2),
            payment: id(FIRST, 1),
            towards: rows.into_iter().map(part).collect(),
        }];
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (told, 0), "{came}");
    }
}
