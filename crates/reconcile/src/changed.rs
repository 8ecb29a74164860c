//! What came to be known under months that are closed: each correction, with what was posted before it.

use std::collections::{BTreeMap, HashMap};

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::chart::Role;
use crate::journal::{Event, Journal, Posting, Source, Transaction};
use crate::month::Month;
use crate::period::{Sums, add};

/// How a transaction of a closed month came to be another one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum How {
    /// The paper it was posted for is there no more.
    Gone,
    /// The paper is there, and does not say what it said, or is another party's, or is converted by another rate.
    Different,
    /// The paper is of a closed month, and was not there when the month was closed.
    Late,
    /// No paper of its own changed: what was paid is for something else now, or a bonus, what was written off, or
    /// charges that come back with a payment follow from other changes.
    Follows,
}

impl How {
    /// All of them, in order.
    pub const ALL: &'static [Self] = &[Self::Gone, Self::Different, Self::Late, Self::Follows];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Gone => "gone",
            Self::Different => "different",
            Self::Late => "late",
            Self::Follows => "follows",
        }
    }

    /// Is a paper that a closed month rests on not what it was?
    pub const fn is_of_closed_paper(self) -> bool {
        matches!(self, Self::Gone | Self::Different)
    }
}

/// A transaction of a closed month that is another one by what is known now. The difference is posted to the
/// first month that was open when it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    /// How it came to be another one.
    pub how: How,
    /// What the transaction is of.
    pub source: Source,
    /// The day of the document.
    pub day: NaiveDate,
    /// The day it was posted first; none for what was not.
    pub before: Option<NaiveDate>,
    /// The day the correction counts for.
    pub posted: NaiveDate,
    /// The accounts and currencies that are corrected, in their order.
    pub sums: Vec<Corrected>,
    /// What else the paper says otherwise now, where a closing has that.
    pub altered: Vec<Altered>,
}

/// Something else than an amount that a paper says otherwise now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Altered {
    /// `day`, or the word of a [`Detail`](crate::kept::Detail).
    pub what: &'static str,
    /// What it was; empty where the paper did not say it, or was not there.
    pub was: String,
    /// What it is; empty where the paper does not say it, or is there no more.
    pub is: String,
}

/// An account in one currency, before and after a correction, in minor units: a debit above nothing, a credit
/// below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Corrected {
    /// The account, by its part.
    pub role: Role,
    /// The currency of the document.
    pub currency: Currency,
    /// What was posted, in that currency.
    pub before_minor: i64,
    /// What is known now, in that currency.
    pub now_minor: i64,
    /// What was posted, in the books' currency.
    pub before_base_minor: i64,
    /// What is known now, in the books' currency.
    pub now_base_minor: i64,
}

/// What a transaction came to so far, and the day it was posted first.
struct Known {
    first: NaiveDate,
    sums: Sums,
}

/// The corrections in a journal in which closed months stand as they were closed; in the order of the journal.
///
/// A transaction of an earlier month than it counts for is one, and so is whatever is posted again for what an
/// earlier month has.
pub(crate) fn changed(journal: &Journal) -> Result<Vec<Changed>, Overflow> {
    let mut first: HashMap<&Source, (&Transaction, &[Posting])> = HashMap::with_capacity(journal.len());
    let mut known: HashMap<&Source, Known> = HashMap::new();
    let mut changed = Vec::new();
    for (one, postings) in journal.transactions() {
        let source = &one.source;
        let before = match known.get(source) {
            Some(_) => None,
            None => first.insert(source, (one, postings)),
        };
        if let Some((posted, before)) = before {
            let mut sums = Sums::new();
            add(&mut sums, before, 1)?;
            known.insert(source, Known { first: posted.posted, sums });
        }
        let known = known.get_mut(source);
        if known.is_none() && Month::of(one.day) >= Month::of(one.posted) {
            continue;
        }
        let before = known.as_ref().map(|known| known.first);
        let mut none = Sums::new();
        let sums = known.map_or(&mut none, |known| &mut known.sums);
        let sums = corrected(sums, postings)?;
        let (source, day, posted) = (source.clone(), one.day, one.posted);
        changed.push(Changed { how: How::Follows, source, day, before, posted, sums, altered: Vec::new() });
    }
    let how: Vec<How> = {
        let papers = papers(&changed)?;
        changed.iter().map(|one| papers.get(&one.paper()).map_or(How::Follows, how)).collect()
    };
    changed.iter_mut().zip(how).for_each(|(one, how)| one.how = how);
    Ok(changed)
}

