//! Statements of one account: which follow one another, and what is told of those that do not.

use evenfare_reconcile::error::{How, Unreconciled, Untied};
use evenfare_reconcile::input::{Balance, Batch, Statement, Status};
use evenfare_reconcile::{Inputs, reconcile};

use crate::world::{currency, day, empty, payment, place};

/// A statement of these days that moves the account from the one balance to the other, in one entry.
fn statement(id: &str, days: (u64, u64), (opening, closing): (i64, i64)) -> Statement {
    let minor = closing - opening;
    let batch = |booked, minor| {
        let payer = evenfare_reconcile::firm::Firm { id: "X".into(), name: "Somebody".into(), vat_id: None };
        let payments = vec![payment(minor, &payer, "for nothing that was agreed")];
        let (place, status) = (place("camt.xml", 1), Status::Booked);
        Batch { place, reference: None, minor, reversal: false, status, booked, value: None, payments }
    };
    Statement {
        place: place(&format!("{id}.xml"), 6),
        id: id.into(),
        account: "DE02 1203 0000 0000 2020 51".into(),
        currency: currency("EUR"),
        opening: Balance { day: day(days.0), minor: opening },
        closing: Balance { day: day(days.1), minor: closing },
        batches: if minor == 0 { Vec::new() } else { vec![batch(day(days.1), minor)] },
    }
}

/// What is wrong between which; nothing where they are one chain. Their order is of no account.
fn untied(statements: &[Statement]) -> Vec<(How, String, String)> {
    let told = |inputs: &Inputs| match reconcile(inputs) {
        Ok(_) => Vec::new(),
        Err(Unreconciled::StatementsUntied { untied }) => untied,
        Err(error) => panic!("{error}"),
    };
    let mut inputs = empty();
    inputs.statements = statements.to_vec();
    let one = told(&inputs);
    inputs.statements.reverse();
    assert_eq!(told(&inputs), one);
    one.into_iter()
        .map(|Untied { how, earlier, later, .. }| (how, earlier.id.into(), later.id.into()))
        .collect()
}

fn of(how: How, earlier: &str, later: &str) -> (How, String, String) {
    (how, earlier.to_owned(), later.to_owned())
}

#[test]
fn statements_of_an_account_are_one_chain() {
    let chain = [
        statement("june", (0, 29), (1_000, 1_500)),
        // Dated by the day that the one before it closed on, as some banks do.
        statement("july", (29, 60), (1_500, 1_200)),
        // Nothing moved for a while, so no statement was sent.
        statement("august", (70, 80), (1_200, 1_900)),
    ];
    assert_eq!(untied(&chain), []);
    // Another account, and another currency of the same number, have nothing to do with it.
    let mut others = chain.to_vec();
    let mut other = statement("june", (3, 12), (7, 9));
    other.account = "DE79 0000".into();
    let mut francs = statement("francs", (3, 12), (7, 9));
    francs.currency = currency("CHF");
    others.extend([other, francs]);
    assert_eq!(untied(&others), []);
    // The same account, written in another way, has.
    let mut again = statement("again", (81, 82), (1, 2));
    again.account = "de02120300000000202051".into();
    others.push(again);
    assert_eq!(untied(&others), [of(How::Apart, "august", "again")]);
}

#[test]
fn statements_of_one_day_are_put_in_sequence_by_their_balances() {
    // The account holds 100 three times that day; what is first by name leads nowhere.
    let day = [
        statement("a", (5, 5), (100, 70)),
        statement("b", (5, 5), (100, 150)),
        statement("c", (5, 5), (150, 100)),
        statement("d", (5, 5), (100, 30)),
        statement("e", (5, 5), (30, 100)),
    ];
    assert_eq!(untied(&day), []);
    let mut between = day.to_vec();
    between.push(statement("before", (0, 4), (0, 100)));
    between.push(statement("after", (5, 9), (70, 80)));
    assert_eq!(untied(&between), []);
    // The same came in twice, each time in a statement of its own.
    assert_eq!(untied(&[statement("1", (5, 5), (100, 150)), statement("2", (5, 5), (150, 200))]), []);
    // Pages of one statement, one following the other by an interim balance.
    let pages = [
        statement("1", (0, 12), (10, 30)),
        statement("2", (12, 30), (30, 20)),
        statement("3", (30, 30), (20, 90)),
    ];
    assert_eq!(untied(&[&pages[..2], &[statement("3", (30, 30), (20, 90))]].concat()), []);
    let mut torn = between;
    torn.remove(4);
    assert_eq!(untied(&torn).len(), 1, "one of the day is missing");
}

#[test]
fn a_missing_statement_between_two_is_refused() {
    let june = statement("june", (0, 29), (1_000, 1_500));
    let august = statement("august", (61, 91), (1_200, 1_900));
    let mut inputs = empty();
    inputs.statements = vec![june, august];
    let told = reconcile(&inputs).unwrap_err();
    assert_eq!(told.code(), "statements_untied");
    assert_eq!(
        told.to_string(),
        "account DE02 1203 0000 0000 2020 51: statement `june` at june.xml:6 closes with 15.00 EUR on 2026-06-30, \
         statement `august` at august.xml:6 opens with 12.00 EUR on 2026-08-01: one between them is missing, or \
         one was changed"
    );
    inputs.statements.push(statement("july", (30, 60), (1_500, 1_200)));
    assert!(reconcile(&inputs).is_ok());
}

#[test]
fn overlapping_statements_are_refused() {
    let june = statement("june", (0, 29), (1_000, 1_500));
    // The same days under another name, one within, and one that reaches beyond; all are told at once.
    let copy = statement("june-2", (0, 29), (1_000, 1_500));
    let week = statement("week", (7, 13), (1_000, 1_500));
    let beyond = statement("beyond", (25, 40), (1_400, 1_500));
    let next = statement("july", (41, 60), (1_501, 1_600));
    assert_eq!(
        untied(&[june.clone(), copy.clone(), week, beyond, next]),
        [
            of(How::Overlap, "june", "june-2"),
            of(How::Overlap, "june", "week"),
            of(How::Overlap, "june", "beyond"),
            of(How::Apart, "beyond", "july"),
        ]
    );
    let mut inputs = empty();
    inputs.statements = vec![june.clone(), copy];
    assert_eq!(
        reconcile(&inputs).unwrap_err().to_string(),
        "account DE02 1203 0000 0000 2020 51: statement `june-2` at june-2.xml:6 is of 2026-06-01 to 2026-06-30, but \
         statement `june` at june.xml:6 is of 2026-06-01 to 2026-06-30: the days of both count twice"
    );
    // Under its own name it is no other statement.
    inputs.statements[1] = june;
    assert!(reconcile(&inputs).is_ok());
    // A day that ends as it began chains with itself, and is told twice all the same.
    let mut one = statement("one", (5, 5), (100, 160));
    let back = statement("back", (5, 5), (160, 100));
    one.closing = back.closing;
    one.batches.extend(back.batches);
    let other = Statement { id: "other".into(), ..one.clone() };
    assert_eq!(untied(&[one.clone(), other]), [of(How::Overlap, "one", "other")]);
    // Of a day on which nothing moved nothing is told twice.
    one.batches.clear();
    let other = Statement { id: "other".into(), ..one.clone() };
    assert_eq!(untied(&[one, other]), []);
}
