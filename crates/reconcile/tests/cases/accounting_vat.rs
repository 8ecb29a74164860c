//! VAT that an invoice in another currency says in that of the books: it is what is posted.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::{AccountingVat, Invoice, InvoiceKind};
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;

use crate::world::bank::Account;
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, payment};

/// 2001.89 USD with 19 % VAT of 380.36 USD, invoiced on 4 June, when a euro is 1.1172 USD; from 20 June it is
/// 1.0500.
fn in_dollars() -> Inputs {
    let plan = Plan { net: 200_189, day: 3, in_dollars: true, ..Plan::default() };
    let of = agreed(&plan, 1);
    let mut inputs = empty();
    let rate = |on, rate: &str| (day(on), currency("USD"), rate.parse().unwrap());
    inputs.rates = Rates::new([rate(0, "1.1172"), rate(19, "1.0500")]);
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 200_189));
    inputs.agreed.push(of);
    inputs
}

fn says(code: &str, minor: i64) -> Option<AccountingVat> {
    Some(AccountingVat { currency: currency(code), minor })
}

/// What takes back all of an invoice, on 23 June.
fn taken_back(invoice: &Invoice) -> Invoice {
    Invoice {
        kind: InvoiceKind::CreditNote,
        number: "C-1".into(),
        issued: day(22),
        due: None,
        preceding: Some(invoice.number.clone()),
        ..invoice.clone()
    }
}

/// What was posted of that document, in dollars and in euros.
fn posted(reconciled: &Reconciled, number: &str) -> Vec<(Role, i64, i64)> {
    let mut transactions = reconciled.journal.transactions();
    let is_it = |event, document: &str| event == Event::Invoice && document == number;
    let (_, postings) = transactions.find(|(one, _)| is_it(one.source.event, &one.source.document)).unwrap();
    assert_eq!(postings.iter().map(|posting| posting.base_minor).sum::<i64>(), 0);
    postings.iter().map(|posting| (posting.role, posting.minor, posting.base_minor)).collect()
}

fn balance(reconciled: &Reconciled, role: Role) -> i128 {
    let balances = reconciled.journal.balances().unwrap();
    balances.into_iter().find(|(found, _)| *found == role).map_or(0, |(_, sum)| sum)
}

#[test]
fn what_the_invoice_says_is_posted() {
    let mut inputs = in_dollars();
    // 2382.25 USD are 2132.34 EUR: of the 380.36 USD of VAT the day's rate would make 340.46.
    inputs.invoices[0].accounting_vat = says("EUR", 33_915);
    let expect = [
        (Role::Receivable, 238_225, 213_234),
        (Role::Revenue, -200_189, -(213_234 - 33_915)),
        (Role::VatPayable, -38_036, -33_915),
    ];
    assert_eq!(posted(&reconcile(&inputs).unwrap(), &invoice_number(1)), expect);
    // In a currency that is not the books' it says nothing of them.
    for said in [None, says("CHF", 31_000)] {
        inputs.invoices[0].accounting_vat = said;
        let expect = [
            (Role::Receivable, 238_225, 179_188 + 34_046),
            (Role::Revenue, -200_189, -179_188),
            (Role::VatPayable, -38_036, -34_046),
        ];
        assert_eq!(posted(&reconcile(&inputs).unwrap(), &invoice_number(1)), expect);
    }
}

#[test]
fn what_is_paid_clears_it_and_the_rest_is_exchange() {
    let mut inputs = in_dollars();
    inputs.invoices[0].accounting_vat = says("EUR", 33_915);
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    let mut account = Account::default();
    account.book(day(10), vec![payment(213_000, &buyer, &invoice_number(1))]);
    inputs.statements = account.statements();
    let reconciled = reconcile(&inputs).unwrap();
    assert_eq!(balance(&reconciled, Role::Receivable), 0);
    assert_eq!(balance(&reconciled, Role::Exchange), 234);
    assert_eq!(balance(&reconciled, Role::VatPayable), -33_915);
}

#[test]
fn a_credit_note_takes_back_what_its_invoice_posted() {
    for said in [None, says("EUR", 33_915)] {
        let mut inputs = in_dollars();
        inputs.invoices[0].accounting_vat = said;
        let credit = taken_back(&inputs.invoices[0]);
        inputs.invoices.push(credit);
        let reconciled = reconcile(&inputs).unwrap();
        let of_invoice = posted(&reconciled, &invoice_number(1));
        let turned: Vec<_> =
            of_invoice.into_iter().map(|(role, minor, base)| (role, -minor, -base)).collect();
        assert_eq!(posted(&reconciled, "C-1"), turned);
        for role in [Role::Receivable, Role::Revenue, Role::VatPayable] {
            assert_eq!(balance(&reconciled, role), 0, "{role:?}");
        }
        assert_eq!(reconciled.differences.len(), 1, "the sale is left to be invoiced");
    }
}

#[test]
fn a_credit_note_of_a_part_goes_by_the_rates_of_its_invoice() {
    let mut inputs = in_dollars();
    let mut credit = taken_back(&inputs.invoices[0]);
    (credit.net_minor, credit.gross_minor, credit.payable_minor) = (100_000, 119_000, 119_000);
    (credit.vat[0].base_minor, credit.vat[0].tax_minor) = (100_000, 19_000);
    inputs.invoices.push(credit);
    // 1000.00 and 190.00 USD by 1.1172, not by the 1.0500 of its own day.
    let expect = [
        (Role::Receivable, -119_000, -(89_509 + 17_007)),
        (Role::Revenue, 100_000, 89_509),
        (Role::VatPayable, 19_000, 17_007),
    ];
    assert_eq!(posted(&reconcile(&inputs).unwrap(), "C-1"), expect);
}

