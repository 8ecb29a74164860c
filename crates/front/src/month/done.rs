//! What came of a month end, as it is shown.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};
use evenfare_reconcile::account::{AccountMonth, PartyStatement};
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::left_open::OpenItem;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::{Closing, Found, Settled};
use evenfare_reconcile::phase::Phase;
use evenfare_reconcile::told::Told;
use evenfare_reconcile::{Inputs, Reconciled, reconcile_watched};

use super::known::{Known, Parties, WrittenWith};

/// Month end, done: everything that is known up to a day, and the month of it that is looked at.
#[derive(Debug)]
pub struct Done {
    /// What came of it.
    pub books: Reconciled,
    /// Of the books.
    pub currency: Currency,
    /// The last day that was looked at.
    pub until: NaiveDate,
    /// The month that is shown; none for all of them.
    pub month: Option<Month>,
    /// How many offers were accepted, and how many invoices and credit notes issued, by the store.
    pub known: (usize, usize),
    /// Who took part.
    pub parties: Parties,
    /// Partners who charged something in what is shown.
    charged: BTreeSet<Arc<str>>,
    /// The first and the last month that are closed.
    closed: Option<(Month, Month)>,
    /// What its papers are written with.
    pub with: WrittenWith,
    /// Of closed months that are shown: what was settled after the last day.
    later: Vec<Settled>,
}

impl Done {
    /// Holds what the store knows against what the books folder says. `watch` is told what is begun.
    ///
    /// # Errors
    /// As [`reconcile_watched`]; differences are no errors.
    pub fn of(
        mut inputs: Inputs,
        known: Known,
        month: Option<Month>,
        watch: impl FnMut(Phase),
    ) -> Result<Self, Unreconciled> {
        let counts = known.counts();
        let (parties, with) = known.put_into(&mut inputs);
        let mut books = reconcile_watched(&inputs, watch)?;
        let closed = || inputs.closings.iter().map(|closing| closing.month);
        let shown = Some(month.unwrap_or(Month::of(inputs.terms.until)));
        let shown = shown.filter(|month| closed().any(|closed| closed == *month));
        let later = shown.map(|shown| as_closed(&mut books, shown, &inputs.closings)).unwrap_or_default();
        let closed = closed().min().zip(closed().max());
        let terms = inputs.terms;
        let shown = |day| day <= terms.until && month.is_none_or(|month| Month::of(day) == month);
        let charged = inputs.charges.iter().filter(|charge| shown(charge.issued));
        Ok(Self {
            charged: charged.map(|charge| Arc::from(charge.partner.as_str())).collect(),
            closed,
            with,
            later,
            books,
            currency: terms.currency,
            until: terms.until,
            month,
            known: counts,
            parties,
        })
    }

    /// A party's name; what accounts know him by, where that is all there is.
    pub fn name<'a>(&'a self, party: &'a str) -> &'a str {
        self.parties.others.get(party).map_or(party, |known| known.name.as_str())
    }

    /// Is it a partner, who goes by his code?
    pub fn is_partner(&self, party: &str) -> bool {
        self.parties.others.get(party).is_some_and(|known| known.code.as_str() == party)
    }

    /// What a party is called where there is little room: a partner by his code, an end customer by his name.
    pub fn called<'a>(&'a self, party: &'a str) -> &'a str {
        if self.is_partner(party) { party } else { self.name(party) }
    }

    /// Has that month its closing?
    pub fn is_closed(&self, month: Month) -> bool {
        self.closed.is_some_and(|(first, last)| first <= month && month <= last)
    }

    /// Does that day count for what is shown? What was found of closed months counts for a later day, where one looks back.
    pub fn shows(&self, posted: NaiveDate) -> bool {
        posted <= self.until && self.month.is_none_or(|month| Month::of(posted) == month)
    }

    /// Is there nothing at all of what is shown: nothing posted, agreed, found or asked?
    pub fn is_empty(&self) -> bool {
        let books = &self.books;
        let agreed = |month: Month| self.month.is_none_or(|shown| shown == month);
        let posted = books.journal.transactions().any(|(one, _)| self.shows(one.posted));
        let found = self.differences().next().is_some() || self.settled().next().is_some();
        let told = found || !self.changes().is_empty() || !books.undecided.is_empty();
        !posted && !told && !books.overview.months().any(|(month, ..)| agreed(month))
    }

