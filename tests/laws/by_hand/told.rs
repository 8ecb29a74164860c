//! What is said beside the amounts: lines, mistakes and the working, in words.

use chrono::NaiveDate;
use evenfare_engine::category::Category;
use evenfare_engine::job::{Job, Stop, Task, Unit};
use evenfare_engine::nearest::LOOKED_FOR;
use evenfare_engine::problem::Problem;
use evenfare_engine::tariff::{
    Adds, Edition, EndingDirection, ExtraRow, FamilyRow, FindingStepRow, FlatPriceRow, Method, RefreshRow,
    Tariff, Trigger,
};
use evenfare_engine::text::{Code, Text};
use evenfare_engine::trail::{From, Rounding};

use super::{DE, FR, charged, main_of, partner, percent, price, refreshed, sold, step, unit};
use crate::worlds::{World, code, day};

fn text(words: &str) -> Text {
    words.parse().unwrap()
}

fn urgent(categories: &[Category]) -> ExtraRow {
    ExtraRow {
        code: code("URGENT"),
        text: text("Taken out of turn"),
        percent: percent("10"),
        categories: categories.to_vec(),
    }
}

#[test]
fn every_line_says_what_it_is_for() {
    let (mut tariff, mut job) = sold(&[DE, DE], "100", "50", "500");
    (tariff.price.ending_to, tariff.price.ending_direction) = (price("30"), EndingDirection::Up);
    tariff.parts[0].fit_minutes = 5;
    tariff.parts[0].fit_grade = Some(tariff.grades[0].code.clone());
    let row = refreshed(&mut tariff, Trigger::Always, "");
    let whole = FamilyRow { refresh: Some(row.list), ..tariff.families[0].clone() };
    tariff.families.push(FamilyRow { code: code("F-2"), ..whole.clone() });
    tariff.families.push(FamilyRow { code: code("F-3"), method: Method::Flat, ..whole });
    tariff.flat_prices.push(FlatPriceRow {
        family: code("F-3"),
        class: code("standard"),
        text: text("Panel seen to"),
        net: price("20"),
    });
    tariff.extras.push(urgent(&[Category::Flat]));
    job.extras.push(code("URGENT"));
    job.units.extend([("U3", "F-2"), ("U4", "F-3")].map(|(id, of)| unit(&job, id, of, Task::Refresh)));

    let offer = main_of(&tariff, &job);
    let check = |line: &str, text: &str, quantity: &str| {
        let found = offer.lines.iter().find(|found| found.id == line).map(|l| (&*l.text, &*l.quantity));
        assert_eq!(found, Some((text, quantity)), "{line}");
        let cost = offer.costs.iter().find(|cost| cost.id == line).map(|cost| (&*cost.text, &*cost.quantity));
        assert!(cost.is_none_or(|cost| Some(cost) == found), "{line}: {cost:?}");
    };
    check("U1/exchange", "Exchange unit", "");
    check("U1/courier/leg_in", "Courier to the workshop", "");
    check("U1/courier/leg_out", "Courier back", "");
    check("U1/courier/packaging", "Packaging", "");
    check("U2/inspection", "Inspection", "0 min");
    check("U3/part/AP-0", "Part 0", &format!("1 {}", tariff.parts[0].unit));
    check("U3/labour/AG-0", "Grade 0", "5 min");
    check("U3/test/AT-0", "Test 0", "0 h");
    check("U4/flat/standard", "Panel seen to", "");
    check("surcharge/URGENT", "Taken out of turn", "");
    check("minimum", "To the minimum charge", "");
    check("ending", "Price ending", "");
}

fn mistakes(tariff: &Tariff, job: &Job) -> Vec<Problem> {
    evenfare_engine::check(job, &Edition::new(tariff.clone()).unwrap())
}

fn codes(problems: &[Problem]) -> Vec<&str> {
    problems.iter().map(|problem| problem.code).collect()
}

#[test]
fn a_day_of_another_edition_is_told_with_the_days_of_this_one() {
    let check = |until: Option<NaiveDate>, received: NaiveDate, expect: &str| {
        let (mut tariff, mut job) = World::plain();
        (tariff.span.until, job.received) = (until, received);
        let [problem] = mistakes(&tariff, &job).try_into().unwrap();
        assert_eq!((problem.code, problem.found), ("not_of_this_edition", received.to_string()));
        assert_eq!(problem.expected, format!("a day that edition 2026-A prices: {expect}"));
    };
    check(None, day(2025, 12, 31), "from 2026-01-01");
    check(Some(day(2026, 6, 30)), day(2026, 7, 1), "2026-01-01 to 2026-06-30");
}

