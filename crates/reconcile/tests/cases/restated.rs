//! What a closing keeps of papers that are not posted, and of its accounts.

use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::category::Work;
use evenfare_engine::money::{Gross, Net};
use evenfare_reconcile::change::changes;
use evenfare_reconcile::changed::{Altered, How};
use evenfare_reconcile::chart::{Chart, Role};
use evenfare_reconcile::columns;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{AccountingVat, Charge, Invoice, Payment, WorkDone};
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::booked;
use crate::world::{Plan, agreed, charge, currency, day, empty, invoice, payment, place};

fn june() -> Month {
    "2026-06".parse().unwrap()
}

/// A quote by one partner: our invoice, the line of what he charged, and an invoice of his besides.
fn sold() -> Inputs {
    let mut inputs = empty();
    let of = agreed(
        &Plan { partners: 1, net: 9_000, percents: [10, 1], vat: [1; 3], day: 3, ..Plan::default() },
        0,
    );
    inputs.invoices.push(invoice(&of, 0, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    inputs.invoices.push(invoice(&of, 0, 1, &of.sales[1].vat, 9_000));
    inputs.charges.push(charge(&of, 0, 1, &of.sales[1].vat, 9_000));
    inputs.agreed.push(of);
    inputs
}

fn closed(inputs: &Inputs) -> Inputs {
    let closing = reconcile(inputs).unwrap().close(june()).unwrap();
    Inputs { closings: vec![closing], ..inputs.clone() }
}

/// How, number, and net before and now.
fn told(books: &Reconciled) -> Vec<(How, &str, Option<i64>, Option<i64>)> {
    let net = |said: Option<&evenfare_reconcile::kept::Said>| said.map(|said| said.net_minor);
    let told = books.restated.iter().map(|one| {
        (
            one.how,
            &*one.is.number,
            net(one.was.as_ref().and_then(|was| was.said.as_ref())),
            net(one.is.said.as_ref()),
        )
    });
    told.collect()
}

#[test]
fn what_is_not_posted_is_told_when_it_changes() {
    let whole = closed(&sold());
    assert_eq!(reconcile(&whole).unwrap().restated, []);
    assert_eq!(whole.closings[0].papers.as_ref().unwrap().len(), 5, "two sales, two invoices, a charge");

    let mut inputs = whole.clone();
    inputs.charges[0].net_minor -= 250;
    let books = reconcile(&inputs).unwrap();
    assert_eq!(told(&books), [(How::Different, "7000", Some(9_000), Some(8_750))]);
    let one = &books.restated[0];
    assert_eq!((one.closed, one.posted), (Some(june()), june().next().first_day()));

    let mut inputs = whole.clone();
    inputs.invoices.remove(1);
    assert_eq!(told(&reconcile(&inputs).unwrap()), [(How::Gone, "P-10/R-2026-00000", Some(9_000), None)]);

    let mut inputs = whole.clone();
    inputs.agreed[0].sales[1].net = Net::from_minor(9_100).unwrap();
    inputs.agreed[0].sales[1].gross = Gross::from_minor(9_100).unwrap();
    assert_eq!(
        told(&reconcile(&inputs).unwrap()),
        [(How::Different, "Q-2026-0000/1", Some(9_000), Some(9_100))]
    );
    // A revision that is accepted besides changes nothing of the one before it.
    let mut inputs = whole.clone();
    let again =
        evenfare_reconcile::agreed::Agreed { revision: 2, accepted: day(40), ..inputs.agreed[0].clone() };
    inputs.agreed.push(again);
    assert_eq!(told(&reconcile(&inputs).unwrap()), []);
    // What was accepted later than the day that is looked at is not there yet.
    let mut inputs = whole;
    (inputs.terms.until, inputs.agreed[0].accepted) = (day(60), day(70));
    let gone = |net| (How::Gone, "Q-2026-0000/1", Some(net), None);
    assert_eq!(told(&reconcile(&inputs).unwrap()), [gone(9_000), gone(8_100)]);
}

/// A line of what the partner charged, of a number and a day of its own.
fn charged(inputs: &Inputs, number: usize, on: NaiveDate) -> Charge {
    let of = &inputs.agreed[0];
    Charge { issued: on, ..charge(of, number, 1, &of.sales[1].vat, 700) }
}

/// The first closing has what came before it as well. Where nothing is closed, nothing is late.
#[test]
fn what_is_of_before_the_first_closing_is_late() {
    let may = day(0) - Days::new(5);
    let mut inputs = sold();
    inputs.charges.push(charged(&inputs, 5, may));
    assert_eq!(told(&reconcile(&inputs).unwrap()), []);
    let mut inputs = closed(&sold());
    inputs.charges.push(charged(&inputs, 5, may));
    assert_eq!(told(&reconcile(&inputs).unwrap()), [(How::Late, "7005", None, Some(700))]);
}

#[test]
fn a_closing_keeps_the_papers_of_its_first_day_and_of_its_last() {
    let mut inputs = closed(&sold());
    for (number, on) in [(5, 30), (6, 60), (7, 61)] {
        inputs.charges.push(charged(&inputs, number, day(on)));
    }
    let july = reconcile(&inputs).unwrap().close(june().next()).unwrap();
    let kept: Vec<&str> = july.papers.iter().flatten().map(|paper| &*paper.number).collect();
    assert_eq!(kept, ["7005", "7006"]);
    inputs.closings.push(july);
    assert_eq!(told(&reconcile(&inputs).unwrap()), []);
}

/// July was closed with it as gone. Dated anew it is a paper of an open month, or of a closed one and late.
#[test]
fn what_was_gone_is_late_where_it_comes_back_under_a_closed_month() {
    let mut inputs = closed(&sold());
    inputs.charges.clear();
    inputs.closings.push(reconcile(&inputs).unwrap().close(june().next()).unwrap());
    let august = june().next().next().first_day();
    for (on, is_late) in [(60, true), (61, false)] {
        inputs.charges = vec![charged(&inputs, 0, day(on))];
        let books = reconcile(&inputs).unwrap();
        let found = books.restated.iter().filter(|one| one.posted == august);
        let late = if is_late { vec![How::Late] } else { vec![] };
        assert_eq!(found.map(|one| one.how).collect::<Vec<_>>(), late, "{on}");
    }
}

/// What July was closed with stands for June then; it is told once, and again only when it changes again.
#[test]
fn what_was_told_is_kept_by_the_next_closing() {
    let mut inputs = closed(&sold());
    let july = june().next();
    inputs.charges.push(charged(&inputs, 5, june().last_day()));
    inputs.invoices.remove(1);
    let books = reconcile(&inputs).unwrap();
    let expect = [(How::Late, "7005", None, Some(700)), (How::Gone, "P-10/R-2026-00000", Some(9_000), None)];
    let mut found = told(&books);
    found.sort_by_key(|one| std::cmp::Reverse(one.0));
    assert_eq!(found, expect);
    inputs.closings.push(books.close(july).unwrap());
    let after = reconcile(&inputs).unwrap();
    assert_eq!(after.restated, books.restated, "as it was told in July, and nothing more");
    inputs.charges[1].net_minor = 600;
    let again = reconcile(&inputs).unwrap();
    let last = again.restated.last().unwrap();
    assert_eq!((last.how, last.closed, last.posted), (How::Different, Some(july), july.next().first_day()));
    assert_eq!(again.restated.len(), 3);
}

/// Closings that were made before more than one was read would all say that it changed.
#[test]
fn what_else_a_paper_refers_to_changes_no_closing() {
    let mut inputs = closed(&sold());
    for paper in &mut inputs.invoices {
        paper.references = vec!["thank you".into()].into_boxed_slice();
        paper.other_preceding = vec!["R-1".into()].into_boxed_slice();
    }
    assert_eq!(told(&reconcile(&inputs).unwrap()), []);
}

#[test]
fn of_a_closing_that_keeps_no_papers_nothing_is_said() {
    let mut inputs = closed(&sold());
    let old = &mut inputs.closings[0];
    (old.papers, old.is_whole) = (None, false);
    old.digest = old.digest_now();
    let july = june().next();
    inputs.charges.clear();
    inputs.agreed[0].sales[1].net = Net::from_minor(1).unwrap();
    let books = reconcile(&inputs).unwrap();
    assert_eq!(books.restated, []);
    // The next closing keeps papers, of its own month only.
    let next = books.close(july).unwrap();
    assert_eq!(next.papers, Some(Vec::new()));
    inputs.closings.push(next);
    inputs.invoices.truncate(1);
    assert_eq!(reconcile(&inputs).unwrap().restated, []);
}

/// A closing from before all papers were kept has partners' papers and their amounts; of ours it has what was posted.
#[test]
fn of_a_closing_that_keeps_partners_papers_those_are_told() {
    let mut inputs = closed(&sold());
    let old = &mut inputs.closings[0];
    old.is_whole = false;
    for paper in old.papers.iter_mut().flatten() {
        if let Some(said) = &mut paper.said {
            said.details = Box::default();
        }
    }
    old.papers.as_mut().unwrap().retain(|paper| paper.event().is_none());
    old.digest = old.digest_now();
    assert_eq!(told(&reconcile(&inputs).unwrap()), []);
    let whole = inputs.clone();
    inputs.invoices[1].issued = day(4);
    let books = reconcile(&inputs).unwrap();
    let [one] = books.restated.as_slice() else { panic!("{:?}", books.restated) };
    let days = Altered { what: "day", was: "2026-06-04".into(), is: "2026-06-05".into() };
    assert_eq!((one.how, one.altered()), (How::Different, vec![days]));
    // One of them is late; of records of work it had none.
    let mut inputs = whole.clone();
    inputs.charges.push(charged(&inputs, 5, day(9)));
    let place = place("work_done.csv", 2);
    let quote = inputs.agreed[0].number.clone();
    inputs.work_done.push(WorkDone { place, quote, work: Work::Removal, done: day(4) });
    assert_eq!(told(&reconcile(&inputs).unwrap()), [(How::Late, "7005", None, Some(700))]);
    // Of ours another buyer is seen by whose account it is on.
    let mut inputs = whole;
    let buyer = Arc::make_mut(&mut inputs.invoices[0].buyer);
    (buyer.name, buyer.vat_id) = ("Somebody else".into(), None);
    let books = reconcile(&inputs).unwrap();
    let of_invoice: Vec<_> =
        books.changed.iter().filter(|one| one.source.event == Event::Invoice).map(|one| one.how).collect();
    assert_eq!(of_invoice, [How::Different, How::Different], "{:?}", books.changed);
}

/// Of a paper that is posted, what it says otherwise stands beside what is posted again.
#[test]
fn another_buyer_is_told_with_what_is_posted() {
    let mut inputs = closed(&sold());
    let buyer = Arc::make_mut(&mut inputs.invoices[0].buyer);
    let was = format!("{}, {}", buyer.name, buyer.vat_id.as_deref().unwrap());
    (buyer.name, buyer.vat_id) = ("Somebody else".into(), None);
    let books = reconcile(&inputs).unwrap();
    let found: Vec<_> = books.changed.iter().filter(|one| one.source.event == Event::Invoice).collect();
    assert!(found.iter().all(|one| one.how == How::Different), "{found:?}");
    let altered: Vec<_> = found.iter().flat_map(|one| &one.altered).collect();
    assert_eq!(altered, [&Altered { what: "buyer", was, is: "Somebody else".into() }], "once");
    assert_eq!(books.restated, []);
}

/// One list has what is posted and what is not, in words that stay.
#[test]
fn a_change_says_what_it_is_of() {
    let mut inputs = closed(&sold());
    let of_work =
        WorkDone { place: place("work.csv", 2), quote: "Q-1".into(), work: Work::Removal, done: day(4) };
    inputs.work_done.push(of_work);
    inputs.charges[0].net_minor -= 250;
    (inputs.invoices[0].net_minor, inputs.invoices[0].gross_minor) = (8_200, 8_200);
    let books = reconcile(&inputs).unwrap();
    let changes = changes(&books.changed, &books.restated, inputs.terms.currency);
    let found = changes.iter().map(|one| {
        let parts = one.parts.iter().map(|part| (part.of.word(), part.was_minor, part.by_minor().unwrap()));
        (one.how, one.what.word(), one.party, parts.collect::<Vec<_>>())
    });
    let expect = [
        (
            How::Different,
            "invoice",
            Some("P-10"),
            vec![("receivable", 8_100, 100), ("revenue", -8_100, -100)],
        ),
        (How::Different, "invoice", Some("P-10"), vec![("net", 9_000, -250), ("gross", 9_000, -250)]),
        (How::Late, "work done", Some("Q-1"), vec![]),
    ];
    assert_eq!(found.collect::<Vec<_>>(), expect);
}

/// Where the amount is another, in the paper's currency; where its rate alone is, in that of the books.
#[test]
fn a_change_is_told_in_the_currency_in_which_it_changed() {
    let mut inputs = empty();
    let plan = Plan { net: 11_172, vat: [1; 3], day: 3, in_dollars: true, ..Plan::default() };
    let of = agreed(&plan, 1);
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 11_172));
    inputs.agreed.push(of);
    let whole = closed(&inputs);
    let told = |inputs: &Inputs| -> Vec<_> {
        let books = reconcile(inputs).unwrap();
        let all = changes(&books.changed, &books.restated, inputs.terms.currency);
        let parts = all.iter().flat_map(|one| one.parts.clone());
        parts.map(|part| (part.currency.to_string(), part.was_minor, part.is_minor)).collect()
    };
    let of = |code: &str, was: i64, is: i64| [(code.to_owned(), was, is), (code.to_owned(), -was, -is)];
    let mut inputs = whole.clone();
    inputs.rates = Rates::new([(day(0), currency("USD"), "1.0000".parse().unwrap())]);
    assert_eq!(told(&inputs), of("EUR", 10_000, 11_172));
    let mut inputs = whole;
    (inputs.invoices[0].net_minor, inputs.invoices[0].gross_minor) = (11_200, 11_200);
    assert_eq!(told(&inputs), of("USD", 11_172, 11_200));
}

