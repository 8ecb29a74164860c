//! The accounts of partners, customers and couriers, month by month.

use std::collections::HashMap;
use std::sync::Arc;

use evenfare_engine::money::{Currency, Overflow};

use crate::chart::Role;
use crate::journal::{Event, Journal, Posting, Transaction};
use crate::left_open::{OpenItem, OpenKind};
use crate::month::Month;
use crate::sorted::run_of;
use crate::threads::ByAddress;

/// A party's account in one currency over one month: what he owes; below nothing, what he is owed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AccountMonth {
    /// A partner's code, or an end customer.
    pub party: Arc<str>,
    /// Of the amounts.
    pub currency: Currency,
    /// The month.
    pub month: Month,
    /// At its beginning: the closing of the month before.
    pub opening_minor: i64,
    /// Invoices less credit notes.
    pub invoiced_minor: i64,
    /// Payments, as a minus.
    pub paid_minor: i64,
    /// Bonuses and what was written off.
    pub other_minor: i64,
    /// At its end.
    pub closing_minor: i64,
}

/// A party's account for a month, line by line.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PartyStatement<'j> {
    /// At the beginning of the month.
    pub opening_minor: i64,
    /// What moved it, in the order of the books.
    pub lines: Vec<StatementLine<'j>>,
    /// The lines above nothing together: what he was charged.
    pub charged_minor: i64,
    /// The lines below nothing together, as a minus: what he paid or was credited.
    pub credited_minor: i64,
    /// At its end: opening and lines together.
    pub closing_minor: i64,
    /// What is open at its end, by the day that it is due, else of the document. It comes to the closing
    /// (`open_items_are_the_closing`).
    ///
    /// What is open is known by the last day that was looked at. Entries that count for a later month are taken back: what
    /// they settle or correct stands as it was without them. So ask for the month of the last day; of an earlier one, what
    /// was paid since stands under the name of the payment, for accounts do not keep what cleared what.
    pub open: Vec<OpenItem>,
}

/// One line of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StatementLine<'j> {
    /// What was posted.
    pub transaction: &'j Transaction,
    /// By how much the account moved.
    pub minor: i64,
    /// The account after it.
    pub balance_minor: i64,
    /// Is it a bonus that was owed and is owed no more, as it was paid or a credit note was written for it?
    pub is_bonus_paid: bool,
}

/// All accounts of parties.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Accounts {
    /// By party, currency and month; months in which nothing moved are left out.
    months: Vec<AccountMonth>,
    /// Transactions of the journal by party, each party's in the order of the books.
    places: Vec<u32>,
    /// What is open when all is known that is in the journal, by party and currency.
    open: Vec<OpenItem>,
}

fn of_party<'p>(
    postings: impl IntoIterator<Item = &'p Posting>,
    currency: Currency,
) -> Result<i64, Overflow> {
    let is_own = |posting: &&Posting| posting.role.is_of_party() && posting.currency == currency;
    let mut own = postings.into_iter().filter(is_own);
    own.try_fold(0_i64, |sum, posting| sum.checked_add(posting.minor).ok_or(Overflow))
}

/// What a transaction moves a party's account by: for itself, and by paying out a bonus.
fn moved(one: &Transaction, postings: &[Posting], currency: Currency) -> Result<[i64; 2], Overflow> {
    let pays_out =
        |posting: &&Posting| one.source.event != Event::Bonus && posting.role == Role::BonusPayable;
    let of_bonus = of_party(postings.iter().filter(pays_out), currency)?;
    Ok([of_party(postings, currency)?.checked_sub(of_bonus).ok_or(Overflow)?, of_bonus])
}

impl Accounts {
    pub(crate) fn new(journal: &Journal) -> Result<Self, Overflow> {
        let mut parties = Parties::default();
        let mut of_parties: Vec<(u32, u32)> = Vec::with_capacity(journal.len());
        for (place, (one, postings)) in (0_u32..).zip(journal.transactions()) {
            let Some(party) = &one.source.party else { continue };
            if !postings.iter().any(|posting| posting.role.is_of_party()) {
                continue;
            }
            let own = parties.place(party);
            if let Some(moved) = parties.moved.get_mut(own) {
                moved.transactions = moved.transactions.saturating_add(1);
                move_accounts(&mut moved.months, one, postings)?;
            }
            of_parties.push((u32::try_from(own).map_err(|_| Overflow)?, place));
        }
        Self::by_name(parties.moved, &of_parties)
    }

