//! The partner's sheet.

use evenfare_engine::text::Code;
use evenfare_engine::view::{LineView, OfferView, SaleView};

use super::head::ON_SITE;
use super::pen::{Given, Pen};
use super::{Block, NoSheet, Row, Sheet, Tone, Width};
use crate::words::Addressee;

/// What a partner is told: the end price, what he pays and keeps, and what his buyer is to be charged.
///
/// # Errors
/// [`NoSheet`] where the view shows no purchase of that partner.
pub fn partner(given: &Given<'_>, partner: &Code) -> Result<Sheet, NoSheet> {
    let pen = Pen::new(given)?;
    let view = pen.given.view;
    let own = view.route.iter().find(|party| party.code == *partner);
    let own = own.ok_or(NoSheet::NotHis { sheet: "partner sheet", what: "what that partner pays" })?;
    let head = pen.head_of(&view.workshop, own.country);
    let recipient = pen.address(own, view.workshop.country);
    let mut sheet = pen.begun("partner-sheet", pen.number(), head, recipient);
    sheet.identity = [&sheet.identity, "/", partner.as_str()].concat();
    sheet.confidential = Some(pen.say_with("partner-confidential", &[("partner", own.name.as_str().into())]));
    sheet.facts = pen.facts_of_quote();
    let [purchase, sale] = trades(&view.main, partner)?;
    let (seller, buyer) = (pen.party(&purchase.seller)?, pen.party(&sale.buyer)?);
    sheet.blocks.push(Block::Parties {
        parties: vec![
            (pen.say("you-buy-from-head"), pen.taxed_address(seller, own.country)),
            (pen.say("partner"), pen.taxed_address(own, own.country)),
            (pen.say("you-sell-to-head"), pen.taxed_address(buyer, own.country)),
        ],
    });
    for offer in pen.offers() {
        if !view.alternatives.is_empty() {
            sheet.blocks.push(Block::Heading { text: pen.offer_name(offer) });
        }
        of_offer(&pen, offer, partner, &mut sheet.blocks)?;
    }
    refused(&pen, &mut sheet.blocks);
    sheet.blocks.push(pen.heading("cautions"));
    sheet.blocks.push(pen.cautions(&ON_SITE));
    Ok(sheet)
}

/// What he buys and what he sells.
fn trades<'a>(offer: &'a OfferView, partner: &Code) -> Result<[&'a SaleView; 2], NoSheet> {
    let bought = offer.sales.iter().find(|sale| sale.buyer == *partner);
    let sold = offer.sales.iter().find(|sale| sale.seller == *partner);
    let both = bought.zip(sold).map(|(bought, sold)| [bought, sold]);
    both.ok_or(NoSheet::NotHis { sheet: "partner sheet", what: "what that partner pays" })
}

fn of_offer<'a>(
    pen: &Pen<'a>,
    offer: &'a OfferView,
    partner: &Code,
    into: &mut Vec<Block>,
) -> Result<(), NoSheet> {
    let [purchase, sale] = trades(offer, partner)?;
    let share = offer.shares.iter().find(|share| share.partner == *partner);
    let mut facts = vec![pen.fact("end-price", pen.money(offer.end.net_minor))];
    facts.push(pen.fact("your-buy-price", pen.money(purchase.net_minor)));
    facts.extend(share.map(|share| pen.fact("your-share", pen.money(share.share_minor))));
    facts.push(pen.fact("your-selling-price", pen.money(sale.net_minor)));
    into.push(Block::Amounts { facts });

    into.push(pen.heading("price"));
    into.extend(pen.supplied(offer));
    let net = |sale: &SaleView, line: &LineView| {
        let own = sale.lines.iter().find(|own| own.id == line.id);
        own.map(|own| pen.amount(own.net_minor)).unwrap_or_default()
    };
    let row = |line: &'a LineView| {
        Row::of([pen.line(offer, line), pen.quantity(&line.quantity), net(purchase, line), net(sale, line)])
    };
    let columns = vec![
        pen.column("description", Width::Wide),
        pen.column("quantity", Width::Amount),
        pen.amounts("purchase"),
        pen.amounts("sale"),
    ];
    into.push(Block::Table {
        totals: pen.totals(&[purchase, sale], columns.len()),
        groups: pen.by_unit(offer, &offer.end.lines, |line| &line.id, row),
        columns,
    });

    let each = [(Some("vat-of-purchase"), purchase), (Some("vat-of-sale"), sale)];
    into.extend(pen.vat_breakdown(&each));
    let charged = pen.words.labelled(&pen.say("to-be-charged"), &pen.money(sale.gross_minor));
    into.push(Block::Text { text: charged, tone: Tone::Strong });
    if sale.buyer == pen.given.view.customer.code {
        into.extend(pen.declared_by_buyer(offer, sale, "vat-due-by-your-customer"));
    }
    if offer.offer == pen.given.view.main.offer {
        into.push(pen.vat_note());
    }
    into.extend(pen.notes(offer, Addressee::Partner, pen.heading("notes")));
    Ok(())
}

/// Alternatives that his route cannot carry, and what they would cost by any other.
pub(super) fn refused(pen: &Pen<'_>, into: &mut Vec<Block>) {
    if pen.given.view.refused.is_empty() {
        return;
    }
    into.push(pen.heading("refused-alternatives"));
    let mut rows = Vec::new();
    for refused in &pen.given.view.refused {
        let by = refused.refused_by.as_ref();
        let name = pen.phrases.alternative(&refused.offer, "");
        let mut cells = vec![name, pen.amount(refused.end_net_minor)];
        if let (Some(shares), Some(available)) = (refused.shares_minor, refused.available_minor) {
            cells.extend([pen.amount(shares), pen.amount(available)]);
        }
        let note = by.map(|by| pen.say_with("refused-by", &[("partner", by.as_str().into())]));
        rows.push(Row { cells, strong: false, note });
    }
    let mut columns = vec![pen.column("alternative-head", Width::Wide), pen.amounts("end-price")];
    if rows.iter().any(|row| row.cells.len() > 2) {
        columns.extend([pen.amounts("shares-agreed"), pen.amounts("shares-available")]);
    }
    into.push(Block::Table { columns, groups: vec![super::Rows { head: None, rows }], totals: Vec::new() });
}
