//! What was invoiced, held against what was agreed, sale by sale.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use evenfare_engine::money::{Currency, Net, Overflow, SplitError, Ties, Vat, split};
use evenfare_engine::supply::{VatGroup, vat};

use super::known::Known;
use super::misdirected::{Named, to_another};
use crate::agreed::{Agreed, AgreedSale};
use crate::difference::{Difference, Document, Paper, Reason};
use crate::error::Unreconciled;
use crate::firm::WORKSHOP;
use crate::input::InvoiceVat;
use crate::known_firms::KnownFirms;
use crate::loaded::Loaded;
use crate::matching::{OfSale, Papers, Standing, Written, signed};
use crate::terms::{Decision, Terms};

/// Differences of papers: those of each sale, then those that belong to none.
pub(crate) fn of_sales(
    loaded: &Loaded<'_>,
    papers: &Papers<'_>,
    (terms, decisions): (&Terms, &[Decision]),
    into: &mut Known,
) -> Result<(), Unreconciled> {
    let named = Named::new(loaded, papers, decisions);
    let mut left = papers.of_sales.as_slice();
    for (deal, agreed) in (0..).zip(&loaded.deals) {
        for (number, sale) in (0..).zip(&agreed.sales) {
            let own = left.iter().take_while(|of| (of.deal, of.sale) <= (deal, number)).count();
            let (of_sale, rest) = left.split_at_checked(own).unwrap_or_default();
            left = rest;
            let is_last = agreed.sales.len() == usize::try_from(number).unwrap_or_default().saturating_add(1);
            into.extend(of_sale.iter().filter_map(|of| named.told(loaded, of)));
            let is_asked = || papers.in_question.contains(&(deal, number));
            let firms = &loaded.firms;
            SaleHeld { agreed, sale, number, is_last, firms, terms }.hold(of_sale, is_asked, into)?;
        }
    }
    for one in &papers.unsold {
        let written = one.written;
        match one.standing() {
            Standing::ToAnother => {
                into.push(to_another(loaded, (written, one.seller), one.of_another));
                continue;
            }
            Standing::TakenBack => continue,
            Standing::Kept | Standing::Double => {}
        }
        into.push(Difference {
            day: one.papers().map(Written::issued).max().unwrap_or(written.issued()),
            reason: Reason::InvoiceUnknown,
            quote: None,
            party: one.seller.map_or_else(|| written.seller_name(), Arc::clone),
            currency: written.currency(),
            amount_minor: one.gross(),
            agreed_minor: None,
            documents: one.papers().map(Written::document).collect(),
        });
    }
    Ok(())
}

/// One sale, and what it is held by.
struct SaleHeld<'s, 'a> {
    agreed: &'s Agreed,
    sale: &'s AgreedSale,
    number: u32,
    is_last: bool,
    firms: &'s KnownFirms<'a>,
    terms: &'s Terms,
}

