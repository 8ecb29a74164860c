//! The same job by Python's `decimal`: what it is given, what it has to come to, and how long it takes.

use std::error::Error;
use std::io::{ErrorKind, Write as _};
use std::process::{Command, Stdio};

use serde_json::{Value, json};

use crate::by_hand::Figures;
use crate::plain::{Agreement, Due, Family, Job, Operation, Part, Step, Tariff, Test};

/// Seconds of a call; nothing where there is no `python3`.
///
/// # Errors
/// Where the program fails, or its figures are not those by hand.
pub fn seconds(tariff: &Tariff, job: &Job, by_hand: &Figures) -> Result<Option<f64>, Box<dyn Error>> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/pricing/by_decimal.py");
    let turns = if std::env::args().any(|arg| arg == "--bench") { "15" } else { "1" };
    let (given, said) = (Stdio::piped(), Stdio::piped());
    let python = Command::new("python3").args([script, turns]).stdin(given).stdout(said).spawn();
    let mut python = match python {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        python => python?,
    };
    let given = json!({ "tariff": of_tariff(tariff), "job": of_job(job) }).to_string();
    python.stdin.take().ok_or("no input")?.write_all(given.as_bytes())?;
    let said = python.wait_with_output()?;
    if !said.status.success() {
        return Err("by_decimal.py failed".into());
    }
    let said: Value = serde_json::from_slice(&said.stdout)?;
    assert_eq!(said["figures"], of_figures(by_hand), "the figures by decimal, and by hand");
    Ok(Some(said["seconds"].as_f64().ok_or("no time")?))
}

fn of_figures(figures: &Figures) -> Value {
    let sale = |sale: &crate::by_hand::Sale| {
        json!({
            "net": sale.net, "lines": sale.lines, "category": sale.category, "tax": sale.tax, "gross": sale.gross,
        })
    };
    json!({
        "end_net": figures.end_net, "lines": figures.lines, "vat_due": figures.vat_due, "cost": figures.cost,
        "shares": figures.shares, "workshop_net": figures.workshop_net,
        "sales": figures.sales.iter().map(sale).collect::<Vec<_>>(),
        "uneconomic": figures.uneconomic, "under_floor": figures.under_floor, "scaled": figures.scaled,
    })
}

fn of_tariff(t: &Tariff) -> Value {
    let part = |p: &Part| {
        json!({
            "unit_cost": p.unit_cost, "breaks": p.breaks, "fit_minutes": p.fit_minutes, "fit_grade": p.fit_grade,
        })
    };
    let operation = |o: &Operation| json!({ "grade": o.grade, "minutes": o.minutes, "once": o.once });
    let test = |t: &Test| {
        json!({
            "bench_hours": t.bench_hours, "bench_rate": t.bench_rate, "attended_minutes": t.attended_minutes,
            "grade": t.grade, "power_kw": t.power_kw,
        })
    };
    let family = |f: &Family| {
        let refresh: Vec<Value> = f.refresh.iter().map(|(due, s)| json!([of_due(due), step(s)])).collect();
        json!({ "test": f.test, "refresh": refresh, "replacement_value": f.replacement_value })
    };
    let agreement = |a: &Agreement| {
        json!({
            "from": a.from, "until": a.until, "refuses": a.refuses,
            "discounts": a.discounts, "credits": a.credits,
        })
    };
    let partner = |p: &crate::plain::Partner| json!({ "country": p.country, "agreements": p.agreements.iter().map(agreement).collect::<Vec<_>>() });
    let findings = t.findings.iter().map(|steps| steps.iter().map(step).collect::<Vec<_>>());
    let extras = t.extras.iter().map(|e| json!({ "percent": e.percent, "categories": e.categories }));
    let vat_rates = t.vat_rates.iter().map(|r| json!([r.country, r.from, r.until, r.percent]));
    json!({
        "country": t.country,
        "grades": t.grades,
        "parts": t.parts.iter().map(part).collect::<Vec<_>>(),
        "operations": t.operations.iter().map(operation).collect::<Vec<_>>(),
        "tests": t.tests.iter().map(test).collect::<Vec<_>>(),
        "findings": findings.collect::<Vec<_>>(),
        "families": t.families.iter().map(family).collect::<Vec<_>>(),
        "zones": t.zones,
        "extras": extras.collect::<Vec<_>>(),
        "partners": t.partners.iter().map(partner).collect::<Vec<_>>(),
        "vat_rates": vat_rates.collect::<Vec<_>>(),
        "markups": t.markups,
        "volumetric_divisor": t.volumetric_divisor, "weight_step": t.weight_step, "fuel": t.fuel,
        "insurance": t.insurance, "insurance_minimum": t.insurance_minimum,
        "packaging": t.packaging, "energy": t.energy,
        "minimum_charge": t.minimum_charge, "ending_to": t.ending_to,
        "minimum_contribution": t.minimum_contribution,
        "minimum_contribution_percent": t.minimum_contribution_percent,
        "uneconomic_percent": t.uneconomic_percent,
    })
}

fn step(step: &Step) -> Value {
    match step {
        Step::Part { part, quantity, position } => json!(["part", part, quantity, position]),
        Step::Operation { operation, times } => json!(["operation", operation, times]),
        Step::Test { test, bench_hours } => json!(["test", test, bench_hours]),
    }
}

fn of_due(due: &Due) -> Value {
    match due {
        Due::Always => json!(["always"]),
        Due::Cycles(from) => json!(["cycles", from]),
        Due::Contacts { b10d, operations_per_cycle, share } => {
            json!(["contacts", b10d, operations_per_cycle, share])
        }
    }
}

fn of_job(job: &Job) -> Value {
    let findings = job.findings.iter().map(|f| json!([f.finding, f.position, f.times]));
    let parcels = job.parcels.iter().map(|p| json!([p.length, p.width, p.height, p.weight]));
    json!({
        "received": job.received, "tax_date": job.tax_date, "country": job.country, "zone": job.zone,
        "family": job.family, "cycles": job.cycles, "declared_value": job.declared_value,
        "parcels": parcels.collect::<Vec<_>>(), "findings": findings.collect::<Vec<_>>(),
        "extras": job.extras, "route": job.route,
    })
}
