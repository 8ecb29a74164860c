//! Courier bills and work done: each told once, however many rows say it and however many months are closed.

use evenfare_engine::category::Work;
use evenfare_reconcile::difference::{Difference, Paper};
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{CourierBill, Leg, WorkDone};
use evenfare_reconcile::journal::{Event, Transaction};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::{Inputs, reconcile};
use proptest::prelude::*;

use crate::booked::{booked, reasons};
use crate::world::{Plan, agreed, charge, currency, day, empty, invoice, invoice_number, payment, place};

fn bill(consignment: &str, quote: &str, leg: Leg, net_minor: i64) -> CourierBill {
    CourierBill {
        place: place("couriers.csv", 2),
        courier: "Swift Cart".into(),
        bill: "C-77".into(),
        consignment: consignment.into(),
        quote: quote.into(),
        leg,
        carried: day(5),
        currency: currency("EUR"),
        net_minor,
    }
}

/// Two parcels of one price on one bill are two differences that are alike. The second of them was told anew by every
/// month that was closed.
#[test]
fn two_rows_that_are_alike_are_told_twice_and_not_again() {
    let mut inputs = empty();
    for consignment in ["0815", "0816"] {
        inputs.courier_bills.push(bill(consignment, "no number", Leg::In, 1_860));
    }
    let [june, july]: [Month; 2] = ["2026-06", "2026-07"].map(|month| month.parse().unwrap());
    for month in [june, july] {
        inputs.closings.push(reconcile(&inputs).unwrap().close(month).unwrap());
    }
    let books = reconcile(&inputs).unwrap();
    let told: Vec<_> =
        books.differences.iter().map(|one| (one.posted, one.difference.amount_minor)).collect();
    assert_eq!(told, [(day(5), 1_860); 2]);
    assert_eq!(inputs.closings[1].differences, []);
    // One of them is known after all: it is settled, and the other stands.
    inputs.courier_bills[0].quote = "Q-2026-0000".into();
    inputs.agreed.push(agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, 0));
    let books = reconcile(&inputs).unwrap();
    let unknown = books.differences.iter().filter(|one| one.difference.reason.code() == "courier_unknown");
    assert_eq!((unknown.count(), books.settled.len()), (1, 1));
    // A difference names the bill, a closing the consignment on it: what changed was named by neither.
    let by: Vec<_> = books.settled[0].by.iter().map(|one| (one.paper, &*one.number)).collect();
    assert_eq!(by, [(Paper::CourierBill, "C-77/0815")]);
}

/// A sale by a partner who is credited with 12.50 for the removal and 8.90 for the leg to us, invoiced and paid.
fn credited() -> Inputs {
    let mut inputs = empty();
    let plan = Plan { partners: 1, net: 100_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() };
    let of = agreed(&Plan { has_credits: true, ..plan }, 1);
    let net = |sale: usize| of.sales[sale].net.minor();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, net(0)));
    inputs.charges.push(charge(&of, 1, 1, &of.sales[1].vat, net(1)));
    let paid = payment(of.sales[0].gross.minor(), &of.sales[0].buyer, &invoice_number(1));
    inputs.agreed.push(of);
    booked(inputs, &[(10, paid)]).0
}

fn done(work: Work, quote: &str, line: usize) -> WorkDone {
    WorkDone { place: place("work_done.csv", line), quote: quote.into(), work, done: day(4) }
}

#[test]
fn a_credit_is_told_once_however_often_it_is_written_down() {
    let mut inputs = credited();
    let (removal, leg) = (("credit_for_our_work", 1_250), ("credit_for_our_work", 890));
    inputs.work_done = vec![done(Work::Removal, "Q-2026-0001", 2)];
    let books = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&books), books.differences[0].difference.day), (vec![removal], day(4)));
    // Another spells the quote in his own way.
    inputs.work_done.push(done(Work::Removal, "q 2026 0001", 3));
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [removal]);
    // The leg is on the courier's bill and among what we did.
    inputs.courier_bills.push(bill("1", "Q-2026-0001", Leg::In, 1_860));
    inputs.work_done.push(done(Work::LegIn, "Q-2026-0001", 4));
    let books = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&books), [removal, leg]);
    assert_eq!(books.differences[1].difference.documents.len(), 3, "the quote, the bill and the record");
}

