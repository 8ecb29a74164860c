//! What stands at the head and the foot of every sheet.

use chrono::{Datelike as _, NaiveDate};
use evenfare_engine::country::Country;
use evenfare_engine::tariff::Party;

use super::pen::Pen;
use super::{Block, Fact, Head, PAGE, PAGES, Sheet, Tone};
use crate::figures::{self, NO_BREAK};
use crate::state::State;

/// What everybody is cautioned of who opens a machine to take a unit out or to put it back.
pub(super) const ON_SITE: [&str; 5] =
    ["caution-mains", "caution-charge", "caution-start", "caution-safety", "caution-static"];

impl Pen<'_> {
    /// A sheet of that kind of a quote, with nothing on it yet: `id` is what its heading says, `number` its
    /// own number.
    pub(super) fn begun(&self, id: &str, number: &str, head: Head, recipient: Vec<String>) -> Sheet {
        let view = self.given.view;
        let identity = [id, number, &view.revision.to_string(), self.language.word()].join("/");
        Sheet { identity, mark: self.mark(), ..self.blank(id, number, view.quoted, head, recipient) }
    }

    /// The quote's number; the job's reference where it has none.
    pub(super) fn number(&self) -> &str {
        self.given.number.unwrap_or(self.given.view.reference.as_str())
    }

    /// Is the quote one that was issued, that stands, and that offers something? A sheet of any other says
    /// why not, and has no place to sign.
    pub(super) fn can_be_accepted(&self) -> bool {
        self.given.number.is_some() && self.given.state == State::InForce && !self.given.view.reversal
    }

    /// Why the quote cannot be accepted, where it cannot.
    fn mark(&self) -> Option<String> {
        match self.given.state {
            _ if self.can_be_accepted() => None,
            _ if self.given.view.reversal => {
                Some(self.say_with("reversed", &[("number", self.number().into())]))
            }
            State::Reversed => Some(self.say("taken-back")),
            State::Superseded => Some(self.say("superseded")),
            State::InForce => Some(self.say("draft")),
        }
    }

    /// What the tax office knows the buyer by, to whom the document is sent.
    pub(super) fn vat_id_of(&self, buyer: &Party) -> Option<Fact> {
        buyer.vat_id.as_ref().map(|id| self.fact("your-vat-id", id.as_str()))
    }

    /// The workshop and where it is, on the paper of a partner: `Ofenkehr Elektronik GmbH (Am Schieberwerk 14, ...)`.
    pub(super) fn workshop_told(&self) -> String {
        let address = self.address(self.workshop, self.given.view.customer.country);
        let place: Vec<String> = address.into_iter().skip(1).collect();
        [self.workshop.name.as_str(), " (", &place.join(", "), ")"].concat()
    }

    /// Which revision of its number it is; a draft is of none.
    pub(super) fn revision(&self) -> Option<Fact> {
        self.given.number.map(|_| self.fact("revision", self.given.view.revision.to_string()))
    }

    /// What tells one quote from another.
    pub(super) fn facts_of_quote(&self) -> Vec<Fact> {
        let view = self.given.view;
        let number = self.given.number.map(|number| self.fact("number", number));
        let valid = (!view.reversal).then(|| self.fact("valid-until", self.date(view.valid_until)));
        number
            .into_iter()
            .chain(self.revision())
            .chain([
                self.fact("reference", view.reference.as_str()),
                self.fact("date", self.date(view.quoted)),
                self.fact("received", self.date(view.received)),
            ])
            .chain(valid)
            .chain([
                self.fact("dispatch", self.date(view.dispatch)),
                self.fact("edition", view.edition.as_str()),
                self.fact("currency", view.currency.as_str()),
            ])
            .collect()
    }
}

