//! What a checked edition holds: every reference resolved, every amount in minor units.

use std::sync::Arc;

use compact_str::CompactString;

use crate::category::{Category, PartUnit, Work};
use crate::country::Country;
use crate::language::Language;
use crate::money::{Net, Percent, Quantity, UnitPrice};
use crate::period::Span;
use crate::tariff::{Cover, Method, UnderFloor, WearModel};
use crate::text::{Code, Text};

/// A labour grade.
#[derive(Debug)]
pub struct Grade {
    /// Place in the order of codes; what lines are sorted by.
    pub rank: usize,
    /// Its code.
    pub code: Code,
    /// In words.
    pub text: Text,
    /// Cost of an hour.
    pub rate_per_hour: UnitPrice,
}

/// A part, with its price breaks in rising order.
#[derive(Debug)]
pub struct Part {
    /// Place in the order of codes; what lines are sorted by.
    pub rank: usize,
    /// Its code.
    pub code: Code,
    /// In words.
    pub text: Text,
    /// What it is counted in.
    pub unit: PartUnit,
    /// Cost of one below the first break.
    pub unit_cost: UnitPrice,
    /// From this quantity, that much for one.
    pub breaks: Vec<(Quantity, UnitPrice)>,
    /// Minutes to fit one, and whose.
    pub fitting: Option<(u32, Arc<Grade>)>,
}

/// An operation at the bench.
#[derive(Debug)]
pub struct Operation {
    /// Place in the order of codes.
    pub rank: usize,
    /// Its code.
    pub code: Code,
    /// In words.
    pub text: Text,
    /// The grade of whoever does it.
    pub grade: Arc<Grade>,
    /// How many minutes, each time.
    pub minutes: u32,
    /// Counts once for a unit.
    pub once: bool,
}

/// A test programme.
#[derive(Debug)]
pub struct Test {
    /// Place in the order of codes; what lines are sorted by.
    pub rank: usize,
    /// Its code.
    pub code: Code,
    /// In words.
    pub text: Text,
    /// How many hours at the bench, where a finding does not say.
    pub bench_hours: Quantity,
    /// Cost of the bench for an hour.
    pub bench_rate: UnitPrice,
    /// Minutes somebody stands by.
    pub attended_minutes: u32,
    /// The grade of whoever stands by.
    pub grade: Arc<Grade>,
    /// What the bench draws, in kilowatts.
    pub power_kw: Quantity,
}

/// A step of work that a finding or a refresh list asks for.
#[derive(Debug, Clone)]
pub enum Step {
    /// Replace a part.
    Part {
        /// Which.
        part: Arc<Part>,
        /// How many.
        quantity: Quantity,
        /// Where; the finding's own position where it is not said.
        position: Option<Code>,
    },
    /// Do an operation.
    Operation {
        /// Which.
        operation: Arc<Operation>,
        /// How many times.
        times: Quantity,
    },
    /// Run a test programme.
    Test {
        /// Which.
        test: Arc<Test>,
        /// How many hours at the bench.
        bench_hours: Quantity,
    },
}

/// Something the bench may find.
#[derive(Debug)]
pub struct CatalogueFinding {
    /// Place in the order of codes.
    pub rank: usize,
    /// Its code.
    pub code: Code,
    /// In plain words.
    pub text: Text,
    /// Does the warranty cover it?
    pub warranty: Cover,
    /// What it adds to the plan.
    pub steps: Vec<Step>,
}

/// How something ages.
#[derive(Debug)]
pub struct Wear {
    /// Its code.
    pub code: Code,
    /// Capacitor or contacts.
    pub model: WearModel,
    /// Capacitor: rated life in hours.
    pub rated_hours: u32,
    /// Capacitor: kelvin below its rating in service; negative above.
    pub kelvin_below_rating: i32,
    /// Contacts: operations until a tenth has failed.
    pub b10d: u64,
    /// Contacts: operations in a duty cycle.
    pub operations_per_cycle: Quantity,
}

/// When a row of a refresh list applies.
#[derive(Debug, Clone)]
pub enum Due {
    /// In any case.
    Always,
    /// From this many cycles.
    Cycles(u64),
    /// From this many full years.
    Years(u32),
    /// From that used share of its life.
    Wear(Arc<Wear>, Percent),
}

/// One row of a refresh list.
#[derive(Debug)]
pub struct RefreshStep {
    /// When.
    pub due: Due,
    /// What.
    pub step: Step,
}

/// A list of what is replaced when a unit is refreshed.
#[derive(Debug)]
pub struct RefreshList {
    /// Its code.
    pub code: Code,
    /// Its rows.
    pub steps: Vec<RefreshStep>,
}

/// A fixed price for a class of work.
#[derive(Debug)]
pub struct FlatPrice {
    /// The class.
    pub class: Code,
    /// In words.
    pub text: Text,
    /// The price.
    pub net: Net,
}

