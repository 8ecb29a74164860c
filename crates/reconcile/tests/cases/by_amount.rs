//! What a payment clears where more than one invoice could take it: at the bounds of each rule, and where one gives way
//! to the next.

use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::matching::{Undecided, Why};
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, paid, reasons};
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, payment, place};

/// Direct sales without VAT, each to the customer of that number, invoiced on the days of June: 4, 5, 6.
fn sold(sales: &[(usize, i64)]) -> Inputs {
    let mut inputs = empty();
    let customer =
        |number| agreed(&Plan { net: 1, vat: [1; 3], ..Plan::default() }, number).sales[0].buyer.clone();
    for (number, &(to, net)) in sales.iter().enumerate() {
        let on = 3 + u64::try_from(number).unwrap();
        let mut of = agreed(&Plan { net, vat: [1; 3], day: on, ..Plan::default() }, number);
        of.sales[0].buyer = customer(to);
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

fn stranger(minor: i64, words: &str) -> Payment {
    payment(minor, &Firm { id: "X".into(), name: "A Stranger".into(), vat_id: None }, words)
}

/// The questions: why, and the invoices that each candidate names.
fn asked(books: &Reconciled) -> Vec<(Why, Vec<Vec<String>>)> {
    let numbers = |of: &'_ Vec<Box<str>>| of.iter().map(|number| number.to_string()).collect();
    let one = |one: &Undecided| (one.why, one.candidates.iter().map(numbers).collect());
    books.undecided.iter().map(one).collect()
}

#[test]
fn what_is_named_is_cleared_in_the_order_it_is_due() {
    let inputs = sold(&[(0, 5_000), (0, 6_000)]);
    // Less than both, to one customer: it is not asked.
    let both = format!("{} {}", invoice_number(1), invoice_number(0));
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 8_000, &both))]);
    assert_eq!((reasons(&books), asked(&books)), (vec![("unpaid", -3_000)], vec![]));
    // By the number of one and the quote of the other, and by a quote beside its own invoice.
    for words in [format!("{} Q-2026-0000", invoice_number(1)), format!("{both} Q-2026-0000 Q-2026-0001")] {
        let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 11_000, &words))]);
        assert_eq!((reasons(&books), asked(&books)), (vec![], vec![]), "{words}");
    }
}

#[test]
fn an_invoice_of_a_week_after_its_payment_is_the_last_that_it_clears() {
    // Invoiced on the eleventh day.
    for (on, expect) in [(4, vec![]), (3, vec![("payment_unknown", 5_000), ("unpaid", -5_000)])] {
        for net in [5_000, 9_000] {
            // All of it, and a part.
            let mut inputs = sold(&[(0, net)]);
            inputs.invoices[0].issued = day(11);
            let (_, books) = booked(inputs.clone(), &[(on, paid(&inputs, 5_000, ""))]);
            let mut found = reasons(&books);
            found.sort_unstable();
            let mut expect = expect.clone();
            if net > 5_000 {
                expect.retain(|(reason, _)| *reason != "unpaid");
                expect.push(("unpaid", if expect.is_empty() { 5_000 - net } else { -net }));
            }
            assert_eq!(found, expect, "{net} paid on day {on}");
        }
    }
}

/// Of two payments of one amount the first was too early for the only invoice: it stays for nothing known, and the month in
/// which it was told does not take that back.
#[test]
fn a_payment_that_is_too_early_leaves_the_invoice_to_a_later_one() {
    let mut inputs = sold(&[(0, 5_000)]);
    inputs.invoices[0].issued = day(35);
    let both = [(0, paid(&inputs, 5_000, "")), (40, paid(&inputs, 5_000, ""))];
    let (_, books) = booked(inputs.clone(), &both);
    let told: Vec<_> =
        books.differences.iter().map(|one| (one.difference.reason.code(), one.difference.day)).collect();
    assert_eq!(told, [("payment_unknown", day(0))]);
    // Of two invoices of that amount the later payment may be for either: it alone is asked about.
    let mut inputs = sold(&[(0, 5_000), (0, 5_000)]);
    inputs.invoices.iter_mut().for_each(|paper| paper.issued = day(35));
    let (_, books) = booked(inputs, &both);
    assert_eq!((reasons(&books), asked(&books).len()), (vec![("payment_unknown", 5_000)], 1));
    // What is due first need not be written first.
    let mut inputs = sold(&[(0, 5_000), (0, 5_000)]);
    (inputs.invoices[0].issued, inputs.invoices[0].due) = (day(35), Some(day(36)));
    (inputs.invoices[1].issued, inputs.invoices[1].due) = (day(3), Some(day(50)));
    let (_, books) =
        booked(inputs.clone(), &[(10, paid(&inputs, 5_000, "")), (40, paid(&inputs, 5_000, ""))]);
    assert_eq!((reasons(&books), asked(&books)), (vec![], vec![]));
}

