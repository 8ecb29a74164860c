//! What was invoiced, held against what was agreed: at the bounds of rounding, and from which paper a difference has
//! its day and its currency.

use chrono::NaiveDate;
use evenfare_engine::money::{Gross, Net, Vat};
use evenfare_engine::supply::{VatCategory, VatGroup};
use evenfare_reconcile::input::{Invoice, InvoiceKind, InvoiceVat};
use evenfare_reconcile::{Inputs, reconcile};

use crate::booked::reasons;
use crate::world::{Plan, agreed, charge, currency, day, empty, invoice};

/// A direct sale of 50.00 with 9.50 of VAT, and its papers: number, day, net and VAT. Nothing is due yet.
fn invoiced(papers: &[(&str, u64, i64, i64)]) -> Inputs {
    let mut inputs = empty();
    let of = agreed(&Plan { net: 5_000, day: 9, ..Plan::default() }, 0);
    for &(number, on, net, tax) in papers {
        let mut paper = invoice(&of, 0, 0, &of.sales[0].vat, net.abs());
        (paper.vat[0].base_minor, paper.vat[0].tax_minor) = (net.abs(), tax.abs());
        let kind = if net < 0 { InvoiceKind::CreditNote } else { InvoiceKind::Invoice };
        let gross_minor = net.abs() + tax.abs();
        inputs.invoices.push(Invoice { number: number.into(), kind, issued: day(on), gross_minor, ..paper });
    }
    inputs.agreed.push(of);
    inputs.terms.until = day(20);
    inputs
}

#[test]
fn what_rounding_explains_is_told_as_rounding() {
    // Two cents are allowed of net and of VAT, each by itself.
    for (net, tax, expect) in [
        (5_000, 950, vec![]),
        (5_002, 950, vec![("rounding", 2)]),
        (4_998, 950, vec![("rounding", -2)]),
        (5_003, 951, vec![("charged_more", 3)]),
        (4_997, 949, vec![("charged_less", -3)]),
        (5_000, 952, vec![("rounding", 2)]),
        (5_000, 953, vec![("vat_amount", 3)]),
        (5_000, 947, vec![("vat_amount", -3)]),
        (5_002, 952, vec![("rounding", 4)]),
        // The two make up for one another, and still the net is not as agreed.
        (5_001, 949, vec![("rounding", 1)]),
        (4_999, 951, vec![("rounding", -1)]),
        (5_003, 953, vec![("charged_more", 3), ("rounding", 2)]),
    ] {
        let books = reconcile(&invoiced(&[("R-1", 9, net, tax)])).unwrap();
        assert_eq!(reasons(&books), expect, "{net} and {tax}");
    }
}

