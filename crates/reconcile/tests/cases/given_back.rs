//! Money that goes back after a credit note, and what is paid between an invoice and a credit note.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Payment, Place};
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, reasons};
use crate::held_back::{decided, quotes, taken_back, unapplied};
use crate::world::{Plan, agreed, currency, day, empty, groups, invoice, payment};

/// Direct sales of 50.00 without VAT to one customer, invoiced on 4 June, and credit notes of the first: R-20261 and so on.
fn sold(sales: usize, credits: &[i64]) -> Inputs {
    let mut inputs = empty();
    for number in 0..sales {
        let mut of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, number);
        if let Some(first) = inputs.agreed.first() {
            of.sales[0].buyer = first.sales[0].buyer.clone();
        }
        let paper = invoice(&of, 0, 0, &of.sales[0].vat, 5_000);
        inputs.invoices.push(Invoice { number: format!("R-2026{}", number + 1).into(), ..paper });
        inputs.agreed.push(of);
    }
    for (number, &minor) in (1..).zip(credits) {
        let paper = invoice(&inputs.agreed[0], 0, 0, &groups(1, minor), minor);
        inputs.invoices.push(Invoice {
            number: format!("G-2026{number}").into(),
            kind: InvoiceKind::CreditNote,
            issued: day(15),
            due: None,
            ..paper
        });
    }
    inputs
}

fn moved(inputs: &Inputs, payments: &[(u64, i64, &str)]) -> (Inputs, Reconciled) {
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    let all: Vec<(u64, Payment)> =
        payments.iter().map(|(on, minor, words)| (*on, payment(*minor, &buyer, words))).collect();
    booked(inputs.clone(), &all)
}

/// It was told as overpaid of the invoice, and as unpaid of the credit note.
#[test]
fn money_goes_back_by_the_number_of_the_credit_note() {
    for (credit, told) in [(5_000, ("invoice_missing", -5_000)), (2_000, ("charged_less", -2_000))] {
        let inputs = sold(1, &[credit]);
        for words in ["G-20261", "R-20261", "R-20261 less G-20261", ""] {
            let (_, books) = moved(&inputs, &[(10, 5_000, "R-20261"), (20, -credit, words)]);
            assert_eq!((reasons(&books), books.undecided.len()), (vec![told], 0), "{words}");
        }
        // Not all of it yet.
        let (_, books) = moved(&inputs, &[(10, 5_000, "R-20261"), (20, 500 - credit, "G-20261")]);
        assert!(reasons(&books).contains(&("overpaid", 500)), "{:?}", reasons(&books));
    }
    // Two invoices of one sale, of which one credit note takes back some of each.
    let mut inputs = sold(1, &[4_000]);
    let first = &mut inputs.invoices[0];
    (first.net_minor, first.gross_minor, first.vat[0].base_minor) = (3_000, 3_000, 3_000);
    let second = Invoice { number: "R-20262".into(), issued: day(5), ..first.clone() };
    let part = Invoice { net_minor: 2_000, gross_minor: 2_000, ..second };
    inputs.invoices.push(part);
    let (_, books) =
        moved(&inputs, &[(10, 3_000, "R-20261"), (11, 2_000, "R-20262"), (20, -4_000, "G-20261")]);
    assert_eq!(reasons(&books), [("charged_less", -4_000)]);
}

#[test]
fn a_decision_that_names_the_credit_note_is_of_its_invoice() {
    let inputs = sold(1, &[5_000]);
    let (mut inputs, _) = moved(&inputs, &[(10, 5_000, "R-20261"), (20, -5_000, "as agreed")]);
    let statement = inputs.statements[0].clone();
    inputs.statements[0].batches[1].payments[0].party = Some("A clearing house".into());
    let payment = PaymentId {
        account: statement.account.clone().into(),
        statement: statement.id.into(),
        entry: 2,
        payment: 1,
    };
    let towards = vec![Part { invoice: "G-20261".into(), currency: currency("EUR"), minor: -5_000 }];
    let place = Place { file: "decided_payments.csv".into(), line: 2 };
    inputs.decisions = vec![Decision::Payment { place, payment, towards }];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("invoice_missing", -5_000)]);
}