impl<T> Pen<'_, T> {
    /// A sheet of that kind with nothing on it yet.
    pub(super) fn blank(
        &self,
        id: &str,
        number: &str,
        day: NaiveDate,
        head: Head,
        recipient: Vec<String>,
    ) -> Sheet {
        let heading = self.say(id);
        Sheet {
            language: self.language.to_string(),
            title: [&heading, " ", number].concat(),
            identity: [id, number, self.language.word()].join("/"),
            day: (day.year(), day.month(), day.day()),
            heading,
            number: number.to_owned(),
            page: self.say_with("page", &[("page", PAGE.into()), ("pages", PAGES.into())]),
            mark: None,
            confidential: None,
            head,
            recipient,
            facts: Vec::new(),
            blocks: Vec::new(),
        }
    }

    pub(super) fn fact(&self, id: &str, value: impl Into<String>) -> Fact {
        Fact { name: self.say(id), value: value.into() }
    }

    /// The paper of whoever sells, as it is read in that country: the workshop's letterhead, or a plain one with a
    /// partner's name.
    pub(super) fn head_of(&self, seller: &Party, read_in: Country) -> Head {
        let vat_id = seller.vat_id.as_ref().map(|id| figures::vat_id_of_seller(self.language, id));
        let vat_id = vat_id.map(|id| [&self.say("vat-id"), NO_BREAK, &id].concat());
        let address = self.address(seller, read_in);
        let sender = address.join(" · ");
        let mut foot: Vec<Vec<String>> = vec![address.into_iter().chain(vat_id).collect()];
        if seller.code == self.workshop.code {
            foot.extend([self.reached(), self.registered(), self.paid()]);
            foot.retain(|column| !column.is_empty());
        }
        Head { sender, foot, ..self.head_in_house(seller) }
    }

    /// The same of what stays in the house: with nothing that it could be answered to.
    pub(super) fn head_in_house(&self, seller: &Party) -> Head {
        let letterhead = &self.stationery.letterhead;
        let mut head = Head {
            name: seller.name.to_string(),
            lines: Vec::new(),
            sender: String::new(),
            foot: Vec::new(),
            accent: letterhead.accent.to_string(),
            muted: letterhead.muted.to_string(),
            logo: None,
        };
        if seller.code == self.workshop.code {
            if let [name, more @ ..] = letterhead.legal_name.as_slice() {
                head.name = name.to_string();
                head.lines = more.iter().map(ToString::to_string).collect();
            }
            head.logo = letterhead.logo.clone();
        }
        head
    }

    /// In the window of what stays in the house stands nothing that it could be sent by.
    pub(super) fn in_house(&self) -> Vec<String> {
        vec![self.say("internal")]
    }

    /// How the workshop is reached.
    fn reached(&self) -> Vec<String> {
        let letterhead = &self.stationery.letterhead;
        let ways = [("phone", &letterhead.phone), ("email", &letterhead.email), ("web", &letterhead.web)];
        let named = |(id, way): (&str, &Option<_>)| {
            way.as_ref()
                .map(|way: &evenfare_engine::text::Text| [&self.say(id), NO_BREAK, way.as_str()].concat())
        };
        ways.into_iter().filter_map(named).collect()
    }

    /// Where it is registered, and who signs for it.
    fn registered(&self) -> Vec<String> {
        let letterhead = &self.stationery.letterhead;
        let mut lines: Vec<String> = letterhead.register.iter().map(ToString::to_string).collect();
        if !letterhead.managing_directors.is_empty() {
            // A name is not broken.
            let whole = |name: &evenfare_engine::text::Text| name.as_str().replace(' ', NO_BREAK);
            let names: Vec<String> = letterhead.managing_directors.iter().map(whole).collect();
            lines.push([self.say("managing-directors"), names.join(", ")].join(" "));
        }
        lines
    }

    /// Where it is paid.
    fn paid(&self) -> Vec<String> {
        let Some(bank) = &self.stationery.letterhead.bank else { return Vec::new() };
        let iban = bank.iban.to_string().replace(' ', NO_BREAK);
        let mut lines = vec![bank.name.to_string(), [&self.say("iban"), NO_BREAK, &iban].concat()];
        lines.extend(bank.bic.as_ref().map(|bic| [&self.say("bic"), NO_BREAK, bic.as_str()].concat()));
        lines
    }

    pub(super) fn heading(&self, id: &str) -> Block {
        Block::Heading { text: self.say(id) }
    }

    pub(super) fn subheading(&self, id: &str) -> Block {
        Block::Subheading { text: self.say(id) }
    }

    /// A paragraph of the workshop's own, where it has one.
    pub(super) fn paragraph(
        &self,
        of: impl Fn(&evenfare_files::LetterheadTexts) -> &Option<evenfare_files::Paragraph>,
        tone: Tone,
    ) -> Option<Block> {
        let own = of(self.stationery.letterhead.texts(self.language)?).as_ref()?;
        Some(Block::Text { text: own.to_string(), tone })
    }

    /// Cautions that everybody is told, then the workshop's own.
    pub(super) fn cautions(&self, ids: &[&str]) -> Block {
        let own = self.stationery.letterhead.texts(self.language);
        let own = own.into_iter().flat_map(|texts| &texts.cautions).map(ToString::to_string);
        Block::List { items: ids.iter().map(|id| self.say(id)).chain(own).collect(), caution: true }
    }
}
