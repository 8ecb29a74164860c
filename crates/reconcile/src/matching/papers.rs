//! Invoices, credit notes and charges, and the sales they are for.

use std::collections::{HashMap, HashSet};

use super::numbers::{Numbers, Reader};
use super::preceding::{Left, Unsold, by_invoice};
use super::question::Undecided;
use super::standing::set_standing;
use super::written::{BetweenWhom, By, OfSale, SaleAt, Standing, Written, asked, deal_of, sale_of};
use crate::agreed::Agreed;
use crate::loaded::Loaded;
use crate::terms::Decision;
use crate::threads::Threads;

/// Days between an invoice and the day it was to be written on, for it to be matched by amount.
const DAYS_APART: i64 = 45;

/// All papers, by the sales they are for.
pub(crate) struct Papers<'a> {
    /// In the order of deals, sales, days and numbers.
    pub(crate) of_sales: Vec<OfSale<'a>>,
    /// Of these no quote is known.
    pub(crate) unsold: Vec<Unsold<'a>>,
    pub(crate) undecided: Vec<Undecided>,
    /// They wait for the answer of what a paper is for that they follow.
    pub(crate) waiting: Vec<By<'a>>,
    /// Sales that a paper may be for about which it is asked.
    pub(crate) in_question: HashSet<SaleAt>,
}

/// Quotes by their numbers.
pub(crate) fn deal_numbers(deals: &[&Agreed]) -> Numbers {
    Numbers::new(deals.iter().map(|deal| &*deal.number).zip(0..))
}

/// Papers by what they name.
struct Named<'a> {
    of_sales: Vec<OfSale<'a>>,
    left: Left<'a>,
}

impl<'a> Named<'a> {
    fn new(
        papers: impl ExactSizeIterator<Item = Written<'a>>,
        loaded: &Loaded<'a>,
        numbers: &Numbers,
        decided: &Decided<'_>,
    ) -> Self {
        let of_sales = Vec::with_capacity(papers.len());
        let mut sorted = Self { of_sales, left: Left::default() };
        let mut reader = Reader::default();
        for written in papers {
            let seller = written.seller(&loaded.firms);
            let decision = seller.and_then(|seller| decided.get(&(&**seller, written.number())));
            let named = match (decision, written) {
                (Some(quote), _) => quote.and_then(|quote| numbers.get(quote)),
                (None, Written::Charge(charge)) => numbers.named(&charge.quote, &mut reader),
                (None, Written::Invoice(invoice)) => {
                    let texts = [invoice.quote.as_deref(), invoice.payment_reference.as_deref()];
                    let listed = loaded.listed_quotes(invoice).iter().copied();
                    let first = texts.into_iter().flatten().chain(listed);
                    let first = first.filter_map(|text| numbers.named(text, &mut reader)).next();
                    first.or_else(|| {
                        let mut others =
                            invoice.references.iter().filter_map(|text| numbers.named(text, &mut reader));
                        let other = others.next()?;
                        others.all(|one| one == other).then_some(other)
                    })
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
                (None, None) if named.is_none() => sorted.left.nameless.push((written, seller)),
                (None, _) => sorted.left.unknown.push((written, seller)),
            }
        }
        sorted
    }
}

impl<'a> Papers<'a> {
    /// Finds the sale of each paper: by a decision, else by the number of the quote where it stands, else
    /// by seller, buyer, gross and day, else by the invoice that it names.
    pub(crate) fn new(
        loaded: &Loaded<'a>,
        numbers: &Numbers,
        decisions: &[Decision],
        threads: Threads,
    ) -> Self {
        let decided = decided(decisions);
        let invoices = threads.parts(&loaded.invoices, |part| {
            Named::new(part.iter().map(|invoice| Written::Invoice(invoice)), loaded, numbers, &decided)
        });
        let charges = threads.parts(&loaded.charges, |part| {
            Named::new(part.iter().map(|charge| Written::Charge(charge)), loaded, numbers, &decided)
        });
        let all = loaded.invoices.len().saturating_add(loaded.charges.len());
        let mut papers = Self {
            of_sales: Vec::with_capacity(all),
            unsold: Vec::new(),
            undecided: Vec::new(),
            waiting: Vec::new(),
            in_question: HashSet::new(),
        };
        let mut left = Left::default();
        for mut part in invoices.into_iter().chain(charges) {
            papers.of_sales.append(&mut part.of_sales);
            left.nameless.append(&mut part.left.nameless);
            left.unknown.append(&mut part.left.unknown);
        }
        papers.by_amount(loaded, &mut left);
        let mut followed = by_invoice(loaded, left, &mut papers.of_sales);
        papers.undecided.append(&mut followed.undecided);
        papers.in_question.extend(followed.in_question);
        (papers.unsold, papers.waiting) = (followed.unsold, followed.waiting);
        papers.of_sales.sort_unstable_by(|a, b| {
            // Only papers of one sale are looked into.
            let key = |of: &OfSale<'a>| (of.written.issued(), of.written.number());
            (a.deal, a.sale).cmp(&(b.deal, b.sale)).then_with(|| key(a).cmp(&key(b)))
        });
        let by_sale = |a: &OfSale<'_>, b: &OfSale<'_>| (a.deal, a.sale) == (b.deal, b.sale);
        // An invoice alone counts as it is.
        let is_to_settle = |of_sale: &&mut [OfSale<'a>]| {
            of_sale.len() > 1 || of_sale.iter().any(|of| of.written.is_credit())
        };
        for of_sale in papers.of_sales.chunk_by_mut(by_sale).filter(is_to_settle) {
            let agreed = of_sale.first().and_then(|first| sale_of(&loaded.deals, first.deal, first.sale));
            set_standing(of_sale, agreed, &loaded.firms);
        }
        papers
    }

