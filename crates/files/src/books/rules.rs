//! `books.toml`: the rules of the workshop's books.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use evenfare_engine::text::Code;
use evenfare_reconcile::input::Place;
use evenfare_reconcile::terms::Terms;

use crate::books::figure::place;
use crate::fields::Fields;
use crate::log::Log;
use crate::node::Node;
use crate::toml_tree;
use crate::value::Value;

/// A partner's code, and where it stands.
struct Partner {
    code: Code,
    place: Place,
}

impl Value for Partner {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        Some(Self { code: Code::read(node, log)?, place: place(node.bytes.start, log) })
    }

    fn expected() -> String {
        Code::expected()
    }
}

/// Reads the rules; accounts and bonuses have tables of their own.
pub(super) fn parse(text: &str, until: NaiveDate, log: &mut Log) -> Option<Terms> {
    let root = toml_tree::parse(text, log);
    let mut fields = Fields::of(&root, log)?;
    let currency = fields.need("currency");
    let rounding = fields.need::<u32>("rounding_minor");
    let currency_percent = fields.need("currency_percent");
    let payment_days = fields.need("payment_days");
    let reporting = fields.or_default::<Vec<Partner>>("reporting");
    fields.finish();
    let mut known = BTreeMap::new();
    for Partner { code, place } in reporting? {
        known.entry(code.as_str().into()).or_insert(place);
    }
    Some(Terms {
        currency: currency?,
        until,
        rounding_minor: i64::from(rounding?),
        currency_percent: currency_percent?,
        payment_days: payment_days?,
        reporting: known,
        accounts: Vec::new(),
        bonuses: Vec::new(),
    })
}
