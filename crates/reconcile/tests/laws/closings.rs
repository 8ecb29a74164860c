//! Months that are closed: they stay, and what comes afterwards is told where it counts.

use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::category::Work;
use evenfare_reconcile::changed::{Altered, How};
use evenfare_reconcile::difference::{Difference, Reason};
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::WorkDone;
use evenfare_reconcile::month::Month as Period;
use evenfare_reconcile::period::{Found, Settled};
use evenfare_reconcile::terms::Part;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::faults::{month, some_faults};
use crate::world::{self, Plan, currency, day};
use crate::{balances, by_a_stranger, config, found, of_june, posted};

proptest! {
    #![proptest_config(config())]

    /// A closed month stays as it was, whatever comes in later; what is known in the end is the same.
    #[test]
    fn a_closed_month_does_not_change((plans, faults) in some_faults(), late in any::<Index>()) {
        let whole = of_june(month(&plans, &faults).inputs);
        let mut early = whole.clone();
        // Some of it is not there yet when the month is closed, and some is never seen again.
        if !early.invoices.is_empty() {
            early.invoices.remove(late.index(early.invoices.len()));
        }
        early.terms.until = day(29);
        let june: Period = "2026-06".parse().unwrap();
        let closing = reconcile(&early).unwrap().close(june).unwrap();
        let mut later = whole.clone();
        later.closings.push(closing.clone());
        let books = reconcile(&later).unwrap();
        prop_assert_eq!(posted(&books.journal, june), posted(&closing.journal, june));
        balances(&books.journal);
        let never_closed = reconcile(&whole).unwrap();
        prop_assert_eq!(books.journal.balances().unwrap(), never_closed.journal.balances().unwrap());
        prop_assert_eq!(found(&books), found(&never_closed));
        let next = books.close(june.next()).unwrap();
        prop_assert_eq!(next.before, closing.digest);
        // Whoever changes what was closed is found out.
        let mut changed = closing;
        changed.differences.clear();
        changed.before = [1; 32];
        later.closings = vec![changed];
        prop_assert!(reconcile(&later).is_err());
    }

    /// Whoever looks back behind a closed month sees what he saw when it was not closed yet.
    #[test]
    fn looking_back_shows_a_month_as_it_was_closed(
        (plans, faults) in some_faults(),
        late in any::<Index>(),
        days in 0_u64..61,
    ) {
        let mut inputs = of_june(month(&plans, &faults).inputs);
        let [june, july] = ["2026-06", "2026-07"].map(|month| month.parse::<Period>().unwrap());
        let until = |inputs: &mut Inputs, last| {
            inputs.terms.until = last;
            reconcile(inputs).unwrap()
        };
        // Some of it comes in when June is closed.
        let late = (!inputs.invoices.is_empty()).then(|| late.index(inputs.invoices.len()));
        let late = late.map(|place| inputs.invoices.remove(place));
        let first = until(&mut inputs, june.last_day()).close(june).unwrap();
        inputs.closings.push(first.clone());
        inputs.invoices.extend(late);
        let shown = until(&mut inputs, june.last_day());
        let second = until(&mut inputs, july.last_day()).close(july).unwrap();
        inputs.closings.push(second.clone());
        let back = until(&mut inputs, june.last_day());
        prop_assert_eq!(&back.differences, &shown.differences);
        prop_assert_eq!(&back.settled, &shown.settled);
        prop_assert_eq!(&back.journal, &shown.journal);
        prop_assert_eq!(&back.accounts, &shown.accounts);
        prop_assert_eq!(back.first_open(), Some(july.next()));
        // It is closed already.
        prop_assert!(back.close(june).is_err() && back.close(july).is_err());
        prop_assert_eq!(posted(&back.journal, june), posted(&first.journal, june));
        let of_first = |found: &Found| Period::of(found.posted) == june;
        let open = back.differences.iter().filter(|found| of_first(found)).count();
        prop_assert_eq!(open + back.settled.len(), first.differences.len());
        let whole = until(&mut inputs, july.last_day());
        prop_assert_eq!(posted(&whole.journal, july), posted(&second.journal, july));
        prop_assert_eq!(&whole.settled, &second.settled);
        let is_named = |one: &Settled| one.found.difference.reason != Reason::InvoiceMissing || !one.by.is_empty();
        prop_assert!(whole.settled.iter().all(is_named), "{:?}", whole.settled);
        prop_assert!(whole.settled.iter().all(|one| of_first(&one.found) && Period::of(one.posted) == july));
        // A closed month has no books of a part of it.
        let inside = day(days);
        inputs.terms.until = inside;
        let inside = reconcile(&inputs).err();
        let refused = inputs.terms.until < Period::of(inputs.terms.until).last_day();
        prop_assert_eq!(matches!(inside, Some(Unreconciled::InsideClosed { .. })), refused);
    }

    /// Whatever a paper of a closed month says otherwise, is there no more or was not there: that paper is told, with what
    /// it was and what it is, and no other.
    #[test]
    fn every_change_of_a_paper_is_told((plans, faults) in some_faults(), which in any::<Index>(), how in any::<Index>()) {
        let before = with_work(month(&told_once(plans), &faults).inputs);
        let mut now = before.clone();
        let Some(change) = change(&mut now, which, how) else { return Ok(()) };
        let [june, july] = ["2026-06", "2026-07"].map(|month| month.parse::<Period>().unwrap());
        for (was, is, change) in [(&before, &now, change.clone()), (&now, &before, change.backwards())] {
            let mut early = was.clone();
            early.terms.until = june.last_day();
            let closing = reconcile(&early).unwrap().close(june).unwrap();
            let mut later = is.clone();
            later.closings.push(closing);
            let books = reconcile(&later).unwrap();
            let told = told(&books);
            for one in change.told(june) {
                let head = |one: &Told| (one.how, one.number.clone(), one.days.clone());
                let says = |told: &Told| {
                    head(told) == head(&one) && one.what.iter().all(|what| told.what.contains(what))
                };
                prop_assert!(told.iter().any(says), "{:?}\n{:?}", one, told);
            }
            let numbers = [&change.was.number, &change.is.number];
            // A credit note goes by the rate of the invoice that it takes back.
            let is_by_rate = |one: &Told| one.how == How::Different && one.what == ["amount"];
            prop_assert!(told.iter().all(|one| numbers.contains(&&one.number) || is_by_rate(one)), "{:?}\n{:?}", change, told);
            // July keeps it, and nobody is told again.
            let mut july_end = later.clone();
            july_end.terms.until = july.last_day();
            let closing = reconcile(&july_end).unwrap().close(july).unwrap();
            later.closings.push(closing);
            let again = reconcile(&later).unwrap();
            prop_assert_eq!(self::told(&again), told);
        }
    }

    /// What a month was closed with is a difference still, or settled in one later month, and stays so.
    #[test]
    fn what_is_settled_is_settled_once(
        (plans, faults) in some_faults(),
        late in any::<Index>(),
        asked in any::<Index>(),
    ) {
        let mut whole = of_june(month(&told_once(plans), &faults).inputs);
        // As much as one of the invoices asks for comes in from nobody known: while that is open, it is asked about.
        if !whole.invoices.is_empty() {
            let minor = whole.invoices[asked.index(whole.invoices.len())].gross_minor;
            whole.statements.extend(by_a_stranger(40, minor));
        }
        let mut inputs = whole.clone();
        if !inputs.invoices.is_empty() {
            inputs.invoices.remove(late.index(inputs.invoices.len()));
        }
        let months = ["2026-06", "2026-07", "2026-08"].map(|month| month.parse::<Period>().unwrap());
        for month in months {
            inputs.terms.until = month.last_day();
            let books = reconcile(&inputs).unwrap();
            let closing = books.close(month).unwrap();
            let known = inputs.closings.iter().flat_map(|closing| &closing.settled).count();
            prop_assert_eq!(known + closing.settled.len(), books.settled.len());
            prop_assert!(closing.settled.iter().all(|one| Period::of(one.posted) == month));
            let asked = || books.undecided.iter().flat_map(|one| one.parts.iter().flatten());
            let is_asked = |Difference { reason, documents, amount_minor, .. }: &Difference| {
                let is_of = |part: &Part| documents.iter().any(|paper| paper.number == part.invoice);
                *reason == Reason::Unpaid && asked().any(|part| is_of(part) && part.minor == -amount_minor)
            };
            prop_assert!(!closing.settled.iter().any(|one| is_asked(&one.found.difference)), "{:?}", closing);
            inputs.closings.push(closing);
            // More papers may stand behind one since, and change what was agreed.
            let alone = |found: &Found| {
                let (documents, day) = (Vec::new(), found.posted);
                let difference = Difference { documents, day, agreed_minor: None, ..found.difference.clone() };
                Found { difference, ..*found }
            };
            let closed = inputs.closings.iter().flat_map(|closing| &closing.differences);
            let mut closed: Vec<Found> = closed.map(alone).collect();
            let again = reconcile(&inputs).unwrap();
            let settled = again.settled.iter().map(|one| &one.found);
            let mut stands: Vec<Found> = again.differences.iter().chain(settled).map(alone).collect();
            closed.sort_unstable();
            stands.sort_unstable();
            prop_assert_eq!(stands, closed);
            inputs.invoices.clone_from(&whole.invoices);
        }
    }
}

