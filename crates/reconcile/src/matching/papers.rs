//! Invoices, credit notes and charges, and the sales they are for.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::numbers::Numbers;
use super::question::{Undecided, Why};
use crate::agreed::{Agreed, AgreedSale};
use crate::difference::{Document, Paper};
use crate::input::{Charge, Invoice, InvoiceKind, Place};
use crate::loaded::Loaded;
use crate::reference::Words;
use crate::terms::Decision;
use crate::threads::Threads;

/// Days between an invoice and the day it was to be written on, for it to be matched by amount.
const DAYS_APART: i64 = 45;

/// What was written about a sale.
#[derive(Clone, Copy)]
pub(crate) enum Written<'a> {
    Invoice(&'a Invoice),
    Charge(&'a Charge),
}

impl<'a> Written<'a> {
    pub(crate) fn number(self) -> &'a str {
        match self {
            Self::Invoice(invoice) => &invoice.number,
            Self::Charge(charge) => &charge.invoice,
        }
    }

    pub(crate) fn issued(self) -> NaiveDate {
        match self {
            Self::Invoice(invoice) => invoice.issued,
            Self::Charge(charge) => charge.issued,
        }
    }

    pub(crate) fn currency(self) -> Currency {
        match self {
            Self::Invoice(invoice) => invoice.currency,
            Self::Charge(charge) => charge.currency,
        }
    }

    /// What it charges before VAT; below nothing, what it takes back.
    pub(crate) fn net(self) -> i64 {
        match self {
            Self::Invoice(invoice) => signed(invoice, invoice.net_minor),
            Self::Charge(charge) => charge.net_minor,
        }
    }

    pub(crate) fn gross(self) -> i64 {
        match self {
            Self::Invoice(invoice) => signed(invoice, invoice.gross_minor),
            Self::Charge(charge) => charge.net_minor.saturating_add(charge.vat_minor),
        }
    }

    pub(crate) fn vat(self) -> i64 {
        self.gross().saturating_sub(self.net())
    }

    /// Does it take something back?
    pub(crate) fn is_credit(self) -> bool {
        match self {
            Self::Invoice(invoice) => invoice.kind == InvoiceKind::CreditNote,
            Self::Charge(charge) => charge.net_minor < 0,
        }
    }

    fn preceding(self) -> Option<&'a str> {
        match self {
            Self::Invoice(invoice) => invoice.preceding.as_deref(),
            Self::Charge(_) => None,
        }
    }

    fn place(self) -> &'a Place {
        match self {
            Self::Invoice(invoice) => &invoice.place,
            Self::Charge(charge) => &charge.place,
        }
    }

    pub(crate) fn document(self) -> Document {
        let paper = if self.is_credit() { Paper::CreditNote } else { Paper::Invoice };
        Document { paper, number: self.number().into(), place: Some(self.place().clone()) }
    }
}

/// An amount of an invoice as it is, of a credit note as what it takes back.
pub(crate) fn signed(invoice: &Invoice, minor: i64) -> i64 {
    match invoice.kind {
        InvoiceKind::Invoice => minor,
        InvoiceKind::CreditNote => minor.saturating_neg(),
    }
}

/// What became of a paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Standing {
    /// It counts.
    Kept,
    /// A second one for what was invoiced already.
    Double,
    /// An invoice taken back as a whole, or the credit note that does so.
    TakenBack,
}

/// A paper of a sale.
pub(crate) struct OfSale<'a> {
    pub(crate) deal: u32,
    pub(crate) sale: u32,
    pub(crate) written: Written<'a>,
    pub(crate) standing: Standing,
}

/// All papers, by the sales they are for.
pub(crate) struct Papers<'a> {
    /// In the order of deals, sales, days and numbers.
    pub(crate) of_sales: Vec<OfSale<'a>>,
    /// Of these no quote is known; with who wrote them, where that is known.
    pub(crate) unknown: Vec<By<'a>>,
    pub(crate) undecided: Vec<Undecided>,
}

/// Quotes by their numbers.
pub(crate) fn deal_numbers(deals: &[&Agreed]) -> Numbers {
    Numbers::new(deals.iter().map(|deal| &*deal.number).zip(0..))
}

/// A paper, with who wrote it, where that is known.
type By<'a> = (Written<'a>, Option<&'a Arc<str>>);

/// Papers by what they name.
struct Named<'a> {
    of_sales: Vec<OfSale<'a>>,
    nameless: Vec<By<'a>>,
    unknown: Vec<By<'a>>,
}

