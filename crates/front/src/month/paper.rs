//! Statements and the overview as people hand them on: on paper, and in a spreadsheet.

use std::collections::BTreeMap;

use evenfare_engine::language::Language;
use evenfare_engine::money::Currency;
use evenfare_engine::tariff::Party;
use evenfare_paper::accounts::{AccountStatement, MarginOverview};
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::month::Month;

use super::done::Done;
use super::form::{Form, NotWritten};

/// A party's statement for the month. A partner is told the differences that concern him.
pub(super) fn statement(
    done: &Done,
    workshop: &Party,
    (party, currency): (&str, Currency),
    form: Form,
) -> Result<Vec<u8>, NotWritten> {
    let (account, month) = (done.statement(party, currency)?, done.month_of_statements());
    let known = done.parties.others.get(party);
    let firm = Firm {
        id: party.into(),
        name: done.name(party).into(),
        vat_id: known.and_then(|known| known.vat_id.as_deref()).map(Into::into),
    };
    let bonuses: Vec<&Earned> = done.bonuses_of(party).filter(|_| currency == done.currency).collect();
    let given = AccountStatement {
        workshop,
        stationery: &done.with.stationery,
        firm: &firm,
        address: known,
        currency,
        month,
        is_closed: done.is_closed(month),
        account: &account,
        bonuses: &bonuses,
        differences: &done.told(party),
        language: known.and_then(|known| known.language).unwrap_or_else(|| language(done)),
    };
    match form {
        #[cfg(feature = "pdf")]
        Form::Pdf => set(&evenfare_paper::sheet::account_statement(&given)),
        #[cfg(feature = "workbook")]
        Form::Xlsx => evenfare_paper::workbook::account_statement(&given).map_err(not_set),
    }
}

/// The overview of margins, for the accountant.
pub(super) fn overview(done: &Done, workshop: &Party, form: Form) -> Result<Vec<u8>, NotWritten> {
    let parties = done.parties.others.iter();
    let parties: BTreeMap<String, String> =
        parties.map(|(id, party)| (id.to_string(), party.name.to_string())).collect();
    let given = MarginOverview {
        workshop,
        stationery: &done.with.stationery,
        overview: &done.books.overview,
        currency: done.currency,
        until: done.until,
        is_closed: done.is_closed(Month::of(done.until)),
        changes: &done.changes(),
        renumbered: &done.books.charts.renumbered(),
        parties: &parties,
        families: &done.with.families,
        language: language(done),
    };
    match form {
        #[cfg(feature = "pdf")]
        Form::Pdf => set(&evenfare_paper::sheet::margin_overview(&given)?),
        #[cfg(feature = "workbook")]
        Form::Xlsx => evenfare_paper::workbook::margin_overview(&given).map_err(not_set),
    }
}

/// The workshop's own.
fn language(done: &Done) -> Language {
    done.with.stationery.letterhead.language
}

#[cfg(feature = "pdf")]
fn set(sheet: &evenfare_paper::sheet::Sheet) -> Result<Vec<u8>, NotWritten> {
    evenfare_paper::pdf::pdf(sheet, &[]).map_err(not_set)
}

fn not_set(error: impl std::fmt::Display) -> NotWritten {
    NotWritten::NotSet(error.to_string())
}
