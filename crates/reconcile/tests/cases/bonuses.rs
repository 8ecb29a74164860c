//! Volume bonuses: what is posted of them, and what a partner is told.

use std::sync::Arc;

use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::columns;
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Invoice, InvoiceKind};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::BonusTier;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::booked;
use crate::world::{Plan, agreed, currency, day, empty, groups, invoice, payment};

/// A quote that goes straight to an end customer.
fn direct(net: i64, number: usize) -> Agreed {
    agreed(&Plan { net, vat: [1; 3], ..Plan::default() }, number)
}

#[test]
fn a_bonus_is_trued_up_when_a_step_is_reached() {
    // 1.5 % from 1000.00, 2.25 % from 5000.00.
    let mut inputs = empty();
    for (number, (net, days)) in [(90_000, 2), (60_000, 12), (400_000, 35)].into_iter().enumerate() {
        let mut of = direct(net, number);
        of.invoice_by = day(days);
        of.sales[0].buyer = Arc::new(Firm { id: "P-10".into(), name: "Partner P-10".into(), vat_id: None });
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    let told = |inputs: &Inputs| -> Vec<_> {
        let bonuses = reconcile(inputs).unwrap().bonuses.into_iter();
        let told = bonuses.map(|one| {
            let next = one.next.map(|next| (next.from_minor, next.missing_minor, next.percent.to_string()));
            let amounts = [one.turnover_minor, one.due_minor, one.movement_minor, one.true_up_minor];
            (one.month.to_string(), one.percent.to_string(), amounts, next)
        });
        told.collect()
    };
    let month = |month: &str, percent: &str, amounts, next: Option<(i64, i64, &str)>| {
        let next = next.map(|(from, missing, percent)| (from, missing, percent.to_owned()));
        (month.to_owned(), percent.to_owned(), amounts, next)
    };
    // 2.25 % of 1500.00 is 33.75, of which 22.50 were given: 11.25 more. In August nothing is invoiced.
    let second = Some((500_000, 350_000, "2.25"));
    let june = month("2026-06", "1.5", [150_000, 2_250, 2_250, 0], second);
    let july = month("2026-07", "2.25", [550_000, 12_375, 10_125, 1_125], None);
    let august = month("2026-08", "2.25", [550_000, 12_375, 0, 0], None);
    assert_eq!(told(&inputs), [june.clone(), july, august]);
    let lines = reconcile(&inputs).unwrap().bonuses.into_iter().take(2);
    let lines: Vec<String> =
        lines.map(|one| columns::bonus(&one, currency("EUR")).unwrap().join(",")).collect();
    let june_line = "P-10,2026,2026-06,1500.00,1.5,22.50,22.50,0.00,5000.00,2.25,3500.00,EUR";
    assert_eq!(lines, [june_line, "P-10,2026,2026-07,5500.00,2.25,123.75,101.25,11.25,,,,EUR"]);
    // A month that is not over has none.
    let mut early = inputs.clone();
    early.terms.until = day(20);
    assert_eq!(told(&early), []);
    // An invoice of June is there when June is closed already: it counts from July, and is trued up there.
    let late = early.invoices.remove(0);
    early.terms.until = day(29);
    let closing = reconcile(&early).unwrap().close("2026-06".parse().unwrap()).unwrap();
    early.closings.push(closing);
    early.invoices.push(late);
    early.terms.until = inputs.terms.until;
    let june = month("2026-06", "0", [60_000, 0, 0, 0], Some((100_000, 40_000, "1.5")));
    let july = month("2026-07", "2.25", [550_000, 12_375, 12_375, 3_375], None);
    assert_eq!(told(&early)[..2], [june, july]);
}

/// Whoever has bought nothing yet is told how far it is to the first step; a step of another year is none.
#[test]
fn a_bonus_says_how_far_the_next_step_is() {
    let mut inputs = empty();
    let of = direct(90_000, 1);
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 90_000));
    inputs.agreed.push(of);
    let mut later = inputs.terms.bonuses[0].clone();
    (later.year, later.from_minor) = (2027, 0);
    inputs.terms.bonuses.push(later);
    let bonuses = reconcile(&inputs).unwrap().bonuses;
    let told: Vec<_> = bonuses.iter().map(|one| (&*one.partner, one.year, one.turnover_minor)).collect();
    assert_eq!(told, [("P-10", 2026, 0); 3]);
    assert!(bonuses.iter().all(|one| one.next.is_some_and(|next| next.missing_minor == 100_000)));
}