/// What was taken back leaves no share, so nobody is credited with a part of one; but what was to be carried by the partner
/// is billed to us all the same.
#[test]
fn by_a_quote_that_was_taken_back_nobody_is_credited() {
    let mut inputs = credited();
    inputs.agreed[0].reversed = Some(day(6));
    inputs.work_done = [Work::Removal, Work::LegIn].map(|work| done(work, "Q-2026-0001", 2)).into();
    inputs.courier_bills.push(bill("1", "Q-2026-0001", Leg::In, 1_860));
    let books = reconcile(&inputs).unwrap();
    let all = books.differences.iter().map(|found| &found.difference);
    let others = all.filter(|one| one.reason.code() != "invoice_reversed");
    // The quote and the bill; that we carried it too changes nothing of what it cost.
    let told: Vec<_> = others.map(|one| (one.reason.code(), one.amount_minor, one.documents.len())).collect();
    assert_eq!(told, [("courier", 1_860, 2)]);
}

/// They were refused as two rows of one name that say different things.
#[test]
fn there_and_back_a_consignment_may_have_one_number() {
    let mut inputs = empty();
    let of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, 0);
    inputs.invoices.push(invoice(&of, 0, 0, &of.sales[0].vat, 5_000));
    let paid = payment(5_000, &of.sales[0].buyer, &invoice_number(0));
    inputs.agreed.push(of);
    let (mut inputs, _) = booked(inputs, &[(10, paid)]);
    let legs = [Leg::In, Leg::Out].map(|leg| bill("0815", "Q-2026-0000", leg, 3_900));
    inputs.courier_bills.extend(legs.clone());
    let books = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&books), []);
    let is_carried = |(one, _): &(&Transaction, _)| one.source.event == Event::CourierBill;
    let names = books.journal.transactions().filter(is_carried).map(|(one, _)| &*one.source.document);
    assert_eq!(names.collect::<Vec<_>>(), ["C-77/0815", "C-77/0815/out"]);
    // A closed month knows both again, and what is loaded twice counts once.
    inputs.closings.push(books.close("2026-06".parse().unwrap()).unwrap());
    inputs.courier_bills.extend(legs);
    let books = reconcile(&inputs).unwrap();
    assert_eq!((books.changed, books.restated, books.differences), (vec![], vec![], vec![]));
    // One leg that costs two amounts is refused still.
    inputs.courier_bills[1].net_minor += 1;
    assert_eq!(reconcile(&inputs).unwrap_err().code(), "said_twice");
}

/// 39.00 EUR were quoted for the leg back. Two cents are rounding, and 1 % of it may be a courier's own rate of exchange.
#[test]
fn a_leg_costs_what_was_quoted_but_for_rounding_and_rates() {
    let billed = |bills: &[(&str, i64)]| {
        let mut inputs = credited();
        for (number, (code, minor)) in bills.iter().enumerate() {
            let one = bill(&number.to_string(), "Q-2026-0001", Leg::Out, *minor);
            inputs.courier_bills.push(CourierBill { currency: currency(code), ..one });
        }
        reasons(&reconcile(&inputs).unwrap())
    };
    for (minor, told) in [
        (3_900, vec![]),
        (3_902, vec![("rounding", 2)]),
        (3_898, vec![("rounding", -2)]),
        (3_903, vec![("courier", 3)]),
        (3_897, vec![("courier", -3)]),
        (0, vec![("courier", -3_900)]),
    ] {
        assert_eq!(billed(&[("EUR", minor)]), told, "{minor}");
    }
    // 35.50 CHF are 38.61 EUR, and 35.49 CHF are 38.60 EUR.
    assert_eq!(billed(&[("CHF", 3_550)]), []);
    assert_eq!(billed(&[("CHF", 3_549)]), [("courier", -40)]);
    // One parcel of two was billed in francs, 19.30 EUR of 17.74 CHF.
    assert_eq!(billed(&[("CHF", 1_774), ("EUR", 1_940)]), []);
    assert_eq!(billed(&[("EUR", 1_940), ("CHF", 1_774)]), []);
}