/// 30.00 of work and 20.00 of goods, which are two categories: all of it was taken for work, and nothing was told.
#[test]
fn each_category_has_what_was_agreed_of_it() {
    let sold = || {
        let mut inputs = invoiced(&[("R-1", 9, 5_000, 0)]);
        let plan = Plan { net: 5_000, vat: [3; 3], day: 9, ..Plan::default() };
        inputs.agreed[0] = agreed(&plan, 0);
        inputs.invoices[0] = invoice(&inputs.agreed[0], 0, 0, &inputs.agreed[0].sales[0].vat, 5_000);
        inputs
    };
    let told = [("vat_category", 0)];
    for (work, expect) in [
        (3_000, &[][..]),
        (5_000, &told),
        (0, &told),
        (2_000, &told),
        (2_998, &[]),
        (2_997, &told),
        (3_003, &told),
    ] {
        let mut inputs = sold();
        let vat = &mut inputs.invoices[0].vat;
        (vat[0].base_minor, vat[1].base_minor) = (work, 5_000 - work);
        vat.retain(|group| group.base_minor != 0);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), expect, "{work}");
    }
    // In two parts, one of each; and with a credit note of a part of both, for which the first was more.
    let mut inputs = sold();
    let whole = inputs.invoices[0].clone();
    let part = |number: &str, on, bases: [i64; 2]| {
        let net = bases[0] + bases[1];
        let mut paper = Invoice { number: number.into(), issued: day(on), net_minor: net, ..whole.clone() };
        (paper.gross_minor, paper.payable_minor) = (net, net);
        (paper.vat[0].base_minor, paper.vat[1].base_minor) = (bases[0], bases[1]);
        paper
    };
    inputs.invoices = vec![part("R-1", 8, [3_000, 0]), part("R-2", 9, [0, 2_000])];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
    let kind = InvoiceKind::CreditNote;
    for (back, expect) in [([400, 600], &[][..]), ([600, 400], &told)] {
        let credit = Invoice { kind, ..part("G-1", 10, back) };
        inputs.invoices = vec![part("R-1", 8, [3_400, 2_600]), credit];
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), expect, "{back:?}");
    }
    // A list says of no category.
    let plan =
        Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1, 3, 3], day: 9, ..Plan::default() };
    let of = agreed(&plan, 2);
    inputs.charges.push(charge(&of, 2, 1, &of.sales[1].vat, 90_000));
    inputs.invoices = vec![invoice(&of, 2, 0, &of.sales[0].vat, of.sales[0].net.minor())];
    inputs.agreed = vec![of];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
}

/// Some programs write a group for every rate they know, also where nothing is of it.
#[test]
fn a_group_of_nothing_is_of_no_rate() {
    for (tax, expect) in [(0, vec![]), (1, vec![("vat_rate", 1)])] {
        let mut inputs = invoiced(&[("R-1", 9, 5_000, 950)]);
        let paper = &mut inputs.invoices[0];
        let own = paper.vat[0].clone();
        paper.vat.push(InvoiceVat { rate: "7".parse().ok(), base_minor: 0, tax_minor: tax, ..own });
        paper.gross_minor += tax;
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), expect, "{tax}");
    }
}

type Group<'g> = (VatCategory, Option<&'g str>, i64, i64);