/// Who pays one invoice less a credit note of another names both: he was told to owe the rest.
#[test]
fn what_is_between_an_invoice_and_a_credit_note_pays_the_invoice() {
    // The first is paid already, so that the credit note of it is to go back.
    let inputs = sold(2, &[2_000]);
    let by = |minor, words| {
        let (_, books) = moved(&inputs, &[(10, 5_000, "R-20261"), (20, minor, words)]);
        reasons(&books).into_iter().filter(|(reason, _)| *reason != "charged_less").collect::<Vec<_>>()
    };
    for words in ["R-20262 less G-20261", "G-20261, R-20262", "R-20261 R-20262"] {
        assert_eq!(by(3_000, words), [], "{words}");
        // Less than that is less of the invoice, and more is more of it.
        assert_eq!(by(2_500, words), [("unpaid", -500)], "{words}");
        assert_eq!(by(4_000, words), [("overpaid", 1_000)], "{words}");
        // All of the invoice: what is to go back still is.
        assert_eq!(by(5_000, words), [("overpaid", 2_000)], "{words}");
        assert_eq!(by(5_500, words), [("overpaid", 2_000), ("overpaid", 500)], "{words}");
    }
    // He names the one alone.
    assert_eq!(by(3_000, "R-20262"), [("overpaid", 2_000), ("unpaid", -2_000)]);
    // And we pay what is left of a credit note when the invoice was taken off it.
    let mut inputs = sold(2, &[5_000, 3_000]);
    inputs.invoices[3].quote = None;
    inputs.invoices[3].preceding = Some("R-20199".into());
    inputs.invoices[2].preceding = Some("R-20261".into());
    let (_, books) = moved(&inputs, &[(10, 5_000, "R-20261"), (20, -3_000, "R-20261 G-20262 less R-20262")]);
    let told = [("invoice_missing", -5_000), ("invoice_unknown", -3_000)];
    assert_eq!(reasons(&books), told, "5000 and 3000 less 5000 of the second invoice");
}

/// The credit note of one party pays no invoice of another: that is asked.
#[test]
fn a_credit_note_of_another_pays_nothing() {
    let mut inputs = sold(1, &[2_000]);
    let mut of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.number = "Q-2026-0009".into();
    let paper = invoice(&of, 0, 0, &of.sales[0].vat, 5_000);
    inputs.invoices.push(Invoice { number: "R-20262".into(), ..paper });
    let other = of.sales[0].buyer.clone();
    inputs.agreed.push(of);
    let first = inputs.agreed[0].sales[0].buyer.clone();
    let stranger = evenfare_reconcile::firm::Firm { name: "Paymaster".into(), ..(*other).clone() };
    let all = [(10, payment(5_000, &first, "R-20261")), (20, payment(3_500, &stranger, "R-20262 G-20261"))];
    let (_, books) = booked(inputs, &all);
    assert_eq!(books.undecided.len(), 1, "{:?}", reasons(&books));
}

/// A credit note is written with the payment reference of its invoice: it is still the invoice's.
#[test]
fn a_credit_note_asks_for_no_payment() {
    let mut inputs = sold(2, &[2_000]);
    for paper in [0, 2] {
        inputs.invoices[paper].payment_reference = Some("RF18 5390 0754 7034".into());
    }
    // Both invoices are of 30.00 then, so that the amount does not say which is paid.
    let second = &mut inputs.invoices[1];
    (second.net_minor, second.gross_minor, second.vat[0].base_minor) = (3_000, 3_000, 3_000);
    let (_, books) = moved(&inputs, &[(20, 3_000, "RF18539007547034")]);
    let unpaid: Vec<_> =
        books.differences.iter().filter(|one| one.difference.reason.code() == "unpaid").collect();
    assert_eq!((unpaid.len(), books.undecided.len()), (1, 0));
    assert_eq!(unpaid[0].difference.quote.as_deref(), Some("Q-2026-0001"));
}

fn receivable(books: &Reconciled) -> i128 {
    let balances = books.journal.balances().unwrap();
    balances.iter().find(|(role, _)| *role == Role::Receivable).unwrap().1
}

