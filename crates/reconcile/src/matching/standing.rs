//! Which papers of a sale count.

use std::collections::{BTreeMap, HashMap};

use evenfare_engine::money::Currency;

use super::credited::Invoiced;
use super::written::{OfSale, Standing, Written};
use crate::agreed::AgreedSale;
use crate::known_firms::KnownFirms;

/// Which papers of a sale count, in the order of days.
///
/// A credit note takes back the invoices it names, alone or with others that name the same; else the first of them that
/// is of its amount. One that names none takes back the last of its amount that was written by its day; none takes back
/// one to another party. Of the invoices left,
/// all count where together they are no more than was agreed; else one does, the first that is as
/// agreed or else the first, and the others are second ones. One to who bought goes before any to another.
pub(super) fn set_standing<'a>(papers: &mut [OfSale<'a>], sale: Option<&AgreedSale>, firms: &KnownFirms<'a>) {
    let agreed_net = sale.map_or(0, |sale| sale.net.minor());
    if papers.iter().any(|of| of.written.is_credit()) {
        let invoiced = Invoiced::among(papers.iter().map(|of| of.written), firms);
        for of in papers.iter_mut().filter(|of| of.written.is_credit()) {
            if invoiced.is_to_another(of.written, sale.map(|sale| &sale.buyer.id)) {
                of.standing = Standing::ToAnother;
            }
        }
        take_back(papers, &invoiced, agreed_net);
    }
    if !is_too_much(papers, agreed_net) {
        return;
    }
    let left: Vec<&mut OfSale<'_>> = papers.iter_mut().filter(|of| counts(of)).collect();
    let is_to_buyer = |of: &OfSale<'a>| sale.is_none_or(|sale| !of.written.is_to_another_than(sale, firms));
    let is_as_agreed = |of: &OfSale<'a>| of.written.net() == agreed_net;
    let right = left.iter().position(|of| is_to_buyer(of) && is_as_agreed(of));
    let right = right.or_else(|| left.iter().position(|of| is_to_buyer(of)));
    let right = right.or_else(|| left.iter().position(|of| is_as_agreed(of))).unwrap_or(0);
    for (place, of) in left.into_iter().enumerate() {
        if place != right {
            of.standing = Standing::Double;
        }
    }
}

/// Is it an invoice that nothing took back so far?
fn counts(of: &OfSale<'_>) -> bool {
    of.standing == Standing::Kept && !of.written.is_credit()
}

/// Are there several invoices, and more together than was agreed?
fn is_too_much(papers: &[OfSale<'_>], agreed_net: i64) -> bool {
    let left = || papers.iter().filter(|of| counts(of));
    let together = left().fold(0_i64, |sum, of| sum.saturating_add(of.written.net()));
    left().nth(1).is_some() && together > agreed_net
}

/// Notes the invoices that were taken back as a whole, by one credit note or by several that name the same.
fn take_back(papers: &mut [OfSale<'_>], invoiced: &Invoiced<'_, '_>, agreed_net: i64) {
    let mut by_gross: HashMap<(Currency, i64), Vec<usize>> = HashMap::new();
    for (place, of) in papers.iter().enumerate().filter(|(_, of)| !of.written.is_credit()) {
        by_gross.entry((of.written.currency(), of.written.gross())).or_default().push(place);
    }
    let credits = papers.iter().enumerate();
    let credits = credits.filter(|(_, of)| of.written.is_credit() && of.standing == Standing::Kept);
    let credits: Vec<(usize, Written<'_>)> = credits.map(|(place, of)| (place, of.written)).collect();
    // What is named first: what names no invoice takes one back that is left.
    let mut parts: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
    for (place, credit) in &credits {
        let invoices = invoiced.named(*credit);
        if is_whole(papers, &invoices, &[*place]) {
            set(papers, invoices.into_iter().chain([*place]), Standing::TakenBack);
        } else {
            parts.entry(invoices).or_default().push(*place);
        }
    }
    for (invoices, parts) in parts {
        if is_whole(papers, &invoices, &parts) {
            set(papers, invoices.into_iter().chain(parts), Standing::TakenBack);
        }
    }
    for (place, credit) in &credits {
        // Instalments have none in their place: what names several is taken off one after the other.
        if !is_too_much(papers, agreed_net) {
            break;
        }
        let mut invoices = invoiced.named(*credit).into_iter();
        if let Some(one) = invoices.find(|one| is_whole(papers, &[*one], &[*place])) {
            set(papers, [one, *place], Standing::TakenBack);
        }
    }
    for (place, credit) in credits.into_iter().filter(|(_, credit)| credit.preceding().is_none()) {
        let of_gross = by_gross.get_mut(&(credit.currency(), credit.gross().saturating_neg()));
        let invoice = of_gross.and_then(|places| {
            while places.pop_if(|last| !is_whole(papers, &[*last], &[place])).is_some() {}
            let last = invoiced.last_of(credit, places, |one| is_whole(papers, &[one], &[place]))?;
            Some(places.remove(last))
        });
        if let Some(invoice) = invoice {
            set(papers, [invoice, place], Standing::TakenBack);
        }
    }
}

/// Do these credit notes take back all of those invoices, which nothing took back so far?
fn is_whole(papers: &[OfSale<'_>], invoices: &[usize], credits: &[usize]) -> bool {
    let all = || invoices.iter().chain(credits).filter_map(|place| papers.get(*place));
    let Some(currency) = all().next().map(|of| of.written.currency()) else { return false };
    let sum = all().fold(0_i64, |sum, of| sum.saturating_add(of.written.gross()));
    let is_left = |of: &OfSale<'_>| of.standing == Standing::Kept && of.written.currency() == currency;
    !invoices.is_empty() && sum == 0 && all().all(is_left)
}

fn set(papers: &mut [OfSale<'_>], places: impl IntoIterator<Item = usize>, standing: Standing) {
    for place in places {
        if let Some(of) = papers.get_mut(place) {
            of.standing = standing;
        }
    }
}