impl<'a> Named<'a> {
    fn new(
        papers: &[Written<'a>],
        loaded: &Loaded<'a>,
        numbers: &Numbers,
        decided: &HashMap<(&str, &str), Option<&str>>,
    ) -> Self {
        let of_sales = Vec::with_capacity(papers.len());
        let mut sorted = Self { of_sales, nameless: Vec::new(), unknown: Vec::new() };
        let mut words = Words::default();
        for &written in papers {
            let seller = match written {
                Written::Invoice(invoice) => loaded.firms.of_trader(&invoice.seller),
                Written::Charge(charge) => loaded.firms.by_id(charge.partner.as_str()),
            };
            let decision = seller.and_then(|seller| decided.get(&(&**seller, written.number())));
            let named = match (decision, written) {
                (Some(quote), _) => quote.and_then(|quote| numbers.get(quote)),
                (None, Written::Charge(charge)) => numbers.named(&charge.quote, &mut words),
                (None, Written::Invoice(invoice)) => {
                    let texts = [invoice.quote.as_deref(), invoice.payment_reference.as_deref()];
                    texts.into_iter().flatten().find_map(|text| numbers.named(text, &mut words))
                }
            };
            let sale = named.zip(seller).and_then(|(deal, seller)| {
                let agreed = deal_of(&loaded.deals, deal)?;
                let sale = agreed.sales.iter().position(|sale| sale.seller.id == *seller)?;
                Some((deal, u32::try_from(sale).ok()?))
            });
            match (sale, decision) {
                (Some((deal, sale)), _) => {
                    sorted.of_sales.push(OfSale { deal, sale, written, standing: Standing::Kept });
                }
                (None, None) if named.is_none() => sorted.nameless.push((written, seller)),
                (None, _) => sorted.unknown.push((written, seller)),
            }
        }
        sorted
    }
}

impl<'a> Papers<'a> {
    /// Finds the sale of each paper: by a decision, else by the number of the quote where it stands, else
    /// by seller, buyer, gross and day.
    pub(crate) fn new(
        loaded: &Loaded<'a>,
        numbers: &Numbers,
        decisions: &[Decision],
        threads: Threads,
    ) -> Self {
        let decided = decided(decisions);
        let charges = loaded.charges.iter().map(|charge| Written::Charge(charge));
        let all: Vec<Written<'a>> =
            loaded.invoices.iter().map(|invoice| Written::Invoice(invoice)).chain(charges).collect();
        let mut papers =
            Self { of_sales: Vec::with_capacity(all.len()), unknown: Vec::new(), undecided: Vec::new() };
        let mut nameless = Vec::new();
        for mut part in threads.parts(&all, |part| Named::new(part, loaded, numbers, &decided)) {
            papers.of_sales.append(&mut part.of_sales);
            papers.unknown.append(&mut part.unknown);
            nameless.append(&mut part.nameless);
        }
        papers.by_amount(loaded, nameless);
        papers.of_sales.sort_unstable_by(|a, b| {
            // Only papers of one sale are looked into.
            let key = |of: &OfSale<'a>| (of.written.issued(), of.written.number());
            (a.deal, a.sale).cmp(&(b.deal, b.sale)).then_with(|| key(a).cmp(&key(b)))
        });
        papers.unknown.sort_unstable_by_key(|(written, _)| (written.number(), written.issued()));
        let by_sale = |a: &OfSale<'_>, b: &OfSale<'_>| (a.deal, a.sale) == (b.deal, b.sale);
        // A paper alone counts as it is.
        for of_sale in papers.of_sales.chunk_by_mut(by_sale).filter(|of_sale| of_sale.len() > 1) {
            let agreed = of_sale.first().and_then(|first| sale_of(&loaded.deals, first.deal, first.sale));
            set_standing(of_sale, agreed.map_or(0, |sale| sale.net.minor()));
        }
        papers
    }

