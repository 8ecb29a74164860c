//! What invoices are worth in the currency of the books.

use std::collections::{HashMap, HashSet};

use chrono::NaiveDate;
use evenfare_engine::money::Overflow;

use crate::error::Unreconciled;
use crate::input::{Invoice, InvoiceKind};
use crate::matching::{Open, signed};
use crate::rates::Rates;
use crate::terms::Terms;

/// What an invoice is worth in the currency of the books; below nothing, what a credit note takes back.
#[derive(Clone, Copy)]
pub(crate) struct Worth {
    pub(crate) net: i64,
    pub(crate) vat: i64,
    pub(crate) gross: i64,
    /// Whose rates it is by: those of that day.
    pub(crate) by_rates_of: NaiveDate,
}

/// What all of our invoices are worth.
pub(crate) struct Worths<'w> {
    rates: &'w Rates,
    terms: &'w Terms,
    /// The invoices that credit notes take back, by number.
    preceding: HashMap<&'w str, &'w Invoice>,
    /// By the number of the credit note with which an invoice is taken back whole: those before it.
    before_last: HashMap<&'w str, Vec<&'w Invoice>>,
}

impl<'w> Worths<'w> {
    pub(crate) fn new(items: &'w [Open<'_>], rates: &'w Rates, terms: &'w Terms) -> Self {
        let invoices = || items.iter().map(|item| item.invoice);
        let of_kind = |kind| invoices().filter(move |invoice| invoice.kind == kind);
        let named: HashSet<&str> =
            of_kind(InvoiceKind::CreditNote).filter_map(|credit| credit.preceding.as_deref()).collect();
        let preceding = of_kind(InvoiceKind::Invoice).map(|invoice| (&*invoice.number, invoice));
        let preceding: HashMap<_, _> = preceding.filter(|(number, _)| named.contains(number)).collect();
        let mut credits: Vec<&Invoice> = of_kind(InvoiceKind::CreditNote).collect();
        credits.sort_unstable_by_key(|credit| (&credit.preceding, credit.issued, &credit.number));
        let mut before_last = HashMap::new();
        for parts in credits.chunk_by(|a, b| a.preceding == b.preceding) {
            let number = parts.first().and_then(|part| part.preceding.as_deref());
            let Some(credited) = number.and_then(|number| preceding.get(number)) else { continue };
            let mut taken = (0_i64, 0_i64);
            for (at, part) in parts.iter().enumerate() {
                taken.0 = taken.0.saturating_add(part.net_minor);
                taken.1 = taken.1.saturating_add(part.gross_minor);
                if at > 0 && part.currency == credited.currency && taken == sums(credited) {
                    before_last.insert(&*part.number, parts.iter().take(at).copied().collect());
                }
            }
        }
        Self { rates, terms, preceding, before_last }
    }

    /// A credit note is worth what its invoice is, where it takes back all of it. One that takes back a part is
    /// converted by the rates of its invoice, and the last one of all takes what is left, so that nothing is left of
    /// what is taken back whole.
    pub(crate) fn of(&self, invoice: &Invoice) -> Result<Worth, Unreconciled> {
        let credited = match (invoice.kind, invoice.preceding.as_deref()) {
            (InvoiceKind::CreditNote, Some(number)) => self.preceding.get(number),
            _ => None,
        };
        let Some(credited) = credited.filter(|credited| credited.currency == invoice.currency) else {
            return self.converted(invoice, invoice.issued);
        };
        let before = match self.before_last.get(&*invoice.number) {
            _ if sums(credited) == sums(invoice) => [].as_slice(),
            Some(before) => before,
            None => return self.converted(invoice, credited.issued),
        };
        let mut left = self.converted(credited, credited.issued)?;
        for part in before {
            let part = self.converted(part, credited.issued)?;
            left.net = left.net.checked_add(part.net).ok_or(Overflow)?;
            left.vat = left.vat.checked_add(part.vat).ok_or(Overflow)?;
            left.gross = left.gross.checked_add(part.gross).ok_or(Overflow)?;
        }
        let back = |minor: i64| minor.checked_neg().ok_or(Overflow);
        Ok(Worth { net: back(left.net)?, vat: back(left.vat)?, gross: back(left.gross)?, ..left })
    }

    /// Where the invoice says its VAT in the currency of the books, that is what is owed to the state: the gross
    /// is converted, and the net is the rest. Else net and VAT are converted, and the gross is their sum.
    fn converted(&self, invoice: &Invoice, on: NaiveDate) -> Result<Worth, Unreconciled> {
        let books = self.terms.currency;
        let base = |minor| self.rates.converted(signed(invoice, minor), invoice.currency, books, on);
        let said = invoice.accounting_vat.filter(|said| said.currency == books && invoice.currency != books);
        if let Some(said) = said {
            let (gross, vat) = (base(invoice.gross_minor)?, signed(invoice, said.minor));
            let net = gross.checked_sub(vat).ok_or(Overflow)?;
            return Ok(Worth { net, vat, gross, by_rates_of: on });
        }
        let vat = invoice.gross_minor.checked_sub(invoice.net_minor).ok_or(Overflow)?;
        let (net, vat) = (base(invoice.net_minor)?, base(vat)?);
        Ok(Worth { net, vat, gross: net.checked_add(vat).ok_or(Overflow)?, by_rates_of: on })
    }
}

fn sums(invoice: &Invoice) -> (i64, i64) {
    (invoice.net_minor, invoice.gross_minor)
}
