//! Our invoices, and what is still to be paid on each.

use std::borrow::Cow;
use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::money::{Currency, Overflow};

use super::numbers::Numbers;
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
    /// A question is open about money that came in and may pay it, or about a credit note that may take it back.
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
        self.may_be_paid || self.may_be_returned
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
    pub(crate) fn new(loaded: &Loaded<'a>, papers: &Papers<'a>, terms: &Terms) -> Result<Self, Overflow> {
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
                may_be_paid: deal.is_some_and(|deal| papers.in_question.contains(&(deal, 0))),
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
            offset(of_deal)?;
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
            offset(items.get_mut(first..).unwrap_or_default())?;
        }
        let asked_for = items.iter().map(|item| item.invoice.payment_reference.as_deref());
        let asked_for = asked_for.zip(0..).filter_map(|(text, place)| Some((text?, place)));
        // A creditor reference is asked for by the number that it is made of.
        let asked_for: Vec<(Cow<'_, str>, u32)> = asked_for
            .map(|(text, place)| (number_of_creditor_reference(text).map_or(text.into(), Cow::from), place))
            .collect();
        let own = items.iter().map(|item| &*item.invoice.number).zip(0..);
        let by_number = Numbers::new(own.chain(asked_for.iter().map(|(text, place)| (&**text, *place))));
        Ok(Self { items, of_deals, by_number })
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

/// Credit notes that take back a part of an invoice lessen what is to be paid on it.
fn offset(of_deal: &mut [Open<'_>]) -> Result<(), Overflow> {
    let mut left = 0_i64;
    let kept = |item: &Open<'_>| item.standing == Standing::Kept;
    let last = of_deal.iter().filter(|item| kept(item)).map(|item| item.invoice.issued).max();
    for credit in of_deal.iter().filter(|item| kept(item) && item.payable < 0) {
        left = left.checked_add(credit.payable).ok_or(Overflow)?;
    }
    if left == 0 || !of_deal.iter().any(|item| kept(item) && item.payable > 0) {
        return Ok(());
    }
    for credit in of_deal.iter_mut().filter(|item| kept(item) && item.payable < 0) {
        credit.payable = 0;
    }
    for invoice in of_deal.iter_mut().filter(|item| kept(item) && item.payable > 0) {
        let taken = left.max(invoice.payable.saturating_neg());
        invoice.asked = last.map_or(invoice.asked, |last| invoice.asked.max(last));
        invoice.payable = invoice.payable.saturating_add(taken);
        left = left.saturating_sub(taken);
    }
    // What is taken back beyond all that was asked for is owed.
    if let Some(last) = of_deal.last_mut() {
        last.payable = last.payable.checked_add(left).ok_or(Overflow)?;
    }
    Ok(())
}
