//! Periods that are closed, and what is found out afterwards.

use std::collections::{BTreeMap, HashMap};

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};
use sha2::{Digest, Sha256};

use crate::chart::{Chart, Role};
use crate::difference::{Difference, Document};
use crate::earned::{Earned, Reached};
use crate::error::Unreconciled;
use crate::journal::{Journal, Posting, Source};
use crate::kept::{KeptPaper, Said};
use crate::month::Month;
use crate::transit::InTransit;

/// A month that was closed: what was posted in it and which differences it was closed with.
///
/// It is kept, and handed in with everything that comes later; what it says never changes. What is found out
/// about its days afterwards counts for the month that is open then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// The month.
    pub month: Month,
    /// The accounts it was closed with; none where no chart was handed in.
    pub chart: Chart,
    /// What papers said: those of its days, and those of months before it that had changed. A closing from before they
    /// were kept has none.
    pub papers: Option<Vec<KeptPaper>>,
    /// Are those all of its papers, with all that they said? A closing from before that has those that nothing is
    /// posted of, with their amounts, and keeps nothing that was settled.
    pub is_whole: bool,
    /// The steps of bonuses that its turnover had reached. A closing from before they were kept has none.
    pub bonuses: Option<Vec<Reached>>,
    /// What was in transit between own accounts at its end. A closing from before that was kept has none.
    pub in_transit: Vec<InTransit>,
    /// What was posted in it.
    pub journal: Journal,
    /// The differences that counted for it.
    pub differences: Vec<Found>,
    /// Differences that a month before it was closed with, and that were none any more in it.
    pub settled: Vec<Settled>,
    /// The digest of the closing before it; zeros for the first.
    pub before: [u8; 32],
    /// SHA-256 over all of that; over which bytes, [`digest_now`](Self::digest_now) says.
    pub digest: [u8; 32],
}

/// A difference, and the day it counts for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Found {
    /// Its own day, or the first day that was open when it was found.
    pub posted: NaiveDate,
    /// The difference.
    pub difference: Difference,
}

/// A difference that a month was closed with and that is none any more, or of another amount.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Settled {
    /// The day it counts for as settled: that of the last paper that settled it, or the first day that was open when it
    /// was found to be none.
    pub posted: NaiveDate,
    /// The difference, and the day it counted for.
    pub found: Found,
    /// The papers that settled it, as far as any is known; of a decision the paper it is about, where the decision
    /// stands.
    pub by: Vec<Document>,
    /// What it comes to since then, where it is a difference still. It stands among the differences so, and counts for the
    /// same day.
    pub now_minor: Option<i64>,
}

impl Closing {
    /// Closes a month that was reconciled to its end.
    pub(crate) fn new(
        month: Month,
        (chart, papers, bonuses, in_transit): (&Chart, &[KeptPaper], &[Earned], &[InTransit]),
        journal: &Journal,
        (found, settled): (&[Found], &[Settled]),
        before: [u8; 32],
    ) -> Result<Self, Overflow> {
        let mut own = Journal::default();
        for (one, postings) in journal.transactions().filter(|(one, _)| Month::of(one.posted) == month) {
            own.post(one.source.clone(), one.day, one.posted, postings.iter().copied())?;
        }
        let differences = found.iter().filter(|found| Month::of(found.posted) == month).cloned().collect();
        let settled = settled.iter().filter(|one| Month::of(one.posted) == month).cloned().collect();
        let (chart, papers) = (chart.clone(), Some(papers.to_vec()));
        let bonuses = bonuses.iter().filter(|one| one.month == month).map(Reached::of).collect();
        let mut closing = Self {
            month,
            chart,
            papers,
            is_whole: true,
            bonuses: Some(bonuses),
            in_transit: in_transit.to_vec(),
            journal: own,
            differences,
            settled,
            before,
            digest: [0; 32],
        };
        closing.digest = closing.digest_now();
        Ok(closing)
    }

    /// Is it what it was when the month was closed? Its digest says so.
    pub fn is_unchanged(&self) -> bool {
        self.digest == self.digest_now()
    }

