//! The sales of a chain, by where its parties are.

use evenfare_engine::category::{Category, Work};
use evenfare_engine::flag::Flag;
use evenfare_engine::job::Job;
use evenfare_engine::quote::{Offer, Quote};
use evenfare_engine::supply::VatCategory;
use evenfare_engine::tariff::{CreditRow, DiscountRow, Edition, EndingDirection, ExtraRow, Tariff};
use evenfare_engine::view::{Reader, view};

use super::{AT, CH, DE, FR, NORTHERN_IRELAND, main_of, percent, price, priced, sold, step};
use crate::worlds::{code, day};

/// The groups of a sale: category, rate and base.
fn groups(offer: &Offer, sale: usize) -> Vec<(VatCategory, Option<String>, i64)> {
    let groups = offer.sales[sale].vat.iter();
    groups
        .map(|group| (group.category, group.rate.map(|rate| rate.to_string()), group.base.minor()))
        .collect()
}

#[test]
fn what_belongs_to_the_whole_job_goes_with_the_larger_part() {
    use VatCategory::{AE, K};
    let check = |goods: &str, services: &str, minimum: &str, of_services: i64, of_goods: i64| {
        let (tariff, job) = sold(&[DE, FR], goods, services, minimum);
        let zero = || Some("0".to_owned());
        let expect = vec![(AE, zero(), of_services), (K, zero(), of_goods)];
        assert_eq!(groups(&main_of(&tariff, &job), 0), expect, "{goods} and {services} to {minimum}");
    };
    check("10", "100", "150", 14_000, 1_000);
    check("100", "10", "150", 1_000, 14_000);
    // where neither is larger, it goes with the goods
    check("50", "50", "150", 5_000, 10_000);
    check("50", "50.01", "150", 10_000, 5_000);
    // and where nothing is exchanged there are no goods
    let (mut tariff, mut job) = sold(&[DE, FR], "0", "0", "150");
    job.units.remove(0);
    assert_eq!(groups(&main_of(&tariff, &job), 0), [(AE, Some("0".to_owned()), 15_000)]);
    tariff.families[0].exchange_net = Some(price("1"));
    assert_eq!(groups(&main_of(&tariff, &job), 0), [(AE, Some("0".to_owned()), 15_000)]);
}

#[test]
fn each_sale_has_a_group_for_a_category_and_rate() {
    use VatCategory::{AE, S};
    // Goods that stay in Germany are taxed there, whoever sells them; services where the buyer is.
    let (mut tariff, job) = sold(&[DE, FR, FR, DE], "100", "50", "0");
    tariff.discounts.clear();
    tariff.credits = ["AG-A", "AG-B"]
        .map(|name| CreditRow { agreement: code(name), work: Work::Removal, amount: price("0") })
        .to_vec();
    let offer = main_of(&tariff, &job);
    let rate = |text: &str| Some(text.to_owned());
    assert_eq!(groups(&offer, 0), [(S, rate("19"), 10_000), (AE, rate("0"), 5_000)]);
    assert_eq!(groups(&offer, 1), [(S, rate("19"), 10_000), (S, rate("20"), 5_000)]);
    assert_eq!(groups(&offer, 2), [(S, rate("19"), 10_000), (AE, rate("0"), 5_000)]);
    assert_eq!(offer.sales[1].gross.minor(), 15_000 + 1_900 + 1_000);
    assert_eq!(step(&offer, "sale.2.vat.S-19").result, "19.00 EUR");
    assert_eq!(step(&offer, "sale.2.vat.S-20").result, "10.00 EUR");
}

/// The VAT group of each line of a sale, as readers of the quote tell it: category and rate.
fn groups_of_lines(quote: &Quote, sale: usize) -> Vec<(String, VatCategory, Option<String>)> {
    let seen = view(quote, &Reader::Office).unwrap();
    let sale = &seen.main.sales[sale];
    let groups = seen.groups_of_lines(&seen.main, sale).unwrap();
    let lines = sale.lines.iter().zip(groups);
    lines.map(|(line, group)| (line.id.to_string(), group.category, group.rate.clone())).collect()
}

/// Where the lines of the whole job come to nothing together, the sums do not show which group they are in.
#[test]
fn lines_of_the_whole_job_are_told_with_the_larger_part() {
    use VatCategory::{AE, K};
    let check = |goods: &str, services: &str, expect: VatCategory| {
        let (mut tariff, mut job) = sold(&[DE, FR], goods, services, "0");
        (tariff.price.ending_to, tariff.price.ending_direction) = (price("100"), EndingDirection::Down);
        let categories = vec![Category::Exchange, Category::Inspection];
        let text = tariff.families[0].text.clone();
        tariff.extras.push(ExtraRow { code: code("URGENT"), text, percent: percent("10"), categories });
        job.extras.push(code("URGENT"));
        let quote = priced(&tariff, &job).unwrap();
        for quote in [&quote, &quote.reversed().unwrap()] {
            let told = groups_of_lines(quote, 0);
            let of = |id: &str| told.iter().find(|(line, ..)| line == id).map(|(_, category, _)| *category);
            assert_eq!([of("U1/exchange"), of("U2/inspection")], [Some(K), Some(AE)], "{goods} {services}");
            assert_eq!([of("surcharge/URGENT"), of("ending")], [Some(expect); 2], "{goods} {services}");
        }
    };
    check("50", "50", K);
    check("49.99", "50.01", AE);
    check("50.01", "49.99", K);
}

