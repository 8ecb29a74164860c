//! What a sheet is written from, and how its words and figures are written.

use chrono::NaiveDate;
use evenfare_engine::country::Country;
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Quantity};
use evenfare_engine::tariff::Party;
use evenfare_engine::text::Code;
use evenfare_engine::view::{OfferView, SaleView, View};
use evenfare_files::Stationery;

use super::{Column, NoSheet, Width};
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

/// Writes words and figures in a reader's language, on the workshop's paper.
pub(super) struct Pen<'a, T = Given<'a>> {
    /// What is written of.
    pub(super) given: T,
    pub(super) workshop: &'a Party,
    pub(super) stationery: &'a Stationery,
    pub(super) phrases: Phrases<'a>,
    pub(super) words: &'static Words,
    pub(super) language: Language,
    pub(super) currency: Currency,
}

impl<'a> Pen<'a> {
    pub(super) fn new(given: &Given<'a>) -> Result<Self, NoSheet> {
        let Given { view, stationery, language, .. } = *given;
        Ok(Self::of(*given, &view.workshop, stationery, language, view.currency.parse()?))
    }
}

impl<'a, T> Pen<'a, T> {
    /// A pen for what is written of any one thing.
    pub(super) fn of(
        given: T,
        workshop: &'a Party,
        stationery: &'a Stationery,
        language: Language,
        currency: Currency,
    ) -> Self {
        let phrases = Phrases::new(language, &stationery.translations);
        Self { given, workshop, stationery, phrases, words: phrases.words, language, currency }
    }

    pub(super) fn say(&self, id: &str) -> String {
        self.words.say(id)
    }

    pub(super) fn say_with(&self, id: &str, told: &[(&str, Value<'_>)]) -> String {
        self.words.say_with(id, told)
    }

    /// An amount in a column that its currency heads.
    pub(super) fn amount(&self, minor: i64) -> String {
        figures::amount(self.language, minor, self.currency)
    }

    pub(super) fn money(&self, minor: i64) -> String {
        self.money_in(minor, self.currency)
    }

    /// An amount in another currency than the quote's.
    pub(super) fn money_in(&self, minor: i64, currency: Currency) -> String {
        figures::money(self.language, minor, currency)
    }

    /// The price of one in a column that its currency heads, where it is exact.
    pub(super) fn price_of_one(&self, minor: i64, quantity: Quantity) -> Option<String> {
        figures::price_of_one(self.language, minor, quantity, self.currency)
    }

    pub(super) fn date(&self, day: NaiveDate) -> String {
        figures::date(self.language, day)
    }

    pub(super) fn percent(&self, plain: &str) -> String {
        figures::percent(self.language, plain)
    }

    /// How much of a line; nothing where it is one of its kind.
    pub(super) fn quantity(&self, quantity: &str) -> String {
        if quantity.is_empty() { String::new() } else { self.words.quantity(quantity) }
    }

    /// The head of a column of amounts: what they are, in which currency.
    pub(super) fn headed(&self, id: &str) -> String {
        [&self.say(id), figures::NO_BREAK, self.currency.code()].concat()
    }

    /// A firm as an address has it; with its country, where it is read in another.
    pub(super) fn address(&self, party: &Party, read_in: Country) -> Vec<String> {
        let town = [party.postcode.as_str(), party.city.as_str()].join(" ");
        let country = (party.country != read_in).then(|| self.words.country(party.country));
        [party.name.as_str().to_owned(), party.street.as_str().to_owned(), town.trim().to_owned()]
            .into_iter()
            .chain(country)
            .filter(|line| !line.is_empty())
            .collect()
    }

    /// The same, with what the tax office knows it by.
    pub(super) fn taxed_address(&self, party: &Party, read_in: Country) -> Vec<String> {
        let mut lines = self.address(party, read_in);
        if let Some(id) = &party.vat_id {
            lines.push([&self.say("vat-id"), figures::NO_BREAK, id].concat());
        }
        lines
    }

    /// A column of words.
    pub(super) fn column(&self, id: &str, width: Width) -> Column {
        Column { head: if id.is_empty() { String::new() } else { self.say(id) }, width }
    }

    /// A column of amounts, headed by their currency.
    pub(super) fn amounts(&self, id: &str) -> Column {
        Column { head: self.headed(id), width: Width::Amount }
    }
}

impl<'a> Pen<'a> {
    pub(super) fn party(&self, code: &Code) -> Result<&'a Party, NoSheet> {
        self.given.view.party(code).ok_or_else(|| NoSheet::Party { found: code.clone() })
    }

    /// Where an offer is the job itself, that; else its name.
    pub(super) fn offer_name(&self, offer: &OfferView) -> String {
        if offer.offer == self.given.view.main.offer {
            self.say("main-offer")
        } else {
            self.phrases.alternative(&offer.offer, &offer.text)
        }
    }

    /// The sale to the end customer.
    pub(super) fn last_sale(&self, offer: &'a OfferView) -> Option<&'a SaleView> {
        offer.sales.iter().find(|sale| sale.buyer == self.given.view.customer.code)
    }

    /// The job itself, then the other ways to do it.
    pub(super) fn offers(&self) -> impl Iterator<Item = &'a OfferView> + use<'a> {
        std::iter::once(&self.given.view.main).chain(&self.given.view.alternatives)
    }
}
