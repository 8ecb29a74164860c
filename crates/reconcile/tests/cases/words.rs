//! Words and codes that others go by, and what is known again by them.

use evenfare_reconcile::changed::How;
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::kept::KeptPaper;
use evenfare_reconcile::phase::Phase;
use evenfare_reconcile::reconcile;

use crate::own::sold;
use crate::world::empty;

#[test]
fn words_are_what_they_were() {
    let phases =
        ["holding papers against what was agreed", "matching payments", "posting", "adding up accounts"];
    assert_eq!(Phase::ALL.map(Phase::words), phases);
    assert_eq!(Phase::ALL.map(Phase::before), [0, 1, 2, 3]);
    let hows: Vec<_> = How::ALL.iter().map(|how| (how.word(), how.is_of_closed_paper())).collect();
    assert_eq!(hows, [("gone", true), ("different", true), ("late", false), ("follows", false)]);
    assert_eq!(format!("{:>8}|{:<9}|", Reason::Unpaid, Reason::Currency), "  unpaid|currency |");
}

/// By what it is and its number, whatever it says.
#[test]
fn a_kept_paper_is_known_again() {
    let books = reconcile(&sold(&[5_000, 6_000])).unwrap();
    let papers = books.close("2026-06".parse().unwrap()).unwrap().papers.unwrap();
    let other = |one: &KeptPaper| KeptPaper { said: None, ..one.clone() };
    let known: Vec<_> =
        papers.iter().map(|one| papers.iter().filter(|of| of.is_of(&other(one))).count()).collect();
    assert_eq!(known, [1; 4], "two sales and two invoices");
}

#[test]
fn books_of_nothing_are_empty() {
    assert!(reconcile(&empty()).unwrap().journal.is_empty());
    assert!(!reconcile(&sold(&[5_000])).unwrap().journal.is_empty());
}
