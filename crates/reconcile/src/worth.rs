//! What invoices are worth in the currency of the books.

use std::collections::{BTreeMap, HashMap};

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
    /// Of the gross, what is to be paid: credit notes have taken back the rest.
    pub(crate) payable: i64,
    /// Whose rates it is by: those of that day.
    pub(crate) by_rates_of: NaiveDate,
}

/// What all of our invoices are worth.
pub(crate) struct Worths<'w> {
    rates: &'w Rates,
    terms: &'w Terms,
    /// By open item, where something that takes it back has a part in it.
    credited: HashMap<u32, Worth>,
}

/// What credit notes have taken back of an invoice so far.
#[derive(Clone, Copy, Default)]
struct Taken {
    net_minor: i64,
    gross_minor: i64,
    net: i64,
    vat: i64,
    gross: i64,
}

impl<'w> Worths<'w> {
    pub(crate) fn new(items: &[Open<'_>], rates: &'w Rates, terms: &'w Terms) -> Result<Self, Unreconciled> {
        let mut worths = Self { rates, terms, credited: HashMap::new() };
        let mut first = 0_u32;
        let together = |a: &Open<'_>, b: &Open<'_>| a.deal == b.deal && (a.deal.is_some() || is_credit(b));
        for papers in items.chunk_by(together) {
            if papers.iter().any(|item| is_credit(item) || is_lessened(item)) {
                let of_papers = worths.of_credited(papers, first)?;
                worths.credited.extend((first..).zip(of_papers));
            }
            first = first.saturating_add(u32::try_from(papers.len()).map_err(|_| Overflow)?);
        }
        Ok(worths)
    }

    /// Is the open item at a place worth what it says: in the currency of the books, and nothing takes it back?
    pub(crate) fn is_at_par(&self, place: u32, item: &Open<'_>) -> bool {
        item.currency() == self.terms.currency && !self.credited.contains_key(&place)
    }

    /// What the open item at a place is worth.
    pub(crate) fn of(&self, place: u32, item: &Open<'_>) -> Result<Worth, Unreconciled> {
        match self.credited.get(&place) {
            Some(worth) => Ok(*worth),
            None => self.converted(item.invoice, item.invoice.issued),
        }
    }

    /// A credit note is worth what its invoice is, where it takes back all of it. Those that take back parts are
    /// converted by the rates of their invoice, each as what all so far come to less what those before it did: so
    /// nothing is left of what was taken back whole, and the last payment leaves nothing of what was not.
    fn of_credited(&self, papers: &[Open<'_>], first: u32) -> Result<Vec<Worth>, Unreconciled> {
        let mut worths = Vec::with_capacity(papers.len());
        for item in papers {
            worths.push(self.converted(item.invoice, item.invoice.issued)?);
        }
        let mut credits: Vec<usize> = (0..papers.len()).collect();
        credits.retain(|place| papers.get(*place).is_some_and(is_credit));
        credits
            .sort_by_key(|place| papers.get(*place).map(|item| (item.invoice.issued, &item.invoice.number)));
        let mut taken: BTreeMap<usize, Taken> = BTreeMap::new();
        for place in credits {
            let Some(credit) = papers.get(place) else { continue };
            let of = credit.takes_back.and_then(|of| usize::try_from(of.checked_sub(first)?).ok());
            let Some(of) = of else { continue };
            let (Some(invoice), Some(whole)) = (papers.get(of), worths.get(of).copied()) else { continue };
            let part = self.part(credit.invoice, invoice.invoice, whole, taken.entry(of).or_default())?;
            if let Some(worth) = worths.get_mut(place) {
                *worth = part;
            }
        }
        self.set_payable(papers, &mut worths)?;
        Ok(worths)
    }

    /// What the next credit note takes back of an invoice.
    fn part(
        &self,
        credit: &Invoice,
        invoice: &Invoice,
        whole: Worth,
        taken: &mut Taken,
    ) -> Result<Worth, Unreconciled> {
        let before = *taken;
        let minus = |a: i64, b: i64| a.checked_sub(b).ok_or(Overflow);
        taken.net_minor = taken.net_minor.checked_add(credit.net_minor).ok_or(Overflow)?;
        taken.gross_minor = taken.gross_minor.checked_add(credit.gross_minor).ok_or(Overflow)?;
        let base =
            |minor| self.rates.converted(minor, invoice.currency, self.terms.currency, whole.by_rates_of);
        if (taken.net_minor, taken.gross_minor) == (invoice.net_minor, invoice.gross_minor) {
            (taken.net, taken.vat, taken.gross) = (whole.net, whole.vat, whole.gross);
        } else {
            taken.vat = base(minus(taken.gross_minor, taken.net_minor)?)?;
            if self.said(invoice).is_some() {
                taken.gross = base(taken.gross_minor)?;
                taken.net = minus(taken.gross, taken.vat)?;
            } else {
                taken.net = base(taken.net_minor)?;
                taken.gross = taken.net.checked_add(taken.vat).ok_or(Overflow)?;
            }
        }
        let gross = minus(before.gross, taken.gross)?;
        let vat = match self.said(credit) {
            Some(said) => signed(credit, said),
            None => minus(before.vat, taken.vat)?,
        };
        Ok(Worth { net: minus(gross, vat)?, vat, gross, payable: gross, by_rates_of: whole.by_rates_of })
    }

    /// What was taken back of an invoice is not to be paid. What is to be paid of these papers comes to what they are
    /// worth together.
    fn set_payable(&self, papers: &[Open<'_>], worths: &mut [Worth]) -> Result<(), Unreconciled> {
        let mut left = 0_i64;
        let mut last = None;
        for (item, worth) in papers.iter().zip(worths) {
            if !is_lessened(item) {
                continue;
            }
            left = left.checked_add(worth.gross).ok_or(Overflow)?;
            worth.payable = 0;
            if item.payable != 0 {
                let (from, to) = (item.currency(), self.terms.currency);
                worth.payable = self.rates.converted(item.payable, from, to, worth.by_rates_of)?;
                left = left.checked_sub(worth.payable).ok_or(Overflow)?;
                last = Some(worth);
            }
        }
        if let Some(last) = last {
            last.payable = last.payable.checked_add(left).ok_or(Overflow)?;
        }
        Ok(())
    }

    /// Where the invoice says its VAT in the currency of the books, that is what is owed to the state: the gross
    /// is converted, and the net is the rest. Else net and VAT are converted, and the gross is their sum.
    fn converted(&self, invoice: &Invoice, on: NaiveDate) -> Result<Worth, Unreconciled> {
        let books = self.terms.currency;
        let base = |minor| self.rates.converted(signed(invoice, minor), invoice.currency, books, on);
        if let Some(said) = self.said(invoice) {
            let (gross, vat) = (base(invoice.gross_minor)?, signed(invoice, said));
            let net = gross.checked_sub(vat).ok_or(Overflow)?;
            return Ok(Worth { net, vat, gross, payable: gross, by_rates_of: on });
        }
        let vat = invoice.gross_minor.checked_sub(invoice.net_minor).ok_or(Overflow)?;
        let (net, vat) = (base(invoice.net_minor)?, base(vat)?);
        let gross = net.checked_add(vat).ok_or(Overflow)?;
        Ok(Worth { net, vat, gross, payable: gross, by_rates_of: on })
    }

    /// The VAT that an invoice in another currency says in that of the books.
    fn said(&self, invoice: &Invoice) -> Option<i64> {
        let books = self.terms.currency;
        let said = invoice.accounting_vat.filter(|said| said.currency == books && invoice.currency != books);
        said.map(|said| said.minor)
    }
}

fn is_credit(item: &Open<'_>) -> bool {
    item.invoice.kind == InvoiceKind::CreditNote
}

/// Is less or more to be paid than it asks for? A negative invoice takes back as a credit note does.
fn is_lessened(item: &Open<'_>) -> bool {
    item.payable != signed(item.invoice, item.invoice.gross_minor)
}