/// The partner was to have it carried, and did: what the courier billed to us he took back.
#[test]
fn a_leg_that_was_billed_and_taken_back_is_no_work_of_ours() {
    let mut inputs = credited();
    inputs.courier_bills =
        vec![bill("1", "Q-2026-0001", Leg::In, 1_860), bill("2", "Q-2026-0001", Leg::In, -1_860)];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
    // Also in another currency, whose rate was another by then.
    for bill in &mut inputs.courier_bills {
        bill.currency = currency("CHF");
    }
    inputs.courier_bills[1].carried = day(20);
    let rate = |on, rate: &str| (day(on), currency("CHF"), rate.parse().unwrap());
    inputs.rates = Rates::new([rate(0, "0.9194"), rate(18, "0.9")]);
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), []);
}

/// In June 45.40 were billed for the leg back, of which 39.00 were quoted. A bill of July came to stand before that one, so
/// what June was closed with was told as settled, and told anew.
#[test]
fn what_is_billed_later_changes_what_was_told_of_a_leg() {
    let mut inputs = credited();
    let june = bill("0815", "Q-2026-0001", Leg::Out, 4_540);
    inputs.courier_bills.push(june.clone());
    inputs.closings.push(reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap());
    let later = |consignment: &str, net_minor, on| CourierBill {
        bill: "A-12".into(),
        consignment: consignment.into(),
        carried: day(on),
        net_minor,
        ..june.clone()
    };
    let settled = |inputs: &Inputs| {
        let books = reconcile(inputs).unwrap();
        let settled = books.settled.iter().map(|one| (one.found.difference.amount_minor, one.now_minor));
        (reasons(&books), settled.collect::<Vec<_>>())
    };
    // Another parcel of it; by another courier; the same parcel once more.
    for courier in ["Swift Cart", "Alpha Cart"] {
        for consignment in ["0816", "0815"] {
            let mut more = inputs.clone();
            let second = CourierBill { courier: courier.into(), ..later(consignment, 100, 40) };
            more.courier_bills.push(second);
            let expect = (vec![("courier", 740)], vec![(640, Some(740))]);
            assert_eq!(settled(&more), expect, "{courier} {consignment}");
        }
    }
    // The courier credits what was too much, or all of it: then nothing is billed any more.
    for credit in [-640, -4_540] {
        let mut less = inputs.clone();
        less.courier_bills.push(later("0815", credit, 40));
        assert_eq!(settled(&less), (vec![], vec![(640, None)]), "{credit}");
        let books = reconcile(&less).unwrap();
        let by: Vec<_> = books.settled[0].by.iter().map(|one| (one.paper, &*one.number)).collect();
        assert_eq!(by, [(Paper::CourierBill, "A-12/0815")]);
    }
    // A part of it is left; also where he writes the day of the carriage on what he gives back.
    let mut same_day = inputs.clone();
    same_day.courier_bills.push(later("0815", -600, 5));
    assert_eq!(settled(&same_day), (vec![("courier", 40)], vec![(640, Some(40))]));
    inputs.courier_bills.push(later("0815", -600, 40));
    assert_eq!(settled(&inputs), (vec![("courier", 40)], vec![(640, Some(40))]));
}

/// There is a record of it in June, and the bill comes in July; or the other way round. It was told a second time.
#[test]
fn a_credit_that_is_known_by_another_paper_is_the_same() {
    let mut record = credited();
    record.work_done.push(done(Work::LegIn, "Q-2026-0001", 4));
    let mut billed = credited();
    billed.courier_bills.push(bill("1", "Q-2026-0001", Leg::In, 1_860));
    let [both, june] = [record.clone(), billed.clone()];
    for (mut inputs, work, bills) in [(record, vec![], june.courier_bills), (billed, both.work_done, vec![])]
    {
        inputs.closings.push(reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap());
        let late = bills.into_iter().map(|bill| CourierBill { carried: day(40), ..bill });
        inputs.courier_bills.extend(late);
        inputs.work_done.extend(work);
        let books = reconcile(&inputs).unwrap();
        assert_eq!((reasons(&books), books.settled), (vec![("credit_for_our_work", 890)], vec![]));
    }
}

