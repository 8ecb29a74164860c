//! Cases that stand just where one rule gives way to the next.

use std::sync::Arc;

use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::change::changes;
use evenfare_reconcile::chart::{Charts, Role};
use evenfare_reconcile::columns;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{CourierBill, Invoice, InvoiceKind, Leg, Trader};
use evenfare_reconcile::journal::{Event, Journal, Posting, Source};
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::terms::{BonusTier, Decision, Part};
use evenfare_reconcile::{Inputs, reconcile};

use crate::booked::{booked, paid, reasons};
use crate::own::{FIRST, id, sold};
use crate::parts::invoiced;
use crate::world::{Plan, agreed, currency, day, empty, groups, invoice, invoice_number, payment, place};

/// A direct sale without VAT of a day of June, to that firm.
fn direct(net: i64, number: usize, on: u64, buyer: Arc<Firm>) -> Agreed {
    let mut of = agreed(&Plan { net, vat: [1; 3], day: on, ..Plan::default() }, number);
    of.sales[0].buyer = buyer;
    of
}

fn partner() -> Arc<Firm> {
    Arc::new(Firm { id: "P-10".into(), name: "Partner P-10".into(), vat_id: None })
}

/// Two customers.
fn customers() -> [Arc<Firm>; 2] {
    [0, 1].map(|number| agreed(&Plan { net: 1, ..Plan::default() }, number).sales[0].buyer.clone())
}

/// With an invoice of ours as it was agreed.
fn sell(inputs: &mut Inputs, number: usize, of: Agreed) {
    inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    inputs.agreed.push(of);
}

#[test]
fn a_step_that_is_just_reached_is_not_the_next() {
    for (turnover, percent, next) in [
        (99_999, "0", Some((100_000, 1))),
        (100_000, "1.5", Some((500_000, 400_000))),
        (499_999, "1.5", Some((500_000, 1))),
        (500_000, "2.25", None),
    ] {
        let mut inputs = empty();
        sell(&mut inputs, 0, direct(turnover, 0, 2, partner()));
        let one = reconcile(&inputs).unwrap().bonuses.swap_remove(0);
        let found = (one.percent.to_string(), one.next.map(|next| (next.from_minor, next.missing_minor)));
        assert_eq!(found, (percent.to_owned(), next), "{turnover}");
    }
}

/// A partner bought so much in 2026, and has the same steps in 2027, in which the books end.
fn sold_in_the_old_year() -> Inputs {
    let mut inputs = empty();
    let step = inputs.terms.bonuses[0].clone();
    inputs.terms.bonuses.push(BonusTier { year: 2027, ..step });
    inputs.terms.until = day(250);
    sell(&mut inputs, 0, direct(600_000, 0, 200, partner()));
    inputs
}

/// In dollars, of an invoice in euros: it takes nothing of that back, and is of the year that it was written in.
#[test]
fn a_credit_note_in_another_currency_counts_for_its_own_year() {
    let inputs = sold_in_the_old_year();
    // In euros it takes back the only invoice, also where it names none.
    for (code, is_named, expect) in
        [("EUR", true, (2026, 488_280)), ("EUR", false, (2026, 488_280)), ("USD", true, (2027, -100_000))]
    {
        let of = &inputs.agreed[0];
        let mut credit = invoice(of, 0, 0, &groups(1, 111_720), 111_720);
        credit.kind = InvoiceKind::CreditNote;
        credit.preceding = is_named.then(|| invoice_number(0).into());
        (credit.number, credit.issued, credit.due) = ("G-1".into(), day(223), None);
        credit.currency = currency(code);
        let mut inputs = inputs.clone();
        inputs.invoices.push(credit);
        let january =
            reconcile(&inputs).unwrap().bonuses.into_iter().filter(|one| one.month.to_string() == "2027-01");
        let moved = january.filter(|one| one.turnover_minor != 0);
        assert_eq!(moved.map(|one| (one.year, one.turnover_minor)).collect::<Vec<_>>(), [expect], "{code}");
    }
}

