//! Sums worked by hand, where one rule gives way to the next: worlds drawn at random hardly ever stand
//! just there.
//!
//! Each begins with the plainest world there is, in which everything is free.

mod chain;
mod planned;
mod sealed;
mod told;

use evenfare_engine::category::{Category, Work};
use evenfare_engine::flag::Flag;
use evenfare_engine::job::{Alternative, Change, Finding, Job, Returned, Stop, Task, Unit};
use evenfare_engine::money::{Percent, UnitPrice};
use evenfare_engine::problem::{Problem, Severity};
use evenfare_engine::quote::{Offer, PlanStep, Quote, Standing};
use evenfare_engine::tariff::{
    Adds, Cover, CreditRow, CurrencyRateRow, DiscountRow, Edition, EndingDirection, FamilyRow, FindingRow,
    RefreshRow, Tariff, Trigger, UnderFloor,
};
use evenfare_engine::trail::{Rounding, Step};
use evenfare_engine::view::{Reader, alike, view};
use evenfare_engine::{Refused, figures, quote, revised};

use crate::worlds::{self, World, code};

fn price(text: &str) -> UnitPrice {
    text.parse().unwrap()
}

fn percent(text: &str) -> Percent {
    text.parse().unwrap()
}

fn priced(tariff: &Tariff, job: &Job) -> Result<Quote, Refused> {
    quote(job, &Edition::new(tariff.clone()).unwrap())
}

fn main_of(tariff: &Tariff, job: &Job) -> Offer {
    priced(tariff, job).unwrap().main().unwrap().clone()
}

fn step<'o>(offer: &'o Offer, figure: &str) -> &'o Step {
    offer.working.iter().find(|step| step.figure == figure).unwrap()
}

/// A job that costs nothing, at a minimum charge.
fn charged(minimum: &str) -> (Tariff, Job) {
    let (mut tariff, job) = World::plain();
    tariff.price.minimum_charge = price(minimum);
    (tariff, job)
}

/// A partner of that country who buys from the last before him, and gets a hundredth of every repair.
fn partner(tariff: &mut Tariff, job: &mut Job, name: &str, country: &str, vat_id: &str) {
    let agreement = worlds::partner(tariff, name, job.route.last().map(|stop| stop.partner.clone()));
    let own = tariff.partners.last_mut().unwrap();
    (own.country, own.vat_id) =
        (country.parse().unwrap(), vat_id.parse().ok().filter(|_| !vat_id.is_empty()));
    let category = Category::Minimum;
    tariff.discounts.push(DiscountRow { agreement, category, percent: percent("1") });
    job.route.push(Stop { partner: code(name), takes_over: None });
}

/// The family's refresh list replaces a part: always, or from so much on.
fn refreshed(tariff: &mut Tariff, trigger: Trigger, threshold: &str) -> RefreshRow {
    let row = RefreshRow {
        list: code("LIST"),
        adds: Adds::Part,
        code: tariff.parts[0].code.clone(),
        quantity: None,
        position: None,
        trigger,
        threshold: threshold.parse().ok(),
        wear: None,
    };
    tariff.families[0].refresh = Some(row.list.clone());
    tariff.refresh = vec![row.clone()];
    row
}

#[test]
fn what_is_just_at_the_floor_is_not_under_it() {
    // Nothing is spent on it, so that all of the 100 is contribution.
    let check = |floor: &str, percentage: &str, expect: bool| {
        let (mut tariff, job) = charged("100");
        tariff.price.minimum_contribution = price(floor);
        tariff.price.minimum_contribution_percent = percent(percentage);
        let flags = main_of(&tariff, &job).flags;
        assert_eq!(flags.contains(&Flag::UnderFloor), expect, "{floor} and {percentage} %: {flags:?}");
    };
    check("99.99", "0", false);
    check("100", "0", false);
    check("100.01", "0", true);
    check("0", "100", false);
    // Half of the price goes to the courier, and half is left.
    let (mut tariff, job) = charged("100");
    tariff.courier.packaging_per_parcel = price("50");
    for (floor, expect) in [("50", false), ("50.01", true)] {
        tariff.price.minimum_contribution = price(floor);
        assert_eq!(main_of(&tariff, &job).flags.contains(&Flag::UnderFloor), expect, "{floor}");
    }
}

