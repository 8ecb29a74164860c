//! What is told twice counts once, and what contradicts itself is refused.

use std::sync::Arc;

use evenfare_engine::category::Work;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::{Charge, InvoiceKind, Statement, WorkDone};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::{BankAccount, Decision};
use evenfare_reconcile::{Inputs, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::booked::{booked, reasons};
use crate::faults::month;
use crate::world::{Plan, agreed, charge, currency, day, empty, invoice, payment, place, plans};

/// A sale by way of P-10, who invoices his buyer and has the invoice in his list too, under one number.
fn told_both_ways() -> Inputs {
    let mut inputs = empty();
    let plan =
        Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1, 0, 0], day: 3, ..Plan::default() };
    let of = agreed(&plan, 0);
    let ours = invoice(&of, 0, 0, &of.sales[0].vat, of.sales[0].net.minor());
    let theirs = invoice(&of, 0, 1, &of.sales[1].vat, 90_000);
    let row = charge(&of, 0, 1, &of.sales[1].vat, 90_000);
    inputs.charges.push(Charge { invoice: theirs.number.clone(), ..row });
    inputs.invoices.extend([ours, theirs]);
    inputs.agreed.push(of);
    // Nothing is due yet.
    inputs.terms.until = day(12);
    inputs
}

#[test]
fn a_paper_that_is_told_in_two_ways_is_one_paper() {
    let both = told_both_ways();
    let books = reconcile(&both).unwrap();
    assert_eq!((reasons(&books), books.warnings.len()), (vec![], 0));
    let check = |change: &dyn Fn(&mut Inputs), expect: &[(&str, i64)]| {
        let mut inputs = both.clone();
        change(&mut inputs);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), expect);
    };
    // One of them may name no quote, or spell the number otherwise.
    check(&|inputs| inputs.invoices[1].quote = None, &[]);
    check(&|inputs| inputs.charges[0].quote = "the mixer".into(), &[]);
    check(&|inputs| inputs.charges[0].invoice = inputs.charges[0].invoice.to_lowercase().into(), &[]);
    // Where it is not as agreed, its quote is known by the list alone.
    check(
        &|inputs| {
            let (paper, row) = (&mut inputs.invoices[1], &mut inputs.charges[0]);
            (paper.quote, paper.net_minor, paper.gross_minor) = (None, 91_000, 108_290);
            (row.net_minor, row.vat_minor) = (91_000, 17_290);
        },
        &[("charged_more", 1_000)],
    );
    // What the invoice says of VAT is looked at, of which the list says only how much.
    check(&|inputs| inputs.invoices[1].vat[0].rate = "18".parse().ok(), &[("vat_rate", 0)]);
    // With another number it is a second one.
    check(&|inputs| inputs.charges[0].invoice = "P-10/2".into(), &[("invoice_double", 107_100)]);
    // Two invoices that spell theirs in two ways are two.
    check(
        &|inputs| {
            let mut other = inputs.invoices[1].clone();
            (other.number, other.place) = ("p10 r 2026 00000".into(), place("other.xml", 1));
            inputs.invoices.push(other);
            inputs.charges[0].invoice = "P-10/2".into();
        },
        &[("invoice_double", 107_100), ("invoice_double", 107_100)],
    );
    // The number of another partner is another number.
    check(&|inputs| inputs.charges[0].partner = "P-11".parse().unwrap(), &[("invoice_unknown", 107_100)]);
    // What takes back a part is told in both ways too.
    check(
        &|inputs| {
            let (mut paper, mut row) = (inputs.invoices[1].clone(), inputs.charges[0].clone());
            (paper.kind, paper.number, paper.preceding) =
                (InvoiceKind::CreditNote, "C-1".into(), Some(paper.number));
            (paper.quote, paper.net_minor, paper.gross_minor) = (None, 1_000, 1_190);
            (row.invoice, row.net_minor, row.vat_minor) = ("C-1".into(), -1_000, -190);
            inputs.invoices.push(paper);
            inputs.charges.push(row);
        },
        &[("charged_less", -1_000)],
    );
    // Who sends it again notes that he does.
    for vat_id in [None, both.invoices[1].seller.vat_id.clone()] {
        check(
            &|inputs| {
                let mut copy = inputs.invoices[1].clone();
                (Arc::make_mut(&mut copy.seller).vat_id, copy.place) = (vat_id.clone(), place("copy.xml", 1));
                copy.references = vec!["Duplicate".into()].into_boxed_slice();
                copy.other_preceding = vec!["R-1".into()].into_boxed_slice();
                inputs.invoices.push(copy);
            },
            &[],
        );
    }
    // A seller who is written with his VAT identifier and without it is one.
    check(
        &|inputs| {
            let mut copy = inputs.invoices[1].clone();
            (Arc::make_mut(&mut copy.seller).vat_id, copy.place) = (None, place("copy.xml", 1));
            inputs.invoices.push(copy);
        },
        &[],
    );
}

