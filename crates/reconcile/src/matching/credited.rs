//! The invoices that credit notes take back, among papers that go together.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::numbers::ByNumber;
use super::written::Written;
use crate::known_firms::KnownFirms;

/// An invoice, its place among the papers, and whom it is to; a row of a list names nobody.
struct One<'a> {
    place: usize,
    written: Written<'a>,
    party: Option<&'a str>,
}

/// The invoices among papers that go together: those of a sale, or one of no sale and what takes it back.
///
/// A credit note takes back what it was issued for, so an invoice to somebody else is never the one. Nor is one that was
/// written after it, where it names none.
pub(super) struct Invoiced<'f, 'a> {
    firms: &'f KnownFirms<'a>,
    /// In the order of their places.
    all: Vec<One<'a>>,
    by_number: ByNumber<'a>,
}

impl<'f, 'a> Invoiced<'f, 'a> {
    pub(super) fn among(papers: impl Iterator<Item = Written<'a>>, firms: &'f KnownFirms<'a>) -> Self {
        let mut invoiced = Self { firms, all: Vec::new(), by_number: ByNumber::default() };
        for (place, written) in papers.enumerate().filter(|(_, written)| !written.is_credit()) {
            invoiced.by_number.insert("", written.number(), invoiced.all.len());
            invoiced.all.push(One { place, written, party: written.party(firms) });
        }
        invoiced
    }

    /// The invoices that a credit note names, each once; none where any is to another party.
    pub(super) fn named(&self, credit: Written<'_>) -> Vec<usize> {
        let party = credit.party(self.firms);
        let named: Option<BTreeSet<usize>> =
            self.numbers_of(credit).map(|one| are_one(one.party, party).then_some(one.place)).collect();
        named.unwrap_or_default().into_iter().collect()
    }

    /// The invoices that a credit note takes back, alone or in part: those that it names; else the only one of its party,
    /// or the only one of those of its amount. They are of the same currency.
    pub(super) fn taken_back_by(&self, credit: Written<'_>) -> Vec<usize> {
        let party = credit.party(self.firms);
        let fits = |one: &&One<'a>| one.written.currency() == credit.currency() && are_one(one.party, party);
        if credit.preceding().is_some() {
            return self.numbers_of(credit).filter(fits).map(|one| one.place).collect();
        }
        let of_amount = |one: &&One<'a>| one.written.gross() == credit.gross().saturating_neg();
        let all = || self.all.iter().filter(fits).filter(|one| one.written.issued() <= credit.issued());
        only(all()).or_else(|| only(all().filter(of_amount))).into_iter().collect()
    }

    /// Where among these places the last invoice stands that is to whom the credit note is, is not written after it, and
    /// is the one looked for.
    pub(super) fn last_of(
        &self,
        credit: Written<'_>,
        places: &[usize],
        is_it: impl Fn(usize) -> bool,
    ) -> Option<usize> {
        let party = credit.party(self.firms);
        let is_to_one = |place: usize| {
            let one = self.all.binary_search_by_key(&place, |one| one.place).ok();
            one.and_then(|one| self.all.get(one))
                .is_some_and(|one| are_one(one.party, party) && one.written.issued() <= credit.issued())
        };
        places.iter().rposition(|place| is_to_one(*place) && is_it(*place))
    }

    /// Is a credit note to another than what it is about: than any invoice here that it names; or, where it names none
    /// of them, than every invoice here and than the buyer by what was agreed?
    pub(super) fn is_to_another(&self, credit: Written<'_>, buyer: Option<&Arc<str>>) -> bool {
        let Some(party) = credit.party(self.firms) else { return false };
        let mut named = self.numbers_of(credit).peekable();
        match named.peek() {
            Some(_) => named.any(|one| !are_one(one.party, Some(party))),
            None => {
                let is_to_buyer = buyer.is_some_and(|buyer| **buyer == *party);
                !is_to_buyer && !self.all.iter().any(|one| are_one(one.party, Some(party)))
            }
        }
    }

    /// The invoices that a credit note names, whosever they are.
    fn numbers_of(&self, credit: Written<'_>) -> impl Iterator<Item = &One<'a>> {
        credit.all_preceding().filter_map(move |number| self.all.get(self.by_number.get("", number)?))
    }
}

fn only<'o, 'a: 'o>(mut all: impl Iterator<Item = &'o One<'a>>) -> Option<usize> {
    let first = all.next()?;
    all.next().is_none().then_some(first.place)
}

/// Are two papers to one party, as far as both name any?
pub(super) fn are_one(one: Option<&str>, other: Option<&str>) -> bool {
    one.zip(other).is_none_or(|(one, other)| one == other)
}
