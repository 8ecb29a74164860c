//! What is left open on the accounts of parties: invoices that are not paid, money that is for no invoice, bonuses that are
//! owed. All of it together is what the accounts close with.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::bonus::{Owed, PaidOut};
use crate::journal::{Event, Transaction};
use crate::loaded::{Loaded, Received};
use crate::matching::{Matching, Open, State, deal_of};
use crate::terms::Terms;

/// What it is that is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OpenKind {
    /// An invoice: what is to be paid of it; below nothing, what was paid too much.
    Invoice,
    /// A credit note: what is to go back of it.
    CreditNote,
    /// What was paid for a quote before there was an invoice; above nothing, what went back of that.
    Advance,
    /// Money that is for nothing known, or of which it is asked what it is for; above nothing, money that went out.
    Payment,
    /// A volume bonus that is owed.
    Bonus,
    /// What was written off.
    Rounding,
}

impl OpenKind {
    /// All of them, in order.
    pub const ALL: &'static [Self] =
        &[Self::Invoice, Self::CreditNote, Self::Advance, Self::Payment, Self::Bonus, Self::Rounding];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Invoice => "invoice",
            Self::CreditNote => "credit_note",
            Self::Advance => "advance",
            Self::Payment => "payment",
            Self::Bonus => "bonus",
            Self::Rounding => "rounding",
        }
    }

    /// How it is posted.
    pub const fn event(self) -> Event {
        match self {
            Self::Invoice | Self::CreditNote => Event::Invoice,
            Self::Advance | Self::Payment => Event::Payment,
            Self::Bonus => Event::Bonus,
            Self::Rounding => Event::Rounding,
        }
    }
}

/// Something that is open on a party's account.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct OpenItem {
    /// Whose account: a partner's code, or an end customer.
    pub party: Arc<str>,
    /// Of the amount.
    pub currency: Currency,
    /// What it is.
    pub what: OpenKind,
    /// The document, as in the journal.
    pub document: Box<str>,
    /// The quote, where one is known.
    pub quote: Option<Box<str>>,
    /// The day of the document.
    pub day: NaiveDate,
    /// The day by which it is to be paid; none of what the party does not have to pay.
    pub due: Option<NaiveDate>,
    /// What is open of it, in minor units: above nothing what the party owes, below nothing what it is owed.
    pub minor: i64,
    /// Does an entry that counts for a later month settle or correct it? It stands here as it was without that.
    pub is_later: bool,
}

impl OpenItem {
    /// All that a transaction moved a party's account by; none where it touches no party's.
    pub(crate) fn of(one: &Transaction, currency: Currency, minor: i64) -> Option<Self> {
        let what = match one.source.event {
            Event::Invoice => OpenKind::Invoice,
            Event::Payment => OpenKind::Payment,
            Event::Bonus => OpenKind::Bonus,
            Event::Rounding => OpenKind::Rounding,
            Event::BankCharges | Event::CourierBill => return None,
        };
        Some(Self {
            party: Arc::clone(one.source.party.as_ref()?),
            currency,
            what,
            document: one.source.document.clone(),
            quote: None,
            day: one.day,
            due: None,
            minor,
            is_later: false,
        })
    }
}

type Key = (Arc<str>, Currency, OpenKind, Box<str>, Option<Box<str>>);

/// Open items, each once.
#[derive(Default)]
struct Items(BTreeMap<Key, OpenItem>);

impl Items {
    fn add(&mut self, item: OpenItem) -> Result<(), Overflow> {
        let OpenItem { party, currency, what, document, quote, .. } = item.clone();
        match self.0.entry((party, currency, what, document, quote)) {
            Entry::Vacant(new) => {
                new.insert(item);
            }
            Entry::Occupied(mut known) => {
                let known = known.get_mut();
                known.minor = known.minor.checked_add(item.minor).ok_or(Overflow)?;
            }
        }
        Ok(())
    }
}