#[test]
fn an_invoice_of_several_quotes_is_told_by_the_rows_of_its_list() {
    let mut inputs = told_both_ways();
    let plan =
        Plan { partners: 1, net: 30_000, percents: [10, 0], vat: [1, 0, 0], day: 3, ..Plan::default() };
    let mut second = agreed(&plan, 2);
    second.sales[1].buyer = inputs.agreed[0].sales[1].buyer.clone();
    inputs.invoices.push(invoice(&second, 2, 0, &second.sales[0].vat, second.sales[0].net.minor()));
    let row = charge(&second, 2, 1, &second.sales[1].vat, 30_000);
    inputs.charges.push(Charge { invoice: inputs.charges[0].invoice.clone(), ..row });
    inputs.agreed.push(second);
    let both = &mut inputs.invoices[1];
    (both.net_minor, both.gross_minor, both.vat[0].base_minor, both.vat[0].tax_minor) =
        (120_000, 142_800, 120_000, 22_800);
    for quote in [None, Some("q-2026-0000".into())] {
        inputs.invoices[1].quote = quote;
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
    }
    // Of one of them that is not as agreed it is told, and of that one alone.
    inputs.charges[1].net_minor += 1_000;
    inputs.invoices[1].net_minor += 1_000;
    inputs.invoices[1].gross_minor += 1_000;
    inputs.charges[1].vat_minor = 5_890;
    inputs.invoices[1].gross_minor += 190;
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("charged_more", 1_000)]);
}

#[test]
fn tellings_that_contradict_each_other_are_refused_with_both_places() {
    let check = |change: &dyn Fn(&mut Inputs), expect: &str| {
        let mut inputs = told_both_ways();
        change(&mut inputs);
        let refused = reconcile(&inputs).unwrap_err();
        assert_eq!(refused.code(), "said_twice");
        assert_eq!(refused.to_string(), expect);
    };
    let invoice = "theirs.xml:1: found `invoice P-10/R-2026-00000`, expected the same in both tellings of it: \
                   here 2026-06-04, 900.00 EUR before VAT, 1071.00 EUR with it, for q-2026-0000; at charges.csv:1";
    check(
        &|inputs| inputs.charges[0].net_minor = 90_001,
        &format!("{invoice} 2026-06-04, 900.01 EUR before VAT, 1071.01 EUR with it, for Q 2026 0000"),
    );
    check(
        &|inputs| (inputs.charges[0].net_minor, inputs.charges[0].vat_minor) = (90_001, 17_099),
        &format!("{invoice} 2026-06-04, 900.01 EUR before VAT, 1071.00 EUR with it, for Q 2026 0000"),
    );
    check(
        &|inputs| inputs.charges[0].issued = day(4),
        &format!("{invoice} 2026-06-05, 900.00 EUR before VAT, 1071.00 EUR with it, for Q 2026 0000"),
    );
    check(
        &|inputs| inputs.charges[0].currency = currency("CHF"),
        &format!("{invoice} 2026-06-04, 900.00 CHF before VAT, 1071.00 CHF with it, for Q 2026 0000"),
    );
    let other = |inputs: &mut Inputs| {
        let mut other = inputs.agreed[0].clone();
        other.number = "Q-2026-0007".into();
        inputs.agreed.push(other);
        inputs.charges[0].quote = "Q-2026-0007".into();
    };
    check(
        &other,
        &format!("{invoice} 2026-06-04, 900.00 EUR before VAT, 1071.00 EUR with it, for Q-2026-0007"),
    );
    // A person's word is what it is for.
    let mut decided = told_both_ways();
    other(&mut decided);
    let number = decided.charges[0].invoice.clone();
    let (place, quote) = (place("decided_invoices.csv", 2), Some("Q-2026-0000".into()));
    decided.decisions = vec![Decision::Invoice { place, seller: "P-10".into(), number, quote }];
    assert!(reconcile(&decided).is_ok());
}