/// The list of bonuses may change; what a partner was told of a closed month stays, and what it gives otherwise is posted
/// in the open one.
#[test]
fn a_closed_month_shows_the_step_that_it_was_closed_with() {
    let mut inputs = empty();
    for (number, days) in [(0, 2), (1, 35)] {
        let mut of = direct(150_000, number);
        of.invoice_by = day(days);
        of.sales[0].buyer = Arc::new(Firm { id: "P-10".into(), name: "Partner P-10".into(), vat_id: None });
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, 150_000));
        inputs.agreed.push(of);
    }
    let books = reconcile(&inputs).unwrap();
    inputs.closings.push(books.close("2026-06".parse().unwrap()).unwrap());
    let june = books.bonuses[0].clone();
    assert_eq!((june.percent.to_string(), june.next.unwrap().from_minor), ("1.5".to_owned(), 500_000));
    // Agreed since: more from another turnover on; for another partner as well; and nothing at all.
    let mut more = inputs.clone();
    (more.terms.bonuses[0].percent, more.terms.bonuses[1].from_minor) = ("2".parse().unwrap(), 200_000);
    let mut other = more.clone();
    other.terms.bonuses.push(BonusTier { partner: "P-20".into(), ..other.terms.bonuses[0].clone() });
    let mut none = inputs.clone();
    none.terms.bonuses.clear();
    for (changed, july) in [
        (&inputs, ("1.5", 2_250, 0)),
        (&more, ("2.25", 4_500, 1_125)),
        (&other, ("2.25", 4_500, 1_125)),
        (&none, ("0", -2_250, -2_250)),
    ] {
        let books = reconcile(changed).unwrap();
        assert_eq!(books.bonuses[0], june, "{july:?}");
        let own: Vec<_> = books.bonuses.iter().filter(|one| one.partner == june.partner).collect();
        let told = (&*own[1].percent.to_string(), own[1].movement_minor, own[1].true_up_minor);
        assert_eq!((own[1].month.to_string().as_str(), told), ("2026-07", july));
        let others = books.bonuses.iter().filter(|one| one.partner != june.partner);
        assert!(others.into_iter().all(|one| one.month > june.month), "none was agreed then");
    }
    // A closing from before steps were kept: by the list of now.
    more.closings[0].bonuses = None;
    more.closings[0].digest = more.closings[0].digest_now();
    let old = reconcile(&more).unwrap();
    assert_eq!((old.bonuses[0].percent.to_string(), old.bonuses[0].due_minor), ("2".to_owned(), 2_250));
}

/// A buyer of that code.
fn partner(code: &str) -> Arc<Firm> {
    Arc::new(Firm { id: code.into(), name: format!("Partner {code}").into(), vat_id: None })
}

#[test]
fn what_is_bought_counts_for_its_partner_and_its_year_alone() {
    let mut inputs = empty();
    let step = inputs.terms.bonuses[0].clone();
    inputs.terms.bonuses = [("P-10", 2026), ("P-11", 2026), ("P-10", 2027)]
        .map(|(code, year)| BonusTier { partner: code.into(), year, ..step.clone() })
        .into();
    inputs.terms.until = day(250);
    inputs.terms.payment_days = 300;
    // Each is below the step of 1000.00 but for the first one.
    for (number, (code, net, on)) in
        [("P-10", 200_000, 2), ("P-11", 90_000, 3), ("P-10", 90_000, 220)].into_iter().enumerate()
    {
        let mut of = direct(net, number);
        (of.invoice_by, of.sales[0].buyer) = (day(on), partner(code));
        let paper = invoice(&of, number, 0, &of.sales[0].vat, net);
        inputs.invoices.push(Invoice { due: None, ..paper });
        inputs.agreed.push(of);
    }
    let owed = |books: &Reconciled| {
        let balances = books.journal.balances().unwrap();
        balances.iter().find(|(role, _)| *role == Role::BonusPayable).unwrap().1
    };
    assert_eq!(owed(&reconcile(&inputs).unwrap()), -3_000);
    // He is paid after the month is over; not before it is, nor is another paid out of it.
    for (code, on, left) in [("P-10", 30, 0), ("P-10", 20, -3_000), ("P-11", 30, -3_000)] {
        let (_, books) = booked(inputs.clone(), &[(on, payment(-3_000, &partner(code), "bonus"))]);
        assert_eq!(owed(&books), left, "{code} on day {on}");
    }
}

