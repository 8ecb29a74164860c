//! Papers that take back others, and papers that are told twice.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

#[path = "laws/world.rs"]
#[allow(dead_code)]
mod world;
mod booked;

use booked::{booked, reasons};
use evenfare_reconcile::input::{Charge, Invoice, InvoiceKind};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::{BankAccount, Decision};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use world::{Plan, agreed, charge, currency, day, empty, groups, invoice, invoice_number, payment, place};

/// Direct sales of these nets without VAT, each to a customer of its own, invoiced as agreed in June.
fn sold(nets: &[i64]) -> Inputs {
    let mut inputs = empty();
    for (number, &net) in nets.iter().enumerate() {
        let of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, number);
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

/// An invoice to the first customer for what no quote knows.
fn unsold(inputs: &Inputs, number: &str, gross: i64) -> Invoice {
    let of = &inputs.agreed[0];
    let paper = invoice(of, 0, 0, &groups(1, gross), gross);
    Invoice { number: number.into(), quote: None, ..paper }
}

/// A credit note of so much that names no quote, and which invoice it takes back.
fn credit(of: &Invoice, number: &str, gross: i64, preceding: Option<&str>, on: u64) -> Invoice {
    let vat = Invoice { net_minor: gross, gross_minor: gross, payable_minor: gross, ..of.clone() }.vat;
    Invoice {
        kind: InvoiceKind::CreditNote,
        number: number.into(),
        place: place("credits.xml", 1),
        quote: None,
        preceding: preceding.map(Into::into),
        issued: day(on),
        due: None,
        net_minor: gross,
        gross_minor: gross,
        payable_minor: gross,
        vat: vat
            .into_iter()
            .map(|mut group| {
                group.base_minor = gross;
                group
            })
            .collect(),
        ..of.clone()
    }
}

/// What is told, and by which papers.
fn told(reconciled: &Reconciled) -> Vec<(&'static str, i64, String)> {
    let differences = reconciled.differences.iter().map(|found| &found.difference);
    let papers = |one: &evenfare_reconcile::difference::Difference| {
        one.documents.iter().map(|of| of.number.to_string()).collect::<Vec<_>>().join(" ")
    };
    differences.map(|one| (one.reason.code(), one.amount_minor, papers(one))).collect()
}

#[test]
fn a_credit_note_finds_its_quote_by_its_invoice() {
    let mut inputs = sold(&[5_000, 6_000]);
    let own = inputs.invoices[0].clone();
    // However the number is spelled.
    for named in [invoice_number(0), invoice_number(0).to_lowercase().replace('-', " ")] {
        inputs.invoices.truncate(2);
        inputs.invoices.push(credit(&own, "G-1", 5_000, Some(&named), 9));
        let (_, books) =
            booked(inputs.clone(), &[(20, payment(6_000, &inputs.agreed[1].sales[0].buyer, ""))]);
        let expect = ("invoice_missing", -5_000, format!("Q-2026-0000 {} G-1", invoice_number(0)));
        assert_eq!(told(&books), [expect]);
    }
    // Half of it is half of it.
    inputs.invoices[2] = credit(&own, "G-1", 2_000, Some(&invoice_number(0)), 9);
    let paid = [
        (20, payment(6_000, &inputs.agreed[1].sales[0].buyer, "")),
        (20, payment(3_000, &inputs.agreed[0].sales[0].buyer, "")),
    ];
    assert_eq!(reasons(&booked(inputs.clone(), &paid).1), [("charged_less", -2_000)]);
    // What comes to all of it in parts is all of it.
    inputs.invoices.push(credit(&own, "G-2", 3_000, Some(&invoice_number(0)), 10));
    let (_, books) = booked(inputs.clone(), &paid[..1]);
    let expect = ("invoice_missing", -5_000, format!("Q-2026-0000 {} G-1 G-2", invoice_number(0)));
    assert_eq!(told(&books), [expect]);
    // In another currency it takes nothing back.
    inputs.invoices.truncate(2);
    inputs.invoices.push(Invoice {
        currency: currency("USD"),
        ..credit(&own, "G-1", 5_000, Some(&invoice_number(0)), 9)
    });
    assert!(reasons(&booked(inputs, &paid[..1]).1).contains(&("currency", 0)));
}

#[test]
fn it_finds_the_quote_that_its_invoice_was_matched_to() {
    // The invoice names no quote either: it was matched by whom, what and when.
    let mut inputs = sold(&[5_000]);
    inputs.invoices[0].quote = None;
    let own = inputs.invoices[0].clone();
    inputs.invoices.push(credit(&own, "G-1", 5_000, Some(&own.number), 9));
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("invoice_missing", -5_000)]);
    // And so does the invoice that comes in its place.
    inputs.invoices[0].net_minor = 4_000;
    inputs.invoices[0].gross_minor = 4_000;
    inputs.invoices[0].vat[0].base_minor = 4_000;
    inputs.invoices[0].quote = Some("q-2026-0000".into());
    inputs.invoices[1] = credit(&own, "G-1", 4_000, Some(&own.number), 9);
    let preceding = Some(own.number.clone());
    inputs.invoices.push(Invoice { number: "R-NEW".into(), preceding, issued: day(9), ..own.clone() });
    let paid = [(20, payment(5_000, &inputs.agreed[0].sales[0].buyer, "R-NEW"))];
    assert_eq!(reasons(&booked(inputs, &paid).1), []);
    // While it is asked which of two quotes an invoice is for, nothing is said of what takes it back.
    let mut inputs = sold(&[5_000, 5_000]);
    inputs.agreed[1].sales[0].buyer = inputs.agreed[0].sales[0].buyer.clone();
    inputs.invoices.truncate(1);
    inputs.invoices[0].quote = None;
    inputs.invoices.push(credit(&own, "G-1", 5_000, Some(&own.number), 9));
    let asked = reconcile(&inputs).unwrap();
    assert_eq!(asked.undecided.len(), 1);
    assert_eq!(told(&asked).iter().filter(|one| one.0 != "invoice_missing").count(), 0);
    inputs.decisions = vec![Decision::Invoice {
        place: place("decided_invoices.csv", 2),
        seller: "workshop".into(),
        number: own.number.clone(),
        quote: Some("Q-2026-0001".into()),
    }];
    let decided = told(&reconcile(&inputs).unwrap());
    assert!(
        decided.contains(&("invoice_missing", -5_000, format!("Q-2026-0001 {} G-1", own.number))),
        "{decided:?}"
    );
}

