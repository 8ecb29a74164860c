//! `bank_accounts.csv`: whose bank accounts there are.

use evenfare_reconcile::input::Place;
use evenfare_reconcile::reference::normal;
use evenfare_reconcile::terms::BankAccount;

use crate::Iban;
use crate::books::list::{Columns, parse as rows_of};
use crate::books::rows::{Said, Shared, bytes, line, once, sound};
use crate::fields::Fields;
use crate::log::Log;

const COLUMNS: Columns = Columns { names: &["account", "iban", "firm"], optional: &["account", "iban"] };
const EXPECTED: &str = "an IBAN or the bank's own number";

/// Reads the accounts, each once however it is spelled.
pub(super) fn parse(text: &str, log: &mut Log) -> Vec<BankAccount> {
    let rows = once(rows_of(text, &COLUMNS, log, row), log);
    rows.into_iter()
        .map(|(place, account, firm)| BankAccount { place, account: account.into(), firm })
        .collect()
}

/// A row by its account without what people put in and leave out, for so it is known again.
fn row(place: Place, fields: &mut Fields) -> Option<Said<String, Shared>> {
    let firm = line(fields, "firm");
    let is_said = |fields: &mut Fields, name| fields.node(name).is_some_and(|node| !node.is_absent());
    let (account, cell) = match (is_said(fields, "account"), is_said(fields, "iban")) {
        (_, false) => (account(fields), bytes(fields, "account")),
        (false, true) => {
            (sound::<Iban>(fields, "iban").map(|iban| normal(iban.as_str())), bytes(fields, "iban"))
        }
        (true, true) => {
            let account = fields.node("account")?;
            let expected = "nothing, as the account is said under iban";
            fields.log.error(account.bytes.clone(), "said_twice", &account.in_words(), expected);
            return None;
        }
    };
    Some(Said { place, key: account?, value: firm?, bytes: cell })
}

fn account(fields: &mut Fields) -> Option<String> {
    let expected = format!("{EXPECTED}, or iban");
    fields.need_with("account", &expected, |node, log| {
        let account = normal(&node.in_words());
        if account.is_empty() {
            let expected = format!("{EXPECTED}: letters and digits");
            log.error(node.bytes.clone(), "not_an_account", &node.in_words(), expected);
        }
        Some(account).filter(|account| !account.is_empty())
    })
}