    /// What names no quote, by who sells to whom, what and when.
    fn by_amount(&mut self, loaded: &Loaded<'a>, left: &mut Left<'a>) {
        if left.nameless.is_empty() {
            return;
        }
        let mut written: Vec<SaleAt> = self.of_sales.iter().map(|of| (of.deal, of.sale)).collect();
        written.sort_unstable();
        let mut free: HashMap<BetweenWhom<'_>, Vec<SaleAt>> = HashMap::new();
        for (deal, agreed) in (0..).zip(&loaded.deals) {
            for (number, sale) in (0..).zip(&agreed.sales) {
                if agreed.reversed_by(loaded.until).is_none()
                    && written.binary_search(&(deal, number)).is_err()
                {
                    let key = (&*sale.seller.id, &*sale.buyer.id, agreed.currency, sale.gross.minor());
                    free.entry(key).or_default().push((deal, number));
                }
            }
        }
        for (paper, seller) in std::mem::take(&mut left.nameless) {
            let buyer = match paper {
                Written::Invoice(invoice) => loaded.firms.of_trader(&invoice.buyer),
                Written::Charge(_) => None,
            };
            let key = seller.zip(buyer).map(|(s, b)| (&**s, &**b, paper.currency(), paper.gross()));
            let near = |(deal, _): &&SaleAt| {
                let agreed = deal_of(&loaded.deals, *deal);
                agreed.is_some_and(|agreed| {
                    let apart = paper.issued().signed_duration_since(agreed.invoice_by).num_days();
                    apart.abs() <= DAYS_APART
                })
            };
            let free = key.and_then(|key| free.get(&key)).map(Vec::as_slice).unwrap_or_default();
            let candidates: Vec<&SaleAt> = free.iter().filter(near).collect();
            match candidates.as_slice() {
                [] => left.nameless.push((paper, seller)),
                [(deal, sale)] => self.of_sales.push(OfSale {
                    deal: *deal,
                    sale: *sale,
                    written: paper,
                    standing: Standing::Kept,
                }),
                several => {
                    let number = |(deal, _): &&SaleAt| Some(deal_of(&loaded.deals, *deal)?.number.clone());
                    self.undecided.push(asked((paper, seller), several.iter().filter_map(number)));
                    self.in_question.extend(several.iter().copied().copied());
                    left.asked.push((paper, seller));
                }
            }
        }
    }
}

/// The quotes that invoices were decided to be for, by seller and number; none of one that is for no quote.
pub(crate) type Decided<'d> = HashMap<(&'d str, &'d str), Option<&'d str>>;

/// Decisions about invoices.
pub(crate) fn decided<'d>(decisions: &'d [Decision]) -> Decided<'d> {
    let of_invoice = |decision: &'d Decision| match decision {
        Decision::Invoice { seller, number, quote, .. } => {
            Some(((seller.as_ref(), number.as_ref()), quote.as_deref()))
        }
        _ => None,
    };
    decisions.iter().filter_map(of_invoice).collect()
}