    /// The digest of what it says: SHA-256 over texts, one after the other. Of each text the number of its bytes in
    /// UTF-8 goes in first, as eight bytes with the greatest first, then the bytes; so no two contents read alike.
    ///
    /// The texts, with `{}` for what stands there; numbers are decimal, a minus before what is below nothing, days
    /// as 2026-07-01, and what is missing is the empty text:
    ///
    /// 1. `{month}`, as 2026-07; then the 32 bytes of the digest before it as decimal numbers, `[{}, {}, … {}]`;
    /// 2. where it keeps papers: of each account of the chart, by [`Role::ALL`], `account`, its part and its number;
    ///    then `papers {how many}`, with ` whole` behind it where they are all, and of each paper
    ///    `{kind} {day} {currency} {net} {gross}`, or `{kind} {day}` of one that is there no more, then the seller, the
    ///    number and the quote; where they are all, then how many details there are, and of each detail its word and
    ///    its text;
    /// 3. where it keeps steps of bonuses, `bonuses {how many}`, and of each `{year} {percent}`, the partner, and
    ///    `{from} {percent}` of the next step, in minor units, or the empty text where there was none;
    /// 4. of each side of a transfer that was in transit `transit {day} {minor} {currency} {base_minor}`, the account, the
    ///    account at the other side, and of the payment as of a document its number and `{line} {file}`;
    /// 5. of each transaction what happened, the document, the party and `{day} {posted} {how many postings}`, and of
    ///    each posting `{part} {minor} {currency} {base_minor}`;
    /// 6. of each difference `{posted} {day} {reason} {amount_minor} {currency}`, with a blank and the minor units that were
    ///    agreed behind it where any were, the quote, the party and how many documents there are, and of each document its
    ///    kind, its number and `{line} {file}`;
    /// 7. of each that was settled `settled {posted}`, with a blank and the minor units that it comes to since then behind
    ///    it where it is another amount; then the difference as above, how many papers settled it, and of
    ///    each paper as of a document.
    pub fn digest_now(&self) -> [u8; 32] {
        let mut hash = Sha256::new();
        let mut text = |text: &str| {
            hash.update(u64::try_from(text.len()).unwrap_or(u64::MAX).to_be_bytes());
            hash.update(text.as_bytes());
        };
        text(&self.month.to_string());
        text(&format!("{:?}", self.before));
        if let Some(papers) = &self.papers {
            for (role, account) in self.chart.accounts() {
                text("account");
                text(role.word());
                text(account);
            }
            text(&format!("papers {}{}", papers.len(), if self.is_whole { " whole" } else { "" }));
            for KeptPaper { paper, seller, number, quote, day, said } in papers {
                let amounts = said.as_ref().map(|Said { currency, net_minor, gross_minor, .. }| {
                    format!(" {currency} {net_minor} {gross_minor}")
                });
                text(&format!("{} {day}{}", paper.word(), amounts.unwrap_or_default()));
                text(seller);
                text(number);
                text(quote.as_deref().unwrap_or_default());
                if self.is_whole {
                    let details = said.as_ref().map(|said| &*said.details).unwrap_or_default();
                    text(&details.len().to_string());
                    for (detail, said) in details {
                        text(detail.word());
                        text(said);
                    }
                }
            }
        }
        if let Some(bonuses) = &self.bonuses {
            text(&format!("bonuses {}", bonuses.len()));
            for Reached { partner, year, percent, next } in bonuses {
                text(&format!("{year} {percent}"));
                text(partner);
                let next = next.map(|(from_minor, percent)| format!("{from_minor} {percent}"));
                text(&next.unwrap_or_default());
            }
        }
        for InTransit { day, account, other, currency, minor, base_minor, document } in &self.in_transit {
            text(&format!("transit {day} {minor} {currency} {base_minor}"));
            text(account);
            text(other);
            text(&document.number);
            text(&at(document));
        }
        for (one, postings) in self.journal.transactions() {
            let source = &one.source;
            text(source.event.word());
            text(&source.document);
            text(source.party.as_deref().unwrap_or_default());
            text(&format!("{} {} {}", one.day, one.posted, postings.len()));
            for posting in postings {
                let Posting { role, currency, minor, base_minor } = posting;
                text(&format!("{} {minor} {currency} {base_minor}", role.word()));
            }
        }
        self.differences.iter().for_each(|found| difference(found, &mut text));
        for Settled { posted, found, by, now_minor } in &self.settled {
            let now = now_minor.map(|minor| format!(" {minor}")).unwrap_or_default();
            text(&format!("settled {posted}{now}"));
            difference(found, &mut text);
            documents(by, &mut text);
        }
        hash.finalize().into()
    }
}

/// The texts of a difference, for a digest.
fn difference(Found { posted, difference: one }: &Found, text: &mut impl FnMut(&str)) {
    let agreed = one.agreed_minor.map(|minor| format!(" {minor}")).unwrap_or_default();
    text(&format!("{posted} {} {} {} {}{agreed}", one.day, one.reason, one.amount_minor, one.currency));
    text(one.quote.as_deref().unwrap_or_default());
    text(&one.party);
    documents(&one.documents, text);
}

fn documents(documents: &[Document], text: &mut impl FnMut(&str)) {
    text(&documents.len().to_string());
    for document in documents {
        text(document.paper.word());
        text(&document.number);
        text(&at(document));
    }
}

/// The line and file that a document was read at.
fn at(document: &Document) -> String {
    let place = document.place.as_ref();
    place.map(|place| format!("{} {}", place.line, place.file)).unwrap_or_default()
}