    /// Of what was gone through in the order of the books, the same party by party.
    fn by_name(mut moved: Vec<Moved<'_>>, of_parties: &[(u32, u32)]) -> Result<Self, Overflow> {
        let mut order: Vec<usize> = (0..moved.len()).collect();
        order.sort_unstable_by_key(|own| moved.get(*own).map(|one| one.party));
        let mut months = Vec::with_capacity(moved.iter().map(|one| one.months.len()).sum());
        let mut from = 0_usize;
        for own in order {
            let Some(one) = moved.get_mut(own) else { continue };
            one.months.sort_by_key(|month| (month.currency, month.month));
            months.append(&mut one.months);
            one.next = from;
            from = from.checked_add(one.transactions).ok_or(Overflow)?;
        }
        let mut places = vec![0_u32; of_parties.len()];
        for &(own, place) in of_parties {
            let own = usize::try_from(own).ok().and_then(|own| moved.get_mut(own));
            if let Some(own) = own
                && let Some(at) = places.get_mut(own.next)
            {
                *at = place;
                own.next = own.next.saturating_add(1);
            }
        }
        Ok(Self { months, places, open: Vec::new() })
    }

    /// With what is open at the end of the journal, by party and currency.
    pub(crate) fn with_open(self, open: Vec<OpenItem>) -> Self {
        Self { open, ..self }
    }

    /// Every month in which something moved, by party, currency and month.
    pub fn months(&self) -> &[AccountMonth] {
        &self.months
    }

    /// A party's months in a currency.
    fn of(&self, party: &str, currency: Currency) -> &[AccountMonth] {
        run_of(&self.months, |one| (&*one.party, one.currency).cmp(&(party, currency)))
    }

    /// A party's transactions from the first of a month on, each with the month it counts for.
    fn since<'a, 'j>(
        &'a self,
        journal: &'j Journal,
        party: &'a str,
        month: Month,
    ) -> impl Iterator<Item = (Month, &'j Transaction, &'j [Posting])> {
        let at = move |place: &u32| journal.transaction(*place);
        let known =
            move |place: &u32| at(place).map(|(one, _)| (one.source.party.as_deref(), Month::of(one.posted)));
        let from = self.places.partition_point(|place| known(place) < Some((Some(party), month)));
        let own = self.places.iter().skip(from).filter_map(at);
        let own = own.take_while(move |(one, _)| one.source.party.as_deref() == Some(party));
        own.map(|(one, postings)| (Month::of(one.posted), one, postings))
    }

    /// What is open at the end of a month: what is known, without the entries that count for later months. Nothing is on an
    /// account that nothing was posted to by then, whatever paid what since.
    fn open_at(
        &self,
        journal: &Journal,
        (party, currency): (&str, Currency),
        month: Month,
    ) -> Result<Vec<OpenItem>, Overflow> {
        if self.of(party, currency).first().is_none_or(|first| first.month > month) {
            return Ok(Vec::new());
        }
        let mut open = run_of(&self.open, |one| (&*one.party, one.currency).cmp(&(party, currency))).to_vec();
        for (_, one, postings) in self.since(journal, party, month.next()) {
            let source = &one.source;
            let [own, of_bonus] = moved(one, postings, currency)?;
            for (event, minor) in [(source.event, own), (Event::Bonus, of_bonus)] {
                let before = minor.checked_neg().ok_or(Overflow)?;
                if before == 0 {
                    continue;
                }
                // What is owed of bonuses is one item.
                let is_it = |item: &&mut OpenItem| {
                    item.what.event() == event && (event == Event::Bonus || item.document == source.document)
                };
                match open.iter_mut().find(is_it) {
                    Some(item) => {
                        item.minor = item.minor.checked_add(before).ok_or(Overflow)?;
                        item.is_later = true;
                    }
                    None => {
                        let item = OpenItem::of(one, currency, before);
                        let what =
                            |item: &OpenItem| if event == Event::Bonus { OpenKind::Bonus } else { item.what };
                        open.extend(item.map(|item| OpenItem { what: what(&item), is_later: true, ..item }));
                    }
                }
            }
        }
        open.retain(|item| item.minor != 0);
        open.iter_mut().filter(|item| item.minor < 0).for_each(|item| item.due = None);
        let by_day = |item: &OpenItem| (item.due.unwrap_or(item.day), item.day);
        open.sort_by(|a, b| (by_day(a), a).cmp(&(by_day(b), b)));
        Ok(open)
    }

