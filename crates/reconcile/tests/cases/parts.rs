//! A sale that is invoiced, and taken back, in several papers: which of them count, and what is left to be paid of each.

use evenfare_reconcile::input::{Invoice, InvoiceKind};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, paid, reasons};
use crate::world::{Plan, agreed, currency, day, empty, groups, invoice};

/// A direct sale of 50.00 without VAT, and papers of it, dated one day after the other: those below nothing take back.
pub fn invoiced(papers: &[(&str, i64)]) -> Inputs {
    let mut inputs = empty();
    let of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, 0);
    for (on, (number, net)) in (3..).zip(papers) {
        let kind = if *net < 0 { InvoiceKind::CreditNote } else { InvoiceKind::Invoice };
        let paper = invoice(&of, 0, 0, &groups(1, net.abs()), net.abs());
        inputs.invoices.push(Invoice { number: (*number).into(), kind, issued: day(on), ..paper });
    }
    inputs.agreed.push(of);
    inputs
}

/// What is told of each invoice: the reason, how much, and the last of its papers.
fn told(books: &Reconciled) -> Vec<(&'static str, i64, &str)> {
    let told = books.differences.iter().map(|found| &found.difference);
    let of_invoice = |number: &str| number.starts_with("R-") || number.starts_with("G-");
    told.map(|one| {
        let paper = one.documents.iter().map(|of| &*of.number).rfind(|number| of_invoice(number));
        (one.reason.code(), one.amount_minor, paper.unwrap())
    })
    .collect()
}

#[test]
fn parts_of_what_was_agreed_all_count() {
    for parts in [&[("R-1", 2_000), ("R-2", 3_000)][..], &[("R-1", 2_000), ("R-2", 1_000), ("R-3", 2_000)]] {
        let inputs = invoiced(parts);
        let each: Vec<_> = parts.iter().map(|(number, net)| (20, paid(&inputs, *net, number))).collect();
        assert_eq!(reasons(&booked(inputs, &each).1), [], "{parts:?}");
    }
    // Together they are less than was agreed: nothing of it is a second one.
    let inputs = invoiced(&[("R-1", 2_000), ("R-2", 2_500)]);
    let each = [(20, paid(&inputs, 2_000, "R-1")), (20, paid(&inputs, 2_500, "R-2"))];
    assert_eq!(reasons(&booked(inputs, &each).1), [("charged_less", -500)]);
}

#[test]
fn of_more_than_was_agreed_one_counts_and_the_others_are_second_ones() {
    // The one that is as agreed, wherever it stands.
    let inputs = invoiced(&[("R-1", 2_000), ("R-2", 5_000), ("R-3", 3_000)]);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 5_000, "R-2"))]);
    assert_eq!(told(&books), [("invoice_double", 2_000, "R-1"), ("invoice_double", 3_000, "R-3")]);
    // None is: the first.
    let inputs = invoiced(&[("R-1", 4_000), ("R-2", 3_000)]);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 4_000, "R-1"))]);
    assert_eq!(told(&books), [("charged_less", -1_000, "R-1"), ("invoice_double", 3_000, "R-2")]);
}

/// A second invoice is told with all that it asks for; what was paid beyond that is to go back as well.
#[test]
fn what_is_overpaid_of_a_second_invoice_is_told() {
    let inputs = invoiced(&[("R-20261", 5_000), ("R-20262", 5_000)]);
    for (minor, expect) in [
        (5_000, vec![("invoice_double", 5_000, "R-20262")]),
        (4_000, vec![("invoice_double", 5_000, "R-20262")]),
        (7_000, vec![("invoice_double", 5_000, "R-20262"), ("overpaid", 2_000, "R-20262")]),
    ] {
        let each = [(20, paid(&inputs, 5_000, "R-20261")), (21, paid(&inputs, minor, "R-20262"))];
        let (_, books) = booked(inputs.clone(), &each);
        assert_eq!(told(&books), expect, "{minor}");
    }
}

