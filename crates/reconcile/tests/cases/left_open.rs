//! What is open on an account at the end of a month.

use evenfare_reconcile::input::{Invoice, InvoiceKind, InvoiceVat, Payment};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::BonusTier;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::world::bank::Account;
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, payment, place};

/// The numbers of two invoices of one partner.
fn numbers() -> [String; 2] {
    [0, 2].map(invoice_number)
}

/// Two quotes that `P-10` buys, of 1000.00 each without VAT, invoiced in June; no bonus is agreed.
fn two() -> Inputs {
    let mut inputs = empty();
    inputs.terms.bonuses.clear();
    for number in [0, 2] {
        let plan =
            Plan { partners: 1, net: 100_000, percents: [0, 0], vat: [1; 3], day: 3, ..Plan::default() };
        let of = agreed(&plan, number);
        let net = of.sales[0].net.minor();
        let mut own = invoice(&of, number, 0, &of.sales[0].vat, net);
        (own.issued, own.due) = (if number == 0 { day(3) } else { day(5) }, Some(day(20)));
        inputs.invoices.push(own);
        inputs.agreed.push(of);
    }
    inputs
}

fn pay(inputs: &mut Inputs, payments: &[(u64, i64, &str)]) {
    let mut account = Account::default();
    for (on, minor, words) in payments {
        let one: Payment = payment(*minor, &inputs.agreed[0].sales[0].buyer, words);
        account.book(day(*on), vec![one]);
    }
    inputs.statements = account.statements();
}

