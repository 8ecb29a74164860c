//! What is not right in what was read: all of it is told at once, each with its place.

use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::{Invoice, Place, Slip, Status};
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, reconcile};

use crate::world::bank::Account;
use crate::world::{self, Plan, agreed, charge, day, empty, invoice, invoice_number, payment};

/// Direct sales of these nets, each to a customer of its own, invoiced as agreed, each paid on the 20th or later.
fn sold(nets: &[i64]) -> Inputs {
    let mut inputs = empty();
    let mut account = Account::default();
    for (number, &net) in nets.iter().enumerate() {
        let plan = Plan { net, vat: [1; 3], day: 3 + u64::try_from(number).unwrap(), ..Plan::default() };
        let of = agreed(&plan, number);
        let sale = &of.sales[0];
        inputs.invoices.push(invoice(&of, number, 0, &sale.vat, net));
        let paid = payment(net, &sale.buyer, &invoice_number(number));
        account.book(day(20 + u64::try_from(number).unwrap()), vec![paid]);
        inputs.agreed.push(of);
    }
    inputs.statements = account.statements();
    inputs
}

fn row(line: u32) -> Place {
    Place { file: "decided.csv".into(), line }
}

/// The payment of the sale of that number.
fn paid(inputs: &Inputs, number: u32) -> PaymentId {
    let statement = &inputs.statements[0];
    PaymentId {
        account: (&*statement.account).into(),
        statement: (&*statement.id).into(),
        entry: number + 1,
        payment: 1,
    }
}

fn part(number: &str, currency: &str, minor: i64) -> Part {
    Part { invoice: number.into(), currency: world::currency(currency), minor }
}

fn towards(line: u32, payment: PaymentId, parts: &[(String, i64)]) -> Decision {
    let part = |(number, minor): &(String, i64)| part(number, "EUR", *minor);
    let towards = parts.iter().map(part).collect();
    Decision::Payment { place: row(line), payment, towards }
}

fn of_invoice(line: u32, number: &str, quote: Option<&str>) -> Decision {
    let (number, quote) = (number.into(), quote.map(Into::into));
    Decision::Invoice { place: row(line), seller: "workshop".into(), number, quote }
}

/// By the next revision somebody else sells. Looking back the decision holds; then the invoice is of nothing, and told.
#[test]
fn a_decision_outlives_the_revision_that_it_was_made_by() {
    let mut inputs = empty();
    let plan = Plan { partners: 1, net: 90_000, vat: [1; 3], day: 3, ..Plan::default() };
    let first = agreed(&plan, 0);
    let mut second = agreed(&Plan { partners: 0, ..plan }, 0);
    (second.revision, second.accepted) = (2, day(20));
    let sale = &first.sales[1];
    let theirs = Invoice { quote: None, ..invoice(&first, 0, 1, &sale.vat, sale.net.minor()) };
    inputs.decisions = vec![Decision::Invoice {
        place: row(2),
        seller: "P-10".into(),
        number: theirs.number.clone(),
        quote: Some(first.number.clone()),
    }];
    inputs.invoices.push(theirs);
    inputs.agreed = vec![first, second];
    for (until, is_told) in [(19, false), (20, true)] {
        inputs.terms.until = day(until);
        let books = reconcile(&inputs).unwrap();
        let mut told = books.differences.iter().map(|found| found.difference.reason.code());
        assert_eq!(told.any(|reason| reason == "invoice_unknown"), is_told, "{until}");
    }
}

fn mistakes(inputs: &Inputs) -> Vec<Slip> {
    match reconcile(inputs) {
        Err(Unreconciled::Undecidable(slips)) => slips,
        other => panic!("{other:?}"),
    }
}

#[test]
fn every_mistake_of_every_decision_is_told_at_once() {
    let mut inputs = sold(&[5_000, 6_000]);
    let [first, second] = [0, 1].map(|number| paid(&inputs, number));
    let nowhere = PaymentId { entry: 9, ..first.clone() };
    inputs.decisions = vec![
        of_invoice(12, &invoice_number(1), Some("Q-9999-1")),
        of_invoice(11, "R-9", None),
        towards(9, second.clone(), &[(invoice_number(1), 6_000)]),
        towards(7, nowhere.clone(), &[("R-8".into(), 1)]),
        towards(4, second.clone(), &[]),
        towards(3, first.clone(), &[("R-7".into(), 1), ("R-6".into(), 4_999)]),
        towards(2, first.clone(), &[(invoice_number(0), 4_999)]),
    ];
    let told: Vec<(u32, &str, String)> =
        mistakes(&inputs).into_iter().map(|slip| (slip.place.line, slip.code, slip.found)).collect();
    let expect = [
        (2, "does_not_add_up", "49.99 EUR"),
        (3, "decided_twice", &*first.to_string()),
        (3, "unknown_invoice", "R-6"),
        (3, "unknown_invoice", "R-7"),
        (7, "unknown_payment", &*nowhere.to_string()),
        (9, "decided_twice", &*second.to_string()),
        (11, "unknown_invoice", "R-9 of workshop"),
        (12, "unknown_quote", "Q-9999-1"),
    ]
    .map(|(line, code, found)| (line, code, found.to_owned()));
    assert_eq!(told, expect);
    // Two rows that say the same are one decision.
    inputs.decisions =
        [2, 5].map(|line| towards(line, first.clone(), &[(invoice_number(0), 5_000)])).to_vec();
    assert_eq!(reconcile(&inputs).unwrap().differences, []);
    let quote = Some("Q-2026-0000");
    inputs.decisions = [2, 5].map(|line| of_invoice(line, &invoice_number(0), quote)).to_vec();
    assert_eq!(reconcile(&inputs).unwrap().differences, []);
    inputs.decisions[1] = of_invoice(5, &invoice_number(0), None);
    let told: Vec<(u32, &str)> =
        mistakes(&inputs).into_iter().map(|slip| (slip.place.line, slip.code)).collect();
    assert_eq!(told, [(5, "decided_twice")]);
}

