//! Invoices and credit notes in XML.

use evenfare_files::parse_invoice;
use evenfare_reconcile::input::InvoiceVat;

use crate::refused::is_refused_clearly;

/// An invoice with two lines, an allowance and two rates.
const INVOICE: &str = include_str!("invoice.xml");

pub fn seeds() -> Vec<Vec<u8>> {
    let credit_note =
        INVOICE.replace("Invoice-2", "CreditNote-2").replace("cac:InvoiceLine", "cac:CreditNoteLine");
    vec![
        INVOICE.into(),
        credit_note.replace("Invoice xmlns", "CreditNote xmlns").replace("/Invoice>", "/CreditNote>").into(),
    ]
}

pub fn run(bytes: &[u8]) {
    match parse_invoice("invoice.xml", bytes) {
        Err(report) => is_refused_clearly(&report, [("invoice.xml", bytes)]),
        Ok(invoice) => {
            let sum = |part: fn(&InvoiceVat) -> i64| -> i128 {
                invoice.vat.iter().map(|group| i128::from(part(group))).sum()
            };
            assert_eq!(sum(|group| group.base_minor), i128::from(invoice.net_minor));
            let gross = i128::from(invoice.net_minor) + sum(|group| group.tax_minor);
            assert_eq!(gross, i128::from(invoice.gross_minor));
            assert!(
                !invoice.number.is_empty()
                    && !invoice.seller.name.is_empty()
                    && !invoice.buyer.name.is_empty()
            );
        }
    }
}