#[test]
fn shares_that_just_reach_the_floor_stay_whole() {
    let (mut tariff, mut job) = charged("100");
    partner(&mut tariff, &mut job, "P-1", "DE", "DE999900008");
    tariff.discounts[0].percent = percent("40");
    let share = |tariff: &Tariff| {
        let offer = main_of(tariff, &job);
        (offer.shares[0].share.minor(), offer.flags.contains(&Flag::SharesScaled))
    };
    tariff.price.minimum_contribution = price("60");
    assert_eq!(share(&tariff), (4_000, false));
    tariff.price.minimum_contribution = price("60.01");
    assert_eq!(share(&tariff), (3_999, true));
    tariff.agreements[0].under_floor = UnderFloor::Refuse;
    let Err(Refused::UnderTheFloor(floor)) = priced(&tariff, &job) else { panic!("a cent is missing") };
    assert_eq!((floor.shares.minor(), floor.available.minor()), (4_000, 3_999));
    tariff.price.minimum_contribution = price("60");
    assert_eq!(share(&tariff), (4_000, false));
}

#[test]
fn the_larger_of_amount_and_percentage_is_the_minimum_contribution() {
    let check = |amount: &str, expect: &str, exact: Option<&str>| {
        let (mut tariff, job) = charged("100.10");
        tariff.price.minimum_contribution = price(amount);
        tariff.price.minimum_contribution_percent = percent("12.5");
        let offer = main_of(&tariff, &job);
        let step = step(&offer, "minimum_contribution");
        assert_eq!((step.result.as_str(), step.exact.as_deref()), (expect, exact), "{amount}");
        let rounding = if exact.is_some() { Rounding::HalfUp } else { Rounding::None };
        assert_eq!(step.rounding, rounding, "{amount}");
    };
    // 12.5 % of 100.10 are 12.5125
    check("12.50", "12.51 EUR", Some("12.5125 EUR"));
    check("12.51", "12.51 EUR", None);
    check("12.52", "12.52 EUR", None);
}

/// A family that exchange units are kept of, at that price, and what a new one costs.
fn exchanged(tariff: &Tariff, name: &str, net: &str, value: &str) -> FamilyRow {
    FamilyRow {
        code: code(name),
        exchange_cost: Some(price("0")),
        exchange_net: Some(price(net)),
        replacement_value: price(value),
        ..tariff.families[0].clone()
    }
}

fn unit(job: &Job, id: &str, family: &str, task: Task) -> Unit {
    Unit { id: code(id), family: code(family), task, ..job.units[0].clone() }
}

#[test]
fn a_repair_is_uneconomic_above_the_share_of_what_a_new_one_costs() {
    let check = |units: &[(&str, &str)], ending: &str, expect: bool| {
        let (mut tariff, mut job) = World::plain();
        tariff.price.uneconomic_percent = percent("60");
        (tariff.price.ending_to, tariff.price.ending_direction) = (price(ending), EndingDirection::Down);
        let families = units.iter().zip(["F-1", "F-2"]);
        tariff.families = families.map(|((net, value), name)| exchanged(&tariff, name, net, value)).collect();
        let names = [("U1", "F-1"), ("U2", "F-2")].into_iter().take(units.len());
        job.units = names.map(|(id, family)| unit(&job, id, family, Task::Exchange)).collect();
        let flags = main_of(&tariff, &job).flags;
        assert_eq!(flags.contains(&Flag::Uneconomic), expect, "{units:?} to {ending}: {flags:?}");
    };
    check(&[("600", "1000")], "0", false);
    check(&[("600.01", "1000")], "0", true);
    // what the customer pays counts, with the ending
    check(&[("600.01", "1000")], "1", false);
    // of several units, all together or one alone
    check(&[("600", "1000"), ("6000", "10000")], "0", false);
    check(&[("600.01", "1000"), ("100", "10000")], "0", true);
    check(&[("100", "10000"), ("600.01", "1000")], "0", true);
    check(&[("601", "1000"), ("6000", "10000")], "0", true);
}

/// Where the workshop, the partners and the customer are, each with an identifier.
const DE: (&str, &str) = ("DE", "DE999900008");
const FR: (&str, &str) = ("FR", "FR31241157882");
const AT: (&str, &str) = ("AT", "ATU13585627");
const CH: (&str, &str) = ("CH", "");
const NORTHERN_IRELAND: (&str, &str) = ("GB", "XI123456782");

