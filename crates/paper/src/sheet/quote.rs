//! The end customer's quote.

use super::alternatives::alternatives;
use super::head::ON_SITE;
use super::pen::{Given, Pen};
use super::{Block, NoSheet, Sheet, Tone};
use crate::words::Addressee;

/// The quote that the end customer is sent: by whoever sells to him, with the workshop named as who does
/// the work.
///
/// # Errors
/// [`NoSheet`] where the view shows no sale to the customer.
pub fn quote(given: &Given<'_>) -> Result<Sheet, NoSheet> {
    let pen = Pen::new(given)?;
    let view = pen.given.view;
    let not_his = NoSheet::NotHis { sheet: "quote", what: "what the end customer pays" };
    let sale = pen.last_sale(&view.main).ok_or(not_his)?;
    let seller = pen.party(&sale.seller)?;
    let own_paper = seller.code == view.workshop.code;

    let buyer = &view.customer;
    let head = pen.head_of(seller, buyer.country);
    let mut sheet = pen.begun("quote", pen.number(), head, pen.address(buyer, seller.country));
    sheet.facts = pen.facts_of_quote();
    sheet.facts.extend(pen.vat_id_of(&view.customer));
    let blocks = &mut sheet.blocks;
    // What is offered: a reversal takes it back.
    let offers = !view.reversal;
    if own_paper && offers {
        blocks.extend(pen.paragraph(|texts| &texts.greeting, Tone::Plain));
    }
    if !own_paper {
        let text = pen.say_with("work-done-by", &[("workshop", (&pen.workshop_told()).into())]);
        blocks.push(Block::Text { text, tone: Tone::Plain });
    }

    blocks.push(pen.heading("work"));
    for unit in &view.main.units {
        pen.unit_told(unit, blocks);
    }

    blocks.push(pen.heading("price"));
    blocks.push(pen.priced(&view.main, sale));
    blocks.extend(pen.vat_breakdown(&[(None, sale)]));
    blocks.extend(pen.declared_by_buyer(&view.main, sale, "vat-due-by-buyer"));
    blocks.push(pen.vat_note());
    blocks.extend(pen.notes(&view.main, Addressee::Customer, pen.heading("notes")));
    if offers {
        blocks.push(pen.heading("warranty"));
        blocks.extend(pen.warranties(&view.main));
    }
    alternatives(&pen, sale, blocks);

    if pen.can_be_accepted() {
        blocks.push(pen.heading("validity"));
        let until = pen.date(view.valid_until);
        let text = pen.say_with("validity-text", &[("date", (&until).into())]);
        blocks.push(Block::Text { text, tone: Tone::Plain });
    }
    if own_paper && offers {
        let note = pen.paragraph(|texts| &texts.delivery_note, Tone::Plain);
        blocks.extend(note.into_iter().flat_map(|note| [pen.heading("delivery"), note]));
    }
    blocks.push(pen.heading("cautions"));
    blocks.push(pen.cautions(&ON_SITE));
    if own_paper && offers {
        blocks.extend(pen.paragraph(|texts| &texts.closing, Tone::Plain));
    }
    if pen.can_be_accepted() {
        blocks.push(pen.heading("acceptance"));
        blocks.push(Block::Text { text: pen.say("acceptance-text"), tone: Tone::Plain });
        blocks.push(Block::Places { labels: vec![pen.say("place-and-date"), pen.say("name-and-signature")] });
    }
    if own_paper {
        blocks.extend(pen.paragraph(|texts| &texts.footer, Tone::Quiet));
    }
    Ok(sheet)
}
