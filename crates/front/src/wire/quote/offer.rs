//! One way to do the job: what it comes to for everybody on the route.

use evenfare_engine::view::{
    CostView, EndView, LineView, OfferView, RefusedView, SaleView, ShareView, VatView,
};

use super::{Currency, units, working};
use crate::wire::pb;

pub(super) fn offer(view: &OfferView, currency: Currency<'_>) -> pb::Offer {
    let costs = |costs: &Vec<CostView>| pb::CostList {
        costs: costs.iter().map(|view| cost(view, currency)).collect(),
    };
    pb::Offer {
        id: view.offer.to_string(),
        text: view.text.to_string(),
        end: Some(end(&view.end, currency)),
        sales: view.sales.iter().map(|view| sale(view, currency)).collect(),
        shares: view.shares.iter().map(|view| share(view, currency)).collect(),
        workshop_net: view.workshop_net_minor.map(|minor| currency.money(minor)),
        cost: view.cost_minor.map(|minor| currency.money(minor)),
        contribution: view.contribution_minor.map(|minor| currency.money(minor)),
        costs: view.costs.as_ref().map(costs),
        warranty: view.warranty.as_ref().map(units::warranty),
        units: view.units.iter().map(units::unit).collect(),
        flags: view.flags.iter().map(|&flag| pb::Flag::from(flag).into()).collect(),
        working: view.working.iter().map(working::step).collect(),
    }
}

pub(super) fn refused(view: &RefusedView, currency: Currency<'_>) -> pb::RefusedOffer {
    pb::RefusedOffer {
        id: view.offer.clone(),
        end_net: Some(currency.money(view.end_net_minor)),
        shares: view.shares_minor.map(|minor| currency.money(minor)),
        available: view.available_minor.map(|minor| currency.money(minor)),
        refused_by: view.refused_by.as_ref().map(ToString::to_string),
    }
}

fn end(view: &EndView, currency: Currency<'_>) -> pb::EndPrice {
    pb::EndPrice {
        net: Some(currency.money(view.net_minor)),
        lines: view.lines.iter().map(|view| line(view, currency)).collect(),
        vat_rate_percent: view.vat_rate.clone(),
        vat_due: view.vat_due_minor.map(|minor| currency.money(minor)),
        gross: view.gross_minor.map(|minor| currency.money(minor)),
    }
}

fn line(view: &LineView, currency: Currency<'_>) -> pb::Line {
    pb::Line {
        id: view.id.clone(),
        category: pb::Category::from(view.category).into(),
        text: view.text.clone(),
        quantity: view.quantity.clone(),
        net: Some(currency.money(view.net_minor)),
    }
}

fn cost(view: &CostView, currency: Currency<'_>) -> pb::Cost {
    pb::Cost {
        id: view.id.clone(),
        category: pb::Category::from(view.category).into(),
        text: view.text.clone(),
        quantity: view.quantity.clone(),
        cost: Some(currency.money(view.cost_minor)),
        carried_by_partner: view.carried_by_partner,
    }
}

fn sale(view: &SaleView, currency: Currency<'_>) -> pb::Sale {
    let lines = view.lines.iter();
    pb::Sale {
        seller: view.seller.to_string(),
        buyer: view.buyer.to_string(),
        net: Some(currency.money(view.net_minor)),
        vat: view.vat.iter().map(|view| vat(view, currency)).collect(),
        gross: Some(currency.money(view.gross_minor)),
        lines: lines
            .map(|line| pb::SaleLine { id: line.id.clone(), net: Some(currency.money(line.net_minor)) })
            .collect(),
    }
}

fn vat(view: &VatView, currency: Currency<'_>) -> pb::VatGroup {
    pb::VatGroup {
        category: pb::VatCategory::of(view.category).into(),
        rate_percent: view.rate.clone(),
        reason: view.reason.map(str::to_owned),
        base: Some(currency.money(view.base_minor)),
        tax: Some(currency.money(view.tax_minor)),
    }
}

fn share(view: &ShareView, currency: Currency<'_>) -> pb::Share {
    pb::Share { partner: view.partner.to_string(), share: Some(currency.money(view.share_minor)) }
}
