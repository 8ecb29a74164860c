//! Which papers settle what a month was closed with: those that bear on it and can, and no others.

use evenfare_reconcile::difference::{Document, Paper, Reason};
use evenfare_reconcile::input::{Charge, CourierBill, Invoice, InvoiceKind, Leg, Payment};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::Settled;
use evenfare_reconcile::terms::{Decision, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::own;
use crate::world::bank::Account;
use crate::world::{
    Plan, agreed, charge, currency, day, empty, groups, invoice, invoice_number, payment, place,
};

fn months() -> [Month; 2] {
    ["2026-06", "2026-07"].map(|month| month.parse().unwrap())
}

/// Direct sales without VAT to one customer.
fn sold(nets: &[i64]) -> Inputs {
    let mut inputs = own::sold(nets);
    let (buyer, trader) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.invoices[0].buyer.clone());
    inputs.agreed.iter_mut().for_each(|of| of.sales[0].buyer = buyer.clone());
    inputs.invoices.iter_mut().for_each(|paper| paper.buyer = trader.clone());
    inputs
}

fn paid(inputs: &mut Inputs, payments: &[(u64, i64, &str)]) {
    let mut account = Account::default();
    for (on, minor, words) in payments {
        let one: Payment = payment(*minor, &inputs.agreed[0].sales[0].buyer, words);
        account.book(day(*on), vec![one]);
    }
    inputs.statements = account.statements();
}

fn closed(inputs: &mut Inputs, month: Month) -> Reconciled {
    inputs.terms.until = month.last_day();
    let books = reconcile(inputs).unwrap();
    inputs.closings.push(books.close(month).unwrap());
    books
}

/// What was settled, on which day and by which papers.
type Told<'b> = (Reason, String, Vec<(Paper, &'b str)>);

fn told(books: &Reconciled) -> Vec<Told<'_>> {
    fn by(one: &Document) -> (Paper, &str) {
        (one.paper, &one.number)
    }
    let told = books.settled.iter();
    told.map(|one| (one.found.difference.reason, one.posted.to_string(), one.by.iter().map(by).collect()))
        .collect()
}

/// A quote by P-10 that we invoiced, and is not due yet.
fn by_partner() -> Inputs {
    let mut inputs = empty();
    let plan = Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() };
    let of = agreed(&plan, 0);
    let ours = invoice(&of, 0, 0, &of.sales[0].vat, 81_000);
    inputs.invoices.push(Invoice { due: Some(day(90)), ..ours });
    inputs.agreed.push(of);
    inputs
}

/// He charged 5.00 too much. The credit note names the quote; it is of July, or of June and was not there yet.
#[test]
fn a_partners_credit_note_settles_what_he_charged() {
    let [june, july] = months();
    for (on, posted) in [(45, "2026-07-16"), (20, "2026-07-01")] {
        let mut inputs = by_partner();
        let his = invoice(&inputs.agreed[0], 0, 1, &groups(1, 90_500), 90_500);
        inputs.invoices.push(his.clone());
        let told_first = closed(&mut inputs, june);
        assert_eq!(told_first.differences[0].difference.reason, Reason::ChargedMore);
        inputs.invoices.push(Invoice {
            kind: InvoiceKind::CreditNote,
            number: "G-1".into(),
            issued: day(on),
            net_minor: 500,
            gross_minor: 500,
            payable_minor: 500,
            ..his
        });
        let by_credit = [(Reason::ChargedMore, posted.to_owned(), vec![(Paper::CreditNote, "G-1")])];
        assert_eq!(told(&closed(&mut inputs, july)), by_credit);
    }
}

