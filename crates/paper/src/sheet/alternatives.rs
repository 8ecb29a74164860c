//! Other ways to do a job: what each comes to, then what it does otherwise than the job as quoted.

use std::collections::BTreeMap;

use evenfare_engine::quote::PlanStep;
use evenfare_engine::view::{Alike, LineView, OfferView, SaleView, UnitView, alike};

use super::pen::Pen;
use super::price::bought;
use super::work::findings;
use super::{Block, Row, Rows, Tone, Width};
use crate::words::Addressee;

/// All ways to do the job below each other, one to be marked; then what differs in each of the others.
pub(super) fn alternatives<'a>(pen: &Pen<'a>, quoted: &'a SaleView, into: &mut Vec<Block>) {
    let view = pen.given.view;
    if view.alternatives.is_empty() {
        return;
    }
    into.push(pen.heading("alternatives"));
    if pen.can_be_accepted() {
        let text = [pen.say("alternatives-note"), pen.say("choose")].join(" ");
        into.push(Block::Text { text, tone: Tone::Plain });
    }
    into.push(compared(pen));
    into.push(Block::Text { text: pen.say("alternatives-differ"), tone: Tone::Quiet });
    for offer in &view.alternatives {
        let Some(sale) = pen.last_sale(offer) else { continue };
        let name = pen.offer_name(offer);
        into.push(Block::Heading { text: pen.say_with("alternative", &[("name", (&name).into())]) });
        for unit in &offer.units {
            let main = view.main.units.iter().find(|main| main.id == unit.id);
            if let Some(main) = main.filter(|main| differ(main, unit)) {
                done_otherwise(pen, main, unit, into);
            }
        }
        into.push(pen.subheading("price"));
        into.push(priced_otherwise(pen, quoted, offer, sale));
        into.extend(pen.vat_breakdown(&[(None, sale)]));
        let declared = |offer, sale| pen.declared_by_buyer(offer, sale, "vat-due-by-buyer");
        into.extend(declared(offer, sale).filter(|_| declared(&view.main, quoted).is_none()));
        into.extend(pen.notes(offer, Addressee::Customer, pen.subheading("notes")));
        if !view.reversal {
            into.push(pen.subheading("warranty"));
            into.extend(pen.warranties(offer));
        }
    }
}

/// What each way comes to, and until when its warranty is.
fn compared(pen: &Pen<'_>) -> Block {
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
    Block::Table {
        columns: vec![
            pen.column("", Width::Tick),
            pen.column("alternative-head", Width::Wide),
            pen.amounts("net"),
            pen.amounts("vat"),
            pen.amounts("gross"),
        ],
        groups: vec![Rows { head: None, rows: pen.offers().filter_map(row).collect() }],
        totals: Vec::new(),
    }
}

/// Is something else done to a unit in the one offer than in the other?
fn differ(a: &UnitView, b: &UnitView) -> bool {
    (a.task, &a.findings, &a.plan) != (b.task, &b.findings, &b.plan)
}

/// Nothing, where there is something in the other way.
const NOTHING: &str = "–";

/// What is found and done in a unit that is not in the job as quoted, or of another quantity; and what falls away,
/// where there is any work on it at all.
fn done_otherwise(pen: &Pen<'_>, main: &UnitView, unit: &UnitView, into: &mut Vec<Block>) {
    into.push(Block::Subheading { text: pen.unit_name(unit) });
    let further = findings(unit).into_iter().filter(|finding| !main.findings.contains(finding));
    let further: Vec<String> = further.map(|finding| pen.found(finding)).collect();
    if !further.is_empty() {
        into.push(Block::Text { text: pen.say("found-further"), tone: Tone::Quiet });
        into.push(Block::List { items: further, caution: false });
    }
    into.extend(pen.without_work(unit));
    let rows = if unit.plan.is_empty() { Vec::new() } else { other_steps(pen, main, unit) };
    if !rows.is_empty() {
        into.push(Block::Table {
            columns: vec![
                pen.column("done", Width::Wide),
                pen.column("position", Width::Short),
                pen.column("main-offer", Width::Amount),
                pen.column("other-way", Width::Amount),
                pen.column("why", Width::Narrow),
            ],
            groups: vec![Rows { head: None, rows }],
            totals: Vec::new(),
        });
    }
}

