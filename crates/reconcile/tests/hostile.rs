//! Exploration.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

#[path = "laws/world.rs"]
#[allow(dead_code)]
mod world;
mod booked;

use std::sync::Arc;

use booked::{booked, reasons};
use evenfare_engine::category::Work;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::*;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use world::*;

fn balance(reconciled: &Reconciled, role: Role) -> i128 {
    reconciled.journal.balances().unwrap().iter().find(|(of, _)| *of == role).unwrap().1
}

fn show(name: &str, books: &Reconciled) {
    println!("== {name}");
    for found in &books.differences {
        let d = &found.difference;
        println!(
            "  {} {} {} {} {:?} {}",
            found.posted,
            d.reason.code(),
            d.amount_minor,
            d.party,
            d.quote,
            d.documents.iter().map(|one| one.number.to_string()).collect::<Vec<_>>().join(" ")
        );
    }
    for q in &books.undecided {
        println!("  ? {:?} {:?} {:?}", q.why, q.subject.number, q.candidates);
    }
    for (role, minor) in books.journal.balances().unwrap() {
        if minor != 0 {
            print!("  {}={minor}", role.word());
        }
    }
    println!();
    for one in books.accounts.months() {
        println!("  {} {} {} -> {}", one.party, one.currency, one.month, one.closing_minor);
    }
    for one in &books.changed {
        println!("  changed {:?} {} {}", one.how, one.source.document, one.posted);
    }
}

/// A direct sale of `net` without VAT in a currency, and papers of it on their days.
fn invoiced(code: &str, net: i64, papers: &[(&str, i64, u64, InvoiceKind)]) -> Inputs {
    let mut inputs = empty();
    let rate = |on, rate: &str| (day(on), currency("USD"), rate.parse().unwrap());
    inputs.rates = Rates::new([rate(0, "1.1172"), rate(19, "1.0500")]);
    let mut of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.currency = currency(code);
    for (number, net, on, kind) in papers {
        let mut paper = invoice(&of, 1, 0, &groups(1, *net), *net);
        paper.accounting_vat = None;
        inputs.invoices.push(Invoice { number: (*number).into(), kind: *kind, issued: day(*on), ..paper });
    }
    inputs.agreed.push(of);
    inputs
}

use InvoiceKind::{CreditNote as C, Invoice as I};

fn paid(inputs: &Inputs, minor: i64, words: &str) -> Payment {
    payment(minor, &inputs.agreed[0].sales[0].buyer, words)
}

