//! A small sound tariff and a sound job, for tests to spoil.
// No test uses all of it.
#![allow(dead_code)]

use evenfare_files::Folder;

/// The files of one edition.
pub const EDITION: &[(&str, &str)] = &[
    (
        "edition.toml",
        r#"[edition]
id = "2026-07"
from = 2026-07-01
until = "2026-12-31"
currency = "EUR"

[workshop]
name = "Lötwerk"
street = "Zinnweg 1"
postcode = "10115"
city = "Berlin"
country = "DE"
vat_id = "DE111111117"

[price]
minimum_charge = "95.00"
ending_to = 5
ending_direction = "up"
minimum_contribution = "60"
minimum_contribution_percent = "12.5"
uneconomic_percent = 60
flat_covers = ["part", "labour", "test"]
energy_per_kwh = "0.31"

[courier]
volumetric_divisor = 5000
weight_step_kg = "0.5"
fuel_percent = "14.5"
insurance_percent = "0.35"
insurance_minimum = "4.50"
packaging_per_parcel = "6.80"

[inspection]
fee = "85"
minutes = 60
grade = "bench"

[terms]
validity_days = 30
turnaround_days = 12
warranty_months = 12
warranty_cycles = 1000000

[markup]
part = 35
labour = "42.5"
test = 20
courier = "0"
"#,
    ),
    ("grades.csv", "code,text,rate_per_hour\nbench,Bench technician,48\nfitter,Fitter,39.50\n"),
    (
        "parts.csv",
        "code,text,unit,unit_cost,fit_minutes,fit_grade\n\
         CAP-470,\"Capacitor 470 µF, 63 V\",pc,1.85,6,fitter\n\
         RELAY-4,Relay 4 A,pc,7.20,15,fitter\n\
         SCREW,Screw,pc,0.03,0,\n",
    ),
    ("price_breaks.csv", "part,from_quantity,unit_cost\nCAP-470,10,1.60\n"),
    ("operations.csv", "code,text,grade,minutes,once\nCLEAN,Cleaning,bench,20,yes\n"),
    (
        "tests.csv",
        "code,text,bench_hours,bench_rate,attended_minutes,grade,power_kw\nRUN,Run on a drive,4,9.50,30,bench,1.2\n",
    ),
    ("findings.csv", "code,text,warranty\nDEAD-CAP,Capacitor has dried out,covered\n"),
    (
        "finding_steps.csv",
        "finding,adds,code,quantity,position\nDEAD-CAP,part,CAP-470,,\nDEAD-CAP,operation,CLEAN,,\n",
    ),
    (
        "families.csv",
        "code,text,method,test,refresh,replacement_value,exchange_cost,exchange_net,warranty_months,duty_hours_per_day\n\
         DRV-A,Axis drive,built_up,RUN,R-DRV,2400,,,,16\n\
         PANEL,Panel,flat,RUN,,900,300,480,24,16\n",
    ),
    ("flat_prices.csv", "family,class,text,net\nPANEL,standard,Panel refreshed,380\n"),
    (
        "refresh.csv",
        "list,adds,code,quantity,position,trigger,threshold,wear\n\
         R-DRV,part,CAP-470,4,,wear,70,W-CAP\n\
         R-DRV,part,RELAY-4,,K1,cycles,400000,\n\
         R-DRV,part,SCREW,8,,always,,\n",
    ),
    (
        "wear.csv",
        "code,model,rated_hours,rated_celsius,service_celsius,b10d,operations_per_cycle\nW-CAP,capacitor,5000,105,65,,\n",
    ),
    ("zones.csv", "zone,country,postcode_prefix\nDE,DE,\nISLES,DE,25\nEU,AT,\n"),
    ("courier_rates.csv", "zone,up_to_kg,leg_cost\nDE,10,9.40\nDE,31.5,14\nISLES,31.5,29\nEU,31.5,22\n"),
    ("extras.csv", "code,text,percent,categories\nURGENT,Taken out of turn,25,labour test flat\n"),
    (
        "partners.csv",
        "code,name,street,postcode,city,country,vat_id,buys_from\nP-1,Beispielpartner Nord,Musterkai 3,20457,Hamburg,DE,DE222222220,\n",
    ),
    ("agreements.csv", "code,partner,from,until,under_floor\nA-1,P-1,2026-01-01,,scale\n"),
    ("discounts.csv", "agreement,category,percent\nA-1,part,10\nA-1,labour,12.5\n"),
    ("credits.csv", "agreement,work,amount\nA-1,removal,40\n"),
    ("vat_rates.csv", "country,from,until,percent\nDE,2021-01-01,,19\nAT,2016-01-01,,20\n"),
    ("currency_rates.csv", "date,currency,units_per_eur\n2026-07-01,CHF,0.9321\n"),
];

/// How its documents look.
pub const LETTERHEAD: &str = r##"language = "de"
payment_days = 14
legal_name = ["Lötwerk", "Inhaberin Erika Muster e. K."]
phone = "+49 30 5550 100"
email = "post@loetwerk.example"
managing_directors = []

[bank]
name = "Musterbank"
iban = "DE02 1203 0000 0000 2020 51"
bic = "TESTDE99XXX"

[look]
accent = "#7a3b12"
muted = "#6b6459"
logo = "mark.svg"

[texts.de]
greeting = "Vielen Dank für Ihren Auftrag."
cautions = ["Der Schaltschrank bleibt bis zur Abnahme gesperrt."]
"##;

/// The picture at their head.
pub const LOGO: &str =
    "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 8 8\"><rect width=\"8\" height=\"8\"/></svg>";

/// Its catalogue in German.
pub const TEXTS: &str = "\
table,code,language,text
parts,CAP-470,de,\"Kondensator 470 µF, 63 V\"
parts,RELAY-4,de,Relais 4 A
parts,SCREW,de,Schraube
grades,bench,de,Prüftechniker
grades,fitter,de,Monteur
operations,CLEAN,de,Reinigung
tests,RUN,de,Lauf an einem Antrieb
findings,DEAD-CAP,de,Kondensator ausgetrocknet
families,DRV-A,de,Achsantrieb
flat_prices,PANEL/standard,de,Bedientafel überholt
families,PANEL,de,Bedientafel
extras,URGENT,de,Bevorzugte Bearbeitung
";

/// A job that edition can price.
pub const JOB: &str = r#"reference = "J-1"
received = 2026-07-14
route = ["P-1"]
extras = ["URGENT"]

[customer]
name = "Mühle am Bach"
postcode = "25938"
country = "DE"
business = true

[[units]]
family = "DRV-A"
serial = "0815"
declared_value = "1200"
cycles = 410000
built = 2016-03-01

[[units.parcels]]
length_cm = 60
width_cm = "40.5"
height_cm = 30
weight_kg = "12.4"

[[units.findings]]
code = "DEAD-CAP"
position = "C12"
quantity = 2
"#;

/// The edition with some of its files changed by `file, from, to`; `from` has to be in it.
pub fn spoiled(changes: &[(&str, &str, &str)]) -> Folder {
    let mut files: Vec<(String, String)> =
        EDITION.iter().map(|(name, text)| (format!("2026-07/{name}"), (*text).to_owned())).collect();
    for (file, from, to) in changes {
        let (_, text) = files.iter_mut().find(|(name, _)| name.ends_with(&format!("/{file}"))).unwrap();
        assert!(text.contains(from), "{from} is not in {file}");
        *text = text.replacen(from, to, 1);
    }
    Folder::from_files("tariff", files)
}