/// Steps that are new, then those of another quantity, then those that fall away.
fn other_steps(pen: &Pen<'_>, main: &UnitView, unit: &UnitView) -> Vec<Row> {
    let row = |of: &UnitView, told: &Alike<'_>, quoted: String, here: String| {
        let places = told.positions.join(", ");
        Row::of([pen.phrases.step(told.step), places, quoted, here, pen.why(of, told.step)])
    };
    let done = |told: &Alike<'_>, quoted: String, here: String| Row {
        note: pen.in_all(unit, told.step),
        ..row(unit, told, quoted, here)
    };
    let (planned, before) = (pen.planned(unit), pen.planned(main));
    let is_new = |step: &&PlanStep| same_in(main, step).is_none();
    let new = alike(planned.iter().copied().filter(is_new)).into_iter();
    let new = new.map(|told| done(&told, NOTHING.to_owned(), pen.quantity_of(&told)));
    let changed = planned.iter().copied().filter_map(|step| {
        let was = same_in(main, step).filter(|was| was.quantity != step.quantity)?;
        let told = Alike { step, count: 1, positions: step.position.as_deref().into_iter().collect() };
        Some(done(&told, pen.quantity(&was.quantity), pen.quantity(&step.quantity)))
    });
    let falls_away = |step: &&PlanStep| same_in(unit, step).is_none();
    let gone = alike(before.iter().copied().filter(falls_away)).into_iter();
    let gone = gone.map(|told| row(main, &told, pen.quantity_of(&told), NOTHING.to_owned()));
    new.chain(changed).chain(gone).collect()
}

/// The same step in the plan of a unit, whatever its quantity.
fn same_in<'u>(unit: &'u UnitView, step: &PlanStep) -> Option<&'u PlanStep> {
    let is_same = |other: &&PlanStep| {
        (other.category, &other.code, &other.position) == (step.category, &step.code, &step.position)
    };
    unit.plan.iter().find(is_same)
}

/// A line, or several told as one: what it comes to as quoted, and in another way.
struct Line<'a> {
    id: &'a str,
    text: String,
    quantity: String,
    quoted: Option<i64>,
    here: Option<i64>,
}

/// The lines that differ, beside what they are as quoted; all others are one, and so are those of a unit that fall
/// away.
fn priced_otherwise<'a>(pen: &Pen<'a>, quoted: &SaleView, offer: &'a OfferView, sale: &'a SaleView) -> Block {
    let main = &pen.given.view.main;
    let before: BTreeMap<&str, &LineView> =
        main.end.lines.iter().map(|line| (line.id.as_str(), line)).collect();
    let here: BTreeMap<&str, &LineView> =
        offer.end.lines.iter().map(|line| (line.id.as_str(), line)).collect();
    let mut lines = Vec::new();
    let mut same: Option<i64> = None;
    for line in &offer.end.lines {
        let net = bought(sale, line);
        let was = before.get(line.id.as_str()).map(|was| (bought(quoted, was), &was.quantity));
        if was == Some((net, &line.quantity)) {
            same = Some(same.unwrap_or_default().saturating_add(net));
        } else {
            lines.push(Line {
                id: &line.id,
                text: pen.line(offer, line),
                quantity: pen.quantity(&line.quantity),
                quoted: was.map(|(net, _)| net),
                here: Some(net),
            });
        }
    }
    let unit_of = |line: &LineView| {
        let unit = line.id.split_once('/').map(|(unit, _)| unit);
        main.units.iter().find(|of| Some(of.id.as_str()) == unit).map(|unit| &unit.id)
    };
    let gone: Vec<&LineView> =
        main.end.lines.iter().filter(|line| !here.contains_key(line.id.as_str())).collect();
    for of_unit in gone.chunk_by(|a, b| unit_of(a).is_some() && unit_of(a) == unit_of(b)) {
        let Some(first) = of_unit.first() else { continue };
        let net = of_unit.iter().fold(0_i64, |sum, line| sum.saturating_add(bought(quoted, line)));
        let (text, quantity) = match of_unit {
            [only] => (pen.line(main, only), pen.quantity(&only.quantity)),
            _ => (pen.say("lines-left-out"), String::new()),
        };
        lines.push(Line { id: &first.id, text, quantity, quoted: Some(net), here: None });
    }
    let amount = |minor: Option<i64>| minor.map_or_else(|| NOTHING.to_owned(), |minor| pen.amount(minor));
    let row = |text: &str, quantity: &str, quoted, here| {
        Row::of([text.to_owned(), quantity.to_owned(), amount(quoted), amount(here)])
    };
    let same = same.map(|net| row(&pen.say("lines-as-quoted"), "", Some(net), Some(net)));
    let of_line = |line: &Line<'_>| row(&line.text, &line.quantity, line.quoted, line.here);
    let others = pen.by_unit(offer, &lines, |line| line.id, of_line);
    let columns = vec![
        pen.column("description", Width::Wide),
        pen.column("quantity", Width::Amount),
        pen.amounts("main-offer"),
        pen.amounts("other-way"),
    ];
    Block::Table {
        totals: pen.totals(&[quoted, sale], columns.len()),
        groups: same.map(|row| Rows { head: None, rows: vec![row] }).into_iter().chain(others).collect(),
        columns,
    }
}
