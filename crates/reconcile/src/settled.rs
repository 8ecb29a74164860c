//! What settled the differences that months were closed with.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use chrono::NaiveDate;

use crate::carried::Gone;
use crate::changed::How;
use crate::difference::{Document, Paper, Reason};
use crate::firm::WORKSHOP;
use crate::input::{Invoice, InvoiceKind, Place, Trader};
use crate::loaded::Loaded;
use crate::matching::{Matching, Open, Standing, Written, deal_of, payment_document};
use crate::month::Month;
use crate::period::{Found, Settled};
use crate::reference::normal;
use crate::restated::{Places, Restated};
use crate::terms::{Decision, Part};
use crate::transit::Transit;

/// A paper that is of an open day, or is not what a closing has of it.
struct Recent {
    day: NaiveDate,
    document: Document,
}

/// Recent papers, by what they bear on.
#[derive(Default)]
struct Evidence {
    papers: Vec<Recent>,
    /// By quote, in its normal form.
    of_quotes: HashMap<String, Vec<usize>>,
    /// By the number of another paper.
    of_papers: HashMap<Box<str>, Vec<usize>>,
}

impl Evidence {
    fn bears<'n>(
        &mut self,
        day: NaiveDate,
        document: Document,
        quotes: impl IntoIterator<Item = &'n str>,
        papers: impl IntoIterator<Item = &'n str>,
    ) {
        let place = self.papers.len();
        self.papers.push(Recent { day, document });
        for quote in quotes {
            self.of_quotes.entry(normal(quote)).or_default().push(place);
        }
        for number in papers {
            self.of_papers.entry(number.into()).or_default().push(place);
        }
    }

    /// The recent papers that can have settled a difference.
    fn of<'e>(&'e self, found: &'e Found) -> impl Iterator<Item = &'e Recent> {
        let one = &found.difference;
        let of_quote = one.quote.as_deref().and_then(|quote| self.of_quotes.get(&normal(quote)));
        let of_papers = one.documents.iter().filter_map(|document| self.of_papers.get(&document.number));
        let places = of_quote.into_iter().chain(of_papers).flatten();
        let papers = places.filter_map(|place| self.papers.get(*place));
        papers.filter(|recent| settles(recent.document.paper, one.reason))
    }
}

/// Can a paper of that kind settle a difference for that reason? Every reason stands here, so that none is settled by
/// nothing because nobody thought of it.
const fn settles(paper: Paper, reason: Reason) -> bool {
    use Paper::{CourierBill, CreditNote, Invoice, Payment, Quote, WorkDone};
    match reason {
        Reason::ChargedMore
        | Reason::ChargedLess
        | Reason::ShareBeyond
        | Reason::ShareBelow
        | Reason::AgreementDate
        | Reason::VatCategory
        | Reason::VatRate
        | Reason::VatAmount
        | Reason::InvoiceMissing
        | Reason::InvoiceDouble
        | Reason::InvoiceReversed
        | Reason::InvoiceUnknown
        | Reason::InvoiceOtherParty
        | Reason::CreditOtherParty => matches!(paper, Quote | Invoice | CreditNote),
        Reason::Unpaid
        | Reason::Overpaid
        | Reason::PaymentUnknown
        | Reason::PaidUnknown
        | Reason::InTransit
        | Reason::Currency => matches!(paper, Quote | Invoice | CreditNote | Payment),
        Reason::Rounding => matches!(paper, Quote | Invoice | CreditNote | Payment | CourierBill),
        Reason::Courier | Reason::CourierUnknown => matches!(paper, Quote | CourierBill),
        Reason::CreditForOurWork => matches!(paper, Quote | CourierBill | WorkDone),
    }
}

fn document(paper: Paper, number: &str, place: &Place) -> Document {
    Document { paper, number: number.into(), place: Some(place.clone()) }
}