/// It names none, and another took back the invoice of its amount before: it is of the year of that one all the same.
#[test]
fn a_credit_note_counts_for_the_year_of_the_invoice_of_its_amount() {
    let mut inputs = sold_in_the_old_year();
    let paper = inputs.invoices.remove(0);
    for (number, minor, on, of) in [
        ("R-1", 300_000_i64, 200, None),
        ("R-2", 200_000, 216, None),
        ("G-1", -300_000, 218, Some("R-1")),
        ("G-2", -300_000, 223, None),
    ] {
        let kind = if minor < 0 { InvoiceKind::CreditNote } else { InvoiceKind::Invoice };
        let whole = invoice(&inputs.agreed[0], 0, 0, &groups(1, minor.abs()), minor.abs());
        let (number, preceding) = (number.into(), of.map(Into::into));
        inputs.invoices.push(Invoice { kind, number, preceding, issued: day(on), due: None, ..whole });
    }
    inputs.invoices.iter_mut().for_each(|one| one.quote.clone_from(&paper.quote));
    let books = reconcile(&inputs).unwrap();
    let january = books.bonuses.into_iter().filter(|one| one.month.to_string() == "2027-01");
    let moved: Vec<_> = january.map(|one| (one.year, one.turnover_minor)).collect();
    assert_eq!(moved, [(2026, -300_000), (2027, 200_000)]);
}

/// It names none of the two, and stands for the one that it took back: what goes out by its number goes back of that.
#[test]
fn a_credit_note_takes_back_the_invoice_of_its_amount() {
    let inputs = invoiced(&[("R-1", 2_000), ("R-2", 3_000), ("G-1", -3_000)]);
    let each = [(2_000, "R-1"), (3_000, "R-2"), (-3_000, "G-1")];
    let each = each.map(|(minor, words)| (20, paid(&inputs, minor, words)));
    assert_eq!(reasons(&booked(inputs, &each).1), [("charged_less", -3_000)]);
}

/// It names neither, and is to who bought: the later one is to somebody else.
#[test]
fn a_credit_note_takes_back_none_of_its_amount_to_another() {
    let mut inputs = invoiced(&[("R-1", 5_000), ("R-2", 5_000), ("G-1", -5_000)]);
    inputs.invoices[1].buyer = Trader { name: "Somebody else".into(), vat_id: None, country: None }.into();
    let open = |inputs: &Inputs, party: &str| {
        let books = reconcile(inputs).unwrap();
        let (month, euros) = ("2026-06".parse().unwrap(), currency("EUR"));
        let account = books.accounts.statement(&books.journal, party, euros, month).unwrap();
        account.open.iter().map(|one| (one.document.to_string(), one.minor)).collect::<Vec<_>>()
    };
    assert_eq!(open(&inputs, "Somebody else"), [("R-2".to_owned(), 5_000)]);
    assert_eq!(open(&inputs, &inputs.agreed[0].sales[0].buyer.id), []);
}

/// It asks for nothing: what comes in for nothing is not for it, and what was paid beyond it goes back of it.
#[test]
fn a_second_invoice_takes_no_payment_by_its_amount() {
    let inputs = invoiced(&[("R-20261", 5_000), ("R-20262", 5_000)]);
    for (payments, expect) in [
        (
            vec![(5_000, "R-20261"), (5_000, ""), (1, "")],
            vec![("payment_unknown", 5_000), ("payment_unknown", 1)],
        ),
        (vec![(5_000, "R-20261"), (7_000, "R-20262"), (-2_000, "")], vec![]),
        // Nor by its quote.
        (vec![(10_000, "Q-2026-0000")], vec![("overpaid", 5_000)]),
    ] {
        let payments = (20..).zip(payments).map(|(on, (minor, words))| (on, paid(&inputs, minor, words)));
        let (_, books) = booked(inputs.clone(), &payments.collect::<Vec<_>>());
        let double = ("invoice_double", 5_000);
        assert_eq!(reasons(&books), [vec![double], expect].concat());
    }
}