#[test]
fn of_an_unknown_invoice_that_was_taken_back_nothing_is_owed() {
    let mut inputs = sold(&[5_000]);
    inputs.invoices.push(unsold(&inputs, "R-C", 10_001));
    let own = inputs.invoices[1].clone();
    let paid = [(20, payment(5_000, &inputs.agreed[0].sales[0].buyer, &invoice_number(0)))];
    let check = |credits: &[(&str, i64, Option<&str>)], expect: &[(&'static str, i64, &str)]| {
        let mut inputs = inputs.clone();
        let credits = credits.iter().map(|(number, gross, named)| credit(&own, number, *gross, *named, 10));
        inputs.invoices.extend(credits);
        for _ in 0..2 {
            let told = told(&booked(inputs.clone(), &paid).1);
            let told: Vec<_> =
                told.iter().map(|(reason, minor, papers)| (*reason, *minor, &**papers)).collect();
            assert_eq!(told, expect);
            inputs.invoices.reverse();
        }
    };
    let named = Some("r-c");
    check(&[], &[("invoice_unknown", 10_001, "R-C"), ("unpaid", -10_001, "R-C")]);
    check(&[("G-1", 10_001, named)], &[]);
    check(&[("G-1", 3_333, named), ("G-2", 3_333, named), ("G-3", 3_335, named)], &[]);
    check(&[("G-1", 4_000, named)], &[("invoice_unknown", 6_001, "R-C G-1"), ("unpaid", -6_001, "R-C")]);
    // It may name nothing, where only one invoice is of that amount.
    check(&[("G-1", 10_001, None)], &[]);
    check(
        &[("G-1", 10_002, None)],
        &[
            ("invoice_unknown", 10_001, "R-C"),
            ("invoice_unknown", -10_002, "G-1"),
            ("unpaid", -10_001, "R-C"),
        ],
    );
    // Or one that nobody has seen.
    check(
        &[("G-1", 700, Some("R-D"))],
        &[("invoice_unknown", 10_001, "R-C"), ("invoice_unknown", -700, "G-1"), ("unpaid", -10_001, "R-C")],
    );
}

#[test]
fn which_of_two_equal_invoices_was_taken_back_is_asked() {
    let mut inputs = sold(&[5_000, 5_000]);
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    inputs.agreed[1].sales[0].buyer = buyer;
    inputs.invoices[1].buyer = inputs.invoices[0].buyer.clone();
    let own = inputs.invoices[0].clone();
    inputs.invoices.push(credit(&own, "G-1", 5_000, None, 9));
    let asked = reconcile(&inputs).unwrap();
    let question = &asked.undecided[0];
    assert_eq!((&*question.subject.number, question.amount_minor), ("G-1", -5_000));
    let candidates: Vec<&str> = question.candidates.iter().map(|one| &*one[0]).collect();
    assert_eq!(candidates, ["Q-2026-0000", "Q-2026-0001"]);
    // Neither is said to be unpaid while the question is open.
    assert_eq!(reasons(&asked), []);
    inputs.decisions = vec![Decision::Invoice {
        place: place("decided_invoices.csv", 2),
        seller: "workshop".into(),
        number: "G-1".into(),
        quote: Some("Q-2026-0001".into()),
    }];
    let decided = told(&reconcile(&inputs).unwrap());
    assert!(
        decided.contains(&("invoice_missing", -5_000, format!("Q-2026-0001 {} G-1", invoice_number(1)))),
        "{decided:?}"
    );
    // One that another credit note names is no longer there to be taken back.
    inputs.decisions.clear();
    inputs.invoices.push(credit(&own, "G-2", 5_000, Some(&own.number), 9));
    let (_, books) = booked(inputs, &[]);
    assert_eq!(reasons(&books), [("invoice_missing", -5_000), ("invoice_missing", -5_000)]);
}

/// A sale by way of P-10, who invoices his buyer and has the invoice in his list too, under one number.
fn told_both_ways() -> Inputs {
    let mut inputs = empty();
    let plan =
        Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1, 0, 0], day: 3, ..Plan::default() };
    let of = agreed(&plan, 0);
    let ours = invoice(&of, 0, 0, &of.sales[0].vat, of.sales[0].net.minor());
    let theirs = invoice(&of, 0, 1, &of.sales[1].vat, 90_000);
    let row = charge(&of, 0, 1, &of.sales[1].vat, 90_000);
    inputs.charges.push(Charge { invoice: theirs.number.clone(), ..row });
    inputs.invoices.extend([ours, theirs]);
    inputs.agreed.push(of);
    // Nothing is due yet.
    inputs.terms.until = day(12);
    inputs
}

