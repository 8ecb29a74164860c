//! Papers, held against what closings keep of them.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use chrono::NaiveDate;

use crate::Inputs;
use crate::changed::{Altered, Changed, How, Posted};
use crate::difference::Paper;
use crate::firm::WORKSHOP;
use crate::input::Place;
use crate::journal::Event;
use crate::kept::{Detail, KeptPaper, Name, Said};
use crate::loaded::{Loaded, Retold, Tellings};
use crate::month::Month;
use crate::period::Closing;
use crate::terms::Terms;

/// A paper that is not what it was when its month was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restated {
    /// Gone, different or late.
    pub how: How,
    /// The month it was closed with; none of one that was not there.
    pub closed: Option<Month>,
    /// What it was; none of one that was not there.
    pub was: Option<KeptPaper>,
    /// What it is now.
    pub is: KeptPaper,
    /// The day it counts for: the first of the month that was open when it was found.
    pub posted: NaiveDate,
    /// Does the closing have all that the paper said, and not amounts alone?
    is_detailed: bool,
}

impl Restated {
    /// What else than amounts is another one, in the order of the [`Detail`]s. A paper that came or went has its day.
    pub fn altered(&self) -> Vec<Altered> {
        let day = |paper: &KeptPaper| paper.said.as_ref().map(|_| paper.day.to_string()).unwrap_or_default();
        let was = self.was.as_ref();
        let days = ("day", was.map(day).unwrap_or_default(), day(&self.is));
        let mut all = vec![days];
        if let (Some(was), Some(is)) = (was.and_then(|was| was.said.as_ref()), &self.is.said)
            && self.is_detailed
        {
            let text = |said: &Said, of: Detail| {
                let own = said.details.iter().filter(|(detail, _)| *detail == of);
                own.map(|(_, text)| &**text).collect::<Vec<_>>().join("; ")
            };
            all.extend(Detail::ALL.iter().map(|&of| (of.word(), text(was, of), text(is, of))));
        }
        let another = all.into_iter().filter(|(_, was, is)| was != is);
        another.map(|(what, was, is)| Altered { what, was, is }).collect()
    }

    /// What its corrections are known by, where anything is posted of it.
    fn posted(&self) -> Option<Posted<'_>> {
        let KeptPaper { seller, number, .. } = &self.is;
        let event = self.is.event()?;
        let courier = (event == Event::CourierBill).then_some(&**seller);
        Some((Month::of(self.posted), event, &**number, courier))
    }
}

/// Puts what papers say otherwise to what is posted of them, the first correction of each; what is left are papers of
/// which nothing is posted again.
pub(crate) fn told_with(changed: &mut [Changed], restated: Vec<Restated>) -> Vec<Restated> {
    let mut told = HashSet::new();
    let found: Vec<Option<(How, Vec<Altered>)>> = {
        let of_posted =
            restated.iter().enumerate().filter_map(|(place, one)| Some((one.posted()?, (place, one))));
        let of_posted: HashMap<Posted<'_>, (usize, &Restated)> = of_posted.collect();
        let found = changed.iter().map(|one| {
            let (place, paper) = of_posted.get(&one.paper())?;
            let altered = if told.insert(*place) { paper.altered() } else { Vec::new() };
            Some((paper.how, altered))
        });
        found.collect()
    };
    for (one, found) in changed.iter_mut().zip(found) {
        if let Some((how, altered)) = found {
            (one.how, one.altered) = (how, altered);
        }
    }
    let left = restated.into_iter().enumerate().filter(|(place, _)| !told.contains(place));
    left.map(|(_, one)| one).collect()
}

/// A paper as a closing has it.
#[derive(Clone, Copy)]
struct Was<'c> {
    closing: &'c Closing,
    paper: &'c KeptPaper,
}

impl Was<'_> {
    /// Is the paper, which is there, the same now as far as the closing has it?
    fn is_still(&self, now: &KeptPaper) -> bool {
        let same_amounts = |was: &Said, is: &Said| {
            (was.currency, was.net_minor, was.gross_minor) == (is.currency, is.net_minor, is.gross_minor)
        };
        match (&self.paper.said, &now.said) {
            _ if self.closing.is_whole => self.paper == now,
            (Some(was), Some(is)) => self.paper.day == now.day && same_amounts(was, is),
            _ => false,
        }
    }
}

/// Papers as closings have them so far, and what was found on the way.
struct Held<'c> {
    closings: &'c [&'c Closing],
    /// Each as it was kept last.
    kept: HashMap<Name<'c>, Was<'c>>,
    restated: Vec<Restated>,
    places: Places,
}

/// Where papers that were restated now were read, by what they are, who sells and the number.
pub(crate) type Places = HashMap<(Paper, Arc<str>, Box<str>), Place>;

impl<'c> Held<'c> {
    /// Would the month of the paper's day have kept it? The first closing has all that came before it as well; one
    /// from before all papers were kept has only those that nothing is posted of.
    fn covers(&self, paper: &KeptPaper) -> bool {
        let month = Month::of(paper.day);
        let own = self.closings.iter().find(|closing| month <= closing.month);
        let is_of_whole = paper.event().is_some() || paper.paper == Paper::WorkDone;
        own.is_some_and(|own| own.papers.is_some() && (own.is_whole || !is_of_whole))
    }

