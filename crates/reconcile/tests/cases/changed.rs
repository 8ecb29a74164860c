//! What changes under a closed month is told, whatever it was.

use std::collections::BTreeMap;

use evenfare_engine::money::Currency;
use evenfare_reconcile::changed::{Changed, How};
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::{CourierBill, Leg, Payment, Place};
use evenfare_reconcile::journal::{Event, Journal, Source};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::booked::paid;
use crate::faults::month;
use crate::held_back::decided;
use crate::reversed::moved;
use crate::world::bank::Account;
use crate::world::{Plan, Style, agreed, currency, day, empty, invoice, invoice_number, payment, plans};

fn june() -> Month {
    "2026-06".parse().unwrap()
}

fn closed(inputs: &Inputs) -> Inputs {
    let closing = reconcile(inputs).unwrap().close(june()).unwrap();
    Inputs { closings: vec![closing], ..inputs.clone() }
}

fn bill(consignment: &str, net_minor: i64) -> CourierBill {
    CourierBill {
        place: Place { file: "june.csv".into(), line: 2 },
        courier: "Swift Cart".into(),
        bill: "C-77".into(),
        consignment: consignment.into(),
        quote: "Q-1".into(),
        leg: Leg::In,
        carried: day(9),
        currency: currency("EUR"),
        net_minor,
    }
}

/// One direct sale, invoiced in June and, by a statement of June, paid by whoever is said.
fn sold() -> Inputs {
    let mut inputs = empty();
    let plan = Plan {
        partners: 0,
        net: 5_000,
        percents: [0, 0],
        vat: [1; 3],
        style: Style::ByInvoice,
        day: 3,
        ..Plan::default()
    };
    let of = agreed(&plan, 0);
    inputs.invoices.push(invoice(&of, 0, 0, &of.sales[0].vat, 5_000));
    inputs.agreed.push(of);
    inputs.courier_bills.push(bill("0815", 1_860));
    inputs
}

fn pay(inputs: &mut Inputs, on: u64, minor: i64, words: &str) {
    let mut account = Account::default();
    account.book(day(on), vec![payment(minor, &inputs.agreed[0].sales[0].buyer, words)]);
    inputs.statements = account.statements();
}

/// How, what, and in the books' currency before and now, of each account that is corrected.
type Told = (How, Event, Vec<(Role, i64, i64)>);

fn told(books: &Reconciled) -> Vec<Told> {
    let sums = |one: &Changed| -> Vec<_> {
        one.sums.iter().map(|sum| (sum.role, sum.before_base_minor, sum.now_base_minor)).collect()
    };
    books.changed.iter().map(|one| (one.how, one.source.event, sums(one))).collect()
}

#[test]
fn nothing_changed_is_nothing_told() {
    let open = sold();
    assert_eq!(reconcile(&open).unwrap().changed, []);
    assert_eq!(reconcile(&closed(&open)).unwrap().changed, []);
}

#[test]
fn a_bill_that_is_gone_is_told() {
    let mut inputs = closed(&sold());
    inputs.courier_bills.clear();
    let books = reconcile(&inputs).unwrap();
    let sums = vec![(Role::CourierCost, 1_860, 0), (Role::CourierPayable, -1_860, 0)];
    assert_eq!(told(&books), [(How::Gone, Event::CourierBill, sums)]);
    let one = &books.changed[0];
    assert_eq!((one.day, one.before, one.posted), (day(9), Some(day(9)), june().next().first_day()));
    assert_eq!((&*one.source.document, one.source.party.as_deref()), ("C-77/0815", Some("Swift Cart")));
}

#[test]
fn a_cent_that_changed_is_told() {
    let mut inputs = closed(&sold());
    inputs.courier_bills = vec![bill("0815", 1_861)];
    let books = reconcile(&inputs).unwrap();
    let sums = vec![(Role::CourierCost, 1_860, 1_861), (Role::CourierPayable, -1_860, -1_861)];
    assert_eq!(told(&books), [(How::Different, Event::CourierBill, sums)]);
}