#[test]
fn explore() {
    let inputs = invoiced(
        "USD",
        500_000,
        &[("R-20261", 200_000, 3, I), ("R-20262", 300_000, 20, I), ("G-20261", 500_000, 22, C)],
    );
    show("usd: credit of two parts", &reconcile(&inputs).unwrap());
    let inputs = invoiced(
        "USD",
        500_000,
        &[("R-20261", 500_000, 3, I), ("R-20262", 500_000, 20, I), ("G-20261", 500_000, 22, C)],
    );
    show("usd: double, credit names nothing", &reconcile(&inputs).unwrap());
    for code in ["EUR", "USD"] {
        let inputs = invoiced(code, 5_000, &[("R-20261", 5_000, 3, I), ("R-20262", -1_000, 20, I)]);
        let (_, books) = booked(inputs.clone(), &[(22, paid(&inputs, 4_000, "R-20261"))]);
        show("negative invoice", &books);
    }
    let inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I), ("G-20261", 5_000, 20, C)]);
    let pays = |words: &str| {
        booked(inputs.clone(), &[(10, paid(&inputs, 5_000, "R-20261")), (25, paid(&inputs, -5_000, words))]).1
    };
    show("refund names credit", &pays("G-20261"));
    show("refund names invoice", &pays("R-20261"));
    show("refund names both", &pays("R-20261 G-20261"));
    show("refund names nothing", &pays(""));
    let inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I), ("G-20261", 2_000, 20, C)]);
    let (_, books) = booked(
        inputs.clone(),
        &[(10, paid(&inputs, 5_000, "R-20261")), (25, paid(&inputs, -2_000, "G-20261"))],
    );
    show("refund of a part names credit", &books);
    // Credit of another quote is netted.
    let mut inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I), ("G-20261", 2_000, 20, C)]);
    inputs.invoices[1].quote = None;
    inputs.invoices[1].preceding = Some("R-20260".into());
    let (_, books) = booked(inputs.clone(), &[(25, paid(&inputs, 3_000, "R-20261 G-20261"))]);
    show("netted", &books);
    // equal courier rows
    let mut inputs = empty();
    for consignment in ["0815", "0816"] {
        inputs.courier_bills.push(CourierBill {
            place: place("c.csv", 2),
            courier: "Swift".into(),
            bill: "C-1".into(),
            consignment: consignment.into(),
            quote: "?".into(),
            leg: Leg::In,
            carried: day(5),
            currency: currency("EUR"),
            net_minor: 1_860,
        });
    }
    let books = reconcile(&inputs).unwrap();
    show("two consignments", &books);
    inputs.closings.push(books.close("2026-06".parse().unwrap()).unwrap());
    let books = reconcile(&inputs).unwrap();
    show("two consignments, closed", &books);
    inputs.closings.push(books.close("2026-07".parse().unwrap()).unwrap());
    show("two consignments, closed twice", &reconcile(&inputs).unwrap());
    // work done
    let mut inputs = empty();
    let of = agreed(
        &Plan {
            partners: 1,
            net: 100_000,
            percents: [10, 0],
            vat: [1; 3],
            day: 3,
            has_credits: true,
            ..Plan::default()
        },
        1,
    );
    let gross = of.sales[0].gross.minor();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    inputs.charges.push(charge(&of, 1, 1, &of.sales[1].vat, of.sales[1].net.minor()));
    for (line, quote) in ["Q-2026-0001", "q 2026 0001"].into_iter().enumerate() {
        inputs.work_done.push(WorkDone {
            place: place("w.csv", line + 2),
            quote: quote.into(),
            work: Work::Removal,
            done: day(4),
        });
    }
    inputs.work_done.push(WorkDone {
        place: place("w.csv", 5),
        quote: "Q-2026-0001".into(),
        work: Work::LegIn,
        done: day(4),
    });
    inputs.courier_bills.push(CourierBill {
        place: place("c.csv", 2),
        courier: "Swift".into(),
        bill: "C-1".into(),
        consignment: "1".into(),
        quote: "Q-2026-0001".into(),
        leg: Leg::In,
        carried: day(5),
        currency: currency("EUR"),
        net_minor: 1_860,
    });
    let buyer = of.sales[0].buyer.clone();
    inputs.agreed.push(of);
    let (mut inputs, books) = booked(inputs, &[(10, payment(gross, &buyer, &invoice_number(1)))]);
    show("work twice", &books);
    inputs.agreed[0].reversed = Some(day(6));
    show("work, reversed", &reconcile(&inputs).unwrap());
    // early payment
    let mut inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 35, I)]);
    inputs.agreed[0].invoice_by = day(35);
    let (_, books) = booked(inputs.clone(), &[(0, paid(&inputs, 5_000, "")), (40, paid(&inputs, 5_000, ""))]);
    show("early one", &books);
}

