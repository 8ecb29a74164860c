//! From the engine to the wire: what one reader sees, and nothing else.

mod units;
mod working;
mod offer;

use evenfare_engine::tariff::Party;
use evenfare_engine::view::View;

use crate::wire::pb;

pub(super) use offer::offer;

/// Writes what a reader sees of a quote. It carries every figure that the view has, in words and
/// numbers of the wire: `wire_and_json_carry_the_same_figures`.
///
/// What the office sees is the whole quote, and can be kept and read back: `a_kept_quote_is_the_quote`.
impl From<View> for pb::Quote {
    fn from(view: View) -> Self {
        let currency = Currency { code: &view.currency };
        Self {
            reference: view.reference.into(),
            revision: view.revision,
            reversal: view.reversal,
            edition: view.edition.into(),
            received: Some(view.received.into()),
            quoted: Some(view.quoted.into()),
            valid_until: Some(view.valid_until.into()),
            dispatch: Some(view.dispatch.into()),
            tax_date: Some(view.tax_date.into()),
            workshop: Some(party(view.workshop)),
            route: Some(pb::Route { partners: view.route.into_iter().map(party).collect() }),
            customer: Some(party(view.customer)),
            main: Some(offer(view.main, currency)),
            alternatives: view.alternatives.into_iter().map(|view| offer(view, currency)).collect(),
            refused: view.refused.into_iter().map(|view| offer::refused(view, currency)).collect(),
            currency_code: view.currency,
        }
    }
}

/// The currency of a quote, to make its amounts in.
#[derive(Clone, Copy)]
pub(super) struct Currency<'v> {
    pub(super) code: &'v str,
}

impl Currency<'_> {
    fn money(self, amount_minor: i64) -> pb::Money {
        pb::Money { amount_minor, currency_code: self.code.to_owned() }
    }
}

fn party(party: Party) -> pb::Party {
    pb::Party {
        code: party.code.into(),
        name: party.name.into(),
        vat_id: party.vat_id,
        street: party.street.into(),
        postcode: party.postcode.into(),
        city: party.city.into(),
        country_code: party.country.to_string(),
        language_code: party.language.map(|language| language.word().to_owned()),
    }
}
