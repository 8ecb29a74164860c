//! The end customer's quote.

use evenfare_engine::view::{OfferView, SaleView, UnitView};

use super::head::ON_SITE;
use super::pen::{Given, Pen};
use super::{Block, NoSheet, Row, Rows, Sheet, Tone, Width};
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

    let mut sheet = pen.begun("quote", pen.number(), pen.head_of(seller), pen.address(&view.customer));
    sheet.facts = pen.facts_of_quote();
    let mut parties = vec![
        (pen.say("seller"), pen.taxed_address(seller)),
        (pen.say("customer"), pen.taxed_address(&view.customer)),
    ];
    if !own_paper {
        parties.push((pen.say("workshop"), pen.address(&view.workshop)));
    }
    let blocks = &mut sheet.blocks;
    // What is offered: a reversal takes it back.
    let offers = !view.reversal;
    if own_paper && offers {
        blocks.extend(pen.paragraph(|texts| &texts.greeting, Tone::Plain));
    }
    if !own_paper {
        let workshop = view.workshop.name.as_str();
        let text = pen.say_with("work-done-by", &[("workshop", workshop.into())]);
        blocks.push(Block::Text { text, tone: Tone::Plain });
    }
    blocks.push(Block::Parties { parties });

    blocks.push(pen.heading("work"));
    for unit in &view.main.units {
        pen.unit_told(unit, None, blocks);
    }

    in_full(&pen, &view.main, sale, |id| pen.heading(id), blocks);
    alternatives(&pen, blocks);

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

/// What an offer costs, what its VAT rests on, what there is to know of it, and its warranty: the same of each.
fn in_full<'a>(
    pen: &Pen<'a>,
    offer: &'a OfferView,
    sale: &'a SaleView,
    heading: impl Fn(&str) -> Block,
    into: &mut Vec<Block>,
) {
    into.push(heading("price"));
    into.push(pen.priced(offer, sale));
    into.extend(pen.vat_breakdown(&[(None, sale)]));
    into.extend(pen.declared_by_buyer(offer, sale, "vat-due-by-buyer"));
    into.extend(pen.vat_note(offer));
    into.extend(pen.notes(offer, Addressee::Customer, heading("notes")));
    if !pen.given.view.reversal {
        into.push(heading("warranty"));
        into.extend(pen.warranties(offer));
    }
}

/// All ways to do the job beside each other, one to be marked; then each of the others in full.
fn alternatives(pen: &Pen<'_>, into: &mut Vec<Block>) {
    if pen.given.view.alternatives.is_empty() {
        return;
    }
    into.push(pen.heading("alternatives"));
    if pen.can_be_accepted() {
        let text = [pen.say("alternatives-note"), pen.say("choose")].join(" ");
        into.push(Block::Text { text, tone: Tone::Plain });
    }
    let row = |offer| {
        let sale = pen.last_sale(offer)?;
        let tax = sale.vat.iter().fold(0_i64, |sum, group| sum.saturating_add(group.tax_minor));
        let cells = [
            String::new(),
            pen.offer_name(offer),
            pen.amount(sale.net_minor),
            pen.amount(tax),
            pen.amount(sale.gross_minor),
        ];
        let warranty =
            offer.warranty.as_ref().filter(|_| !pen.given.view.reversal).map(|warranty| {
                pen.say_with("warranty-until", &[("until", (&pen.date(warranty.until)).into())])
            });
        Some(Row { note: warranty, ..Row::of(cells) })
    };
    into.push(Block::Table {
        columns: vec![
            pen.column("", Width::Tick),
            pen.column("alternative-head", Width::Wide),
            pen.amounts("net"),
            pen.amounts("vat"),
            pen.amounts("gross"),
        ],
        groups: vec![Rows { head: None, rows: pen.offers().filter_map(row).collect() }],
        totals: Vec::new(),
    });
    for offer in &pen.given.view.alternatives {
        let Some(sale) = pen.last_sale(offer) else { continue };
        into.push(Block::Heading {
            text: pen.say_with("alternative", &[("name", (&pen.offer_name(offer)).into())]),
        });
        for unit in &offer.units {
            let main = pen.given.view.main.units.iter().find(|main| main.id == unit.id);
            if main.is_none_or(|main| differ(main, unit)) {
                pen.unit_told(unit, main, into);
            }
        }
        in_full(pen, offer, sale, |id| pen.subheading(id), into);
    }
}

/// Is something else done to a unit in the one offer than in the other?
fn differ(a: &UnitView, b: &UnitView) -> bool {
    (a.task, &a.findings, &a.plan) != (b.task, &b.findings, &b.plan)
}
