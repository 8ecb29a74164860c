//! Our invoices, and what is still to be paid on each.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::money::Currency;

use super::credited::Invoiced;
use super::numbers::{Numbers, Reader};
use super::papers::Papers;
use super::written::{Standing, Written, signed};
use crate::firm::WORKSHOP;
use crate::input::Invoice;
use crate::known_firms::KnownFirms;
use crate::loaded::Loaded;
use crate::reference::number_of_creditor_reference;
use crate::sorted::run_of;
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

    /// Is what is left of it written off: no more than rounding may be, of what something was paid of?
    pub(crate) fn is_written_off(&self, terms: &Terms) -> bool {
        let left = self.rest().saturating_abs();
        left != 0 && left <= terms.rounding_minor && self.paid != 0
    }

    /// Does it take something back?
    pub(crate) fn is_credit(&self) -> bool {
        Written::Invoice(self.invoice).is_credit()
    }

    /// Is what is left of it to be paid, or to go back? Of a second one nothing is to be paid. What was taken back asks for
    /// nothing, so that something is left only of what went back of it and did not come in so far.
    pub(crate) fn is_owed(&self) -> bool {
        self.standing != Standing::Double || self.rest() < 0
    }

    /// Is it an invoice that counts?
    pub(crate) fn is_invoiced(&self) -> bool {
        self.standing == Standing::Kept && !self.is_credit()
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

/// What a credit note took off an invoice of its party and currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Taken {
    /// Its place among the open items.
    pub(crate) credit: u32,
    /// The invoice's.
    pub(crate) invoice: u32,
    /// With VAT; above nothing.
    pub(crate) minor: i64,
}

/// Our invoices, by deal, and the numbers they go by.
pub(crate) struct OpenItems<'a> {
    /// Those of quotes first, in the order of deals.
    pub(crate) items: Vec<Open<'a>>,
    /// Where those of each deal begin and, at last, where those of deals end.
    begins: Vec<u32>,
    /// What credit notes took off which invoices, one credit note's after the other's.
    taken: Vec<Taken>,
    by_number: Numbers,
}

