//! The quote: sealed, with every figure and its working.

use std::ops::Deref;

use chrono::NaiveDate;
use compact_str::CompactString;

use crate::category::Category;
use crate::flag::Flag;
use crate::job::Task;
use crate::money::{Amount, Cost, Currency, Gross, Net, Overflow, Percent, Share, Vat};
use crate::route::UnderTheFloor;
use crate::supply::{VatGroup, vat};
use crate::tariff::Party;
use crate::terms::{OpenCover, Warranty};
use crate::text::{Code, Text};
use crate::trail::Step;
use crate::why::Why;

/// Where a quote stands among the quotes for its job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The first, or a revision of the one before: 1, 2, 3.
    Revision(u32),
    /// The opposite entry of that revision.
    Reversal(u32),
}

/// All that a quote says, before it is sealed.
///
/// Plain data, free to be built and changed. It becomes a [`Quote`] by [`seal`](Self::seal), which
/// checks every sum again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// The job's reference.
    pub reference: Code,
    /// Where it stands.
    pub standing: Standing,
    /// The tariff edition it was priced by.
    pub edition: Code,
    /// The currency of every amount in it.
    pub currency: Currency,
    /// The day the units arrived.
    pub received: NaiveDate,
    /// The day of the quote.
    pub quoted: NaiveDate,
    /// The last day on which it can be accepted.
    pub valid_until: NaiveDate,
    /// The day the units go back.
    pub dispatch: NaiveDate,
    /// The day VAT goes by.
    pub tax_date: NaiveDate,
    /// Who sells first.
    pub workshop: Party,
    /// The partners, nearest to the workshop first.
    pub route: Vec<Party>,
    /// Who pays the end price.
    pub customer: Party,
    /// The job itself, then its alternatives; one of them is accepted.
    pub offers: Vec<Offer>,
    /// Alternatives that this route cannot carry.
    pub refused: Vec<UnderTheFloor>,
}

/// One way to do the job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// `main`, or the alternative's name.
    pub id: Box<str>,
    /// In words.
    pub text: Box<str>,
    /// What is done to each unit.
    pub units: Vec<OfferedUnit>,
    /// The lines of the end price.
    pub lines: Vec<Line>,
    /// What the end customer pays.
    pub end: End,
    /// Each sale from the workshop outward.
    pub sales: Vec<Sale>,
    /// What each partner keeps.
    pub shares: Vec<PartnerShare>,
    /// What the workshop keeps.
    pub workshop_net: Net,
    /// The cost lines.
    pub costs: Vec<CostEntry>,
    /// What the workshop spends by this route.
    pub cost: Cost,
    /// What somebody should know.
    pub flags: Vec<Flag>,
    /// The working of every figure.
    pub working: Vec<Step>,
}

/// A unit in one way to do the job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfferedUnit {
    /// Its name in the job.
    pub id: Code,
    /// Its family.
    pub family: Code,
    /// The family in words.
    pub family_text: Text,
    /// Serial number.
    pub serial: Text,
    /// What is done.
    pub task: Task,
    /// What was found, in plain words, with the place.
    pub findings: Vec<OfferedFinding>,
    /// What is done, step by step, and why.
    pub plan: Vec<PlanStep>,
    /// The warranty it leaves with.
    pub warranty: Option<Warranty>,
    /// The warranty it came back under, where that is open.
    pub open_cover: Option<OpenCover>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct OfferedFinding {
    /// The catalogue's code.
    pub code: Code,
    /// In plain words.
    pub text: Text,
    /// Where on the board.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub position: Option<Code>,
    /// How many times.
    pub times: u32,
    /// Does a warranty of the workshop cover it?
    pub covered: bool,
}

/// A step of the work plan.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct PlanStep {
    /// Part, labour or test.
    pub category: Category,
    /// Its code.
    pub code: Code,
    /// In words.
    pub text: Text,
    /// How much: pieces, times or hours.
    pub quantity: CompactString,
    /// Where on the board.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub position: Option<CompactString>,
    /// Who asked for it and why.
    pub why: Why,
}

/// A line of the end price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its name: `U1/part/CAP-470`.
    pub id: CompactString,
    /// What it is for.
    pub category: Category,
    /// In words.
    pub text: CompactString,
    /// How much, with its unit; empty where it is one of its kind.
    pub quantity: CompactString,
    /// What it comes to.
    pub net: Net,
}

