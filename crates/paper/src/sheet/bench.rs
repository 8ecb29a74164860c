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
    let recipient = vec![view.customer.name.to_string()];
    let mut sheet = pen.begun("bench-sheet", pen.number(), pen.head_of(&view.workshop), recipient);
    // It stays in the house.
    sheet.head.foot.clear();
    sheet.facts = vec![
        pen.fact("reference", view.reference.as_str()),
        pen.fact("revision", view.revision.to_string()),
        pen.fact("received", pen.date(view.received)),
        pen.fact("dispatch", pen.date(view.dispatch)),
    ];
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
    let of_list = |step: &&PlanStep| step.category != Category::Test && pen.is_refresh(step);
    let of_plan = |step: &&PlanStep| step.category != Category::Test && !pen.is_refresh(step);
    steps(pen, unit, "work-plan", of_plan, into);
    steps(pen, unit, "refresh-list", of_list, into);
    tests(pen, unit, into);
}

fn steps(
    pen: &Pen<'_>,
    unit: &UnitView,
    id: &str,
    is_of_it: impl Fn(&&PlanStep) -> bool,
    into: &mut Vec<Block>,
) {
    let row = |step: &PlanStep| Row {
        note: Some(pen.why(unit, step)),
        ..Row::of([
            String::new(),
            pen.phrases.step(step),
            step.code.to_string(),
            step.position.clone().unwrap_or_default(),
            pen.quantity(&step.quantity),
        ])
    };
    let (mut parts, mut operations) = (Vec::new(), Vec::new());
    let mut all: Vec<&PlanStep> = unit.plan.iter().filter(is_of_it).collect();
    as_counted(&mut all, |step| (&step.code, step.position.as_deref()));
    for step in all {
        if step.category == Category::Part { &mut parts } else { &mut operations }.push(row(step));
    }
    let groups = [("parts", parts), ("operations", operations)];
    let groups = groups.into_iter().filter(|(_, rows)| !rows.is_empty());
    let groups: Vec<Rows> = groups.map(|(id, rows)| Rows { head: Some(pen.say(id)), rows }).collect();
    if groups.is_empty() {
        return;
    }
    into.push(pen.subheading(id));
    into.push(pen.to_tick(groups));
}

/// Each programme with its hours, and lines for what is measured.
fn tests(pen: &Pen<'_>, unit: &UnitView, into: &mut Vec<Block>) {
    let programmes = || unit.plan.iter().filter(|step| step.category == Category::Test);
    if programmes().next().is_none() {
        return;
    }
    into.push(pen.subheading("test-programme"));
    let empty = || [String::new(), String::new(), String::new(), String::new(), String::new(), String::new()];
    let rows = programmes().flat_map(|step| {
        let programme = Row {
            note: Some(pen.why(unit, step)),
            ..Row::of([
                String::new(),
                pen.phrases.step(step),
                pen.quantity(&step.quantity),
                String::new(),
                String::new(),
                String::new(),
            ])
        };
        std::iter::once(programme).chain((0..MEASUREMENTS).map(move |_| Row::of(empty())))
    });
    into.push(Block::Table {
        columns: vec![
            pen.column("", Width::Tick),
            pen.column("test", Width::Wide),
            pen.column("bench-hours", Width::Amount),
            pen.column("set-value", Width::Room),
            pen.column("measured", Width::Room),
            pen.column("pass", Width::Room),
        ],
        groups: vec![Rows { head: None, rows: rows.collect() }],
        totals: Vec::new(),
    });
}

/// Lines for what is measured in one programme.
const MEASUREMENTS: usize = 4;
