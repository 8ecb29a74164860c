//! The overview of margins as a book.

use evenfare_reconcile::overview::Margin;
use rust_xlsxwriter::{Chart, ChartType, Workbook};

use super::NoBook;
use super::page::{Cell, Looks, Page, book};
use crate::accounts::{MarginOverview, Named};
use crate::figures;
use crate::words::Words;

/// The overview as a book: a sheet for all quotes, one with a chart for partners, families, routes and months, one for
/// what was invoiced, and one for what changed under closed months, where anything did.
///
/// # Errors
/// [`NoBook`] where an amount is beyond what an amount may be.
pub fn margin_overview(given: &MarginOverview<'_>) -> Result<Vec<u8>, NoBook> {
    let words = Words::of(given.language);
    let looks = Looks::new();
    let mut made = book(&words.say("margin-overview"), given.until)?;
    whole(
        given,
        words,
        Page::new(&mut made, &looks, &words.say("all-quotes"), &words.say("margin-overview"))?,
    )?;
    if given.overview.all.quotes > 0 {
        let kinds = [
            Kind { name: "by-partner", of: "partner", shares: "share", shown: SHARES, chart: ChartType::Bar },
            Kind { name: "by-family", of: "family", ..Kind::MARGINS },
            Kind { name: "by-route", of: "route", ..Kind::MARGINS },
            Kind { name: "over-time", of: "month", chart: ChartType::Column, ..Kind::MARGINS },
        ];
        let all = [given.by_partner(), given.by_family(), given.by_route(), given.by_month()];
        for (kind, named) in kinds.iter().zip(&all) {
            table(given, words, kind, named, &mut made, &looks)?;
        }
    }
    invoiced(given, words, &mut made, &looks)?;
    changed(given, words, &mut made, &looks)?;
    Ok(made.save_to_buffer()?)
}

/// A sheet by partner, family, route or month.
struct Kind {
    name: &'static str,
    of: &'static str,
    /// What the column of shares is headed by.
    shares: &'static str,
    /// The column that the chart shows.
    shown: u16,
    chart: ChartType,
}

/// The columns of shares and of contributions.
const SHARES: u16 = 3;
const CONTRIBUTION: u16 = 6;

impl Kind {
    const MARGINS: Self =
        Self { name: "", of: "", shares: "partners-shares", shown: CONTRIBUTION, chart: ChartType::Bar };
}

fn whole(given: &MarginOverview<'_>, words: &Words, mut page: Page<'_>) -> Result<(), NoBook> {
    page.sheet.set_column_width(0, 32)?.set_column_width(1, 28)?;
    let (all, currency) = (&given.overview.all, given.currency);
    page.fact(&words.say("workshop"), &Cell::Text(given.workshop.name.as_str()))?;
    page.fact(&words.say("date"), &Cell::Day(given.until))?;
    page.fact(&words.say("currency"), &Cell::Text(currency.code()))?;
    page.fact(&words.say("quotes"), &Cell::Count(all.quotes))?;
    for (id, minor) in [
        ("end-prices", all.end_net_minor),
        ("partners-shares", all.shares_minor),
        ("workshop-net", all.workshop_net_minor),
        ("cost", all.cost_minor),
        ("contribution", all.contribution_minor()),
    ] {
        page.fact(&words.say(id), &Cell::Minor(minor, currency))?;
    }
    if !given.is_closed {
        page.mark(&words.say("provisional"))?;
    }
    page.mark(&words.say("office-confidential"))
}

fn table(
    given: &MarginOverview<'_>,
    words: &Words,
    kind: &Kind,
    named: &Named<'_>,
    made: &mut Workbook,
    looks: &Looks,
) -> Result<(), NoBook> {
    let name = words.say(kind.name);
    let mut page = Page::new(made, looks, &name, &name)?;
    let ids = [kind.of, "quotes", "end-prices", kind.shares, "workshop-net", "cost", "contribution"];
    let heads = ids.map(|id| words.say(id));
    let widths = [36, 12, 18, 18, 18, 18, 18];
    let heads: Vec<(&str, u16)> = heads.iter().map(String::as_str).zip(widths).collect();
    page.heads(&heads, 1..7)?;
    let first = page.row;
    for (name, margin) in named {
        page.row(&cells(given, name, margin), false)?;
    }
    let last = page.row.saturating_sub(1);
    if named.is_empty() {
        return Ok(());
    }
    let mut chart = Chart::new(kind.chart);
    chart.add_series().set_categories((name.as_str(), first, 0, last, 0)).set_values((
        name.as_str(),
        first,
        kind.shown,
        last,
        kind.shown,
    ));
    let shown = words.say(if kind.shown == SHARES { kind.shares } else { "contribution" });
    chart.title().set_name(&[&shown, " ", given.currency.code()].concat());
    chart.legend().set_hidden();
    if kind.chart == ChartType::Bar {
        // The first stands at the top, as in the table.
        chart.y_axis().set_reverse();
    }
    page.sheet.insert_chart(first, CONTRIBUTION.saturating_add(2), &chart)?;
    Ok(())
}

