//! References from end to end: sides of a transfer that have the same belong together; one on one side says nothing.

use crate::own::{FIRST, Move, between, id};
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

/// Transfers from the first account, and what arrives on the second, each with its reference; none is the empty text.
fn with_references(left: &[(Move, &str)], money: &str, came: &[(Move, &str)]) -> Inputs {
    let moves = |all: &[(Move, &str)]| -> Vec<Move> { all.iter().map(|(one, _)| *one).collect() };
    let mut inputs = between(&moves(left), money, &moves(came));
    let mut references = left.iter().chain(came).map(|(_, reference)| *reference);
    for statement in &mut inputs.statements {
        for batch in &mut statement.batches {
            let reference = references.next().unwrap();
            batch.payments[0].end_to_end = Some(reference).filter(|text| !text.is_empty()).map(Into::into);
        }
    }
    inputs
}

/// What has no other side, and how many questions there are.
fn alone(books: &Reconciled) -> (Vec<&str>, usize) {
    (books.in_transit.iter().map(|one| &*one.document.number).collect(), books.undecided.len())
}

#[test]
fn of_two_that_are_as_near_the_reference_decides() {
    // 919.86 CHF are 1000.50 EUR.
    let [first, second] = [1, 2].map(|entry| id(FIRST, entry).to_string());
    for (left, came, waits) in [
        (["E-1", "E-2"], "E-1", Some(&second)),
        (["E-1", "E-2"], "e2", Some(&first)),
        (["E-1", ""], "E/1", Some(&second)),
        // On one side alone, on none, or of several, it decides nothing.
        (["E-1", "E-2"], "", None),
        (["", "E-2"], "E-3", None),
        (["", ""], "E-1", None),
        (["E-1", "E-1"], "E-1", None),
        (["--", ""], "..", None),
    ] {
        let moves = [((3, -100_000, false), left[0]), ((3, -100_100, false), left[1])];
        let inputs = with_references(&moves, "CHF", &[((5, 91_986, false), came)]);
        let books = reconcile(&inputs).unwrap();
        match waits {
            Some(waits) => assert_eq!(alone(&books), (vec![waits.as_str()], 0), "{left:?} {came}"),
            None => {
                assert_eq!(alone(&books).1, 1, "{left:?} {came}");
                assert_eq!(books.undecided[0].why, Why::OtherSide);
            }
        }
    }
}

#[test]
fn in_one_currency_it_goes_before_the_nearest_in_time() {
    let [first, second] = [1, 2].map(|entry| id(FIRST, entry).to_string());
    for (came, waits) in [("", &first), ("E-1", &second), ("E-2", &first), ("E-9", &first)] {
        let moves = [((3, -50_000, false), "E-1"), ((5, -50_000, false), "E-2")];
        let inputs = with_references(&moves, "EUR", &[((6, 50_000, false), came)]);
        assert_eq!(alone(&reconcile(&inputs).unwrap()), (vec![waits.as_str()], 0), "{came}");
    }
    // Of another amount it is no other side, whatever its reference.
    let inputs = with_references(&[((3, -50_000, false), "E-1")], "EUR", &[((5, 49_000, false), "E-1")]);
    assert_eq!(alone(&reconcile(&inputs).unwrap()).0.len(), 2);
}