/// Takes a correction into what a transaction came to, and says what it corrects.
fn corrected(sums: &mut Sums, postings: &[Posting]) -> Result<Vec<Corrected>, Overflow> {
    let before = sums.clone();
    add(sums, postings, 1)?;
    let parts = sums.iter().filter_map(|(part, &[now_minor, now_base_minor])| {
        let (role, currency) = *part;
        let [before_minor, before_base_minor] = before.get(part).copied().unwrap_or_default();
        let one = Corrected { role, currency, before_minor, now_minor, before_base_minor, now_base_minor };
        one.is_another().then_some(one)
    });
    Ok(parts.collect())
}

impl Corrected {
    fn is_another(&self) -> bool {
        (self.before_minor, self.before_base_minor) != (self.now_minor, self.now_base_minor)
    }
}

/// A paper, and the month in which its corrections count: transactions of several parties may rest on one.
pub(crate) type Posted<'c> = (Month, Event, &'c str, Option<&'c str>);

impl Changed {
    pub(crate) fn paper(&self) -> Posted<'_> {
        let Source { event, document, party } = &self.source;
        // Couriers number their bills as they like; whose account a payment touches is found out by matching.
        let courier = party.as_deref().filter(|_| *event == Event::CourierBill);
        (Month::of(self.posted), *event, document, courier)
    }
}

/// Does the paper itself say what is posted to that account? What a payment is for, a bonus and what is
/// written off follow from several papers; so do charges of what the bank takes back, which are those of another payment.
const fn says(event: Event, role: Role) -> bool {
    match event {
        Event::Invoice | Event::BankCharges | Event::CourierBill => true,
        Event::Payment => matches!(role, Role::Bank),
        Event::Bonus | Event::Rounding => false,
    }
}

/// What a paper says, by account and currency: before in both currencies, and now. Of an invoice also by the party
/// that owes it.
type Said<'c> = BTreeMap<(Role, Currency, Option<&'c str>), [i64; 4]>;

fn papers(changed: &[Changed]) -> Result<HashMap<Posted<'_>, Said<'_>>, Overflow> {
    let mut papers: HashMap<Posted<'_>, Said<'_>> = HashMap::new();
    for one in changed {
        let said = papers.entry(one.paper()).or_default();
        for sum in one.sums.iter().filter(|sum| says(one.source.event, sum.role)) {
            let own = [sum.before_minor, sum.before_base_minor, sum.now_minor, sum.now_base_minor];
            let owes = one.source.party.as_deref().filter(|_| one.source.event == Event::Invoice);
            // Whether a credit note pays a bonus out follows from what is owed: it says the same.
            let role = if sum.role == Role::BonusPayable { Role::Revenue } else { sum.role };
            let all = said.entry((role, sum.currency, owes)).or_default();
            for (all, own) in all.iter_mut().zip(own) {
                *all = all.checked_add(own).ok_or(Overflow)?;
            }
        }
    }
    Ok(papers)
}

fn how(said: &Said<'_>) -> How {
    let all = |is: fn(&[i64; 4]) -> bool| said.values().all(is);
    if all(|[before, before_base, now, now_base]| (before, before_base) == (now, now_base)) {
        How::Follows
    } else if all(|[before, before_base, ..]| (*before, *before_base) == (0, 0)) {
        How::Late
    } else if all(|[.., now, now_base]| (*now, *now_base) == (0, 0)) {
        How::Gone
    } else {
        How::Different
    }
}