/// What was to be invoiced of what was agreed, beside what was.
fn invoiced(
    given: &MarginOverview<'_>,
    words: &Words,
    made: &mut Workbook,
    looks: &Looks,
) -> Result<(), NoBook> {
    let (months, all) = given.invoiced()?;
    if months.is_empty() {
        return Ok(());
    }
    let name = words.say("invoiced");
    let mut page = Page::new(made, looks, &name, &name)?;
    page.mark(&words.say("invoiced-note"))?;
    let heads = ["month", "to-be-invoiced", "invoiced", "difference"].map(|id| words.say(id));
    let heads: Vec<(&str, u16)> = heads.iter().map(String::as_str).zip([36, 18, 18, 18]).collect();
    page.heads(&heads, 1..4)?;
    for (one, is_all) in months.iter().map(|month| (month, false)).chain([(&all, true)]) {
        let [agreed, invoiced, difference] = [one.agreed_minor, one.invoiced_minor, one.difference_minor()?]
            .map(|minor| Cell::Minor(minor, given.currency));
        page.row(&[Cell::Text(&one.name), agreed, invoiced, difference], is_all)?;
    }
    Ok(())
}

/// What changed under closed months, a row for each amount.
fn changed(
    given: &MarginOverview<'_>,
    words: &Words,
    made: &mut Workbook,
    looks: &Looks,
) -> Result<(), NoBook> {
    if given.changes.is_empty() && given.renumbered.is_empty() {
        return Ok(());
    }
    let name = words.say("changed-since");
    let mut page = Page::new(made, looks, &name, &name)?;
    page.mark(&words.say("changed-note"))?;
    for text in given.renumbered() {
        page.mark(&text)?;
    }
    let ids = ["how-it-changed", "counts-for", "closed-month", "date", "document", "party"];
    let heads = ids.iter().chain(&["amount-of", "was", "is-now", "changed-by", "currency"]);
    let heads: Vec<String> = heads.map(|id| words.say(id)).collect();
    let widths = [36, 14, 18, 14, 30, 30, 30, 18, 18, 18, 10];
    let heads: Vec<(&str, u16)> = heads.iter().map(String::as_str).zip(widths).collect();
    page.heads(&heads, 7..10)?;
    for one in given.changes {
        let (how, document) = (words.how(one.how), words.changed(one));
        let closed = figures::month(given.language, one.closed);
        for part in &one.parts {
            let of = words.amount_of(part.of);
            let amount = |minor| Cell::Minor(minor, part.currency);
            let cells = [
                Cell::Text(&how),
                Cell::Day(one.posted),
                Cell::Text(&closed),
                Cell::Day(one.day),
                Cell::Text(&document),
                one.party.map_or(Cell::Nothing, |party| Cell::Text(given.party(party))),
                Cell::Text(&of),
                amount(part.was_minor),
                amount(part.is_minor),
                amount(part.by_minor()?),
                Cell::Text(part.currency.code()),
            ];
            page.row(&cells, false)?;
        }
    }
    Ok(())
}

fn cells<'c>(given: &MarginOverview<'_>, name: &'c str, margin: &Margin) -> [Cell<'c>; 7] {
    let amount = |minor| Cell::Minor(minor, given.currency);
    [
        Cell::Text(name),
        Cell::Count(margin.quotes),
        amount(margin.end_net_minor),
        amount(margin.shares_minor),
        amount(margin.workshop_net_minor),
        amount(margin.cost_minor),
        amount(margin.contribution_minor()),
    ]
}
