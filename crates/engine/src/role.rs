//! What goes into figures, by name.

use crate::category::{Category, words};

words! {
    /// What an input is to its figure: every name that a working can give to one.
    ///
    /// Kept quotes hold the names, so one that was once given stays.
    Role, "the name of what goes into a figure" {
        /// `finding`
        Finding = "finding",
        /// `refresh list`
        RefreshList = "refresh list",
        /// `family`
        Family = "family",
        /// `fitting`
        Fitting = "fitting",
        /// `charged as a lot of`
        ChargedAsALotOf = "charged as a lot of",
        /// `unit cost`
        UnitCost = "unit cost",
        /// `quantity`
        Quantity = "quantity",
        /// `rate`
        Rate = "rate",
        /// `bench rate`
        BenchRate = "bench rate",
        /// `attended`
        Attended = "attended",
        /// `power`
        Power = "power",
        /// `energy`
        Energy = "energy",
        /// `bench hours`
        BenchHours = "bench hours",
        /// `exchange unit`
        ExchangeUnit = "exchange unit",
        /// `minutes`
        Minutes = "minutes",
        /// `of the consignment`
        OfTheConsignment = "of the consignment",
        /// `chargeable weight`
        ChargeableWeight = "chargeable weight",
        /// `parcel`
        Parcel = "parcel",
        /// `divisor`
        Divisor = "divisor",
        /// `step`
        Step = "step",
        /// `declared value`
        DeclaredValue = "declared value",
        /// `percentage`
        Percentage = "percentage",
        /// `minimum`
        Minimum = "minimum",
        /// `parcels`
        Parcels = "parcels",
        /// `each`
        Each = "each",
        /// `rate of the leg`
        RateOfTheLeg = "rate of the leg",
        /// `fuel`
        Fuel = "fuel",
        /// `insurance`
        Insurance = "insurance",
        /// `line`
        Line = "line",
        /// `left out, a partner carries it`
        LeftOut = "left out, a partner carries it",
        /// `amount`
        Amount = "amount",
        /// `at most the line before`
        AtMostTheLineBefore = "at most the line before",
        /// `fixed price`
        FixedPrice = "fixed price",
        /// `warranty`
        Warranty = "warranty",
        /// `exchange price`
        ExchangePrice = "exchange price",
        /// `fee`
        Fee = "fee",
        /// `cost`
        Cost = "cost",
        /// `markup`
        Markup = "markup",
        /// `marked line`
        MarkedLine = "marked line",
        /// `minimum charge`
        MinimumCharge = "minimum charge",
        /// `ending`
        Ending = "ending",
        /// `line before`
        LineBefore = "line before",
        /// `net end price`
        NetEndPrice = "net end price",
        /// `net`
        Net = "net",
        /// `VAT due`
        VatDue = "VAT due",
        /// `what the buyer pays in all`
        WhatTheBuyerPaysInAll = "what the buyer pays in all",
        /// `line of the end price`
        LineOfTheEndPrice = "line of the end price",
        /// `base`
        Base = "base",
        /// `place of supply`
        PlaceOfSupply = "place of supply",
        /// `VAT`
        Vat = "VAT",
        /// `replacement value`
        ReplacementValue = "replacement value",
        /// `cost to be carried`
        CostToBeCarried = "cost to be carried",
        /// `minimum contribution`
        MinimumContribution = "minimum contribution",
        /// `share`
        Share = "share",
        /// `kept`
        Kept = "kept",
        /// `as agreed`
        AsAgreed = "as agreed",
        /// `the floor leaves`
        TheFloorLeaves = "the floor leaves",
        /// `the end price`
        TheEndPrice = "the end price",
        /// `what he sells at`
        WhatHeSellsAt = "what he sells at",
        /// `his share`
        HisShare = "his share",
        /// `discount`
        Discount = "discount",
        /// `credit`
        Credit = "credit",
        /// `units charged for`
        UnitsChargedFor = "units charged for",
        /// `left on`
        LeftOn = "left on",
        /// `months`
        Months = "months",
        /// `dispatch`
        Dispatch = "dispatch",
        /// `quoted`
        Quoted = "quoted",
        /// `days`
        Days = "days",
        /// `part`
        Part = "part",
        /// `labour`
        Labour = "labour",
        /// `test`
        Test = "test",
        /// `courier`
        Courier = "courier",
        /// `flat`
        Flat = "flat",
        /// `exchange`
        Exchange = "exchange",
        /// `inspection`
        Inspection = "inspection",
        /// `surcharge`
        Surcharge = "surcharge",
    }
}

impl From<Category> for Role {
    /// The net of a category's lines.
    fn from(category: Category) -> Self {
        match category {
            Category::Part => Self::Part,
            Category::Labour => Self::Labour,
            Category::Test => Self::Test,
            Category::Courier => Self::Courier,
            Category::Flat => Self::Flat,
            Category::Exchange => Self::Exchange,
            Category::Inspection => Self::Inspection,
            Category::Surcharge => Self::Surcharge,
            Category::Minimum => Self::Minimum,
            Category::Ending => Self::Ending,
        }
    }
}