/// Told once more when July is closed as well, only where it changes once more.
#[test]
fn a_late_paper_is_late_and_different_when_it_changes_afterwards() {
    let mut inputs = closed(&sold());
    inputs.courier_bills.push(bill("0816", 500));
    let july = june().next();
    inputs.terms.until = july.last_day();
    let books = reconcile(&inputs).unwrap();
    let late = |now: i64| vec![(Role::CourierCost, 0, now), (Role::CourierPayable, 0, -now)];
    assert_eq!(told(&books), [(How::Late, Event::CourierBill, late(500))]);
    assert_eq!(books.changed[0].before, None);
    inputs.closings.push(books.close(july).unwrap());
    assert_eq!(
        reconcile(&inputs).unwrap().changed,
        books.changed,
        "as it was told in July, and nothing more"
    );
    inputs.courier_bills[1].net_minor = 700;
    let again = reconcile(&inputs).unwrap();
    let sums = vec![(Role::CourierCost, 500, 700), (Role::CourierPayable, -500, -700)];
    assert_eq!(told(&again)[1], (How::Different, Event::CourierBill, sums));
    assert_eq!(
        (again.changed[1].before, again.changed[1].posted),
        (Some(july.first_day()), july.next().first_day())
    );
}

/// A closing from before papers were kept says it by what was posted.
#[test]
fn without_papers_it_is_told_how_by_what_was_posted() {
    let mut inputs = closed(&sold());
    let closing = &mut inputs.closings[0];
    (closing.papers, closing.is_whole) = (None, false);
    closing.digest = closing.digest_now();
    for (bills, expect) in [
        (vec![bill("0815", 1_860)], vec![]),
        (vec![], vec![How::Gone]),
        (vec![bill("0815", 1_861)], vec![How::Different]),
        (vec![bill("0815", 1_860), bill("0816", 500)], vec![How::Late]),
    ] {
        inputs.courier_bills = bills;
        let changed = reconcile(&inputs).unwrap().changed;
        assert_eq!(changed.iter().map(|one| one.how).collect::<Vec<_>>(), expect);
    }
}

#[test]
fn a_statement_that_is_gone_is_told() {
    let mut open = sold();
    pay(&mut open, 20, 5_000, &invoice_number(0));
    let mut inputs = closed(&open);
    inputs.statements.clear();
    let books = reconcile(&inputs).unwrap();
    let sums = vec![(Role::Receivable, -5_000, 0), (Role::Bank, 5_000, 0)];
    assert_eq!(told(&books), [(How::Gone, Event::Payment, sums)]);
}

/// The bank said the same all along: no paper of the closed month is another one.
#[test]
fn a_payment_whose_invoice_came_later_follows() {
    let mut open = sold();
    pay(&mut open, 20, 5_000, &invoice_number(0));
    let invoices = std::mem::take(&mut open.invoices);
    let mut inputs = closed(&open);
    inputs.invoices = invoices;
    let books = reconcile(&inputs).unwrap();
    let found = told(&books);
    assert_eq!(found.len(), 2);
    assert_eq!((found[0].0, found[0].1), (How::Late, Event::Invoice));
    let sums = vec![(Role::Receivable, 0, -5_000), (Role::Unapplied, -5_000, 0)];
    assert_eq!(found[1], (How::Follows, Event::Payment, sums));
    assert!(!found.iter().any(|one| one.0.is_of_closed_paper()));
}