    /// A paper as it was kept last.
    fn of(&self, paper: &KeptPaper) -> Option<Was<'c>> {
        self.kept.get(&paper.name()).copied()
    }

    fn found(&mut self, was: Option<Was<'_>>, is: &KeptPaper, place: Option<&Place>, posted: NaiveDate) {
        let is_detailed = was.is_none_or(|was| was.closing.is_whole);
        let was = was.filter(|was| was.paper.said.is_some());
        let how = match (was, &is.said) {
            // It was gone, and is of a day that is open.
            (None, _) if is.day >= posted => return,
            (None, _) => How::Late,
            (_, None) => How::Gone,
            _ => How::Different,
        };
        let closed = was.map(|was| was.closing.month);
        let was = was.map(|was| was.paper.clone());
        if let Some(place) = place {
            let name = (is.paper, Arc::clone(&is.seller), is.number.clone());
            self.places.insert(name, place.clone());
        }
        self.restated.push(Restated { how, closed, was, is: is.clone(), posted, is_detailed });
    }
}

/// The papers that tellings are, as closings keep them.
fn papers<'p>(tellings: &'p Tellings<'_>) -> impl Iterator<Item = KeptPaper> + 'p {
    let invoices = tellings.invoices.iter().map(|invoice| KeptPaper::of_invoice(invoice, false));
    invoices.chain(tellings.rows.iter().map(|row| KeptPaper::of_charge(row)))
}

/// What closed months say otherwise than is known now, and what the closing of the first open month would keep: the
/// papers of its days, and those of closed months that are others now.
///
/// A closing from before papers were kept has none, and nothing is said of its days.
pub(crate) fn restated(
    inputs: &Inputs,
    loaded: &Loaded<'_>,
    closings: &[&Closing],
    open: Month,
) -> (Vec<Restated>, Vec<KeptPaper>, Places) {
    let mut held = Held { closings, kept: HashMap::new(), restated: Vec::new(), places: Places::new() };
    let mut last: Option<Month> = None;
    for closing in closings {
        for paper in closing.papers.iter().flatten() {
            let was = held.kept.insert(paper.name(), Was { closing, paper });
            if was.is_some() || last.is_some_and(|last| paper.day <= last.last_day()) {
                held.found(was, paper, None, closing.month.first_day());
            }
        }
        last = Some(closing.month);
    }
    let (begins, ends) = (open.first_day(), open.last_day());
    // Where no closing keeps any, a paper of later days is of none: a year has millions that need not be named.
    let last_day = if held.kept.is_empty() { ends } else { NaiveDate::MAX };
    let counts = |day: NaiveDate| day <= last_day;
    // Of a paper that is told in two ways the telling counts that a closing has: it is not late in the other.
    let (mut passed_over, mut instead) = (HashSet::new(), Vec::new());
    for Retold { counts, again } in &loaded.retold {
        let is_held = |paper: &KeptPaper| held.of(paper).is_some_and(|was| was.paper.said.is_some());
        let again: Vec<KeptPaper> = papers(again).filter(is_held).collect();
        if !again.is_empty() {
            passed_over.extend(papers(counts).filter(|paper| !is_held(paper)));
            instead.extend(again);
        }
    }
    let mut keeps = Vec::new();
    let mut met = HashSet::new();
    let mut take = |paper: KeptPaper, place: Option<&Place>| {
        let is_closed = last.is_some() && paper.day < begins;
        let was = held.of(&paper);
        // Of a quote that is handed in twice the second says nothing new.
        if was.is_some_and(|was| !met.insert(was.paper.name()) || was.is_still(&paper))
            || passed_over.contains(&paper)
        {
            return;
        }
        match was {
            None if paper.day > ends || is_closed && !held.covers(&paper) => return,
            None if !is_closed => {}
            _ => held.found(was, &paper, place, begins),
        }
        keeps.push(paper);
    };
    let Terms { until, currency, .. } = inputs.terms;
    for agreed in inputs.agreed.iter().filter(|agreed| agreed.accepted <= until && counts(agreed.accepted)) {
        KeptPaper::of_quote(agreed).for_each(|sale| take(sale, None));
    }
    for invoice in loaded.invoices.iter().filter(|invoice| counts(invoice.issued)) {
        let is_ours = loaded.firms.of_trader(&invoice.seller).is_some_and(|firm| **firm == *WORKSHOP);
        take(KeptPaper::of_invoice(invoice, is_ours), Some(&invoice.place));
    }
    let charges = loaded.charges.iter().filter(|charge| counts(charge.issued));
    charges.for_each(|charge| take(KeptPaper::of_charge(charge), Some(&charge.place)));
    instead.into_iter().for_each(|paper| take(paper, None));
    let payments = loaded.payments.iter().filter(|payment| counts(payment.booked));
    payments.for_each(|payment| take(KeptPaper::of_payment(payment), Some(&payment.payment.place)));
    let bills = loaded.courier_bills.iter().filter(|bill| counts(bill.carried));
    bills.for_each(|bill| take(KeptPaper::of_courier_bill(bill, loaded.name_of(bill)), Some(&bill.place)));
    let work = loaded.work_done.iter().filter(|work| counts(work.done));
    work.for_each(|work| take(KeptPaper::of_work(work, currency), Some(&work.place)));
    let is_gone = |was: &&Was<'_>| was.paper.said.is_some() && !met.contains(&was.paper.name());
    let gone: Vec<Was<'_>> = held.kept.values().filter(is_gone).copied().collect();
    for was in gone {
        let is = KeptPaper { said: None, ..was.paper.clone() };
        held.found(Some(was), &is, None, begins);
        keeps.push(is);
    }
    let mut restated = held.restated;
    restated.sort_unstable_by(|a, b| (a.posted, &a.is).cmp(&(b.posted, &b.is)));
    restated.dedup();
    keeps.sort_unstable();
    keeps.dedup();
    (restated, keeps, held.places)
}
