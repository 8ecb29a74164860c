//! Sides of transfers that may not be taken for one another: on another way, or of what another side took.

use evenfare_reconcile::terms::{Decision, Part};
use evenfare_reconcile::{Reconciled, reconcile};

use crate::booked::reasons;
use crate::own::{FIRST, Move, SECOND, account, between, id, moves};
use crate::world::{currency, place};

const THIRD: &str = "DE44 0000 0000 9876 5432 10";

/// What has no other side, by the names of payments, and how many questions there are.
fn waiting(books: &Reconciled) -> (Vec<String>, usize) {
    let waiting = books.in_transit.iter().map(|one| one.document.number.to_string());
    (waiting.collect(), books.undecided.len())
}

fn name(account: &str, entry: u32) -> String {
    id(account, entry).to_string()
}

/// The first account has sent to the second, and the second has of the third: each waits for its own other side.
#[test]
fn sides_of_two_ways_do_not_belong_together() {
    // 459.70 CHF are 500.00 EUR.
    for (money, came) in [("EUR", 50_000), ("CHF", 45_970)] {
        for reference in [None, Some("E-1")] {
            let mut inputs = between(&[(3, -50_000, false)], money, &[]);
            inputs.terms.accounts.push(account(THIRD, "workshop"));
            inputs.statements.extend(moves(SECOND, money, THIRD, &[(4, came, false)]));
            for statement in &mut inputs.statements {
                statement.batches[0].payments[0].end_to_end = reference.map(Into::into);
            }
            let both = vec![name(FIRST, 1), name(SECOND, 1)];
            assert_eq!(waiting(&reconcile(&inputs).unwrap()), (both, 0), "{money} {reference:?}");
        }
    }
}

/// 1000.00, 1005.00 and 995.00 leave; what is worth 1000.00 and 1010.00 arrives. 1005.00 is as far from both, and so is
/// 995.00 from the first, which 1000.00 took.
#[test]
fn what_was_taken_is_as_near_to_nothing() {
    let left = [(3, -100_000, false), (3, -100_500, false), (3, -99_500, false)];
    let books = reconcile(&between(&left, "CHF", &[(3, 91_940, false), (3, 92_859, false)])).unwrap();
    assert_eq!(waiting(&books), (vec![name(FIRST, 3)], 0));
}

/// Twenty leave on one day, half a euro apart. 925.84 CHF are 1007.00 EUR, as the fifteenth is.
#[test]
fn of_many_on_one_day_the_nearest_in_value_is_found() {
    let left: Vec<Move> = (0..20).map(|one| (3, -100_000 - 50 * one, false)).collect();
    let books = reconcile(&between(&left, "CHF", &[(4, 92_584, false)])).unwrap();
    let others = (1..=20).filter(|entry| *entry != 15).map(|entry| name(FIRST, entry));
    assert_eq!(waiting(&books), (others.collect(), 0));
}

/// One row says that what left went between accounts of ours, another which its other side is.
#[test]
fn what_goes_between_accounts_of_ours_may_be_the_other_side_as_well() {
    let mut inputs = between(&[(3, -50_000, false)], "EUR", &[(5, 48_000, false)]);
    let row = |line, entry, towards| Decision::Payment {
        place: place("decided_payments.csv", line),
        payment: entry,
        towards,
    };
    let part = Part {
        invoice: format!("payment {}", name(FIRST, 1)).into(),
        currency: currency("EUR"),
        minor: 48_000,
    };
    let (ours, other) = (row(2, id(FIRST, 1), vec![]), row(3, id(SECOND, 1), vec![part]));
    for decisions in [vec![other.clone()], vec![ours.clone(), other.clone()], vec![other, ours]] {
        inputs.decisions = decisions;
        let books = reconcile(&inputs).unwrap();
        assert_eq!((waiting(&books), reasons(&books)), ((vec![], 0), vec![("in_transit", -2_000)]));
    }
}