#[test]
fn what_is_paid_too_much_of_several_is_of_the_last_that_was_not_paid() {
    let inputs = invoiced(&[("R-20261", 2_000), ("R-20262", 3_000)]);
    let each = [(10, paid(&inputs, 3_000, "R-20262")), (11, paid(&inputs, 2_500, "R-20261, R-20262"))];
    assert_eq!(told(&booked(inputs, &each).1), [("overpaid", 500, "R-20261")]);
}

#[test]
fn a_credit_note_lessens_what_is_left_of_the_invoices_that_count() {
    // One after the other, first the older one.
    let inputs = invoiced(&[("R-1", 2_000), ("R-2", 3_000), ("G-1", -2_500)]);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 2_500, "R-2"))]);
    assert_eq!(told(&books), [("charged_less", -2_500, "G-1")]);
    let (_, books) = booked(inputs, &[]);
    assert_eq!(told(&books), [("charged_less", -2_500, "G-1"), ("unpaid", -2_500, "R-2")]);
    // Two credit notes are one sum.
    let inputs = invoiced(&[("R-1", 5_000), ("G-1", -1_000), ("G-2", -500)]);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 3_500, "R-1"))]);
    assert_eq!(told(&books), [("charged_less", -1_500, "G-2")]);
    // A second one, which nobody is to pay, takes nothing of it.
    let inputs = invoiced(&[("R-1", 5_000), ("R-2", 5_000), ("G-1", -1_000)]);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 4_000, "R-1"))]);
    assert_eq!(told(&books), [("invoice_double", 5_000, "R-2"), ("charged_less", -1_000, "G-1")]);
    // More than all that was asked for is owed, and no invoice is left to pay.
    let inputs = invoiced(&[("R-1", 5_000), ("G-1", -6_000)]);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, -1_000, "G-1"))]);
    assert_eq!(told(&books), [("charged_less", -6_000, "G-1")]);
}

#[test]
fn what_a_credit_note_names_is_what_it_lessens() {
    let mut inputs = invoiced(&[("R-1", 2_000), ("R-2", 3_000), ("G-1", -1_000)]);
    inputs.invoices[2].preceding = Some("r 2".into());
    let each = [(20, paid(&inputs, 2_000, "R-1")), (20, paid(&inputs, 2_000, "R-2"))];
    assert_eq!(told(&booked(inputs.clone(), &each).1), [("charged_less", -1_000, "G-1")]);
    // What it takes back beyond that invoice is taken off the others.
    for (gross, left) in [(3_000, 2_000), (4_500, 500)] {
        let paper = &mut inputs.invoices[2];
        (paper.net_minor, paper.gross_minor, paper.vat[0].base_minor) = (gross, gross, gross);
        let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, left, "R-1"))]);
        let unpaid = reasons(&books).into_iter().filter(|(reason, _)| *reason != "charged_less");
        assert_eq!(unpaid.collect::<Vec<_>>(), [], "{gross}");
    }
}

#[test]
fn a_credit_note_in_another_currency_lessens_nothing() {
    let mut inputs = invoiced(&[("R-1", 5_000), ("G-1", -5_000)]);
    (inputs.invoices[1].currency, inputs.invoices[1].preceding) = (currency("USD"), Some("R-1".into()));
    let told_of = |inputs: &Inputs| -> Vec<_> {
        let (_, books) = booked(inputs.clone(), &[]);
        let all = books.differences.iter().map(|found| &found.difference);
        all.map(|one| (one.reason.code(), one.amount_minor, one.currency.code())).collect()
    };
    assert_eq!(told_of(&inputs), [("currency", -5_000, "USD"), ("unpaid", -5_000, "EUR")]);
    // Added up they were nothing, and of a sale that was taken back nothing was told.
    inputs.agreed[0].reversed = Some(day(5));
    inputs.terms.until = day(10);
    let reversed = [("invoice_reversed", 5_000, "EUR"), ("invoice_reversed", -5_000, "USD")];
    assert_eq!(told_of(&inputs), reversed);
    // Two parts in currencies that were not agreed: of each what it is.
    let mut inputs = invoiced(&[("R-1", 2_000), ("R-2", 1_500), ("R-3", 1_000)]);
    (inputs.invoices[1].currency, inputs.invoices[2].currency) = (currency("USD"), currency("CHF"));
    inputs.terms.until = day(10);
    assert_eq!(told_of(&inputs), [("currency", 1_500, "USD"), ("currency", 1_000, "CHF")]);
}