/// What it takes back beyond its invoice is worth what it would be there, and its VAT what it says.
#[test]
fn a_credit_note_of_more_than_its_invoice_says_its_vat_of_all() {
    // 1187.75 USD more than the invoice's 2382.25 are 1063.15 EUR, of which 169.75 are VAT by the rate.
    for (said, credited, revenue, vat) in [
        (says("EUR", 33_915), says("EUR", 50_000), 319_549 - 50_000, 50_000),
        (None, None, 179_188 + 89_340, 34_046 + 16_975),
    ] {
        let mut inputs = in_dollars();
        inputs.invoices[0].accounting_vat = said;
        let credit = Invoice {
            net_minor: 300_000,
            gross_minor: 357_000,
            payable_minor: 357_000,
            accounting_vat: credited,
            ..taken_back(&inputs.invoices[0])
        };
        inputs.invoices.push(credit);
        let expect = [
            (Role::Receivable, -357_000, -319_549),
            (Role::Revenue, 300_000, revenue),
            (Role::VatPayable, 57_000, vat),
        ];
        assert_eq!(posted(&reconcile(&inputs).unwrap(), "C-1"), expect);
    }
}

/// What takes back all of the net and no VAT leaves the VAT; and what takes back all, of which it calls another part net,
/// leaves no cent of the whole: its parts by the rate would be 2132.33.
#[test]
fn all_of_an_invoice_is_all_of_its_gross() {
    for (net, gross, receivable, vat) in
        [(200_189, 200_189, -179_188, 0), (199_061, 238_225, -213_234, 35_055)]
    {
        let mut inputs = in_dollars();
        let whole = taken_back(&inputs.invoices[0]);
        let credit = Invoice { net_minor: net, gross_minor: gross, payable_minor: gross, ..whole };
        inputs.invoices.push(credit);
        let posted = posted(&reconcile(&inputs).unwrap(), "C-1");
        let of = |role| posted.iter().find(|(known, ..)| *known == role).map_or(0, |(_, _, base)| *base);
        assert_eq!([of(Role::Receivable), of(Role::VatPayable)], [receivable, vat]);
    }
}

/// A credit note of these parts of an invoice, some days later.
fn taken_back_in_part(invoice: &Invoice, number: usize, net: i64, vat: i64, names_it: bool) -> Invoice {
    let mut credit = taken_back(invoice);
    credit.number = format!("C-{number}").into();
    credit.issued = day(14 + number as u64);
    credit.preceding = credit.preceding.filter(|_| names_it);
    credit.accounting_vat = None;
    (credit.net_minor, credit.gross_minor, credit.payable_minor) = (net, net + vat, net + vat);
    (credit.vat[0].base_minor, credit.vat[0].tax_minor) = (net, vat);
    credit
}

/// Shares out an amount: so many thousandths of what is left each time, the rest at the end.
fn parts(whole: i64, thousandths: &[i64]) -> Vec<i64> {
    let mut left = whole;
    let mut parts: Vec<i64> = thousandths.iter().map(|part| left * part / 1_000).collect();
    for part in &mut parts {
        *part = (*part).min(left);
        left -= *part;
    }
    parts.push(left);
    parts
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// An invoice in dollars of which some parts are credited and the others paid, in whatever order, or all of them
    /// credited: nothing is left of it on the account. Parts were converted each by itself, and left a cent.
    #[test]
    fn nothing_is_left_of_what_is_credited_and_paid_in_parts(
        shares in proptest::collection::vec(1..500_i64, 1..4),
        is_paid in proptest::collection::vec(any::<bool>(), 4),
        says_vat: bool,
        names_it: bool,
    ) {
        let mut inputs = in_dollars();
        let invoice = &mut inputs.invoices[0];
        invoice.accounting_vat = says("EUR", 33_915).filter(|_| says_vat);
        let invoice = invoice.clone();
        let buyer = inputs.agreed[0].sales[0].buyer.clone();
        let nets = parts(invoice.net_minor, &shares);
        let vats = parts(invoice.gross_minor - invoice.net_minor, &shares);
        let mut account = Account::default();
        for (number, (net, vat)) in nets.iter().copied().zip(vats).enumerate() {
            if is_paid[number] {
                let dollars = net + vat;
                let mut paid = payment(dollars * 9 / 10, &buyer, &invoice_number(1));
                paid.instructed = Some((dollars, currency("USD")));
                account.book(day(10 + number as u64), vec![paid]);
            } else {
                inputs.invoices.push(taken_back_in_part(&invoice, number, net, vat, names_it));
            }
        }
        inputs.statements = account.statements();
        let reconciled = reconcile(&inputs).unwrap();
        prop_assert_eq!(&reconciled.undecided, &[]);
        prop_assert_eq!(balance(&reconciled, Role::Receivable), 0);
        let all_credited = !is_paid[..nets.len()].contains(&true);
        if all_credited {
            prop_assert_eq!(balance(&reconciled, Role::Revenue) + balance(&reconciled, Role::VatPayable), 0);
            prop_assert_eq!(balance(&reconciled, Role::Exchange), 0);
        }
    }
}
