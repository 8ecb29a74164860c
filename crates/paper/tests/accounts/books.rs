//! A month that was reconciled, and what its statements are written from.

use std::collections::BTreeMap;
use std::sync::Arc;

use evenfare_engine::language::Language;
use evenfare_engine::money::Currency;
use evenfare_engine::tariff::Party;
use evenfare_files::Stationery;
use evenfare_paper::accounts::{AccountStatement, MarginOverview};
use evenfare_reconcile::account::PartyStatement;
use evenfare_reconcile::change::changes;
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::overview::Overview;
use evenfare_reconcile::told::Told;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::letterhead::stationery;

pub fn month(text: &str) -> Month {
    text.parse().unwrap()
}

fn party(code: &str, name: &str, street: &str, town: [&str; 2], country: &str) -> Party {
    Party {
        code: code.parse().unwrap(),
        name: name.parse().unwrap(),
        street: street.parse().unwrap(),
        postcode: town[0].parse().unwrap(),
        city: town[1].parse().unwrap(),
        country: country.parse().unwrap(),
        vat_id: None,
        language: None,
    }
}

/// Books, and whose they are.
pub struct Books {
    pub reconciled: Reconciled,
    pub firms: BTreeMap<Arc<str>, Arc<Firm>>,
    pub stationery: Stationery,
    pub workshop: Party,
    pub partner: Party,
}

impl Books {
    pub fn of(inputs: &Inputs) -> Self {
        let sales = inputs.agreed.iter().flat_map(|agreed| &agreed.sales);
        let firms = sales.flat_map(|sale| [&sale.seller, &sale.buyer]);
        Self {
            reconciled: reconcile(inputs).unwrap(),
            firms: firms.map(|firm| (firm.id.clone(), firm.clone())).collect(),
            stationery: stationery(),
            workshop: party("workshop", "Werkbank Nord", "Am Speicher 4", ["99999", "Nirgendwo"], "DE"),
            partner: party("P-10", "Ofenwerk Süd", "Backgasse 12", ["1999", "Irgendwo"], "AT"),
        }
    }

    /// Whose account it is; a payer whom no quote knows is known by his name.
    pub fn firm(&self, id: &Arc<str>) -> Arc<Firm> {
        let unknown = || Arc::new(Firm { id: id.clone(), name: id.clone(), vat_id: None });
        self.firms.get(id).cloned().unwrap_or_else(unknown)
    }

    /// Each account that ever moved.
    pub fn accounts(&self) -> Vec<(Arc<str>, Currency)> {
        let months = self.reconciled.accounts.months().iter();
        let mut accounts: Vec<_> = months.map(|one| (one.party.clone(), one.currency)).collect();
        accounts.dedup();
        accounts
    }

    pub fn account(&self, party: &str, currency: Currency, month: Month) -> PartyStatement<'_> {
        self.reconciled.accounts.statement(&self.reconciled.journal, party, currency, month).unwrap()
    }

    /// What the statement of that account says; of `P-10` it is known where he is.
    pub fn with<T>(
        &self,
        (party, currency): (&Arc<str>, Currency),
        month: Month,
        language: Language,
        then: impl FnOnce(&AccountStatement<'_>) -> T,
    ) -> T {
        let bonuses = self.reconciled.bonuses.iter();
        let bonuses: Vec<&Earned> =
            bonuses.filter(|one| (&*one.partner, one.month) == (&**party, month)).collect();
        then(&AccountStatement {
            workshop: &self.workshop,
            stationery: &self.stationery,
            firm: &self.firm(party),
            address: (&**party == "P-10").then_some(&self.partner),
            currency,
            month,
            is_closed: true,
            account: &self.account(party, currency, month),
            bonuses: if currency.code() == "EUR" { &bonuses } else { &[] },
            differences: &Told::to(party, month, &self.reconciled.differences),
            language,
        })
    }

    /// What the overview says.
    pub fn with_overview<T>(
        &self,
        overview: &Overview,
        language: Language,
        then: impl FnOnce(&MarginOverview<'_>) -> T,
    ) -> T {
        let named = |names: &[(&str, &str)]| {
            names.iter().map(|(code, name)| (code.to_string(), name.to_string())).collect()
        };
        then(&MarginOverview {
            workshop: &self.workshop,
            stationery: &self.stationery,
            overview,
            currency: "EUR".parse().unwrap(),
            until: month("2026-08").last_day(),
            is_closed: true,
            changes: &changes(&self.reconciled.changed, &self.reconciled.restated, "EUR".parse().unwrap()),
            renumbered: &self.reconciled.charts.renumbered(),
            parties: &named(&[("P-10", "Ofenwerk Süd"), ("P-20", "Teigtechnik West")]),
            families: &named(&[("MIXER", "Spiral mixer controls"), ("OVEN", "Deck oven controls")]),
            language,
        })
    }
}
