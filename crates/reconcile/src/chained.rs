//! Statements of one account follow one another: each opens with what the one before it closed with.

use std::collections::BTreeMap;

use crate::error::{Unreconciled, Untied};
use crate::input::Statement;
use crate::reference::normal;

/// Are the statements of every account one chain, without a gap and without days that are told twice?
///
/// A day may be shared, for a bank may send several statements of one day, date a statement's opening by the
/// day that the one before it closed on, or part a statement into pages. The balances show the order then.
///
/// # Errors
/// [`Unreconciled::StatementsUntied`] with every place where they are not.
pub(crate) fn chained(statements: &[&Statement]) -> Result<(), Unreconciled> {
    let mut accounts: BTreeMap<_, Vec<&Statement>> = BTreeMap::new();
    for statement in statements {
        let account = (normal(&statement.account), statement.currency.code());
        accounts.entry(account).or_default().push(statement);
    }
    let mut untied = Vec::new();
    for own in accounts.into_values() {
        of_account(own, &mut untied);
    }
    if untied.is_empty() { Ok(()) } else { Err(Unreconciled::StatementsUntied { untied }) }
}

fn of_account(mut own: Vec<&Statement>, untied: &mut Vec<Untied>) {
    let days = |one: &Statement| (one.opening.day, one.closing.day);
    let balances = |one: &Statement| (one.opening.minor, one.closing.minor);
    own.sort_by_key(|one| (days(one), balances(one)));
    // The same under another name would chain where what came in went out again.
    own.dedup_by(|later, earlier| {
        let again = days(earlier) == days(later) && balances(earlier) == balances(later);
        let again = again && !earlier.batches.is_empty() && earlier.has_entries_of(later);
        if again {
            untied.push(Untied::overlap(earlier, later));
        }
        again
    });
    // That which reaches furthest so far.
    let mut last: Option<&Statement> = None;
    for same_days in own.chunk_by(|a, b| days(a) == days(b)) {
        for next in in_sequence(same_days, last.map(|last| last.closing.minor)) {
            match last {
                Some(last) if next.opening.day < last.closing.day => {
                    untied.push(Untied::overlap(last, next));
                }
                Some(last) if next.opening.minor != last.closing.minor => {
                    untied.push(Untied::apart(last, next));
                }
                _ => {}
            }
            if last.is_none_or(|last| last.closing.day <= next.closing.day) {
                last = Some(next);
            }
        }
    }
}

/// Statements of the same days in an order in which each opens with what the one before it closed with, the
/// first with what was held before; in any order where there is none.
///
/// A balance may be held several times a day, so that the first statement that fits may lead nowhere: it is the
/// way through all of them that is looked for, by Hierholzer's algorithm, in which balances are the places
/// and statements the ways between them.
fn in_sequence<'a>(statements: &[&'a Statement], held: Option<i64>) -> Vec<&'a Statement> {
    let mut from: BTreeMap<i64, Vec<&'a Statement>> = BTreeMap::new();
    let mut surplus: BTreeMap<i64, i64> = BTreeMap::new();
    for statement in statements {
        let (opening, closing) = (statement.opening.minor, statement.closing.minor);
        from.entry(opening).or_default().push(statement);
        for (balance, by) in [(opening, 1), (closing, -1)] {
            let one = surplus.entry(balance).or_default();
            *one = one.saturating_add(by);
        }
    }
    // Where more begins than ends, the whole begins.
    let begins = surplus.iter().find(|(_, surplus)| **surplus > 0).map(|(balance, _)| *balance);
    let mut start = held.filter(|held| from.contains_key(held)).or(begins);
    let mut sequence = Vec::with_capacity(statements.len());
    while let Some(balance) = start.or_else(|| from.keys().next().copied()) {
        let mut way = Vec::new();
        let mut open: Vec<(i64, Option<&Statement>)> = vec![(balance, None)];
        while let Some(&(balance, by)) = open.last() {
            if let Some(next) = from.get_mut(&balance).and_then(Vec::pop) {
                open.push((next.closing.minor, Some(next)));
            } else {
                open.pop();
                way.extend(by);
            }
        }
        sequence.extend(way.into_iter().rev());
        from.retain(|_, left| !left.is_empty());
        start = None;
    }
    sequence
}
