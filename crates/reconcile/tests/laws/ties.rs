//! What month end says twice, held against itself and against the papers.

use std::collections::BTreeSet;
use std::sync::Arc;

use evenfare_engine::money::Currency;
use evenfare_reconcile::difference::{Difference, Document, Reason};
use evenfare_reconcile::input::{InvoiceKind, Place};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::{Inputs, Reconciled};

/// What is open on each account at the end of each month comes to what it closes with. Nothing is of a later month than
/// the last.
pub fn open_is_the_closing(books: &Reconciled) {
    let months = books.accounts.months().iter();
    let accounts: BTreeSet<(Arc<str>, Currency)> =
        months.map(|one| (one.party.clone(), one.currency)).collect();
    for (party, currency) in accounts {
        let mut month: Month = "2026-05".parse().unwrap();
        let last: Month = "2026-12".parse().unwrap();
        while month <= last {
            let account = books.accounts.statement(&books.journal, &party, currency, month).unwrap();
            let open: i64 = account.open.iter().map(|one| one.minor).sum();
            assert_eq!(open, account.closing_minor, "{party} {month}: {:?}", account.open);
            for one in &account.open {
                assert_eq!((&one.party, one.currency), (&party, currency));
                assert!(one.minor != 0 && (one.due.is_none() || one.minor > 0), "{one:?}");
                assert!(month != last || !one.is_later, "{one:?}");
            }
            month = month.next();
        }
    }
}

/// Was anything agreed that a difference of that reason is held against? Nothing where it is so of some alone.
fn has_figures(reason: Reason) -> Option<bool> {
    match reason {
        Reason::ChargedMore
        | Reason::ChargedLess
        | Reason::ShareBeyond
        | Reason::ShareBelow
        | Reason::AgreementDate
        | Reason::VatCategory
        | Reason::VatRate
        | Reason::VatAmount
        | Reason::InvoiceMissing
        | Reason::Unpaid
        | Reason::Courier
        | Reason::Rounding => Some(true),
        Reason::InvoiceDouble
        | Reason::InvoiceReversed
        | Reason::InvoiceUnknown
        | Reason::InvoiceOtherParty
        | Reason::CreditOtherParty
        | Reason::PaymentUnknown
        | Reason::PaidUnknown
        | Reason::CourierUnknown
        | Reason::CreditForOurWork => Some(false),
        Reason::Overpaid | Reason::InTransit | Reason::Currency => None,
    }
}

/// What the papers behind a difference say together, net and VAT.
fn charged(inputs: &Inputs, one: &Difference) -> [i64; 2] {
    let is_behind = |number: &str, place: &Place| {
        let is_it = |paper: &Document| *paper.number == *number && paper.place.as_ref() == Some(place);
        one.documents.iter().any(is_it)
    };
    let invoices = inputs.invoices.iter().filter(|of| is_behind(&of.number, &of.place)).map(|of| {
        let sign = if of.kind == InvoiceKind::CreditNote { -1 } else { 1 };
        [sign * of.net_minor, sign * (of.gross_minor - of.net_minor)]
    });
    // Two partners number their lists alike.
    let own = inputs.charges.iter().filter(|of| of.partner.as_str() == &*one.party);
    let rows = own.filter(|of| is_behind(&of.invoice, &of.place));
    let rows = rows.map(|of| [of.net_minor, of.vat_minor]);
    invoices.chain(rows).fold([0, 0], |[net, vat], [own, of_own]| [net + own, vat + of_own])
}

/// Each difference is what was found less what was agreed, and what was found is what the papers say.
pub fn figures_are_of_papers(inputs: &Inputs, books: &Reconciled) {
    for one in books.differences.iter().map(|found| &found.difference) {
        let figures = one.figures();
        let expected = has_figures(one.reason);
        assert!(expected.is_none_or(|has| has == figures.is_some()), "{one:?}");
        let Some([agreed, found]) = figures else { continue };
        assert_eq!(found - agreed, one.amount_minor);
        let [net, vat] = charged(inputs, one);
        match one.reason {
            Reason::ChargedMore | Reason::ChargedLess => assert_eq!(found, net, "{one:?}"),
            Reason::VatCategory | Reason::VatRate | Reason::VatAmount => assert_eq!(found, vat, "{one:?}"),
            Reason::InvoiceMissing => assert_eq!([agreed, found], [-one.amount_minor, 0], "{one:?}"),
            Reason::Courier => {
                let bills = inputs.courier_bills.iter();
                let is_it =
                    |place: &Place| one.documents.iter().any(|paper| paper.place.as_ref() == Some(place));
                let own: Vec<_> = bills.filter(|bill| is_it(&bill.place)).collect();
                let is_converted = own.iter().any(|bill| bill.currency != one.currency);
                let billed: i64 = own.iter().map(|bill| bill.net_minor).sum();
                assert!(is_converted || found == billed, "{one:?}");
            }
            Reason::Unpaid => assert!(found >= 0 && found < agreed && agreed <= net + vat, "{one:?}"),
            _ => {}
        }
    }
}
