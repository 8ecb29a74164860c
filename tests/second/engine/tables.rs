//! A tariff edition and a job, as their files have them.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::days::Day;
use super::numbers::Dec;

/// Rows of tables and sections of files: plain data with the names of their columns and keys.
macro_rules! rows {
    ($($(#[$outer:meta])* $name:ident { $($(#[$attribute:meta])* $field:ident: $type:ty,)* })*) => {
        $(#[derive(Clone, Debug, Deserialize)]
        $(#[$outer])*
        pub struct $name { $($(#[$attribute])* pub $field: $type,)* })*
    };
}

rows! {
    Rules {
        edition: Head,
        workshop: Firm,
        price: Price,
        courier: Courier,
        inspection: Inspection,
        terms: Terms,
        markup: BTreeMap<String, Dec>,
    }
    Head { from: Day, until: Option<Day>, currency: String, }
    Firm { country: String, vat_id: Option<String>, }
    Price {
        minimum_charge: Dec,
        ending_to: Dec,
        ending_direction: String,
        minimum_contribution: Dec,
        minimum_contribution_percent: Dec,
        uneconomic_percent: Dec,
        flat_covers: Vec<String>,
        energy_per_kwh: Dec,
    }
    Courier {
        volumetric_divisor: u32,
        weight_step_kg: Dec,
        fuel_percent: Dec,
        insurance_percent: Dec,
        insurance_minimum: Dec,
        packaging_per_parcel: Dec,
    }
    Inspection { fee: Dec, minutes: u32, grade: String, }
    Terms { validity_days: u32, turnaround_days: u32, warranty_months: u32, warranty_cycles: Option<u64>, }

    Grade { code: String, rate_per_hour: Dec, }
    Part { code: String, unit_cost: Dec, fit_minutes: u32, fit_grade: Option<String>, }
    PriceBreak { part: String, from_quantity: Dec, unit_cost: Dec, }
    Operation { code: String, grade: String, minutes: u32, once: String, }
    Programme {
        code: String,
        bench_hours: Dec,
        bench_rate: Dec,
        attended_minutes: u32,
        grade: String,
        power_kw: Dec,
    }
    Catalogued { code: String, text: String, warranty: String, }
    FindingStep { finding: String, adds: String, code: String, quantity: Option<Dec>, position: Option<String>, }
    Family {
        code: String,
        method: String,
        test: String,
        refresh: Option<String>,
        replacement_value: Dec,
        exchange_cost: Option<Dec>,
        exchange_net: Option<Dec>,
        warranty_months: Option<u32>,
        duty_hours_per_day: u32,
    }
    FlatPrice { family: String, class: String, net: Dec, }
    RefreshRow {
        list: String,
        adds: String,
        code: String,
        quantity: Option<Dec>,
        position: Option<String>,
        trigger: String,
        threshold: Option<Dec>,
        wear: Option<String>,
    }
    Wear {
        code: String,
        rated_hours: Option<u32>,
        rated_celsius: Option<i32>,
        service_celsius: Option<i32>,
        b10d: Option<u64>,
        operations_per_cycle: Option<Dec>,
    }
    Zone { zone: String, country: String, postcode_prefix: String, }
    CourierRate { zone: String, up_to_kg: Dec, leg_cost: Dec, }
    Extra { code: String, percent: Dec, categories: String, }
    Partner { code: String, country: String, vat_id: Option<String>, buys_from: Option<String>, }
    Agreement { code: String, partner: String, from: Day, until: Option<Day>, under_floor: String, }
    Discount { agreement: String, category: String, percent: Dec, }
    Credit { agreement: String, work: String, amount: Dec, }
    VatRate { country: String, from: Day, until: Option<Day>, percent: Dec, }
    CurrencyRate { date: Day, currency: String, units_per_eur: Dec, }

    Job {
        received: Day,
        quoted: Option<Day>,
        dispatch: Option<Day>,
        tax_date: Option<Day>,
        currency: Option<String>,
        customer: Customer,
        #[serde(default)]
        route: Vec<Stop>,
        #[serde(default)]
        extras: Vec<String>,
        #[serde(default)]
        units: Vec<Unit>,
        #[serde(default)]
        alternatives: Vec<Alternative>,
    }
    Customer {
        name: String,
        #[serde(default)]
        postcode: String,
        country: String,
        vat_id: Option<String>,
        business: bool,
    }
    #[serde(from = "Entry")]
    Stop { partner: String, takes_over: Option<Vec<String>>, }
    Unit {
        id: String,
        family: String,
        built: Option<Day>,
        cycles: Option<u64>,
        hours: Option<u32>,
        declared_value: Dec,
        #[serde(default = "refresh")]
        task: String,
        class: Option<String>,
        #[serde(default)]
        parcels: Vec<Parcel>,
        #[serde(default)]
        findings: Vec<Finding>,
        returned: Option<Returned>,
    }
    Parcel { length_cm: Dec, width_cm: Dec, height_cm: Dec, weight_kg: Dec, }
    Finding { code: String, position: Option<String>, quantity: Option<u32>, }
    Returned {
        dispatched: Day,
        warranty_months: u32,
        warranty_cycles: Option<u64>,
        cycles_at_dispatch: Option<u64>,
    }
    Alternative { id: String, changes: Vec<Change>, }
    Change {
        unit: String,
        task: Option<String>,
        class: Option<String>,
        #[serde(default)]
        findings: Vec<Finding>,
    }
}

/// A partner by his code alone, or with what he takes over.
#[derive(Deserialize)]
#[serde(untagged)]
enum Entry {
    Alone(String),
    Named { partner: String, takes_over: Option<Vec<String>> },
}

impl From<Entry> for Stop {
    fn from(entry: Entry) -> Self {
        match entry {
            Entry::Alone(partner) => Self { partner, takes_over: None },
            Entry::Named { partner, takes_over } => Self { partner, takes_over },
        }
    }
}

fn refresh() -> String {
    "refresh".into()
}

/// All tables of an edition.
#[derive(Debug)]
pub struct Tariff {
    pub rules: Rules,
    pub grades: BTreeMap<String, Grade>,
    pub parts: BTreeMap<String, Part>,
    pub breaks: Vec<PriceBreak>,
    pub operations: BTreeMap<String, Operation>,
    pub tests: BTreeMap<String, Programme>,
    pub findings: BTreeMap<String, Catalogued>,
    pub finding_steps: Vec<FindingStep>,
    pub families: BTreeMap<String, Family>,
    pub flat_prices: Vec<FlatPrice>,
    pub refresh: Vec<RefreshRow>,
    pub wear: BTreeMap<String, Wear>,
    pub zones: Vec<Zone>,
    pub courier_rates: Vec<CourierRate>,
    pub extras: BTreeMap<String, Extra>,
    pub partners: BTreeMap<String, Partner>,
    pub agreements: Vec<Agreement>,
    pub discounts: Vec<Discount>,
    pub credits: Vec<Credit>,
    pub vat_rates: Vec<VatRate>,
    pub currency_rates: Vec<CurrencyRate>,
}

impl Tariff {
    /// From the files of one edition by their names.
    pub fn read(files: &[(&'static str, String)]) -> Self {
        let text = |name: &str| files.iter().find(|file| file.0 == name).map_or("", |file| &file.1);
        fn rows<T: DeserializeOwned>(text: &str) -> Vec<T> {
            csv::Reader::from_reader(text.as_bytes()).deserialize().map(Result::unwrap).collect()
        }
        fn by<T: DeserializeOwned>(text: &str, code: fn(&T) -> &String) -> BTreeMap<String, T> {
            rows(text).into_iter().map(|row| (code(&row).clone(), row)).collect()
        }
        Self {
            rules: toml::from_str(text("edition.toml")).unwrap(),
            grades: by(text("grades.csv"), |row: &Grade| &row.code),
            parts: by(text("parts.csv"), |row: &Part| &row.code),
            breaks: rows(text("price_breaks.csv")),
            operations: by(text("operations.csv"), |row: &Operation| &row.code),
            tests: by(text("tests.csv"), |row: &Programme| &row.code),
            findings: by(text("findings.csv"), |row: &Catalogued| &row.code),
            finding_steps: rows(text("finding_steps.csv")),
            families: by(text("families.csv"), |row: &Family| &row.code),
            flat_prices: rows(text("flat_prices.csv")),
            refresh: rows(text("refresh.csv")),
            wear: by(text("wear.csv"), |row: &Wear| &row.code),
            zones: rows(text("zones.csv")),
            courier_rates: rows(text("courier_rates.csv")),
            extras: by(text("extras.csv"), |row: &Extra| &row.code),
            partners: by(text("partners.csv"), |row: &Partner| &row.code),
            agreements: rows(text("agreements.csv")),
            discounts: rows(text("discounts.csv")),
            credits: rows(text("credits.csv")),
            vat_rates: rows(text("vat_rates.csv")),
            currency_rates: rows(text("currency_rates.csv")),
        }
    }

    /// The agreement with a partner on that day.
    pub fn agreement(&self, partner: &str, on: Day) -> Option<&Agreement> {
        self.agreements
            .iter()
            .find(|row| row.partner == partner && super::days::holds(row.from, row.until, on))
    }

    /// What an agreement credits for that work.
    pub fn credit(&self, agreement: &Agreement, work: &str) -> Option<&Dec> {
        let mut rows = self.credits.iter();
        rows.find(|row| row.agreement == agreement.code && row.work == work).map(|row| &row.amount)
    }

    /// The standard rate of VAT in a country on that day.
    pub fn vat_rate(&self, country: &str, on: Day) -> Option<&Dec> {
        let mut rows = self.vat_rates.iter();
        rows.find(|row| row.country == country && super::days::holds(row.from, row.until, on))
            .map(|row| &row.percent)
    }
}