/// A kind of controller.
#[derive(Debug)]
pub struct Family {
    /// Place in the order of codes.
    pub rank: usize,
    /// Its code.
    pub code: Code,
    /// In words.
    pub text: Text,
    /// Built up or flat.
    pub method: Method,
    /// Its test programme.
    pub test: Arc<Test>,
    /// Its refresh list.
    pub refresh: Option<Arc<RefreshList>>,
    /// What a new one costs, in minor units.
    pub replacement_value: Net,
    /// What an exchange unit costs, and is sold at, net.
    pub exchange: Option<(UnitPrice, Net)>,
    /// Warranty.
    pub warranty_months: u32,
    /// Hours it runs on a day.
    pub duty_hours_per_day: u32,
    /// Fixed prices, by class.
    pub flat_prices: Vec<Arc<FlatPrice>>,
}

/// A courier zone.
#[derive(Debug)]
pub struct Zone {
    /// Its code.
    pub code: Code,
    /// Up to this weight, that much a leg; rising.
    pub rates: Vec<(Quantity, UnitPrice)>,
}

/// Which addresses a zone serves.
#[derive(Debug, Clone)]
pub struct ZoneRule {
    /// The country.
    pub country: Country,
    /// Postcodes that begin with this.
    pub postcode_prefix: Text,
    /// The zone.
    pub zone: Arc<Zone>,
}

/// What a customer may ask for on top.
#[derive(Debug)]
pub struct Extra {
    /// Place in the order of codes.
    pub rank: usize,
    /// Its code.
    pub code: Code,
    /// In words.
    pub text: Text,
    /// Of the lines it applies to.
    pub percent: Percent,
    /// Their categories.
    pub categories: Vec<Category>,
}

/// A dated agreement with a partner.
#[derive(Debug, Clone)]
pub struct Agreement {
    /// Its code.
    pub code: Code,
    /// When it holds.
    pub span: Span,
    /// What happens under the floor.
    pub under_floor: UnderFloor,
    /// Percent by category; none is nothing.
    pub discounts: Vec<(Category, Percent)>,
    /// Credits by work, in minor units.
    pub credits: Vec<(Work, Net)>,
}

/// A firm that sells or buys on the route.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Party {
    /// `workshop`, `customer`, or the partner's code.
    pub code: Code,
    /// The firm's name.
    pub name: Text,
    /// Street and number.
    pub street: Text,
    /// Postcode.
    pub postcode: Text,
    /// Town.
    pub city: Text,
    /// Where it is established.
    pub country: Country,
    /// VAT identifier, in its normal form; where none is known, its letters and digits.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub vat_id: Option<CompactString>,
    /// The language of its documents, where it has asked for one.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub language: Option<Language>,
}

/// A service partner.
#[derive(Debug, Clone)]
pub struct Partner {
    /// The firm.
    pub party: Party,
    /// The partner he buys through.
    pub buys_from: Option<Code>,
    /// His agreements, by date.
    pub agreements: Vec<Agreement>,
}

/// A reference rate of a day.
#[derive(Debug, Clone)]
pub struct CurrencyRate {
    /// The day.
    pub date: chrono::NaiveDate,
    /// The currency.
    pub currency: crate::money::Currency,
    /// Units for one euro.
    pub units_per_eur: crate::money::ReferenceRate,
}

/// A standard VAT rate.
#[derive(Debug, Clone)]
pub struct VatRate {
    /// The country.
    pub country: Country,
    /// When it holds.
    pub span: Span,
    /// The rate.
    pub percent: Percent,
}

/// Entries in the order of their codes.
#[derive(Debug)]
pub struct Table<T>(Vec<Arc<T>>);

// Entries are shared, so they need not be copied.
impl<T> Clone for Table<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<T> Default for Table<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

/// An entry that is found by its code.
pub trait Coded {
    /// Its code.
    fn code(&self) -> &Code;
}

macro_rules! coded {
    ($($name:ident)*) => { $(impl Coded for $name { fn code(&self) -> &Code { &self.code } })* };
}
coded!(Grade Part Operation Test CatalogueFinding Wear RefreshList Family Zone Extra);

impl Coded for Partner {
    fn code(&self) -> &Code {
        &self.party.code
    }
}

impl<T: Coded> Table<T> {
    /// From entries that stand in the order of their codes.
    pub(crate) fn from_sorted(entries: impl IntoIterator<Item = T>) -> Self {
        Self(entries.into_iter().map(Arc::new).collect())
    }

    /// The entry with that code.
    pub fn find(&self, code: &str) -> Option<&Arc<T>> {
        let at = self.0.binary_search_by(|entry| entry.code().as_str().cmp(code)).ok()?;
        self.0.get(at)
    }

    /// All entries, in the order of their codes.
    pub fn iter(&self) -> std::slice::Iter<'_, Arc<T>> {
        self.0.iter()
    }
}

impl<'a, T> IntoIterator for &'a Table<T> {
    type Item = &'a Arc<T>;
    type IntoIter = std::slice::Iter<'a, Arc<T>>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}
