//! `chart.csv`: which account plays which part.

use std::collections::BTreeMap;

use evenfare_engine::text::Text;
use evenfare_reconcile::chart::{Chart, Role};
use evenfare_reconcile::input::Place;

use crate::books::list::{Columns, parse as rows_of};
use crate::books::rows::{Said, Shared, bytes, line, once};
use crate::fields::Fields;
use crate::log::Log;
use crate::source::Bytes;

const COLUMNS: Columns =
    Columns { names: &["role", "account", "text", "shared"], optional: &["text", "shared"] };

/// An account as it is written, and whether another part may have it too.
struct Row {
    account: Shared,
    is_shared: bool,
    account_cell: Bytes,
    shared_cell: Bytes,
}

/// A second row of a part says the same where its account is the same.
impl PartialEq for Row {
    fn eq(&self, other: &Self) -> bool {
        (&self.account, self.is_shared) == (&other.account, other.is_shared)
    }
}

/// Reads the chart. Two parts have one account only where both say so: a difference between parts of one account shows
/// in no balance.
pub(super) fn parse(text: &str, log: &mut Log) -> Chart {
    let before = log.errors();
    let rows = once(rows_of(text, &COLUMNS, log, row), log);
    // A row that is not there may be the one of the other part.
    if log.errors() == before {
        hold_apart(&rows, log);
    }
    Chart::new(rows.into_iter().map(|(_, role, row)| (role, row.account)))
}

fn row(place: Place, fields: &mut Fields) -> Option<Said<Role, Row>> {
    let (role, account) = (fields.need("role"), line(fields, "account"));
    fields.need::<Option<Text>>("text");
    let is_shared = fields.or_default("shared");
    let (account_cell, shared_cell) = (bytes(fields, "account"), bytes(fields, "shared"));
    let value = Row { account: account?, is_shared: is_shared?, account_cell, shared_cell };
    Some(Said { place, key: role?, value, bytes: bytes(fields, "role") })
}

/// An account number, however it is spaced and cased. Points and dashes may tell two apart.
fn spelled(account: &str) -> String {
    account.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

fn hold_apart(rows: &[(Place, Role, Row)], log: &mut Log) {
    let mut accounts: BTreeMap<String, Vec<&(Place, Role, Row)>> = BTreeMap::new();
    for row in rows {
        accounts.entry(spelled(&row.2.account)).or_default().push(row);
    }
    let is_named = |role: Role| rows.iter().any(|(_, own, _)| *own == role);
    let mut shared = |row: &Row, whose: String| {
        let expected = format!("an account that no other part has, but {whose}");
        log.error(row.account_cell.clone(), "account_shared", &row.account, expected);
    };
    let mut alone = Vec::new();
    for (account, mut of_account) in accounts {
        // A part that has no row goes by its word.
        let by_word = Role::ALL.iter().find(|role| role.word() == account && !is_named(**role));
        if let Some(role) = by_word {
            let whose = format!("`{}` has no row and goes by its word", role.word());
            of_account.iter().for_each(|(_, _, row)| shared(row, whose.clone()));
            continue;
        }
        of_account.sort_by_key(|(place, _, _)| place.line);
        match of_account.as_slice() {
            [(_, _, only)] if only.is_shared => alone.push(only),
            [first, others @ ..] => {
                for other in others {
                    let (silent, said) = if other.2.is_shared { (first, other) } else { (other, first) };
                    if !silent.2.is_shared {
                        let (line, role) = (said.0.line, said.1.word());
                        let whose =
                            format!("line {line} has it for `{role}`; or yes under shared in both rows");
                        shared(&silent.2, whose);
                    }
                }
            }
            [] => {}
        }
    }
    for row in alone {
        let expected = "an account that another part has too, or nothing here";
        log.error(row.shared_cell.clone(), "account_not_shared", "yes", expected);
    }
}
