//! One way to do the job: what it comes to for everybody on the route.

use evenfare_engine::money::{Currency, Net};
use evenfare_engine::quote::{CostEntry, End, Line, Offer, PartnerShare, Sale};
use evenfare_engine::supply::VatGroup;

use super::{money, units, working};
use crate::wire::message::{Message, unknown};
use crate::wire::mistakes::Objection;
use crate::wire::pb;

const A_CATEGORY: &str = "the number of a category of lines, 1 to 10";

pub(super) fn offer(mut at: Message<'_>, wire: &pb::Offer, currency: Currency) -> Option<Offer> {
    let id = at.line("id", &wire.id);
    let text = at.line("text", &wire.text);
    let end = at.message("end", wire.end.as_ref(), "the end price", |at, wire| end(at, wire, currency));
    let sales = at.list("sales", &wire.sales, |at, wire| sale(at, wire, currency));
    let shares = at.list("shares", &wire.shares, |at, wire| share(at, wire, currency));
    let workshop_net = money(&mut at, "workshop_net", wire.workshop_net.as_ref(), currency);
    let cost = money(&mut at, "cost", wire.cost.as_ref(), currency);
    let expected = "the cost lines, which only the office's quote has";
    let costs = at.message("costs", wire.costs.as_ref(), expected, |mut at, list| {
        at.entries(&list.costs, |at, wire| cost_entry(at, wire, currency))
    });
    let units = at.list("units", &wire.units, units::unit);
    let flags = at.list("flags", &wire.flags, |mut at, &number| {
        let flag = pb::Flag::try_from(number).ok().and_then(pb::Flag::said);
        flag.or_else(|| at.refuse(unknown(number, "the number of a flag, 1 to 8")))
    });
    let working = at.list("working", &wire.working, working::step);
    let (lines, end) = end?;
    Some(Offer {
        id: id?.into(),
        text: text?.into(),
        units: units?,
        lines,
        end,
        sales: sales?,
        shares: shares?,
        workshop_net: workshop_net?,
        costs: costs?,
        cost: cost?,
        flags: flags?,
        working: working?,
    })
}

fn end(mut at: Message<'_>, wire: &pb::EndPrice, currency: Currency) -> Option<(Vec<Line>, End)> {
    let net = money(&mut at, "net", wire.net.as_ref(), currency);
    let lines = at.list("lines", &wire.lines, |at, wire| line(at, wire, currency));
    let vat_rate = at.if_said("vat_rate", wire.vat_rate_percent.as_deref());
    let vat_due = match &wire.vat_due {
        Some(due) => money(&mut at, "vat_due", Some(due), currency).map(Some),
        None => Some(None),
    };
    Some((lines?, End { net: net?, vat_rate: vat_rate?, vat_due: vat_due? }))
}

fn line(mut at: Message<'_>, wire: &pb::Line, currency: Currency) -> Option<Line> {
    let id = at.line("id", &wire.id);
    let category = at.said("category", wire.category, pb::Category::said, A_CATEGORY);
    let text = at.line("text", &wire.text);
    let quantity = at.line("quantity", &wire.quantity);
    let net = money(&mut at, "net", wire.net.as_ref(), currency);
    Some(Line { id: id?, category: category?, text: text?, quantity: quantity?, net: net? })
}

fn cost_entry(mut at: Message<'_>, wire: &pb::Cost, currency: Currency) -> Option<CostEntry> {
    let id = at.line("id", &wire.id);
    let category = at.said("category", wire.category, pb::Category::said, A_CATEGORY);
    let text = at.line("text", &wire.text);
    let quantity = at.line("quantity", &wire.quantity);
    let cost = money(&mut at, "cost", wire.cost.as_ref(), currency);
    Some(CostEntry {
        id: id?,
        category: category?,
        text: text?,
        quantity: quantity?,
        cost: cost?,
        carried_by_partner: wire.carried_by_partner,
    })
}

fn sale(mut at: Message<'_>, wire: &pb::Sale, currency: Currency) -> Option<Sale> {
    let seller = at.needed("seller", &wire.seller);
    let buyer = at.needed("buyer", &wire.buyer);
    let net = money(&mut at, "net", wire.net.as_ref(), currency);
    let vat = at.list("vat", &wire.vat, |at, wire| vat(at, wire, currency));
    let gross = money(&mut at, "gross", wire.gross.as_ref(), currency);
    let lines = at.list("lines", &wire.lines, |mut at, wire| -> Option<Net> {
        money(&mut at, "net", wire.net.as_ref(), currency)
    });
    Some(Sale { seller: seller?, buyer: buyer?, net: net?, lines: lines?, vat: vat?, gross: gross? })
}

fn vat(mut at: Message<'_>, wire: &pb::VatGroup, currency: Currency) -> Option<VatGroup> {
    let expected = "the number of a VAT category, 1 to 5";
    let category = at.said("category", wire.category, pb::VatCategory::said, expected);
    let rate = at.if_said("rate", wire.rate_percent.as_deref());
    let base = money(&mut at, "base", wire.base.as_ref(), currency);
    let tax = money(&mut at, "tax", wire.tax.as_ref(), currency);
    Some(VatGroup { category: category?, rate: rate?, base: base?, tax: tax? })
}

fn share(mut at: Message<'_>, wire: &pb::Share, currency: Currency) -> Option<PartnerShare> {
    let partner = at.needed("partner", &wire.partner);
    let share = money(&mut at, "share", wire.share.as_ref(), currency);
    Some(PartnerShare { partner: partner?, share: share? })
}

/// Gross, contribution, the shortest warranty, and the names and reasons that sales repeat.
pub(super) fn agrees(mut at: Message<'_>, wire: &pb::Offer, expected: pb::Offer) -> Option<()> {
    let parts = [
        ("end", wire.end == expected.end),
        ("sales", wire.sales == expected.sales),
        ("contribution", wire.contribution == expected.contribution),
        ("warranty", wire.warranty == expected.warranty),
    ];
    for (part, _) in parts.into_iter().filter(|(_, agrees)| !agrees) {
        let expected = "what follows from the rest of the quote";
        at.at(part).refuse::<()>(Objection::new("contradiction", "", expected));
    }
    Some(())
}