#[test]
fn a_part_is_no_more_than_what_is_left() {
    let inputs = sold(&[(0, 9_000)]);
    // The second would be too much once the first is taken off.
    let parts = [(20, paid(&inputs, 5_000, "")), (21, paid(&inputs, 4_500, ""))];
    let (_, books) = booked(inputs.clone(), &parts);
    let mut found = reasons(&books);
    found.sort_unstable();
    assert_eq!(found, [("payment_unknown", 4_500), ("unpaid", -4_000)]);
    // What goes out is no part of what is to come in.
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, -1_000, ""))]);
    let told = vec![("unpaid", -9_000), ("paid_unknown", -1_000)];
    assert_eq!((reasons(&books), asked(&books)), (told, vec![]));
    // Nor is anything a part of an invoice of which it is asked whether it is paid: that is asked too.
    let inputs = sold(&[(0, 5_000), (0, 5_000)]);
    let both = [(20, paid(&inputs, 5_000, "")), (21, paid(&inputs, 1_000, ""))];
    let (_, books) = booked(inputs.clone(), &both);
    assert_eq!((reasons(&books), asked(&books).len()), (vec![], 2));
}

/// What a stranger paid all of is not what something else was paid of: what is left of that was not told.
#[test]
fn a_stranger_is_asked_for_what_is_left_by_then() {
    let inputs = sold(&[(0, 5_000), (1, 5_000)]);
    let both = [(20, paid(&inputs, 1_000, "")), (21, stranger(5_000, ""))];
    let (_, books) = booked(inputs, &both);
    let question = (Why::EquallyGood, vec![vec![invoice_number(1)]]);
    assert_eq!((reasons(&books), asked(&books)), (vec![("unpaid", -4_000)], vec![question]));
}

#[test]
fn too_many_to_try_are_told_with_what_is_left_of_each() {
    let many: Vec<(usize, i64)> = (0..25).map(|n| (0, 1_000 + n)).collect();
    let inputs = sold(&many);
    let (_, books) = booked(inputs.clone(), &[(40, paid(&inputs, 2_003, ""))]);
    let question = &books.undecided[0];
    assert_eq!(question.why, Why::TooMany);
    let left: Vec<i64> = question.parts.iter().map(|parts| parts[0].minor).collect();
    assert_eq!(left, (1_000..1_008).collect::<Vec<_>>());
}

#[test]
fn a_reversal_gives_back_to_the_invoice_that_was_cleared() {
    let inputs = sold(&[(0, 5_000), (0, 6_000), (0, 7_000)]);
    let named = |number, minor| paid(&inputs, minor, &invoice_number(number));
    let all = [
        (18, named(0, 5_000)),
        (19, named(1, 6_000)),
        (20, named(2, 7_000)),
        (22, paid(&inputs, -6_000, "returned")),
    ];
    let (mut inputs, _) = booked(inputs.clone(), &all);
    inputs.statements[0].batches[3].reversal = true;
    let books = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&books), [("unpaid", -6_000)]);
    let unpaid = &books.differences[0].difference;
    assert_eq!(unpaid.quote.as_deref(), Some("Q-2026-0001"));
}

