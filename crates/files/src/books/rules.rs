//! `books.toml`: the rules of the workshop's books.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use evenfare_engine::text::Code;
use evenfare_reconcile::terms::Terms;

use crate::fields::Fields;
use crate::log::Log;
use crate::toml_tree;

/// Reads the rules; accounts and bonuses have tables of their own.
pub(super) fn parse(text: &str, until: NaiveDate, log: &mut Log) -> Option<Terms> {
    let root = toml_tree::parse(text, log);
    let mut fields = Fields::of(&root, log)?;
    let currency = fields.need("currency");
    let rounding = fields.need::<u32>("rounding_minor");
    let currency_percent = fields.need("currency_percent");
    let payment_days = fields.need("payment_days");
    let reporting = fields.or_default::<Vec<Code>>("reporting");
    fields.finish();
    let reporting: BTreeSet<_> = reporting?.iter().map(|code| code.as_str().into()).collect();
    Some(Terms {
        currency: currency?,
        until,
        rounding_minor: i64::from(rounding?),
        currency_percent: currency_percent?,
        payment_days: payment_days?,
        reporting,
        accounts: Vec::new(),
        bonuses: Vec::new(),
    })
}
