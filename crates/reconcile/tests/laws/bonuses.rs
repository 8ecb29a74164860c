//! What a partner is told of his bonus is what is posted of it.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::journal::{Event, Journal};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::reconcile;
use proptest::prelude::*;
use proptest::sample::Index;

use crate::config;
use crate::faults::{month, some_faults};
use crate::world::day;

/// What is posted of an event against a part, of one party up to a month.
fn posted(journal: &Journal, (event, role): (Event, Role), of: &Earned, up_to: Month) -> i64 {
    let own = journal.transactions().filter(|(one, _)| {
        let is_his = one.source.party.as_deref() == Some(&*of.partner);
        one.source.event == event && is_his && Month::of(one.posted) <= up_to
    });
    let postings = own.flat_map(|(_, postings)| postings).filter(|posting| posting.role == role);
    -postings.map(|posting| posting.base_minor).sum::<i64>()
}

proptest! {
    #![proptest_config(config())]

    /// Also where a month was closed before all of its papers were there.
    #[test]
    fn bonuses_are_what_is_posted((plans, faults) in some_faults(), late in any::<Index>(), is_closed: bool) {
        let mut inputs = month(&plans, &faults).inputs;
        let whole = reconcile(&inputs).unwrap().bonuses;
        if is_closed && !inputs.invoices.is_empty() {
            let mut early = inputs.clone();
            early.invoices.remove(late.index(early.invoices.len()));
            early.terms.until = day(29);
            let june = "2026-06".parse().unwrap();
            inputs.closings.extend(reconcile(&early).unwrap().close(june));
        }
        let books = reconcile(&inputs).unwrap();
        let mut due = 0;
        for one in &books.bonuses {
            due += one.movement_minor;
            prop_assert_eq!(one.due_minor, due);
            prop_assert_eq!(due, posted(&books.journal, (Event::Bonus, Role::BonusPayable), one, one.month));
            let turnover = posted(&books.journal, (Event::Invoice, Role::Revenue), one, one.month);
            prop_assert_eq!(one.turnover_minor, turnover);
            // 1.5 % from 1000.00, 2.25 % from 5000.00; half a cent goes away from nothing.
            let (percent, per_million, next) = match turnover {
                ..100_000 => ("0", 0, Some(100_000)),
                100_000..500_000 => ("1.5", 15_000, Some(500_000)),
                _ => ("2.25", 22_500, None),
            };
            prop_assert_eq!(one.percent.to_string(), percent);
            let exact = i128::from(turnover) * per_million;
            prop_assert_eq!(i128::from(due), (exact + 500_000).div_euclid(1_000_000));
            prop_assert_eq!(one.next.map(|next| next.from_minor), next);
            prop_assert!(one.next.is_none_or(|next| next.missing_minor == next.from_minor - turnover));
        }
        // When all is known, it is the same whenever it became known.
        let last = |all: &[Earned]| all.last().map(|one| (one.month, one.turnover_minor, one.due_minor));
        prop_assert_eq!(last(&books.bonuses), last(&whole));
        if inputs.closings.is_empty() {
            let trued_up = books.bonuses.iter().zip(books.bonuses.iter().skip(1)).all(|(before, after)| {
                let moved = before.percent != after.percent && before.turnover_minor != 0;
                moved || after.true_up_minor == 0
            });
            prop_assert!(trued_up, "{:?}", books.bonuses);
        }
    }
}
