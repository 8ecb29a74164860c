//! What credit notes, and invoices below nothing, take off several invoices: in the currency of the books nothing is left
//! where nothing is left in theirs.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::InvoiceKind::{self, CreditNote, Invoice as Charged};
use evenfare_reconcile::input::{AccountingVat, Invoice, Payment};
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;

use crate::booked::{booked, paid, reasons};
use crate::world::{Plan, agreed, currency, day, empty, groups, invoice};

/// A direct sale without VAT, and papers of it on their days. A euro is 1.1172 USD; from 20 June it is 1.0500.
fn invoiced(code: &str, net: i64, papers: &[(&str, i64, u64, InvoiceKind)]) -> Inputs {
    let mut inputs = empty();
    let rate = |on, rate: &str| (day(on), currency("USD"), rate.parse().unwrap());
    inputs.rates = Rates::new([rate(0, "1.1172"), rate(19, "1.0500")]);
    let mut of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.currency = currency(code);
    for (number, net, on, kind) in papers {
        let paper = invoice(&of, 1, 0, &groups(1, *net), *net);
        let (kind, issued) = (*kind, day(*on));
        inputs.invoices.push(Invoice {
            number: (*number).into(),
            kind,
            issued,
            accounting_vat: None,
            ..paper
        });
    }
    inputs.agreed.push(of);
    inputs
}

fn balance(books: &Reconciled, role: Role) -> i128 {
    books.journal.balances().unwrap().iter().find(|(of, _)| *of == role).unwrap().1
}

/// It was converted by the rate of its own day, and 114.57 EUR stayed on an account on which nothing was left in dollars.
#[test]
fn one_credit_note_of_two_invoices_is_worth_what_both_are() {
    let both = [("R-20261", 200_000, 3, Charged), ("R-20262", 300_000, 20, Charged)];
    for (taken_back, left) in [(500_000, 0), (400_000, 100_000)] {
        let mut papers = both.to_vec();
        papers.push(("G-20261", taken_back, 22, CreditNote));
        let inputs = invoiced("USD", 500_000, &papers);
        let left = Payment { instructed: Some((left, currency("USD"))), ..paid(&inputs, left, "R-20262") };
        let payments = if left.minor == 0 { vec![] } else { vec![(25, left)] };
        let (_, books) = booked(inputs, &payments);
        assert_eq!(balance(&books, Role::Receivable), 0, "{taken_back}");
    }
}

/// Of two alike that name nothing apart one is taken back, and it is worth what that one was: 5000.00 USD are 4475.47 EUR of
/// the first day and 4761.90 of the second.
#[test]
fn of_two_alike_one_is_worth_nothing_any_more() {
    let two = [("R-20261", 500_000, 3, Charged), ("R-20262", 500_000, 20, Charged)];
    let mut papers = two.to_vec();
    papers.push(("G-20261", 500_000, 22, CreditNote));
    let books = reconcile(&invoiced("USD", 500_000, &papers)).unwrap();
    assert_eq!((reasons(&books), balance(&books, Role::Receivable)), (vec![("unpaid", -500_000)], 447_547));
    papers.push(("G-20262", 500_000, 23, CreditNote));
    let books = reconcile(&invoiced("USD", 500_000, &papers)).unwrap();
    let told = vec![("invoice_missing", -500_000)];
    assert_eq!((reasons(&books), balance(&books, Role::Receivable)), (told, 0));
}

