//! The working: for every figure the rule it follows, what went in, and where it was rounded.

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use compact_str::CompactString;

use crate::money::{Amount, Currency, Exact, Fixed, UnitPrice};
use crate::role::Role;
use crate::text::written;

/// What an input of a figure is.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "snake_case"))]
pub enum From {
    /// Another figure, by name; it has a working of its own.
    Figure(CompactString),
    /// The tariff: table and key.
    Tariff(CompactString),
    /// The job: the place in it.
    Job(CompactString),
}

/// One thing that went into a figure.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Input {
    /// What it is to the figure: the word of a [`Role`].
    pub name: Cow<'static, str>,
    /// How much, with its unit.
    pub shown: CompactString,
    /// Where it comes from.
    pub from: From,
}

/// How an exact value became an amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "snake_case"))]
pub enum Rounding {
    /// It was whole already.
    None,
    /// To the nearest minor unit, a half away from zero.
    HalfUp,
    /// Shared out to the last minor unit.
    LargestRemainder,
    /// Taken to the price ending.
    Ending,
}

impl Rounding {
    /// In words.
    pub const fn text(self) -> &'static str {
        match self {
            Self::None => "not rounded",
            Self::HalfUp => "rounded half up on the magnitude",
            Self::LargestRemainder => "shared out by largest remainder",
            Self::Ending => "taken to the price ending",
        }
    }
}

macro_rules! rules {
    ($($(#[$doc:meta])* $name:ident $code:literal $text:literal;)*) => {
        /// The rules that figures follow, one for each kind of figure.
        ///
        /// Kept quotes name them, so a name that was once given stays.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Rule { $(#[doc = $text] $name,)* }

        impl Rule {
            /// All of them, in the order in which they are followed.
            pub const ALL: &[Self] = &[$(Self::$name,)*];

            /// Its stable name.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$name => $code,)* }
            }

            /// In words.
            pub const fn text(self) -> &'static str {
                match self { $(Self::$name => $text,)* }
            }
        }

        impl FromStr for Rule {
            type Err = UnknownRule;

            fn from_str(code: &str) -> Result<Self, UnknownRule> {
                match code {
                    $($code => Ok(Self::$name),)*
                    _ => Err(UnknownRule { found: code.chars().take(40).collect() }),
                }
            }
        }
    };
}

/// The text is the stable name of no rule.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a rule of any figure")]
pub struct UnknownRule {
    /// What stood there, cut to forty characters.
    pub found: String,
}

rules! {
    PlannedQuantity "planned_quantity" "the pieces at named positions, each position once, or the largest number asked for without position, whichever is more";
    PlannedMinutes "planned_minutes" "the minutes of all operations, and of fitting every part, by grade";
    PlannedHours "planned_hours" "the longest bench time that was asked for";
    ChargeableWeight "chargeable_weight" "the larger of actual and volumetric weight, raised to the tariff's step";
    PartCost "part_cost" "quantity x unit cost at the price break that costs least";
    LabourCost "labour_cost" "minutes / 60 x rate of the grade";
    TestCost "test_cost" "bench hours x bench rate + attended minutes / 60 x rate of the grade + power x bench hours x energy price";
    LegOfConsignment "leg_of_consignment" "rate of the zone and weight + fuel percentage of it + insurance";
    Insurance "insurance" "percentage of the declared value of all units, the minimum at least";
    PackagingOfConsignment "packaging_of_consignment" "packaging for each parcel";
    CourierShare "courier_share" "the consignment's courier cost by chargeable weight";
    ExchangeCost "exchange_cost" "what an exchange unit of the family costs the workshop";
    InspectionCost "inspection_cost" "minutes of the inspection / 60 x rate of its grade";
    ChargedCost "charged_cost" "the same for what the open warranty does not cover";
    MarkedUp "marked_up" "cost x (100 % + markup of its category)";
    FlatNet "flat_net" "the family's fixed price for the class of work";
    ExchangeNet "exchange_net" "the family's price of an exchange unit";
    InspectionFee "inspection_fee" "the fee for a unit declined after diagnosis";
    UnderWarranty "under_warranty" "free under the warranty that is open";
    Surcharge "surcharge" "percentage of the lines marked for it";
    MinimumCharge "minimum_charge" "what is missing to the minimum charge";
    PriceEnding "price_ending" "what takes the sum to a whole multiple of the price ending";
    Converted "converted" "amount / units of the tariff's currency for one euro x units of the quote's";
    EndNet "end_net" "the sum of the lines";
    CategoryNet "category_net" "the lines of one category";
    VatDue "vat_due" "net end price x standard rate of the end customer's country";
    EndGross "end_gross" "net end price + VAT due";
    WorkshopCost "workshop_cost" "the sum of the cost lines, without legs that a partner carries";
    ChargedSum "charged_sum" "the part of that cost that the end price has to carry";
    MinimumContribution "minimum_contribution" "the larger of the tariff's amount and its percentage of the net end price";
    Discount "discount" "for each category: percentage of the agreement x net of the category, all together";
    Credit "credit" "fixed credits for work taken over; a leg's credit is at most its sale amount";
    Available "available" "net end price - cost to be carried - minimum contribution, at least zero";
    ShareAsAgreed "share_as_agreed" "discount + credits, never below zero";
    ShareWhole "share_whole" "the share as agreed: the workshop's floor leaves room for it";
    ShareScaled "share_scaled" "what the workshop's floor leaves, in proportion to the shares as agreed";
    SaleNet "sale_net" "what the next party pays less the share of the one between";
    SaleLine "sale_line" "what the buyer pays, by the lines of the end price";
    SaleVat "sale_vat" "base x rate, once for each category and rate";
    SaleGross "sale_gross" "net + VAT";
    WorkshopNet "workshop_net" "the end price less all shares";
    Contribution "contribution" "what the workshop keeps less its cost";
    Threshold "threshold" "percentage of the replacement value of all units; above it a repair is uneconomic";
    LastDay "last_day" "the day of the event is not counted; months end on the same date or the last of the month (Regulation 1182/71 Art. 3)";
}

