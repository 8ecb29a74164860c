//! Who pays: a payment that says otherwise than its payer.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::{Invoice, Payment, Place};
use evenfare_reconcile::matching::Why;
use evenfare_reconcile::terms::{BankAccount, Decision};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, reasons};
use crate::held_back::decided;
use crate::world::{Plan, agreed, day, empty, invoice, invoice_number, payment};

/// Quotes of so many partners each, every one with a customer of its own, invoiced by us.
fn sold(partners: &[usize]) -> Inputs {
    let mut inputs = empty();
    for (number, &partners) in partners.iter().enumerate() {
        let net = 5_000 + 1_000 * i64::try_from(number).unwrap();
        let of = agreed(&Plan { partners, net, vat: [1; 3], day: 3, ..Plan::default() }, number);
        let sale = &of.sales[0];
        inputs.invoices.push(invoice(&of, number, 0, &sale.vat, sale.net.minor()));
        inputs.agreed.push(of);
    }
    inputs
}

fn balance(reconciled: &Reconciled, role: Role) -> i128 {
    reconciled.journal.balances().unwrap().iter().find(|(of, _)| *of == role).unwrap().1
}

/// What of 50.00 and of 60.00 is owed whatever that payment is for.
fn owed_anyway(minor: i64) -> Vec<(&'static str, i64)> {
    [5_000, 6_000].into_iter().filter(|of| *of > minor).map(|of| ("unpaid", minor - of)).collect()
}

#[test]
fn a_reference_to_the_invoice_of_another_is_asked_and_a_decision_settles_it() {
    let inputs = sold(&[0, 0]);
    let own = inputs.agreed[0].sales[0].buyer.clone();
    // The first customer names the invoice of the second: of the amount of his own, or of part of it.
    for minor in [5_000, 3_000] {
        let (mut inputs, asked) = booked(inputs.clone(), &[(8, payment(minor, &own, &invoice_number(1)))]);
        assert_eq!(asked.undecided.len(), 1);
        let question = &asked.undecided[0];
        assert_eq!((question.why, question.why.code()), (Why::OtherPayer, "other_payer"));
        assert_eq!(question.candidates, [[invoice_number(1).into()], [invoice_number(0).into()]]);
        let taken: Vec<i64> = question.parts.iter().map(|parts| parts[0].minor).collect();
        assert_eq!(taken, [minor, minor], "either reading takes the whole payment");
        assert_eq!(reasons(&asked), owed_anyway(minor), "no more of either while it is open");
        for (parts, left) in question.parts.iter().zip([
            vec![("unpaid", -5_000), ("unpaid", minor - 6_000)],
            vec![("unpaid", minor - 5_000), ("unpaid", -6_000)],
        ]) {
            inputs.decisions = vec![Decision::Payment {
                place: Place { file: "decided.csv".into(), line: 2 },
                payment: question.payment.clone().unwrap(),
                towards: parts.to_vec(),
            }];
            let decided = reconcile(&inputs).unwrap();
            assert_eq!(decided.undecided, []);
            let left: Vec<_> = left.into_iter().filter(|(_, minor)| *minor != 0).collect();
            assert_eq!(reasons(&decided), left);
        }
    }
}

fn account(account: &str, firm: &str) -> BankAccount {
    let place = Place { file: "bank_accounts.csv".into(), line: 2 };
    BankAccount { place, account: account.into(), firm: firm.into() }
}

#[test]
fn an_account_says_who_pays_before_a_name_does() {
    let mut inputs = sold(&[0, 0]);
    let (first, second) = (inputs.agreed[0].sales[0].buyer.clone(), inputs.agreed[1].sales[0].buyer.clone());
    inputs.terms.accounts = vec![account("AT61 1904", &first.id)];
    let mut paid = payment(6_000, &second, &invoice_number(1));
    assert_eq!(booked(inputs.clone(), &[(8, paid.clone())]).1.undecided, []);
    paid.party_account = Some("AT611904".into());
    let asked = booked(inputs, &[(8, paid)]).1;
    assert_eq!(asked.undecided[0].why, Why::OtherPayer);
}

