//! Money that went out to a party that is known, for nothing known: it is on the account, so it is told.

use std::sync::Arc;

use evenfare_reconcile::changed::How;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Payment};
use evenfare_reconcile::left_open::OpenKind;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, reasons};
use crate::world::{Plan, agreed, day, empty, groups, invoice, invoice_number, payment, place};

fn partner() -> Arc<Firm> {
    Arc::new(Firm { id: "P-10".into(), name: "Partner P-10".into(), vat_id: None })
}

/// 2000.00 to partner P-10, who has a bonus of 1.5 %: 30.00 at the end of June.
fn sold() -> Inputs {
    let mut inputs = empty();
    let mut of = agreed(&Plan { net: 200_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.sales[0].buyer = partner();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 200_000));
    inputs.agreed.push(of);
    inputs
}

/// The account said that he owes 30.00, and no list did.
#[test]
fn a_bonus_that_is_paid_twice_is_told() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let out = |on, minor: i64| (on, payment(-minor, &partner(), "bonus"));
    for (payments, told, owes) in [
        (vec![out(32, 3_000)], vec![], 0),
        (vec![out(32, 3_000), out(40, 3_000)], vec![("paid_unknown", -3_000)], 3_000),
        (vec![out(32, 2_000), out(40, 1_000)], vec![], 0),
        (vec![out(29, 3_000)], vec![], 0),
        // Before the month was over nothing was owed, and more than is owed is none of it.
        (vec![out(20, 3_000)], vec![("paid_unknown", -3_000)], 0),
        (vec![out(32, 3_001)], vec![("paid_unknown", -3_001)], 1),
    ] {
        let all: Vec<(u64, Payment)> = [paid.clone()].into_iter().chain(payments).collect();
        let (_, books) = booked(sold(), &all);
        assert_eq!(reasons(&books), told, "{all:?}");
        assert_eq!(books.accounts.months().last().unwrap().closing_minor, owes, "{all:?}");
    }
}

#[test]
fn what_returns_what_came_in_is_not_told_and_strangers_are_no_business() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let came = |minor| payment(minor, &partner(), "by mistake");
    let (_, books) = booked(sold(), &[paid.clone(), (11, came(700)), (12, came(-700))]);
    assert_eq!(reasons(&books), []);
    // Once it is back, the next one is for nothing.
    let (_, books) = booked(sold(), &[paid.clone(), (11, came(700)), (12, came(-700)), (13, came(-700))]);
    assert_eq!(reasons(&books), [("paid_unknown", -700)]);
    let stranger = Firm { id: "X".into(), name: "Parts Ltd".into(), vat_id: None };
    let (inputs, books) = booked(sold(), &[paid.clone(), (12, payment(-700, &stranger, "parts"))]);
    assert_eq!(reasons(&books), []);
    // What he sent by mistake, and got back, is left on no account.
    let (_, books) =
        booked(sold(), &[paid, (11, payment(700, &stranger, "")), (12, payment(-700, &stranger, ""))]);
    assert_eq!(reasons(&books), []);
    let balances = books.journal.balances().unwrap();
    assert!(balances.iter().all(|(role, minor)| *role != Role::Unapplied || *minor == 0));
    // Nothing of it is of a day that is not looked at.
    let mut early = inputs;
    early.terms.until = day(11);
    assert_eq!(reasons(&reconcile(&early).unwrap()), []);
}

