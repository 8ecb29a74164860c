//! What invoices are worth in the currency of the books.

use std::collections::{BTreeMap, HashMap};

use chrono::NaiveDate;
use evenfare_engine::money::{Overflow, Ties, split};

use crate::error::Unreconciled;
use crate::input::Invoice;
use crate::matching::{Open, OpenItems, Taken, signed};
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

/// What credit notes have taken back of an invoice so far, above nothing: in its currency, and in that of the books.
#[derive(Clone, Copy, Default)]
struct SoFar {
    net_minor: i64,
    gross_minor: i64,
    vat: i64,
    gross: i64,
}

/// What a credit note takes back, or a part of it: net, gross, and the VAT that it says in the currency of the books.
#[derive(Clone, Copy)]
struct Part {
    net_minor: i64,
    gross_minor: i64,
    said: Option<i64>,
}

impl<'w> Worths<'w> {
    pub(crate) fn new(
        open: &OpenItems<'_>,
        rates: &'w Rates,
        terms: &'w Terms,
    ) -> Result<Self, Unreconciled> {
        let mut worths = Self { rates, terms, credited: HashMap::new() };
        let mut credits: Vec<(u32, &Open<'_>)> =
            (0_u32..).zip(&open.items).filter(|(_, item)| item.is_credit()).collect();
        credits.sort_by_key(|(_, item)| (item.invoice.issued, &item.invoice.number));
        let mut so_far: BTreeMap<u32, SoFar> = BTreeMap::new();
        for (place, credit) in credits {
            let taken = open.taken_by(place);
            if credit.takes_back.is_some() || !taken.is_empty() {
                let worth = worths.of_credit(open, credit, taken, &mut so_far)?;
                worths.credited.insert(place, worth);
            }
        }
        for (place, taken) in so_far {
            let Some(item) = open.get(place) else { continue };
            let whole = worths.converted(item.invoice, item.invoice.issued)?;
            let payable = minus(whole.gross, taken.gross)?;
            worths.credited.insert(place, Worth { payable, ..whole });
        }
        Ok(worths)
    }

    /// What the open item at a place is worth.
    pub(crate) fn of(&self, place: u32, item: &Open<'_>) -> Result<Worth, Unreconciled> {
        match self.credited.get(&place) {
            Some(worth) => Ok(*worth),
            None => self.converted(item.invoice, item.invoice.issued),
        }
    }

    /// What a credit note takes off each invoice is worth what it is there. What is over is converted by the rates of the
    /// invoice that it is of, else by those of its own day.
    fn of_credit(
        &self,
        open: &OpenItems<'_>,
        item: &Open<'_>,
        taken: &[Taken],
        so_far: &mut BTreeMap<u32, SoFar>,
    ) -> Result<Worth, Unreconciled> {
        let credit = item.invoice;
        let turned = |minor| signed(credit, minor).checked_neg().ok_or(Overflow);
        let whole = Part {
            net_minor: turned(credit.net_minor)?,
            gross_minor: turned(credit.gross_minor)?,
            said: self.said(credit).map(turned).transpose()?,
        };
        let of = item.takes_back.and_then(|of| open.get(of)).unwrap_or(item);
        let by_rates_of = of.invoice.issued;
        let over = taken.iter().try_fold(whole.gross_minor, |left, one| minus(left, one.minor))?;
        let shares: Vec<i64> = taken.iter().map(|one| one.minor).chain([over]).collect();
        let (mut vat, mut gross) = (0_i64, 0_i64);
        let mut payable = 0_i64;
        for (place, part) in whole.shared_out(&shares)?.into_iter().enumerate() {
            let (of_vat, of_gross) =
                match taken.get(place).and_then(|one| Some((one, open.get(one.invoice)?))) {
                    Some((one, invoice)) => {
                        self.take(invoice.invoice, so_far.entry(one.invoice).or_default(), part)?
                    }
                    None => {
                        let over = self.over(credit, part, by_rates_of)?;
                        payable = over.1.checked_neg().ok_or(Overflow)?;
                        over
                    }
                };
            vat = vat.checked_sub(of_vat).ok_or(Overflow)?;
            gross = gross.checked_sub(of_gross).ok_or(Overflow)?;
        }
        Ok(Worth { net: minus(gross, vat)?, vat, gross, payable, by_rates_of })
    }

    /// VAT and gross of what is taken off an invoice next: by its rates, what all so far come to less what those before
    /// did. So nothing is left of what was taken back whole, and the last payment leaves nothing of what was not.
    fn take(&self, invoice: &Invoice, so_far: &mut SoFar, part: Part) -> Result<(i64, i64), Unreconciled> {
        let whole = self.converted(invoice, invoice.issued)?;
        let before = *so_far;
        let net_minor = before.net_minor.checked_add(part.net_minor).ok_or(Overflow)?;
        let gross_minor = before.gross_minor.checked_add(part.gross_minor).ok_or(Overflow)?;
        let is_all_net = net_minor == signed(invoice, invoice.net_minor);
        let is_all = gross_minor == signed(invoice, invoice.gross_minor);
        let base =
            |minor| self.rates.converted(minor, invoice.currency, self.terms.currency, whole.by_rates_of);
        let vat = match part.said {
            Some(said) => before.vat.checked_add(said).ok_or(Overflow)?,
            None if is_all && is_all_net => whole.vat,
            None => base(minus(gross_minor, net_minor)?)?,
        };
        let gross = match self.said(invoice) {
            _ if is_all => whole.gross,
            Some(_) => base(gross_minor)?,
            None => base(net_minor)?.checked_add(base(minus(gross_minor, net_minor)?)?).ok_or(Overflow)?,
        };
        *so_far = SoFar { net_minor, gross_minor, vat, gross };
        Ok((minus(vat, before.vat)?, minus(gross, before.gross)?))
    }

    /// VAT and gross of what a credit note takes back beyond what there is.
    fn over(&self, credit: &Invoice, part: Part, on: NaiveDate) -> Result<(i64, i64), Unreconciled> {
        let base = |minor| self.rates.converted(minor, credit.currency, self.terms.currency, on);
        if let Some(said) = part.said {
            return Ok((said, base(part.gross_minor)?));
        }
        let vat = base(minus(part.gross_minor, part.net_minor)?)?;
        Ok((vat, base(part.net_minor)?.checked_add(vat).ok_or(Overflow)?))
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

impl Part {
    /// In parts of these gross amounts, which come to it.
    fn shared_out(self, shares: &[i64]) -> Result<Vec<Self>, Overflow> {
        let shared = |minor| match self.gross_minor {
            // Without a gross it is one part.
            0 => {
                Ok(std::iter::repeat_n(0, shares.len().saturating_sub(1)).chain([minor]).collect::<Vec<_>>())
            }
            _ => split(minor, shares, Ties::First).map_err(|_| Overflow),
        };
        let nets = shared(self.net_minor)?;
        let said = self.said.map(shared).transpose()?;
        let said_of = |place| said.as_ref().and_then(|said| said.get(place).copied());
        let parts = shares.iter().zip(nets).enumerate();
        let parts = parts.map(|(place, (&gross_minor, net_minor))| Self {
            net_minor,
            gross_minor,
            said: said_of(place),
        });
        Ok(parts.collect())
    }
}

fn minus(a: i64, b: i64) -> Result<i64, Overflow> {
    a.checked_sub(b).ok_or(Overflow)
}
