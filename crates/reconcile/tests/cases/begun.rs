//! Books that begin before the first quote was accepted: who is who does not depend on the last day that is looked at.

use std::sync::Arc;

use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::Invoice;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::reasons;
use crate::world::bank::Account;
use crate::world::{Plan, agreed, day, empty, invoice, invoice_number, payment};

fn months() -> [Month; 3] {
    ["2026-06", "2026-07", "2026-08"].map(|month| month.parse().unwrap())
}

/// An invoice of ours of June that is for no quote, to a partner of the first quote, and paid in June; that quote was
/// accepted in July and is invoiced in August.
fn begun() -> Inputs {
    let mut inputs = empty();
    inputs.terms.reporting.clear();
    let plan = Plan { net: 5_000, vat: [1; 3], day: 65, partners: 1, percents: [0; 2], ..Plan::default() };
    let of = agreed(&plan, 0);
    assert!(months()[1].first_day() <= of.accepted);
    let first = invoice(&of, 0, 0, &of.sales[0].vat, 5_000);
    let early = Invoice { number: "R-C".into(), quote: None, issued: day(9), due: None, ..first.clone() };
    let mut account = Account::default();
    account.book(day(20), vec![payment(5_000, &of.sales[0].buyer, "R-C")]);
    account.book(day(80), vec![payment(5_000, &of.sales[0].buyer, &invoice_number(0))]);
    inputs.invoices = vec![early, first];
    inputs.statements = account.statements();
    inputs.agreed.push(of);
    inputs
}

fn until(inputs: &Inputs, month: Month) -> Reconciled {
    let mut inputs = inputs.clone();
    inputs.terms.until = month.last_day();
    reconcile(&inputs).unwrap()
}

#[test]
fn they_are_closed_from_their_first_month_on() {
    let mut inputs = begun();
    let whole = until(&inputs, months()[2]);
    assert_eq!(whole.first_open(), Some(months()[0]));
    assert!(matches!(whole.close(months()[1]), Err(Unreconciled::ClosingOutOfOrder { .. })));
    for month in months() {
        let books = until(&inputs, month);
        assert_eq!(books.first_open(), Some(month));
        assert_eq!(reasons(&books), [("invoice_unknown", 5_000)], "{month}");
        assert_eq!(&*books.differences[0].difference.party, "workshop");
        assert_eq!((books.changed.len(), books.settled.len(), books.undecided.len()), (0, 0, 0));
        inputs.closings.push(books.close(month).unwrap());
    }
    let posted = |books: &Reconciled| {
        let all = books.journal.transactions();
        all.map(|(one, postings)| (one.source.clone(), one.day, postings.to_vec())).collect::<Vec<_>>()
    };
    assert_eq!(posted(&until(&inputs, months()[2])), posted(&whole));
}

/// What a party owed at the end of a month is what it owes whenever one looks at that month.
#[test]
fn whose_account_it_is_does_not_depend_on_the_last_day() {
    let inputs = begun();
    let june = |books: &Reconciled| {
        let own = books.accounts.months().iter().filter(|one| one.month == months()[0]).cloned();
        own.collect::<Vec<_>>()
    };
    let whole = june(&until(&inputs, months()[2]));
    assert_eq!(whole.len(), 1);
    assert_eq!((&*whole[0].party, whole[0].invoiced_minor, whole[0].paid_minor), ("P-10", 5_000, -5_000));
    assert_eq!(june(&until(&inputs, months()[0])), whole);
    let mut inputs = inputs;
    // Known by his name alone.
    Arc::make_mut(&mut inputs.invoices[0].buyer).vat_id = None;
    assert_eq!(june(&until(&inputs, months()[0])), whole);
}