/// What is another, what it was and is, and how it came to be so.
type Otherwise<P> = (&'static str, &'static str, &'static str, fn(&mut P));

/// What a paper says otherwise, as it is read: what it was, and what it is.
fn altered(books: &Reconciled) -> Vec<(&'static str, String, String)> {
    let posted = books.changed.iter().flat_map(|one| one.altered.clone());
    let all = posted.chain(books.restated.iter().flat_map(|one| one.altered()));
    all.map(|Altered { what, was, is }| (what, was, is)).collect()
}

#[test]
fn what_a_partners_invoice_says_otherwise_is_told_in_its_words() {
    let whole = closed(&sold());
    let changes: [Otherwise<Invoice>; 5] = [
        ("preceding", "", "R-1", |paper| paper.preceding = Some("R-1".into())),
        ("due", "2026-06-18", "", |paper| paper.due = None),
        ("vat", "AE 0 % of 90.00 EUR: 0.00 EUR", "E of 90.00 EUR: 0.01 EUR", |paper| {
            let group = &mut paper.vat[0];
            (group.category, group.code, group.rate, group.tax_minor) = (None, "E".into(), None, 1);
        }),
        ("accounting_vat", "", "-1.50 CHF", |paper| {
            paper.accounting_vat = Some(AccountingVat { currency: currency("CHF"), minor: -150 });
        }),
        ("payable", "90.00 EUR", "89.00 EUR", |paper| paper.payable_minor -= 100),
    ];
    for (what, was, is, change) in changes {
        let mut inputs = whole.clone();
        change(&mut inputs.invoices[1]);
        let books = reconcile(&inputs).unwrap();
        assert_eq!(altered(&books), [(what, was.to_owned(), is.to_owned())]);
    }
}

#[test]
fn what_a_payment_says_otherwise_is_told_in_its_words() {
    let stranger = Firm { id: "X".into(), name: "A Stranger".into(), vat_id: None };
    let (inputs, _) = booked(sold(), &[(9, payment(700, &stranger, "for the flowers"))]);
    let whole = closed(&inputs);
    let changes: [Otherwise<Payment>; 6] = [
        ("reference", "", "E-1", |one| one.end_to_end = Some("E-1".into())),
        ("reference", "", "C-1, C-2", |one| one.structured = vec!["C-1".into(), "C-2".into()]),
        ("payer", "A Stranger", "A Stranger, FR76", |one| one.party_account = Some("FR76".into())),
        ("remittance", "for the flowers", "", |one| one.remittance = "".into()),
        ("instructed", "", "8.00 CHF", |one| one.instructed = Some((800, currency("CHF")))),
        ("charges", "", "0.50 EUR", |one| one.charges_minor = 50),
    ];
    for (what, was, is, change) in changes {
        let mut inputs = whole.clone();
        change(&mut inputs.statements[0].batches[0].payments[0]);
        let books = reconcile(&inputs).unwrap();
        assert_eq!(altered(&books), [(what, was.to_owned(), is.to_owned())]);
    }
}

#[test]
fn a_closed_month_keeps_its_accounts() {
    let chart =
        |number: &str| Chart::new([(Role::Receivable, number.into()), (Role::Revenue, "4400".into())]);
    let mut inputs = sold();
    inputs.chart = chart("1200");
    let mut inputs = closed(&inputs);
    let lines = |inputs: &Inputs| -> Vec<String> {
        let books = reconcile(inputs).unwrap();
        let lines = columns::lines(&books.journal, &books.charts, inputs.terms.currency);
        lines.map(|line| line.unwrap().join(",")).collect()
    };
    let before = lines(&inputs);
    assert!(before[0].contains(",1200,"), "{before:?}");
    inputs.chart = chart("1210");
    assert_eq!(lines(&inputs), before);
    let books = reconcile(&inputs).unwrap();
    assert_eq!(books.charts.renumbered(), [(june(), Role::Receivable, "1200", "1210")]);
    assert_eq!(books.charts.of(june().next()).account(Role::Receivable), "1210");
    // What was closed without a chart goes by that of now, and the kept one is under the digest.
    inputs.closings[0].chart = Chart::default();
    assert!(!inputs.closings[0].is_unchanged());
    inputs.closings[0].digest = inputs.closings[0].digest_now();
    assert!(lines(&inputs)[0].contains(",1210,"));
}
