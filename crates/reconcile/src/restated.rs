//! Papers that nothing is posted of, held against what closings keep of them.

use std::collections::{HashMap, HashSet};

use chrono::NaiveDate;

use crate::Inputs;
use crate::changed::How;
use crate::firm::WORKSHOP;
use crate::kept::{KeptPaper, Name};
use crate::loaded::{Loaded, Retold, Tellings};
use crate::month::Month;
use crate::period::Closing;

/// A paper of a closed month that is not what it was when the month was closed.
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
}

/// Papers as closings have them so far, and what was found on the way.
struct Held<'c> {
    closings: &'c [&'c Closing],
    /// Each as it was kept last, and the month it was kept in.
    kept: HashMap<Name<'c>, (Month, &'c KeptPaper)>,
    restated: Vec<Restated>,
}

impl<'c> Held<'c> {
    /// Is the day of a month whose closing keeps papers? The first closing has all that came before it as well.
    fn covers(&self, day: NaiveDate) -> bool {
        let month = Month::of(day);
        let first = self.closings.first().filter(|first| month < first.month);
        let own = || self.closings.iter().find(|closing| closing.month == month);
        first.or_else(own).is_some_and(|closing| closing.papers.is_some())
    }

    /// A paper as it was kept last.
    fn of(&self, paper: &KeptPaper) -> Option<(Month, &'c KeptPaper)> {
        self.kept.get(&paper.name()).copied()
    }

    fn found(&mut self, was: Option<(Month, &KeptPaper)>, is: &KeptPaper, posted: NaiveDate) {
        let was = was.filter(|(_, paper)| paper.said.is_some());
        let how = match (was, is.said) {
            (None, _) => How::Late,
            (_, None) => How::Gone,
            _ => How::Different,
        };
        let closed = was.map(|(month, _)| month);
        let was = was.map(|(_, paper)| paper.clone());
        self.restated.push(Restated { how, closed, was, is: is.clone(), posted });
    }
}

/// The papers that tellings are, as closings keep them.
fn papers<'p>(tellings: &'p Tellings<'_>) -> impl Iterator<Item = KeptPaper> + 'p {
    let invoices = tellings.invoices.iter().map(|invoice| KeptPaper::of_invoice(invoice));
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
) -> (Vec<Restated>, Vec<KeptPaper>) {
    let mut held = Held { closings, kept: HashMap::new(), restated: Vec::new() };
    let mut last: Option<Month> = None;
    for closing in closings {
        for paper in closing.papers.iter().flatten() {
            let was = held.kept.insert(paper.name(), (closing.month, paper));
            if was.is_some() || last.is_some_and(|last| paper.day <= last.last_day()) {
                held.found(was, paper, closing.month.first_day());
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
        let is_held = |paper: &KeptPaper| held.of(paper).is_some_and(|(_, was)| was.said.is_some());
        let again: Vec<KeptPaper> = papers(again).filter(is_held).collect();
        if !again.is_empty() {
            passed_over.extend(papers(counts).filter(|paper| !is_held(paper)));
            instead.extend(again);
        }
    }
    let mut keeps = Vec::new();
    let mut met = HashSet::new();
    let mut take = |paper: KeptPaper, is_posted: bool| {
        let is_closed = last.is_some() && paper.day < begins;
        let was = held.of(&paper);
        // Of a quote that is handed in twice the second says nothing new.
        if was.is_some_and(|(_, was)| !met.insert(was.name()) || *was == paper)
            || passed_over.contains(&paper)
        {
            return;
        }
        match was {
            None if is_posted || paper.day > ends || is_closed && !held.covers(paper.day) => return,
            None if !is_closed => {}
            _ => held.found(was, &paper, begins),
        }
        keeps.push(paper);
    };
    let until = inputs.terms.until;
    for agreed in inputs.agreed.iter().filter(|agreed| agreed.accepted <= until && counts(agreed.accepted)) {
        KeptPaper::of_quote(agreed).for_each(|sale| take(sale, false));
    }
    for invoice in loaded.invoices.iter().filter(|invoice| counts(invoice.issued)) {
        let is_ours = loaded.firms.of_trader(&invoice.seller).is_some_and(|firm| **firm == *WORKSHOP);
        take(KeptPaper::of_invoice(invoice), is_ours);
    }
    let charges = loaded.charges.iter().filter(|charge| counts(charge.issued));
    charges.for_each(|charge| take(KeptPaper::of_charge(charge), false));
    instead.into_iter().for_each(|paper| take(paper, false));
    let is_gone = |(_, paper): &&(Month, &KeptPaper)| paper.said.is_some() && !met.contains(&paper.name());
    let gone: Vec<(Month, &KeptPaper)> = held.kept.values().filter(is_gone).copied().collect();
    for was in gone {
        let is = KeptPaper { said: None, ..was.1.clone() };
        held.found(Some(was), &is, begins);
        keeps.push(is);
    }
    let mut restated = held.restated;
    restated.sort_unstable_by(|a, b| (a.posted, &a.is).cmp(&(b.posted, &b.is)));
    restated.dedup();
    keeps.sort_unstable();
    keeps.dedup();
    (restated, keeps)
}