/// Differences that are none any more or of another amount, each with the papers that settled it: those of open days and
/// those that are not what they were, as far as they bear on its quote or its papers; else the decisions about its papers;
/// else the payments that clear it. What took the place of one of another amount counts for the same day.
pub(crate) fn settled(
    gone: Vec<Gone>,
    loaded: &Loaded<'_>,
    (matching, transit): (&Matching<'_, '_>, &Transit),
    (restated, places): (&[Restated], &Places),
    decisions: &[Decision],
    open: Month,
) -> Vec<(Settled, Option<Found>)> {
    if gone.is_empty() {
        return Vec::new();
    }
    let begins = open.first_day();
    let (evidence, before) = evidence(&gone, loaded, (matching, transit), (restated, places), begins);
    let settled = gone.into_iter().map(|Gone { found, now }| {
        let mut by: Vec<&Recent> = evidence.of(&found).collect();
        by.sort_by_key(|recent| (recent.day, &recent.document));
        by.dedup_by_key(|recent| &recent.document);
        let posted = by.last().map_or(begins, |last| last.day.max(begins));
        let mut by: Vec<Document> = by.into_iter().map(|recent| recent.document.clone()).collect();
        if by.is_empty() {
            by = decisions.iter().filter_map(|decision| decided(decision, &found)).collect();
            if by.is_empty() {
                // An answer about another paper left it to what was there.
                let is_new = |document: &Document| !found.difference.documents.contains(document);
                by = before.of(&found).map(|one| one.document.clone()).filter(is_new).collect();
            }
            by.sort_unstable();
            by.dedup();
        }
        let now_minor = now.as_ref().map(|now| now.amount_minor);
        (Settled { posted, found, by, now_minor }, now.map(|difference| Found { posted, difference }))
    });
    settled.collect()
}