/// What is open of `P-10` at the end of a month: what, of which document, due when, how much, and is it of a later month?
type Told = (&'static str, String, Option<String>, i64, bool);

fn open(books: &Reconciled, month: &str) -> Vec<Told> {
    let month: Month = month.parse().unwrap();
    let account = books.accounts.statement(&books.journal, "P-10", currency("EUR"), month).unwrap();
    assert_eq!(account.open.iter().map(|one| one.minor).sum::<i64>(), account.closing_minor);
    let number = |document: &str| document.rsplit_once('/').map_or(document, |(_, place)| place).to_owned();
    let told = account.open.iter().map(|one| {
        let due = one.due.map(|due| due.to_string());
        (one.what.word(), number(&one.document), due, one.minor, one.is_later)
    });
    told.collect()
}

fn is_open(what: &'static str, document: &str, due: Option<&str>, minor: i64) -> Told {
    (what, document.to_owned(), due.map(str::to_owned), minor, false)
}

#[test]
fn what_is_left_of_each_paper_is_open() {
    let mut inputs = two();
    let [first, second] = numbers();
    let due = Some("2026-06-21");
    assert_eq!(
        open(&reconcile(&inputs).unwrap(), "2026-06"),
        [is_open("invoice", &first, due, 100_000), is_open("invoice", &second, due, 100_000)]
    );
    // A part of the first, all of the second but a cent that is written off, and more than is left, for nothing known.
    pay(&mut inputs, &[(10, 40_000, &first), (11, 99_999, &second), (12, 77_700, "for the cat")]);
    let left = [is_open("payment", "3.1", None, -77_700), is_open("invoice", &first, due, 60_000)];
    assert_eq!(open(&reconcile(&inputs).unwrap(), "2026-06"), left);
    // What a credit note takes back is not open any more; beyond that it is owed.
    let own = inputs.invoices[0].clone();
    let credit = Invoice {
        kind: InvoiceKind::CreditNote,
        number: "G-1".into(),
        issued: day(25),
        due: None,
        preceding: Some(own.number.clone()),
        net_minor: 70_000,
        gross_minor: 70_000,
        payable_minor: 70_000,
        vat: own.vat.iter().map(|vat| InvoiceVat { base_minor: 70_000, ..vat.clone() }).collect(),
        ..own
    };
    inputs.invoices.push(credit);
    let shown = open(&reconcile(&inputs).unwrap(), "2026-06");
    assert_eq!(shown.iter().map(|one| one.3).sum::<i64>(), -87_700, "{shown:?}");
    assert!(shown.iter().all(|one| one.3 < 0 && one.2.is_none()), "nothing has to be paid: {shown:?}");
}

/// What is owed of bonuses is open until it is paid out, and so is a part of it.
#[test]
fn a_bonus_that_is_owed_is_open() {
    let mut inputs = two();
    let [first, second] = numbers();
    let percent = "10".parse().unwrap();
    inputs.terms.bonuses = vec![BonusTier {
        place: place("bonuses.csv", 2),
        partner: "P-10".into(),
        year: 2026,
        from_minor: 0,
        percent,
    }];
    inputs.terms.until = "2026-07-31".parse().unwrap();
    let paid = [(10, 100_000, &*first), (11, 100_000, &*second)];
    pay(&mut inputs, &paid);
    assert_eq!(open(&reconcile(&inputs).unwrap(), "2026-07"), [is_open("bonus", "2026-06", None, -20_000)]);
    pay(&mut inputs, &[paid[0], paid[1], (40, -5_000, "bonus")]);
    assert_eq!(open(&reconcile(&inputs).unwrap(), "2026-07"), [is_open("bonus", "2026-06", None, -15_000)]);
    pay(&mut inputs, &[paid[0], paid[1], (40, -20_000, "bonus")]);
    assert_eq!(open(&reconcile(&inputs).unwrap(), "2026-07"), []);
}

/// Of a month in which nothing was owed yet nothing is open, however many months of bonus came since.
#[test]
fn a_bonus_of_later_months_is_not_open() {
    let mut inputs = two();
    let percent = "10".parse().unwrap();
    let (place, partner) = (place("bonuses.csv", 2), "P-10".into());
    inputs.terms.bonuses = vec![BonusTier { place, partner, year: 2026, from_minor: 0, percent }];
    for (paper, on) in inputs.invoices.iter_mut().zip([35, 65]) {
        (paper.issued, paper.due) = (day(on), Some(day(on + 14)));
    }
    let books = reconcile(&inputs).unwrap();
    assert_eq!(open(&books, "2026-06"), []);
    let bonuses = |month| open(&books, month).into_iter().filter(|one| one.0 == "bonus").map(|one| one.3);
    assert_eq!(bonuses("2026-07").collect::<Vec<_>>(), [-10_000]);
    assert_eq!(bonuses("2026-08").collect::<Vec<_>>(), [-20_000]);
}

/// Money in advance for a quote is open until there is an invoice, and none is where all of it went back.
#[test]
fn an_advance_is_open_until_it_is_invoiced() {
    let mut inputs = two();
    let quote = inputs.agreed[0].number.to_string();
    let own = inputs.invoices.remove(0);
    inputs.invoices.clear();
    pay(&mut inputs, &[(2, 30_000, &quote)]);
    let shown = open(&reconcile(&inputs).unwrap(), "2026-06");
    assert_eq!(shown.iter().map(|one| (one.0, one.3)).collect::<Vec<_>>(), [("advance", -30_000)]);
    inputs.invoices.push(own);
    let shown = open(&reconcile(&inputs).unwrap(), "2026-06");
    assert_eq!(shown, [is_open("invoice", &invoice_number(0), Some("2026-06-21"), 70_000)]);
    inputs.invoices.clear();
    pay(&mut inputs, &[(2, 30_000, &quote), (9, -30_000, &quote)]);
    assert_eq!(open(&reconcile(&inputs).unwrap(), "2026-06"), []);
}

/// A month that is closed shows what was open by what it was closed with: what is found out later counts for later.
#[test]
fn what_counts_for_a_later_month_is_not_settled_yet() {
    let mut inputs = two();
    let [first, second] = numbers();
    let due = Some("2026-06-21");
    let late = inputs.invoices.remove(1);
    inputs.terms.until = "2026-06-30".parse().unwrap();
    let closing = reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap();
    inputs.closings.push(closing);
    // Of June, but not there when it was closed: an invoice, and a part that was paid of the other.
    inputs.invoices.push(late);
    pay(&mut inputs, &[(10, 40_000, &first)]);
    let june = open(&reconcile(&inputs).unwrap(), "2026-06");
    let told: Vec<_> = june.iter().map(|one| (one.0, one.3, one.4)).collect();
    assert_eq!(told, [("payment", 40_000, true), ("invoice", 60_000, false)], "{june:?}");
    inputs.terms.until = "2026-07-31".parse().unwrap();
    let july = open(&reconcile(&inputs).unwrap(), "2026-07");
    assert_eq!(july, [is_open("invoice", &first, due, 60_000), is_open("invoice", &second, due, 100_000)]);
}

/// The invoice stood there as paid by nobody, and the payment beside it as what nobody asked for.
#[test]
fn nothing_is_open_on_an_account_before_the_first_entry() {
    let mut inputs = two();
    let [first, _] = numbers();
    inputs.invoices.remove(1);
    (inputs.invoices[0].issued, inputs.invoices[0].due) = (day(32), Some(day(46)));
    inputs.terms.until = "2026-08-31".parse().unwrap();
    for (minor, left) in [(100_000, None), (40_000, Some(60_000))] {
        pay(&mut inputs, &[(65, minor, &first)]);
        let books = reconcile(&inputs).unwrap();
        let open = |month| open(&books, month).into_iter().map(|one| one.3).collect::<Vec<_>>();
        assert_eq!((open("2026-06"), open("2026-07").iter().sum()), (vec![], 100_000));
        assert_eq!(open("2026-08"), left.into_iter().collect::<Vec<i64>>());
    }
}