#[cfg(feature = "serde")]
impl serde::Serialize for Rule {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

/// The working of one figure.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Step {
    /// The figure's name: `net.U1/part/CAP-470`.
    pub figure: CompactString,
    /// The rule it follows.
    pub rule: Rule,
    /// What went in.
    pub inputs: Vec<Input>,
    /// The exact value, with its unit, where it was rounded.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub exact: Option<CompactString>,
    /// How it was rounded.
    pub rounding: Rounding,
    /// The figure, with its unit.
    pub result: CompactString,
}

/// Keeps the working of each figure, or does not.
pub(crate) trait Trail {
    /// Nothing kept yet.
    fn begun() -> Self;

    /// Adds a figure's working; made only where it is kept.
    fn step(&mut self, make: impl FnOnce() -> Step);

    /// What was kept.
    fn kept(self) -> Vec<Step>;
}

/// Keeps nothing: for figures alone, and quotes without working.
pub(crate) struct Unkept;

impl Trail for Unkept {
    fn begun() -> Self {
        Self
    }

    fn step(&mut self, _: impl FnOnce() -> Step) {}

    fn kept(self) -> Vec<Step> {
        Vec::new()
    }
}

impl Trail for Vec<Step> {
    fn begun() -> Self {
        Self::with_capacity(256)
    }

    fn step(&mut self, make: impl FnOnce() -> Step) {
        self.push(make());
    }

    fn kept(self) -> Vec<Step> {
        self
    }
}

impl Step {
    pub(crate) fn new(figure: impl fmt::Display, rule: Rule, result: impl fmt::Display) -> Self {
        Self {
            figure: written(figure),
            rule,
            inputs: Vec::new(),
            exact: None,
            rounding: Rounding::None,
            result: written(result),
        }
    }

    fn input(mut self, role: Role, shown: impl fmt::Display, from: From) -> Self {
        self.inputs.push(Input { name: Cow::Borrowed(role.word()), shown: written(shown), from });
        self
    }

    pub(crate) fn figure(self, role: Role, shown: impl fmt::Display, figure: impl fmt::Display) -> Self {
        self.input(role, shown, From::Figure(written(figure)))
    }

    pub(crate) fn tariff(self, role: Role, shown: impl fmt::Display, place: impl fmt::Display) -> Self {
        self.input(role, shown, From::Tariff(written(place)))
    }

    pub(crate) fn job(self, role: Role, shown: impl fmt::Display, place: impl fmt::Display) -> Self {
        self.input(role, shown, From::Job(written(place)))
    }

    /// The exact value that was rounded half up to the result.
    pub(crate) fn rounded(mut self, exact: Exact, currency: Currency) -> Self {
        self.exact = Some(written(Unrounded(exact, currency)));
        self.rounding = Rounding::HalfUp;
        self
    }

    /// The result, where it stands behind what it was rounded from.
    pub(crate) fn result(mut self, result: impl fmt::Display) -> Self {
        self.result = written(result);
        self
    }

    pub(crate) fn by(mut self, rounding: Rounding) -> Self {
        self.rounding = rounding;
        self
    }
}

/// An amount and its currency, as figures show it.
pub(crate) fn money<K>(amount: Amount<K>, currency: Currency) -> Fixed {
    amount.shown(currency).of(currency.code())
}

/// An exact value and its currency, as figures show it.
pub(crate) struct Unrounded(pub(crate) Exact, pub(crate) Currency);

impl fmt::Display for Unrounded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(exact, currency) = self;
        if let Ok(major) = exact.times_ratio(1, currency.minor_per_major()) {
            major.fmt(f)?;
        }
        write!(f, " {currency}")
    }
}

/// A price of the tariff and its currency, as figures show it.
pub(crate) fn price(price: UnitPrice, currency: Currency) -> Fixed {
    price.shown(currency).of(currency.code())
}

/// A number of thousandths, as figures show it: without trailing zeros.
pub(crate) fn thousandths(number: i64) -> Fixed {
    Fixed::new(number, 3).trimmed(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_rounding_and_each_rule_is_told_in_words_of_its_own() {
        let told = [Rounding::None, Rounding::HalfUp, Rounding::LargestRemainder, Rounding::Ending];
        let expect = [
            "not rounded",
            "rounded half up on the magnitude",
            "shared out by largest remainder",
            "taken to the price ending",
        ];
        assert_eq!(told.map(Rounding::text), expect);
        for rule in Rule::ALL {
            assert!(rule.text().contains(' '), "{}", rule.code());
            assert_eq!(
                Rule::ALL.iter().filter(|other| other.text() == rule.text()).count(),
                1,
                "{}",
                rule.code()
            );
            assert_eq!(rule.code().parse(), Ok(*rule));
        }
    }
}
