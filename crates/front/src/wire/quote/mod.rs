//! Quotes, on their way out: what one reader sees, and nothing else.

mod units;
mod working;
mod offer;

use evenfare_engine::tariff::Party;
use evenfare_engine::view::View;

use crate::wire::pb;

/// Writes what a reader sees of a quote. It carries every figure that the view has, in words and
/// numbers of the wire: `wire_and_json_carry_the_same_figures`.
impl From<&View> for pb::Quote {
    fn from(view: &View) -> Self {
        let currency = Currency { code: &view.currency };
        Self {
            reference: view.reference.to_string(),
            revision: view.revision,
            reversal: view.reversal,
            edition: view.edition.to_string(),
            currency_code: view.currency.clone(),
            received: Some(view.received.into()),
            quoted: Some(view.quoted.into()),
            valid_until: Some(view.valid_until.into()),
            dispatch: Some(view.dispatch.into()),
            tax_date: Some(view.tax_date.into()),
            workshop: Some(party(&view.workshop)),
            route: Some(pb::Route { partners: view.route.iter().map(party).collect() }),
            customer: Some(party(&view.customer)),
            main: Some(offer::offer(&view.main, currency)),
            alternatives: view.alternatives.iter().map(|view| offer::offer(view, currency)).collect(),
            refused: view.refused.iter().map(|view| offer::refused(view, currency)).collect(),
        }
    }
}

/// The currency of a quote, to make its amounts in.
#[derive(Clone, Copy)]
struct Currency<'v> {
    code: &'v str,
}

impl Currency<'_> {
    fn money(self, amount_minor: i64) -> pb::Money {
        pb::Money { amount_minor, currency_code: self.code.to_owned() }
    }
}

fn party(party: &Party) -> pb::Party {
    pb::Party {
        code: party.code.to_string(),
        name: party.name.to_string(),
        vat_id: party.vat_id.clone(),
        street: party.street.to_string(),
        postcode: party.postcode.to_string(),
        city: party.city.to_string(),
        country_code: party.country.to_string(),
    }
}
