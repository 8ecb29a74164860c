//! The names of lines: what a cost or a price is for.

use std::fmt;

use crate::category::Category;
use crate::job::Unit;
use crate::tariff::entries::{Extra, FlatPrice, Grade, Part, Test};

/// What a line is for.
#[derive(Clone, Copy)]
pub(crate) enum Item<'a> {
    Flat(&'a FlatPrice),
    Exchange,
    Inspection,
    Part(&'a Part),
    Labour(&'a Grade),
    Test(&'a Test),
    LegIn,
    LegOut,
    Packaging,
    Surcharge(&'a Extra),
    Minimum,
    Ending,
}

/// A line: what it is for, and for which unit. Its text is its name in every answer:
/// `U1/part/CAP-470`, `surcharge/URGENT`, `ending`.
#[derive(Clone, Copy)]
pub(crate) struct LineId<'a> {
    pub(crate) unit: Option<&'a Unit>,
    pub(crate) item: Item<'a>,
}

impl Item<'_> {
    pub(crate) fn category(self) -> Category {
        match self {
            Item::Part(_) => Category::Part,
            Item::Labour(_) => Category::Labour,
            Item::Test(_) => Category::Test,
            Item::LegIn | Item::LegOut | Item::Packaging => Category::Courier,
            Item::Flat(_) => Category::Flat,
            Item::Exchange => Category::Exchange,
            Item::Inspection => Category::Inspection,
            Item::Surcharge(_) => Category::Surcharge,
            Item::Minimum => Category::Minimum,
            Item::Ending => Category::Ending,
        }
    }

    /// In words, for the customer.
    pub(crate) fn text(self) -> String {
        match self {
            Item::Part(part) => part.text.to_string(),
            Item::Labour(grade) => grade.text.to_string(),
            Item::Test(test) => test.text.to_string(),
            Item::Flat(price) => price.text.to_string(),
            Item::Surcharge(extra) => extra.text.to_string(),
            Item::Exchange => "Exchange unit".to_owned(),
            Item::Inspection => "Inspection".to_owned(),
            Item::LegIn => "Courier to the workshop".to_owned(),
            Item::LegOut => "Courier back".to_owned(),
            Item::Packaging => "Packaging".to_owned(),
            Item::Minimum => "To the minimum charge".to_owned(),
            Item::Ending => "Price ending".to_owned(),
        }
    }
}

impl fmt::Display for LineId<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(unit) = self.unit {
            write!(f, "{}/", unit.id)?;
        }
        match self.item {
            Item::Part(part) => write!(f, "part/{}", part.code),
            Item::Labour(grade) => write!(f, "labour/{}", grade.code),
            Item::Test(test) => write!(f, "test/{}", test.code),
            Item::Flat(price) => write!(f, "flat/{}", price.class),
            Item::Surcharge(extra) => write!(f, "surcharge/{}", extra.code),
            Item::Exchange => f.write_str("exchange"),
            Item::Inspection => f.write_str("inspection"),
            Item::LegIn => f.write_str("courier/leg_in"),
            Item::LegOut => f.write_str("courier/leg_out"),
            Item::Packaging => f.write_str("courier/packaging"),
            Item::Minimum => f.write_str("minimum"),
            Item::Ending => f.write_str("ending"),
        }
    }
}