#[test]
fn a_paper_that_is_told_in_two_ways_is_one_paper() {
    let both = told_both_ways();
    let books = reconcile(&both).unwrap();
    assert_eq!((told(&books), books.unknown.len()), (vec![], 0));
    let check = |change: &dyn Fn(&mut Inputs), expect: &[(&str, i64)]| {
        let mut inputs = both.clone();
        change(&mut inputs);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), expect);
    };
    // One of them may name no quote, or spell the number otherwise.
    check(&|inputs| inputs.invoices[1].quote = None, &[]);
    check(&|inputs| inputs.charges[0].quote = "the mixer".into(), &[]);
    check(&|inputs| inputs.charges[0].invoice = inputs.charges[0].invoice.to_lowercase().into(), &[]);
    // What the invoice says of VAT is looked at, of which the list says only how much.
    check(&|inputs| inputs.invoices[1].vat[0].rate = Some("18".into()), &[("vat_rate", 0)]);
    // With another number it is a second one.
    check(&|inputs| inputs.charges[0].invoice = "P-10/2".into(), &[("invoice_double", 107_100)]);
    // The number of another partner is another number.
    check(&|inputs| inputs.charges[0].partner = "P-11".parse().unwrap(), &[("invoice_unknown", 107_100)]);
    // A seller who is written with his VAT identifier and without it is one.
    check(
        &|inputs| {
            let mut copy = inputs.invoices[1].clone();
            (copy.seller.vat_id, copy.place) = (None, place("copy.xml", 1));
            inputs.invoices.push(copy);
        },
        &[],
    );
}

#[test]
fn an_invoice_of_several_quotes_is_told_by_the_rows_of_its_list() {
    let mut inputs = told_both_ways();
    let plan =
        Plan { partners: 1, net: 30_000, percents: [10, 0], vat: [1, 0, 0], day: 3, ..Plan::default() };
    let mut second = agreed(&plan, 2);
    second.sales[1].buyer = inputs.agreed[0].sales[1].buyer.clone();
    inputs.invoices.push(invoice(&second, 2, 0, &second.sales[0].vat, second.sales[0].net.minor()));
    let row = charge(&second, 2, 1, &second.sales[1].vat, 30_000);
    inputs.charges.push(Charge { invoice: inputs.charges[0].invoice.clone(), ..row });
    inputs.agreed.push(second);
    let both = &mut inputs.invoices[1];
    (both.net_minor, both.gross_minor, both.vat[0].base_minor, both.vat[0].tax_minor) =
        (120_000, 142_800, 120_000, 22_800);
    for quote in [None, Some("q-2026-0000".into())] {
        inputs.invoices[1].quote = quote;
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
    }
    // Of one of them that is not as agreed it is told, and of that one alone.
    inputs.charges[1].net_minor += 1_000;
    inputs.invoices[1].net_minor += 1_000;
    inputs.invoices[1].gross_minor += 1_000;
    inputs.charges[1].vat_minor = 5_890;
    inputs.invoices[1].gross_minor += 190;
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("charged_more", 1_000)]);
}