/// Both counted, and what named the number paid neither.
#[test]
fn two_invoices_of_one_number_are_refused_with_both_places() {
    for (seller_says_vat, expect) in [(true, "name"), (false, "number and seller")] {
        let mut inputs = told_both_ways();
        let mut other = inputs.invoices[0].clone();
        (other.place, other.net_minor, other.gross_minor) = (place("z.xml", 7), 1_000, 1_000);
        if !seller_says_vat {
            Arc::make_mut(&mut other.seller).vat_id = None;
        }
        inputs.invoices.push(other);
        let refused = reconcile(&inputs).unwrap_err();
        assert_eq!(refused.code(), "said_twice");
        let told = format!("expected the same as at z.xml:7, which has the same {expect}");
        assert_eq!(refused.to_string(), format!("ours.xml:1: found `invoice R-2026-00000`, {told}"));
    }
}

#[test]
fn a_closed_month_knows_a_paper_by_either_telling() {
    let june: Month = "2026-06".parse().unwrap();
    let [invoices, rows]: [fn(&mut Inputs); 2] =
        [|inputs| drop(inputs.invoices.remove(1)), |inputs| inputs.charges.clear()];
    for closed in [invoices, rows, |_| {}] {
        let mut inputs = told_both_ways();
        closed(&mut inputs);
        inputs.terms.until = june.last_day();
        let closing = reconcile(&inputs).unwrap().close(june).unwrap();
        let mut later = told_both_ways();
        later.closings.push(closing);
        later.terms.until = june.next().last_day();
        assert_eq!(reconcile(&later).unwrap().restated, []);
        // It is gone where neither is there.
        later.charges.clear();
        later.invoices.truncate(1);
        assert_eq!(reconcile(&later).unwrap().restated.len(), 1);
    }
}

#[test]
fn an_account_that_there_are_statements_of_is_the_workshops() {
    let payer = told_both_ways().agreed[0].sales[0].buyer.clone();
    let (mut inputs, _) =
        booked(told_both_ways(), &[(3, payment(5_000, &payer, "")), (33, payment(6_000, &payer, ""))]);
    // By number the first is of June; by its place the other.
    let [june, july] = inputs.statements.as_mut_slice() else { panic!() };
    (june.place, july.place) = (place("b.xml", 4), place("a.xml", 7));
    let listed = |line, account: &str, firm: &str| {
        let place = place("bank_accounts.csv", line);
        BankAccount { place, account: account.into(), firm: firm.into() }
    };
    inputs.terms.accounts = vec![listed(2, "DE02120300000000202051", "workshop"), listed(3, "DE99", "P-10")];
    assert!(reconcile(&inputs).is_ok());
    inputs.terms.accounts.extend([
        listed(4, "de02 1203 0000 0000 2020 51", "P-10"),
        listed(5, "DE02-120300000000202051", "FR0"),
    ]);
    let refused = reconcile(&inputs).unwrap_err();
    assert_eq!(refused.code(), "said_twice");
    let told: Vec<String> = refused.slips().iter().map(ToString::to_string).collect();
    let expected = "expected `workshop`, as the statement at a.xml:7 is of that account";
    assert_eq!(
        told,
        [
            format!("bank_accounts.csv:4: found `DE02120300000000202051 of P-10`, {expected}"),
            format!("bank_accounts.csv:5: found `DE02120300000000202051 of FR0`, {expected}"),
        ]
    );
}