/// 2.25 % of 6000.00 that were sold in December, of which 1500.00 are credited in January: the year's step is another then,
/// and what was told at the end of December stands.
#[test]
fn a_credit_note_counts_for_the_year_of_its_sale() {
    let mut inputs = empty();
    let next_year = inputs.terms.bonuses.clone().into_iter().map(|step| BonusTier { year: 2027, ..step });
    inputs.terms.bonuses.extend(next_year.collect::<Vec<_>>());
    inputs.terms.until = day(250);
    let mut sold = |number, net, on| {
        let mut of = direct(net, number);
        (of.invoice_by, of.sales[0].buyer) = (day(on), partner("P-10"));
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    };
    sold(0, 600_000, 200);
    sold(1, 200_000, 220);
    let credit = |inputs: &Inputs, of: usize, minor: i64, number: &str| {
        let paper = invoice(&inputs.agreed[of], of, 0, &groups(1, minor), minor);
        let (kind, preceding) = (InvoiceKind::CreditNote, Some(paper.number.clone()));
        Invoice { kind, number: number.into(), preceding, issued: day(223), due: None, ..paper }
    };
    let told = |inputs: &Inputs| -> Vec<(i32, String, [i64; 3])> {
        let bonuses = reconcile(inputs).unwrap().bonuses.into_iter().filter(|one| &*one.partner == "P-10");
        let last = bonuses.filter(|one| one.month >= "2026-12".parse().unwrap());
        let amounts = |one: &Earned| [one.turnover_minor, one.due_minor, one.movement_minor];
        last.map(|one| (one.year, one.month.to_string(), amounts(&one))).collect()
    };
    let row = |year, month: &str, amounts| (year, month.to_owned(), amounts);
    let december = row(2026, "2026-12", [600_000, 13_500, 13_500]);
    let january = row(2027, "2027-01", [200_000, 3_000, 3_000]);
    assert_eq!(told(&inputs), [december.clone(), january.clone()]);
    // Of December's sale.
    let mut of_december = inputs.clone();
    of_december.invoices.push(credit(&inputs, 0, 150_000, "G-1"));
    let less = row(2026, "2027-01", [450_000, 6_750, -6_750]);
    assert_eq!(told(&of_december), [december.clone(), less.clone(), january.clone()]);
    // December is closed by then: the same.
    for month in ["2026-12", "2027-01"] {
        let month: Month = month.parse().unwrap();
        let mut early = of_december.clone();
        early.terms.until = month.last_day();
        of_december.closings.push(reconcile(&early).unwrap().close(month).unwrap());
    }
    let books = reconcile(&of_december).unwrap();
    assert_eq!((told(&of_december), books.changed), (vec![december.clone(), less, january.clone()], vec![]));
    // Of January's.
    let mut of_january = inputs.clone();
    of_january.invoices.push(credit(&inputs, 1, 50_000, "G-1"));
    let less = row(2027, "2027-01", [150_000, 2_250, 2_250]);
    assert_eq!(told(&of_january), [december.clone(), less]);
    // Taken back whole and invoiced again, December's sale stays December's; without the second invoice nothing is left.
    inputs.invoices.push(credit(&inputs, 0, 600_000, "G-1"));
    let none = row(2026, "2027-01", [0, 0, -13_500]);
    assert_eq!(told(&inputs), [december.clone(), none, january.clone()]);
    let same = row(2026, "2027-01", [600_000, 13_500, 0]);
    // Also where it is of the credit note's own day, whatever its number is.
    for (number, on) in [("R-2027-1", 224), ("R-2027-1", 223), ("A-2027-1", 223)] {
        let mut again = inputs.clone();
        let own = Invoice { number: number.into(), issued: day(on), ..inputs.invoices[0].clone() };
        again.invoices.push(own.clone());
        assert_eq!(told(&again), [december.clone(), same.clone(), january.clone()], "{number} on {on}");
        // And once more.
        let preceding = Some(own.number.clone());
        again.invoices.push(Invoice {
            preceding,
            issued: day(on),
            number: "G-2".into(),
            ..credit(&inputs, 0, 600_000, "")
        });
        again.invoices.push(Invoice { number: "A-2027-0".into(), ..own });
        assert_eq!(told(&again), [december.clone(), same.clone(), january.clone()], "{number} on {on} again");
    }
}
