//! The bench's sheet: the work, without any price.

use evenfare_engine::category::Category;
use evenfare_engine::quote::PlanStep;
use evenfare_engine::view::UnitView;

use super::pen::{Given, Pen};
use super::work::{as_counted, findings};
use super::{Block, NoSheet, Row, Rows, Sheet, Tone, Width};

/// What the bench works by: the plan of one way to do the job, with room to tick and to write.
///
/// It says no amount whoever's view it is made of (`the_bench_sees_no_amount`).
///
/// # Errors
/// [`NoSheet`] where the quote has no such offer.
pub fn bench(given: &Given<'_>, offer: &str) -> Result<Sheet, NoSheet> {
    let pen = Pen::new(given)?;
    let found = pen.offers().find(|other| &*other.offer == offer);
    let offer = found.ok_or_else(|| NoSheet::Offer { found: offer.into() })?;
    let view = pen.given.view;
    let head = pen.head_in_house(&view.workshop);
    let mut sheet = pen.begun("bench-sheet", pen.number(), head, pen.in_house());
    sheet.facts = vec![
        pen.fact("customer", view.customer.name.as_str()),
        pen.fact("reference", view.reference.as_str()),
    ];
    sheet.facts.extend(pen.revision());
    sheet.facts.push(pen.fact("received", pen.date(view.received)));
    sheet.facts.push(pen.fact("dispatch", pen.date(view.dispatch)));
    if !view.alternatives.is_empty() {
        sheet.blocks.push(Block::Text { text: pen.offer_name(offer), tone: Tone::Strong });
    }
    sheet.blocks.push(pen.cautions(&["caution-mains", "caution-charge", "caution-static"]));
    for unit in &offer.units {
        worked_on(&pen, unit, &mut sheet.blocks);
    }
    sheet.blocks.push(pen.heading("remarks"));
    sheet.blocks.push(Block::Places { labels: vec![String::new()] });
    sheet
        .blocks
        .push(Block::Places { labels: vec![pen.say("technician"), pen.say("date"), pen.say("signature")] });
    Ok(sheet)
}

fn worked_on(pen: &Pen<'_>, unit: &UnitView, into: &mut Vec<Block>) {
    into.push(Block::Heading { text: pen.unit_name(unit) });
    into.push(Block::Facts { facts: vec![pen.fact("task", pen.words.task(unit.task))] });
    if !unit.findings.is_empty() {
        into.push(pen.subheading("found"));
        let row = |finding| pen.finding_row(finding);
        into.push(
            pen.to_tick(vec![Rows { head: None, rows: findings(unit).into_iter().map(row).collect() }]),
        );
    }
    into.extend(pen.without_work(unit));
    work_steps(pen, unit, into);
    parts(pen, unit, into);
    tests(pen, unit, into);
}

/// What is done, for whatever reason: a list of parts to replace is no place for it.
fn work_steps(pen: &Pen<'_>, unit: &UnitView, into: &mut Vec<Block>) {
    let is_done = |step: &&PlanStep| !matches!(step.category, Category::Part | Category::Test);
    let rows = rows(pen, unit, is_done);
    if rows.is_empty() {
        return;
    }
    into.push(pen.subheading("work-steps"));
    into.push(Block::Text { text: pen.say("work-steps-note"), tone: Tone::Quiet });
    into.push(pen.to_tick(vec![Rows { head: None, rows }]));
}

/// Parts that a finding asks for, then those that the refresh list alone asks for.
fn parts(pen: &Pen<'_>, unit: &UnitView, into: &mut Vec<Block>) {
    let of = |is_refresh: bool| {
        let is_of_it =
            |step: &&PlanStep| step.category == Category::Part && pen.is_refresh(step) == is_refresh;
        rows(pen, unit, is_of_it)
    };
    let groups = [("parts-for-findings", of(false)), ("refresh-parts", of(true))];
    let groups = groups.into_iter().filter(|(_, rows)| !rows.is_empty());
    let groups: Vec<Rows> = groups.map(|(id, rows)| Rows { head: Some(pen.say(id)), rows }).collect();
    if groups.is_empty() {
        return;
    }
    into.push(pen.subheading("parts"));
    into.push(pen.to_tick(groups));
}

/// A row for each step of that sort, with why it is done.
fn rows(pen: &Pen<'_>, unit: &UnitView, is_of_it: impl Fn(&&PlanStep) -> bool) -> Vec<Row> {
    let mut all = pen.planned(unit);
    all.retain(is_of_it);
    as_counted(&mut all, |step| (&step.code, step.position.as_deref()));
    let row = |step: &PlanStep| Row {
        note: Some(pen.words.joined([pen.why(unit, step)].into_iter().chain(pen.in_all(unit, step)))),
        ..Row::of([
            String::new(),
            pen.phrases.step(step),
            step.code.to_string(),
            step.position.as_deref().unwrap_or_default().to_owned(),
            pen.quantity(&step.quantity),
        ])
    };
    all.into_iter().map(row).collect()
}

/// Each programme with its hours, and a table to write in what is measured.
fn tests(pen: &Pen<'_>, unit: &UnitView, into: &mut Vec<Block>) {
    let mut programmes = unit.plan.iter().filter(|step| step.category == Category::Test).peekable();
    if programmes.peek().is_some() {
        into.push(pen.subheading("test-programme"));
    }
    for step in programmes {
        let hours = pen.words.labelled(&pen.say("bench-hours"), &pen.quantity(&step.quantity));
        let text = [&pen.phrases.step(step), " · ", &hours].concat();
        into.push(Block::Text { text, tone: Tone::Strong });
        into.push(Block::Text { text: pen.why(unit, step), tone: Tone::Quiet });
        into.push(measured(pen));
    }
}

/// Lines for what is measured in one programme, each to pass or fail.
fn measured(pen: &Pen<'_>) -> Block {
    let row = || Row::of([const { String::new() }; 6]);
    Block::Table {
        columns: vec![
            pen.column("what-is-measured", Width::Wide),
            pen.column("set-value", Width::Room),
            pen.column("measured", Width::Room),
            pen.column("pass", Width::Tick),
            pen.column("fail", Width::Tick),
            pen.column("initials", Width::Room),
        ],
        groups: vec![Rows { head: None, rows: std::iter::repeat_with(row).take(MEASUREMENTS).collect() }],
        totals: Vec::new(),
    }
}

/// Lines for what is measured in one programme.
const MEASUREMENTS: usize = 4;
