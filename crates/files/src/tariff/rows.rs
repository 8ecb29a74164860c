//! Which fields each section and each table has: those of the engine's row, by their names.

use evenfare_engine::period::Span;
use evenfare_engine::tariff::{
    AgreementRow, CourierRateRow, CourierRow, CreditRow, CurrencyRateRow, DiscountRow, ExtraRow, FamilyRow,
    FindingRow, FindingStepRow, FlatPriceRow, GradeRow, InspectionRow, OperationRow, PartRow, PartnerRow,
    PriceBreakRow, PriceRow, RefreshRow, TermsRow, TestRow, VatRateRow, WearRow, WorkshopRow, ZoneRow,
};

use crate::fields::Fields;

/// A section of `edition.toml` or a row of a table.
pub(super) trait Row: Sized {
    /// Its columns, field by field.
    const COLUMNS: &'static [&'static [&'static str]];

    /// Those of its columns that a table need not have.
    const OPTIONAL: &'static [&'static str] = &[];

    /// Takes its fields; reports each that is wrong.
    fn take(fields: &mut Fields) -> Option<Self>;
}

/// A span of days is written in two columns.
pub(super) fn span(fields: &mut Fields) -> Option<Span> {
    let from = fields.need("from");
    let until = fields.need("until");
    Some(Span { from: from?, until: until? })
}

macro_rules! columns {
    (span) => {
        &["from", "until"]
    };
    ($field:ident) => {
        &[stringify!($field)]
    };
}

macro_rules! take {
    ($fields:ident, span) => {
        span($fields)
    };
    // Every postcode of the country.
    ($fields:ident, postcode_prefix) => {
        $fields.or_default("postcode_prefix")
    };
    // Some countries have none.
    ($fields:ident, postcode) => {
        $fields.or_default("postcode")
    };
    ($fields:ident, $field:ident) => {
        $fields.need(stringify!($field))
    };
}

// Behind the semicolon stand columns that a table need not have.
macro_rules! rows {
    ($($name:ident { $($field:ident),* $(; $($optional:ident),*)? })*) => { $(
        impl Row for $name {
            const COLUMNS: &'static [&'static [&'static str]] =
                &[$(columns!($field)),* $(, $(columns!($optional)),*)?];
            const OPTIONAL: &'static [&'static str] = &[$($(stringify!($optional)),*)?];

            fn take(fields: &mut Fields) -> Option<Self> {
                $(let $field = take!(fields, $field);)*
                $($(let $optional = take!(fields, $optional);)*)?
                Some(Self { $($field: $field?),* $(, $($optional: $optional?),*)? })
            }
        }
    )* };
}

rows! {
    WorkshopRow { name, street, postcode, city, country, vat_id }
    PriceRow {
        minimum_charge, ending_to, ending_direction, minimum_contribution, minimum_contribution_percent,
        uneconomic_percent, flat_covers, energy_per_kwh
    }
    CourierRow {
        volumetric_divisor, weight_step_kg, fuel_percent, insurance_percent, insurance_minimum,
        packaging_per_parcel
    }
    InspectionRow { fee, minutes, grade }
    TermsRow { validity_days, turnaround_days, warranty_months, warranty_cycles }

    GradeRow { code, text, rate_per_hour }
    PartRow { code, text, unit, unit_cost, fit_minutes, fit_grade }
    PriceBreakRow { part, from_quantity, unit_cost }
    OperationRow { code, text, grade, minutes, once }
    TestRow { code, text, bench_hours, bench_rate, attended_minutes, grade, power_kw }
    FindingRow { code, text, warranty }
    FindingStepRow { finding, adds, code, quantity, position }
    FamilyRow {
        code, text, method, test, refresh, replacement_value, exchange_cost, exchange_net, warranty_months,
        duty_hours_per_day
    }
    FlatPriceRow { family, class, text, net }
    RefreshRow { list, adds, code, quantity, position, trigger, threshold, wear }
    WearRow { code, model, rated_hours, rated_celsius, service_celsius, b10d, operations_per_cycle }
    ZoneRow { zone, country, postcode_prefix }
    CourierRateRow { zone, up_to_kg, leg_cost }
    ExtraRow { code, text, percent, categories }
    PartnerRow { code, name, street, postcode, city, country, vat_id, buys_from; language }
    AgreementRow { code, partner, span, under_floor }
    DiscountRow { agreement, category, percent }
    CreditRow { agreement, work, amount }
    VatRateRow { country, span, percent }
    CurrencyRateRow { date, currency, units_per_eur }
}
