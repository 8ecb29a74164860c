//! Papers that name no quote, and the invoices that they follow: what takes an invoice back is of its sale.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use evenfare_engine::money::Currency;

use super::credited::are_one;
use super::numbers::{ByNumber, packed};
use super::question::Undecided;
use super::written::{BetweenWhom, By, OfSale, SaleAt, Standing, Written, asked, author, deal_of};
use crate::loaded::Loaded;

/// Days after an invoice in which a credit note that names none can be of it.
const DAYS_AFTER: i64 = 45;

/// A paper of which no quote is known, and what takes it back.
pub(crate) struct Unsold<'a> {
    /// Who wrote them, where that is known.
    pub(crate) seller: Option<&'a Arc<str>>,
    /// An invoice; or a credit note of which no invoice is known.
    pub(crate) written: Written<'a>,
    /// Credit notes of it, in its currency, in the order of days and numbers.
    pub(crate) credits: Vec<Written<'a>>,
    /// Of a credit note to another party than the invoice that it names, that invoice.
    pub(crate) of_another: Option<Written<'a>>,
}

impl<'a> Unsold<'a> {
    fn alone((written, seller): By<'a>) -> Self {
        Self { seller, written, credits: Vec::new(), of_another: None }
    }

    /// The paper, then its credit notes.
    pub(crate) fn papers(&self) -> impl Iterator<Item = Written<'a>> + '_ {
        [self.written].into_iter().chain(self.credits.iter().copied())
    }

    /// What is left of it with VAT.
    pub(crate) fn gross(&self) -> i64 {
        self.papers().fold(0, |sum, written| sum.saturating_add(written.gross()))
    }

    /// Was all of it taken back, or is it to another than what it names?
    pub(crate) fn standing(&self) -> Standing {
        match () {
            () if self.of_another.is_some() => Standing::ToAnother,
            () if !self.credits.is_empty() && self.gross() == 0 => Standing::TakenBack,
            () => Standing::Kept,
        }
    }
}

/// Papers that are for no quote they name.
#[derive(Default)]
pub(super) struct Left<'a> {
    /// They name no quote.
    pub(super) nameless: Vec<By<'a>>,
    /// A person decided that they are for nothing, or they name a quote that their seller has no sale of.
    pub(super) unknown: Vec<By<'a>>,
    /// Of these it is asked which quote they are for.
    pub(super) asked: Vec<By<'a>>,
}

/// What came of papers that name no quote.
pub(super) struct Followed<'a> {
    /// They are of no sale, in the order of their numbers.
    pub(super) unsold: Vec<Unsold<'a>>,
    /// Of these credit notes it is asked.
    pub(super) undecided: Vec<Undecided>,
    /// They follow papers that are asked about.
    pub(super) waiting: Vec<By<'a>>,
    /// Sales of whose invoices one may be taken back.
    pub(super) in_question: HashSet<SaleAt>,
}