    /// What names no quote, by who sells to whom, what and when.
    fn by_amount(&mut self, loaded: &Loaded<'a>, nameless: Vec<By<'a>>) {
        if nameless.is_empty() {
            return;
        }
        let mut written: Vec<(u32, u32)> = self.of_sales.iter().map(|of| (of.deal, of.sale)).collect();
        written.sort_unstable();
        let mut free: HashMap<BetweenWhom<'_>, Vec<(u32, u32)>> = HashMap::new();
        for (deal, agreed) in (0..).zip(&loaded.deals) {
            for (number, sale) in (0..).zip(&agreed.sales) {
                if agreed.reversed.is_none() && written.binary_search(&(deal, number)).is_err() {
                    let key = (&*sale.seller.id, &*sale.buyer.id, agreed.currency, sale.gross.minor());
                    free.entry(key).or_default().push((deal, number));
                }
            }
        }
        for (paper, seller) in nameless {
            let buyer = match paper {
                Written::Invoice(invoice) => loaded.firms.of_trader(&invoice.buyer),
                Written::Charge(_) => None,
            };
            let key = seller.zip(buyer).map(|(s, b)| (&**s, &**b, paper.currency(), paper.gross()));
            let near = |(deal, _): &&(u32, u32)| {
                let agreed = deal_of(&loaded.deals, *deal);
                agreed.is_some_and(|agreed| {
                    let apart = paper.issued().signed_duration_since(agreed.invoice_by).num_days();
                    apart.abs() <= DAYS_APART
                })
            };
            let free = key.and_then(|key| free.get(&key)).map(Vec::as_slice).unwrap_or_default();
            let candidates: Vec<&(u32, u32)> = free.iter().filter(near).collect();
            match candidates.as_slice() {
                [] => self.unknown.push((paper, seller)),
                [(deal, sale)] => self.of_sales.push(OfSale {
                    deal: *deal,
                    sale: *sale,
                    written: paper,
                    standing: Standing::Kept,
                }),
                several => {
                    let number =
                        |(deal, _): &&(u32, u32)| Some(deal_of(&loaded.deals, *deal)?.number.clone());
                    self.undecided.push(Undecided {
                        subject: paper.document(),
                        payment: None,
                        seller: seller.cloned(),
                        why: Why::EquallyGood,
                        currency: paper.currency(),
                        amount_minor: paper.gross(),
                        candidates: several.iter().filter_map(number).map(|one| vec![one]).collect(),
                        parts: Vec::new(),
                    });
                }
            }
        }
    }
}

/// What a sale is known by without a number: seller, buyer, currency and gross.
type BetweenWhom<'s> = (&'s str, &'s str, Currency, i64);

/// Decisions about invoices, by seller and number.
fn decided<'d>(decisions: &'d [Decision]) -> HashMap<(&'d str, &'d str), Option<&'d str>> {
    let of_invoice = |decision: &'d Decision| match decision {
        Decision::Invoice { seller, number, quote, .. } => {
            Some(((seller.as_ref(), number.as_ref()), quote.as_deref()))
        }
        _ => None,
    };
    decisions.iter().filter_map(of_invoice).collect()
}

pub(crate) fn deal_of<'a>(deals: &[&'a Agreed], deal: u32) -> Option<&'a Agreed> {
    deals.get(usize::try_from(deal).ok()?).copied()
}

pub(crate) fn sale_of<'a>(deals: &[&'a Agreed], deal: u32, sale: u32) -> Option<&'a AgreedSale> {
    deal_of(deals, deal)?.sales.get(usize::try_from(sale).ok()?)
}

/// Which papers of a sale count, in the order of days.
///
/// A credit note takes back the invoice it names, else the last one of its amount. Of the invoices left,
/// all count where together they are no more than was agreed; else one does, the first that is as
/// agreed or else the first, and the others are second ones.
fn set_standing(papers: &mut [OfSale<'_>], agreed_net: i64) {
    if papers.iter().any(|of| of.written.is_credit()) {
        take_back(papers);
    }
    let counts = |of: &&mut OfSale<'_>| of.standing == Standing::Kept && !of.written.is_credit();
    let left: Vec<&mut OfSale<'_>> = papers.iter_mut().filter(counts).collect();
    let together = left.iter().fold(0_i64, |sum, of| sum.saturating_add(of.written.net()));
    if left.len() < 2 || together <= agreed_net {
        return;
    }
    let right = left.iter().position(|of| of.written.net() == agreed_net).unwrap_or(0);
    for (place, of) in left.into_iter().enumerate() {
        if place != right {
            of.standing = Standing::Double;
        }
    }
}

fn take_back(papers: &mut [OfSale<'_>]) {
    let mut by_gross: HashMap<i64, Vec<usize>> = HashMap::new();
    let mut by_number: HashMap<&str, usize> = HashMap::new();
    for (place, of) in papers.iter().enumerate().filter(|(_, of)| !of.written.is_credit()) {
        by_gross.entry(of.written.gross()).or_default().push(place);
        by_number.insert(of.written.number(), place);
    }
    let is_kept = |papers: &[OfSale<'_>], place: usize| {
        papers.get(place).is_some_and(|of| of.standing == Standing::Kept)
    };
    for place in 0..papers.len() {
        let credit = papers.get(place).map(|of| of.written).filter(|one| one.is_credit());
        let Some(credit) = credit else { continue };
        let gross = credit.gross().saturating_neg();
        let invoice = match credit.preceding() {
            Some(number) => by_number.get(number).copied().filter(|invoice| {
                let of = papers.get(*invoice);
                of.is_some_and(|of| of.written.gross() == gross) && is_kept(papers, *invoice)
            }),
            None => by_gross.get_mut(&gross).and_then(|places| {
                while places.pop_if(|last| !is_kept(papers, *last)).is_some() {}
                places.pop()
            }),
        };
        for taken_back in invoice.into_iter().flat_map(|invoice| [invoice, place]) {
            if let Some(of) = papers.get_mut(taken_back) {
                of.standing = Standing::TakenBack;
            }
        }
    }
}
