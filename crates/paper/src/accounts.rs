//! What month end puts on paper: a party's account statement, and the overview of margins.
//!
//! Plain values, handed in by whoever has the books. As sheets (`sheet`, with the feature `pdf`), as books of
//! a spreadsheet (`workbook`, with the feature of that name) and as exact lines of text
//! ([`columns`](evenfare_reconcile::columns)) they say the same.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Overflow, Percent};
use evenfare_engine::tariff::Party;
use evenfare_files::Stationery;
use evenfare_reconcile::account::PartyStatement;
use evenfare_reconcile::change::Change;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::overview::{Margin, Overview};
use evenfare_reconcile::told::Told;

use crate::figures;
use crate::phrases::Phrases;
use crate::words::Words;

/// What an account statement is written from.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_engine::tariff::Party;
/// use evenfare_files::Stationery;
/// use evenfare_paper::accounts::AccountStatement;
/// use evenfare_reconcile::account::PartyStatement;
/// use evenfare_reconcile::firm::Firm;
/// use evenfare_reconcile::told::Told;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let workshop = Party {
///     code: "workshop".parse()?,
///     name: "Werkbank Nord".parse()?,
///     street: "Am Speicher 4".parse()?,
///     postcode: "99999".parse()?,
///     city: "Nirgendwo".parse()?,
///     country: "DE".parse()?,
///     vat_id: None,
///     language: None,
/// };
/// let account = PartyStatement { opening_minor: 1_050, closing_minor: 1_050, ..PartyStatement::default() };
/// let given = AccountStatement {
///     workshop: &workshop,
///     stationery: &Stationery::default(),
///     firm: &Firm { id: "P-BRZEG".into(), name: "Serwis Brzeg".into(), vat_id: None },
///     address: None,
///     currency: "EUR".parse()?,
///     month: "2026-10".parse()?,
///     is_closed: true,
///     account: &account,
///     bonuses: &[],
///     differences: &Told::default(),
///     language: Language::Polish,
/// };
/// # #[cfg(feature = "pdf")]
/// let sheet = evenfare_paper::sheet::account_statement(&given);
/// # #[cfg(feature = "pdf")]
/// assert_eq!(sheet.title, "Wyciąg z konta za październik\u{a0}2026 · Serwis Brzeg");
/// # #[cfg(feature = "workbook")]
/// assert!(evenfare_paper::workbook::account_statement(&given).is_ok());
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, Copy)]
pub struct AccountStatement<'a> {
    /// Whose paper it is on.
    pub workshop: &'a Party,
    /// The workshop's letterhead.
    pub stationery: &'a Stationery,
    /// Whose account it is.
    pub firm: &'a Firm,
    /// Where he is, where that is known.
    pub address: Option<&'a Party>,
    /// Of the account, and of its amounts.
    pub currency: Currency,
    /// The month.
    pub month: Month,
    /// Is the month closed? Until then the statement says that it may change.
    pub is_closed: bool,
    /// His account in that currency and month.
    pub account: &'a PartyStatement<'a>,
    /// His volume bonuses at the end of the month, of an account in the currency of the books.
    pub bonuses: &'a [&'a Earned],
    /// What he is told of the differences, after all that is of the account.
    pub differences: &'a Told<'a>,
    /// The reader's language.
    pub language: Language,
}

/// A part of a volume bonus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BonusPart {
    /// An amount in minor units, in the currency of the account.
    Minor(i64),
    /// A percentage of the turnover.
    Percent(Percent),
}

impl AccountStatement<'_> {
    /// A volume bonus, part by part, each with what it is called.
    pub fn bonus(&self, one: &Earned) -> Vec<(String, BonusPart)> {
        let words = Words::of(self.language);
        let mut parts = vec![
            (words.say("bonus-turnover"), BonusPart::Minor(one.turnover_minor)),
            (words.say("bonus-step"), BonusPart::Percent(one.percent)),
            (words.say("bonus-due"), BonusPart::Minor(one.due_minor)),
            (words.say("bonus-this-month"), BonusPart::Minor(one.movement_minor)),
        ];
        if one.true_up_minor != 0 {
            parts.push((words.say("bonus-trued-up"), BonusPart::Minor(one.true_up_minor)));
        }
        parts.extend(one.next.map(|next| {
            let percent = figures::percent(self.language, &next.percent.to_string());
            let amount = figures::money(self.language, next.from_minor, self.currency);
            let told = [("percent", (&percent).into()), ("amount", (&amount).into())];
            (words.say_with("bonus-missing", &told), BonusPart::Minor(next.missing_minor))
        }));
        parts
    }

    /// What a volume bonus is headed by.
    pub fn bonus_heading(&self, one: &Earned) -> String {
        Words::of(self.language).say_with("bonus-of-year", &[("year", (&one.year.to_string()).into())])
    }
}

