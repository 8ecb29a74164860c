//! Courier legs and works on site: who was to do them, and who did.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::category::Work;
use evenfare_engine::money::{Currency, Exact, Overflow};

use super::known::Known;
use crate::agreed::Agreed;
use crate::difference::{Difference, Document, Paper, Reason};
use crate::error::Unreconciled;
use crate::input::{CourierBill, Leg};
use crate::loaded::Loaded;
use crate::matching::{Numbers, Reader, deal_of};
use crate::rates::Rates;
use crate::terms::Terms;

/// Differences of couriers' bills, and of credits for work that the workshop did.
pub(crate) fn of_work(
    loaded: &Loaded<'_>,
    numbers: &Numbers,
    rates: &Rates,
    terms: &Terms,
    into: &mut Known,
) -> Result<(), Unreconciled> {
    let mut reader = Reader::default();
    let mut billed: Vec<(u32, Leg, &CourierBill)> = Vec::with_capacity(loaded.courier_bills.len());
    for &bill in &loaded.courier_bills {
        match numbers.named(&bill.quote, &mut reader) {
            Some(deal) => billed.push((deal, bill.leg, bill)),
            None => into.push(Difference {
                day: bill.carried,
                reason: Reason::CourierUnknown,
                quote: None,
                party: bill.courier.as_ref().into(),
                currency: bill.currency,
                amount_minor: bill.net_minor,
                agreed_minor: None,
                documents: vec![document(bill)],
            }),
        }
    }
    // By days, for what is told of a leg is known again by its first bill; what gives back on the day of a bill comes after
    // it, else they stand in order already.
    billed.sort_by_key(|(deal, leg, bill)| (*deal, *leg, bill.carried, bill.net_minor < 0));
    let mut credits: BTreeMap<(u32, Work), Difference> = BTreeMap::new();
    for of_leg in billed.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        if let Some((deal, leg, _)) = of_leg.first()
            && let Some(agreed) = deal_of(&loaded.deals, *deal)
        {
            let bills: Vec<&CourierBill> = of_leg.iter().map(|(_, _, bill)| *bill).collect();
            match leg_apart(agreed, *leg, &bills, rates, terms)? {
                Some(credit) if credit.reason == Reason::CreditForOurWork => {
                    credits.insert((*deal, work_of(*leg)), credit);
                }
                other => into.extend(other),
            }
        }
    }
    for done in &loaded.work_done {
        let Some(deal) = numbers.named(&done.quote, &mut reader) else { continue };
        let Some(agreed) = deal_of(&loaded.deals, deal) else { continue };
        let document = Document {
            paper: Paper::WorkDone,
            number: done.work.word().into(),
            place: Some(done.place.clone()),
        };
        // He was credited once, in how many ways it is told that we did it.
        match credits.entry((deal, done.work)) {
            Entry::Occupied(mut known) => known.get_mut().documents.push(document),
            Entry::Vacant(new) => {
                let credit = credit_for(agreed, done.work, vec![document], terms.until);
                credit.map(|credit| new.insert(Difference { day: done.done, ..credit }));
            }
        }
    }
    into.extend(credits.into_values());
    Ok(())
}

const fn work_of(leg: Leg) -> Work {
    match leg {
        Leg::In => Work::LegIn,
        Leg::Out => Work::LegOut,
    }
}

/// A leg that was billed: carried by a partner, or at another cost than quoted. It is held against all that was ever billed
/// for it; of what was taken back whole nothing is.
fn leg_apart(
    agreed: &Agreed,
    leg: Leg,
    bills: &[&CourierBill],
    rates: &Rates,
    terms: &Terms,
) -> Result<Option<Difference>, Unreconciled> {
    if is_taken_back(bills)? {
        return Ok(None);
    }
    let mut billed = 0_i64;
    let mut is_converted = false;
    for bill in bills {
        let minor = rates.converted(bill.net_minor, bill.currency, agreed.currency, bill.carried)?;
        is_converted |= bill.currency != agreed.currency;
        billed = billed.checked_add(minor).ok_or(Overflow)?;
    }
    let day = bills.iter().map(|bill| bill.carried).max().unwrap_or(agreed.accepted);
    let documents: Vec<Document> = bills.iter().map(|bill| document(bill)).collect();
    let quoted = agreed.leg(leg);
    if quoted.carried_by_partner
        && billed != 0
        && let Some(credit) = credit_for(agreed, work_of(leg), documents.clone(), terms.until)
    {
        return Ok(Some(Difference { day, ..credit }));
    }
    let apart = billed.checked_sub(quoted.cost.minor()).ok_or(Overflow)?;
    let rounded = apart.saturating_abs() <= terms.rounding_minor;
    // A courier's own rate of exchange may be off as far as a bank's.
    let most = Exact::from_minor(quoted.cost.minor()).percent(terms.currency_percent)?;
    let by_rate = is_converted && Exact::from_minor(apart.saturating_abs()).compare(most)?.is_le();
    if apart == 0 || by_rate {
        return Ok(None);
    }
    let quote = Document { paper: Paper::Quote, number: agreed.number.clone(), place: None };
    Ok(Some(Difference {
        day,
        reason: if rounded { Reason::Rounding } else { Reason::Courier },
        quote: Some(agreed.number.clone()),
        party: bills.first().map_or("", |bill| &*bill.courier).into(),
        currency: agreed.currency,
        amount_minor: apart,
        agreed_minor: Some(quoted.cost.minor()),
        documents: [quote].into_iter().chain(documents).collect(),
    }))
}

/// Is nothing left of what was billed, whatever rates made of it between the days?
fn is_taken_back(bills: &[&CourierBill]) -> Result<bool, Overflow> {
    // Nearly always nothing is.
    if bills.iter().all(|bill| bill.net_minor >= 0) {
        return Ok(false);
    }
    let mut left: BTreeMap<Currency, i64> = BTreeMap::new();
    for bill in bills {
        let own = left.entry(bill.currency).or_default();
        *own = own.checked_add(bill.net_minor).ok_or(Overflow)?;
    }
    Ok(left.values().all(|minor| *minor == 0))
}

/// A partner's credit for work that the workshop did; none by a quote that was taken back, for no share is left of it.
fn credit_for(agreed: &Agreed, work: Work, documents: Vec<Document>, until: NaiveDate) -> Option<Difference> {
    let (partner, credit) = agreed.credited(work).filter(|_| agreed.reversed_by(until).is_none())?;
    let quote = Document { paper: Paper::Quote, number: agreed.number.clone(), place: None };
    Some(Difference {
        day: agreed.accepted,
        reason: Reason::CreditForOurWork,
        quote: Some(agreed.number.clone()),
        party: Arc::clone(partner),
        currency: agreed.currency,
        amount_minor: credit.minor(),
        agreed_minor: None,
        documents: [quote].into_iter().chain(documents).collect(),
    })
}

fn document(bill: &CourierBill) -> Document {
    Document { paper: Paper::CourierBill, number: bill.bill.clone(), place: Some(bill.place.clone()) }
}
