//! The tariff of the invented workshop.

use evenfare_engine::category::{Category, Work};
use evenfare_engine::tariff::{
    AgreementRow, CourierRateRow, CourierRow, Cover, CreditRow, DiscountRow, EndingDirection, ExtraRow,
    FamilyRow, FindingRow, FindingStepRow, GradeRow, InspectionRow, MarkupRow, Method, OperationRow, PartRow,
    PartnerRow, PriceBreakRow, PriceRow, RefreshRow, Tariff, TermsRow, TestRow, UnderFloor, VatRateRow,
    WearModel, WearRow, WorkshopRow, ZoneRow,
};

use super::{Read, optional, read, span, table};

/// The tariff as written.
pub fn tariff() -> Read<Tariff> {
    Ok(Tariff {
        edition: read("2026-07")?,
        span: span("2026-07-01", "2026-12-31")?,
        currency: read("EUR")?,
        workshop: WorkshopRow {
            name: read("Achswerk Elektronik GmbH")?,
            street: read("Hafenstrasse 9")?,
            postcode: read("77694")?,
            city: read("Kehl")?,
            country: read("DE")?,
            vat_id: optional("DE277409611")?,
        },
        price: PriceRow {
            minimum_charge: read("180")?,
            ending_to: read("5")?,
            ending_direction: EndingDirection::Nearest,
            minimum_contribution: read("95")?,
            minimum_contribution_percent: read("12.5")?,
            uneconomic_percent: read("60")?,
            flat_covers: vec![Category::Part, Category::Labour, Category::Test],
            energy_per_kwh: read("0.2875")?,
        },
        courier: CourierRow {
            volumetric_divisor: 5_000,
            weight_step_kg: read("0.5")?,
            fuel_percent: read("15.75")?,
            insurance_percent: read("0.4")?,
            insurance_minimum: read("4.80")?,
            packaging_per_parcel: read("8.65")?,
        },
        inspection: InspectionRow { fee: read("98")?, minutes: 45, grade: read("G2")? },
        terms: TermsRow {
            validity_days: 30,
            turnaround_days: 14,
            warranty_months: 12,
            warranty_cycles: None,
        },
        markups: table("part 60\nlabour 85\ntest 70\ncourier 15", |[category, percent]| {
            Ok(MarkupRow { category: read(category)?, percent: read(percent)? })
        })?,
        grades: table("G1 54\nG2 71.50", |[code, rate]| {
            Ok(GradeRow { code: read(code)?, text: read(code)?, rate_per_hour: read(rate)? })
        })?,
        parts: parts()?,
        price_breaks: table(
            "CAP-470 4 3.4125
             CAP-470 10 2.9875
             CAP-1500 2 19.95
             DIODE-33 5 0.3985
             IGBT-75 3 59.60
             IGBT-75 6 57.125",
            |[part, from, cost]| {
                Ok(PriceBreakRow { part: read(part)?, from_quantity: read(from)?, unit_cost: read(cost)? })
            },
        )?,
        operations: table(
            "OP-BOARD G1 25 once
             OP-CAL G2 20 -
             OP-FIRMWARE G2 10 once
             OP-SINK G1 15 once
             OP-TRACK G1 12 -",
            |[code, grade, minutes, once]| {
                Ok(OperationRow {
                    code: read(code)?,
                    text: read(code)?,
                    grade: read(grade)?,
                    minutes: read(minutes)?,
                    once: once == "once",
                })
            },
        )?,
        tests: table(
            "T-COMM 1 9.50 10 G1 0.2\nT-DRIVE 2.5 18.40 35 G2 4.2",
            |[code, hours, rate, attended, grade, power]| {
                Ok(TestRow {
                    code: read(code)?,
                    text: read(code)?,
                    bench_hours: read(hours)?,
                    bench_rate: read(rate)?,
                    attended_minutes: read(attended)?,
                    grade: read(grade)?,
                    power_kw: read(power)?,
                })
            },
        )?,
        findings: table("BRIDGE\nBUS-SILENT\nCURRENT\nDC-BUS\nFAN\nGATE\nMEMORY\nRELAY", |[code]| {
            Ok(FindingRow { code: read(code)?, text: read(code)?, warranty: Cover::Covered })
        })?,
        finding_steps: finding_steps()?,
        families: table(
            "AXIS-4 T-DRIVE R-AXIS 7400\nAXIS-8 T-DRIVE R-AXIS 11900",
            |[code, test, list, value]| {
                Ok(FamilyRow {
                    code: read(code)?,
                    text: read(code)?,
                    method: Method::BuiltUp,
                    test: read(test)?,
                    refresh: optional(list)?,
                    replacement_value: read(value)?,
                    exchange_cost: None,
                    exchange_net: None,
                    warranty_months: None,
                    duty_hours_per_day: 14,
                })
            },
        )?,
        flat_prices: Vec::new(),
        refresh: refresh()?,
        wear: vec![WearRow {
            code: read("W-RELAY")?,
            model: WearModel::Contacts,
            rated_hours: None,
            rated_celsius: None,
            service_celsius: None,
            b10d: Some(1_000_000),
            operations_per_cycle: Some(read("1.5")?),
        }],
        zones: table(
            "HOME DE -\nISLANDS DE 27498\nNEAR AT -\nNEAR BE -\nNEAR FR -\nFAR FR 20",
            |[zone, country, prefix]| {
                Ok(ZoneRow { zone: read(zone)?, country: read(country)?, postcode_prefix: read(prefix)? })
            },
        )?,
        courier_rates: table(
            "HOME 5 9.40\nHOME 10 12.05\nHOME 20 17.70\nHOME 31.5 23.70
             ISLANDS 31.5 33.20
             NEAR 5 15.30\nNEAR 10 20.30\nNEAR 20 30.20\nNEAR 31.5 42.00
             FAR 10 29.00\nFAR 31.5 61.20",
            |[zone, up_to, cost]| {
                Ok(CourierRateRow { zone: read(zone)?, up_to_kg: read(up_to)?, leg_cost: read(cost)? })
            },
        )?,
        extras: vec![ExtraRow {
            code: read("URGENT")?,
            text: read("Urgent")?,
            percent: read("25")?,
            categories: vec![Category::Labour, Category::Test],
        }],
        partners: partners()?,
        agreements: table(
            "A-ALSACE-26 P-ALSACE 2026-01-01 -
             A-KEHL-24 P-KEHL 2024-01-01 2025-12-31
             A-KEHL-26 P-KEHL 2026-01-01 -",
            |[code, partner, from, until]| {
                Ok(AgreementRow {
                    code: read(code)?,
                    partner: read(partner)?,
                    span: span(from, until)?,
                    under_floor: UnderFloor::Scale,
                })
            },
        )?,
        discounts: discounts()?,
        credits: vec![
            CreditRow { agreement: read("A-KEHL-26")?, work: Work::LegIn, amount: read("34")? },
            CreditRow { agreement: read("A-ALSACE-26")?, work: Work::Diagnosis, amount: read("46.50")? },
        ],
        vat_rates: table(
            "AT 2019-01-01 - 20
             BE 2019-01-01 - 21
             DE 2019-01-01 2020-06-30 19
             DE 2020-07-01 2020-12-31 16
             DE 2021-01-01 - 19
             FR 2019-01-01 - 20",
            |[country, from, until, percent]| {
                Ok(VatRateRow { country: read(country)?, span: span(from, until)?, percent: read(percent)? })
            },
        )?,
        currency_rates: Vec::new(),
    })
}