/// A paper before or after it was changed: its number, and its day where it is there.
#[derive(Debug, Clone)]
struct Side {
    number: String,
    day: Option<NaiveDate>,
}

/// A change of one paper: of what, beside its day and number.
#[derive(Debug, Clone)]
struct Change {
    what: Option<&'static str>,
    was: Side,
    is: Side,
}

/// What is told of one paper.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Told {
    how: How,
    number: String,
    /// `amount`, and what else is another.
    what: Vec<&'static str>,
    /// What its day was and is, where that is another.
    days: Option<(String, String)>,
}

impl Change {
    fn backwards(self) -> Self {
        Self { was: self.is, is: self.was, ..self }
    }

    /// What has to be told of it, at least, where it is of June.
    fn told(&self, june: Period) -> Vec<Told> {
        let text = |day: Option<NaiveDate>| day.map(|day| day.to_string()).unwrap_or_default();
        let of_june = |day: &NaiveDate| Period::of(*day) == june;
        let Self { what, was, is } = self;
        let told = |how, number: &str, what: &[Option<&'static str>], was, is| Told {
            how,
            number: number.to_owned(),
            what: what.iter().copied().flatten().collect(),
            days: (was != is).then(|| (text(was), text(is))),
        };
        let amount = self.what.filter(|what| *what == "work").is_none().then_some("amount");
        let went =
            was.day.filter(of_june).map(|day| told(How::Gone, &was.number, &[amount], Some(day), None));
        let came = is.day.filter(of_june).map(|day| told(How::Late, &is.number, &[amount], None, Some(day)));
        match (was.day, is.day) {
            (Some(before), Some(after)) if was.number == is.number => {
                let different = told(How::Different, &was.number, &[*what], Some(before), Some(after));
                of_june(&before)
                    .then_some(different)
                    .into_iter()
                    .chain(came.filter(|_| !of_june(&before)))
                    .collect()
            }
            _ => went.into_iter().chain(came).collect(),
        }
    }
}