#[test]
fn a_code_that_there_is_not_is_told_with_the_nearest() {
    let (mut tariff, mut job) = World::plain();
    job.extras = vec![code("URGEN")];
    let expected = |tariff: &Tariff| {
        let [problem] = mistakes(tariff, &job).try_into().unwrap();
        assert_eq!(problem.code, "unknown_extra");
        problem.expected
    };
    assert_eq!(expected(&tariff), "a code of extras.csv");
    tariff.extras.push(urgent(&[Category::Part]));
    assert_eq!(expected(&tariff), "a code of extras.csv; the nearest: URGENT");
    // A job made for harm names many, and each look goes over the whole table.
    job.extras = vec![code("URGEN"); 50];
    let told = mistakes(&tariff, &job);
    let near = told.iter().filter(|problem| problem.expected.ends_with("; the nearest: URGENT"));
    assert_eq!((near.count(), told.len()), (LOOKED_FOR, 50));
}

/// What is refused already says nothing of what would follow from it.
#[test]
fn a_parcel_or_a_route_that_is_refused_is_looked_at_no_further() {
    let (mut tariff, mut job) = charged("100");
    tariff.courier_rates.iter_mut().for_each(|row| row.up_to_kg = "1".parse().unwrap());
    tariff.courier_rates.dedup_by(|later, first| later.zone == first.zone);
    job.units[0].parcels[0].weight_kg = "5".parse().unwrap();
    assert_eq!(codes(&mistakes(&tariff, &job)), ["too_heavy"]);
    let one = job.clone();
    job.units[0].parcels[0].length_cm = "0".parse().unwrap();
    assert_eq!(codes(&mistakes(&tariff, &job)), ["no_such_parcel"]);
    let numbered = |number: usize| Unit { id: code(&format!("U{number}")), ..one.units[0].clone() };
    job.units = (0..201).map(numbered).collect();
    assert_eq!(codes(&mistakes(&tariff, &job)), ["too_many"]);
    job.units.clear();
    assert_eq!(codes(&mistakes(&tariff, &job)), ["no_units"]);

    // Across a border the customer's identifier is asked for, where it is known who sells to him.
    let (mut tariff, mut job) = sold(&[DE, ("FR", "")], "100", "50", "0");
    partner(&mut tariff, &mut job, "A", "DE", DE.1);
    job.route = vec![Stop { partner: code("A"), takes_over: None }; 17];
    assert_eq!(codes(&mistakes(&tariff, &job)), ["too_many"]);
    job.route.truncate(16);
    let told = mistakes(&tariff, &job);
    assert_eq!(codes(&told).iter().filter(|code| **code == "not_his_supplier").count(), 15);
    assert_eq!(codes(&told).iter().filter(|code| **code == "missing_vat_id").count(), 1);
    assert_eq!(told.len(), 16);
}

#[test]
fn what_was_found_in_a_tariff_is_told_also_where_it_may_be_left_out() {
    let found = |change: &dyn Fn(&mut Tariff)| {
        let (mut tariff, _) = World::plain();
        change(&mut tariff);
        let problems: Vec<Problem> = Edition::new(tariff).unwrap_err().into();
        let stops = problems.into_iter().find(|problem| problem.severity == super::Severity::Error).unwrap();
        (stops.code, stops.found)
    };
    let told = |code, found: &str| (code, found.to_owned());
    let early = found(&|tariff| tariff.span.until = Some(day(2025, 12, 31)));
    assert_eq!(early, told("ends_before_it_begins", "2025-12-31"));
    let row = |tariff: &mut Tariff, change: &dyn Fn(&mut RefreshRow)| {
        let mut row = refreshed(tariff, Trigger::Always, "");
        change(&mut row);
        tariff.refresh = vec![row];
    };
    let threshold = found(&|tariff| row(tariff, &|row| row.threshold = "5".parse().ok()));
    assert_eq!(threshold, told("threshold_of_always", "5"));
    let nothing = found(&|tariff| row(tariff, &|row| row.quantity = "0".parse().ok()));
    assert_eq!(nothing, told("nothing_of_it", "0"));
    let wear = found(&|tariff| row(tariff, &|row| row.wear = Some(code("W-1"))));
    assert_eq!(wear, told("wear_without_trigger", "W-1"));
    let finding: fn(&Tariff) -> Code = |tariff| tariff.findings[0].code.clone();
    let position = found(&|tariff| {
        let (finding, test) = (finding(tariff), tariff.tests[0].code.clone());
        let (quantity, position) = (None, Some(code("K1")));
        tariff.finding_steps.push(FindingStepRow {
            finding,
            adds: Adds::Test,
            code: test,
            quantity,
            position,
        });
    });
    assert_eq!(position, told("position_without_part", "K1"));
}

