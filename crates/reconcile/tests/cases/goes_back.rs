//! Money that goes back: of which paper it is, where several could be meant.

use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::{Inputs, Reconciled};

use crate::booked::{booked, paid, reasons, sold};
use crate::held_back::{taken_back, unapplied};
use crate::parts::invoiced;
use crate::world::{Plan, agreed, day, empty, invoice, invoice_number, payment};

const QUOTE: &str = "Q-2026-0000";

fn moved(inputs: &Inputs, payments: &[(u64, i64, &str)]) -> Reconciled {
    let own = payments.iter().map(|(on, minor, words)| (*on, paid(inputs, *minor, words)));
    booked(inputs.clone(), &own.collect::<Vec<_>>()).1
}

/// The invoice was taken back: a part of what is held for its quote is no part of the invoice, unless that was paid too.
#[test]
fn a_part_goes_back_of_what_was_paid_too_much_or_else_of_what_is_held() {
    let inputs = invoiced(&[("R-20261", 5_000), ("G-20261", -5_000)]);
    let (missing, advance, back) = (("invoice_missing", -5_000), (11, 5_000, QUOTE), (20, -2_000, QUOTE));
    let books = moved(&inputs, &[advance, back]);
    assert_eq!((reasons(&books), unapplied(&books)), (vec![missing], -3_000));
    let books = moved(&inputs, &[(10, 5_000, "R-20261"), advance, back]);
    assert_eq!((reasons(&books), unapplied(&books)), (vec![missing, ("overpaid", 3_000)], -5_000));
}

/// Before it another one was written and taken back, of which nothing was paid.
#[test]
fn more_than_was_paid_goes_back_of_the_invoice_that_was() {
    let inputs = invoiced(&[("R-20269", 5_000), ("G-20261", -5_000), ("R-20261", 5_000)]);
    let books = moved(&inputs, &[(10, 5_000, "R-20261"), (20, -6_000, QUOTE)]);
    let told = books.differences.iter().map(|found| &found.difference);
    let told = told.map(|one| (one.reason.code(), one.amount_minor, &*one.documents[1].number));
    assert_eq!(told.collect::<Vec<_>>(), [("unpaid", -6_000, "R-20261")]);
}

/// Two quotes are named, and it is all that is held for the first: it is no paper of the second.
#[test]
fn what_gives_one_advance_back_changes_nothing_of_another() {
    let inputs = taken_back(2);
    let payments = [(5, 2_000, QUOTE), (6, 3_000, "Q-2026-0001"), (9, -2_000, "Q-2026-0000 Q-2026-0001")];
    let books = moved(&inputs, &payments);
    let told = books.differences.iter().map(|found| &found.difference);
    let told: Vec<_> = told.map(|one| (one.amount_minor, one.day, one.documents.len())).collect();
    assert_eq!(told, [(3_000, day(8), 2)]);
}

/// What he is owed besides is of another amount.
#[test]
fn an_advance_goes_back_beside_another_debt() {
    let mut inputs = taken_back(1);
    let mut of = agreed(&Plan { net: 8_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.sales[0].buyer = inputs.agreed[0].sales[0].buyer.clone();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 8_000));
    inputs.agreed.push(of);
    let books = moved(&inputs, &[(5, 5_000, QUOTE), (6, 8_700, &invoice_number(1)), (9, -5_000, "returned")]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("overpaid", 700)], 0));
}

/// A part of it came from a stranger: his own part goes back to the buyer, or all of it, and nobody is asked.
#[test]
fn an_advance_of_two_goes_back_in_part_or_as_a_whole() {
    let inputs = taken_back(1);
    let stranger = Firm { id: "X".into(), name: "A Stranger".into(), vat_id: None };
    for (minor, told) in [(2_000, vec![("overpaid", 3_000)]), (5_000, vec![])] {
        let own = [paid(&inputs, 2_000, QUOTE), payment(3_000, &stranger, QUOTE), paid(&inputs, -minor, "")];
        let (_, books) = booked(inputs.clone(), &[5, 6, 9].into_iter().zip(own).collect::<Vec<_>>());
        assert_eq!((reasons(&books), books.undecided.len()), (told, 0), "{minor}");
    }
}

/// Partner and customer both paid in advance for it. The customer has his part back, so nothing of it is his any more, and
/// what he gets next is of his two other debts.
#[test]
fn who_has_his_part_of_an_advance_back_is_owed_no_more_of_it() {
    let mut inputs = empty();
    let plan = Plan { partners: 1, net: 90_000, percents: [10, 1], vat: [1; 3], day: 60, ..Plan::default() };
    let mut of = agreed(&plan, 0);
    (of.accepted, of.reversed) = (day(2), Some(day(8)));
    let [partner, customer] = [0, 1].map(|sale: usize| of.sales[sale].buyer.clone());
    inputs.agreed.push(of);
    inputs.terms.until = day(50);
    for number in [1, 2] {
        let mut of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, number);
        of.sales[0].buyer = customer.clone();
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, 5_000));
        inputs.agreed.push(of);
    }
    let payments = [
        (5, payment(7_000, &customer, QUOTE)),
        (5, payment(1_000, &partner, QUOTE)),
        (6, payment(5_300, &customer, &invoice_number(1))),
        (6, payment(5_400, &customer, &invoice_number(2))),
        (9, payment(-7_000, &customer, "")),
        (10, payment(-700, &customer, "")),
    ];
    let (_, books) = booked(inputs, &payments);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![("overpaid", 1_000)], 0));
}

/// The first two of four debts went back, then the others.
#[test]
fn what_went_back_is_no_debt_any_more() {
    let inputs = sold(&[10_000; 4]);
    let own = (0..).zip([300, 400, 500, 600]).map(|(number, over)| (10_000 + over, invoice_number(number)));
    let own: Vec<(i64, String)> = own.collect();
    let mut payments: Vec<(u64, i64, &str)> =
        own.iter().map(|(minor, words)| (10, *minor, &**words)).collect();
    payments.extend([(20, -700, ""), (21, -1_100, "")]);
    let books = moved(&inputs, &payments);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
}

/// Of three, the first two come to it.
#[test]
fn an_answer_has_no_row_of_nothing() {
    let inputs = taken_back(3);
    let quotes = ["Q-2026-0000", "Q-2026-0001", "Q-2026-0002"];
    let mut payments = quotes.map(|quote| (5, 5_000, quote)).to_vec();
    payments.push((9, -6_000, "returned"));
    let books = moved(&inputs, &payments);
    let rows = books.undecided[0].parts[0].iter().map(|part| (&*part.invoice, part.minor));
    assert_eq!(rows.collect::<Vec<_>>(), [(quotes[0], -5_000), (quotes[1], -1_000)]);
}

/// What is written off is owed to nobody.
#[test]
fn of_what_is_written_off_nothing_goes_back() {
    let inputs = sold(&[10_000]);
    for (over, asked) in [(2, vec![]), (3, vec![Why::GivenBack])] {
        let books = moved(&inputs, &[(10, 10_000 + over, &invoice_number(0)), (20, -1, "")]);
        let whys: Vec<Why> = books.undecided.iter().map(|one| one.why).collect();
        assert_eq!(whys, asked, "{over}");
    }
}
