//! A checked tariff edition.

use chrono::NaiveDate;

use super::build;
use super::entries::{
    CatalogueFinding, CurrencyRate, Extra, Family, Grade, Part, Partner, Party, Table, VatRate, ZoneRule,
};
use super::rows::{CourierRow, EndingDirection, Tariff, TermsRow};
use crate::category::Category;
use crate::country::Country;
use crate::money::{Currency, Net, Percent, UnitPrice};
use crate::period::Span;
use crate::problem::{Problem, Severity, listed};
use crate::text::Code;

/// Most partners on one route.
pub const LONGEST_ROUTE: usize = 16;

/// How the end price is finished, with its amounts in minor units.
#[derive(Debug, Clone)]
pub struct PriceRules {
    /// Least net end price of a job that is charged for at all.
    pub minimum_charge: Net,
    /// The end price is taken to a multiple of this; zero leaves it as it is.
    pub ending_to: Net,
    /// Which multiple.
    pub ending_direction: EndingDirection,
    /// The contribution that has to be left at least.
    pub minimum_contribution: Net,
    /// The same as a percentage of the net end price; the larger of the two counts.
    pub minimum_contribution_percent: Percent,
    /// Above this percentage of the replacement value a repair is uneconomic.
    pub uneconomic_percent: Percent,
    /// The categories that a flat price takes in.
    pub flat_covers: Vec<Category>,
    /// What a kilowatt-hour costs, in the tariff's currency.
    pub energy_per_kwh: UnitPrice,
    /// Added to cost, by category.
    pub markups: Vec<(Category, Percent)>,
}

/// What the inspection of a unit that is then declined costs and is charged.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// What is charged, net.
    pub fee: Net,
    /// How many minutes it takes.
    pub minutes: u32,
    /// The grade of whoever does it.
    pub grade: std::sync::Arc<Grade>,
}

/// A tariff with mistakes: all of them, and the warnings, each with its place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the tariff has mistakes: {}", listed(.0))]
pub struct InvalidTariff(pub Vec<Problem>);

impl From<InvalidTariff> for Vec<Problem> {
    fn from(invalid: InvalidTariff) -> Self {
        invalid.0
    }
}

/// One edition of a workshop's tariff, checked: every reference resolved, nothing left to go wrong
/// but the job.
///
/// An edition is immutable. The order of the rows it was read from leaves no trace in it, so the
/// same rows price the same job to the same bytes.
///
/// Obeys `same_edition_same_bytes`.
#[derive(Debug, Clone)]
pub struct Edition {
    pub(crate) code: Code,
    pub(crate) span: Span,
    pub(crate) currency: Currency,
    pub(crate) workshop: Party,
    pub(crate) price: PriceRules,
    pub(crate) courier: CourierRow,
    pub(crate) inspection: Inspection,
    pub(crate) terms: TermsRow,
    pub(crate) parts: Table<Part>,
    pub(crate) findings: Table<CatalogueFinding>,
    pub(crate) families: Table<Family>,
    pub(crate) zones: Vec<ZoneRule>,
    pub(crate) extras: Table<Extra>,
    pub(crate) partners: Table<Partner>,
    pub(crate) vat_rates: Vec<VatRate>,
    pub(crate) currency_rates: Vec<CurrencyRate>,
    pub(crate) warnings: Vec<Problem>,
}

impl Edition {
    /// Checks a tariff as written and resolves its references.
    ///
    /// # Errors
    /// [`InvalidTariff`] has every mistake in it at once, and the warnings, each with its place.
    pub fn new(tariff: Tariff) -> Result<Self, InvalidTariff> {
        build::edition(tariff).map_err(InvalidTariff)
    }

    /// Its name.
    pub fn code(&self) -> &Code {
        &self.code
    }

    /// The days of receipt it prices.
    pub fn span(&self) -> Span {
        self.span
    }

    /// The currency of its amounts.
    pub fn currency(&self) -> Currency {
        self.currency
    }

    /// The workshop.
    pub fn workshop(&self) -> &Party {
        &self.workshop
    }

    /// What somebody should look at, though it keeps no job from being priced.
    pub fn warnings(&self) -> &[Problem] {
        &self.warnings
    }

    /// The kinds of controller it takes.
    pub fn families(&self) -> &Table<Family> {
        &self.families
    }

    /// Its parts.
    pub fn parts(&self) -> &Table<Part> {
        &self.parts
    }

    /// Its findings.
    pub fn findings(&self) -> &Table<CatalogueFinding> {
        &self.findings
    }

    /// Its partners.
    pub fn partners(&self) -> &Table<Partner> {
        &self.partners
    }

    /// Its reference rates, by which quotes in other currencies are converted.
    pub fn currency_rates(&self) -> &[CurrencyRate] {
        &self.currency_rates
    }

    /// Every route it allows: the direct one, and for each partner the chain from the workshop to
    /// him; partners in the order of their codes, the nearest to the workshop first in each route.
    pub fn routes(&self) -> Vec<Vec<Code>> {
        let chains = self.partners.into_iter().map(|partner| self.chain(partner));
        std::iter::once(Vec::new()).chain(chains).collect()
    }

    /// The route from the workshop to that partner; none where the edition does not know him.
    pub fn route_to(&self, partner: &Code) -> Option<Vec<Code>> {
        self.partners.find(partner.as_str()).map(|partner| self.chain(partner))
    }

    fn chain(&self, partner: &Partner) -> Vec<Code> {
        let mut chain = vec![partner.party.code.clone()];
        let mut above = partner.buys_from.as_ref();
        // Loops were refused when the edition was checked.
        while let Some(code) = above {
            chain.push(code.clone());
            above = self.partners.find(code.as_str()).and_then(|p| p.buys_from.as_ref());
        }
        chain.reverse();
        chain
    }

    /// The standard VAT rate of a country on a day.
    pub(crate) fn vat_rate(&self, country: Country, on: NaiveDate) -> Option<Percent> {
        self.vat_rates
            .iter()
            .find(|rate| rate.country == country && rate.span.contains(on))
            .map(|rate| rate.percent)
    }

    /// The rule of the longest postcode that fits.
    pub(crate) fn zone(&self, country: Country, postcode: &str) -> Option<&ZoneRule> {
        self.zones
            .iter()
            .filter(|rule| rule.country == country && postcode.starts_with(rule.postcode_prefix.as_str()))
            .max_by_key(|rule| rule.postcode_prefix.as_str().len())
    }

    /// The newest reference rate of a currency on a day.
    pub(crate) fn currency_rate(&self, currency: Currency, on: NaiveDate) -> Option<&CurrencyRate> {
        self.currency_rates
            .iter()
            .filter(|rate| rate.currency == currency && rate.date <= on)
            .max_by_key(|rate| rate.date)
    }

    pub(crate) fn markup(&self, category: Category) -> Percent {
        let of = |&&(c, _): &&(Category, Percent)| c == category;
        self.price.markups.iter().find(of).map_or(Percent::ZERO, |&(_, percent)| percent)
    }
}

/// The problems that stop the work, and whether there are any.
pub(crate) fn has_errors(problems: &[Problem]) -> bool {
    problems.iter().any(|p| p.severity == Severity::Error)
}