/// The bank gives back what it had kept of the payment that it takes back: no paper came late.
#[test]
fn charges_that_come_back_with_a_payment_follow() {
    let inputs = crate::booked::sold(&[6_000, 4_000]);
    let came = Payment { charges_minor: 200, ..paid(&inputs, 9_800, "") };
    let (mut inputs, _) =
        moved(&inputs, &[(10, vec![came])], &[(15, vec![paid(&inputs, 9_800, "returned")])]);
    let [first, second] = [invoice_number(0), invoice_number(1)];
    let came = decided(1, &[(&first, 6_000), (&second, 4_000)]);
    inputs.decisions = vec![came.clone(), decided(2, &[])];
    let mut inputs = closed(&inputs);
    inputs.decisions = vec![came, decided(2, &[(&first, -6_000), (&second, -3_800)])];
    let books = reconcile(&inputs).unwrap();
    let charges = |(how, _, sums): Told| {
        let charges = sums.into_iter().find(|(role, ..)| *role == Role::BankCharges)?;
        Some((how, charges))
    };
    let charges: Vec<_> = told(&books).into_iter().filter_map(charges).collect();
    assert_eq!(charges, [(How::Follows, (Role::BankCharges, 0, -200))]);
}

/// By source, account and currency, in both currencies; what comes to nothing is not there.
fn sums(journal: &Journal) -> BTreeMap<(Source, Role, Currency), [i64; 2]> {
    let mut sums = BTreeMap::<_, [i64; 2]>::new();
    for (one, postings) in journal.transactions() {
        for posting in postings {
            let sum = sums.entry((one.source.clone(), posting.role, posting.currency)).or_default();
            *sum = [sum[0] + posting.minor, sum[1] + posting.base_minor];
        }
    }
    sums.retain(|_, sum| *sum != [0, 0]);
    sums
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// What is told is what the closing and the books without any closing do not agree on, and nothing else.
    #[test]
    fn what_changed_under_a_closed_month_is_told(plans in plans(), which in any::<Index>(), how in 0..4_usize) {
        let mut whole = month(&plans, &[]).inputs;
        // So that June is the first month of the books, whatever is taken away.
        whole.courier_bills.push(bill("0815", 1_860));
        let mut other = whole.clone();
        if let Some(place) = (!whole.invoices.is_empty()).then(|| which.index(whole.invoices.len())) {
            match how {
                0 => { other.invoices.remove(place); }
                1 => {
                    let changed = &mut other.invoices[place];
                    changed.net_minor -= 1;
                    // A list that tells of it too says what it says.
                    let rows = other.charges.iter_mut().filter(|row| row.invoice == changed.number);
                    rows.for_each(|row| { row.net_minor -= 1; row.vat_minor += 1; });
                }
                2 => other.statements.clear(),
                _ => {}
            }
        }
        // Either came first.
        for (before, now) in [(&whole, &other), (&other, &whole)] {
            let mut early = before.clone();
            early.terms.until = day(29);
            let closing = reconcile(&early).unwrap().close(june()).unwrap();
            let was = sums(&closing.journal);
            let known = reconcile(now).unwrap();
            let mut of_june = Journal::default();
            for (one, postings) in known.journal.transactions() {
                let is_of_june = Month::of(one.day) == june() || was.keys().any(|(source, ..)| *source == one.source);
                if is_of_june {
                    of_june.post(one.source.clone(), one.day, one.day, postings.iter().copied()).unwrap();
                }
            }
            let is = sums(&of_june);
            let mut expected: BTreeMap<_, [[i64; 2]; 2]> = BTreeMap::new();
            for part in was.keys().chain(is.keys()) {
                let of = |sums: &BTreeMap<_, [i64; 2]>| sums.get(part).copied().unwrap_or_default();
                if of(&was) != of(&is) {
                    expected.insert(part.clone(), [of(&was), of(&is)]);
                }
            }
            let books = reconcile(&Inputs { closings: vec![closing], ..now.clone() }).unwrap();
            let mut found = BTreeMap::new();
            for one in &books.changed {
                prop_assert_eq!(one.posted.max(june().next().first_day()), one.posted);
                for sum in &one.sums {
                    let sides = [[sum.before_minor, sum.before_base_minor], [sum.now_minor, sum.now_base_minor]];
                    let twice = found.insert((one.source.clone(), sum.role, sum.currency), sides);
                    prop_assert_eq!(twice, None);
                }
            }
            prop_assert_eq!(found, expected);
        }
    }
}
