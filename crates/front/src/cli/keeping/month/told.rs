//! A month end for programs.

use chrono::NaiveDate;
use evenfare_engine::money::Overflow;
use evenfare_files::{Report, answers};
use evenfare_reconcile::change;
use evenfare_reconcile::changed;
use evenfare_reconcile::difference::Document;
use evenfare_reconcile::earned::{Earned, Step};
use evenfare_reconcile::input::Place;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::overview::Margin;
use evenfare_reconcile::period::{self, Found};
use evenfare_reconcile::transit::InTransit;
use serde::Serialize;

use super::open::Open;
use crate::cli::mistakes;
use crate::month::Done;

/// Everything that is shown, as plain data; amounts in minor units of the currency beside them.
#[derive(Serialize)]
pub(super) struct Told<'d> {
    month: Option<String>,
    until: NaiveDate,
    currency: &'static str,
    accepted: usize,
    invoices: usize,
    warnings: Vec<mistakes::Told<'d>>,
    differences: Vec<Difference<'d>>,
    settled: Vec<Difference<'d>>,
    changed: Vec<Change<'d>>,
    /// Of months before, how many are open still.
    earlier: Vec<Earlier>,
    questions: Vec<Question<'d>>,
    balances: Vec<Balance>,
    open: Vec<Open>,
    in_transit: Vec<Transfer<'d>>,
    bonuses: Vec<Bonus<'d>>,
    overview: Overview<'d>,
}

#[derive(Serialize)]
struct Difference<'d> {
    posted: NaiveDate,
    day: NaiveDate,
    reason: &'static str,
    party: &'d str,
    quote: Option<&'d str>,
    currency: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    agreed_minor: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    found_minor: Option<i64>,
    amount_minor: i64,
    documents: Vec<Paper<'d>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    settled: Option<Settled<'d>>,
}

/// When a difference that a month was closed with was none any more, and by which papers; or what it comes to since then.
#[derive(Serialize)]
struct Settled<'d> {
    posted: NaiveDate,
    #[serde(skip_serializing_if = "Option::is_none")]
    now_minor: Option<i64>,
    by: Vec<Paper<'d>>,
}

/// What a closed month has otherwise than is known now.
#[derive(Serialize)]
struct Change<'d> {
    how: &'static str,
    posted: NaiveDate,
    closed: String,
    day: NaiveDate,
    what: &'static str,
    document: &'d str,
    party: Option<&'d str>,
    amounts: Vec<Changed<'d>>,
    altered: Vec<Altered>,
}

/// Something else than an amount.
#[derive(Serialize)]
struct Altered {
    of: &'static str,
    was: String,
    is: String,
}

#[derive(Serialize)]
struct Changed<'d> {
    of: &'d str,
    currency: &'static str,
    was_minor: i64,
    is_minor: i64,
    by_minor: i64,
}

#[derive(Serialize)]
struct Earlier {
    month: String,
    differences: usize,
}

#[derive(Serialize)]
struct Paper<'d> {
    paper: &'static str,
    number: &'d str,
    file: Option<&'d str>,
    line: Option<u32>,
}

#[derive(Serialize)]
struct Question<'d> {
    about: Paper<'d>,
    why: &'static str,
    currency: &'static str,
    amount_minor: i64,
    may_be: Vec<Vec<&'d str>>,
    answers: Vec<String>,
}

#[derive(Serialize)]
struct Balance {
    party: String,
    currency: &'static str,
    opening_minor: i64,
    invoiced_minor: i64,
    paid_minor: i64,
    other_minor: i64,
    closing_minor: i64,
}

/// A side of a transfer between own accounts of which the other side is not known.
#[derive(Serialize)]
struct Transfer<'d> {
    day: NaiveDate,
    account: &'d str,
    other: &'d str,
    currency: &'static str,
    amount_minor: i64,
    base_minor: i64,
    document: Paper<'d>,
}

/// A volume bonus at the end of a month; amounts in the currency of the books.
#[derive(Serialize)]
struct Bonus<'d> {
    partner: &'d str,
    year: i32,
    month: String,
    turnover_minor: i64,
    percent: String,
    due_minor: i64,
    movement_minor: i64,
    true_up_minor: i64,
    next: Option<NextStep>,
}

#[derive(Serialize)]
struct NextStep {
    from_minor: i64,
    percent: String,
    missing_minor: i64,
}

#[derive(Serialize)]
struct Overview<'d> {
    all: Part<'d>,
    by_partner: Vec<Part<'d>>,
    by_family: Vec<Part<'d>>,
    by_route: Vec<Part<'d>>,
    by_month: Vec<Part<'d>>,
}

#[derive(Serialize)]
struct Part<'d> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'d str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    route: Option<Vec<&'d str>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    month: Option<String>,
    quotes: u64,
    end_net_minor: i64,
    shares_minor: i64,
    workshop_net_minor: i64,
    #[serde(skip_serializing_if = "Option::is_none")]
    invoiced_minor: Option<i64>,
    cost_minor: i64,
    contribution_minor: i64,
}