/// Each paper is told in one way: what two tellings of one come to has laws of its own.
fn told_once(mut plans: Vec<Plan>) -> Vec<Plan> {
    plans.iter_mut().for_each(|plan| plan.is_listed_too = false);
    plans
}

/// With a record of work that no quote knows.
fn with_work(inputs: Inputs) -> Inputs {
    let mut inputs = of_june(inputs);
    inputs.work_done.push(WorkDone {
        place: world::place("work_done.csv", 2),
        quote: "Q-2025-9999".into(),
        work: Work::Removal,
        done: day(4),
    });
    inputs
}

/// Changes a paper, in one of many ways.
fn change(inputs: &mut Inputs, which: Index, how: Index) -> Option<Change> {
    let side = |number: &str, day: Option<NaiveDate>| Side { number: number.to_owned(), day };
    let next = |day: NaiveDate| day + Days::new(1);
    let same =
        |what, number: &str, day| Change { what, was: side(number, Some(day)), is: side(number, Some(day)) };
    let moved = |number: &str, was, is| Change {
        what: None,
        was: side(number, Some(was)),
        is: side(number, Some(is)),
    };
    let gone =
        |what, number: &str, day| Change { what, was: side(number, Some(day)), is: side(number, None) };
    let invoices = inputs.invoices.len();
    match how.index(16) {
        kind @ 0..10 => {
            let place = which.index(invoices.max(1));
            let one = inputs.invoices.get_mut(place)?;
            let (number, issued) = (one.number.to_string(), one.issued);
            let what = match kind {
                0 => {
                    one.issued = next(issued);
                    return Some(moved(&number, issued, one.issued));
                }
                // Out of its month.
                1 => {
                    one.issued = issued + Days::new(31);
                    return Some(moved(&number, issued, one.issued));
                }
                2 => {
                    Arc::make_mut(&mut one.buyer).name = "Another bakery".into();
                    "buyer"
                }
                3 => {
                    one.quote = Some("Q-1999-0001".into());
                    "quote"
                }
                4 => {
                    one.due = Some(next(one.due?));
                    "due"
                }
                5 => {
                    one.payment_reference = Some("RF-42".into());
                    "reference"
                }
                6 => {
                    one.vat[0].tax_minor += 1;
                    "vat"
                }
                7 => {
                    one.payable_minor -= 1;
                    "payable"
                }
                8 => {
                    one.number = format!("{number}-B").into();
                    let is = side(&one.number, Some(issued));
                    return Some(Change { what: None, was: side(&number, Some(issued)), is });
                }
                _ => {
                    inputs.invoices.remove(place);
                    return Some(gone(None, &number, issued));
                }
            };
            Some(same(Some(what), &number, issued))
        }
        10 | 11 => {
            let place = which.index(inputs.charges.len().max(1));
            let one = inputs.charges.get_mut(place)?;
            let (number, issued) = (one.invoice.to_string(), one.issued);
            if how.index(2) == 0 {
                one.issued = next(issued);
                return Some(moved(&number, issued, one.issued));
            }
            one.net_minor += 1;
            Some(same(Some("amount"), &number, issued))
        }
        12 | 13 => {
            let statement = inputs.statements.first_mut()?;
            let batch = &mut statement.batches[0];
            let number = format!("{}/{}/1.1", statement.account, statement.id);
            batch.payments[0].party_account = Some("FR76 0000".into());
            Some(same(Some("payer"), &number, batch.booked))
        }
        14 => {
            let one = inputs.courier_bills.last_mut()?;
            one.currency = currency("CHF");
            Some(same(Some("amount"), "C-1/1", one.carried))
        }
        _ => {
            let work = inputs.work_done.pop()?;
            Some(gone(Some("work"), work.work.word(), work.done))
        }
    }
}