/// A sale of such groups, and an invoice of each of these on its day.
fn of_groups(groups: &[Group<'_>], papers: &[(u64, &[Group<'_>])]) -> Inputs {
    let mut inputs = invoiced(&[("R-1", 4, 10_000, 0)]);
    let sale = &mut inputs.agreed[0].sales[0];
    sale.vat = groups
        .iter()
        .map(|&(category, rate, base, tax)| VatGroup {
            category,
            rate: rate.map(|rate| rate.parse().unwrap()),
            base: Net::from_minor(base).unwrap(),
            tax: Vat::from_minor(tax).unwrap(),
        })
        .collect();
    let sum = |groups: &[Group<'_>]| groups.iter().fold([0, 0], |sum, one| [sum[0] + one.2, sum[1] + one.3]);
    let [net, tax] = sum(groups);
    (sale.net, sale.gross) = (Net::from_minor(net).unwrap(), Gross::from_minor(net + tax).unwrap());
    let whole = inputs.invoices.remove(0);
    for (number, &(on, groups)) in papers.iter().enumerate() {
        let [net_minor, tax] = sum(groups);
        let own = groups.iter().map(|&(category, rate, base_minor, tax_minor)| InvoiceVat {
            category: Some(category),
            rate: rate.map(|rate| rate.parse().unwrap()),
            base_minor,
            tax_minor,
            ..whole.vat[0].clone()
        });
        inputs.invoices.push(Invoice {
            number: format!("R-{number}").into(),
            issued: day(on),
            net_minor,
            gross_minor: net_minor + tax,
            payable_minor: net_minor + tax,
            vat: own.collect(),
            ..whole.clone()
        });
    }
    inputs
}

/// All of it was invoiced as what is without VAT, or at the lower rate: it was told to be a slip of the pen.
#[test]
fn what_moves_from_one_group_to_another_takes_its_vat_along() {
    use VatCategory::{AE, S};
    let reversed = (AE, Some("0"), 6_000, 0);
    let (high, low) = ((S, Some("23"), 4_000, 920), (S, Some("8"), 6_000, 480));
    for (agreed, paper, told) in [
        ([reversed, high], vec![(AE, Some("0"), 10_000, 0)], vec![("vat_category", -920)]),
        ([reversed, high], vec![(S, Some("23"), 10_000, 2_300)], vec![("vat_category", 1_380)]),
        ([low, high], vec![(S, Some("8"), 10_000, 800)], vec![("vat_rate", -600)]),
        ([low, high], vec![low, (S, Some("23"), 4_000, 900)], vec![("vat_amount", -20)]),
        // Beside a group of nothing.
        ([low, high], vec![(S, Some("8"), 10_000, 800), (S, Some("7"), 0, 0)], vec![("vat_rate", -600)]),
        ([low, high], vec![low, high], vec![]),
    ] {
        let books = reconcile(&of_groups(&agreed, &[(4, &paper)])).unwrap();
        assert_eq!(reasons(&books), told, "{paper:?}");
    }
    // Of three groups.
    let three = of_groups(
        &[reversed, high, (S, Some("8"), 2_000, 160)],
        &[(4, &[reversed, (S, Some("23"), 6_000, 1_380)])],
    );
    assert_eq!(reasons(&reconcile(&three).unwrap()), [("vat_category", 300)]);
}

/// What one group has too much another lacks, on one invoice or on two. The sum was right, and nothing was told.
#[test]
fn vat_of_a_group_is_held_against_its_own_base() {
    let groups = |apart: i64| {
        let low = (VatCategory::S, Some("8"), 6_000, 480 + apart);
        [low, (VatCategory::S, Some("23"), 4_000, 920 - apart)]
    };
    let agreed = groups(0);
    for (apart, told) in [(5, vec![("vat_amount", 0)]), (-5, vec![("vat_amount", 0)]), (2, vec![])] {
        let wrong = groups(apart);
        let inputs = of_groups(&agreed, &[(4, &wrong)]);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), told, "{apart}");
        let inputs = of_groups(&agreed, &[(4, &wrong[..1]), (6, &wrong[1..])]);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), told, "{apart}");
    }
    // Of another net than agreed as well, and of a part of it.
    let part = [(VatCategory::S, Some("8"), 5_000, 405), (VatCategory::S, Some("23"), 4_000, 915)];
    let told = reasons(&reconcile(&of_groups(&agreed, &[(4, &part)])).unwrap());
    assert_eq!(told, [("vat_amount", 0), ("charged_less", -1_000)]);
    // Of less than agreed it is of what there is; of as much, what was agreed, whatever the rate would come to.
    let part = [(VatCategory::S, Some("8"), 5_000, 400), agreed[1]];
    let told = reasons(&reconcile(&of_groups(&agreed, &[(4, &part)])).unwrap());
    assert_eq!(told, [("charged_less", -1_000)]);
    let rounded = [agreed[0], (VatCategory::S, Some("23"), 4_000, 925)];
    assert_eq!(reasons(&reconcile(&of_groups(&rounded, &[(4, &rounded)])).unwrap()), []);
}

/// What is not subject to VAT stands on an invoice of its own (EN 16931, BR-O-11). Until the other one came VAT of a share
/// of the first was told to be missing.
#[test]
fn of_a_sale_in_two_invoices_each_has_the_vat_of_its_own() {
    use VatCategory::{O, S};
    let groups = [(O, None, 6_000, 0), (S, Some("19"), 4_000, 760)];
    for number in [0, 1] {
        let first = groups[number..=number].to_vec();
        let mut inputs = of_groups(&groups, &[(4, &first)]);
        inputs.terms.until = day(8);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
        // What never comes is less; and of its own base VAT is told as before.
        inputs.terms.until = day(9);
        let less = ("charged_less", first[0].2 - 10_000);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), [less]);
        inputs.invoices[0].vat[0].tax_minor += 5;
        inputs.invoices[0].gross_minor += 5;
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("vat_amount", 5), less]);
    }
    let both = of_groups(&groups, &[(4, &groups[..1]), (6, &groups[1..])]);
    assert_eq!(reasons(&reconcile(&both).unwrap()), []);
}