/// It takes back more than its invoice asks for: an answer that names it is of what is left of it.
#[test]
fn an_answer_for_a_credit_note_is_of_what_is_left_of_it() {
    let inputs = invoiced(&[("R-1", 5_000), ("G-1", -6_000)]);
    let back = [(20, paid(&inputs, -1_000, ""))];
    let (mut inputs, _) = booked(inputs, &back);
    let part = Part { invoice: "G-1".into(), currency: currency("EUR"), minor: -1_000 };
    let (place, payment) = (place("decided_payments.csv", 2), id(FIRST, 1));
    inputs.decisions = vec![Decision::Payment { place, payment, towards: vec![part] }];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("charged_less", -6_000)]);
}

/// They name the first invoice, and so does the one in its place, which is none of them.
#[test]
fn what_comes_in_the_place_of_an_invoice_takes_nothing_of_it_back() {
    let mut inputs = invoiced(&[("R-1", 5_000), ("G-1", -2_000), ("G-2", -3_000), ("R-2", 5_000)]);
    inputs.invoices.iter_mut().skip(1).for_each(|paper| paper.preceding = Some("R-1".into()));
    let each = [(20, paid(&inputs, 5_000, "R-2"))];
    assert_eq!(reasons(&booked(inputs, &each).1), []);
}

/// It is no credit note, of which it would be told that it is to another.
#[test]
fn an_invoice_of_nothing_takes_nothing_back() {
    let mut inputs = invoiced(&[("R-1", 5_000), ("R-2", 0)]);
    inputs.invoices[1].buyer = Trader { name: "Somebody else".into(), vat_id: None, country: None }.into();
    let each = [(20, paid(&inputs, 5_000, "R-1"))];
    assert_eq!(reasons(&booked(inputs, &each).1), []);
}

#[test]
fn what_moves_nothing_in_its_currency_stands_on_neither_side() {
    let mut journal = Journal::default();
    let source = Source { event: Event::Payment, document: "1".into(), party: None };
    let posting = |role, minor, base_minor| Posting { role, currency: currency("CHF"), minor, base_minor };
    let postings =
        [posting(Role::Bank, 500, 544), posting(Role::Unapplied, -500, -543), posting(Role::Exchange, 0, -1)];
    journal.post(source, day(1), day(1), postings).unwrap();
    let charts = Charts::default();
    let lines = columns::lines(&journal, &charts, currency("EUR")).map(|line| line.unwrap());
    assert_eq!(lines.map(|line| line[7..9].join("|")).collect::<Vec<_>>(), ["5.00|", "|5.00", "|"]);
}

/// Twelve invoices of one customer, who names one of another: more than a question tells, and all in question. Of each is
/// owed what is beyond the payment, as far as it is no rounding.
#[test]
fn all_that_a_payment_may_be_for_are_in_question() {
    let firms = customers();
    for (net, left) in [(5_000, 0), (5_002, 0), (5_003, -3)] {
        let mut inputs = empty();
        sell(&mut inputs, 0, direct(5_000, 0, 3, firms[0].clone()));
        (1..=12).for_each(|number| sell(&mut inputs, number, direct(net, number, 3, firms[1].clone())));
        let (_, books) = booked(inputs, &[(20, payment(5_000, &firms[1], &invoice_number(0)))]);
        assert_eq!(books.undecided.iter().map(|one| one.why).collect::<Vec<_>>(), [Why::OtherPayer]);
        let owed = vec![("unpaid", left); if left == 0 { 0 } else { 12 }];
        assert_eq!(reasons(&books), owed, "{net}");
    }
}

