//! Worlds: a tariff of plain rows and a job under it, drawn from a tape.
//!
//! They are valid by construction, not by luck: a reference is picked from the rows there are, a
//! price break is never dearer than the one before, dates fit. What stays out of range is a sum
//! past the bounds, in worlds whose prices lie near them on purpose.

// Without the star the type picked from is inferred to be `str` itself, which has no size.
#![allow(clippy::explicit_auto_deref)]

mod bench;
mod families;
mod figures;
mod job;
mod rules;
mod trade;

use std::fmt;

use chrono::NaiveDate;
use evenfare_engine::job::{Job, Stop};
use evenfare_engine::period::Span;
use evenfare_engine::problem::Problem;
use evenfare_engine::tariff::{AgreementRow, Edition, PartnerRow, Tariff, UnderFloor};
use evenfare_engine::text::Code;

use crate::tape::{Draw, Tape};

pub use job::{findings, taking_over};

/// What is drawn, each with choices of its own.
mod kind {
    pub const WORLD: usize = 0;
    pub const PRICE: usize = 1;
    pub const COURIER: usize = 2;
    pub const GRADES: usize = 3;
    pub const PARTS: usize = 4;
    pub const BREAKS: usize = 5;
    pub const OPERATIONS: usize = 6;
    pub const TESTS: usize = 7;
    pub const FINDINGS: usize = 8;
    pub const STEPS: usize = 9;
    pub const WEAR: usize = 10;
    pub const REFRESH: usize = 11;
    pub const FAMILIES: usize = 12;
    pub const FLAT: usize = 13;
    pub const ZONES: usize = 14;
    pub const EXTRAS: usize = 15;
    pub const PARTNERS: usize = 16;
    pub const AGREEMENTS: usize = 17;
    pub const DISCOUNTS: usize = 18;
    pub const CREDITS: usize = 19;
    pub const VAT: usize = 20;
    pub const CURRENCIES: usize = 21;
    pub const JOB: usize = 22;
    pub const UNITS: usize = 23;
    pub const PARCELS: usize = 24;
    pub const FOUND: usize = 25;
    pub const RETURNED: usize = 26;
    pub const ALTERNATIVES: usize = 27;
    pub const ROUTE: usize = 28;
    /// Whatever a law draws for itself.
    pub const LAW: usize = 29;
}

pub struct World {
    pub tape: Tape,
    pub tariff: Tariff,
    pub edition: Edition,
    pub job: Job,
}

/// A tape that shows the world it stands for.
#[derive(Clone)]
pub struct Recipe(pub Tape);

impl fmt::Debug for Recipe {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tariff = rules::tariff(&self.0);
        let job = job::job(&self.0, &tariff);
        let json = |value: Result<String, serde_json::Error>| value.unwrap_or_else(|error| error.to_string());
        writeln!(f, "tariff: {}", json(serde_json::to_string(&tariff)))?;
        write!(f, "job: {}", json(serde_json::to_string(&job)))
    }
}

impl World {
    pub fn new(tape: &Tape) -> Result<Self, Vec<Problem>> {
        let tariff = rules::tariff(tape);
        let job = job::job(tape, &tariff);
        let edition = Edition::new(tariff.clone())?;
        Ok(Self { tape: tape.clone(), tariff, edition, job })
    }

    /// The plainest tariff and job there are: one of each, everything free, no partners.
    pub fn plain() -> (Tariff, Job) {
        let tape = Tape::plain();
        let tariff = rules::tariff(&tape);
        let job = job::job(&tape, &tariff);
        (tariff, job)
    }

    /// Another tariff and job in the place of a world's own.
    pub fn with(of: &World, tariff: Tariff, job: Job) -> Result<Self, Vec<Problem>> {
        let edition = Edition::new(tariff.clone())?;
        Ok(Self { tape: of.tape.clone(), tariff, edition, job })
    }

    /// Choices for a law of its own.
    pub fn choices(&self, item: usize) -> Draw<'_> {
        self.tape.draw(kind::LAW, item)
    }

    /// The job by another route, with nothing said about who takes over what.
    pub fn by(&self, route: &[Code]) -> Job {
        let stop = |partner: &Code| Stop { partner: partner.clone(), takes_over: None };
        Job { route: route.iter().map(stop).collect(), ..self.job.clone() }
    }
}

/// Another order, drawn.
pub fn shuffle<T>(draw: &mut Draw<'_>, list: &mut [T]) {
    for last in (1..list.len()).rev() {
        list.swap(last, draw.below(last as u64 + 1) as usize);
    }
}

/// One more partner, at home with the workshop, and an agreement with him in which nothing is agreed: its code.
pub fn partner(tariff: &mut Tariff, name: &str, buys_from: Option<Code>) -> Code {
    let workshop = tariff.workshop.clone();
    tariff.partners.push(PartnerRow {
        code: code(name),
        name: workshop.name,
        street: workshop.street,
        postcode: workshop.postcode,
        city: workshop.city,
        country: workshop.country,
        vat_id: workshop.vat_id,
        buys_from,
        language: None,
    });
    let agreement = code(&format!("AG-{name}"));
    tariff.agreements.push(AgreementRow {
        code: agreement.clone(),
        partner: code(name),
        span: Span { from: day(2026, 1, 1), until: None },
        under_floor: UnderFloor::Scale,
    });
    agreement
}

pub fn code(text: &str) -> Code {
    text.parse().unwrap()
}

pub fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}
