//! One way to do the job: what it comes to for everybody on the route.

use evenfare_engine::view::{
    CostView, EndView, LineView, OfferView, RefusedView, SaleView, ShareView, VatView,
};

use super::{Currency, units, working};
use crate::wire::backwards::Backwards;
use crate::wire::pb;

pub(super) fn offer(at: &mut Backwards, view: &OfferView, currency: Currency) {
    at.messages(41, &view.working, working::step);
    at.words(40, view.flags.iter().map(|flag| pb::Flag::from(*flag).into()));
    at.messages(31, &view.units, units::unit);
    at.some_message(30, view.warranty.as_ref(), units::warranty);
    at.some_message(23, view.costs.as_deref(), |list, costs| {
        list.messages(1, costs, |at, view| cost(at, view, currency));
    });
    currency.some_money(at, 22, view.contribution_minor);
    currency.some_money(at, 21, view.cost_minor);
    currency.some_money(at, 20, view.workshop_net_minor);
    at.messages(12, &view.shares, |at, view| share(at, view, currency));
    at.messages(11, &view.sales, |at, view| sale(at, view, currency));
    at.message(10, |at| end(at, &view.end, currency));
    at.text(2, &view.text);
    at.text(1, &view.offer);
}

pub(super) fn refused(at: &mut Backwards, view: &RefusedView, currency: Currency) {
    at.some_text(20, view.refused_by.as_ref().map(AsRef::as_ref));
    currency.some_money(at, 12, view.available_minor);
    currency.some_money(at, 11, view.shares_minor);
    currency.money(at, 10, view.end_net_minor);
    at.text(1, &view.offer);
}

fn end(at: &mut Backwards, view: &EndView, currency: Currency) {
    currency.some_money(at, 12, view.gross_minor);
    currency.some_money(at, 11, view.vat_due_minor);
    at.some_text(10, view.vat_rate.as_deref());
    at.messages(2, &view.lines, |at, view| line(at, view, currency));
    currency.money(at, 1, view.net_minor);
}

fn line(at: &mut Backwards, view: &LineView, currency: Currency) {
    currency.money(at, 10, view.net_minor);
    at.text(4, &view.quantity);
    at.text(3, &view.text);
    at.word(2, pb::Category::from(view.category));
    at.text(1, &view.id);
}

fn cost(at: &mut Backwards, view: &CostView, currency: Currency) {
    at.number(11, view.carried_by_partner);
    currency.money(at, 10, view.cost_minor);
    at.text(4, &view.quantity);
    at.text(3, &view.text);
    at.word(2, pb::Category::from(view.category));
    at.text(1, &view.id);
}

fn sale(at: &mut Backwards, view: &SaleView, currency: Currency) {
    at.messages(13, &view.lines, |at, line| {
        currency.money(at, 10, line.net_minor);
        at.text(1, &line.id);
    });
    currency.money(at, 12, view.gross_minor);
    at.messages(11, &view.vat, |at, view| vat(at, view, currency));
    currency.money(at, 10, view.net_minor);
    at.text(2, view.buyer.as_str());
    at.text(1, view.seller.as_str());
}

fn vat(at: &mut Backwards, view: &VatView, currency: Currency) {
    currency.money(at, 11, view.tax_minor);
    currency.money(at, 10, view.base_minor);
    at.some_text(3, view.reason);
    at.some_text(2, view.rate.as_deref());
    at.word(1, pb::VatCategory::from(view.category));
}

fn share(at: &mut Backwards, view: &ShareView, currency: Currency) {
    currency.money(at, 10, view.share_minor);
    at.text(1, view.partner.as_str());
}
