//! What a sheet is written from, and how its words and figures are written.

use chrono::NaiveDate;
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Quantity};
use evenfare_engine::tariff::Party;
use evenfare_engine::text::Code;
use evenfare_engine::view::{OfferView, SaleView, View};
use evenfare_files::Stationery;

use super::NoSheet;
use crate::figures;
use crate::phrases::Phrases;
use crate::state::State;
use crate::words::{Value, Words};

/// What a sheet is written from.
#[derive(Clone, Copy)]
pub struct Given<'a> {
    /// What its reader sees of the quote.
    pub view: &'a View,
    /// The quote's number; nothing where it was not issued.
    pub number: Option<&'a str>,
    /// What became of it.
    pub state: State,
    /// The workshop's letterhead and its texts in other languages, of the edition that priced the quote.
    pub stationery: &'a Stationery,
    /// The reader's language.
    pub language: Language,
}

/// Writes what is given in the reader's language.
pub(super) struct Pen<'a> {
    pub(super) given: Given<'a>,
    pub(super) view: &'a View,
    pub(super) phrases: Phrases<'a>,
    pub(super) words: &'static Words,
    currency: Currency,
}

impl<'a> Pen<'a> {
    pub(super) fn new(given: &Given<'a>) -> Result<Self, NoSheet> {
        let phrases = Phrases::new(given.language, &given.stationery.translations);
        let currency = given.view.currency.parse()?;
        Ok(Self { given: *given, view: given.view, phrases, words: phrases.words, currency })
    }

    pub(super) fn say(&self, id: &str) -> String {
        self.words.say(id)
    }

    pub(super) fn say_with(&self, id: &str, told: &[(&str, Value<'_>)]) -> String {
        self.words.say_with(id, told)
    }

    /// An amount in a column that its currency heads.
    pub(super) fn amount(&self, minor: i64) -> String {
        figures::amount(self.given.language, minor, self.currency)
    }

    pub(super) fn money(&self, minor: i64) -> String {
        self.money_in(minor, self.currency)
    }

    /// An amount in another currency than the quote's.
    pub(super) fn money_in(&self, minor: i64, currency: Currency) -> String {
        figures::money(self.given.language, minor, currency)
    }

    /// The price of one in a column that its currency heads, where it is exact.
    pub(super) fn price_of_one(&self, minor: i64, quantity: Quantity) -> Option<String> {
        figures::price_of_one(self.given.language, minor, quantity, self.currency)
    }

    pub(super) fn date(&self, day: NaiveDate) -> String {
        figures::date(self.given.language, day)
    }

    pub(super) fn percent(&self, plain: &str) -> String {
        figures::percent(self.given.language, plain)
    }

    /// How much of a line; nothing where it is one of its kind.
    pub(super) fn quantity(&self, quantity: &str) -> String {
        if quantity.is_empty() { String::new() } else { self.words.quantity(quantity) }
    }

    /// The head of a column of amounts: what they are, in which currency.
    pub(super) fn headed(&self, id: &str) -> String {
        [&self.say(id), figures::NO_BREAK, self.currency.code()].concat()
    }

    pub(super) fn party(&self, code: &Code) -> Result<&'a Party, NoSheet> {
        self.view.party(code).ok_or_else(|| NoSheet::Party { found: code.clone() })
    }

    /// A firm as an address has it; its country where that is not the workshop's.
    pub(super) fn address(&self, party: &Party) -> Vec<String> {
        let town = [party.postcode.as_str(), party.city.as_str()].join(" ");
        let country =
            (party.country != self.view.workshop.country).then(|| self.words.country(party.country));
        [party.name.as_str().to_owned(), party.street.as_str().to_owned(), town.trim().to_owned()]
            .into_iter()
            .chain(country)
            .filter(|line| !line.is_empty())
            .collect()
    }

    /// The same, with what the tax office knows it by.
    pub(super) fn taxed_address(&self, party: &Party) -> Vec<String> {
        let mut lines = self.address(party);
        if let Some(id) = &party.vat_id {
            lines.push([&self.say("vat-id"), figures::NO_BREAK, id].concat());
        }
        lines
    }

    /// Where an offer is the job itself, that; else its own words.
    pub(super) fn offer_name(&self, offer: &OfferView) -> String {
        if offer.offer == self.view.main.offer { self.say("main-offer") } else { offer.text.to_string() }
    }

    /// The sale to the end customer.
    pub(super) fn last_sale(&self, offer: &'a OfferView) -> Option<&'a SaleView> {
        offer.sales.iter().find(|sale| sale.buyer == self.view.customer.code)
    }

    /// The job itself, then the other ways to do it.
    pub(super) fn offers(&self) -> impl Iterator<Item = &'a OfferView> + use<'a> {
        std::iter::once(&self.view.main).chain(&self.view.alternatives)
    }
}