impl<'d> Told<'d> {
    pub(super) fn new(done: &'d Done, warnings: &'d Report) -> Result<Self, Overflow> {
        let balance = |one: evenfare_reconcile::account::AccountMonth| Balance {
            party: one.party.to_string(),
            currency: one.currency.code(),
            opening_minor: one.opening_minor,
            invoiced_minor: one.invoiced_minor,
            paid_minor: one.paid_minor,
            other_minor: one.other_minor,
            closing_minor: one.closing_minor,
        };
        let overview = &done.books.overview;
        let earlier =
            |(month, differences): (Month, usize)| Earlier { month: month.to_string(), differences };
        let named = |(name, margin): (&'d std::sync::Arc<str>, &Margin)| Part {
            name: Some(name),
            ..Part::of(margin)
        };
        Ok(Self {
            month: done.month.map(|month| month.to_string()),
            until: done.until,
            currency: done.currency.code(),
            accepted: done.known.0,
            invoices: done.known.1,
            warnings: warnings.iter().map(mistakes::Told::from).collect(),
            differences: done
                .differences()
                .map(|found| Difference::of(found, done.settled_later(found)))
                .collect(),
            settled: done.settled().map(|settled| Difference::of(&settled.found, Some(settled))).collect(),
            changed: done.changes().into_iter().map(Change::of).collect::<Result<_, _>>()?,
            earlier: done.earlier().into_iter().map(earlier).collect(),
            questions: done.books.undecided.iter().map(Question::of).collect(),
            balances: done.balances()?.into_iter().map(balance).collect(),
            open: done.open()?.into_iter().map(Open::from).collect(),
            in_transit: done.books.in_transit.iter().map(Transfer::of).collect(),
            bonuses: done.bonuses().map(Bonus::of).collect(),
            overview: Overview {
                all: Part { invoiced_minor: Some(overview.invoiced_minor()?), ..Part::of(&overview.all) },
                by_partner: overview.by_partner.iter().map(named).collect(),
                by_family: overview.by_family.iter().map(named).collect(),
                by_route: overview
                    .by_route
                    .iter()
                    .map(|(route, margin)| Part {
                        route: Some(route.iter().map(|partner| &**partner).collect()),
                        ..Part::of(margin)
                    })
                    .collect(),
                by_month: overview
                    .months()
                    .map(|(month, agreed, invoiced)| Part {
                        month: Some(month.to_string()),
                        invoiced_minor: Some(invoiced),
                        ..Part::of(&agreed)
                    })
                    .collect(),
            },
        })
    }
}

impl<'d> Difference<'d> {
    fn of(found: &'d Found, settled: Option<&'d period::Settled>) -> Self {
        let one = &found.difference;
        Self {
            posted: found.posted,
            day: one.day,
            reason: one.reason.code(),
            party: &one.party,
            quote: one.quote.as_deref(),
            currency: one.currency.code(),
            agreed_minor: one.agreed_minor,
            found_minor: one.figures().map(|[_, found]| found),
            amount_minor: one.amount_minor,
            documents: one.documents.iter().map(Paper::of).collect(),
            settled: settled.map(|settled| Settled {
                posted: settled.posted,
                now_minor: settled.now_minor,
                by: settled.by.iter().map(Paper::of).collect(),
            }),
        }
    }
}

impl<'d> Change<'d> {
    fn of(one: change::Change<'d>) -> Result<Self, Overflow> {
        let amounts = one.parts.iter().map(|part| {
            Ok(Changed {
                of: part.of.word(),
                currency: part.currency.code(),
                was_minor: part.was_minor,
                is_minor: part.is_minor,
                by_minor: part.by_minor()?,
            })
        });
        Ok(Self {
            how: one.how.word(),
            posted: one.posted,
            closed: one.closed.to_string(),
            day: one.day,
            what: one.what.word(),
            document: one.number,
            party: one.party,
            amounts: amounts.collect::<Result<_, _>>()?,
            altered: one.altered.into_owned().into_iter().map(Altered::of).collect(),
        })
    }
}

impl Altered {
    fn of(one: changed::Altered) -> Self {
        let changed::Altered { what: of, was, is } = one;
        Self { of, was, is }
    }
}

impl<'d> Paper<'d> {
    fn of(document: &'d Document) -> Self {
        let place = document.place.as_ref();
        Self {
            paper: document.paper.word(),
            number: &document.number,
            file: place.map(|Place { file, .. }| &**file),
            line: place.map(|place| place.line),
        }
    }
}

impl<'d> Question<'d> {
    fn of(question: &'d evenfare_reconcile::matching::Undecided) -> Self {
        let together = |candidate: &'d Vec<Box<str>>| candidate.iter().map(|number| &**number).collect();
        Self {
            about: Paper::of(&question.subject),
            why: question.why.code(),
            currency: question.currency.code(),
            amount_minor: question.amount_minor,
            may_be: question.candidates.iter().map(together).collect(),
            answers: answers(question),
        }
    }
}

impl<'d> Transfer<'d> {
    fn of(one: &'d InTransit) -> Self {
        Self {
            day: one.day,
            account: &one.account,
            other: &one.other,
            currency: one.currency.code(),
            amount_minor: one.minor,
            base_minor: one.base_minor,
            document: Paper::of(&one.document),
        }
    }
}

impl<'d> Bonus<'d> {
    fn of(one: &'d Earned) -> Self {
        let next = |next: Step| NextStep {
            from_minor: next.from_minor,
            percent: next.percent.to_string(),
            missing_minor: next.missing_minor,
        };
        Self {
            partner: &one.partner,
            year: one.year,
            month: one.month.to_string(),
            turnover_minor: one.turnover_minor,
            percent: one.percent.to_string(),
            due_minor: one.due_minor,
            movement_minor: one.movement_minor,
            true_up_minor: one.true_up_minor,
            next: one.next.map(next),
        }
    }
}

impl Part<'_> {
    fn of(margin: &Margin) -> Self {
        Self {
            name: None,
            route: None,
            month: None,
            quotes: margin.quotes,
            end_net_minor: margin.end_net_minor,
            shares_minor: margin.shares_minor,
            workshop_net_minor: margin.workshop_net_minor,
            invoiced_minor: None,
            cost_minor: margin.cost_minor,
            contribution_minor: margin.contribution_minor(),
        }
    }
}
