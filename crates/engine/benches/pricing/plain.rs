//! A tariff and a job in plain integers, entries by index instead of by code: what the sums by hand
//! are given.
//!
//! Amounts are minor units, unit prices ten-thousandths of a major unit, quantities thousandths,
//! percentages ten-thousandths of a percent; days are counted from the beginning of the calendar.

pub struct Part {
    pub unit_cost: i64,
    pub breaks: Vec<(i64, i64)>,
    pub fit_minutes: i64,
    pub fit_grade: usize,
}

pub struct Operation {
    pub grade: usize,
    pub minutes: i64,
    pub once: bool,
}

pub struct Test {
    pub bench_hours: i64,
    pub bench_rate: i64,
    pub attended_minutes: i64,
    pub grade: usize,
    pub power_kw: i64,
}

pub enum Step {
    Part { part: usize, quantity: i64, position: Option<usize> },
    Operation { operation: usize, times: i64 },
    Test { test: usize, bench_hours: i64 },
}

pub enum Due {
    Always,
    Cycles(i64),
    Contacts { b10d: i64, operations_per_cycle: i64, share: i64 },
}

pub struct Family {
    pub test: usize,
    pub refresh: Vec<(Due, Step)>,
    pub replacement_value: i64,
}

pub struct Extra {
    pub percent: i64,
    pub categories: Vec<usize>,
}

pub struct Agreement {
    pub from: i64,
    pub until: i64,
    pub refuses: bool,
    pub discounts: Vec<(usize, i64)>,
    pub credits: Vec<(usize, i64)>,
}

pub struct Partner {
    pub country: usize,
    pub agreements: Vec<Agreement>,
}

pub struct VatRate {
    pub country: usize,
    pub from: i64,
    pub until: i64,
    pub percent: i64,
}

pub struct Tariff {
    pub country: usize,
    pub grades: Vec<i64>,
    pub parts: Vec<Part>,
    pub operations: Vec<Operation>,
    pub tests: Vec<Test>,
    pub findings: Vec<Vec<Step>>,
    pub families: Vec<Family>,
    /// By zone: up to this many grams, that much a leg.
    pub zones: Vec<Vec<(i64, i64)>>,
    pub extras: Vec<Extra>,
    pub partners: Vec<Partner>,
    pub vat_rates: Vec<VatRate>,
    /// By category.
    pub markups: [i64; 10],
    pub volumetric_divisor: i64,
    pub weight_step: i64,
    pub fuel: i64,
    pub insurance: i64,
    pub insurance_minimum: i64,
    pub packaging: i64,
    pub energy: i64,
    pub minimum_charge: i64,
    pub ending_to: i64,
    pub minimum_contribution: i64,
    pub minimum_contribution_percent: i64,
    pub uneconomic_percent: i64,
}

#[derive(Clone, Copy)]
pub struct Finding {
    pub finding: usize,
    pub position: Option<usize>,
    pub times: i64,
}

pub struct Parcel {
    pub length: i64,
    pub width: i64,
    pub height: i64,
    pub weight: i64,
}

pub struct Job {
    pub received: i64,
    pub tax_date: i64,
    pub country: usize,
    pub zone: usize,
    pub family: usize,
    pub cycles: i64,
    pub declared_value: i64,
    pub parcels: Vec<Parcel>,
    pub findings: Vec<Finding>,
    pub extras: Vec<usize>,
    pub route: Vec<usize>,
}
