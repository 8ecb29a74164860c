//! Papers that take back others: by their numbers, and by what they come to.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::{Difference, Paper};
use evenfare_reconcile::input::{Charge, Invoice, InvoiceKind};
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::booked::{booked, reasons};
use crate::faults::month;
use crate::own::sold;
use crate::world::{
    Plan, agreed, charge, currency, day, empty, groups, invoice, invoice_number, payment, place, plans,
};

/// An invoice to the first customer for what no quote knows.
pub fn unsold(inputs: &Inputs, number: &str, gross: i64) -> Invoice {
    let of = &inputs.agreed[0];
    let paper = invoice(of, 0, 0, &groups(1, gross), gross);
    Invoice { number: number.into(), quote: None, ..paper }
}

/// A credit note of so much that names no quote, and which invoice it takes back.
pub fn credit(of: &Invoice, number: &str, gross: i64, preceding: Option<&str>, on: u64) -> Invoice {
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
    let papers =
        |one: &Difference| one.documents.iter().map(|of| of.number.to_string()).collect::<Vec<_>>().join(" ");
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
    assert!(reasons(&booked(inputs, &paid[..1]).1).contains(&("currency", -5_000)));
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
    // The second of them too, on one day, whatever its number is.
    for (second, third) in [("R-B", "R-A"), ("R-A", "R-B")] {
        let mut inputs = sold(&[5_000]);
        let of_number = |number: &str, net: i64, preceding: &str| Invoice {
            kind: InvoiceKind::Invoice,
            ..credit(&own, number, net, Some(preceding), 9)
        };
        inputs.invoices.extend([
            credit(&own, "G-1", 5_000, Some(&own.number), 9),
            of_number(second, 6_000, &own.number),
            credit(&own, "G-2", 6_000, Some(second), 9),
            of_number(third, 5_000, second),
        ]);
        let paid = [(20, payment(5_000, &inputs.agreed[0].sales[0].buyer, third))];
        assert_eq!(reasons(&booked(inputs, &paid).1), [], "{second} and {third}");
    }
    // Two that name one another are in the place of nothing.
    let mut inputs = sold(&[5_000]);
    for (number, preceding) in [("R-A", "R-B"), ("R-B", "R-A")] {
        let kind = InvoiceKind::Invoice;
        inputs.invoices.push(Invoice { kind, ..credit(&own, number, 6_000, Some(preceding), 9) });
    }
    let unknown = reasons(&reconcile(&inputs).unwrap());
    assert_eq!(unknown.iter().filter(|one| **one == ("invoice_unknown", 6_000)).count(), 2);
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

#[test]
fn numbers_of_two_sellers_are_two_numbers() {
    let mut inputs = empty();
    inputs.terms.until = day(12);
    for (number, net) in [(0, 90_000), (1, 40_000)] {
        let of = agreed(
            &Plan { partners: 1, net, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() },
            number,
        );
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, of.sales[0].net.minor()));
        let theirs = Invoice { number: "1".into(), ..invoice(&of, number, 1, &of.sales[1].vat, net) };
        inputs.invoices.push(credit(&theirs, "2", net, Some("1"), 9));
        inputs.invoices.push(theirs);
        inputs.agreed.push(of);
    }
    let missing = [("Q-2026-0000 1 2", -90_000), ("Q-2026-0001 1 2", -40_000)];
    let missing = missing.map(|(papers, minor)| ("invoice_missing", minor, papers.to_owned()));
    assert_eq!(told(&reconcile(&inputs).unwrap()), missing);
}

/// A partner lists one invoice of two quotes, and takes back some of it: the quote whose row came last was credited.
#[test]
fn of_which_quote_an_invoice_of_several_is_credited_is_asked() {
    let mut inputs = empty();
    inputs.terms.until = day(12);
    for (number, net) in [(0, 90_000), (2, 40_000)] {
        let plan = Plan { partners: 1, net, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() };
        let mut of = agreed(&plan, number);
        if let Some(first) = inputs.agreed.first() {
            of.sales[1].buyer = first.sales[1].buyer.clone();
        }
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, of.sales[0].net.minor()));
        inputs.charges.push(Charge { invoice: "7".into(), ..charge(&of, number, 1, &of.sales[1].vat, net) });
        inputs.agreed.push(of);
    }
    let theirs = invoice(&inputs.agreed[0], 0, 1, &inputs.agreed[0].sales[1].vat, 90_000);
    let of_sum = |gross| {
        let mut inputs = inputs.clone();
        inputs.invoices.push(credit(&theirs, "8", gross, Some("7"), 9));
        inputs
    };
    // The amount says which.
    for (gross, quote) in [(90_000, "Q-2026-0000"), (40_000, "Q-2026-0002")] {
        let books = reconcile(&of_sum(gross)).unwrap();
        assert_eq!(told(&books), [("invoice_missing", -gross, format!("{quote} 7 8"))]);
    }
    let mut asked = of_sum(1_000);
    let books = reconcile(&asked).unwrap();
    let question = &books.undecided[0];
    assert_eq!((reasons(&books), question.candidates.len()), (vec![], 2));
    for quote in ["Q-2026-0000", "Q-2026-0002"] {
        assert!(question.candidates.contains(&vec![quote.into()]));
        asked.decisions = vec![Decision::Invoice {
            place: place("decided_invoices.csv", 2),
            seller: "P-10".into(),
            number: "8".into(),
            quote: Some(quote.into()),
        }];
        let books = reconcile(&asked).unwrap();
        assert_eq!(told(&books), [("charged_less", -1_000, format!("{quote} 7 8"))]);
    }
    // So is of which quote an invoice is that comes in its place.
    let mut again = of_sum(500);
    again.invoices.last_mut().unwrap().kind = InvoiceKind::Invoice;
    let books = reconcile(&again).unwrap();
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 1));
}