#[test]
fn a_reversal_repeats_what_was_sent_once() {
    let mut inputs = sold(&[(0, 111_720)]);
    let usd = currency("USD");
    (inputs.agreed[0].currency, inputs.invoices[0].currency) = (usd, usd);
    let there = Payment { instructed: Some((111_720, usd)), ..paid(&inputs, 99_000, &invoice_number(0)) };
    let back = Payment { minor: -99_000, ..there.clone() };
    let (_, books) = booked(inputs.clone(), &[(20, there.clone())]);
    assert!(!reasons(&books).iter().any(|(reason, _)| *reason == "unpaid"));
    // It is what was sent, however little came in.
    let nothing = Payment { minor: 0, ..there.clone() };
    let (_, books) = booked(inputs.clone(), &[(20, nothing)]);
    assert!(!reasons(&books).iter().any(|(reason, _)| *reason == "unpaid"));
    let (_, books) = booked(inputs, &[(20, there), (24, back)]);
    assert!(reasons(&books).contains(&("unpaid", -111_720)), "{:?}", reasons(&books));
}

#[test]
fn what_another_pays_may_be_for_an_invoice_of_his_own_that_takes_it() {
    // The first customer names the second one's invoice. Of his own one is of another currency, one is written too late,
    // and one is less than he paid.
    let mut inputs = sold(&[(0, 6_000), (1, 6_000), (0, 6_000), (0, 5_000)]);
    let usd = currency("USD");
    (inputs.agreed[0].currency, inputs.invoices[0].currency) = (usd, usd);
    inputs.invoices[2].issued = day(20);
    let other = |inputs: &Inputs, minor| [(8, paid(inputs, minor, &invoice_number(1)))];
    let (_, books) = booked(inputs.clone(), &other(&inputs, 6_000));
    assert_eq!(asked(&books), [(Why::OtherPayer, vec![vec![invoice_number(1)]])]);
    // Those that it can be for, of which one fits.
    inputs.invoices[2].issued = day(15);
    let (_, books) = booked(inputs.clone(), &other(&inputs, 6_000));
    assert_eq!(asked(&books), [(Why::OtherPayer, vec![vec![invoice_number(1)], vec![invoice_number(2)]])]);
    let (_, books) = booked(inputs.clone(), &other(&inputs, 5_500));
    assert_eq!(asked(&books), [(Why::OtherPayer, vec![vec![invoice_number(1)], vec![invoice_number(2)]])]);
    // It asks for two cents more (BT-114), and for no part of them.
    inputs.invoices[2].rounding_minor = 2;
    for (minor, fits) in [(6_002, true), (6_000, true), (6_003, false)] {
        let (_, books) = booked(inputs.clone(), &other(&inputs, minor));
        assert_eq!(asked(&books)[0].1.contains(&vec![invoice_number(2)]), fits, "{minor}");
    }
}

#[test]
fn an_account_that_paid_for_two_parties_is_nobodys() {
    let inputs = sold(&[(0, 5_000), (1, 6_000), (0, 7_000), (0, 8_000)]);
    let by =
        |minor, words: &str| Payment { party_account: Some("FR76 3000".into()), ..stranger(minor, words) };
    let last = |first: &str, second: &str, minors: [i64; 2]| {
        let all = [(10, by(minors[0], first)), (11, by(minors[1], second)), (12, by(8_000, ""))];
        booked(inputs.clone(), &all).1
    };
    // Of one party twice: it is his.
    let books = last(&invoice_number(0), &invoice_number(2), [5_000, 7_000]);
    assert_eq!((reasons(&books), asked(&books)), (vec![("unpaid", -6_000)], vec![]));
    let books = last(&invoice_number(0), &invoice_number(1), [5_000, 6_000]);
    assert_eq!(asked(&books), [(Why::EquallyGood, vec![vec![invoice_number(3)]])]);
}

