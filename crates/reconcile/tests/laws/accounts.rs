//! What a party is told of his account ties to it: line by line, and by what is open.

use evenfare_reconcile::columns;
use evenfare_reconcile::difference::Difference;
use evenfare_reconcile::left_open::OpenItem;
use evenfare_reconcile::month::Month as Period;
use evenfare_reconcile::reconcile;
use proptest::prelude::*;
use proptest::sample::Index;

use crate::faults::{month, some_faults};
use crate::ties::open_is_the_closing;
use crate::world::day;
use crate::{config, of_june};

proptest! {
    #![proptest_config(config())]

    /// As it goes out, line by line: each says what the account is after it.
    #[test]
    fn statement_ties_to_the_cent((plans, faults) in some_faults()) {
        let books = reconcile(&month(&plans, &faults).inputs).unwrap();
        let minor = |text: &str| if text.is_empty() { 0 } else { text.replace('.', "").parse::<i64>().unwrap() };
        let months = books.accounts.months();
        for own in months.chunk_by(|a, b| (&a.party, a.currency) == (&b.party, b.currency)) {
            let (party, currency) = (&own[0].party, own[0].currency);
            let mut balance = 0;
            for month in ["2026-06", "2026-07", "2026-08"].map(|month| month.parse().unwrap()) {
                let account = books.accounts.statement(&books.journal, party, currency, month).unwrap();
                let lines = columns::statement(party, currency, month, &account).unwrap();
                let [opening, between @ .., closing] = lines.as_slice() else { panic!("{lines:?}") };
                prop_assert_eq!((&*opening[3], minor(&opening[9])), ("opening", balance));
                let mut sides = [0, 0];
                for line in between {
                    let (charged, credited) = (minor(&line[7]), minor(&line[8]));
                    sides = [sides[0] + charged, sides[1] + credited];
                    balance += charged - credited;
                    prop_assert_eq!(minor(&line[9]), balance);
                }
                prop_assert_eq!((&*closing[3], minor(&closing[9])), ("closing", balance));
                prop_assert_eq!([minor(&closing[7]), minor(&closing[8])], sides);
                prop_assert_eq!(account.closing_minor, balance);
            }
        }
    }

    /// What is open on an account comes to what it closes with, also where a closed month has it otherwise; and what is
    /// told to be unpaid or overpaid is what is open.
    #[test]
    fn open_items_are_the_closing((plans, faults) in some_faults(), late in any::<Index>(), days in 30_u64..92) {
        let mut inputs = of_june(month(&plans, &faults).inputs);
        let whole = inputs.clone();
        open_is_the_closing(&reconcile(&whole).unwrap());
        if !inputs.invoices.is_empty() {
            inputs.invoices.remove(late.index(inputs.invoices.len()));
        }
        let june: Period = "2026-06".parse().unwrap();
        inputs.terms.until = june.last_day();
        let books = reconcile(&inputs).unwrap();
        open_is_the_closing(&books);
        inputs.closings.push(books.close(june).unwrap());
        inputs.invoices.clone_from(&whole.invoices);
        for until in [june.last_day(), day(days)] {
            inputs.terms.until = until;
            let books = reconcile(&inputs).unwrap();
            open_is_the_closing(&books);
            let is_told = |one: &&Difference| ["unpaid", "overpaid"].contains(&one.reason.code());
            let found = books.differences.iter().filter(|found| found.posted <= until);
            for one in found.map(|found| &found.difference).filter(is_told) {
                let accounts = &books.accounts;
                let of = accounts.statement(&books.journal, &one.party, one.currency, Period::of(until)).unwrap();
                let is_its = |open: &&OpenItem| {
                    !open.is_later && one.documents.iter().any(|paper| paper.number == open.document)
                };
                let open: Vec<&OpenItem> = of.open.iter().filter(is_its).collect();
                let left: i64 = open.iter().map(|open| open.minor).sum();
                let is_asked = !books.undecided.is_empty() || of.open.iter().any(|open| open.is_later);
                prop_assert!(is_asked || left == -one.amount_minor, "{:?}\n{:?}", one, of.open);
                let is_due = |open: &&OpenItem| open.due.is_none_or(|due| due <= until);
                prop_assert!(open.iter().all(is_due), "{:?}\n{:?}", one, open);
            }
        }
    }
}
