//! Our invoices, and what is still to be paid on each.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::money::Currency;

use super::credited::Invoiced;
use super::numbers::Numbers;
use super::papers::Papers;
use super::written::{Standing, Written, signed};
use crate::firm::WORKSHOP;
use crate::input::{Invoice, InvoiceKind};
use crate::known_firms::KnownFirms;
use crate::loaded::Loaded;
use crate::reference::{Words, number_of_creditor_reference};
use crate::terms::Terms;

/// One of our invoices or credit notes.
pub(crate) struct Open<'a> {
    pub(crate) invoice: &'a Invoice,
    /// The quote, where one is known.
    pub(crate) deal: Option<u32>,
    /// Who owes it.
    pub(crate) party: &'a Arc<str>,
    /// Of every amount; kept here, for the invoice itself lies elsewhere.
    currency: Currency,
    pub(crate) due: NaiveDate,
    /// The day of the last paper that says what is to be paid: its own, or that of a credit note.
    pub(crate) asked: NaiveDate,
    /// What was asked for, less what credit notes took back; below nothing, what we owe.
    pub(crate) payable: i64,
    /// What was paid of it.
    pub(crate) paid: i64,
    pub(crate) standing: Standing,
    /// Of a credit note, the open item that it takes back, where one is known.
    pub(crate) takes_back: Option<u32>,
    /// A question is open about a credit note that may take it back.
    pub(crate) may_be_credited: bool,
    /// A question is open about money that came in and may pay it.
    pub(crate) may_be_paid: bool,
    /// A question is open about money that went out and may have gone back to who paid it.
    pub(crate) may_be_returned: bool,
}

impl Open<'_> {
    pub(crate) const fn currency(&self) -> Currency {
        self.currency
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
    /// Where those of each deal begin and, at last, where those of deals end.
    begins: Vec<u32>,
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
            Open {
                invoice,
                deal,
                party: loaded.firms.party(&invoice.buyer),
                currency: invoice.currency,
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
                takes_back: None,
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
        let mut begins = Vec::with_capacity(loaded.deals.len().saturating_add(1));
        for (place, item) in (0_u32..).zip(&items) {
            let of_deal = item.deal.and_then(|deal| usize::try_from(deal).ok()).unwrap_or_default();
            if of_deal >= begins.len() {
                begins.resize(of_deal.saturating_add(1), place);
            }
        }
        begins.resize(loaded.deals.len().saturating_add(1), u32::try_from(items.len()).unwrap_or(u32::MAX));
        let mut first = 0;
        for of_deal in items.chunk_by_mut(|a, b| a.deal == b.deal) {
            offset(of_deal, first, &loaded.firms);
            first = first.saturating_add(of_deal.len());
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
            offset(items.get_mut(first..).unwrap_or_default(), first, &loaded.firms);
        }
        let asked_for = items.iter().map(|item| item.invoice.payment_reference.as_deref());
        let asked_for = asked_for.zip(0..).filter_map(|(text, place)| Some((text?, place)));
        // A creditor reference is asked for by the number that it is made of.
        let asked_for: Vec<(Cow<'_, str>, u32)> = asked_for
            .map(|(text, place)| (number_of_creditor_reference(text).map_or(text.into(), Cow::from), place))
            .collect();
        let own = items.iter().map(|item| &*item.invoice.number).zip(0..);
        let by_number = Numbers::new(own.chain(asked_for.iter().map(|(text, place)| (&**text, *place))));
        Self { items, begins, by_number }
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
        let begin = |deal: u32| {
            let begin = usize::try_from(deal).ok().and_then(|deal| self.begins.get(deal));
            begin.copied().unwrap_or_default()
        };
        let counts = |item: &Open<'_>| item.standing == Standing::Kept && signed(item.invoice, 1) > 0;
        (begin(deal)..begin(deal.saturating_add(1))).filter(move |place| self.get(*place).is_some_and(counts))
    }
}

/// Credit notes that take back a part lessen what is to be paid on invoices of their party and currency: first on the one
/// that each takes back, then on the others in their order. What they take back beyond that is owed.
fn offset<'a>(of_deal: &mut [Open<'a>], first: usize, firms: &KnownFirms<'a>) {
    let takes_back = |item: &Open<'a>| item.invoice.kind == InvoiceKind::CreditNote || item.payable < 0;
    let credits = (0..).zip(&*of_deal).filter(|(_, item)| takes_back(item));
    let credits: Vec<(usize, Written<'a>)> =
        credits.map(|(place, item)| (place, Written::Invoice(item.invoice))).collect();
    if credits.is_empty() {
        return;
    }
    let invoiced = Invoiced::among(of_deal.iter().map(|item| Written::Invoice(item.invoice)), firms);
    let mut left: HashMap<(Currency, &'a Arc<str>), Vec<usize>> = HashMap::new();
    for (credit, paper) in credits {
        let Some(by) = of_deal.get_mut(credit).filter(|by| by.standing != Standing::ToAnother) else {
            continue;
        };
        let invoice = invoiced.taken_back_by(paper);
        by.takes_back = invoice.and_then(|invoice| u32::try_from(first.saturating_add(invoice)).ok());
        if by.standing == Standing::Kept && by.payable < 0 {
            left.entry((paper.currency(), by.party)).or_default().push(credit);
            if let Some(invoice) = invoice {
                lessen(of_deal, invoice, credit);
            }
        }
    }
    left.values_mut().for_each(|credits| credits.reverse());
    for invoice in 0..of_deal.len() {
        let of = of_deal.get(invoice).map(|of| (of.currency, of.party));
        let Some(left) = of.and_then(|of| left.get_mut(&of)) else { continue };
        while let Some(&credit) = left.last()
            && lessen(of_deal, invoice, credit) == 0
        {
            left.pop();
        }
    }
}

/// Takes what is left of a credit note off an invoice of its party and currency, and answers what is left of it then.
fn lessen(of_deal: &mut [Open<'_>], invoice: usize, credit: usize) -> i64 {
    let Some(by) = of_deal.get(credit) else { return 0 };
    let (paper, left, party) = (by.invoice, by.payable.saturating_neg(), by.party);
    let counts = |of: &&mut Open<'_>| {
        let is_its = of.party == party && of.currency == paper.currency;
        of.standing == Standing::Kept && of.payable > 0 && is_its && left > 0
    };
    let Some(of) = of_deal.get_mut(invoice).filter(counts) else { return left };
    let taken = left.min(of.payable);
    of.payable = of.payable.saturating_sub(taken);
    of.asked = of.asked.max(paper.issued);
    let left = left.saturating_sub(taken);
    if let Some(by) = of_deal.get_mut(credit) {
        by.payable = left.saturating_neg();
    }
    left
}
