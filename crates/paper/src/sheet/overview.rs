//! The accountant's overview: margins by partner, family and route, and over time.

use std::collections::BTreeMap;

use evenfare_engine::money::Overflow;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::overview::Margin;

use super::changed::changed;
use super::pen::Pen;
use super::scale::Scale;
use super::{Bar, Block, Row, Rows, Sheet, Tone, Upright, Width};
use crate::accounts::{Invoiced, MarginOverview, Named};
use crate::figures;

/// How many months stand in the chart at most; the table has them all.
const CHARTED: usize = 24;
/// How many months make columns beside each other that are seen as a course of time.
const A_COURSE: usize = 6;
/// How many bars a chart has at most; the table has them all.
const BARS: usize = 20;

/// What was earned: charts, each beside the figures that it shows; what of it was invoiced; and what changed under
/// closed months.
///
/// # Errors
/// [`Overflow`] never in practice.
pub fn margin_overview(given: &MarginOverview<'_>) -> Result<Sheet, Overflow> {
    let pen = Pen::of(*given, given.workshop, given.stationery, given.language, given.currency);
    let date = pen.date(given.until);
    let until = pen.say_with("until-day", &[("date", (&date).into())]);
    let head = pen.head_in_house(given.workshop);
    let mut sheet = pen.blank("margin-overview", &until, given.until, head, pen.in_house());
    sheet.identity =
        ["margin-overview", &given.until.to_string(), given.currency.code(), given.language.word()].join("/");
    sheet.mark = (!given.is_closed).then(|| pen.say("provisional"));
    sheet.confidential = Some(pen.say("office-confidential"));
    let all = &given.overview.all;
    sheet.facts = vec![
        pen.fact("date", date.as_str()),
        pen.fact("currency", given.currency.code()),
        pen.fact("quotes", counted(&pen, all.quotes)),
    ];
    if all.quotes == 0 {
        let text = pen.say_with("nothing-agreed", &[("date", (&date).into())]);
        sheet.blocks.push(Block::Text { text, tone: Tone::Plain });
    } else {
        earned(&pen, &mut sheet.blocks);
    }
    invoiced(&pen, &mut sheet.blocks)?;
    changed(&pen, &mut sheet.blocks)?;
    Ok(sheet)
}

fn earned(pen: &Overviewer<'_>, into: &mut Vec<Block>) {
    let given = pen.given;
    whole(pen, into);
    by_partner(pen, into);
    for (heading, column, named) in
        [("by-family", "family", given.by_family()), ("by-route", "route", given.by_route())]
    {
        into.push(pen.heading(heading));
        let shown = named.iter().map(|(name, margin)| (name.clone(), margin.contribution_minor()));
        charted(pen, "bars-of-contribution", shown.collect(), into);
        into.push(margins(pen, column, &named));
    }
    over_time(pen, into);
}

type Overviewer<'a> = Pen<'a, MarginOverview<'a>>;

fn counted(pen: &Overviewer<'_>, quotes: u64) -> String {
    figures::decimal(pen.language, &quotes.to_string())
}

fn whole(pen: &Overviewer<'_>, into: &mut Vec<Block>) {
    let all = &pen.given.overview.all;
    into.push(pen.heading("all-quotes"));
    into.push(Block::Facts {
        facts: vec![
            pen.fact("end-prices", pen.money(all.end_net_minor)),
            pen.fact("partners-shares", pen.money(all.shares_minor)),
            pen.fact("workshop-net", pen.money(all.workshop_net_minor)),
            pen.fact("cost", pen.money(all.cost_minor)),
            pen.fact("contribution", pen.money(all.contribution_minor())),
        ],
    });
}

/// What each partner keeps, and what his quotes leave the workshop.
fn by_partner(pen: &Overviewer<'_>, into: &mut Vec<Block>) {
    let named = pen.given.by_partner();
    if named.is_empty() {
        return;
    }
    into.push(pen.heading("by-partner"));
    let shown = named.iter().map(|(name, margin)| (name.clone(), margin.shares_minor)).collect();
    charted(pen, "bars-of-shares", shown, into);
    let row = |(name, margin): &(String, &Margin)| {
        Row::of([
            name.clone(),
            counted(pen, margin.quotes),
            pen.amount(margin.end_net_minor),
            pen.amount(margin.shares_minor),
            pen.amount(margin.contribution_minor()),
        ])
    };
    into.push(Block::Table {
        columns: vec![
            pen.column("partner", Width::Wide),
            pen.column("quotes", Width::Amount),
            pen.column("end-prices", Width::Amount),
            pen.column("share", Width::Amount),
            pen.column("contribution", Width::Amount),
        ],
        groups: vec![Rows { head: None, rows: named.iter().map(row).collect() }],
        totals: Vec::new(),
    });
}