/// What a person says goes back of a quote was held against it, and the invoice stayed overpaid.
#[test]
fn what_is_decided_to_go_back_of_a_quote_goes_back_of_its_invoice() {
    let inputs = sold(2, &[5_000]);
    let missing = ("invoice_missing", -5_000);
    let check = |came: &[(u64, i64, &str)], rows: &[(&str, i64)]| {
        let goes: i64 = rows.iter().map(|(_, minor)| minor).sum();
        let all: Vec<_> = came.iter().copied().chain([(20, goes, "as agreed")]).collect();
        let (mut inputs, _) = moved(&inputs, &all);
        let back = inputs.statements[0].batches.last_mut().unwrap();
        back.payments[0].party = Some("A clearing house".into());
        inputs.decisions = vec![decided(u32::try_from(all.len()).unwrap(), rows)];
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (vec![missing], 0), "{came:?}");
        assert_eq!((receivable(&books), unapplied(&books)), (0, 0), "{came:?}");
    };
    let quote = "Q-2026-0000";
    // However it came in: all of the payment, and a part of one.
    for came_by in ["R-20261", quote, ""] {
        check(&[(10, 5_000, came_by), (10, 5_000, "R-20262")], &[(quote, -5_000)]);
        check(&[(10, 5_000, came_by), (10, 5_700, "R-20262")], &[(quote, -5_000), ("R-20262", -700)]);
    }
    // Both ways.
    check(&[(10, 5_000, "R-20261"), (11, 5_000, quote), (11, 5_000, "R-20262")], &[(quote, -10_000)]);
}

/// What was invoiced again since was taken back, and the first invoice was to be paid.
#[test]
fn a_credit_note_takes_back_nothing_that_was_written_after_it() {
    let of_sum = |of: &Invoice, number: &str, on: u64, minor: i64| {
        let mut paper = Invoice { number: number.into(), issued: day(on), ..of.clone() };
        (paper.net_minor, paper.gross_minor, paper.payable_minor) = (minor, minor, minor);
        paper.vat[0].base_minor = minor;
        paper
    };
    // Its credit note is of day 15, and names the quote alone.
    let mut inputs = sold(1, &[5_000]);
    let (first, credit) = (inputs.invoices[0].clone(), inputs.invoices[1].clone());
    inputs.invoices.push(of_sum(&first, "R-20262", 16, 5_000));
    let (_, books) = moved(&inputs, &[(25, 5_000, "R-20262")]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
    // Of an invoice in two parts the second is of its amount, and was written later.
    let mut parts = inputs.clone();
    parts.invoices = vec![
        of_sum(&first, "R-20261", 3, 3_000),
        of_sum(&credit, "G-20261", 15, 2_000),
        of_sum(&first, "R-20262", 16, 2_000),
    ];
    let (_, books) = moved(&parts, &[(24, 1_000, "R-20261"), (25, 2_000, "R-20262")]);
    assert_eq!(reasons(&books), [("charged_less", -2_000)]);
    // In dollars: what June has of it is worth the same when July has an invoice of that amount, and takes it back.
    inputs.invoices.truncate(2);
    inputs.agreed[0].currency = currency("USD");
    inputs.invoices.iter_mut().for_each(|paper| paper.currency = currency("USD"));
    inputs.rates = Rates::new([
        (day(0), currency("USD"), "1.25".parse().unwrap()),
        (day(30), currency("USD"), "1".parse().unwrap()),
    ]);
    let june: Month = "2026-06".parse().unwrap();
    let until = std::mem::replace(&mut inputs.terms.until, june.last_day());
    inputs.closings = vec![reconcile(&inputs).unwrap().close(june).unwrap()];
    inputs.terms.until = until;
    let [invoice, credit] = [&inputs.invoices[0], &inputs.invoices[1]].map(Invoice::clone);
    inputs.invoices.extend([of_sum(&invoice, "R-20262", 35, 5_000), of_sum(&credit, "G-20262", 40, 5_000)]);
    let books = reconcile(&inputs).unwrap();
    assert_eq!((books.changed.len(), receivable(&books)), (0, 0));
}

/// It was held against the quote, and the invoice stayed overpaid.
#[test]
fn money_goes_back_by_the_number_of_the_quote() {
    let inputs = sold(1, &[5_000]);
    let missing = ("invoice_missing", -5_000);
    // However it came in: by the invoice, for the quote before it is invoiced again, and naming nothing.
    for came_by in ["R-20261", "Q-2026-0000", ""] {
        let (_, books) = moved(&inputs, &[(10, 5_000, came_by), (20, -5_000, "Q-2026-0000")]);
        assert_eq!((reasons(&books), books.undecided.len()), (vec![missing], 0), "{came_by}");
        assert_eq!((receivable(&books), unapplied(&books)), (0, 0), "{came_by}");
    }
    // Both ways, and both go back.
    let both = [(10, 5_000, "R-20261"), (11, 5_000, "Q-2026-0000"), (20, -10_000, "Q-2026-0000")];
    let (_, books) = moved(&inputs, &both);
    assert_eq!((reasons(&books), unapplied(&books)), (vec![missing], 0));
    // A part of it.
    let (_, books) = moved(&inputs, &[(10, 5_000, "R-20261"), (20, -2_000, "Q-2026-0000")]);
    assert_eq!(reasons(&books), [missing, ("overpaid", 3_000)]);
    // It was invoiced again since: what goes back is of the first.
    let mut again = inputs;
    again.invoices[1].preceding = Some("R-20261".into());
    again.invoices.push(Invoice { number: "R-20269".into(), issued: day(16), ..again.invoices[0].clone() });
    for paid in [18, 25] {
        let all = [(10, 5_000, "R-20261"), (paid, 5_000, "R-20269"), (20, -5_000, "Q-2026-0000")];
        assert_eq!(reasons(&moved(&again, &all).1), [], "paid on day {paid}");
    }
}

fn stranger() -> Firm {
    Firm { id: "X".into(), name: "Parts Ltd".into(), vat_id: None }
}

/// We pay a supplier by the number of his invoice, and an invoice of ours has it too. Our customer, who had paid, was told
/// to owe it.
#[test]
fn money_to_a_stranger_by_a_number_of_ours_is_asked() {
    let inputs = sold(1, &[]);
    let paid = (10, payment(5_000, &inputs.agreed[0].sales[0].buyer, "R-20261"));
    for words in ["R-20261", "Q-2026-0000", "our order Q-2026-0000, your invoice R-20261"] {
        let all = [paid.clone(), (20, payment(-700, &stranger(), words))];
        let (mut inputs, books) = booked(inputs.clone(), &all);
        let question = &books.undecided[0];
        assert_eq!((question.why, reasons(&books)), (Why::OtherPayer, vec![]), "{words}");
        assert_eq!(question.candidates, [["R-20261".into()]], "{words}");
        for (parts, told) in [(vec![], vec![]), (question.parts[0].clone(), vec![("unpaid", -700)])] {
            let parts: Vec<(&str, i64)> = parts.iter().map(|part| (&*part.invoice, part.minor)).collect();
            inputs.decisions = vec![decided(2, &parts)];
            let books = reconcile(&inputs).unwrap();
            assert_eq!((reasons(&books), books.undecided.len()), (told, 0), "{words}");
        }
    }
    // Who paid for our customer gets it back; and so does the bank what it takes back.
    let by_stranger = |minor| payment(minor, &stranger(), "R-20261");
    let (_, books) = booked(inputs.clone(), &[(10, by_stranger(5_700)), (20, by_stranger(-700))]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
    let (mut inputs, _) = booked(inputs, &[paid, (20, by_stranger(-5_000))]);
    inputs.statements[0].batches[1].reversal = true;
    let books = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("unpaid", -5_000)], 0));
}