/// A free repair that somebody charges for: there is no base to share VAT out by, and for one such paper the whole month was
/// refused.
#[test]
fn what_was_to_cost_nothing_is_charged_for() {
    for (kind, expect) in
        [(0, vec![("charged_more", 5_000)]), (1, vec![("charged_more", 5_000), ("vat_category", 950)])]
    {
        let mut inputs = invoiced(&[("R-1", 9, 5_000, 950)]);
        let sale = agreed(&Plan { net: 0, vat: [kind; 3], day: 9, ..Plan::default() }, 0).sales;
        inputs.agreed[0].sales = sale;
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), expect);
        // Of nothing there is nothing to tell, nor where nothing was agreed of VAT.
        inputs.invoices.clear();
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
    }
    let mut inputs = invoiced(&[("R-1", 9, 5_000, 0)]);
    inputs.agreed[0].sales = agreed(&Plan { net: 0, vat: [1; 3], day: 9, ..Plan::default() }, 0).sales;
    inputs.agreed[0].sales[0].vat.clear();
    inputs.invoices[0].vat.clear();
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("charged_more", 5_000)]);
}

/// On a day before it was taken back a quote stands.
#[test]
fn what_is_taken_back_later_stands() {
    let mut inputs = invoiced(&[("R-1", 9, 5_000, 950)]);
    inputs.agreed[0].reversed = Some(day(15));
    for (until, expect) in [(14, vec![]), (15, vec![("invoice_reversed", 5_950)])] {
        inputs.terms.until = day(until);
        assert_eq!(reasons(&reconcile(&inputs).unwrap()), expect, "{until}");
    }
}

#[test]
fn a_difference_is_of_the_day_of_its_last_paper() {
    // It was to be written on the tenth, whenever it was.
    let told = |papers: &[(&str, u64, i64, i64)]| -> Vec<NaiveDate> {
        let books = reconcile(&invoiced(papers)).unwrap();
        books.differences.iter().map(|found| found.difference.day).collect()
    };
    assert_eq!(told(&[("R-1", 4, 6_000, 1_140)]), [day(4)]);
    assert_eq!(told(&[("R-1", 12, 4_000, 760)]), [day(12)]);
    assert_eq!(told(&[("R-1", 4, 7_000, 1_330), ("G-1", 6, -1_000, -190)]), [day(6)]);
    // Of what is less, of which another part might have come, and of what is missing, the day it was to be written on; not
    // before.
    assert_eq!(told(&[("R-1", 4, 4_000, 760)]), [day(9)]);
    assert_eq!(told(&[("R-1", 4, 5_000, 950), ("G-1", 6, -1_000, -190)]), [day(9)]);
    assert_eq!(told(&[]), [day(9)]);
    let mut inputs = invoiced(&[]);
    inputs.terms.until = day(9);
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("invoice_missing", -5_950)]);
    inputs.terms.until = day(8);
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
}

#[test]
fn another_currency_is_told_in_that_of_the_invoice() {
    let inputs = invoiced(&[("R-1", 9, 5_000, 950), ("G-1", 9, -1_000, -190)]);
    for (paper, expect) in [(0, 5_950), (1, -1_190)] {
        let mut inputs = inputs.clone();
        inputs.invoices[paper].currency = currency("USD");
        let books = reconcile(&inputs).unwrap();
        let told = &books.differences[0].difference;
        assert_eq!((told.reason.code(), told.amount_minor), ("currency", expect));
        assert_eq!((told.currency, &*told.documents[1].number), (currency("USD"), ["R-1", "G-1"][paper]));
    }
}