    /// The differences that count for what is shown, in the order of their days.
    pub fn differences(&self) -> impl Iterator<Item = &Found> {
        self.books.differences.iter().filter(|found| self.shows(found.posted))
    }

    /// The month of the statements: the one that is shown, else that of the last day.
    pub fn month_of_statements(&self) -> Month {
        self.month.unwrap_or(Month::of(self.until))
    }

    /// Those that a month was closed with and that are none any more, where they count as settled for what is shown.
    pub fn settled(&self) -> impl Iterator<Item = &Settled> {
        self.books.settled.iter().filter(|settled| self.shows(settled.posted))
    }

    /// When and by what a difference of the closed months that are shown was settled, if it was after the last of them.
    pub fn settled_later(&self, found: &Found) -> Option<&Settled> {
        self.later.iter().find(|settled| settled.found == *found)
    }

    /// The volume bonuses at the ends of what is shown, partner by partner.
    pub fn bonuses(&self) -> impl Iterator<Item = &Earned> {
        self.books.bonuses.iter().filter(|one| self.shows(one.month.first_day()))
    }

    /// A partner's, at the end of the month of the statements.
    pub fn bonuses_of(&self, party: &str) -> impl Iterator<Item = &Earned> {
        let month = self.month_of_statements();
        self.books.bonuses.iter().filter(move |one| &*one.partner == party && one.month == month)
    }

    /// What a party is told of the differences; only partners are told any.
    pub fn told<'a>(&'a self, party: &str) -> Told<'a> {
        let found: &[Found] = if self.is_partner(party) { &self.books.differences } else { &[] };
        Told::to(party, self.month_of_statements(), found)
    }

    /// The accounts that there is a statement of: those of the balances; and, in the books' currency, of each partner who
    /// charged something in the month or is told of a difference, and has no account.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn statements(&self) -> Result<Vec<(Arc<str>, Currency)>, Overflow> {
        let balances = self.balances()?.into_iter();
        let mut all: Vec<(Arc<str>, Currency)> = balances.map(|one| (one.party, one.currency)).collect();
        let with_account: BTreeSet<Arc<str>> = all.iter().map(|(party, _)| Arc::clone(party)).collect();
        let partners = self.parties.others.keys().filter(|id| self.is_partner(id));
        let without = partners.filter(|id| !with_account.contains(*id));
        let told = without.filter(|id| self.charged.contains(*id) || !self.told(id).is_empty());
        all.extend(told.map(|id| (Arc::clone(id), self.currency)));
        all.sort();
        Ok(all)
    }

    /// What is open on all of them at the end of the month of the statements, account by account.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn open(&self) -> Result<Vec<OpenItem>, Overflow> {
        let mut open = Vec::new();
        for (party, currency) in self.statements()? {
            open.append(&mut self.statement(&party, currency)?.open);
        }
        Ok(open)
    }

    /// A party's account in the month of the statements.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn statement(&self, party: &str, currency: Currency) -> Result<PartyStatement<'_>, Overflow> {
        let Reconciled { accounts, journal, .. } = &self.books;
        accounts.statement(journal, party, currency, self.month_of_statements())
    }

    /// Each party's account in each currency over what is shown, also where nothing moved but something is owed or open.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn balances(&self) -> Result<Vec<AccountMonth>, Overflow> {
        let same = |a: &AccountMonth, b: &AccountMonth| (&a.party, a.currency) == (&b.party, b.currency);
        let mut balances = Vec::new();
        for own in self.books.accounts.months().chunk_by(same) {
            let Some(first) = own.first() else { continue };
            let before = own.iter().rev().find(|one| self.month.is_some_and(|month| one.month < month));
            let opening_minor = before.map_or(0, |before| before.closing_minor);
            let mut balance = AccountMonth {
                month: self.month_of_statements(),
                opening_minor,
                invoiced_minor: 0,
                paid_minor: 0,
                other_minor: 0,
                closing_minor: opening_minor,
                ..first.clone()
            };
            let mut moved = false;
            for one in own.iter().filter(|one| self.shows(one.month.first_day())) {
                moved = true;
                for (sum, part) in [
                    (&mut balance.invoiced_minor, one.invoiced_minor),
                    (&mut balance.paid_minor, one.paid_minor),
                    (&mut balance.other_minor, one.other_minor),
                ] {
                    *sum = sum.checked_add(part).ok_or(Overflow)?;
                }
                balance.closing_minor = one.closing_minor;
            }
            let is_open =
                || Ok::<_, Overflow>(!self.statement(&first.party, first.currency)?.open.is_empty());
            if moved || opening_minor != 0 || is_open()? {
                balances.push(balance);
            }
        }
        Ok(balances)
    }
}

