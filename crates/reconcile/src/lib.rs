//! Month end: what was agreed, invoiced, charged and paid, held against each other to the cent.
//!
//! One call, [`reconcile`]: inputs in, everything out. It knows no file, no clock and no order: the same
//! papers give the same books, however they are sorted and however often they are loaded.

// Reading order: each module uses only those above it.
pub mod threads;
mod sorted;
pub mod phase;
pub mod month;
pub mod input;
pub mod error;
pub mod rates;
pub mod firm;
pub mod agreed;
pub mod reference;
pub mod terms;
pub mod difference;
mod chained;
mod known_firms;
mod loaded;
pub mod matching;
mod decided;
mod again;
pub mod transit;
mod differences;
mod unknown;
pub mod chart;
pub mod journal;
mod worth;
mod books;
mod bonus;
pub mod earned;
pub mod kept;
pub mod period;
mod carried;
pub mod changed;
pub mod restated;
mod settled;
pub mod change;
pub mod told;
pub mod left_open;
pub mod account;
mod margin;
mod old_rates;
pub mod overview;
pub mod columns;
pub mod what_if;

use std::collections::BTreeSet;
use std::sync::Arc;

use chrono::NaiveDate;

use account::Accounts;
use agreed::Agreed;
use carried::Asked;
use changed::Changed;
use chart::{Chart, Charts};
use differences::Known;
use earned::Earned;
use error::Unreconciled;
use input::{Charge, CourierBill, Invoice, Slip, Statement, WorkDone};
use journal::Journal;
use kept::KeptPaper;
use left_open::left_open;
use loaded::{Loaded, Received};
use matching::{OpenItems, Papers, Undecided};
use month::Month;
use overview::Overview;
use period::{Closing, Found, Settled};
use phase::Phase;
use rates::Rates;
use restated::Restated;
use terms::{Decision, Terms};
use threads::Threads;
use transit::{InTransit, Transit};
use worth::Worths;

/// Everything that month end takes in, in any order.
///
/// It is all that is known since the books were begun, not of one month alone: an invoice of one month is
/// paid in another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inputs {
    /// The workshop's own rules.
    pub terms: Terms,
    /// Dated reference rates.
    pub rates: Rates,
    /// Partners that are known besides those of what was agreed: one may have an agreement and no quote yet.
    pub partners: BTreeSet<Arc<str>>,
    /// What was agreed.
    pub agreed: Vec<Agreed>,
    /// Invoices and credit notes: ours, and those of partners to their buyers.
    pub invoices: Vec<Invoice>,
    /// What partners say they charged.
    pub charges: Vec<Charge>,
    /// Bank statements.
    pub statements: Vec<Statement>,
    /// What couriers billed.
    pub courier_bills: Vec<CourierBill>,
    /// What the workshop did itself.
    pub work_done: Vec<WorkDone>,
    /// What persons decided.
    pub decisions: Vec<Decision>,
    /// The months that are closed.
    pub closings: Vec<Closing>,
    /// The chart of accounts; empty where none is handed in. It enters no amount.
    pub chart: Chart,
}

impl Inputs {
    /// Nothing yet, by these rules.
    pub fn new(terms: Terms) -> Self {
        Self {
            terms,
            rates: Rates::default(),
            partners: BTreeSet::new(),
            agreed: Vec::new(),
            invoices: Vec::new(),
            charges: Vec::new(),
            statements: Vec::new(),
            courier_bills: Vec::new(),
            work_done: Vec::new(),
            decisions: Vec::new(),
            closings: Vec::new(),
            chart: Chart::default(),
        }
    }
}

