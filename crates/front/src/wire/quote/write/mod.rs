//! From the engine to the wire: what one reader sees, and nothing else.
//!
//! Written field by field straight from the view, from the last field of `quote.proto` to the first.

mod units;
mod working;
mod offer;

use chrono::{Datelike, NaiveDate};
use evenfare_engine::language::Language;
use evenfare_engine::tariff::Party;
use evenfare_engine::view::View;

use crate::wire::backwards::Backwards;

/// The message `Quote`. It carries every figure that the view has, in words and numbers of the wire:
/// `wire_and_json_carry_the_same_figures`.
///
/// What the office sees is the whole quote, and can be kept and read back: `a_kept_quote_is_the_quote`.
pub(super) fn quote(at: &mut Backwards, view: &View) {
    // XXX stands for no currency.
    let currency = Currency(view.currency.as_bytes().try_into().unwrap_or(*b"XXX"));
    at.messages(32, &view.refused, |at, refused| offer::refused(at, refused, currency));
    at.messages(31, &view.alternatives, |at, view| offer::offer(at, view, currency));
    at.message(30, |at| offer::offer(at, &view.main, currency));
    at.message(22, |at| party(at, &view.customer));
    at.message(21, |route| route.messages(1, &view.route, party));
    at.message(20, |at| party(at, &view.workshop));
    day(at, 14, view.tax_date);
    day(at, 13, view.dispatch);
    day(at, 12, view.valid_until);
    day(at, 11, view.quoted);
    day(at, 10, view.received);
    at.text(5, &view.currency);
    at.text(4, view.edition.as_str());
    at.number(3, view.reversal);
    at.number(2, view.revision);
    at.text(1, view.reference.as_str());
}

/// The currency of a quote, to write its amounts in.
#[derive(Clone, Copy)]
struct Currency([u8; 3]);

impl Currency {
    fn money(self, at: &mut Backwards, field: u32, minor: i64) {
        at.message(field, |money| {
            money.letters(2, self.0);
            money.signed(1, minor);
        });
    }

    /// An amount that the reader may not know, or that there is none of.
    fn some_money(self, at: &mut Backwards, field: u32, minor: Option<i64>) {
        if let Some(minor) = minor {
            self.money(at, field, minor);
        }
    }
}

fn day(at: &mut Backwards, field: u32, day: NaiveDate) {
    at.message(field, |date| {
        date.number(3, day.day());
        date.number(2, day.month());
        date.signed(1, day.year());
    });
}

fn party(at: &mut Backwards, party: &Party) {
    at.some_text(14, party.language.map(Language::word));
    at.text(13, party.country.as_str());
    at.text(12, party.city.as_str());
    at.text(11, party.postcode.as_str());
    at.text(10, party.street.as_str());
    at.some_text(3, party.vat_id.as_deref());
    at.text(2, party.name.as_str());
    at.text(1, party.code.as_str());
}
