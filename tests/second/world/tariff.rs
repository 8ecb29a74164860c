//! A tariff edition as the text of its files.

use std::fmt::Write;

use super::draws::{Draws, nth};
use super::{CATEGORIES, COUNTRIES, Family, Names, WORKS};

type Files = Vec<(&'static str, String)>;

/// The files of an edition, and what a job can name of it.
pub fn tariff(draws: &mut Draws) -> (Files, Names) {
    let mut writer = Writer { draws, decimals: 2 };
    let mut files = Files::new();
    let (country, edition) = writer.edition();
    files.push(("edition.toml", edition));
    writer.bench(&mut files);
    let findings = writer.findings(&mut files);
    let families = writer.families(&mut files);
    writer.courier(&mut files);
    let extras = writer.extras(&mut files);
    let partners = writer.partners(&mut files);
    writer.rates(&mut files);
    (files, Names { findings, families, extras, partners, country })
}

const GRADES: u32 = 2;
const PARTS: u32 = 4;
const OPERATIONS: u32 = 3;
const TESTS: u32 = 2;
const POSITIONS: [&str; 4] = ["", "K1", "K2", "C/1"];
/// Each with the number of its decimals.
const CURRENCIES: [(&str, u32); 6] = [("EUR", 2), ("EUR", 2), ("CHF", 2), ("JPY", 0), ("KWD", 3), ("GBP", 2)];

struct Writer<'a, 'b> {
    draws: &'a mut Draws<'b>,
    /// Of the edition's currency.
    decimals: u32,
}

impl Writer<'_, '_> {
    /// An amount that is charged as it stands: whole minor units.
    fn amount(&mut self, end: u32) -> String {
        self.draws.decimal(end, self.decimals)
    }

    /// One row in a thousand is beyond all measure.
    fn unit_price(&mut self, end: u32) -> String {
        let digits = self.draws.decimal(end, 4);
        if self.draws.below(1000) == 999 { "999999999.9999".into() } else { digits }
    }

    fn grade(&mut self) -> String {
        nth("G", self.draws.below(GRADES))
    }

    fn edition(&mut self) -> (&'static str, String) {
        let (country, vat_id) = self.draws.pick(&COUNTRIES[..8]);
        let (currency, decimals) = self.draws.pick(&CURRENCIES);
        self.decimals = decimals;
        let ends = self.draws.pick(&["1", "5", "10", "100", "0", "25"]);
        let directions = self.draws.pick(&["up", "down", "nearest"]);
        let covers = self.draws.pick(&[
            r#""part", "labour", "test""#,
            r#""part", "labour", "test", "courier""#,
            r#""labour""#,
            r#""courier""#,
        ]);
        let mut text = format!(
            "[edition]\nid = \"E\"\nfrom = \"2026-01-01\"\nuntil = \"2026-12-31\"\ncurrency = \"{currency}\"\n\n\
             [workshop]\nname = \"W\"\nstreet = \"S\"\ncity = \"C\"\ncountry = \"{country}\"\n"
        );
        if !vat_id.is_empty() {
            writeln!(text, "vat_id = \"{vat_id}\"").unwrap();
        }
        writeln!(
            text,
            "\n[price]\nminimum_charge = \"{}\"\nending_to = \"{ends}\"\nending_direction = \"{directions}\"\n\
             minimum_contribution = \"{}\"\nminimum_contribution_percent = \"{}\"\nuneconomic_percent = \"{}\"\n\
             flat_covers = [{covers}]\nenergy_per_kwh = \"{}\"\n",
            self.amount(400),
            self.amount(200),
            self.draws.decimal(40, 4),
            self.draws.decimal(120, 4),
            self.draws.decimal(2, 4),
        )
        .unwrap();
        writeln!(
            text,
            "[courier]\nvolumetric_divisor = {}\nweight_step_kg = \"{}\"\nfuel_percent = \"{}\"\n\
             insurance_percent = \"{}\"\ninsurance_minimum = \"{}\"\npackaging_per_parcel = \"{}\"\n",
            self.draws.pick(&[5000, 4000, 6000, 5000, 4000, 6000, 5000, 139]),
            self.draws.pick(&["1", "0.5", "0.333", "5"]),
            self.draws.decimal(40, 4),
            self.draws.decimal(2, 4),
            self.draws.decimal(9, 4),
            self.draws.decimal(12, 4),
        )
        .unwrap();
        writeln!(
            text,
            "[inspection]\nfee = \"{}\"\nminutes = {}\ngrade = \"{}\"\n\n[terms]\nvalidity_days = {}\n\
             turnaround_days = {}\nwarranty_months = {}",
            self.amount(150),
            self.draws.below(120),
            self.grade(),
            self.draws.below(60),
            self.draws.below(200),
            self.draws.pick(&[12, 1, 6, 18, 24, 0]),
        )
        .unwrap();
        if self.draws.chance(50) {
            writeln!(text, "warranty_cycles = {}", self.draws.below(500_000)).unwrap();
        }
        text.push_str("\n[markup]\n");
        for category in &CATEGORIES[..4] {
            writeln!(text, "{category} = \"{}\"", self.draws.decimal(90, 4)).unwrap();
        }
        (country, text)
    }

    /// Grades, parts with their breaks, operations, tests, wear.
    fn bench(&mut self, files: &mut Files) {
        let mut grades = String::from("code,text,rate_per_hour\n");
        for index in 0..GRADES {
            writeln!(grades, "G{},t,{}", index + 1, self.unit_price(90)).unwrap();
        }
        let mut parts = String::from("code,text,unit,unit_cost,fit_minutes,fit_grade\n");
        let mut breaks = String::from("part,from_quantity,unit_cost\n");
        for index in 0..PARTS {
            let mut ten_thousandths = u64::from(self.draws.below(1_000_000));
            if self.draws.below(100) == 99 {
                ten_thousandths = 9_999_999_999_999;
            }
            let minutes = self.draws.pick(&[6, 0, 15, 7]);
            let grade = if minutes == 0 { String::new() } else { self.grade() };
            let unit = self.draws.pick(&["pc", "set", "m", "ml"]);
            let decimal = |amount: u64| format!("{}.{:04}", amount / 10_000, amount % 10_000);
            writeln!(parts, "P{},t,{unit},{},{minutes},{grade}", index + 1, decimal(ten_thousandths))
                .unwrap();
            let mut from = 0;
            for _ in 0..self.draws.below(4) {
                from += self.draws.between(1, 6);
                ten_thousandths = ten_thousandths / 100 * u64::from(self.draws.between(50, 100));
                let fraction = self.draws.pick(&["", ".5", ".125"]);
                writeln!(breaks, "P{},{from}{fraction},{}", index + 1, decimal(ten_thousandths)).unwrap();
            }
        }
        let mut operations = String::from("code,text,grade,minutes,once\n");
        for index in 0..OPERATIONS {
            let once = self.draws.pick(&["no", "yes"]);
            writeln!(operations, "O{},t,{},{},{once}", index + 1, self.grade(), self.draws.below(90))
                .unwrap();
        }
        let mut tests = String::from("code,text,bench_hours,bench_rate,attended_minutes,grade,power_kw\n");
        for index in 0..TESTS {
            let (hours, rate) = (self.draws.decimal(30, 3), self.unit_price(12));
            let (minutes, grade, power) = (self.draws.below(90), self.grade(), self.draws.decimal(4, 3));
            writeln!(tests, "T{},t,{hours},{rate},{minutes},{grade},{power}", index + 1).unwrap();
        }
        let mut wear =
            String::from("code,model,rated_hours,rated_celsius,service_celsius,b10d,operations_per_cycle\n");
        for index in 0..2 {
            let hours = self.draws.between(1000, 12_000);
            let (rated, service) = (self.draws.between(60, 125), self.draws.between(30, 125));
            writeln!(wear, "WC{},capacitor,{hours},{rated},{service},,", index + 1).unwrap();
        }
        for index in 0..2 {
            let b10d = self.draws.between(1000, 4_000_000);
            writeln!(wear, "WR{},contacts,,,,{b10d},{}", index + 1, self.draws.decimal(4, 3)).unwrap();
        }
        files.extend([("grades.csv", grades), ("parts.csv", parts), ("price_breaks.csv", breaks)]);
        files.extend([("operations.csv", operations), ("tests.csv", tests), ("wear.csv", wear)]);
    }

    fn findings(&mut self, files: &mut Files) -> u32 {
        let mut findings = String::from("code,text,warranty\n");
        let mut steps = String::from("finding,adds,code,quantity,position\n");
        let count = self.draws.between(1, 6);
        for index in 0..count {
            let warranty = self.draws.pick(&["covered", "excluded"]);
            writeln!(findings, "F{0},Found {0},{warranty}", index + 1).unwrap();
            let mut taken = Vec::new();
            for _ in 0..self.draws.below(5) {
                let (adds, code, quantity) = match self.draws.below(4) {
                    0 | 1 => (
                        "part",
                        nth("P", self.draws.below(PARTS)),
                        self.draws.pick(&["", "1", "3", "2.5", "12"]),
                    ),
                    2 => (
                        "operation",
                        nth("O", self.draws.below(OPERATIONS)),
                        self.draws.pick(&["", "2", "0.5"]),
                    ),
                    _ => ("test", nth("T", self.draws.below(TESTS)), self.draws.pick(&["", "2", "40.25"])),
                };
                let position = if adds == "part" { self.draws.pick(&POSITIONS) } else { "" };
                let step = (adds, code.clone(), position);
                if !taken.contains(&step) {
                    writeln!(steps, "F{},{adds},{code},{quantity},{position}", index + 1).unwrap();
                    taken.push(step);
                }
            }
        }
        files.extend([("findings.csv", findings), ("finding_steps.csv", steps)]);
        count
    }

    /// Families, each with a refresh list or without, and fixed prices.
    fn families(&mut self, files: &mut Files) -> Vec<Family> {
        let mut families = String::from(
            "code,text,method,test,refresh,replacement_value,exchange_cost,exchange_net,warranty_months,duty_hours_per_day\n",
        );
        let mut refresh = String::from("list,adds,code,quantity,position,trigger,threshold,wear\n");
        let mut flat_prices = String::from("family,class,text,net\n");
        let mut kept = Vec::new();
        for index in 0..self.draws.between(1, 3) {
            let flat = self.draws.chance(35);
            let rows = self.draws.below(6);
            let list = if rows == 0 { String::new() } else { nth("R", index) };
            let mut taken = Vec::new();
            for _ in 0..rows {
                self.refresh_row(&list, &mut refresh, &mut taken);
            }
            let list = if taken.is_empty() { "" } else { &list };
            let value = self.amount(3000);
            let exchange = self.draws.chance(60);
            let (cost, net) = match exchange {
                true => (self.unit_price(900), self.amount(1500)),
                false => <(String, String)>::default(),
            };
            let months = self.draws.pick(&["", "1", "24", "7"]);
            let (method, test) = (if flat { "flat" } else { "built_up" }, nth("T", self.draws.below(TESTS)));
            let duty = self.draws.below(25);
            writeln!(
                families,
                "D{},t,{method},{test},{list},{value},{cost},{net},{months},{duty}",
                index + 1
            )
            .unwrap();
            if flat {
                for class in ["standard", "minor"] {
                    writeln!(flat_prices, "D{},{class},t,{}", index + 1, self.amount(700)).unwrap();
                }
            }
            kept.push(Family { flat, exchange });
        }
        files.extend([
            ("families.csv", families),
            ("refresh.csv", refresh),
            ("flat_prices.csv", flat_prices),
        ]);
        kept
    }

    fn refresh_row(&mut self, list: &str, refresh: &mut String, taken: &mut Vec<(String, &str)>) {
        let (adds, code) = match self.draws.below(3) {
            0 | 1 => ("part", nth("P", self.draws.below(PARTS))),
            _ => ("operation", nth("O", self.draws.below(OPERATIONS))),
        };
        let position = if adds == "part" { self.draws.pick(&POSITIONS) } else { "" };
        if taken.contains(&(code.clone(), position)) {
            return;
        }
        taken.push((code.clone(), position));
        let quantity = self.draws.pick(&["", "2", "4", "0.75"]);
        let (trigger, threshold, wear) = match self.draws.below(6) {
            0 => ("always", String::new(), String::new()),
            1 => ("cycles", self.draws.pick(&["400000", "1000", "250000"]).into(), String::new()),
            2 => ("years", self.draws.pick(&["5", "1", "2", "10"]).into(), String::new()),
            3 => ("wear", self.draws.decimal(100, 3), nth("WR", self.draws.below(2))),
            _ => ("wear", self.draws.decimal(100, 3), nth("WC", self.draws.below(2))),
        };
        writeln!(refresh, "{list},{adds},{code},{quantity},{position},{trigger},{threshold},{wear}").unwrap();
    }

    fn courier(&mut self, files: &mut Files) {
        let mut zones = String::from("zone,country,postcode_prefix\n");
        let mut rates = String::from("zone,up_to_kg,leg_cost\n");
        let mut countries: Vec<&str> = COUNTRIES.iter().map(|country| country.0).collect();
        countries.sort_unstable();
        countries.dedup();
        for country in countries {
            if !self.draws.chance(2) {
                writeln!(zones, "Z{},{country},", self.draws.between(1, 2)).unwrap();
            }
        }
        writeln!(zones, "Z1,DE,25\nZ2,DE,2593\nZ2,GB,BT").unwrap();
        for zone in 1..=2 {
            for up_to in ["2", "10.5", "70"] {
                writeln!(rates, "Z{zone},{up_to},{}", self.unit_price(60)).unwrap();
            }
            writeln!(rates, "Z{zone},{},{}", self.draws.pick(&["4000", "900"]), self.unit_price(90)).unwrap();
        }
        files.extend([("zones.csv", zones), ("courier_rates.csv", rates)]);
    }

    fn extras(&mut self, files: &mut Files) -> u32 {
        let mut extras = String::from("code,text,percent,categories\n");
        let count = self.draws.below(3);
        for index in 0..count {
            let categories =
                self.draws.pick(&["labour test flat", "test", "part labour courier exchange inspection"]);
            writeln!(extras, "X{},t,{},{categories}", index + 1, self.draws.decimal(60, 4)).unwrap();
        }
        files.push(("extras.csv", extras));
        count
    }

    /// Partners with one agreement, or one after the other.
    fn partners(&mut self, files: &mut Files) -> Vec<(Option<u32>, Vec<&'static str>)> {
        let mut partners = String::from("code,name,street,postcode,city,country,vat_id,buys_from\n");
        let mut agreements = String::from("code,partner,from,until,under_floor\n");
        let mut discounts = String::from("agreement,category,percent\n");
        let mut credits = String::from("agreement,work,amount\n");
        let mut kept: Vec<(Option<u32>, Vec<&'static str>)> = Vec::new();
        for index in 0..self.draws.pick(&[0, 2, 4, 3, 5, 6]) {
            let (country, vat_id) = self.draws.pick(&COUNTRIES);
            let buys_from = (index > 0 && self.draws.chance(80)).then(|| index - 1);
            let from = buys_from.map(|place| nth("S", place)).unwrap_or_default();
            writeln!(partners, "S{},n,s,,c,{country},{vat_id},{from}", index + 1).unwrap();
            let days: &[(&str, &str)] = match self.draws.below(16) {
                0..=9 => &[("2025-01-01", "")],
                10..=14 => &[("2025-03-01", "2026-06-30"), ("2026-07-01", "")],
                _ => &[("2026-03-01", "2026-09-30")],
            };
            let mut works = WORKS.to_vec();
            for (place, (first, last)) in days.iter().enumerate() {
                let code = format!("A{}.{place}", index + 1);
                let under_floor = self.draws.pick(&["scale", "scale", "refuse"]);
                writeln!(agreements, "{code},S{},{first},{last},{under_floor}", index + 1).unwrap();
                let most = self.draws.pick(&[12, 25, 40, 101]);
                for category in CATEGORIES {
                    if self.draws.chance(60) {
                        let percent = if most == 101 { "100".into() } else { self.draws.decimal(most, 4) };
                        writeln!(discounts, "{code},{category},{percent}").unwrap();
                    }
                }
                for work in WORKS {
                    if self.draws.chance(40) {
                        writeln!(credits, "{code},{work},{}", self.amount(70)).unwrap();
                    } else {
                        works.retain(|it| *it != work);
                    }
                }
            }
            kept.push((buys_from, works));
        }
        files.extend([("partners.csv", partners), ("agreements.csv", agreements)]);
        files.extend([("discounts.csv", discounts), ("credits.csv", credits)]);
        kept
    }

    /// VAT and reference rates, some of them of later days.
    fn rates(&mut self, files: &mut Files) {
        let mut vat = String::from("country,from,until,percent\n");
        let mut countries: Vec<&str> = COUNTRIES.iter().map(|country| country.0).chain(["US"]).collect();
        countries.sort_unstable();
        countries.dedup();
        for country in countries {
            let rate = if country == "KW" { "0".into() } else { self.draws.decimal(27, 4) };
            match self.draws.below(12) {
                0..=8 => writeln!(vat, "{country},2020-01-01,,{rate}"),
                9 | 10 => {
                    writeln!(vat, "{country},2020-01-01,2026-06-30,{rate}").unwrap();
                    writeln!(vat, "{country},2026-07-01,,{}", self.draws.decimal(27, 1))
                }
                _ => writeln!(vat, "{country},2026-02-01,2026-11-30,{rate}"),
            }
            .unwrap();
        }
        let mut rates = String::from("date,currency,units_per_eur\n");
        for (currency, around) in [("CHF", 1), ("GBP", 1), ("JPY", 170), ("KWD", 1), ("USD", 2)] {
            for day in ["2025-12-30", "2026-05-04", "2026-10-01"] {
                // An edition in another currency than the euro has a rate of its own.
                if self.decimals != 2 || day == "2026-05-04" || !self.draws.chance(15) {
                    let fraction = self.draws.between(100_000, 999_999);
                    writeln!(rates, "{day},{currency},{}.{fraction}", around - 1).unwrap();
                }
            }
        }
        files.extend([("vat_rates.csv", vat), ("currency_rates.csv", rates)]);
    }
}