/// What came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reconciled {
    /// What is not as agreed, in the order of days.
    pub differences: Vec<Found>,
    /// Differences that a month was closed with and that are none any more or of another amount, in the order of the days
    /// they count for as settled.
    pub settled: Vec<Settled>,
    /// What may be a mistake: names of partners, firms and quotes that nobody knows, so that what they stand for is not
    /// looked at, each once a file, where it stands first (it may be that they have no paper yet); and reference rates older
    /// than a week that something of open days went by (`old_rate`), each where it did so first.
    pub warnings: Vec<Slip>,
    /// What is posted because a closed month is not what is known of it now.
    pub changed: Vec<Changed>,
    /// Papers that are not what they were when their month was closed, and of which nothing is posted again: what is
    /// posted of them is the same, or nothing ever is. What others say otherwise stands in `changed`.
    pub restated: Vec<Restated>,
    /// What only a person can decide.
    pub undecided: Vec<Undecided>,
    /// What happened, in double entry.
    pub journal: Journal,
    /// The accounts of parties.
    pub accounts: Accounts,
    /// Transfers between own accounts of which one side is known by the last day that is looked at, in the order of
    /// days: what the journal has in transit up to that day. The last day of a closed month has those that it was closed
    /// with.
    pub in_transit: Vec<InTransit>,
    /// Volume bonuses by partner, year and month.
    pub bonuses: Vec<Earned>,
    /// Margins for charts.
    pub overview: Overview,
    /// Accounts, month by month.
    pub charts: Charts,
    /// The chart as it is handed in, the papers that are kept, and what is in transit at the end: what a closing of the
    /// first open month has besides.
    kept: (Chart, Vec<KeptPaper>, Vec<InTransit>),
    /// The digest of the last closing; zeros where there is none.
    last_closing: [u8; 32],
    /// The first month that is open, where one was closed.
    open: Option<Month>,
    /// The last day that was looked at.
    until: NaiveDate,
}

/// Holds everything against everything else.
///
/// Obeys `a_clean_month_has_no_difference`, `each_injected_fault_is_found_once`, `journal_balances`,
/// `closings_are_next_openings`, `a_changed_balance_is_refused`, `order_of_files_does_not_matter` and
/// `loading_twice_changes_nothing`.
///
/// # Errors
/// [`Unreconciled`] where two records of one name differ, the statements of an account do not follow one
/// another, a rate is missing, or a closing is not what it was. Differences are no errors.
///
/// # Examples
/// A courier bills a consignment that no quote knows:
/// ```
/// use evenfare_reconcile::input::{CourierBill, Leg, Place};
/// use evenfare_reconcile::terms::Terms;
/// use evenfare_reconcile::{Inputs, reconcile};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let mut inputs = Inputs::new(Terms {
///     currency: "EUR".parse()?,
///     until: "2026-10-31".parse()?,
///     rounding_minor: 1,
///     currency_percent: "1".parse()?,
///     payment_days: 30,
///     reporting: Default::default(),
///     accounts: Vec::new(),
///     bonuses: Vec::new(),
/// });
/// inputs.courier_bills.push(CourierBill {
///     place: Place { file: "october.csv".into(), line: 2 },
///     courier: "Swift Cart".into(),
///     bill: "C-77".into(),
///     consignment: "0815".into(),
///     quote: "Q-2026-0042".into(),
///     leg: Leg::In,
///     carried: "2026-10-12".parse()?,
///     currency: "EUR".parse()?,
///     net_minor: 1_860,
/// });
/// let books = reconcile(&inputs)?;
/// let found = &books.differences[0].difference;
/// assert_eq!((found.reason.code(), found.amount_minor), ("courier_unknown", 1_860));
/// assert_eq!(books.close("2026-10".parse()?)?.journal.len(), 1);
/// # Ok(()) }
/// ```
pub fn reconcile(inputs: &Inputs) -> Result<Reconciled, Unreconciled> {
    reconcile_watched(inputs, |_| ())
}

/// As [`reconcile`]; `watch` is told of each phase when it is begun.
///
/// # Errors
/// As [`reconcile`].
pub fn reconcile_watched(inputs: &Inputs, watch: impl FnMut(Phase)) -> Result<Reconciled, Unreconciled> {
    let papers = inputs.invoices.len().saturating_add(inputs.charges.len());
    reconciled(inputs, Threads::worth(inputs.agreed.len().saturating_add(papers)), watch)
}