/// What a text names, or money is for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum For {
    /// One of our invoices or credit notes, by its place among the open items.
    Open(u32),
    /// A quote, before there is an invoice.
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
        let mut taken = Vec::new();
        let mut first = 0;
        for of_deal in items.chunk_by_mut(|a, b| a.deal == b.deal) {
            let length = of_deal.len();
            Offsets { papers: of_deal, first, taken: &mut taken }.offset(&loaded.firms);
            first = first.saturating_add(length);
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
            let papers = items.get_mut(first..).unwrap_or_default();
            Offsets { papers, first, taken: &mut taken }.offset(&loaded.firms);
        }
        taken.sort_unstable();
        // A credit note that has the reference of its invoice asks for nothing.
        let asked_for = (0..).zip(&items).filter(|(_, item)| !item.is_credit());
        let asked_for =
            asked_for.filter_map(|(place, item)| Some((item.invoice.payment_reference.as_deref()?, place)));
        // A creditor reference is asked for by the number that it is made of.
        let asked_for: Vec<(Cow<'_, str>, u32)> = asked_for
            .map(|(text, place)| (number_of_creditor_reference(text).map_or(text.into(), Cow::from), place))
            .collect();
        let own = items.iter().map(|item| &*item.invoice.number).zip(0..);
        let by_number = Numbers::new(own.chain(asked_for.iter().map(|(text, place)| (&**text, *place))));
        Self { items, begins, taken, by_number }
    }

    /// What credit notes took off which invoices.
    pub(super) fn taken(&self) -> &[Taken] {
        &self.taken
    }

    /// What a credit note took off invoices.
    pub(crate) fn taken_by(&self, credit: u32) -> &[Taken] {
        run_of(&self.taken, |one| one.credit.cmp(&credit))
    }

    /// The invoice of a number, however it is written; of a credit note all of which was taken off one invoice, that.
    pub(crate) fn numbered(&self, number: &str) -> Option<u32> {
        let place = self.by_number.get(number)?;
        match self.taken_by(place) {
            [one] if self.get(place).is_some_and(|credit| credit.payable == 0) => Some(one.invoice),
            _ => Some(place),
        }
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

    /// What a text names: invoices of ours and quotes. A credit note stands for the invoices that it was taken off as well,
    /// and for itself as far as something is left of it.
    pub(crate) fn named(&self, text: &str, deals: &Numbers, reader: &mut Reader, into: &mut Vec<For>) {
        let Reader { words, quotes, invoices } = reader;
        let invoice = |run: &str| self.by_number.of_run(run, invoices).map(For::Open);
        let known = |run: &str| invoice(run).or_else(|| deals.of_run(run, quotes).map(For::Deal));
        let mut note = |one| {
            let For::Open(place) = one else { return into.push(one) };
            let taken = self.taken_by(place);
            into.extend(taken.iter().map(|one| For::Open(one.invoice)));
            if taken.is_empty() || self.get(place).is_some_and(|credit| credit.rest() != 0) {
                into.push(one);
            }
        };
        if let Some(one) = number_of_creditor_reference(text).and_then(|number| known(&number)) {
            return note(one);
        }
        words.read(text);
        words.names(known, note);
    }

    /// The invoices of a quote, without second ones and those taken back.
    pub(crate) fn of_deal(&self, deal: u32) -> impl Iterator<Item = u32> + '_ {
        self.papers_of(deal, Open::is_invoiced)
    }

    /// The papers of a quote of which money may go back: its invoices, also those taken back, and credit notes of which
    /// something is left.
    pub(crate) fn refundable(&self, deal: u32) -> impl Iterator<Item = u32> + '_ {
        self.papers_of(deal, |item| match item.standing {
            Standing::Kept => !item.is_credit() || item.payable != 0,
            Standing::TakenBack => !item.is_credit(),
            Standing::Double | Standing::ToAnother => false,
        })
    }

    fn papers_of(&self, deal: u32, counts: fn(&Open<'a>) -> bool) -> impl Iterator<Item = u32> + '_ {
        let begin = |deal: u32| {
            let begin = usize::try_from(deal).ok().and_then(|deal| self.begins.get(deal));
            begin.copied().unwrap_or_default()
        };
        (begin(deal)..begin(deal.saturating_add(1))).filter(move |place| self.get(*place).is_some_and(counts))
    }
}

/// Papers that go together: those of a deal, or one of no deal and what takes it back.
struct Offsets<'o, 'a> {
    papers: &'o mut [Open<'a>],
    /// The place of the first of them among the open items.
    first: usize,
    taken: &'o mut Vec<Taken>,
}

