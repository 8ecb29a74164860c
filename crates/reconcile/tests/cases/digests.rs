//! What a closing says is held by its digest, to the papers behind a difference.

use evenfare_reconcile::difference::{Document, Paper};
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::{Inputs, reconcile};

use crate::own::sold;

/// What somebody makes of the papers.
type Change<'c> = &'c dyn Fn(&mut Vec<Document>);

#[test]
fn no_paper_behind_a_difference_changes_unnoticed() {
    // Nobody paid in June.
    let inputs = sold(&[5_000]);
    let closing = reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap();
    let again = |change: Change<'_>| {
        let mut closing = closing.clone();
        change(&mut closing.differences[0].difference.documents);
        reconcile(&Inputs { closings: vec![closing], ..inputs.clone() }).map(|_| ())
    };
    assert_eq!(again(&|_| {}), Ok(()));
    let changes: [Change<'_>; 6] = [
        &|papers| drop(papers.pop()),
        &|papers| papers[1].paper = Paper::CreditNote,
        &|papers| papers[1].number = "R-1".into(),
        &|papers| papers[1].place = None,
        &|papers| papers[1].place.as_mut().unwrap().line += 1,
        &|papers| papers[1].place.as_mut().unwrap().file = "others.xml".into(),
    ];
    for (number, change) in changes.into_iter().enumerate() {
        assert!(matches!(again(change), Err(Unreconciled::ClosingChanged { .. })), "{number}");
    }
}