/// What comes in later, and the paper that it is.
type Later<'c> = (&'c dyn Fn(&mut Inputs), (Paper, &'static str));

/// In July he tells what he charged, in his list or by an invoice; or the quote is taken back.
#[test]
fn what_comes_later_settles_that_it_was_missing() {
    let [june, july] = months();
    let mut whole = by_partner();
    assert_eq!(closed(&mut whole, june).differences[0].difference.reason, Reason::InvoiceMissing);
    let of = whole.agreed[0].clone();
    let changes: [Later<'_>; 3] = [
        (
            &|inputs: &mut Inputs| {
                let row = charge(&of, 0, 1, &of.sales[1].vat, 90_000);
                inputs.charges.push(Charge { issued: day(40), ..row });
            },
            (Paper::Invoice, "7000"),
        ),
        (
            &|inputs: &mut Inputs| {
                let his = invoice(&of, 0, 1, &of.sales[1].vat, 90_000);
                inputs.invoices.push(Invoice { issued: day(40), ..his });
            },
            (Paper::Invoice, "P-10/R-2026-00000"),
        ),
        (&|inputs: &mut Inputs| inputs.agreed[0].reversed = Some(day(40)), (Paper::Quote, "Q-2026-0000")),
    ];
    for (change, by) in changes {
        let mut inputs = whole.clone();
        change(&mut inputs);
        let settled = [(Reason::InvoiceMissing, "2026-07-11".to_owned(), vec![by])];
        assert_eq!(told(&closed(&mut inputs, july)), settled);
    }
}

/// It came in for nothing known, and went back from another account: in July, or in June by a statement that came later.
#[test]
fn what_went_back_settles_what_came_in() {
    let [june, july] = months();
    let mut whole = sold(&[5_000]);
    paid(&mut whole, &[(8, 5_000, &invoice_number(0)), (9, 700, "by mistake")]);
    closed(&mut whole, june);
    for (on, statement, posted) in [(40, "S2026-07", "2026-07-11"), (20, "S2026-06", "2026-07-01")] {
        let mut inputs = whole.clone();
        paid(&mut inputs, &[(on, -700, "back")]);
        inputs.statements[0].account = own::SECOND.into();
        inputs.statements.extend(whole.statements.clone());
        let name = PaymentId { statement: statement.into(), ..own::id(own::SECOND, 1) }.to_string();
        let by_payment = [(Reason::PaymentUnknown, posted.to_owned(), vec![(Paper::Payment, &*name)])];
        assert_eq!(told(&closed(&mut inputs, july)), by_payment);
    }
}

/// One payment of June is for an invoice of June that was not there yet, and for one of July: both settle it.
#[test]
fn invoices_that_were_not_there_settle_what_was_paid_for_them() {
    let [june, july] = months();
    let mut inputs = sold(&[5_000, 6_000]);
    let mut invoices = std::mem::take(&mut inputs.invoices);
    (invoices[1].issued, inputs.agreed[1].invoice_by) = (day(31), day(31));
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    paid(&mut inputs, &[(20, 11_000, &both)]);
    closed(&mut inputs, june);
    inputs.invoices = invoices;
    let books = closed(&mut inputs, july);
    let [first, second] = [0, 1].map(invoice_number);
    let expect = [
        (Reason::InvoiceMissing, "2026-07-01".to_owned(), vec![(Paper::Invoice, &*first)]),
        (
            Reason::PaymentUnknown,
            "2026-07-02".to_owned(),
            vec![(Paper::Invoice, &*first), (Paper::Invoice, &*second)],
        ),
    ];
    assert_eq!(told(&books), expect);
}

/// The way back of the first quote.
fn bill(bill: &str, on: u64, net_minor: i64) -> CourierBill {
    CourierBill {
        place: place("couriers.csv", 2),
        courier: "Swift Cart".into(),
        bill: bill.into(),
        consignment: "0815".into(),
        quote: "Q-2026-0000".into(),
        leg: Leg::Out,
        carried: day(on),
        currency: currency("EUR"),
        net_minor,
    }
}

/// An invoice and a bill of June name a quote that was accepted in July: until then they were of nothing known.
#[test]
fn a_quote_that_is_accepted_later_settles_what_names_it() {
    let [june, july] = months();
    let mut inputs = sold(&[5_000]);
    (inputs.agreed[0].accepted, inputs.agreed[0].invoice_by) = (day(35), day(35));
    inputs.invoices[0].due = Some(day(90));
    inputs.courier_bills = vec![bill("C-77", 9, 3_900)];
    closed(&mut inputs, june);
    let of_quote = |reason| (reason, "2026-07-06".to_owned(), vec![(Paper::Quote, "Q-2026-0000")]);
    let expect = [Reason::InvoiceUnknown, Reason::CourierUnknown].map(of_quote);
    assert_eq!(told(&closed(&mut inputs, july)), expect);
}

/// Of one quote a courier billed too little, and our invoice was not paid. In July both come in.
#[test]
fn a_leg_is_settled_by_a_bill_and_a_debt_by_a_payment() {
    let [june, july] = months();
    let mut inputs = sold(&[5_000]);
    inputs.courier_bills = vec![bill("C-77", 9, 3_000)];
    closed(&mut inputs, june);
    inputs.courier_bills.push(bill("C-78", 40, 900));
    paid(&mut inputs, &[(45, 5_000, &invoice_number(0))]);
    let books = closed(&mut inputs, july);
    let name = PaymentId { statement: "S2026-07".into(), ..own::id(own::FIRST, 1) }.to_string();
    let expect = [
        (Reason::Courier, "2026-07-11".to_owned(), vec![(Paper::CourierBill, "C-78/0815")]),
        (Reason::Unpaid, "2026-07-16".to_owned(), vec![(Paper::Payment, &*name)]),
    ];
    assert_eq!(told(&books), expect);
}

/// A sale was invoiced in two parts, and neither was paid when June was closed. Of the smaller one a part is paid, and of
/// the other all.
#[test]
fn debts_of_one_quote_are_told_apart_by_their_invoices() {
    let [june, july] = months();
    let mut inputs = sold(&[5_000]);
    let of = inputs.agreed[0].clone();
    let part = |number: &str, net| {
        let paper = invoice(&of, 0, 0, &groups(1, net), net);
        Invoice { number: number.into(), ..paper }
    };
    inputs.invoices = vec![part("R-20261", 2_000), part("R-20262", 3_000)];
    closed(&mut inputs, june);
    paid(&mut inputs, &[(40, 500, "R-20261"), (41, 3_000, "R-20262")]);
    let books = closed(&mut inputs, july);
    let amounts = |one: &Settled| (one.found.difference.amount_minor, one.now_minor);
    let mut settled: Vec<_> = books.settled.iter().map(amounts).collect();
    settled.sort_unstable();
    assert_eq!(settled, [(-3_000, None), (-2_000, Some(-1_500))]);
}

/// Two payments of one invoice, of which the first took it. Then a person says that the first is for nothing: it is the
/// invoice that settles that the second was.
#[test]
fn an_answer_about_another_paper_leaves_it_to_what_was_there() {
    let [june, july] = months();
    let mut inputs = sold(&[5_000]);
    paid(&mut inputs, &[(8, 5_000, ""), (9, 5_000, "")]);
    assert_eq!(closed(&mut inputs, june).differences[0].difference.reason, Reason::PaymentUnknown);
    let (place, payment) = (place("decided_payments.csv", 2), own::id(own::FIRST, 1));
    inputs.decisions = vec![Decision::Payment { place, payment, towards: Vec::new() }];
    let number = invoice_number(0);
    let by_invoice = [(Reason::PaymentUnknown, "2026-07-01".to_owned(), vec![(Paper::Invoice, &*number)])];
    assert_eq!(told(&closed(&mut inputs, july)), by_invoice);
}

/// The invoice of June says more than the quote did; by an export of July the quote says as much.
#[test]
fn a_quote_that_says_otherwise_now_settles_what_was_charged() {
    let [june, july] = months();
    let mut inputs = sold(&[5_500]);
    inputs.invoices[0].due = Some(day(90));
    let now = inputs.agreed[0].clone();
    inputs.agreed[0] = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, 0);
    assert_eq!(closed(&mut inputs, june).differences[0].difference.reason, Reason::ChargedMore);
    inputs.agreed[0] = now;
    let by_quote = [(Reason::ChargedMore, "2026-07-01".to_owned(), vec![(Paper::Quote, "Q-2026-0000/1")])];
    assert_eq!(told(&closed(&mut inputs, july)), by_quote);
}