/// What is held for a quote is not told to be owed, while it is asked whether a stranger got it.
#[test]
fn money_to_a_stranger_by_the_number_of_a_quote_is_asked() {
    let inputs = taken_back(1);
    let (buyer, quote) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[0].number.clone());
    let all = [(5, payment(5_000, &buyer, &quote)), (9, payment(-5_000, &stranger(), &quote))];
    let (mut inputs, books) = booked(inputs, &all);
    let question = &books.undecided[0];
    assert_eq!((question.why, &question.candidates), (Why::OtherPayer, &quotes(&[0])));
    assert_eq!((reasons(&books), question.parts[0][0].minor), (vec![], -5_000));
    for (parts, told) in [(&[(&*quote, -5_000)][..], vec![]), (&[], vec![("overpaid", 5_000)])] {
        inputs.decisions = vec![decided(2, parts)];
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.undecided.len()), (told, 0));
    }
    // Quotes of two customers: it is asked, though neither is an answer before the other.
    let mut two = empty();
    let of = |number| agreed(&Plan { net: 5_000, vat: [1; 3], day: 60, ..Plan::default() }, number);
    two.agreed = vec![of(0), of(1)];
    let (_, books) = booked(two, &[(9, payment(-700, &stranger(), "Q-2026-0000 Q-2026-0001"))]);
    assert_eq!(books.undecided.len(), 1);
}
