//! Without any files: a tariff and a job from your own database, here as JSON, priced by the engine
//! alone.
//!
//!     cargo run --example tariff_in_code

use std::error::Error;

use evenfare_engine::job::Job;
use evenfare_engine::tariff::{Edition, Tariff};
use evenfare_engine::{figures, quote};
use serde_json::json;

fn main() -> Result<(), Box<dyn Error>> {
    // One struct for each table, one field for each column; decimals are text. Tables that may be
    // empty can be left out.
    let tariff: Tariff = serde_json::from_value(json!({
        "edition": "SMALL-1",
        "span": { "from": "2026-01-01", "until": null },
        "currency": "EUR",
        "workshop": {
            "name": "Small Ovens Ltd", "street": "1 Crumb Lane", "postcode": "1000", "city": "Brussels",
            "country": "BE", "vat_id": "BE0428759497"
        },
        "price": {
            "minimum_charge": "90", "ending_to": "1", "ending_direction": "up",
            "minimum_contribution": "20", "minimum_contribution_percent": "10",
            "uneconomic_percent": "60", "flat_covers": [], "energy_per_kwh": "0.30"
        },
        "courier": {
            "volumetric_divisor": 5000, "weight_step_kg": "0.5", "fuel_percent": "12",
            "insurance_percent": "0.4", "insurance_minimum": "3", "packaging_per_parcel": "4.50"
        },
        "inspection": { "fee": "80", "minutes": 45, "grade": "BENCH" },
        "terms": { "validity_days": 30, "turnaround_days": 10, "warranty_months": 12, "warranty_cycles": null },
        "markups": [
            { "category": "part", "percent": "40" }, { "category": "labour", "percent": "60" },
            { "category": "test", "percent": "30" }, { "category": "courier", "percent": "0" }
        ],
        "grades": [{ "code": "BENCH", "text": "Bench technician", "rate_per_hour": "48" }],
        "parts": [{
            "code": "RELAY", "text": "Relay 24 V", "unit": "pc", "unit_cost": "6.20",
            "fit_minutes": 12, "fit_grade": "BENCH"
        }],
        "operations": [],
        "tests": [{
            "code": "RUN", "text": "Cyclic run", "bench_hours": "24", "bench_rate": "3.5",
            "attended_minutes": 20, "grade": "BENCH", "power_kw": "0.4"
        }],
        "findings": [{ "code": "STICKS", "text": "Relay sticks", "warranty": "covered" }],
        "finding_steps": [{
            "finding": "STICKS", "adds": "part", "code": "RELAY", "quantity": null, "position": null
        }],
        "families": [{
            "code": "OVEN", "text": "Oven controller", "method": "built_up", "test": "RUN", "refresh": null,
            "replacement_value": "2400", "exchange_cost": null, "exchange_net": null,
            "warranty_months": null, "duty_hours_per_day": 12
        }],
        "zones": [{ "zone": "HOME", "country": "BE", "postcode_prefix": "" }],
        "courier_rates": [{ "zone": "HOME", "up_to_kg": "30", "leg_cost": "11.90" }],
        "vat_rates": [{ "country": "BE", "span": { "from": "2020-01-01", "until": null }, "percent": "21" }]
    }))?;
    let job: Job = serde_json::from_value(json!({
        "reference": "S-1",
        "received": "2026-03-02",
        "customer": { "name": "Corner Bakery", "country": "BE", "business": true },
        "units": [{
            "id": "U1", "family": "OVEN", "serial": "0007", "declared_value": "900",
            "parcels": [{ "length_cm": "40", "width_cm": "30", "height_cm": "20", "weight_kg": "4.2" }],
            "findings": [{ "code": "STICKS", "position": "K1" }]
        }]
    }))?;

    // Every mistake of the tariff would come at once, each with its place.
    let edition = Edition::new(tariff)?;
    for warning in edition.warnings() {
        println!("worth a look: {warning}");
    }

    let quote = quote(&job, &edition)?;
    let offer = quote.main().ok_or("a quote has an offer")?;
    for line in &offer.lines {
        println!("{:<28} {:>8}", line.text, line.net.in_major_units(quote.currency));
    }
    println!(
        "{:<28} {:>8} {}",
        "end price, net",
        offer.end.net.in_major_units(quote.currency),
        quote.currency
    );

    // The figures alone are many times as fast: for asking a price again and again.
    let figures = figures(&job, &edition)?;
    assert_eq!(figures.first().map(|figures| figures.end_net), Some(offer.end.net));
    Ok(())
}