#[test]
fn who_stands_on_the_route_of_a_quote_may_pay_for_it() {
    // By two partners: ours is to the first, who sells to the second, who sells to the customer.
    let mut inputs = sold(&[2]);
    inputs.terms.reporting.clear();
    let gross = inputs.invoices[0].gross_minor;
    for sale in 0..3 {
        let payer = inputs.agreed[0].sales[sale].buyer.clone();
        let (_, paid) = booked(inputs.clone(), &[(8, payment(gross, &payer, &invoice_number(0)))]);
        assert_eq!((paid.undecided.len(), reasons(&paid)), (0, vec![]), "{payer:?}");
    }
    // Of whom no paper tells, nothing is contradicted.
    let (_, paid) = booked(inputs, &[(8, payment(gross, &stranger(), &invoice_number(0)))]);
    assert_eq!((paid.undecided.len(), reasons(&paid)), (0, vec![]));
}

fn stranger() -> evenfare_reconcile::firm::Firm {
    evenfare_reconcile::firm::Firm { id: "X".into(), name: "A Stranger".into(), vat_id: None }
}

#[test]
fn whose_of_two_named_invoices_a_part_clears_is_asked() {
    let inputs = sold(&[0, 0]);
    let both = format!("{} {}", invoice_number(0), invoice_number(1));
    let number = |number| Box::<str>::from(invoice_number(number));
    // 50.00 and 60.00: of one, of the other, and a part.
    for minor in [5_000, 6_000, 3_000, 8_000, 12_000] {
        let (_, asked) = booked(inputs.clone(), &[(8, payment(minor, &stranger(), &both))]);
        let question = &asked.undecided[0];
        assert_eq!(question.why, Why::EquallyGood);
        assert_eq!(question.candidates, [vec![number(0)], vec![number(1)], vec![number(0), number(1)]]);
        for parts in &question.parts {
            assert_eq!(
                parts.iter().map(|part| part.minor).sum::<i64>(),
                minor,
                "each takes the whole payment"
            );
        }
        assert_eq!(reasons(&asked), owed_anyway(minor));
        assert_eq!(balance(&asked, Role::Receivable), 11_000);
    }
    let (_, paid) = booked(inputs.clone(), &[(8, payment(11_000, &stranger(), &both))]);
    assert_eq!((paid.undecided.len(), reasons(&paid)), (0, vec![]), "what is left of both");
    let mut back = payment(-11_000, &stranger(), &both);
    back.remittance = both.clone().into();
    let (_, back) = booked(inputs, &[(8, payment(11_000, &stranger(), &both)), (9, back)]);
    assert_eq!((back.undecided.len(), balance(&back, Role::Receivable)), (0, 11_000), "all of it went back");
}

#[test]
fn an_advance_is_held_for_who_paid_it() {
    let mut inputs = sold(&[0, 0]);
    let invoiced = std::mem::take(&mut inputs.invoices);
    inputs.terms.until = day(9);
    let quote = inputs.agreed[0].number.to_string();
    let buyers = [0, 1].map(|number: usize| inputs.agreed[number].sales[0].buyer.clone());
    let held = |reconciled: &Reconciled| -> Vec<Option<String>> {
        let transactions = reconciled.journal.transactions();
        let held =
            transactions.filter(|(_, postings)| postings.iter().any(|one| one.role == Role::Unapplied));
        held.map(|(one, _)| one.source.party.as_deref().map(str::to_owned)).collect()
    };
    let told = |reconciled: &Reconciled| -> Vec<_> {
        let of_payments = |(code, _): &(&str, i64)| *code == "payment_unknown";
        reasons(reconciled).into_iter().filter(of_payments).collect()
    };
    // Who the quote is for, and a stranger, who is taken at his word.
    for payer in [&*buyers[0], &stranger()] {
        let (mut inputs, paid) = booked(inputs.clone(), &[(8, payment(5_000, payer, &quote))]);
        assert_eq!(held(&paid), [Some(buyers[0].id.to_string())]);
        assert_eq!(told(&paid), []);
        inputs.invoices.clone_from(&invoiced);
        let paid = reconcile(&inputs).unwrap();
        assert_eq!((paid.undecided.len(), balance(&paid, Role::Unapplied)), (0, 0), "it pays the invoice");
        assert_eq!(balance(&paid, Role::Receivable), 6_000);
    }
    // Another customer: it is his, it is told, and when there is an invoice it is asked.
    let (mut other, paid) = booked(inputs.clone(), &[(8, payment(5_000, &buyers[1], &quote))]);
    assert_eq!(held(&paid), [Some(buyers[1].id.to_string())]);
    assert_eq!(told(&paid), [("payment_unknown", 5_000)]);
    other.invoices.clone_from(&invoiced);
    assert_eq!(reconcile(&other).unwrap().undecided[0].why, Why::OtherPayer);
    // Quotes of two customers, named by nobody known: whose it is cannot be said.
    let both = format!("{quote} {}", inputs.agreed[1].number);
    let (_, paid) = booked(inputs, &[(8, payment(5_000, &stranger(), &both))]);
    assert_eq!((held(&paid), told(&paid)), (vec![None], vec![("payment_unknown", 5_000)]));
}