#[test]
fn the_courier_of_several_units_is_shared_and_that_of_one_is_not() {
    let (mut tariff, mut job) = charged("100");
    tariff.courier_rates.iter_mut().for_each(|row| row.leg_cost = price("9"));
    job.units[0].parcels[0].weight_kg = "1.2".parse().unwrap();
    let told = |job: &Job| {
        let offer = main_of(&tariff, job);
        let leg = step(&offer, "cost.U1/courier/leg_in");
        let shown = leg.inputs.iter().map(|input| input.shown.clone()).collect::<Vec<_>>().join(", ");
        (leg.result.to_string(), leg.rounding, shown)
    };
    assert_eq!(told(&job), ("9.00 EUR".to_owned(), Rounding::None, "9.00 EUR".to_owned()));
    job.units.push(Unit { id: code("U2"), ..job.units[0].clone() });
    job.units[1].parcels[0].weight_kg = "3".parse().unwrap();
    // 9.00 by 1.5 and 3 kg; the chargeable weight goes by halves.
    let shown = "9.00 EUR, U1 1.5 kg, U2 3 kg".to_owned();
    assert_eq!(told(&job), ("3.00 EUR".to_owned(), Rounding::LargestRemainder, shown));
    let weight = main_of(&tariff, &job);
    assert_eq!(step(&weight, "consignment.chargeable_weight").result, "4.5 kg");
}

#[test]
fn vat_says_what_it_is_charged_on_and_by_which_rate() {
    let (mut tariff, job) = sold(&[DE, FR, FR, DE], "100", "50", "0");
    tariff.discounts.iter_mut().for_each(|row| row.percent = percent("0"));
    let offer = main_of(&tariff, &job);
    let check = |figure: &str, unit: &str, supply: &str, rate: Option<&str>, exact: Option<&str>| {
        let step = step(&offer, figure);
        let shown = |name: &str| step.inputs.iter().find(|i| i.name == name).map(|i| i.shown.as_str());
        assert_eq!(shown("place of supply"), Some(supply), "{figure}");
        assert_eq!((shown("rate"), step.exact.as_deref()), (rate, exact), "{figure}");
        let rounding = if exact.is_some() { Rounding::HalfUp } else { Rounding::None };
        assert_eq!(step.rounding, rounding, "{figure}");
        let number = figure.split('.').nth(1).unwrap();
        let prefix = format!("sale.{number}.line.{unit}/");
        let bases = step.inputs.iter().filter(|input| input.name == "base");
        let of_unit =
            bases.map(|input| matches!(&input.from, From::Figure(line) if line.starts_with(&prefix)));
        let of_unit: Vec<bool> = of_unit.collect();
        assert!(of_unit.len() > 1 && !of_unit.contains(&false), "{figure}: {:?}", step.inputs);
    };
    check("sale.1.vat.S", "U1", "DE to DE: S", Some("19 %"), Some("19 EUR"));
    check("sale.1.vat.AE", "U2", "DE to FR: AE", None, None);
    check("sale.2.vat.S-19", "U1", "DE to DE: S", Some("19 %"), Some("19 EUR"));
    check("sale.2.vat.S-20", "U2", "FR to FR: S", Some("20 %"), Some("10 EUR"));
    // Of one kind only, it is charged on the sale as it is.
    let (tariff, mut job) = sold(&[DE, FR], "100", "50", "0");
    job.units.truncate(1);
    let offer = main_of(&tariff, &job);
    let base = &step(&offer, "sale.1.vat.K").inputs[0];
    assert_eq!((&*base.name, &base.from), ("base", &From::Figure("sale.1.net".into())));
}