/// It names both, of two days; or two credit notes do, in whichever order.
#[test]
fn what_names_two_invoices_is_worth_what_both_are() {
    let both = [("R-20261", 200_000, 3, Charged), ("R-20262", 300_000, 20, Charged)];
    for parts in [&[500_000][..], &[350_000, 150_000]] {
        for [first, second] in [["R-20261", "R-20262"], ["R-20262", "R-20261"]] {
            let credits = ["G-20261", "G-20262"].into_iter().zip(parts);
            let credits = credits.map(|(number, minor)| (number, *minor, 22, CreditNote));
            let papers: Vec<_> = both.into_iter().chain(credits).collect();
            let mut inputs = invoiced("USD", 500_000, &papers);
            for paper in inputs.invoices.iter_mut().skip(2) {
                paper.preceding = Some(first.into());
                paper.other_preceding = vec![second.into()].into_boxed_slice();
            }
            let books = reconcile(&inputs).unwrap();
            let told = vec![("invoice_missing", -500_000)];
            assert_eq!((reasons(&books), balance(&books, Role::Receivable)), (told, 0), "{first} {parts:?}");
        }
    }
}

/// The one that a credit note names is not taken back again by one that names nothing.
#[test]
fn of_two_alike_one_that_names_nothing_takes_back_the_other() {
    let papers = [
        ("R-20261", 500_000, 3, Charged),
        ("R-20262", 500_000, 20, Charged),
        ("G-20261", 500_000, 22, CreditNote),
        ("G-20262", 500_000, 23, CreditNote),
    ];
    let mut inputs = invoiced("USD", 500_000, &papers);
    inputs.invoices[2].preceding = Some("R-20262".into());
    let books = reconcile(&inputs).unwrap();
    assert_eq!(balance(&books, Role::Receivable), 0);
}

/// Some set a name or a day right by a credit note of nothing: it takes nothing off, and the books stand.
#[test]
fn a_credit_note_of_nothing_takes_nothing_off() {
    let papers = [("R-20261", 500_000, 3, Charged), ("G-20261", 0, 22, CreditNote)];
    let mut inputs = invoiced("USD", 500_000, &papers);
    inputs.invoices[1].preceding = Some("R-20261".into());
    let books = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&books), balance(&books, Role::Receivable)), (vec![("unpaid", -500_000)], 447_547));
    // Or it says that 10.00 of what was asked for are VAT.
    let papers = [("R-20261", 5_000, 3, Charged), ("G-20261", 0, 22, CreditNote)];
    let mut inputs = invoiced("EUR", 5_000, &papers);
    (inputs.invoices[1].preceding, inputs.invoices[1].net_minor) = (Some("R-20261".into()), 1_000);
    let books = reconcile(&inputs).unwrap();
    let balances = [Role::Receivable, Role::Revenue, Role::VatPayable].map(|role| balance(&books, role));
    assert_eq!(balances, [5_000, -4_000, -1_000]);
}

/// Some write an invoice below nothing in the place of a credit note. What it took back of 50.00 was made an exchange loss of
/// 10.00, of euros in the books of euros.
#[test]
fn an_invoice_below_nothing_takes_back_as_a_credit_note_does() {
    for back in [Charged, CreditNote] {
        let minor = if back == Charged { -1_000 } else { 1_000 };
        let papers = [("R-20261", 5_000, 3, Charged), ("N-20261", minor, 20, back)];
        let inputs = invoiced("EUR", 5_000, &papers);
        let (_, books) = booked(inputs.clone(), &[(22, paid(&inputs, 4_000, "R-20261"))]);
        let balances = [Role::Receivable, Role::Exchange, Role::Revenue].map(|role| balance(&books, role));
        assert_eq!((reasons(&books), balances), (vec![("charged_less", -1_000)], [0, 0, -4_000]), "{back:?}");
        // All of it: the next one is the invoice, in dollars too.
        let minor = minor * 5;
        let papers =
            [("R-20261", 5_000, 3, Charged), ("N-20261", minor, 20, back), ("R-20262", 5_000, 21, Charged)];
        for (code, worth) in [("EUR", 5_000), ("USD", 4_762)] {
            let mut inputs = invoiced(code, 5_000, &papers);
            inputs.invoices[1].preceding = Some("R-20261".into());
            let books = reconcile(&inputs).unwrap();
            let told = vec![("unpaid", -5_000)];
            assert_eq!((reasons(&books), balance(&books, Role::Receivable)), (told, worth), "{back:?}");
        }
    }
    // It is asked for by nobody, so it is not overpaid either.
    let inputs = invoiced("EUR", 5_000, &[("R-20261", 5_000, 3, Charged), ("N-20261", -7_000, 20, Charged)]);
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("charged_less", -7_000)]);
}