/// Both were told for ever, and nothing of them was on the account.
#[test]
fn what_went_out_by_mistake_and_came_back_is_not_told() {
    let customer = agreed(&Plan { net: 1, ..Plan::default() }, 1).sales[0].buyer.clone();
    let stranger = Firm { id: "X".into(), name: "Parts Ltd".into(), vat_id: None };
    let moved = |whose: &Firm, all: &[(u64, i64)]| {
        let mut inputs = empty();
        let of = agreed(&Plan { net: 200_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
        inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 200_000));
        inputs.agreed.push(of);
        let paid = (10, payment(200_000, &customer, &invoice_number(1)));
        let others = all.iter().map(|(on, minor)| (*on, payment(*minor, whose, "by mistake")));
        booked(inputs, &[paid].into_iter().chain(others).collect::<Vec<_>>())
    };
    let (out, back) = (("paid_unknown", -700), ("payment_unknown", 700));
    for (all, told) in [
        (&[(12, -700), (15, 700)][..], vec![]),
        (&[(12, -700), (15, 700), (16, 700)], vec![back]),
        (&[(12, -700), (13, 700), (14, 700), (15, -700)], vec![]),
        (&[(12, -700), (15, 699)], vec![out, ("payment_unknown", 699)]),
    ] {
        let (_, books) = moved(&customer, all);
        assert_eq!(reasons(&books), told, "{all:?}");
        let left = told.iter().map(|(_, minor)| i128::from(-minor)).sum::<i128>();
        assert_eq!(balance(&books, Role::Unapplied), left, "{all:?}");
    }
    // What a stranger pays is told, whatever he was paid for.
    assert_eq!(reasons(&moved(&stranger, &[(12, -700), (15, 700)]).1), [back]);
    // What a partner was paid was his bonus.
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let own = [(32, -3_000), (40, 3_000)].map(|(on, minor)| (on, payment(minor, &partner(), "")));
    let (_, books) = booked(sold(), &[paid].into_iter().chain(own).collect::<Vec<_>>());
    let bonus = balance(&books, Role::BonusPayable);
    assert_eq!((reasons(&books), bonus), (vec![("payment_unknown", 3_000)], 0));
    // It settles what a month was closed with.
    let (mut inputs, _) = moved(&customer, &[(12, -700), (45, 700)]);
    let until = std::mem::replace(&mut inputs.terms.until, day(29));
    let june = reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap();
    assert_eq!(june.differences.len(), 1);
    (inputs.closings, inputs.terms.until) = (vec![june], until);
    let books = reconcile(&inputs).unwrap();
    let settled = books.settled.iter().map(|one| (one.found.difference.amount_minor, one.by.len()));
    assert_eq!((reasons(&books), settled.collect()), (vec![], vec![(-700, 1)]));
}

/// A credit note to the partner that names nothing: before VAT so much.
fn credited(inputs: &Inputs, vat: u8, net: i64, on: u64) -> Invoice {
    let vat = groups(vat, net);
    Invoice {
        kind: InvoiceKind::CreditNote,
        number: format!("G-{on}").into(),
        quote: Some("bonus of June".into()),
        is_noted: true,
        issued: day(on),
        due: None,
        ..invoice(&inputs.agreed[0], 1, 0, &vat, net)
    }
}

fn balance(books: &Reconciled, role: Role) -> i128 {
    books.journal.balances().unwrap().iter().find(|(of, _)| *of == role).unwrap().1
}

/// What is open on the partner's account at the end of a month.
fn open(books: &Reconciled, month: &str) -> Vec<(OpenKind, i64)> {
    let currency = books.accounts.months()[0].currency;
    let account = books.accounts.statement(&books.journal, "P-10", currency, month.parse().unwrap()).unwrap();
    account.open.iter().map(|one| (one.what, one.minor)).collect()
}