#[test]
fn what_is_decided_for_a_later_invoice_waits_for_it() {
    let (mut inputs, _) = {
        let inputs = sold(&[(0, 5_000), (0, 5_000)]);
        booked(inputs.clone(), &[(8, paid(&inputs, 5_000, ""))])
    };
    inputs.invoices[1].issued = day(40);
    inputs.terms.until = day(29);
    let payment = PaymentId {
        account: "DE02 1203 0000 0000 2020 51".into(),
        statement: "S2026-06".into(),
        entry: 1,
        payment: 1,
    };
    let towards = vec![Part { invoice: invoice_number(1).into(), currency: currency("EUR"), minor: 5_000 }];
    inputs.decisions = vec![Decision::Payment { place: place("decided.csv", 2), payment, towards }];
    let books = reconcile(&inputs).unwrap();
    assert!(reasons(&books).contains(&("payment_unknown", 5_000)), "{:?}", reasons(&books));
    inputs.terms.until = day(60);
    let books = reconcile(&inputs).unwrap();
    let told: Vec<_> = books.differences.iter().map(|found| found.difference.quote.as_deref()).collect();
    assert_eq!((reasons(&books), told), (vec![("unpaid", -5_000)], vec![Some("Q-2026-0000")]));
}

#[test]
fn what_adds_up_is_cleared_where_it_adds_up_in_one_way() {
    let each = |inputs: &Inputs, minors: &[i64]| -> Vec<_> {
        (20..).zip(minors).map(|(on, minor)| (on, paid(inputs, *minor, ""))).collect()
    };
    // Two invoices, each in two parts that fit no other.
    let inputs = sold(&[(0, 5_000), (0, 7_000)]);
    let (_, books) = booked(inputs.clone(), &each(&inputs, &[1_000, 4_000, 2_500, 4_500]));
    assert_eq!((reasons(&books), asked(&books)), (vec![], vec![]));
    // One that is paid in full in two ways is asked about, payment by payment.
    let inputs = sold(&[(0, 5_000)]);
    let (_, books) = booked(inputs.clone(), &each(&inputs, &[1_000, 4_000, 2_000, 3_000]));
    assert_eq!(asked(&books), vec![(Why::EquallyGood, vec![vec![invoice_number(0)]]); 4]);
    // Of an invoice that was written too late for one of its parts, the two are no parts together.
    let mut inputs = sold(&[(0, 5_000), (0, 9_000)]);
    inputs.invoices[0].issued = day(28);
    let (_, books) =
        booked(inputs.clone(), &[(20, paid(&inputs, 1_000, "")), (22, paid(&inputs, 4_000, ""))]);
    assert_eq!((reasons(&books), asked(&books).len()), (vec![("unpaid", -1_000), ("unpaid", -4_000)], 1));
    // Nor is it one of several that are paid at once.
    let mut inputs = sold(&[(0, 5_000), (0, 9_000)]);
    inputs.invoices[0].issued = day(28);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 14_000, ""))]);
    assert!(reasons(&books).contains(&("payment_unknown", 14_000)));
}