/// What is open when all is posted as it is known, by party and currency; and bonuses that are paid out, for they are open
/// in earlier months.
pub(crate) fn left_open(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    paid_out: &PaidOut,
    terms: &Terms,
) -> Result<Vec<OpenItem>, Overflow> {
    let mut items = Items::default();
    invoices(loaded, matching, terms, &mut items)?;
    advances(loaded, matching, &mut items)?;
    payments(loaded, matching, paid_out, &mut items)?;
    for Owed { partner, document, day, minor } in &paid_out.owed {
        items.add(OpenItem {
            party: Arc::clone(partner),
            currency: terms.currency,
            what: OpenKind::Bonus,
            document: document.clone(),
            quote: None,
            day: *day,
            due: None,
            minor: *minor,
            is_later: false,
        })?;
    }
    let is_open = |item: &OpenItem| item.minor != 0 || item.what == OpenKind::Bonus;
    Ok(items.0.into_values().filter(is_open).collect())
}

fn invoices(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    terms: &Terms,
    into: &mut Items,
) -> Result<(), Overflow> {
    let is_open = |item: &&Open<'_>| item.rest() != 0 && !item.is_written_off(terms);
    for item in matching.open.items.iter().filter(is_open) {
        let (invoice, minor) = (item.invoice, item.rest());
        let deal = item.deal.and_then(|deal| deal_of(&loaded.deals, deal));
        into.add(OpenItem {
            party: Arc::clone(item.party),
            currency: item.currency(),
            what: if item.is_credit() { OpenKind::CreditNote } else { OpenKind::Invoice },
            document: invoice.number.clone(),
            quote: deal.map(|deal| deal.number.clone()),
            day: invoice.issued,
            due: (minor > 0 && !item.is_credit()).then_some(item.due),
            minor,
            is_later: false,
        })?;
    }
    Ok(())
}

/// What is held for quotes, payment by payment, where not all that came in for one went back.
fn advances(loaded: &Loaded<'_>, matching: &Matching<'_, '_>, into: &mut Items) -> Result<(), Overflow> {
    let mut left: HashMap<(u32, Currency), i64> = HashMap::new();
    for held in &matching.held {
        let sum = left.entry((held.deal, held.currency)).or_default();
        *sum = sum.checked_add(held.minor).ok_or(Overflow)?;
    }
    for held in matching.held.iter().filter(|held| left.get(&(held.deal, held.currency)) != Some(&0)) {
        let deal = deal_of(&loaded.deals, held.deal);
        let Some((deal, received)) = deal.zip(matching.payment(held.payment)) else { continue };
        let Some(sale) = deal.sales.first() else { continue };
        into.add(OpenItem {
            quote: Some(deal.number.clone()),
            ..of_payment(
                OpenKind::Advance,
                Arc::clone(&sale.buyer.id),
                received,
                (held.currency, held.minor),
            )?
        })?;
    }
    Ok(())
}

/// Money of a known party that is for no invoice, no quote and no bonus, where nothing took it back or returned it.
fn payments(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    paid_out: &PaidOut,
    into: &mut Items,
) -> Result<(), Overflow> {
    let mut left: BTreeMap<u32, (&Arc<str>, &Received<'_>)> = BTreeMap::new();
    for (place, received, state, parts) in matching.with_parts() {
        let is_elsewhere = !parts.is_empty() || matches!(state, State::Transfer | State::Other);
        if !is_elsewhere && matching.held_of(place).is_empty() {
            let party = loaded.firms.of_payer(received.payment);
            left.extend(party.map(|party| (place, (party, received))));
        }
    }
    for (first, later) in &matching.returned {
        let (came, went) = (left.get(first), left.get(later));
        let makes_up = came.zip(went).is_some_and(|((party, came), (other, went))| {
            (party, came.currency()) == (other, went.currency())
                && came.cleared().checked_add(went.cleared()) == Some(0)
        });
        if makes_up {
            left.remove(first);
            left.remove(later);
        }
    }
    for (party, received) in left.into_values() {
        let amount = (received.currency(), received.cleared());
        let item = of_payment(OpenKind::Payment, Arc::clone(party), received, amount)?;
        if !paid_out.payments.contains(&item.document) {
            into.add(item)?;
        }
    }
    Ok(())
}

fn of_payment(
    what: OpenKind,
    party: Arc<str>,
    received: &Received<'_>,
    (currency, minor): (Currency, i64),
) -> Result<OpenItem, Overflow> {
    Ok(OpenItem {
        party,
        currency,
        what,
        document: received.name(),
        quote: None,
        day: received.booked,
        due: None,
        minor: minor.checked_neg().ok_or(Overflow)?,
        is_later: false,
    })
}