/// Two units of a job from the workshop through partners to a customer: one is exchanged at a price, one
/// is seen to at another.
fn sold(chain: &[(&str, &str)], goods: &str, services: &str, minimum: &str) -> (Tariff, Job) {
    let (mut tariff, mut job) = charged(minimum);
    let [first, between @ .., last] = chain else { panic!("a seller and a buyer") };
    (tariff.workshop.country, tariff.workshop.vat_id) =
        (first.0.parse().unwrap(), first.1.parse().ok().filter(|_| !first.1.is_empty()));
    (job.customer.country, job.customer.vat_id) =
        (last.0.parse().unwrap(), last.1.parse().ok().filter(|_| !last.1.is_empty()));
    for (name, (country, vat_id)) in ["A", "B", "C"].into_iter().zip(between) {
        partner(&mut tariff, &mut job, name, country, vat_id);
    }
    for row in &mut tariff.vat_rates {
        row.percent = percent(match row.country.as_str() {
            "DE" => "19",
            "CH" => "8.1",
            _ => "20",
        });
    }
    tariff.inspection.fee = price(services);
    tariff.families = vec![exchanged(&tariff, "F-1", goods, "10000")];
    job.units = [("U1", Task::Exchange), ("U2", Task::Decline)]
        .map(|(id, task)| unit(&job, id, "F-1", task))
        .to_vec();
    (tariff, job)
}

#[test]
fn a_warranty_names_what_it_excludes() {
    let (mut tariff, mut job) = charged("100");
    let (covered, text) = (tariff.findings[0].clone(), "Water in the housing");
    tariff.findings.push(FindingRow {
        code: code("WET"),
        text: text.parse().unwrap(),
        warranty: Cover::Excluded,
    });
    let found = |code: &_| Finding { code: Clone::clone(code), position: None, quantity: None };
    let at = |place: &str| Finding { position: Some(code(place)), ..found(&code("WET")) };
    // Water at three places is excluded once.
    job.units[0].findings = vec![at("K2"), found(&code("WET")), found(&covered.code), at("K1")];
    let offer = main_of(&tariff, &job);
    let excludes = &offer.units[0].warranty.as_ref().unwrap().excludes;
    assert_eq!(excludes.iter().map(|text| text.as_str()).collect::<Vec<_>>(), [text]);

    // The unit that leaves instead of it never stood in water.
    tariff.families = vec![exchanged(&tariff, job.units[0].family.as_str(), "600", "1000")];
    job.units[0].task = Task::Exchange;
    let offer = main_of(&tariff, &job);
    assert_eq!(offer.units[0].warranty.as_ref().unwrap().excludes, []);
}

#[test]
fn an_alternative_that_the_route_cannot_carry_is_left_out() {
    let (mut tariff, mut job) = sold(&[DE, DE, DE], "100", "20", "0");
    tariff.discounts.clear();
    tariff.credits = vec![CreditRow { agreement: code("AG-A"), work: Work::Removal, amount: price("40") }];
    tariff.agreements[0].under_floor = UnderFloor::Refuse;
    job.units.truncate(1);
    let change = Change { unit: code("U1"), task: Some(Task::Decline), class: None, findings: Vec::new() };
    let text = "Sent back".parse().unwrap();
    job.alternatives = vec![Alternative { id: code("BACK"), text, changes: vec![change] }];
    // Of the 100 the partner gets 40; the 20 that sending it back comes to are not enough for him.
    let quote = priced(&tariff, &job).unwrap();
    assert_eq!(quote.offers.iter().map(|offer| &*offer.id).collect::<Vec<_>>(), ["main"]);
    assert_eq!(quote.refused.iter().map(|floor| floor.offer.as_str()).collect::<Vec<_>>(), ["BACK"]);
    // It is no affair of the customer, who cannot choose it.
    let told = |reader: Reader| view(&quote, &reader).unwrap().refused.len();
    assert_eq!([Reader::Customer, Reader::Office, Reader::Partner(code("A"))].map(told), [0, 1, 1]);
    let edition = Edition::new(tariff.clone()).unwrap();
    let known = figures(&job, &edition).unwrap();
    let known: Vec<_> = known.iter().map(|figures| (figures.index, figures.end_net.minor())).collect();
    assert_eq!(known, [(0, 10_000)]);
    // The other way round the job itself cannot be carried, and nothing is priced.
    job.units[0].task = Task::Decline;
    job.alternatives[0].changes[0].task = Some(Task::Exchange);
    let floor = |refused: Refused| match refused {
        Refused::UnderTheFloor(floor) => {
            (floor.offer.to_string(), floor.shares.minor(), floor.available.minor())
        }
        other => panic!("{other:?}"),
    };
    let expect = ("main".to_owned(), 4_000, 2_000);
    assert_eq!(floor(priced(&tariff, &job).unwrap_err()), expect);
    assert_eq!(floor(figures(&job, &edition).unwrap_err()), expect);
}

