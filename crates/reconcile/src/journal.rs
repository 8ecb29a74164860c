//! The journal: what happened, in double entry.
//!
//! Debit and credit are words of this module only. Each posting is a debit above nothing and a credit below,
//! in the currency of its document and in that of the books; a transaction adds up to nothing in the
//! books' currency, and so does the journal.

use std::ops::Range;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::chart::Role;
use crate::month::Month;

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Event {
    /// An invoice or credit note of ours was written.
    Invoice,
    /// A payment was booked.
    Payment,
    /// A bank kept something back of a whole entry.
    BankCharges,
    /// A courier billed a consignment.
    CourierBill,
    /// A volume bonus grew, or was trued up.
    Bonus,
    /// A rounding difference was written off.
    Rounding,
}

impl Event {
    /// All of them, in order.
    pub const ALL: &'static [Self] =
        &[Self::Invoice, Self::Payment, Self::BankCharges, Self::CourierBill, Self::Bonus, Self::Rounding];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Invoice => "invoice",
            Self::Payment => "payment",
            Self::BankCharges => "bank_charges",
            Self::CourierBill => "courier_bill",
            Self::Bonus => "bonus",
            Self::Rounding => "rounding",
        }
    }
}

/// One side of a transaction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Posting {
    /// The account, by its part.
    pub role: Role,
    /// The currency of the document.
    pub currency: Currency,
    /// In that currency: a debit above nothing, a credit below.
    pub minor: i64,
    /// The same in the books' currency.
    pub base_minor: i64,
}

/// What a transaction is known by: what was first posted for it and what was corrected later have one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Source {
    /// What happened.
    pub event: Event,
    /// The document's number; a payment's name.
    pub document: Box<str>,
    /// Whose account it touches: a partner, an end customer, a courier.
    pub party: Option<Arc<str>>,
}

/// Postings that belong together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Transaction {
    /// What it is of.
    pub source: Source,
    /// The day of the document.
    pub day: NaiveDate,
    /// The day it counts for in the books: that of the document, or the first day that was open when it was
    /// found.
    pub posted: NaiveDate,
    postings: Range<u32>,
}

impl Transaction {
    /// Where its postings stand in the journal.
    fn places(&self) -> Range<usize> {
        let bound = |place: u32| usize::try_from(place).unwrap_or(usize::MAX);
        bound(self.postings.start)..bound(self.postings.end)
    }
}

/// Among whose postings those of a transaction stand, and where.
fn found(postings: &[Vec<Posting>], one: &Transaction) -> Option<(usize, Range<usize>)> {
    let Range { mut start, mut end } = one.places();
    for (own, all) in postings.iter().enumerate() {
        if start < all.len() {
            return Some((own, start..end));
        }
        (start, end) = (start.saturating_sub(all.len()), end.saturating_sub(all.len()));
    }
    None
}

/// The transactions, in the order of the days they count for and of their sources.
#[derive(Debug, Clone, Default)]
pub struct Journal {
    transactions: Vec<Transaction>,
    /// Those of one thread, then those of the next: what was posted stays where it is.
    postings: Vec<Vec<Posting>>,
}

/// Equal journals say the same, wherever their postings stand.
impl PartialEq for Journal {
    fn eq(&self, other: &Self) -> bool {
        fn said<'j>((one, postings): (&'j Transaction, &'j [Posting])) -> impl PartialEq + 'j {
            (&one.source, one.day, one.posted, postings)
        }
        self.transactions().map(said).eq(other.transactions().map(said))
    }
}

impl Eq for Journal {}

impl Journal {
    /// With room for this many transactions and postings.
    pub(crate) fn with_capacity(transactions: usize, postings: usize) -> Self {
        let transactions = Vec::with_capacity(transactions);
        Self { transactions, postings: vec![Vec::with_capacity(postings)] }
    }

    /// Adds a transaction; one of nothing is none.
    ///
    /// # Errors
    /// [`Overflow`] beyond the sizes a journal can have.
    pub fn post(
        &mut self,
        source: Source,
        day: NaiveDate,
        posted: NaiveDate,
        postings: impl IntoIterator<Item = Posting>,
    ) -> Result<(), Overflow> {
        let place = |length: usize| u32::try_from(length).map_err(|_| Overflow);
        let before = self.postings();
        let something = |posting: &Posting| posting.minor != 0 || posting.base_minor != 0;
        let postings = postings.into_iter().filter(something);
        match self.postings.last_mut() {
            Some(last) => last.extend(postings),
            None => self.postings.push(postings.collect()),
        }
        let postings = place(before)?..place(self.postings())?;
        if !postings.is_empty() {
            self.transactions.push(Transaction { source, day, posted, postings });
        }
        Ok(())
    }