/// Neither was ever followed, and nobody heard of it: a partner has no sale by that quote, and what a bank announces has
/// another name when it is booked.
#[test]
fn a_decision_that_nothing_could_follow_is_a_mistake() {
    let mut inputs = sold(&[5_000, 6_000]);
    let plan = Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() };
    let of = agreed(&plan, 2);
    inputs.charges.push(charge(&of, 2, 1, &of.sales[1].vat, 90_000));
    inputs.invoices.push(invoice(&of, 2, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    inputs.agreed.push(of);
    let of_partner = |line, quote: &str| Decision::Invoice {
        place: row(line),
        seller: "P-10".into(),
        number: "7002".into(),
        quote: Some(quote.into()),
    };
    let announced = paid(&inputs, 1);
    inputs.statements[0].batches[1].status = Status::Pending;
    inputs.statements[0].closing.minor -= 6_000;
    inputs.decisions = vec![
        of_partner(2, "q 2026 0001"),
        of_invoice(3, &invoice_number(2), Some("Q-2026-0000")),
        towards(4, announced.clone(), &[(invoice_number(1), 6_000)]),
    ];
    let told: Vec<String> = mistakes(&inputs).iter().map(|slip| format!("{} {slip}", slip.code)).collect();
    let expected = "a payment that was booked: account, statement, entry and payment";
    assert_eq!(
        told,
        [
            "unknown_quote decided.csv:2: found `q 2026 0001`, expected the number of a quote by which P-10 sells",
            &format!("unknown_payment decided.csv:4: found `{announced}`, expected {expected}"),
        ]
    );
    inputs.decisions = vec![of_partner(2, "q 2026 0002")];
    assert!(reconcile(&inputs).is_ok());
}

/// The payment is in euros, the second invoice in dollars: an amount is of the invoice's currency.
#[test]
fn an_amount_in_another_currency_than_the_invoice_is_a_mistake() {
    let mut inputs = sold(&[5_000, 6_000]);
    (inputs.agreed[1].currency, inputs.invoices[1].currency) =
        (world::currency("USD"), world::currency("USD"));
    let [first, second] = [0, 1].map(|number| paid(&inputs, number));
    let decided = |line, payment: &PaymentId, number, currency| Decision::Payment {
        place: row(line),
        payment: payment.clone(),
        towards: vec![part(&invoice_number(number), currency, 6_000)],
    };
    inputs.decisions = vec![decided(2, &first, 0, "USD"), decided(3, &second, 1, "EUR")];
    let told = mistakes(&inputs);
    let told: Vec<String> = told.iter().map(|slip| format!("{} {slip}", slip.code)).collect();
    assert_eq!(
        told,
        [
            "other_currency decided.csv:2: found `60.00 USD for R-2026-00000`, expected an amount in EUR, as the invoice is",
            "other_currency decided.csv:3: found `60.00 EUR for R-2026-00001`, expected an amount in USD, as the invoice is",
        ]
    );
    // At what rate dollars were taken for euros is not known, so they need not be the same number.
    inputs.decisions = vec![decided(3, &second, 1, "USD")];
    assert_eq!(reconcile(&inputs).unwrap().undecided, []);
}

#[test]
fn what_was_decided_later_is_no_mistake_when_one_looks_back() {
    let mut inputs = sold(&[5_000, 6_000]);
    // The second invoice is written after its payment came in, and the payment names nothing.
    inputs.invoices[1].issued = day(26);
    let second = paid(&inputs, 1);
    inputs.statements[0].batches[1].payments[0].remittance = "".into();
    inputs.decisions = vec![
        towards(2, second, &[(invoice_number(1), 6_000)]),
        of_invoice(3, &invoice_number(1), Some("Q-2026-0001")),
    ];
    let reasons = |inputs: &Inputs| -> Vec<&'static str> {
        let books = reconcile(inputs).unwrap();
        assert_eq!(books.undecided, []);
        books.differences.iter().map(|found| found.difference.reason.code()).collect()
    };
    assert!(!reasons(&inputs).contains(&"payment_unknown"));
    // Before the invoice, the money is for nothing known; before the payment, there is nothing.
    inputs.terms.until = day(23);
    assert!(reasons(&inputs).contains(&"payment_unknown"));
    inputs.terms.until = day(10);
    assert!(!reasons(&inputs).contains(&"payment_unknown"));
    // What is not there at all still is a mistake.
    inputs.decisions.push(of_invoice(4, "R-9", None));
    assert_eq!(mistakes(&inputs)[0].place, row(4));
}

#[test]
fn two_papers_of_one_number_that_differ_are_refused() {
    let mut inputs = sold(&[5_000, 6_000]);
    let mut other = inputs.invoices[0].clone();
    (other.net_minor, other.place.line) = (5_001, 99);
    inputs.invoices.push(other);
    // All are told at once.
    let mut again = inputs.invoices[1].clone();
    (again.gross_minor, again.place.line) = (7, 98);
    inputs.invoices.push(again);
    let Err(Unreconciled::SaidTwice(slips)) = reconcile(&inputs) else { panic!() };
    let told: Vec<String> = slips.iter().map(ToString::to_string).collect();
    let mut expect = [(0, 99), (1, 98)].map(|(number, other)| {
        let Place { file, line } = &inputs.invoices[number].place;
        let name = invoice_number(number);
        let first = format!("{file}:{line}: found `invoice {name}`");
        format!("{first}, expected the same as at {file}:{other}, which has the same name")
    });
    expect.sort();
    assert_eq!(told, expect);
}
