//! The names of lines: what a cost or a price is for.

use std::fmt;

use compact_str::{CompactString, CompactStringExt};

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
    pub(crate) fn text(self) -> CompactString {
        let text = match self {
            Item::Part(part) => part.text.as_str(),
            Item::Labour(grade) => grade.text.as_str(),
            Item::Test(test) => test.text.as_str(),
            Item::Flat(price) => price.text.as_str(),
            Item::Surcharge(extra) => extra.text.as_str(),
            Item::Exchange => "Exchange unit",
            Item::Inspection => "Inspection",
            Item::LegIn => "Courier to the workshop",
            Item::LegOut => "Courier back",
            Item::Packaging => "Packaging",
            Item::Minimum => "To the minimum charge",
            Item::Ending => "Price ending",
        };
        text.into()
    }

    /// The last two parts of a line's name.
    fn name(&self) -> [&str; 2] {
        match self {
            Item::Part(part) => ["part/", part.code.as_str()],
            Item::Labour(grade) => ["labour/", grade.code.as_str()],
            Item::Test(test) => ["test/", test.code.as_str()],
            Item::Flat(price) => ["flat/", price.class.as_str()],
            Item::Surcharge(extra) => ["surcharge/", extra.code.as_str()],
            Item::Exchange => ["exchange", ""],
            Item::Inspection => ["inspection", ""],
            Item::LegIn => ["courier/", "leg_in"],
            Item::LegOut => ["courier/", "leg_out"],
            Item::Packaging => ["courier/", "packaging"],
            Item::Minimum => ["minimum", ""],
            Item::Ending => ["ending", ""],
        }
    }
}

impl LineId<'_> {
    /// Its name in parts: the unit and what stands behind it, the kind of line, and which of them.
    fn parts(&self) -> [&str; 4] {
        let [kind, which] = self.item.name();
        match self.unit {
            Some(unit) => [unit.id.as_str(), "/", kind, which],
            None => ["", "", kind, which],
        }
    }

    /// Its name.
    pub(crate) fn name(&self) -> CompactString {
        self.parts().concat_compact()
    }
}

impl fmt::Display for LineId<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.parts().into_iter().try_for_each(|part| f.write_str(part))
    }
}