    /// Takes in what was posted elsewhere, behind what is here.
    pub(crate) fn append(&mut self, mut other: Self) -> Result<(), Overflow> {
        let place = |length: usize| u32::try_from(length).map_err(|_| Overflow);
        let behind = place(self.postings())?;
        place(self.postings().saturating_add(other.postings()))?;
        self.transactions.extend(other.transactions.into_iter().map(|one| {
            let Range { start, end } = one.postings;
            Transaction { postings: start.saturating_add(behind)..end.saturating_add(behind), ..one }
        }));
        self.postings.append(&mut other.postings);
        Ok(())
    }

    /// Moves postings to the accounts that are said of them; amounts stay.
    pub(crate) fn move_postings(&mut self, to: impl Fn(&Transaction, &Posting) -> Option<Role>) {
        for one in &self.transactions {
            let Some((own, places)) = found(&self.postings, one) else { continue };
            let postings = self.postings.get_mut(own).and_then(|own| own.get_mut(places));
            for posting in postings.unwrap_or_default() {
                posting.role = to(one, posting).unwrap_or(posting.role);
            }
        }
    }

    /// Puts the transactions into their order. They come in long runs of rising days; what is of one day lies together
    /// then.
    pub(crate) fn sort(&mut self) {
        self.transactions.sort_by_key(|one| one.posted);
        for of_day in self.transactions.chunk_by_mut(|a, b| a.posted == b.posted) {
            of_day.sort_by(|a, b| (&a.source, a.day).cmp(&(&b.source, b.day)));
        }
    }

    /// The transactions, each with its postings.
    pub fn transactions(&self) -> impl ExactSizeIterator<Item = (&Transaction, &[Posting])> + Clone {
        self.transactions.iter().map(|one| (one, self.postings_of(one)))
    }

    /// The month of the first transaction, in the journal's order.
    pub(crate) fn first_month(&self) -> Option<Month> {
        self.transactions.first().map(|one| Month::of(one.posted))
    }

    /// How many transactions there are.
    pub fn len(&self) -> usize {
        self.transactions.len()
    }

    /// How many postings they have.
    pub(crate) fn postings(&self) -> usize {
        self.postings.iter().map(Vec::len).sum()
    }

    /// Is there none?
    pub fn is_empty(&self) -> bool {
        self.transactions.is_empty()
    }

    pub(crate) fn transaction(&self, place: u32) -> Option<(&Transaction, &[Posting])> {
        let one = self.transactions.get(usize::try_from(place).ok()?)?;
        Some((one, self.postings_of(one)))
    }

    fn postings_of(&self, one: &Transaction) -> &[Posting] {
        let found = found(&self.postings, one);
        found.and_then(|(own, places)| self.postings.get(own)?.get(places)).unwrap_or_default()
    }

    /// The sum of each account in the books' currency, in the order of [`Role::ALL`].
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn balances(&self) -> Result<Vec<(Role, i128)>, Overflow> {
        let mut balances: Vec<(Role, i128)> = Role::ALL.iter().map(|role| (*role, 0)).collect();
        for (_, postings) in self.transactions() {
            for posting in postings {
                if let Some((_, sum)) = balances.iter_mut().find(|(role, _)| *role == posting.role) {
                    *sum = sum.checked_add(i128::from(posting.base_minor)).ok_or(Overflow)?;
                }
            }
        }
        Ok(balances)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn post(journal: &mut Journal, document: &str, minor: i64) -> Option<()> {
        let (currency, day) = ("EUR".parse().ok()?, "2026-10-30".parse().ok()?);
        let source = Source { event: Event::Payment, document: document.into(), party: None };
        let posting = |role, minor| Posting { role, currency, minor, base_minor: minor };
        let postings = [posting(Role::Bank, minor), posting(Role::Unapplied, minor.saturating_neg())];
        journal.post(source, day, day, postings).ok()
    }

    #[test]
    fn what_is_taken_in_is_as_if_it_were_posted_here() {
        let (mut whole, mut own, mut other) =
            (Journal::default(), Journal::with_capacity(2, 2), Journal::default());
        for (document, minor) in [("1", 10), ("2", 20), ("3", 0)] {
            let part = if document == "1" { &mut own } else { &mut other };
            assert_eq!(post(part, document, minor), Some(()));
            assert_eq!(post(&mut whole, document, minor), Some(()));
        }
        assert_ne!(own, whole);
        assert_eq!(own.append(other), Ok(()));
        assert_eq!((&own, own.len(), own.postings()), (&whole, 2, 4));
        // So is what comes behind it, and what is moved.
        for journal in [&mut own, &mut whole] {
            assert_eq!(post(journal, "4", 40), Some(()));
            journal.move_postings(|one, posting| {
                (*one.source.document != *"1" && posting.role == Role::Unapplied).then_some(Role::Clearing)
            });
        }
        assert_eq!(own, whole);
        let cleared = own.transactions().map(|(_, postings)| postings.last().map(|last| last.role));
        let expect = [Role::Unapplied, Role::Clearing, Role::Clearing].map(Some);
        assert_eq!(cleared.collect::<Vec<_>>(), expect);
        assert_eq!(own.append(Journal::default()), Ok(()));
        assert_eq!(own, whole);
    }
}