/// Sent again in dollars by mistake: it was told to be so many euros.
#[test]
fn a_second_invoice_is_told_in_its_own_currency() {
    let mut inputs = invoiced(&[("R-20261", 5_000), ("R-20262", 5_586)]);
    inputs.invoices[1].currency = currency("USD");
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 5_000, "R-20261"))]);
    let told = books.differences.iter().map(|found| &found.difference);
    let told = told.map(|one| (one.reason.code(), one.amount_minor, one.currency.code()));
    assert_eq!(told.collect::<Vec<_>>(), [("invoice_double", 5_586, "USD")]);
}

/// An invoice and credit notes that name nothing come to nothing together. Of a quote that was taken back that is as it
/// should be; in another currency than agreed the sale is still not invoiced.
#[test]
fn papers_that_come_to_nothing_are_told_in_another_currency_alone() {
    let mut inputs = invoiced(&[("R-1", 5_000), ("G-1", -3_000), ("G-2", -2_000)]);
    inputs.terms.until = day(10);
    let told_of = |inputs: &Inputs| reasons(&reconcile(inputs).unwrap());
    assert_eq!(told_of(&inputs), [("charged_less", -5_000)]);
    let mut reversed = inputs.clone();
    reversed.agreed[0].reversed = Some(day(5));
    assert_eq!(told_of(&reversed), []);
    inputs.invoices.iter_mut().for_each(|paper| paper.currency = currency("USD"));
    assert_eq!(told_of(&inputs), [("currency", 0)]);
}

/// More parts may come until the day by which the sale is to be invoiced.
#[test]
fn less_than_was_agreed_is_told_when_it_is_due() {
    let mut inputs = invoiced(&[("R-1", 2_000), ("R-2", 1_000)]);
    inputs.agreed[0].invoice_by = day(30);
    let each = [(10, paid(&inputs, 2_000, "R-1")), (10, paid(&inputs, 1_000, "R-2"))];
    let (mut inputs, _) = booked(inputs, &each);
    for (until, expect) in [(29, vec![]), (30, vec![("charged_less", -2_000, "R-2")])] {
        inputs.terms.until = day(until);
        let books = reconcile(&inputs).unwrap();
        assert_eq!(told(&books), expect, "day {until}");
        assert!(books.differences.iter().all(|found| found.difference.day == day(30)));
    }
    // More than was agreed is no part of it.
    let more = invoiced(&[("R-1", 6_000)]);
    inputs.invoices.clone_from(&more.invoices);
    inputs.statements = booked(more.clone(), &[(10, paid(&more, 6_000, "R-1"))]).0.statements;
    inputs.terms.until = day(12);
    assert_eq!(told(&reconcile(&inputs).unwrap()), [("charged_more", 1_000, "R-1")]);
}