/// What the end customer pays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct End {
    /// Before VAT: the sum of the lines.
    pub net: Net,
    /// The standard rate of his country, where it is known.
    pub vat_rate: Option<Percent>,
    /// VAT in his country, charged by the last seller or declared by himself.
    pub vat_due: Option<Vat>,
}

/// One sale on the route.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sale {
    /// `workshop` or the partner's code.
    pub seller: Code,
    /// The partner's code or `customer`.
    pub buyer: Code,
    /// What the buyer pays, before VAT.
    pub net: Net,
    /// By the lines of the end price, in their order.
    pub lines: Vec<Net>,
    /// VAT by category and rate.
    pub vat: Vec<VatGroup>,
    /// What the buyer pays, with the VAT that the seller charges.
    pub gross: Gross,
}

/// What a partner keeps of the end price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartnerShare {
    /// His code.
    pub partner: Code,
    /// What he keeps.
    pub share: Share,
}

/// A cost line, in the quote's currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostEntry {
    /// Its name, the same as that of the line it is charged by.
    pub id: CompactString,
    /// What it is for.
    pub category: Category,
    /// In words.
    pub text: CompactString,
    /// How much, with its unit.
    pub quantity: CompactString,
    /// What it comes to.
    pub cost: Cost,
    /// A partner on the route carries it; it is not the workshop's.
    pub carried_by_partner: bool,
}

/// Why a draft cannot be sealed: some sum in it does not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unsealed {
    /// Two figures that must be equal are not.
    #[error("{what} of offer `{offer}` is {found}, and must be {expected}")]
    Sum {
        /// Which way to do the job.
        offer: String,
        /// Which figure.
        what: &'static str,
        /// What it is, in minor units.
        found: i64,
        /// What it must be.
        expected: i64,
    },
    /// A figure has the wrong sign, or a list the wrong length.
    #[error("{what} of offer `{offer}` cannot be so")]
    Shape {
        /// Which way to do the job.
        offer: String,
        /// Which figure.
        what: &'static str,
    },
    /// A sum is too large.
    #[error(transparent)]
    Overflow(#[from] Overflow),
}

/// A sealed quote: every sum in it was checked when it was closed, and nothing in it can be changed.
///
/// It is read like the [`Draft`] it was made from. A correction is a new revision
/// ([`revised`](crate::revised)), a reversal an opposite entry ([`reversed`](Self::reversed)).
///
/// Obeys `lines_add_up_to_total`, `net_plus_vat_is_gross`,
/// `shares_and_workshop_net_add_up_to_end_price` and `reversal_mirrors_quote`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quote(Draft);

impl Deref for Quote {
    type Target = Draft;

    fn deref(&self) -> &Draft {
        &self.0
    }
}

impl Draft {
    /// The way to do the job of that name; none where this route cannot carry it.
    pub fn offer(&self, id: &str) -> Option<&Offer> {
        self.offers.iter().find(|offer| *offer.id == *id)
    }

    /// Checks every sum again and closes the quote.
    ///
    /// # Errors
    /// [`Unsealed`] names the first figure that does not hold.
    pub fn seal(self) -> Result<Quote, Unsealed> {
        let parties: Vec<&Code> = [&self.workshop]
            .into_iter()
            .chain(&self.route)
            .chain([&self.customer])
            .map(|party| &party.code)
            .collect();
        for offer in &self.offers {
            offer.check(&parties, self.standing)?;
        }
        Ok(Quote(self))
    }
}

impl Quote {
    /// What it says, for its views.
    pub(crate) fn opened(self) -> Draft {
        self.0
    }

    /// The job itself, not one of its alternatives; none only in a draft that was sealed without any offer.
    pub fn main(&self) -> Option<&Offer> {
        self.0.offers.first()
    }

    /// The opposite entry: every amount with the other sign.
    ///
    /// # Errors
    /// [`Unsealed`] never in practice: what held for a quote holds for its mirror image.
    pub fn reversed(&self) -> Result<Quote, Unsealed> {
        let mut draft = self.0.clone();
        draft.standing = match draft.standing {
            Standing::Revision(number) => Standing::Reversal(number),
            Standing::Reversal(number) => Standing::Revision(number),
        };
        for offer in &mut draft.offers {
            offer.turn_round();
        }
        for refused in &mut draft.refused {
            refused.end_net = refused.end_net.reversed();
            refused.shares = refused.shares.reversed();
            refused.available = refused.available.reversed();
        }
        draft.seal()
    }
}