/// Which of two rates is that of goods is told by where they stay, whichever is the higher.
#[test]
fn goods_that_stay_are_told_by_the_rate_at_home() {
    use VatCategory::{O, S};
    let check = |at_home: &str, goods: (VatCategory, Option<&str>)| {
        let (mut tariff, job) = sold(&[DE, FR, FR, DE], "100", "50", "0");
        without_shares(&mut tariff, &job);
        let rates = tariff.vat_rates.iter_mut().filter(|row| row.country.as_str() == "DE");
        rates.for_each(|row| row.percent = percent(at_home));
        for (id, category, rate) in groups_of_lines(&priced(&tariff, &job).unwrap(), 1) {
            let expect = if id.starts_with("U1/") { goods } else { (S, Some("20")) };
            assert_eq!((category, rate.as_deref()), expect, "{id} with {at_home} % at home");
        }
    };
    check("19", (S, Some("19")));
    check("21", (S, Some("21")));
    check("0", (O, None));
}

/// Partners who take nothing, so that each sale is the end price.
fn without_shares(tariff: &mut Tariff, job: &Job) {
    tariff.discounts.iter_mut().for_each(|row: &mut DiscountRow| row.percent = percent("0"));
    assert_eq!(tariff.discounts.len(), job.route.len());
}

#[test]
fn flags_of_a_chain_say_what_its_sales_are() {
    let check = |chain: &[(&str, &str)], goods: bool, expect: &[Flag]| {
        let (tariff, mut job) = sold(chain, "100", "50", "0");
        if !goods {
            job.units.remove(0);
        }
        let raised = main_of(&tariff, &job).flags;
        let about_sales = [Flag::GoodsInChain, Flag::SeveralInvoices];
        let raised: Vec<Flag> = raised.into_iter().filter(|flag| about_sales.contains(flag)).collect();
        assert_eq!(raised, expect, "{chain:?}, goods {goods}");
    };
    check(&[DE, FR], true, &[]);
    check(&[DE, DE, DE], true, &[]);
    check(&[DE, FR, DE], true, &[Flag::GoodsInChain]);
    check(&[DE, DE, FR], true, &[Flag::GoodsInChain]);
    check(&[DE, FR, AT], true, &[Flag::GoodsInChain]);
    check(&[DE, FR, AT], false, &[]);
    // Out of the Union goods are exported and services are not taxed here: O stands by itself.
    check(&[DE, CH], true, &[Flag::SeveralInvoices]);
    check(&[DE, CH], false, &[]);
    check(&[DE, NORTHERN_IRELAND], true, &[Flag::SeveralInvoices]);
    check(&[DE, DE, CH], true, &[Flag::GoodsInChain, Flag::SeveralInvoices]);
}

/// The mistakes of a job of that chain, which is of goods, of services or of both.
fn mistakes(chain: &[(&str, &str)], sold_as: &str, without_rate: &str) -> Vec<(String, &'static str)> {
    let (mut tariff, mut job) = sold(chain, "100", "50", "0");
    match sold_as {
        "goods" => job.units.truncate(1),
        "services" => drop(job.units.remove(0)),
        _ => {}
    }
    let expired = tariff.vat_rates.iter_mut().filter(|row| row.country.as_str() == without_rate);
    expired.for_each(|row| row.span.until = Some(day(2026, 1, 1)));
    let edition = Edition::new(tariff).unwrap();
    let problems = evenfare_engine::check(&job, &edition);
    problems.into_iter().map(|problem| (problem.place.to_string(), problem.code)).collect()
}

#[test]
fn whoever_owes_the_vat_needs_an_identifier() {
    let check = |chain: &[(&str, &str)], sold_as: &str, needed: bool| {
        let expect = if needed { vec![("customer.vat_id".to_owned(), "missing_vat_id")] } else { Vec::new() };
        assert_eq!(mistakes(chain, sold_as, ""), expect, "{chain:?}, {sold_as}");
    };
    let nameless = |(country, _): (&'static str, &'static str)| (country, "");
    for sold_as in ["goods", "services", "both"] {
        check(&[DE, FR], sold_as, false);
        check(&[DE, nameless(FR)], sold_as, true);
        check(&[DE, nameless(DE)], sold_as, false);
        check(&[DE, CH], sold_as, false);
    }
    // Northern Ireland is of the Union for goods only (Windsor Framework, Annex 3).
    check(&[NORTHERN_IRELAND, nameless(DE)], "goods", true);
    check(&[NORTHERN_IRELAND, nameless(DE)], "services", false);
    // What comes back home is a sale across a border, unless it is goods that never left.
    check(&[DE, FR, nameless(DE)], "services", true);
    check(&[DE, FR, nameless(DE)], "goods", false);
}

#[test]
fn a_sale_inside_a_country_needs_its_rate() {
    let check = |chain: &[(&str, &str)], sold_as: &str, without: &str, expect: &[&str]| {
        let expect: Vec<_> = expect.iter().map(|place| ((*place).to_owned(), "no_vat_rate")).collect();
        assert_eq!(mistakes(chain, sold_as, without), expect, "{chain:?}, {sold_as}");
    };
    for sold_as in ["goods", "services", "both"] {
        check(&[DE, DE], sold_as, "DE", &["customer.country"]);
        check(&[DE, FR], sold_as, "DE", &[]);
        check(&[DE, FR], sold_as, "FR", &[]);
        check(&[DE, FR, FR], sold_as, "FR", &["customer.country"]);
        check(&[DE, DE, FR], sold_as, "DE", &["route[0]"]);
    }
    check(&[DE, FR, FR, DE], "services", "FR", &["route[1]"]);
    check(&[DE, FR, FR, DE], "goods", "FR", &[]);
    check(&[DE, FR, DE], "goods", "DE", &["customer.country"]);
    check(&[DE, FR, DE], "services", "DE", &[]);
}