/// The refitting was ours and not the removal, for which as much was agreed. It was taken for what June was closed with.
#[test]
fn a_credit_for_other_work_is_another() {
    let mut inputs = credited();
    let credits = &mut inputs.agreed[0].shares[0].credits;
    let removal = credits[0].1;
    credits.push((Work::Refitting, removal));
    inputs.work_done = vec![done(Work::Removal, "Q-2026-0001", 2)];
    inputs.closings.push(reconcile(&inputs).unwrap().close("2026-06".parse().unwrap()).unwrap());
    inputs.work_done = vec![done(Work::Refitting, "Q-2026-0001", 2)];
    let books = reconcile(&inputs).unwrap();
    let settled: Vec<_> = books.settled.iter().map(|one| (&one.found.difference, one.now_minor)).collect();
    let of = |difference: &Difference| difference.documents[1].number.to_string();
    assert_eq!(
        settled.iter().map(|(one, now)| (of(one), *now)).collect::<Vec<_>>(),
        [("removal".into(), None)]
    );
    assert_eq!(
        (reasons(&books), of(&books.differences[0].difference)),
        (vec![("credit_for_our_work", 1_250)], "refitting".into())
    );
}

/// Two parcels of one price on one bill, carried in June and in July. That of June is known after all.
#[test]
fn of_two_that_are_alike_the_one_that_is_known_is_settled() {
    let mut inputs = empty();
    let june = bill("0815", "no number", Leg::Out, 3_900);
    inputs.courier_bills =
        vec![june.clone(), CourierBill { consignment: "0816".into(), carried: day(40), ..june }];
    for month in ["2026-06", "2026-07"].map(|month| month.parse::<Month>().unwrap()) {
        inputs.closings.push(reconcile(&inputs).unwrap().close(month).unwrap());
    }
    inputs.courier_bills[0].quote = "Q-2026-0000".into();
    inputs.agreed.push(agreed(&Plan { net: 5_000, vat: [1; 3], day: 80, ..Plan::default() }, 0));
    let books = reconcile(&inputs).unwrap();
    let unknown = books.differences.iter().filter(|one| one.difference.reason.code() == "courier_unknown");
    let settled = books.settled.iter().map(|one| one.found.posted);
    assert_eq!((unknown.map(|one| one.posted).collect(), settled.collect()), (vec![day(40)], vec![day(5)]));
}

/// Our quote stands on his label, so he writes it on his bill. It was asked each time whether he got a refund.
#[test]
fn what_a_courier_gets_goes_back_to_nobody() {
    let mut inputs = empty();
    let of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 5_000));
    inputs.courier_bills.push(bill("0815", "Q-2026-0001", Leg::In, 3_900));
    let paid = (10, payment(5_000, &of.sales[0].buyer, &invoice_number(1)));
    inputs.agreed.push(of);
    let courier = |name: &str, minor, words: &str| {
        payment(minor, &Firm { id: "X".into(), name: name.into(), vat_id: None }, words)
    };
    for words in ["Q-2026-0001".to_owned(), format!("C-77, {}", invoice_number(1))] {
        // Also where one looks back to a day before he carried anything.
        for (name, carried, questions) in [("SWIFT-CART", 5, 0), ("Swift Cart", 40, 0), ("Slow Cart", 5, 1)] {
            let mut inputs = inputs.clone();
            inputs.courier_bills[0].carried = day(carried);
            inputs.terms.until = day(30);
            let all = [paid.clone(), (20, courier(name, -3_900, &words))];
            let (_, books) = booked(inputs, &all);
            assert_eq!((reasons(&books), books.undecided.len()), (vec![], questions), "{name} {words}");
        }
    }
    // Who collected the money for us gives back what was too much.
    let collected =
        [(5_700, 10), (-700, 20)].map(|(minor, on)| (on, courier("Swift Cart", minor, &invoice_number(1))));
    let (_, books) = booked(inputs, &collected);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
}