#[test]
fn one_firm() {
    let mut inputs = empty();
    let of = agreed(
        &Plan { partners: 1, net: 200_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() },
        2,
    );
    let partner = of.sales[0].buyer.clone();
    println!("{partner:?}");
    inputs.invoices.push(invoice(&of, 2, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    let paper = invoice(&of, 2, 1, &of.sales[1].vat, of.sales[1].net.minor());
    inputs.invoices.push(paper);
    inputs.agreed.push(of);
    let mut of = agreed(&Plan { net: 50_000, vat: [1; 3], day: 5, ..Plan::default() }, 4);
    of.sales[0].buyer = Arc::new(Firm { id: partner.vat_id.clone().unwrap(), ..(*partner).clone() });
    inputs.invoices.push(invoice(&of, 4, 0, &of.sales[0].vat, 50_000));
    inputs.agreed.push(of);
    let (inputs, books) =
        booked(inputs, &[(20, payment(180_000, &partner, "")), (21, payment(50_000, &partner, ""))]);
    show("one firm", &books);
    for one in &books.bonuses {
        println!("{} {} {}", one.partner, one.month, one.turnover_minor);
    }
    let _ = balance(&books, Role::Bank);
    let _ = reasons(&books);
    drop(inputs);
}

#[test]
fn second() {
    use evenfare_reconcile::terms::*;
    // a: bonus paid twice
    let mut inputs = empty();
    let mut of = agreed(&Plan { net: 200_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.sales[0].buyer = Arc::new(Firm { id: "P-10".into(), name: "Partner P-10".into(), vat_id: None });
    let p10 = of.sales[0].buyer.clone();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 200_000));
    inputs.agreed.push(of);
    let (_, books) = booked(
        inputs.clone(),
        &[
            (10, payment(200_000, &p10, &invoice_number(1))),
            (32, payment(-3_000, &p10, "bonus")),
            (40, payment(-3_000, &p10, "bonus")),
        ],
    );
    show("bonus twice", &books);
    // b: goes out to a stranger under a number that is ours too
    let stranger = Firm { id: "x".into(), name: "Parts Ltd".into(), vat_id: None };
    let (_, books) = booked(inputs.clone(), &[(10, payment(-7_700, &stranger, &invoice_number(1)))]);
    show("goes out, names ours", &books);
    // j: refund names the quote
    let inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I), ("G-20261", 5_000, 20, C)]);
    let (_, books) = booked(
        inputs.clone(),
        &[(10, paid(&inputs, 5_000, "R-20261")), (25, paid(&inputs, -5_000, "refund Q-2026-0001"))],
    );
    show("refund names quote", &books);
    // g
    let inputs = invoiced(
        "USD",
        5_000,
        &[("R-20261", 5_000, 3, I), ("R-20262", -5_000, 20, I), ("R-20263", 5_000, 21, I)],
    );
    let (_, books) = booked(inputs.clone(), &[]);
    show("cancelled by negative", &books);
    // l
    let mut inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I), ("R-20261", 4_000, 4, I)]);
    let mut seller = (*inputs.invoices[1].seller).clone();
    seller.vat_id = None;
    inputs.invoices[1].seller = seller.into();
    match reconcile(&inputs) {
        Ok(books) => show("one number twice", &books),
        Err(e) => println!("== one number twice: {e}"),
    }
    // n
    let mut inputs = invoiced("EUR", 5_000, &[("R-20261", 3_000, 3, I)]);
    inputs.agreed[0].invoice_by = day(40);
    inputs.terms.until = day(29);
    show("part before its day", &reconcile(&inputs).unwrap());
    // r
    let mut inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I)]);
    for leg in [Leg::In, Leg::Out] {
        inputs.courier_bills.push(CourierBill {
            place: place("c.csv", 2),
            courier: "Swift".into(),
            bill: "C-1".into(),
            consignment: "0815".into(),
            quote: "Q-2026-0001".into(),
            leg,
            carried: day(5),
            currency: currency("EUR"),
            net_minor: 3_900,
        });
    }
    match reconcile(&inputs) {
        Ok(books) => show("both legs", &books),
        Err(e) => println!("== both legs: {e}"),
    }
    // c: asked, then taken back
    let inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I)]);
    let (mut inputs, _) = booked(
        inputs.clone(),
        &[(10, payment(5_000, &stranger, "thanks")), (12, payment(-5_000, &stranger, "returned"))],
    );
    inputs.statements[0].batches[1].reversal = true;
    show("asked and returned", &reconcile(&inputs).unwrap());
    // KWD
    for code in ["KWD", "JPY"] {
        let mut inputs = invoiced(code, 1_234_567, &[("R-20261", 1_234_567, 3, I)]);
        inputs.rates = Rates::new([
            (day(0), currency("KWD"), "0.3421".parse().unwrap()),
            (day(0), currency("JPY"), "181.35".parse().unwrap()),
        ]);
        let paid =
            Payment { instructed: Some((1_234_567, currency(code))), ..paid(&inputs, 361_000, "R-20261") };
        let (_, books) = booked(inputs, &[(10, paid)]);
        show(code, &books);
    }
    // year end
    let mut inputs = empty();
    inputs.terms.payment_days = 400;
    inputs.terms.until = day(260);
    let mut of = agreed(&Plan { net: 200_000, vat: [1; 3], day: 200, ..Plan::default() }, 1);
    of.sales[0].buyer = p10.clone();
    let paper = Invoice { due: None, ..invoice(&of, 1, 0, &of.sales[0].vat, 200_000) };
    let credit = Invoice {
        kind: C,
        number: "G-20271".into(),
        issued: day(220),
        preceding: Some(paper.number.clone()),
        ..paper.clone()
    };
    inputs.invoices = vec![paper, credit];
    inputs.agreed.push(of);
    let books = reconcile(&inputs).unwrap();
    show("year end", &books);
    for one in &books.bonuses {
        println!(
            "  {} {} {} {} {}",
            one.year, one.month, one.turnover_minor, one.due_minor, one.movement_minor
        );
    }
    let _ = BankAccount { place: place("x", 1), account: "".into(), firm: "".into() };
    // closing with a decision about June
    // k: double overpaid
    let inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I), ("R-20262", 5_000, 4, I)]);
    let (_, books) = booked(
        inputs.clone(),
        &[(10, paid(&inputs, 5_000, "R-20261")), (11, paid(&inputs, 7_000, "R-20262"))],
    );
    show("double overpaid", &books);
    // two courier billing one leg
    let mut inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, I)]);
    for (courier, net_minor) in [("Zwift", 3_900), ("Amble", 3_900)] {
        inputs.courier_bills.push(CourierBill {
            place: place("c.csv", 2),
            courier: courier.into(),
            bill: "C-1".into(),
            consignment: "0815".into(),
            quote: "Q-2026-0001".into(),
            leg: Leg::In,
            carried: day(5),
            currency: currency("EUR"),
            net_minor,
        });
    }
    show("two couriers", &reconcile(&inputs).unwrap());
}