    /// A party's account for any month, also one in which nothing moved.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn statement<'j>(
        &self,
        journal: &'j Journal,
        party: &str,
        currency: Currency,
        month: Month,
    ) -> Result<PartyStatement<'j>, Overflow> {
        let months = self.of(party, currency);
        let before = months.get(..months.partition_point(|one| one.month < month)).unwrap_or_default();
        let opening_minor = before.last().map_or(0, |one| one.closing_minor);
        let own = self.since(journal, party, month).take_while(|(posted, ..)| *posted == month);
        let mut statement = PartyStatement {
            opening_minor,
            lines: Vec::new(),
            charged_minor: 0,
            credited_minor: 0,
            closing_minor: opening_minor,
            open: self.open_at(journal, (party, currency), month)?,
        };
        for (_, transaction, postings) in own {
            let [minor, of_bonus] = moved(transaction, postings, currency)?;
            // A credit note for a bonus is one line, and the bonus another.
            for (minor, is_bonus_paid) in [(minor, false), (of_bonus, true)] {
                if minor == 0 {
                    continue;
                }
                let side =
                    if minor > 0 { &mut statement.charged_minor } else { &mut statement.credited_minor };
                *side = side.checked_add(minor).ok_or(Overflow)?;
                let balance_minor = statement.closing_minor.checked_add(minor).ok_or(Overflow)?;
                statement.closing_minor = balance_minor;
                statement.lines.push(StatementLine { transaction, minor, balance_minor, is_bonus_paid });
            }
        }
        Ok(statement)
    }
}

/// A party's transactions, as the journal is gone through.
struct Moved<'j> {
    party: &'j str,
    transactions: usize,
    /// Where the next of them goes among those of all.
    next: usize,
    months: Vec<AccountMonth>,
}

/// The journal, by party.
#[derive(Default)]
struct Parties<'j> {
    moved: Vec<Moved<'j>>,
    /// Names are shared, so most were met by their address already.
    by_address: HashMap<*const u8, usize, ByAddress>,
    by_name: HashMap<&'j str, usize>,
}

impl<'j> Parties<'j> {
    /// Where a party stands among those that were met.
    fn place(&mut self, party: &'j str) -> usize {
        let Self { moved, by_address, by_name } = self;
        *by_address.entry(party.as_ptr()).or_insert_with(|| {
            *by_name.entry(party).or_insert_with(|| {
                moved.push(Moved { party, transactions: 0, next: 0, months: Vec::new() });
                moved.len().saturating_sub(1)
            })
        })
    }
}

/// Moves the accounts of one party by one transaction; transactions come in the order of the books.
fn move_accounts(
    months: &mut Vec<AccountMonth>,
    one: &Transaction,
    postings: &[Posting],
) -> Result<(), Overflow> {
    let Some(party) = &one.source.party else { return Ok(()) };
    let month = Month::of(one.posted);
    for posting in postings.iter().filter(|posting| posting.role.is_of_party()) {
        let last = months.iter().rposition(|own| own.currency == posting.currency);
        let last = last.and_then(|place| months.get(place));
        if last.is_none_or(|last| last.month != month) {
            let opening_minor = last.map_or(0, |last| last.closing_minor);
            months.push(AccountMonth {
                party: Arc::clone(party),
                currency: posting.currency,
                month,
                opening_minor,
                invoiced_minor: 0,
                paid_minor: 0,
                other_minor: 0,
                closing_minor: opening_minor,
            });
        }
        let own = months.iter_mut().rev().find(|own| own.currency == posting.currency);
        let Some(own) = own else { continue };
        let moved = match one.source.event {
            Event::Invoice if posting.role == Role::Receivable => &mut own.invoiced_minor,
            Event::Payment => &mut own.paid_minor,
            _ => &mut own.other_minor,
        };
        *moved = moved.checked_add(posting.minor).ok_or(Overflow)?;
        own.closing_minor = own.closing_minor.checked_add(posting.minor).ok_or(Overflow)?;
    }
    Ok(())
}