/// What the overview of margins is written from. It holds cost and shares: it is the accountant's alone.
#[derive(Debug, Clone, Copy)]
pub struct MarginOverview<'a> {
    /// Whose paper it is on.
    pub workshop: &'a Party,
    /// The workshop's letterhead.
    pub stationery: &'a Stationery,
    /// The margins.
    pub overview: &'a Overview,
    /// The books' currency, of every amount.
    pub currency: Currency,
    /// The last day that was looked at.
    pub until: NaiveDate,
    /// Is the month of that day closed?
    pub is_closed: bool,
    /// What changed under closed months, in the order in which it is told.
    pub changes: &'a [Change<'a>],
    /// Accounts that the last closed month has other numbers of: the month, the part, what it was and what it is.
    pub renumbered: &'a [(Month, Role, &'a str, &'a str)],
    /// Names of parties by what accounts know them by; one without a name stands by that.
    pub parties: &'a BTreeMap<String, String>,
    /// Names of families by their codes, in the workshop's own words.
    pub families: &'a BTreeMap<String, String>,
    /// The reader's language.
    pub language: Language,
}

/// What was to be invoiced in a month, and what was, net, in minor units.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invoiced {
    /// The month.
    pub name: String,
    /// What the workshop keeps of what was agreed.
    pub agreed_minor: i64,
    /// What is posted as revenue.
    pub invoiced_minor: i64,
}

impl Invoiced {
    /// What was invoiced beyond what was to be.
    ///
    /// # Errors
    /// [`Overflow`] beyond what an amount may be.
    pub fn difference_minor(&self) -> Result<i64, Overflow> {
        self.invoiced_minor.checked_sub(self.agreed_minor).ok_or(Overflow)
    }
}

/// Margins by name, in the order in which they are shown.
pub type Named<'a> = Vec<(String, &'a Margin)>;

impl<'a> MarginOverview<'a> {
    /// A party's name.
    pub fn party(&self, id: &'a str) -> &'a str {
        self.parties.get(id).map_or(id, String::as_str)
    }

    /// By partner. A quote of two partners counts for both.
    pub fn by_partner(&self) -> Named<'a> {
        let named = self.overview.by_partner.iter();
        named.map(|(code, margin)| (self.party(code).to_owned(), margin)).collect()
    }

    /// By family, in the reader's language where the catalogue is translated.
    pub fn by_family(&self) -> Named<'a> {
        let phrases = Phrases::new(self.language, &self.stationery.translations);
        let named = self.overview.by_family.iter().map(|(code, margin)| {
            let text = self.families.get(&**code).map_or(&**code, String::as_str);
            (phrases.family_named(code, text), margin)
        });
        named.collect()
    }

    /// By route, partners from the workshop outward.
    pub fn by_route(&self) -> Named<'a> {
        let direct = || Words::of(self.language).say("direct-route");
        let named = self.overview.by_route.iter().map(|(route, margin)| {
            let names: Vec<&str> = route.iter().map(|code| self.party(code)).collect();
            (if names.is_empty() { direct() } else { names.join(" → ") }, margin)
        });
        named.collect()
    }

    /// By month.
    pub fn by_month(&self) -> Named<'a> {
        let named = self.overview.by_month.iter();
        named.map(|(month, margin)| (figures::month(self.language, *month), margin)).collect()
    }

    /// Accounts that have other numbers, each in a sentence.
    pub fn renumbered(&self) -> impl Iterator<Item = String> + use<'a> {
        let (language, words) = (self.language, Words::of(self.language));
        self.renumbered.iter().map(move |(month, role, was, is)| {
            let (account, month) = (words.account(*role), figures::month(language, *month));
            let told = [("account", &*account), ("month", &*month), ("was", was), ("is", is)];
            words.say_with("changed-account", &told.map(|(name, value)| (name, value.into())))
        })
    }

    /// What was to be invoiced of what was agreed, and what was, by month; then of all months.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn invoiced(&self) -> Result<(Vec<Invoiced>, Invoiced), Overflow> {
        let months = self.overview.months().map(|(month, agreed, invoiced_minor)| Invoiced {
            name: figures::month(self.language, month),
            agreed_minor: agreed.workshop_net_minor,
            invoiced_minor,
        });
        let all = Invoiced {
            name: Words::of(self.language).say("all-months"),
            agreed_minor: self.overview.all.workshop_net_minor,
            invoiced_minor: self.overview.invoiced_minor()?,
        };
        Ok((months.collect(), all))
    }
}