impl Offer {
    fn turn_round(&mut self) {
        fn turn<K>(amount: &mut Amount<K>) {
            *amount = amount.reversed();
        }
        self.lines.iter_mut().for_each(|line| turn(&mut line.net));
        turn(&mut self.end.net);
        if let Some(due) = &mut self.end.vat_due {
            turn(due);
        }
        for sale in &mut self.sales {
            turn(&mut sale.net);
            sale.lines.iter_mut().for_each(turn);
            for group in &mut sale.vat {
                turn(&mut group.base);
                turn(&mut group.tax);
            }
            turn(&mut sale.gross);
        }
        self.shares.iter_mut().for_each(|share| turn(&mut share.share));
        turn(&mut self.workshop_net);
        self.costs.iter_mut().for_each(|cost| turn(&mut cost.cost));
        turn(&mut self.cost);
        // The working stays that of the entry it reverses.
    }

    /// Holds every sum, and that each sale and share is between those on the route: readers are told
    /// apart by that.
    fn check(&self, parties: &[&Code], standing: Standing) -> Result<(), Unsealed> {
        let shape = |holds: bool, what: &'static str| {
            if holds { Ok(()) } else { Err(Unsealed::Shape { offer: self.id.to_string(), what }) }
        };
        let equal = |what: &'static str, found: i64, expected: i64| {
            if found == expected {
                return Ok(());
            }
            Err(Unsealed::Sum { offer: self.id.to_string(), what, found, expected })
        };
        let end = self.end.net.minor();
        equal("the sum of the lines", Net::sum(self.lines.iter().map(|line| line.net))?.minor(), end)?;
        if let (Some(rate), Some(due)) = (self.end.vat_rate, self.end.vat_due) {
            equal("the VAT due", due.minor(), vat(self.end.net, rate)?.minor())?;
        }
        shape(self.end.vat_rate.is_some() == self.end.vat_due.is_some(), "the VAT due")?;
        let between = parties.iter().skip(1).take(parties.len().saturating_sub(2));
        shape(between.copied().eq(self.shares.iter().map(|share| &share.partner)), "whose shares there are")?;
        let sales = self.sales.iter().map(|sale| [&sale.seller, &sale.buyer]);
        shape(parties.windows(2).eq(sales), "who sells to whom")?;
        let forward = matches!(standing, Standing::Revision(_));
        let mut sold_at = self.workshop_net;
        shape(forward == (sold_at >= Net::ZERO) || sold_at == Net::ZERO, "what the workshop keeps")?;
        for (index, sale) in self.sales.iter().enumerate() {
            equal("the net of a sale", sale.net.minor(), sold_at.minor())?;
            shape(sale.lines.len() == self.lines.len(), "the lines of a sale")?;
            equal("the lines of a sale", Net::sum(sale.lines.iter().copied())?.minor(), sale.net.minor())?;
            let base = Net::sum(sale.vat.iter().map(|group| group.base))?;
            equal("the VAT bases of a sale", base.minor(), sale.net.minor())?;
            for group in &sale.vat {
                let tax = group.rate.map_or(Ok(Vat::ZERO), |rate| vat(group.base, rate))?;
                equal("the VAT of a sale", group.tax.minor(), tax.minor())?;
            }
            let tax = Vat::sum(sale.vat.iter().map(|group| group.tax))?;
            equal("the gross of a sale", sale.gross.minor(), sale.net.with_vat(tax)?.minor())?;
            if let Some(share) = self.shares.get(index) {
                let share = share.share;
                shape(forward == (share >= Share::ZERO) || share == Share::ZERO, "a share")?;
                sold_at = Net::from_minor(sold_at.minor().checked_add(share.minor()).ok_or(Overflow)?)?;
            }
        }
        equal("what shares and workshop add up to", sold_at.minor(), end)?;
        let last = self.sales.last().map(|sale| sale.lines.as_slice()).unwrap_or_default();
        shape(self.lines.iter().map(|line| line.net).eq(last.iter().copied()), "the lines of the last sale")?;
        let spent = self.costs.iter().filter(|cost| !cost.carried_by_partner).map(|cost| cost.cost);
        equal("the sum of the cost lines", Cost::sum(spent)?.minor(), self.cost.minor())
    }
}