/// Sorts out papers by the invoices that they name. An invoice is of the sale of the one that it comes in the place
/// of. A credit note is of the sale of the invoices that it names; where it names none, of the only one of who sells, who
/// buys and how much that is at most 45 days older and that no other credit note names. Either is asked about where these
/// are of several sales, or some of none. Of an invoice of several quotes, which a list tells in rows, it is the only row
/// of that amount; else it is asked. What follows a paper that is asked about waits with it. A credit note that names an
/// invoice to another party than its own is of nothing.
pub(super) fn by_invoice<'a>(
    loaded: &Loaded<'a>,
    left: Left<'a>,
    of_sales: &mut Vec<OfSale<'a>>,
) -> Followed<'a> {
    let mut in_question = HashSet::new();
    let mut undecided = Vec::new();
    let is_credit = |(written, _): &By<'a>| written.is_credit();
    let mut invoices = Invoices::new(loaded, of_sales, &left);
    let (mut credits, nameless) = left.nameless.into_iter().partition::<Vec<_>, _>(is_credit);
    let (unknown_credits, unknown) = left.unknown.into_iter().partition::<Vec<_>, _>(is_credit);
    unknown.into_iter().for_each(|by| invoices.unsold(by));
    let nameless = in_their_order(nameless);
    let mut ask = |by: By<'a>, several: &[Went]| {
        let (sales, quotes): (Vec<SaleAt>, Vec<Box<str>>) = quotes(loaded, several)?.into_iter().unzip();
        in_question.extend(sales);
        undecided.push(asked(by, quotes.into_iter()));
        Some(Went::Asked)
    };
    for by in nameless {
        let named = ways(invoices.named_by(by).into_iter().map(|(_, went)| went));
        match named.as_slice() {
            [Went::Sale(deal, sale)] => invoices.sold(by, *deal, *sale, of_sales),
            [Went::Asked] => {
                invoices.note(by, Went::Asked);
                invoices.waiting.push(by);
            }
            [] | [_] => invoices.unsold(by),
            several => match ask(by, several) {
                Some(went) => invoices.note(by, went),
                None => invoices.unsold(by),
            },
        }
    }
    for by in unknown_credits {
        let went = match invoices.take_named(by).as_slice() {
            [went @ (Went::Unsold(_) | Went::Another(_))] => Some(*went),
            _ => None,
        };
        invoices.credit(by, went, of_sales);
    }
    // What a credit note names no other one takes back.
    credits.sort_by_key(|(written, _)| written.preceding().is_none());
    for by in credits {
        let of = match by.0.preceding() {
            Some(_) => invoices.take_named(by),
            None => invoices.of_amount(by),
        };
        let went = match of.as_slice() {
            [] => None,
            [went] => Some(*went),
            several => ask(by, several),
        };
        invoices.credit(by, went, of_sales);
    }
    let (mut unsold, waiting) = (invoices.unsold, invoices.waiting);
    for one in &mut unsold {
        one.credits.sort_unstable_by_key(|written| (written.issued(), written.number()));
    }
    unsold.sort_unstable_by_key(|one| {
        let by = (one.written, one.seller);
        (one.written.number(), one.written.issued(), author(by))
    });
    Followed { unsold, undecided, waiting, in_question }
}

