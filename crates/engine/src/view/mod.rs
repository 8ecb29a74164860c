//! Who sees what of a quote. One place decides it, for every way out.
//!
//! The end customer sees the end price, its lines, VAT and terms. A partner sees that, and his own
//! buy price and share; never the workshop's cost or another partner's share. The office and the
//! accountant see everything.
//!
//! A partner who sells to another partner knows what he sells at, and the end price is no secret,
//! so he can work out what the others after him keep together. No redaction can help that.

mod shapes;

use std::fmt;
use std::str::FromStr;

use crate::category::Work;
use crate::flag::Flag;
use crate::quote::{Offer, OfferedUnit, Quote, Sale, Standing};
use crate::text::Code;
use crate::trail::{From, Step};

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
    if let Reader::Partner(code) = reader
        && !quote.route.iter().any(|party| party.code == *code)
    {
        return None;
    }
    let (revision, reversal) = match quote.standing {
        Standing::Revision(number) => (number, false),
        Standing::Reversal(number) => (number, true),
    };
    let sales = quote.main().map_or(&[][..], |offer| offer.sales.as_slice());
    let deals_with = |partner: &Code| {
        sales.iter().any(|sale| reader.sees_sale(sale) && (sale.seller == *partner || sale.buyer == *partner))
    };
    let mut offers = quote.offers.iter().map(|offer| offer_view(offer, reader));
    Some(View {
        reference: quote.reference.clone(),
        revision,
        reversal,
        edition: quote.edition.clone(),
        currency: quote.currency.code().to_owned(),
        received: quote.received,
        quoted: quote.quoted,
        valid_until: quote.valid_until,
        dispatch: quote.dispatch,
        tax_date: quote.tax_date,
        workshop: quote.workshop.clone(),
        route: quote.route.iter().filter(|party| deals_with(&party.code)).cloned().collect(),
        customer: quote.customer.clone(),
        main: offers.next()?,
        alternatives: offers.collect(),
        refused: quote
            .refused
            .iter()
            .filter(|_| *reader != Reader::Customer)
            .map(|refused| RefusedView {
                offer: refused.offer.clone(),
                end_net_minor: refused.end_net.minor(),
                shares_minor: reader.sees_all().then_some(refused.shares.minor()),
                available_minor: reader.sees_all().then_some(refused.available.minor()),
                refused_by: reader.sees_all().then(|| refused.refused_by.clone()),
            })
            .collect(),
    })
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

    fn sees_flag(&self, flag: Flag) -> bool {
        match flag {
            Flag::UnderFloor => self.sees_all(),
            Flag::SharesScaled => *self != Self::Customer,
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

fn offer_view(offer: &Offer, reader: &Reader) -> OfferView {
    let all = reader.sees_all();
    let numbered = (1_usize..).map(|number| number.to_string()).zip(&offer.sales);
    let sales: Vec<(String, &Sale)> = numbered.filter(|(_, sale)| reader.sees_sale(sale)).collect();
    let gross = offer.end.vat_due.and_then(|due| offer.end.net.with_vat(due).ok());
    let working = offer
        .working
        .iter()
        .filter(|step| reader.sees_working(&step.figure, &sales))
        .map(|step| Step {
            figure: step.figure.clone(),
            rule: step.rule,
            exact: step.exact.clone(),
            rounding: step.rounding,
            result: step.result.clone(),
            inputs: step
                .inputs
                .iter()
                .filter(|input| match &input.from {
                    From::Figure(figure) => reader.sees_figure(figure, &sales),
                    From::Tariff(_) | From::Job(_) => true,
                })
                .cloned()
                .collect(),
        })
        .collect();
    OfferView {
        offer: offer.id.clone(),
        text: offer.text.clone(),
        end: EndView {
            net_minor: offer.end.net.minor(),
            lines: offer
                .lines
                .iter()
                .map(|line| LineView {
                    id: line.id.clone(),
                    category: line.category,
                    text: line.text.clone(),
                    quantity: line.quantity.clone(),
                    net_minor: line.net.minor(),
                })
                .collect(),
            vat_rate: offer.end.vat_rate.map(|rate| rate.to_string()),
            vat_due_minor: offer.end.vat_due.map(|due| due.minor()),
            gross_minor: gross.map(|gross| gross.minor()),
        },
        shares: offer
            .shares
            .iter()
            .filter(|share| all || reader.is(&share.partner))
            .map(|share| ShareView { partner: share.partner.clone(), share_minor: share.share.minor() })
            .collect(),
        workshop_net_minor: all.then_some(offer.workshop_net.minor()),
        cost_minor: all.then_some(offer.cost.minor()),
        contribution_minor: offer.workshop_net.over(offer.cost).ok().filter(|_| all).map(|left| left.minor()),
        costs: all.then(|| costs(offer)),
        warranty: offer
            .units
            .iter()
            .filter_map(|unit| unit.warranty.clone())
            .min_by_key(|warranty| warranty.until),
        units: offer.units.iter().map(unit_view).collect(),
        flags: offer.flags.iter().copied().filter(|flag| reader.sees_flag(*flag)).collect(),
        working,
        sales: sales.iter().map(|(_, sale)| sale_view(offer, sale)).collect(),
    }
}

fn costs(offer: &Offer) -> Vec<CostView> {
    let cost = |cost: &crate::quote::CostEntry| CostView {
        id: cost.id.clone(),
        category: cost.category,
        text: cost.text.clone(),
        quantity: cost.quantity.clone(),
        cost_minor: cost.cost.minor(),
        carried_by_partner: cost.carried_by_partner,
    };
    offer.costs.iter().map(cost).collect()
}

fn sale_view(offer: &Offer, sale: &Sale) -> SaleView {
    let lines = offer.lines.iter().zip(&sale.lines);
    SaleView {
        seller: sale.seller.clone(),
        buyer: sale.buyer.clone(),
        net_minor: sale.net.minor(),
        vat: sale
            .vat
            .iter()
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

fn unit_view(unit: &OfferedUnit) -> UnitView {
    UnitView {
        id: unit.id.clone(),
        family: unit.family.clone(),
        family_text: unit.family_text.clone(),
        serial: unit.serial.clone(),
        task: unit.task,
        findings: unit.findings.clone(),
        plan: unit.plan.clone(),
        warranty: unit.warranty.clone(),
        open_cover: unit.open_cover.clone(),
    }
}
