//! Which side of a transfer is of which: the nearest, what is taken back, and what a person says.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::Paper;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;

use crate::booked::reasons;
use crate::own::{self, FIRST, SECOND, balance, between, id};
use crate::world::{self, currency, day, place};

/// What has no other side, by the names of payments.
fn alone(books: &Reconciled) -> Vec<String> {
    books.in_transit.iter().map(|one| one.document.number.to_string()).collect()
}

fn name(account: &str, entry: u32) -> String {
    id(account, entry).to_string()
}

/// These two are the sides of a transfer.
fn sides(line: usize, payment: PaymentId, money: &str, minor: i64, other: &str) -> Decision {
    let part = Part { invoice: format!("payment {other}").into(), currency: currency(money), minor };
    Decision::Payment { place: place("decided_payments.csv", line), payment, towards: vec![part] }
}

fn is_clear(books: &Reconciled) {
    is_clear_but(books, &[]);
}

/// Nothing is in transit and nothing is asked, and that is told.
fn is_clear_but(books: &Reconciled, told: &[(&'static str, i64)]) {
    assert_eq!((alone(books).len(), balance(books, Role::Transit), books.undecided.len()), (0, 0, 0));
    assert_eq!(reasons(books), told);
}

#[test]
fn of_two_currencies_the_nearest_in_value_go_together() {
    // 1000.00 EUR and 1008.00 EUR leave; what arrives of the second comes first, and would fit the first as well. What
    // arrives of the first is too far off the second.
    let left = [(3, -100_000, false), (3, -100_800, false)];
    let inputs = between(&left, "CHF", &[(4, 92_600, false), (5, 91_480, false)]);
    let books = reconcile(&inputs).unwrap();
    is_clear(&books);
    // 926.00 CHF are 1007.18 EUR, and 914.80 CHF are 995.00 EUR.
    let exchange = |entry| {
        let of = books.journal.transactions().find(|(one, _)| *one.source.document == name(SECOND, entry));
        let postings = of.unwrap().1.iter().filter(|posting| posting.role == Role::Exchange);
        postings.map(|posting| posting.minor).sum::<i64>()
    };
    assert_eq!([exchange(1), exchange(2)], [82, 500]);
    // The same value goes before a nearer day, and a nearer day before another.
    for (came, waits) in [
        ([(3, 92_000, false), (9, 91_940, false)], 1),
        ([(4, 91_940, false), (8, 91_940, false)], 2),
        ([(2, 91_940, false), (4, 91_940, false)], 1),
    ] {
        let books = reconcile(&between(&[(3, -100_000, false)], "CHF", &came)).unwrap();
        assert_eq!((alone(&books), books.undecided.len()), (vec![name(SECOND, waits)], 0), "{came:?}");
    }
}

#[test]
fn where_two_are_equally_good_it_is_asked() {
    // 999.00 EUR and 1001.00 EUR leave, 1000.00 EUR arrive in francs.
    let left = [(3, -99_900, false), (3, -100_100, false)];
    let mut inputs = between(&left, "CHF", &[(4, 91_940, false)]);
    let books = reconcile(&inputs).unwrap();
    let question = &books.undecided[0];
    assert_eq!((books.undecided.len(), question.why, question.why.code()), (1, Why::OtherSide, "other_side"));
    assert_eq!(question.payment, Some(id(SECOND, 1)));
    let candidates = [1, 2].map(|entry| vec![format!("payment {}", name(FIRST, entry)).into()]);
    assert_eq!(question.candidates, candidates);
    // What is asked is not told as well, but it is in transit.
    assert_eq!((reasons(&books), alone(&books).len()), (vec![], 3));
    assert_eq!(balance(&books, Role::Transit), 100_000);
    for (answer, waits) in [(0, 2), (1, 1)] {
        let towards = question.parts[answer].clone();
        let payment = question.payment.clone().unwrap();
        let place = place("decided_payments.csv", 2);
        inputs.decisions = vec![Decision::Payment { place, payment, towards }];
        let decided = reconcile(&inputs).unwrap();
        assert_eq!((alone(&decided), decided.undecided.len()), (vec![name(FIRST, waits)], 0));
        assert_eq!(reasons(&decided), [("in_transit", -99_800 - 200 * i64::from(waits) + 100)]);
    }
    // With none of them: it stays, and so do they.
    let payment = question.payment.clone().unwrap();
    inputs.decisions =
        vec![Decision::Payment { place: place("decided_payments.csv", 2), payment, towards: vec![] }];
    let decided = reconcile(&inputs).unwrap();
    assert_eq!((alone(&decided).len(), reasons(&decided).len(), decided.undecided.len()), (3, 3, 0));
    // Of which there are fewer is asked: 999.00 EUR and 1001.00 EUR could be what arrived of one that left.
    let came = [(4, 91_848, false), (4, 92_032, false)];
    let books = reconcile(&between(&[(3, -100_000, false)], "CHF", &came)).unwrap();
    let question = &books.undecided[0];
    assert_eq!((books.undecided.len(), question.payment.clone()), (1, Some(id(FIRST, 1))));
    assert_eq!(
        question.candidates,
        [1, 2].map(|entry| vec![format!("payment {}", name(SECOND, entry)).into()])
    );
}

#[test]
fn which_of_two_alike_is_taken_shows_nowhere() {
    let (one, other) = ((3, -100_000, false), (4, 91_940, false));
    for (left, came, waiting) in [(2, 1, 1), (1, 2, 1), (2, 2, 0), (9, 4, 5)] {
        let books = reconcile(&between(&vec![one; left], "CHF", &vec![other; came])).unwrap();
        assert_eq!((books.undecided.len(), alone(&books).len()), (0, waiting), "{left} {came}");
    }
    // All are taken, so it shows nowhere which was of which.
    let came = [(4, 91_848, false), (4, 92_032, false)];
    let books = reconcile(&between(&[one, one], "CHF", &came)).unwrap();
    is_clear(&books);
}

#[test]
fn of_one_currency_the_nearest_in_time_go_together() {
    for (left, came, waits) in [
        // Weeks late, and in time.
        (vec![1, 20], vec![21], name(FIRST, 1)),
        (vec![1, 20], vec![2], name(FIRST, 2)),
        // What left before it arrived goes first.
        (vec![4, 8], vec![6], name(FIRST, 2)),
        (vec![4], vec![3, 5], name(SECOND, 1)),
        (vec![1, 5, 12], vec![6, 2], name(FIRST, 3)),
    ] {
        let own = |days: &[u64], minor| days.iter().map(|on| (*on, minor, false)).collect::<Vec<_>>();
        let books = reconcile(&between(&own(&left, -500), "EUR", &own(&came, 500))).unwrap();
        assert_eq!(alone(&books), [waits], "{left:?} {came:?}");
    }
}

#[test]
fn what_is_taken_back_is_no_transfer_any_more() {
    // By the bank, and by the account itself; soon, and after weeks; in francs too.
    for (back, is_reversal) in [(5, true), (5, false), (27, true), (27, false)] {
        let moved = [(3, -50_000, false), (back, 50_000, is_reversal)];
        is_clear(&reconcile(&between(&moved, "CHF", &[])).unwrap());
        is_clear(&reconcile(&between(&[], "CHF", &moved)).unwrap());
        // While it is out, it is in transit.
        let mut early = between(&moved, "EUR", &[]);
        early.terms.until = day(back - 1);
        assert_eq!(alone(&reconcile(&early).unwrap()), [name(FIRST, 1)]);
    }
    // What arrived at the other account goes before what was booked back; what the bank says goes before both.
    let sent = [(3, -50_000, false), (9, -50_000, false), (12, 50_000, false)];
    let books = reconcile(&between(&sent, "EUR", &[(4, 50_000, false)])).unwrap();
    is_clear(&books);
    let sent = [(3, -50_000, false), (12, 50_000, true)];
    let books = reconcile(&between(&sent, "EUR", &[(4, 50_000, false), (11, -50_000, true)])).unwrap();
    is_clear(&books);
    let books = reconcile(&between(&sent, "EUR", &[(4, 50_000, false)])).unwrap();
    assert_eq!(alone(&books), [name(SECOND, 1)]);
}

#[test]
fn what_was_lost_on_the_way_is_decided() {
    let undecided = between(&[(3, -50_000, false)], "EUR", &[(5, 48_000, false)]);
    let told = reconcile(&undecided).unwrap();
    assert_eq!(reasons(&told), [("in_transit", -50_000), ("in_transit", 48_000)]);
    // Whichever of the two has the row, and whichever is booked first.
    for days in [[3, 5], [5, 3], [3, 50]] {
        let mut inputs = between(&[(days[0], -50_000, false)], "EUR", &[(days[1], 48_000, false)]);
        let month = if days[1] == 50 { "S2026-07" } else { "S2026-06" };
        let second = PaymentId { statement: month.into(), ..id(SECOND, 1) };
        for decision in [
            sides(2, id(FIRST, 1), "EUR", -50_000, &second.to_string()),
            sides(2, second.clone(), "EUR", 48_000, &name(FIRST, 1)),
        ] {
            inputs.decisions = vec![decision];
            let books = reconcile(&inputs).unwrap();
            is_clear_but(&books, &[("in_transit", -2_000)]);
            assert_eq!((balance(&books, Role::BankCharges), balance(&books, Role::Exchange)), (2_000, 0));
            assert_eq!(balance(&books, Role::Bank), -2_000);
            // One of them alone is in transit until the other is there, and takes nothing else.
            let mut early = inputs.clone();
            early.terms.until = day(days[0].max(days[1]) - 1);
            assert_eq!(alone(&reconcile(&early).unwrap()).len(), 1);
        }
    }
    // Between two accounts in francs, and between two currencies.
    let mut inputs = between(&[(3, -50_000, false)], "CHF", &[(20, 40_000, false)]);
    inputs.decisions = vec![sides(2, id(SECOND, 1), "CHF", 40_000, &name(FIRST, 1))];
    let books = reconcile(&inputs).unwrap();
    is_clear_but(&books, &[("currency", -6_493)]);
    // 400.00 CHF are 435.07 EUR.
    assert_eq!((balance(&books, Role::BankCharges), balance(&books, Role::Exchange)), (0, 6_493));
    inputs.statements.iter_mut().for_each(|statement| statement.currency = currency("CHF"));
    let books = reconcile(&inputs).unwrap();
    is_clear_but(&books, &[("in_transit", -10_000)]);
    // 500.00 CHF are 543.83 EUR, and 100.00 CHF are 108.77 EUR.
    assert_eq!((balance(&books, Role::BankCharges), balance(&books, Role::Exchange)), (10_877, -1));
}

#[test]
fn decisions_about_two_sides_are_held_against_what_was_loaded() {
    let moved = [(3, -50_000, false), (3, -40_000, false)];
    let mut inputs = between(&moved, "EUR", &[(5, 48_000, false), (6, 1_000, false)]);
    let mut refused = |decisions: &[Decision]| -> Vec<(u32, &'static str, String)> {
        inputs.decisions = decisions.to_vec();
        match reconcile(&inputs) {
            Err(Unreconciled::Undecidable(slips)) => {
                slips.into_iter().map(|slip| (slip.place.line, slip.code, slip.found)).collect()
            }
            other => panic!("{:?}", other.map(|books| books.undecided)),
        }
    };
    let (first, other) = (id(FIRST, 1), name(SECOND, 1));
    let told = refused(&[
        // Not all of it; not there; itself; both leave; more arrives than left.
        sides(2, first.clone(), "EUR", -48_000, &other),
    ]);
    assert_eq!(told, [(2, "does_not_add_up", "-480.00 EUR".into())]);
    for nowhere in [name(SECOND, 9), name(FIRST, 1), "R-1".into(), format!("{other}0")] {
        let told = refused(&[sides(2, first.clone(), "EUR", -50_000, &nowhere)]);
        assert_eq!(told, [(2, "unknown_payment", nowhere)]);
    }
    for (payment, minor, other, found) in [
        (id(FIRST, 1), -50_000, name(FIRST, 2), "-500.00 EUR and -400.00 EUR"),
        (id(FIRST, 2), -40_000, name(SECOND, 1), "-400.00 EUR and 480.00 EUR"),
    ] {
        let told = refused(&[sides(2, payment, "EUR", minor, &other)]);
        assert_eq!(told, [(2, "does_not_add_up", found.into())]);
    }
    // Two others, and an invoice.
    let one = sides(2, first.clone(), "EUR", -50_000, &other);
    let two = sides(3, first, "EUR", -50_000, &name(SECOND, 2));
    assert_eq!(refused(&[two, one.clone()]), [(3, "decided_twice", name(FIRST, 1))]);
    let two = sides(3, id(SECOND, 1), "EUR", 48_000, &name(FIRST, 2));
    let told = refused(&[one.clone(), two]);
    assert!(told.contains(&(3, "decided_twice", other.clone())), "{told:?}");
    let towards =
        vec![Part { invoice: world::invoice_number(0).into(), currency: currency("EUR"), minor: 48_000 }];
    let paid = Decision::Payment { place: place("decided_payments.csv", 4), payment: id(SECOND, 1), towards };
    assert_eq!(refused(&[one.clone(), paid]), [(4, "decided_twice", other)]);
    // What says the same of both is no mistake.
    let same = sides(3, id(SECOND, 1), "EUR", 48_000, &name(FIRST, 1));
    inputs.decisions = vec![one, same];
    assert_eq!(balance(&reconcile(&inputs).unwrap(), Role::BankCharges), 2_000);
}

/// The month is closed with it; the other side settles it, and is named.
#[test]
fn the_other_side_settles_what_a_month_was_closed_with() {
    let mut inputs = between(&[(3, -50_000, false)], "EUR", &[(40, 50_000, false)]);
    let june = "2026-06".parse::<Month>().unwrap();
    inputs.terms.until = june.last_day();
    let closed = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&closed), [("in_transit", -50_000)]);
    inputs.closings = vec![closed.close(june).unwrap()];
    inputs.terms.until = june.next().last_day();
    let books = reconcile(&inputs).unwrap();
    is_clear(&books);
    let by: Vec<_> = books.settled[0].by.iter().map(|one| (one.paper, &*one.number)).collect();
    let other = PaymentId { statement: "S2026-07".into(), ..id(SECOND, 1) }.to_string();
    assert_eq!(by, [(Paper::Payment, &*other)]);
    assert_eq!(books.settled[0].posted, day(40));
}

