//! The same tariff and job in plain integers: codes become indices, before anything is timed.

use std::error::Error;

use chrono::{Datelike, NaiveDate};
use evenfare_engine::category::{Category, Work};
use evenfare_engine::country::Country;
use evenfare_engine::job;
use evenfare_engine::money::{Percent, Quantity, UnitPrice};
use evenfare_engine::period::Span;
use evenfare_engine::tariff::{self, Adds, Trigger, UnderFloor};
use evenfare_engine::text::Code;

use crate::plain::{
    Agreement, Due, Extra, Family, Finding, Job, Operation, Parcel, Part, Partner, Step, Tariff, Test,
    VatRate,
};

type Read<T> = Result<T, Box<dyn Error>>;

fn day(day: NaiveDate) -> i64 {
    i64::from(day.num_days_from_ce())
}

fn days(span: Span) -> (i64, i64) {
    (day(span.from), span.until.map_or(i64::MAX, day))
}

fn country(country: Country) -> Read<usize> {
    Ok(Country::all().position(|other| other == country).ok_or("no country")?)
}

fn category(category: Category) -> usize {
    category as usize
}

fn work(work: Work) -> usize {
    work as usize
}

/// The place of a code among the sorted codes of its table.
fn index(codes: &[&Code], code: &Code) -> Read<usize> {
    Ok(codes.binary_search(&code).map_err(|_| code.as_str())?)
}

fn sorted<'r, R>(rows: &'r [R], code: impl Fn(&'r R) -> &'r Code) -> (Vec<&'r R>, Vec<&'r Code>) {
    let mut sorted: Vec<&R> = rows.iter().collect();
    sorted.sort_by_key(|row| code(row));
    let codes = sorted.iter().map(|row| code(row)).collect();
    (sorted, codes)
}

/// Whole minor units of the euro.
fn minor(price: UnitPrice) -> i64 {
    price.scaled() / 100
}

/// Board positions by index, as they come.
#[derive(Default)]
struct Positions(Vec<Code>);

impl Positions {
    fn index(&mut self, position: Option<&Code>) -> Option<usize> {
        let position = position?;
        let known = self.0.iter().position(|other| other == position);
        Some(known.unwrap_or_else(|| {
            self.0.push(position.clone());
            self.0.len() - 1
        }))
    }
}

struct Codes<'r> {
    parts: Vec<&'r Code>,
    operations: Vec<&'r Code>,
    tests: Vec<&'r Code>,
}

impl Codes<'_> {
    fn step(
        &self,
        adds: Adds,
        code: &Code,
        quantity: Option<Quantity>,
        position: Option<usize>,
        tests: &[Test],
    ) -> Read<Step> {
        let one = quantity.map_or(1_000, Quantity::scaled);
        Ok(match adds {
            Adds::Part => Step::Part { part: index(&self.parts, code)?, quantity: one, position },
            Adds::Operation => Step::Operation { operation: index(&self.operations, code)?, times: one },
            Adds::Test => {
                let test = index(&self.tests, code)?;
                let usual = tests.get(test).map_or(0, |test| test.bench_hours);
                Step::Test { test, bench_hours: quantity.map_or(usual, Quantity::scaled) }
            }
        })
    }
}