/// It was an invoice of nothing known, and the bonus was owed still.
#[test]
fn a_bonus_is_paid_out_by_a_credit_note() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    for (vat, gross) in [(1, 3_000), (0, 3_570)] {
        let mut inputs = sold();
        inputs.invoices.push(credited(&inputs, vat, 3_000, 32));
        let (_, books) = booked(inputs.clone(), std::slice::from_ref(&paid));
        assert_eq!(reasons(&books), []);
        // It is owed by the credit note now, with VAT; and lessened no turnover.
        let owed = [Role::BonusPayable, Role::Receivable, Role::Revenue].map(|role| balance(&books, role));
        assert_eq!(owed, [0, -i128::from(gross), -200_000]);
        let last = books.bonuses.iter().rfind(|one| &*one.partner == "P-10").unwrap();
        assert_eq!((last.turnover_minor, last.due_minor), (200_000, 3_000));
        let july: Month = "2026-07".parse().unwrap();
        let account = books.accounts.statement(&books.journal, "P-10", inputs.terms.currency, july).unwrap();
        let lines = account.lines.iter().map(|line| (line.minor, line.is_bonus_paid));
        assert_eq!(lines.collect::<Vec<_>>(), [(-gross, false), (3_000, true)]);
        assert_eq!((account.opening_minor, account.closing_minor), (-3_000, -gross));
        // In June the bonus is open, under its own name; in July what it is credited with.
        assert_eq!(open(&books, "2026-06"), [(OpenKind::Bonus, -3_000)]);
        let currency = inputs.terms.currency;
        let june = books.accounts.statement(&books.journal, "P-10", currency, "2026-06".parse().unwrap());
        assert_eq!(&*june.unwrap().open[0].document, "P-10/2026-06");
        assert_eq!(open(&books, "2026-07"), [(OpenKind::CreditNote, -gross)]);
        let month = books.accounts.months().iter().find(|one| one.month == july).unwrap();
        assert_eq!((month.invoiced_minor, month.other_minor), (-gross, 3_000));
        // And paid by that.
        let (_, books) = booked(inputs, &[paid.clone(), (40, payment(-gross, &partner(), "bonus"))]);
        assert_eq!((reasons(&books), balance(&books, Role::Receivable)), (vec![], 0));
        assert_eq!(open(&books, "2026-07"), []);
    }
    // Not what is more than is owed, nor before it is owed, nor what is paid out already: it takes off the turnover then.
    for (net, on, payments, turnover) in [
        (3_001, 32, vec![paid.clone()], 196_999),
        (3_000, 28, vec![paid.clone()], 197_000),
        (3_000, 45, vec![paid.clone(), (32, payment(-3_000, &partner(), "bonus"))], 197_000),
    ] {
        let mut inputs = sold();
        inputs.invoices.push(credited(&inputs, 1, net, on));
        let (_, books) = booked(inputs, &payments);
        assert_eq!(reasons(&books), [("invoice_unknown", -net)], "{net} on {on}");
        let last = books.bonuses.iter().rfind(|one| &*one.partner == "P-10").unwrap();
        assert_eq!(last.turnover_minor, turnover);
    }
}

/// Beside it an invoice of ours is for nothing known, and one of the partner's that has its number.
#[test]
fn what_pays_a_bonus_out_hides_nothing_else() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let mut inputs = sold();
    let credit = credited(&inputs, 1, 3_000, 32);
    let ours = credited(&inputs, 1, 700, 70);
    let ours = Invoice { kind: InvoiceKind::Invoice, number: "R-9".into(), ..ours };
    let (seller, buyer) = (ours.buyer.clone(), ours.seller.clone());
    let theirs = credited(&inputs, 1, 900, 70);
    let kind = InvoiceKind::Invoice;
    let theirs = Invoice { kind, number: credit.number.clone(), seller, buyer, ..theirs };
    inputs.invoices.extend([credit, ours, theirs]);
    let mut told = reasons(&booked(inputs, &[paid]).1);
    told.sort_unstable();
    assert_eq!(told, [("invoice_unknown", 700), ("invoice_unknown", 900)]);
}

/// Its quote was misspelled, so it was of no sale, and paid a bonus out without a word.
#[test]
fn what_refers_to_a_quote_that_nobody_knows_pays_no_bonus() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let mut inputs = sold();
    let credit = credited(&inputs, 1, 3_000, 32);
    inputs.invoices.push(Invoice { quote: Some("Q-2026-O001".into()), is_noted: false, ..credit });
    let (mut inputs, books) = booked(inputs, &[paid]);
    assert_eq!(reasons(&books), [("invoice_unknown", -3_000)]);
    assert_eq!(balance(&books, Role::BonusPayable), -2_955);
    // Without a word it is of nothing.
    let mut silent = inputs.clone();
    silent.invoices[1].quote = None;
    assert_eq!(reasons(&reconcile(&silent).unwrap()), []);
    // It was a reference of another kind: a person says that it is of nothing that was agreed.
    inputs.decisions = vec![Decision::Invoice {
        place: place("decided_invoices.csv", 2),
        seller: "workshop".into(),
        number: "G-32".into(),
        quote: None,
    }];
    let books = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&books), balance(&books, Role::BonusPayable)), (vec![], 0));
}

