//! The office's sheet: cost, contribution, the working, and where the end price goes.

use evenfare_engine::trail::{From as Origin, Rounding, Step};
use evenfare_engine::view::{CostView, LineView, OfferView};

use super::partner::refused;
use super::pen::{Given, Pen};
use super::{Bar, Block, NoSheet, Row, Rows, Sheet, Width};

/// Everything that the office knows of a quote.
///
/// # Errors
/// [`NoSheet`] where the view is not one that shows cost.
pub fn office(given: &Given<'_>) -> Result<Sheet, NoSheet> {
    let pen = Pen::new(given)?;
    let view = pen.view;
    let mut sheet =
        pen.begun("office-sheet", pen.number(), pen.head_of(&view.workshop), pen.address(&view.customer));
    sheet.confidential = Some(pen.say("office-confidential"));
    sheet.facts = pen.facts_of_quote();
    sheet.facts.push(pen.fact("tax-date", pen.date(view.tax_date)));
    route(&pen, &mut sheet.blocks);
    for offer in pen.offers() {
        if !view.alternatives.is_empty() {
            sheet.blocks.push(Block::Heading { text: pen.offer_name(offer) });
        }
        of_offer(&pen, offer, &mut sheet.blocks)?;
    }
    refused(&pen, &mut sheet.blocks);
    for offer in pen.offers() {
        working(&pen, offer, &mut sheet.blocks);
    }
    Ok(sheet)
}

fn route(pen: &Pen<'_>, into: &mut Vec<Block>) {
    let view = pen.view;
    into.push(pen.heading("route"));
    let mut parties = vec![(pen.say("workshop"), pen.taxed_address(&view.workshop))];
    for partner in &view.route {
        let name = [&pen.say("partner"), " ", partner.code.as_str()].concat();
        parties.push((name, pen.taxed_address(partner)));
    }
    parties.push((pen.say("customer"), pen.taxed_address(&view.customer)));
    into.push(Block::Parties { parties });
}

fn of_offer<'a>(pen: &Pen<'a>, offer: &'a OfferView, into: &mut Vec<Block>) -> Result<(), NoSheet> {
    let not_his = || NoSheet::NotHis { sheet: "office sheet", what: "cost and contribution" };
    let cost = offer.cost_minor.ok_or_else(not_his)?;
    let contribution = offer.contribution_minor.ok_or_else(not_his)?;
    let costs = offer.costs.as_deref().ok_or_else(not_his)?;

    into.push(pen.heading("where-it-goes"));
    let shares = offer.shares.iter().map(|share| {
        let party = pen.view.party(&share.partner);
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
    pen.notes(offer, into);

    into.push(pen.heading("sales"));
    for sale in &offer.sales {
        let (seller, buyer) = (pen.party(&sale.seller)?, pen.party(&sale.buyer)?);
        let text = [seller.name.as_str(), " → ", buyer.name.as_str()].concat();
        into.push(Block::Subheading { text });
        into.push(pen.vat_groups(sale));
        into.push(Block::Facts {
            facts: vec![
                pen.fact("net-total", pen.money(sale.net_minor)),
                pen.fact("gross-total", pen.money(sale.gross_minor)),
            ],
        });
    }

    into.push(pen.heading("price"));
    let row = |line: &'a LineView| {
        Row::of([pen.line(offer, line), pen.quantity(&line.quantity), pen.amount(line.net_minor)])
    };
    into.push(Block::Table {
        columns: vec![
            pen.column("description", Width::Wide),
            pen.column("quantity", Width::Amount),
            pen.amounts("net"),
        ],
        groups: pen.by_unit(offer, &offer.end.lines, |line| &line.id, row),
        totals: vec![Row::strong([pen.say("end-price"), String::new(), pen.amount(offer.end.net_minor)])],
    });

    into.push(pen.heading("costs"));
    let row = |cost: &'a CostView| Row {
        note: cost.carried_by_partner.then(|| pen.say("carried-by-partner")),
        ..Row::of([
            pen.phrases.line(offer, cost.category, &cost.id, &cost.text),
            pen.quantity(&cost.quantity),
            pen.amount(cost.cost_minor),
        ])
    };
    into.push(Block::Table {
        columns: vec![
            pen.column("description", Width::Wide),
            pen.column("quantity", Width::Amount),
            pen.amounts("cost"),
        ],
        groups: pen.by_unit(offer, costs, |cost| &cost.id, row),
        totals: vec![Row::strong([pen.say("cost"), String::new(), pen.amount(cost)])],
    });
    Ok(())
}

/// Each part of the end price where the one before it ends, then the whole.
fn bars(pen: &Pen<'_>, parts: impl Iterator<Item = (String, i64)>, whole: i64) -> Block {
    // Positions of bars, not figures: thousandths of the whole, cut to what the chart can show.
    let place = |minor: i64| -> u16 {
        let thousandths = i128::from(minor).saturating_mul(1_000).checked_div(i128::from(whole)).unwrap_or(0);
        u16::try_from(thousandths.clamp(0, 1_000)).unwrap_or(0)
    };
    let mut begun = 0_i64;
    let mut bars: Vec<Bar> = parts
        .map(|(name, minor)| {
            let ended = begun.saturating_add(minor);
            let (from, to) = (place(begun).min(place(ended)), place(begun).max(place(ended)));
            begun = ended;
            Bar { name, amount: pen.amount(minor), from, length: to.saturating_sub(from), strong: false }
        })
        .collect();
    let name = pen.say("end-price");
    bars.push(Bar { name, amount: pen.money(whole), from: 0, length: place(whole), strong: true });
    Block::Bars { bars }
}

/// The working of every figure: its rule, what went in, and how it was rounded.
fn working(pen: &Pen<'_>, offer: &OfferView, into: &mut Vec<Block>) {
    if offer.working.is_empty() {
        return;
    }
    let name = pen.offer_name(offer);
    let of = if pen.view.alternatives.is_empty() { String::new() } else { [" · ", &name].concat() };
    into.push(Block::Heading { text: [pen.say("working"), of].concat() });
    into.push(Block::Table {
        columns: vec![
            pen.column("figure", Width::Wide),
            pen.column("exact", Width::Short),
            pen.column("result", Width::Amount),
        ],
        groups: vec![Rows { head: None, rows: offer.working.iter().map(|step| worked(pen, step)).collect() }],
        totals: Vec::new(),
    });
}

fn worked(pen: &Pen<'_>, step: &Step) -> Row {
    let rounding = match step.rounding {
        Rounding::None => None,
        Rounding::HalfUp => Some(pen.say("rounding-half-up")),
        Rounding::LargestRemainder => Some(pen.say("rounding-largest-remainder")),
        Rounding::Ending => Some(pen.say("rounding-ending")),
    };
    let inputs = step.inputs.iter().map(|input| {
        let (Origin::Figure(from) | Origin::Tariff(from) | Origin::Job(from)) = &input.from;
        [&*input.name, " ", &input.shown, " (", from, ")"].concat()
    });
    let told = std::iter::once(step.rule.text().to_owned())
        .chain(inputs)
        .chain(rounding)
        .collect::<Vec<_>>()
        .join("; ");
    Row {
        note: Some(told),
        ..Row::of([
            step.figure.clone(),
            step.exact.clone().unwrap_or_default(),
            step.result.replace(' ', crate::figures::NO_BREAK),
        ])
    }
}
