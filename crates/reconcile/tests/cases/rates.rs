//! Invoices and payments of several currencies: what exchange rates made of them, and that nothing is left.

use chrono::Days;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Place};
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;

use crate::booked::{booked, reasons};
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, payment};

/// Sales of these nets, each in its currency, to one customer.
fn sold(sales: &[(i64, &str)]) -> Inputs {
    let mut inputs = empty();
    let customer = agreed(&Plan { net: 1, ..Plan::default() }, 0).sales[0].buyer.clone();
    for (number, &(net, code)) in sales.iter().enumerate() {
        let mut of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, number);
        of.sales[0].buyer = customer.clone();
        of.currency = currency(code);
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

fn balance(reconciled: &Reconciled, role: Role) -> i128 {
    reconciled.journal.balances().unwrap().iter().find(|(of, _)| *of == role).unwrap().1
}

/// What comes of one payment in euros that a person decided to be for all of these invoices.
fn decided(sales: &[(i64, &str)], came_in: i64) -> Reconciled {
    let inputs = sold(sales);
    let payer = inputs.agreed[0].sales[0].buyer.clone();
    let (mut inputs, _) = booked(inputs, &[(20, payment(came_in, &payer, "thanks"))]);
    let statement = &inputs.statements[0];
    let part = |(number, &(minor, code)): (usize, &(i64, &str))| Part {
        invoice: invoice_number(number).into(),
        currency: currency(code),
        minor,
    };
    inputs.decisions = vec![Decision::Payment {
        place: Place { file: "decided.csv".into(), line: 2 },
        payment: PaymentId {
            account: statement.account.clone().into(),
            statement: statement.id.clone().into(),
            entry: 1,
            payment: 1,
        },
        towards: sales.iter().enumerate().map(part).collect(),
    }];
    reconcile(&inputs).unwrap()
}

/// One that nobody renewed counted for ever, and nothing showed it.
#[test]
fn a_rate_older_than_a_week_is_warned_of_while_its_days_are_open() {
    let mut inputs = sold(&[(10_000, "USD")]);
    let issued = inputs.invoices[0].issued;
    let rate = |days| (issued - Days::new(days), currency("USD"), "1.1172".parse().unwrap());
    let told = |inputs: &Inputs| {
        let warned = reconcile(inputs).unwrap().warnings;
        warned.iter().map(|slip| format!("{} {slip}", slip.code)).collect::<Vec<_>>()
    };
    inputs.rates = Rates::new([rate(7)]);
    assert_eq!(told(&inputs), Vec::<String>::new());
    inputs.rates = Rates::new([rate(8)]);
    let Place { file, line } = &inputs.invoices[0].place;
    let (of, on) = (issued - Days::new(8), issued);
    let expect = format!(
        "old_rate {file}:{line}: found `the rate of USD of {of}, 8 days old`, expected a reference rate of {on} or of the week before it"
    );
    assert_eq!(told(&inputs), [expect]);
    // What was closed by it stays closed.
    let closing = reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap();
    let closed = Inputs { closings: vec![closing], ..inputs.clone() };
    assert_eq!(told(&closed), Vec::<String>::new());
    // Its last day is closed as well.
    let mut last = inputs.clone();
    last.invoices[0].issued = day(29);
    last.closings = vec![reconcile(&last).unwrap().close("2026-06".parse().unwrap()).unwrap()];
    assert_eq!(told(&last), Vec::<String>::new());
    // So it is with euros that pay dollars, by the rate of their day.
    let payer = inputs.agreed[0].sales[0].buyer.clone();
    inputs.rates = Rates::new([rate(7)]);
    let (inputs, _) = booked(inputs, &[(20, payment(8_951, &payer, &invoice_number(0)))]);
    let place = &inputs.statements[0].batches[0].payments[0].place;
    let warned = reconcile(&inputs).unwrap().warnings;
    assert_eq!(warned.iter().map(|slip| &slip.place).collect::<Vec<_>>(), [place]);
}

#[test]
fn a_loss_on_invoices_of_two_currencies_is_told_in_any_order() {
    // 1000.00 CHF are 1087.67 EUR, and with 100.00 EUR there came in one cent more.
    let (francs, euros) = ((100_000, "CHF"), (10_000, "EUR"));
    for sales in [[francs, euros], [euros, francs]] {
        let reconciled = decided(&sales, 10_001);
        assert_eq!(reasons(&reconciled), [("currency", 1 - 108_767)]);
        assert_eq!(balance(&reconciled, Role::Exchange), 108_766);
        assert_eq!(reasons(&decided(&sales, 118_767)), [], "at the reference rate");
    }
    // A payment mostly in its own currency: the bound is of what was converted, not of all of it.
    for sales in [[(1_000, "CHF"), (1_000_000, "EUR")], [(1_000_000, "EUR"), (1_000, "CHF")]] {
        assert_eq!(reasons(&decided(&sales, 1_001_088)), []);
        assert_eq!(reasons(&decided(&sales, 1_000_988)), [("currency", -100)]);
    }
}

/// 100 USD are 89.51 EUR. Minor units of several currencies were added up, and went by the rate of the first.
#[test]
fn a_decision_over_two_currencies_is_held_against_the_rate_of_each() {
    for dollars in [0, 1] {
        let mut sales = [(1_000_000, "EUR"); 2];
        sales[dollars] = (10_000, "USD");
        let told = |euro| {
            let decided = decided(&sales, euro);
            assert_eq!(decided.undecided, []);
            assert_eq!(decided.journal.balances().unwrap().iter().map(|(_, sum)| sum).sum::<i128>(), 0);
            assert_eq!(balance(&decided, Role::Receivable), 0, "both are cleared");
            reasons(&decided)
        };
        assert_eq!(told(1_008_951), []);
        // 1 % of what is in dollars may be the bank's: 0.89 EUR.
        assert_eq!(told(1_008_951 + 89), []);
        assert_eq!(told(1_008_951 - 90), [("currency", -90)]);
        assert_eq!(told(1_000_001), [("currency", 1 - 8_951)]);
    }
}

#[test]
fn what_a_payment_lost_is_told_of_each_invoice() {
    let told = reasons(&decided(&[(91_940, "CHF"), (111_720, "USD"), (5_000, "EUR")], 175_000));
    assert_eq!(told, [("currency", -15_000), ("currency", -15_000)], "1000.00 EUR each");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever currencies invoices are of, and in whatever order: what differs by more than the bound is told
    /// whole, what differs by less is not, and the books add up.
    #[test]
    fn what_rates_made_of_a_payment_is_told_whole(
        mut sales in prop::collection::vec((1_i64..1_000_000, prop::sample::select(vec!["EUR", "CHF", "USD"])), 1..5),
        off in prop_oneof![Just(0), -200_000_i64..200_000],
        turn in 0_usize..5,
    ) {
        let worth = |&(minor, code): &(i64, &str)| match code {
            "EUR" => minor,
            "CHF" => minor * 10_000 / 9_194,
            _ => minor * 10_000 / 11_172,
        };
        let foreign: i64 = sales.iter().filter(|(_, code)| *code != "EUR").map(worth).sum();
        let off = if foreign == 0 { 0 } else { off };
        let came_in = sales.iter().map(worth).sum::<i64>() + off;
        prop_assume!(came_in > 0);
        let first = decided(&sales, came_in);
        let told: i64 = reasons(&first).iter().map(|(_, minor)| minor).sum();
        // Each conversion is a cent off at most.
        if off.abs() > foreign / 100 + 5 {
            prop_assert!((told - off).abs() <= 5, "{told} {off}");
            prop_assert!(reasons(&first).iter().all(|(reason, _)| *reason == "currency"));
        } else if off.abs() < foreign / 100 - 5 {
            prop_assert_eq!(told, 0);
        }
        prop_assert_eq!(balance(&first, Role::Receivable), 0);
        for (one, postings) in first.journal.transactions() {
            prop_assert_eq!(postings.iter().map(|posting| posting.base_minor).sum::<i64>(), 0, "{:?}", one);
        }
        let turn = turn % sales.len();
        sales.rotate_left(turn);
        let again = decided(&sales, came_in);
        prop_assert_eq!(reasons(&again).iter().map(|(_, minor)| minor).sum::<i64>(), told);
        prop_assert_eq!(again.journal.balances(), first.journal.balances());
    }
}

/// A credit note of so much of the first invoice, by its number in the series of credit notes.
fn credit(inputs: &Inputs, number: usize, minor: i64) -> Invoice {
    let mut credit = Invoice {
        kind: InvoiceKind::CreditNote,
        number: format!("C-{number}").into(),
        issued: day(10),
        due: None,
        preceding: Some(inputs.invoices[0].number.clone()),
        ..inputs.invoices[0].clone()
    };
    (credit.net_minor, credit.gross_minor, credit.payable_minor) = (minor, minor, minor);
    (credit.vat[0].base_minor, credit.vat[0].tax_minor) = (minor, 0);
    credit
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// In however many parts an invoice in another currency is taken back, and whatever was paid of it: where nothing is
    /// left in its currency, nothing is left in that of the books.
    #[test]
    fn what_is_taken_back_or_paid_whole_leaves_nothing(
        parts in prop::collection::vec(1_i64..200_000, 1..5),
        paid in prop::collection::vec(1_i64..200_000, 0..4),
        code in prop::sample::select(vec!["CHF", "USD", "GBP"]),
    ) {
        let whole: i64 = parts.iter().chain(&paid).sum();
        let mut inputs = sold(&[(whole, code)]);
        for (number, &part) in parts.iter().enumerate() {
            let credit = credit(&inputs, number, part);
            inputs.invoices.push(credit);
        }
        let payer = inputs.agreed[0].sales[0].buyer.clone();
        let payments: Vec<_> = (12..).zip(&paid).map(|(on, part)| (on, payment(*part, &payer, &invoice_number(0)))).collect();
        let (mut inputs, _) = booked(inputs, &payments);
        inputs.statements.iter_mut().for_each(|statement| statement.currency = currency(code));
        let reconciled = reconcile(&inputs).unwrap();
        prop_assert_eq!(balance(&reconciled, Role::Receivable), 0);
        if paid.is_empty() {
            prop_assert_eq!(balance(&reconciled, Role::Revenue), 0);
        }
        for (one, postings) in reconciled.journal.transactions() {
            prop_assert_eq!(postings.iter().map(|posting| posting.base_minor).sum::<i64>(), 0, "{:?}", one);
        }
    }
}
