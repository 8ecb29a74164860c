//! The office's sheet: cost, contribution, the working, and where the end price goes.

use evenfare_engine::category::Category;
use evenfare_engine::view::{CostView, OfferView};

use super::partner::refused;
use super::pen::{Given, Pen};
use super::scale::Scale;
use super::working::working;
use super::{Bar, Block, NoSheet, Row, Rows, Sheet, Width};
use crate::words::Addressee;

/// Everything that the office knows of a quote.
///
/// # Errors
/// [`NoSheet`] where the view is not one that shows cost.
pub fn office(given: &Given<'_>) -> Result<Sheet, NoSheet> {
    let pen = Pen::new(given)?;
    let view = pen.given.view;
    let head = pen.head_in_house(&view.workshop);
    let mut sheet = pen.begun("office-sheet", pen.number(), head, pen.in_house());
    sheet.confidential = Some(pen.say("office-confidential"));
    sheet.facts = vec![pen.fact("customer", view.customer.name.as_str())];
    sheet.facts.extend(pen.facts_of_quote());
    sheet.facts.push(pen.fact("tax-date", pen.date(view.tax_date)));
    route(&pen, &mut sheet.blocks);
    for offer in pen.offers() {
        if !view.alternatives.is_empty() {
            sheet.blocks.push(Block::Heading { text: pen.offer_name(offer) });
        }
        of_offer(&pen, offer, &mut sheet.blocks)?;
    }
    refused(&pen, &mut sheet.blocks);
    working(&pen, &mut sheet.blocks);
    Ok(sheet)
}

fn route(pen: &Pen<'_>, into: &mut Vec<Block>) {
    let view = pen.given.view;
    into.push(pen.heading("route"));
    let address = |party| pen.taxed_address(party, view.workshop.country);
    let mut parties = vec![(pen.say("workshop"), address(&view.workshop))];
    for partner in &view.route {
        let name = [&pen.say("partner"), " ", partner.code.as_str()].concat();
        parties.push((name, address(partner)));
    }
    parties.push((pen.say("customer"), address(&view.customer)));
    into.push(Block::Parties { parties });
}

fn of_offer(pen: &Pen<'_>, offer: &OfferView, into: &mut Vec<Block>) -> Result<(), NoSheet> {
    let not_his = || NoSheet::NotHis { sheet: "office sheet", what: "cost and contribution" };
    let cost = offer.cost_minor.ok_or_else(not_his)?;
    let contribution = offer.contribution_minor.ok_or_else(not_his)?;
    let costs = offer.costs.as_deref().ok_or_else(not_his)?;

    into.push(pen.heading("where-it-goes"));
    let shares = offer.shares.iter().map(|share| {
        let party = pen.given.view.party(&share.partner);
        let name = party.map_or(share.partner.as_str(), |party| party.name.as_str());
        (name.to_owned(), share.share_minor)
    });
    let parts = [(pen.say("cost"), cost), (pen.say("contribution"), contribution)];
    into.push(bars(pen, parts.into_iter().chain(shares), offer.end.net_minor));
    into.extend(
        offer
            .workshop_net_minor
            .map(|net| Block::Facts { facts: vec![pen.fact("workshop-net", pen.money(net))] }),
    );
    into.extend(pen.notes(offer, Addressee::Office, pen.heading("notes")));

    into.push(pen.heading("sales"));
    into.push(sales(pen, offer)?);
    into.push(pen.heading("price"));
    into.extend(pen.supplied(offer));
    into.push(priced(pen, offer, costs, cost));
    Ok(())
}