/// How much more was billed of each leg than quoted, up to the end of a month.
fn apart(bills: &[CourierBill], month: Month) -> [i64; 2] {
    [Leg::In, Leg::Out].map(|leg| {
        let own = bills.iter().filter(|one| one.leg == leg && one.carried <= month.last_day());
        let own: Vec<i64> = own.map(|one| one.net_minor).collect();
        let (billed, is_any) = (own.iter().sum::<i64>(), !own.is_empty());
        let is_taken_back = billed == 0 && own.iter().any(|minor| *minor < 0);
        if is_any && !is_taken_back { billed - 3_900 } else { 0 }
    })
}

fn sorted<T: Ord>(all: impl Iterator<Item = T>) -> Vec<T> {
    let mut all: Vec<T> = all.collect();
    all.sort_unstable();
    all
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// What is told of a leg is all that was billed of it, less what was quoted, whatever comes month after month and is given
    /// back. What a month was closed with is settled where that is nothing or the other way, and else has changed.
    #[test]
    fn a_leg_is_told_by_all_that_was_billed_of_it(
        rows in prop::collection::vec((0_u64..3, any::<bool>(), any::<bool>(), 0_u8..3, -40_i64..60), 1..9),
    ) {
        let mut inputs = credited();
        let of = &mut inputs.agreed[0];
        of.leg_in = of.leg_out;
        for (number, &(month, is_out, is_swift, bill_of, net)) in rows.iter().enumerate() {
            let leg = if is_out { Leg::Out } else { Leg::In };
            let one = bill(&number.to_string(), "Q-2026-0001", leg, net * 100);
            let courier = if is_swift { one.courier.clone() } else { "Alpha Cart".into() };
            // Each leg on bills of its own: a closing keeps the bill and not the leg.
            let (bill, carried) = (format!("C-{leg:?}-{bill_of}").into(), day(5 + month * 30));
            inputs.courier_bills.push(CourierBill { courier, bill, carried, ..one });
        }
        let mut before = [0, 0];
        for month in ["2026-06", "2026-07", "2026-08"].map(|month| month.parse::<Month>().unwrap()) {
            inputs.terms.until = month.last_day();
            let books = reconcile(&inputs).unwrap();
            let now = apart(&inputs.courier_bills, month);
            let told = books.differences.iter().map(|one| one.difference.amount_minor);
            prop_assert_eq!(sorted(told), sorted(now.into_iter().filter(|minor| *minor != 0)), "{}", month);
            let settled = books.settled.iter().filter(|one| Month::of(one.posted) == month);
            let settled = settled.map(|one| (one.found.difference.amount_minor, one.now_minor));
            let gone = before.into_iter().zip(now).filter(|(was, is)| *was != 0 && was != is);
            let gone = gone.map(|(was, is)| (was, Some(is).filter(|is| was.signum() == is.signum())));
            prop_assert_eq!(sorted(settled), sorted(gone), "{}", month);
            inputs.closings.push(books.close(month).unwrap());
            before = now;
        }
    }
}

/// A bill of nothing takes nothing back: on one day it is told where it stands.
#[test]
fn a_bill_of_nothing_stands_where_it_stood() {
    let mut inputs = empty();
    inputs.agreed.push(agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, ..Plan::default() }, 0));
    for (number, net_minor) in [("C-1", 0), ("C-2", 4_540)] {
        let of = bill(number, "Q-2026-0000", Leg::Out, net_minor);
        inputs.courier_bills.push(CourierBill { bill: number.into(), ..of });
    }
    let books = reconcile(&inputs).unwrap();
    let told = books.differences.iter().map(|one| &one.difference).find(|one| one.reason.code() == "courier");
    let numbers: Vec<_> = told.unwrap().documents.iter().map(|one| &*one.number).collect();
    assert_eq!(numbers, ["Q-2026-0000", "C-1", "C-2"]);
}