/// Both, as the sums by hand take them.
pub fn translated(tariff: &tariff::Tariff, job: &job::Job) -> Read<(Tariff, Job)> {
    let mut positions = Positions::default();
    let (grades, grade_codes) = sorted(&tariff.grades, |row| &row.code);
    let (part_rows, parts) = sorted(&tariff.parts, |row| &row.code);
    let (operation_rows, operations) = sorted(&tariff.operations, |row| &row.code);
    let (test_rows, tests) = sorted(&tariff.tests, |row| &row.code);
    let (_, findings) = sorted(&tariff.findings, |row| &row.code);
    let (family_rows, families) = sorted(&tariff.families, |row| &row.code);
    let (extra_rows, extras) = sorted(&tariff.extras, |row| &row.code);
    let (partner_rows, partners) = sorted(&tariff.partners, |row| &row.code);
    let codes = Codes { parts, operations, tests };

    let plain_tests = test_rows.iter().map(|row| {
        Ok(Test {
            bench_hours: row.bench_hours.scaled(),
            bench_rate: row.bench_rate.scaled(),
            attended_minutes: row.attended_minutes.into(),
            grade: index(&grade_codes, &row.grade)?,
            power_kw: row.power_kw.scaled(),
        })
    });
    let plain_tests = plain_tests.collect::<Read<Vec<_>>>()?;
    let mut steps: Vec<Vec<Step>> = findings.iter().map(|_| Vec::new()).collect();
    for row in &tariff.finding_steps {
        let position = positions.index(row.position.as_ref());
        let step = codes.step(row.adds, &row.code, row.quantity, position, &plain_tests)?;
        steps.get_mut(index(&findings, &row.finding)?).ok_or("no finding")?.push(step);
    }
    let mut plain_families = Vec::new();
    for row in family_rows {
        let mut refresh = Vec::new();
        for step in tariff.refresh.iter().filter(|step| row.refresh.as_ref() == Some(&step.list)) {
            let position = positions.index(step.position.as_ref());
            refresh.push((
                due(tariff, step)?,
                codes.step(step.adds, &step.code, step.quantity, position, &plain_tests)?,
            ));
        }
        plain_families.push(Family {
            test: index(&codes.tests, &row.test)?,
            refresh,
            replacement_value: minor(row.replacement_value),
        });
    }
    let part = |row: &&tariff::PartRow| {
        let breaks = tariff.price_breaks.iter().filter(|b| b.part == row.code);
        let mut breaks: Vec<(i64, i64)> =
            breaks.map(|b| (b.from_quantity.scaled(), b.unit_cost.scaled())).collect();
        breaks.sort_unstable();
        let fit_grade = row.fit_grade.as_ref().map_or(Ok(0), |grade| index(&grade_codes, grade))?;
        Ok(Part { unit_cost: row.unit_cost.scaled(), breaks, fit_minutes: row.fit_minutes.into(), fit_grade })
    };
    let operation = |row: &&tariff::OperationRow| {
        Ok(Operation { grade: index(&grade_codes, &row.grade)?, minutes: row.minutes.into(), once: row.once })
    };
    let vat_rate = |row: &tariff::VatRateRow| {
        let (from, until) = days(row.span);
        Ok(VatRate { country: country(row.country)?, from, until, percent: row.percent.scaled() })
    };
    let zone_codes = zones(tariff);
    let zone_rates = |zone: &&Code| {
        let rates = tariff.courier_rates.iter().filter(|rate| rate.zone == **zone);
        let mut rates: Vec<(i64, i64)> =
            rates.map(|rate| (rate.up_to_kg.scaled(), rate.leg_cost.scaled())).collect();
        rates.sort_unstable();
        rates
    };
    let mut markups = [0; 10];
    for row in &tariff.markups {
        *markups.get_mut(category(row.category)).ok_or("no category")? = row.percent.scaled();
    }
    let plain_partners = partner_rows.iter().map(|row| {
        let agreements = tariff.agreements.iter().filter(|agreement| agreement.partner == row.code);
        Ok(Partner {
            country: country(row.country)?,
            agreements: agreements.map(|a| agreement(tariff, a)).collect(),
        })
    });
    let plain_tariff = Tariff {
        country: country(tariff.workshop.country)?,
        grades: grades.iter().map(|row| row.rate_per_hour.scaled()).collect(),
        parts: part_rows.iter().map(part).collect::<Read<_>>()?,
        operations: operation_rows.iter().map(operation).collect::<Read<_>>()?,
        tests: plain_tests,
        findings: steps,
        families: plain_families,
        zones: zone_codes.iter().map(zone_rates).collect(),
        extras: extra_rows
            .iter()
            .map(|row| Extra {
                percent: row.percent.scaled(),
                categories: row.categories.iter().copied().map(category).collect(),
            })
            .collect(),
        partners: plain_partners.collect::<Read<_>>()?,
        vat_rates: tariff.vat_rates.iter().map(vat_rate).collect::<Read<_>>()?,
        markups,
        volumetric_divisor: tariff.courier.volumetric_divisor.into(),
        weight_step: tariff.courier.weight_step_kg.scaled(),
        fuel: tariff.courier.fuel_percent.scaled(),
        insurance: tariff.courier.insurance_percent.scaled(),
        insurance_minimum: tariff.courier.insurance_minimum.scaled(),
        packaging: tariff.courier.packaging_per_parcel.scaled(),
        energy: tariff.price.energy_per_kwh.scaled(),
        minimum_charge: minor(tariff.price.minimum_charge),
        ending_to: minor(tariff.price.ending_to),
        minimum_contribution: minor(tariff.price.minimum_contribution),
        minimum_contribution_percent: tariff.price.minimum_contribution_percent.scaled(),
        uneconomic_percent: tariff.price.uneconomic_percent.scaled(),
    };

    let unit = job.units.first().ok_or("no unit")?;
    let parcel = |parcel: &job::Parcel| Parcel {
        length: parcel.length_cm.scaled(),
        width: parcel.width_cm.scaled(),
        height: parcel.height_cm.scaled(),
        weight: parcel.weight_kg.scaled(),
    };
    let finding = |found: &job::Finding| {
        Ok(Finding {
            finding: index(&findings, &found.code)?,
            position: positions.index(found.position.as_ref()),
            times: found.quantity.unwrap_or(1).into(),
        })
    };
    let served = |zone: &&tariff::ZoneRow| {
        zone.country == job.customer.country
            && job.customer.postcode.as_str().starts_with(zone.postcode_prefix.as_str())
    };
    let zone = tariff.zones.iter().filter(served).max_by_key(|zone| zone.postcode_prefix.as_str().len());
    let plain_job = Job {
        received: day(job.received),
        tax_date: day(job.received) + i64::from(tariff.terms.turnaround_days),
        country: country(job.customer.country)?,
        zone: index(&zone_codes, &zone.ok_or("no zone")?.zone)?,
        family: index(&families, &unit.family)?,
        cycles: i64::try_from(unit.cycles.ok_or("no cycles")?)?,
        declared_value: unit.declared_value.scaled(),
        parcels: unit.parcels.iter().map(parcel).collect(),
        findings: unit.findings.iter().map(finding).collect::<Read<_>>()?,
        extras: job.extras.iter().map(|extra| index(&extras, extra)).collect::<Read<_>>()?,
        route: job.route.iter().map(|stop| index(&partners, &stop.partner)).collect::<Read<_>>()?,
    };
    Ok((plain_tariff, plain_job))
}