/// A statement is another one as soon as anything of it is, in its head or in one of its payments.
#[test]
fn statements_of_one_name_say_the_same_or_are_refused() {
    let payer = told_both_ways().agreed[0].sales[0].buyer.clone();
    let (inputs, _) = booked(told_both_ways(), &[(3, payment(5_000, &payer, ""))]);
    let refused = |change: &dyn Fn(&mut Statement)| {
        let mut inputs = inputs.clone();
        let mut copy = inputs.statements[0].clone();
        copy.place = place("copy.xml", 8);
        change(&mut copy);
        inputs.statements.push(copy);
        let refused = reconcile(&inputs).err()?;
        Some(refused.slips().iter().map(ToString::to_string).collect::<Vec<_>>())
    };
    let read_elsewhere = |copy: &mut Statement| {
        copy.batches[0].place.line = 9;
        copy.batches[0].payments[0].place.line = 10;
    };
    assert_eq!(refused(&read_elsewhere), None);
    let told =
        "camt.xml:1: found `statement S2026-06`, expected the same as at copy.xml:8, which has the same name";
    let changes: [&dyn Fn(&mut Statement); 5] = [
        &|copy: &mut Statement| copy.currency = currency("CHF"),
        &|copy: &mut Statement| {
            (copy.opening.minor, copy.closing.minor) = (copy.opening.minor + 1, copy.closing.minor + 1)
        },
        &|copy: &mut Statement| copy.batches[0].payments[0].remittance = "for the flowers".into(),
        &|copy: &mut Statement| copy.batches[0].booked = day(2),
        &|copy: &mut Statement| copy.batches.clear(),
    ];
    for (number, change) in changes.into_iter().enumerate() {
        assert_eq!(refused(change), Some(vec![told.to_owned()]), "{number}");
    }
}

#[test]
fn work_was_done_on_one_day() {
    let done = |on| WorkDone {
        place: place("work_done.csv", usize::try_from(on).unwrap()),
        quote: "Q-2026-0000".into(),
        work: Work::Removal,
        done: day(on),
    };
    let mut inputs = told_both_ways();
    inputs.work_done = vec![done(4), WorkDone { place: place("work_done.csv", 9), ..done(4) }];
    assert!(reconcile(&inputs).is_ok());
    inputs.work_done.push(done(5));
    assert!(matches!(reconcile(&inputs), Err(Unreconciled::SaidTwice(slips)) if slips.len() == 1));
}

/// One export has the opposite entry already, an older one does not.
#[test]
fn what_one_telling_of_a_quote_says_was_taken_back_was_taken_back() {
    for taken_back in 0..2 {
        let mut inputs = told_both_ways();
        inputs.agreed.extend(inputs.agreed.clone());
        inputs.agreed[taken_back].reversed = Some(day(8));
        let told = [("invoice_reversed", 81_000), ("invoice_reversed", 107_100)];
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), told, "{taken_back}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// An invoice that stands in a list as well says what the list says of it, or both places are told.
    #[test]
    fn whatever_two_tellings_contradict_is_refused(plans in plans(), which in any::<Index>(), how in 0..5_usize, by in 1_i64..1_000) {
        let mut plans = plans;
        (plans[0].partners, plans[0].sends_invoices, plans[0].is_listed_too) = (1, true, true);
        let mut inputs = month(&plans, &[]).inputs;
        let numbers: Vec<Box<str>> = inputs.invoices.iter().map(|one| one.number.clone()).collect();
        let mut both: Vec<&mut Charge> = inputs.charges.iter_mut().filter(|row| numbers.contains(&row.invoice)).collect();
        let at = which.index(both.len());
        let row = &mut both[at];
        match how {
            0 => row.net_minor += by,
            1 => row.vat_minor += by,
            2 => (row.net_minor, row.vat_minor) = (row.net_minor + by, row.vat_minor - by),
            3 => row.issued = row.issued.pred_opt().unwrap(),
            _ => row.currency = currency("CHF"),
        }
        let (place, number) = (row.place.clone(), row.invoice.clone());
        let invoice = inputs.invoices.iter().find(|one| one.number == number).unwrap().place.clone();
        let refused = reconcile(&inputs).unwrap_err();
        let [slip] = refused.slips() else { panic!("{refused:?}") };
        prop_assert_eq!((slip.code, &slip.place), ("said_twice", &invoice));
        let listed = format!("; at {}:{} ", place.file, place.line);
        prop_assert!(slip.expected.contains(&listed), "{}", slip.expected);
    }
}