/// As [`reconcile`], with this many threads. They change nothing but the time it takes (`threads_change_nothing`).
///
/// # Errors
/// As [`reconcile`]: the same, with any number of threads.
pub fn reconcile_on(inputs: &Inputs, threads: Threads) -> Result<Reconciled, Unreconciled> {
    reconciled(inputs, threads, |_| ())
}

fn reconciled(
    inputs: &Inputs,
    threads: Threads,
    mut watch: impl FnMut(Phase),
) -> Result<Reconciled, Unreconciled> {
    watch(Phase::Papers);
    let Inputs { terms, rates, decisions, .. } = inputs;
    let closed = period::checked(&inputs.closings)?;
    let (month, until) = (Month::of(terms.until), terms.until);
    if until < month.last_day() && closed.iter().any(|one| one.month == month) {
        return Err(Unreconciled::InsideClosed { month, until });
    }
    // Who looks back sees a closed month as it was closed: what was closed after it is not known yet.
    let closings: Vec<&Closing> =
        closed.iter().copied().filter(|one| one.month.last_day() <= terms.until).collect();
    let mut loaded = Loaded::new(inputs, threads)?;
    let (other_deals, (numbers, traders)) = threads.both(
        || loaded.other_deals(),
        || (matching::deal_numbers(&loaded.deals), loaded.firms.traders(&inputs.invoices)),
    );
    loaded.put_deals(&other_deals);
    loaded.firms.meet(traders);
    decided::check(inputs, &loaded)?;

    let mut known = Known::default();
    let mut undecided = Vec::new();
    again::told_once(&mut loaded, &numbers, decisions)?;
    let mut papers = Papers::new(&loaded, &numbers, decisions, threads);
    let (open, of_sales) = threads.both(
        || OpenItems::new(&loaded, &papers, terms),
        || differences::of_sales(&loaded, &papers, (terms, decisions), &mut known),
    );
    undecided.append(&mut papers.undecided);
    let waiting = std::mem::take(&mut papers.waiting);
    drop(papers);
    watch(Phase::Payments);
    let mut matching = matching::payments(&loaded, open, &numbers, rates, terms, decisions, threads)?;
    of_sales?;
    differences::of_work(&loaded, &numbers, rates, terms, &mut known)?;
    undecided.append(&mut matching.undecided);

    watch(Phase::Postings);
    // Payments are posted by one thread, so the other writes their names before.
    let (names, valued) = threads.both(
        || loaded.payments.iter().map(Received::name).collect::<Vec<_>>(),
        || {
            let mut warnings = unknown::names(inputs, &loaded, &numbers);
            let last_closed = closings.last().map(|last| last.month.last_day());
            warnings.extend(old_rates::old_rates(&loaded, &matching, (rates, terms), last_closed));
            warnings.sort();
            let transit = Transit::new(&matching, rates, terms)?;
            Ok::<_, Unreconciled>((warnings, transit, Worths::new(&matching.open, rates, terms)?))
        },
    );
    drop(numbers);
    let (warnings, (transit, mut asked), worths) = valued?;
    undecided.append(&mut asked);
    undecided.sort_by(|a, b| a.subject.cmp(&b.subject));
    let (of_items, posted) = threads.both(
        || {
            let (items, mut known) = (&matching.open.items, Known::default());
            differences::of_payments(&loaded, &matching, &transit, terms, &mut known)?;
            let turnover = bonus::turnover(items, &worths, (terms, &matching::decided(decisions)))?;
            Ok::<_, Unreconciled>((known, turnover, books::invoices(&loaded, items, &worths, terms)?))
        },
        || books::others(&loaded, &matching, &worths, &transit, names, (rates, terms)),
    );
    let ((of_payments, mut turnover, mut journal), mut posted) = (of_items?, posted?);
    known.append(of_payments);
    let years = std::mem::take(&mut turnover.years);
    let paid_out = bonus::post((&mut journal, &mut posted), turnover, (&loaded, &matching), terms)?;
    differences::of_paid_out(&loaded, &matching, (&paid_out.payments, &paid_out.credits), &mut known);
    drop(worths);
    watch(Phase::Accounts);
    let mut held = carried::held(known, &Asked::new(&undecided, &waiting), &closings);
    let restate = |open| restated::restated(inputs, &loaded, &closings, open);
    let after = closings.last().map(|last| last.month.next());
    let (mut settled, mut papers) = (std::mem::take(&mut held.settled), None);
    if let Some(open) = after {
        let (restated, keeps, places) = restate(open);
        let restated_now = (restated.as_slice(), &places);
        let matched = (&matching, &transit);
        for (one, now) in settled::settled(held.gone, &loaded, matched, restated_now, decisions, open) {
            settled.push(one);
            held.differences.extend(now);
        }
        settled.sort_unstable();
        held.differences.sort_unstable();
        papers = Some((restated, keeps));
    }
    let ((overview, open_items), journal) = threads.both(
        || (overview::overview(&loaded.deals, rates, terms), left_open(&loaded, &matching, &paid_out, terms)),
        || {
            journal.append(posted)?;
            period::after_closings(journal, &closings)
        },
    );
    let journal = journal?;
    drop(matching);
    let steps = closings.iter().map(|closing| (closing.month, closing.bonuses.as_deref()));
    let steps: earned::Closed<'_> = steps.collect();
    let (accounts, of_journal) = threads.both(
        || Accounts::new(&journal),
        || {
            let bonuses = earned::earned(&journal, terms, &steps, &years)?;
            let changed = if closings.is_empty() { Vec::new() } else { changed::changed(&journal)? };
            let papers = papers.or_else(|| {
                let (restated, keeps, _) = journal.first_month().map(restate)?;
                Some((restated, keeps))
            });
            Ok::<_, Unreconciled>((bonuses, changed, overview::invoiced(&journal, until)?, papers))
        },
    );
    let (bonuses, mut changed, invoiced, papers) = of_journal?;
    let (accounts, overview) = (accounts?.with_open(open_items?), Overview { invoiced, ..overview? });
    let last = closed.last();
    let (restated, papers) = papers.unwrap_or_default();
    let restated = restated::told_with(&mut changed, restated);
    let in_transit = period::in_transit(&closings, until)?.unwrap_or_else(|| transit.at(until));
    let at_the_end = after.or_else(|| journal.first_month()).map(|open| transit.at(open.last_day()));
    let kept = closed.iter().map(|closing| (closing.month, closing.chart.clone()));
    let charts = Charts::new(inputs.chart.clone(), kept);
    Ok(Reconciled {
        differences: held.differences,
        settled,
        warnings,
        changed,
        restated,
        undecided,
        journal,
        accounts,
        in_transit,
        bonuses,
        overview,
        charts,
        kept: (inputs.chart.clone(), papers, at_the_end.unwrap_or_default()),
        last_closing: last.map_or([0; 32], |closing| closing.digest),
        open: last.map(|closing| closing.month.next()),
        until: terms.until,
    })
}

impl Reconciled {
    /// The first month that is open: after the last that was closed, else the first in which anything was
    /// posted. None where nothing ever was.
    pub fn first_open(&self) -> Option<Month> {
        self.open.or_else(|| self.journal.first_month())
    }

    /// Closes a month: the first that is open. It is to be kept, and handed in from now on.
    ///
    /// # Errors
    /// [`Unreconciled::ClosingOutOfOrder`] where another month is the first open one, or nothing was ever posted;
    /// [`Unreconciled::MonthNotOver`] where not all of its days were looked at.
    pub fn close(&self, month: Month) -> Result<Closing, Unreconciled> {
        if self.first_open() != Some(month) {
            return Err(Unreconciled::ClosingOutOfOrder { month });
        }
        if month.last_day() > self.until {
            return Err(Unreconciled::MonthNotOver { month, until: self.until });
        }
        let (chart, papers, in_transit) = &self.kept;
        let found = (self.differences.as_slice(), self.settled.as_slice());
        let kept = (chart, papers.as_slice(), self.bonuses.as_slice(), in_transit.as_slice());
        Ok(Closing::new(month, kept, &self.journal, found, self.last_closing)?)
    }
}
