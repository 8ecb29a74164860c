//! Who sees what of a quote. One place decides it, for every way out.
//!
//! The end customer sees the end price, its lines, VAT and terms. A partner sees that, and his own
//! buy price and share; never the workshop's cost or another partner's share. The office and the
//! accountant see everything.
//!
//! A partner who sells to another partner knows what he sells at, and the end price is no secret,
//! so he can work out what the others after him keep together. No redaction can help that.

mod alike;
mod shapes;
mod taxed;

use std::fmt;
use std::str::FromStr;

use crate::category::Work;
use crate::flag::Flag;
use crate::quote::{CostEntry, Line, Offer, OfferedUnit, Quote, Sale, Standing};
use crate::tariff::Party;
use crate::text::Code;
use crate::trail::{From as Origin, Step};

pub use alike::{Alike, alike, counted, in_all};
pub use shapes::{
    CostView, EndView, LineView, OfferView, RefusedView, SaleLineView, SaleView, ShareView, UnitView,
    VatView, View,
};

/// Who reads a quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reader {
    /// The office: everything.
    Office,
    /// The accountant: everything.
    Accountant,
    /// One partner: the customer's view, his own buy price and share.
    Partner(Code),
    /// The end customer: end price, lines, VAT, terms.
    Customer,
}

/// The text names no reader.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a reader; expected office, accountant, customer or partner:CODE")]
pub struct UnknownReader {
    /// What stood there.
    pub found: String,
}

impl FromStr for Reader {
    type Err = UnknownReader;

    fn from_str(text: &str) -> Result<Self, UnknownReader> {
        let unknown = || UnknownReader { found: text.chars().take(60).collect() };
        match text {
            "office" => Ok(Self::Office),
            "accountant" => Ok(Self::Accountant),
            "customer" => Ok(Self::Customer),
            _ => {
                let code = text.strip_prefix("partner:").ok_or_else(unknown)?;
                code.parse().map(Self::Partner).map_err(|_| unknown())
            }
        }
    }
}

impl fmt::Display for Reader {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Office => f.write_str("office"),
            Self::Accountant => f.write_str("accountant"),
            Self::Customer => f.write_str("customer"),
            Self::Partner(code) => write!(f, "partner:{code}"),
        }
    }
}

/// What this reader sees of a quote; nothing where the quote is not his to see.
pub fn view(quote: &Quote, reader: &Reader) -> Option<View> {
    view_of(quote.clone(), reader)
}

/// The same of a quote that nobody needs any more: what he sees of it is moved, not copied.
pub fn view_of(quote: Quote, reader: &Reader) -> Option<View> {
    let mut draft = quote.opened();
    if let Reader::Partner(code) = reader
        && !draft.route.iter().any(|party| party.code == *code)
    {
        return None;
    }
    let (revision, reversal) = match draft.standing {
        Standing::Revision(number) => (number, false),
        Standing::Reversal(number) => (number, true),
    };
    let sales = draft.offers.first().map_or(&[][..], |offer| offer.sales.as_slice());
    draft.route.retain(|party| {
        let is_his = |sale: &Sale| sale.seller == party.code || sale.buyer == party.code;
        sales.iter().any(|sale| reader.sees_sale(sale) && is_his(sale))
    });
    let mut offers = draft.offers.into_iter().map(|offer| offer_view(offer, reader));
    let refused = draft.refused.into_iter().filter(|_| *reader != Reader::Customer);
    Some(View {
        reference: draft.reference,
        revision,
        reversal,
        edition: draft.edition,
        currency: draft.currency.code().to_owned(),
        received: draft.received,
        quoted: draft.quoted,
        valid_until: draft.valid_until,
        dispatch: draft.dispatch,
        tax_date: draft.tax_date,
        workshop: draft.workshop,
        route: draft.route,
        customer: draft.customer,
        main: offers.next()?,
        alternatives: offers.collect(),
        refused: refused
            .map(|refused| RefusedView {
                offer: refused.offer,
                end_net_minor: refused.end_net.minor(),
                shares_minor: reader.sees_all().then_some(refused.shares.minor()),
                available_minor: reader.sees_all().then_some(refused.available.minor()),
                refused_by: reader.sees_all().then_some(refused.refused_by),
            })
            .collect(),
    })
}

impl View {
    /// The job itself, then the other ways to do it.
    pub fn offers(&self) -> impl Iterator<Item = &OfferView> {
        std::iter::once(&self.main).chain(&self.alternatives)
    }

    /// The way to do the job of that name.
    pub fn offer(&self, name: &str) -> Option<&OfferView> {
        self.offers().find(|offer| *offer.offer == *name)
    }

    /// The party of that code, as far as the reader sees it.
    pub fn party(&self, code: &Code) -> Option<&Party> {
        let ends = [&self.workshop, &self.customer];
        ends.into_iter().chain(&self.route).find(|party| party.code == *code)
    }
}

impl OfferView {
    /// The unit that a line is for, by the line's name; none where it is for the whole job.
    pub fn unit_of(&self, line: &str) -> Option<&UnitView> {
        let (unit, _) = line.split_once('/')?;
        self.units.iter().find(|other| other.id.as_str() == unit)
    }
}

impl Reader {
    /// May he see every figure?
    pub const fn sees_all(&self) -> bool {
        matches!(self, Self::Office | Self::Accountant)
    }

    fn is(&self, partner: &Code) -> bool {
        matches!(self, Self::Partner(own) if own == partner)
    }

    fn sees_sale(&self, sale: &Sale) -> bool {
        match self {
            Self::Office | Self::Accountant => true,
            Self::Partner(own) => sale.seller == *own || sale.buyer == *own,
            Self::Customer => sale.buyer.as_str() == "customer",
        }
    }