fn evidence(
    gone: &[Gone],
    loaded: &Loaded<'_>,
    (matching, transit): (&Matching<'_, '_>, &Transit),
    (restated, places): (&[Restated], &Places),
    begins: NaiveDate,
) -> (Evidence, Evidence) {
    let (mut evidence, mut before) = (Evidence::default(), Evidence::default());
    let to_another = matching.open.items.iter().filter(|item| item.standing == Standing::ToAnother);
    let to_another: HashSet<&str> = to_another.map(|item| &*item.invoice.number).collect();
    let restated_now = restated.iter().filter(|one| one.posted == begins);
    let (mut payments, mut invoices) = (HashSet::new(), HashSet::new());
    for one in restated_now {
        let number = &*one.is.number;
        match (one.is.paper, one.how) {
            (Paper::Payment, How::Late | How::Different) => drop(payments.insert(number)),
            (Paper::Invoice | Paper::CreditNote, _) => drop(invoices.insert(number)),
            _ => {}
        }
        let quotes = one.was.as_ref().and_then(|was| was.of()).into_iter().chain(one.is.of());
        let quotes = quotes.filter(|_| one.is.paper != Paper::CreditNote || !to_another.contains(number));
        let place = places.get(&(one.is.paper, Arc::clone(&one.is.seller), number.into()));
        let document = Document { paper: one.is.paper, number: number.into(), place: place.cloned() };
        // Differences name a courier's bill, and closings the consignment on it.
        let bills = number.match_indices('/').filter_map(|(end, _)| number.get(..end));
        let bills = bills.filter(|_| one.is.paper == Paper::CourierBill);
        evidence.bears(one.is.day, document, quotes, bills.chain([number]));
    }
    let asked: HashSet<&str> =
        gone.iter().flat_map(|gone| &gone.found.difference.documents).map(|one| &*one.number).collect();
    for (first, later) in &matching.returned {
        let Some((first, later)) = matching.payment(*first).zip(matching.payment(*later)) else { continue };
        if later.booked >= begins || payments.contains(&*later.name()) {
            evidence.bears(later.booked, payment_document(later), None, [&*first.name()]);
        }
    }
    for (first, later) in &transit.pairs {
        let Some((first, later)) = matching.payment(*first).zip(matching.payment(*later)) else { continue };
        for (one, other) in [(first, later), (later, first)] {
            if one.booked >= begins || payments.contains(&*one.name()) {
                evidence.bears(one.booked, payment_document(one), None, [&*other.name()]);
            }
        }
    }
    for (place, received, _, parts) in matching.with_parts() {
        let name = received.name();
        let is_recent = received.booked >= begins || payments.contains(&*name);
        for held in matching.held_of(place).iter().filter(|_| is_recent) {
            let quote = deal_of(&loaded.deals, held.deal).map(|deal| &*deal.number);
            evidence.bears(received.booked, payment_document(received), quote, None);
        }
        for item in parts.iter().filter_map(|part| matching.open.get(part.open)) {
            let invoice = item.invoice;
            let quote = item.deal.and_then(|deal| deal_of(&loaded.deals, deal)).map(|deal| &*deal.number);
            let is_asked = || asked.contains(&*name) || asked.contains(&*invoice.number);
            if is_recent {
                evidence.bears(received.booked, payment_document(received), quote, [&*invoice.number]);
            } else if is_asked() {
                let (payment, invoiced) = (payment_document(received), Written::Invoice(invoice).document());
                before.bears(received.booked, payment, None, [&*invoice.number]);
                before.bears(invoice.issued, invoiced, None, [&*name]);
            }
            // What the payment is for was not there yet.
            if asked.contains(&*name) && (invoice.issued >= begins || invoices.contains(&*invoice.number)) {
                evidence.bears(invoice.issued, Written::Invoice(invoice).document(), None, [&*name]);
            }
        }
    }
    // A credit note bears on what it takes back, however it spells that; one to another party on nothing of his.
    for item in matching.open.items.iter().filter(|item| item.standing != Standing::ToAnother) {
        let Open { invoice, deal, takes_back, .. } = item;
        if invoice.issued >= begins || invoices.contains(&*invoice.number) {
            let quote = deal.and_then(|deal| deal_of(&loaded.deals, deal)).map(|deal| &*deal.number);
            let takes_back = takes_back.and_then(|of| matching.open.get(of)).map(|of| &*of.invoice.number);
            evidence.bears(invoice.issued, Written::Invoice(invoice).document(), quote, takes_back);
        }
    }
    let is_ours = |seller: &Trader| loaded.firms.of_trader(seller).is_some_and(|firm| **firm == *WORKSHOP);
    for invoice in loaded.invoices.iter().filter(|invoice| invoice.issued >= begins) {
        if invoice.kind == InvoiceKind::CreditNote && is_ours(&invoice.seller) {
            continue;
        }
        let (paper, quotes) = (Written::Invoice(invoice), texts(invoice));
        evidence.bears(invoice.issued, paper.document(), quotes, paper.all_preceding());
    }
    for charge in loaded.charges.iter().filter(|charge| charge.issued >= begins) {
        let paper = document(Paper::Invoice, &charge.invoice, &charge.place);
        evidence.bears(charge.issued, paper, [&*charge.quote], None);
    }
    for bill in loaded.courier_bills.iter().filter(|bill| bill.carried >= begins) {
        let paper = document(Paper::CourierBill, &loaded.name_of(bill), &bill.place);
        evidence.bears(bill.carried, paper, [&*bill.quote], None);
    }
    // A paper was of nothing known while the quote that it names was not accepted.
    let mut naming: HashMap<String, Vec<&str>> = HashMap::new();
    let invoices = loaded.invoices.iter().flat_map(|one| texts(one).map(move |quote| (&*one.number, quote)));
    let charges = loaded.charges.iter().map(|one| (&*one.invoice, &*one.quote));
    let bills = loaded.courier_bills.iter().map(|one| (&*one.bill, &*one.quote));
    for (number, quote) in invoices.chain(charges).chain(bills).filter(|(number, _)| asked.contains(*number))
    {
        naming.entry(normal(quote)).or_default().push(number);
    }
    for deal in &loaded.deals {
        let day =
            deal.reversed_by(loaded.until).map_or(deal.accepted, |reversed| reversed.max(deal.accepted));
        if day >= begins {
            let paper = Document { paper: Paper::Quote, number: deal.number.clone(), place: None };
            let papers = naming.get(&normal(&deal.number)).into_iter().flatten().copied();
            evidence.bears(day, paper, [&*deal.number], papers);
        }
    }
    (evidence, before)
}

/// What an invoice may name its quote by.
fn texts(invoice: &Invoice) -> impl Iterator<Item = &str> {
    invoice.quote.iter().chain(invoice.references.iter()).map(|text| &**text)
}

/// The paper that a decision is about, where the decision stands, if it is behind the difference.
fn decided(decision: &Decision, found: &Found) -> Option<Document> {
    let is_behind = |number: &str| found.difference.documents.iter().any(|one| *one.number == *number);
    let (paper, number, is_of_it) = match decision {
        Decision::Payment { payment, towards, .. } => {
            let name = payment.to_string();
            let is_for = |part: &Part| is_behind(part.other_side().unwrap_or(&part.invoice));
            let is_of_it = is_behind(&name) || towards.iter().any(is_for);
            (Paper::Payment, name, is_of_it)
        }
        Decision::Invoice { number, .. } => (Paper::Invoice, number.to_string(), is_behind(number)),
    };
    is_of_it.then(|| document(paper, &number, decision.place()))
}