/// What was owed was counted before the credit notes that pay none out: he got a bonus that he had not, and nothing was told
/// or open of it.
#[test]
fn a_credit_note_that_pays_no_bonus_lessens_what_is_owed() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let bonus = (32, payment(-3_000, &partner(), "bonus"));
    // 500.00 are left of the turnover: in June, before it is paid, or in July.
    for (on, told, owes) in [
        (27, vec![("paid_unknown", -3_000)], (OpenKind::Payment, 3_000)),
        (33, vec![], (OpenKind::Bonus, 3_000)),
    ] {
        let mut inputs = sold();
        inputs.invoices.push(credited(&inputs, 1, 150_000, on));
        let back = (on + 1, payment(-150_000, &partner(), &format!("G-{on}")));
        let mut payments = [paid.clone(), bonus.clone(), back];
        payments.sort_by_key(|(on, _)| *on);
        let (_, books) = booked(inputs, &payments);
        let told: Vec<_> = [("invoice_unknown", -150_000)].into_iter().chain(told).collect();
        assert_eq!(reasons(&books), told, "{on}");
        assert_eq!(open(&books, "2026-08"), [owes], "{on}");
        let last = books.bonuses.iter().rfind(|one| &*one.partner == "P-10").unwrap();
        assert_eq!((last.turnover_minor, last.due_minor), (50_000, 0));
    }
}

/// It was told to be another paper, which a closed month does not bear.
#[test]
fn a_credit_note_that_pays_no_bonus_any_more_says_the_same() {
    let mut inputs = sold();
    inputs.invoices.push(credited(&inputs, 1, 3_000, 32));
    let (mut inputs, _) = booked(inputs, &[(10, payment(200_000, &partner(), &invoice_number(1)))]);
    let until = inputs.terms.until;
    for month in ["2026-06", "2026-07"] {
        let month: Month = month.parse().unwrap();
        inputs.terms.until = month.last_day();
        inputs.closings.push(reconcile(&inputs).unwrap().close(month).unwrap());
    }
    inputs.terms.until = until;
    // Most of the sale was taken back in June.
    let late = credited(&inputs, 1, 150_000, 18);
    inputs.invoices.push(Invoice { preceding: Some(invoice_number(1).into()), quote: None, ..late });
    let books = reconcile(&inputs).unwrap();
    let how =
        |document: &str| books.changed.iter().find(|one| *one.source.document == *document).unwrap().how;
    assert_eq!([how("G-18"), how("P-10/2026-06"), how("G-32")], [How::Late, How::Follows, How::Follows]);
    assert!(reasons(&books).contains(&("invoice_unknown", -3_000)), "{:?}", reasons(&books));
}

/// It was posted as his bonus, which he never got then.
#[test]
fn a_part_of_an_advance_that_goes_back_pays_no_bonus() {
    let mut inputs = sold();
    let mut of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 60, ..Plan::default() }, 2);
    (of.sales[0].buyer, of.accepted, of.reversed) = (partner(), day(2), Some(day(12)));
    let quote = of.number.clone();
    inputs.agreed.push(of);
    let paid = [
        (10, payment(200_000, &partner(), &invoice_number(1))),
        (11, payment(5_000, &partner(), &quote)),
        (40, payment(-3_000, &partner(), &quote)),
    ];
    let (_, books) = booked(inputs, &paid);
    assert_eq!(reasons(&books), [("overpaid", 2_000)]);
    assert_eq!((balance(&books, Role::BonusPayable), balance(&books, Role::Unapplied)), (-3_000, -2_000));
}
