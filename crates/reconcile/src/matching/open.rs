//! Our invoices, and what is still to be paid on each.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::money::Currency;

use super::numbers::{ByNumber, Numbers};
use super::papers::Papers;
use super::written::{Standing, Written, signed};
use crate::firm::WORKSHOP;
use crate::input::Invoice;
use crate::loaded::Loaded;
use crate::reference::{Words, number_of_creditor_reference};
use crate::terms::Terms;

/// One of our invoices or credit notes.
pub(crate) struct Open<'a> {
    pub(crate) invoice: &'a Invoice,
    /// The quote, where one is known.
    pub(crate) deal: Option<u32>,
    /// Who owes it.
    pub(crate) party: Arc<str>,
    pub(crate) due: NaiveDate,
    /// The day of the last paper that says what is to be paid: its own, or that of a credit note.
    pub(crate) asked: NaiveDate,
    /// What was asked for, less what credit notes took back; below nothing, what we owe.
    pub(crate) payable: i64,
    /// What was paid of it.
    pub(crate) paid: i64,
    pub(crate) standing: Standing,
    /// A question is open about a credit note that may take it back.
    pub(crate) may_be_credited: bool,
    /// A question is open about money that came in and may pay it.
    pub(crate) may_be_paid: bool,
    /// A question is open about money that went out and may have gone back to who paid it.
    pub(crate) may_be_returned: bool,
}

impl Open<'_> {
    pub(crate) fn currency(&self) -> Currency {
        self.invoice.currency
    }

    /// What is left to be paid; below nothing, what was paid too much.
    pub(crate) fn rest(&self) -> i64 {
        self.payable.saturating_sub(self.paid)
    }

    /// Money came in or went out that it may be for.
    pub(crate) fn put_in_question(&mut self, goes_out: bool) {
        let asked = if goes_out { &mut self.may_be_returned } else { &mut self.may_be_paid };
        *asked = true;
    }

    /// Is a question open that it may be the answer to?
    pub(crate) fn is_in_question(&self) -> bool {
        self.may_be_credited || self.may_be_paid || self.may_be_returned
    }
}

/// Our invoices, by deal, and the numbers they go by.
pub(crate) struct OpenItems<'a> {
    /// Those of quotes first, in the order of deals.
    pub(crate) items: Vec<Open<'a>>,
    of_deals: usize,
    by_number: Numbers,
}

/// What a text names.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Named {
    Invoice(u32),
    Deal(u32),
}

impl<'a> OpenItems<'a> {
    pub(crate) fn new(loaded: &Loaded<'a>, papers: &Papers<'a>, terms: &Terms) -> Self {
        let mut items: Vec<Open<'a>> = Vec::with_capacity(loaded.invoices.len());
        let open = |invoice: &'a Invoice, deal: Option<u32>, standing| {
            let days = Days::new(u64::from(terms.payment_days));
            let party = loaded.firms.of_trader(&invoice.buyer).map_or_else(
                || invoice.buyer.vat_id.clone().unwrap_or_else(|| Arc::clone(&invoice.buyer.name)),
                Arc::clone,
            );
            Open {
                invoice,
                deal,
                party,
                due: invoice
                    .due
                    .unwrap_or_else(|| invoice.issued.checked_add_days(days).unwrap_or(invoice.issued)),
                asked: invoice.issued,
                payable: match standing {
                    Standing::TakenBack => 0,
                    _ => signed(invoice, invoice.gross_minor),
                },
                paid: 0,
                standing,
                may_be_credited: deal.is_some_and(|deal| papers.in_question.contains(&(deal, 0))),
                may_be_paid: false,
                may_be_returned: false,
            }
        };
        for of in &papers.of_sales {
            if let (0, Written::Invoice(invoice)) = (of.sale, of.written) {
                items.push(open(invoice, Some(of.deal), of.standing));
            }
        }
        let of_deals = items.len();
        for of_deal in items.chunk_by_mut(|a, b| a.deal == b.deal) {
            offset(of_deal);
        }
        for one in &papers.unsold {
            if one.seller.is_none_or(|seller| **seller != *WORKSHOP) {
                continue;
            }
            let first = items.len();
            for written in one.papers() {
                if let Written::Invoice(invoice) = written {
                    items.push(open(invoice, None, one.standing()));
                }
            }
            offset(items.get_mut(first..).unwrap_or_default());
        }
        let asked_for = items.iter().map(|item| item.invoice.payment_reference.as_deref());
        let asked_for = asked_for.zip(0..).filter_map(|(text, place)| Some((text?, place)));
        // A creditor reference is asked for by the number that it is made of.
        let asked_for: Vec<(Cow<'_, str>, u32)> = asked_for
            .map(|(text, place)| (number_of_creditor_reference(text).map_or(text.into(), Cow::from), place))
            .collect();
        let own = items.iter().map(|item| &*item.invoice.number).zip(0..);
        let by_number = Numbers::new(own.chain(asked_for.iter().map(|(text, place)| (&**text, *place))));
        Self { items, of_deals, by_number }
    }