fn zones(tariff: &tariff::Tariff) -> Vec<&Code> {
    let mut zones: Vec<&Code> = tariff.courier_rates.iter().map(|rate| &rate.zone).collect();
    zones.sort_unstable();
    zones.dedup();
    zones
}

fn due(tariff: &tariff::Tariff, row: &tariff::RefreshRow) -> Read<Due> {
    let threshold = row.threshold.map_or(0, Quantity::scaled);
    Ok(match row.trigger {
        Trigger::Always => Due::Always,
        Trigger::Cycles => Due::Cycles(threshold / 1_000),
        Trigger::Years => return Err("years are not done by hand".into()),
        Trigger::Wear => {
            let wear =
                tariff.wear.iter().find(|wear| Some(&wear.code) == row.wear.as_ref()).ok_or("no wear")?;
            Due::Contacts {
                b10d: i64::try_from(wear.b10d.ok_or("no B10d")?)?,
                operations_per_cycle: wear.operations_per_cycle.map_or(0, Quantity::scaled),
                share: threshold * 10,
            }
        }
    })
}

fn agreement(tariff: &tariff::Tariff, row: &tariff::AgreementRow) -> Agreement {
    let (from, until) = days(row.span);
    let discounts = tariff.discounts.iter().filter(|discount| discount.agreement == row.code);
    let credits = tariff.credits.iter().filter(|credit| credit.agreement == row.code);
    Agreement {
        from,
        until,
        refuses: row.under_floor == UnderFloor::Refuse,
        discounts: discounts.map(|row| (category(row.category), Percent::scaled(row.percent))).collect(),
        credits: credits.map(|row| (work(row.work), minor(row.amount))).collect(),
    }
}