/// Invoices by days and numbers, each behind the one that it comes in the place of: on one day there may be a chain of them.
fn in_their_order(mut nameless: Vec<By<'_>>) -> Vec<By<'_>> {
    nameless.sort_unstable_by_key(|(written, _)| (written.issued(), written.number()));
    let numbers: HashSet<Option<u128>> =
        nameless.iter().flat_map(|(written, _)| written.all_preceding()).map(packed).collect();
    if numbers.is_empty() {
        return nameless;
    }
    let mut by_number = ByNumber::default();
    let is_named = |by: &By<'_>| numbers.contains(&packed(by.0.number()));
    for (place, by) in nameless.iter().enumerate().filter(|(_, by)| is_named(by)) {
        by_number.insert(author(*by), by.0.number(), place);
    }
    let named = |place: usize| {
        let by = nameless.get(place).copied();
        let named =
            by.into_iter().flat_map(|by| by.0.all_preceding().map(move |number| (author(by), number)));
        named.filter_map(|(author, number)| by_number.get(author, number)).collect::<Vec<usize>>()
    };
    // How many of them stand before each.
    let mut depths: Vec<Option<usize>> = vec![None; nameless.len()];
    for place in 0..nameless.len() {
        let mut path = vec![(place, named(place))];
        while let Some((one, before)) = path.last_mut() {
            // Where they go round in a circle, the first that was met ends it.
            let depth = depths.get(*one).copied().flatten().unwrap_or_default();
            let after = before.last().map(|other| depths.get(*other).copied().flatten());
            if let Some(own) = depths.get_mut(*one) {
                *own = Some(after.flatten().map_or(depth, |after| depth.max(after.saturating_add(1))));
            }
            match after {
                None => drop(path.pop()),
                Some(Some(_)) => drop(before.pop()),
                Some(None) => {
                    let other = before.last().copied().unwrap_or_default();
                    path.push((other, named(other)));
                }
            }
        }
    }
    let mut all: Vec<(Option<usize>, By<'_>)> = depths.into_iter().zip(nameless).collect();
    all.sort_by_key(|(depth, _)| *depth);
    all.into_iter().map(|(_, by)| by).collect()
}

/// What became of an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Went {
    /// It is for that sale of that deal.
    Sale(u32, u32),
    /// It is for nothing known: its place among those.
    Unsold(usize),
    /// A question is open.
    Asked,
    /// It is to another than the credit note that names it: its place among those that are known.
    Another(usize),
}

/// Invoices that others may follow.
struct Invoices<'l, 'a> {
    loaded: &'l Loaded<'a>,
    wanted: Wanted,
    known: Vec<(By<'a>, Went)>,
    by_number: ByNumber<'a>,
    /// Rows that are one invoice with another one, by the place of that.
    rows: HashMap<usize, Vec<usize>>,
    by_amount: HashMap<BetweenWhom<'a>, Vec<usize>>,
    /// Those that credit notes name.
    taken: HashSet<usize>,
    unsold: Vec<Unsold<'a>>,
    waiting: Vec<By<'a>>,
}

/// What invoices are looked for by: of a million few are.
struct Wanted {
    numbers: HashSet<Option<u128>>,
    amounts: HashSet<(Currency, i64)>,
}

impl Wanted {
    fn new(left: &Left<'_>) -> Self {
        let mut wanted = Self { numbers: HashSet::new(), amounts: HashSet::new() };
        for (written, _) in left.nameless.iter().chain(&left.unknown) {
            wanted.numbers.extend(written.all_preceding().map(packed));
            if written.preceding().is_none() && written.is_credit() {
                wanted.amounts.insert((written.currency(), written.gross().saturating_neg()));
            }
        }
        wanted
    }
}

impl<'l, 'a> Invoices<'l, 'a> {
    fn new(loaded: &'l Loaded<'a>, of_sales: &[OfSale<'a>], left: &Left<'a>) -> Self {
        let mut invoices = Self {
            loaded,
            wanted: Wanted::new(left),
            known: Vec::new(),
            by_number: ByNumber::default(),
            rows: HashMap::new(),
            by_amount: HashMap::new(),
            taken: HashSet::new(),
            unsold: Vec::new(),
            waiting: Vec::new(),
        };
        let Wanted { numbers, amounts } = &invoices.wanted;
        if numbers.is_empty() && amounts.is_empty() {
            return invoices;
        }
        let (papers, credits) = of_sales.iter().partition::<Vec<_>, _>(|of| !of.written.is_credit());
        for of in papers {
            invoices.note(of.by(&loaded.deals), Went::Sale(of.deal, of.sale));
        }
        left.asked.iter().for_each(|by| invoices.note(*by, Went::Asked));
        for of in credits {
            invoices.take_named(of.by(&loaded.deals));
        }
        invoices
    }

    /// Notes an invoice, where one like it is looked for.
    fn note(&mut self, by: By<'a>, went: Went) {
        let (written, _) = by;
        let is_of_amount = self.wanted.amounts.contains(&(written.currency(), written.gross()));
        if !is_of_amount && !self.wanted.numbers.contains(&packed(written.number())) {
            return;
        }
        let place = self.known.len();
        self.known.push((by, went));
        let first = self.by_number.insert(author(by), written.number(), place);
        if first != place {
            self.rows.entry(first).or_default().push(place);
        }
        if let Some(key) = between_whom(self.loaded, by, written.gross()).filter(|_| is_of_amount) {
            self.by_amount.entry(key).or_default().push(place);
        }
    }

    fn sold(&mut self, by: By<'a>, deal: u32, sale: u32, of_sales: &mut Vec<OfSale<'a>>) {
        of_sales.push(OfSale { deal, sale, written: by.0, standing: Standing::Kept });
        self.note(by, Went::Sale(deal, sale));
    }

    fn unsold(&mut self, by: By<'a>) {
        self.note(by, Went::Unsold(self.unsold.len()));
        self.unsold.push(Unsold::alone(by));
    }

    /// The invoices that a paper names, and what became of them.
    fn named_by(&self, by: By<'_>) -> Vec<(usize, Went)> {
        by.0.all_preceding().flat_map(|number| self.of_number(by, number)).collect()
    }

    /// The invoice of that number, and what became of it: of one in several rows the only one of that amount, else each way
    /// that they went.
    fn of_number(&self, by: By<'_>, number: &str) -> Vec<(usize, Went)> {
        let first = self.by_number.get(author(by), number);
        let others = first.and_then(|first| self.rows.get(&first)).into_iter().flatten().copied();
        let ways = |is_it: &dyn Fn(Written<'a>) -> bool| {
            let rows = first.into_iter().chain(others.clone());
            let rows = rows.filter_map(|place| Some((place, self.known.get(place)?)));
            let rows = rows.filter(|(_, ((row, _), _))| is_it(*row));
            let mut ways: Vec<(usize, Went)> = rows.map(|(place, (_, went))| (place, *went)).collect();
            ways.sort_unstable_by_key(|(_, went)| *went);
            ways.dedup_by_key(|(_, went)| *went);
            ways
        };
        let amount = by.0.gross().saturating_abs();
        match ways(&|row| row.gross().saturating_abs() == amount) {
            only if only.len() == 1 => only,
            _ => ways(&|_| true),
        }
    }

    /// What became of the invoices that a credit note names, which no other one takes back then; where one is to another
    /// party, they can still be taken back.
    fn take_named(&mut self, by: By<'a>) -> Vec<Went> {
        let firms = &self.loaded.firms;
        let named = self.named_by(by);
        let is_of_another = |(place, _): &&(usize, Went)| {
            let invoice = self.known.get(*place).map(|((invoice, _), _)| invoice);
            invoice.is_some_and(|invoice| !are_one(invoice.party(firms), by.0.party(firms)))
        };
        if let Some((place, _)) = named.iter().find(is_of_another) {
            return vec![Went::Another(*place)];
        }
        self.taken.extend(named.iter().map(|(place, _)| *place));
        ways(named.into_iter().map(|(_, went)| went))
    }

    /// Where the invoices went that are of who sells, who buys and how much, and that nobody names.
    fn of_amount(&self, by: By<'a>) -> Vec<Went> {
        let (written, _) = by;
        let key = between_whom(self.loaded, by, written.gross().saturating_neg());
        let places = key.and_then(|key| self.by_amount.get(&key)).map(Vec::as_slice).unwrap_or_default();
        let fits = |place: &usize| {
            let ((invoice, _), went) = self.known.get(*place)?;
            let after = written.issued().signed_duration_since(invoice.issued()).num_days();
            ((0..=DAYS_AFTER).contains(&after) && !self.taken.contains(place)).then_some(*went)
        };
        ways(places.iter().filter_map(fits))
    }

    /// Puts a credit note where its invoice went.
    fn credit(&mut self, by: By<'a>, went: Option<Went>, of_sales: &mut Vec<OfSale<'a>>) {
        let written = by.0;
        match went {
            Some(Went::Sale(deal, sale)) => {
                of_sales.push(OfSale { deal, sale, written, standing: Standing::Kept });
            }
            Some(Went::Asked) => self.waiting.push(by),
            Some(Went::Unsold(place)) => {
                let own = self.unsold.get_mut(place);
                match own.filter(|own| own.written.currency() == written.currency()) {
                    Some(own) => own.credits.push(written),
                    None => self.unsold.push(Unsold::alone(by)),
                }
            }
            Some(Went::Another(place)) => {
                let of_another = self.known.get(place).map(|((invoice, _), _)| *invoice);
                self.unsold.push(Unsold { of_another, ..Unsold::alone(by) });
            }
            None => self.unsold.push(Unsold::alone(by)),
        }
    }
}

/// Each way that invoices went.
fn ways(went: impl Iterator<Item = Went>) -> Vec<Went> {
    let mut ways: Vec<Went> = went.collect();
    ways.sort_unstable();
    ways.dedup();
    ways
}

/// An invoice or, with its gross turned round, a credit note; a charge names no buyer.
fn between_whom<'a>(loaded: &Loaded<'a>, by: By<'a>, gross: i64) -> Option<BetweenWhom<'a>> {
    Some((author(by), by.0.party(&loaded.firms)?, by.0.currency(), gross))
}

/// The sales that invoices went to, and the numbers of their quotes; nothing where none went to a sale.
fn quotes(loaded: &Loaded<'_>, several: &[Went]) -> Option<Vec<(SaleAt, Box<str>)>> {
    let quote = |went: &Went| match went {
        Went::Sale(deal, sale) => Some(((*deal, *sale), deal_of(&loaded.deals, *deal)?.number.clone())),
        Went::Unsold(_) | Went::Asked | Went::Another(_) => None,
    };
    let quotes: Vec<_> = several.iter().filter_map(quote).collect();
    (!quotes.is_empty()).then_some(quotes)
}