    /// The invoice of a number, however it is written.
    pub(crate) fn numbered(&self, number: &str) -> Option<u32> {
        self.by_number.get(number)
    }

    /// Forgets the numbers, when all that names one was read.
    pub(crate) fn without_numbers(mut self) -> Self {
        self.by_number = Numbers::default();
        self
    }

    pub(crate) fn get(&self, place: u32) -> Option<&Open<'a>> {
        self.items.get(usize::try_from(place).ok()?)
    }

    pub(crate) fn get_mut(&mut self, place: u32) -> Option<&mut Open<'a>> {
        self.items.get_mut(usize::try_from(place).ok()?)
    }

    /// What a text names, each once: invoices of ours and quotes.
    pub(crate) fn named(&self, text: &str, deals: &Numbers, words: &mut Words, into: &mut Vec<Named>) {
        let invoice = |run: &str| self.by_number.of_run(run).map(Named::Invoice);
        let known = |run: &str| invoice(run).or_else(|| deals.of_run(run).map(Named::Deal));
        if let Some(one) = number_of_creditor_reference(text).and_then(|number| known(&number)) {
            into.push(one);
            return;
        }
        words.read(text);
        words.names(known, |one| into.push(one));
    }

    /// The invoices of a quote, without second ones and those taken back.
    pub(crate) fn of_deal(&self, deal: u32) -> impl Iterator<Item = u32> + '_ {
        let of_deals = self.items.get(..self.of_deals).unwrap_or_default();
        let from = of_deals.partition_point(|item| item.deal < Some(deal));
        let items =
            of_deals.iter().enumerate().skip(from).take_while(move |(_, item)| item.deal == Some(deal));
        let counts = |item: &Open<'_>| item.standing == Standing::Kept && signed(item.invoice, 1) > 0;
        items.filter(move |(_, item)| counts(item)).filter_map(|(place, _)| u32::try_from(place).ok())
    }
}

/// Credit notes that take back a part lessen what is to be paid on invoices of their currency: first on the one that
/// each names, then on the others in their order. What they take back beyond that is owed.
fn offset<'a>(of_deal: &mut [Open<'a>]) {
    let counts = |item: &Open<'a>| item.standing == Standing::Kept;
    let credits = (0..).zip(&*of_deal).filter(|(_, item)| counts(item) && item.payable < 0);
    let credits: Vec<(usize, &'a Invoice)> = credits.map(|(place, item)| (place, item.invoice)).collect();
    if credits.is_empty() {
        return;
    }
    let invoices = (0..).zip(&*of_deal).filter(|(_, item)| counts(item) && item.payable > 0);
    let invoices: Vec<(usize, &'a Invoice)> = invoices.map(|(place, item)| (place, item.invoice)).collect();
    let mut by_number = ByNumber::default();
    invoices.iter().for_each(|(place, invoice)| by_number.insert("", &invoice.number, *place));
    for (credit, paper) in &credits {
        let named = paper.preceding.as_deref().and_then(|number| by_number.get("", number));
        if let Some(invoice) = named {
            lessen(of_deal, invoice, *credit);
        }
    }
    let mut left: HashMap<Currency, Vec<usize>> = HashMap::new();
    credits.iter().rev().for_each(|(credit, paper)| left.entry(paper.currency).or_default().push(*credit));
    for (invoice, paper) in invoices {
        let Some(left) = left.get_mut(&paper.currency) else { continue };
        while let Some(&credit) = left.last()
            && lessen(of_deal, invoice, credit) == 0
        {
            left.pop();
        }
    }
}

/// Takes what is left of a credit note off an invoice of its currency, and answers what is left of it then.
fn lessen(of_deal: &mut [Open<'_>], invoice: usize, credit: usize) -> i64 {
    let Some(by) = of_deal.get(credit) else { return 0 };
    let (paper, left) = (by.invoice, by.payable.saturating_neg());
    let of = of_deal.get_mut(invoice).filter(|of| of.currency() == paper.currency && left > 0);
    let Some(of) = of else { return left };
    let taken = left.min(of.payable);
    of.payable = of.payable.saturating_sub(taken);
    of.asked = of.asked.max(paper.issued);
    let left = left.saturating_sub(taken);
    if let Some(by) = of_deal.get_mut(credit) {
        by.payable = left.saturating_neg();
    }
    left
}
