//! What is open on accounts, for programs.

use chrono::NaiveDate;
use evenfare_reconcile::left_open::OpenItem;
use serde::Serialize;

/// Something that is open on a party's account.
#[derive(Serialize)]
pub(super) struct Open {
    party: String,
    what: &'static str,
    document: String,
    quote: Option<String>,
    day: NaiveDate,
    due: Option<NaiveDate>,
    currency: &'static str,
    open_minor: i64,
    /// An entry of a later month settles or corrects it.
    later: bool,
}

impl From<OpenItem> for Open {
    fn from(one: OpenItem) -> Self {
        Self {
            party: one.party.to_string(),
            what: one.what.word(),
            document: one.document.into(),
            quote: one.quote.map(Into::into),
            day: one.day,
            due: one.due,
            currency: one.currency.code(),
            open_minor: one.minor,
            later: one.is_later,
        }
    }
}
