//! What the engine computes, held against figures that others have published.
//!
//! The source stands beside each. Checks of a single formula (periods, largest remainder, life of
//! parts, volumetric weight, minor units) stand beside the formula, in the engine's own files.

#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use evenfare_engine::country::Country;
use evenfare_engine::money::{Exact, Net, Percent, Vat, kind};
use evenfare_engine::supply::vat;
use evenfare_engine::vat::identifier::VatIdentifier;
use evenfare_engine::vat::rates::standard_rate;

/// Groups of (base, rate, tax) in cents and percent, and the gross they come to.
fn check_vat(source: &str, groups: &[(i64, &str, i64)], gross: Option<i64>) {
    let mut net = Net::ZERO;
    let mut tax = Vat::ZERO;
    for &(base, rate, expected) in groups {
        let base = Net::from_minor(base).unwrap();
        let of_group = vat(base, rate.parse().unwrap()).unwrap();
        assert_eq!(of_group.minor(), expected, "{source}: {rate} % of {}", base.minor());
        net = net.plus(base).unwrap();
        tax = tax.plus(of_group).unwrap();
    }
    if let Some(gross) = gross {
        assert_eq!(net.with_vat(tax).unwrap().minor(), gross, "{source}");
    }
}

#[test]
fn vat_is_rounded_as_en_16931_has_it() {
    // EN 16931-1 BR-CO-17 and the example documents of CEN/TC 434 (ConnectingEurope/eInvoicing-EN16931)
    check_vat("tc434-example1", &[(18_323, "6", 1_099), (4_637, "21", 974)], Some(25_033));
    check_vat("tc434-example2", &[(146_050, "25", 36_513)], None);
    check_vat("tc434-example8", &[(90_891, "21", 19_087)], Some(109_978));
    check_vat("issue 303 of the same repository", &[(-171_050, "19", -32_500)], None);
    check_vat("unit test of BR-CO-17 there", &[(-649_134, "25", -162_284)], None);
}

#[test]
fn a_price_for_a_dozen_is_not_rounded_before_its_line() {
    // CEN/TC 434 example 8: 132 pieces at 15.24 for 12
    let line = Exact::from_minor(1_524).times_ratio(132, 12).unwrap().round::<kind::Net>().unwrap();
    assert_eq!(line.minor(), 16_764);
}

#[test]
fn standard_vat_rates_of_november_2026() {
    // PyPI eu-vat-rates-data 2026.9.29; npm sales-tax for CH, NO and GB
    let rates = "AT 20, BE 21, BG 20, HR 25, CY 19, CZ 21, DK 25, EE 24, FI 25.5, FR 20, DE 19, GR 24, HU 27, \
                 IE 23, IT 22, LV 21, LT 21, LU 17, MT 18, NL 21, PL 23, PT 23, RO 21, SK 23, SI 22, ES 21, SE 25, \
                 GB 20, CH 8.1, NO 25";
    let on = "2026-11-25".parse().unwrap();
    let mut union = 0;
    for (country, rate) in rates.split(", ").map(|pair| pair.split_once(' ').unwrap()) {
        let country: Country = country.parse().unwrap();
        let rate: Percent = rate.parse().unwrap();
        assert_eq!(standard_rate(country, on), Some(rate.scaled()), "{country}");
        union += usize::from(country.is_eu());
    }
    assert_eq!(union, 27);
}

#[test]
fn vat_rates_change_on_their_day() {
    // The dates of the national laws, as the same two packages have them.
    let check = |country: &str, day: &str, rate: &str| {
        let country: Country = country.parse().unwrap();
        let rate: Percent = rate.parse().unwrap();
        assert_eq!(standard_rate(country, day.parse().unwrap()), Some(rate.scaled()), "{country} on {day}");
    };
    check("DE", "2020-06-30", "19");
    check("DE", "2020-07-01", "16");
    check("DE", "2020-12-31", "16");
    check("DE", "2021-01-01", "19");
    check("EE", "2025-06-30", "22");
    check("EE", "2025-07-01", "24");
    check("RO", "2025-07-31", "19");
    check("RO", "2025-08-01", "21");
    check("SK", "2024-12-31", "20");
    check("SK", "2025-01-01", "23");
    check("FI", "2024-08-31", "24");
    check("FI", "2024-09-01", "25.5");
}

#[test]
fn vat_identifiers_as_the_reference_library_judges_them() {
    // python-stdnum 2.2; 1559 more, judged by it, stand beside the algorithms
    for valid in [
        "ATU13585627",
        "BE0428759497",
        "BE1000591226",
        "DE136695976",
        "IT00743110157",
        "NL004495445B01",
        "PL8567346215",
        "SE123456789701",
    ] {
        assert!(VatIdentifier::parse(valid).is_ok(), "{valid}");
    }
    assert!(VatIdentifier::parse("DE136695977").is_err());
}