/// Each sale of an offer, its VAT by category and rate.
fn sales(pen: &Pen<'_>, offer: &OfferView) -> Result<Block, NoSheet> {
    let mut rows = Vec::with_capacity(offer.sales.len());
    for sale in &offer.sales {
        let (seller, buyer) = (pen.party(&sale.seller)?, pen.party(&sale.buyer)?);
        for group in &sale.vat {
            rows.push(Row::of([
                seller.name.to_string(),
                buyer.name.to_string(),
                [&pen.vat_name(group), " (", group.category.code(), ")"].concat(),
                pen.amount(group.base_minor),
                pen.amount(group.tax_minor),
                pen.amount(group.base_minor.saturating_add(group.tax_minor)),
            ]));
        }
    }
    Ok(Block::Table {
        columns: vec![
            pen.column("seller", Width::Narrow),
            pen.column("buyer", Width::Narrow),
            pen.column("vat", Width::Wide),
            pen.amounts("net"),
            pen.amounts("tax"),
            pen.amounts("gross"),
        ],
        groups: vec![Rows { head: None, rows }],
        totals: Vec::new(),
    })
}

/// What a line of the end price costs; what is only a cost, or only a line, is one alone.
struct Priced<'a> {
    id: &'a str,
    category: Category,
    text: &'a str,
    quantity: &'a str,
    cost: Option<&'a CostView>,
    net: Option<i64>,
}

/// Every line with its cost, and costs that are in no line.
fn priced(pen: &Pen<'_>, offer: &OfferView, costs: &[CostView], cost: i64) -> Block {
    let lines = offer.end.lines.iter().map(|line| Priced {
        id: &line.id,
        category: line.category,
        text: &line.text,
        quantity: &line.quantity,
        cost: costs.iter().find(|cost| cost.id == line.id),
        net: Some(line.net_minor),
    });
    let in_no_line = |cost: &&CostView| offer.end.lines.iter().all(|line| line.id != cost.id);
    let others = costs.iter().filter(in_no_line).map(|cost| Priced {
        id: &cost.id,
        category: cost.category,
        text: &cost.text,
        quantity: &cost.quantity,
        cost: Some(cost),
        net: None,
    });
    let all: Vec<Priced<'_>> = lines.chain(others).collect();
    let row = |priced: &Priced<'_>| {
        let (spent, note) = match priced.cost {
            None => (String::new(), None),
            // It is no cost of the workshop's: it is told, and the column adds up without it.
            Some(cost) if cost.carried_by_partner => {
                let amount = pen.money(cost.cost_minor);
                let told = pen.say_with("carried-by-partner", &[("amount", (&amount).into())]);
                ("–".to_owned(), Some(told))
            }
            Some(cost) => (pen.amount(cost.cost_minor), None),
        };
        Row {
            note,
            ..Row::of([
                pen.phrases.line(offer, priced.category, priced.id, priced.text),
                pen.quantity(priced.quantity),
                spent,
                priced.net.map(|net| pen.amount(net)).unwrap_or_default(),
            ])
        }
    };
    Block::Table {
        columns: vec![
            pen.column("description", Width::Wide),
            pen.column("quantity", Width::Amount),
            pen.amounts("cost"),
            pen.amounts("net"),
        ],
        groups: pen.by_unit(offer, &all, |priced| priced.id, row),
        totals: vec![Row::strong([
            pen.say("total"),
            String::new(),
            pen.amount(cost),
            pen.amount(offer.end.net_minor),
        ])],
    }
}

/// Each part of the end price where the one before it ends, then the whole.
fn bars(pen: &Pen<'_>, parts: impl Iterator<Item = (String, i64)>, whole: i64) -> Block {
    let scale = Scale::up_to(whole);
    let mut begun = 0_i64;
    let mut bars: Vec<Bar> = parts
        .map(|(name, minor)| {
            let ended = begun.saturating_add(minor);
            let (from, length) = scale.between(begun, ended);
            begun = ended;
            Bar { name, amount: pen.amount(minor), from, length, strong: false }
        })
        .collect();
    let name = pen.say("end-price");
    let (from, length) = scale.between(0, whole);
    bars.push(Bar { name, amount: pen.money(whole), from, length, strong: true });
    Block::Bars { caption: None, bars, zero: 0 }
}
