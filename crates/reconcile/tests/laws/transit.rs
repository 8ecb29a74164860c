//! What is told to be in transit is what the journal has there, at every close and on every last day.

use chrono::NaiveDate;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::Statement;
use evenfare_reconcile::month::Month as Period;
use evenfare_reconcile::transit::InTransit;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::config;
use crate::faults::{month, some_faults};
use crate::kinds::Fault;
use crate::of_june;
use crate::world::day;

/// What the journal has in transit at the end of a day.
fn posted(books: &Reconciled, until: NaiveDate) -> i64 {
    let all = books.journal.transactions().filter(|(one, _)| one.posted <= until);
    let postings = all.flat_map(|(_, postings)| postings).filter(|posting| posting.role == Role::Transit);
    postings.map(|posting| posting.base_minor).sum()
}

fn told(all: &[InTransit]) -> i64 {
    all.iter().map(|one| one.base_minor).sum()
}

/// A payment, and the account that it is on.
type At = (usize, usize);

/// Every payment between own accounts, by its statement and entry.
fn transfers(inputs: &Inputs) -> Vec<At> {
    let mut all = Vec::new();
    for (statement, one) in inputs.statements.iter().enumerate() {
        for (entry, batch) in one.batches.iter().enumerate() {
            if batch.payments[0].party_account.is_some() {
                all.push((statement, entry));
            }
        }
    }
    all
}

/// Without what stands in a statement from an entry on, nor in those of its account after it.
fn cut(inputs: &mut Inputs, (at, entry): At) {
    let account = inputs.statements[at].account.clone();
    let own = |one: &Statement| one.account == account;
    let last = inputs.statements[..=at].iter().filter(|one| own(one)).count();
    let mut seen = 0;
    inputs.statements.retain(|one| {
        seen += usize::from(own(one));
        !own(one) || seen <= last
    });
    let of_last = inputs.statements.iter_mut().filter(|one| one.account == account).last().unwrap();
    let gone: i64 = of_last.batches.drain(entry..).map(|batch| batch.minor).sum();
    of_last.closing.minor -= gone;
}

proptest! {
    #![proptest_config(config())]

    /// Whatever comes late, and whenever it is closed: the rows are what was posted by that day, and a closed month keeps
    /// those that it was closed with.
    #[test]
    fn transit_ties_at_every_close_and_on_every_day(
        (plans, mut faults) in some_faults(),
        which in prop::sample::select(vec![Fault::TransferTakenBack, Fault::TransferLessCharges, Fault::TransfersAlike]),
        place in any::<Index>(),
        late in prop::option::of(any::<Index>()),
        days in prop::collection::vec(0_u64..91, 4),
    ) {
        let place = place.index(plans.len());
        if !faults.contains(&(place, which)) {
            faults.push((place, which));
        }
        let whole = of_june(month(&plans, &faults).inputs);
        for on in &days {
            let mut inputs = whole.clone();
            inputs.terms.until = day(*on);
            let books = reconcile(&inputs).unwrap();
            prop_assert_eq!(told(&books.in_transit), posted(&books, day(*on)));
        }
        // Some of what one bank says comes when June is closed.
        let mut inputs = whole.clone();
        let transfers = transfers(&whole);
        if let Some(late) = late {
            inputs.decisions.clear();
            cut(&mut inputs, transfers[late.index(transfers.len())]);
        }
        let mut closed: Vec<(Period, Vec<InTransit>)> = Vec::new();
        for month in ["2026-06", "2026-07", "2026-08"].map(|month| month.parse::<Period>().unwrap()) {
            inputs.terms.until = month.last_day();
            let books = reconcile(&inputs).unwrap();
            prop_assert_eq!(told(&books.in_transit), posted(&books, month.last_day()));
            let closing = books.close(month).unwrap();
            prop_assert_eq!(&closing.in_transit, &books.in_transit);
            closed.push((month, closing.in_transit.clone()));
            inputs.closings.push(closing);
            inputs.statements.clone_from(&whole.statements);
            inputs.decisions.clone_from(&whole.decisions);
            // Whoever looks back sees what it was closed with.
            for (month, in_transit) in &closed {
                let mut back = inputs.clone();
                back.terms.until = month.last_day();
                let books = reconcile(&back).unwrap();
                prop_assert_eq!(&books.in_transit, in_transit);
                prop_assert_eq!(told(in_transit), posted(&books, month.last_day()));
            }
        }
        // As long as a month is open, it is as it is known now.
        for on in days {
            let mut inputs = inputs.clone();
            inputs.closings.truncate(1);
            inputs.terms.until = day(on);
            match reconcile(&inputs) {
                Ok(books) => prop_assert_eq!(told(&books.in_transit), posted(&books, day(on))),
                Err(error) => prop_assert!(matches!(error, Unreconciled::InsideClosed { .. }), "{}", error),
            }
        }
        // Closed from before it was kept, it is as it is known now, where that is not what it was.
        let mut before = inputs.clone();
        before.closings.truncate(1);
        before.closings[0].in_transit.clear();
        before.closings[0].digest = before.closings[0].digest_now();
        before.terms.until = day(29);
        prop_assert!(reconcile(&before).is_ok());
    }
}