#[test]
fn what_is_paid_too_much_is_told_on_the_day_it_was_paid() {
    let inputs = sold(&[0]);
    let payer = inputs.agreed[0].sales[0].buyer.clone();
    let twice =
        [(5, payment(5_000, &payer, &invoice_number(0))), (8, payment(5_000, &payer, &invoice_number(0)))];
    let (mut inputs, _) = booked(inputs, &twice);
    inputs.invoices[0].due = Some(day(45));
    inputs.terms.until = day(29);
    let found = reconcile(&inputs).unwrap().differences;
    assert_eq!((found[0].difference.reason.code(), found[0].difference.amount_minor), ("overpaid", 5_000));
    assert_eq!((found[0].posted, found[0].difference.day), (day(8), day(8)));
}

/// What he names of his own does not make another's quote his: it was held for that one, though he had paid it.
#[test]
fn an_advance_for_another_beside_an_own_invoice_is_asked() {
    let mut inputs = sold(&[0, 0]);
    inputs.invoices.truncate(1);
    (inputs.agreed[1].invoice_by, inputs.terms.until) = (day(30), day(20));
    let own = inputs.agreed[0].sales[0].buyer.clone();
    let words = format!("{} {}", invoice_number(0), inputs.agreed[1].number);
    let (_, books) = booked(inputs.clone(), &[(8, payment(11_000, &own, &words))]);
    let questions: Vec<Why> = books.undecided.iter().map(|one| one.why).collect();
    assert_eq!((reasons(&books), questions), (vec![], vec![Why::OtherPayer]));
    // His own quote beside it is his.
    inputs.agreed[1].sales[0].buyer = own.clone();
    let (_, books) = booked(inputs, &[(8, payment(11_000, &own, &words))]);
    assert_eq!(
        (reasons(&books), books.undecided.len(), balance(&books, Role::Unapplied)),
        (vec![], 0, -6_000)
    );
}

/// Money went to him before, by a person's word; or he named the paid invoice beside one that he paid.
#[test]
fn who_paid_nothing_of_an_invoice_is_asked_about_when_money_goes_to_him() {
    let inputs = sold(&[0, 0]);
    let stranger = |minor, words: &str| payment(minor, &stranger(), words);
    let [first, second] = [0, 1].map(invoice_number);
    let own = (10, payment(5_700, &inputs.agreed[0].sales[0].buyer, &first));
    let (mut inputs, _) =
        booked(inputs, &[own.clone(), (11, stranger(-100, "")), (12, stranger(-600, &first))]);
    inputs.decisions = vec![decided(2, &[(&first, -100)])];
    let whys = |books: &Reconciled| books.undecided.iter().map(|one| one.why).collect::<Vec<_>>();
    assert_eq!(whys(&reconcile(&inputs).unwrap()), [Why::OtherPayer]);
    inputs.decisions.clear();
    let own = (10, Payment { minor: 5_000, ..own.1 });
    let both = (11, stranger(6_000, &format!("{first} {second}")));
    let (_, books) = booked(inputs, &[own, both, (12, stranger(-600, &first))]);
    assert_eq!(whys(&books), [Why::OtherPayer]);
}

/// Of a second invoice nothing is to be paid: it is no answer.
#[test]
fn what_names_anothers_invoice_is_for_no_second_one() {
    let mut inputs = sold(&[0, 0]);
    let buyer = inputs.agreed[1].sales[0].buyer.clone();
    let twice = Invoice { number: "R-3".into(), ..inputs.invoices[1].clone() };
    inputs.invoices.push(twice);
    let all = [(8, 6_000, 1), (9, 6_000, 0)];
    let all = all.map(|(on, minor, number)| (on, payment(minor, &buyer, &invoice_number(number))));
    let (_, books) = booked(inputs, &all);
    let asked: Vec<_> = books.undecided.iter().map(|one| one.candidates.clone()).collect();
    assert_eq!(asked, [[[invoice_number(0).into()]]]);
}