/// Of two credit notes of halves one says its VAT in euros, by another rate. What it took is taken: together they take back
/// the VAT of the invoice, and no cent of it is left to be owed to the state.
#[test]
fn what_a_credit_note_says_of_vat_the_next_one_does_not_take_again() {
    let plan = Plan { net: 200_000, day: 3, in_dollars: true, ..Plan::default() };
    let of = agreed(&plan, 1);
    let mut inputs = empty();
    let says = |minor| Some(AccountingVat { currency: currency("EUR"), minor });
    let whole = invoice(&of, 1, 0, &of.sales[0].vat, 200_000);
    // 380.00 USD of VAT.
    let whole = Invoice { accounting_vat: says(33_915), ..whole };
    let half = |number: &str, accounting_vat| Invoice {
        number: number.into(),
        kind: CreditNote,
        preceding: Some(whole.number.clone()),
        issued: day(9),
        net_minor: 100_000,
        gross_minor: 119_000,
        accounting_vat,
        ..whole.clone()
    };
    inputs.invoices = vec![half("G-20261", says(18_112)), half("G-20262", None), whole.clone()];
    inputs.agreed.push(of);
    let books = reconcile(&inputs).unwrap();
    for role in [Role::Receivable, Role::Revenue, Role::VatPayable] {
        assert_eq!(balance(&books, role), 0, "{role:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// A sale invoiced in parts on several days, each at its rate, of which credit notes that name one of them or none take
    /// back some, and payments clear the rest: nothing is left on the account, and every transaction adds up.
    #[test]
    fn nothing_is_left_of_what_is_paid_or_taken_back(
        charged in prop::collection::vec((1_i64..200_000, 3_u64..30), 1..4),
        taken in prop::collection::vec((prop_oneof![1_i64..100, Just(100)], 0_usize..4, any::<bool>()), 1..4),
    ) {
        let whole: i64 = charged.iter().map(|(minor, _)| minor).sum();
        let mut inputs = invoiced("USD", whole, &[]);
        let papers = (1..).zip(&charged).map(|(number, (minor, on))| (format!("R-2026{number}"), *minor, *on, Charged, None));
        let mut papers: Vec<(String, i64, u64, InvoiceKind, Option<String>)> = papers.collect();
        let mut left = whole;
        for (number, (percent, of, names_it)) in (1..).zip(&taken) {
            let minor = left * percent / 100;
            left -= minor;
            let named = names_it.then(|| format!("R-2026{}", of % charged.len() + 1));
            if minor > 0 {
                papers.push((format!("G-2026{number}"), minor, 30 + number, CreditNote, named));
            }
        }
        for (number, minor, on, kind, preceding) in papers {
            let paper = invoiced("USD", whole, &[(&number, minor, on, kind)]).invoices.remove(0);
            inputs.invoices.push(Invoice { preceding: preceding.map(Into::into), ..paper });
        }
        let all: Vec<String> = (1..=charged.len()).map(|number| format!("R-2026{number}")).collect();
        let (mut inputs, _) = booked(inputs.clone(), &[(45, paid(&inputs, left.max(1), &all.join(", ")))]);
        inputs.statements.retain(|_| left > 0);
        inputs.statements.iter_mut().for_each(|statement| statement.currency = currency("USD"));
        let books = reconcile(&inputs).unwrap();
        prop_assert_eq!(balance(&books, Role::Receivable), 0, "{:?}", books.differences);
        for (one, postings) in books.journal.transactions() {
            prop_assert_eq!(postings.iter().map(|posting| posting.base_minor).sum::<i64>(), 0, "{:?}", one);
        }
        prop_assert!(!reasons(&books).iter().any(|(reason, _)| ["unpaid", "overpaid"].contains(reason)));
    }
}