impl<'a> SaleHeld<'_, 'a> {
    /// What a paper may be for about which it is asked is not told to be without one.
    fn hold(
        &self,
        papers: &[OfSale<'a>],
        is_asked: impl FnOnce() -> bool,
        into: &mut Known,
    ) -> Result<(), Unreconciled> {
        let Self { agreed, sale, terms, .. } = *self;
        let standing = |standing| papers.iter().filter(move |of| of.standing == standing);
        for of in standing(Standing::Double).filter(|of| !self.is_to_another(of)) {
            let written = of.written;
            let figures = (None, written.gross());
            let double = self.difference(Reason::InvoiceDouble, figures, [written].into_iter());
            into.push(Difference { currency: written.currency(), ..double });
        }
        self.to_others(papers, into);
        let kept = || papers_of(standing(Standing::Kept));
        if kept().next().is_none() {
            let told = &*sale.seller.id == WORKSHOP || terms.reporting.contains_key(&sale.seller.id);
            if told
                && agreed.reversed_by(terms.until).is_none()
                && agreed.invoice_by <= terms.until
                && sale.gross.minor() != 0
            {
                let gross = sale.gross.minor();
                let figures = (Some(gross), gross.saturating_neg());
                let taken_back = papers_of(standing(Standing::TakenBack));
                let mut missing = self.difference(Reason::InvoiceMissing, figures, taken_back);
                missing.day = agreed.invoice_by;
                if is_asked() {
                    into.ask(missing, 0);
                } else {
                    into.push(missing);
                }
            }
            return Ok(());
        }
        let is_reversed = agreed.reversed_by(terms.until).is_some();
        let is_told = |currency: &Currency| is_reversed || *currency != agreed.currency;
        let told: BTreeSet<Currency> = kept().map(Written::currency).filter(is_told).collect();
        if !told.is_empty() {
            let reason = if is_reversed { Reason::InvoiceReversed } else { Reason::Currency };
            for currency in told {
                let own = || kept().filter(move |written| written.currency() == currency);
                let gross = sum(own(), Written::gross)?;
                if gross != 0 || !is_reversed {
                    into.push(Difference { currency, ..self.difference(reason, (None, gross), own()) });
                }
            }
            return Ok(());
        }
        let (net, tax) = (sum(kept(), Written::net)?, sum(kept(), Written::vat)?);
        let within = |apart: i64| apart.saturating_abs() <= terms.rounding_minor;
        let apart = net.checked_sub(sale.net.minor()).ok_or(Overflow)?;
        // Of a sale that is two invoices one may be there alone, with the VAT of its own part.
        let charged = self.charged(kept());
        let bases = charged.as_ref().map(|(bases, _)| bases.as_slice());
        let expected_tax = self.tax_of(net, bases.filter(|_| !within(apart)))?.minor();
        let tax_apart = tax.checked_sub(expected_tax).ok_or(Overflow)?;
        if !within(apart) {
            let mut told = self.net_apart(apart, kept());
            if apart < 0 {
                // Another part may come until then.
                told.day = told.day.max(agreed.invoice_by);
            }
            into.extend((told.day <= terms.until).then_some(told));
        }
        let reason = match vat_reason(&sale.vat, kept(), tax_apart, expected_tax, terms.rounding_minor) {
            // What was moved from one group to another has the VAT of that.
            told @ (None | Some(Reason::VatAmount)) if within(apart) => {
                bases.and_then(|bases| self.moved(bases, kept().count())).or(told)
            }
            told => told,
        };
        let reason = match &charged {
            Some(charged) if reason.is_none() && self.is_off(charged, kept().count())? => {
                Some(Reason::VatAmount)
            }
            _ => reason,
        };
        if let Some(reason) = reason {
            into.push(self.difference(reason, (Some(expected_tax), tax_apart), kept()));
        }
        let rounded = |agreed: i64, apart: i64, is_told: bool| if is_told { [0, 0] } else { [agreed, apart] };
        let [agreed_net, net] = rounded(sale.net.minor(), apart, !within(apart));
        let [agreed_tax, tax] = rounded(expected_tax, tax_apart, reason.is_some());
        let (agreed, apart) = match net.saturating_add(tax) {
            0 if net == 0 => return Ok(()),
            // The two make up for one another.
            0 => (agreed_net, net),
            both => (agreed_net.saturating_add(agreed_tax), both),
        };
        into.push(self.difference(Reason::Rounding, (Some(agreed), apart), kept()));
        Ok(())
    }

    /// Is a paper to another than who bought? Of a sale that was taken back all papers are told alike.
    fn is_to_another(&self, of: &OfSale<'a>) -> bool {
        let is_reversed = self.agreed.reversed_by(self.terms.until).is_some();
        !is_reversed && of.written.is_to_another_than(self.sale, self.firms)
    }

    /// What is to another than who bought and was not taken back, by whom it is to.
    fn to_others(&self, papers: &[OfSale<'a>], into: &mut Known) {
        let mut to_others: BTreeMap<(&str, Currency), Vec<Written<'a>>> = BTreeMap::new();
        let counts = |of: &&OfSale<'a>| matches!(of.standing, Standing::Kept | Standing::Double);
        for of in papers.iter().filter(counts).filter(|of| self.is_to_another(of)) {
            if let Some(party) = of.written.party(self.firms) {
                to_others.entry((party, of.written.currency())).or_default().push(of.written);
            }
        }
        for ((party, currency), papers) in to_others {
            let gross = papers.iter().fold(0_i64, |sum, written| sum.saturating_add(written.gross()));
            if gross == 0 {
                continue;
            }
            let other = self.difference(Reason::InvoiceOtherParty, (None, gross), papers.into_iter());
            // What we write concerns who has it; what partners write, the one who wrote it.
            let ours = *self.sale.seller.id == *WORKSHOP;
            let party = if ours { party.into() } else { Arc::clone(&other.party) };
            into.push(Difference { party, currency, ..other });
        }
    }

    /// A net that is not as agreed: the end customer's price, or the share of the partner who buys.
    fn net_apart<'w>(&self, apart: i64, papers: impl Iterator<Item = Written<'w>>) -> Difference {
        let place = usize::try_from(self.number).ok();
        let share = place.filter(|_| !self.is_last).and_then(|place| self.agreed.shares.get(place));
        let Some(share) = share else {
            let reason = if apart > 0 { Reason::ChargedMore } else { Reason::ChargedLess };
            return self.difference(reason, (Some(self.sale.net.minor()), apart), papers);
        };
        // He keeps what he was not charged.
        let kept_more = apart.saturating_neg();
        let by = |other: i64| other.saturating_sub(share.share.minor()) == kept_more;
        let reason = match () {
            () if share.by_others.iter().any(|(_, other)| by(other.minor())) => Reason::AgreementDate,
            () if kept_more > 0 => Reason::ShareBeyond,
            () => Reason::ShareBelow,
        };
        let figures = (Some(share.share.minor()), kept_more);
        let mut difference = self.difference(reason, figures, papers);
        difference.party = Arc::clone(&share.partner);
        difference
    }

    /// With what was agreed, where anything was, and how much what was found is beyond it.
    fn difference<'w>(
        &self,
        reason: Reason,
        (agreed_minor, amount_minor): (Option<i64>, i64),
        papers: impl Iterator<Item = Written<'w>>,
    ) -> Difference {
        let Self { agreed, sale, .. } = self;
        let quote = Document { paper: Paper::Quote, number: agreed.number.clone(), place: None };
        let mut documents = vec![quote];
        let mut day = agreed.invoice_by;
        for (place, written) in papers.enumerate() {
            day = if place == 0 { written.issued() } else { day.max(written.issued()) };
            documents.push(written.document());
        }
        // What we write concerns who buys; what partners write, the one who wrote it.
        let ours = &*sale.seller.id == WORKSHOP;
        Difference {
            day,
            reason,
            quote: Some(agreed.number.clone()),
            party: Arc::clone(if ours { &sale.buyer.id } else { &sale.seller.id }),
            currency: agreed.currency,
            amount_minor,
            agreed_minor,
            documents,
        }
    }

    /// What papers charge of each group that was agreed, and the VAT of each; none where there is one alone, a row of a list
    /// does not say, or some is of no such group.
    fn charged<'w>(&self, papers: impl Iterator<Item = Written<'w>>) -> Option<(Vec<i64>, Vec<i64>)> {
        let groups = &self.sale.vat;
        if groups.len() < 2 {
            return None;
        }
        let (mut bases, mut taxes) = (vec![0_i64; groups.len()], vec![0_i64; groups.len()]);
        for written in papers {
            let Written::Invoice(invoice) = written else { return None };
            for group in invoice.vat.iter().filter(|group| group.base_minor != 0 || group.tax_minor != 0) {
                let place = groups.iter().position(|own| is_of(own, group))?;
                for (sums, minor) in [(&mut bases, group.base_minor), (&mut taxes, group.tax_minor)] {
                    let sum = sums.get_mut(place)?;
                    *sum = sum.saturating_add(signed(invoice, minor));
                }
            }
        }
        Some((bases, taxes))
    }

    /// What the VAT groups of so many papers may be off by rounding.
    fn rounding(&self, papers: usize) -> i64 {
        self.terms.rounding_minor.saturating_mul(i64::try_from(papers).unwrap_or(i64::MAX))
    }

    /// Is the VAT of a group not its rate of what so many papers charge of it? What one has too much another may lack.
    fn is_off(&self, (bases, taxes): &(Vec<i64>, Vec<i64>), papers: usize) -> Result<bool, Overflow> {
        for ((group, base), tax) in self.sale.vat.iter().zip(bases).zip(taxes) {
            let expected = match group.rate {
                _ if group.base.minor() == *base => group.tax.minor(),
                Some(rate) => vat(Net::from_minor(*base)?, rate)?.minor(),
                None => 0,
            };
            if tax.saturating_sub(expected).saturating_abs() > self.rounding(papers) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Is more of what so many papers charge of one category or rate than agreed, and less of another?
    fn moved(&self, bases: &[i64], papers: usize) -> Option<Reason> {
        let groups = &self.sale.vat;
        let (first, others) = groups.split_first()?;
        let mut apart =
            groups.iter().zip(bases).map(|(group, base)| group.base.minor().saturating_sub(*base));
        let is_category = others.iter().any(|other| other.category != first.category);
        let reason = if is_category { Reason::VatCategory } else { Reason::VatRate };
        apart.any(|apart| apart.saturating_abs() > self.rounding(papers)).then_some(reason)
    }

    /// What VAT would be of a net by the categories and rates agreed: of what it has of each group, where that is known and
    /// comes to it; else it is shared out over the groups as agreed.
    fn tax_of(&self, net: i64, own: Option<&[i64]>) -> Result<Vat, Overflow> {
        let groups = &self.sale.vat;
        if net == self.sale.net.minor() {
            return Vat::sum(groups.iter().map(|group| group.tax));
        }
        let sum = |own: &[i64]| own.iter().try_fold(0_i64, |sum, base| sum.checked_add(*base));
        let bases = match own.filter(|own| sum(own) == Some(net)) {
            Some(own) => own.to_vec(),
            None => self.shared_out(net)?,
        };
        groups.iter().zip(bases).try_fold(Vat::ZERO, |sum, (group, base)| match group.rate {
            Some(rate) => sum.plus(vat(Net::from_minor(base)?, rate)?),
            None => Ok(sum),
        })
    }

    /// A net shared out over the groups as agreed.
    fn shared_out(&self, net: i64) -> Result<Vec<i64>, Overflow> {
        let bases: Vec<i64> = self.sale.vat.iter().map(|group| group.base.minor()).collect();
        match split(net, &bases, Ties::First) {
            // What was to cost nothing has no base to share it out by: it would be of the first group.
            Err(SplitError::NoWeight) => {
                Ok([net].into_iter().chain(std::iter::repeat(0)).take(bases.len()).collect())
            }
            shared => shared.map_err(|_| Overflow),
        }
    }
}

/// What papers come to.
fn sum<'w>(
    mut papers: impl Iterator<Item = Written<'w>>,
    of: fn(Written<'w>) -> i64,
) -> Result<i64, Overflow> {
    papers.try_fold(0_i64, |sum, written| sum.checked_add(of(written)).ok_or(Overflow))
}

fn papers_of<'p, 'a: 'p>(of: impl Iterator<Item = &'p OfSale<'a>>) -> impl Iterator<Item = Written<'a>> {
    of.map(|of| of.written)
}

/// Is VAT of another category or rate than agreed, or not its rate of its base? An invoice says which it has.
/// A line of what a partner charged only says how much: none where some is due, or some where none is, is
/// another category; else what is more than rounding is another rate.
fn vat_reason<'w>(
    agreed: &[VatGroup],
    papers: impl Iterator<Item = Written<'w>>,
    apart: i64,
    expected: i64,
    rounding: i64,
) -> Option<Reason> {
    let beyond = apart.saturating_abs() > rounding;
    let tax = expected.saturating_add(apart);
    let mut reason = None;
    for written in papers {
        let Written::Invoice(invoice) = written else {
            let other = if tax == 0 || expected == 0 { Reason::VatCategory } else { Reason::VatRate };
            reason = reason.or(beyond.then_some(other));
            continue;
        };
        for group in invoice.vat.iter().filter(|group| group.base_minor != 0 || group.tax_minor != 0) {
            if !agreed.iter().any(|own| Some(own.category) == group.category) {
                return Some(Reason::VatCategory);
            }
            if !agreed.iter().any(|own| is_of(own, group)) {
                reason = Some(Reason::VatRate);
            }
        }
    }
    reason.or(beyond.then_some(Reason::VatAmount))
}

/// Is VAT of an invoice of that category and rate? No rate and a rate of zero are one.
fn is_of(own: &VatGroup, group: &InvoiceVat) -> bool {
    Some(own.category) == group.category && own.rate.unwrap_or_default() == group.rate.unwrap_or_default()
}