/// Shows closed months up to the last that is shown as they were closed: with the differences that were settled after it.
/// They are handed back, each with the month that it counts for, and so is what changed under the months since.
fn as_closed(books: &mut Reconciled, shown: Month, closings: &[Closing]) -> Vec<Settled> {
    let mut after: Vec<&Closing> = closings.iter().filter(|closing| closing.month > shown).collect();
    after.sort_by_key(|closing| closing.month);
    let open = books.first_open().unwrap_or(shown).first_day();
    let is_of_shown = |settled: &&Settled| Month::of(settled.found.posted) <= shown;
    let mut later: Vec<Settled> =
        after.iter().flat_map(|closing| &closing.settled).filter(is_of_shown).cloned().collect();
    let (known, since): (Vec<Settled>, Vec<Settled>) =
        std::mem::take(&mut books.settled).into_iter().partition(|one| Month::of(one.posted) <= shown);
    books.settled = known;
    books.differences.extend(since.iter().map(|one| one.found.clone()));
    // More papers may stand behind one since.
    let as_closed: HashSet<&Found> = closings.iter().flat_map(|closing| &closing.differences).collect();
    let is_now: HashSet<&Found> = books.differences.iter().collect();
    let mut others: Vec<&Found> = as_closed.iter().filter(|one| !is_now.contains(*one)).copied().collect();
    // Of those that are alike each is one: the first is taken off the end.
    others.sort_unstable_by(|a, b| b.cmp(a));
    let known = |one: &Found| (one.posted, one.difference.amount_minor);
    let mut closed: HashMap<_, Vec<&Found>> = HashMap::new();
    for one in others {
        closed.entry((known(one), one.difference.about())).or_default().push(one);
    }
    let changed = |found: &Found| Month::of(found.posted) <= shown && !as_closed.contains(found);
    let mut instead: Vec<(usize, Found)> = Vec::new();
    for (place, found) in books.differences.iter().enumerate().filter(|(_, found)| changed(found)) {
        let alike = closed.get_mut(&(known(found), found.difference.about()));
        instead.extend(alike.and_then(Vec::pop).map(|closed| (place, closed.clone())));
    }
    for (place, closed) in instead {
        if let Some(found) = books.differences.get_mut(place) {
            *found = closed;
        }
    }
    books.differences.sort_unstable();
    for one in since.iter().filter(is_of_shown) {
        if !later.iter().any(|known| known.found == one.found) {
            later.push(Settled { posted: open.max(one.posted), ..one.clone() });
        }
    }
    // What a later month was closed with counts for that month, all else for the first that is open.
    for one in books.changed.iter_mut().filter(|one| Month::of(one.posted) > shown) {
        let is_corrected = |closing: &&&Closing| {
            closing.journal.transactions().any(|(corrected, _)| corrected.source == one.source)
        };
        one.posted = after.iter().find(is_corrected).map_or(open, |closing| closing.month.first_day());
    }
    for one in books.restated.iter_mut().filter(|one| Month::of(one.posted) > shown) {
        let is_kept = |closing: &&&Closing| closing.papers.iter().flatten().any(|kept| kept.is_of(&one.is));
        one.posted = after.iter().find(is_kept).map_or(open, |closing| closing.month.first_day());
    }
    later
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use evenfare_files::Tariffs;
    use evenfare_reconcile::difference::{Difference, Document, Paper, Reason};
    use evenfare_reconcile::input::{Balance, Batch, Payment, Place, Statement, Status};
    use evenfare_reconcile::terms::{BankAccount, Terms};

    use super::*;

    fn empty() -> Inputs {
        Inputs::new(Terms {
            currency: "EUR".parse().unwrap(),
            until: "2026-07-31".parse().unwrap(),
            rounding_minor: 2,
            currency_percent: "1".parse().unwrap(),
            payment_days: 30,
            reporting: Default::default(),
            accounts: Vec::new(),
            bonuses: Vec::new(),
        })
    }

    /// Of two credits of one amount both became one of them, whichever it was.
    #[test]
    fn what_is_alike_but_for_its_papers_is_shown_as_each_was_closed() {
        let paper = |paper, number: &str| Document { paper, number: number.into(), place: None };
        let credit = |leg: &str| Found {
            posted: "2026-06-05".parse().unwrap(),
            difference: Difference {
                day: "2026-06-05".parse().unwrap(),
                reason: Reason::CreditForOurWork,
                quote: Some("Q-2026-0001".into()),
                party: "P-1".into(),
                currency: "EUR".parse().unwrap(),
                amount_minor: 1_200,
                agreed_minor: None,
                documents: vec![paper(Paper::Quote, "Q-2026-0001"), paper(Paper::WorkDone, leg)],
            },
        };
        let closed = vec![credit("leg_in"), credit("leg_out")];
        // More came to stand behind both, or behind one of them.
        for billed in [&[0, 1][..], &[0], &[1]] {
            let mut books = reconcile_watched(&empty(), |_| ()).unwrap();
            let journal = books.journal.clone();
            let closing = Closing {
                month: "2026-06".parse().unwrap(),
                chart: Default::default(),
                papers: None,
                is_whole: true,
                bonuses: None,
                in_transit: Vec::new(),
                journal,
                differences: closed.clone(),
                settled: Vec::new(),
                before: [0; 32],
                digest: [0; 32],
            };
            books.differences.clone_from(&closed);
            for &place in billed {
                let found = books.differences.get_mut(place).unwrap();
                found.difference.documents.push(paper(Paper::CourierBill, "C-77"));
            }
            as_closed(&mut books, closing.month, &[closing]);
            assert_eq!(books.differences, closed, "{billed:?}");
        }
    }

    /// It comes to nothing, and stood in no list of the months after it.
    #[test]
    fn an_account_on_which_something_is_open_is_shown() {
        let place = || Place { file: "books".into(), line: 1 };
        let party_account = "DE79 0000 0000 1234 5678 90";
        let entry = |minor, booked: &str| Batch {
            place: place(),
            reference: None,
            minor,
            reversal: false,
            status: Status::Booked,
            booked: booked.parse().unwrap(),
            value: None,
            payments: vec![Payment {
                place: place(),
                minor,
                instructed: None,
                charges_minor: 0,
                end_to_end: None,
                structured: Vec::new(),
                remittance: "".into(),
                party: None,
                party_account: Some(party_account.into()),
            }],
        };
        let mut inputs = empty();
        let firm = "P-1".into();
        inputs.terms.accounts = vec![BankAccount { place: place(), account: party_account.into(), firm }];
        inputs.statements.push(Statement {
            place: place(),
            id: "2026-06".into(),
            account: "DE02 1203 0000 0000 2020 51".into(),
            currency: inputs.terms.currency,
            opening: Balance { day: "2026-06-01".parse().unwrap(), minor: 5_000 },
            closing: Balance { day: "2026-06-30".parse().unwrap(), minor: 5_000 },
            // What came in later, in other amounts, returns nothing that went out.
            batches: vec![entry(-1_000, "2026-06-03"), entry(600, "2026-06-09"), entry(400, "2026-06-09")],
        });
        for (month, open) in [("2026-05", 0), ("2026-06", 3), ("2026-07", 3)] {
            let known = Known::new(Arc::new(Tariffs::published(Vec::new())));
            let done = Done::of(inputs.clone(), known, Some(month.parse().unwrap()), |_| ()).unwrap();
            let closings: Vec<i64> = done.balances().unwrap().iter().map(|one| one.closing_minor).collect();
            assert_eq!((closings.len(), closings.iter().sum::<i64>()), (usize::from(open > 0), 0), "{month}");
            assert_eq!(done.open().unwrap().len(), open, "{month}");
        }
    }
}
