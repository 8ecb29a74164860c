//! Names that nobody knows are told, each where it stands, and stop nothing.

use evenfare_engine::category::Work;
use evenfare_engine::nearest::LOOKED_FOR;
use evenfare_reconcile::input::{Charge, CourierBill, Leg, WorkDone};
use evenfare_reconcile::terms::{BankAccount, BonusTier, Decision};
use evenfare_reconcile::{Inputs, reconcile};

use crate::world::{self, Plan, agreed, charge, day, empty, place};

/// Quote 0 by way of P-10 and P-20, as it was agreed.
fn sold() -> Inputs {
    let mut inputs = empty();
    let plan = Plan { partners: 2, net: 90_000, percents: [10, 8], vat: [1; 3], day: 3, ..Plan::default() };
    inputs.agreed.push(agreed(&plan, 0));
    inputs
}

fn told(inputs: &Inputs) -> Vec<String> {
    let unknown = reconcile(inputs).unwrap().warnings;
    unknown.iter().map(|slip| format!("{} {slip}", slip.code)).collect()
}

fn bonus(line: usize, partner: &str) -> BonusTier {
    let percent = "1".parse().unwrap();
    let (place, partner) = (place("bonuses.csv", line), partner.into());
    BonusTier { place, partner, year: 2026, from_minor: 0, percent }
}

fn account(line: usize, firm: &str) -> BankAccount {
    let account = format!("DE{line}").as_str().into();
    BankAccount { place: place("bank_accounts.csv", line), account, firm: firm.into() }
}

fn work(line: usize, quote: &str) -> WorkDone {
    WorkDone { place: place("work_done.csv", line), quote: quote.into(), work: Work::Removal, done: day(9) }
}

fn carried(line: usize, quote: &str) -> CourierBill {
    CourierBill {
        place: place("couriers.csv", line),
        courier: "Swift Cart".into(),
        bill: "C-1".into(),
        consignment: format!("{line}").into(),
        quote: quote.into(),
        leg: Leg::In,
        carried: day(9),
        currency: world::currency("EUR"),
        net_minor: 3_900,
    }
}

/// A line of P-20's list for his sale, which is the last.
fn charged(inputs: &Inputs, line: usize, partner: &str, quote: &str) -> Charge {
    let of = &inputs.agreed[0];
    let charge = charge(of, 0, 2, &of.sales[2].vat, of.sales[2].net.minor());
    let (place, invoice) = (place("charges.csv", line), format!("{line}").into());
    Charge { place, invoice, partner: partner.parse().unwrap(), quote: quote.into(), ..charge }
}

#[test]
fn every_name_that_nobody_knows_is_told_where_it_stands() {
    let mut inputs = sold();
    inputs.terms.reporting.insert("P-02".into(), place("books.toml", 5));
    // The second row about a partner has the same name.
    inputs.terms.bonuses.extend([bonus(5, "P-100"), bonus(4, "P-100"), bonus(6, "ALPENBROT")]);
    inputs.terms.accounts.extend([account(2, "P-10"), account(3, "FR00000000"), account(4, "workshop")]);
    inputs.charges = vec![
        charged(&inputs, 2, "P-20", "your Q 2026 0000"),
        charged(&inputs, 3, "P-22", "Q-2026-0000"),
        charged(&inputs, 4, "P-20", "Q-2026-0O00"),
    ];
    inputs.courier_bills = vec![carried(7, "Q-2026-0000"), carried(8, "Q-2062-0000")];
    inputs.work_done = vec![work(2, "Q-2026-00"), work(3, "Q-2026-0000")];
    let partner = "a partner of the tariff or of a quote that was accepted";
    let firm = "a partner or a customer of a quote that was accepted";
    let quote = "the number of a quote that was accepted";
    let mut expect = [
        format!(
            "unknown_firm bank_accounts.csv:3: found `FR00000000`, expected {firm}; the nearest: FR000000000"
        ),
        format!(
            "unknown_partner bonuses.csv:4: found `P-100`, expected {partner}; the nearest: P-10, P-11, P-20"
        ),
        format!("unknown_partner bonuses.csv:6: found `ALPENBROT`, expected {partner}"),
        format!(
            "unknown_partner books.toml:5: found `P-02`, expected {partner}; the nearest: P-10, P-11, P-20"
        ),
        format!(
            "unknown_partner charges.csv:3: found `P-22`, expected {partner}; the nearest: P-20, P-21, P-10"
        ),
        format!("unknown_quote charges.csv:4: found `Q-2026-0O00`, expected {quote}"),
        format!("unknown_quote couriers.csv:8: found `Q-2062-0000`, expected {quote}"),
        format!("unknown_quote work_done.csv:2: found `Q-2026-00`, expected {quote}"),
    ];
    expect.sort_by_key(|told| told.split(' ').nth(1).unwrap().to_owned());
    assert_eq!(told(&inputs), expect);
    // It says so whatever the order, and once what stands in a file twice.
    inputs.terms.bonuses.reverse();
    inputs.charges.reverse();
    inputs.terms.accounts.reverse();
    assert_eq!(told(&inputs), expect);
}