#[test]
fn a_correction_is_numbered_after_what_it_replaces() {
    let (tariff, job) = charged("100");
    let edition = Edition::new(tariff).unwrap();
    let first = quote(&job, &edition).unwrap();
    let second = revised(&first, &job, &edition).unwrap();
    assert_eq!((first.standing, second.standing), (Standing::Revision(1), Standing::Revision(2)));
    let third = revised(&second.reversed().unwrap(), &job, &edition).unwrap();
    assert_eq!(third.standing, Standing::Revision(3));
}

/// The ECB's euro foreign exchange reference rates of 30 October 2026: units for one euro, crossed exactly, each line
/// rounded once.
#[test]
fn currencies_are_crossed_by_the_reference_rates_of_the_day() {
    let check = |from: &str, to: &str, expect: i64| {
        let (mut tariff, mut job) = charged("1000");
        job.received = worlds::day(2026, 10, 31);
        let rates = [("USD", "1.1172"), ("GBP", "0.8338"), ("CHF", "0.9194")];
        tariff.currency_rates = rates
            .map(|(currency, rate)| CurrencyRateRow {
                date: worlds::day(2026, 10, 30),
                currency: currency.parse().unwrap(),
                units_per_eur: rate.parse().unwrap(),
            })
            .to_vec();
        (tariff.currency, job.currency) = (from.parse().unwrap(), to.parse().ok());
        assert_eq!(main_of(&tariff, &job).end.net.minor(), expect, "{from} to {to}");
    };
    check("EUR", "USD", 111_720);
    // 1000 / 1.1172 = 895.0948...
    check("USD", "EUR", 89_509);
    // 1000 / 0.8338 x 1.1172 = 1339.8896...
    check("GBP", "USD", 133_989);
    // 1000 / 1.1172 x 0.9194 = 822.9502...
    check("USD", "CHF", 82_295);
}

/// A limit of ten cycles is one that ten cycles keep: the cover is open until the eleventh.
#[test]
fn a_cover_ends_with_its_last_cycle() {
    let (tariff, mut job) = charged("100");
    for (cycles, left) in [(100, Some(10)), (109, Some(1)), (110, Some(0)), (111, None)] {
        job.units[0].cycles = Some(cycles);
        job.units[0].returned = Some(Returned {
            quote: code("Q-1"),
            dispatched: job.received,
            warranty_months: 12,
            warranty_cycles: Some(10),
            cycles_at_dispatch: Some(100),
        });
        let offer = main_of(&tariff, &job);
        let cover = offer.units[0].open_cover.as_ref();
        assert_eq!(cover.map(|cover| cover.cycles_left), left.map(Some), "{cycles}");
    }
}

#[test]
fn steps_that_differ_in_nothing_but_their_place_are_told_as_one() {
    let step = |code: &str, position: Option<&str>| PlanStep {
        category: Category::Part,
        code: code.parse().unwrap(),
        text: "Capacitor".parse().unwrap(),
        quantity: "1 pc".into(),
        position: position.map(Into::into),
        why: "refresh, always".parse().unwrap(),
    };
    let first = step("CAP", Some("C1"));
    let told = |other: PlanStep| alike(&[first.clone(), other]).len();
    assert_eq!(told(step("CAP", Some("C2"))), 1);
    assert_eq!(told(step("FUSE", Some("C2"))), 2);
    assert_eq!(told(step("CAP", None)), 2);
    assert_eq!(alike(&[step("CAP", None), step("CAP", Some("C2"))]).len(), 2);
    assert_eq!(alike(&[step("CAP", None), step("CAP", None)]).len(), 2);
    assert_eq!(told(PlanStep { category: Category::Test, ..step("CAP", Some("C2")) }), 2);
    assert_eq!(told(PlanStep { quantity: "2 pc".into(), ..step("CAP", Some("C2")) }), 2);
    assert_eq!(
        told(PlanStep { why: "refresh, from 5 years".parse().unwrap(), ..step("CAP", Some("C2")) }),
        2
    );
}

#[test]
fn an_edition_with_a_mistake_is_none() {
    let mistakes = |change: &dyn Fn(&mut Tariff)| {
        let (mut tariff, _) = World::plain();
        change(&mut tariff);
        let problems: Vec<Problem> = Edition::new(tariff).err().unwrap().into();
        let errors = problems.iter().filter(|problem| problem.severity == Severity::Error);
        errors.map(|problem| problem.code).collect::<Vec<_>>()
    };
    assert_eq!(mistakes(&|tariff| tariff.terms.validity_days = 3_651), ["too_long"]);
    assert_eq!(mistakes(&|tariff| tariff.markups.truncate(3)), ["missing_markup"]);
}