impl<'a> Offsets<'_, 'a> {
    /// Credit notes that take back a part lessen what is to be paid on invoices of their party and currency: first on the
    /// one that each takes back, then on the others in their order. What they take back beyond that is owed.
    fn offset(&mut self, firms: &KnownFirms<'a>) {
        let credits = (0..).zip(&*self.papers).filter(|(_, item)| item.is_credit());
        let credits: Vec<(usize, Written<'a>)> =
            credits.map(|(place, item)| (place, Written::Invoice(item.invoice))).collect();
        if credits.is_empty() {
            return;
        }
        let invoiced = Invoiced::among(self.papers.iter().map(|item| Written::Invoice(item.invoice)), firms);
        let mut left: HashMap<(Currency, &'a Arc<str>), Vec<usize>> = HashMap::new();
        let (mut whole, mut alike) = (Vec::new(), Vec::new());
        for (credit, paper) in credits {
            let mut invoices = invoiced.taken_back_by(paper);
            let standing = |place: usize| self.papers.get(place).map(|of| of.standing);
            if standing(credit) == Some(Standing::TakenBack) {
                invoices.retain(|invoice| standing(*invoice) == Some(Standing::TakenBack));
            }
            let invoice = invoices.first().copied();
            let takes_back = invoice.and_then(|invoice| self.place(invoice));
            let Some(by) = self.papers.get_mut(credit).filter(|by| by.standing != Standing::ToAnother) else {
                continue;
            };
            by.takes_back = takes_back;
            match (by.standing, invoice) {
                (Standing::TakenBack, Some(_)) => whole.push((credit, invoices)),
                (Standing::TakenBack, None) => alike.push(credit),
                _ => {
                    left.entry((paper.currency(), by.party)).or_default().push(credit);
                    for invoice in invoices {
                        self.lessen(invoice, credit);
                    }
                }
            }
        }
        // One that names fewer leaves the others to those that name more.
        whole.sort_by_key(|(_, invoices)| invoices.len());
        let mut named = HashMap::new();
        for (credit, invoices) in whole {
            self.take_back(credit, &invoices, &mut named);
        }
        if !alike.is_empty() {
            self.take_back_alike(&alike, &named);
        }
        left.values_mut().for_each(|credits| credits.reverse());
        for invoice in 0..self.papers.len() {
            let of = self.papers.get(invoice).map(|of| (of.currency(), of.party));
            let Some(left) = of.and_then(|of| left.get_mut(&of)) else { continue };
            while let Some(&credit) = left.last()
                && self.lessen(invoice, credit) == 0
            {
                left.pop();
            }
        }
    }

    fn place(&self, own: usize) -> Option<u32> {
        u32::try_from(self.first.saturating_add(own)).ok()
    }

    fn note(&mut self, credit: usize, invoice: usize, minor: i64) {
        if let Some(issued) = self.papers.get(credit).map(|by| by.invoice.issued)
            && let Some(of) = self.papers.get_mut(invoice)
        {
            of.asked = of.asked.max(issued);
        }
        if let (Some(credit), Some(invoice)) = (self.place(credit), self.place(invoice))
            && minor > 0
        {
            self.taken.push(Taken { credit, invoice, minor });
        }
    }

    /// A credit note takes of the invoices that it takes back, one after the other, what is left of each, and of the last all
    /// that is left of itself.
    fn take_back(&mut self, credit: usize, invoices: &[usize], left_of: &mut HashMap<usize, i64>) {
        let gross = |papers: &[Open<'a>], place: usize| {
            papers.get(place).map_or(0, |of| Written::Invoice(of.invoice).gross())
        };
        let mut left = gross(self.papers, credit).saturating_neg();
        for (place, &invoice) in (1..).zip(invoices) {
            let of = left_of.entry(invoice).or_insert_with(|| gross(self.papers, invoice));
            let taken = if place == invoices.len() { left } else { left.min(*of) };
            *of = of.saturating_sub(taken);
            left = left.saturating_sub(taken);
            self.note(credit, invoice, taken);
        }
    }

    /// Credit notes that name none of several invoices of their amount each take back the last that is left and was
    /// written by their day, so that later papers change nothing of it.
    fn take_back_alike(&mut self, alike: &[usize], named: &HashMap<usize, i64>) {
        let key = |one: &Open<'a>, gross: i64| (one.currency(), one.party, gross);
        let mut invoices: HashMap<(Currency, &'a Arc<str>, i64), Vec<usize>> = HashMap::new();
        for (own, of) in self.papers.iter().enumerate() {
            if of.standing == Standing::TakenBack && !of.is_credit() && !named.contains_key(&own) {
                let gross = Written::Invoice(of.invoice).gross();
                invoices.entry(key(of, gross)).or_default().push(own);
            }
        }
        for &credit in alike {
            let Some(by) = self.papers.get(credit) else { continue };
            let (gross, issued) = (whole(Written::Invoice(by.invoice)), by.invoice.issued);
            let Some(left) = invoices.get_mut(&key(by, gross)) else { continue };
            let is_before = |own: &usize| self.papers.get(*own).is_some_and(|of| of.invoice.issued <= issued);
            let Some(last) = left.iter().rposition(is_before) else { continue };
            let invoice = left.remove(last);
            let takes_back = self.place(invoice);
            if let Some(by) = self.papers.get_mut(credit) {
                by.takes_back = takes_back;
            }
            self.note(credit, invoice, gross);
        }
    }

    /// Takes what is left of a credit note off an invoice of its party and currency, and answers what is left of it then.
    fn lessen(&mut self, invoice: usize, credit: usize) -> i64 {
        let Some(by) = self.papers.get(credit) else { return 0 };
        let left = by.payable.saturating_neg();
        let counts = |of: &&mut Open<'_>| of.standing == Standing::Kept && of.payable > 0 && left > 0;
        let Some(of) = self.papers.get_mut(invoice).filter(counts) else { return left };
        let taken = left.min(of.payable);
        of.payable = of.payable.saturating_sub(taken);
        let left = left.saturating_sub(taken);
        if let Some(by) = self.papers.get_mut(credit) {
            by.payable = left.saturating_neg();
        }
        self.note(credit, invoice, taken);
        left
    }
}

/// What a credit note takes back, with VAT.
fn whole(credit: Written<'_>) -> i64 {
    credit.gross().saturating_neg()
}
