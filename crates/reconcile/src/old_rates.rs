//! Reference rates that were not renewed: what is posted by one that is old is not what it was worth.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use crate::input::{Place, Slip};
use crate::loaded::Loaded;
use crate::matching::{Matching, Open};
use crate::rates::Rates;
use crate::terms::Terms;

/// The rates older than a week by which anything of open days is posted, each at the first paper or payment that went by it.
/// What was closed stays as it is, so nothing is said of that.
pub(crate) fn old_rates(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    (rates, terms): (&Rates, &Terms),
    closed: Option<NaiveDate>,
) -> Vec<Slip> {
    let mut old = Old { rates, books: terms.currency, closed, found: BTreeMap::new() };
    for one in &matching.open.items {
        old.note(one.currency(), one.invoice.issued, &one.invoice.place);
    }
    for bill in &loaded.courier_bills {
        old.note(bill.currency, bill.carried, &bill.place);
    }
    for kept in &loaded.kept_back {
        old.note(kept.statement.currency, kept.booked, &kept.statement.place);
    }
    for (_, received, _, parts) in matching.with_parts() {
        let cleared = parts.iter().filter_map(|part| matching.open.get(part.open)).map(Open::currency);
        for currency in cleared.chain([received.currency()]) {
            old.note(currency, received.booked, &received.payment.place);
        }
    }
    for held in &matching.held {
        if let Some(received) = matching.payment(held.payment) {
            old.note(held.currency, received.booked, &received.payment.place);
        }
    }
    old.slips()
}

struct Old<'o> {
    rates: &'o Rates,
    books: Currency,
    /// The last day that is closed.
    closed: Option<NaiveDate>,
    /// By currency and the day of its rate, the first day that went by it, and where.
    found: BTreeMap<(Currency, NaiveDate), (NaiveDate, &'o Place)>,
}

impl<'o> Old<'o> {
    fn note(&mut self, currency: Currency, on: NaiveDate, place: &'o Place) {
        if currency == self.books || self.closed.is_some_and(|closed| on <= closed) {
            return;
        }
        for one in [currency, self.books] {
            let Some(of) = self.rates.old(one, on) else { continue };
            let first = self.found.entry((one, of)).or_insert((on, place));
            *first = (on, place).min(*first);
        }
    }

    fn slips(self) -> Vec<Slip> {
        let slip = |((currency, of), (on, place)): ((Currency, NaiveDate), (NaiveDate, &Place))| {
            let days = on.signed_duration_since(of).num_days();
            Slip {
                place: place.clone(),
                code: "old_rate",
                found: format!("the rate of {currency} of {of}, {days} days old"),
                expected: format!("a reference rate of {on} or of the week before it"),
            }
        };
        self.found.into_iter().map(slip).collect()
    }
}