fn parts() -> Read<Vec<PartRow>> {
    table(
        "BAT-3V 2.10 2 G1
         CAP-100 1.12 3 G1
         CAP-1500 21.70 12 G2
         CAP-470 3.85 4 G1
         COM-485 4.2850 7 G2
         DIODE-33 0.4375 2 G1
         DRIVER-6 28.40 14 G2
         FAN-60 18.90 5 G1
         FUSE-16 2.35 1 G1
         IGBT-75 64.80 25 G2
         OPTO-2 1.9850 6 G2
         PASTE-ML 0.0850 0 -
         RELAY-24 7.45 8 G1
         SHUNT-1M 4.6150 9 G2",
        |[code, cost, minutes, grade]| {
            Ok(PartRow {
                code: read(code)?,
                text: read(code)?,
                unit: evenfare_engine::category::PartUnit::Piece,
                unit_cost: read(cost)?,
                fit_minutes: read(minutes)?,
                fit_grade: optional(grade)?,
            })
        },
    )
}

fn finding_steps() -> Read<Vec<FindingStepRow>> {
    table(
        "BRIDGE part IGBT-75 - -
         BRIDGE part PASTE-ML 2.5 -
         BRIDGE part FUSE-16 - -
         BRIDGE operation OP-SINK - -
         BRIDGE test T-DRIVE 3 -
         BUS-SILENT part COM-485 - -
         CURRENT part SHUNT-1M - -
         CURRENT operation OP-CAL - -
         DC-BUS part CAP-1500 - -
         DC-BUS operation OP-SINK - -
         FAN part FAN-60 - M1
         GATE part DRIVER-6 - -
         GATE part OPTO-2 2 -
         MEMORY part BAT-3V - -
         MEMORY operation OP-FIRMWARE - -
         RELAY part RELAY-24 - -
         RELAY part DIODE-33 - -
         RELAY operation OP-TRACK 0.5 -",
        |[finding, kind, code, quantity, position]| {
            Ok(FindingStepRow {
                finding: read(finding)?,
                adds: read(kind)?,
                code: read(code)?,
                quantity: optional(quantity)?,
                position: optional(position)?,
            })
        },
    )
}