#[test]
fn a_row_below_nothing_takes_back_and_one_of_nothing_does_not() {
    let mut inputs = empty();
    inputs.terms.until = day(12);
    let of = agreed(
        &Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() },
        0,
    );
    inputs.invoices.push(invoice(&of, 0, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    let row =
        |number: &str, net| Charge { invoice: number.into(), ..charge(&of, 0, 1, &of.sales[1].vat, net) };
    let check = |rows: &[(&str, i64)], expect: (&'static str, i64, &str), kinds: &[Paper]| {
        let mut inputs = inputs.clone();
        inputs.charges.extend(rows.iter().map(|(number, net)| row(number, *net)));
        inputs.agreed.push(of.clone());
        let books = reconcile(&inputs).unwrap();
        assert_eq!(told(&books), [(expect.0, expect.1, expect.2.to_owned())]);
        let found: Vec<Paper> = books.differences[0].difference.documents.iter().map(|of| of.paper).collect();
        assert_eq!(found[1..], *kinds);
    };
    let all = ("invoice_missing", -90_000, "Q-2026-0000 7000 7001");
    check(&[("7000", 90_000), ("7001", -90_000)], all, &[Paper::Invoice, Paper::CreditNote]);
    check(&[("7000", 0)], ("charged_less", -90_000, "Q-2026-0000 7000"), &[Paper::Invoice]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever credit note names an invoice, ours or a partner's, takes it back wherever that one belongs to.
    #[test]
    fn what_is_taken_back_by_its_number_is_missing_and_not_owed(plans in plans(), which in any::<Index>(), parts in 1_i64..4) {
        let mut inputs = month(&plans, &[]).inputs;
        let is_right = |one: &&Invoice| one.kind == InvoiceKind::Invoice && !one.number.ends_with("-W");
        let right: Vec<Invoice> = inputs.invoices.iter().filter(is_right).cloned().collect();
        if right.is_empty() {
            return Ok(());
        }
        let own = &right[which.index(right.len())];
        let quote = own.quote.as_ref().unwrap().to_uppercase();
        let (gross, net) = (own.gross_minor, own.net_minor);
        for part in 0..parts {
            // What is left is in the last one.
            let of = |whole: i64| if part + 1 == parts { whole - whole / parts * (parts - 1) } else { whole / parts };
            let number = format!("G-{part}");
            let paper = credit(own, &number, of(gross), Some(&own.number), 0);
            let accounting_vat = own.accounting_vat.filter(|_| parts == 1);
            inputs.invoices.push(Invoice { net_minor: of(net), issued: own.issued, accounting_vat, ..paper });
        }
        let books = reconcile(&inputs).unwrap();
        let found: Vec<_> = books.differences.iter().map(|found| &found.difference).collect();
        let missing = found.iter().filter(|one| one.reason.code() == "invoice_missing");
        let missing: Vec<_> = missing.map(|one| (one.quote.as_deref(), one.amount_minor)).collect();
        prop_assert_eq!(missing, [(Some(&*quote), -gross)]);
        // What was paid of it is left over, and nothing of it is to come; who paid for two by one sum has to be asked.
        prop_assert!(found.iter().all(|one| match one.reason.code() {
            "invoice_missing" | "overpaid" | "payment_unknown" => true,
            "unpaid" => one.quote.as_deref() != Some(&*quote),
            _ => false,
        }), "{found:?}");
    }
}

#[test]
fn what_a_negative_invoice_leaves_is_worth_what_is_paid_of_it() {
    let mut inputs = sold(&[10_000]);
    let own = inputs.invoices[0].clone();
    let negative = credit(&own, "R-NEG", -3_000, None, 9);
    inputs.invoices.push(Invoice { kind: InvoiceKind::Invoice, quote: own.quote.clone(), ..negative });
    let paid = payment(7_000, &inputs.agreed[0].sales[0].buyer, &own.number);
    let (_, books) = booked(inputs, &[(20, paid)]);
    assert_eq!(reasons(&books), [("charged_less", -3_000)]);
    // All of it is in one currency.
    let left = books.journal.balances().unwrap();
    let of = |role| left.iter().find(|(known, _)| *known == role).map(|(_, minor)| *minor);
    assert_eq!((of(Role::Receivable), of(Role::Exchange)), (Some(0), Some(0)));
}

/// One that stands behind it and is known by another invoice alone was not looked at yet, unless it was named first.
#[test]
fn of_an_invoice_in_the_place_of_two_it_is_asked_whichever_it_names_first() {
    for names in [[invoice_number(0), "Z-9".into()], ["Z-9".into(), invoice_number(0)]] {
        let mut inputs = crate::booked::sold(&[5_000, 6_000]);
        let [first, second] = names.map(|name| Some(Box::<str>::from(name)));
        let of = |at: usize, number: &str| Invoice {
            number: number.into(),
            quote: None,
            issued: day(9),
            net_minor: 1_000,
            gross_minor: 1_000,
            payable_minor: 1_000,
            ..inputs.invoices[at].clone()
        };
        let behind = Invoice { preceding: Some(invoice_number(1).into()), ..of(1, "Z-9") };
        let paper =
            Invoice { preceding: first, other_preceding: second.into_iter().collect(), ..of(0, "A-1") };
        inputs.invoices.extend([paper, behind]);
        let books = reconcile(&inputs).unwrap();
        let asked: Vec<_> = books.undecided.iter().map(|one| &*one.subject.number).collect();
        assert_eq!(asked, ["A-1"]);
    }
}