    /// What is of a sale is told to who sees that sale.
    fn sees_flag(&self, flag: Flag, seen: &[SaleView]) -> bool {
        match flag {
            Flag::UnderFloor => self.sees_all(),
            Flag::SharesScaled => *self != Self::Customer,
            Flag::SeveralInvoices => seen.iter().any(SaleView::needs_two_invoices),
            _ => true,
        }
    }

    /// May he see this figure's amount?
    fn sees_figure(&self, figure: &str, sales: &[(String, &Sale)]) -> bool {
        if self.sees_all()
            || figure.starts_with("end.")
            || figure.starts_with("net.")
            || figure.starts_with("warranty.")
        {
            return true;
        }
        if let Some(number) = figure.strip_prefix("sale.").and_then(|rest| rest.split('.').next()) {
            return sales.iter().any(|(index, _)| index == number);
        }
        let Self::Partner(own) = self else { return false };
        // Codes may have dots in them, so the names are compared whole.
        let his = |prefix: &str| figure.strip_prefix(prefix) == Some(own.as_str());
        let credit = figure.strip_prefix("credit.").and_then(|rest| rest.strip_prefix(own.as_str()));
        let work = |work: &Work| credit.and_then(|rest| rest.strip_prefix('.')) == Some(work.word());
        his("discount.") || his("agreed.") || his("share.") || Work::ALL.iter().any(work)
    }

    /// May he see how the figure came about? How a line is built up is the workshop's own affair.
    fn sees_working(&self, figure: &str, sales: &[(String, &Sale)]) -> bool {
        self.sees_all() || (!figure.starts_with("net.") && self.sees_figure(figure, sales))
    }
}

fn offer_view(offer: Offer, reader: &Reader) -> OfferView {
    let all = reader.sees_all();
    let working = working(offer.working, &offer.sales, reader);
    let sales = offer.sales.into_iter().filter(|sale| reader.sees_sale(sale));
    let sales: Vec<SaleView> = sales.map(|sale| sale_view(sale, &offer.lines)).collect();
    let shares = offer.shares.into_iter().filter(|share| all || reader.is(&share.partner));
    let warranties = offer.units.iter().filter_map(|unit| unit.warranty.as_ref());
    let mut flags = offer.flags;
    flags.retain(|flag| reader.sees_flag(*flag, &sales));
    let gross = offer.end.vat_due.and_then(|due| offer.end.net.with_vat(due).ok());
    OfferView {
        offer: offer.id,
        text: offer.text,
        sales,
        end: EndView {
            net_minor: offer.end.net.minor(),
            lines: offer.lines.into_iter().map(line_view).collect(),
            vat_rate: offer.end.vat_rate.map(|rate| rate.to_string()),
            vat_due_minor: offer.end.vat_due.map(|due| due.minor()),
            gross_minor: gross.map(|gross| gross.minor()),
        },
        shares: shares
            .map(|share| ShareView { partner: share.partner, share_minor: share.share.minor() })
            .collect(),
        workshop_net_minor: all.then_some(offer.workshop_net.minor()),
        cost_minor: all.then_some(offer.cost.minor()),
        contribution_minor: offer.workshop_net.over(offer.cost).ok().filter(|_| all).map(|left| left.minor()),
        costs: all.then(|| offer.costs.into_iter().map(cost_view).collect()),
        warranty: warranties.min_by_key(|warranty| warranty.until).cloned(),
        units: offer.units.into_iter().map(unit_view).collect(),
        flags,
        working,
    }
}

/// The steps that the reader may see, each with those of its inputs that he may see.
fn working(mut steps: Vec<Step>, sales: &[Sale], reader: &Reader) -> Vec<Step> {
    if reader.sees_all() {
        return steps;
    }
    let numbered = (1_usize..).map(|number| number.to_string()).zip(sales);
    let sales: Vec<(String, &Sale)> = numbered.filter(|(_, sale)| reader.sees_sale(sale)).collect();
    steps.retain(|step| reader.sees_working(&step.figure, &sales));
    for step in &mut steps {
        step.inputs.retain(|input| match &input.from {
            Origin::Figure(figure) => reader.sees_figure(figure, &sales),
            Origin::Tariff(_) | Origin::Job(_) => true,
        });
    }
    steps
}

fn line_view(line: Line) -> LineView {
    LineView {
        id: line.id,
        category: line.category,
        text: line.text,
        quantity: line.quantity,
        net_minor: line.net.minor(),
    }
}

fn cost_view(cost: CostEntry) -> CostView {
    CostView {
        id: cost.id,
        category: cost.category,
        text: cost.text,
        quantity: cost.quantity,
        cost_minor: cost.cost.minor(),
        carried_by_partner: cost.carried_by_partner,
    }
}

fn sale_view(sale: Sale, lines: &[Line]) -> SaleView {
    let lines = lines.iter().zip(sale.lines);
    SaleView {
        seller: sale.seller,
        buyer: sale.buyer,
        net_minor: sale.net.minor(),
        vat: sale
            .vat
            .into_iter()
            .map(|group| VatView {
                category: group.category,
                rate: group.rate.map(|rate| rate.to_string()),
                base_minor: group.base.minor(),
                tax_minor: group.tax.minor(),
                reason: group.category.reason(),
            })
            .collect(),
        gross_minor: sale.gross.minor(),
        lines: lines
            .map(|(line, net)| SaleLineView { id: line.id.clone(), net_minor: net.minor() })
            .collect(),
    }
}

fn unit_view(unit: OfferedUnit) -> UnitView {
    UnitView {
        id: unit.id,
        family: unit.family,
        family_text: unit.family_text,
        serial: unit.serial,
        task: unit.task,
        findings: unit.findings,
        plan: unit.plan,
        warranty: unit.warranty,
        open_cover: unit.open_cover,
    }
}