fn refresh() -> Read<Vec<RefreshRow>> {
    table(
        "part CAP-470 2 C11 always - -
         part CAP-470 2 C12 always - -
         part CAP-470 - C13 cycles 100000 -
         part CAP-100 8 - always - -
         part CAP-1500 - C3 always - -
         part CAP-1500 - C4 always - -
         part FAN-60 - M1 cycles 150000 -
         part RELAY-24 - K1 wear 60 W-RELAY
         part RELAY-24 - K2 wear 60 W-RELAY
         part DIODE-33 4 - always - -
         part BAT-3V - - cycles 900000 -
         operation OP-BOARD - - always - -",
        |[kind, code, quantity, position, trigger, threshold, wear]| {
            Ok(RefreshRow {
                list: read("R-AXIS")?,
                adds: read(kind)?,
                code: read(code)?,
                quantity: optional(quantity)?,
                position: optional(position)?,
                trigger: read(trigger)?,
                threshold: optional(threshold)?,
                wear: optional(wear)?,
            })
        },
    )
}

fn partners() -> Read<Vec<PartnerRow>> {
    let partner = |code, name, city, country, vat_id, buys_from| {
        Ok(PartnerRow {
            code: read(code)?,
            name: read(name)?,
            street: read("1")?,
            postcode: read("1")?,
            city: read(city)?,
            country: read(country)?,
            vat_id: optional(vat_id)?,
            buys_from: optional(buys_from)?,
            language: None,
        })
    };
    [
        partner("P-ALSACE", "Automates du Rhin SARL", "Strasbourg", "FR", "FR21817294358", "P-KEHL"),
        partner("P-KEHL", "Rheinservice GmbH", "Kehl", "DE", "DE306118422", ""),
    ]
    .into_iter()
    .collect()
}

fn discounts() -> Read<Vec<DiscountRow>> {
    table(
        "A-ALSACE-26 part 6.5
         A-ALSACE-26 labour 7.25
         A-ALSACE-26 test 5
         A-ALSACE-26 courier 2
         A-KEHL-24 part 10
         A-KEHL-26 part 11
         A-KEHL-26 labour 13.25
         A-KEHL-26 test 9.75
         A-KEHL-26 surcharge 5",
        |[agreement, category, percent]| {
            Ok(DiscountRow {
                agreement: read(agreement)?,
                category: read(category)?,
                percent: read(percent)?,
            })
        },
    )
}