/// What is asked for may be rounded (BT-114), here to five cents: within what the books round by, nothing of it is unpaid.
#[test]
fn what_the_sum_to_pay_is_rounded_by_is_rounding() {
    let of_sum = |net: i64, payable| {
        let mut inputs = invoiced(&[("R-1", 5_000)]);
        let paper = &mut inputs.invoices[0];
        (paper.net_minor, paper.vat[0].base_minor) = (net, net);
        (paper.gross_minor, paper.rounding_minor, paper.payable_minor) = (net, payable - net, payable);
        inputs
    };
    for (net, by) in [(5_002, 2), (4_998, -2)] {
        let mut inputs = of_sum(net, 5_000);
        let told = [("rounding", by), ("rounding", -by)];
        for words in ["R-1", ""] {
            let (_, books) = booked(inputs.clone(), &[(10, paid(&inputs, 5_000, words))]);
            assert_eq!(reasons(&books), told, "{net} by {words}");
        }
        // It is no part of another one, whether it is paid by itself or in two parts.
        let mut other = agreed(&Plan { net: 9_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
        other.sales[0].buyer = inputs.agreed[0].sales[0].buyer.clone();
        inputs.invoices.push(invoice(&other, 1, 0, &other.sales[0].vat, 9_000));
        inputs.agreed.push(other);
        for parts in [&[5_000][..], &[2_000, 3_000]] {
            let each: Vec<_> = parts.iter().map(|part| (10, paid(&inputs, *part, ""))).collect();
            let (_, books) = booked(inputs.clone(), &each);
            let expect = [told[0], told[1], ("unpaid", -9_000)];
            assert_eq!((reasons(&books), books.undecided.len()), (expect.to_vec(), 0), "{net} by {parts:?}");
        }
        // Nor is anything left of it when both are paid by one sum.
        let (_, books) = booked(inputs.clone(), &[(10, paid(&inputs, 14_000, ""))]);
        assert_eq!((reasons(&books), books.undecided.len()), (told.to_vec(), 0), "{net}");
    }
    // So it is where a part was paid before (BT-113), and where that part is of a few cents nothing is rounded.
    let mut other = agreed(&Plan { net: 9_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    for (net, prepaid, payable, told) in
        [(5_002, 2_000, 3_000, vec![("rounding", 2), ("rounding", -2)]), (5_000, 2, 4_998, vec![])]
    {
        let mut inputs = of_sum(net, prepaid + payable);
        inputs.invoices[0].payable_minor = payable;
        other.sales[0].buyer = inputs.agreed[0].sales[0].buyer.clone();
        inputs.invoices.push(invoice(&other, 1, 0, &other.sales[0].vat, 9_000));
        inputs.agreed.push(other.clone());
        let each = [(4, paid(&inputs, prepaid, "R-1")), (10, paid(&inputs, payable, ""))];
        let (_, books) = booked(inputs, &each);
        let expect = [told, vec![("unpaid", -9_000)]].concat();
        assert_eq!((reasons(&books), books.undecided.len()), (expect, 0), "{net}");
    }
    // More than may be written off is not taken for rounding.
    let inputs = of_sum(5_000, 5_003);
    let (_, books) = booked(inputs.clone(), &[(10, paid(&inputs, 5_003, ""))]);
    assert_eq!(reasons(&books), [("payment_unknown", 5_003), ("unpaid", -5_000)]);
}

/// Its sum to pay is two cents more, of which nothing is asked any more.
#[test]
fn of_what_is_paid_nothing_is_asked_any_more() {
    let mut inputs = invoiced(&[("R-1", 5_000)]);
    (inputs.invoices[0].rounding_minor, inputs.invoices[0].payable_minor) = (2, 5_002);
    let each = [(10, paid(&inputs, 5_000, "")), (11, paid(&inputs, 1, ""))];
    assert_eq!(reasons(&booked(inputs, &each).1), [("payment_unknown", 1)]);
}

#[test]
fn credit_notes_without_an_invoice_are_each_owed_by_itself() {
    let inputs = invoiced(&[("G-1", -1_000), ("G-2", -500)]);
    let each = [(20, paid(&inputs, -1_000, "G-1")), (20, paid(&inputs, -500, "G-2"))];
    assert_eq!(told(&booked(inputs.clone(), &each).1), [("charged_less", -6_500, "G-2")]);
    assert!(reconcile(&inputs).unwrap().undecided.is_empty());
}

/// The second credit note has nothing left to take back: as much is owed.
#[test]
fn an_invoice_is_taken_back_once() {
    let mut inputs = invoiced(&[("R-1", 5_000), ("G-1", -5_000), ("G-2", -5_000)]);
    inputs.invoices.iter_mut().skip(1).for_each(|paper| paper.preceding = Some("R-1".into()));
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, -5_000, "G-2"))]);
    assert_eq!(told(&books), [("charged_less", -10_000, "G-2")]);
}
