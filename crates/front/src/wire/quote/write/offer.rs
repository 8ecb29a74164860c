//! One way to do the job: what it comes to for everybody on the route.

use evenfare_engine::view::{
    CostView, EndView, LineView, OfferView, RefusedView, SaleView, ShareView, VatView,
};

use super::{Currency, units, working};
use crate::wire::pb;

pub(in crate::wire::quote) fn offer(view: OfferView, currency: Currency<'_>) -> pb::Offer {
    let costs = |costs: Vec<CostView>| pb::CostList {
        costs: costs.into_iter().map(|view| cost(view, currency)).collect(),
    };
    pb::Offer {
        id: view.offer.into(),
        text: view.text.into(),
        end: Some(end(view.end, currency)),
        sales: view.sales.into_iter().map(|view| sale(view, currency)).collect(),
        shares: view.shares.into_iter().map(|view| share(view, currency)).collect(),
        workshop_net: view.workshop_net_minor.map(|minor| currency.money(minor)),
        cost: view.cost_minor.map(|minor| currency.money(minor)),
        contribution: view.contribution_minor.map(|minor| currency.money(minor)),
        costs: view.costs.map(costs),
        warranty: view.warranty.map(units::warranty),
        units: view.units.into_iter().map(units::unit).collect(),
        flags: view.flags.into_iter().map(|flag| pb::Flag::from(flag).into()).collect(),
        working: view.working.into_iter().map(working::step).collect(),
    }
}

pub(super) fn refused(view: RefusedView, currency: Currency<'_>) -> pb::RefusedOffer {
    pb::RefusedOffer {
        id: view.offer,
        end_net: Some(currency.money(view.end_net_minor)),
        shares: view.shares_minor.map(|minor| currency.money(minor)),
        available: view.available_minor.map(|minor| currency.money(minor)),
        refused_by: view.refused_by.map(String::from),
    }
}

fn end(view: EndView, currency: Currency<'_>) -> pb::EndPrice {
    pb::EndPrice {
        net: Some(currency.money(view.net_minor)),
        lines: view.lines.into_iter().map(|view| line(view, currency)).collect(),
        vat_rate_percent: view.vat_rate,
        vat_due: view.vat_due_minor.map(|minor| currency.money(minor)),
        gross: view.gross_minor.map(|minor| currency.money(minor)),
    }
}

fn line(view: LineView, currency: Currency<'_>) -> pb::Line {
    pb::Line {
        id: view.id,
        category: pb::Category::from(view.category).into(),
        text: view.text,
        quantity: view.quantity,
        net: Some(currency.money(view.net_minor)),
    }
}

fn cost(view: CostView, currency: Currency<'_>) -> pb::Cost {
    pb::Cost {
        id: view.id,
        category: pb::Category::from(view.category).into(),
        text: view.text,
        quantity: view.quantity,
        cost: Some(currency.money(view.cost_minor)),
        carried_by_partner: view.carried_by_partner,
    }
}

fn sale(view: SaleView, currency: Currency<'_>) -> pb::Sale {
    let lines = view.lines.into_iter();
    pb::Sale {
        seller: view.seller.into(),
        buyer: view.buyer.into(),
        net: Some(currency.money(view.net_minor)),
        vat: view.vat.into_iter().map(|view| vat(view, currency)).collect(),
        gross: Some(currency.money(view.gross_minor)),
        lines: lines
            .map(|line| pb::SaleLine { id: line.id, net: Some(currency.money(line.net_minor)) })
            .collect(),
    }
}

fn vat(view: VatView, currency: Currency<'_>) -> pb::VatGroup {
    pb::VatGroup {
        category: pb::VatCategory::from(view.category).into(),
        rate_percent: view.rate,
        reason: view.reason.map(str::to_owned),
        base: Some(currency.money(view.base_minor)),
        tax: Some(currency.money(view.tax_minor)),
    }
}

fn share(view: ShareView, currency: Currency<'_>) -> pb::Share {
    pb::Share { partner: view.partner.into(), share: Some(currency.money(view.share_minor)) }
}