/// A bar for each, from nothing to the left or to the right; of very many, for the largest.
fn charted(pen: &Overviewer<'_>, told: &str, mut shown: Vec<(String, i64)>, into: &mut Vec<Block>) {
    let mut caption = pen.say(told);
    if shown.len() > BARS {
        let mut sizes: Vec<u64> = shown.iter().map(|(_, minor)| minor.unsigned_abs()).collect();
        sizes.sort_unstable_by(|a, b| b.cmp(a));
        let least = sizes.get(BARS.saturating_sub(1)).copied().unwrap_or_default();
        shown.retain(|(_, minor)| minor.unsigned_abs() >= least);
        shown.truncate(BARS);
        let count = u64::try_from(BARS).unwrap_or_default();
        caption = [&caption, " ", &pen.say_with("largest-only", &[("count", count.into())])].concat();
    }
    let scale = Scale::of(shown.iter().map(|(_, minor)| *minor));
    let bar = |(name, minor): (String, i64)| {
        let (from, length) = scale.between(0, minor);
        Bar { name, amount: pen.amount(minor), from, length, strong: false }
    };
    let bars = shown.into_iter().map(bar).collect();
    into.push(Block::Bars { caption: Some(caption), bars, zero: scale.place(0) });
}

/// The figures behind a chart: end prices, less shares, less cost, are the contribution.
fn margins(pen: &Overviewer<'_>, id: &str, named: &Named<'_>) -> Block {
    let cells = |name: String, margin: &Margin| {
        [
            name,
            counted(pen, margin.quotes),
            pen.amount(margin.end_net_minor),
            pen.amount(margin.shares_minor),
            pen.amount(margin.cost_minor),
            pen.amount(margin.contribution_minor()),
        ]
    };
    let rows = named.iter().map(|(name, margin)| Row::of(cells(name.clone(), margin))).collect();
    Block::Table {
        columns: vec![
            pen.column(id, Width::Wide),
            pen.column("quotes", Width::Amount),
            pen.column("end-prices", Width::Amount),
            pen.column("partners-shares", Width::Amount),
            pen.column("cost", Width::Amount),
            pen.column("contribution", Width::Amount),
        ],
        groups: vec![Rows { head: None, rows }],
        totals: vec![Row::strong(cells(pen.say("all-quotes"), &pen.given.overview.all))],
    }
}

fn over_time(pen: &Overviewer<'_>, into: &mut Vec<Block>) {
    let by_month = &pen.given.overview.by_month;
    into.push(pen.heading("over-time"));
    let all = every_month(by_month);
    match all.len() {
        // Of one month the table says all.
        0 | 1 => {}
        few if few < A_COURSE => {
            let contribution = |month| by_month.get(month).map_or(0, Margin::contribution_minor);
            let named = all.iter().map(|month| (figures::month(pen.language, *month), contribution(month)));
            charted(pen, "bars-of-contribution", named.collect(), into);
        }
        _ => columns(pen, &all, into),
    }
    into.push(margins(pen, "month", &pen.given.by_month()));
}

/// A column for what partners keep and one for what the workshop does, month by month.
fn columns(pen: &Overviewer<'_>, all: &[Month], into: &mut Vec<Block>) {
    let by_month = &pen.given.overview.by_month;
    let charted = all.get(all.len().saturating_sub(CHARTED)..).unwrap_or_default();
    let caption = (charted.len() < all.len()).then(|| {
        let count = u64::try_from(charted.len()).unwrap_or_default();
        pen.say_with("last-months", &[("count", count.into())])
    });
    let of_month = |month: &Month| {
        let margin = by_month.get(month).copied().unwrap_or_default();
        [margin.shares_minor, margin.contribution_minor()]
    };
    let scale = Scale::of(charted.iter().flat_map(of_month));
    let mut last_year = None;
    let months = charted.iter().map(|month| {
        let is_new = last_year.replace(month.year()) != Some(month.year());
        Upright {
            name: month.first_day().format("%m").to_string(),
            year: is_new.then(|| month.year().to_string()),
            columns: of_month(month).map(|minor| scale.between(0, minor)).to_vec(),
        }
    });
    into.push(Block::Months {
        caption,
        months: months.collect(),
        series: vec![pen.say("partners-shares"), pen.say("contribution")],
        zero: scale.place(0),
    });
}

/// What was to be invoiced of what was agreed, beside what was.
fn invoiced(pen: &Overviewer<'_>, into: &mut Vec<Block>) -> Result<(), Overflow> {
    let (months, all) = pen.given.invoiced()?;
    if months.is_empty() {
        return Ok(());
    }
    let cells = |one: &Invoiced| {
        let difference = pen.amount(one.difference_minor()?);
        Ok([one.name.clone(), pen.amount(one.agreed_minor), pen.amount(one.invoiced_minor), difference])
    };
    let rows = months.iter().map(|one| cells(one).map(Row::of)).collect::<Result<Vec<Row>, Overflow>>()?;
    into.push(pen.heading("invoiced"));
    into.push(Block::Text { text: pen.say("invoiced-note"), tone: Tone::Quiet });
    into.push(Block::Table {
        columns: vec![
            pen.column("month", Width::Wide),
            pen.amounts("to-be-invoiced"),
            pen.amounts("invoiced"),
            pen.amounts("difference"),
        ],
        groups: vec![Rows { head: None, rows }],
        totals: vec![Row::strong(cells(&all)?)],
    });
    Ok(())
}

/// From the first month to the last, also those of which there is nothing.
fn every_month(by_month: &BTreeMap<Month, Margin>) -> Vec<Month> {
    let last = by_month.last_key_value().map(|(month, _)| *month);
    let first = by_month.first_key_value().map(|(month, _)| *month);
    let next = |month: &Month| Some(month.next()).filter(|next| next > month && Some(*next) <= last);
    std::iter::successors(first, next).collect()
}