#[test]
fn a_firm_that_is_no_partner_gets_no_bonus_and_tells_no_charges() {
    let mut inputs = sold();
    inputs.partners.clear();
    inputs.terms.reporting.clear();
    inputs.terms.bonuses = vec![bonus(2, "P-10"), bonus(3, "FR000000000"), bonus(4, "workshop")];
    inputs.charges = vec![charged(&inputs, 2, "workshop", "Q-2026-0000")];
    let codes: Vec<String> =
        told(&inputs).iter().map(|one| one.split(": ").next().unwrap().to_owned()).collect();
    assert_eq!(
        codes,
        ["unknown_partner bonuses.csv:3", "unknown_partner bonuses.csv:4", "unknown_partner charges.csv:2"]
    );
}

#[test]
fn who_is_known_on_another_day_or_by_another_paper_is_known() {
    let mut inputs = sold();
    inputs.work_done = vec![work(2, "Q-2026-0000")];
    inputs.terms.bonuses.push(bonus(4, "P-77"));
    inputs.terms.accounts.push(account(2, "FR000000000"));
    assert_eq!(told(&inputs).len(), 1);
    // One with an agreement may have no quote yet.
    inputs.partners.insert("P-77".into());
    assert_eq!(told(&inputs), [""; 0]);
    // Before anything was accepted, the work was done all the same.
    inputs.terms.until = day(10);
    inputs.agreed[0].accepted = day(11);
    assert_eq!(told(&inputs), [""; 0]);
}

#[test]
fn of_a_charge_that_was_decided_about_nothing_is_told() {
    let mut inputs = sold();
    inputs.charges = vec![charged(&inputs, 2, "P-20", "the mixer")];
    assert_eq!(told(&inputs).len(), 1);
    inputs.decisions = vec![Decision::Invoice {
        place: place("decided_invoices.csv", 2),
        seller: "P-20".into(),
        number: "2".into(),
        quote: Some("Q-2026-0000".into()),
    }];
    assert_eq!(told(&inputs), [""; 0]);
}

#[test]
fn before_anything_is_sold_the_workshop_is_known() {
    let mut inputs = empty();
    inputs.terms.accounts.push(account(2, "workshop"));
    assert_eq!(told(&inputs), [""; 0]);
}

/// All are told; what is near is looked for of so many, which is work.
#[test]
fn of_many_names_the_nearest_are_looked_for_of_some() {
    let mut inputs = sold();
    inputs
        .terms
        .bonuses
        .extend(('a'..='z').zip(10..).map(|(mark, line)| bonus(line, &format!("P-10{mark}"))));
    let told = told(&inputs);
    let with_nearest = told.iter().filter(|told| told.contains("; the nearest: "));
    assert_eq!((told.len(), with_nearest.count()), (26, LOOKED_FOR));
}