/// The closings in their order.
///
/// # Errors
/// [`Unreconciled::ClosingChanged`] where one is not what it was, [`Unreconciled::ClosingMissing`] and
/// [`Unreconciled::ClosingUnlinked`] where one does not follow the one before it.
pub(crate) fn checked(closings: &[Closing]) -> Result<Vec<&Closing>, Unreconciled> {
    let mut closings: Vec<&Closing> = closings.iter().collect();
    closings.sort_by_key(|closing| closing.month);
    // A closing that is handed in twice is one.
    closings.dedup();
    let mut last: Option<&Closing> = None;
    for closing in &closings {
        let month = closing.month;
        if !closing.is_unchanged() {
            return Err(Unreconciled::ClosingChanged { month });
        }
        match last {
            None if closing.before != [0; 32] => {
                return Err(Unreconciled::ClosingMissing { month: month.previous(), next: month });
            }
            Some(last) if last.month.next() < month => {
                return Err(Unreconciled::ClosingMissing { month: last.month.next(), next: month });
            }
            Some(last) if last.month == month || closing.before != last.digest => {
                return Err(Unreconciled::ClosingUnlinked { month });
            }
            _ => {}
        }
        last = Some(closing);
    }
    Ok(closings)
}

/// By account and currency: what was posted, in both currencies.
pub(crate) type Sums = BTreeMap<(Role, Currency), [i64; 2]>;

pub(crate) fn add(sums: &mut Sums, postings: &[Posting], sign: i64) -> Result<(), Overflow> {
    for posting in postings {
        let sum = sums.entry((posting.role, posting.currency)).or_default();
        for (sum, minor) in sum.iter_mut().zip([posting.minor, posting.base_minor]) {
            *sum = minor.checked_mul(sign).and_then(|minor| sum.checked_add(minor)).ok_or(Overflow)?;
        }
    }
    Ok(())
}

/// What was posted in closed months, as it was; and what is known now less what was posted, in the first month
/// that is open.
pub(crate) fn after_closings(known: Journal, closings: &[&Closing]) -> Result<Journal, Unreconciled> {
    let Some(last) = closings.last().map(|closing| closing.month) else {
        return Ok(sorted(known));
    };
    let mut posted: HashMap<&Source, (NaiveDate, Sums)> = HashMap::new();
    let mut journal = Journal::with_capacity(known.len(), known.postings());
    for (one, postings) in closings.iter().flat_map(|closing| closing.journal.transactions()) {
        let (_, sums) = posted.entry(&one.source).or_insert_with(|| (one.day, Sums::new()));
        add(sums, postings, -1)?;
        journal.post(one.source.clone(), one.day, one.posted, postings.iter().copied())?;
    }
    let open = last.next().first_day();
    for (one, postings) in known.transactions() {
        let correct = posted.remove(&one.source);
        if correct.is_none() && one.day >= open {
            journal.post(one.source.clone(), one.day, one.posted, postings.iter().copied())?;
            continue;
        }
        let (_, mut sums) = correct.unwrap_or_else(|| (one.day, Sums::new()));
        add(&mut sums, postings, 1)?;
        journal.post(one.source.clone(), one.day, one.day.max(open), of_sums(&sums))?;
    }
    // What is known no more is taken back.
    for (one, _) in closings.iter().flat_map(|closing| closing.journal.transactions()) {
        if let Some((day, sums)) = posted.remove(&one.source) {
            journal.post(one.source.clone(), day, open, of_sums(&sums))?;
        }
    }
    Ok(sorted(journal))
}

/// What was in transit on the last day of closed months, as the last was closed. None of any other day; and none where it
/// was closed before that was kept, so that its rows are not what its journal has there.
pub(crate) fn in_transit(
    closings: &[&Closing],
    until: NaiveDate,
) -> Result<Option<Vec<InTransit>>, Overflow> {
    let Some(last) = closings.last().filter(|last| last.month.last_day() == until) else { return Ok(None) };
    let postings = closings.iter().flat_map(|closing| closing.journal.transactions());
    let mut postings =
        postings.flat_map(|(_, postings)| postings).filter(|posting| posting.role == Role::Transit);
    let mut left =
        postings.try_fold(0_i64, |sum, posting| sum.checked_add(posting.base_minor)).ok_or(Overflow)?;
    for one in &last.in_transit {
        left = left.checked_sub(one.base_minor).ok_or(Overflow)?;
    }
    Ok((left == 0).then(|| last.in_transit.clone()))
}

fn of_sums(sums: &Sums) -> impl Iterator<Item = Posting> + '_ {
    sums.iter().map(|(&(role, currency), &[minor, base_minor])| Posting { role, currency, minor, base_minor })
}

fn sorted(mut journal: Journal) -> Journal {
    journal.sort();
    journal
}