/// What is told of papers themselves.
fn told(books: &Reconciled) -> Vec<Told> {
    let of = |how, number: &str, amount: bool, altered: &[Altered]| {
        let days = altered.iter().find(|one| one.what == "day");
        let amount = amount.then_some("amount");
        let what = altered.iter().map(|one| one.what).filter(|what| *what != "day");
        Told {
            how,
            number: number.to_owned(),
            what: amount.into_iter().chain(what).collect(),
            days: days.map(|one| (one.was.clone(), one.is.clone())),
        }
    };
    let posted = books.changed.iter().filter(|one| one.how != How::Follows);
    let posted = posted.map(|one| of(one.how, &one.source.document, !one.sums.is_empty(), &one.altered));
    let restated = books.restated.iter().map(|one| {
        let amounts = |paper: &evenfare_reconcile::kept::KeptPaper| {
            let said = paper.said.as_ref();
            said.map_or((None, 0, 0), |said| {
                let is_nothing = said.net_minor == 0 && said.gross_minor == 0;
                ((!is_nothing).then_some(said.currency), said.net_minor, said.gross_minor)
            })
        };
        let another = one.was.as_ref().map_or((None, 0, 0), amounts) != amounts(&one.is);
        of(one.how, &one.is.number, another, &one.altered())
    });
    posted.chain(restated).collect()
}

/// An empty month before the books begin is not closed, nor any where nothing was ever posted.
#[test]
fn the_first_closing_is_of_the_first_month_of_the_books() {
    let inputs = of_june(world::empty());
    let until = |inputs: &Inputs, month: &str, close: &str| {
        let (month, close): (Period, Period) = (month.parse().unwrap(), close.parse().unwrap());
        let mut inputs = inputs.clone();
        inputs.terms.until = month.last_day();
        reconcile(&inputs).unwrap().close(close)
    };
    for (books, last, month) in [
        (&inputs, "2026-05", "2026-05"),
        (&inputs, "2026-06", "2026-05"),
        (&inputs, "2025-09", "2025-09"),
        (&inputs, "2026-07", "2026-07"),
        (&world::empty(), "2026-06", "2026-06"),
    ] {
        let refused = until(books, last, month);
        assert!(matches!(refused, Err(Unreconciled::ClosingOutOfOrder { .. })), "{month} by {last}");
    }
    assert!(until(&inputs, "2026-07", "2026-06").is_ok());
}