#[test]
fn tellings_that_contradict_each_other_are_refused_with_both_places() {
    let check = |change: &dyn Fn(&mut Inputs), expect: &str| {
        let mut inputs = told_both_ways();
        change(&mut inputs);
        let refused = reconcile(&inputs).unwrap_err();
        assert_eq!(refused.code(), "said_twice");
        assert_eq!(refused.to_string(), expect);
    };
    let invoice = "theirs.xml:1: found `invoice P-10/R-2026-00000 of 2026-06-04, 900.00 EUR and 1071.00 EUR with VAT for q-2026-0000`, expected the same as in the list of its seller: ";
    check(
        &|inputs| inputs.charges[0].net_minor = 90_001,
        &format!("{invoice}2026-06-04, 900.01 EUR and 1071.01 EUR with VAT for Q 2026 0000 (charges.csv:1)"),
    );
    check(
        &|inputs| (inputs.charges[0].net_minor, inputs.charges[0].vat_minor) = (90_001, 17_099),
        &format!("{invoice}2026-06-04, 900.01 EUR and 1071.00 EUR with VAT for Q 2026 0000 (charges.csv:1)"),
    );
    check(
        &|inputs| inputs.charges[0].issued = day(4),
        &format!("{invoice}2026-06-05, 900.00 EUR and 1071.00 EUR with VAT for Q 2026 0000 (charges.csv:1)"),
    );
    check(
        &|inputs| inputs.charges[0].currency = currency("CHF"),
        &format!("{invoice}2026-06-04, 900.00 CHF and 1071.00 CHF with VAT for Q 2026 0000 (charges.csv:1)"),
    );
    let other = |inputs: &mut Inputs| {
        let mut other = inputs.agreed[0].clone();
        other.number = "Q-2026-0007".into();
        inputs.agreed.push(other);
        inputs.charges[0].quote = "Q-2026-0007".into();
    };
    check(
        &other,
        &format!("{invoice}2026-06-04, 900.00 EUR and 1071.00 EUR with VAT for Q-2026-0007 (charges.csv:1)"),
    );
    // A person's word is what it is for.
    let mut decided = told_both_ways();
    other(&mut decided);
    let number = decided.charges[0].invoice.clone();
    let (place, quote) = (place("decided_invoices.csv", 2), Some("Q-2026-0000".into()));
    decided.decisions = vec![Decision::Invoice { place, seller: "P-10".into(), number, quote }];
    assert!(reconcile(&decided).is_ok());
}

#[test]
fn a_closed_month_knows_a_paper_by_either_telling() {
    let june: Month = "2026-06".parse().unwrap();
    let [invoices, rows]: [fn(&mut Inputs); 2] =
        [|inputs| drop(inputs.invoices.remove(1)), |inputs| inputs.charges.clear()];
    for closed in [invoices, rows, |_| {}] {
        let mut inputs = told_both_ways();
        closed(&mut inputs);
        inputs.terms.until = june.last_day();
        let closing = reconcile(&inputs).unwrap().close(june).unwrap();
        let mut later = told_both_ways();
        later.closings.push(closing);
        later.terms.until = june.next().last_day();
        assert_eq!(reconcile(&later).unwrap().restated, []);
        // It is gone where neither is there.
        later.charges.clear();
        later.invoices.truncate(1);
        assert_eq!(reconcile(&later).unwrap().restated.len(), 1);
    }
}

#[test]
fn an_account_that_there_are_statements_of_is_the_workshops() {
    let mut inputs = sold(&[5_000, 6_000]);
    let payers = [0, 1].map(|number: usize| inputs.agreed[number].sales[0].buyer.clone());
    let (read, _) =
        booked(inputs, &[(3, payment(5_000, &payers[0], "")), (33, payment(6_000, &payers[1], ""))]);
    inputs = read;
    assert_eq!(inputs.statements.len(), 2);
    let listed = |line, account: &str, firm: &str| {
        let place = place("bank_accounts.csv", line);
        BankAccount { place, account: account.into(), firm: firm.into() }
    };
    inputs.terms.accounts = vec![listed(2, "DE02120300000000202051", "workshop"), listed(3, "DE99", "P-10")];
    assert!(reconcile(&inputs).is_ok());
    inputs.terms.accounts.extend([
        listed(4, "de02 1203 0000 0000 2020 51", "P-10"),
        listed(5, "DE02-120300000000202051", "FR0"),
    ]);
    let refused = reconcile(&inputs).unwrap_err();
    assert_eq!(refused.code(), "said_twice");
    let told: Vec<String> = refused.slips().iter().map(ToString::to_string).collect();
    let expected = "expected `workshop`, as the statement at camt.xml:1 is of that account";
    assert_eq!(
        told,
        [
            format!("bank_accounts.csv:4: found `DE02120300000000202051 of P-10`, {expected}"),
            format!("bank_accounts.csv:5: found `DE02120300000000202051 of FR0`, {expected}"),
        ]
    );
}
