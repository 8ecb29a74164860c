//! What a closing keeps of papers that are not posted, and of its accounts.

use std::sync::Arc;

use evenfare_engine::money::{Gross, Net};
use evenfare_reconcile::changed::{Altered, How};
use evenfare_reconcile::chart::{Chart, Role};
use evenfare_reconcile::columns;
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::world::{self, Plan, agreed, charge, day, empty, invoice};

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
}

/// What July was closed with stands for June then; it is told once, and again only when it changes again.
#[test]
fn what_was_told_is_kept_by_the_next_closing() {
    let mut inputs = closed(&sold());
    let july = june().next();
    let late = world::charge(&inputs.agreed[0], 5, 1, &inputs.agreed[0].sales[1].vat, 700);
    inputs.charges.push(late);
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