/// A month is closed with two sides that are alone. A late paper has what could be the other side of either: that is
/// asked, and settles neither until it is decided.
#[test]
fn a_question_of_other_sides_settles_nothing() {
    let [june, july, august] = ["2026-06", "2026-07", "2026-08"].map(|month| month.parse::<Month>().unwrap());
    let left = [(3, -100_000, false), (3, -100_100, false)];
    let both = [("in_transit", -100_100), ("in_transit", -100_000)];
    let mut inputs = between(&left, "CHF", &[(50, 100, false)]);
    let close = |inputs: &mut Inputs, month: Month| {
        inputs.terms.until = month.last_day();
        let books = reconcile(inputs).unwrap();
        inputs.closings.push(books.close(month).unwrap());
        books
    };
    assert_eq!(reasons(&close(&mut inputs, june)), both);
    // 919.86 CHF are 1000.50 EUR.
    inputs.statements = between(&left, "CHF", &[(5, 91_986, false)]).statements;
    let books = close(&mut inputs, july);
    assert_eq!((books.undecided.len(), books.undecided[0].why), (1, Why::OtherSide));
    assert_eq!((reasons(&books), books.settled.len(), alone(&books).len()), (both.into(), 0, 3));
    assert_eq!(inputs.closings[1].settled, []);
    // One that nothing was closed with is asked about, and not told as well.
    let mut open = inputs.clone();
    open.closings.clear();
    assert_eq!(reasons(&reconcile(&open).unwrap()), []);
    inputs.decisions = vec![sides(2, id(SECOND, 1), "CHF", 91_986, &name(FIRST, 1))];
    let books = close(&mut inputs, august);
    assert_eq!((reasons(&books), alone(&books)), (vec![("in_transit", -100_100)], vec![name(FIRST, 2)]));
    let settled: Vec<_> =
        books.settled.iter().map(|one| (one.found.difference.amount_minor, one.by.len())).collect();
    assert_eq!(settled, [(-100_000, 1)]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Of any sides of two currencies: the same sides go together in whatever order the statements come, and none that is
    /// left has an other side that nobody took and nothing is asked of.
    #[test]
    fn no_two_sides_are_left_that_belong_together(
        left in prop::collection::vec((0_u64..28, 990_i64..1_010), 0..8),
        came in prop::collection::vec((0_u64..28, 910_i64..930), 0..8),
    ) {
        let own = |moves: &[(u64, i64)], sign: i64| -> Vec<own::Move> {
            let mut all: Vec<_> = moves.iter().map(|(on, minor)| (*on, sign * minor * 100, false)).collect();
            all.sort_unstable();
            all
        };
        let inputs = between(&own(&left, -1), "CHF", &own(&came, 1));
        let books = reconcile(&inputs).unwrap();
        prop_assert_eq!(books.in_transit.iter().map(|one| i128::from(one.base_minor)).sum::<i128>(), balance(&books, Role::Transit));
        if books.undecided.is_empty() {
            for one in books.in_transit.iter().filter(|one| one.minor > 0) {
                for other in books.in_transit.iter().filter(|other| other.minor < 0) {
                    let is_near = (one.day - other.day).num_days().abs() <= 10;
                    let is_within = (one.base_minor + other.base_minor).abs() * 100 <= one.base_minor;
                    prop_assert!(!is_near || !is_within, "{:?}\n{:?}", one, other);
                }
            }
        }
        let mut turned = inputs;
        turned.statements.reverse();
        prop_assert_eq!(reconcile(&turned).unwrap(), books);
    }
}

/// An account with statements is ours, whether it is listed or not: what goes to it is a transfer on both sides.
#[test]
fn what_there_are_statements_of_need_not_be_listed() {
    let moved = between(&[(3, -50_000, false)], "EUR", &[(5, 50_000, false)]);
    for listed in 0..3 {
        let mut inputs = moved.clone();
        inputs.terms.accounts.truncate(listed);
        is_clear(&reconcile(&inputs).unwrap());
        inputs.terms.accounts = moved.terms.accounts[2 - listed..].to_vec();
        let books = reconcile(&inputs).unwrap();
        is_clear(&books);
        assert_eq!(balance(&books, Role::Clearing), 0);
    }
    // However many there are.
    let mut three = moved;
    three.terms.accounts.clear();
    three.statements.extend(own::moves("AT61 1904 3002 3457 3201", "EUR", "DE00", &[(3, 0, false)]));
    is_clear(&reconcile(&three).unwrap());
}