/// Each of the twelve was paid too much, and as much goes out by the number of another's: any may be what goes back.
#[test]
fn all_that_may_go_back_are_in_question() {
    let firms = customers();
    let mut inputs = empty();
    sell(&mut inputs, 0, direct(5_000, 0, 3, firms[0].clone()));
    let mut each = vec![(19, payment(5_000, &firms[0], &invoice_number(0)))];
    for number in 1..=12 {
        sell(&mut inputs, number, direct(5_000, number, 3, firms[1].clone()));
        each.push((19, payment(5_700, &firms[1], &invoice_number(number))));
    }
    each.push((20, payment(-700, &firms[1], &invoice_number(0))));
    let (_, books) = booked(inputs, &each);
    assert_eq!(books.undecided.iter().map(|one| one.why).collect::<Vec<_>>(), [Why::OtherPayer]);
    assert_eq!(reasons(&books), []);
}

/// More than are tried together; each is a part, and the last is all that is left. It was for nothing known, and the
/// invoice was not paid.
#[test]
fn the_last_of_many_parts_is_all_that_is_left() {
    let inputs = sold(&[2_600]);
    let all: Vec<_> = (10..36).map(|on| (on, payment(100, &inputs.agreed[0].sales[0].buyer, ""))).collect();
    let (_, books) = booked(inputs, &all);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
}

/// On the day of the first payment the first invoice asks for 100.00 since that day, and goes on to longer than the second.
#[test]
fn a_credit_note_of_the_day_itself_is_not_the_next() {
    let mut inputs = crate::booked::sold(&[11_000, 10_000]);
    for (of, number, minor, on) in [(0, "G-1", 1_000, 20), (0, "G-2", 3_000, 40), (1, "G-3", 3_000, 30)] {
        let mut credit = invoice(&inputs.agreed[of], of, 0, &groups(1, minor), minor);
        (credit.kind, credit.preceding) = (InvoiceKind::CreditNote, Some(credit.number));
        (credit.number, credit.issued, credit.due) = (number.into(), day(on), None);
        inputs.invoices.push(credit);
    }
    let (_, books) = booked(inputs.clone(), &[20, 35].map(|on| (on, paid(&inputs, 10_000, ""))));
    let mut told = reasons(&books);
    told.sort_unstable();
    let less = [("charged_less", -4_000), ("charged_less", -3_000)];
    assert_eq!((told, books.undecided.len()), ([less, [("overpaid", 3_000); 2]].concat(), 0));
}

/// A bank may book it. Two parts beside it are all of the first invoice, and the second is paid by its number.
#[test]
fn a_payment_of_nothing_is_no_part_of_anything() {
    let inputs = crate::booked::sold(&[5_000, 6_000]);
    let stranger = Firm { id: "X".into(), name: "A Stranger".into(), vat_id: None };
    let number = invoice_number(1);
    for words in ["", &*number, "Q-2026-0001"] {
        for nothing in [paid(&inputs, 0, words), payment(0, &stranger, words)] {
            let parts = [(19, 1_000, ""), (20, 4_000, ""), (21, 6_000, &*number)];
            let parts = parts.map(|(on, minor, words)| (on, paid(&inputs, minor, words)));
            let (_, books) = booked(inputs.clone(), &[&parts[..], &[(22, nothing)]].concat());
            assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0), "{words}");
        }
    }
}

/// A courier's bill is his; of our invoices we are the seller, which goes without saying.
#[test]
fn a_change_says_whose_it_is() {
    let mut inputs = sold(&[5_000]);
    inputs.courier_bills.push(CourierBill {
        place: place("june.csv", 2),
        courier: "Swift Cart".into(),
        bill: "C-77".into(),
        consignment: "0815".into(),
        quote: "Q-1".into(),
        leg: Leg::In,
        carried: day(9),
        currency: currency("EUR"),
        net_minor: 1_860,
    });
    inputs.closings.push(reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap());
    inputs.courier_bills[0].leg = Leg::Out;
    inputs.invoices[0].due = Some(day(25));
    let books = reconcile(&inputs).unwrap();
    let all = changes(&books.changed, &books.restated, currency("EUR"));
    let mut all: Vec<_> = all.iter().map(|one| (one.what.word(), one.party)).collect();
    all.sort_unstable();
    assert_eq!(all, [("courier_bill", Some("Swift Cart")), ("invoice", None)]);
}