/// Differences, and the ways of each question.
type Told = (Vec<(&'static str, i64)>, Vec<Vec<Vec<String>>>);

/// What is told, in one order, of invoices and payments by day and amount.
fn told(invoices: &[(u64, i64)], payments: &[(u64, i64)]) -> Told {
    let mut inputs = sold(&invoices.iter().map(|(_, minor)| (0, *minor)).collect::<Vec<_>>());
    for (number, (on, _)) in invoices.iter().enumerate() {
        (inputs.invoices[number].issued, inputs.invoices[number].due) = (day(*on), Some(day(*on)));
        inputs.agreed[number].invoice_by = day(*on);
    }
    inputs.terms.until = day(150);
    let all: Vec<_> = payments.iter().map(|(on, minor)| (*on, paid(&inputs, *minor, ""))).collect();
    let (_, books) = booked(inputs, &all);
    let (mut found, mut questions) = (reasons(&books), asked(&books));
    found.sort_unstable();
    questions.sort_unstable();
    assert!(questions.iter().all(|(why, _)| *why == Why::EquallyGood));
    (found, questions.into_iter().map(|(_, ways)| ways).collect())
}

/// One way: these invoices together.
fn way(numbers: &[usize]) -> Vec<String> {
    numbers.iter().map(|number| invoice_number(*number)).collect()
}

/// The first payment took what the second was for as well, by the order alone.
#[test]
fn payments_of_a_month_that_cannot_all_be_for_what_they_come_to_are_asked_about() {
    let paid = |invoices: &[i64], minors: &[i64]| {
        let invoices: Vec<_> = invoices.iter().map(|minor| (3, *minor)).collect();
        let turned: Vec<i64> = minors.iter().rev().copied().collect();
        let on = |days: [u64; 3], minors: &[i64]| {
            told(&invoices, &days.into_iter().zip(minors.iter().copied()).collect::<Vec<_>>())
        };
        let one = on([10, 11, 12], minors);
        for days in [[10, 11, 12], [10; 3]] {
            assert_eq!((on(days, minors), on(days, &turned)), (one.clone(), one.clone()), "{days:?}");
        }
        one
    };
    let three = [1_000, 2_000, 2_500];
    assert_eq!(paid(&three, &[3_000, 4_500]), (vec![], vec![vec![way(&[0, 1])], vec![way(&[1, 2])]]));
    // Of two that come to the same the second is for nothing known.
    assert_eq!(paid(&three, &[3_000, 3_000]), (vec![("payment_unknown", 3_000), ("unpaid", -2_500)], vec![]));
    // Each is for its own.
    assert_eq!(paid(&three, &[3_000, 2_500]), (vec![], vec![]));
    // Both ways of the one take a part of what the other comes to.
    let four = [1_000, 2_000, 2_500, 500];
    let (found, questions) = paid(&four, &[3_000, 4_500]);
    assert_eq!((found, questions.iter().map(Vec::len).collect::<Vec<_>>()), (vec![], vec![1, 2]));
    // One of its ways does not.
    let five = [1_000, 2_000, 2_500, 500, 700];
    assert_eq!(paid(&five, &[3_000, 1_700]), (vec![("unpaid", -2_000)], vec![]));
    // Two others take a part of each, and could both be without it.
    let six = [1_000, 7_130, 4_000, 2_300, 2_700, 6_170];
    let (found, questions) = paid(&six, &[8_130, 5_000, 8_470]);
    assert_eq!((found, questions.len()), (vec![], 3));
}

/// What was found of a month by then is not asked because of a payment of a later one.
#[test]
fn a_payment_of_a_later_month_contests_nothing() {
    let unknown = |minor, unpaid: &[i64]| {
        let unpaid = unpaid.iter().map(|minor| ("unpaid", *minor));
        ([("payment_unknown", minor)].into_iter().chain(unpaid).collect::<Vec<_>>(), Vec::new())
    };
    let all = [(3, 1_000), (3, 2_000), (33, 2_500)];
    assert_eq!(told(&all, &[(10, 3_000), (45, 4_500)]), unknown(4_500, &[-2_500]));
    // Nor if it was sent back.
    let back = told(&all.map(|(_, minor)| (3, minor)), &[(10, 3_000), (45, 4_500), (50, -4_500)]);
    assert_eq!(back, (vec![("unpaid", -2_500)], vec![]));
    let all = [(3, 6_000), (3, 4_000), (33, 6_200), (33, 2_500)];
    assert_eq!(told(&all, &[(10, 10_000), (40, 8_500)]), unknown(8_500, &[-6_200, -2_500]));
    let all = [(3, 11_000), (3, 22_500), (3, 33_000), (3, 47_700)];
    assert_eq!(told(&all, &[(10, 33_500), (12, 80_700), (75, 55_500)]), unknown(55_500, &[]));
}

/// Invoices that were paid long ago are none of too many to try.
#[test]
fn what_was_paid_in_earlier_months_hides_no_contest() {
    let (mut invoices, mut payments) = (Vec::new(), Vec::new());
    for (of, n) in (0_u64..13).zip(0_i64..) {
        let (one, other) = (701 + 37 * n * n, 313 + 11 * (n * n * n % 97));
        invoices.extend([(3 + 8 * of, one), (3 + 8 * of, other)]);
        payments.push((4 + 8 * of, one + other));
    }
    invoices.extend([(120, 1_000), (120, 2_000), (120, 2_500)]);
    payments.extend([(122, 3_000), (123, 4_500)]);
    let both = vec![vec![way(&[26, 27])], vec![way(&[27, 28])]];
    assert_eq!(told(&invoices, &payments), (vec![], both));
    // Of three weeks of a month, each with the same two sums, each payment is for those of its week.
    let weeks = [(3, 1_000), (3, 2_000), (12, 1_000), (12, 2_000), (21, 1_000), (21, 2_000)];
    assert_eq!(told(&weeks, &[(4, 3_000), (13, 3_000), (22, 3_000)]), (vec![], vec![]));
}

#[test]
fn as_many_parts_as_are_tried_clear_an_invoice() {
    // Of one more nothing is tried, so that each may be a part of either.
    for (parts, questions) in [(24, 0), (25, 25)] {
        let inputs = sold(&[(0, parts * 100), (0, 9_000)]);
        let all: Vec<_> =
            (0..u64::try_from(parts).unwrap()).map(|n| (15 + n, paid(&inputs, 100, ""))).collect();
        let (_, books) = booked(inputs, &all);
        assert_eq!(asked(&books).len(), questions, "{parts}");
    }
}

/// It names no quote, and is of who sells, to whom and how much.
#[test]
fn an_invoice_is_found_by_its_amount_forty_five_days_off_and_no_further() {
    for (on, is_known) in [(0, false), (1, true), (91, true), (92, false)] {
        let mut inputs = sold(&[(0, 5_000)]);
        (inputs.agreed[0].invoice_by, inputs.terms.until) = (day(46), day(120));
        (inputs.invoices[0].quote, inputs.invoices[0].issued) = (None, day(on));
        let found = reasons(&reconcile(&inputs).unwrap());
        assert_eq!(found.contains(&("invoice_unknown", 5_000)), !is_known, "{on}");
        assert_eq!(found.contains(&("invoice_missing", -5_000)), !is_known, "{on}");
    }
}

/// The first is a part of either.
#[test]
fn parts_of_two_invoices_of_which_one_may_be_of_either_are_asked_about() {
    let [first, second] = [0, 1].map(|number| way(&[number]));
    let ways = vec![vec![first.clone()], vec![first, second.clone()], vec![second]];
    assert_eq!(told(&[(3, 5_000), (3, 3_000)], &[(10, 1_000), (11, 4_000), (12, 2_000)]), (vec![], ways));
}

/// By a cent or two, as may be written off: it was for nothing known, or a part of a larger invoice.
#[test]
fn what_is_too_much_by_rounding_is_all_of_an_invoice() {
    let unknown = vec![("payment_unknown", 5_003), ("unpaid", -5_000)];
    for (minor, left) in [(5_002, vec![("rounding", 2)]), (5_003, unknown)] {
        assert_eq!(told(&[(3, 5_000)], &[(10, minor)]), (left, vec![]), "{minor}");
    }
    // Beside a larger one it is asked, as it is of what is too little.
    let inputs = sold(&[(0, 5_000), (0, 6_000)]);
    let question = (Why::PartOfSeveral, vec![way(&[1]), way(&[0])]);
    for minor in [4_998, 5_002, 5_003] {
        let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, minor, ""))]);
        let (left, questions) = match minor {
            5_003 => (vec![("unpaid", -5_000), ("unpaid", -997)], vec![]),
            _ => (vec![("unpaid", minor - 6_000)], vec![question.clone()]),
        };
        assert_eq!((reasons(&books), asked(&books)), (left, questions), "{minor}");
    }
    // Of ten the smallest stands behind those that are told, and is in question all the same.
    let all: Vec<(usize, i64)> = [5_000].into_iter().chain(6_000..6_009).map(|net| (0, net)).collect();
    let inputs = sold(&all);
    let (_, books) = booked(inputs.clone(), &[(20, paid(&inputs, 5_002, ""))]);
    let unpaid: Vec<i64> = reasons(&books).iter().map(|(_, minor)| *minor).collect();
    assert_eq!((asked(&books).len(), unpaid), (1, (-1_006..=-998).rev().collect()));
}
